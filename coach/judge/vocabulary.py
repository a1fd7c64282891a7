"""Every phrase that may be asked for, with what it stands for, how it sounds and which items it tells.

In: lexicon, language, pronouncer. Out: a Vocabulary, the same for right and wrong values. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from coach.judge.compounds import NUMBERS, compounds, own_phrases
from coach.judge.lexicon import Lexicon, Meaning
from coach.judge.slots import KIND_OF, UNITS
from coach.judge.sounds import Phones, Pronouncer, coarse
from coach.judge.tokens import singular
from coach.knowledge.language import Language

__all__ = ["Home", "Vocabulary", "learn"]

LONGEST_PHRASE = 6  # words
# Whatever breed, variety, class or place is named, right or wrong, tells the item of that value.
_TELLS = {Meaning.BREED: "breed", Meaning.VARIETY: "variety", Meaning.SHOW_CLASS: "class", Meaning.PLACE: "origin",
          Meaning.PURPOSE: "purpose"}  # fmt: skip
_PROPER = (Meaning.BREED, Meaning.PLACE, Meaning.SHOW_CLASS)


@dataclass(frozen=True, slots=True)
class Home:
    """An item that a phrase tells, and the regions where it may be told."""

    item: str
    regions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every phrase that may be asked for: its kinds, its sound in full and coarsely, and by its words in the singular its
    kinds and what it tells."""

    kinds: Mapping[str, frozenset[str]]
    sounds: Mapping[str, Phones]
    outlines: Mapping[str, str]
    known: Mapping[tuple[str, ...], frozenset[str]]
    told_by: Mapping[tuple[str, ...], tuple[Home, ...]]
    homes: Mapping[str, tuple[Home, ...]]
    asks: bool  # there is sound that can be asked

    def phrases_at(self, words: Sequence[str]) -> Iterator[tuple[int, tuple[str, ...]]]:
        """Every known phrase among these words, as it stands: where it begins, and its words in the singular."""
        plain = [singular(w) for w in words]
        for a in range(len(plain)):
            for b in range(a + 1, min(a + LONGEST_PHRASE, len(plain)) + 1):
                if tuple(plain[a:b]) in self.known:
                    yield a, tuple(plain[a:b])


def learn(lexicon: Lexicon, language: Language, pronouncer: Pronouncer, asks: bool) -> Vocabulary:
    """Every phrase that may be asked for."""
    single = {**_phrases(lexicon, language), **own_phrases(lexicon, language)}
    homes = _homes(lexicon)
    kinds, spread = dict(single), dict(homes)
    for text, parts in compounds(lexicon, language).items() if asks else ():
        if text not in single:
            kinds[text] = frozenset(k for part in parts for k in single.get(part, ()))
            spread[text.lower()] = tuple(h for part in parts for h in homes.get(part.lower(), ()))
    sounds = {text: pronouncer.phones(text.lower()) for text in kinds}
    outlines = {text: coarse(phones) for text, phones in sounds.items()}
    known = {_plain(text): k for text, k in kinds.items()}
    told_by: dict[tuple[str, ...], tuple[Home, ...]] = {}
    for text, here in spread.items():
        told_by[_plain(text)] = (*told_by.get(_plain(text), ()), *here)
    return Vocabulary(kinds, sounds, outlines, known, told_by, spread, asks)


def _plain(text: str) -> tuple[str, ...]:
    return tuple(singular(w) for w in text.lower().split())


def _homes(lexicon: Lexicon) -> dict[str, tuple[Home, ...]]:
    """The items that each phrase of the route or the bird's own faults tells."""
    out: dict[str, tuple[Home, ...]] = {}
    for entry in lexicon.entries:
        item = lexicon.items.get(entry.key)
        if item and entry.meaning is not Meaning.NAME:
            out[entry.text] = (*out.get(entry.text, ()), Home(item.id, (item.region, *item.also_regions)))
        elif entry.meaning in _TELLS:
            named = (i for i in lexicon.route.items if i.value and i.value.split(".")[0] == _TELLS[entry.meaning])
            out[entry.text] = (*out.get(entry.text, ()), *(Home(i.id, (i.region, *i.also_regions)) for i in named))
    for fault in lexicon.bird.faults:
        for say in (fault.say, *fault.also):
            out[say.lower()] = (Home(f"faults.{fault.id}", (fault.region,)),)
    return out


def _phrases(lexicon: Lexicon, language: Language) -> dict[str, frozenset[str]]:
    """Every phrase worth asking for, written as the recogniser writes, with the kinds of thing it stands for."""
    out: dict[str, frozenset[str]] = dict.fromkeys(language.colors, frozenset({"color"}))
    out |= dict.fromkeys(NUMBERS, frozenset({"number"}))
    out |= dict.fromkeys(UNITS, frozenset({"unit"}))
    for entry in lexicon.entries:
        if entry.meaning is Meaning.REGION and len(entry.words) > 1:
            continue
        text = entry.text.title() if entry.meaning in _PROPER else entry.text
        out[text] = out.get(text, frozenset()) | {KIND_OF.get(entry.meaning, "other")}
        if entry.meaning is Meaning.SEX_AGE:
            out[f"{text}s"] = out[text]
    return out

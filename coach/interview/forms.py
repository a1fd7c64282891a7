"""Spoken forms and where they are heard: words near one another in a sentence, in any order and any form. Pure.

How a form is written stands in `knowledge/data/questions/words.yaml`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from coach.judge.tokens import Sentence, Token
from coach.knowledge.questions import load_spoken_words

__all__ = ["Match", "find_forms", "is_denied", "parse_form", "stem"]

SLACK = 6  # words that may stand between those of a form
MAX_PLACES = 10  # of one word in a sentence; more are hardly ever useful
DENIALS = frozenset("no not never without none nothing nobody neither nor lack lacks lacking isnt free".split())
BEFORE = 4  # a denial so many words before a form denies it
_SMALL = frozenset("a an the of is are was were be to its at or and that this these it".split())
_DEGREES = frozenset("too enough just only letting".split())
_KNOWING = frozenset("know sure think remember certain".split())
_STARTERS = frozenset("she he it they you we i the a an there that this its in on for because any only all every".split())

Slot = tuple[tuple[str, ...], ...]  # alternatives, each one or several stems side by side


@dataclass(frozen=True, slots=True)
class Match:
    """Tokens of a sentence that say a form; denied when a "not" stands before them."""

    places: tuple[int, ...]
    denied: bool = False

    @property
    def first(self) -> int:
        """Index of its first token."""
        return self.places[0]

    @property
    def last(self) -> int:
        """Index of its last token."""
        return self.places[-1]


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """The word without its endings, and everyday words as the one they count as.

    Source: the Snowball English stemmer.
    """
    head = _heads().get(word, word)
    plain = str(_stemmer().stemWord(head))
    return _heads().get(plain, plain)


@lru_cache(maxsize=4096)
def parse_form(form: str) -> tuple[Slot, ...]:
    """The slots of a form.

    Doctest:
        >>> parse_form("no air/breathing sacs")
        ((('no',),), (('air',), ('breath',)), (('sac',),))
    """
    parts = form.lower().replace("-", " ").split()
    kept = [p for p in parts if p not in _SMALL] or parts
    return tuple(tuple(tuple(stem(w) for w in alt.split("_")) for alt in part.split("/")) for part in kept)


def find_forms(forms: Iterable[str], sentence: Sentence) -> tuple[Match, ...]:
    """The closest place of each form that is heard in the sentence."""
    stems = tuple(stem(t.text) for t in sentence)
    found = (_find(parse_form(form), sentence, stems) for form in forms)
    return tuple(m for m in found if m is not None)


def is_denied(sentence: Sentence, at: int) -> bool:
    """Whether a denial stands shortly before the token, with no pause or "but" between."""
    return _denied(sentence, at, (at,))


def _find(slots: Sequence[Slot], sentence: Sentence, stems: Sequence[str]) -> Match | None:
    of_knowing = any(w in _KNOWING for slot in slots for alternative in slot for w in alternative)
    options = [_places(slot, sentence, stems, of_knowing) for slot in slots]
    if not all(options):
        return None
    matches = [
        Match(places, not any(s == (("no",),) for s in slots) and _denied(sentence, places[0], places))
        for combo in itertools.product(*options)
        if (places := _joined(combo)) and places[-1] - places[0] < len(slots) + SLACK
    ]
    return min(matches, key=lambda m: (m.denied, m.last - m.first, m.first), default=None)


def _joined(combo: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    """All tokens in rising order; none when two slots took the same one."""
    flat = sorted(p for places in combo for p in places)
    return tuple(flat) if len(set(flat)) == len(flat) else ()


def _places(slot: Slot, sentence: Sentence, stems: Sequence[str], of_knowing: bool) -> list[tuple[int, ...]]:
    found: list[tuple[int, ...]] = []
    for alternative in slot:
        size = len(alternative)
        for at in range(len(stems) - size + 1):
            if alternative == ("no",):
                if sentence[at].text in DENIALS and (of_knowing or not _not_knowing(sentence, at)):
                    found.append((at,))
            elif tuple(stems[at : at + size]) == alternative:
                found.append(tuple(range(at, at + size)))
    return found[:MAX_PLACES]


def _denied(sentence: Sentence, first: int, places: Sequence[int]) -> bool:
    """Whether a denial stands shortly before the first word, with no pause or "but" between, or inside the form."""
    for at in range(first - 1, max(-1, first - 1 - BEFORE), -1):
        token = sentence[at]
        if token.comma or token.text in ("but", "because", "so", "if"):
            return False
        if token.text in DENIALS - {"free"}:
            return not any(tell(sentence, at) for tell in (_not_knowing, _interjected, _advised))
    inside = range(first, places[-1])
    return any(sentence[n].text in ("not", "never") and n not in places and not sentence[n - 1].comma for n in inside)


def _advised(sentence: Sentence, at: int) -> bool:
    """ "don't kiss them", "never soak" at the start of a statement tells what to do; "not too", "not enough" denies nothing."""
    if any(t.text in _DEGREES for t in sentence[at + 1 : at + 2]):
        return True
    start = at - 1 if at and sentence[at - 1].text == "do" else at
    opens = start == 0 or sentence[start - 1].comma or sentence[start - 1].text in ("and", "you", "then", "to", "should", "must")
    return opens and (start < at or sentence[at].text == "never" or sentence[start - 1].text in ("to", "should", "must"))


def _not_knowing(sentence: Sentence, at: int) -> bool:
    return any(t.text in _KNOWING for t in sentence[at + 1 : at + 3])


def _interjected(sentence: Sentence, at: int) -> bool:
    """ "no, she ..." denies the question and not what follows."""
    following: Token | None = sentence[at + 1] if at + 1 < len(sentence) else None
    return sentence[at].text == "no" and (following is None or following.text in _STARTERS)


@lru_cache(maxsize=1)
def _heads() -> dict[str, str]:
    heads: dict[str, str] = {}
    plain = _stemmer()
    for head, words in load_spoken_words().groups.items():
        target = plain.stemWord(head)
        for word in words:
            heads[word] = target
            heads.setdefault(plain.stemWord(word), target)
    return heads


@lru_cache(maxsize=1)
def _stemmer():  # type: ignore[no-untyped-def]
    import snowballstemmer  # type: ignore[import-untyped]

    return snowballstemmer.stemmer("english")

"""Where the trade's phrases stand in a sentence, whatever they are said of.

In: one sentence and the lexicon. Out: Mentions by place. Pure. Whether a phrase is meant of the bird on the table is not asked
here: the reader knows that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from coach.judge.lexicon import Entry, Lexicon, Meaning
from coach.judge.tokens import Sentence, singular, words_of_phrase

__all__ = ["Mention", "find_phrases", "mentions"]


@dataclass(frozen=True, slots=True)
class Mention:
    """A phrase of the lexicon at tokens start (included) to end (excluded) of a sentence."""

    start: int
    end: int
    entry: Entry

    @property
    def meaning(self) -> Meaning:
        """What the phrase stands for."""
        return self.entry.meaning

    @property
    def key(self) -> str:
        """The item or value it means."""
        return self.entry.key


def mentions(sentence: Sentence, lexicon: Lexicon) -> tuple[Mention, ...]:
    """All phrases of the lexicon in the sentence, by place; one inside a longer one is dropped ("leg" in "scaly leg mites")."""
    plain = [singular(t.text) for t in sentence]
    found = [
        Mention(at, at + len(entry.words), entry)
        for at in range(len(plain))
        for entry in lexicon.starting(plain[at])
        if _matches(plain, at, entry)
    ]
    return tuple(sorted((m for m in found if not _inside_longer(m, found)), key=lambda m: (m.start, -m.end)))


@lru_cache(maxsize=4096)
def _singulars(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(singular(w) for w in words)


def _matches(plain: Sequence[str], at: int, entry: Entry) -> bool:
    want = _singulars(entry.words)
    return tuple(plain[at : at + len(want)]) == want


def _inside_longer(m: Mention, others: Sequence[Mention]) -> bool:
    return any(o.start <= m.start and m.end <= o.end and o.end - o.start > m.end - m.start and _swallows(o, m) for o in others)


def _swallows(longer: Mention, m: Mention) -> bool:
    """A variety ("Rose Comb"), or a breed named after its comb, leaves the part and its type inside it standing."""
    named = longer.meaning is Meaning.VARIETY or (longer.meaning is Meaning.BREED and "comb" in longer.entry.words)
    return not named or m.meaning not in (Meaning.PART, Meaning.COMB_TYPE)


def find_phrases(words: Sequence[str], phrases: Sequence[str]) -> list[tuple[int, int]]:
    """Spans of the words that say one of the phrases; '*' stands for any one word."""
    table = _by_first(tuple(phrases))
    spans = []
    for at, word in enumerate(words):
        for phrase in table.get(word, ()):
            if at + len(phrase) <= len(words) and all(
                p in ("*", w) for p, w in zip(phrase, words[at : at + len(phrase)], strict=True)
            ):
                spans.append((at, at + len(phrase)))
    return spans


@lru_cache(maxsize=16)
def _by_first(phrases: tuple[str, ...]) -> dict[str, list[tuple[str, ...]]]:
    table: dict[str, list[tuple[str, ...]]] = {}
    for phrase in phrases:
        words = tuple(w if w == "*" else x for w in phrase.split() for x in ([w] if w == "*" else words_of_phrase(w)))
        table.setdefault(words[0], []).append(words)
    return table

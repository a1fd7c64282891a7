"""Values that stand in the words, whatever they may be said of: colors, counts, weights, names of combs, classes, places.

In: sentences and the phrases found in them. Out: Candidates by place in the row of all tokens. Pure. What a value is said of is not
asked here: the reader knows that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from coach.judge.lexicon import Meaning
from coach.judge.mentions import Mention
from coach.judge.numbers import numbers
from coach.judge.tokens import Sentence
from coach.knowledge.language import Language

__all__ = ["Candidate", "candidates"]

_NAMES = {
    Meaning.COMB_TYPE: "comb", Meaning.SHOW_CLASS: "class", Meaning.PLACE: "place", Meaning.PURPOSE: "purpose",
    Meaning.BREED: "breed", Meaning.VARIETY: "variety", Meaning.SEX_AGE: "sex_age",
}  # fmt: skip
_FRONT, _BACK = frozenset({"front", "forward"}), frozenset({"back", "behind", "rear", "backward"})


@dataclass(frozen=True, slots=True)
class Candidate:
    """A value of some kind at tokens start (included) to end (excluded) of the row of all tokens.

    value is the color's words, the number (weights in pounds), or the key of a name. A bare number (no unit anywhere near)
    may be pounds or ounces.
    """

    kind: str
    start: int
    end: int
    value: tuple[str, ...] | float | str
    bare: bool = False


def candidates(
    sentences: Sequence[Sentence], found: Sequence[Sequence[Mention]], language: Language
) -> tuple[Candidate, ...]:
    """All values of all kinds, by place.

    Args:
        found: the phrases of every sentence.
    """
    out: list[Candidate] = []
    at = 0
    for sentence, named in zip(sentences, found, strict=True):
        here = [*_colors(sentence, language), *_numbers(sentence), *_names(named)]
        out += (replace(c, start=c.start + at, end=c.end + at) for c in here)
        at += len(sentence)
    return tuple(sorted(out, key=lambda c: (c.start, c.end, c.kind)))


def _colors(sentence: Sentence, language: Language) -> Iterator[Candidate]:
    """Runs of color words with at least one basic color, or one ending in "-ish"."""
    words = [t.text for t in sentence]
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and (words[end] in language.colors or words[end] in language.color_modifiers):
            end += 1
            if sentence[end - 1].comma:
                break
        run = words[at:end]
        if any(w in language.colors or w.endswith("ish") for w in run):
            yield Candidate("color", at, end, tuple(run))
        at = max(end, at + 1)


def _numbers(sentence: Sentence) -> Iterator[Candidate]:
    """Every number as a count and as a weight; those in front and behind added up ("three in front and one behind")."""
    words = [t.text for t in sentence]
    found = numbers(words)
    plain = [n for n in found if n.unit is None]
    for n in plain:
        yield Candidate("count", n.start, n.end, n.value)
    scale = next((n.scale for n in found if n.unit), None)
    for n in found:  # a bare number is in the unit of the weight before it, or else of the next
        scale = n.scale if n.unit else scale
        yield Candidate("weight", n.start, n.end, n.value if n.unit else n.value * (scale or 1.0), n.unit is None)
    for first, second in zip(found, found[1:], strict=False):
        if first.unit and first.scale == 1.0 and second.unit is None and first.end == second.start and second.value < 16:
            yield Candidate("weight", first.start, second.end, first.value + second.value / 16)  # "one pound ten"
    for first, second in zip(plain, plain[1:], strict=False):
        around = words[max(0, first.start - 4) : second.end + 6]
        if _FRONT & set(around) and _BACK & set(around) and first.value + second.value < 10:
            yield Candidate("count", first.start, second.end, first.value + second.value)


def _names(found: Sequence[Mention]) -> Iterator[Candidate]:
    for m in found:
        if m.meaning in _NAMES:  # a word for sex and age counts as it was said: "jake" tells more than its key
            yield Candidate(_NAMES[m.meaning], m.start, m.end, m.entry.text if m.meaning is Meaning.SEX_AGE else m.key)

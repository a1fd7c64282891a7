"""A doubt: a span of words that may have been something else, its rivals, and the question to the sound.

In: timed words and rivals. Out: Doubts, each weighed within the breath that holds it. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.words import Question, TimedWords, Word

__all__ = ["NAMING", "POINTING", "Doubt", "Rival", "breaths", "confidence", "doubt_at", "shaped"]

MARGIN_S = 0.2  # of sound around the words weighed together
# Kinds that name something, rather than describe it.
NAMING = frozenset({"part", "breed", "bird", "class", "place"})
POINTING = frozenset("the a an her his its this these those both left right two main is are my of called and".split())


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """A trade phrase that sounds like the span."""

    text: str
    distance: float  # of sounds, 0 the same
    kinds: frozenset[str]  # what it stands for: part, color, number, bird, ...
    slot: bool = False  # the sentence asks for such a kind here
    missing: bool = False  # a part or check that is told nowhere else in the rehearsal
    support: float = 0.0  # share of a second hearing that speaks for it, 0..1
    place: float = 0.0  # 1 when its region is being spoken of in this sentence, less in neighbouring ones, else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Words first to last (included) of the timed words, as heard, with their rivals and the question to the sound."""

    first: int
    last: int
    heard: str
    known: bool  # a word of it belongs to a trade phrase as it stands
    covered: float  # share of its words that belong to one, 0..1
    confidence: float
    plain_words: bool  # all of it is in the dictionary
    pointed: bool  # "the", "her", "these" or the like stands right before
    rivals: tuple[Rival, ...]
    question: Question


def doubt_at(
    heard: TimedWords,
    borders: Sequence[int],
    first: int,
    last: int,
    rivals: tuple[Rival, ...],
    *,
    known: bool,
    covered: float,
    plain_words: bool,
) -> Doubt:
    """The doubt about words first to last (included), weighed within the breath that holds them.

    Args:
        borders: the breaths of these words.
        known: a word of the span belongs to a trade phrase as it stands; covered: the share of its words that do.
        plain_words: all of it is in the dictionary.
    """
    words = heard.words[first : last + 1]
    text = " ".join(w.text for w in words)
    window = _window(borders, first, last)
    before = " ".join(w.text for w in heard.words[window[0] : first])
    after = " ".join(w.text for w in heard.words[last + 1 : window[1]])
    from_s = heard.words[window[0]].start_s - MARGIN_S
    to_s = heard.words[window[1] - 1].end_s + MARGIN_S
    wordings = (text, *(shaped(r.text, text) for r in rivals))
    question = Question(
        start_s=words[0].start_s, end_s=words[-1].end_s, from_s=from_s, to_s=to_s, before=before, after=after, wordings=wordings
    )
    pointed = first > 0 and heard.words[first - 1].text.strip(".,;:!?").lower() in POINTING
    return Doubt(
        first=first,
        last=last,
        heard=text,
        known=known,
        covered=covered,
        confidence=confidence(words),
        plain_words=plain_words,
        pointed=pointed,
        rivals=rivals,
        question=question,
    )


def breaths(words: Sequence[Word]) -> list[int]:
    """Borders (word numbers, first and last included) of runs spoken in one breath: what is weighed as a whole."""
    borders = [0]
    for n in range(1, len(words)):
        gap, long = words[n].start_s - words[n - 1].end_s, n - borders[-1]
        ends = words[n - 1].text[-1:] in (".", "?", "!")
        if gap > 1.0 or (long >= 6 and (ends or gap > 0.3)) or (long >= 16 and gap > 0.08) or long >= 24:
            borders.append(n)
    return [*borders, len(words)]


def _window(borders: Sequence[int], first: int, last: int) -> tuple[int, int]:
    """The breath that holds words first to last, or the breaths when they reach over a border."""
    return max(b for b in borders if b <= first), min(b for b in borders if b > last)


def confidence(words: Sequence[Word]) -> float:
    """The listener's lowest confidence in the words; 0 when it gives none."""
    return min((w.confidence if w.confidence is not None else 0.0 for w in words), default=0.0)


def shaped(wording: str, heard: str) -> str:
    """The wording with the heard span's capital and final mark, so that only the word differs."""
    mark = heard[-1] if heard[-1:] in ".,?!;:" else ""
    text = wording[0].upper() + wording[1:] if heard[:1].isupper() else wording
    return text + mark

"""The few types that cross between listening and judging: words with times, and questions put to the sound.

Times are seconds from the first sample of the recording.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Hearing", "Question", "TimedWords", "Weighed", "Word"]


@dataclass(frozen=True, slots=True)
class Word:
    """One word as heard, punctuation kept ("comb,"), so that a report can quote it.

    written is what the listener first wrote here, when weighing the sound decided for this wording ("hawks" -> "hocks").
    """

    text: str
    start_s: float
    end_s: float
    confidence: float | None = None  # 0..1, or None when the source gives none
    written: str | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.start_s <= self.end_s < float("inf"):  # this form also refuses NaN
            raise ValueError(f"word {self.text!r} needs 0 <= start <= end, got {self.start_s}..{self.end_s} s")

    @property
    def is_spoken(self) -> bool:
        """Whether it holds a letter or a digit of any script: a note sign or dots that stand alone are no speech."""
        return any(c.isalnum() for c in self.text)


@dataclass(frozen=True, slots=True)
class TimedWords:
    """Everything that was heard: words rising by start, and the stretches where somebody spoke.

    timed is False when the source had no times (plain text); the times are then only places in a row.
    hesitations are the starts of filled pauses ("um") that the words do not show, found in the sound.
    """

    words: tuple[Word, ...]
    seconds: float
    timed: bool = True
    hesitations_s: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Which of these wordings was said between start_s and end_s?

    before and after are all the words heard around the doubtful span between from_s and to_s, so that a listener can
    weigh that window as a whole; wordings[0] is what was heard.
    """

    start_s: float
    end_s: float
    from_s: float
    to_s: float
    before: str
    after: str
    wordings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """The sound's answer: one natural-log score per wording of the question, higher is likelier.

    scores are sums over tokens, comparable within one question only.
    """

    question: Question
    scores: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Hearing:
    """One of several texts that a stretch of sound may be; score is a natural-log sum, comparable within the stretch."""

    text: str
    score: float

"""What an interview knows, as frozen values: one Score per answer, and the leader's overrulings kept beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum

from coach.knowledge.questions import Question
from coach.words import Word

__all__ = ["Answer", "Interview", "Kind", "Mistake", "PointStatus", "PointVerdict", "Score", "Timing"]


class PointStatus(str, Enum):
    """The outcome for one key point."""

    COVERED = "covered"
    MISSED = "missed"
    WRONG = "wrong"
    UNSURE = "unsure"


class Kind(str, Enum):
    """What sort of answer was given."""

    ANSWER = "answer"
    DONT_KNOW = "does not know"
    OFF_TOPIC = "off topic"
    SILENT = "nothing said"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True)
class PointVerdict:
    """One key point. heard, start_s and end_s are None when nothing of it was heard; ruled: the leader decided."""

    status: PointStatus
    heard: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    note: str | None = None
    ruled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """A common wrong answer that was heard, and what is right instead. point: index from 0, None for no one point."""

    heard: str
    note: str
    start_s: float
    end_s: float
    point: int | None = None


@dataclass(frozen=True, slots=True)
class Score:
    """How one answer covers its question: one verdict per key point, in the question's order.

    out_of_order: indices of covered points that came at the wrong place, where the order counts.
    """

    kind: Kind
    points: tuple[PointVerdict, ...]
    mistakes: tuple[Mistake, ...] = ()
    out_of_order: tuple[int, ...] = ()

    def n_covered(self) -> int:
        """Points covered, and in order where that counts."""
        return sum(p.status is PointStatus.COVERED and n not in self.out_of_order for n, p in enumerate(self.points))

    def share(self, question: Question) -> float:
        """How much of a complete answer was there, 0..1."""
        return min(1.0, self.n_covered() / question.need)


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds: to the first word (None when nothing was said), of the whole answer, and of silence inside it."""

    first_word_s: float | None
    seconds: float
    silence_s: float


@dataclass(frozen=True, slots=True)
class Answer:
    """One question as it was answered. rulings: point index -> the status that the leader decided, kept as the truth."""

    question: Question
    words: tuple[Word, ...]
    score: Score  # as heard, before any ruling
    timing: Timing | None = None  # None for typed answers
    asked_s: float = 0.0  # place in the interview, or in the recording
    rulings: Mapping[int, PointStatus] = field(default_factory=dict)
    note: str = ""  # the leader's
    take: str | None = None  # the answer's own sound file
    typed: bool = False

    @property
    def text(self) -> str:
        """What was said, in one line."""
        return " ".join(w.text for w in self.words)

    @property
    def ruled(self) -> Score:
        """The score with the leader's rulings in the place of what was heard."""
        from coach.interview.score import with_rulings

        return with_rulings(self.question, self.score, self.rulings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Interview:
    """One member's interview. asked counts the questions that were meant to be asked."""

    when: datetime
    member: str | None
    bird: str
    bird_name: str
    card: str
    breed: str
    level: str
    listener: str
    seed: int
    asked: int
    answers: tuple[Answer, ...] = ()
    seconds: float = 0.0
    file: str = ""
    ended_early: str | None = None  # why, in a line

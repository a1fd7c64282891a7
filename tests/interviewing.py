"""What the interview tests share: questions of the bank, words as an answer, a desk that acts by a script."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timezone
from pathlib import Path

from coach.interview.hear import judge_answer, make_ear
from coach.interview.model import Answer, Interview, PointStatus, Score
from coach.interview.run import Clock, Heard, Marked, Then
from coach.interview.score import score
from coach.knowledge.questions import Question, load_bank
from coach.words import TimedWords, Word

__all__ = ["BANK", "FOLDER", "WHEN", "ScriptedDesk", "blank", "covered", "judge", "said", "scored", "statuses"]

BANK = load_bank()
FOLDER = Path(__file__).parent / "interview_answers"
WHEN = datetime(2026, 11, 25, 17, 45, tzinfo=timezone.utc)
_EAR = make_ear(BANK)


def said(text: str, *, timed: bool = False, start_s: float = 0.0, word_s: float = 0.3) -> TimedWords:
    """Words of a text, one every word_s seconds."""
    words = tuple(Word(w, start_s + n * word_s, start_s + n * word_s + 0.25) for n, w in enumerate(text.split()))
    return TimedWords(words, words[-1].end_s if words else start_s, timed)


def scored(question: str | Question, text: str) -> Score:
    """The score of an answer to a question of the bank."""
    one = BANK.questions[question] if isinstance(question, str) else question
    return score(one, said(text))


def judge(question: Question, words: TimedWords) -> tuple[TimedWords, Score]:
    """As a command judges typed words."""
    return judge_answer(question, words, _EAR)


def statuses(score: Score) -> list[str]:
    """The verdicts as words."""
    return [p.status.value for p in score.points]


def covered(score: Score) -> set[int]:
    """Indices of covered points."""
    return {n for n, p in enumerate(score.points) if p.status is PointStatus.COVERED}


def blank(asked: int = 3) -> Interview:
    """An interview before its first answer."""
    return Interview(
        when=WHEN,
        member="Robin",
        bird="juniper",
        bird_name="Juniper",
        card="light-brahma",
        breed="Light Brahma",
        level="junior",
        listener="typed",
        seed=5,
        asked=asked,
    )


class ScriptedDesk:
    """Gives the prepared answers and marks in turn; remembers what was asked and shown."""

    def __init__(self, answers: Iterable[Heard | str | BaseException], marks: Iterable[Marked] = ()) -> None:
        self._answers, self._marks = iter(answers), iter(marks)
        self.asked: list[tuple[str, Clock]] = []
        self.shown: list[Answer] = []

    def ask(self, question: Question, clock: Clock) -> None:
        """See Desk."""
        self.asked.append((question.id, clock))

    def hear(self, question: Question, clock: Clock) -> Heard:
        """See Desk."""
        answer = next(self._answers)
        if isinstance(answer, BaseException):
            raise answer
        return Heard(said(answer), typed=True) if isinstance(answer, str) else answer

    def mark(self, answer: Answer, clock: Clock) -> Marked:
        """See Desk."""
        self.shown.append(answer)
        return next(self._marks, Marked(then=Then.NEXT))

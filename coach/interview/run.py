"""Asking, hearing, scoring and keeping, question after question: the order of things, without keyboard or sound.

Whoever leads sits behind a `Desk`; the terminal's is coach.interview.desk. Everything is saved as soon as it is known.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Protocol

from coach.errors import CoachError
from coach.interview.model import Answer, Interview, Kind, PointStatus, PointVerdict, Score
from coach.interview.score import skipped
from coach.interview.timing import timing
from coach.knowledge.questions import Question
from coach.words import TimedWords, Word

__all__ = ["Clock", "Desk", "Heard", "Judge", "Marked", "Then", "hold", "joined"]


class Then(str, Enum):
    """What is wanted next."""

    NEXT = "next"
    REPEAT = "repeat"
    SKIP = "skip"
    FOLLOW_UP = "follow up"
    LEAVE = "leave"


@dataclass(frozen=True, slots=True)
class Clock:
    """Where the interview stands: question number (from 1) of total, and seconds left for it and in all (None: no limit)."""

    number: int
    total: int
    answer_s: float | None
    left_s: float | None


@dataclass(frozen=True, slots=True)
class Heard:
    """One answer as it came in. problem: why it broke off."""

    words: TimedWords
    then: Then = Then.NEXT
    take: str | None = None
    typed: bool = False
    problem: str | None = None
    voice_s: tuple[float, ...] = ()  # where a voice begins in the sound


@dataclass(frozen=True, slots=True)
class Marked:
    """What the leader did with an answer."""

    rulings: dict[int, PointStatus] = field(default_factory=dict)
    note: str = ""
    then: Then = Then.NEXT


class Desk(Protocol):
    """The leader's side, or the member's own when alone."""

    def ask(self, question: Question, clock: Clock) -> None:
        """Put the question."""
        ...

    def hear(self, question: Question, clock: Clock) -> Heard:
        """Wait for the answer."""
        ...

    def mark(self, answer: Answer, clock: Clock) -> Marked:
        """Show what was understood; take the leader's marks, note and wish."""
        ...


Judge = Callable[[Question, TimedWords], tuple[TimedWords, Score]]


def hold(
    interview: Interview,
    questions: Sequence[Question],
    desk: Desk,
    judge: Judge,
    save: Callable[[Interview], None],
    *,
    limit_s: float | None = None,
    now: Callable[[], float] = time.monotonic,
) -> Interview:
    """Ask the questions one by one until all are answered, the time is up, or somebody leaves.

    Args:
        interview: without answers yet.
        save: called after every answer and every mark.
        limit_s: for everything; None for no limit.
    Returns:
        The interview with its answers; ended_early says why when questions were left.
    Raises:
        CoachError: the microphone cannot be used, and nothing was answered before.
    """
    began = now()
    kept = interview

    def keep(newer: Interview) -> None:
        nonlocal kept
        kept = newer
        save(newer)

    for number, question in enumerate(questions, 1):
        spent_s = now() - began
        if limit_s is not None and spent_s >= limit_s:
            return _ended(interview, f"the time was up after {number - 1} of {len(questions)} questions", spent_s, keep)
        left_s = None if limit_s is None else limit_s - spent_s
        clock = Clock(number, len(questions), None if left_s is None else left_s / (len(questions) - number + 1), left_s)
        try:
            interview, leaving = _one(interview, question, clock, desk, judge, keep, spent_s)
        except KeyboardInterrupt:
            interview, leaving = kept, "left by the keyboard"
        except CoachError as err:  # the microphone or the disk: what was answered before is told all the same
            if not kept.answers:
                raise
            interview, leaving = kept, str(err)
        if leaving:
            return _ended(interview, leaving, now() - began, keep)
    return _saved(replace(interview, seconds=round(now() - began, 2)), keep)


def _one(
    interview: Interview,
    question: Question,
    clock: Clock,
    desk: Desk,
    judge: Judge,
    save: Callable[[Interview], None],
    at_s: float,
) -> tuple[Interview, str | None]:
    """One question, with repeats and follow-ups; and why the interview ends with it, if it does."""
    desk.ask(question, clock)
    heard = desk.hear(question, clock)
    while heard.then is Then.REPEAT:
        desk.ask(question, clock)
        heard = desk.hear(question, clock)
    if heard.then is Then.LEAVE and not heard.words.words:
        return interview, "left before all questions were asked"
    answer = _answer(question, heard, judge, at_s)
    interview = _saved(replace(interview, answers=(*interview.answers, answer)), save)
    if heard.problem or heard.then is Then.LEAVE:
        return interview, heard.problem or "left before all questions were asked"
    if answer.score.kind is Kind.SKIPPED:
        return interview, None
    while True:
        marked = desk.mark(answer, clock)
        answer = replace(answer, rulings={**answer.rulings, **marked.rulings}, note=marked.note or answer.note)
        interview = _saved(replace(interview, answers=(*interview.answers[:-1], answer)), save)
        if marked.then is not Then.FOLLOW_UP:
            break
        more = desk.hear(question, clock)
        answer = joined(answer, _answer(question, more, judge, at_s))
        interview = _saved(replace(interview, answers=(*interview.answers[:-1], answer)), save)
        if more.problem:
            return interview, more.problem
    leaving = "left before all questions were asked" if marked.then is Then.LEAVE and clock.number < clock.total else None
    return interview, leaving


def _answer(question: Question, heard: Heard, judge: Judge, at_s: float) -> Answer:
    if heard.then is Then.SKIP and not heard.words.words:
        return Answer(question, (), skipped(question), None, at_s, take=heard.take, typed=heard.typed)
    words, score = judge(question, heard.words)
    return Answer(question, words.words, score, timing(heard.words, heard.voice_s), at_s, take=heard.take, typed=heard.typed)


def joined(answer: Answer, more: Answer) -> Answer:
    """An answer with its follow-up: a point told in either is told; the first timing stands."""
    offset = answer.words[-1].end_s if answer.words else 0.0
    words = tuple(Word(w.text, w.start_s + offset, w.end_s + offset, w.confidence, w.written) for w in more.words)
    points = tuple(
        _later(b, offset) if a.status is not PointStatus.COVERED and b.status is not PointStatus.MISSED else a
        for a, b in zip(answer.score.points, more.score.points, strict=True)
    )
    covered = {n for n, p in enumerate(points) if p.status is PointStatus.COVERED}
    mistakes = tuple(
        [m for m in answer.score.mistakes if m.point is None or m.point not in covered]
        + [replace(m, start_s=m.start_s + offset, end_s=m.end_s + offset) for m in more.score.mistakes]
    )
    kind = Kind.ANSWER if Kind.ANSWER in (answer.score.kind, more.score.kind) else answer.score.kind
    score = Score(kind, points, mistakes, tuple(n for n in answer.score.out_of_order if n in covered))
    return replace(answer, words=(*answer.words, *words), score=score, take=answer.take or more.take)


def _later(verdict: PointVerdict, offset: float) -> PointVerdict:
    if verdict.start_s is None or verdict.end_s is None:
        return verdict
    return replace(verdict, start_s=verdict.start_s + offset, end_s=verdict.end_s + offset)


def _saved(interview: Interview, save: Callable[[Interview], None]) -> Interview:
    save(interview)
    return interview


def _ended(interview: Interview, why: str, seconds: float, save: Callable[[Interview], None]) -> Interview:
    return _saved(replace(interview, ended_early=why, seconds=round(seconds, 2)), save)

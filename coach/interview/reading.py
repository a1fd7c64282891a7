"""Key points that were told in words nobody foresaw: the same reader as a rehearsal's is asked about each statement.

In: a question, the words of an answer, what the spoken forms found. Out: the Score with points left open. Pure. The reader
never credits a point by itself, it only keeps one from being called left out (the figures stand in its model card).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from coach.interview.model import Kind, PointStatus, PointVerdict, Score
from coach.judge.belief import Logistic
from coach.judge.tokens import Token, sentences, words_of_phrase
from coach.knowledge.questions import Question
from coach.reader.labels import describe_point
from coach.reader.passage import passage
from coach.words import TimedWords

if TYPE_CHECKING:
    from coach.reader.model import Reader

__all__ = ["leave_open", "point_features"]

OPEN = 0.3  # a missed point with a chance of at least this of having been told is left open
AROUND = 3  # words shown on either side of where it seems told


def point_features(logit: float, status: PointStatus) -> tuple[float, ...]:
    """What the logistic model of a point looks at: the reader's highest logit, and what the spoken forms found."""
    return (max(-12.0, min(12.0, logit)), float(status is PointStatus.COVERED), float(status is PointStatus.WRONG))


def leave_open(question: Question, heard: TimedWords, score: Score, reader: Reader) -> Score:
    """The score with every missed point that the reader thinks may have been told made unsure."""
    missed = [n for n, p in enumerate(score.points) if p.status is PointStatus.MISSED]
    split = sentences(heard)
    if not missed or score.kind in (Kind.SILENT, Kind.SKIPPED, Kind.DONT_KNOW) or not any(split):
        return score
    told = passage(split, words_of_phrase(question.ask))
    logits = reader.logits(told, [describe_point(question.points[n].tell) for n in missed])[:, :, 0]
    model = Logistic.of(reader.beliefs["point"])
    points = list(score.points)
    for k, n in enumerate(missed):
        at = int(logits[:, k].argmax())
        if model.chances(point_features(float(logits[at, k]), PointStatus.MISSED)).said >= OPEN:
            points[n] = _perhaps(heard, [t for s in split for t in s], at)
    kind = Kind.ANSWER if any(p.status is PointStatus.UNSURE for p in points) else score.kind
    return replace(score, points=tuple(points), kind=kind)


def _perhaps(heard: TimedWords, row: Sequence[Token], at: int) -> PointVerdict:
    first, last = row[max(0, at - AROUND)].first, row[min(len(row) - 1, at + AROUND)].last
    words = heard.words[first : last + 1]
    text = " ".join(w.text for w in words)
    return PointVerdict(PointStatus.UNSURE, text, words[0].start_s, words[-1].end_s, "perhaps said: listen to that second")

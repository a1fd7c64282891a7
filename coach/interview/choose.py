"""Which questions to ask: of the level, leaning to what was missed lately and has not been asked for long. Pure.

The same seed, questions and history give the same choice.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from coach.errors import CoachError
from coach.knowledge.questions import LEVELS, Question

__all__ = ["PastAnswer", "choose", "draw", "suitable", "weight"]

# How much likelier than one well known and fresh: by hand, no source.
MISSED = 4.0  # times the share that was missing last time
NEVER = 3.0  # never asked
OLD_DAYS = 28.0  # after so long a question counts as not asked for long
OLD = 2.0


@dataclass(frozen=True, slots=True)
class PastAnswer:
    """A question that was asked before, when, and the share of the answer that was there (0..1)."""

    question: str
    when: datetime
    share: float


def suitable(questions: Iterable[Question], level: str, topics: Collection[str] = ()) -> tuple[Question, ...]:
    """Questions of the level and those below it, of the topics (all when none are named).

    Source: uidaho-cis1206: juniors answer level 1, intermediates 1 and 2, seniors all three.
    """
    levels = LEVELS[: LEVELS.index(level) + 1]
    return tuple(q for q in questions if q.level in levels and (not topics or q.topic in topics))


def weight(question: Question, past: Sequence[PastAnswer], now: datetime) -> float:
    """How much the question is due: missed lately, or not asked for long."""
    mine = [p for p in past if p.question == question.id]
    if not mine:
        return 1.0 + NEVER
    last = max(mine, key=lambda p: p.when)
    days = max(0.0, (now - last.when).total_seconds() / 86_400)
    return 1.0 + MISSED * (1.0 - last.share) + OLD * min(1.0, days / OLD_DAYS)


def choose(
    questions: Sequence[Question],
    count: int,
    seed: int,
    past: Sequence[PastAnswer] = (),
    now: datetime | None = None,
    level: str | None = None,
) -> tuple[Question, ...]:
    """So many different questions, the due ones likelier; those of the level itself come up more than lower ones.

    Raises:
        CoachError: there is none to choose from.
    """
    if not questions:
        raise CoachError("no question fits: choose other --topics, a higher --level, or add a file with --questions-file")
    when = now or datetime.now().astimezone()
    weights = {q.id: weight(q, past, when) * (2.0 if q.level == level else 1.0) for q in questions}
    return draw(questions, weights, min(count, len(questions)), random.Random(seed))


def draw(questions: Sequence[Question], weights: dict[str, float], count: int, chance: random.Random) -> tuple[Question, ...]:
    """Without replacement, a topic again only when all others have had their turn as often."""
    left = sorted(questions, key=lambda q: q.id)
    chosen: list[Question] = []
    while left and len(chosen) < count:
        used = [q.topic for q in chosen]
        fewest = min(used.count(q.topic) for q in left)
        fresh = [q for q in left if used.count(q.topic) == fewest]
        picked = chance.choices(fresh, [weights[q.id] for q in fresh])[0]
        chosen.append(picked)
        left.remove(picked)
    return tuple(chosen)

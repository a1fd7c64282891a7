"""When each item should be said again, by a field-made scheduler fed with the verdicts. Pure.

The library (`fsrs`, a model of forgetting with published weights) stays inside this module: what members read is
only "today" or a number of days. An item that was said counts as remembered, put right at once as remembered with
difficulty, missed as forgotten; unsure is no evidence and counts as nothing. Practice goes by days, so the library's
steps of minutes are off, and so is its random spread: the same history gives the same plan.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timezone
from typing import TYPE_CHECKING

from coach.history.model import ItemResult, Session
from coach.history.progress import MISSED, learning_key
from coach.judge.verdict import Status

if TYPE_CHECKING:
    from fsrs import Rating

__all__ = ["LONGEST_DAYS", "Turn", "schedule"]

LONGEST_DAYS = 30  # a show season is short: nothing rests longer than a month
WANTED_SHARE = 0.9  # an item is due when the chance that it would be said sinks to this


@dataclass(frozen=True, slots=True)
class Turn:
    """When an item's turn comes. chance is the estimated chance, 0..1, that it would be said now.

    n_missed and n_asked count the sessions with a clear verdict. bird_name is whose bird it was last told of.
    """

    latest: ItemResult
    bird_name: str
    due: datetime
    chance: float
    n_missed: int
    n_asked: int

    @property
    def was_missed(self) -> bool:
        """Whether it was missed the last time it was clear."""
        return self.latest.status in MISSED


def schedule(sessions: Iterable[Session], now: datetime) -> tuple[Turn, ...]:
    """The turn of every required item with a clear verdict; given the sessions, the oldest first."""
    from fsrs import Card, Scheduler

    scheduler = Scheduler(
        desired_retention=WANTED_SHARE,
        learning_steps=(),
        relearning_steps=(),
        maximum_interval=LONGEST_DAYS,
        enable_fuzzing=False,
    )
    cards: dict[tuple[str, str], Card] = {}
    latest: dict[tuple[str, str], tuple[ItemResult, str]] = {}
    outcomes: dict[tuple[str, str], list[bool]] = {}
    for session in sessions:
        when = session.when.astimezone(timezone.utc)
        for item in session.asked:
            key, rating = learning_key(session, item), _rating(item)
            if rating is None:
                continue
            card = cards.get(key) or Card(card_id=len(cards) + 1)  # a number of its own, else the library waits for one
            cards[key], _ = scheduler.review_card(card, rating, when)
            latest[key] = item, session.bird_name
            outcomes.setdefault(key, []).append(item.status is Status.SAID)
    return tuple(
        Turn(
            latest=latest[key][0],
            bird_name=latest[key][1],
            due=card.due,
            chance=float(scheduler.get_card_retrievability(card, now.astimezone(timezone.utc))),
            n_missed=outcomes[key].count(False),
            n_asked=len(outcomes[key]),
        )
        for key, card in cards.items()
    )


def _rating(item: ItemResult) -> Rating | None:
    from fsrs import Rating

    if item.status is Status.UNSURE:
        return None
    if item.status in MISSED:
        return Rating.Again
    return Rating.Hard if item.mended else Rating.Good

"""One member's sessions in, what became of them out: told share, items, regions, pace, interview topics. Pure.

Every figure carries the number of sessions (or answers) behind it. Interviews count only for topics; drills of a few
regions count for items and times, but not for the share told, the pace or the fillers, which they would make jump.
"""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from coach.history.model import ItemResult, Session
from coach.history.trend import Trend, fit_trend
from coach.judge.verdict import Status

__all__ = [
    "MISSED",
    "ItemHistory",
    "Progress",
    "RegionSpread",
    "Series",
    "TopicResult",
    "full_rehearsals",
    "item_histories",
    "learning_key",
    "look_back",
    "region_spreads",
    "topic_results",
]

MISSED = frozenset({Status.SKIPPED, Status.MISNAMED, Status.WRONG})
DRILL_SHARE = 0.5  # a rehearsal that asks less than this of the member's fullest one is a drill
RECENT = 6  # the last times an item was asked
AGAIN_MIN = 2  # missed as often among those is "again and again", when it is half of them or more
MENDED_RUN = 2  # said as often in a row after two misses or more is "mended"


@dataclass(frozen=True, slots=True)
class Series:
    """One figure over sessions, the oldest first."""

    points: tuple[tuple[datetime, float], ...]

    @property
    def values(self) -> tuple[float, ...]:
        """The figures alone."""
        return tuple(value for _, value in self.points)

    @property
    def trend(self) -> Trend | None:
        """The robust slope, None under five sessions."""
        return fit_trend(self.values)


@dataclass(frozen=True, slots=True)
class ItemHistory:
    """One item over the sessions that asked for it, unsure ones left out; outcomes are the oldest first, True for said."""

    latest: ItemResult
    outcomes: tuple[bool, ...]
    n_unsure: int

    @property
    def n_missed(self) -> int:
        """How often it was missed in all."""
        return self.outcomes.count(False)

    @property
    def recent(self) -> tuple[bool, ...]:
        """The last few outcomes."""
        return self.outcomes[-RECENT:]

    @property
    def run_said(self) -> int:
        """How often it was said in a row up to now."""
        return next((n for n, said in enumerate(reversed(self.outcomes)) if not said), len(self.outcomes))

    @property
    def is_missed_again(self) -> bool:
        """Missed at least twice and at least half of the last few times, and not mended."""
        missed = self.recent.count(False)
        return missed >= AGAIN_MIN and 2 * missed >= len(self.recent) and not self.is_mended

    @property
    def is_mended(self) -> bool:
        """Missed at least twice, the last time not long ago, then said at least twice in a row."""
        return self.n_missed >= AGAIN_MIN and self.run_said >= MENDED_RUN and False in self.recent


@dataclass(frozen=True, slots=True)
class RegionSpread:
    """Seconds in one region: the median, and the middle half from low to high, over n visits."""

    region: str
    title: str
    median_s: float
    low_s: float
    high_s: float
    n: int


@dataclass(frozen=True, slots=True)
class TopicResult:
    """Interview answers on one topic: the mean share answered over n answers in so many interviews."""

    topic: str
    share: float
    n: int
    n_interviews: int


@dataclass(frozen=True, slots=True)
class Progress:
    """Everything that is shown of one member; missed_again holds the most missed first, mended the longest run first."""

    member: str
    n_rehearsals: int
    n_drills: int
    n_interviews: int
    first: datetime | None
    last: datetime | None
    told: Series  # percent of what was to be told
    pace: Series  # words a minute
    fillers: Series  # a minute
    unsure_percent: float | None  # of all verdicts: what the listener could not decide
    missed_again: tuple[ItemHistory, ...]
    mended: tuple[ItemHistory, ...]
    regions: tuple[RegionSpread, ...]
    topics: tuple[TopicResult, ...]

    @property
    def n_sessions(self) -> int:
        """All sessions."""
        return self.n_rehearsals + self.n_drills + self.n_interviews


def look_back(member: str, sessions: Sequence[Session]) -> Progress:
    """A member's progress over these sessions, given the oldest first."""
    rehearsals = [s for s in sessions if s.items]
    full = full_rehearsals(rehearsals)
    histories = item_histories(rehearsals)
    asked = [i for s in rehearsals for i in s.asked]
    return Progress(
        member=member,
        n_rehearsals=len(full),
        n_drills=len(rehearsals) - len(full),
        n_interviews=sum(bool(s.answers) for s in sessions),
        first=sessions[0].when if sessions else None,
        last=sessions[-1].when if sessions else None,
        told=_series(full, lambda s: None if s.told_share is None else 100 * s.told_share),
        pace=_series(full, lambda s: s.delivery.words_per_minute if s.delivery else None),
        fillers=_series(full, lambda s: s.delivery.fillers_per_minute if s.delivery else None),
        unsure_percent=100 * sum(i.status is Status.UNSURE for i in asked) / len(asked) if asked else None,
        missed_again=tuple(
            sorted((h for h in histories if h.is_missed_again), key=lambda h: (-h.recent.count(False), -h.n_missed))
        ),
        mended=tuple(sorted((h for h in histories if h.is_mended), key=lambda h: (h.run_said, -h.n_missed))),
        regions=region_spreads(rehearsals),
        topics=topic_results(sessions),
    )


def full_rehearsals(sessions: Iterable[Session]) -> tuple[Session, ...]:
    """The rehearsals that went over the whole bird, drills left out."""
    rehearsals = [s for s in sessions if s.asked]
    most = max((len(s.asked) for s in rehearsals), default=0)
    return tuple(s for s in rehearsals if len(s.asked) >= DRILL_SHARE * most)


def item_histories(sessions: Iterable[Session]) -> tuple[ItemHistory, ...]:
    """What became of each required item, in the order they first came up.

    A part or a condition is one thing to learn whatever the bird; a fact belongs to its breed card, a fault to its bird.
    """
    seen: dict[tuple[str, str], list[ItemResult]] = defaultdict(list)
    for session in sessions:
        for item in session.asked:
            seen[learning_key(session, item)].append(item)
    return tuple(
        ItemHistory(
            latest=results[-1],
            outcomes=tuple(r.status is Status.SAID for r in results if r.status is not Status.UNSURE),
            n_unsure=sum(r.status is Status.UNSURE for r in results),
        )
        for results in seen.values()
    )


def learning_key(session: Session, item: ItemResult) -> tuple[str, str]:
    """What is learnt once: the item, with the card for a fact and the bird for a fault."""
    return item.item, {"fact": session.card, "fault": session.bird}.get(item.kind, "")


def _series(sessions: Iterable[Session], figure: Callable[[Session], float | None]) -> Series:
    found = ((s.when, figure(s)) for s in sessions)
    return Series(tuple((when, value) for when, value in found if value is not None))


def region_spreads(sessions: Iterable[Session]) -> tuple[RegionSpread, ...]:
    """Time in each region, in the order of the latest rehearsal that went there; times of recordings only."""
    visits: dict[str, list[float]] = defaultdict(list)
    titles: dict[str, tuple[int, str]] = {}
    for region in (r for s in sessions if s.timed for r in s.regions if r.seconds > 0):
        visits[region.region].append(region.seconds)
        titles[region.region] = (region.place, region.title)
    return tuple(
        RegionSpread(region, titles[region][1], *_spread(visits[region]), n=len(visits[region]))
        for region in sorted(visits, key=lambda region: titles[region])
    )


def _spread(values: Sequence[float]) -> tuple[float, float, float]:
    """Median, lower and upper quartile; of a single value all three are that value."""
    if len(values) == 1:
        return values[0], values[0], values[0]
    low, middle, high = statistics.quantiles(values, n=4, method="inclusive")
    return middle, low, high


def topic_results(sessions: Iterable[Session]) -> tuple[TopicResult, ...]:
    """How each interview topic was answered, the weakest first."""
    shares: dict[str, list[float]] = defaultdict(list)
    interviews: dict[str, int] = defaultdict(int)
    for session in sessions:
        for topic in {a.topic for a in session.answers}:
            interviews[topic] += 1
        for answer in session.answers:
            shares[answer.topic].append(answer.share)
    results = [TopicResult(t, statistics.fmean(v), len(v), interviews[t]) for t, v in shares.items()]
    return tuple(sorted(results, key=lambda r: (r.share, r.topic)))

"""A club's members side by side: who practised, who seems ready for which level, what to work on together. Pure.

Ready is a hint for the leader, by a rule of our own (no source): the leader decides.
"""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from coach.history.model import ItemResult, Session
from coach.history.progress import MISSED, full_rehearsals
from coach.judge.verdict import Status

__all__ = ["LEVELS", "READY_RULE", "WINDOW", "Club", "MemberRow", "WeakItem", "look_at_club"]

LEVELS = {"junior": 0.6, "intermediate": 0.8, "senior": 0.9}  # share told that a level asks for
WINDOW = 12  # a member's latest sessions that the table goes by
RECENT = 3  # the rehearsals that count for it: the median, so that one bad day does not
ANSWERS_MIN = 5  # fewer answers at a level say nothing
ANSWERS_SHARE = 0.7
READY_RULE = (
    f"Ready is a hint; the leader decides. It means: the middle one of the last {RECENT} whole rehearsals told at least "
    + ", ".join(f"{100 * share:.0f} % ({level})" for level, share in LEVELS.items())
    + f"; and where the last {WINDOW} sessions hold {ANSWERS_MIN} or more interview answers of that level, "
    f"at least {100 * ANSWERS_SHARE:.0f} % of what they asked."
)
WEAK_MEMBERS = 2  # an item is a common weakness when it was missed last time by so many


@dataclass(frozen=True, slots=True)
class MemberRow:
    """One member. Shares are 0..1 and None when there is nothing to go by; ready is a level or None."""

    name: str
    n_sessions: int
    n_lately: int  # since the club's date
    last: datetime | None
    told_share: float | None
    n_counted: int  # rehearsals behind told_share
    answer_share: float | None
    n_answers: int
    ready: str | None


@dataclass(frozen=True, slots=True)
class WeakItem:
    """Something that several members missed in their latest rehearsal."""

    item: ItemResult
    n_missed: int
    n_asked: int


@dataclass(frozen=True, slots=True)
class Club:
    """All members, by name, and the items most of them missed, the commonest first."""

    since: datetime
    rows: tuple[MemberRow, ...]
    weak: tuple[WeakItem, ...]


def look_at_club(members: Mapping[str, Sequence[Session]], counts: Mapping[str, tuple[int, int]], since: datetime) -> Club:
    """The club's table.

    Args:
        members: name -> the last WINDOW sessions, the oldest first.
        counts: name -> how many sessions in all, and since the date.
        since: what counts as lately.
    """
    rows = tuple(_row(name, sessions, counts[name]) for name, sessions in members.items())
    return Club(since, rows, _weak(members))


def _row(name: str, sessions: Sequence[Session], counts: tuple[int, int]) -> MemberRow:
    counted = [s.told_share for s in full_rehearsals(sessions) if s.told_share is not None][-RECENT:]
    answers = [a for s in sessions for a in s.answers]
    return MemberRow(
        name=name,
        n_sessions=counts[0],
        n_lately=counts[1],
        last=sessions[-1].when if sessions else None,
        told_share=statistics.median(counted) if counted else None,
        n_counted=len(counted),
        answer_share=statistics.fmean(a.share for a in answers) if answers else None,
        n_answers=len(answers),
        ready=_ready(counted, sessions),
    )


def _ready(counted: Sequence[float], sessions: Sequence[Session]) -> str | None:
    """The highest level whose shares are reached; None without enough rehearsals."""
    if len(counted) < RECENT:
        return None
    told = statistics.median(counted)
    return next((level for level in reversed(LEVELS) if told >= LEVELS[level] and _answers_well(sessions, level)), None)


def _answers_well(sessions: Sequence[Session], level: str) -> bool:
    shares = [a.share for s in sessions for a in s.answers if a.level == level]
    return len(shares) < ANSWERS_MIN or statistics.fmean(shares) >= ANSWERS_SHARE


def _weak(members: Mapping[str, Sequence[Session]]) -> tuple[WeakItem, ...]:
    """Over each member's latest whole rehearsal; a bird's own faults are nobody else's."""
    asked: dict[str, list[ItemResult]] = defaultdict(list)
    for sessions in members.values():
        for item in [i for s in full_rehearsals(sessions)[-1:] for i in s.asked]:
            if item.kind != "fault" and item.status is not Status.UNSURE:
                asked[item.item].append(item)
    weak = [WeakItem(items[-1], sum(i.status in MISSED for i in items), len(items)) for items in asked.values()]
    return tuple(sorted((w for w in weak if w.n_missed >= WEAK_MEMBERS), key=lambda w: (-w.n_missed / w.n_asked, -w.n_missed)))

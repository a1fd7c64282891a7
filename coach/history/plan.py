"""What to practise today in a few minutes: lines to say aloud, a drill of the weakest regions, a whole rehearsal. Pure."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from coach.history.model import Session
from coach.history.progress import full_rehearsals, region_spreads, topic_results
from coach.history.schedule import Turn, schedule

__all__ = ["Drill", "Line", "Plan", "make_plan"]

SAY_TIMES = 3  # each line aloud, so that it sits
WORDS_A_SECOND = 2.0  # an easy pace of 120 words a minute
BREATH_S = 6.0  # to find the place on the bird, for each line
MAX_LINES = 8  # more than a member can bring to life in one go
LINES_SHARE = 0.5  # of the time goes to single lines at most; the rest is for putting them in their place
DRILL_REGIONS = 3
DRILL_TIMES = 2
REGION_S = 15.0  # a region's time when nothing is known yet
SETTLE_S = 20.0  # to set the bird up, for each drill and each whole rehearsal
WEAK_TOPIC = 0.7  # of the answers on a topic; below it the topic is named, from three answers on
WEAK_TOPIC_MIN = 3


@dataclass(frozen=True, slots=True)
class Line:
    """One sentence to say aloud; why tells what happened with it."""

    title: str
    say: str
    why: str
    seconds: float


@dataclass(frozen=True, slots=True)
class Drill:
    """Saying only these regions, a few times over; ids for the command, titles for people."""

    regions: tuple[str, ...]
    titles: tuple[str, ...]
    seconds: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Today's practice. n_waiting lines are due too but did not fit; next_due is when the next line's turn comes."""

    minutes: float
    lines: tuple[Line, ...]
    drill: Drill | None
    whole_s: float | None  # one whole rehearsal of so many seconds; None when there is no time for it
    n_waiting: int
    next_due: datetime | None
    weak_topics: tuple[str, ...]
    n_rehearsals: int


def make_plan(sessions: Sequence[Session], now: datetime, minutes: float = 10.0) -> Plan:
    """Today's plan from a member's sessions, the oldest first.

    Args:
        now: with the time zone whose days count.
        minutes: how long there is; a line is never cut to fit.
    """
    turns = schedule(sessions, now)
    due = sorted((t for t in turns if _is_due(t, now)), key=_urgency)
    full = full_rehearsals(sessions)
    usual_s = statistics.median(s.seconds for s in full) if full else None
    left_s = 60.0 * minutes
    lines = _fitting([_line(t, _is_told_apart(t, sessions)) for t in due[:MAX_LINES]], LINES_SHARE * left_s)
    left_s -= sum(line.seconds for line in lines)
    drill = _drill(sessions, due, left_s)
    left_s -= drill.seconds if drill else 0.0
    whole = usual_s is not None and usual_s + SETTLE_S <= left_s
    topics = topic_results(sessions)
    return Plan(
        minutes=minutes,
        lines=lines,
        drill=drill,
        whole_s=usual_s if whole else None,
        n_waiting=len(due) - len(lines),
        next_due=min((t.due for t in turns if not _is_due(t, now)), default=None),
        weak_topics=tuple(t.topic for t in topics if t.share < WEAK_TOPIC and t.n >= WEAK_TOPIC_MIN),
        n_rehearsals=sum(bool(s.items) for s in sessions),
    )


def _is_due(turn: Turn, now: datetime) -> bool:
    """Missed last time, or its day has come."""
    return turn.was_missed or turn.due.astimezone(now.tzinfo).date() <= now.date()


def _urgency(turn: Turn) -> tuple[bool, float, int]:
    return not turn.was_missed, turn.chance, -turn.n_missed


def _is_told_apart(turn: Turn, sessions: Sequence[Session]) -> bool:
    """Whether the line is true of one of several birds only."""
    return turn.latest.kind in ("fact", "fault") and len({s.bird for s in sessions if s.items}) > 1


def _line(turn: Turn, is_told_apart: bool) -> Line:
    item = turn.latest
    seconds = SAY_TIMES * len(item.line.split()) / WORDS_A_SECOND + BREATH_S
    title = f"{item.title} (for {turn.bird_name})" if is_told_apart else item.title
    return Line(title, item.line, _why(turn), seconds)


def _why(turn: Turn) -> str:
    if turn.was_missed and turn.n_missed > 1:
        return f"missed {turn.n_missed} of {turn.n_asked} times"
    if turn.was_missed:
        return "missed last time"
    if turn.latest.mended:
        return "put right only after a slip last time"
    return "its turn again, to keep it"


def _fitting(lines: Sequence[Line], seconds: float) -> tuple[Line, ...]:
    """As many of the lines as fit, the first always."""
    taken: list[Line] = []
    for line in lines:
        seconds -= line.seconds
        if taken and seconds < 0:
            break
        taken.append(line)
    return tuple(taken)


def _drill(sessions: Sequence[Session], turns: Sequence[Turn], left_s: float) -> Drill | None:
    """The regions with the most missed, then the most due lines, in the order of the route, as many as there is time for."""
    regions = {r.region: r for s in sessions for r in s.regions}
    usual_s = {r.region: r.median_s for r in region_spreads(sessions)}
    here = [t for t in turns if t.latest.region in regions]
    missed, due = (Counter(t.latest.region for t in some) for some in ([t for t in here if t.was_missed], here))
    chosen: list[str] = []
    used_s = SETTLE_S
    for region in sorted(due, key=lambda r: (-missed[r], -due[r]))[:DRILL_REGIONS]:
        cost_s = DRILL_TIMES * usual_s.get(region, REGION_S)
        if used_s + cost_s <= left_s:
            chosen.append(region)
            used_s += cost_s
    if not chosen:
        return None
    chosen.sort(key=lambda region: regions[region].place)
    return Drill(tuple(chosen), tuple(regions[r].title for r in chosen), used_s)

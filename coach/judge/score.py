"""Points for practice, from a judgement and a score sheet. In: Judgement and ScoreSheet. Out: a Score. Pure.

A line about items gives its points by the share of the required items that were told; what the listener was not sure of gives
nothing in `points` and everything in `at_best`. A line about delivery gives all or nothing. A line that asks nothing of this
rehearsal (no faults on the bird, no rate from words without times) counts neither in the points nor in what they are out of.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

from coach.judge.verdict import Judgement, Status, Verdict
from coach.knowledge.score_sheets import FAULTS, ScoreSheet, SheetLine

__all__ = ["Score", "ScoreLine", "score"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreLine:
    """What one line gave. points is None for what the leader fills in by hand; detail says it in words."""

    title: str
    points: float | None
    at_best: float
    of: float
    detail: str


@dataclass(frozen=True, slots=True)
class Score:
    """All lines that count, and their sums; at_best is the total if every unsure item was in truth told."""

    sheet: str
    lines: tuple[ScoreLine, ...]
    total: float
    at_best: float
    of: float
    by_hand: float  # points that wait for the leader, not in `of`


def score(judgement: Judgement, sheet: ScoreSheet) -> Score:
    """The practice points of a rehearsal."""
    lines = tuple(found for line in sheet.lines for found in _score(line, judgement))
    counted = [line for line in lines if line.points is not None]
    return Score(
        sheet=sheet.title,
        lines=lines,
        total=sum(line.points or 0.0 for line in counted),
        at_best=sum(line.at_best for line in counted),
        of=sum(line.of for line in counted),
        by_hand=sum(line.of for line in lines if line.points is None),
    )


def _score(line: SheetLine, judgement: Judgement) -> Iterator[ScoreLine]:
    if line.by_hand:
        yield ScoreLine(title=line.title, points=None, at_best=0.0, of=line.points, detail="for your leader to fill in")
    elif line.measure is not None:
        yield from _measured(line, judgement)
    elif line.each_region:
        for region in sorted(judgement.regions, key=lambda r: r.expected_place):
            yield from _told(region.title, line.points, [v for v in judgement.verdicts if _place(v) == region.id])
    elif line.regions:
        yield from _told(line.title, line.points, [v for v in judgement.verdicts if _place(v) in line.regions])
    else:
        mine = [v for v in judgement.verdicts if any(fnmatchcase(v.id, pattern) for pattern in line.items)]
        yield from _told(line.title, line.points, mine)


def _place(verdict: Verdict) -> str:
    """The region a verdict is counted in; own faults are counted apart from the region they are seen in."""
    return FAULTS if verdict.id.startswith(f"{FAULTS}.") else verdict.id.split(".", 1)[0]


def _told(title: str, points: float, verdicts: Sequence[Verdict]) -> Iterator[ScoreLine]:
    asked = [v for v in verdicts if v.required]
    if not asked:
        return
    said = sum(v.status is Status.SAID for v in asked)
    unsure = sum(v.status is Status.UNSURE for v in asked)
    detail = f"{said} of {len(asked)} told" + (f", {unsure} not sure" if unsure else "")
    yield ScoreLine(
        title=title, points=points * said / len(asked), at_best=points * (said + unsure) / len(asked), of=points, detail=detail
    )


def _measured(line: SheetLine, judgement: Judgement) -> Iterator[ScoreLine]:
    name, figure = _FIGURES[line.measure or ""]
    value = figure(judgement) if judgement.is_rehearsal else None  # silence is neither in order nor unhurried
    if value is None:
        return
    inside = (line.at_least is None or value >= line.at_least) and (line.at_most is None or value <= line.at_most)
    points = line.points if inside else 0.0
    yield ScoreLine(
        title=line.title, points=points, at_best=points, of=line.points, detail=f"{value:.3g} {name}, good {_bounds(line)}"
    )


def _bounds(line: SheetLine) -> str:
    if line.at_least is None:
        return f"up to {line.at_most:g}"
    return f"from {line.at_least:g}" + ("" if line.at_most is None else f" to {line.at_most:g}")


def _minutes(judgement: Judgement) -> float | None:
    """Minutes from the first region's start to the last one's end; None without times."""
    visits = [visit for region in judgement.regions for visit in region.visits]
    last = max((visit.end_s for visit in visits), default=0.0)
    return (last - min(visit.start_s for visit in visits)) / 60 if last > 0 else None


def _fillers(judgement: Judgement) -> float | None:
    minutes = _minutes(judgement)
    return judgement.delivery.fillers / minutes if minutes else None


_FIGURES: dict[str, tuple[str, Callable[[Judgement], float | None]]] = {
    "words_per_minute": ("words a minute", lambda j: j.delivery.words_per_minute),
    "fillers_per_minute": ("fillers a minute", _fillers),
    "long_pauses": ("long silences", lambda j: float(len(j.delivery.long_pauses))),
    "regions_out_of_order": ("regions out of order", lambda j: float(len(j.out_of_order))),
    "minutes": ("minutes", _minutes),
}

"""Time at each region against an even share, the member's own usual and a time limit.

In: the regions' times. Out: a Timing. Pure. A budget shares the limit by the number of things to tell at each region (the
project's own suggestion: no published rule sheet that could be read sets times by region).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coach.judge.verdict import RegionTime

__all__ = ["RegionShare", "Timing", "time_regions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionShare:
    """One region's seconds beside what they may be held against; None where there is nothing to compare with."""

    id: str
    seconds: float
    even_s: float
    usual_s: float | None = None
    budget_s: float | None = None


@dataclass(frozen=True, slots=True)
class Timing:
    """The rehearsal's length from first to last word, its limit, and every region's share."""

    total_s: float
    limit_s: float | None
    regions: tuple[RegionShare, ...]


def time_regions(
    regions: Sequence[RegionTime], total_s: float, limit_s: float | None = None, usual_s: Mapping[str, float] | None = None
) -> Timing:
    """The timing of one rehearsal.

    Args:
        regions: as the judge found them; those that ask for nothing have no share.
        total_s: seconds from the first word to the last.
        limit_s: the time allowed, if any.
        usual_s: the member's usual seconds by region, from earlier sessions.
    """
    asked = [r for r in regions if r.n_required]
    spent = sum(r.seconds for r in asked)
    things = sum(r.n_required for r in asked)
    usual = usual_s or {}
    return Timing(
        total_s,
        limit_s,
        tuple(
            RegionShare(
                id=r.id,
                seconds=r.seconds,
                even_s=spent / len(asked),
                usual_s=usual.get(r.id),
                budget_s=None if limit_s is None else limit_s * r.n_required / things,
            )
            for r in asked
        ),
    )

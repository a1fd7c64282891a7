"""Two rehearsals side by side: what was mended, what slipped anew, the time in each region. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from coach.history.model import ItemResult, Session
from coach.history.progress import MISSED
from coach.judge.verdict import Status

__all__ = ["Comparison", "RegionTimes", "compare_sessions"]


@dataclass(frozen=True, slots=True)
class RegionTimes:
    """Seconds in one region before and after; None when it was not visited or the times are unknown."""

    title: str
    before_s: float | None
    after_s: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed from before to after, over the required items that both asked for.

    mended and still hold the items as they are after, slipped too. n_unclear items were unsure in one of the two, so
    nothing can be said of them; n_single were asked for in only one.
    """

    before: Session
    after: Session
    mended: tuple[ItemResult, ...]
    slipped: tuple[ItemResult, ...]
    still: tuple[ItemResult, ...]
    n_unclear: int
    n_single: int
    regions: tuple[RegionTimes, ...]

    @property
    def is_same_bird(self) -> bool:
        """Whether both are about one bird and one card."""
        return (self.before.bird, self.before.card) == (self.after.bird, self.after.card)


def compare_sessions(before: Session, after: Session) -> Comparison:
    """Hold a rehearsal against an earlier one."""
    old = {i.item: i for i in before.asked}
    new = {i.item: i for i in after.asked}
    both = [item for item in new if item in old]
    clear = [i for i in both if Status.UNSURE not in (old[i].status, new[i].status)]
    return Comparison(
        before=before,
        after=after,
        mended=tuple(new[i] for i in clear if old[i].status in MISSED and new[i].status is Status.SAID),
        slipped=tuple(new[i] for i in clear if old[i].status is Status.SAID and new[i].status in MISSED),
        still=tuple(new[i] for i in clear if old[i].status in MISSED and new[i].status in MISSED),
        n_unclear=len(both) - len(clear),
        n_single=len(old.keys() ^ new.keys()),
        regions=_regions(before, after),
    )


def _regions(before: Session, after: Session) -> tuple[RegionTimes, ...]:
    """All regions of either, in the order of the later rehearsal."""
    titles = {r.region: r.title for s in (after, before) for r in sorted(s.regions, key=lambda r: r.place)}
    return tuple(RegionTimes(title, _seconds(before, region), _seconds(after, region)) for region, title in titles.items())


def _seconds(session: Session, region: str) -> float | None:
    found = [r.seconds for r in session.regions if r.region == region and r.seconds > 0]
    return found[0] if session.timed and found else None

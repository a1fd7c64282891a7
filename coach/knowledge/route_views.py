"""A route cut to measure: to what a level asks, or to a few regions for a drill. Routes in, routes out; pure.

Levels: a beginner's unit asks for ten parts, about thirty terms exist in all (K-State Research and Extension, 4-H poultry
project level I record book); which ten and what stands between is our own choice, and a club changes it in its copy.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from coach.errors import CoachError
from coach.knowledge.model import LEVELS, Route
from coach.knowledge.routes import FACTS, within
from coach.knowledge.yaml_file import hint

__all__ = ["at_level", "only_regions"]


def at_level(route: Route, level: str = LEVELS[-1]) -> Route:
    """The route as it is asked at a level: what belongs to a higher one becomes optional.

    Optional and not left out: a junior who names the axial feather is credited, one who calls the hock a knee still hears
    of it, and the words keep telling where on the bird the member is. Nothing that was optional becomes required.

    Raises:
        CoachError: there is no such level.
    """
    if level not in LEVELS:
        raise CoachError(f"no level '{level}'; {hint(level, LEVELS)}")
    asked = LEVELS[: LEVELS.index(level) + 1]
    items = tuple(item if item.level in asked else replace(item, optional=True) for item in route.items)
    return replace(route, items=items)


def only_regions(route: Route, regions: Iterable[str]) -> Route:
    """The route cut down to some of its regions, in the route's order, for a drill; "facts" keeps the breed facts.

    Raises:
        CoachError: a name is no region of the route, or there is none.
    """
    wanted = tuple(dict.fromkeys(name.strip().lower() for name in regions if name.strip()))
    known = [*(region.id for region in route.regions), FACTS]
    for name in wanted:
        if name not in known:
            raise CoachError(f"the route '{route.id}' has no region '{name}'; {hint(name, known)}")
    if not wanted:
        raise CoachError(f"no region named; name one or more of {', '.join(known)}")
    kept = [item for item in route.items if item.region in wanted]
    ids = {item.id for item in kept}
    return replace(
        route,
        regions=tuple(region for region in route.regions if region.id in wanted),
        items=tuple(within(item, wanted, ids) for item in kept),
    )

"""Drilling a few regions only: a rehearsal's route and bird reduced to them. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from coach.errors import CoachError
from coach.knowledge.yaml_file import nearest

if TYPE_CHECKING:
    from coach.knowledge.model import Route
    from coach.review import Subject

__all__ = ["drill", "drilled", "only_regions"]

FACTS = "facts"


def drilled(bird: str, card: str | None, route: str | None, level: str | None, only: str | None) -> Subject:
    """What a rehearsal is about: the bird on its route, at a level, the regions of only alone where some are named.

    Raises:
        CoachError: any of them cannot be read or is wrong.
    """
    from coach.review import load_subject

    subject = load_subject(bird, card, route, level)
    return subject if only is None else drill(subject, only)


def drill(subject: Subject, names: str) -> Subject:
    """The subject with nothing but these regions, named by ids with commas between ("wings,legs"); "facts" adds the breed facts.

    Raises:
        CoachError: a name is no region of the route.
    """
    known = [*(r.id for r in subject.route.regions), FACTS]
    wanted = [name.strip().lower() for name in names.split(",") if name.strip()]
    for name in wanted:
        if name not in known:
            close = nearest(name, known)
            remedy = f"did you mean '{close[0]}'?" if close else f"regions: {', '.join(known)}"
            raise CoachError(f"--only {names}: the route has no region '{name}'; {remedy}")
    if not set(wanted) - {FACTS}:
        raise CoachError(f"--only {names}: needs one region or more, with commas between: {', '.join(known[:-1])}")
    faults = tuple(f for f in subject.bird.faults if f.region in wanted)
    return replace(subject, route=only_regions(subject.route, wanted), bird=replace(subject.bird, faults=faults))


def only_regions(route: Route, wanted: list[str]) -> Route:
    """The route with these regions in its own order, and the items told there."""
    regions = tuple(r for r in route.regions if r.id in wanted)
    items = [item for item in route.items if item.region in wanted]
    kept = {item.id for item in items}
    places = {r.id for r in regions}
    return replace(
        route,
        regions=regions,
        items=tuple(
            replace(
                item,
                about=item.about if item.about in kept else None,
                also_regions=tuple(r for r in item.also_regions if r in places),
            )
            for item in items
        ),
    )

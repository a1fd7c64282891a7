"""`coach route`: the routes over the bird's body. List them, show one, copy one for your club, check your own."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from coach.cli.shipped import Kind, add_actions
from coach.knowledge.model import LEVELS, Item
from coach.knowledge.routes import FACTS, FORMAT, find_route, load_route, route_problems, shipped_routes

__all__ = ["add_parser"]

_SEXES = {"f": "females", "m": "males"}


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("route", help="routes: list, show, copy, check", description=__doc__)
    kind = Kind("route", "route", FORMAT, shipped_routes, find_route, _describe, _show, route_problems)
    actions = add_actions(parser, kind)
    actions["show"].add_argument("--level", choices=LEVELS, default=LEVELS[-1], help="as it is asked at this level")


def _describe(route_id: str) -> str:
    route = load_route(route_id)
    return f"{route.title} ({', '.join(route.species)}): {', '.join(region.id for region in route.regions)}"


def _show(args: argparse.Namespace) -> Iterator[str]:
    from coach.knowledge.route_views import at_level

    route = at_level(load_route(args.name), args.level)
    yield f"{route.title} ({', '.join(route.species)}), asked of a {args.level}"
    if route.source:
        yield f"Source: {route.source}"
    for region_id, title in [*((region.id, region.title) for region in route.regions), (FACTS, "Breed facts, anywhere")]:
        items = [item for item in route.items if item.region == region_id]
        if items:
            yield ""
            yield title
            yield from (_row(item) for item in items)


def _row(item: Item) -> str:
    notes = [item.kind.value]
    if item.sex:
        notes.append(_SEXES[item.sex.value])
    notes.append("a bonus" if item.optional else item.level if item.level != LEVELS[0] else "everybody")
    row = f"  {item.id:26} {item.title} ({', '.join(notes)})"
    return row + (f"; not: {', '.join(item.wrong_names)}" if item.wrong_names else "")

"""Routes: from a file `route/1` to a Route, the regions in expected order and the items told there.

A route stands by itself or `extends` another one: it then takes over that route's regions and items, may put the
regions in a new order (what it does not list is dropped, "facts" stay) and adds items or replaces those of the same id.
"""

from __future__ import annotations

import os.path
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from coach.errors import CoachError
from coach.knowledge.cards import KEBAB, SPECIES
from coach.knowledge.model import LEVELS, Card, Item, Kind, Region, Route, Sex
from coach.knowledge.values import VALUE_PATHS
from coach.knowledge.yaml_file import Fields, Node, Problems, hint, is_path, load_yaml, nearest
from coach.places import knowledge_data_dir

__all__ = [
    *("DEFAULT_ROUTE", "FACTS", "FORMAT"),
    *("default_route", "find_route", "load_route", "route_problems", "shipped_routes", "within"),
]

FORMAT = "route/1"
DEFAULT_ROUTE = "head-to-tail"
SPECIES_ROUTES = {"duck": "duck", "goose": "goose", "turkey": "turkey"}
FACTS = "facts"  # items of this prefix have no region of their own
_KEYS = ("format", "id", "title", "species", "source", "extends", "regions", "items")
_KINDS = tuple(kind.value for kind in Kind if kind is not Kind.FAULT)
_REMEDIES = {
    "id": "write region.name, as in 'head.comb'",
    "kind": f"one of {', '.join(_KINDS)}",
    "title": "add what it is called",
    "line": "add a sentence that tells it",
}
_ITEM_KEYS = (
    *_REMEDIES,
    *("say", "wrong_names", "about", "value", "cues", "cues_of_part", "also_regions", "sex", "optional", "level"),
)
_ITEM_ID = re.compile(r"[a-z0-9][a-z0-9_-]*\.[a-z0-9][a-z0-9_-]*")


def load_route(id_or_path: str, near: Path | None = None) -> Route:
    """Read a route and all it extends, and check the result.

    Args:
        id_or_path: the id of a shipped route, or the path of a file.
        near: a file whose folder is searched as well.
    Raises:
        CoachError: the route cannot be read or is wrong; the message names file, line, key and remedy.
    """
    route, problems = _read(find_route(id_or_path, near), ())
    problems.raise_first()
    return route


def default_route(card: Card) -> str:
    """The id of the shipped route for the card's species: what is looked at when nobody names a route.

    Guineas have none of their own and get the chickens'.
    """
    return SPECIES_ROUTES.get(card.species, DEFAULT_ROUTE)


def route_problems(path: Path) -> list[str]:
    """All that is wrong with a route's file, a line each; empty when it is sound."""
    try:
        return _read(path, ())[1].lines
    except CoachError as err:
        return [str(err)]


def shipped_routes() -> tuple[str, ...]:
    """The ids of the routes that come with the coach, in alphabetical order."""
    return tuple(sorted(path.stem for path in _routes_dir().glob("*.yaml")))


def find_route(id_or_path: str, near: Path | None = None) -> Path:
    """The file of a route; CoachError names the nearest ids when there is none."""
    if is_path(id_or_path):
        tried = [*([near.parent / id_or_path] if near else []), Path(id_or_path)]
        problem = f"no route file '{id_or_path}'; check the path"
    else:
        folders = [*([near.parent] if near else []), _routes_dir()]
        tried = [folder / f"{id_or_path}.yaml" for folder in folders]
        close = nearest(id_or_path, shipped_routes()) or shipped_routes()
        problem = f"no route '{id_or_path}'; shipped: {', '.join(close)}, or give the path of your own"
    for path in tried:
        if os.path.isfile(path) and path != near:  # False where Path.is_file raises
            return path
    raise CoachError(problem)


def _routes_dir() -> Path:
    return knowledge_data_dir() / "routes"


def _read(path: Path, extended_by: tuple[Path, ...]) -> tuple[Route, Problems]:
    problems = Problems(path)
    top = load_yaml(path)
    problems.check_format(top, FORMAT)
    fields = Fields(top, problems, _KEYS)
    base = _base(fields, path, extended_by)
    if base is None and fields.has("extends"):
        return Route("", "", (), (), ()), problems  # against what is missing nothing else could be judged
    fields.require_all({"id": f"add 'id: {path.stem}'", "title": "add a title for people"})
    if base is None:
        fields.require_all(dict.fromkeys(("species", "regions", "items"), "a route that extends none needs it"))
    regions = _regions(fields, base)
    route = Route(
        id=fields.matching("id", KEBAB, "use small letters, digits and single hyphens") or "",
        title=fields.text("title") or "",
        species=fields.choices("species", SPECIES) or (base.species if base else ()),
        regions=regions,
        items=_items(fields, base, regions),
        source=fields.text("source"),
    )
    return route, problems


def _base(fields: Fields, path: Path, extended_by: tuple[Path, ...]) -> Route | None:
    name = fields.text("extends")
    if name is None:
        return None
    try:
        found = find_route(name, near=path)
        if found.resolve() in (*extended_by, path.resolve()):
            raise CoachError(f"'{name}' extends this route in turn; break the circle")
        route, problems = _read(found, (*extended_by, path.resolve()))
        problems.raise_first()
    except CoachError as err:
        fields.problem("extends", str(err))
        return None
    return route


def _regions(fields: Fields, base: Route | None) -> tuple[Region, ...]:
    """The regions in the file's order; a plain id stands for the region of the route that is extended."""
    inherited = {region.id: region for region in base.regions} if base else {}
    if not fields.has("regions"):
        return tuple(inherited.values())
    regions: dict[str, Region] = {}
    for place, node in enumerate(fields.nodes("regions"), 1):
        region = _region(fields, place, node, inherited)
        if region is not None and region.id in regions:
            fields.problem(f"regions[{place}]", f"'{region.id}' stands twice; keep one of them", node.line)
        elif region is not None:
            regions[region.id] = region
    return tuple(regions.values())


def _region(fields: Fields, place: int, node: Node, inherited: Mapping[str, Region]) -> Region | None:
    where = f"regions[{place}]"
    if node.kind != "mapping":
        if node.text in inherited:
            return inherited[node.text]
        remedy = hint(node.text, inherited) if inherited else "write {id: ..., title: ..., say: [...]}"
        fields.problem(where, f"no region '{node.text}' to take over; {remedy}", node.line)
        return None
    part = Fields(node, fields.problems, ("id", "title", "say"), f"{where}.")
    if not part.require_all({"id": "give the region a short name", "title": "add a title for people"}):
        return None
    found = part.matching("id", KEBAB, "use small letters, digits and single hyphens")
    if found == FACTS:
        part.problem("id", f"'{FACTS}' is kept for items told anywhere; choose another name")
        return None
    return Region(found, part.text("title") or "", part.phrases("say")) if found else None


def _items(fields: Fields, base: Route | None, regions: Sequence[Region]) -> tuple[Item, ...]:
    """The items taken over that still have their region, with those of the file put over or after them."""
    places = [region.id for region in regions]
    items = {item.id: item for item in _kept(base, places)}
    own: dict[str, Fields] = {}
    named = set()  # a broken item's id too: one mistake shall not become many
    for part in fields.sections("items", _ITEM_KEYS):
        named.add(part.node.entries["id"].text if part.has("id") else "")
        item = _item(part, places)
        if item is None:
            continue
        if item.id in own:
            part.problem("id", f"'{item.id}' stands twice; keep one of them")
        own[item.id] = part
        items[item.id] = item
    parts = [item.id for item in items.values() if item.kind is Kind.PART]
    for item_id, part in own.items():
        about = items[item_id].about
        if about is not None and about not in parts and (about in items or about not in named):
            part.problem("about", f"no part item '{about}'; {hint(about, parts)}")
    return tuple(items.values())


def _kept(base: Route | None, places: Sequence[str]) -> list[Item]:
    items = [item for item in base.items if item.region == FACTS or item.region in places] if base else []
    known = {item.id for item in items}
    return [within(item, places, known) for item in items]


def within(item: Item, regions: Collection[str], ids: Collection[str]) -> Item:
    """An item of a route that was cut down to some regions and items, without pointers to what was cut away."""
    return replace(
        item,
        about=item.about if item.about in ids else None,
        also_regions=tuple(region for region in item.also_regions if region in regions),
    )


def _item(part: Fields, places: Sequence[str]) -> Item | None:
    complete = part.require_all(_REMEDIES)
    item_id = part.matching("id", _ITEM_ID, _REMEDIES["id"])
    kind = part.choice("kind", _KINDS)
    if not complete or item_id is None or kind is None:
        return None
    sex = part.choice("sex", [one.value for one in Sex])
    item = Item(
        id=item_id,
        kind=Kind(kind),
        title=part.text("title") or "",
        line=part.text("line") or "",
        say=part.phrases("say"),
        wrong_names=part.phrases("wrong_names"),
        about=part.text("about"),
        value=part.text("value"),
        cues=part.phrases("cues"),
        cues_of_part=part.phrases("cues_of_part"),
        also_regions=part.phrases("also_regions"),
        sex=Sex(sex) if sex else None,
        optional=part.flag("optional") or False,
        level=part.choice("level", LEVELS) or LEVELS[0],
    )
    _check_item(part, item, places)
    return item


def _check_item(part: Fields, item: Item, places: Sequence[str]) -> None:
    if item.region not in (FACTS, *places):
        part.problem("id", f"the route has no region '{item.region}'; {hint(item.region, [*places, FACTS])}")
    for region in item.also_regions:
        if region not in places:
            part.problem("also_regions", f"the route has no region '{region}'; {hint(region, places)}")
    if item.kind is Kind.PART and not part.has("say"):
        part.problem("say", "missing; a part needs the words that name it")
    if item.kind is Kind.CONDITION and not part.has("cues") and not part.has("cues_of_part"):
        part.problem("cues", "missing; a condition needs phrases that tell it")
    if item.cues_of_part and item.about is None and not item.say:
        part.problem("cues_of_part", "they count only when said of a part; name it with 'about' or 'say'")
    if item.kind is Kind.FACT:
        part.require("value", "a fact needs the card's value, as in 'value: comb.type'")
    if item.value is not None and item.value not in VALUE_PATHS:
        part.problem("value", f"no value '{item.value}'; {_value_hint(item.value)}")
    path = VALUE_PATHS.get(item.value) if item.value else None
    if path is not None and path.of_part and item.about is None:
        part.problem("about", f"missing; '{item.value}' is told of a part: name its item, as in 'about: head.comb'")
    if item.value is not None and item.kind is not Kind.FACT:
        part.problem("value", "only a fact has a value; write 'kind: fact' or leave it out")


def _value_hint(path: str) -> str:
    close = nearest(path, list(VALUE_PATHS))
    return f"did you mean '{close[0]}'?" if close else "write one such as 'comb.type' or 'colors.eye'"

"""Score sheets: from a file `score-sheet/1` to a ScoreSheet, the lines that points are given on and what each looks at.

A line looks at told items (of regions, by id patterns, or one line for every region), or at one figure of the delivery, or it is
left blank for the leader, who fills in what no listener hears: dress, handling, posing.

No published poultry showmanship sheet with point values could be read when this was made, so the shipped sheets claim to be none:
a plain tally with equal weights, and an example for a club to edit into its own sheet.
"""

from __future__ import annotations

import os.path
import re
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache
from pathlib import Path

from coach.errors import CoachError
from coach.knowledge.model import Route
from coach.knowledge.routes import FACTS, load_route, shipped_routes
from coach.knowledge.yaml_file import Fields, Problems, hint, is_path, load_yaml, nearest
from coach.places import knowledge_data_dir

__all__ = [
    *("FORMAT", "MEASURES", "ScoreSheet", "SheetLine"),
    *("find_sheet", "load_sheet", "sheet_problems", "shipped_sheets"),
]

FORMAT = "score-sheet/1"
FAULTS = "faults"
MEASURES = ("words_per_minute", "fillers_per_minute", "long_pauses", "regions_out_of_order", "minutes")
MAX_POINTS = 1000
_LINE_KEYS = ("title", "points", "each_region", "regions", "items", "delivery", "at_least", "at_most", "by_hand")
_WAYS = ("each_region", "regions", "items", "delivery", "by_hand")
_PATTERN = re.compile(r"[a-z0-9_*?.-]+")


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of a sheet. Exactly one way to look is set; points are the most it can give.

    regions: ids of regions, "facts" for the breed facts, "faults" for the bird's own; items: patterns of item ids ("head.*").
    measure: one of MEASURES, good from at_least to at_most (None: no bound on that side).
    """

    title: str
    points: float
    each_region: bool = False
    regions: tuple[str, ...] = ()
    items: tuple[str, ...] = ()
    measure: str | None = None
    at_least: float | None = None
    at_most: float | None = None
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class ScoreSheet:
    """A sheet of lines, in order."""

    id: str
    title: str
    lines: tuple[SheetLine, ...]
    source: str | None = None


def load_sheet(id_or_path: str, route: Route | None = None) -> ScoreSheet:
    """Read a sheet and check it.

    Args:
        id_or_path: the id of a shipped sheet, or the path of a file.
        route: the route it will be used with; its regions and items may be named too.
    Raises:
        CoachError: the sheet cannot be read or is wrong; the message names file, line, key and remedy.
    """
    sheet, problems = _read(find_sheet(id_or_path), route)
    problems.raise_first()
    return sheet


def sheet_problems(path: Path, route: Route | None = None) -> list[str]:
    """All that is wrong with a sheet's file, a line each; empty when it is sound."""
    try:
        return _read(path, route)[1].lines
    except CoachError as err:
        return [str(err)]


def shipped_sheets() -> tuple[str, ...]:
    """The ids of the sheets that come with the coach, in alphabetical order."""
    return tuple(sorted(path.stem for path in _folder().glob("*.yaml")))


def find_sheet(id_or_path: str) -> Path:
    """The file of a sheet; CoachError names the nearest ids when there is none."""
    if is_path(id_or_path):
        path, problem = Path(id_or_path), f"no score sheet file '{id_or_path}'; check the path"
    else:
        close = nearest(id_or_path, shipped_sheets()) or shipped_sheets()
        path = _folder() / f"{id_or_path}.yaml"
        problem = f"no score sheet '{id_or_path}'; shipped: {', '.join(close)}, or give the path of your own"
    if not os.path.isfile(path):
        raise CoachError(problem)
    return path


def _folder() -> Path:
    return knowledge_data_dir() / "score_sheets"


def _read(path: Path, route: Route | None) -> tuple[ScoreSheet, Problems]:
    problems = Problems(path)
    top = load_yaml(path)
    problems.check_format(top, FORMAT)
    fields = Fields(top, problems, ("format", "id", "title", "source", "lines"))
    fields.require_all({"id": f"add 'id: {path.stem}'", "title": "add a title for people", "lines": "a sheet needs lines"})
    known = _known(route)
    lines = tuple(line for part in fields.sections("lines", _LINE_KEYS) if (line := _line(part, known)) is not None)
    if not lines and not problems.lines:
        fields.problem("lines", "an empty list; add a line such as '- {title: Head, points: 5, regions: [head]}'")
    return ScoreSheet(fields.text("id") or "", fields.text("title") or "", lines, fields.text("source")), problems


@dataclass(frozen=True, slots=True)
class _Known:
    """Region and item ids that a sheet may name."""

    regions: tuple[str, ...]
    items: tuple[str, ...]


def _known(route: Route | None) -> _Known:
    shipped = _shipped()
    if route is None:
        return shipped
    regions = (*shipped.regions, *(region.id for region in route.regions))
    return _Known(regions, (*shipped.items, *(item.id for item in route.items)))


@lru_cache(maxsize=1)
def _shipped() -> _Known:
    """What the shipped routes name, together."""
    routes = [load_route(route_id) for route_id in shipped_routes()]
    regions = dict.fromkeys(region.id for one in routes for region in one.regions)
    items = dict.fromkeys(item.id for one in routes for item in one.items)
    return _Known((*regions, FACTS, FAULTS), tuple(items))


def _line(part: Fields, known: _Known) -> SheetLine | None:
    ways = [way for way in _WAYS if part.has(way)]
    needed = {"points": "how many points the line can give"}
    if "each_region" not in ways:
        needed |= {"title": "add what the line is called"}
    complete = part.require_all(needed)
    if len(ways) != 1:
        what = f"says {' and '.join(ways)}" if ways else "does not say what it looks at"
        part.problem("title", f"the line {what}; write one of {', '.join(_WAYS)}", part.node.line)
        return None
    points = part.number("points", 0, MAX_POINTS, "points")
    line = SheetLine(
        title=part.text("title") or "",
        points=points or 0.0,
        each_region=part.flag("each_region") or False,
        regions=part.phrases("regions"),
        items=part.phrases("items"),
        measure=part.choice("delivery", MEASURES),
        at_least=part.number("at_least", 0, 1e6, "the measure"),
        at_most=part.number("at_most", 0, 1e6, "the measure"),
        by_hand=part.flag("by_hand") or False,
    )
    _check(part, line, known)
    return line if complete and points is not None else None


def _check(part: Fields, line: SheetLine, known: _Known) -> None:
    for region in line.regions:
        if region not in known.regions:
            part.problem("regions", f"no region '{region}'; {hint(region, known.regions)}")
    for pattern in line.items:
        if not _PATTERN.fullmatch(pattern) or not (
            pattern.startswith(f"{FAULTS}.") or any(fnmatchcase(item, pattern) for item in known.items)
        ):
            part.problem("items", f"'{pattern}' fits no item; {_item_hint(pattern, known)}")
    bounds = part.has("at_least") or part.has("at_most")
    if line.measure is not None and not bounds:
        part.problem("delivery", "needs a bound; add at_least, at_most or both")
    if bounds and not part.has("delivery"):
        part.problem("at_least" if part.has("at_least") else "at_most", "belongs to a delivery line; leave it out")
    if line.at_least is not None and line.at_most is not None and line.at_least > line.at_most:
        part.problem("at_least", f"{line.at_least:g} is over at_most {line.at_most:g}; swap the two")
    for flag in ("each_region", "by_hand"):
        if part.has(flag) and not getattr(line, flag):
            part.problem(flag, "write true, or leave the line out")


def _item_hint(pattern: str, known: _Known) -> str:
    close = nearest(pattern, known.items)
    return f"did you mean '{close[0]}'?" if close else "write an id such as 'head.comb', or a pattern such as 'head.*'"

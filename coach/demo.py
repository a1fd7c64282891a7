"""The shipped demo rehearsals: synthetic voices, invented birds, mistakes planted on purpose and written down.

In: the demo folder. Out: what was planted in each, and which of it a report found.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from coach.errors import CoachError
from coach.judge.verdict import Status
from coach.places import recordings_demo_dir
from coach.report.model import Report

__all__ = ["Demo", "Planted", "compare", "list_demos", "load_demo"]

DEFAULT = "checkers"
_FAULTY = (Status.SKIPPED, Status.MISNAMED, Status.WRONG)


@dataclass(frozen=True, slots=True)
class Planted:
    """A mistake made on purpose."""

    item: str
    status: str
    what: str


@dataclass(frozen=True, slots=True)
class Demo:
    """A shipped rehearsal."""

    id: str
    title: str
    recording: Path
    bird: Path
    planted: tuple[Planted, ...]
    out_of_order: tuple[str, ...]


def list_demos() -> tuple[Demo, ...]:
    """All demos, by id."""
    return tuple(_read(path) for path in sorted(recordings_demo_dir().glob("*.truth.json")))


def load_demo(demo_id: str | None) -> Demo:
    """The demo of that id, or the usual one.

    Raises:
        CoachError: there is no such demo.
    """
    demos = {d.id: d for d in list_demos()}
    found = demos.get(demo_id or DEFAULT)
    if found is None:
        raise CoachError(f"no demo {demo_id or DEFAULT!r}; there are {', '.join(demos) or 'none'} (coach demo --list)")
    return found


def compare(demo: Demo, report: Report) -> tuple[tuple[tuple[Planted, bool], ...], tuple[str, ...]]:
    """Each planted mistake with whether it was found, and the titles of required items blamed without cause."""
    status = {v.id: v.status for v in report.judgement.verdicts}
    found = tuple((p, status.get(p.item) in _FAULTY) for p in demo.planted)
    planted = {p.item for p in demo.planted}
    blamed = [v for v in report.judgement.verdicts if v.required and v.status in _FAULTY and v.id not in planted]
    return found, tuple(f"{v.title} ({v.status.value})" for v in blamed)


def _read(path: Path) -> Demo:
    data = json.loads(path.read_text(encoding="utf-8"))
    planted = tuple(Planted(p["item"], p["status"], p["what"]) for p in data["planted"])
    folder = path.parent
    return Demo(path.name.removesuffix(".truth.json"), data["title"], folder / data["recording"], folder / data["bird"],
                planted, tuple(data["out_of_order"]))  # fmt: skip

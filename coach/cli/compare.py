"""`coach compare`: two rehearsals side by side: what was mended, what slipped anew, the time in each region."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import datetime, timezone
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli.screen import color_wanted, width
from coach.cli.whose import add_member_option, chosen_member, kept_history
from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.history.model import Session

__all__ = ["add_parser"]

_PLACES = {"last": 1, "previous": 2}  # from the end


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("compare", help="two rehearsals side by side", description=__doc__)
    for name, default in (("before", "previous"), ("after", "last")):
        parser.add_argument(
            name,
            nargs="?",
            default=default,
            metavar=name.upper(),
            help=f"a report's JSON file, a take's name, a session's number, last or previous (without it: {default})",
        )
    add_member_option(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Compare and print."""
    from coach.history.compare import compare_sessions
    from coach.history.terminal import render_comparison

    before, after = (_find(name, args.member) for name in (args.before, args.after))
    sys.stdout.write(render_comparison(compare_sessions(before, after), width=width(), color=color_wanted()))
    return 0


def _find(name: str, member: str | None) -> Session:
    """One rehearsal by whatever it was called."""
    from coach.places import home_dir

    take = home_dir() / "takes" / Path(name).name / "report.json"
    if name in _PLACES or name.isdecimal():
        return _kept(name, member)
    if os.path.isfile(name):
        return _report(Path(name))
    if os.path.isfile(take):
        return _report(take)
    raise CoachError(f"{name}: no such report, take or session; give a report's JSON file, a number, last or previous")


def _kept(name: str, member: str | None) -> Session:
    with kept_history() as store:
        if name in _PLACES:
            rehearsals = [s for s in store.sessions(chosen_member(store, member)) if s.items]
            if len(rehearsals) < _PLACES[name]:
                raise CoachError(f"{name}: only {len(rehearsals)} rehearsals are kept; practise once more, or name a report")
            return rehearsals[-_PLACES[name]]
        found = store.session(int(name))
    if found is None or not found[1].items:
        raise CoachError(f"{name}: no rehearsal has this number; `coach compare` alone shows the numbers of the last two")
    return found[1]


def _report(path: Path) -> Session:
    from coach.history.records import session_from_report
    from coach.report.json_file import read_json

    made = datetime.fromtimestamp(path.stat().st_mtime, timezone.utc)
    return session_from_report(read_json(path), kind="import", when=made)

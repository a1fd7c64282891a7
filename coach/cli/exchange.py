"""`coach export` and `coach import`: a member's sessions as a file to hand over, and back into a history."""

from __future__ import annotations

import argparse
from pathlib import Path

from coach.cli.whose import add_member_option, chosen_member, kept_history
from coach.errors import CoachError

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add both commands."""
    out = commands.add_parser(
        "export",
        help="write a member's sessions to a file to hand over",
        description="`coach export`: write a member's sessions to a file for a leader or another computer. No sound is in it.",
    )
    out.add_argument("file", metavar="FILE", help="where to write")
    add_member_option(out)
    out.set_defaults(run=_export)
    back = commands.add_parser(
        "import",
        help="take in sessions that a member handed over",
        description="`coach import`: take in a file made by `coach export`, or one rehearsal's report; nothing known is doubled.",
    )
    back.add_argument("file", metavar="FILE", help="the file that was handed over")
    back.add_argument("--member", metavar="NAME", help="keep them under this name in place of the file's")
    back.set_defaults(run=_import)


def _export(args: argparse.Namespace) -> int:
    from coach.history.exchange import render_sessions
    from coach.history.folders import private_files
    from coach.report.files import check_place, write_whole

    path = Path(args.file)
    check_place(path)
    with kept_history() as store:
        member = chosen_member(store, args.member)
        sessions = store.sessions(member)
    with private_files():
        write_whole(render_sessions(member or "", sessions), path)
    print(
        f"{len(sessions)} sessions of {member or 'whoever gave no name'} written to {path}. No sound is in it."
    )
    return 0


def _import(args: argparse.Namespace) -> int:
    from coach.history.exchange import read_sessions
    from coach.history.store import open_store

    handed = read_sessions(Path(args.file))
    member = args.member or handed.member
    if not handed.sessions:
        raise CoachError(f"{args.file}: holds no session; ask for a file made after some practice")
    with open_store() as store:
        added = store.add_all(handed.sessions, member)
    new = sum(is_new for _, is_new in added)
    print(f"{new} sessions taken in for {member or 'whoever gave no name'}; {len(added) - new} were known already.")
    return 0

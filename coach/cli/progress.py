"""`coach progress`: what became of a member's practice, on the screen and as a page."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from coach.cli.screen import color_wanted, width
from coach.cli.whose import add_member_option, chosen_member, kept_history, parse_since

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("progress", help="what became of the practice so far", description=__doc__)
    add_member_option(parser)
    parser.add_argument("--since", metavar="DAY", type=parse_since, help="only from this day on: 2026-03-01, 30d, 4w")
    parser.add_argument("--page", metavar="OUT", help="write it as one HTML page with charts as well")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Look back and print."""
    from coach.history.folders import private_files
    from coach.history.page import render_progress_page
    from coach.history.progress import look_back
    from coach.history.terminal import render_progress
    from coach.report.files import check_place, write_whole

    if args.page is not None:
        check_place(Path(args.page))
    with kept_history() as store:
        member = chosen_member(store, args.member)
        progress = look_back(member or "", store.sessions(member, since=args.since))
    if args.page is not None:
        with private_files():
            write_whole(render_progress_page(progress), Path(args.page))
    sys.stdout.write(render_progress(progress, width=width(), color=color_wanted()))
    return 0

"""`coach club`: all members side by side for the leader, with a page for each to hand out."""

from __future__ import annotations

import argparse
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli.screen import color_wanted, progress_bar, width
from coach.cli.whose import kept_history, parse_since
from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.history.club import Club
    from coach.history.store import Store

__all__ = ["add_parser"]

LATELY = "28d"
LEADERS_PAGE = "club.html"


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("club", help="all members side by side, for the leader", description=__doc__)
    parser.add_argument("--since", metavar="DAY", type=parse_since, default=LATELY, help="what counts as lately (default 28d)")
    parser.add_argument("--page", metavar="FOLDER", help="write the leader's page and one page for each member to hand out")
    parser.add_argument("--csv", metavar="FILE", help="write the table for a spreadsheet")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Look at the club and print."""
    from coach.history.club import WINDOW, look_at_club
    from coach.history.club_page import render_club_csv
    from coach.history.folders import private_files
    from coach.history.terminal import render_club
    from coach.report.files import check_place, write_whole

    if args.csv is not None:
        check_place(Path(args.csv))
    with kept_history() as store:
        counts = store.counts(args.since)
        club = look_at_club({name: store.sessions(name, last=WINDOW) for name in counts}, counts, args.since)
        with private_files():
            if args.csv is not None:
                write_whole(render_club_csv(club), Path(args.csv))
            if args.page is not None:
                _write_pages(store, club, Path(args.page))
    sys.stdout.write(render_club(club, width=width(), color=color_wanted()))
    return 0


def _write_pages(store: Store, club: Club, folder: Path) -> None:
    """The leader's page, and for each member a page that shows nobody else."""
    from coach.history.club_page import render_club_page
    from coach.history.members import member_slug
    from coach.history.page import render_progress_page
    from coach.history.plan import make_plan
    from coach.history.progress import look_back
    from coach.report.files import write_whole

    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as err:
        raise CoachError(f"{folder}: cannot be made a folder ({err.strerror}); choose another place") from err
    links = {row.name: f"member-{member_slug(row.name) if row.name else 'no-name'}.html" for row in club.rows}
    now = datetime.now().astimezone()
    with progress_bar() as tell:
        for done, (name, file) in enumerate(links.items()):
            tell("writing pages", done / len(links))
            sessions = store.sessions(name)
            write_whole(render_progress_page(look_back(name, sessions), make_plan(sessions, now)), folder / file)
    write_whole(render_club_page(club, links), folder / LEADERS_PAGE)
    print(f"Pages written: {folder / LEADERS_PAGE}, and {len(links)} to hand out.", file=sys.stderr)

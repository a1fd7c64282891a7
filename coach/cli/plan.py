"""`coach plan`: what to practise today: lines to say aloud, a drill of the weakest regions, a whole rehearsal."""

from __future__ import annotations

import argparse
import sys
from datetime import datetime

from coach.cli.screen import color_wanted, width
from coach.cli.whose import add_member_option, chosen_member, kept_history

__all__ = ["add_parser"]

MINUTES = 10.0


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("plan", help="what to practise today", description=__doc__)
    add_member_option(parser)
    parser.add_argument("--minutes", metavar="N", type=_minutes, default=MINUTES, help="how long there is (default 10)")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Plan and print."""
    from coach.history.plan import make_plan
    from coach.history.terminal import render_plan

    with kept_history() as store:
        sessions = store.sessions(chosen_member(store, args.member))
    plan = make_plan(sessions, datetime.now().astimezone(), args.minutes)
    sys.stdout.write(render_plan(plan, width=width(), color=color_wanted()))
    return 0


def _minutes(text: str) -> float:
    try:
        minutes = float(text)
    except ValueError:
        minutes = 0.0
    if not 1 <= minutes <= 180:
        raise argparse.ArgumentTypeError(f"not a length: {text!r}; write minutes from 1 to 180")
    return minutes

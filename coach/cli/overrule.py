"""`coach overrule`: a leader who listened corrects one verdict of a kept rehearsal; progress and plan then go by it."""

from __future__ import annotations

import argparse

from coach.cli.whose import kept_history

__all__ = ["add_parser"]

_WORDS = {"said": "said", "left-out": "skipped", "wrong-name": "misnamed", "not-right": "wrong"}


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("overrule", help="correct a verdict that the listener got wrong", description=__doc__)
    parser.add_argument("session", type=int, metavar="NUMBER", help="the session's number, as `coach compare` shows it")
    parser.add_argument("item", metavar="ITEM", help="the item, such as legs.hocks")
    parser.add_argument("verdict", choices=tuple(_WORDS), help="what is true")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Correct and tell."""
    from coach.judge.verdict import Status
    from coach.report.phrases import STATUS_WORDS

    now = Status(_WORDS[args.verdict])
    with kept_history() as store:
        was = store.overrule(args.session, args.item, now)
    print(f"Session {args.session}, {args.item}: {STATUS_WORDS[now]}. The listener had: {STATUS_WORDS[was]}.")
    return 0

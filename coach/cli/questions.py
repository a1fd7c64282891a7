"""`coach questions`: the questions a judge may ask: list them, show one, check a club's own file."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from coach.errors import CoachError
from coach.knowledge.model import LEVELS

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("questions", help="list, show and check interview questions", description=__doc__)
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    listing = actions.add_parser("list", help="all questions, a line each")
    listing.add_argument("--level", choices=LEVELS, help="of this level and below")
    listing.add_argument("--topics", metavar="TOPIC,...", help="only these topics")
    showing = actions.add_parser("show", help="one question with its key points, wrong answers and sources")
    showing.add_argument("id", help="the question's id")
    for one in (listing, showing):
        one.add_argument("--bird", metavar="FILE", help="with the questions made from this bird and its card")
        one.add_argument("--questions-file", metavar="FILE", action="append", default=[], help="with a club's own questions")
    checking = actions.add_parser("check", help="all that is wrong with a club's own files")
    checking.add_argument("files", nargs="+", metavar="FILE")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Do what was asked."""
    return {"list": _list, "show": _show, "check": _check}[args.action](args)


def _list(args: argparse.Namespace) -> int:
    from coach.interview.prepare import open_pool, parse_topics

    pool = open_pool(args.bird, files=args.questions_file)
    found = pool.fitting(args.level or LEVELS[-1], parse_topics(args.topics))
    for q in sorted(found, key=lambda q: (q.topic, q.level, q.id)):
        print(f"{q.topic:12} {q.level:12} {q.id:32} {q.ask}")
    print(f"{len(found)} questions", file=sys.stderr)
    return 0


def _show(args: argparse.Namespace) -> int:
    from coach.interview.prepare import open_pool
    from coach.knowledge.questions import CAUTIONS

    pool = open_pool(args.bird, files=args.questions_file)
    question = pool.named([args.id], "coach questions show")[0]
    print(question.ask)
    print(f"  {question.topic}, {question.level}; {_wanted(question)}")
    for point in question.points:
        print(f"  + {point.tell}")
    for wrong in question.wrong:
        heard = ", ".join((*wrong.say, *([f"{wrong.number.value:g} {wrong.number.unit}"] if wrong.number else [])))
        print(f"  x {heard}: {wrong.note}")
    for line in pool.bank.source_lines(question):
        print(f"  source: {line}")
    if question.caution:
        print(f"  {CAUTIONS[question.caution]}")
    return 0


def _wanted(question) -> str:  # type: ignore[no-untyped-def]
    n = len(question.points)
    which = (
        "the key point" if n == 1 else f"all {n} key points" if question.need == n else f"any {question.need} of {n} key points"
    )
    return which + (", in order" if question.in_order else "")


def _check(args: argparse.Namespace) -> int:
    from coach.knowledge.questions import question_problems

    problems = question_problems([Path(f) for f in args.files])
    if not problems:
        print(f"{'This file is' if len(args.files) == 1 else 'These files are'} fine.")
        return 0
    for line in problems[:-1]:
        print(f"coach: {line}", file=sys.stderr)
    raise CoachError(problems[-1])

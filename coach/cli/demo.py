"""`coach demo`: review a shipped recording with planted mistakes by the real recogniser and tell what was found."""

from __future__ import annotations

import argparse
import sys

from coach.cli.screen import color_wanted, progress_bar, width

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("demo", help="review a shipped recording with planted mistakes", description=__doc__)
    parser.add_argument("name", nargs="?", help="which demo; without it the usual one")
    parser.add_argument("--list", action="store_true", help="show all demos")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Review a demo, or list them."""
    from coach.demo import list_demos, load_demo

    if args.list:
        for demo in list_demos():
            print(f"{demo.id:12} {demo.title} ({len(demo.planted)} mistakes planted)")
        return 0
    return _review(load_demo(args.name))


def _review(demo) -> int:  # type: ignore[no-untyped-def]
    from coach.demo import compare
    from coach.report.terminal import render
    from coach.review import load_subject, review

    with progress_bar() as progress:
        report = review(str(demo.recording), load_subject(str(demo.bird)), progress=progress).report
    sys.stdout.write(render(report, width=width(), color=color_wanted()))
    found, blamed = compare(demo, report)
    print(f"\nThis was the demo '{demo.id}', spoken by a synthetic voice: {demo.title[0].lower()}{demo.title[1:]}.")
    print(f"Planted on purpose: {len(found)}; found: {sum(hit for _, hit in found)}.")
    for planted, hit in found:
        print(f"  {'found ' if hit else 'MISSED'}  {planted.what}")
    if blamed:
        print(f"Blamed without cause: {len(blamed)}: {', '.join(blamed)}.")
    else:
        print("Blamed without cause: nothing.")
    print("More: coach demo --list, coach demo NAME. Your own: coach review RECORDING --bird BIRD.yaml")
    return 0

"""`coach selfcheck`: what works on this machine, and what to do about what does not."""

from __future__ import annotations

import argparse

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("selfcheck", help="what works on this machine", description=__doc__)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print one line a part; exit 0 when all that is needed works, else 2."""
    from coach.selfcheck import run_checks

    checks = run_checks()
    for check in checks:
        mark = "ok     " if check.works else ("MISSING" if check.needed else "without")
        print(f"{mark}  {check.name:22}  {check.found}")
        if not check.works:
            print(f"{'':9}{'':22}  -> {check.remedy}")
    return 0 if all(c.works or not c.needed for c in checks) else 2

"""The command line: one small module per command; parse, call, print.

Result to stdout, progress to stderr. Exit 0: done (a rehearsal full of mistakes is done too); 2: the command or the
input is at fault, one clear line on stderr; 130: stopped by the keyboard.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from collections.abc import Sequence

from coach import __version__
from coach.errors import CoachError

__all__ = ["build_parser", "main"]

COMMANDS = (  # modules; exchange holds export and import
    "review", "rehearse", "demo", "selfcheck", "devices", "takes", "models", "transcribe", "route", "score", "card",
    "bird", "say", "sheet", "progress", "plan", "compare", "club", "exchange", "forget", "keep", "overrule", "voice_check",
    "interview", "questions")  # fmt: skip


def build_parser() -> argparse.ArgumentParser:
    """The parser of all commands; a command's module is imported, its heavy parts are not."""
    parser = argparse.ArgumentParser(
        prog="coach",
        description="Listens, offline, to a spoken showmanship rehearsal and tells what was left out, misnamed, wrong.",
    )
    parser.add_argument("--version", action="version", version=f"coach {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name in COMMANDS:
        importlib.import_module(f"coach.cli.{name}").add_parser(commands)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; see the module for exit codes."""
    _print_anything()
    args = build_parser().parse_args(argv)
    try:
        return int(args.run(args))
    except CoachError as err:
        print(f"coach: {_one_line(str(err))}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("coach: stopped", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stderr.close()  # the reader has seen enough (`coach ... | head`)
        return 0


def _one_line(text: str) -> str:
    """The text without anything that could steer the terminal, such as a line break in a file's name."""
    return "".join(c if c.isprintable() else "?" for c in text)


def _print_anything() -> None:
    """Marks that a console cannot show become '?' instead of an error."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure:
            reconfigure(errors="replace")

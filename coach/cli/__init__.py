"""The command line: one small module per command; parse, call, print.

Result to stdout, progress to stderr. Exit 0: done (a rehearsal full of mistakes is done too); 2: the command or the
input is at fault, or something that was asked for could not be written, one clear line on stderr each (a result that could
be made is printed all the same, see `result`); 130: stopped by the keyboard.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from collections.abc import Sequence

from coach import __version__
from coach.cli.result import AT_FAULT, tell
from coach.errors import CoachError

__all__ = ["build_parser", "main"]

COMMANDS = {  # name: its module, and what `coach --help` says of it
    "review": ("review", "review a recorded rehearsal"),
    "rehearse": ("rehearse", "rehearse at the microphone"),
    "interview": ("interview", "a mock interview with a judge's questions"),
    "demo": ("demo", "review a shipped recording with planted mistakes"),
    "voice-check": ("voice_check", "how well is this member's voice heard?"),
    "sheet": ("sheet", "a printable study sheet for your bird"),
    "progress": ("progress", "what became of the practice so far"),
    "plan": ("plan", "what to practise today"),
    "compare": ("compare", "two rehearsals side by side"),
    "takes": ("takes", "list, play, review again, delete recorded rehearsals"),
    "devices": ("devices", "show the microphones, or try one"),
    "club": ("club", "all members side by side, for the leader"),
    "overrule": ("overrule", "correct a verdict that the listener got wrong"),
    "export": ("exchange", "write a member's sessions to a file to hand over"),
    "import": ("exchange", "take in sessions that a member handed over"),
    "keep": ("keep", "how long recordings are kept"),
    "forget": ("forget", "remove everything about a member"),
    "card": ("card", "breed cards: list, show, new, check"),
    "bird": ("bird", "your own bird: new, check"),
    "say": ("say", "how the listener expects a word to sound"),
    "route": ("route", "routes: list, show, copy, check"),
    "score": ("score", "practice score sheets: list, show, copy, check"),
    "questions": ("questions", "list, show and check interview questions"),
    "models": ("models", "speech models: what is here, fetch or remove one"),
    "transcribe": ("transcribe", "write down what a recording says, with times"),
    "selfcheck": ("selfcheck", "what works on this machine"),
}


def build_parser(wanted: str | None = None) -> argparse.ArgumentParser:
    """The parser of all commands; only the wanted command's module is imported, of the others name and line are known."""
    parser = argparse.ArgumentParser(
        prog="coach",
        description="Listens, offline, to a spoken showmanship rehearsal and tells what was left out, misnamed, wrong.",
    )
    parser.add_argument("--version", action="version", version=f"coach {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    module = COMMANDS[wanted][0] if wanted in COMMANDS else None
    if module:
        importlib.import_module(f"coach.cli.{module}").add_parser(commands)
    for name, (other, line) in COMMANDS.items():
        if other != module:
            commands.add_parser(name, help=line)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; see the module for exit codes."""
    _print_anything()
    given = sys.argv[1:] if argv is None else argv
    args = build_parser(next((word for word in given if not word.startswith("-")), None)).parse_args(given)
    try:
        return int(args.run(args))
    except CoachError as err:
        tell(err)
        return AT_FAULT
    except KeyboardInterrupt:
        print("coach: stopped", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stderr.close()  # the reader has seen enough (`coach ... | head`)
        return 0


def _print_anything() -> None:
    """Marks that a console cannot show become '?' instead of an error."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure:
            reconfigure(errors="replace")

"""Questions at the terminal, and new files that overwrite nothing unasked.

A question goes to stderr, so that stdout stays the result's. Where nobody can answer (no terminal), nothing is asked.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from coach.errors import CoachError

__all__ = ["ask", "ask_choice", "ask_yes", "can_ask", "check_outputs", "confirmed", "new_file"]


def can_ask() -> bool:
    """Whether somebody sits at the keyboard."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def ask(question: str, default: str = "", check: Callable[[str], str | None] | None = None) -> str:
    """The answer; enter alone gives the default. check tells what is wrong with an answer, which is then asked again.

    Raises:
        CoachError: the input ended before the answer.
    """
    shown = f"{question} [{default}] " if default else f"{question} "
    while True:
        print(shown, end="", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            print(file=sys.stderr)
            raise CoachError("the answers ended too early; nothing was changed")
        answer = " ".join(line.split()) or default
        wrong = check(answer) if check else None
        if wrong is None:
            return answer
        print(f"  {wrong}", file=sys.stderr)


def ask_choice(question: str, choices: Sequence[str], default: str) -> str:
    """One of a few words; the start of a word that fits only one is enough."""

    def fitting(answer: str) -> list[str]:
        plain = answer.lower()
        return [plain] if plain in choices else [one for one in choices if one.startswith(plain)]

    def check(answer: str) -> str | None:
        return None if len(fitting(answer)) == 1 else f"Please answer one of: {', '.join(choices)}."

    return fitting(ask(f"{question} ({', '.join(choices)})", default, check))[0]


def ask_yes(question: str, default: bool = False) -> bool:
    """Yes or no."""
    return ask_choice(question, ("yes", "no"), "yes" if default else "no") == "yes"


def confirmed(question: str, is_yes: bool, remedy: str) -> bool:
    """Whether to do what cannot be undone: yes given beforehand, or said now.

    Raises:
        CoachError: nobody is there to ask.
    """
    if is_yes:
        return True
    if not can_ask():
        raise CoachError(f"nobody is there to ask; {remedy}")
    return ask_yes(question)


def check_outputs(outputs: Iterable[str], inputs: Iterable[str | None]) -> None:
    """Stop before the long work when a file could not be written, or would overwrite what it is made from.

    Raises:
        CoachError: the place cannot be written, or is named twice.
    """
    from coach.report.files import check_place

    taken = {os.path.realpath(path) for path in inputs if path and os.path.isfile(path)}
    for output in outputs:
        check_place(Path(output))
        if os.path.realpath(output) in taken:
            raise CoachError(f"{output}: is named twice in this command; give it a name of its own")
        taken.add(os.path.realpath(output))


def new_file(path: Path, command: str) -> None:
    """See that a file may be written here; one that exists is replaced only when the person says so.

    Raises:
        CoachError: the place cannot be written, or the file exists and nobody said yes.
    """
    from coach.report.files import check_place

    check_place(path)
    if not os.path.lexists(path):
        return
    if not can_ask() or not ask_yes(f"{path} is there already. Replace it?"):
        raise CoachError(f"{path}: is there already and was left as it is; {command} with another name")

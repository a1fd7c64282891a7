"""The result comes first: it is on the screen before anything else is tried that could fail.

What follows (files, the history, a take's record) is done each whatever became of the others; each failure is one line on
stderr, and the exit status then says 2: something that was asked for is not there.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from datetime import datetime, timezone
from typing import TYPE_CHECKING

from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.report.model import Report

__all__ = ["AT_FAULT", "keep_report", "result_first", "tell", "usual_times"]

AT_FAULT = 2


def tell(err: CoachError) -> None:
    """One line on stderr, without anything that could steer the terminal, such as a line break in a file's name."""
    print("coach: " + "".join(c if c.isprintable() else "?" for c in str(err)), file=sys.stderr)


def result_first(text: str, *after: Callable[[], object]) -> int:
    """Print the result, then do what is left; the exit status of both."""
    status = 0
    for step in (lambda: _show(text), *after):
        try:
            step()
        except CoachError as err:
            tell(err)
            status = AT_FAULT
    return status


def _show(text: str) -> None:
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:  # the reader has seen enough (`coach ... | head`); what is left is done all the same
        _let_go_of_stdout()
    except OSError as err:
        _let_go_of_stdout()
        raise CoachError(f"the result cannot be written ({err.strerror}); send it to another place") from err


def _let_go_of_stdout() -> None:
    """What could not be written would be tried again, and fail again, when the program ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def keep_report(report: Report, member: str, kind: str) -> None:
    """Into the member's history, unless it is no rehearsal.

    Raises:
        CoachError: it cannot be written.
    """
    from coach.history.records import record_report

    if record_report(report, member=member, kind=kind, when=datetime.now(timezone.utc)) is None:
        print("coach: this is no rehearsal, so it is not kept in the history", file=sys.stderr)


def usual_times(member: str | None) -> Mapping[str, float] | None:
    """How long the member usually stays in each region; None for nobody, or where the history cannot tell.

    Raises:
        CoachError: no member can have this name.
    """
    from coach.history.members import member_name
    from coach.history.records import usual_region_seconds

    if member is None:
        return None
    member_name(member)
    try:
        return usual_region_seconds(member)
    except CoachError as err:  # a report is made without it
        tell(err)
        return None

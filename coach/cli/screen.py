"""What commands share: times as people write them, the terminal's width and colors, a progress bar on stderr."""

from __future__ import annotations

import argparse
import os
import re
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

__all__ = ["color_wanted", "progress_bar", "seconds", "width"]

LONGEST_S = 3600.0  # recordings may be up to an hour
WAIT_S = 1.0  # quicker work shows no bar


def color_wanted() -> bool:
    """Whether stdout is a terminal that wants color (NO_COLOR respected)."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def width() -> int:
    """Columns to write in: the terminal's, COLUMNS, or 80; never over 160."""
    return max(40, min(160, shutil.get_terminal_size((80, 24)).columns))


@contextmanager
def progress_bar() -> Iterator[Callable[[str, float], None]]:
    """A function to tell what is going on and the share done; shows a bar only on a terminal and after a second."""
    began, shown = time.monotonic(), False

    def tell(what: str, share: float) -> None:
        nonlocal shown
        if not sys.stderr.isatty() or time.monotonic() - began < WAIT_S:
            return
        shown = True
        done = round(24 * min(1.0, share))
        with suppress(OSError):  # nobody looks any more; the work goes on
            print(f"\r{what} [{'#' * done}{'.' * (24 - done)}] {share:4.0%}", end="", file=sys.stderr, flush=True)

    try:
        yield tell
    finally:
        if shown:
            with suppress(OSError):
                print("\r" + " " * 60 + "\r", end="", file=sys.stderr, flush=True)


def seconds(text: str) -> float:
    """A time as people write it: 4m, 90s, 1m30s, 4:30, or minutes alone."""
    found = re.fullmatch(r"(?:(\d+):([0-5]\d))|(?:(\d+(?:\.\d+)?)m(?:in)?)?(?:(\d+)s)?|(\d+)", text.strip().lower())
    if found is None or not any(found.groups()):
        raise argparse.ArgumentTypeError(f"{text!r} is no time; write it like 4m, 90s or 4:30")
    clock_m, clock_s, whole_m, rest_s, bare_m = found.groups()
    total_s = 60 * float(clock_m or whole_m or bare_m or 0) + float(clock_s or rest_s or 0)
    if not 0 < total_s <= LONGEST_S:
        raise argparse.ArgumentTypeError(f"{text!r} is not between a second and an hour")
    return total_s

"""The Enter key, without an echo on the screen and without waiting for a line."""

from __future__ import annotations

import os
import select
import sys
import time
from types import TracebackType
from typing import Any

__all__ = ["Keys"]

ENTER = frozenset("\r\n")


class Keys:
    """While it is open, keys typed at a terminal are looked at one by one; without a terminal nothing is ever pressed."""

    def __init__(self) -> None:
        self._before: list[Any] | None = None
        self._is_terminal = sys.stdin is not None and sys.stdin.isatty()

    def __enter__(self) -> Keys:
        if self._is_terminal and sys.platform != "win32":
            import termios
            import tty

            self._before = termios.tcgetattr(sys.stdin)
            tty.setcbreak(sys.stdin)
        return self

    def __exit__(self, kind: type[BaseException] | None, err: BaseException | None, trace: TracebackType | None) -> None:
        if self._before is not None and sys.platform != "win32":
            import termios

            termios.tcsetattr(sys.stdin, termios.TCSAFLUSH, self._before)

    def is_enter(self, wait_s: float) -> bool:
        """Whether Enter is pressed within this time; other keys are swallowed."""
        if sys.platform == "win32":
            return self._is_enter_on_windows(wait_s)
        if not self._is_terminal:
            time.sleep(wait_s)
            return False
        if not select.select([sys.stdin], [], [], wait_s)[0]:
            return False
        typed = os.read(sys.stdin.fileno(), 64)
        if not typed:  # the terminal is gone
            self._is_terminal = False
        return bool(ENTER & set(typed.decode(errors="replace")))

    def _is_enter_on_windows(self, wait_s: float) -> bool:
        import msvcrt

        getwch, kbhit = getattr(msvcrt, "getwch"), getattr(msvcrt, "kbhit")  # noqa: B009  # only there on Windows
        ends = time.monotonic() + wait_s
        while self._is_terminal and time.monotonic() < ends:
            if kbhit():
                return getwch() in ENTER
            time.sleep(0.02)
        time.sleep(max(0.0, ends - time.monotonic()))
        return False

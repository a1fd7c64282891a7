"""Single keys at the terminal, without an echo and without waiting for a line; none where there is no terminal."""

from __future__ import annotations

import contextlib
import os
import select
import sys
import time
from types import TracebackType
from typing import Any

__all__ = ["Keys"]


class Keys:
    """While it is open, keys are looked at one by one; the terminal is put back afterwards."""

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

            with contextlib.suppress(termios.error):  # the terminal is gone, and what is being done goes on
                termios.tcsetattr(sys.stdin, termios.TCSAFLUSH, self._before)

    def pressed(self, wait_s: float) -> str | None:
        """The key pressed within this time, small, Enter as a line break; None for none, once "" when the terminal goes."""
        if not self._is_terminal:
            time.sleep(wait_s)
            return None
        key = self._on_windows(wait_s) if sys.platform == "win32" else self._on_unix(wait_s)
        return "\n" if key == "\r" else key

    def _on_unix(self, wait_s: float) -> str | None:
        try:
            if not select.select([sys.stdin], [], [], wait_s)[0]:
                return None
            key = os.read(sys.stdin.fileno(), 1).decode(errors="replace").lower()
        except OSError:  # the terminal is gone
            key = ""
        if not key:
            self._is_terminal = False
        return key

    def _on_windows(self, wait_s: float) -> str | None:
        import msvcrt

        getwch, kbhit = getattr(msvcrt, "getwch"), getattr(msvcrt, "kbhit")  # noqa: B009  # only there on Windows
        ends = time.monotonic() + wait_s
        while not kbhit():
            if time.monotonic() >= ends:
                return None
            time.sleep(0.02)
        return str(getwch()).lower()

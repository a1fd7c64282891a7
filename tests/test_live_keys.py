"""Single keys, pressed in a real terminal (pexpect)."""

from __future__ import annotations

import sys

import pexpect
import pytest

from coach.live.keys import Keys

SHOW = """
from coach.live.keys import Keys
with Keys() as keys:
    print("open", flush=True)
    while (key := keys.pressed(20.0)) != "q":
        print("key", repr(key), flush=True)
print("closed", flush=True)
print(repr(input()), flush=True)
"""


def test_each_key_is_told_alone_and_without_an_echo() -> None:
    """Keys typed in one go come one by one, small, Enter as a line break; afterwards lines are read as before."""
    terminal = pexpect.spawn(sys.executable, ["-c", SHOW], encoding="utf-8", timeout=30)
    terminal.expect_exact("open")
    terminal.send("xR\rq")
    terminal.expect_exact("key 'x'\r\nkey 'r'\r\nkey '\\n'\r\n")
    assert terminal.before == "\r\n"
    terminal.expect_exact("closed")
    terminal.sendline("a line")
    terminal.expect_exact("'a line'")
    terminal.expect(pexpect.EOF)


def test_without_a_terminal_nothing_is_pressed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Input from a file is no keyboard."""
    with open(__file__, encoding="utf-8") as file:
        monkeypatch.setattr(sys, "stdin", file)
        with Keys() as keys:
            assert keys.pressed(0.01) is None

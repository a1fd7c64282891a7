"""`coach voice-check`: a member reads a passage aloud; tells how well this voice is heard, what would help, and remembers it."""

from __future__ import annotations

import argparse
import datetime
import sys
import textwrap
import threading
from contextlib import suppress
from typing import TYPE_CHECKING

from coach.cli.listening import add_listener_options, open_wanted, read_sound
from coach.cli.screen import progress_bar, width
from coach.errors import CoachError

if TYPE_CHECKING:
    from coach.audio.read import Sound

__all__ = ["add_parser"]


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("voice-check", help="how well is this member's voice heard?", description=__doc__)
    parser.add_argument("recording", nargs="?", help="the member reading the passage; without it the microphone is used")
    parser.add_argument("--member", metavar="NAME", help="whose voice it is (a nickname is enough)")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--show", action="store_true", help="print the passage to read, and do nothing else")
    what.add_argument("--forget", action="store_true", help="delete what is remembered of the member's voice")
    parser.add_argument("--device", metavar="NAME", help="which microphone (see 'coach devices')")
    add_listener_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Show, forget, or check and remember."""
    if args.show:
        print(_render_passage(width()))
        return 0
    if args.member is None:
        raise CoachError("whose voice is it? add --member NAME (a nickname is enough)")
    if args.forget:
        return _forget(args.member)
    return _check(args)


def _check(args: argparse.Namespace) -> int:
    from coach.cli.result import result_first
    from coach.history.members import member_name
    from coach.voice.advice import advice, render_check
    from coach.voice.check import check_voice
    from coach.voice.passage import load_passage
    from coach.voice.profile import save_profile

    member = member_name(args.member)
    sound = _from_microphone(args.device) if args.recording is None else read_sound(args.recording)
    listener = open_wanted(args.listener, args.model)
    with progress_bar() as progress:
        today = datetime.date.today().isoformat()
        done = check_voice(member, sound, listener, load_passage(), today, lambda share: progress("listening", share))
    helps = advice(done.profile, done.words_per_minute)

    def remember() -> None:
        path = save_profile(done.profile)
        print(f"Remembered in {path} (no sound is kept); 'coach voice-check --member {member} --forget' deletes it.")

    return result_first(render_check(done.profile, done.hearing, done.levels, helps, width()), remember)


def _forget(member: str) -> int:
    from coach.voice.profile import forget_profile

    was_there = forget_profile(member)
    print(f"{member}: forgotten" if was_there else f"{member}: nothing was remembered")
    return 0


def _from_microphone(device: str | None) -> Sound:
    from coach.live.devices import find_device, quiet_libraries
    from coach.voice.record import record_until

    if not sys.stdin.isatty():
        raise CoachError("nobody is at the keyboard to start and stop the microphone; give a recording of the passage")
    with quiet_libraries():
        find_device(device)  # before anybody is asked to read
    print("Read this aloud, as you would before a judge:\n")
    print(_render_passage(width()))
    _wait_for_enter("\nPress Enter, then read. ")
    stop = threading.Event()

    def wait_for_enter() -> None:
        _wait_for_enter("Recording. Press Enter when you are done. ")
        stop.set()

    threading.Thread(target=wait_for_enter, daemon=True).start()
    with quiet_libraries():
        return record_until(stop.is_set, device)


def _wait_for_enter(prompt: str) -> None:
    with suppress(EOFError):  # Ctrl-D will do
        input(prompt)


def _render_passage(columns: int) -> str:
    from coach.voice.passage import load_passage

    return "\n\n".join(textwrap.fill(p, columns, initial_indent="  ", subsequent_indent="  ") for p in load_passage().paragraphs)

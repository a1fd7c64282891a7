"""What the commands that only listen share: a recording read, and the listener that the user asked for."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from coach.listen.choose import NAMES, choose

if TYPE_CHECKING:
    from coach.audio.read import Sound
    from coach.listen.listener import Listener

__all__ = ["add_listener_options", "open_wanted", "read_sound"]


def add_listener_options(parser: argparse.ArgumentParser) -> None:
    """Add --listener and --model."""
    parser.add_argument("--listener", choices=NAMES, help="which listener hears; auto takes the best one here (default)")
    parser.add_argument("--model", metavar="NAME|FOLDER", help="which speech model it uses (see 'coach models')")


def open_wanted(listener: str | None, model: str | None) -> Listener:
    """The listener of that name with that model.

    Raises:
        CoachError: there is none, or it cannot be loaded.
    """
    return choose(listener, model).open()


def read_sound(recording: str) -> Sound:
    """The recording, with a line on stderr when it breaks off.

    Raises:
        CoachError: it cannot be read.
    """
    from coach.audio.read import read

    sound = read(recording)
    if sound.truncated:
        print(f"coach: {recording}: breaks off or is damaged; this is what is left", file=sys.stderr)
    return sound

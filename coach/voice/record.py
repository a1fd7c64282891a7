"""A reading from the microphone, held in memory only: it is measured and then forgotten."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from coach.audio.read import RATE_HZ, Sound
from coach.errors import CoachError
from coach.live.devices import find_device
from coach.live.microphone import Microphone

__all__ = ["LONGEST_S", "record_until"]

LONGEST_S = 180.0  # three times the passage's length
_READ_S = 0.1


def record_until(stopped: Callable[[], bool], device: str | None = None) -> Sound:
    """Record until told to stop, at most LONGEST_S.

    Args:
        stopped: asked about ten times a second.
        device: number, name or part of a name; None for the usual one.
    Raises:
        CoachError: there is no microphone, it cannot be opened, it was unplugged, or nothing came from it.
    """
    microphone = Microphone(find_device(device))
    pieces: list[np.ndarray[tuple[int], np.dtype[np.float32]]] = []
    n_samples = 0
    while not stopped() and not microphone.is_lost() and not microphone.is_stalled() and n_samples < LONGEST_S * RATE_HZ:
        piece = microphone.read(_READ_S)
        pieces.append(piece)
        n_samples += len(piece)
    pieces.append(microphone.close())
    samples = np.concatenate(pieces)
    if len(samples) < RATE_HZ:
        raise CoachError("less than a second came from the microphone; check its cable, or choose another one (coach devices)")
    return Sound(samples)

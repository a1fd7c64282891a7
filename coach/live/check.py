"""The input check before a rehearsal: too quiet, clipping, only noise, nothing coming in, and what to do about it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from coach.audio.levels import FLOOR_DBFS, clipped_share, peak_dbfs, rms_dbfs
from coach.audio.read import RATE_HZ, SILENT_DBFS
from coach.live.devices import find_device, permission_hint
from coach.live.microphone import Microphone

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["InputCheck", "check_input", "judge_input"]

_FRAME = RATE_HZ // 50
_LEVEL_SAMPLES = RATE_HZ // 10
_STEP_S = 0.1
# Common practice, no source: speech is recorded at -30 to -12 dBFS, and a few clipped samples in a thousand are heard.
_QUIET_DBFS = -45.0
_CLIPPED_SHARE = 0.001
_VOICE_ABOVE_NOISE_DB = 10.0


@dataclass(frozen=True, slots=True)
class InputCheck:
    """What two seconds of the microphone tell."""

    device: str
    level_dbfs: float  # nine tenths of the 20 ms frames are quieter: the voice, if somebody spoke
    noise_dbfs: float  # one tenth of them are quieter
    clipped_share: float  # 0..1
    is_silent: bool  # nothing at all is coming in
    is_good: bool
    advice: str  # one line: what is right or wrong, and what to do


def check_input(
    device: str | None = None, seconds: float = 2.0, on_level: Callable[[float], None] | None = None
) -> InputCheck:
    """Listen for some seconds, keep nothing, and tell; on_level gets the level in dBFS about ten times a second.

    Raises:
        CoachError: no PortAudio, no such device, or it cannot be opened.
    """
    microphone = Microphone(find_device(device))
    heard: Samples = np.empty(0, np.float32)
    try:
        # A device may take a moment to start; one that never does must not hold us for long.
        give_up_at = time.monotonic() + 2 * seconds + 1
        while len(heard) < seconds * RATE_HZ and time.monotonic() < give_up_at and not microphone.is_lost():
            time.sleep(_STEP_S)
            heard = np.concatenate([heard, microphone.read(0.0)])
            if on_level is not None:
                on_level(rms_dbfs(heard[-_LEVEL_SAMPLES:]))
    finally:
        microphone.close()
    return judge_input(heard, microphone.device.name)


def judge_input(samples: Samples, device: str) -> InputCheck:
    """The same from samples (float32, (n,), 16 kHz, -1..1); pure."""
    frames = [rms_dbfs(samples[at : at + _FRAME]) for at in range(0, len(samples), _FRAME)] or [FLOOR_DBFS]
    noise_dbfs, level_dbfs = (float(figure) for figure in np.percentile(frames, [10, 90]))
    clipped = clipped_share(samples)
    is_silent = peak_dbfs(samples) < SILENT_DBFS
    fault = _fault(level_dbfs, noise_dbfs, clipped, is_silent)
    return InputCheck(
        device=device,
        level_dbfs=round(level_dbfs, 1),
        noise_dbfs=round(noise_dbfs, 1),
        clipped_share=clipped,
        is_silent=is_silent,
        is_good=fault is None,
        advice=fault or "good: the microphone hears you well",
    )


def _fault(level_dbfs: float, noise_dbfs: float, clipped: float, is_silent: bool) -> str | None:
    """The worst thing wrong, with what to do; None when all is well."""
    if is_silent:
        return f"nothing is coming in: unmute it, or choose another one (coach devices). {permission_hint()}"
    if clipped > _CLIPPED_SHARE:
        return "too loud, the sound is cut off: turn the input level down, or step back"
    if level_dbfs < _QUIET_DBFS:
        return "too quiet: turn the input level up, come closer, or choose another microphone (coach devices)"
    if level_dbfs - noise_dbfs < _VOICE_ABOVE_NOISE_DB:
        return "no voice stands out: speak while it listens; if you did, find a quieter place or come closer"
    return None

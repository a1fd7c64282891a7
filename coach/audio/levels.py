"""How loud a recording is, and how clean: pure functions over samples.

In go mono samples (float32, (n,), full scale -1..1) and their rate; out come levels in dBFS, the share of clipped
samples, a rough distance between voice and noise in dB, and the silences in seconds. Levels are relative to full scale:
a square wave at full scale has an RMS of 0 dBFS, a sine -3.01. Nothing is ever below FLOOR_DBFS.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["FLOOR_DBFS", "Levels", "clipped_share", "levels", "peak_dbfs", "rms_dbfs", "silences", "snr_db"]

FLOOR_DBFS = -120.0  # stands for no sound at all; 24-bit sound reaches further down, microphones do not
CLIPPED_LEVEL = 0.985  # of full scale; a lossy codec or a change of rate moves a clipped top by a percent or so
FRAME_S = 0.02  # about two periods of a low voice
MAX_SNR_DB = 60.0  # a recorder that mutes the pauses has no noise to measure


@dataclass(frozen=True, slots=True)
class Levels:
    """The figures of one recording."""

    rms_dbfs: float
    peak_dbfs: float
    clipped_share: float  # 0..1
    snr_db: float | None  # None when the recording is shorter than a second


def levels(samples: Samples, rate_hz: int) -> Levels:
    """All the figures at once."""
    return Levels(rms_dbfs(samples), peak_dbfs(samples), clipped_share(samples), snr_db(samples, rate_hz))


def rms_dbfs(samples: Samples) -> float:
    """Root mean square in dBFS, FLOOR_DBFS when there is nothing."""
    return _decibels(_power(samples)) if len(samples) else FLOOR_DBFS


def peak_dbfs(samples: Samples) -> float:
    """The largest sample in dBFS, above 0 when a lossy codec overshot full scale."""
    return _decibels(float(np.max(np.abs(samples))) ** 2) if len(samples) else FLOOR_DBFS


def clipped_share(samples: Samples) -> float:
    """Share of samples (0..1) at full scale. Speech has next to none; from 0.001 on, clipping is heard."""
    return float(np.mean(np.abs(samples) >= CLIPPED_LEVEL)) if len(samples) else 0.0


def snr_db(samples: Samples, rate_hz: int) -> float | None:
    """How far the voice stands above the noise, in dB from -10 to MAX_SNR_DB; None for less than a second.

    A rough figure: the loudest tenth of 20 ms frames is taken for voice with noise, the quietest tenth for noise alone,
    so it needs pauses. Steady sound without any comes out at the lower end.
    """
    if len(samples) < rate_hz:
        return None
    noise_dbfs, voice_dbfs = np.percentile(_frame_levels_dbfs(samples, rate_hz), [10, 90])
    ratio = max(10 ** ((voice_dbfs - noise_dbfs) / 10) - 1, 0.1)  # less 1: the loud frames hold the noise too
    return float(min(10 * np.log10(ratio), MAX_SNR_DB))


def silences(
    samples: Samples, rate_hz: int, least_s: float = 0.5, threshold_dbfs: float | None = None
) -> tuple[tuple[float, float], ...]:
    """The stretches (start_s, end_s) of at least least_s in which every 20 ms frame is below a threshold.

    Args:
        samples: float32, (n,).
        rate_hz: samples a second.
        least_s: shorter gaps belong to the speech.
        threshold_dbfs: by default a quarter of the way (in dB) from the noise up to the voice.
    """
    frames = _frame_levels_dbfs(samples, rate_hz)
    if not len(frames):
        return ()
    if threshold_dbfs is None:
        noise_dbfs, voice_dbfs = np.percentile(frames, [10, 90])
        threshold_dbfs = float(noise_dbfs + (voice_dbfs - noise_dbfs) / 4)
    edges = np.flatnonzero(np.diff(frames < threshold_dbfs, prepend=False, append=False))
    bounds_s = np.minimum(edges * _frame_length(rate_hz), len(samples)) / rate_hz
    pairs = ((float(start_s), float(end_s)) for start_s, end_s in bounds_s.reshape(-1, 2))
    return tuple(pair for pair in pairs if pair[1] - pair[0] >= least_s - 1e-9)


def _frame_levels_dbfs(samples: Samples, rate_hz: int) -> NDArray[np.float64]:
    """RMS of each 20 ms frame, (ceil(n / frame),); the last may be shorter."""
    starts = np.arange(0, len(samples), _frame_length(rate_hz))
    if not len(starts):
        return np.empty(0)
    energies = np.add.reduceat(np.square(samples, dtype=np.float64), starts)
    lengths = np.diff(starts, append=len(samples))
    return 10 * np.log10(np.maximum(energies / lengths, 10 ** (FLOOR_DBFS / 10)))


def _frame_length(rate_hz: int) -> int:
    return max(1, round(rate_hz * FRAME_S))


def _power(samples: Samples) -> float:
    return float(np.mean(np.square(samples, dtype=np.float64)))


def _decibels(power: float) -> float:
    return max(FLOOR_DBFS, 10 * float(np.log10(power))) if power > 0 else FLOOR_DBFS

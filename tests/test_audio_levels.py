"""Levels agree with plain sums and with what was planted."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.audio.levels import FLOOR_DBFS, clipped_share, levels, peak_dbfs, rms_dbfs, silences, snr_db

RATE_HZ = 16000


def bursts(snr: float, seconds: int = 20, seed: int = 0) -> np.ndarray:
    """Half a second of tone, half a second of nothing, and so on, in white noise snr dB below the tone."""
    rng = np.random.default_rng(seed)
    at_s = np.arange(seconds * RATE_HZ) / RATE_HZ
    voice = 0.3 * np.sin(2 * np.pi * 200 * at_s) * (at_s % 1 < 0.5)
    noise_rms = 0.3 / math.sqrt(2) / 10 ** (snr / 20)
    return (voice + rng.normal(0, noise_rms, len(at_s))).astype(np.float32)


@given(st.lists(st.floats(-1, 1, width=32), min_size=1, max_size=200))
def test_levels_equal_plain_sums(values: list[float]) -> None:
    """RMS and peak are those of a loop over the samples, floored."""
    samples = np.array(values, np.float32)
    power = sum(value * value for value in values) / len(values)
    peak = max(abs(value) for value in values)
    plain_rms = 10 * math.log10(power) if power > 0 else FLOOR_DBFS
    plain_peak = 20 * math.log10(peak) if peak > 0 else FLOOR_DBFS
    assert rms_dbfs(samples) == pytest.approx(max(FLOOR_DBFS, plain_rms), abs=1e-4)
    assert peak_dbfs(samples) == pytest.approx(max(FLOOR_DBFS, plain_peak), abs=1e-4)


def test_a_full_scale_sine_is_three_below() -> None:
    """The reference is a full-scale square wave."""
    sine = np.sin(2 * np.pi * np.arange(16000) / 100).astype(np.float32)
    assert rms_dbfs(sine) == pytest.approx(-3.01, abs=0.01)
    assert peak_dbfs(sine) == pytest.approx(0.0, abs=1e-6)


def test_nothing_has_defined_levels() -> None:
    """No samples and zeros both sit on the floor, clip nothing and have no pauses to speak of."""
    none, zeros = np.empty(0, np.float32), np.zeros(RATE_HZ * 2, np.float32)
    assert rms_dbfs(none) == peak_dbfs(none) == rms_dbfs(zeros) == peak_dbfs(zeros) == FLOOR_DBFS
    assert clipped_share(none) == clipped_share(zeros) == 0.0
    assert silences(none, RATE_HZ) == ()
    assert silences(zeros, RATE_HZ, threshold_dbfs=-60.0) == ((0.0, 2.0),)
    assert snr_db(none, RATE_HZ) is None


def test_clipping_is_a_share() -> None:
    """A sine driven 6 dB over the top is clipped for two thirds of the time."""
    sine = np.clip(2 * np.sin(2 * np.pi * np.arange(16000) / 160), -1, 1).astype(np.float32)
    assert clipped_share(sine) == pytest.approx(2 / 3, abs=0.02)


@pytest.mark.parametrize("planted_db", [0.0, 10.0, 20.0, 40.0])
def test_planted_noise_is_found(planted_db: float) -> None:
    """The distance between voice and noise comes back within 2 dB."""
    assert snr_db(bursts(planted_db), RATE_HZ) == pytest.approx(planted_db, abs=2)


def test_muted_pauses_have_no_noise_to_measure() -> None:
    """The figure stops at 60 dB and never becomes infinite."""
    assert snr_db(bursts(200.0), RATE_HZ) == 60.0


@pytest.mark.parametrize("planted_db", [10.0, 40.0, 200.0])
def test_planted_pauses_are_found(planted_db: float) -> None:
    """Each half-second pause is found to a frame, whatever the noise."""
    found = silences(bursts(planted_db, seconds=5), RATE_HZ, least_s=0.4)
    assert len(found) == 5
    for number, (start_s, end_s) in enumerate(found):
        assert start_s == pytest.approx(number + 0.5, abs=0.021)
        assert end_s == pytest.approx(number + 1.0, abs=0.021)


def test_short_gaps_belong_to_the_speech() -> None:
    """Pauses below the least length are not told."""
    assert silences(bursts(40.0, seconds=5), RATE_HZ, least_s=0.6) == ()


def test_levels_gather_the_same_figures() -> None:
    """The record of all figures is the figures."""
    samples = bursts(20.0)
    whole = levels(samples, RATE_HZ)
    assert whole.rms_dbfs == rms_dbfs(samples)
    assert whole.peak_dbfs == peak_dbfs(samples)
    assert whole.snr_db == snr_db(samples, RATE_HZ)
    assert whole.clipped_share == 0.0

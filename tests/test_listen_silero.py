"""The speech detector, run with numpy, says what the library it was published for says, whole and piece by piece."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.audio.read import read
from coach.errors import CoachError
from coach.listen import silero
from coach.listen.silero import Detector
from coach.listen.speech import CHUNK, RATE_HZ, find_speech

HERE = Path(__file__).parent
REFERENCE = np.load(HERE / "sounds" / "speech-probabilities.npz")
SAME = 1e-4


def sound(name: str) -> NDArray[np.float32]:
    """The whole chunks of a shipped recording."""
    path = next(p for folder in ("tests/sounds", "recordings_demo") if (p := HERE.parent / folder / f"{name}.ogg").exists())
    samples = read(path).samples
    return samples[: len(samples) // CHUNK * CHUNK]


@pytest.mark.parametrize("name", REFERENCE.files)
def test_probabilities_are_those_of_the_reference(name: str) -> None:
    """Source: onnxruntime 1.32 on the published network, recorded by training/detector.py."""
    found = Detector().hear(sound(name))
    assert found.shape == REFERENCE[name].shape and np.abs(found - REFERENCE[name]).max() < SAME
    assert REFERENCE[name].min() < 0.1 and REFERENCE[name].max() > 0.9  # of speech and of silence both


def test_piece_by_piece_is_the_same_as_at_once() -> None:
    """Sound that comes in uneven pieces is remembered from one to the next."""
    samples, rng = sound("everyday-kal16"), np.random.default_rng(1)
    cuts = np.sort(rng.choice(np.arange(1, len(samples) // CHUNK), 40, replace=False)) * CHUNK
    detector = Detector()
    pieces = np.concatenate([detector.hear(piece) for piece in np.split(samples, cuts)])
    assert np.abs(pieces - Detector().hear(samples)).max() < 1e-5


def test_extreme_sound_gives_shares() -> None:
    """Digital silence, full-scale noise and far too loud samples give 0..1, and no warning."""
    for samples in (np.zeros(RATE_HZ * 2), np.sign(np.random.default_rng(2).normal(size=CHUNK * 50)), np.full(CHUNK * 9, 1e6)):
        found = Detector().hear(samples[: len(samples) // CHUNK * CHUNK].astype(np.float32))
        assert np.isfinite(found).all() and (found >= 0).all() and (found <= 1).all()


@pytest.mark.parametrize("how", ["changed", "gone"])
def test_other_weights_are_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, how: str) -> None:
    """A file of another hash, or none, is told in one line with what to do."""
    path = tmp_path / "weights.npz"
    if how == "changed":
        path.write_bytes(Path(silero.weights_path()).read_bytes()[:-1])
    monkeypatch.setattr(silero, "weights_path", lambda: str(path))
    silero._load.cache_clear()
    try:
        with pytest.raises(CoachError, match="install coach again"):
            find_speech(np.zeros(RATE_HZ, np.float32))
    finally:
        silero._load.cache_clear()

"""Silero's speech detector (version 6, MIT licence), run with numpy: how likely is a voice in these 32 ms?

In: samples, chunk after chunk. Out: a probability for each. The network is small: a Fourier transform, four convolutions, one
LSTM cell, one linear unit. The weights lie in models/silero-vad (see the model card); they were published for a library that
reports to its maker, which is why they are run here. All but the LSTM's own step is done for all chunks at once.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np

from coach.errors import CoachError
from coach.listen.speech import CHUNK
from coach.places import models_dir

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]

__all__ = ["SHA256", "Detector", "weights_path"]

SHA256 = "bed18f0ce58faa933bd4c715b9f8d88222828c01ba17ed776f9b0c7a4cada5a4"
_CONTEXT = 64  # samples before a chunk that it is judged with
_WINDOW, _HOP = 256, 128  # of the Fourier transform
_STRIDES = (1, 2, 2, 1)  # of the convolutions, each three wide: four spectra become one state
_HIDDEN = 128


class Detector:
    """Follows one recording from its beginning."""

    def __init__(self) -> None:
        """Load the weights.

        Raises:
            CoachError: they are missing, or not the right ones.
        """
        self._weights = _load()
        self._before = np.zeros(_CONTEXT, np.float32)
        self._hidden = np.zeros(_HIDDEN, np.float32)
        self._cell = np.zeros(_HIDDEN, np.float32)

    def hear(self, samples: Floats) -> Floats:
        """The next samples (float32, (n * CHUNK,), 16 kHz, -1..1).

        Returns:
            (n,), 0..1: how likely somebody speaks in each chunk.
        """
        chunks = samples.reshape(-1, CHUNK)
        before = np.concatenate([self._before[None], chunks[:-1, -_CONTEXT:]])
        state = _spectra(np.concatenate([before, chunks], axis=1))
        for k, stride in enumerate(_STRIDES):
            state = _convolved(state, self._weights[f"conv{k}.weight"], self._weights[f"conv{k}.bias"], stride)
        self._before = chunks[-1, -_CONTEXT:].copy()
        hidden = self._remembered(state[:, 0])
        return _sigmoid(np.maximum(hidden, 0) @ self._weights["out.weight"] + self._weights["out.bias"])

    def _remembered(self, states: Floats) -> Floats:
        """The LSTM's hidden states (n, 128), one for each state (n, 128); gates in the order in, out, forget, cell."""
        gates = states @ self._weights["lstm.input"].T + self._weights["lstm.bias"]
        to_gates, hidden, cell = self._weights["lstm.hidden"], self._hidden, self._cell
        out = np.empty((len(gates), _HIDDEN), np.float32)
        for k, from_sound in enumerate(gates):
            gate = from_sound + to_gates @ hidden
            let_in, let_out, keep = _sigmoid(gate[: 3 * _HIDDEN]).reshape(3, _HIDDEN)
            cell = keep * cell + let_in * np.tanh(gate[3 * _HIDDEN :])
            hidden = let_out * np.tanh(cell)
            out[k] = hidden
        self._hidden, self._cell = hidden, cell
        return out


def _spectra(chunks: Floats) -> Floats:
    """Magnitudes (n, 4, 129) of four overlapping windows of each chunk (n, 576), mirrored at its end."""
    mirrored = np.pad(chunks, ((0, 0), (0, _CONTEXT)), "reflect")
    windows = np.lib.stride_tricks.sliding_window_view(mirrored, _WINDOW, axis=1)[:, ::_HOP]
    hann = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
    return np.abs(np.fft.rfft(windows * hann)).astype(np.float32)


def _convolved(states: Floats, weight: Floats, bias: Floats, stride: int) -> Floats:
    """States (n, time, in) after a convolution with weight (out, in, 3), one zero on either side, negatives cut off."""
    n, time, width = states.shape
    padded = np.zeros((n, time + 2, width), np.float32)
    padded[:, 1:-1] = states
    starts = range(0, time, stride)
    # One matrix product for all: each row is what the three taps see.
    rows = np.concatenate([padded[:, at : at + 3].reshape(n, 1, -1) for at in starts], axis=1).reshape(n * len(starts), -1)
    out: Floats = (rows @ weight.transpose(2, 1, 0).reshape(3 * width, -1)).reshape(n, len(starts), -1) + bias
    return np.maximum(out, 0)


def _sigmoid(x: Floats) -> Floats:
    """Without an overflow, however large x is."""
    out: Floats = np.float32(0.5) * (1 + np.tanh(np.float32(0.5) * x))
    return out


def weights_path() -> str:
    """The weights' file."""
    return str(models_dir() / "silero-vad" / "weights.npz")


@lru_cache(maxsize=1)
def _load() -> Mapping[str, Floats]:
    path = weights_path()
    try:
        with open(path, "rb") as file:
            data = file.read()
    except OSError as err:
        raise CoachError(f"{path}: the speech detector's weights cannot be read ({err.strerror}); install coach again") from err
    if hashlib.sha256(data).hexdigest() != SHA256:
        raise CoachError(f"{path}: these are not the right weights (SHA-256 differs); install coach again")
    with np.load(BytesIO(data), allow_pickle=False) as arrays:
        return {name: arrays[name] for name in arrays.files}

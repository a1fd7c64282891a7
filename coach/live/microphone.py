"""A running microphone: whatever rate and channels the device gives, out come pieces at 16 kHz, one channel.

PortAudio's callback only copies bytes into a queue; mixing down and resampling are done by whoever reads.
"""

from __future__ import annotations

import queue
import time
from typing import TYPE_CHECKING, Any

import numpy as np

from coach.audio.library import load_av
from coach.audio.read import RATE_HZ
from coach.errors import CoachError
from coach.live.devices import InputDevice, load_sounddevice, permission_hint

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["Downmix", "LossMeter", "Microphone", "Resampler"]

STALLED_AFTER_S = 3.0  # a running device brings sound many times a second, but some take a while to start
_LATENCY_S = 0.1  # how much the device may hold for us: a busy machine then drops nothing, and nobody notices the wait
_MOST_CHANNELS = 2
_RATES_HZ = (48000, 44100, 16000)  # asked for in this order when the device's own rate does not work
_MEMORY_S = 3.0  # over about this long, channels are compared
_WINDOW_S = 5.0  # sound comes late and in lumps; within this time it has caught up once
_LEAST_LOSS_S = 0.2
_KEPT_SHARE = 0.6  # see coach.audio.read: a mean below this share of the loudest channel lost it


class Microphone:
    """One open input stream. read() and close() belong to one thread; the rest may be asked from any.

    Raises:
        CoachError: the device cannot be opened.
    """

    def __init__(self, device: InputDevice) -> None:
        self.device = device
        self._queue: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._n_channels = min(_MOST_CHANNELS, device.channels)
        self._n_overflowed = self._n_frames = 0
        sounddevice = load_sounddevice()
        try:
            rate_hz = self._rate_hz = _working_rate_hz(sounddevice, device, self._n_channels)
            self._stream = sounddevice.RawInputStream(
                device=device.index,
                channels=self._n_channels,
                samplerate=rate_hz,
                dtype="float32",
                latency=_LATENCY_S,
                callback=self._take_in,
            )
            self._last_sound_at = time.monotonic()
            self._stream.start()
        except sounddevice.PortAudioError as err:
            why = str(err).splitlines()[0]
            raise CoachError(
                f"microphone {device.name!r}: cannot be opened ({why}); close other programs that use it, or choose "
                f"another one (coach devices). {permission_hint()}"
            ) from err
        self._downmix = Downmix(self._n_channels, rate_hz)
        self._resampler = Resampler(rate_hz)
        self._losses = LossMeter(rate_hz)

    @property
    def lost_s(self) -> float:
        """Seconds lost so far: as PortAudio tells, or as the clock tells (some sound systems drop without a word)."""
        return max(self._n_overflowed, self._losses.n_lost) / self._rate_hz

    def read(self, timeout_s: float) -> Samples:
        """All that has come in since the last time, after waiting at most timeout_s; maybe nothing. float32, (n,)."""
        pieces = []
        try:
            pieces.append(self._queue.get(timeout=timeout_s))
            while True:
                pieces.append(self._queue.get_nowait())
        except queue.Empty:
            pass
        if not pieces:
            return np.empty(0, np.float32)
        self._losses.note(self._last_sound_at, self._n_frames)
        frames = np.frombuffer(b"".join(pieces), np.float32).reshape(-1, self._n_channels)
        return self._resampler.push(self._downmix.mix(frames))

    def is_lost(self) -> bool:
        """Whether the device ended the stream by itself; it does not come back."""
        return bool(not self._stream.active)

    def is_stalled(self) -> bool:
        """Whether nothing, not even silence, has come for a while; it may come back."""
        return time.monotonic() - self._last_sound_at > STALLED_AFTER_S

    def close(self) -> Samples:
        """Stop, and return what had come in and was not read yet."""
        self._stream.abort(ignore_errors=True)
        self._stream.close(ignore_errors=True)
        rest = self.read(0.0)
        return np.concatenate([rest, self._resampler.finish()])

    def _take_in(self, frames: Any, n_frames: int, _clock: Any, status: Any) -> None:
        """PortAudio's callback: nothing here may wait."""
        self._queue.put(bytes(frames))
        self._last_sound_at = time.monotonic()
        self._n_frames += n_frames
        if status.input_overflow:
            self._n_overflowed += n_frames  # how many were lost is not told; they are lost in blocks


class LossMeter:
    """Finds lost sound by the clock: frames that came, against the time that went by.

    Sound comes late and in lumps, and no two clocks run alike. So each few seconds the best that sound has kept up with
    the clock is compared with the few seconds before; only a fall of that by a fifth of a second or more is a loss.
    """

    def __init__(self, rate_hz: int) -> None:
        self.n_lost = 0
        self._rate_hz = rate_hz
        self._window_from_s: float | None = None
        self._best_s = self._best_before_s = -np.inf

    def note(self, now_s: float, n_frames: int) -> None:
        """Frames that have come in all by a time."""
        if self._window_from_s is None:
            self._window_from_s = now_s
        self._best_s = max(self._best_s, n_frames / self._rate_hz - now_s)
        if now_s - self._window_from_s < _WINDOW_S:
            return
        lost_s = self._best_before_s - self._best_s
        if lost_s >= _LEAST_LOSS_S:
            self.n_lost += round(lost_s * self._rate_hz)
        self._window_from_s, self._best_before_s, self._best_s = now_s, self._best_s, -np.inf


class Downmix:
    """Frames of several channels to one: their mean, or the loudest alone where the mean would lose it.

    The same rule as for files (coach.audio.read), with the loudness of the last seconds in place of the whole piece.
    """

    def __init__(self, n_channels: int, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        self._powers = np.zeros(n_channels + 1)  # of each channel, then of their mean

    def mix(self, frames: Samples) -> Samples:
        """float32, (n, channels) to (n,)."""
        if frames.shape[1] == 1 or not len(frames):
            return np.ascontiguousarray(frames[:, 0])
        mean: Samples = frames.mean(axis=1, dtype=np.float32)
        now = np.mean(np.square(np.column_stack([frames, mean]), dtype=np.float64), axis=0)
        share = min(1.0, len(frames) / (_MEMORY_S * self._rate_hz)) if self._powers.any() else 1.0
        self._powers += share * (now - self._powers)
        loudest = int(np.argmax(self._powers[:-1]))
        if self._powers[-1] < _KEPT_SHARE**2 * self._powers[loudest]:
            return np.ascontiguousarray(frames[:, loudest])
        return mean


class Resampler:
    """One channel from any rate to 16 kHz, piece by piece, as if it were one long piece (FFmpeg's resampler)."""

    def __init__(self, rate_hz: int) -> None:
        self._av = load_av()
        self._rate_hz = rate_hz
        self._resampler = self._av.AudioResampler(format="flt", layout="mono", rate=RATE_HZ)

    def push(self, samples: Samples) -> Samples:
        """float32, (n,) in; what is ready out, also float32."""
        if not len(samples):
            return samples
        frame = self._av.AudioFrame.from_ndarray(samples.reshape(1, -1), format="flt", layout="mono")
        frame.sample_rate = self._rate_hz
        return self._ready(frame)

    def finish(self) -> Samples:
        """The last few samples, held back by the filter until now."""
        return self._ready(None)

    def _ready(self, frame: Any) -> Samples:
        pieces = [piece.to_ndarray().reshape(-1) for piece in self._resampler.resample(frame)]
        return np.concatenate([np.empty(0, np.float32), *pieces])


def _working_rate_hz(sounddevice: Any, device: InputDevice, n_channels: int) -> int:
    """The device's own rate, or the first usual one that it takes; its own again when it takes none, to fail with that."""
    for rate_hz in (device.rate_hz, *_RATES_HZ):
        try:
            sounddevice.check_input_settings(device.index, n_channels, "float32", None, rate_hz)
        except sounddevice.PortAudioError:
            continue
        return rate_hz
    return device.rate_hz

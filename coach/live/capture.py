"""Capture: the microphone into a wav file that is valid at any moment, with level, length and what is going wrong.

A thread of its own carries sound from the microphone's queue to the disk; nothing the rest of the program does can
hold it up for long enough to lose sound, and what is on disk outlives a crash of the rest.
"""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from coach.audio.levels import FLOOR_DBFS, rms_dbfs
from coach.audio.read import RATE_HZ, SILENT_DBFS
from coach.errors import CoachError
from coach.live.devices import InputDevice, find_device, permission_hint
from coach.live.microphone import Microphone
from coach.live.wav_file import GrowingWav

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["Capture", "open_capture"]

_LEVEL_SAMPLES = RATE_HZ // 10
_SETTLE_EVERY_S = 0.5  # at most this much is missing for a reader after the program is killed
_SYNC_EVERY_S = 5.0  # at most about this much is missing after the power fails
_READ_S = 0.05
_SILENT_START_S, _SILENT_LATER_S = 3.0, 10.0  # a microphone that mutes the pauses by itself is silent for seconds
_LOW_BYTES = 20_000_000  # about ten minutes of sound
_STOP_BYTES = 2_000_000  # room left so that the report and the take's record still find a place


def open_capture(device: str | None, take_path: Path, on_sound: Callable[[Samples], None] | None = None) -> Capture:
    """Start recording: returns as soon as the microphone runs.

    Args:
        device: number, name or part of a name (see devices.find_device); None for the default.
        take_path: the wav file to make, 16 kHz mono 16 bit, mode 0600; it must not exist.
        on_sound: called in the writer thread, after the sound is on disk, with each new piece (float32, (n,), 16 kHz,
            -1..1; some tens of ms); for a live listener. It should only hand on; if it raises, it is not called again (see
            listener_error).
    Raises:
        CoachError: no PortAudio, no such device, the device cannot be opened, or the file cannot be made.
    """
    return Capture(find_device(device), take_path, on_sound)


class Capture:
    """A running recording. All methods may be called from any thread, and none of them waits but close()."""

    def __init__(self, device: InputDevice, take_path: Path, on_sound: Callable[[Samples], None] | None = None) -> None:
        """As open_capture."""
        self.device = device
        self._folder = take_path.parent
        self._on_sound = on_sound
        self.listener_error: Exception | None = None  # what on_sound raised; recording goes on without it
        self._recent: Samples = np.zeros(0, np.float32)
        self._heard_at_s: float | None = None  # place of the last piece that was not silent
        self._read_s = 0.0
        self._ended: str | None = None  # why nothing more is written
        self._is_disk_low = False
        self._stop = threading.Event()
        self._check_disk(take_path)
        self._microphone = Microphone(device)
        try:
            self._wav = GrowingWav(take_path, RATE_HZ)
        except OSError as err:
            self._microphone.close()
            raise CoachError(f"{take_path}: cannot be recorded to ({err.strerror}); free some space, or move it") from err
        self._thread = threading.Thread(target=self._carry, name="capture", daemon=True)
        self._thread.start()

    def level_dbfs(self) -> float:
        """RMS of the last 100 ms in dBFS (audio.levels.FLOOR_DBFS when nothing)."""
        return rms_dbfs(self._recent) if self.is_running() else FLOOR_DBFS

    def seconds(self) -> float:
        """Length of what is on disk."""
        return self._wav.seconds

    def lost_s(self) -> float:
        """Seconds of sound lost because this machine was too slow; an estimate, 0 is exact and the rule."""
        return self._microphone.lost_s

    def problem(self) -> str | None:
        """None, or one clear line: device lost, disk full or nearly, nothing coming in. May change and go away again."""
        if self._ended:
            return self._ended
        name = self.device.name
        if self._microphone.is_stalled() and not self._stop.is_set():
            return f"nothing comes from the microphone {name!r} any more; check its cable; the take so far is kept"
        if self._is_disk_low:
            return f"the disk is nearly full ({self._folder}): free some space soon; the take so far is kept"
        silent_s = self._read_s - (self._heard_at_s or 0.0)
        if silent_s > (_SILENT_START_S if self._heard_at_s is None else _SILENT_LATER_S):
            return f"the microphone {name!r} is silent: unmute it or choose another (coach devices). {permission_hint()}"
        return None

    def is_running(self) -> bool:
        """Whether sound still goes to disk; False for good after close(), a lost device or a full disk."""
        return self._ended is None and not self._stop.is_set()

    def close(self) -> None:
        """Stop, write all that was heard, mend the header, sync. Safe to call twice; also a context manager's end."""
        self._stop.set()
        self._thread.join()

    def __enter__(self) -> Capture:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _check_disk(self, take_path: Path) -> None:
        try:
            self._is_disk_low = (free := shutil.disk_usage(self._folder).free) < _LOW_BYTES
        except OSError as err:
            raise CoachError(f"{take_path}: cannot be recorded to ({err.strerror}); choose another folder") from err
        if free < _STOP_BYTES:
            raise CoachError(f"{take_path}: the disk is full; free some space (coach takes delete), then start again")

    def _carry(self) -> None:
        """The writer thread: everything here may take its time but the disk."""
        try:
            self._carry_until_the_end()
        except OSError as err:
            self._end(f"the disk takes no more sound ({err.strerror or err})", "free some space")
        except Exception as err:  # told through problem(): a thread's traceback would reach nobody
            self._end(f"recording stopped ({type(err).__name__}: {err})", "start a new take")
        finally:
            self._finish()

    def _carry_until_the_end(self) -> None:
        settled_at = synced_at = time.monotonic()
        while not self._stop.is_set():
            lost = self._microphone.is_lost()  # asked before reading: what came until then is read and kept
            self._store(self._microphone.read(_READ_S))
            now = time.monotonic()
            if now - settled_at >= _SETTLE_EVERY_S:
                settled_at = now
                self._wav.settle()
                self._look_at_disk()
            if now - synced_at >= _SYNC_EVERY_S:
                synced_at = now
                self._wav.sync()
            if lost and not self._stop.is_set():
                self._end(f"the microphone {self.device.name!r} is gone", "plug it in and start a new take")
            if self._ended:
                return

    def _look_at_disk(self) -> None:
        free = shutil.disk_usage(self._folder).free
        self._is_disk_low = free < _LOW_BYTES
        if free < _STOP_BYTES:
            self._end("the disk is full", "free some space")

    def _store(self, samples: Samples) -> None:
        if not len(samples):
            return
        self._wav.append(samples)
        self._recent = np.concatenate([self._recent, samples])[-_LEVEL_SAMPLES:]
        self._read_s = self._wav.seconds
        if float(np.max(np.abs(samples))) >= 10 ** (SILENT_DBFS / 20):
            self._heard_at_s = self._read_s
        if self._on_sound is not None:
            self._hand_on(samples, self._on_sound)

    def _hand_on(self, samples: Samples, on_sound: Callable[[Samples], None]) -> None:
        try:
            on_sound(samples)
        except Exception as err:  # a listener that fails must not cost the take
            self.listener_error = err
            self._on_sound = None

    def _end(self, what: str, remedy: str) -> None:
        minutes, seconds = divmod(int(self._wav.seconds), 60)
        self._ended = f"{what} at {minutes}:{seconds:02}; the take so far is kept; {remedy}"

    def _finish(self) -> None:
        rest = self._microphone.close()
        try:
            if self._ended is None:
                self._store(rest)
            self._wav.close()
        except OSError as err:
            self._end(f"the end of the take could not be written ({err.strerror or err})", "free some space")

"""A wav file that grows while sound comes in, and that opens at any moment of its life.

Samples go straight to the system (no buffer of ours): what was appended survives the end of this process. The two sizes
in the header are mended in place by settle(); in between, readers see a slightly shorter file. sync() makes it survive
the end of the machine too.
"""

from __future__ import annotations

import os
import struct
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["HEADER_BYTES", "SAMPLE_BYTES", "GrowingWav", "mend"]

SAMPLE_BYTES = 2
_HEADER = struct.Struct("<4sI4s4sIHHIIHH4sI")  # RIFF, "fmt " and "data" of the Microsoft RIFF WAVE format, PCM
HEADER_BYTES = _HEADER.size


class GrowingWav:
    """A new 16-bit mono wav file, private to the user.

    All methods raise OSError when the disk is full or gone; the file then keeps what it had.
    """

    def __init__(self, path: Path, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        self._n_bytes = 0
        # Private from its first moment, whatever the umask; O_EXCL: never over an older take.
        flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        self._file = open(os.open(path, flags, 0o600), "r+b", buffering=0)  # noqa: SIM115
        try:
            self._write(0, self._header())
        except OSError:
            self._file.close()
            path.unlink()
            raise

    @property
    def seconds(self) -> float:
        """Length of the sound on disk."""
        return self._n_bytes / (SAMPLE_BYTES * self._rate_hz)

    def append(self, samples: Samples) -> None:
        """Add samples (float32, (n,), -1..1; louder is clipped)."""
        data = memoryview(np.round(np.clip(samples, -1.0, 1.0) * 32767).astype("<i2").tobytes())
        while data:  # a disk that fills up takes a part, and tells the reason at the next try
            written = self._write(HEADER_BYTES + self._n_bytes, data)
            self._n_bytes += written
            data = data[written:]

    def settle(self) -> None:
        """Mend the header: all that was appended so far is now in the file for every reader."""
        self._write(0, self._header())

    def sync(self) -> None:
        """Wait until the file is on the disk itself."""
        os.fsync(self._file.fileno())

    def close(self) -> None:
        """Mend the header, sync, close; twice is no harm."""
        if self._file.closed:
            return
        try:
            self._n_bytes -= self._n_bytes % SAMPLE_BYTES  # half a sample may stand there after a full disk
            self._file.truncate(HEADER_BYTES + self._n_bytes)
            self.settle()
            self.sync()
        finally:
            self._file.close()

    def _write(self, place: int, data: bytes | memoryview) -> int:
        self._file.seek(place)
        return int(self._file.write(data) or 0)

    def _header(self) -> bytes:
        return _header(self._n_bytes, self._rate_hz)


def mend(path: Path) -> None:
    """Give a file that a crash left behind the header of all the sound that is in it (up to half a second more).

    Only files made by GrowingWav are touched. OSError: the file is missing or may not be written to.
    """
    with path.open("r+b") as file:
        head = file.read(HEADER_BYTES)
        if len(head) < HEADER_BYTES or head[:4] != b"RIFF" or head[36:40] != b"data":
            return
        rate_hz = _HEADER.unpack(head)[7]
        file.seek(0)
        file.write(_header(path.stat().st_size - HEADER_BYTES, rate_hz))


def _header(n_bytes: int, rate_hz: int) -> bytes:
    n_bytes -= n_bytes % SAMPLE_BYTES
    size = _HEADER.size - 8 + n_bytes
    per_s = rate_hz * SAMPLE_BYTES
    return _HEADER.pack(b"RIFF", size, b"WAVE", b"fmt ", 16, 1, 1, rate_hz, per_s, SAMPLE_BYTES, 16, b"data", n_bytes)

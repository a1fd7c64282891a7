"""Samples out: a wav file moved into place whole, or small compressed sound to put inside a page.

In go mono samples and their rate; out come a 16-bit wav file, or the bytes of an ogg file with opus in it. Also here
is replace_file, by which any other file is written safely.
"""

from __future__ import annotations

import io
import os
import tempfile
import wave
from pathlib import Path
from typing import TYPE_CHECKING

from coach.audio.library import load_av
from coach.errors import CoachError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["OGG_BITS_PER_S", "encode_ogg", "replace_file", "write_wav"]

OGG_BITS_PER_S = 24_000  # opus speech is clear at this; a minute takes 180 kB
_OPUS_RATES_HZ = (8000, 12000, 16000, 24000, 48000)  # the only rates the codec knows


def write_wav(path: str | Path, samples: Samples, rate_hz: int) -> None:
    """Write mono samples (float32, (n,), -1..1; louder is clipped, NaN is silence) as a 16-bit wav file.

    Raises:
        CoachError: the folder is missing or may not be written to; no half file is left behind.
    """
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(_whole_numbers(samples).tobytes())
    replace_file(path, buffer.getvalue())


def encode_ogg(samples: Samples, rate_hz: int, bits_per_s: int = OGG_BITS_PER_S) -> bytes:
    """Mono samples (float32, (n,), -1..1) as the bytes of an ogg file with opus; the same samples give the same bytes.

    Raises:
        ValueError: there are no samples, or they are not one channel.
        CoachError: PyAV, or the opus encoder in it, is missing.
    """
    if not len(samples):
        raise ValueError("no samples to encode")
    pcm = _whole_numbers(samples).reshape(1, -1)
    av = load_av()
    buffer = io.BytesIO()
    with av.open(buffer, "w", format="ogg", options={"fflags": "+bitexact"}) as container:
        rate_out_hz = next((rate for rate in _OPUS_RATES_HZ if rate >= rate_hz), _OPUS_RATES_HZ[-1])
        stream = container.add_stream("libopus", rate=rate_out_hz, layout="mono", options={"application": "voip"})
        stream.bit_rate = bits_per_s
        for start in range(0, pcm.shape[1], rate_hz):
            frame = av.AudioFrame.from_ndarray(pcm[:, start : start + rate_hz], format="s16", layout="mono")
            frame.sample_rate = rate_hz
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return buffer.getvalue()


def replace_file(path: str | Path, content: bytes) -> None:
    """Write content beside path, then move it into place: path holds the old content or the new, never half of it.

    Raises:
        CoachError: the folder is missing or may not be written to, or the disk is full.
    """
    path = Path(path)
    try:
        handle, name = tempfile.mkstemp(prefix=".coach-", dir=path.parent)
        try:
            with open(handle, "wb") as file:
                file.write(content)
            os.chmod(name, _mode(path))
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as err:
        why = err.strerror or err
        raise CoachError(f"{path}: cannot be written ({why}); choose a folder that exists and is yours") from err


def _mode(path: Path) -> int:
    """The permissions path has, or those a new file would get."""
    try:
        return path.stat().st_mode & 0o777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _whole_numbers(samples: Samples) -> NDArray[np.int16]:
    import numpy as np

    if samples.ndim != 1:
        raise ValueError(f"samples must be one channel, got an array of shape {samples.shape}")
    finite = np.nan_to_num(samples, nan=0.0)
    return np.round(np.clip(finite, -1.0, 1.0) * 32767).astype("<i2")

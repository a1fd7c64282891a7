"""Any recording in, mono samples out: blocks of float32 at one rate, in bounded memory however long the recording is.

In goes the path of whatever people record with: wav, mp3, m4a, ogg, opus, flac, or the sound of a video, at any rate,
depth and number of channels. Out come samples, or a CoachError of one line that says what is wrong with the file and
what to do. Finding speech, judging levels and writing files is left to others.
"""

from __future__ import annotations

import stat
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from coach.audio.library import load_av
from coach.errors import CoachError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]  # (n,) mono, or (channels, n)

__all__ = ["MAX_S", "RATE_HZ", "SILENT_DBFS", "Probe", "Sound", "blocks", "probe", "read"]

RATE_HZ = 16000  # what the listeners take
BLOCK_S = 30.0
MAX_S = 3600.0  # a rehearsal is minutes; longer than this is the wrong file or a recorder left running
SILENT_DBFS = -70.0  # below this peak even 16-bit sound holds nothing but the last few bits

_KEPT_SHARE = 0.6  # the mean of two unlike channels keeps 0.71 of their RMS; of a silent or opposed pair, 0.5 to 0
_SHORT_SHARE, _SHORT_S = 0.95, 1.0  # decoded less than this share of the stated length, less a second: broken off
_READABLE = "wav, mp3, m4a, ogg, opus, flac, mp4, mov or webm"


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """A whole recording, mixed to one channel."""

    samples: Samples  # float32, (n_samples,), full scale is -1..1
    rate_hz: int = RATE_HZ
    truncated: bool = False  # the file broke off or was damaged: some of the recording is missing

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return len(self.samples) / self.rate_hz


@dataclass(frozen=True, slots=True)
class Probe:
    """What a recording says of itself, before anything is decoded."""

    container: str  # the library's name for the file format, e.g. "wav" or "mov,mp4,m4a,3gp,3g2,mj2"
    codec: str
    rate_hz: int
    channels: int
    seconds: float | None  # None when the file does not tell


def probe(path: str | Path) -> Probe:
    """Say what kind of recording path is, without decoding it.

    Raises:
        CoachError: the file is missing, unreadable, no recording, without sound, or longer than MAX_S.
    """
    with _opened(Path(path)) as source:
        context = source.stream.codec_context
        return Probe(source.container.format.name, context.name, context.sample_rate, context.channels, source.stated_s)


def blocks(path: str | Path, rate_hz: int = RATE_HZ, block_s: float = BLOCK_S) -> Iterator[Samples]:
    """Decode a recording block by block, so that memory does not grow with its length.

    Args:
        path: the recording.
        rate_hz: samples a second to hand out.
        block_s: length of a block; the last one is shorter, and so is one where the number of channels changes.
    Yields:
        float32 arrays (n_samples,), mono, full scale -1..1, together the whole recording.
    Raises:
        CoachError: as for probe at the first block; at the end, when nothing in it can be heard.
    """
    with _opened(Path(path)) as source:
        yield from source.blocks(rate_hz, block_s)


def read(path: str | Path, rate_hz: int = RATE_HZ) -> Sound:
    """Decode a whole recording into memory (4 bytes a sample: 4 MB a minute, twice that for a moment).

    Raises:
        CoachError: as for probe, and when nothing in it can be heard.
    """
    with _opened(Path(path)) as source:
        samples = np.concatenate(list(source.blocks(rate_hz, BLOCK_S)))
        return Sound(samples, rate_hz, source.is_truncated)


@dataclass(slots=True)
class _Source:
    """An open recording: decodes once, front to back, and keeps count of what was lost on the way."""

    path: Path
    container: Any
    stream: Any
    stated_s: float | None
    decoded_s: float = 0.0
    damaged: bool = False
    _low: float = field(default=np.inf)
    _high: float = field(default=-np.inf)

    @property
    def is_truncated(self) -> bool:
        """Whether part of what the file promises could not be had; true only after blocks has run out."""
        return self.damaged or (self.stated_s is not None and self.decoded_s < _SHORT_SHARE * self.stated_s - _SHORT_S)

    def blocks(self, rate_hz: int, block_s: float) -> Iterator[Samples]:
        if rate_hz <= 0 or not 0 < block_s < np.inf:
            raise ValueError(f"rate_hz and block_s must be above 0, got {rate_hz} Hz and {block_s} s")
        for piece in _regroup(self._pieces(rate_hz), max(1, round(rate_hz * block_s))):
            mono = np.ascontiguousarray(_mono(np.nan_to_num(piece, copy=False, nan=0.0, posinf=1.0, neginf=-1.0)))
            self._low, self._high = min(self._low, float(mono.min())), max(self._high, float(mono.max()))
            yield mono
        self._check_heard()

    def _pieces(self, rate_hz: int) -> Iterator[Samples]:
        """Resampled sound, (channels, n) with n small, in order."""
        from av.audio.resampler import AudioResampler

        resampler, shape = None, None
        for frame in self._frames():
            frame.pts = None  # gaps and jumps in the file's clock are not for the resampler to mend
            if resampler is None or shape != _shape(frame):
                yield from _resampled(resampler, None)
                resampler, shape = AudioResampler(format="flt", layout=frame.layout, rate=rate_hz), _shape(frame)
            yield from _resampled(resampler, frame)
        yield from _resampled(resampler, None)

    def _frames(self) -> Iterator[Any]:
        for packet in self._packets():
            for frame in self._decoded(packet):
                if frame.samples:
                    self.decoded_s += frame.samples / frame.sample_rate
                    _check_length(self.path, self.decoded_s, least=True)
                    yield frame

    def _packets(self) -> Iterator[Any]:
        """Packets of the sound, then None to flush; a file that breaks off ends here instead of failing."""
        from av import FFmpegError

        try:
            for packet in self.container.demux(self.stream):
                if packet.size:
                    yield packet
        except FFmpegError:
            self.damaged = True
        yield None

    def _decoded(self, packet: Any) -> list[Any]:
        from av import FFmpegError

        try:
            return list(self.stream.codec_context.decode(packet))
        except FFmpegError:
            self.damaged = True  # one bad packet; the next ones may be whole
            return []

    def _check_heard(self) -> None:
        if self._high < self._low:
            raise CoachError(
                f"{self.path}: holds no sound that can be decoded; copy the file again, or record the rehearsal again"
            )
        if (self._high - self._low) / 2 < 10 ** (SILENT_DBFS / 20):  # half the swing: a constant offset is silent too
            raise CoachError(
                f"{self.path}: nothing can be heard in it; check that the microphone was on, not muted and the right "
                "one, then record again"
            )


@contextmanager
def _opened(path: Path) -> Iterator[_Source]:
    head = _first_bytes(path)
    with _open_container(path, head) as container:
        stream = _sound_stream(path, container)
        stated_s = _stated_s(container, stream)
        _check_length(path, stated_s or 0.0)
        yield _Source(path, container, stream, stated_s, damaged=_riff_is_short(head, path.stat().st_size))


def _first_bytes(path: Path) -> bytes:
    """The start of the file, once it is sure that there is a plain file with something in it."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise CoachError(f"{path}: is a folder; name the recording inside it")
        if not stat.S_ISREG(mode):
            raise CoachError(f"{path}: is not a plain file; save the recording to a file first")
        with path.open("rb") as file:
            head = file.read(16)
    except FileNotFoundError as err:
        raise CoachError(f"{path}: there is no such file; check its name and folder") from err
    except PermissionError as err:
        raise CoachError(f"{path}: you have no permission to read it; copy it to a folder of your own") from err
    except (OSError, ValueError) as err:
        raise CoachError(f"{path}: cannot be opened ({err}); check its name and folder") from err
    if not head:
        raise CoachError(f"{path}: is empty (0 bytes); copy the file again, or record the rehearsal again")
    return head


def _riff_is_short(head: bytes, n_bytes: int) -> bool:
    """Whether a wav file ends before its header says; recorders that never mend the header write 0 or 2 GB up."""
    n_stated = int.from_bytes(head[4:8], "little") + 8
    return head[:4] == b"RIFF" and n_bytes < n_stated < 0x7FFF0000


def _open_container(path: Path, head: bytes) -> Any:
    av = load_av()
    try:
        # "file:" and the whitelist keep a playlist or an odd file name from reaching out to the network.
        # Until release 19 odd letters in a title stopped the reading unless told otherwise; 19 has no such argument.
        odd_letters = {"metadata_errors": "replace"} if int(av.__version__.split(".")[0]) < 19 else {}
        return av.open(f"file:{path}", options={"protocol_whitelist": "file"}, **odd_letters)
    except (av.FFmpegError, ValueError) as err:
        if head[4:8] == b"ftyp":  # an mp4 or m4a that begins well: its index is written last
            raise CoachError(
                f"{path}: was broken off before its recorder finished it; copy the whole file again, "
                "or save the recording as another kind of file"
            ) from err
        raise CoachError(f"{path}: is not a recording that can be read; give a {_READABLE} file") from err


def _sound_stream(path: Path, container: Any) -> Any:
    """The first sound that can be decoded; phones may add a second one that cannot."""
    sounds = container.streams.audio
    if not sounds:
        raise CoachError(f"{path}: holds pictures or text but no sound; give a recording in which the member speaks")
    for stream in sounds:
        if stream.codec_context is not None:
            return stream
    raise CoachError(f"{path}: its sound is coded in a way that cannot be decoded here; save it as a wav or mp3 file")


def _stated_s(container: Any, stream: Any) -> float | None:
    """The length in seconds that the file gives, or None where there is none or it is only guessed from a bit rate."""
    if container.format.name == "aac":
        return None
    if stream.duration is not None and stream.time_base is not None:
        return float(stream.duration * stream.time_base)
    return container.duration / 1e6 if container.duration else None


def _check_length(path: Path, seconds: float, least: bool = False) -> None:
    if seconds > MAX_S:
        length = f"more than {_render_hours(MAX_S)}" if least else _render_hours(seconds)
        raise CoachError(f"{path}: is {length} long; a rehearsal is minutes; cut out the part to review and give that")


def _render_hours(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def _shape(frame: Any) -> tuple[str, str, int]:
    return frame.format.name, frame.layout.name, frame.sample_rate


def _resampled(resampler: Any, frame: Any) -> Iterator[Samples]:
    if resampler is not None:
        for piece in resampler.resample(frame):
            # Interleaved: PyAV up to 18 reads past the planes of a planar frame of 8 channels or more.
            yield piece.to_ndarray().reshape(-1, piece.layout.nb_channels).T


def _regroup(pieces: Iterator[Samples], n_block: int) -> Iterator[Samples]:
    """Pieces (channels, n) joined and cut to n_block samples each; cut short where the number of channels changes."""
    held: list[Samples] = []
    n_held = 0
    for piece in pieces:
        if held and len(held[0]) != len(piece):
            yield np.concatenate(held, axis=1)
            held, n_held = [], 0
        held.append(piece)
        n_held += piece.shape[1]
        if n_held >= n_block:
            whole = np.concatenate(held, axis=1)
            n_whole = n_held // n_block * n_block
            for start in range(0, n_whole, n_block):
                yield whole[:, start : start + n_block]
            held, n_held = [whole[:, n_whole:].copy()], n_held - n_whole
    if n_held:
        yield np.concatenate(held, axis=1)


def _mono(channels: Samples) -> Samples:
    """The mean of the channels, (channels, n) to (n,); the loudest alone where the mean would lose it.

    One dead channel, or two of opposite sign (a miswired cable, some phones' far-field tricks), would otherwise halve
    the voice or cancel it.
    """
    powers = np.mean(np.square(channels, dtype=np.float64), axis=1)
    mean: Samples = channels.mean(axis=0, dtype=np.float32)
    loudest = int(np.argmax(powers))
    if np.mean(np.square(mean, dtype=np.float64)) < _KEPT_SHARE**2 * powers[loudest]:
        mean = channels[loudest]
    return mean

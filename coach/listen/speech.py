"""Finding speech before anything is recognised: silence, noise and music give no stretch and so no words.

In: float32 mono samples at 16 kHz. Out: stretches of speech short enough for the recogniser.
How likely a voice is, the detector says (coach.listen.silero); here its probabilities become stretches.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["RATE_HZ", "Stretch", "Voicing", "find_speech", "group", "split_blocks"]

RATE_HZ = 16_000
CHUNK = 512  # samples that the detector judges together
THRESHOLD = 0.35  # lower than the detector's own 0.5: children and far microphones are quiet
SILENT = THRESHOLD - 0.15  # below this it is silence; between the two, what it was before
MIN_SILENCE = RATE_HZ * 200 // 1000
MIN_SPEECH = RATE_HZ * 120 // 1000
SHORT_SILENCE = RATE_HZ * 98 // 1000  # a part that grows too long is cut at the last silence of this length
PAD_S = 0.2
# Short stretches are steadier than 30 s windows, which now and then lose half a window: word error 0.154 up to 12 s,
# 0.160 up to 10 s, 0.171 up to 18 s (words dropped).
MAX_STRETCH_S = 12.0
# A silence this long always ends a stretch: nothing in it belongs together.
BREAK_S = 1.2
BLOCK_S = 60
LOOK_BACK_S = 10


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of the recording in which somebody speaks, in seconds."""

    start_s: float
    end_s: float

    @property
    def seconds(self) -> float:
        """Its length."""
        return self.end_s - self.start_s


@dataclass(slots=True)
class Voicing:
    """From the detector's probabilities to voiced parts, one chunk at a time; numbers are samples of the block.

    Source: get_speech_timestamps of Silero (MIT licence) as faster-whisper 1.2.1 has it, made to stop and go on.
    """

    parts: list[tuple[int, int]] = field(default_factory=list)
    start: int | None = None
    silent_from: int = 0
    cut_at: int = 0
    next_start: int = 0

    def take(self, at: int, probability: float) -> None:
        """The chunk that begins at this sample."""
        if probability >= THRESHOLD:
            if self.silent_from:
                self.silent_from = 0
                if self.next_start < self.cut_at:
                    self.next_start = at
            if self.start is None:
                self.start = at
                return
        if self.start is None:
            return
        if at - self.start > MAX_STRETCH_S * RATE_HZ - CHUNK:
            self._cut(at)
            if self.start is None:
                return
        if probability < SILENT:
            self.silent_from = self.silent_from or at
            if at - self.silent_from > SHORT_SILENCE:
                self.cut_at = self.silent_from
            if at - self.silent_from >= MIN_SILENCE:
                if self.silent_from - self.start > MIN_SPEECH:
                    self.parts.append((self.start, self.silent_from))
                self._begin(None)

    def _cut(self, at: int) -> None:
        """End a part that grew too long: at its last short silence, else here."""
        assert self.start is not None
        self.parts.append((self.start, self.cut_at or at))
        self._begin(self.next_start if self.cut_at and self.next_start >= self.cut_at else None)

    def _begin(self, start: int | None) -> None:
        self.start, self.silent_from, self.cut_at, self.next_start = start, 0, 0, 0

    def so_far(self, now: int) -> list[tuple[int, int]]:
        """All parts, the one going on up to its last voiced sample."""
        return self._with_open(self.silent_from or now)

    def at_the_end(self, end: int) -> list[tuple[int, int]]:
        """All parts of a block that ends there; what was going on ends with it."""
        return self._with_open(end)

    def _with_open(self, end: int) -> list[tuple[int, int]]:
        going_on = self.start is not None and end - self.start > MIN_SPEECH
        return [*self.parts, (self.start or 0, end)] if going_on else self.parts


def find_speech(samples: NDArray[np.float32]) -> list[Stretch]:
    """Voiced stretches of the samples, rising, without padding."""
    return [
        Stretch((start + a) / RATE_HZ, (start + b) / RATE_HZ)
        for start, end in split_blocks(samples)
        for a, b in _voiced(samples[start:end])
    ]


def _voiced(block: NDArray[np.float32]) -> list[tuple[int, int]]:
    """Voiced parts of a block, in its samples."""
    import numpy as np

    from coach.listen.silero import Detector

    padded = np.pad(block, (0, CHUNK - len(block) % CHUNK))
    voicing = Voicing()
    for k, probability in enumerate(Detector().hear(padded).tolist()):
        voicing.take(k * CHUNK, probability)
    return voicing.at_the_end(len(block))


def split_blocks(samples: NDArray[np.float32]) -> list[tuple[int, int]]:
    """Parts of at most BLOCK_S, so that the detector's memory is bounded; cut where the last seconds are quietest."""
    import numpy as np

    step, out, at = RATE_HZ // 5, [], 0
    while len(samples) - at > BLOCK_S * RATE_HZ:
        end = at + BLOCK_S * RATE_HZ
        tail = samples[end - LOOK_BACK_S * RATE_HZ : end].reshape(-1, step)
        end -= LOOK_BACK_S * RATE_HZ - step * int(np.argmin((tail**2).sum(axis=1))) - step // 2
        out.append((at, end))
        at = end
    return [*out, (at, len(samples))]


def group(speech: list[Stretch], total_s: float) -> list[Stretch]:
    """Neighbouring voiced stretches joined up to MAX_STRETCH_S, with PAD_S of what surrounds them.

    Padding never reaches into a neighbour: it ends half way through the silence between.
    """
    groups: list[list[Stretch]] = []
    for part in speech:
        last = groups[-1] if groups else None
        if last and part.end_s - last[0].start_s <= MAX_STRETCH_S and part.start_s - last[-1].end_s < BREAK_S:
            last.append(part)
        else:
            groups.append([part])
    bounds = [Stretch(g[0].start_s, g[-1].end_s) for g in groups]
    out = []
    for n, bound in enumerate(bounds):
        before = bounds[n - 1].end_s if n else 0.0
        after = bounds[n + 1].start_s if n + 1 < len(bounds) else total_s
        start = max(bound.start_s - PAD_S, (bound.start_s + before) / 2 if n else 0.0)
        end = min(bound.end_s + PAD_S, (bound.end_s + after) / 2 if n + 1 < len(bounds) else total_s)
        out.append(Stretch(start, end))
    return out

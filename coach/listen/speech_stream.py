"""Finding speech while it is still being said: the same detector and the same stretches as in a whole recording.

In: a growing recording. Out: the stretches so far, of which all but the last are settled, and the voiced parts of the last.
What a finished minute holds is taken from `find_speech` itself, so that at the end both ways agree to the sample.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from coach.listen.speech import (
    BLOCK_S,
    BREAK_S,
    MAX_STRETCH_S,
    MIN_SILENCE_MS,
    MIN_SPEECH_MS,
    RATE_HZ,
    THRESHOLD,
    Stretch,
    _blocks,
    find_speech,
    group,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["Scene", "SpeechFinder"]

CHUNK = 512  # samples the detector looks at together
CONTEXT = 64  # ... after so many of those before
# The detector's own ways (faster_whisper.vad): silence is this much below the threshold, and a part that grows too long
# is cut at the last silence of this length.
BELOW = 0.15
SHORT_SILENCE = RATE_HZ * 98 // 1000


@dataclass(frozen=True, slots=True)
class Scene:
    """What has been found: settled stretches, the open one (None in silence) and the voiced parts in it."""

    settled: tuple[Stretch, ...]
    open: Stretch | None
    open_parts: tuple[Stretch, ...]


@dataclass(slots=True)
class _Voicing:
    """From the detector's probabilities to voiced parts, one chunk at a time; numbers are samples of the block.

    Source: get_speech_timestamps of faster-whisper 1.2.1, whose loop this is, made to stop and go on.
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
        if probability < THRESHOLD - BELOW:
            self.silent_from = self.silent_from or at
            if at - self.silent_from > SHORT_SILENCE:
                self.cut_at = self.silent_from
            if at - self.silent_from >= RATE_HZ * MIN_SILENCE_MS / 1000:
                if self.silent_from - self.start > RATE_HZ * MIN_SPEECH_MS / 1000:
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
        end = self.silent_from or now
        going_on = self.start is not None and end - self.start > RATE_HZ * MIN_SPEECH_MS / 1000
        return [*self.parts, (self.start or 0, end)] if going_on else self.parts


class SpeechFinder:
    """Follows a growing recording."""

    def __init__(self) -> None:
        """Load the detector."""
        from faster_whisper.vad import get_vad_model

        self._model = get_vad_model()
        self._closed: list[Stretch] = []  # voiced parts of finished blocks
        self._begin_block(0)

    def _begin_block(self, start: int) -> None:
        import numpy as np

        self._start = self._seen = start
        self._voicing = _Voicing()
        self._memory: tuple[Any, Any] = (np.zeros((1, 1, 128), np.float32), np.zeros((1, 1, 128), np.float32))
        self._context = np.zeros(CONTEXT, np.float32)

    def look(self, sound: Samples) -> Scene:
        """What is in the sound (float32, (n,), 16 kHz), which begins like the one looked at before and is longer."""
        while len(sound) - self._start > BLOCK_S * RATE_HZ:
            end = self._start + _blocks(sound[self._start : self._start + BLOCK_S * RATE_HZ + 1])[0][1]
            self._closed += _moved(find_speech(sound[self._start : end]), self._start)
            self._begin_block(end)
        self._detect(sound)
        parts = [Stretch((self._start + a) / RATE_HZ, (self._start + b) / RATE_HZ)
                 for a, b in self._voicing.so_far(self._seen - self._start)]  # fmt: skip
        return _scene([*self._closed, *parts], len(sound) / RATE_HZ)

    def finish(self, sound: Samples) -> list[Stretch]:
        """All stretches, the same as those of the whole recording."""
        self.look(sound)
        return group([*self._closed, *_moved(find_speech(sound[self._start :]), self._start)], len(sound) / RATE_HZ)

    def _detect(self, sound: Samples) -> None:
        import numpy as np

        n = (len(sound) - self._seen) // CHUNK
        if n < 1:
            return
        chunks = sound[self._seen : self._seen + n * CHUNK].reshape(n, CHUNK)
        before = np.concatenate([self._context[None], chunks[:-1, -CONTEXT:]])
        found, *memory = self._model.session.run(
            None, {"input": np.concatenate([before, chunks], axis=1), "h": self._memory[0], "c": self._memory[1]}
        )
        self._memory = (memory[0], memory[1])
        self._context = chunks[-1, -CONTEXT:].copy()
        for k, probability in enumerate(found.reshape(-1)):
            self._voicing.take(self._seen - self._start + k * CHUNK, float(probability))
        self._seen += n * CHUNK


def _scene(parts: list[Stretch], total_s: float) -> Scene:
    stretches = group(parts, total_s)
    if not stretches:
        return Scene((), None, ())
    if total_s - parts[-1].end_s > BREAK_S:
        return Scene(tuple(stretches), None, ())
    last = stretches[-1]
    inside = tuple(p for p in parts[-60:] if p.start_s >= last.start_s)
    return Scene(tuple(stretches[:-1]), last, inside)


def _moved(parts: list[Stretch], by: int) -> list[Stretch]:
    """Parts of a block as parts of the recording, counted in samples as find_speech does."""
    return [Stretch((by + round(p.start_s * RATE_HZ)) / RATE_HZ, (by + round(p.end_s * RATE_HZ)) / RATE_HZ) for p in parts]

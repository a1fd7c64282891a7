"""Finding speech while it is still being said: the same detector and the same stretches as in a whole recording.

In: a growing recording. Out: the stretches so far, of which all but the last are settled, and the voiced parts of the last.
What a finished minute holds is taken from `find_speech` itself, so that at the end both ways agree to the sample.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from coach.listen.silero import Detector
from coach.listen.speech import BLOCK_S, BREAK_S, CHUNK, RATE_HZ, Stretch, Voicing, find_speech, group, split_blocks

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["Scene", "SpeechFinder"]


@dataclass(frozen=True, slots=True)
class Scene:
    """What has been found: settled stretches, the open one (None in silence) and the voiced parts in it."""

    settled: tuple[Stretch, ...]
    open: Stretch | None
    open_parts: tuple[Stretch, ...]


class SpeechFinder:
    """Follows a growing recording."""

    def __init__(self) -> None:
        """Load the detector."""
        self._closed: list[Stretch] = []  # voiced parts of finished blocks
        self._begin_block(0)

    def _begin_block(self, start: int) -> None:
        self._start = self._seen = start
        self._voicing = Voicing()
        self._detector = Detector()

    def look(self, sound: Samples) -> Scene:
        """What is in the sound (float32, (n,), 16 kHz), which begins like the one looked at before and is longer."""
        while len(sound) - self._start > BLOCK_S * RATE_HZ:
            end = self._start + split_blocks(sound[self._start : self._start + BLOCK_S * RATE_HZ + 1])[0][1]
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
        n = (len(sound) - self._seen) // CHUNK
        if n < 1:
            return
        found = self._detector.hear(sound[self._seen : self._seen + n * CHUNK]).tolist()
        for k, probability in enumerate(found):
            self._voicing.take(self._seen - self._start + k * CHUNK, probability)
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

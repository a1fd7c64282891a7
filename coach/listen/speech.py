"""Finding speech before anything is recognised: silence, noise and music give no stretch and so no words.

In: float32 mono samples at 16 kHz. Out: stretches of speech short enough for the recogniser.
The detector is Silero's, which comes with faster-whisper.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["RATE_HZ", "Stretch", "find_speech", "group"]

RATE_HZ = 16_000
THRESHOLD = 0.35  # lower than the detector's own 0.5: children and far microphones are quiet
MIN_SILENCE_MS = 200
MIN_SPEECH_MS = 120
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


def find_speech(samples: NDArray[np.float32]) -> list[Stretch]:
    """Voiced stretches of the samples, rising, without padding."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    options = VadOptions(
        threshold=THRESHOLD,
        min_silence_duration_ms=MIN_SILENCE_MS,
        min_speech_duration_ms=MIN_SPEECH_MS,
        max_speech_duration_s=MAX_STRETCH_S,
        speech_pad_ms=0,
    )
    out = []
    for start, end in _blocks(samples):
        found = get_speech_timestamps(samples[start:end], options)
        out += [Stretch((start + f["start"]) / RATE_HZ, (start + f["end"]) / RATE_HZ) for f in found]
    return out


def _blocks(samples: NDArray[np.float32]) -> list[tuple[int, int]]:
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

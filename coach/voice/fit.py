"""Whether a voice is heard better when it is played slower, and so lower: high voices, children's above all.

In: samples and a speed, or how well each speed was heard. Out: samples, or the best speed. Playing at 0.9 of the speed
makes pitch and formants 0.9 of what they were, and the words longer; times heard are scaled back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from coach.words import Hearing, Question, TimedWords, Weighed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from coach.listen.listener import Listener, Stream

    Samples = NDArray[np.float32]

__all__ = ["MARGIN", "SPEEDS", "FittedListener", "best_speed", "slowed"]

SPEEDS = (1.0, 0.9, 0.85)
# Of the passage's words by which a speed must win over 1.0. Measured (bench/voice_check.py): child-like voices that won by 0.047
# and 0.073 on the passage won by 0.024 on another text; an adult's that "won" by 0.046 lost 0.009 there.
MARGIN = 0.05


def slowed(samples: Samples, speed: float) -> Samples:
    """The samples (float32, (n,)) played at that speed: n / speed samples, at the same rate.

    Source: band-limited interpolation by the discrete Fourier transform, in blocks that overlap so that memory stays bounded.
    """
    if speed == 1.0:
        return samples
    step, edge = 1 << 16, 1 << 12  # both sides of a block are thrown away: there the transform wraps round
    padded = np.pad(samples, (edge, edge + step))
    ratio = round(step / speed) / step
    blocks = []
    for start in range(0, len(samples), step):
        block = padded[start : start + step + 2 * edge]
        n_out = round(len(block) * ratio)
        spectrum = np.fft.rfft(block)[: n_out // 2 + 1]
        wide = np.zeros(n_out // 2 + 1, complex)
        wide[: len(spectrum)] = spectrum
        out = np.fft.irfft(wide, n_out) * (n_out / len(block))
        first = round(edge * ratio)
        blocks.append(out[first : first + round(step * ratio)])
    joined: Samples = np.concatenate(blocks)[: round(len(samples) * ratio)].astype(np.float32)
    return joined


def best_speed(shares: Mapping[float, float]) -> float:
    """The speed at which most of the passage was heard; 1.0 unless another one wins clearly.

    Args:
        shares: by speed, 1.0 among them, how much of the passage a listener got right, 0..1.

    Doctest:
        >>> best_speed({1.0: 0.80, 0.9: 0.82, 0.85: 0.90})
        0.85
        >>> best_speed({1.0: 0.80, 0.9: 0.84})
        1.0
    """
    best = max(shares, key=lambda speed: shares[speed])
    return best if shares[best] >= shares[1.0] + MARGIN else 1.0


class FittedListener:
    """A listener that hears everything at the speed that fits a voice; times are those of the recording."""

    def __init__(self, listener: Listener, speed: float) -> None:
        self._listener, self._speed = listener, speed
        self.name = listener.name

    def transcribe(self, samples: Samples, progress: Callable[[float], None] | None = None) -> TimedWords:
        """As Listener.transcribe."""
        heard = self._listener.transcribe(slowed(samples, self._speed), progress)
        words = tuple(replace(w, start_s=w.start_s * self._speed, end_s=w.end_s * self._speed) for w in heard.words)
        hesitations = tuple(at_s * self._speed for at_s in heard.hesitations_s)
        return replace(heard, words=words, seconds=heard.seconds * self._speed, hesitations_s=hesitations)

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        """As Listener.weigh."""
        answers = self._listener.weigh([self._slowed(question) for question in questions], progress)
        return [replace(answer, question=question) for answer, question in zip(answers, questions, strict=True)]

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        """As Listener.hear_again."""
        return self._listener.hear_again([(start_s / self._speed, end_s / self._speed) for start_s, end_s in spans])

    def stream(self) -> Stream:
        """As Listener.stream, at the voice's own speed: sound that comes live is not slowed."""
        return self._listener.stream()

    def _slowed(self, question: Question) -> Question:
        times = {name: getattr(question, name) / self._speed for name in ("start_s", "end_s", "from_s", "to_s")}
        return replace(question, **times)

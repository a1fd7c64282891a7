"""What every listener can do, whatever recogniser stands behind it.

In: sound. Out: timed words, and answers to the judge's questions (which of these wordings was said here?).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Protocol

from coach.words import Hearing, Question, TimedWords, Weighed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["Listener", "Stream"]


class Stream(Protocol):
    """Hears sound as it comes; made by Listener.stream()."""

    def feed(self, samples: NDArray[np.float32]) -> TimedWords | None:
        """Take the next samples (float32, (n,), 16 kHz, -1..1; any n).

        Returns:
            All words so far, times from the first sample fed, when they changed; None when nothing changed.
            The last words may still change.
        """
        ...

    def finish(self) -> TimedWords:
        """All words, final; the stream takes no more sound."""
        ...


class Listener(Protocol):
    """Listens to one recording at a time and keeps what weighing needs of it."""

    @property
    def name(self) -> str:
        """The name its calibration goes by, such as "whisper" or "vosk"."""
        ...

    def transcribe(self, samples: NDArray[np.float32], progress: Callable[[float], None] | None = None) -> TimedWords:
        """All words of the recording (float32, (n,), 16 kHz, -1..1) with times and confidences."""
        ...

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        """One Weighed per question, in order, about the recording transcribed or streamed last."""
        ...

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        """What else each of these spans (start_s, end_s) may have been, likeliest first; () where it cannot tell."""
        ...

    def stream(self) -> Stream:
        """Begin to hear a recording as it comes; after finish() the listener can be asked to weigh it."""
        ...

"""Stand-ins for rehearsing without a microphone: a demo that grows in a file, and listeners that misbehave."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType

import numpy as np
from numpy.typing import NDArray

from coach.audio.read import RATE_HZ
from coach.errors import CoachError
from coach.live.screen import View
from coach.live.wav_file import GrowingWav
from coach.words import Hearing, Question, TimedWords, Weighed, Word

Samples = NDArray[np.float32]
SAID = "This is the beak. It is yellow. Here is the comb. She has a single comb with five points. These are the toes.".split()


class GrowingTake:
    """A recording in place of a microphone's: samples go into the file, at the speed of life or all at once."""

    def __init__(
        self, wav: Path, samples: Samples, *, at_once: bool = False, lost_at_s: float | None = None, lost_s: float = 0.0
    ) -> None:
        self._file, self._samples, self._lost_at_s = GrowingWav(wav, RATE_HZ), samples, lost_at_s
        self._lost_s = lost_s
        self._stop = threading.Event()
        self._began = time.monotonic() - (1e6 if at_once else 0.0)
        self._thread = threading.Thread(target=self._grow)
        self._thread.start()

    def _grow(self) -> None:
        at = 0
        while not self._stop.is_set() and self.is_running():
            wanted = min(len(self._samples), int((time.monotonic() - self._began) * RATE_HZ))
            self._file.append(self._samples[at:wanted])
            at = wanted
            time.sleep(0.05)
        self._file.close()

    def level_dbfs(self) -> float:
        return -20.0

    def seconds(self) -> float:
        return self._file.seconds

    def lost_s(self) -> float:
        return self._lost_s

    def problem(self) -> str | None:
        return None if self.is_running() else "the microphone is gone; the take so far is kept"

    def is_running(self) -> bool:
        return self._lost_at_s is None or self._file.seconds < self._lost_at_s

    def close(self) -> None:
        self._stop.set()
        self._thread.join()


class Notes:
    """A screen that remembers what it was shown."""

    def __init__(self) -> None:
        self.views: list[View] = []

    def show(self, view: View) -> None:
        self.views.append(view)


class Hands:
    """A keyboard on which Enter is pressed, or Ctrl-C, when a condition holds."""

    def __init__(self, when: Callable[[], bool] = lambda: False, interrupt: bool = False) -> None:
        self._when, self._interrupt = when, interrupt

    def __enter__(self) -> Hands:
        return self

    def __exit__(self, kind: type[BaseException] | None, err: BaseException | None, trace: TracebackType | None) -> None:
        pass

    def pressed(self, wait_s: float) -> str | None:
        time.sleep(wait_s)
        if self._when() and self._interrupt:
            raise KeyboardInterrupt
        return "\n" if self._when() else None


class _Slow:
    """A stream that never catches up."""

    lag_s = 1000.0

    def feed(self, samples: Samples) -> TimedWords | None:
        return None

    def finish(self) -> TimedWords:
        raise AssertionError("a stream that was given up is not finished")


class _Scripted:
    """A stream that hears the next words of SAID with every second of sound."""

    def __init__(self) -> None:
        self._n = 0

    def feed(self, samples: Samples) -> TimedWords | None:
        self._n += len(samples)
        return self.finish()

    def finish(self) -> TimedWords:
        seconds = self._n / RATE_HZ
        words = (Word(text, n * 0.1, n * 0.1 + 0.09, 1.0) for n, text in enumerate(SAID))
        return TimedWords(tuple(w for w in words if w.end_s < seconds), seconds)


class ScriptedListener:
    """A listener that hears SAID in whatever is recorded; it is quick, and pickled by the functions below."""

    name = "whisper"

    def __init__(self, stream: type[_Slow] | type[_Scripted]) -> None:
        self._stream = stream

    def stream(self) -> _Slow | _Scripted:
        return self._stream()

    def transcribe(self, samples: Samples, progress: Callable[[float], None] | None = None) -> TimedWords:
        if progress:
            progress(0.5)
        words = tuple(Word(text, n * 0.1, n * 0.1 + 0.09, 1.0) for n, text in enumerate(SAID))
        return TimedWords(words, len(samples) / RATE_HZ)

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        return [Weighed(q, tuple(-float(n) for n in range(len(q.wordings)))) for q in questions]

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        return [() for _ in spans]


def quick_listener() -> ScriptedListener:
    return ScriptedListener(_Scripted)


def slow_listener() -> ScriptedListener:
    return ScriptedListener(_Slow)


def dying_listener() -> ScriptedListener:
    os._exit(3)


def broken_listener() -> ScriptedListener:
    raise ValueError("the weights are from another world")


def missing_listener() -> ScriptedListener:
    raise CoachError("no listener on this machine; get one")

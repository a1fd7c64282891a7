"""The embedded listener: Whisper tiny.en on the processor, without a download.

In: sound. Out: timed words, and answers to the judge's questions (which of these wordings was said here?).
Nothing is ever primed with expected words: the free transcript proposes, `weigh` lets the sound decide.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from coach.listen.speech import RATE_HZ, Stretch, find_speech, group
from coach.listen.weights import find_weights
from coach.listen.whisper_model import CONTEXT_TOKENS, WINDOW_FRAMES, WORKERS, Whisper
from coach.words import Hearing, Question, TimedWords, Weighed, Word

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from coach.listen.whisper_stream import WhisperStream

    Samples = NDArray[np.float32]

__all__ = ["CHAIN", "Heard", "WhisperListener", "hear"]

AGAIN_TAIL_FRAMES = 400  # 4 s of silence after a short span: a quarter of the full window's time; not compared alone
CHAIN = 4  # so many stretches hear after one another; then the context starts anew, live and from files alike
# hesitations_s stays empty: "um"s that the recogniser does not write are not found well enough. Of 27 in other
# rehearsals, weighing "um" in every long slot found 2, with 3 false (count error 22, with only the written ones 23).
SHORTEST_S = 0.05  # less sound than this is not asked


@dataclass(frozen=True, slots=True)
class Heard:
    """One stretch, its words, and the tokens that the next stretch is heard after."""

    stretch: Stretch
    words: tuple[Word, ...]
    context: tuple[int, ...]


def hear(whisper: Whisper, samples: Samples, stretch: Stretch, context: Sequence[int]) -> Heard:
    """A stretch of the samples heard for good, after what was heard just before it."""
    encoded = whisper.encode(samples, stretch, WINDOW_FRAMES)
    tokens = whisper.decode(encoded, context)
    if context and not tokens:
        tokens = whisper.decode(encoded)
    if not tokens:
        return Heard(stretch, (), ())
    return Heard(stretch, whisper.align(stretch, tokens, encoded), tuple([*context, *tokens][-CONTEXT_TOKENS:]))


class WhisperListener:
    """Listens to one recording at a time and keeps its sound for weighing."""

    def __init__(self, name: str | None = None, folder: str | None = None) -> None:
        """Load the weights.

        Args:
            name: a listener of coach.listen.weights; without it the best that is there.
            folder: weights that are not shipped, unchecked (for measuring).
        Raises:
            CoachError: library or weights are missing or broken.
        """
        self.name, path = (name or "whisper", Path(folder)) if folder else find_weights(name)
        self.whisper = Whisper(path)
        self._samples: Samples | None = None

    def keep(self, samples: Samples) -> None:
        """Weigh by this sound from now on (float32, (n_samples,), 16 kHz, -1..1)."""
        self._samples = samples

    def transcribe(self, samples: Samples, progress: Callable[[float], None] | None = None) -> TimedWords:
        """All words of the recording with times and confidences.

        Args:
            samples: float32, (n_samples,), 16 kHz, -1..1.
            progress: told the share done, 0..1.
        """
        self.keep(samples)
        total_s = len(samples) / RATE_HZ
        stretches = group(find_speech(samples), total_s)
        speech_s = sum(s.seconds for s in stretches)
        done_s = 0.0
        lock = Lock()

        def tell(seconds: float) -> None:
            nonlocal done_s
            with lock:
                done_s += seconds
                if progress:
                    progress(min(1.0, done_s / speech_s))

        def hear_chain(chain: Sequence[Stretch]) -> tuple[Word, ...]:
            """Neighbouring stretches in order, each decoded after what was heard in the ones before."""
            words: tuple[Word, ...] = ()
            context: tuple[int, ...] = ()
            for stretch in chain:
                heard = hear(self.whisper, samples, stretch, context)
                words, context = words + heard.words, heard.context
                tell(stretch.seconds)
            return words

        chains = [stretches[at : at + CHAIN] for at in range(0, len(stretches), CHAIN)]
        with ThreadPoolExecutor(WORKERS) as pool:
            return TimedWords(tuple(word for words in pool.map(hear_chain, chains) for word in words), total_s)

    def stream(self) -> WhisperStream:
        """Begin to hear a recording as it comes; after finish() the listener can be asked to weigh it."""
        from coach.listen.whisper_stream import WhisperStream

        return WhisperStream(self)

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        """What else each of these spans (start_s, end_s) may have been: texts with their log scores, likeliest first.

        Heard on its own and searched wider than the first time, a short span often gives the right words after all.
        """
        with ThreadPoolExecutor(WORKERS) as pool:
            return list(pool.map(lambda span: self._hypotheses(Stretch(*span)), spans))

    def _hypotheses(self, stretch: Stretch) -> tuple[Hearing, ...]:
        if self._samples is None or stretch.seconds < SHORTEST_S:
            return ()
        frames = round(100 * stretch.seconds) + AGAIN_TAIL_FRAMES
        return self.whisper.hypotheses(self.whisper.encode(self._samples, stretch, frames))

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        """Score every wording of every question against the sound of its window.

        Returns one Weighed per question, in the same order; -inf for all wordings of a question outside the
        recording, and for a text too long to weigh.
        """
        windows: dict[Stretch, list[int]] = {}
        for n, question in enumerate(questions):
            windows.setdefault(Stretch(max(0.0, question.from_s), question.to_s), []).append(n)
        scores: dict[int, tuple[float, ...]] = {}
        with ThreadPoolExecutor(WORKERS) as pool:
            jobs = [(window, [questions[n] for n in members]) for window, members in windows.items()]
            for members, rows in zip(windows.values(), pool.map(lambda j: self._weigh_window(*j), jobs), strict=True):
                scores.update(zip(members, rows, strict=True))
                if progress:
                    progress(len(scores) / len(questions))
        return [Weighed(q, scores[n]) for n, q in enumerate(questions)]

    def _weigh_window(self, window: Stretch, questions: Sequence[Question]) -> list[tuple[float, ...]]:
        texts = [_in_context(q, w) for q in questions for w in q.wordings]
        score = dict.fromkeys(texts, float("-inf"))
        if self._samples is not None and int(window.start_s * RATE_HZ) < len(self._samples) and window.seconds > SHORTEST_S:
            unique = list(score)
            score.update(zip(unique, self.whisper.score(unique, self.whisper.encode(self._samples, window)), strict=True))
        rows = iter(texts)
        return [tuple(score[next(rows)] for _ in q.wordings) for q in questions]


def _in_context(question: Question, wording: str) -> str:
    """The whole sentence with this wording; the leading space is how the tokenizer writes a first word."""
    return " " + " ".join(part for part in (question.before, wording, question.after) if part)

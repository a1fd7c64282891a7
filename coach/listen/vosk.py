"""The Vosk listener: any English model of the Vosk project, streaming, on the processor.

In: sound. Out: timed words, and answers to the judge's questions. Nothing is ever primed with expected words: free
decoding proposes; `weigh` (vosk_weigh.py) then puts rival wordings to the sound on equal terms.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coach.listen.speech import RATE_HZ
from coach.listen.vosk_model import has_grammar, open_model, quiet
from coach.listen.vosk_weigh import weigh_all
from coach.words import Hearing, Question, TimedWords, Weighed, Word

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["VoskListener", "VoskStream"]

# The library looks for the end of an utterance once per piece it is given: with pieces of one size the words do not
# depend on how the sound arrives.
PIECE = RATE_HZ // 10
BYTES = 2  # of a sample as the library takes it
# Its confidences are shares among the words it has. A word it lacks comes out as another, often with a full 1.0, so none
# is passed on as certain: the judge does not ask about words given 0.95 or more.
MOST_SURE = 0.94
UNKNOWN = "[unk]"
WORD_S = 0.3  # length guessed for a word that is still partial


class VoskListener:
    """Listens to one recording at a time and keeps its sound and words for weighing."""

    name = "vosk"

    def __init__(self, folder: Path) -> None:
        """Check and load a model.

        Raises:
            CoachError: the library is missing; the folder is missing, partial, broken or not English.
        """
        self.folder = folder
        self._model = open_model(folder)
        self._has_grammar = has_grammar(folder)
        self._sound = b""
        self._words: tuple[Word, ...] = ()

    def transcribe(self, samples: Samples, progress: Callable[[float], None] | None = None) -> TimedWords:
        """All words of the recording with times and confidences.

        Args:
            samples: float32, (n_samples,), 16 kHz, -1..1.
            progress: told the share done, 0..1.
        """
        stream = self.stream()
        step = 10 * PIECE
        for at in range(0, len(samples), step):
            stream.feed(samples[at : at + step])
            if progress:
                progress(min(1.0, (at + step) / len(samples)))
        return stream.finish()

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        """One Weighed per question, in order, about the recording transcribed or streamed last.

        A score is nan where this model cannot weigh the wording: it lacks a word of it, or takes no grammar at run time.
        """
        model = self._model if self._has_grammar else None
        return weigh_all(model, self._sound, self._words, questions, progress)

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        """Nothing for any span: this listener's first search is its widest."""
        return [() for _ in spans]

    def stream(self) -> VoskStream:
        """Begin to hear a recording as it comes; after its finish() this listener can be asked to weigh it."""
        return VoskStream(self._model, self._keep)

    def _keep(self, sound: bytes, words: tuple[Word, ...]) -> None:
        self._sound, self._words = sound, words


class VoskStream:
    """Hears sound as it comes.

    Partial words carry the time of their arrival, for the library gives none without holding them back for seconds;
    once an utterance has ended its words have the true times.
    """

    def __init__(self, model: Any, keep: Callable[[bytes, tuple[Word, ...]], None]) -> None:
        """keep is given the sound (16 bit) and the words at the end."""
        from vosk import KaldiRecognizer

        with quiet():
            self._hearing = KaldiRecognizer(model, float(RATE_HZ))
            self._hearing.SetWords(True)
        self._keep = keep
        self._sound = bytearray()
        self._taken = 0  # bytes that the library has been given
        self._final: list[Word] = []
        self._partial: list[Word] = []

    def feed(self, samples: Samples) -> TimedWords | None:
        """Take the next samples (float32, (n,), 16 kHz, -1..1; any n); all words so far when they changed."""
        self._sound += _pcm(samples)
        before = self._texts()
        n_final = len(self._final)
        with quiet():
            while len(self._sound) - self._taken >= PIECE * BYTES:
                self._take(PIECE * BYTES)
        changed = self._texts() != before or len(self._final) != n_final
        return self._so_far() if changed else None

    def finish(self) -> TimedWords:
        """All words, final; the stream takes no more sound."""
        with quiet():
            if rest := len(self._sound) - self._taken:
                self._take(rest)
            self._end(self._hearing.FinalResult())
        words = self._so_far()
        self._keep(bytes(self._sound), words.words)
        return words

    def _take(self, size: int) -> None:
        piece = bytes(self._sound[self._taken : self._taken + size])
        self._taken += size
        if self._hearing.AcceptWaveform(piece):
            self._end(self._hearing.Result())
        else:
            texts = json.loads(self._hearing.PartialResult())["partial"].split()
            self._partial = _arrived(self._partial, [t for t in texts if t != UNKNOWN], self._final, self._seconds)

    def _end(self, result: str) -> None:
        """An utterance is over: its words are final."""
        self._partial = []
        for word in json.loads(result).get("result", []):
            if word["word"] != UNKNOWN:  # speech it understood nothing of
                start = max(float(word["start"]), self._final[-1].start_s if self._final else 0.0)
                end = max(start, float(word["end"]))
                sure = round(MOST_SURE * min(1.0, float(word["conf"])), 4)
                self._final.append(Word(word["word"], round(start, 3), round(end, 3), sure))

    def _texts(self) -> list[str]:
        return [w.text for w in (*self._final, *self._partial)]

    def _so_far(self) -> TimedWords:
        return TimedWords((*self._final, *self._partial), len(self._sound) / BYTES / RATE_HZ)

    @property
    def _seconds(self) -> float:
        return self._taken / BYTES / RATE_HZ


def _arrived(before: Sequence[Word], texts: Sequence[str], final: Sequence[Word], now_s: float) -> list[Word]:
    """Partial words: those that stay as they were keep their times, others came just now."""
    out: list[Word] = []
    for n, text in enumerate(texts):
        if n < len(before) and before[n].text == text:
            out.append(before[n])
            continue
        last = out[-1] if out else final[-1] if final else None
        start = max(now_s - WORD_S, last.start_s if last else 0.0)
        out.append(Word(text, round(start, 3), round(max(start, now_s), 3)))
    return out


def _pcm(samples: Samples) -> bytes:
    """The samples as little-endian 16 bit, as the library takes them."""
    import numpy as np

    return (np.clip(samples, -1.0, 1.0) * 32767.0).astype("<i2").tobytes()

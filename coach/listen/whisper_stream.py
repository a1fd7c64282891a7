"""The embedded listener hearing a rehearsal as it comes.

In: sound, piece by piece. Out: the words so far; the last ones are a quick guess that may still change, those of stretches
that have ended are heard as in a whole recording, one stretch after the other, beside the feeding. At the end only what
was said last is left to hear.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np

from coach.listen.speech import PAD_S, RATE_HZ, Stretch
from coach.listen.speech_stream import Scene, SpeechFinder
from coach.listen.whisper import CHAIN, Heard, hear
from coach.listen.whisper_model import CONTEXT_TOKENS, WINDOW_FRAMES
from coach.words import TimedWords, Word

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from coach.listen.whisper import WhisperListener

    Samples = NDArray[np.float32]

__all__ = ["WhisperStream"]

# A guess hears what was said since the last pause that lies this far back. Silence after it keeps the decoder from running
# in circles: of 11 s of speech, none gave a text twice over, 4 s the right one, at a quarter of the full window's time.
GUESS_EVERY_S = 0.3
LAST_WORD_S = 0.05  # ... or at once in a pause, when this much was not heard yet
PIECE_S = 3.0
TAIL_FRAMES = 400
# A guess that takes long is not begun again at once: feeding must leave time for what is final.
REST_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class _Piece:
    """A part of a stretch, guessed."""

    end_s: float
    words: tuple[Word, ...]
    tokens: tuple[int, ...]


class WhisperStream:
    """Hears one recording as it comes; see coach.listen.listener.Stream."""

    def __init__(self, listener: WhisperListener) -> None:
        """The listener hears nothing else until finish()."""
        self._listener = listener
        self._room = np.zeros(RATE_HZ * 60, np.float32)
        self._n = 0
        self._finder = SpeechFinder()
        self._finals: list[Heard] = []
        self._waiting: list[tuple[Stretch, Future[None]]] = []
        self._guesses: dict[float, tuple[Word, ...]] = {}  # by the start of a stretch that is not final yet
        self._pieces: tuple[float, tuple[_Piece, ...]] = (0.0, ())  # of the open stretch: its start, its settled pieces
        self._guessed_s = 0.0  # how far the last guess reached
        self._rest_s = 0.0
        self._worker = ThreadPoolExecutor(1, "final-words")
        self._lock = Lock()
        self._told: tuple[Word, ...] = ()
        self._show_sound()

    @property
    def lag_s(self) -> float:
        """Seconds of ended stretches that are not heard for good yet; it keeps growing on a machine that is too slow."""
        return sum(stretch.seconds for stretch, done in self._waiting if not done.done())

    def final_words(self) -> TimedWords:
        """The words that will not change any more; seconds is how far they reach. May be asked from any thread."""
        with self._lock:
            finals = tuple(self._finals)
        return TimedWords(tuple(w for f in finals for w in f.words), finals[-1].stretch.end_s if finals else 0.0)

    def feed(self, samples: Samples) -> TimedWords | None:
        """See coach.listen.listener.Stream; a guess is made at most every GUESS_EVERY_S, so feed as often as you like."""
        self._append(samples)
        scene = self._finder.look(self._sound)
        self._settle(scene.settled)
        self._guess(scene)
        words = self._words()
        if words == self._told:
            return None
        self._told = words
        return TimedWords(words, self._n / RATE_HZ)

    def finish(self) -> TimedWords:
        """See coach.listen.listener.Stream."""
        self._settle(self._finder.finish(self._sound))
        self._worker.shutdown(wait=True)
        for _, done in self._waiting:
            done.result()  # whatever went wrong in the worker comes out here
        return TimedWords(self.final_words().words, self._n / RATE_HZ)

    def close(self) -> None:
        """Give up without an end."""
        self._worker.shutdown(wait=True, cancel_futures=True)

    # --- sound ------------------------------------------------------------------------------------------------------

    @property
    def _sound(self) -> Samples:
        return self._room[: self._n]

    def _append(self, samples: Samples) -> None:
        needed = self._n + len(samples)
        if needed > len(self._room):
            room = np.zeros(max(needed, 2 * len(self._room)), np.float32)
            room[: self._n] = self._sound
            self._room = room
        self._room[self._n : needed] = samples
        self._n = needed
        self._show_sound()

    def _show_sound(self) -> None:
        """What the listener encodes and weighs from; it holds an own view, so that its threads may go on meanwhile."""
        self._listener.keep(self._sound)

    # --- for good ---------------------------------------------------------------------------------------------------

    def _settle(self, stretches: Sequence[Stretch]) -> None:
        """Queue the stretches that have ended; where a finished block moved a border, those from there on again."""
        known = [stretch for stretch, _ in self._waiting]
        pairs = zip(known, stretches, strict=False)
        same = next((n for n, (a, b) in enumerate(pairs) if a != b), min(len(known), len(stretches)))
        if same < len(known):
            for _, done in reversed(self._waiting[same:]):
                done.cancel()
            for _, done in self._waiting:
                if not done.cancelled():
                    done.result()
            del self._waiting[same:]
            with self._lock:
                del self._finals[same:]
        for stretch in stretches[same:]:
            self._waiting.append((stretch, self._worker.submit(self._hear, stretch)))

    def _hear(self, stretch: Stretch) -> None:
        context = self._finals[-1].context if len(self._finals) % CHAIN else ()
        heard = hear(self._listener.whisper, self._sound, stretch, context)
        with self._lock:
            self._finals.append(heard)

    # --- guesses ----------------------------------------------------------------------------------------------------

    def _guess(self, scene: Scene) -> None:
        """The open stretch's words so far, when there is something new in it and the last guess is long enough ago."""
        if scene.open is None:
            return
        now_s = self._n / RATE_HZ
        end_s = min(scene.open_parts[-1].end_s + PAD_S, now_s)
        new_s, has_paused = end_s - self._guessed_s, end_s < now_s
        if new_s < (LAST_WORD_S if has_paused else max(GUESS_EVERY_S, self._rest_s)):
            return
        began = time.monotonic()
        self._guessed_s = end_s
        start_s, pieces = self._pieces if self._pieces[0] == scene.open.start_s else (scene.open.start_s, ())
        cut_s = _pause_to_cut(scene.open_parts, pieces[-1].end_s if pieces else start_s)
        if cut_s is not None:
            pieces = (*pieces, self._guess_piece(start_s, cut_s, pieces))
        self._pieces = (start_s, pieces)
        last = self._guess_piece(start_s, end_s, pieces)
        self._guesses[start_s] = tuple(w for piece in (*pieces, last) for w in piece.words)
        self._rest_s = REST_SHARE * (time.monotonic() - began)

    def _guess_piece(self, start_s: float, end_s: float, before: Sequence[_Piece]) -> _Piece:
        stretch = Stretch(before[-1].end_s if before else start_s, end_s)
        with self._lock:
            context = [*(self._finals[-1].context if self._finals else ()), *(t for piece in before for t in piece.tokens)]
        whisper = self._listener.whisper
        encoded = whisper.encode(self._sound, stretch, min(WINDOW_FRAMES, int(stretch.seconds * 100) + TAIL_FRAMES))
        tokens = whisper.decode(encoded, context[-CONTEXT_TOKENS:])
        return _Piece(end_s, whisper.align(stretch, tokens, encoded) if tokens else (), tuple(tokens))

    def _words(self) -> tuple[Word, ...]:
        final = self.final_words()
        self._guesses = {start_s: words for start_s, words in self._guesses.items() if start_s >= final.seconds - 0.01}
        return (*final.words, *(w for start_s in sorted(self._guesses) for w in self._guesses[start_s]))


def _pause_to_cut(parts: Sequence[Stretch], from_s: float) -> float | None:
    """The middle of the last pause that leaves a piece of PIECE_S or more behind it; None when there is none."""
    pauses = [(a.end_s + b.start_s) / 2 for a, b in pairwise(parts)]
    long_enough = [p for p in pauses if p - from_s >= PIECE_S]
    return long_enough[-1] if long_enough else None

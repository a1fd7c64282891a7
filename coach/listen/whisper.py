"""The embedded listener: Whisper tiny.en through faster-whisper, on the processor, without a download.

In: sound. Out: timed words, and answers to the judge's questions (which of these wordings was said here?).
Nothing is ever primed with expected words: the free transcript proposes, `weigh` lets the sound decide.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING, Any

from coach.errors import CoachError
from coach.listen.speech import RATE_HZ, Stretch, find_speech, group
from coach.listen.weights import MISSING, find_weights
from coach.words import Hearing, Question, TimedWords, Weighed, Word

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from coach.listen.whisper_stream import WhisperStream

    Samples = NDArray[np.float32]

__all__ = ["WhisperListener"]

# Word errors below: shares over every third rehearsal of a generated set, all effects together (other choices equal).
# Free decoding needs the full window, filled with zeros after the logarithm: 0.136; with 6 s of digital silence 0.145,
# with 3 s more still, and passages doubled.
WINDOW_FRAMES = 3000
BEAM = 5
HYPOTHESES = 10
AGAIN_TAIL_FRAMES = 400  # 4 s of silence after a short span: a quarter of the full window's time; not compared alone
WORKERS = 2
# Each stretch is decoded after what was itself heard just before it: 0.131, without 0.136 (other third: 0.136, 0.147);
# 200 tokens, a beam of 8, equal peak levels: no better. Nor did choosing among or voting over ten decodings pay.
CONTEXT_TOKENS = 80
CHAIN = 4  # so many stretches hear after one another; then the context starts anew, live and from files alike
MAX_TOKENS = 120
# Music that the speech detector lets through comes out as "Thank you": no-speech 0.80 to 0.91, mean log probability
# -1.0 to -1.5; over speech with noise at 10 dB at most 0.50, and at least -0.71. Both must say so.
MOST_NO_SPEECH = 0.6
LEAST_SCORE = -0.85
LONGEST_TEXT = 440  # tokens; the decoder has 448 places
MOST_COMPRESSION = 2.4
# hesitations_s stays empty: "um"s that the recogniser does not write are not found well enough. Of 27 in other
# rehearsals, weighing "um" in every long slot found 2, with 3 false (count error 22, with only the written ones 23).
WEIGH_BATCH = 4
SHORTEST_S = 0.05


@dataclass(frozen=True, slots=True)
class _Heard:
    """One stretch and its words."""

    stretch: Stretch
    words: tuple[Word, ...]


class WhisperListener:
    """Listens to one recording at a time and keeps its stretches for weighing."""

    def __init__(self, name: str | None = None, folder: str | None = None) -> None:
        """Load the weights.

        Args:
            name: a listener of coach.listen.weights; without it the best that is there.
            folder: weights that are not shipped, unchecked (for measuring).
        Raises:
            CoachError: library or weights are missing or broken.
        """
        os.environ.setdefault("HF_HUB_OFFLINE", "1")
        self.name, path = (name or "whisper", folder) if folder else find_weights(name)
        try:
            from faster_whisper import WhisperModel
            from faster_whisper.tokenizer import Tokenizer
        except ImportError as err:
            raise CoachError(MISSING) from err
        self._model = WhisperModel(
            str(path), device="cpu", compute_type="int8", cpu_threads=1, num_workers=WORKERS, local_files_only=True
        )
        self._tokenizer = Tokenizer(self._model.hf_tokenizer, False)
        self._prompt = [*self._tokenizer.sot_sequence, self._tokenizer.no_timestamps]
        self._silenced = [-1, *_number_tokens(self._tokenizer)]
        self._samples: Samples | None = None
        self._heard: list[_Heard] = []

    def transcribe(self, samples: Samples, progress: Callable[[float], None] | None = None) -> TimedWords:
        """All words of the recording with times and confidences.

        Args:
            samples: float32, (n_samples,), 16 kHz, -1..1.
            progress: told the share done, 0..1.
        """
        total_s = len(samples) / RATE_HZ
        self._samples = samples
        stretches = group(find_speech(samples), total_s)
        done_s = 0.0
        lock = Lock()

        def tell(seconds: float) -> None:
            nonlocal done_s
            with lock:
                done_s += seconds
                if progress:
                    progress(min(1.0, done_s / speech_s))

        speech_s = sum(s.seconds for s in stretches)
        chains = [stretches[at : at + CHAIN] for at in range(0, len(stretches), CHAIN)]
        with ThreadPoolExecutor(WORKERS) as pool:
            self._heard = [heard for chain in pool.map(lambda c: self._hear_chain(c, tell), chains) for heard in chain]
        words = tuple(word for heard in self._heard for word in heard.words)
        return TimedWords(words, total_s)

    def _hear_chain(self, stretches: Sequence[Stretch], tell: Callable[[float], None]) -> list[_Heard]:
        """Neighbouring stretches in order, each decoded after what was heard in the ones before."""
        chain: list[_Heard] = []
        context: list[int] = []
        for stretch in stretches:
            encoded, frames = self._encode(stretch, WINDOW_FRAMES)
            tokens = self._decode(encoded, context)
            if context and not tokens:
                tokens = self._decode(encoded, [])
            if not tokens:
                chain.append(_Heard(stretch, ()))
                context = []
            else:
                chain.append(_Heard(stretch, tuple(self._align(stretch, tokens, encoded, frames))))
                context = (context + tokens)[-CONTEXT_TOKENS:]
            tell(stretch.seconds)
        return chain

    def _decode(self, encoded: Any, context: list[int]) -> list[int]:
        """Free decoding: text tokens; none when it was no speech or the decoder ran in a loop."""
        prompt = [self._tokenizer.sot_prev, *context, *self._prompt] if context else self._prompt
        result = self._model.model.generate(
            encoded,
            [prompt],
            beam_size=BEAM,
            max_length=len(prompt) + MAX_TOKENS,
            suppress_blank=True,
            suppress_tokens=self._silenced,
            return_scores=True,
            return_no_speech_prob=True,
        )[0]
        tokens = [t for t in result.sequences_ids[0] if t < self._tokenizer.eot]
        is_speech = result.no_speech_prob < MOST_NO_SPEECH or result.scores[0] > LEAST_SCORE
        return tokens if is_speech and not _loops(self._tokenizer.decode(tokens)) else []

    def _encode(self, stretch: Stretch, window_frames: int = 0) -> tuple[Any, int]:
        """The encoder's output, the window filled up to that many frames of 10 ms, and the frames that hold sound."""
        import numpy as np

        assert self._samples is not None  # set by transcribe, before any stretch is known
        cut = self._samples[int(stretch.start_s * RATE_HZ) : int(stretch.end_s * RATE_HZ)]
        features = self._model.feature_extractor(cut, padding=160)[:, :WINDOW_FRAMES]
        frames = features.shape[1]
        filled = max(window_frames, frames + frames % 2)
        return self._model.encode(np.pad(features, ((0, 0), (0, filled - frames)))), frames

    def _align(self, stretch: Stretch, tokens: list[int], encoded: Any, frames: int) -> Iterable[Word]:
        """Words with times; what the tokenizer splits off without a space (a comma, "-laced") stays with its word."""
        words: list[Word] = []
        for piece in self._model.find_alignment(self._tokenizer, [tokens], encoded, frames)[0]:
            at = words[-1].start_s if words else stretch.start_s
            start = min(max(stretch.start_s + float(piece["start"]), at), stretch.end_s)
            end = min(max(stretch.start_s + float(piece["end"]), start), stretch.end_s)
            text, sure = piece["word"].strip(), float(piece["probability"])
            has_sound = any(c.isalnum() for c in text)
            if words and not piece["word"].startswith(" "):
                last = words.pop()
                sure = min(sure, last.confidence or 0.0) if has_sound else last.confidence or 0.0
                words.append(Word(last.text + text, last.start_s, end if has_sound else last.end_s, round(sure, 4)))
            elif has_sound:
                words.append(Word(text, round(start, 3), round(end, 3), round(sure, 4)))
        return words

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
        encoded, _ = self._encode(stretch, round(100 * stretch.seconds) + AGAIN_TAIL_FRAMES)
        result = self._model.model.generate(
            encoded,
            [self._prompt],
            beam_size=HYPOTHESES,
            num_hypotheses=HYPOTHESES,
            max_length=len(self._prompt) + MAX_TOKENS,
            suppress_blank=True,
            suppress_tokens=self._silenced,
            return_scores=True,
        )[0]
        texts = [self._tokenizer.decode([t for t in ids if t < self._tokenizer.eot]).strip() for ids in result.sequences_ids]
        # The library divides by the number of tokens, the end among them.
        sums = [score * (len(ids) + 1) for ids, score in zip(result.sequences_ids, result.scores, strict=True)]
        return tuple(Hearing(text, total) for text, total in zip(texts, sums, strict=True))

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
        import ctranslate2
        import numpy as np

        texts = [_in_context(q, w) for q in questions for w in q.wordings]
        score = dict.fromkeys(texts, float("-inf"))
        if self._samples is not None and int(window.start_s * RATE_HZ) < len(self._samples) and window.seconds > SHORTEST_S:
            encoded, frames = self._encode(window)
            one = np.asarray(encoded)
            tokens_of = {text: self._tokenizer.encode(text) for text in texts}
            unique = [text for text, tokens in tokens_of.items() if len(tokens) <= LONGEST_TEXT]
            for at in range(0, len(unique), WEIGH_BATCH):
                batch = unique[at : at + WEIGH_BATCH]
                tokens = [tokens_of[text] for text in batch]
                features = ctranslate2.StorageView.from_array(np.repeat(one, len(batch), axis=0))
                found = self._model.model.align(features, self._tokenizer.sot_sequence, tokens, frames)
                for text, result in zip(batch, found, strict=True):
                    score[text] = float(np.sum(np.log(np.maximum(result.text_token_probs, 1e-10))))
        rows = iter(texts)
        return [tuple(score[next(rows)] for _ in q.wordings) for q in questions]


def _in_context(question: Question, wording: str) -> str:
    """The whole sentence with this wording; the leading space is how the tokenizer writes a first word."""
    return " " + " ".join(part for part in (question.before, wording, question.after) if part)


def _number_tokens(tokenizer: Any) -> list[int]:
    """Tokens with digits or the signs that go with them: kept silent, numbers come out as words, as they are judged."""
    signs = frozenset("0123456789%$\u00a3\u20ac\u00bd\u00bc\u00be\u00b0&+=#")
    return [t for t in range(tokenizer.eot) if signs & set(tokenizer.decode([t]))]


def _loops(text: str) -> bool:
    """Whether the text repeats itself so much that it packs better than speech does."""
    import zlib

    data = text.encode()
    return len(data) > 40 and len(data) / len(zlib.compress(data)) > MOST_COMPRESSION

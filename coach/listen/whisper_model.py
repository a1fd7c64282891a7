"""Whisper itself: from sound to features, to what the encoder makes of them, to text, to words with times, and back.

In: samples, tokens. Out: tokens, words, log scores. No state but the loaded network (CTranslate2, on the processor) and its
tokenizer, so any number of threads may ask; both ways of listening, whole recordings and live, are built on it.
Nothing is ever primed with expected words: the only context is what was itself heard just before.
"""

from __future__ import annotations

import string
from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from coach.errors import CoachError
from coach.listen.speech import RATE_HZ, Stretch
from coach.listen.weights import MISSING
from coach.words import Hearing, Word

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

__all__ = ["CONTEXT_TOKENS", "WINDOW_FRAMES", "WORKERS", "Encoded", "Whisper", "mel_filters"]

# Word errors below: shares over every third rehearsal of a generated set, all effects together (other choices equal).
# Free decoding needs the full window, filled with zeros after the logarithm: 0.136; with 6 s of digital silence 0.145,
# with 3 s more still, and passages doubled.
WINDOW_FRAMES = 3000
BEAM = 5
HYPOTHESES = 10
WORKERS = 2
# Each stretch is decoded after what was itself heard just before it: 0.131, without 0.136 (other third: 0.136, 0.147);
# 200 tokens, a beam of 8, equal peak levels: no better. Nor did choosing among or voting over ten decodings pay.
CONTEXT_TOKENS = 80
MAX_TOKENS = 120
# Music that the speech detector lets through comes out as "Thank you": no-speech 0.80 to 0.91, mean log probability
# -1.0 to -1.5; over speech with noise at 10 dB at most 0.50, and at least -0.71. Both must say so.
MOST_NO_SPEECH = 0.6
LEAST_SCORE = -0.85
LONGEST_TEXT = 440  # tokens; the decoder has 448 places
MOST_COMPRESSION = 2.4
SCORE_BATCH = 4

STEPS_A_SECOND = 50  # of the encoder
_WINDOW, _HOP = 400, 160  # samples of the spectrogram's window and step
_MEL_STEP_HZ, _LINEAR_TO_HZ = 200 / 3, 1000.0  # Slaney's mel scale: linear up to there, then logarithmic
_TOP_MEL = 45.245640471924965  # 8 kHz
_DYNAMICS = 8.0  # powers of ten below the loudest that are kept
_PARTS = ("model.bin", "config.json", "tokenizer.json")
_HALF = "\ufffd"  # how the tokenizer writes part of a character
_NUMBERS = frozenset("0123456789%$\u00a3\u20ac\u00bd\u00bc\u00be\u00b0&+=#")


class Encoded(NamedTuple):
    """What the encoder made of a stretch, and how many frames of 10 ms hold sound (the rest of the window is filling)."""

    states: Any  # ctranslate2.StorageView
    frames: int


class Whisper:
    """One loaded network."""

    def __init__(self, folder: Path) -> None:
        """Load it; nothing is looked for anywhere but in that folder.

        Raises:
            CoachError: a library or a file is missing, or broken.
        """
        try:
            import ctranslate2
            from tokenizers import Tokenizer
        except ImportError as err:
            raise CoachError(f"{MISSING} ({err})") from err
        missing = [name for name in _PARTS if not (folder / name).is_file()]
        if missing:
            raise CoachError(f"{folder}: no Whisper model can be loaded, there is no {' and no '.join(missing)}")
        try:
            self._network = ctranslate2.models.Whisper(
                str(folder), device="cpu", compute_type="int8", intra_threads=1, inter_threads=WORKERS
            )
            self._tokenizer: Any = Tokenizer.from_file(str(folder / "tokenizer.json"))
        except Exception as err:  # the libraries raise bare Exception and RuntimeError
            raise CoachError(f"{folder}: the Whisper model in it cannot be loaded: {str(err).splitlines()[0]}") from err
        self._end = self._token("endoftext")
        self._after = self._token("startofprev")
        self._start = [self._token("startoftranscript")]
        self._prompt = [*self._start, self._token("notimestamps")]
        # Digits and their signs are kept silent: numbers come out as words, as they are judged.
        self._silenced = [-1, *(t for t in range(self._end) if _NUMBERS & set(self._tokenizer.decode([t])))]
        self._filters = mel_filters(self._network.n_mels)

    def encode(self, samples: Samples, stretch: Stretch, window_frames: int = 0) -> Encoded:
        """What the encoder makes of that stretch of the samples, its window filled up to that many frames of 10 ms."""
        import ctranslate2
        import numpy as np

        cut = samples[int(stretch.start_s * RATE_HZ) : int(stretch.end_s * RATE_HZ)]
        features = _log_mel(cut, self._filters)[:, :WINDOW_FRAMES]
        frames = features.shape[1]
        filled = max(window_frames, frames + frames % 2)
        window = np.ascontiguousarray(np.pad(features, ((0, 0), (0, filled - frames)))[None])
        return Encoded(self._network.encode(ctranslate2.StorageView.from_array(window)), frames)

    def decode(self, encoded: Encoded, context: Sequence[int] = ()) -> list[int]:
        """Free decoding: text tokens; none when it was no speech or the decoder ran in a loop."""
        prompt = [self._after, *context, *self._prompt] if context else self._prompt
        result = self._network.generate(
            encoded.states,
            [prompt],
            beam_size=BEAM,
            max_length=len(prompt) + MAX_TOKENS,
            suppress_blank=True,
            suppress_tokens=self._silenced,
            return_scores=True,
            return_no_speech_prob=True,
        )[0]
        tokens = self._text_tokens(result.sequences_ids[0])
        is_speech = result.no_speech_prob < MOST_NO_SPEECH or result.scores[0] > LEAST_SCORE
        return tokens if is_speech and not _loops(self.text(tokens)) else []

    def text(self, tokens: Sequence[int]) -> str:
        """What the tokens are written as."""
        return str(self._tokenizer.decode(list(tokens)))

    def hypotheses(self, encoded: Encoded) -> tuple[Hearing, ...]:
        """Texts that the stretch may be, with their log scores, likeliest first: searched wider than in decode."""
        result = self._network.generate(
            encoded.states,
            [self._prompt],
            beam_size=HYPOTHESES,
            num_hypotheses=HYPOTHESES,
            max_length=len(self._prompt) + MAX_TOKENS,
            suppress_blank=True,
            suppress_tokens=self._silenced,
            return_scores=True,
        )[0]
        texts = [self.text(self._text_tokens(ids)).strip() for ids in result.sequences_ids]
        # The library divides by the number of tokens, the end among them.
        sums = [score * (len(ids) + 1) for ids, score in zip(result.sequences_ids, result.scores, strict=True)]
        return tuple(Hearing(text, total) for text, total in zip(texts, sums, strict=True))

    def align(self, stretch: Stretch, tokens: Sequence[int], encoded: Encoded) -> tuple[Word, ...]:
        """Words with times; what the tokenizer splits off without a space (a comma, "-laced") stays with its word."""
        words: list[Word] = []
        for text, from_s, to_s, sure in self._timed(tokens, encoded):
            at = words[-1].start_s if words else stretch.start_s
            start = min(max(stretch.start_s + from_s, at), stretch.end_s)
            end = min(max(stretch.start_s + to_s, start), stretch.end_s)
            has_sound = any(c.isalnum() for c in text)
            if words and not text.startswith(" "):
                last = words.pop()
                sure = min(sure, last.confidence or 0.0) if has_sound else last.confidence or 0.0
                words.append(Word(last.text + text.strip(), last.start_s, end if has_sound else last.end_s, round(sure, 4)))
            elif has_sound:
                words.append(Word(text.strip(), round(start, 3), round(end, 3), round(sure, 4)))
        return tuple(words)

    def score(self, texts: Sequence[str], encoded: Encoded) -> list[float]:
        """Natural-log score of each text, given the sound; -inf for one too long for the decoder."""
        import ctranslate2
        import numpy as np

        out = [float("-inf")] * len(texts)
        one = np.asarray(encoded.states)
        tokens_of = [self._tokenizer.encode(text, add_special_tokens=False).ids for text in texts]
        short = [n for n, tokens in enumerate(tokens_of) if len(tokens) <= LONGEST_TEXT]
        for at in range(0, len(short), SCORE_BATCH):
            batch = short[at : at + SCORE_BATCH]
            states = ctranslate2.StorageView.from_array(np.repeat(one, len(batch), axis=0))
            found = self._network.align(states, self._start, [tokens_of[n] for n in batch], encoded.frames)
            for n, result in zip(batch, found, strict=True):
                out[n] = float(np.sum(np.log(np.maximum(result.text_token_probs, 1e-10))))
        return out

    def _token(self, name: str) -> int:
        return int(self._tokenizer.token_to_id(f"<|{name}|>"))

    def _text_tokens(self, ids: Sequence[int]) -> list[int]:
        return [t for t in ids if t < self._end]

    def _timed(self, tokens: Sequence[int], encoded: Encoded) -> Iterator[tuple[str, float, float, float]]:
        """Pieces of text as (text, from, to, probability), seconds from the stretch's start.

        Source: find_alignment of faster-whisper 1.2.1 (MIT licence): dynamic time warping over the decoder's attention.
        """
        import numpy as np

        pieces = list(self._pieces(tokens))
        if not pieces:
            return
        (found,) = self._network.align(encoded.states, self._start, [list(tokens)], encoded.frames)
        text_at, frame_at = np.array(found.alignments).T
        begins = frame_at[np.diff(text_at, prepend=-1) > 0] / STEPS_A_SECOND
        bounds = accumulate((n for _, n in pieces), initial=0)
        for (text, _), (a, b) in zip(pieces, pairwise(bounds), strict=True):
            yield text, float(begins[a]), float(begins[b]), float(np.mean(found.text_token_probs[a:b]))

    def _pieces(self, tokens: Sequence[int]) -> Iterator[tuple[str, int]]:
        """The text in pieces with their number of tokens: one begins at a space, and each mark is its own.

        Source: split_to_word_tokens of faster-whisper 1.2.1 (MIT licence), for languages that are written with spaces.
        """
        text, n = "", 0
        for part, n_tokens in self._characters(tokens):
            if n and (part.startswith(" ") or part.strip() in string.punctuation):
                yield text, n
                text, n = "", 0
            text, n = text + part, n + n_tokens
        if n:
            yield text, n

    def _characters(self, tokens: Sequence[int]) -> Iterator[tuple[str, int]]:
        """The least runs of tokens that are whole characters: a token may end within one."""
        whole = self.text(tokens)
        done, run = 0, list[int]()
        for token in tokens:
            run.append(token)
            text = self.text(run)
            at = text.find(_HALF)
            if at < 0 or whole[done + at : done + at + 1] == _HALF:
                yield text, len(run)
                done, run = done + len(text), []


def _log_mel(samples: Samples, filters: Samples) -> Samples:
    """Whisper's features (mels, frames) of the samples, frames of 10 ms.

    Source: Radford and others 2022, log_mel_spectrogram; the numbers are those of faster-whisper 1.2.1's FeatureExtractor.
    """
    import numpy as np

    padded = np.pad(np.pad(samples, (0, _HOP)), _WINDOW // 2, mode="reflect")
    windows = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::_HOP][:-1]
    hann = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
    power = np.abs(np.fft.rfft(windows * hann).astype(np.complex64)) ** 2
    log = np.log10(np.maximum(filters @ power.T, 1e-10))
    out: Samples = (np.maximum(log, log.max() - _DYNAMICS) + 4) / 4
    return out


def mel_filters(n_mels: int) -> Samples:
    """Triangles (mels, 201) of equal area, evenly spaced on Slaney's mel scale from 0 to 8 kHz.

    Source: Slaney 1998, Auditory Toolbox; as librosa and Whisper use it.
    """
    import numpy as np

    mels = np.linspace(0, _TOP_MEL, n_mels + 2)
    first = _LINEAR_TO_HZ / _MEL_STEP_HZ
    hertz = np.where(mels < first, mels * _MEL_STEP_HZ, _LINEAR_TO_HZ * np.exp(np.log(6.4) / 27 * (mels - first)))
    ramps = hertz[:, None] - np.fft.rfftfreq(_WINDOW, 1 / RATE_HZ)
    widths = np.diff(hertz)[:, None]
    triangles = np.maximum(0, np.minimum(-ramps[:-2] / widths[:-1], ramps[2:] / widths[1:]))
    out: Samples = (triangles * (2 / (hertz[2:] - hertz[:-2]))[:, None]).astype(np.float32)
    return out


def _loops(text: str) -> bool:
    """Whether the text repeats itself so much that it packs better than speech does."""
    import zlib

    data = text.encode()
    return len(data) > 40 and len(data) / len(zlib.compress(data)) > MOST_COMPRESSION

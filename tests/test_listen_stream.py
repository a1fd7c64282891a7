"""Hearing while it is said: the same stretches as in the whole recording, guesses at once, and the same words at the end."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.audio.read import read
from coach.listen.listener import Stream
from coach.listen.speech import RATE_HZ, Stretch, find_speech, group
from coach.listen.speech_stream import SpeechFinder
from coach.listen.whisper import WhisperListener
from coach.places import recordings_demo_dir
from coach.words import Question, TimedWords

pytest.importorskip("ctranslate2")

Samples = NDArray[np.float32]
DEMOS = ("checkers", "comet", "doily", "tansy")
MOST_DIFFERENT = 0.03  # share of words: a stretch may be heard after other words than in the two halves of a whole recording


@pytest.fixture(scope="module")
def listener() -> WhisperListener:
    """The real recogniser, loaded once."""
    return WhisperListener()


@pytest.fixture(scope="module")
def three_minutes() -> Samples:
    """Speech that the detector hears in several blocks."""
    return np.concatenate([demo(name) for name in ("checkers", "comet")])


def demo(name: str) -> Samples:
    """A demo recording."""
    return read(recordings_demo_dir() / f"{name}.ogg").samples


def pieces(samples: Samples, seconds: float) -> Iterator[Samples]:
    """The samples cut into pieces of that length."""
    step = int(seconds * RATE_HZ)
    return (samples[at : at + step] for at in range(0, len(samples), step))


def plain(words: TimedWords) -> list[str]:
    """Lower-case words without marks."""
    return re.findall(r"[a-z']+", " ".join(word.text for word in words.words).lower())


def looked_at(samples: Samples, seed: int) -> Iterator[tuple[SpeechFinder, Samples, tuple[Stretch, ...]]]:
    """The finder after each of many uneven pieces, the sound so far, and what was settled then."""
    finder, rng, at = SpeechFinder(), np.random.default_rng(seed), 0
    while at < len(samples):
        at = min(len(samples), at + int(rng.integers(1, 12_000)))
        yield finder, samples[:at], finder.look(samples[:at]).settled


@pytest.mark.parametrize("noise", [0.0, 0.02])
def test_the_stretches_are_those_of_the_whole_recording(three_minutes: Samples, noise: float) -> None:
    """Uneven pieces over several detector blocks end in the stretches that find_speech and group give, to the sample."""
    sound = three_minutes + np.random.default_rng(3).normal(0, noise, len(three_minutes)).astype(np.float32)
    *_, (finder, _, _) = looked_at(sound, seed=1)
    assert finder.finish(sound) == group(find_speech(sound), len(sound) / RATE_HZ)


def test_settled_stretches_stay(three_minutes: Samples) -> None:
    """Within the detector's first block what was once called settled is so in the whole recording too."""
    sound = three_minutes[: 59 * RATE_HZ]
    whole = tuple(group(find_speech(sound), len(sound) / RATE_HZ))
    seen = [settled for _, _, settled in looked_at(sound, seed=2)]
    assert all(settled == whole[: len(settled)] for settled in seen)
    assert len(seen[-1]) >= len(whole) - 1


def test_a_voice_without_a_pause_is_cut_like_the_detector_cuts_it() -> None:
    """Twenty seconds of speech with its pauses taken out give the parts that find_speech gives."""
    sound = demo("checkers")
    voiced = np.concatenate([sound[int(p.start_s * RATE_HZ) : int(p.end_s * RATE_HZ)] for p in find_speech(sound)])
    voiced = voiced[: 20 * RATE_HZ + 123]
    *_, (finder, _, settled) = looked_at(voiced, seed=4)
    whole = group(find_speech(voiced), len(voiced) / RATE_HZ)
    assert len(whole) > 1 and list(settled) == whole[: len(settled)] and finder.finish(voiced) == whole


@pytest.mark.listener
@pytest.mark.parametrize("name", DEMOS)
def test_stream_and_whole_recording_agree(listener: WhisperListener, name: str) -> None:
    """The final words differ from those of transcribe in at most three of a hundred."""
    import jiwer

    stream = listener.stream()
    for piece in pieces(demo(name), 5.0):
        stream.feed(piece)
    heard, whole = stream.finish(), listener.transcribe(demo(name))
    assert jiwer.wer(" ".join(plain(whole)), " ".join(plain(heard))) <= MOST_DIFFERENT
    assert heard.seconds == whole.seconds


@pytest.mark.listener
def test_a_word_is_guessed_within_a_second_of_sound(listener: WhisperListener) -> None:
    """ "Yellow" of the clip, said from 6.4 to 6.9 s, is among the words before 8 s of sound were fed, and stays."""
    stream: Stream = listener.stream()
    shown_at = None
    for n, piece in enumerate(pieces(demo("checkers")[: 13 * RATE_HZ], 0.25), 1):
        heard = stream.feed(piece)
        if heard is not None and shown_at is None and "yellow" in plain(heard):
            shown_at = n * 0.25
    final = stream.finish()
    said_s = next(word.end_s for word in final.words if word.text.lower().startswith("yellow"))
    assert shown_at is not None and shown_at <= said_s + 1.0


@pytest.mark.listener
def test_final_words_stay_final_and_can_be_weighed(listener: WhisperListener) -> None:
    """What final_words holds on the way begins the final words, and the sound then decides for what was said."""
    stream, early = listener.stream(), []
    for piece in pieces(demo("checkers")[: 30 * RATE_HZ], 1.0):
        stream.feed(piece)
        early.append(stream.final_words())
    final = stream.finish()
    assert early[-1].words and all(e.words == final.words[: len(e.words)] for e in early)
    assert stream.lag_s == 0.0
    beak = Question(
        start_s=5.6,
        end_s=8.4,
        from_s=5.6,
        to_s=8.4,
        before="The",
        after="is yellow and not chipped.",
        wordings=("comb", "hock", "knee", "beak"),
    )
    *lost, won = listener.weigh([beak])[0].scores
    assert won > max(lost)


@pytest.mark.listener
@pytest.mark.parametrize("level", [0.0, 0.001, 0.2])
def test_no_words_without_speech(listener: WhisperListener, level: float) -> None:
    """Silence and noise give no partial and no word."""
    sound = np.random.default_rng(2).normal(0, level, 5 * RATE_HZ).astype(np.float32)
    stream = listener.stream()
    assert [stream.feed(piece) for piece in pieces(sound, 0.5)] == [None] * 10
    assert stream.finish() == TimedWords((), 5.0)


@pytest.mark.listener
def test_an_empty_recording_has_no_words(listener: WhisperListener) -> None:
    """Nothing fed, nothing heard."""
    assert listener.stream().finish() == TimedWords((), 0.0)

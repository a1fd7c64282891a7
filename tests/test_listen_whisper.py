"""The embedded listener hears what is said, hears nothing where nobody speaks, and weighs wordings by the sound."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import itertools
import math
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.audio.read import read
from coach.errors import CoachError
from coach.listen import speech, weights
from coach.listen.speech import MAX_STRETCH_S, PAD_S, RATE_HZ, Stretch, group
from coach.listen.whisper import WhisperListener
from coach.words import Question, TimedWords, Word

pytest.importorskip("ctranslate2")
HAS_PLAIN = importlib.util.find_spec(weights._CARRIER) is not None

DEMO = Path(__file__).parent.parent / "recordings_demo"
CLIP_S = 13


@pytest.fixture(scope="module")
def listener() -> WhisperListener:
    """The real recogniser, loaded once."""
    return WhisperListener()


@pytest.fixture(scope="module")
def other() -> WhisperListener:
    """A second one for other sounds, so that the first keeps its clip."""
    return WhisperListener()


@pytest.fixture(scope="module")
def clip() -> NDArray[np.float32]:
    """The first seconds of a demo recording."""
    return read(DEMO / "checkers.ogg").samples[: CLIP_S * RATE_HZ]


@pytest.fixture(scope="module")
def told() -> list[float]:
    """The shares that were told while the clip was heard."""
    return []


@pytest.fixture(scope="module")
def heard(listener: WhisperListener, clip: NDArray[np.float32], told: list[float]) -> TimedWords:
    """What the recogniser makes of that clip; the listener keeps it for weighing."""
    return listener.transcribe(clip, told.append)


def plain(words: TimedWords) -> str:
    """Lower-case words with single spaces."""
    return " ".join(re.findall(r"[a-z']+", " ".join(word.text for word in words.words).lower()))


def melody(seconds: int = 12) -> NDArray[np.float32]:
    """Notes with overtones that die away, like a plucked string."""
    rng = np.random.default_rng(1)
    at = np.arange(int(0.4 * RATE_HZ)) / RATE_HZ
    notes = [
        sum(np.sin(2 * np.pi * pitch * k * at) / k for k in range(1, 6)) * np.exp(-3 * at)
        for pitch in rng.choice([262, 294, 330, 392, 440, 523, 587], int(seconds / 0.4))
    ]
    return (0.3 * np.concatenate(notes)).astype(np.float32)


def noise(level: float) -> NDArray[np.float32]:
    """Ten seconds of white noise."""
    return np.random.default_rng(2).normal(0, level, 10 * RATE_HZ).astype(np.float32)


def sung() -> NDArray[np.float32]:
    """A steady voice-like tone that swells four times a second."""
    at = np.arange(10 * RATE_HZ) / RATE_HZ
    tone = sum(np.sin(2 * np.pi * 220 * k * at + 2 * k * np.sin(2 * np.pi * 5 * at)) / k for k in range(1, 9))
    return np.asarray(0.1 * tone * (0.5 + 0.5 * np.sin(2 * np.pi * 4 * at)), np.float32)


@pytest.mark.parametrize("phrase", ["good evening", "the beak is yellow", "not chipped", "with five points"])
def test_phrases_are_heard(heard: TimedWords, phrase: str) -> None:
    """Plain phrases come out as said, numbers as words."""
    assert phrase in plain(heard)


def test_nothing_is_heard_twice(heard: TimedWords) -> None:
    """No run of four words stands twice in a row, and a phrase said once comes once."""
    words = plain(heard).split()
    assert not any(words[n : n + 4] == words[n + 4 : n + 8] for n in range(len(words) - 7))
    assert plain(heard).count("the beak is yellow") == 1


def test_times_rise_within_the_recording(heard: TimedWords) -> None:
    """Word starts rise, no word is outside the clip, and confidences are shares."""
    assert all(a.start_s <= b.start_s for a, b in pairwise(heard.words))
    assert heard.words[-1].end_s <= heard.seconds == CLIP_S
    assert all(word.confidence is not None and 0 <= word.confidence <= 1 for word in heard.words)


def test_times_follow_the_sound(other: WhisperListener, clip: NDArray[np.float32], heard: TimedWords) -> None:
    """Two seconds of silence in front move a word by two seconds."""
    later = other.transcribe(np.concatenate([np.zeros(2 * RATE_HZ, np.float32), clip[: 5 * RATE_HZ]]))
    first, moved = (
        next(word.start_s for word in words.words if word.text.lower().startswith("evening"))
        for words in (heard, later)
    )
    assert moved - first == pytest.approx(2.0, abs=0.25)


def test_progress_rises_to_the_end(heard: TimedWords, told: list[float]) -> None:
    """Whoever waits is told rising shares, the last of them the whole."""
    assert told == sorted(told) and told[-1] == pytest.approx(1.0)


@pytest.mark.parametrize(
    "sound",
    [np.zeros(0, np.float32), np.zeros(50, np.float32), np.zeros(10 * RATE_HZ, np.float32), noise(0.001), noise(0.2)],
    ids=["empty", "a click", "silence", "faint noise", "loud noise"],
)
def test_no_words_without_sound_of_speech(other: WhisperListener, sound: NDArray[np.float32]) -> None:
    """Nothing, silence and noise give no words."""
    assert other.transcribe(sound).words == ()


@pytest.mark.parametrize("sound", [melody(), sung()], ids=["melody", "sung tone"])
def test_no_words_in_music(other: WhisperListener, sound: NDArray[np.float32]) -> None:
    """Tones that pass for a voice at first still give no words."""
    assert other.transcribe(sound).words == ()


# Where the two sentences of the clip lie, from the words' own times; the window holds one whole sentence.
BEAK, COMB = (5.6, 8.4), (8.4, 12.9)


@pytest.mark.parametrize(
    ("window", "before", "true", "after", "rivals"),
    [
        (COMB, "She has a single comb with", "five", "points, without any scabs.", ("six", "four", "seven")),
        (COMB, "She has a single", "comb", "with five points, without any scabs.", ("hock", "knee", "crop")),
        (BEAK, "The beak is", "yellow", "and not chipped.", ("black", "horn", "pinkish white")),
        (BEAK, "The", "beak", "is yellow and not chipped.", ("comb", "hock", "knee", "vent")),
    ],
)
def test_the_true_wording_weighs_most(
    listener: WhisperListener,
    heard: TimedWords,
    window: tuple[float, float],
    before: str,
    true: str,
    after: str,
    rivals: tuple[str, ...],
) -> None:
    """Among rivals in their sentence the one that was said wins, though it stands last in the list."""
    start_s, end_s = window
    question = Question(
        start_s=start_s, end_s=end_s, from_s=start_s, to_s=end_s, before=before, after=after, wordings=(*rivals, true)
    )
    *lost, won = listener.weigh([question])[0].scores
    assert won > max(lost)


def test_weighing_keeps_order_and_says_when_it_cannot(listener: WhisperListener, heard: TimedWords) -> None:
    """Answers come in the order of the questions; outside the recording, or for endless text, the score is -inf."""
    outside = Question(start_s=900.0, end_s=901.0, from_s=899.0, to_s=902.0, before="the", after="is", wordings=("beak", "comb"))
    inside = Question(start_s=0.9, end_s=1.5, from_s=0.4, to_s=1.6, before="good", after="", wordings=("evening", "morning"))
    endless = Question(start_s=0.9, end_s=1.5, from_s=0.4, to_s=1.6, before="", after="", wordings=("evening", "hen " * 600))
    answers = listener.weigh([outside, inside, endless])
    assert [answer.question for answer in answers] == [outside, inside, endless]
    assert answers[0].scores == (-math.inf, -math.inf)
    assert all(math.isfinite(score) and score < 0 for score in answers[1].scores)
    assert math.isfinite(answers[2].scores[0]) and answers[2].scores[1] == -math.inf
    assert listener.weigh([]) == []


def test_weighing_before_listening_says_nothing() -> None:
    """Without a recording every wording scores -inf."""
    question = Question(start_s=0.2, end_s=0.8, from_s=0.0, to_s=1.0, before="", after="", wordings=("beak",))
    assert WhisperListener().weigh([question])[0].scores == (-math.inf,)


def test_missing_weights_are_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without the carrier, or with its model file gone, the message says what to install."""
    monkeypatch.setattr(weights, "models_dir", lambda: tmp_path)
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(CoachError, match="pip install --force-reinstall coach"):
        WhisperListener()
    with pytest.raises(CoachError, match=r"pip install 'coach\[whisper-plain\]'"):
        WhisperListener("whisper-plain")
    empty = importlib.machinery.ModuleSpec(weights._CARRIER, None, is_package=True)
    empty.submodule_search_locations = [str(tmp_path)]
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: empty)
    with pytest.raises(CoachError, match="no listener on this machine"):
        WhisperListener()


def test_other_weights_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Weights whose hash is not the right one are not loaded."""
    for name in weights.WEIGHTS if HAS_PLAIN else ("whisper",):
        monkeypatch.setitem(weights.WEIGHTS, name, weights.Weights("0" * 64, "get it again"))
        with pytest.raises(CoachError, match="not the right weights .*; get it again"):
            WhisperListener(name)


def test_grouping_covers_all_speech_in_short_stretches() -> None:
    """Every voiced part lies in one stretch, stretches rise without overlap, and long silences end one."""
    voiced = [Stretch(1.0, 4.0), Stretch(4.3, 8.0), Stretch(8.2, 14.5), Stretch(17.0, 18.0), Stretch(19.5, 19.9)]
    groups = group(voiced, 20.0)
    assert [sum(g.start_s <= v.start_s and v.end_s <= g.end_s for g in groups) for v in voiced] == [1] * len(voiced)
    assert all(a.end_s <= b.start_s for a, b in pairwise(groups))
    assert all(g.seconds <= MAX_STRETCH_S + 2 * PAD_S for g in groups)
    assert not any(g.start_s < 15.0 < g.end_s for g in groups)
    assert groups[0].start_s >= 0.0 and groups[-1].end_s <= 20.0
    assert group([], 5.0) == []


def test_words_are_words(heard: TimedWords) -> None:
    """No entry is bare punctuation or a digit."""
    assert all(isinstance(word, Word) and re.search(r"[A-Za-z]", word.text) for word in heard.words)
    assert not any(re.search(r"\d", word.text) for word in heard.words)


def test_the_detectors_blocks_are_short_and_cut_where_it_is_quiet() -> None:
    """Blocks follow one another without gap or overlap, and the border falls into the planted silence."""
    rng = np.random.default_rng(5)
    samples = rng.normal(0, 0.1, 200 * RATE_HZ).astype(np.float32)
    samples[55 * RATE_HZ : 56 * RATE_HZ] = 0
    blocks = speech.split_blocks(samples)
    assert blocks[0][0] == 0 and blocks[-1][1] == len(samples)
    assert all(a[1] == b[0] for a, b in itertools.pairwise(blocks))
    assert all(end - start <= speech.BLOCK_S * RATE_HZ for start, end in blocks)
    assert 55 <= blocks[0][1] / RATE_HZ <= 56

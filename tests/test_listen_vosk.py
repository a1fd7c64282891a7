"""The Vosk listener hears with times and confidences, streams what the whole gives, and weighs wordings by the sound."""

from __future__ import annotations

import json
import math
import os
import threading
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import jiwer
import numpy as np
import pytest
from numpy.typing import NDArray

from coach.listen.listener import Listener
from coach.listen.speech import RATE_HZ
from coach.listen.vosk import MOST_SURE, VoskListener
from coach.listen.vosk_model import loud, quiet
from coach.words import Question, TimedWords
from tests.vosk_models import TINY, VOICES, opened, sound

pytest.importorskip("vosk")
pytestmark = pytest.mark.listener

SAID = (
    "good morning judge my bird is a wyandotte and she is a pullet these are the wing coverts and they are fine "
    "here are the tail coverts"
)


@pytest.fixture(scope="module")
def listener(tmp_path_factory: pytest.TempPathFactory) -> VoskListener:
    """The real library with the tiny model."""
    return opened(TINY, tmp_path_factory.mktemp("home"))


@pytest.fixture(scope="module")
def clip() -> NDArray[np.float32]:
    """A few sentences by the flite voice slt."""
    return sound("trade-slt")


@pytest.fixture
def heard(listener: VoskListener, clip: NDArray[np.float32]) -> TimedWords:
    """What is heard in it; the listener keeps it for weighing."""
    return listener.transcribe(clip)


def text(words: TimedWords) -> str:
    """All words in a row."""
    return " ".join(word.text for word in words.words)


def question(heard: TimedWords, first: int, last: int, *rivals: str) -> Question:
    """Words first to last (included) against rivals, within all that was heard."""
    words = heard.words
    before, span, after = (" ".join(w.text for w in part) for part in (words[:first], words[first : last + 1], words[last + 1 :]))
    return Question(
        start_s=words[first].start_s,
        end_s=words[last].end_s,
        from_s=0.0,
        to_s=heard.seconds,
        before=before,
        after=after,
        wordings=(span, *rivals),
    )


def place(heard: TimedWords, word: str) -> int:
    """Where the word stands first."""
    return [w.text for w in heard.words].index(word)


@pytest.mark.parametrize("voice", VOICES)
def test_sentences_are_heard(listener: VoskListener, voice: str) -> None:
    """At most one word in ten of the tried sentences is wrong (word error rate by jiwer)."""
    assert jiwer.wer(SAID, text(listener.transcribe(sound(f"trade-{voice}")))) <= 0.1


def test_times_and_confidences(heard: TimedWords, clip: NDArray[np.float32]) -> None:
    """Words rise, lie within the sound and where it is loud; none is passed on as certain."""
    assert all(a.end_s <= b.start_s + 0.05 for a, b in pairwise(heard.words))
    assert heard.words[-1].end_s <= heard.seconds == len(clip) / RATE_HZ
    assert all(w.confidence is not None and 0 < w.confidence <= MOST_SURE for w in heard.words)
    loud = np.flatnonzero(np.abs(clip) > 0.05) / RATE_HZ
    # Tolerance: first starts and last ends were off by at most 44 ms in 95 of 100 sentences; twice that.
    assert abs(heard.words[0].start_s - loud[0]) < 0.1 and abs(heard.words[-1].end_s - loud[-1]) < 0.1


@pytest.mark.parametrize("seconds", [0.0, 0.01, 2.0])
def test_silence_gives_no_words(listener: VoskListener, seconds: float) -> None:
    """Nothing at all, less than a frame, and two seconds of zeros hold no words."""
    assert listener.transcribe(np.zeros(int(seconds * RATE_HZ), np.float32)).words == ()


def test_the_share_done_is_told(listener: VoskListener, clip: NDArray[np.float32]) -> None:
    """Progress rises to the whole."""
    told: list[float] = []
    listener.transcribe(clip, told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) > 3


@pytest.mark.parametrize("sizes", [(1, 17, 4001), (160,), (100_000,), (800, 0, 3)])
def test_a_stream_in_odd_pieces_is_the_whole(
    listener: VoskListener, clip: NDArray[np.float32], heard: TimedWords, sizes: tuple[int, ...]
) -> None:
    """However the sound arrives, the final words, times and confidences are those of the whole recording: no tolerance."""
    stream = listener.stream()
    at = turn = 0
    while at < len(clip):
        size = sizes[turn % len(sizes)] * (20 if sizes[0] == 1 else 1)
        stream.feed(clip[at : at + size])
        at, turn = at + size, turn + 1
    assert stream.finish() == heard


def test_partial_words_come_before_the_end(listener: VoskListener, clip: NDArray[np.float32], heard: TimedWords) -> None:
    """Most words are there while the recording still runs, at times that have passed; None means no change."""
    stream, seen, step = listener.stream(), [], RATE_HZ // 10
    for at in range(0, len(clip), step):
        words = stream.feed(clip[at : at + step])
        if words is not None:
            assert all(w.end_s <= words.seconds + 1e-9 for w in words.words)
            assert not seen or text(seen[-1]) != text(words) or seen[-1].words != words.words
            seen.append(words)
    assert len(seen) > 8 and len(seen) < len(clip) / step
    halfway = [w for w in seen if w.seconds <= heard.seconds / 2]
    expected = [w.text for w in heard.words if w.end_s < heard.seconds / 2 - 1.0]
    assert text(halfway[-1]).split()[: len(expected) - 1] == expected[:-1]
    assert text(stream.finish()) == text(heard)


def test_a_stream_can_be_weighed_afterwards(listener: VoskListener, clip: NDArray[np.float32], heard: TimedWords) -> None:
    """What was streamed last is what weighing is about: the answers are those after transcribing."""
    ask = [question(heard, place(heard, "pullet"), place(heard, "pullet"), "hen")]
    before = listener.weigh(ask)
    listener.transcribe(np.zeros(RATE_HZ, np.float32))
    stream = listener.stream()
    stream.feed(clip)
    stream.finish()
    assert listener.weigh(ask) == before


@pytest.mark.parametrize(
    ("word", "rival"), [("pullet", "hen"), ("pullet", "cockerel"), ("wyandotte", "Orpington"), ("coverts", "hackle")]
)
@pytest.mark.parametrize("voice", VOICES)
def test_what_was_said_outweighs_its_rivals(listener: VoskListener, voice: str, word: str, rival: str) -> None:
    """The said word beats a rival in the same sentence, and the order in which they are asked does not matter."""
    heard = listener.transcribe(sound(f"trade-{voice}"))
    at = place(heard, word)
    asked = question(heard, at, at, rival)
    scores = listener.weigh([asked])[0].scores
    assert scores[0] > scores[1] + 1
    turned = replace(asked, wordings=(rival, word))
    assert listener.weigh([turned])[0].scores == pytest.approx((scores[1], scores[0]), abs=0.01)


def test_words_the_model_lacks_are_not_weighed(listener: VoskListener, heard: TimedWords) -> None:
    """A wording with an unknown word gets nan, the others their scores; marks and capitals do not matter."""
    at = place(heard, "wyandotte")
    first, second, third, fourth = listener.weigh([question(heard, at, at, "zyzzyva", "Wyandotte.", "!?")])[0].scores
    assert math.isnan(second) and math.isnan(fourth)
    assert first == third and math.isfinite(first)


def test_a_question_outside_the_sound_is_not_weighed(listener: VoskListener, heard: TimedWords) -> None:
    """Past the end there is nothing to ask."""
    late = Question(
        start_s=heard.seconds + 5,
        end_s=heard.seconds + 6,
        from_s=heard.seconds + 4,
        to_s=heard.seconds + 7,
        before="",
        after="",
        wordings=("hen", "cock"),
    )
    assert all(math.isnan(s) for s in listener.weigh([late])[0].scores)


def test_questions_keep_their_order(listener: VoskListener, heard: TimedWords) -> None:
    """One answer a question, in order, and the share done reaches the whole; no questions, no answers."""
    told: list[float] = []
    asked = [question(heard, n, n, "comb", "hen") for n in range(len(heard.words))]
    assert [w.question for w in listener.weigh(asked, told.append)] == asked
    assert told[-1] == 1.0
    assert listener.weigh([]) == []


def test_the_library_stays_silent(
    heard: TimedWords,
    clip: NDArray[np.float32],
    capfd: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """Loading, hearing and weighing, an unknown word among them, print nothing; our own lines still come through."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path))
    other = VoskListener(TINY)
    other.transcribe(clip)
    other.weigh([question(heard, 3, 3, "zyzzyva", "comb")])
    os.write(2, b"ours\n")
    assert capfd.readouterr() == ("", "ours\n")


def test_quiet_in_several_threads(capfd: pytest.CaptureFixture[str]) -> None:
    """Threads that are quiet at the same time leave the error stream as it was."""

    def shout() -> None:
        for _ in range(50):
            with quiet():
                os.write(2, b"chatter\n")

    with quiet():
        threads = [threading.Thread(target=shout) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        with loud():
            os.write(2, b"our own line\n")
        os.write(2, b"more chatter\n")
    os.write(2, b"after\n")
    assert capfd.readouterr().err == "our own line\nafter\n"


def test_it_is_a_listener(listener: VoskListener) -> None:
    """It has what every listener has (checked by types too), under the name of its calibration."""
    anything: Listener = listener
    assert anything.name == "vosk"
    assert anything.hear_again([(0.0, 1.0), (1.0, 2.0)]) == [(), ()]


def test_against_the_library_alone(listener: VoskListener, clip: NDArray[np.float32], heard: TimedWords) -> None:
    """The words are those of the unadorned library fed in the same pieces."""
    from vosk import KaldiRecognizer, Model

    with quiet():
        plain = KaldiRecognizer(Model(str(TINY)), 16000.0)
    data = (np.clip(clip, -1, 1) * 32767).astype("<i2").tobytes()
    words: list[str] = []
    for at in range(0, len(data), 3200):
        if plain.AcceptWaveform(data[at : at + 3200]):
            words += json.loads(plain.Result())["text"].split()
    assert text(heard).split() == [*words, *json.loads(plain.FinalResult())["text"].split()]

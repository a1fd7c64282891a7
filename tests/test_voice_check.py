"""The voice check: measuring a reading of the passage, what is remembered of it, and what later reviews make of that."""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cli_files as files
import jiwer
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from judging import judged, spoken
from sound_server import SoundServer, needs_sound_server

from coach.audio.read import Sound, read
from coach.errors import CoachError
from coach.judge.caution import soften
from coach.judge.settle import BLAMED
from coach.judge.verdict import Status
from coach.voice.advice import advice
from coach.voice.caution import caution
from coach.voice.check import check_voice
from coach.voice.fit import FittedListener, best_speed, slowed
from coach.voice.measure import measure
from coach.voice.passage import load_passage
from coach.voice.profile import VoiceProfile, forget_profile, load_profile, profile_for, profile_path, save_profile
from coach.words import Question, TimedWords, Weighed, Word

Capsys = pytest.CaptureFixture[str]
PASSAGE = load_passage()
TEXT = " ".join(PASSAGE.paragraphs)
PROFILE = VoiceProfile(
    member="Robin",
    date="2026-11-25",
    listener="whisper",
    share_heard=0.95,
    misheard=(("hocks", "hogs"),),
    speed=1.0,
    level_dbfs=-20.0,
    snr_db=25.0,
    clipped_share=0.0,
)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of the test's own."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def timed(text: str) -> TimedWords:
    """The words of a text, one every 0.3 s."""
    words = tuple(Word(word, 0.3 * n, 0.3 * n + 0.25, 0.9) for n, word in enumerate(text.split()))
    return TimedWords(words, 0.3 * len(words))


# The passage --------------------------------------------------------------------------------------------------------


def test_the_passage_takes_about_a_minute() -> None:
    """140 to 160 words, a minute at a comfortable pace; every trade word stands in it."""
    assert 140 <= len(TEXT.split()) <= 160
    assert measure(PASSAGE, timed(TEXT)).misheard == ()
    assert len(PASSAGE.trade) >= 35


def test_the_passage_teaches_nothing_false() -> None:
    """Its values are those of the shipped card of the bird it speaks of."""
    from coach.knowledge.cards import find_card, load_card

    card = load_card(find_card("buff-orpington"))
    assert (card.breed, card.variety) == ("Orpington", "Buff")
    values = {
        "pinkish white": card.colors["beak"],
        "reddish bay": card.colors["eye"],
        "red": card.colors["earlobe"],
    }
    assert all(said in told for said, told in values.items()), values
    assert (card.weights_lb["pullet"], card.weights_lb["hen"], card.toes) == (7, 8, 4)
    assert card.comb is not None and (card.comb.type, card.comb.points) == ("single", 5)


# Measuring ----------------------------------------------------------------------------------------------------------


def test_a_perfect_reading() -> None:
    """Every word right, nothing misheard, nothing missing."""
    hearing = measure(PASSAGE, timed(TEXT))
    assert (hearing.share_heard, hearing.misheard, hearing.gaps) == (1.0, (), ())


@settings(max_examples=50, deadline=None)
@given(st.lists(st.sampled_from(["keep"] * 8 + ["drop", "swap", "add"]), min_size=150, max_size=150))
def test_the_share_is_that_of_a_reference_library(what_happens: list[str]) -> None:
    """Words dropped, changed and put in at random: hits as jiwer counts them."""
    words = [w.strip(".,").lower() for w in TEXT.split()]
    changed = []
    for word, what in zip(words, what_happens, strict=True):
        changed += {"keep": [word], "drop": [], "swap": ["zebra"], "add": [word, "zebra"]}[what]
    hearing = measure(PASSAGE, timed(" ".join(changed)))
    reference = jiwer.process_words(" ".join(words), " ".join(changed) or "zebra")
    assert hearing.n_words == len(words)
    assert hearing.n_right == reference.hits


def test_a_misheard_trade_word_is_told_with_what_was_written() -> None:
    """Written "hawks" for hocks, two words for one, and one that left no trace."""
    heard = TEXT.replace("hocks", "hawks").replace("coverts", "cover its").replace("the keel is", "is")
    assert [(m.term, m.heard) for m in measure(PASSAGE, timed(heard)).misheard] == [
        ("keel", ""),
        ("coverts", "cover its"),
        ("hocks", "hawks"),
    ]


def test_its_time_is_when_it_was_said() -> None:
    """So that the member can listen to it."""
    heard = timed(TEXT.replace("hocks", "hawks"))
    at_s = next(w.start_s for w in heard.words if w.text == "hawks,")
    assert measure(PASSAGE, heard).misheard[0].at_s == at_s


def test_spelling_is_not_hearing() -> None:
    """Two words for one compound, digits, British spelling and a missing plural count as heard."""
    heard = TEXT.replace("earlobes", "ear lobes").replace("five points", "5 points").replace("undercolor", "under colour")
    heard = heard.replace("bumblefoot", "bumble foot").replace("thighs", "thigh")
    hearing = measure(PASSAGE, timed(heard))
    assert hearing.n_right == hearing.n_words and hearing.misheard == ()


def test_a_paragraph_left_out_is_told() -> None:
    """A stretch without a trace may be the reader's doing: it is shown, not called misheard voice."""
    hearing = measure(PASSAGE, timed(" ".join(PASSAGE.paragraphs[:2] + PASSAGE.paragraphs[3:])))
    assert len(hearing.gaps) == 1 and hearing.gaps[0].startswith("under the fluff i feel")


def test_nothing_heard() -> None:
    """No words: a share of nothing, one gap that is everything."""
    hearing = measure(PASSAGE, TimedWords((), 60.0))
    assert hearing.share_heard == 0.0 and len(hearing.misheard) == len(PASSAGE.trade)


# Speed --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("speed", [0.9, 0.85])
def test_slower_is_lower_and_longer(speed: float) -> None:
    """A tone of 1 kHz over several blocks comes out at 1 kHz times the speed, as loud, without a click at the joins."""
    tone = 0.5 * np.sin(2 * np.pi * 1000 * np.arange(16000 * 10) / 16000).astype(np.float32)
    slow = slowed(tone, speed)
    assert len(slow) == pytest.approx(len(tone) / speed, rel=1e-4)
    middle = slow[4000:-4000] * np.hanning(len(slow) - 8000)
    spectrum = np.abs(np.fft.rfft(middle))
    assert np.argmax(spectrum) * 16000 / len(middle) == pytest.approx(1000 * speed, rel=1e-3)
    assert np.abs(slow[4000:-4000]).max() == pytest.approx(0.5, abs=0.02)
    away = np.abs(np.fft.rfftfreq(len(middle), 1 / 16000) - 1000 * speed) > 50
    assert spectrum[away].max() < 0.003 * spectrum.max()


def test_full_speed_changes_nothing() -> None:
    """Not a sample."""
    samples = np.random.default_rng(0).normal(0, 0.1, 1000).astype(np.float32)
    assert slowed(samples, 1.0) is samples


def test_only_a_clear_winner_is_taken() -> None:
    """Five words in a hundred, or the voice's own speed stays."""
    assert best_speed({1.0: 0.90, 0.9: 0.94, 0.85: 0.91}) == 1.0
    assert best_speed({1.0: 0.85, 0.9: 0.91, 0.85: 0.86}) == 0.9


class _Echo:
    """A listener that hears one word in the middle, and answers with the question's own times."""

    name = "whisper"

    def __init__(self) -> None:
        self.asked: list[Question] = []

    def transcribe(self, samples: np.ndarray, progress: Callable[[float], None] | None = None) -> TimedWords:  # type: ignore[type-arg]
        seconds = len(samples) / 16000
        return TimedWords((Word("hen", seconds / 2, seconds / 2 + 1.0),), seconds, hesitations_s=(seconds / 4,))

    def weigh(self, questions: list[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        self.asked = list(questions)
        return [Weighed(q, (0.0,)) for q in questions]

    def hear_again(self, spans: list[tuple[float, float]]) -> list[tuple[object, ...]]:
        self.spans = spans
        return [() for _ in spans]


def test_a_fitted_listener_tells_the_recordings_own_times() -> None:
    """What is heard at nine tenths of the speed is told, and asked, in the time of the recording."""
    inner = _Echo()
    fitted = FittedListener(inner, 0.9)  # type: ignore[arg-type]
    heard = fitted.transcribe(np.zeros(160000, np.float32))
    assert heard.seconds == pytest.approx(10.0, abs=0.001)
    assert heard.words[0].start_s == pytest.approx(5.0, abs=0.001)
    assert heard.words[0].end_s - heard.words[0].start_s == pytest.approx(0.9)
    assert heard.hesitations_s == pytest.approx((2.5,), abs=0.001)
    question = Question(start_s=4.5, end_s=5.4, from_s=3.6, to_s=6.3, before="the", after="lays", wordings=("hen",))
    assert fitted.weigh([question])[0].question == question
    assert inner.asked[0].start_s == pytest.approx(5.0) and inner.asked[0].to_s == pytest.approx(7.0)
    fitted.hear_again([(4.5, 5.4)])
    assert inner.spans == [pytest.approx((5.0, 6.0))]


# Remembering --------------------------------------------------------------------------------------------------------


def test_a_profile_comes_back_as_it_was(home: Path) -> None:
    """Everything survives the file; it and its folders are for the user alone."""
    odd = replace(PROFILE, member="Ünal B.", snr_db=None, misheard=(("hocks", ""), ("pubic bones", "public bones")))
    path = save_profile(odd)
    assert path == profile_path("Ünal B.") and load_profile("ünal b") == odd
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert {stat.S_IMODE(folder.stat().st_mode) for folder in (path.parent, path.parent.parent, home)} == {0o700}
    assert json.loads(path.read_text(encoding="utf-8"))["format"] == "voice-profile/1"


def test_nobody_checked_has_no_profile() -> None:
    """None, and nothing is made."""
    assert load_profile("Robin") is None
    assert not profile_path("Robin").parent.exists()


def test_a_profile_holds_for_its_own_listener() -> None:
    """What one listener mishears says nothing of another."""
    save_profile(PROFILE)
    assert profile_for("Robin", "whisper") == PROFILE
    assert profile_for("Robin", "vosk") is None and profile_for(None, "whisper") is None


def test_a_profile_can_be_forgotten() -> None:
    """Once; the second time there was none."""
    save_profile(PROFILE)
    assert forget_profile("Robin") and not forget_profile("Robin")
    assert load_profile("Robin") is None


@pytest.mark.parametrize("content", ["", "{", "[]", '{"format": "voice-profile/2"}', '{"format": "voice-profile/1"}', "\x00"])
def test_a_damaged_profile_is_one_line(content: str) -> None:
    """It says how to make it anew."""
    save_profile(PROFILE)
    profile_path("Robin").write_text(content)
    with pytest.raises(CoachError, match="make it anew: coach voice-check --member 'Robin'"):
        load_profile("Robin")


def test_impossible_figures_are_damage() -> None:
    """A share above one would make later reviews careless."""
    path = save_profile(PROFILE)
    path.write_text(path.read_text().replace("0.95", "9.5"))
    with pytest.raises(CoachError, match="make it anew"):
        load_profile("Robin")


# Advice -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"clipped_share": 0.01}, "turn the microphone down"),
        ({"level_dbfs": -45.0}, "go closer to the microphone"),
        ({"snr_db": 8.0}, "quieter place"),
        ({"share_heard": 0.7}, "larger speech model"),
    ],
)
def test_what_is_in_the_way_is_told(change: dict[str, float], told: str) -> None:
    """Each trouble has its remedy; a good reading has none of them."""
    assert any(told in line for line in advice(replace(PROFILE, **change), 140.0))
    assert not any(told in line for line in advice(PROFILE, 140.0))


def test_a_good_voice_needs_no_advice() -> None:
    """Nothing to say is nothing said; a fast reader is told so."""
    well = replace(PROFILE, misheard=())
    assert advice(well, 140.0) == ()
    assert "slower pace" in advice(well, 220.0)[0]


# Caution ------------------------------------------------------------------------------------------------------------


def statuses(*sentences: str, profile: VoiceProfile) -> tuple[dict[str, Status], dict[str, Status]]:
    """Verdicts by item, before and after the care that this voice needs."""
    heard = spoken(*sentences)
    before = judged(*sentences)
    after = soften(before, caution(profile), heard)
    return {v.id: v.status for v in before.verdicts}, {v.id: v.status for v in after.verdicts}


LEGS = ("these are her legs", "the thighs the hogs and the shanks are clean", "she has four toes")


def test_a_word_known_to_be_misheard_is_not_called_skipped() -> None:
    """This voice's hocks are written "hogs": where that stands among the legs the member is asked to listen."""
    before, after = statuses(*LEGS, profile=PROFILE)
    assert before["legs.hocks"] is Status.SKIPPED
    assert after["legs.hocks"] is Status.UNSURE
    assert {k: v for k, v in after.items() if k != "legs.hocks"} == {k: v for k, v in before.items() if k != "legs.hocks"}


def test_without_such_a_word_it_is_still_skipped() -> None:
    """Knowing that a word is misheard credits nothing by itself."""
    _, after = statuses("these are her legs", "the thighs and the shanks are clean", profile=PROFILE)
    assert after["legs.hocks"] is Status.SKIPPED


def test_a_voice_heard_well_changes_nothing() -> None:
    """Not one verdict."""
    before, after = statuses(*LEGS, profile=replace(PROFILE, misheard=()))
    assert before == after


def test_the_poorer_the_hearing_the_more_is_possible() -> None:
    """The threshold of the generous reading falls with the share heard, and never rises."""
    shares = (0.99, 0.85, 0.6, 0.3)
    cares = [caution(replace(PROFILE, share_heard=share)) for share in shares]
    assert [care.possible_share for care in cares] == sorted((care.possible_share for care in cares), reverse=True)
    assert cares[0].possible_share == 1 and cares[-1].possible_share < 0.5
    assert [care.blame for care in cares] == [True, True, True, False]


def test_where_nothing_can_be_heard_nobody_is_blamed() -> None:
    """Less than half of the passage: every blame becomes unsure."""
    care = caution(replace(PROFILE, share_heard=0.4))
    required = [v.status for v in soften(judged(*LEGS), care, spoken(*LEGS)).verdicts if v.required]
    assert any(v.status in BLAMED and v.required for v in judged(*LEGS).verdicts)
    assert required and not set(required) & set(BLAMED)


def test_a_word_the_listener_hardly_believes_accuses_nobody() -> None:
    """Of any voice: where a faint word stands among the legs one is unsure; believed words, and no sound, accuse as before."""
    heard = spoken(*LEGS)
    faint = replace(heard, words=tuple(replace(w, confidence=0.1 if w.text == "hogs" else 0.9) for w in heard.words))
    before = {v.id: v.status for v in judged(*LEGS).verdicts}
    after = {v.id: v.status for v in soften(judged(*LEGS), caution(None, 0.2), faint).verdicts}
    assert [i for i in before if before[i] != after[i]] == ["legs.hocks"] and after["legs.hocks"] is Status.UNSURE
    for care, words in ((caution(None, 0.05), faint), (caution(None, 0.0), faint), (caution(None, 0.2), heard)):
        assert {v.id: v.status for v in soften(judged(*LEGS), care, words).verdicts} == before


def test_care_never_credits() -> None:
    """Nothing that was not said before is said after."""
    for share in (0.95, 0.8, 0.6, 0.3):
        before, after = statuses(*LEGS, profile=replace(PROFILE, share_heard=share))
        assert {k for k, v in after.items() if v is Status.SAID} == {k for k, v in before.items() if v is Status.SAID}


# The microphone -----------------------------------------------------------------------------------------------------

RECORDER = """
import select, sys
from coach.audio.write import write_wav
from coach.live.devices import quiet_libraries
from coach.voice.record import record_until
with quiet_libraries():
    print("on", flush=True)
    sound = record_until(lambda: bool(select.select([sys.stdin], [], [], 0)[0]))
write_wav(sys.argv[1], sound.samples, sound.rate_hz)
"""


@needs_sound_server
def test_the_microphone_is_recorded_until_told() -> None:
    """Two seconds of speech played into a real sound system arrive, in memory, at 16 kHz."""
    from coach.places import recordings_demo_dir

    speech = read(recordings_demo_dir() / "checkers.ogg").samples[16000:48000]
    with tempfile.TemporaryDirectory(dir="/tmp") as folder, SoundServer(Path(folder)) as server:
        out = Path(folder) / "out.wav"
        running = server.python(RECORDER, str(out))
        assert running.stdout.readline() == "on\n"
        server.play(Path(files.wav(Path(folder) / "in.wav", speech)))
        _, err = running.communicate("stop\n", timeout=60)
        assert running.returncode == 0, err
        heard = read(out).samples
    size = 1 << (len(heard) + len(speech)).bit_length()
    likeness = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(speech, size)), size)
    at = int(np.argmax(likeness))
    assert likeness[at] > 0.9 * np.linalg.norm(speech) * np.linalg.norm(heard[at : at + len(speech)])


# The command --------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def reading(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The passage read by a synthetic voice."""
    if shutil.which("flite") is None:
        pytest.skip("flite is not installed")
    path = tmp_path_factory.mktemp("voice") / "reading.wav"
    subprocess.run(["flite", "-voice", "slt", "-t", TEXT, "-o", str(path)], check=True)
    return path


@pytest.mark.listener
def test_a_reading_is_heard_and_remembered(capsys: Capsys, reading: Path) -> None:
    """A clear voice: most words right, the figures on the screen are those in the file, and forgetting works."""
    ran = files.run(capsys, "voice-check", str(reading), "--member", "Robin")
    assert ran.code == 0, ran.err
    profile = load_profile("Robin")
    assert profile is not None and profile.share_heard > 0.85 and profile.listener == "whisper"
    assert f"({profile.share_heard:.0%})" in ran.out and "words heard right" in ran.out
    for term, heard in profile.misheard:
        assert f"  {term}: {heard}" in ran.out
    assert files.run(capsys, "voice-check", "--member", "robin", "--forget").out == "robin: forgotten\n"
    assert load_profile("Robin") is None


@pytest.mark.listener
def test_noise_lowers_what_is_heard_and_is_named(reading: Path) -> None:
    """At 5 dB fewer words are right than without, and the noise shows in the figures and the advice."""
    from coach.review import open_listener

    clean = read(reading)
    noise = np.random.default_rng(2).normal(0, 1, len(clean.samples)) * np.sqrt(np.mean(clean.samples**2)) * 10 ** (-5 / 20)
    listener = open_listener()
    good = check_voice("a", clean, listener, PASSAGE, "2026-11-25")  # type: ignore[arg-type]
    bad = check_voice("a", Sound((clean.samples + noise).astype(np.float32)), listener, PASSAGE, "2026-11-25")  # type: ignore[arg-type]
    assert bad.profile.share_heard < good.profile.share_heard - 0.05
    assert good.profile.snr_db is not None and bad.profile.snr_db is not None
    assert bad.profile.snr_db < 15 < good.profile.snr_db
    assert any("noise" in line for line in advice(bad.profile, 140.0))


@pytest.mark.listener
def test_another_text_is_no_reading(capsys: Capsys) -> None:
    """A rehearsal in place of the passage is refused, and nothing is remembered."""
    from coach.places import recordings_demo_dir

    ran = files.run(capsys, "voice-check", str(recordings_demo_dir() / "comet.ogg"), "--member", "Robin")
    assert "of the passage was heard" in ran.line
    assert load_profile("Robin") is None


def test_the_passage_can_be_shown(capsys: Capsys) -> None:
    """All of it, without a member, within the screen."""
    ran = files.run(capsys, "voice-check", "--show")
    assert " ".join(ran.out.split()) == TEXT
    assert all(len(line) <= 80 for line in ran.out.splitlines())


def test_whose_voice_must_be_told(capsys: Capsys) -> None:
    """One line with the option to add."""
    assert "--member NAME" in files.run(capsys, "voice-check", "a.wav").line


def test_without_keyboard_a_recording_is_needed(capsys: Capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    """A microphone that nobody can stop is not started."""
    with open(os.devnull) as nobody:
        monkeypatch.setattr("sys.stdin", nobody)
        assert "give a recording" in files.run(capsys, "voice-check", "--member", "Robin").line

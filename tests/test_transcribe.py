"""`coach transcribe`: the words of a real recording on the screen and in every kind of file, which read back the same."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import cli_files as files
import numpy as np
import pytest

from coach.listen.timed_words import read_timed_words
from coach.places import recordings_demo_dir
from coach.report.transcript import render_plain, render_screen, render_table
from coach.words import TimedWords, Word

Capsys = pytest.CaptureFixture[str]
RECORDING = str(recordings_demo_dir() / "tansy.ogg")
WORDS = TimedWords(
    (
        Word("These", 0.31, 0.5, 0.97),
        Word("are", 0.5, 0.6, 0.99),
        Word("hawks.", 0.6, 1.04, 0.34),
        Word("Thank", 61.98, 62.2, None),
        Word("you.", 62.2, 62.5, None),
    ),
    63.0,
)


class Heard:
    """A listener that heard the words above, whatever it is given."""

    name = "whisper"

    def transcribe(self, samples: object, progress: Callable[[float], None] | None = None) -> TimedWords:
        return WORDS


@pytest.fixture
def heard(monkeypatch: pytest.MonkeyPatch) -> None:
    """No recogniser runs: what is tested is the command."""
    monkeypatch.setattr("coach.cli.transcribe.open_wanted", lambda listener, model: Heard())


def test_the_screen_shows_times_and_doubts() -> None:
    """A line for each stretch, its start first; a word below one half carries its confidence."""
    assert render_screen(WORDS) == "  0:00.3  These are hawks.[0.34]\n  1:02.0  Thank you.\n"


def test_a_table_has_a_line_for_each_word() -> None:
    """Start, end, confidence or a dash, and the word, parted by tabs."""
    rows = [line.split("\t") for line in render_table(WORDS).splitlines()]
    assert rows[2] == ["0.600", "1.040", "0.34", "hawks."]
    assert rows[3] == ["61.980", "62.200", "-", "Thank"]


def test_plain_text_is_the_words_alone() -> None:
    """A line for each stretch, nothing but words."""
    assert render_plain(WORDS) == "These are hawks.\nThank you.\n"


@pytest.mark.parametrize("ending", [".words.json", ".json", ".srt", ".vtt", ".txt"])
@pytest.mark.usefixtures("heard")
def test_every_file_reads_back(capsys: Capsys, tmp_path: Path, ending: str) -> None:
    """The same words in the same order; json keeps times and confidences to the thousandth, subtitles the times of lines."""
    out = tmp_path / f"t{ending}"
    ran = files.run(capsys, "transcribe", RECORDING, "--out", str(out))
    assert (ran.code, ran.out, ran.err) == (0, "", "")
    back = read_timed_words(out)
    assert [w.text for w in back.words] == [w.text for w in WORDS.words]
    if ending.endswith("json"):
        assert back.words == WORDS.words
    elif ending != ".txt":
        assert [w.start_s for w in back.words][::3] == pytest.approx([0.31, 61.98])
        assert back.words[-1].end_s == pytest.approx(62.5)
    else:
        assert not back.timed


@pytest.mark.usefixtures("heard")
def test_a_place_that_cannot_be_written_is_told_first(capsys: Capsys, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before anything is read or heard."""
    monkeypatch.setattr("coach.audio.read.read", lambda path: pytest.fail("was read"))
    assert "there is no folder" in files.run(capsys, "transcribe", RECORDING, "--out", str(tmp_path / "no" / "t.txt")).line
    assert "let it end in .txt" in files.run(capsys, "transcribe", RECORDING, "--out", str(tmp_path / "t.doc")).line
    assert "is a folder" in files.run(capsys, "transcribe", RECORDING, "--out", str(_folder(tmp_path / "t.txt"))).line


def _folder(path: Path) -> Path:
    path.mkdir()
    return path


@pytest.mark.usefixtures("heard")
def test_the_recording_is_never_written_over(capsys: Capsys, tmp_path: Path) -> None:
    """Its own name, however it is spelt, is refused."""
    recording = tmp_path / "a.txt"
    recording.write_bytes(Path(RECORDING).read_bytes())
    spelt = str(tmp_path / "." / "a.txt")
    assert "is the recording itself" in files.run(capsys, "transcribe", str(recording), "--out", spelt).line
    assert recording.read_bytes() == Path(RECORDING).read_bytes()


def test_a_missing_recording_is_one_line(capsys: Capsys) -> None:
    """And exit 2."""
    assert "there is no such file" in files.run(capsys, "transcribe", "nowhere.wav").line


def test_an_unknown_listener_is_refused(capsys: Capsys) -> None:
    """With the names there are."""
    ran = files.run(capsys, "transcribe", RECORDING, "--listener", "nobody")
    assert ran.code == 2 and "whisper" in ran.err


@pytest.mark.listener
def test_a_real_recording_is_heard(capsys: Capsys) -> None:
    """The demo's own words come out, its first one near where the voice begins (half a second of silence was put before it)."""
    ran = files.run(capsys, "transcribe", RECORDING, "--each-word")
    rows = [line.split("\t") for line in ran.out.splitlines()]
    text = " ".join(re.sub(r"[^a-z ]", "", row[3].lower()) for row in rows)
    assert "the comb is single with five points" in text
    assert float(rows[0][0]) == pytest.approx(0.5, abs=0.3)
    assert all(float(start) <= float(end) and 0 <= float(sure) <= 1 for start, end, sure, _ in rows)


@pytest.mark.listener
def test_silence_has_no_words(capsys: Capsys, tmp_path: Path) -> None:
    """Faint noise without a voice ends with one line that says so."""
    noise = np.random.default_rng(1).normal(0, 0.003, 16000 * 3).astype(np.float32)
    assert "no speech found" in files.run(capsys, "transcribe", files.wav(tmp_path / "a.wav", noise)).line

"""The result comes first: a full, read-only or locked disk costs no report, says in one line what it is, and exits with 2."""

from __future__ import annotations

import io
import json
import os
import resource
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from cli_files import BIRD, Ran, run, script_words, words_file
from disks import fill, read_only, small_disk
from history_samples import rehearsal
from rehearse_stand_ins import GrowingTake, quick_listener
from test_live_takes import crashed

import coach.history.database as database
from coach.errors import CoachError
from coach.history.store import history_file, open_store
from coach.knowledge.questions import load_bank
from coach.places import recordings_demo_dir
from coach.voice.passage import load_passage
from coach.words import TimedWords, Word

Capsys = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch
ROOT = Path(__file__).resolve().parent.parent
READ_ONLY = "cannot keep the history there (Read-only file system); set COACH_HOME to another folder"
LOCKED = "another coach is writing to the history; try again"
FULL = "the disk is full, or no more may be written to it"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: Patch) -> Path:
    """The coach's home, not made yet, and no width or color from whoever runs the tests."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(database, "BUSY_S", 0.3)
    return tmp_path / "home"


@pytest.fixture
def disk(home: Path) -> Iterator[Path]:
    """The home on a small disk of its own."""
    with small_disk(home, 600) as folder:
        yield folder


@pytest.fixture
def words(tmp_path: Path) -> str:
    """A rehearsal as timed words."""
    return words_file(tmp_path / "checkers.words.json", script_words("checkers"))


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Another process holds the write lock of the history."""
    code = "import sqlite3,sys; c=sqlite3.connect(sys.argv[1]); c.execute('BEGIN IMMEDIATE'); print(flush=True); sys.stdin.read()"
    command = [sys.executable, "-c", code, str(path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        other.stdout.readline()
        try:
            yield
        finally:
            other.communicate("")


def with_history() -> None:
    """One session is kept already."""
    with open_store() as store:
        store.add(rehearsal(), "Robin")


def told(ran: Ran, *parts: str) -> None:
    """The report is there, each line of stderr says one of these, a history that is sound is never called damaged, exit 2."""
    assert "Checkers" in ran.out and ran.out.count("\n") > 10 and ran.code == 2, ran
    lines = ran.err.splitlines()
    assert len(lines) == len(parts) and all(part in line for part, line in zip(parts, lines, strict=True)), ran.err
    assert "damaged" not in ran.err and "move the file away" not in ran.err and "Traceback" not in ran.err


def test_a_full_disk_costs_no_report(capsys: Capsys, disk: Path, words: str, tmp_path: Path) -> None:
    """The page and the JSON on another disk are written too; the history is sound, and takes the session once there is room."""
    with_history()
    filler = fill(disk)
    page, out = tmp_path / "page.html", tmp_path / "out.json"
    ran = run(capsys, "review", words, "--bird", BIRD, "--member", "Robin", "--page", str(page), "--json", str(out))
    told(ran, FULL, FULL)  # what is usual could not be asked, and nothing be added
    assert page.stat().st_size > 1000 and json.loads(out.read_text())["is_rehearsal"]
    filler.unlink()
    assert run(capsys, "review", words, "--bird", BIRD, "--member", "Robin").code == 0
    with open_store() as store:
        assert len(store.sessions("Robin")) == 2


def test_a_disk_that_fills_up_while_writing(capsys: Capsys, disk: Path, words: str) -> None:
    """Some pages fit and the rest do not: full is full, and nothing is half written."""
    with_history()
    filler = fill(disk)
    with filler.open("rb+") as file:
        file.truncate(filler.stat().st_size - 60_000)
    ran = run(capsys, "review", words, "--bird", BIRD, "--member", "Robin")
    assert "Checkers" in ran.out and ran.code == 2 and FULL in ran.err and "damaged" not in ran.err
    filler.unlink()
    with open_store() as store:
        assert len(store.sessions("Robin")) == 1


def test_a_file_size_limit_is_no_damage(words: str, home: Path) -> None:
    """The same by a limit of the process, as a quota does it: SQLite says "disk I/O error", the coach that there is no room."""
    with_history()

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    command = [sys.executable, "-m", "coach", "review", words, "--bird", BIRD, "--member", "Robin"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, preexec_fn=limit, timeout=120)
    ran = Ran(done.returncode, done.stdout, done.stderr)
    assert "Checkers" in ran.out and ran.code == 2 and FULL in ran.err and "damaged" not in ran.err, ran


def test_a_read_only_home_costs_no_report(capsys: Capsys, disk: Path, words: str) -> None:
    """With a history there and without one."""
    with read_only(disk):
        told(run(capsys, "review", words, "--bird", BIRD, "--member", "Robin"), READ_ONLY)
    with_history()
    with read_only(disk):
        told(run(capsys, "review", words, "--bird", BIRD, "--member", "Robin"), READ_ONLY, READ_ONLY)


def test_a_held_lock_costs_no_report(capsys: Capsys, words: str) -> None:
    """Reading goes on beside another writer; adding waits, then tells."""
    with_history()
    with locked(history_file()):
        told(run(capsys, "review", words, "--bird", BIRD, "--member", "Robin"), LOCKED)


def test_only_what_is_damaged_is_called_damaged(capsys: Capsys, words: str) -> None:
    """A history with a spoilt page is told as damaged, by SQLite's own check, and the report is there."""
    with_history()
    with sqlite3.connect(history_file()) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    raw.close()
    spoilt = bytearray(history_file().read_bytes())
    spoilt[4096:] = b"\x55" * (len(spoilt) - 4096)
    history_file().write_bytes(spoilt)
    ran = run(capsys, "review", words, "--bird", BIRD, "--member", "Robin")
    assert ran.code == 2 and "Checkers" in ran.out and "the history is damaged or is no history; move the file away" in ran.err
    assert history_file().read_bytes() == bytes(spoilt)


@pytest.mark.parametrize("reason", ["some other trouble", "out of memory"])
def test_other_trouble_with_a_sound_history(home: Path, reason: str) -> None:
    """An error that SQLite's check does not confirm is not called damage."""
    with_history()
    with pytest.raises(CoachError, match="the file is sound; try again"), database.connect(history_file()):
        raise sqlite3.DatabaseError(reason)


def test_a_name_nobody_can_have_is_told_before_the_work(capsys: Capsys, words: str) -> None:
    """The input is at fault: one line, no report."""
    assert "has no letter or digit" in run(capsys, "review", words, "--bird", BIRD, "--member", "///").line


def test_output_that_nobody_takes(words: str, home: Path) -> None:
    """To a full device: one line, exit 2, and the history is kept all the same; to a reader that goes away: exit 0."""
    command = [sys.executable, "-m", "coach", "review", words, "--bird", BIRD, "--member", "Robin"]
    if not os.path.exists("/dev/full"):
        pytest.skip("no /dev/full")
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, timeout=120)
    assert done.returncode == 2 and done.stderr == (
        "coach: the result cannot be written (No space left on device); send it to another place\n"
    )
    with open_store() as store:
        assert len(store.sessions("Robin")) == 1
    reader, writer = os.pipe()
    os.close(reader)
    gone = subprocess.run([*command[:-1], "Kim"], cwd=ROOT, stdout=writer, stderr=subprocess.PIPE, text=True, timeout=120)
    os.close(writer)
    assert (gone.returncode, gone.stderr) == (0, "")
    with open_store() as store:
        assert len(store.sessions("Kim")) == 1


# --- takes, rehearsals, interviews ----------------------------------------------------------------------------------


def listens(monkeypatch: Patch) -> None:
    """The scripted listener in place of the embedded one."""
    chosen = SimpleNamespace(open=quick_listener, why="", listener="whisper", model="scripted")
    monkeypatch.setattr("coach.listen.choose.choose", lambda *_: chosen)
    monkeypatch.setattr("coach.review.choose", lambda *_: chosen)


def speaks(monkeypatch: Patch, at_the_end: Callable[[], object]) -> None:
    """Five seconds of sound in place of the microphone, then something happens."""

    class Ends(GrowingTake):
        def close(self) -> None:
            super().close()
            at_the_end()

    def start(_: str | None, wav: Path) -> GrowingTake:
        return Ends(wav, np.full(80_000, 0.1, np.float32), at_once=True)

    monkeypatch.setattr("coach.live.capture.open_capture", start)
    monkeypatch.setattr("coach.cli.rehearse._check_input", lambda _: None)


@pytest.mark.parametrize("trouble", ["full", "read-only"])
def test_a_take_is_reviewed_though_nothing_can_be_written(capsys: Capsys, monkeypatch: Patch, disk: Path, trouble: str) -> None:
    """A broken off take is mended as far as that goes, its report shown, and kept another time."""
    listens(monkeypatch)
    take = crashed()
    if trouble == "full":
        fill(disk)
        ran = run(capsys, "takes", "review", take.id)
    else:
        with read_only(disk):
            ran = run(capsys, "takes", "review", take.id)
    assert ran.code == 2 and "Checkers" in ran.out, ran
    assert "the take cannot be finished" in ran.err and "Traceback" not in ran.err


@pytest.mark.parametrize("trouble", ["full", "locked"])
def test_a_rehearsal_is_reported_though_nothing_can_be_written(
    capsys: Capsys, monkeypatch: Patch, disk: Path, trouble: str
) -> None:
    """What goes wrong after speaking costs neither the report nor the sound."""
    listens(monkeypatch)
    with_history()

    speaks(monkeypatch, (lambda: fill(disk)) if trouble == "full" else (lambda: None))
    argv = ("rehearse", "--bird", BIRD, "--member", "Robin", "--limit", "3s")
    if trouble == "full":
        ran = run(capsys, *argv)
        assert "the take cannot be finished (No space left on device); free some space" in ran.err and FULL in ran.err
    else:
        with locked(history_file()):
            ran = run(capsys, *argv)
        assert LOCKED in ran.err
    assert ran.code == 2 and "Checkers" in ran.out and "This take is kept" in ran.out and "damaged" not in ran.err
    (wav,) = disk.glob("takes/*/take.wav")
    assert wav.stat().st_size > 90_000


def answers(monkeypatch: Patch, *lines: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


INTERVIEW = ("interview", "--bird", BIRD, "--typed", "--alone", "--questions", "2", "--seed", "3", "--member", "Robin")


def test_an_interview_goes_on_when_the_disk_is_full(capsys: Capsys, monkeypatch: Patch, disk: Path) -> None:
    """Every question is asked, the trouble told once on the way, the result shown, exit 2."""
    with_history()
    real = Path.mkdir

    def mkdir(path: Path, *args: Any, **how: Any) -> None:
        real(path, *args, **how)
        if path.parent.name == "interviews":
            fill(disk)

    monkeypatch.setattr(Path, "mkdir", mkdir)
    answers(monkeypatch, "the comb", "", "the hock", "")
    ran = run(capsys, *INTERVIEW)
    assert ran.code == 2 and "Question 2 of 2" in ran.out and "Keep in mind" in ran.out
    assert ran.err.count("the answers cannot be kept (No space left on device)") == 2  # when it came, and at the end
    assert FULL in ran.err and "damaged" not in ran.err


def test_an_interview_is_told_though_the_history_is_locked(capsys: Capsys, monkeypatch: Patch) -> None:
    """The result is shown before the history is waited for."""
    with_history()
    answers(monkeypatch, "the comb", "", "the hock", "")
    with locked(history_file()):
        ran = run(capsys, *INTERVIEW)
    assert ran.code == 2 and "Keep in mind" in ran.out and LOCKED in ran.err


def test_a_recorded_interview_is_told_in_a_read_only_home(capsys: Capsys, disk: Path, tmp_path: Path) -> None:
    """Nothing can be kept: the result is shown, one line for the folder and one for the history."""
    words = tmp_path / "talk.txt"
    words.write_text(f"{load_bank().questions['chick-hatch-days'].ask} Twenty one days.", encoding="utf-8")
    asked = tmp_path / "asked.txt"
    asked.write_text("chick-hatch-days\n", encoding="utf-8")
    with read_only(disk):
        ran = run(capsys, "interview", "--bird", BIRD, "--recording", str(words), "--asked", str(asked))
    assert ran.code == 2 and "Keep in mind" in ran.out, ran
    assert ran.err.count("Read-only file system") == 2 == len(ran.err.splitlines())


def test_no_keep_says_when_the_sound_stays(capsys: Capsys, monkeypatch: Patch, disk: Path) -> None:
    """With --no-keep on a full disk the sound waits for the report; how to remove it is told."""
    listens(monkeypatch)

    speaks(monkeypatch, lambda: fill(disk))
    ran = run(capsys, "rehearse", "--bird", BIRD, "--limit", "3s", "--no-keep")
    assert ran.code == 2 and "Checkers" in ran.out and "the sound is still there; remove it with: coach takes delete" in ran.err
    shutil.rmtree(disk / "takes")


# --- the voice check and the transcript -----------------------------------------------------------------------------


class Hears:
    """A listener that hears a line of the passage in everything."""

    name = "whisper"

    def transcribe(self, samples: object, progress: object = None) -> TimedWords:
        text = " ".join(load_passage().paragraphs).split()
        return TimedWords(tuple(Word(w, 0.3 * n, 0.3 * n + 0.25, 0.99) for n, w in enumerate(text)), 0.3 * len(text))


def test_a_voice_check_is_told_though_it_cannot_be_remembered(capsys: Capsys, monkeypatch: Patch, disk: Path) -> None:
    """A minute was read: how it was heard is shown, one line tells that it is not kept."""
    monkeypatch.setattr("coach.cli.voice_check.open_wanted", lambda *_: Hears())
    sound = str(recordings_demo_dir() / "checkers.ogg")
    with read_only(disk):
        ran = run(capsys, "voice-check", sound, "--member", "Robin")
    assert ran.code == 2 and "words heard right" in ran.out and "Remembered" not in ran.out and ran.err.count("\n") == 1


def test_a_transcript_that_cannot_be_written_is_shown(capsys: Capsys, monkeypatch: Patch, disk: Path) -> None:
    """What was heard is on the screen when the file finds no room."""
    monkeypatch.setattr("coach.cli.transcribe.open_wanted", lambda *_: Hears())
    fill(disk)
    ran = run(capsys, "transcribe", str(recordings_demo_dir() / "checkers.ogg"), "--out", str(disk / "words.srt"))
    assert ran.code == 2 and ran.out.count("\n") > 5 and "No space left on device" in ran.err


def test_a_spoilt_voice_profile_is_told_before_the_rehearsal(capsys: Capsys, monkeypatch: Patch, home: Path) -> None:
    """Not after it, when the report would be lost."""
    profile = home / "members" / "robin" / "voice.json"
    monkeypatch.setattr("coach.voice.profile.profile_path", lambda _: profile)
    profile.parent.mkdir(parents=True)
    profile.write_text("{")
    assert "is no voice profile that can be read" in run(capsys, "rehearse", "--bird", BIRD, "--member", "Robin").line
    assert not (home / "takes").exists()

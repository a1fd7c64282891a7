"""`coach takes`: what it lists, plays, reviews and deletes, and the one line where it cannot."""

from __future__ import annotations

import os
import pty
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest
from cli_files import BIRD, run, script_words, words_file
from sound_server import SoundServer, needs_sound_server
from test_live_capture import Recorder, check_same
from test_live_takes import crashed, recorded

from coach.audio.read import read
from coach.audio.write import write_wav
from coach.live.takes import Take, TakeState, find_take, finish_take, list_takes, new_take
from coach.places import recordings_demo_dir
from coach.report.json_file import read_json, to_dict
from coach.review import load_subject, review

Capsys = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty home of the coach's, and no width or color from whoever runs the tests."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "coach"))
    monkeypatch.delenv("COLUMNS", raising=False)
    return tmp_path / "coach"


def reviewed(tmp_path: Path, keep_sound: bool = True) -> Take:
    """A finished take with a real report, made from the words of a demo's script."""
    words = words_file(tmp_path / "a.words.json", script_words("checkers"))
    return finish_take(recorded(), to_dict(review(None, load_subject(BIRD), words=words).report), keep_sound)


def test_no_takes(capsys: Capsys) -> None:
    """It says how to make one; nothing is made by looking."""
    ran = run(capsys, "takes")
    assert (ran.code, ran.out, ran.err) == (0, "No takes yet. Record one with: coach rehearse --bird FILE\n", "")
    assert run(capsys, "takes", "play").line == "coach: there are no takes yet; record one with: coach rehearse --bird FILE"


def test_the_list(capsys: Capsys, tmp_path: Path, home: Path) -> None:
    """One line a take, oldest first: length, items told, member, state; a broken off one is offered."""
    done, silent, broken = reviewed(tmp_path), reviewed(tmp_path, keep_sound=False), crashed()
    now = new_take(BIRD, "head-to-tail", member="Robin\x1b[31m")
    ran = run(capsys, "takes")
    assert ran == run(capsys, "takes", "list")
    head, *rows, kept, offer = ran.out.splitlines()
    assert head.split() == ["take", "length", "told", "member", "state"]
    columns = [re.split(r"  +", row) for row in rows]
    assert {row[0] for row in columns} == {take.id for take in (done, silent, broken, now)}
    by_id = {row[0]: row[1:] for row in columns}
    told = by_id[done.id][1]
    assert re.fullmatch(r"\d+ of \d+", told) and int(told.split()[0]) > 20
    assert by_id[done.id] == ["0:01", told, "-", "done"] and by_id[silent.id] == ["no sound", told, "-", "done"]
    assert by_id[broken.id] == ["0:03", "-", "-", "interrupted"]
    assert by_id[now.id] == ["no sound", "-", "Robin[31m", "recording"]
    assert kept == f"Kept in {home / 'takes'}"
    assert offer == f"{broken.id} was broken off; its sound is kept: coach takes review {broken.id}"


def test_a_stored_report_is_shown(capsys: Capsys, tmp_path: Path) -> None:
    """Without its sound a take shows the report it has, and playing it is one line."""
    take = reviewed(tmp_path, keep_sound=False)
    ran = run(capsys, "takes", "review", take.id)
    assert ran.code == 0 and "Checkers" in ran.out and ran.err.endswith("its sound was not kept; this is its stored report\n")
    assert "its sound was not kept; read its report with" in run(capsys, "takes", "play", take.id).line


def test_what_cannot_be_reviewed(capsys: Capsys, tmp_path: Path) -> None:
    """A take being recorded, one with nothing in it, one whose bird is gone, a damaged one: a line each."""
    now = recorded()
    assert run(capsys, "takes", "review").line == f"coach: {now.id}: is being recorded now; stop it first"
    finish_take(now, None)
    now.wav.unlink()
    assert "holds neither sound nor report; remove it with: coach takes delete" in run(capsys, "takes", "review").line
    bird = shutil.copy(BIRD, tmp_path / "bird.yaml")
    moved = crashed_with(Path(bird))
    assert run(capsys, "takes", "review", moved.id).line == (
        f"coach: {moved.id}: its bird {bird} is not there any more; say which bird with --bird FILE"
    )
    (moved.folder / "take.json").write_text("{")
    assert "its record is damaged; say which bird with --bird FILE" in run(capsys, "takes", "review", moved.id).line


def crashed_with(bird: Path) -> Take:
    """A finished take with sound whose bird's file is gone."""
    take = new_take(str(bird), "head-to-tail")
    shutil.copy(recorded().wav, take.wav)
    bird.unlink()
    return finish_take(take, None)


@pytest.mark.listener
@pytest.mark.parametrize("damaged", [False, True])
def test_a_broken_off_take_is_reviewed(capsys: Capsys, damaged: bool) -> None:
    """The real recogniser hears it; the report is shown and kept, and the take is done, also one whose record is damaged."""
    take = crashed(seconds=12)
    if damaged:
        (take.folder / "take.json").write_text("")
    ran = run(capsys, "takes", "review", take.id, *(["--bird", BIRD] if damaged else []))
    assert ran.code == 0 and ran.err == "" and "Checkers" in ran.out
    done = find_take(take.id)
    assert done.state is TakeState.DONE and done.report.exists() and done.bird == BIRD
    assert re.search(rf"{take.id}  0:12    \d+ of \d+  -       done", run(capsys, "takes").out)


@pytest.mark.listener
def test_a_drill_is_reviewed_as_a_drill(capsys: Capsys) -> None:
    """A take of two regions at junior level asks no more of the member when it is heard again, and still knows both later."""
    take = new_take(BIRD, "head-to-tail", level="junior", only="neck,head")
    sound = read(recordings_demo_dir() / "checkers.ogg")
    write_wav(take.wav, sound.samples[: 20 * sound.rate_hz], sound.rate_hz)
    finish_take(take, None)
    assert run(capsys, "takes", "review", take.id).code == 0
    done = find_take(take.id)
    assert (done.level, done.only) == ("junior", "neck,head")
    assert {v.region for v in read_json(done.report).judgement.verdicts} <= {"head", "neck", "faults"}


# Delete ----------------------------------------------------------------------------------------------------------------


def test_delete_needs_a_yes(capsys: Capsys, tmp_path: Path) -> None:
    """Where nobody can be asked nothing is deleted; with --yes it is, and what went is told."""
    take = reviewed(tmp_path)
    assert run(capsys, "takes", "delete", take.id).line == "coach: takes delete: nobody is there to ask; add --yes"
    assert list_takes() == (take,)
    ran = run(capsys, "takes", "delete", "--yes", take.id)
    assert (ran.code, ran.out, ran.err) == (0, f"Deleted {take.id} (sound 0:01, report)\n", "")
    assert not take.folder.exists()


def test_delete_what(capsys: Capsys) -> None:
    """Neither or both of ids and --all is one line, and so is a wrong id beside a right one: nothing is deleted."""
    take = finish_take(recorded(), None)
    for argv in ((), (take.id, "--all"), (take.id, "nobody")):
        assert run(capsys, "takes", "delete", "--yes", *argv).line
    now = recorded()
    assert "is being recorded now" in run(capsys, "takes", "delete", "--yes", take.id, now.id).line
    assert list_takes()[0] == take
    ran = run(capsys, "takes", "delete", "--all", "--yes")
    assert ran.out == f"Deleted {take.id} (sound 0:01)\n" and list_takes() == (now,)
    assert run(capsys, "takes", "delete", "--all", "--yes").out == "No takes to delete.\n"


@pytest.mark.parametrize(("answer", "deleted"), [("n", False), ("", False), ("maybe\nn", False), ("y", True)])
def test_delete_asks(answer: str, deleted: bool) -> None:
    """In a terminal it shows what would go and asks; anything but yes keeps all."""
    takes = [finish_take(recorded(), None) for _ in range(2)]
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "coach", "takes", "delete", "--all"]
    process = subprocess.Popen(command, stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    os.write(ours, f"{answer}\n".encode())
    out, err = process.communicate(timeout=60)
    os.close(ours)
    os.close(theirs)
    assert process.returncode == 0 and "Delete these 2 takes for good?" in err and takes[0].id in err
    assert bool(list_takes()) != deleted
    assert ("Nothing was deleted." in out) != deleted and out.count("Deleted") == 2 * deleted


# Play ------------------------------------------------------------------------------------------------------------------


@needs_sound_server
def test_play(tmp_path: Path, home: Path) -> None:
    """What comes out of the loudspeaker is the take; without a loudspeaker one line names the file to play elsewhere."""
    take = recorded()
    sound = read(recordings_demo_dir() / "checkers.ogg").samples[: 16000 * 3]
    write_wav(take.wav, sound, 16000)
    finish_take(take, None)
    folder = Path(tempfile.mkdtemp(prefix="coach-"))
    try:
        with SoundServer(folder) as server:
            server.env["COACH_HOME"] = str(home)
            recorder = Recorder(server, tmp_path / "heard.wav")
            played = server.coach("takes", "play")
            assert (played.returncode, played.stdout, played.stderr) == (0, "", f"{take.id}, 0:03; Ctrl-C stops\n")
            recorder.finish()
            check_same(np.asarray(sound), recorder.samples())
            server.kill()
            failed = server.coach("takes", "play")
    finally:
        shutil.rmtree(folder)
    assert failed.returncode == 2 and "no loudspeaker can be used" in failed.stderr and str(take.wav) in failed.stderr

"""Takes: private from their first moment, found again after a crash, never mixed up, and gone when deleted."""

from __future__ import annotations

import json
import os
import resource
import shutil
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from cli_files import BIRD
from sound_server import SoundServer, needs_sound_server

from coach.audio.read import read
from coach.errors import CoachError
from coach.live.takes import Take, TakeState, delete_take, find_take, finish_take, interrupted, list_takes, new_take, recover
from coach.live.wav_file import GrowingWav
from coach.places import recordings_demo_dir

# Begins a take, records into it, and says how long it is whenever a line comes in; the end of input finishes it.
REHEARSER = """
import os, sys
from coach.live.capture import open_capture
from coach.live.takes import finish_take, new_take
os.umask(0)
take = new_take(sys.argv[1], "head-to-tail", member="Robin")
with open_capture(None, take.wav) as capture:
    for _ in sys.stdin:
        print(capture.seconds(), flush=True)
finish_take(take, {"format": "rehearsal-report/1"})
"""
# Begins a take, puts the sound of a file into it, and ends without a last touch to the header once its input ends.
BEGINNER = """
import os, sys
from coach.audio.read import read
from coach.live.takes import new_take
from coach.live.wav_file import GrowingWav
take = new_take(sys.argv[1], "head-to-tail")
file = GrowingWav(take.wav, 16000)
file.append(read(sys.argv[2]).samples[:16000 * int(sys.argv[3])])
print(take.id, flush=True)
sys.stdin.readline()
os._exit(1)
"""
CHECKERS = recordings_demo_dir() / "checkers.ogg"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of the coach's that is not there yet, two folders deep."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "data" / "coach"))
    return tmp_path / "data" / "coach"


@pytest.fixture
def server(home: Path) -> Iterator[SoundServer]:
    """A sound system whose processes keep their takes where this one looks."""
    folder = Path(tempfile.mkdtemp(prefix="coach-"))
    try:
        with SoundServer(folder) as running:
            running.env["COACH_HOME"] = str(home)
            yield running
    finally:
        shutil.rmtree(folder)


def recorded(seconds: float = 1.0) -> Take:
    """A take of this process with that much sound."""
    take = new_take(BIRD, "head-to-tail")
    file = GrowingWav(take.wav, 16000)
    file.append(np.zeros(int(16000 * seconds), np.float32))
    file.close()
    return take


def begun_elsewhere(seconds: int = 3) -> tuple[str, subprocess.Popen[str]]:
    """A take of another process, with that much of a demo in it; it breaks off once the process's input ends."""
    command = [sys.executable, "-c", BEGINNER, BIRD, str(CHECKERS), str(seconds)]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    return process.stdout.readline().strip(), process


def crashed(seconds: int = 3) -> Take:
    """A take whose process is gone."""
    name, process = begun_elsewhere(seconds)
    process.communicate(timeout=30)
    return find_take(name)


def modes(folder: Path) -> dict[str, int]:
    """The permissions of all that is in a folder, and of the folder."""
    return {path.name: stat.S_IMODE(path.stat().st_mode) for path in (folder, *folder.rglob("*"))}


def test_a_take_tells_what_it_is() -> None:
    """Read back from the disk, a take is the one that was begun; its id holds time and bird."""
    before = time.strftime("%Y-%m-%d-%H%M%S")
    take = new_take(BIRD, "wings-early", member="Robin")
    assert list_takes() == (take,)
    assert before <= take.id[:17] <= time.strftime("%Y-%m-%d-%H%M%S") and take.id.endswith("-checkers")
    assert (take.bird, take.bird_id, take.route, take.member) == (BIRD, "checkers", "wings-early", "Robin")
    assert take.card == "barred-plymouth-rock" and take.state is TakeState.RECORDING
    assert take.seconds() is None


def test_paths_stay_right_from_anywhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A bird, card and route given relative to the folder of the day are kept whole."""
    for name in ("bird.yaml", "card.yaml", "route.yaml"):
        shutil.copy(BIRD, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    take = new_take("bird.yaml", "route.yaml", card="card.yaml")
    assert (take.bird, take.route, take.card) == tuple(str(tmp_path / f"{n}.yaml") for n in ("bird", "route", "card"))


def test_two_takes_in_one_second() -> None:
    """Each has a folder of its own, and the second comes after the first."""
    takes = [new_take(BIRD, "head-to-tail") for _ in range(3)]
    assert len({take.folder for take in takes}) == 3
    assert find_take("last") == takes[-1] and list_takes() == tuple(takes)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps a user's folder private by other means")
def test_everything_is_private(home: Path) -> None:
    """Under a umask that hides nothing, each folder made on the way is 0700 and each file 0600."""
    mask = os.umask(0)
    try:
        take = recorded()
        begun = modes(home.parent)
        finish_take(take, {"format": "rehearsal-report/1"})
    finally:
        os.umask(mask)
    done = modes(home.parent)
    assert begun == {"data": 0o700, "coach": 0o700, "takes": 0o700, take.id: 0o700, "take.json": 0o600, "take.wav": 0o600,
                     "lock": 0o600}  # fmt: skip
    assert {name: mode for name, mode in done.items() if name.endswith(".json")} == {"take.json": 0o600, "report.json": 0o600}
    assert set(done) == {"data", "coach", "takes", take.id, "take.json", "take.wav", "report.json"}


def test_a_finished_take() -> None:
    """It is done, holds its report word for word, and is not offered again."""
    take = finish_take(recorded(), {"bird_name": "Zoë"})
    assert list_takes() == (take,) and take.state is TakeState.DONE and interrupted() == ()
    assert json.loads(take.report.read_text(encoding="utf-8")) == {"bird_name": "Zoë"}
    assert take.seconds() == 1.0


def test_without_its_sound() -> None:
    """Not kept, the sound goes and the report stays; without a report nothing stays."""
    take = finish_take(recorded(), {"format": "rehearsal-report/1"}, keep_sound=False)
    assert sorted(path.name for path in take.folder.iterdir()) == ["report.json", "take.json"]
    gone = finish_take(recorded(), None, keep_sound=False)
    assert not gone.folder.exists() and list_takes() == (take,)


def test_a_crash_is_found() -> None:
    """While its process lives the take is being recorded; once it is gone the take is offered, until it is finished."""
    name, process = begun_elsewhere()
    assert find_take(name).state is TakeState.RECORDING and interrupted() == ()
    with pytest.raises(CoachError, match="is being recorded now"):
        delete_take(name)
    process.communicate(timeout=30)
    (take,) = interrupted()
    assert take.id == name and take.state is TakeState.INTERRUPTED and take.seconds() == 3.0
    finish_take(take, {"format": "rehearsal-report/1"})
    assert interrupted() == () and find_take(name).state is TakeState.DONE


def test_looking_does_not_let_go() -> None:
    """A process that lists takes while it records one still holds its own."""
    take = recorded()
    list_takes()
    interrupted()
    script = "import sys; from coach.live.takes import find_take; print(find_take().state.value)"
    seen = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    assert seen.stdout == "recording\n"
    finish_take(take, None)
    seen = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    assert seen.stdout == "done\n"


def test_a_crash_before_any_sound_is_not_offered() -> None:
    """There is nothing to review in it; it can still be deleted."""
    take = crashed()
    take.wav.unlink()
    assert interrupted() == () and delete_take(take.id) == take and list_takes() == ()


@pytest.mark.parametrize("record", ["", "{", "[]", '{"state": "done"}', '{"began": 7}', None])
def test_a_damaged_record(record: str | None) -> None:
    """The take is still listed, found and deleted."""
    take = crashed()
    path = take.folder / "take.json"
    path.unlink() if record is None else path.write_text(record, encoding="utf-8")
    (damaged,) = list_takes()
    assert damaged.state is TakeState.DAMAGED and damaged.seconds() == 3.0
    assert delete_take("last").id == take.id and not take.folder.exists()


def test_no_such_take() -> None:
    """A wrong id, and a path that leads outside, is one line; nothing else is ever deleted."""
    with pytest.raises(CoachError, match="there are no takes yet; record one"):
        find_take()
    take = finish_take(recorded(), None)
    for name in ("2020-01-01-000000-juniper", "..", "../..", "", str(take.folder)):
        with pytest.raises(CoachError, match="there is no such take; see them all with: coach takes"):
            delete_take(name)
    assert take.wav.exists()


def test_a_link_is_no_take(home: Path, tmp_path: Path) -> None:
    """A link among the takes is not followed."""
    finish_take(recorded(), None)
    (tmp_path / "elsewhere").mkdir()
    (home / "takes" / "2030-01-01-000000-juniper").symlink_to(tmp_path / "elsewhere")
    assert len(list_takes()) == 1


def test_a_home_that_is_a_file(home: Path) -> None:
    """One line says that takes cannot be kept there."""
    home.parent.mkdir()
    home.write_text("")
    with pytest.raises(CoachError, match="a take cannot be kept there .*; make the folder yours, or set COACH_HOME"):
        new_take(BIRD, "head-to-tail")


def test_no_room_for_the_report() -> None:
    """Where the report finds no room it is told, the sound stays, and once there is room the take can be finished."""
    take = recorded()
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (10, limits[1]))
        with pytest.raises(CoachError, match="the take cannot be finished"):
            finish_take(take, {"format": "rehearsal-report/1"}, keep_sound=False)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert sorted(path.name for path in take.folder.iterdir()) == ["lock", "take.json", "take.wav"]
    assert finish_take(take, {"format": "rehearsal-report/1"}).report.exists()


def test_recovering_a_take(tmp_path: Path) -> None:
    """A take killed before the header was mended once is whole after recover; a file of somebody else is left alone."""
    take = crashed()
    recover(take)
    assert np.allclose(read(take.wav).samples, read(CHECKERS).samples[:48000], atol=1e-4)
    take.wav.write_bytes(b"RIFF but nothing of ours, though long enough to hold a header")
    recover(take)
    assert take.wav.read_bytes().endswith(b"header")
    take.wav.unlink()
    with pytest.raises(CoachError, match="cannot be mended"):
        recover(take)


@needs_sound_server
def test_killed_while_rehearsing(server: SoundServer) -> None:
    """After kill -9 half way the take is offered, with all its sound but the last second at most; all is private."""
    process = server.python(REHEARSER, BIRD)
    assert process.stdin and process.stdout
    player = server.play(CHECKERS, wait=False)
    seconds = 0.0
    while seconds < 3:
        process.stdin.write("\n")
        process.stdin.flush()
        seconds = float(process.stdout.readline())
        time.sleep(0.05)
    assert find_take().state is TakeState.RECORDING
    process.kill()
    process.communicate(timeout=30)
    player.kill()
    player.wait()
    (take,) = interrupted()
    assert set(modes(take.folder).values()) == {0o700, 0o600} and take.member == "Robin"
    sound = read(take.wav)
    assert sound.seconds >= seconds - 1.0 and not sound.truncated

"""`coach rehearse` in a real terminal, with a real sound system, a demo played into the microphone and the real listener."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import tempfile
import time
import wave
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sound_server import SoundServer, needs_sound_server

from coach.audio.read import read
from coach.places import recordings_demo_dir
from coach.report.json_file import read_json
from coach.report.model import Report
from coach.review import load_subject, review

pytestmark = needs_sound_server
pexpect = pytest.importorskip("pexpect")

ROOT = Path(__file__).resolve().parent.parent
DEMO = "tansy"
BIRD = str(recordings_demo_dir() / "birds" / f"{DEMO}.yaml")
# Of about fifty verdicts. From the take to its file nothing changes but what a stretch is heard after; from the demo to the
# take the sound passes a loudspeaker, a microphone and two resamplers.
MOST_OTHER_THAN_THE_TAKE, MOST_OTHER_THAN_THE_DEMO = 1, 3
# A take begun by a process that dies.
CRASH = """
import os, sys
import numpy as np
from coach.live.takes import new_take
from coach.live.wav_file import GrowingWav
take = new_take(sys.argv[1], "head-to-tail")
GrowingWav(take.wav, 16000).append(np.zeros(32000, np.float32))
os._exit(9)
"""


@pytest.fixture
def sounds() -> Iterator[SoundServer]:
    """A sound system of its own."""
    with tempfile.TemporaryDirectory(prefix="coach") as folder, SoundServer(Path(folder)) as server:
        yield server


def rehearse(server: SoundServer, *options: str, size: tuple[int, int] = (24, 80)) -> Any:
    """The command in a terminal; the microphone's silence before the start is waved through."""
    env = {**server.env, "TERM": "xterm-256color", "LANG": "C.UTF-8"}
    for name in ("COLUMNS", "LINES"):  # set for the tests' own workers; the terminal's size is what counts here
        env.pop(name, None)
    argv = ["-m", "coach", "rehearse", "--bird", BIRD, *options]
    return pexpect.spawn(sys.executable, argv, env=env, cwd=str(ROOT), dimensions=size, encoding="utf-8", timeout=120)


def wave_through(terminal: Any) -> None:
    """Silence during the check is told; begin all the same."""
    terminal.expect("nothing is coming in")
    terminal.expect("Begin all the same")
    terminal.sendline("")


def others(a: Report, b: Report) -> list[str]:
    """Items with another status in b."""
    status = {v.id: v.status for v in b.judgement.verdicts}
    return [v.id for v in a.judgement.verdicts if status.get(v.id) is not v.status]


def takes(server: SoundServer) -> list[Path]:
    """The folders of all takes."""
    return sorted((Path(server.env["COACH_HOME"]) / "takes").glob("*"))


def is_running(pid: str) -> bool:
    """Whether that process is there and no mere entry of one that ended."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


@pytest.mark.listener
def test_a_whole_rehearsal_is_reported_as_its_recording_is(sounds: SoundServer, tmp_path: Path) -> None:
    """A demo is played, the screen follows, Enter stops; the report is the file's own within a stated tolerance."""
    terminal = rehearse(sounds, "--json", str(tmp_path / "live.json"))
    wave_through(terminal)
    terminal.expect("Ready")
    terminal.expect("Enter stops")
    player = sounds.play(recordings_demo_dir() / f"{DEMO}.ogg", wait=False)
    terminal.expect("Now: .*Head")
    terminal.expect("Now: .*Wings")
    while player.poll() is None:  # the screen is read on meanwhile, as a terminal would
        terminal.expect([pexpect.TIMEOUT, pexpect.EOF], timeout=1)
    time.sleep(1)
    terminal.send("\r")
    terminal.expect("What to fix next")
    terminal.expect("This take is kept")
    terminal.expect(pexpect.EOF)
    live = read_json(tmp_path / "live.json")
    (folder,) = takes(sounds)
    assert json.loads((folder / "report.json").read_text()) == json.loads((tmp_path / "live.json").read_text())
    subject = load_subject(BIRD)
    assert len(others(live, review(str(folder / "take.wav"), subject).report)) <= MOST_OTHER_THAN_THE_TAKE
    assert len(others(live, review(str(recordings_demo_dir() / f"{DEMO}.ogg"), subject).report)) <= MOST_OTHER_THAN_THE_DEMO


@pytest.mark.listener
def test_the_limit_stops_a_silent_rehearsal_and_nothing_is_kept_unasked(sounds: SoundServer) -> None:
    """Big letters, a limit, no speech: one clear line, and with --no-keep no sound stays behind."""
    terminal = rehearse(sounds, "--limit", "4s", "--big", "--no-keep")
    wave_through(terminal)
    terminal.expect("Time left")
    terminal.expect("coach: no speech was heard; check the microphone with: coach devices")
    terminal.expect(pexpect.EOF)
    terminal.close()
    assert terminal.exitstatus == 2 and takes(sounds) == []


@pytest.mark.listener
@pytest.mark.parametrize("big", [(), ("--big",)], ids=["lines", "big"])
def test_a_window_of_any_size_records_on(sounds: SoundServer, big: tuple[str, ...]) -> None:
    """Dragged to 20 x 5, 20 x 24, 1 x 1 and back while recording: no sound is lost, and the report comes as ever."""
    terminal = rehearse(sounds, *big, size=(24, 80))
    wave_through(terminal)
    terminal.expect("Time:|Enter stops")
    player = sounds.play(recordings_demo_dir() / f"{DEMO}.ogg", wait=False)
    began = time.monotonic()
    for rows, columns in ((5, 20), (24, 20), (1, 1), (24, 1), (3, 200), (24, 80)):
        terminal.setwinsize(rows, columns)
        terminal.expect([pexpect.TIMEOUT, pexpect.EOF], timeout=2)
        assert terminal.isalive()
    recorded_s = time.monotonic() - began
    terminal.send("\r")
    player.kill()
    player.wait()
    terminal.expect("This take is kept")
    terminal.expect(pexpect.EOF)
    terminal.close()
    (folder,) = takes(sounds)
    assert terminal.exitstatus == 0 and read(folder / "take.wav").seconds >= recorded_s - 0.5


@pytest.mark.listener
def test_a_window_that_is_small_from_the_start(sounds: SoundServer) -> None:
    """Begun in 20 x 24, ended by the limit: the take is whole."""
    terminal = rehearse(sounds, "--limit", "3s", size=(24, 20))
    wave_through(terminal)
    terminal.expect("no speech was heard")
    terminal.expect(pexpect.EOF)
    terminal.close()
    (folder,) = takes(sounds)
    with wave.open(str(folder / "take.wav")) as take:
        assert terminal.exitstatus == 2 and take.getnframes() / take.getframerate() >= 2.9


@pytest.mark.listener
def test_killed_half_way_it_leaves_a_take_and_no_process(sounds: SoundServer) -> None:
    """After kill -9 the listening process ends by itself, and the sound so far is a take that was broken off."""
    terminal = rehearse(sounds)
    wave_through(terminal)
    terminal.expect("Enter stops")
    player = sounds.play(recordings_demo_dir() / f"{DEMO}.ogg", wait=False)
    terminal.expect("0:05")
    children = subprocess.run(["pgrep", "-P", str(terminal.pid)], capture_output=True, text=True).stdout.split()
    terminal.kill(signal.SIGKILL)
    player.kill()
    player.wait()
    (folder,) = takes(sounds)
    assert children and read(folder / "take.wav").seconds > 4.0
    deadline = time.monotonic() + 30
    while any(is_running(child) for child in children) and time.monotonic() < deadline:
        time.sleep(0.2)
    assert not any(is_running(child) for child in children)
    assert "interrupted" in sounds.coach("takes").stdout


def test_ctrl_c_during_the_count_leaves_nothing(sounds: SoundServer) -> None:
    """Nothing was recorded yet: no take, the terminal as it was."""
    terminal = rehearse(sounds)
    wave_through(terminal)
    terminal.expect("Ready")
    terminal.sendintr()
    terminal.expect("coach: stopped")
    terminal.expect(pexpect.EOF)
    terminal.close()
    assert terminal.exitstatus == 130 and takes(sounds) == []
    assert "Traceback" not in terminal.before


def test_a_take_that_was_broken_off_is_offered(sounds: SoundServer) -> None:
    """What a crash left is named at the next start; "delete" removes it, and the rehearsal goes on to the microphone."""
    subprocess.run([sys.executable, "-c", CRASH, BIRD], env=sounds.env, cwd=ROOT, timeout=60)
    assert len(takes(sounds)) == 1
    terminal = rehearse(sounds)
    terminal.expect("a rehearsal of 0:02 was broken off, its sound is kept")
    terminal.sendline("delete")
    terminal.expect("Checking the microphone")
    assert takes(sounds) == []
    terminal.expect("Begin all the same")
    terminal.sendline("no")
    terminal.expect("coach: not begun; try the microphone with: coach devices")
    terminal.expect(pexpect.EOF)
    terminal.close()
    assert terminal.exitstatus == 2

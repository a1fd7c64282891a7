"""From the microphone to the disk, with a real sound system and no sound hardware: what is played is what is kept."""

from __future__ import annotations

import errno
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import wave
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cli_files import wav
from sound_server import SoundServer, needs_sound_server

from coach.audio.levels import rms_dbfs
from coach.audio.read import read
from coach.errors import CoachError
from coach.live.capture import Capture
from coach.live.check import judge_input
from coach.live.devices import InputDevice, input_devices, pick_device, quiet_libraries
from coach.live.microphone import Downmix, LossMeter, Resampler
from coach.live.wav_file import GrowingWav
from coach.places import recordings_demo_dir

Samples = np.ndarray[Any, np.dtype[np.float32]]

CHECKERS = read(recordings_demo_dir() / "checkers.ogg").samples
SPEECH = CHECKERS[: 16000 * 6]
LEAST_LIKENESS = 0.99  # correlation; sound passes two resamplers on the way
LEVEL_TOLERANCE_DB = 0.5

# Records into argv[1] at a rate and a number of channels; a line in: the state out; the end of its input: closes.
RECORDER = """
import json, os, sys
from dataclasses import replace
from pathlib import Path
from coach.live.capture import Capture
from coach.live.devices import find_device, quiet_libraries

path, rate_hz, channels = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
n_heard = 0
def hear(samples):
    global n_heard
    n_heard += len(samples)
with quiet_libraries():
    capture = Capture(replace(find_device(), rate_hz=rate_hz, channels=channels), path, hear)
    def tell():
        state = dict(seconds=capture.seconds(), level=capture.level_dbfs(), problem=capture.problem(), heard=n_heard,
                     lost_s=capture.lost_s(), running=capture.is_running())
        print(json.dumps(state), flush=True)
    for _ in sys.stdin:
        tell()
    capture.close()
    tell()
"""


class Recorder:
    """A capture in a process of its own."""

    def __init__(self, server: SoundServer, path: Path, rate_hz: int = 44100, channels: int = 1) -> None:
        self.path = path
        self.process = server.python(RECORDER, str(path), str(rate_hz), str(channels))
        self.wait_until(lambda state: state["seconds"] > 0.2)

    def state(self) -> dict[str, Any]:
        """What the capture says now."""
        assert self.process.stdin and self.process.stdout
        self.process.stdin.write("\n")
        self.process.stdin.flush()
        return dict(json.loads(self.process.stdout.readline()))

    def wait_until(self, is_so: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """The first state of which that is so."""
        for _ in range(300):
            if is_so(state := self.state()):
                return state
            time.sleep(0.05)
        raise AssertionError(f"still not so: {state}")

    def finish(self) -> dict[str, Any]:
        """Close the capture; its last state, and nothing on stderr."""
        out, err = self.process.communicate(timeout=20)
        assert (self.process.returncode, err) == (0, "")
        return dict(json.loads(out.splitlines()[-1]))

    def samples(self) -> Samples:
        """What is in the file now, as any reader sees it."""
        with wave.open(str(self.path), "rb") as file:
            assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (16000, 1, 2)
            return np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.float32) / 32768


@pytest.fixture
def server() -> Iterator[SoundServer]:
    """A sound system for one test, so that it may be broken; its folder's name is short, for the socket."""
    folder = Path(tempfile.mkdtemp(prefix="coach-"))
    try:
        with SoundServer(folder) as running:
            yield running
    finally:
        shutil.rmtree(folder)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 8 MB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", folder], capture_output=True, text=True)
    if done.returncode:
        pytest.skip(f"a small disk cannot be mounted here: {done.stderr.strip()}")
    yield folder
    subprocess.run(["umount", folder], check=True)


def speech_file(tmp_path: Path, samples: Samples = SPEECH) -> Path:
    """Something to play."""
    return Path(wav(tmp_path / "speech.wav", samples))


def placed(played: Samples, heard: Samples) -> Samples:
    """The stretch of what was heard that is most like what was played (cross-correlation), of the same length."""
    n = 1 << (len(played) + len(heard)).bit_length()
    likeness = np.fft.irfft(np.fft.rfft(heard, n) * np.conj(np.fft.rfft(played, n)), n)
    start = int(np.argmax(likeness[: len(heard)]))
    return heard[start : start + len(played)]


def check_same(played: Samples, heard: Samples) -> None:
    """Nothing lost, nothing doubled, the same level: any gap or jump spoils the correlation."""
    found = placed(played, heard)
    assert len(found) == len(played), f"{len(heard)} samples hold only {len(found)} of {len(played)}"
    assert np.corrcoef(found, played)[0, 1] > LEAST_LIKENESS
    assert rms_dbfs(found) == pytest.approx(rms_dbfs(played), abs=LEVEL_TOLERANCE_DB)


# The whole way ---------------------------------------------------------------------------------------------------------


@needs_sound_server
@pytest.mark.parametrize(("rate_hz", "channels"), [(44100, 1), (44100, 2), (48000, 2), (16000, 1)])
def test_what_is_played_is_what_is_kept(server: SoundServer, tmp_path: Path, rate_hz: int, channels: int) -> None:
    """At any rate and number of channels the file holds the sound, whole and at its level, and a listener got it all."""
    recorder = Recorder(server, tmp_path / "take.wav", rate_hz, channels)
    server.play(speech_file(tmp_path))
    end = recorder.finish()
    check_same(SPEECH, recorder.samples())
    assert end["lost_s"] == 0 and end["problem"] is None
    assert end["heard"] == len(recorder.samples()) == round(end["seconds"] * 16000)


@needs_sound_server
def test_the_file_is_valid_while_it_grows(server: SoundServer, tmp_path: Path) -> None:
    """During the recording it opens at any moment, never more than a second short of what was taken in."""
    recorder = Recorder(server, tmp_path / "take.wav")
    player = server.play(speech_file(tmp_path), wait=False)
    for place_s in (1.0, 2.0, 3.0):
        seconds = recorder.wait_until(lambda state, place_s=place_s: state["seconds"] >= place_s)["seconds"]  # type: ignore[misc]
        assert len(recorder.samples()) / 16000 >= seconds - 1.0
    player.wait()
    recorder.finish()


@needs_sound_server
def test_two_captures_at_once(server: SoundServer, tmp_path: Path) -> None:
    """Both hear the same, and neither spoils the other."""
    recorders = [Recorder(server, tmp_path / f"{n}.wav", rate_hz) for n, rate_hz in enumerate((44100, 48000))]
    server.play(speech_file(tmp_path))
    for recorder in recorders:
        recorder.finish()
        check_same(SPEECH, recorder.samples())


@needs_sound_server
def test_silence_is_told_and_forgotten(server: SoundServer, tmp_path: Path) -> None:
    """A muted microphone is told after some seconds; once something is heard, the warning goes and the level rises."""
    recorder = Recorder(server, tmp_path / "take.wav")
    state = recorder.wait_until(lambda state: state["problem"] is not None)
    assert "is silent: unmute it or choose another" in state["problem"] and state["running"] and state["level"] == -120
    player = server.play(speech_file(tmp_path), wait=False)
    recorder.wait_until(lambda state: state["problem"] is None and state["level"] > -40)
    player.kill()
    player.wait()
    recorder.finish()


# What goes wrong -------------------------------------------------------------------------------------------------------


@needs_sound_server
@pytest.mark.parametrize("loss", [SoundServer.unplug, SoundServer.kill])
def test_the_microphone_vanishes(server: SoundServer, tmp_path: Path, loss: Callable[[SoundServer], None]) -> None:
    """It is told in one line with the time and what to do; the take so far is whole and readable."""
    recorder = Recorder(server, tmp_path / "take.wav")
    player = server.play(speech_file(tmp_path), wait=False)
    recorder.wait_until(lambda state: state["seconds"] > 4)
    loss(server)
    player.wait()
    problem = recorder.wait_until(lambda state: not state["running"])["problem"]
    assert problem.startswith("the microphone 'default' is gone at 0:0") and "take so far is kept; plug it in" in problem
    assert recorder.finish()["problem"] == problem
    check_same(SPEECH[: 16000 * 3], recorder.samples())


@needs_sound_server
def test_killed_half_way(server: SoundServer, tmp_path: Path) -> None:
    """After kill -9 the file opens and holds all but the last second at most."""
    recorder = Recorder(server, tmp_path / "take.wav")
    player = server.play(speech_file(tmp_path), wait=False)
    seconds = recorder.wait_until(lambda state: state["seconds"] > 4)["seconds"]
    recorder.process.kill()
    recorder.process.communicate(timeout=20)
    player.kill()
    player.wait()
    assert len(recorder.samples()) / 16000 >= seconds - 1.0
    check_same(SPEECH[: 16000 * 2], recorder.samples())
    assert not read(recorder.path).truncated


@needs_sound_server
@pytest.mark.parametrize(
    ("left_bytes", "words"),
    [(1 << 20, "the disk is full at 0:0"), (0, "the disk takes no more sound (No space left on device) at")],
)
def test_the_disk_fills_up(server: SoundServer, tmp_path: Path, small_disk: Path, left_bytes: int, words: str) -> None:
    """Little room is told from the start; when it runs out that is told at once, and the take so far is kept.

    A megabyte left is not used up: the report needs room.
    """
    recorder = Recorder(server, small_disk / "take.wav")
    player = server.play(speech_file(tmp_path), wait=False)
    low = recorder.wait_until(lambda state: state["seconds"] > 4)
    assert "the disk is nearly full" in low["problem"] and low["running"]
    fill(small_disk, left_bytes)
    full = recorder.wait_until(lambda state: not state["running"])
    assert full["problem"].startswith(words) or (not left_bytes and full["problem"].startswith("the disk is full at"))
    assert full["problem"].endswith("the take so far is kept; free some space")
    assert full["seconds"] - low["seconds"] < 2
    assert shutil.disk_usage(small_disk).free >= left_bytes * 0.8
    player.kill()
    player.wait()
    recorder.finish()
    check_same(SPEECH[: 16000 * 3], recorder.samples())


def fill(disk: Path, left_bytes: int) -> None:
    """Use up a disk but for so many bytes."""
    with (disk / "filler").open("wb", buffering=0) as filler:
        try:
            while (free := shutil.disk_usage(disk).free) > left_bytes or not left_bytes:
                filler.write(bytes(min(1 << 20, max(4096, free - left_bytes))))
        except OSError as err:
            assert err.errno == errno.ENOSPC


def test_no_recording_begins_on_a_full_disk(small_disk: Path) -> None:
    """One line says so before anything is opened."""
    (small_disk / "filler").write_bytes(bytes(7 << 20))
    with pytest.raises(CoachError, match="take.wav: the disk is full; free some space"):
        Capture(InputDevice(0, "any", "ALSA", 1, 44100), small_disk / "take.wav")


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the size of files")
def test_a_disk_that_takes_a_part(tmp_path: Path) -> None:
    """The file keeps every whole sample that went in, and says so in its header."""
    path = tmp_path / "take.wav"
    file = GrowingWav(path, 16000)
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (10_001, limits[1]))  # not a whole number of samples
        with pytest.raises(OSError) as failed:
            for _ in range(100):
                file.append(np.full(1600, 0.5, np.float32))
        file.close()
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert failed.value.errno == errno.EFBIG
    with wave.open(str(path), "rb") as kept:
        samples = np.frombuffer(kept.readframes(kept.getnframes()), "<i2")
    assert len(samples) == (10_001 - 44) // 2 and path.stat().st_size == 44 + 2 * len(samples)
    assert (samples == 16384).all()


def test_a_take_is_never_recorded_over(tmp_path: Path) -> None:
    """A file that is there already stays as it is."""
    (tmp_path / "take.wav").write_bytes(b"older")
    with pytest.raises(FileExistsError):
        GrowingWav(tmp_path / "take.wav", 16000)
    assert (tmp_path / "take.wav").read_bytes() == b"older"


@needs_sound_server
def test_a_listener_that_fails_costs_nothing(server: SoundServer, tmp_path: Path) -> None:
    """Recording goes on when whoever listens along raises an error, which is kept for the caller."""
    script = """
import sys, time
from pathlib import Path
from coach.live.capture import open_capture
with open_capture(None, Path(sys.argv[1]), lambda samples: 1 / 0) as capture:
    while capture.seconds() < 1:
        time.sleep(0.05)
print(repr(capture.listener_error), capture.problem())
"""
    out, err = server.python(script, str(tmp_path / "take.wav")).communicate(timeout=30)
    assert (out, err) == ("ZeroDivisionError('division by zero') None\n", "")


# The parts -------------------------------------------------------------------------------------------------------------


def tone(rate_hz: int, frequency_hz: float, seconds: float = 2.0) -> Samples:
    """A sine at half of full scale."""
    return (0.5 * np.sin(2 * np.pi * frequency_hz * np.arange(int(rate_hz * seconds)) / rate_hz)).astype(np.float32)


def resampled(samples: Samples, rate_hz: int, piece: int) -> Samples:
    """All of it, given piece by piece."""
    resampler = Resampler(rate_hz)
    pieces = [resampler.push(samples[at : at + piece]) for at in range(0, len(samples), piece)]
    return np.concatenate([*pieces, resampler.finish()])


@pytest.mark.parametrize("drift", [-200e-6, 0, 200e-6])
@pytest.mark.parametrize("lost_s", [0.0, 0.5, 19.0])
def test_lost_sound_is_found_by_the_clock(lost_s: float, drift: float) -> None:
    """Lumps of half a second, lateness and a clock off by 200 millionths are no loss; half a second missing is."""
    late = np.random.default_rng(7)
    meter = LossMeter(48000)
    for place_s in np.arange(0.0, 600.0, 0.5):
        gone_s = lost_s if place_s > 300 else 0.0
        meter.note(1000 + gone_s + place_s * (1 + drift) + late.uniform(0, 0.4), round(48000 * place_s))
    assert meter.n_lost == pytest.approx(48000 * lost_s, abs=48000 * (0.15 if lost_s else 0))


@pytest.mark.parametrize("rate_hz", [8000, 11025, 16000, 22050, 44100, 48000, 96000, 192000])
def test_resampling_keeps_a_tone(rate_hz: int) -> None:
    """A tone of 1 kHz comes out as the same tone at 16 kHz, to -50 dB, without a seam between pieces."""
    out = resampled(tone(rate_hz, 1000), rate_hz, rate_hz // 100)
    assert len(out) == pytest.approx(32000, abs=40)
    inner = slice(1000, 31000)
    assert rms_dbfs(out[inner] - tone(16000, 1000)[: len(out)][inner]) < rms_dbfs(out[inner]) - 50


def test_resampling_in_pieces_is_resampling_at_once() -> None:
    """How the sound is cut makes no difference."""
    whole = resampled(CHECKERS[:48000], 48000, 48000)
    assert np.array_equal(whole, resampled(CHECKERS[:48000], 48000, 333))


def test_what_16_khz_cannot_hold_is_left_out() -> None:
    """A tone of 11 kHz would fold back into the voice at 5 kHz; it is at least 60 dB down."""
    assert rms_dbfs(resampled(tone(48000, 11000), 48000, 480)[1000:31000]) < rms_dbfs(tone(48000, 11000)) - 60


@pytest.mark.parametrize(
    ("left", "right", "level_db"),
    [(1.0, 1.0, 0.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (1.0, -1.0, 0.0), (1.0, 0.5, -2.5)],
)
def test_mixing_down_loses_no_voice(left: float, right: float, level_db: float) -> None:
    """Two alike give themselves; a dead channel does not halve the voice, an opposed pair does not cancel it."""
    voice = SPEECH[16000:48000]
    mixer = Downmix(2, 16000)
    frames = np.stack([left * voice, right * voice], axis=1)
    out = np.concatenate([mixer.mix(frames[at : at + 480]) for at in range(0, len(frames), 480)])
    assert rms_dbfs(out) - rms_dbfs(voice) == pytest.approx(level_db, abs=0.1)


# Check and devices -----------------------------------------------------------------------------------------------------

ROOM = (0.0003 * np.random.default_rng(6).standard_normal(32000)).astype(np.float32)  # -70 dBFS
VOICE = SPEECH[16000:48000] + ROOM


@pytest.mark.parametrize(
    ("samples", "advice"),
    [
        (VOICE, "good"),
        (np.zeros(32000, np.float32), "nothing is coming in"),
        (np.zeros(0, np.float32), "nothing is coming in"),
        (np.clip(VOICE * 30, -1, 1), "too loud"),
        (VOICE * 0.01 + ROOM, "too quiet"),
        (ROOM * 100, "no voice stands out"),
    ],
)
def test_the_check_names_the_worst_fault(samples: Samples, advice: str) -> None:
    """Each fault has its advice, and a good microphone is told to be good."""
    check = judge_input(samples.astype(np.float32), "any")
    assert check.advice.startswith(advice)
    assert check.is_good == (advice == "good") and check.is_silent == (advice == "nothing is coming in")


def test_the_check_measures_levels() -> None:
    """A tone of -9 dBFS RMS in the second half, nothing before: these are the figures."""
    check = judge_input(np.concatenate([ROOM[:16000], tone(16000, 500, 1.0)]), "any")
    assert check.level_dbfs == pytest.approx(-9.03, abs=0.1) and check.noise_dbfs == pytest.approx(-70.5, abs=1)


WINDOWS = (
    InputDevice(0, "Microphone (USB)", "MME", 2, 44100),
    InputDevice(1, "Line", "MME", 2, 44100, is_default=True),
    InputDevice(2, "Microphone (USB)", "Windows WASAPI", 1, 48000),
)


@pytest.mark.parametrize(("device", "index"), [(None, 1), ("2", 2), ("usb", 0), ("LINE", 1), ("microphone (usb)", 0)])
def test_a_device_is_picked(device: str | None, index: int) -> None:
    """By number, name, part of a name; listed twice, that of the default's sound system is meant."""
    assert pick_device(WINDOWS, device).index == index


@pytest.mark.parametrize(
    ("devices", "device", "words"),
    [
        ((), None, "no microphone found; plug one in"),
        (WINDOWS, "7", "--device 7: is no microphone here; give one of these numbers: 0 Microphone"),
        (WINDOWS, "headset", "--device headset: is no microphone here"),
        (WINDOWS, "i", "--device i: fits more than one microphone; give one of these numbers: 0 Microphone (USB), 1 Line"),
    ],
)
def test_a_device_that_is_not_there(devices: tuple[InputDevice, ...], device: str | None, words: str) -> None:
    """One line says which there are."""
    with pytest.raises(CoachError) as failed:
        pick_device(devices, device)
    assert words in str(failed.value) and "\n" not in str(failed.value)


def test_libraries_are_quiet_and_python_is_not() -> None:
    """Inside, only what Python says reaches the terminal; afterwards all is as before."""
    script = (
        "import os, sys\nfrom coach.live.devices import quiet_libraries\n"
        "with quiet_libraries():\n    os.write(2, b'library\\n')\n    print('python', file=sys.stderr)\n"
        "os.write(2, b'after\\n')\nprint('end', file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    assert done.stderr == "python\nafter\nend\n"
    with quiet_libraries():
        os.fstat(2)


# The command -----------------------------------------------------------------------------------------------------------


@needs_sound_server
def test_coach_devices(server: SoundServer, tmp_path: Path) -> None:
    """The list marks the default; a try tells whether a voice is heard; a wrong name is one line."""
    listed = server.coach("devices")
    assert listed.returncode == 0 and any(line.startswith("*") and "default" in line for line in listed.stdout.splitlines())
    assert server.coach("devices", "--try").stdout.startswith("default: nothing at all\nNothing is coming in: unmute it")
    player = server.play(speech_file(tmp_path, CHECKERS[:480000]), wait=False)
    assert server.coach("devices", "--try", "--device", "pulse").stdout.endswith("\nGood: the microphone hears you well.\n")
    player.kill()
    player.wait()
    wrong = server.coach("devices", "--device", "headset")
    assert wrong.returncode == 2 and wrong.stdout == "" and wrong.stderr.count("\n") == 1


@needs_sound_server
def test_no_microphone(server: SoundServer) -> None:
    """Without any input the list says what to do, and a try is one line."""
    server.kill()
    listed = server.coach("devices")
    assert listed.returncode == 0 and listed.stdout.startswith("No microphone found. Plug one in")
    tried = server.coach("devices", "--try")
    assert tried.returncode == 2 and tried.stderr.startswith("coach: no microphone found; plug one in"), tried.stderr


@pytest.mark.parametrize("argv", [("devices",), ("devices", "--try")])
def test_no_portaudio(tmp_path: Path, argv: tuple[str, ...]) -> None:
    """One line names the package to install; what needs no microphone works."""
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')\n", encoding="utf-8")
    env = {**os.environ, "PYTHONPATH": os.pathsep.join((str(tmp_path), os.getcwd())), "COACH_HOME": str(tmp_path)}
    done = subprocess.run([sys.executable, "-m", "coach", *argv], env=env, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2 and done.stdout == "" and done.stderr.count("\n") == 1
    assert "PortAudio library is missing" in done.stderr
    assert sys.platform != "linux" or "sudo apt install libportaudio2" in done.stderr
    works = subprocess.run([sys.executable, "-m", "coach", "takes"], env=env, capture_output=True, text=True, timeout=60)
    assert works.returncode == 0 and works.stdout.startswith("No takes yet")


@pytest.mark.parametrize(
    ("platform", "words"),
    [("linux", "sudo apt install libportaudio2; on Fedora: sudo dnf install portaudio"), ("darwin", "pip"), ("win32", "pip")],
)
def test_portaudio_remedies(monkeypatch: pytest.MonkeyPatch, platform: str, words: str) -> None:
    """Each system has its own remedy."""

    class Broken:
        def find_spec(self, name: str, *_: object) -> None:
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Broken(), *sys.meta_path])
    monkeypatch.setattr(sys, "platform", platform)
    with pytest.raises(CoachError, match=words):
        input_devices()

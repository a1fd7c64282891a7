"""Nothing leaves the machine: whole commands, watched from outside, make no socket and send no packet."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from sound_server import SoundServer, needs_sound_server
from watching import Watch, needs_watch

from coach import quiet
from coach.places import models_dir, recordings_demo_dir

ROOT = Path(__file__).resolve().parent.parent
BIRD = str(recordings_demo_dir() / "birds" / "tansy.yaml")
DEMO = str(recordings_demo_dir() / "tansy.ogg")
INTERVIEW = str(ROOT / "tests" / "interview_answers" / "whole.ogg")
ASKED = ("chick-hatch-days", "keel-other-names", "brown-egg-breeds")  # in it
# What a person's environment may say against us; CI is gone, for some libraries keep silent where it is set.
AGAINST_US = {"HF_HUB_OFFLINE": "0", "HF_HUB_DISABLE_TELEMETRY": "0", "DO_NOT_TRACK": "0", "ORT_DISABLE_TELEMETRY": "0"}


@pytest.fixture
def home() -> Iterator[Path]:
    """A home folder that is empty."""
    with tempfile.TemporaryDirectory(prefix="coach") as folder:
        yield Path(folder)


def environment(home: Path) -> dict[str, str]:
    """Where nothing keeps a library silent but the coach itself."""
    kept = {name: value for name, value in os.environ.items() if name != "CI" and not name.startswith("XDG_")}
    return {**kept, **AGAINST_US, "HOME": str(home), "COACH_HOME": str(home / "coach"), "PYTHONPATH": str(ROOT)}


def left_behind(home: Path) -> list[str]:
    """Files in the home folder but outside the coach's own."""
    return sorted(str(p.relative_to(home)) for p in home.rglob("*") if p.is_file() and (home / "coach") not in p.parents)


@needs_watch
@pytest.mark.listener
@pytest.mark.parametrize(
    "argv",
    [
        ("review", DEMO, "--bird", BIRD, "--member", "Robin", "--page", "{home}/coach/page.html"),
        ("review", DEMO, "--bird", BIRD, "--listener", "vosk", "--model", str(models_dir() / "tiny-synthetic")),
        ("demo", "tansy"),
        ("interview", "--bird", BIRD, "--recording", INTERVIEW, "--asked", "{home}/coach/asked"),
        ("voice-check", DEMO, "--member", "Robin"),
        ("transcribe", DEMO),
        ("selfcheck",),
    ],
    ids=lambda argv: "vosk" if "vosk" in argv else argv[0],
)
def test_a_command_keeps_to_itself(home: Path, tmp_path: Path, argv: tuple[str, ...]) -> None:
    """No socket but of the machine's own kind, no packet, nothing written outside the coach's folder."""
    (home / "coach").mkdir()
    (home / "coach" / "asked").write_text("\n".join(ASKED), encoding="utf-8")
    watch = Watch(tmp_path)
    done = watch.run([sys.executable, "-m", "coach", *(word.format(home=home) for word in argv)], environment(home))
    assert done.returncode in (0, 2) and "Traceback" not in done.stderr, done.stderr
    assert watch.seen().nothing, watch.seen()
    assert left_behind(home) == []


@needs_watch
@needs_sound_server
@pytest.mark.listener
def test_a_rehearsal_keeps_to_itself(tmp_path: Path) -> None:
    """At a microphone, with its listening process: speech is heard, reported, and nothing is sent."""
    pexpect = pytest.importorskip("pexpect")
    with tempfile.TemporaryDirectory(prefix="coach") as folder, SoundServer(Path(folder)) as server:
        watch = Watch(tmp_path)
        command = watch.around([sys.executable, "-m", "coach", "rehearse", "--bird", BIRD])
        env = {**environment(Path(folder)), **{k: v for k, v in server.env.items() if k not in os.environ}}
        env |= {name: server.env[name] for name in ("HOME", "XDG_RUNTIME_DIR", "PULSE_SERVER", "PYTHONPATH")}
        env |= {"TERM": "xterm-256color", "LANG": "C.UTF-8"}
        terminal = pexpect.spawn(command[0], command[1:], env=env, cwd=str(ROOT), encoding="utf-8", timeout=120)
        terminal.expect("nothing is coming in")
        terminal.expect("Begin all the same")
        terminal.sendline("")
        terminal.expect("Enter stops")
        player = server.play(ROOT / "tests" / "sounds" / "trade-slt.ogg", wait=False)
        player.wait(timeout=60)
        time.sleep(1)
        terminal.send("\r")
        terminal.expect("This take is kept")
        terminal.expect(pexpect.EOF)
        terminal.close()
        assert terminal.exitstatus == 0 and watch.seen().nothing, watch.seen()


@needs_watch
@pytest.mark.parametrize(
    "program",
    [
        "import socket; socket.socket(socket.AF_INET, socket.SOCK_DGRAM).sendto(b'x', ('192.0.2.1', 9))",
        "import ctypes; ctypes.CDLL(None).getaddrinfo(b'example.org', None, None, ctypes.byref(ctypes.c_void_p()))",
        "import subprocess, sys; subprocess.run([sys.executable, '-c', 'import socket; socket.socket(socket.AF_INET6)'])",
    ],
    ids=["a packet", "a name looked up by the C library", "a socket of a process it starts"],
)
def test_the_watch_sees(home: Path, tmp_path: Path, program: str) -> None:
    """What must not be is seen when it is there, so that the tests above can fail."""
    watch = Watch(tmp_path)
    done = watch.run([sys.executable, "-c", program], environment(home))
    seen = watch.seen()
    assert done.returncode == 0 and seen.calls and not seen.nothing
    assert seen.packets is None or seen.packets > 0 or "AF_INET6" in program


def test_the_persons_settings_do_not_count(home: Path) -> None:
    """Whatever the environment says, it is overruled in this process and those that it starts."""
    code = "import coach, subprocess, sys; subprocess.run([sys.executable, '-c', 'import os; print(dict(os.environ))'])"
    done = subprocess.run([sys.executable, "-c", code], env=environment(home), capture_output=True, text=True, timeout=60)
    assert all(f"'{name}': '1'" in done.stdout for name in quiet._SETTINGS) and set(AGAINST_US) == set(quiet._SETTINGS)


@pytest.mark.listener
def test_no_library_that_calls_home_is_loaded(home: Path) -> None:
    """After hearing and judging a recording none of them is in memory, and none came with Python's own modules."""
    code = (
        "import sys\nfrom coach.cli import main\nfrom coach import quiet\n"
        f"main(['review', {DEMO!r}, '--bird', {BIRD!r}])\nimport coach.listen.whisper_stream\n"
        "assert 'tokenizers' in sys.modules and 'ctranslate2' in sys.modules\nprint('loaded:', quiet.callers())\n"
    )
    done = subprocess.run([sys.executable, "-c", code], env=environment(home), capture_output=True, text=True, timeout=300)
    assert done.stdout.splitlines()[-1] == "loaded: ()", done.stderr


def test_a_loaded_caller_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The self check says so, and that this is not right."""
    from coach.selfcheck import run_checks

    assert next(c for c in run_checks() if c.name == "Nothing leaves").works == (not quiet.callers())
    monkeypatch.setitem(sys.modules, "onnxruntime", sys)
    check = next(c for c in run_checks() if c.name == "Nothing leaves")
    assert not check.works and "onnxruntime" in check.found

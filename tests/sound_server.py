"""A sound system for tests on a machine without sound hardware: a PulseAudio of its own, a loudspeaker that nobody
hears, and a microphone that hears the loudspeaker. Whatever paplay plays arrives at the coach's microphone.

PortAudio looks at the environment once, so the code under test runs in a process of its own with `SoundServer.env`.
Debian's packages: pulseaudio libportaudio2 libasound2-plugins.
"""

from __future__ import annotations

import ctypes.util
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

__all__ = ["MISSING", "SoundServer", "needs_sound_server"]

_PROGRAMS = ("pulseaudio", "pactl", "paplay")
_PLUGIN = any(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so"))
MISSING = (
    [name for name in _PROGRAMS if shutil.which(name) is None]
    + ([] if ctypes.util.find_library("portaudio") else ["libportaudio2"])
    + ([] if _PLUGIN else ["libasound2-plugins"])
)
needs_sound_server = pytest.mark.skipif(bool(MISSING), reason=f"not installed: {', '.join(MISSING)}")

_ROOT = Path(__file__).resolve().parent.parent
_ASOUNDRC = "pcm.!default {type pulse}\nctl.!default {type pulse}\n"
# norewinds: without it the null sink hands its sound on up to two seconds late, in lumps.
_MODULES = (
    "module-null-sink sink_name=speaker rate=48000 channels=2 norewinds=1",
    "module-remap-source master=speaker.monitor source_name=microphone",
)


class SoundServer:
    """One PulseAudio in a folder of its own; a context manager."""

    def __init__(self, folder: Path) -> None:
        """folder: empty, and its path short (a socket's name holds about 100 letters)."""
        self.socket = folder / "socket"
        (folder / "run").mkdir(mode=0o700)
        (folder / ".asoundrc").write_text(_ASOUNDRC, encoding="utf-8")
        self.env = {
            **os.environ,
            "HOME": str(folder),
            "XDG_RUNTIME_DIR": str(folder / "run"),
            "PULSE_SERVER": f"unix:{self.socket}",
            "PULSE_LATENCY_MSEC": "30",
            "COACH_HOME": str(folder / "coach"),
            "PYTHONPATH": os.pathsep.join((str(_ROOT), str(_ROOT / "tests"))),
        }
        protocol = f"module-native-protocol-unix socket={self.socket} auth-anonymous=1"
        command = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "--disable-shm=yes"]
        for module in (protocol, *_MODULES):
            command += ["-L", module]
        env = {name: value for name, value in self.env.items() if name != "PULSE_SERVER"}
        with (folder / "pulseaudio.log").open("wb") as log:
            self.daemon = subprocess.Popen(command, env=env, stdout=log, stderr=log)
        self._wait_until_up()
        self.pactl("set-default-source", "microphone")

    def __enter__(self) -> SoundServer:
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()

    def pactl(self, *words: str) -> str:
        """One command to the daemon, and its answer."""
        done = subprocess.run(["pactl", *words], env=self.env, capture_output=True, text=True, timeout=20, check=True)
        return done.stdout

    def play(self, path: Path, *, wait: bool = True) -> subprocess.Popen[bytes]:
        """Play a recording into the microphone."""
        # A second in hand: on a busy machine a player short of sound would put gaps in, and the coach would be blamed.
        env = {**self.env, "PULSE_LATENCY_MSEC": "1000"}
        player = subprocess.Popen(["paplay", "--device=speaker", str(path)], env=env)
        if wait and player.wait(timeout=600) != 0:
            raise AssertionError(f"paplay could not play {path}")
        return player

    def unplug(self) -> None:
        """Take the microphone away while the daemon runs on."""
        for name in ("module-remap-source", "module-null-sink"):
            self.pactl("unload-module", name)

    def kill(self) -> None:
        """End the daemon as a crash would."""
        self.daemon.kill()
        self.daemon.wait(timeout=20)

    def python(self, script: str, *args: str, **popen: object) -> subprocess.Popen[str]:
        """Start a Python process that hears this sound system; script as for python -c, its output piped."""
        return subprocess.Popen(  # type: ignore[call-overload, no-any-return]
            [sys.executable, "-c", script, *args],
            env=self.env,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            **popen,
        )

    def coach(self, *argv: str) -> subprocess.CompletedProcess[str]:
        """Run a coach command to its end."""
        command = [sys.executable, "-m", "coach", *argv]
        return subprocess.run(command, env=self.env, cwd=_ROOT, capture_output=True, text=True, timeout=300)

    def _wait_until_up(self) -> None:
        for _ in range(100):
            try:
                if "microphone" in self.pactl("list", "short", "sources"):
                    return
            except subprocess.CalledProcessError:
                pass
            time.sleep(0.1)
        self.kill()
        raise AssertionError(f"PulseAudio did not start: {(self.socket.parent / 'pulseaudio.log').read_text()}")

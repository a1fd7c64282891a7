"""The microphones of this machine, by PortAudio: list them, pick one; one clear line where there is none.

The only module that loads sounddevice, and only inside load_sounddevice: all else works without PortAudio.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from coach.errors import CoachError

__all__ = ["InputDevice", "find_device", "input_devices", "load_sounddevice", "permission_hint", "quiet_libraries"]


@dataclass(frozen=True, slots=True)
class InputDevice:
    """One input as PortAudio lists it."""

    index: int  # PortAudio's number, valid as long as nothing is plugged in or out
    name: str
    system: str  # the sound system it belongs to, e.g. "ALSA", "Core Audio", "Windows WASAPI"
    channels: int  # the most it gives
    rate_hz: int  # the rate it is usually run at
    is_default: bool = False


def load_sounddevice() -> Any:
    """The sounddevice module; CoachError with the remedy for this system where PortAudio is missing."""
    try:
        import sounddevice
    except ImportError as err:
        raise CoachError("no microphone can be used: sounddevice is missing; run: pip install sounddevice") from err
    except OSError as err:
        remedy = _portaudio_remedy(sys.platform)
        raise CoachError(f"no microphone can be used: the PortAudio library is missing; {remedy}") from err
    except Exception as err:  # PortAudio is there but does not start; its error type is out of reach then
        first = next(iter(str(err).splitlines()), type(err).__name__)
        raise CoachError(f"no microphone can be used: PortAudio does not start ({first}); restart the computer") from err
    return sounddevice


def input_devices() -> tuple[InputDevice, ...]:
    """All inputs, in PortAudio's order; empty when there are none. CoachError: PortAudio is missing."""
    sounddevice = load_sounddevice()
    systems = [str(system["name"]) for system in sounddevice.query_hostapis()]
    default = _default_index(sounddevice)
    return tuple(
        InputDevice(
            index=int(found["index"]),
            name=" ".join(str(found["name"]).split()),
            system=systems[found["hostapi"]],
            channels=int(found["max_input_channels"]),
            rate_hz=round(found["default_samplerate"]),
            is_default=found["index"] == default,
        )
        for found in sounddevice.query_devices()
        if found["max_input_channels"] > 0
    )


def find_device(device: str | None = None) -> InputDevice:
    """The default input (None), or the one of that number, name, or only one whose name holds these words.

    Raises:
        CoachError: PortAudio or any input is missing, or nothing or more than one fits.
    """
    return pick_device(input_devices(), device)


def pick_device(devices: Sequence[InputDevice], device: str | None) -> InputDevice:
    """The same among given devices; pure."""
    if not devices:
        raise CoachError(f"no microphone found; plug one in, then try: coach devices. {permission_hint()}")
    if device is None:
        return next((d for d in devices if d.is_default), devices[0])
    if device.strip().isdecimal():
        fitting = [d for d in devices if d.index == int(device)]
    else:
        wanted = device.strip().lower()
        fitting = [d for d in devices if d.name.lower() == wanted] or [d for d in devices if wanted in d.name.lower()]
    # Windows lists one microphone once for each of its sound systems; the default's is the one meant.
    system = next((d.system for d in devices if d.is_default), None)
    fitting = [d for d in fitting if d.system == system] or fitting
    if len(fitting) != 1:
        what = "fits more than one microphone" if fitting else "is no microphone here"
        names = ", ".join(f"{d.index} {d.name}" for d in fitting or devices)
        raise CoachError(f"--device {device}: {what}; give one of these numbers: {names}")
    return fitting[0]


def permission_hint() -> str:
    """Where this system keeps a microphone from programs."""
    if sys.platform == "darwin":
        return "Allow the terminal in System Settings > Privacy & Security > Microphone"
    if sys.platform == "win32":
        return "Allow desktop apps in Settings > Privacy & security > Microphone"
    return "Look in the sound settings whether the right input is chosen and not muted"


@contextmanager
def quiet_libraries() -> Iterator[None]:
    """Keep what C libraries print when a device goes away off the terminal; Python's own stderr still shows.

    PortAudio has no way to be told. Processes started meanwhile are quiet too.
    """
    sys.stderr.flush()
    before, shown = sys.stderr, os.dup(2)
    silence = os.open(os.devnull, os.O_WRONLY)
    try:
        if _writes_to(before, 2):
            sys.stderr = open(shown, "w", encoding=before.encoding, errors="replace", buffering=1, closefd=False)  # noqa: SIM115
        os.dup2(silence, 2)
        yield
    finally:
        if sys.stderr is not before:
            sys.stderr.close()
            sys.stderr = before
        os.dup2(shown, 2)
        os.close(silence)
        os.close(shown)


def _writes_to(stream: Any, handle: int) -> bool:
    try:
        return bool(stream.fileno() == handle)
    except (OSError, ValueError, AttributeError):
        return False  # a stream in memory, as in tests


def _default_index(sounddevice: Any) -> int | None:
    try:
        return int(sounddevice.query_devices(kind="input")["index"])
    except (sounddevice.PortAudioError, ValueError):
        return None


def _portaudio_remedy(platform: str) -> str:
    if platform.startswith("linux"):
        return "on Debian or Ubuntu run: sudo apt install libportaudio2; on Fedora: sudo dnf install portaudio"
    return "it comes inside the sounddevice package; run: pip install --force-reinstall sounddevice"

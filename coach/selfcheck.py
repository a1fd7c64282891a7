"""What works on this machine and what to do about what does not: one Check a part, nothing changed or fetched."""

from __future__ import annotations

import importlib.metadata
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from coach.errors import CoachError
from coach.quiet import CALLERS, callers

__all__ = ["Check", "run_checks"]


@dataclass(frozen=True, slots=True)
class Check:
    """One part: its name, whether it works, what was found, what to do if it does not, and whether it is needed."""

    name: str
    works: bool
    found: str
    remedy: str = ""
    needed: bool = True


def run_checks() -> tuple[Check, ...]:
    """All checks."""
    parts = (_python(), _whisper(), _vosk(), _dictionary(), *_containers(), _cards(), _microphone(), _data_folder())
    return (*parts, _silence())  # last: it looks at what the others have loaded


def _python() -> Check:
    version = ".".join(map(str, sys.version_info[:3]))
    return Check("Python", sys.version_info >= (3, 10), version, "install Python 3.10 or newer")


def _version(package: str) -> str:
    return f"{package} {importlib.metadata.version(package)}"


def _guarded(name: str, look: Callable[[], str], remedy: str, needed: bool = True) -> Check:
    try:
        return Check(name, True, look(), needed=needed)
    except CoachError as err:
        return Check(name, False, str(err), remedy, needed)
    except Exception as err:  # whatever a broken installation throws is what this command is for
        first = next(iter(str(err).splitlines()), "")
        return Check(name, False, f"{type(err).__name__}: {first}", remedy, needed)


def _whisper() -> Check:
    def look() -> str:
        from coach.listen.silero import Detector
        from coach.listen.whisper import WhisperListener

        Detector()
        name = WhisperListener().name
        return f"{_version('ctranslate2')}, {_version('tokenizers')}, weights {name} and speech detector (hashes checked)"

    return _guarded("Embedded listener", look, "pip install --force-reinstall coach")


def _vosk() -> Check:
    def look() -> str:
        from coach.listen.vosk_model import load_vosk

        load_vosk()
        return _version("vosk")

    return _guarded("Vosk library", look, "pip install vosk", needed=False)


def _dictionary() -> Check:
    def look() -> str:
        from coach.judge.sounds import dictionary

        if "wattle" not in dictionary():
            raise CoachError("the dictionary is empty")
        return f"{len(dictionary())} words"

    return _guarded("Pronouncing dictionary", look, "install coach again")


def _containers() -> list[Check]:
    kinds = {"wav": "wav", "mp3": "mp3", "m4a/mp4/mov": "mov", "ogg/opus": "ogg", "flac": "flac", "webm": "matroska"}

    def looker(demuxer: str) -> Callable[[], str]:
        def look() -> str:
            from coach.audio.library import load_av

            av = load_av()
            if not any(demuxer in name.split(",") for name in av.formats_available):
                raise CoachError("PyAV was built without it")
            return f"PyAV {av.__version__}"

        return look

    remedy = "pip install --force-reinstall av"
    return [_guarded(f"Reads {kind}", looker(demuxer), remedy) for kind, demuxer in kinds.items()]


def _cards() -> Check:
    def look() -> str:
        from coach.knowledge.cards import shipped_cards
        from coach.knowledge.routes import shipped_routes

        if not shipped_cards():
            raise CoachError("no breed cards found")
        return f"{len(shipped_cards())} breed cards, routes {', '.join(shipped_routes())}"

    return _guarded("Cards and routes", look, "install coach again")


def _microphone() -> Check:
    def look() -> str:
        import sounddevice

        inputs = [d for d in sounddevice.query_devices() if d["max_input_channels"] > 0]
        if not inputs:
            raise CoachError("no microphone found")
        return f"{_version('sounddevice')}, {len(inputs)} input(s)"

    remedy = "plug in a microphone; on Debian or Ubuntu: apt install libportaudio2. Reviewing works without it"
    return _guarded("Microphone", look, remedy, needed=False)


def _data_folder() -> Check:
    home = Path(os.environ.get("COACH_HOME") or Path.home())
    remedy = "make it writable, or set COACH_HOME to another folder"
    return Check("Data folder", os.access(home, os.W_OK), str(home), remedy, needed=False)


def _silence() -> Check:
    """What is in memory after all the other checks have loaded what they need."""
    loaded = callers()
    if loaded:
        return Check("Nothing leaves", False, f"loaded, and known to call somebody: {', '.join(loaded)}", "pip uninstall them")
    found = f"no library that calls home is loaded ({', '.join(CALLERS)}: looked for); their opt-outs are set all the same"
    return Check("Nothing leaves", True, found)

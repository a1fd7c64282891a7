"""Where the data that ships with the coach lies: beside the package in a source checkout, inside it in a wheel.

Nothing is read here and a folder may be missing (a small installation has no models); whoever opens it says what to do.
What belongs to the user (recordings, history, models fetched on request) lies in one folder of their own, `home_dir`;
`make_private_folder` and `write_private_json` make what nobody else may look at (folders 0700, files 0600).
"""

from __future__ import annotations

import itertools
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

__all__ = [
    "breed_cards_dir",
    "home_dir",
    "knowledge_data_dir",
    "make_private_folder",
    "models_dir",
    "recordings_demo_dir",
    "write_private_json",
]

_PACKAGE = Path(__file__).resolve().parent


def breed_cards_dir() -> Path:
    """The folder of the shipped breed cards."""
    return _shipped("breed_cards")


def recordings_demo_dir() -> Path:
    """The folder of the demo recordings."""
    return _shipped("recordings_demo")


def models_dir() -> Path:
    """The folder of the speech models."""
    return _shipped("models")


def knowledge_data_dir() -> Path:
    """The folder of the routes and lists inside the package."""
    return _PACKAGE / "knowledge" / "data"


def home_dir() -> Path:
    """The user's own folder: COACH_HOME, or the platform's place for a program's data. Not made here."""
    own = os.environ.get("COACH_HOME")
    if own:
        return Path(own).expanduser()
    import platformdirs

    return Path(platformdirs.user_data_dir("coach", appauthor=False))


def make_private_folder(parent: Path, name: str) -> Path:
    """Make and return parent/name, or parent/name-2, -3 ... where that is taken; every folder made is the user's alone.

    Raises:
        OSError: it cannot be made.
    """
    for folder in (*reversed(parent.parents), parent):
        if not folder.exists():
            folder.mkdir(mode=0o700, exist_ok=True)
    for number in itertools.count(1):
        folder = parent / (name if number == 1 else f"{name}-{number}")
        try:
            folder.mkdir(mode=0o700)
        except FileExistsError:
            continue
        break
    return folder


def write_private_json(path: Path, content: Mapping[str, Any]) -> None:
    """Write JSON for the user alone, beside path first: path holds the old content or the new, also after a power cut.

    Raises:
        OSError: it cannot be written; nothing is left behind.
    """
    beside = path.with_name(f".{path.name}.new")
    data = json.dumps(content, indent=1, ensure_ascii=False).encode("utf-8", "replace") + b"\n"
    beside.unlink(missing_ok=True)
    try:
        with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except OSError:
        beside.unlink(missing_ok=True)
        raise


def _shipped(name: str) -> Path:
    installed = _PACKAGE / name
    return installed if installed.is_dir() else _PACKAGE.parent / name

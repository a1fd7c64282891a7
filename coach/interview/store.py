"""Interviews in the member's own folder, written after every answer so that nothing is lost.

home_dir()/interviews/2026-11-25-174501-juniper/{interview.json, answer-01.wav, ...}      folders 0700, files 0600
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from coach.errors import CoachError
from coach.places import home_dir

__all__ = ["interviews_dir", "new_folder", "save"]

RECORD = "interview.json"


def interviews_dir() -> Path:
    """Where interviews are kept."""
    return home_dir() / "interviews"


def new_folder(when: datetime, bird: str) -> Path:
    """A new folder for one interview.

    Raises:
        CoachError: it cannot be made.
    """
    parent = interviews_dir()
    name = f"{when:%Y-%m-%d-%H%M%S}-{bird}"
    try:
        for folder in (*reversed(parent.parents), parent):
            if not folder.exists():
                folder.mkdir(mode=0o700, exist_ok=True)
        for number in range(1, 100):
            folder = parent / (name if number == 1 else f"{name}-{number}")
            try:
                folder.mkdir(mode=0o700)
            except FileExistsError:
                continue
            return folder
    except OSError as err:
        raise CoachError(f"{parent}: no interview can be kept there ({err.strerror}); set COACH_HOME to another folder") from err
    raise CoachError(f"{parent / name}: too many interviews begin in this second; try again")


def save(folder: Path, content: Mapping[str, Any]) -> None:
    """Write the record beside the old one, then in its place: a reader finds one or the other, also after a power cut.

    Raises:
        CoachError: it cannot be written.
    """
    path = folder / RECORD
    beside = folder / f".{RECORD}.new"
    data = json.dumps(content, indent=1, ensure_ascii=False).encode("utf-8", "replace") + b"\n"
    try:
        beside.unlink(missing_ok=True)
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        with open(os.open(beside, flags, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except OSError as err:
        raise CoachError(f"{path}: the answers cannot be kept ({err.strerror}); free some space") from err

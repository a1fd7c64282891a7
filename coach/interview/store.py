"""Interviews in the member's own folder, written after every answer so that nothing is lost.

home_dir()/interviews/2026-11-25-174501-juniper/{interview.json, answer-01.wav, ...}      folders 0700, files 0600
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from coach.errors import CoachError
from coach.places import home_dir, make_private_folder, write_private_json

__all__ = ["new_folder", "save"]

RECORD = "interview.json"


def new_folder(when: datetime, bird: str) -> Path:
    """A new folder for one interview.

    Raises:
        CoachError: it cannot be made.
    """
    parent = home_dir() / "interviews"
    try:
        return make_private_folder(parent, f"{when:%Y-%m-%d-%H%M%S}-{bird}")
    except OSError as err:
        raise CoachError(f"{parent}: no interview can be kept there ({err.strerror}); set COACH_HOME to another folder") from err


def save(folder: Path, content: Mapping[str, Any]) -> None:
    """Write the record in the place of the old one.

    Raises:
        CoachError: it cannot be written; the old one is still there.
    """
    path = folder / RECORD
    try:
        write_private_json(path, content)
    except OSError as err:
        raise CoachError(f"{path}: the answers cannot be kept ({err.strerror}); free some space") from err

"""Where the data that ships with the coach lies: beside the package in a source checkout, inside it in a wheel.

Nothing is read here and a folder may be missing (a small installation has no models); whoever opens it says what to do.
What belongs to the user (recordings, history, models fetched on request) lies in one folder of their own, `home_dir`.
"""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["breed_cards_dir", "home_dir", "knowledge_data_dir", "models_dir", "recordings_demo_dir"]

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


def _shipped(name: str) -> Path:
    installed = _PACKAGE / name
    return installed if installed.is_dir() else _PACKAGE.parent / name

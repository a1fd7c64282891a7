"""Where the data that ships with the coach lies: beside the package in a source checkout, inside it in a wheel.

Nothing is read here and a folder may be missing (a small installation has no models); whoever opens it says what to do.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["breed_cards_dir", "knowledge_data_dir", "models_dir", "recordings_demo_dir"]

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


def _shipped(name: str) -> Path:
    installed = _PACKAGE / name
    return installed if installed.is_dir() else _PACKAGE.parent / name

"""The one place where the audio library is loaded: only when a recording is touched, and never printing."""

from __future__ import annotations

from typing import Any

from coach.errors import CoachError

__all__ = ["load_av"]


def load_av() -> Any:
    """PyAV, or a CoachError that says what to install."""
    try:
        import av
    except ImportError as err:
        raise CoachError("recordings cannot be handled: PyAV is missing; install it with: pip install av") from err
    av.logging.set_level(None)  # what the libraries print is for their developers
    return av

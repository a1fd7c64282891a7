"""Writing a report file so that a reader finds the old one or the new one, never half of either."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from coach.errors import CoachError

__all__ = ["check_place", "write_whole"]


def check_place(path: Path) -> None:
    """Tell before the long work what write_whole would tell after it.

    Raises:
        CoachError: the folder is missing or not writable, or path is a folder.
    """
    if os.path.isdir(path):
        raise CoachError(f"{path}: is a folder; give the report a file name in it")
    if not os.path.isdir(path.parent):
        raise CoachError(f"{path}: there is no folder {str(path.parent)!r}; make it, or choose another place")
    if not os.access(path.parent, os.W_OK):
        raise CoachError(f"{path}: the folder {str(path.parent)!r} may not be written to; choose another place")


def write_whole(text: str, path: Path) -> None:
    """Write text as UTF-8 beside path, then move it into place.

    Raises:
        CoachError: the folder is missing or not writable, or path is a folder; nothing is left behind.
    """
    beside = path.parent / f".coach-{secrets.token_hex(6)}.tmp"
    try:
        with beside.open("xb") as file:
            file.write(text.encode("utf-8", "replace"))
        os.replace(beside, path)
    except OSError as err:
        reason = err.strerror or str(err)
        raise CoachError(f"{path}: cannot write the report ({reason}); choose another place or name") from err
    finally:
        _remove(beside)


def _remove(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return  # the folder itself is missing or closed to us; the first error tells

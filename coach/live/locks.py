"""Files that a process holds as long as it lives: the system lets go of them however it ends, also by kill -9.

Held by this process alone, not by its children: a recogniser that outlives us must not hold a take.
"""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

__all__ = ["hold", "is_held", "let_go"]

_ours: dict[Path, int] = {}  # path -> open file


def hold(path: Path) -> None:
    """Make the file (mode 0600) and hold it; OSError when another process does, or it cannot be made."""
    _ours[path] = _open_locked(path)


def let_go(path: Path) -> None:
    """Remove the file, whoever made it."""
    handle = _ours.pop(path, None)
    if handle is not None:
        os.close(handle)
    path.unlink(missing_ok=True)


def is_held(path: Path) -> bool:
    """Whether this or another living process holds the file."""
    if path in _ours:  # and opening it here again would let go of it
        return True
    if not path.exists():
        return False
    try:
        os.close(_open_locked(path))
    except OSError as err:
        return err.errno != errno.EROFS  # where nothing can be written nobody records
    return False


def _open_locked(path: Path) -> int:
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        _lock(handle)
    except OSError as err:
        if err.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            os.close(handle)
            raise
        # Anything else: a disk that knows no locks. Recording goes before knowing who records.
    return handle


def _lock(handle: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)

"""What lies about a member outside the store: takes, interviews, a voice profile; finding and removing it.

home_dir()/takes/*/take.json and home_dir()/interviews/*/*.json     each with a key "member"
home_dir()/members/<slug>/                                          the member's own folder
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from coach.errors import CoachError
from coach.history.members import member_folder, member_slug
from coach.places import home_dir

__all__ = ["MemberFiles", "Recording", "find_files", "old_recordings", "private_files", "remove_files", "remove_recordings"]

_ROOMS = ("takes", "interviews")
_SOUND = frozenset({".wav", ".ogg", ".opus", ".oga", ".flac", ".mp3", ".m4a", ".webm"})
_DATED = re.compile(r"\d{4}-\d{2}-\d{2}-\d{6}")  # how a take's folder name begins: local time


@dataclass(frozen=True, slots=True)
class MemberFiles:
    """A member's folders. own is None when there is no folder of their own."""

    takes: tuple[Path, ...]
    interviews: tuple[Path, ...]
    own: Path | None

    @property
    def folders(self) -> tuple[Path, ...]:
        """All of them."""
        return (*self.takes, *self.interviews, *([self.own] if self.own else []))


@dataclass(frozen=True, slots=True)
class Recording:
    """One sound file of a take or an interview."""

    path: Path
    made: datetime  # local time
    n_bytes: int


def find_files(member: str | None) -> MemberFiles:
    """A member's folders, or those that name nobody."""
    takes, interviews = (tuple(f for f in _folders(room) if _is_of(f, member)) for room in _ROOMS)
    own = member_folder(member) if member else None
    return MemberFiles(takes, interviews, own if own and own.is_dir() else None)


def remove_files(files: MemberFiles) -> None:
    """Remove the folders with all in them; CoachError names the first that stays."""
    for folder in files.folders:
        try:
            shutil.rmtree(folder)
        except OSError as err:
            raise CoachError(f"{folder}: cannot be removed ({err.strerror}); make it yours and run this again") from err


def old_recordings(days: int, now: datetime) -> tuple[Recording, ...]:
    """Sound files made more than so many days before now, the oldest first."""
    limit = now - timedelta(days=days)
    found = (
        Recording(path, _made(folder, path), path.stat().st_size)
        for room in _ROOMS
        for folder in _folders(room)
        for path in sorted(folder.iterdir())
        if path.suffix.lower() in _SOUND and path.is_file()
    )
    return tuple(sorted((r for r in found if r.made < limit), key=lambda r: (r.made, r.path)))


def remove_recordings(recordings: tuple[Recording, ...]) -> None:
    """Delete the sound files; reports and all that the history knows stay."""
    for recording in recordings:
        try:
            recording.path.unlink(missing_ok=True)
        except OSError as err:
            raise CoachError(f"{recording.path}: cannot be removed ({err.strerror}); make it yours and run this again") from err


@contextmanager
def private_files() -> Iterator[None]:
    """Whatever is written inside is for this user alone."""
    old = os.umask(0o077)
    try:
        yield
    finally:
        os.umask(old)


def _folders(room: str) -> list[Path]:
    try:
        return sorted(f for f in (home_dir() / room).iterdir() if f.is_dir() and not f.is_symlink())
    except FileNotFoundError:
        return []
    except OSError as err:
        raise CoachError(f"{home_dir() / room}: cannot be read ({err.strerror}); make it yours, or set COACH_HOME") from err


def _is_of(folder: Path, member: str | None) -> bool:
    """Whether a record in the folder names this member (or, for None, a record is there and none names anybody)."""
    names = [_member_in(path) for path in sorted(folder.glob("*.json")) if path.name != "report.json"]
    named = [name for name in names if name]
    if member is None:
        return bool(names) and not named
    return any(_same(name, member) for name in named)


def _member_in(path: Path) -> str | None:
    try:
        found = json.loads(path.read_text(encoding="utf-8"))["member"]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return found if isinstance(found, str) else None


def _same(name: str, member: str) -> bool:
    try:
        return member_slug(name) == member_slug(member)
    except CoachError:  # a name by hand that no member can have
        return False


def _made(folder: Path, path: Path) -> datetime:
    stamp = _DATED.match(folder.name)
    if stamp:
        return datetime.strptime(stamp.group(), "%Y-%m-%d-%H%M%S").astimezone()
    return datetime.fromtimestamp(path.stat().st_mtime).astimezone()

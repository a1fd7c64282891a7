"""Takes: recorded rehearsals in the member's own folder, private to the user, never lost by a crash.

    home_dir()/takes/2026-11-25-174501-juniper/{take.json, take.wav, report.json}      folders 0700, files 0600

While a take is being recorded its process holds the file `lock` in that folder (coach.live.locks), so a take that is
neither done nor held was broken off.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path
from typing import Any

from coach.audio.read import RATE_HZ
from coach.errors import CoachError
from coach.live import locks
from coach.live.wav_file import HEADER_BYTES, SAMPLE_BYTES, mend
from coach.places import home_dir, make_private_folder, write_private_json

__all__ = [
    "Take",
    "TakeState",
    "delete_take",
    "find_take",
    "finish_take",
    "interrupted",
    "list_takes",
    "new_take",
    "recover",
    "takes_dir",
]

FORMAT = "take/1"
_RECORD, _LOCK = "take.json", "lock"
_TEXTS = ("began", "bird", "bird_id", "card", "route")
_ASKED = ("member", "level", "only")  # None where nothing was said


class TakeState(str, Enum):
    """Where a take stands."""

    RECORDING = "recording"  # its process is still there
    INTERRUPTED = "interrupted"  # begun and never finished, and its process is gone
    DONE = "done"
    DAMAGED = "damaged"  # its record cannot be read; there may still be sound


@dataclass(frozen=True, slots=True)
class Take:
    """One take as its folder tells it. Of a damaged one only id, folder and state are known; the rest is empty."""

    id: str  # the folder's name
    folder: Path
    state: TakeState
    began: str = ""  # local time, ISO 8601 to the second
    bird: str = ""  # absolute path of the bird's file
    bird_id: str = ""
    card: str = ""  # an id, or the absolute path of a card's file
    route: str = ""  # an id, or the absolute path of a route's file
    member: str | None = None
    level: str | None = None
    only: str | None = None  # the regions of a drill, as asked for: "wings,legs"

    @property
    def wav(self) -> Path:
        """Where the sound is or was."""
        return self.folder / "take.wav"

    @property
    def report(self) -> Path:
        """Where the report is, once there is one."""
        return self.folder / "report.json"

    def seconds(self) -> float | None:
        """Length of the sound, None where there is none."""
        try:
            return max(0, self.wav.stat().st_size - HEADER_BYTES) / (SAMPLE_BYTES * RATE_HZ)
        except OSError:
            return None


def takes_dir() -> Path:
    """The folder of all takes; not made here."""
    return home_dir() / "takes"


def new_take(
    bird: str,
    route: str,
    *,
    member: str | None = None,
    card: str | None = None,
    level: str | None = None,
    only: str | None = None,
) -> Take:
    """Make the folder of a take that is about to be recorded into take.wav (not made here).

    Until finish_take, or until this process ends, the take counts as being recorded. route and card are an id or a path;
    level and only are what the rehearsal was asked for, so that reviewing it again asks the same.

    Raises:
        CoachError: the bird cannot be read, or the folder cannot be made.
    """
    from coach.knowledge.birds import load_bird

    the_bird = load_bird(Path(bird), check_card=card is None)
    now = time.localtime()
    try:
        folder = make_private_folder(takes_dir(), f"{time.strftime('%Y-%m-%d-%H%M%S', now)}-{the_bird.id}")
        take = Take(
            id=folder.name,
            folder=folder,
            state=TakeState.RECORDING,
            began=time.strftime("%Y-%m-%dT%H:%M:%S", now),
            bird=os.path.abspath(bird),
            bird_id=the_bird.id,
            card=_absolute(card or the_bird.card, near=Path(bird)),
            route=_absolute(route),
            member=member,
            level=level,
            only=only,
        )
        locks.hold(folder / _LOCK)
        _write_record(take)
    except OSError as err:
        raise CoachError(f"{takes_dir()}: a take cannot be kept there ({err.strerror}); {_remedy(err)}") from err
    return take


def finish_take(take: Take, report_json: Mapping[str, Any] | None, keep_sound: bool = True) -> Take:
    """Mark a take done and store its report; also gives an interrupted or reviewed-again take its (new) report.

    keep_sound False removes the sound; then without a report nothing is left and the folder goes too. Where listening
    failed, keep the sound: `coach takes review` can then try again.

    Raises:
        CoachError: the disk is full or the folder is gone; the sound is then still as it was.
    """
    done = replace(take, state=TakeState.DONE)
    try:
        if report_json is not None:
            write_private_json(take.report, report_json)
        _write_record(done)
        if not keep_sound:
            take.wav.unlink(missing_ok=True)
        locks.let_go(take.folder / _LOCK)
        if not keep_sound and not take.report.exists():
            shutil.rmtree(take.folder)
    except OSError as err:
        raise CoachError(f"{take.folder}: the take cannot be finished ({err.strerror}); {_remedy(err)}") from err
    return done


def list_takes() -> tuple[Take, ...]:
    """All takes, oldest first."""
    try:
        folders = sorted(f for f in takes_dir().iterdir() if f.is_dir() and not f.is_symlink())
    except FileNotFoundError:
        return ()
    except OSError as err:
        raise CoachError(f"{takes_dir()}: cannot be read ({err.strerror}); {_remedy(err)}") from err
    return tuple(_load(folder) for folder in folders)


def interrupted() -> tuple[Take, ...]:
    """Takes begun and never finished whose process is gone, with sound in them; oldest first. See recover."""
    return tuple(t for t in list_takes() if t.state is TakeState.INTERRUPTED and t.seconds())


def recover(take: Take) -> None:
    """Make the last half second of a broken off take readable too; call it before its sound is reviewed.

    Raises:
        CoachError: the sound may not be touched.
    """
    try:
        mend(take.wav)
    except OSError as err:
        raise CoachError(f"{take.wav}: cannot be mended ({err.strerror}); {_remedy(err)}") from err


def find_take(name: str = "last") -> Take:
    """The take of that id, or the newest for "last"; CoachError when there is none."""
    takes = list_takes()
    if not takes:
        raise CoachError("there are no takes yet; record one with: coach rehearse --bird FILE")
    if name == "last":
        return takes[-1]
    for take in takes:
        if take.id == name:
            return take
    raise CoachError(f"{name}: there is no such take; see them all with: coach takes")


def delete_take(name: str) -> Take:
    """Remove a take's folder with all in it, and return what it was.

    Raises:
        CoachError: there is no such take, it is being recorded now, or it cannot be removed.
    """
    take = find_take(name)
    if take.state is TakeState.RECORDING:
        raise CoachError(f"{take.id}: is being recorded now; stop it first")
    try:
        shutil.rmtree(take.folder)
    except OSError as err:
        raise CoachError(f"{take.folder}: cannot be removed ({err.strerror}); {_remedy(err)}") from err
    return take


def _load(folder: Path) -> Take:
    is_locked = locks.is_held(folder / _LOCK)
    try:
        record = json.loads((folder / _RECORD).read_text(encoding="utf-8"))
        texts = {key: _text(record[key]) for key in _TEXTS}
        is_done = record["state"] == TakeState.DONE.value
        asked = {key: None if record.get(key) is None else _text(record[key]) for key in _ASKED}
    except (OSError, ValueError, KeyError, TypeError):
        return Take(folder.name, folder, TakeState.RECORDING if is_locked else TakeState.DAMAGED)
    state = TakeState.RECORDING if is_locked else TakeState.DONE if is_done else TakeState.INTERRUPTED
    member, level, only = (asked[key] for key in _ASKED)
    return Take(folder.name, folder, state, **texts, member=member, level=level, only=only)


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _write_record(take: Take) -> None:
    record: dict[str, Any] = {"format": FORMAT, "state": take.state.value}
    record |= {key: getattr(take, key) for key in (*_TEXTS, *_ASKED)}
    write_private_json(take.folder / _RECORD, record)


def _absolute(id_or_path: str, near: Path | None = None) -> str:
    """A path that stays right from any folder; an id as it is."""
    places = [Path(id_or_path), *([near.parent / id_or_path] if near else [])]
    return next((os.path.abspath(place) for place in places if place.is_file()), id_or_path)


def _remedy(err: OSError) -> str:
    if err.errno in (errno.ENOSPC, errno.EDQUOT):
        return "free some space"
    return "make the folder yours, or set COACH_HOME to another one"

"""A model from its publisher into the coach's own folder, on request only; the one place that uses a network.

In: a Model of the catalogue. Out: its folder in `fetched_dir`, whole and checked, moved into place in one step. Until then
all of it lies in `fetched_dir/.under-way/NAME`, which stays when the line breaks and is used by the next try.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

from coach.errors import CoachError
from coach.listen.catalogue import Model, fetched_dir
from coach.listen.fetch_http import download, sha256_of
from coach.listen.fetch_unpack import unpack
from coach.listen.vosk_model import is_model

__all__ = ["Tell", "download_bytes", "fetch", "remove", "under_way"]

Tell = Callable[[str, int, int], None]  # what is going on, bytes done, bytes in all

MB = 1_000_000
SLACK = 1.1  # the rough sizes of the catalogue may be out by this


def download_bytes(model: Model) -> int:
    """How much a fetch of the model brings over the line; rough where its publisher gives a rough size."""
    return sum(file.size if file.size is not None else round(model.size_mb * MB) for file in model.files)


def under_way(model: Model) -> int:
    """Bytes that an earlier try left on the disk."""
    folder = _work_dir(model)
    return sum(path.stat().st_size for path in folder.glob("*")) if folder.is_dir() else 0


def fetch(model: Model, tell: Tell = lambda what, done, total: None) -> Path:
    """Download, check, unpack and move into place; return the model's folder.

    Raises:
        CoachError: it ships anyway, is there already, cannot be had, or is not what it must be; nothing of it is in place then.
    """
    if not model.files:
        raise CoachError(f"{model.name}: comes with coach; there is nothing to fetch")
    place, work = fetched_dir() / model.name, _work_dir(model)
    if place.exists():
        raise CoachError(f"{model.name}: is there already, in {place}; remove it first to fetch it again")
    try:
        work.mkdir(parents=True, exist_ok=True, mode=0o700)
        _check_room(model, work)
        ready = _bring(model, work, tell)
        os.replace(ready, place)
        shutil.rmtree(work, ignore_errors=True)
    except OSError as err:
        why = err.strerror or str(err)
        raise CoachError(
            f"{err.filename or fetched_dir()}: cannot be written ({why}); make room or set COACH_HOME to a folder of yours, then "
            "give the same command again"
        ) from err
    return place


def remove(model: Model) -> int:
    """Remove a fetched model and whatever an unfinished fetch left; return the bytes that were freed.

    Raises:
        CoachError: there is nothing of it in the coach's own folder, or it may not be removed.
    """
    folders = [folder for folder in (fetched_dir() / model.name, _work_dir(model)) if folder.exists()]
    if not folders:
        raise CoachError(f"{model.name}: was not fetched by coach, so there is nothing to remove; see 'coach models'")
    freed = sum(p.stat().st_size for folder in folders for p in folder.rglob("*") if p.is_file())
    try:
        for folder in folders:
            shutil.rmtree(folder)
    except OSError as err:
        raise CoachError(f"{err.filename}: cannot be removed ({err.strerror or err}); check that it is yours") from err
    return freed


def _bring(model: Model, work: Path, tell: Tell) -> Path:
    """All files in one folder, checked; out of their archive where they come in one."""
    total, before = download_bytes(model), 0
    for file in model.files:
        path = work / file.name
        if not (path.is_file() and sha256_of(path) == file.sha256):
            most = file.size if file.size is not None else round(model.size_mb * MB * SLACK)
            download(file, path, most, lambda done, before=before: tell("fetching", before + done, total))  # type: ignore[misc]
        before += path.stat().st_size
        tell("fetching", before, total)
    if not model.files[0].is_archive:
        return work
    archive, unpacked = work / model.files[0].name, work / "unpacked"
    shutil.rmtree(unpacked, ignore_errors=True)
    most = round((model.unpacked_mb or model.size_mb) * MB * SLACK)
    try:
        unpack(archive, unpacked, most, lambda done, total: tell("unpacking", done, total))
        if not is_model(unpacked):
            raise CoachError(f"{archive.name}: holds no Vosk model; nothing of it was kept; tell the people who make coach")
    except BaseException as err:
        shutil.rmtree(unpacked, ignore_errors=True)
        if isinstance(err, CoachError):
            archive.unlink(missing_ok=True)  # the right file, and still not fit for use: no good keeping
        raise
    return unpacked


def _check_room(model: Model, work: Path) -> None:
    """Stop before the long work when the disk cannot hold it."""
    needed = download_bytes(model) + round((model.unpacked_mb or 0) * MB) - under_way(model)
    free = shutil.disk_usage(work).free
    if needed > free:
        raise CoachError(
            f"{work.parent}: has {free / MB:,.0f} MB free and {model.name} needs {needed / MB:,.0f} MB; make room, or set "
            "COACH_HOME to a folder on another disk"
        )


def _work_dir(model: Model) -> Path:
    return fetched_dir() / ".under-way" / model.name

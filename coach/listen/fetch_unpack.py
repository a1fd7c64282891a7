"""A model out of its archive, without trusting the archive: nothing lands outside the folder, nothing grows without bound.

In: a zip file. Out: its files in a folder, without the one folder that holds them all inside the archive. Only plain files and
folders come out; links, devices, absolute paths, ".." and whatever is more than it may be stop the whole of it.
"""

from __future__ import annotations

import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path, PurePosixPath

from coach.errors import CoachError

__all__ = ["MOST_FILES", "unpack"]

MOST_FILES = 500  # the Vosk models have under thirty
BLOCK = 1 << 16


def unpack(archive: Path, folder: Path, most_bytes: int, progress: Callable[[int, int], None] = lambda done, total: None) -> None:
    """Unpack into folder, which must not exist yet.

    Args:
        archive: a zip file.
        folder: made here; after an error it may hold a part and is the caller's to remove.
        most_bytes: all files together may have so many.
        progress: told the bytes written, and those to write in all.
    Raises:
        CoachError: it is no whole zip file, or holds something that it must not.
        OSError: the disk.
    """
    try:
        with zipfile.ZipFile(archive) as opened:
            wanted = _checked(archive, opened.infolist(), most_bytes)
            folder.mkdir()
            total, done = sum(entry.file_size for entry, _ in wanted), 0
            for entry, place in wanted:
                for block in _blocks(opened, entry, folder / place):
                    done += block
                    if done > most_bytes:  # the list in the archive may lie
                        raise _refusal(archive, f"unpacks to more than {most_bytes:,} bytes")
                    progress(done, total)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as err:
        raise CoachError(
            f"{archive.name}: is damaged or of another kind ({err}); nothing of it was kept; fetch it again"
        ) from err


def _checked(archive: Path, entries: list[zipfile.ZipInfo], most_bytes: int) -> list[tuple[zipfile.ZipInfo, PurePosixPath]]:
    """The plain files and their places, after everything in the archive's list has been looked at."""
    if len(entries) > MOST_FILES:
        raise _refusal(archive, f"holds {len(entries):,} files; a model has at most {MOST_FILES}")
    if (total := sum(entry.file_size for entry in entries)) > most_bytes:
        raise _refusal(archive, f"would unpack to {total:,} bytes; this model has at most {most_bytes:,}")
    places = [(entry, _place(archive, entry)) for entry in entries]
    files = [(entry, place) for entry, place in places if not entry.is_dir()]
    tops = {place.parts[0] for _, place in files}
    if len(tops) == 1 and all(len(place.parts) > 1 for _, place in files):
        files = [(entry, PurePosixPath(*place.parts[1:])) for entry, place in files]
    names = {str(place).casefold() for _, place in files}
    if len(names) != len(files) or any(str(above).casefold() in names for _, place in files for above in place.parents):
        raise _refusal(archive, "holds the same name twice")
    if not files:
        raise _refusal(archive, "is empty")
    return files


def _place(archive: Path, entry: zipfile.ZipInfo) -> PurePosixPath:
    name, kind = entry.orig_filename, stat.S_IFMT(entry.external_attr >> 16)
    place = PurePosixPath(name)
    if place.is_absolute() or ".." in place.parts or not place.parts or any(c in name for c in "\\:\0"):
        raise _refusal(archive, f"holds a file that would land outside its folder ({name!r})")
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        raise _refusal(archive, f"holds a link or a device ({name!r})")
    if entry.flag_bits & 1:
        raise _refusal(archive, f"holds a file with a password ({name!r})")
    return place


def _blocks(opened: zipfile.ZipFile, entry: zipfile.ZipInfo, to: Path) -> Iterator[int]:
    """Write one file, block by block; the length of each."""
    to.parent.mkdir(parents=True, exist_ok=True)
    with opened.open(entry) as source, to.open("xb") as target:
        while block := source.read(BLOCK):
            target.write(block)
            yield len(block)


def _refusal(archive: Path, what: str) -> CoachError:
    return CoachError(f"{archive.name}: {what}; nothing of it was kept; tell the people who make coach")

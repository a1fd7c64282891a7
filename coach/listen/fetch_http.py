"""One file from its publisher to the disk: resumed where it broke off, of the right size, with the right SHA-256.

In: a RemoteFile and a path. Out: the file at that path, whole and checked. While it is under way it lies beside it as
NAME.part, with what the server calls this version of it in NAME.from; both stay when the line breaks, so that the next
try goes on there. Resuming follows RFC 9110: Range with If-Range, 206 with Content-Range, and from the start again on
anything else (14.2, 13.1.5, 15.3.7).
"""

from __future__ import annotations

import errno
import hashlib
import http.client
import re
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from coach import __version__
from coach.errors import CoachError
from coach.listen.catalogue import RemoteFile

__all__ = ["Progress", "download", "sha256_of"]

Progress = Callable[[int], None]  # told the bytes that lie on the disk so far

TRIES = 5  # in a row without a single new byte
WAIT_S = 1.0  # before the second try; twice as long before each further one
TIMEOUT_S = 30.0  # without a byte
BLOCK = 1 << 16

_CONTENT_RANGE = re.compile(r"bytes (\d+)-(\d+)/(\d+)")
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT) if hasattr(errno, "EDQUOT") else (errno.ENOSPC,)


class _BrokenOff(Exception):
    """The line broke; what has come so far is kept."""


@dataclass(frozen=True, slots=True)
class _Answer:
    """What the server sends: bytes from start on, of total; version is its strong name for this very content."""

    body: Any
    start: int
    total: int | None
    version: str | None


def download(file: RemoteFile, path: Path, most_bytes: int, progress: Progress) -> None:
    """Bring the file to path; go on with what an earlier try left there.

    Args:
        file: where it is and what it must be.
        path: its place; the folder exists.
        most_bytes: never more than this is written.
        progress: told the bytes on the disk.
    Raises:
        CoachError: it cannot be had, is of another size or content, or does not fit; the message says what is kept.
    """
    part = path.with_name(path.name + ".part")
    tries = 0
    while True:
        had = _size(part)
        try:
            _go_on(file, part, most_bytes, progress)
            break
        except _BrokenOff as err:
            tries = 1 if _size(part) > had else tries + 1
            if tries >= TRIES:
                raise CoachError(_gave_up(file, _size(part), err)) from err
            time.sleep(WAIT_S * 2 ** (tries - 1))
    _check(file, part)
    part.replace(path)
    _note(part).unlink(missing_ok=True)


def sha256_of(path: Path) -> str:
    """The SHA-256 of a file, in hexadecimal."""
    digest = hashlib.sha256()
    with path.open("rb") as opened:
        while block := opened.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()


def _go_on(file: RemoteFile, part: Path, most_bytes: int, progress: Progress) -> None:
    """Ask for what is missing and write it down; return when all of it is there."""
    have = _size(part)
    if have and have == file.size:
        return
    with closing(_Held(part)) as held:
        answer = _ask(file, have, _known_version(part))
        with closing(answer.body):
            _check_total(file, answer.total, most_bytes)
            held.start(answer.start, answer.version)
            progress(answer.start)
            _copy(file, answer, held, most_bytes, progress)
    if answer.total is not None and _size(part) != answer.total:
        raise _BrokenOff(f"{_size(part):,} of {answer.total:,} bytes came")


def _ask(file: RemoteFile, have: int, version: str | None) -> _Answer:
    headers = {"User-Agent": f"coach/{__version__}", "Accept-Encoding": "identity"}
    if have:
        headers["Range"] = f"bytes={have}-"
        if version:
            headers["If-Range"] = version
    try:
        response = _opener().open(urllib.request.Request(file.url, headers=headers), timeout=TIMEOUT_S)
    except urllib.error.HTTPError as err:
        with err:
            return _refused(file, err, have)
    except (OSError, http.client.HTTPException) as err:  # URLError and a broken connection are OSErrors
        raise _BrokenOff(_reason(err)) from err
    total = int(response.headers["Content-Length"]) if (response.headers["Content-Length"] or "").isdigit() else None
    version = _strong_name(response.headers)
    if response.status == 206:
        found = _CONTENT_RANGE.fullmatch(response.headers["Content-Range"] or "")
        if found and int(found[1]) == have:
            return _Answer(response, have, int(found[3]), version)
        response.close()
        return _ask(file, 0, None)  # another part than the one asked for
    return _Answer(response, 0, total, version)


def _refused(file: RemoteFile, err: urllib.error.HTTPError, have: int) -> _Answer:
    if err.code == 416 and have:  # there is nothing after what we have: it is not what the server has now
        return _ask(file, 0, None)
    if err.code >= 500 or err.code in (408, 425, 429):
        raise _BrokenOff(f"the server answered {err.code} {err.reason}")
    raise CoachError(
        f"{file.url}: the server answered {err.code} {err.reason}; try again another day, or see its publisher's page"
    )


def _copy(file: RemoteFile, answer: _Answer, held: _Held, most_bytes: int, progress: Progress) -> None:
    done = answer.start
    while True:
        try:
            block = answer.body.read(BLOCK)
        except (OSError, http.client.HTTPException) as err:
            raise _BrokenOff(_reason(err)) from err
        if not block:
            return
        done += len(block)
        if done > most_bytes:
            held.forget()
            raise CoachError(f"{file.url}: sends more than the {most_bytes:,} bytes it may have; nothing of it is kept")
        held.write(block)
        progress(done)


class _Held:
    """The part that is on the disk; every trouble with the disk becomes one clear line."""

    def __init__(self, part: Path) -> None:
        self.part = part
        self._file: IO[bytes] | None = None

    def start(self, at: int, version: str | None) -> None:
        """Write on from there: at the end of what there is, or from nothing."""
        try:
            _note(self.part).write_text(version or "", encoding="utf-8")
            self._file = self.part.open("ab" if at else "wb")
        except OSError as err:
            raise self._trouble(err) from err

    def write(self, block: bytes) -> None:
        assert self._file is not None  # start comes first
        try:
            self._file.write(block)
        except OSError as err:
            raise self._trouble(err) from err

    def forget(self) -> None:
        self.close()
        self.part.unlink(missing_ok=True)
        _note(self.part).unlink(missing_ok=True)

    def close(self) -> None:
        if self._file is not None:
            opened, self._file = self._file, None
            try:
                opened.close()  # writes out what is held back, so a full disk may show only here
            except OSError as err:
                raise self._trouble(err) from err

    def _trouble(self, err: OSError) -> CoachError:
        if err.errno in _NO_ROOM:
            return CoachError(f"{self.part.parent}: the disk is full; make room, then give the same command again to go on")
        why = err.strerror or err
        return CoachError(f"{self.part.parent}: cannot be written to ({why}); set COACH_HOME to a folder of yours")


def _gave_up(file: RemoteFile, kept: int, err: _BrokenOff) -> str:
    if kept:
        again = "give the same command again to go on from there"
        return f"{file.url}: the connection broke off ({err}); {kept:,} bytes are kept; {again}"
    return f"{file.url}: cannot be reached ({err}); check the internet connection, then give the same command again"


def _check_total(file: RemoteFile, total: int | None, most_bytes: int) -> None:
    if total is None:
        return
    if file.size is not None and total != file.size:
        raise CoachError(
            f"{file.url}: has {total:,} bytes in place of {file.size:,}; it is not the file we know; nothing was fetched"
        )
    if total > most_bytes:
        raise CoachError(f"{file.url}: has {total:,} bytes, more than the {most_bytes:,} it may have; nothing was fetched")


def _check(file: RemoteFile, part: Path) -> None:
    if (found := sha256_of(part)) != file.sha256:
        size = _size(part)
        part.unlink()
        _note(part).unlink(missing_ok=True)
        raise CoachError(
            f"{file.url}: came as {size:,} bytes with SHA-256 {found}, not the file we know ({file.sha256}); "
            "it was thrown away; try once more, and if it happens again tell the people who make coach"
        )


def _known_version(part: Path) -> str | None:
    """What the server called the version of which we have a part. Without one the SHA-256 alone shows whether the ends fit."""
    try:
        return _note(part).read_text(encoding="utf-8") or None
    except OSError:
        return None


def _strong_name(headers: http.client.HTTPMessage) -> str | None:
    """A strong ETag, or else the date; a weak ETag may not stand in If-Range (RFC 9110, 13.1.5)."""
    etag = headers["ETag"]
    if etag and not etag.startswith("W/"):
        return str(etag)
    return headers["Last-Modified"]


def _note(part: Path) -> Path:
    return part.with_suffix(".from")


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def _reason(err: BaseException) -> str:
    inner = getattr(err, "reason", None) or err
    return str(inner) or type(inner).__name__


class _StaySecure(urllib.request.HTTPRedirectHandler):
    """Publishers send us on to where their files lie; never from https to a line that anybody can change."""

    def redirect_request(self, req: urllib.request.Request, fp: Any, code: int, msg: str, headers: Any, newurl: str) -> Any:
        """The next request, or None for none."""
        if req.type == "https" and not newurl.startswith("https:"):
            raise CoachError(f"{req.full_url}: sends us on to {newurl}, which is not https; nothing was fetched")
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def _opener() -> urllib.request.OpenerDirector:
    return urllib.request.build_opener(_StaySecure())

"""Opening the history's SQLite database: safe settings, private file, migrations, errors in plain words.

Write-ahead log with full synchronisation: what was committed survives the process and the power. Each write is one
transaction that begins by taking the write lock (BEGIN IMMEDIATE), so two processes wait for one another instead of
failing half way. Source: sqlite.org, "Write-Ahead Logging", "PRAGMA", "Transaction".
"""

from __future__ import annotations

import errno
import os
import sqlite3
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime, timezone
from importlib import resources
from pathlib import Path

from sqlalchemy import Connection, create_engine, event
from sqlalchemy.exc import DatabaseError
from sqlalchemy.pool import NullPool

from coach.errors import CoachError

__all__ = ["BUSY_S", "connect", "migrations", "wipe_traces", "writing"]

BUSY_S = 20.0  # how long one process waits for another one's write
_PROBE_BYTES = 2**20  # more than the log and its index begin with
_NO_ROOM = {errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)}
_PRAGMAS = (
    "foreign_keys = ON",
    "secure_delete = ON",  # what is deleted is overwritten with zeros
    "synchronous = FULL",
    "temp_store = MEMORY",  # no child's data in a temporary file
)


@contextmanager
def connect(path: Path, steps: Sequence[str] | None = None) -> Iterator[Connection]:
    """A connection to the history at path, made (file 0600, folder 0700) or brought up to date as needed.

    Args:
        path: the database file.
        steps: the migrations in order, SQL text each; those that ship if None.
    Raises:
        CoachError: it cannot be read or written, is no history, or is of a newer coach.
    """
    with _in_plain_words(path):
        _make_private(path)
        engine = create_engine("sqlite://", creator=lambda: _open(path), poolclass=NullPool)
        event.listen(engine, "begin", _begin)
        with engine.connect() as connection:
            _prepare(connection, path, migrations() if steps is None else steps)
            yield connection


@contextmanager
def writing(connection: Connection) -> Iterator[None]:
    """One transaction that holds the write lock from its start; committed whole or not at all."""
    connection.info["writes"] = True
    try:
        with connection.begin():
            yield
    finally:
        connection.info["writes"] = False


def migrations() -> tuple[str, ...]:
    """The shipped migrations in order; the version of a store is how many of them it has had."""
    folder = resources.files("coach.history").joinpath("migrations")
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".sql"))
    return tuple(folder.joinpath(name).read_text(encoding="utf-8") for name in names)


def wipe_traces(connection: Connection) -> bool:
    """Rebuild the file without what was deleted and empty its log; False while another process is reading it."""
    raw = _raw(connection)
    raw.execute("VACUUM")
    (busy, *_) = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    return not busy


def _make_private(path: Path) -> None:
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    except OSError as err:
        remedy = "make room" if err.errno in _NO_ROOM else "set COACH_HOME to another folder"
        raise CoachError(f"{path}: cannot keep the history there ({err.strerror}); {remedy}") from err


def _open(path: Path) -> sqlite3.Connection:
    raw = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)  # transactions are begun by us, see _begin
    try:
        for pragma in _PRAGMAS:
            raw.execute(f"PRAGMA {pragma}")
    except sqlite3.Error:
        raw.close()
        raise
    return raw


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.info.get("writes") else "BEGIN")


def _raw(connection: Connection) -> sqlite3.Connection:
    raw = connection.connection.driver_connection
    assert isinstance(raw, sqlite3.Connection)
    return raw


def _prepare(connection: Connection, path: Path, steps: Sequence[str]) -> None:
    """Refuse what is not ours before anything is written, then migrate step by step."""
    number = _version(connection, path)
    if number > len(steps):
        raise CoachError(
            f"{path}: was written by a newer coach (version {number} of the history, I know {len(steps)}); update coach"
        )
    if number == len(steps):
        return
    _use_log(_raw(connection))
    for step in range(number, len(steps)):
        with writing(connection):
            if _version(connection, path) == step:  # another process may have been quicker
                _migrate(connection, step + 1, steps[step])


def _version(connection: Connection, path: Path) -> int:
    """How many migrations the store has had; 0 for an empty file."""
    raw = _raw(connection)
    tables = {name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if not tables:
        return 0
    if "version" not in tables:
        raise CoachError(f"{path}: is a database of another program; move it away, or set COACH_HOME to another folder")
    return int(raw.execute("SELECT coalesce(max(number), 0) FROM version").fetchone()[0])


def _migrate(connection: Connection, number: int, script: str) -> None:
    if number == 1:
        connection.exec_driver_sql("CREATE TABLE version (number INTEGER NOT NULL PRIMARY KEY, applied_at TEXT NOT NULL)")
    for statement in script.split(";\n"):
        if statement.strip():
            connection.exec_driver_sql(statement)
    now = datetime.now(timezone.utc).isoformat(timespec="seconds")
    connection.exec_driver_sql("INSERT INTO version VALUES (?, ?)", (number, now))


def _use_log(raw: sqlite3.Connection) -> None:
    """Switch to the write-ahead log; SQLite does not wait when two processes switch a new file at once, so we do."""
    until = time.monotonic() + BUSY_S
    while True:
        try:
            raw.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError:
            if time.monotonic() > until:
                raise
            time.sleep(0.02)


@contextmanager
def _in_plain_words(path: Path) -> Iterator[None]:
    try:
        yield
    except (DatabaseError, sqlite3.DatabaseError) as err:
        cause = getattr(err, "orig", None) or err
        if isinstance(cause, sqlite3.IntegrityError | sqlite3.ProgrammingError):
            raise  # our own mistake, not the file's
        raise CoachError(f"{path}: {_remedy(path, str(cause))} ({cause})") from err


def _remedy(path: Path, reason: str) -> str:
    """What is wrong and what to do, from SQLite's own words for its result code (sqlite.org, "Result and Extended Codes").

    Only what SQLite's own check calls damaged is called so: the advice for that is to give the file up.
    """
    if "locked" in reason or "busy" in reason:
        return "another coach is writing to the history; try again in a minute"
    has_failed, is_closed = "I/O" in reason, "unable to open" in reason
    if "full" in reason or ((has_failed or is_closed) and _takes_no_more(path.parent)):
        return "the disk is full, or no more may be written to it, so nothing was added to the history; make room and try again"
    if is_closed or "readonly" in reason or "denied" in reason:
        return "the history cannot be written; check the folder's permissions, or set COACH_HOME to another folder"
    if has_failed:
        return "the disk did not let the history be read or written; see whether it is full or failing, then try again"
    if _is_damaged(path):
        return "the history is damaged or is no history; move the file away to start a new one"
    return "the history could not be used, though the file is sound; try again"


def _takes_no_more(folder: Path) -> bool:
    """Whether a file of some size can no longer be written there: the disk, a quota or a limit of the process is reached."""
    try:
        with tempfile.TemporaryFile(dir=folder, buffering=0) as probe:
            probe.write(bytes(_PROBE_BYTES))
            os.fsync(probe.fileno())
            return os.fstat(probe.fileno()).st_size < _PROBE_BYTES
    except OSError as err:
        return err.errno in _NO_ROOM


def _is_damaged(path: Path) -> bool:
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as raw:
            (answer,) = raw.execute("PRAGMA quick_check(1)").fetchone()
            return str(answer) != "ok"
    except sqlite3.DatabaseError as err:
        return "malformed" in str(err) or "not a database" in str(err)

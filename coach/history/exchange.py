"""A member's sessions as a file to hand over, and back: JSON with a SHA-256 checksum (FIPS 180-4) over its content.

The shape of the file is that of the model's own classes. A file whose checksum does not fit is refused whole; sessions that
are known already are recognised by the store.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, is_dataclass
from datetime import datetime, timezone
from functools import cache
from pathlib import Path
from types import UnionType
from typing import Any, Literal, TypedDict, cast, get_args, get_origin, get_type_hints

from coach.errors import CoachError
from coach.history.model import Session
from coach.history.records import session_from_report
from coach.judge.verdict import Status
from coach.report.json_file import from_dict
from coach.report.shape import FORMAT as REPORT_FORMAT
from coach.report.shape import mismatch

__all__ = ["FORMAT", "HandedOver", "read_sessions", "render_sessions"]

FORMAT = "coach-sessions/1"
MAX_BYTES = 200_000_000  # a hundred sessions take about two million
_NUMBER = "number"  # of a session in one store; it means nothing in another


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What a file holds; member is None when it names nobody."""

    member: str | None
    sessions: tuple[Session, ...]


@dataclass(frozen=True, slots=True)
class _File:
    """All that stands in a file."""

    format: Literal["coach-sessions/1"]
    member: str
    sessions: tuple[Session, ...]
    sha256: str


def render_sessions(member: str, sessions: Sequence[Session]) -> str:
    """The file's text."""
    content = {"format": FORMAT, "member": member, "sessions": [_to_dict(s) for s in sessions]}
    return json.dumps({**content, "sha256": _checksum(content)}, indent=1, ensure_ascii=False) + "\n"


def read_sessions(path: Path) -> HandedOver:
    """What a member handed over: a file of sessions, or a single rehearsal's report (then dated by the file's own date).

    Raises:
        CoachError: it cannot be read, is damaged, or was changed.
    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise CoachError(f"{path}: is too large for a file of sessions; is it the right file?")
        data = json.loads(path.read_text(encoding="utf-8"), parse_int=_whole)
        json.dumps(data, ensure_ascii=False).encode("utf-8")  # half characters are an error here, not in the store
        changed = datetime.fromtimestamp(path.stat().st_mtime, timezone.utc)
    except (OSError, ValueError, RecursionError) as err:
        reason = getattr(err, "strerror", None) or "is no JSON"
        raise CoachError(f"{path}: cannot read sessions ({reason}); ask for a file made by: coach export") from err
    if isinstance(data, dict) and data.get("format") == REPORT_FORMAT:
        return HandedOver(None, (session_from_report(from_dict(data, str(path)), kind="import", when=changed),))
    return _checked(data, path)


def _checked(data: object, path: Path) -> HandedOver:
    problem = mismatch(data, _shape(_File), str(path))
    if problem:
        raise CoachError(f"{problem}; ask for a file made by: coach export")
    content = cast(dict[str, Any], data)
    if content["sha256"] != _checksum({k: v for k, v in content.items() if k != "sha256"}):
        raise CoachError(f"{path}: is damaged or was changed (the checksum does not fit); ask for the file once more")
    try:
        return HandedOver(content["member"] or None, _built(_File, content).sessions)
    except ValueError as err:
        raise CoachError(f"{path}: {err}; ask for a file made by: coach export") from err


def _whole(digits: str) -> int:
    """A whole number that a database can hold."""
    number = int(digits)
    if abs(number) > 2**53:
        raise ValueError(f"the number {digits[:20]} is too large")
    return number


def _checksum(content: object) -> str:
    text = json.dumps(content, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _to_dict(session: Session) -> dict[str, Any]:
    content = asdict(session)
    del content[_NUMBER]
    return cast(dict[str, Any], json.loads(json.dumps(content, default=_utc)))  # tuples become lists, as when read back


def _utc(when: datetime) -> str:
    return when.astimezone(timezone.utc).isoformat()


@cache
def _fields(kind: Any) -> dict[str, Any]:
    """The fields of a class that stand in the file, with their types; nothing for what is no class of ours."""
    return {name: one for name, one in get_type_hints(kind).items() if name != _NUMBER} if is_dataclass(kind) else {}


@cache
def _shape(kind: Any) -> Any:
    """How a type stands in the file: a class as a mapping, a tuple as a list, a date or a status as its text."""
    if fields := _fields(kind):
        return TypedDict("_Mapping", {name: _shape(one) for name, one in fields.items()})  # type: ignore[operator]
    if get_origin(kind) is tuple:
        return list[_shape(get_args(kind)[0])]  # type: ignore[misc]
    if get_origin(kind) is UnionType:  # always with None
        return _shape(get_args(kind)[0]) | None
    if kind is Status:
        return Literal[tuple(status.value for status in Status)]
    return str if kind is datetime else kind


def _built(kind: Any, value: Any) -> Any:
    """A value of that type from what has its shape; fields that a later coach adds are passed over."""
    if fields := _fields(kind):
        return kind(**{name: _built(one, value[name]) for name, one in fields.items()})
    if get_origin(kind) is tuple:
        return tuple(_built(get_args(kind)[0], one) for one in value)
    if get_origin(kind) is UnionType:
        return None if value is None else _built(get_args(kind)[0], value)
    if kind is datetime:
        return datetime.fromisoformat(value)
    return Status(value) if kind is Status else value

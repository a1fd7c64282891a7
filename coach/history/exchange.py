"""A member's sessions as a file to hand over, and back: JSON with a SHA-256 checksum (FIPS 180-4) over its content.

A file whose checksum does not fit is refused whole; sessions that are known already are recognised by the store.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Any, Literal, TypedDict, cast

from coach.errors import CoachError
from coach.history.model import AnswerRow, DeliveryResult, ItemResult, Overruling, RegionResult, Session
from coach.history.records import session_from_report
from coach.judge.verdict import Status
from coach.report.json_file import from_dict
from coach.report.shape import FORMAT as REPORT_FORMAT
from coach.report.shape import mismatch

__all__ = ["FORMAT", "HandedOver", "read_sessions", "render_sessions"]

FORMAT: Literal["coach-sessions/1"] = "coach-sessions/1"
MAX_BYTES = 200_000_000  # a hundred sessions take about two million


class _ItemDict(TypedDict):
    item: str
    region: str
    kind: str
    title: str
    required: bool
    status: Literal["said", "skipped", "misnamed", "wrong", "unsure"]
    expected: str
    line: str
    heard: str | None
    start_s: float | None
    mended: bool


class _RegionDict(TypedDict):
    region: str
    title: str
    place: int
    seconds: float
    status: str
    n_told: int
    n_required: int
    out_of_order: bool


class _DeliveryDict(TypedDict):
    words_per_minute: float | None
    fillers: int
    long_pauses: int
    speaking_s: float


class _OverrulingDict(TypedDict):
    about: str
    was: str
    now: str


class _AnswerDict(TypedDict):
    question_id: str
    topic: str
    level: str
    share: float
    covered: list[str]
    missed: list[str]
    wrong: list[str]
    first_word_s: float | None
    seconds: float | None
    overrulings: list[_OverrulingDict]


class _SessionDict(TypedDict):
    kind: Literal["review", "rehearsal", "interview", "import"]
    when: str
    route: str
    card: str
    bird: str
    bird_name: str
    breed: str
    file: str
    seconds: float
    timed: bool
    listener: str
    digest: str
    items: list[_ItemDict]
    regions: list[_RegionDict]
    answers: list[_AnswerDict]


class _FileDict(TypedDict):
    format: Literal["coach-sessions/1"]
    member: str
    sessions: list[_SessionDict]
    sha256: str


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What a file holds; member is None when it names nobody."""

    member: str | None
    sessions: tuple[Session, ...]


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
    problem = mismatch(data, _FileDict, str(path))
    if problem:
        raise CoachError(f"{problem}; ask for a file made by: coach export")
    content = cast(_FileDict, data)
    if content["sha256"] != _checksum({k: v for k, v in content.items() if k != "sha256"}):
        raise CoachError(f"{path}: is damaged or was changed (the checksum does not fit); ask for the file once more")
    try:
        return HandedOver(content["member"] or None, tuple(_from_dict(s) for s in content["sessions"]))
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
    del content["number"]
    content["when"] = session.when.astimezone(timezone.utc).isoformat()
    for item, result in zip(content["items"], session.items, strict=True):
        item["status"] = result.status.value
    return cast(dict[str, Any], json.loads(json.dumps(content)))  # tuples become lists, as when read back


def _from_dict(data: _SessionDict) -> Session:
    fields = _only(data, _SessionDict)
    fields["when"] = datetime.fromisoformat(data["when"])
    fields["items"] = tuple(ItemResult(**_only(i, _ItemDict, status=Status(i["status"]))) for i in data["items"])
    fields["regions"] = tuple(RegionResult(**_only(r, _RegionDict)) for r in data["regions"])
    fields["answers"] = tuple(_answer(a) for a in data["answers"])
    return Session(**fields, delivery=_delivery(cast(dict[str, Any], data).get("delivery")))


def _delivery(data: object) -> DeliveryResult | None:
    """Stands alone because an interview has none."""
    if data is None:
        return None
    problem = mismatch(data, _DeliveryDict, "delivery")
    if problem:
        raise ValueError(problem)
    return DeliveryResult(**_only(data, _DeliveryDict))


def _answer(data: _AnswerDict) -> AnswerRow:
    points = {name: tuple(data[name]) for name in ("covered", "missed", "wrong")}
    rulings = tuple(Overruling(**_only(o, _OverrulingDict)) for o in data["overrulings"])
    return AnswerRow(**_only(data, _AnswerDict, **points, overrulings=rulings))


def _only(data: Any, shape: Any, **made: Any) -> dict[str, Any]:
    """The fields that the shape knows, some of them made already; what a later coach adds is passed over."""
    return {key: made.get(key, data[key]) for key in shape.__annotations__}

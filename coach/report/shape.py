"""The report file's shape as types: what json_file writes and reads, and what the shipped schema is made from.

Times are seconds from the first sample. `mismatch` tells the first place where a value departs from a shape.
"""

from __future__ import annotations

from types import NoneType, UnionType
from typing import Any, Literal, TypedDict, Union, get_args, get_origin, get_type_hints, is_typeddict

__all__ = ["FORMAT", "ReportDict", "mismatch"]

FORMAT: Literal["rehearsal-report/1"] = "rehearsal-report/1"


class RecordingDict(TypedDict):
    """What was listened to; timed is false when the words came without times."""

    file: str
    seconds: float
    timed: bool


class ListenerDict(TypedDict):
    """Who listened, and how many seconds listening and judging took."""

    name: str
    seconds: float


class WordDict(TypedDict):
    """One word as understood; written is what the listener first wrote, where the sound decided for other words."""

    text: str
    start: float
    end: float
    confidence: float | None
    written: str | None


class SpanDict(TypedDict):
    """A stretch of the recording."""

    start: float
    end: float


class RegionDict(TypedDict):
    """How one body region went; places count from 1, null when it was not visited."""

    id: str
    title: str
    status: Literal["covered", "partial", "skipped"]
    seconds: float
    visits: list[SpanDict]
    expected_place: int
    spoken_place: int | None
    told: int
    required: int
    words_per_minute: float | None


class ItemDict(TypedDict):
    """The outcome for one item; place is where a skipped item should have come, line a sentence that tells it."""

    id: str
    region: str
    kind: Literal["part", "fact", "condition", "fault"]
    title: str
    required: bool
    status: Literal["said", "skipped", "misnamed", "wrong", "unsure"]
    expected: str
    heard: str | None
    start: float | None
    end: float | None
    confidence: float | None
    basis: Literal["exact", "synonym", "sounds like", "value", "nothing heard"]
    place: float | None
    line: str
    note: str | None
    written: str | None
    late: bool


class OrderDict(TypedDict):
    """Region ids in the order they were spoken, and those out of order."""

    spoken: list[str]
    out_of_order: list[str]


class AsideDict(TypedDict):
    """Words to the bird or the judge."""

    text: str
    start: float
    end: float


class DeliveryDict(TypedDict):
    """How it was spoken; rates are null when too little was said."""

    words_per_minute: float | None
    articulation_wpm: float | None
    fillers: int
    long_pauses: list[SpanDict]
    asides: list[AsideDict]
    speaking_seconds: float
    pace_note: str
    filler_words: int
    repeats: int


class ShareDict(TypedDict):
    """One region's seconds beside an even share, the member's own usual and the budget of the time limit."""

    id: str
    seconds: float
    even: float
    usual: float | None
    budget: float | None


class TimingDict(TypedDict):
    """Seconds from the first word to the last, the limit, and each region's share."""

    total: float
    limit: float | None
    regions: list[ShareDict]


class SlipDict(TypedDict):
    """A slip the member put right at once."""

    item: str
    heard: str
    start: float


class FixDict(TypedDict):
    """One thing to mend next; at is null when there is no place to listen to."""

    item: str
    what: str
    at: float | None
    line: str


class ReportDict(TypedDict):
    """One rehearsal, heard and judged."""

    format: Literal["rehearsal-report/1"]
    recording: RecordingDict
    listener: ListenerDict
    route: str
    card: str
    bird: str
    bird_name: str
    breed: str
    is_rehearsal: bool
    words: list[WordDict]
    regions: list[RegionDict]
    items: list[ItemDict]
    order: OrderDict
    delivery: DeliveryDict
    timing: TimingDict | None
    slips: list[SlipDict]
    fixes: list[FixDict]
    caution: str
    cautions: list[str]


def mismatch(value: object, shape: Any, where: str = "report") -> str | None:
    """Where value departs from shape and how, or None when it fits. Keys beyond the shape are allowed."""
    if is_typeddict(shape):
        return _dict_mismatch(value, shape, where)
    if get_origin(shape) in (UnionType, Union):
        problems = [mismatch(value, part, where) for part in get_args(shape)]
        return None if None in problems else problems[0]
    if get_origin(shape) is list:
        if not isinstance(value, list):
            return f"{where}: expected a list"
        (item,) = get_args(shape)
        found = (mismatch(v, item, f"{where}[{i}]") for i, v in enumerate(value))
        return next((problem for problem in found if problem), None)
    return None if _fits(value, shape) else f"{where}: unexpected value {value!r:.60}"


def _dict_mismatch(value: object, shape: Any, where: str) -> str | None:
    if not isinstance(value, dict):
        return f"{where}: expected a mapping"
    for key, kind in get_type_hints(shape).items():
        if key not in value:
            return f"{where}: {key!r} is missing"
        problem = mismatch(value[key], kind, f"{where}.{key}")
        if problem:
            return problem
    return None


def _fits(value: object, shape: Any) -> bool:
    if get_origin(shape) is Literal:
        return value in get_args(shape)
    if shape is NoneType:
        return value is None
    if shape is float:
        return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < float("inf")
    if shape is int:
        return isinstance(value, int) and not isinstance(value, bool) and value >= 0
    return isinstance(value, shape)

"""A session's parts as rows of the tables, and back. Pure."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Row

from coach.history.model import AnswerRow, DeliveryResult, ItemResult, Overruling, RegionResult, Session
from coach.judge.verdict import Status

__all__ = [
    "answer_row",
    "storable",
    "to_answer",
    "to_delivery",
    "to_items",
    "to_region",
    "to_session",
]

_STATUS = {status.value: status for status in Status}


def storable(row: dict[str, Any]) -> dict[str, Any]:
    """Text without half characters, as a file name of another system may have them."""
    return {k: v.encode("utf-8", "replace").decode() if isinstance(v, str) else v for k, v in row.items()}


def to_session(row: Row[Any], **parts: Any) -> Session:
    """A session with its head from a row of sessions joined with birds."""
    return Session(
        kind=row.kind,
        when=datetime.fromisoformat(row.at),
        route=row.route,
        card=row.card,
        bird=row.bird,
        bird_name=row.bird_name,
        breed=row.breed,
        file=row.file,
        seconds=row.seconds,
        timed=bool(row.timed),
        listener=row.listener,
        digest=row.digest,
        number=row.id,
        **parts,
    )


def to_items(
    verdicts: Iterable[Row[Any]], wordings: Mapping[int, Row[Any]], rulings: Iterable[Row[Any]]
) -> tuple[ItemResult, ...]:
    """The items, a leader's word standing over the listener's; wordings by their ids."""
    ruled = {r.item: r.now for r in rulings if not r.about}
    items = []
    for _, _, wording_id, status, heard, start_s, mended in map(tuple, verdicts):  # unpacked: there are thousands
        _, item, region, kind, title, expected, line, required = tuple(wordings[wording_id])
        if ruled:
            status = ruled.get(item, status)
        items.append(
            ItemResult(
                item=item,
                region=region,
                kind=kind,
                title=title,
                required=bool(required),
                status=_STATUS[status],
                expected=expected,
                line=line,
                heard=heard,
                start_s=start_s,
                mended=bool(mended),
            )
        )
    return tuple(items)


def to_region(row: Row[Any]) -> RegionResult:
    """From a row of region_times."""
    return RegionResult(
        region=row.region,
        title=row.title,
        place=row.place,
        seconds=row.seconds,
        status=row.status,
        n_told=row.n_told,
        n_required=row.n_required,
        out_of_order=bool(row.out_of_order),
    )


def to_delivery(row: Row[Any]) -> DeliveryResult:
    """From a row of delivery."""
    return DeliveryResult(
        words_per_minute=row.words_per_minute, fillers=row.fillers, long_pauses=row.long_pauses, speaking_s=row.speaking_s
    )


def answer_row(answer: AnswerRow) -> dict[str, Any]:
    """A row of answers; the overrulings are rows of their own."""
    return {
        "question": answer.question_id,
        "topic": answer.topic,
        "level": answer.level,
        "share": answer.share,
        **{name: json.dumps(getattr(answer, name), ensure_ascii=False) for name in ("covered", "missed", "wrong")},
        "first_word_s": answer.first_word_s,
        "seconds": answer.seconds,
    }


def to_answer(row: Row[Any], rulings: Iterable[Row[Any]]) -> AnswerRow:
    """From a row of answers, and its session's overrulings."""
    return AnswerRow(
        question_id=row.question,
        topic=row.topic,
        level=row.level,
        share=row.share,
        covered=tuple(json.loads(row.covered)),
        missed=tuple(json.loads(row.missed)),
        wrong=tuple(json.loads(row.wrong)),
        first_word_s=row.first_word_s,
        seconds=row.seconds,
        overrulings=tuple(Overruling(r.about, r.was, r.now) for r in rulings if r.item == row.question),
    )

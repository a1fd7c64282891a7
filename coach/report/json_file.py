"""A Report as the report file's dictionary and back; times are rounded to a millisecond, the length to 0.01 s.

A report read back equals the one written, apart from that rounding.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import cast

from coach.errors import CoachError
from coach.judge.timing import RegionShare, Timing
from coach.judge.verdict import (
    Basis,
    Delivery,
    Finding,
    Judgement,
    LongPause,
    RegionTime,
    Slip,
    Status,
    Verdict,
    Visit,
)
from coach.report.files import write_whole
from coach.report.model import Fix, Report
from coach.report.shape import (
    FORMAT,
    AsideDict,
    DeliveryDict,
    FixDict,
    ItemDict,
    RegionDict,
    ReportDict,
    ShareDict,
    SlipDict,
    SpanDict,
    TimingDict,
    WordDict,
    mismatch,
)
from coach.words import Word

__all__ = ["from_dict", "read_json", "to_dict", "write_json"]


def write_json(report: Report, path: Path) -> None:
    """Write the report file whole or not at all; CoachError tells why it could not be written."""
    text = json.dumps(to_dict(report), indent=1, ensure_ascii=False, allow_nan=False)
    write_whole(text + "\n", path)


def read_json(path: Path) -> Report:
    """Read a report file; CoachError names the file and the place that is wrong."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as err:
        raise CoachError(f"{path}: cannot read a report ({err})") from err
    return from_dict(data, str(path))


def to_dict(report: Report) -> ReportDict:
    """The report file's content."""
    judgement = report.judgement
    return {
        "format": FORMAT,
        "recording": {"file": report.file, "seconds": round(report.seconds, 2), "timed": report.timed},
        "listener": {"name": report.listener, "seconds": round(report.listener_s, 2)},
        "route": report.route,
        "card": report.card,
        "bird": report.bird,
        "bird_name": report.bird_name,
        "breed": report.breed,
        "is_rehearsal": judgement.is_rehearsal,
        "words": [_word(w) for w in report.words],
        "regions": [_region(r) for r in judgement.regions],
        "items": [_item(v) for v in judgement.verdicts],
        "order": {"spoken": list(judgement.spoken_order), "out_of_order": list(judgement.out_of_order)},
        "delivery": _delivery(judgement.delivery),
        "timing": _timing(report.timing) if report.timing else None,
        "slips": [SlipDict(item=s.item, heard=s.heard, start=_ms(s.start_s)) for s in judgement.slips],
        "fixes": [FixDict(item=f.verdict.id, what=f.what, at=_maybe_ms(f.at_s), line=f.line) for f in report.fixes],
        "caution": " ".join(report.cautions),
        "cautions": list(report.cautions),
    }


def from_dict(data: object, where: str = "report") -> Report:
    """The Report that to_dict wrote.

    Raises:
        CoachError: something is missing or of the wrong kind; the message starts with where and names the place.
    """
    problem = mismatch(data, ReportDict, where)
    if problem:
        raise CoachError(f"{problem}; is this a {FORMAT} file?")
    try:
        return _report(cast(ReportDict, data))
    except (KeyError, ValueError) as err:  # a fix of an unknown item, a word that ends before it starts
        raise CoachError(f"{where}: {err}; is this a {FORMAT} file?") from err


def _report(data: ReportDict) -> Report:
    judgement = _read_judgement(data)
    verdicts = {v.id: v for v in judgement.verdicts}
    return Report(
        file=data["recording"]["file"],
        seconds=data["recording"]["seconds"],
        timed=data["recording"]["timed"],
        listener=data["listener"]["name"],
        listener_s=data["listener"]["seconds"],
        route=data["route"],
        card=data["card"],
        bird=data["bird"],
        bird_name=data["bird_name"],
        breed=data["breed"],
        words=tuple(Word(w["text"], w["start"], w["end"], w["confidence"], w["written"]) for w in data["words"]),
        judgement=judgement,
        fixes=tuple(Fix(verdicts[f["item"]], f["what"], f["at"], f["line"]) for f in data["fixes"]),
        cautions=tuple(data["cautions"]),
        timing=_read_timing(data["timing"]) if data["timing"] else None,
    )


def _word(word: Word) -> WordDict:
    return {
        "text": word.text,
        "start": _ms(word.start_s),
        "end": _ms(word.end_s),
        "confidence": _maybe_ms(word.confidence),
        "written": word.written,
    }


def _span(span: Visit | LongPause) -> SpanDict:
    return {"start": _ms(span.start_s), "end": _ms(span.end_s)}


def _region(region: RegionTime) -> RegionDict:
    return {
        "id": region.id,
        "title": region.title,
        "status": region.status,  # type: ignore[typeddict-item]  # the judge's three words
        "seconds": round(region.seconds, 2),
        "visits": [_span(v) for v in region.visits],
        "expected_place": region.expected_place,
        "spoken_place": region.spoken_place,
        "told": region.n_told,
        "required": region.n_required,
        "words_per_minute": _maybe_ms(region.words_per_minute),
    }


def _item(verdict: Verdict) -> ItemDict:
    return {
        "id": verdict.id,
        "region": verdict.region,
        "kind": verdict.kind,  # type: ignore[typeddict-item]  # the route's four words
        "title": verdict.title,
        "required": verdict.required,
        "status": verdict.status.value,
        "expected": verdict.expected,
        "heard": verdict.heard,
        "start": _maybe_ms(verdict.start_s),
        "end": _maybe_ms(verdict.end_s),
        "confidence": _maybe_ms(verdict.confidence),
        "basis": verdict.basis.value,
        "place": _maybe_ms(verdict.place_s),
        "line": verdict.line,
        "note": verdict.note,
        "written": verdict.written,
        "late": verdict.late,
    }


def _delivery(delivery: Delivery) -> DeliveryDict:
    return {
        "words_per_minute": _maybe_ms(delivery.words_per_minute),
        "articulation_wpm": _maybe_ms(delivery.articulation_wpm),
        "fillers": delivery.fillers,
        "long_pauses": [_span(p) for p in delivery.long_pauses],
        "asides": [AsideDict(text=a.text, start=_ms(a.start_s), end=_ms(a.end_s)) for a in delivery.asides],
        "speaking_seconds": _ms(delivery.speaking_s),
        "pace_note": delivery.pace_note,
        "filler_words": delivery.filler_words,
        "repeats": delivery.repeats,
    }


def _timing(timing: Timing) -> TimingDict:
    return {
        "total": _ms(timing.total_s),
        "limit": _maybe_ms(timing.limit_s),
        "regions": [
            ShareDict(
                id=r.id, seconds=_ms(r.seconds), even=_ms(r.even_s), usual=_maybe_ms(r.usual_s), budget=_maybe_ms(r.budget_s)
            )
            for r in timing.regions
        ],
    }


def _read_timing(timing: TimingDict) -> Timing:
    shares = (
        RegionShare(id=r["id"], seconds=r["seconds"], even_s=r["even"], usual_s=r["usual"], budget_s=r["budget"])
        for r in timing["regions"]
    )
    return Timing(timing["total"], timing["limit"], tuple(shares))


def _read_judgement(data: ReportDict) -> Judgement:
    return Judgement(
        verdicts=tuple(_read_item(i) for i in data["items"]),
        regions=tuple(_read_region(r) for r in data["regions"]),
        spoken_order=tuple(data["order"]["spoken"]),
        out_of_order=tuple(data["order"]["out_of_order"]),
        delivery=_read_delivery(data["delivery"]),
        slips=tuple(Slip(s["item"], s["heard"], s["start"]) for s in data["slips"]),
        is_rehearsal=data["is_rehearsal"],
    )


def _read_item(item: ItemDict) -> Verdict:
    return Verdict(
        id=item["id"],
        region=item["region"],
        kind=item["kind"],
        title=item["title"],
        required=item["required"],
        status=Status(item["status"]),
        expected=item["expected"],
        heard=item["heard"],
        start_s=item["start"],
        end_s=item["end"],
        confidence=item["confidence"],
        basis=Basis(item["basis"]),
        place_s=item["place"],
        line=item["line"],
        note=item["note"],
        written=item["written"],
        late=item["late"],
    )


def _read_region(region: RegionDict) -> RegionTime:
    return RegionTime(
        id=region["id"],
        title=region["title"],
        status=region["status"],
        visits=tuple(Visit(v["start"], v["end"]) for v in region["visits"]),
        expected_place=region["expected_place"],
        spoken_place=region["spoken_place"],
        n_told=region["told"],
        n_required=region["required"],
        words_per_minute=region["words_per_minute"],
    )


def _read_delivery(delivery: DeliveryDict) -> Delivery:
    return Delivery(
        words_per_minute=delivery["words_per_minute"],
        articulation_wpm=delivery["articulation_wpm"],
        fillers=delivery["fillers"],
        long_pauses=tuple(LongPause(p["start"], p["end"]) for p in delivery["long_pauses"]),
        asides=tuple(Finding(a["text"], a["start"], a["end"]) for a in delivery["asides"]),
        speaking_s=delivery["speaking_seconds"],
        pace_note=delivery["pace_note"],
        filler_words=delivery["filler_words"],
        repeats=delivery["repeats"],
    )


def _ms(value: float) -> float:
    """Seconds to the millisecond; also tidy enough for rates and probabilities."""
    return round(value, 3)


def _maybe_ms(value: float | None) -> float | None:
    return None if value is None else round(value, 3)

"""Why one item was judged as it was: the chain from the sound to the verdict, in plain words.

In: a Report and an item's id. Out: lines of text. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.errors import CoachError
from coach.judge.verdict import Basis, Status, Verdict
from coach.report.model import Report
from coach.report.phrases import STATUS_WORDS, clock, lower_first, quote

__all__ = ["explain"]

AROUND_S = 4.0
_COMPARED = {
    Basis.EXACT: "these are the words I listen for",
    Basis.SYNONYM: "this is another way to say it",
    Basis.SOUNDS_LIKE: "it was written otherwise first, but the sound decided for these words",
    Basis.VALUE: "the value was compared with your breed card or bird file",
    Basis.NOTHING: "nothing that could mean this was heard anywhere in the recording",
}


def explain(report: Report, item: str) -> tuple[str, ...]:
    """The chain for one item.

    Raises:
        CoachError: the report has no such item; the message names the nearest.
    """
    verdict = next((v for v in report.judgement.verdicts if v.id == item), None)
    if verdict is None:
        raise CoachError(f"--explain {item}: this rehearsal has no such item; {_nearest(report, item)}")
    return tuple(_chain(report, verdict))


def _nearest(report: Report, item: str) -> str:
    from rapidfuzz.process import extractOne

    ids = [v.id for v in report.judgement.verdicts]
    found = extractOne(item, ids)
    return f"did you mean {found[0]}?" if found and found[1] >= 60 else f"the items are: {', '.join(ids)}"


def _chain(report: Report, verdict: Verdict) -> Iterator[str]:
    yield f"{verdict.id}: {lower_first(verdict.title)}"
    asked = "asked of this bird" if verdict.required else "a bonus, never a miss"
    yield f"  Expected: {quote(verdict.expected)} ({asked})."
    if verdict.heard is None:
        yield "  Heard: nothing."
        if report.timed and verdict.place_s is not None:
            yield f"  Where it should have come: about {clock(verdict.place_s)}."
        elif verdict.region == "facts":
            yield "  Where it should have come: anywhere; breed facts have no fixed place."
    else:
        at = f" at {clock(verdict.start_s)}" if report.timed and verdict.start_s is not None else ""
        yield f"  Heard: {quote(verdict.heard)}{at}."
        yield from _around(report, verdict)
        if verdict.written:
            yield f"  First written: {quote(verdict.written)}. I asked the sound again, and {quote(verdict.heard)} fitted better."
    yield f"  Compared: {verdict.basis.value}; {_COMPARED[verdict.basis]}."
    if report.listener == "words":
        yield "  The words came from a file, so there was no sound to ask."
    if verdict.confidence is not None:
        yield f"  How sure of the words: {round(100 * verdict.confidence)} in 100."
    if verdict.note:
        yield f"  Note: {verdict.note}."
    if verdict.late:
        yield "  Told late: you had already gone on from its region. It counts as said."
    for slip in (s for s in report.judgement.slips if s.item == verdict.id):
        at = f" at {clock(slip.start_s)}" if report.timed else ""
        yield f"  Before that: {quote(slip.heard)}{at}, which you put right at once. The last word stands."
    yield f"  So: {STATUS_WORDS[verdict.status]}{_doubt(verdict)}."


def _around(report: Report, verdict: Verdict) -> Iterator[str]:
    start, end = verdict.start_s, verdict.end_s
    if report.timed and start is not None and end is not None:
        words = [w.text for w in report.words if start - AROUND_S <= w.start_s and w.end_s <= end + AROUND_S]
        yield f"  Around it: ... {' '.join(words)} ..."


def _doubt(verdict: Verdict) -> str:
    return ": the evidence is too weak either way; listen to that second yourself" if verdict.status is Status.UNSURE else ""

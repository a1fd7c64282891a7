"""The words every face of the report shares: times, status words, strengths, delivery; a Report in, sentences out.

Wording is for a twelve-year-old: what was heard, what it should be, never a grade; the listener's doubt is said aloud.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from coach.judge.timing import RegionShare
from coach.judge.verdict import Judgement, RegionTime, Status, Verdict
from coach.report.model import Report

__all__ = [
    "MARKS",
    "STATUS_WORDS",
    "clock",
    "delivery_lines",
    "detail",
    "extras",
    "groups",
    "headline",
    "join_words",
    "late_lines",
    "length",
    "lower_first",
    "order_word",
    "quote",
    "region_word",
    "shown",
    "slip_lines",
    "strengths",
    "took",
    "upper_first",
]

STATUS_WORDS = {
    Status.SAID: "said",
    Status.SKIPPED: "left out",
    Status.MISNAMED: "wrong name",
    Status.WRONG: "not right",
    Status.UNSURE: "listen",
}
MARKS = {Status.SAID: "✓", Status.SKIPPED: "○", Status.MISNAMED: "≠", Status.WRONG: "✗", Status.UNSURE: "?"}

STRONG_SHARE = 0.85  # of the required items: from here the headline praises first
FAIR_SHARE = 0.5
OUT = 1.5  # times as long (or as short): worth a line
LEAST_S = 8.0  # a region that takes less is not worth a line about its time
PAUSES_NAMED = 4  # long pauses named one by one; more become a count

_EXTRA_GROUPS = {"facts": "breed facts", "faults": "your bird's own faults"}


def clock(at_s: float) -> str:
    """A place in the recording as m:ss, rounded down so that playing from there still catches the words."""
    whole = int(at_s)
    return f"{whole // 60}:{whole % 60:02d}"


def length(seconds: float) -> str:
    """A length of time in short words: "4 s", "1 min 20 s"."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    return f"{whole // 60} min {whole % 60} s" if whole % 60 else f"{whole // 60} min"


def quote(text: str) -> str:
    """The text in quotation marks, without the comma or stop the listener hung on its end."""
    return f"“{text.strip().rstrip(',;:.')}”"


def upper_first(text: str) -> str:
    """A sentence's first letter."""
    return text[:1].upper() + text[1:]


def lower_first(text: str) -> str:
    """A title inside a sentence; "USDA label" and the like keep their capitals."""
    return text[:1].lower() + text[1:] if not text[1:2].isupper() else text


def join_words(names: Sequence[str]) -> str:
    """a, b and c."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def region_word(title: str) -> str:
    """A region's title as it stands after "the"."""
    return lower_first(re.sub(r"^the ", "", title, flags=re.IGNORECASE))


def shown(verdict: Verdict) -> bool:
    """False for an optional item that was not told: a bonus is never a miss."""
    return verdict.required or verdict.status is not Status.SKIPPED


def groups(judgement: Judgement) -> tuple[tuple[str, tuple[Verdict, ...]], ...]:
    """(title, verdicts) for each region in expected order, then breed facts, then the bird's own faults."""
    titles = {r.id: region_word(r.title) for r in sorted(judgement.regions, key=lambda r: r.expected_place)}
    titles |= {key: title for key, title in _EXTRA_GROUPS.items() if key not in titles}
    for verdict in judgement.verdicts:
        titles.setdefault(_group(verdict), _group(verdict))
    found = {key: tuple(v for v in judgement.verdicts if _group(v) == key) for key in titles}
    return tuple((titles[key], verdicts) for key, verdicts in found.items() if verdicts)


def extras(verdicts: Iterable[Verdict]) -> tuple[str, ...]:
    """Titles of the optional items that were not told."""
    return tuple(lower_first(v.title) for v in verdicts if not shown(v))


def headline(report: Report) -> str:
    """How much was told, in one sentence that says the good part first."""
    required = [v for v in report.judgement.verdicts if v.required]
    told = sum(v.status is Status.SAID for v in required)
    count = f"you told {told} of the {len(required)} things to tell"
    if required and told == len(required):
        return "A full rehearsal: you told everything there is to tell."
    if told >= STRONG_SHARE * len(required):
        return f"A strong rehearsal: {count}."
    if told >= FAIR_SHARE * len(required):
        return f"A good base: {count}."
    return f"A start: {count}. Take the list below one line at a time."


def strengths(report: Report) -> tuple[str, ...]:
    """What went well beyond the count: honest faults, whole regions, order, slips put right."""
    judgement = report.judgement
    lines = []
    faults = [v for v in judgement.verdicts if v.kind == "fault" and v.status is Status.SAID]
    if faults:
        told = join_words([_with_time(lower_first(v.title), v.start_s, report.timed) for v in faults])
        lines.append(f"You were honest about your bird: {told}. Judges like that.")
    whole = [region_word(r.title) for r in judgement.regions if r.status == "covered" and r.n_required]
    if whole:
        lines.append(f"Nothing left out at: {join_words(whole)}.")
    if len(judgement.spoken_order) > 2 and not judgement.out_of_order:
        lines.append("You kept the regions in order.")
    return tuple(lines) + slip_lines(report)


def slip_lines(report: Report) -> tuple[str, ...]:
    """Slips that the member put right at once."""
    titles = {v.id: lower_first(v.title) for v in report.judgement.verdicts}
    return tuple(
        f"You put it right at once: {quote(s.heard)} for {titles.get(s.item, s.item)}"
        f"{_at(s.start_s, report.timed)}. It counts as said."
        for s in report.judgement.slips
    )


def late_lines(report: Report) -> tuple[str, ...]:
    """What was passed over and told later, in one line; nothing where the words have no times."""
    late = [v for v in report.judgement.verdicts if v.late] if report.timed else []
    if not late:
        return ()
    named = join_words([_with_time(lower_first(v.title), v.start_s, True) for v in late])
    return (f"Told late, when you had already gone on: {named}. Late counts as said.",)


def took(region: RegionTime, report: Report) -> str:
    """How long the region took, and of how much time where there is a limit: "12 s of 20 s"."""
    spent = length(region.seconds) if region.visits else ""
    shares = report.timing.regions if report.timing else ()
    budget_s = next((s.budget_s for s in shares if s.id == region.id), None)
    return spent if budget_s is None else f"{spent or '0 s'} of {length(budget_s)}"


def detail(verdict: Verdict, timed: bool) -> str:
    """What was heard for one item and what it should be, without the item's name."""
    heard = quote(verdict.heard) if verdict.heard else ""
    note = f" ({verdict.note})" if verdict.note else ""
    if verdict.status is Status.SAID:
        return heard + note + (" (told late)" if verdict.late else "")
    if verdict.status is Status.SKIPPED:
        return f"not heard{note}"
    if verdict.status is Status.MISNAMED:
        return f"I heard {heard}; the name is {quote(verdict.expected)}{note}"
    if verdict.status is Status.WRONG and verdict.kind == "fault":
        return f"I heard {heard}; your bird file has {quote(verdict.expected)}{note}"
    if verdict.status is Status.WRONG:
        return f"I heard {heard}; it should be {quote(verdict.expected)}{note}"
    return _unsure(verdict, heard, timed) + note


def order_word(region: RegionTime, judgement: Judgement) -> str:
    """How much of the region was told, and the word "out of order" where it stands out of order."""
    if region.n_required and region.n_told >= region.n_required:
        told = "all told"
    elif region.n_told or region.visits:
        told = f"{region.n_told} of {region.n_required} told" if region.n_required else "visited"
    else:
        told = "passed over" if region.n_required else "nothing asked"
    return f"{told}, out of order" if region.id in judgement.out_of_order else told


def delivery_lines(report: Report) -> tuple[str, ...]:
    """Pace, fillers, long pauses and asides as facts; a young speaker may well be slower than a grown one."""
    delivery = report.judgement.delivery
    lines = [_pace(report), *_region_paces(report), *_timing(report)] if report.timed else []
    if delivery.fillers:
        lines.append(f"Fillers such as “um”: about {delivery.fillers}. Everyone has some; they fade with practice.")
    else:
        lines.append("Fillers such as “um”: none that I noticed.")
    if delivery.filler_words:
        lines.append(f"“Like”, “you know” and such, standing alone: about {delivery.filler_words}.")
    if delivery.repeats:
        again = "That is thinking time; a short silence does as well."
        lines.append(f"Words said twice at a start: about {delivery.repeats}. {again}")
    if report.timed:
        lines.append(_pauses(report))
    if delivery.asides:
        count = len(delivery.asides)
        lines.append(f"Words to the bird or the judge: {count}, never counted as a mistake.")
    return tuple(lines)


def _pace(report: Report) -> str:
    delivery = report.judgement.delivery
    if delivery.words_per_minute is None:
        return "Pace: too few words to tell."
    note = f", {delivery.pace_note}" if delivery.pace_note else ""
    return f"Pace: about {round(delivery.words_per_minute)} words a minute{note}."


def _region_paces(report: Report) -> Iterable[str]:
    """Words a minute by region: only those with enough words to tell."""
    paced = [(region_word(r.title), r.words_per_minute) for r in report.judgement.regions if r.words_per_minute is not None]
    if len(paced) > 1:
        yield f"Pace by region, in words a minute: {join_words([f'{name} {round(wpm)}' for name, wpm in paced])}."


def _timing(report: Report) -> Iterable[str]:
    """The limit, and the regions that took far more or less than their share."""
    timing = report.timing
    if timing is None:
        return
    if timing.limit_s is not None:
        left_s = timing.limit_s - timing.total_s
        spare = f"{length(left_s)} to spare" if left_s >= 0 else f"{length(-left_s)} over"
        yield f"Time: {length(timing.total_s)} of {length(timing.limit_s)}, {spare}."
    titles = {r.id: region_word(r.title) for r in report.judgement.regions}
    for share in timing.regions:
        beside = _beside(share)
        if beside and share.seconds:
            yield f"The {titles[share.id]} took {length(share.seconds)}; {beside}."


def _beside(share: RegionShare) -> str:
    """What a region's time stands out from: the member's own usual first, else the limit's budget or an even share."""
    if max(share.seconds, share.usual_s or 0.0) < LEAST_S:
        return ""
    if share.usual_s is not None:
        return f"your usual is {length(share.usual_s)}" if _stands_out(share.seconds, share.usual_s) else ""
    if share.budget_s is not None:
        return f"its part of the limit is {length(share.budget_s)}" if share.seconds > OUT * share.budget_s else ""
    return f"an even share is {length(share.even_s)}" if share.seconds > 2 * OUT * share.even_s else ""


def _stands_out(seconds: float, than_s: float) -> bool:
    return not than_s / OUT <= seconds <= than_s * OUT


def _pauses(report: Report) -> str:
    pauses = report.judgement.delivery.long_pauses
    if not pauses:
        return "Long pauses: none."
    named = [f"{clock(p.start_s)} ({length(p.end_s - p.start_s)})" for p in pauses[:PAUSES_NAMED]]
    more = len(pauses) - len(named)
    places = join_words(named + ([f"{more} more"] if more else []))
    return f"Long pauses: {len(pauses)}, at {places}. A pause to look at the bird is fine."


def _unsure(verdict: Verdict, heard: str, timed: bool) -> str:
    at_s = verdict.start_s if verdict.start_s is not None else verdict.place_s
    doubt = f"I may have heard {heard}" if heard else "I could not hear this well"
    if timed and at_s is not None:
        return f"{doubt}; listen at {clock(at_s)}: did you say {quote(verdict.expected)}?"
    return f"{doubt}; did you say {quote(verdict.expected)}?"


def _group(verdict: Verdict) -> str:
    return "faults" if verdict.kind == "fault" else verdict.region


def _with_time(text: str, at_s: float | None, timed: bool) -> str:
    return f"{text} ({clock(at_s)})" if timed and at_s is not None else text


def _at(at_s: float, timed: bool) -> str:
    return f" ({clock(at_s)})" if timed else ""

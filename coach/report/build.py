"""From timed words, the judgement and a few names to a Report: picks the fixes and adds the standing cautions."""

from __future__ import annotations

from collections.abc import Mapping

from coach.judge.timing import time_regions
from coach.judge.verdict import Judgement, RegionTime, Status, Verdict
from coach.report.model import Fix, Report
from coach.report.phrases import detail, join_words, lower_first, region_word, upper_first
from coach.words import TimedWords

__all__ = ["BROKEN_OFF", "CAUTIONS", "MAX_FIXES", "build_report"]

MAX_FIXES = 5  # more than a member can work on before the next rehearsal
CAUTIONS = (
    "Practice only: your show's own rules, the breed standard and the judge decide.",
    "I can mishear: listen to that second before you change a line.",
    "Wash your hands before and after handling a bird.",
    "Hold the bird upright with its body supported, never upside down.",
    "A sick bird stays home. Ask a veterinarian and follow the product label and local rules; "
    "I never tell how to treat.",
)
BROKEN_OFF = "The recording breaks off or is damaged: what it lost may look left out here. Copy the file again."


def build_report(
    words: TimedWords,
    judgement: Judgement,
    *,
    file: str,
    listener: str,
    listener_s: float,
    route: str,
    card: str,
    bird: str,
    bird_name: str,
    breed: str,
    broken_off: bool = False,
    limit_s: float | None = None,
    usual_s: Mapping[str, float] | None = None,
) -> Report:
    """One rehearsal's Report.

    Args:
        words: everything that was heard.
        judgement: what the judge made of it.
        file: the recording's name as the member knows it.
        listener: the listener's name.
        listener_s: seconds that listening and judging took.
        route, card, bird: ids, for the JSON file.
        bird_name, breed: as shown to the member.
        broken_off: part of the recording is missing; the report then says so.
        limit_s: the time allowed, if any.
        usual_s: the member's usual seconds by region, from earlier sessions.
    """
    spoken = words.words
    total_s = spoken[-1].end_s - spoken[0].start_s if spoken else 0.0
    return Report(
        file=file,
        seconds=words.seconds,
        timed=words.timed,
        listener=listener,
        listener_s=listener_s,
        route=route,
        card=card,
        bird=bird,
        bird_name=bird_name,
        breed=breed,
        words=words.words,
        judgement=judgement,
        fixes=_fixes(judgement, words.timed) if judgement.is_rehearsal else (),
        cautions=(BROKEN_OFF, *CAUTIONS) if broken_off else CAUTIONS,
        timing=time_regions(judgement.regions, total_s, limit_s, usual_s) if words.timed else None,
    )


def _fixes(judgement: Judgement, timed: bool) -> tuple[Fix, ...]:
    """At most five: what was said wrong, what was left out, what came out of order, what to listen to."""
    required = [v for v in judgement.verdicts if v.required]
    fixes = [_said_otherwise(v, timed) for v in _by_time(list(judgement.verdicts), Status.WRONG, Status.MISNAMED)]
    fixes += _skipped(judgement, required, timed)
    fixes += _out_of_order(judgement, timed)
    fixes += [_unclear(v, timed) for v in _by_time(required, Status.UNSURE)]
    return tuple(fixes[:MAX_FIXES])


def _by_time(verdicts: list[Verdict], *statuses: Status) -> list[Verdict]:
    return sorted((v for v in verdicts if v.status in statuses), key=lambda v: _place(v, True) or 0.0)


def _place(verdict: Verdict, timed: bool) -> float | None:
    """Where in the recording to listen: the words, or where they should have come."""
    at_s = verdict.start_s if verdict.start_s is not None else verdict.place_s
    return at_s if timed else None


def _said_otherwise(verdict: Verdict, timed: bool) -> Fix:
    what = f"{upper_first(verdict.title)}: {detail(verdict, timed)}."
    return Fix(verdict, what, _place(verdict, timed), verdict.line)


def _unclear(verdict: Verdict, timed: bool) -> Fix:
    what = f"{upper_first(verdict.title)}: {detail(verdict, timed)}"
    return Fix(verdict, what, _place(verdict, timed), verdict.line)


def _skipped(judgement: Judgement, required: list[Verdict], timed: bool) -> list[Fix]:
    """Whole regions first, one fix each; then single items in route order."""
    whole: list[Fix] = []
    single: list[Fix] = []
    for region in dict.fromkeys(v.region for v in required):
        group = [v for v in required if v.region == region and v.kind != "fault"]
        skipped = [v for v in required if v.region == region and v.status is Status.SKIPPED]
        left_out = [v for v in skipped if v.kind != "fault"]
        if left_out and len(left_out) == len(group):
            whole.append(_whole_region(region, left_out, judgement, timed))
            skipped = [v for v in skipped if v.kind == "fault"]
        single += [_left_out(v, timed) for v in skipped]
    return whole + single


def _whole_region(region_id: str, left_out: list[Verdict], judgement: Judgement, timed: bool) -> Fix:
    names = join_words([lower_first(v.title) for v in left_out])
    region = next((r for r in judgement.regions if r.id == region_id), None)
    if region is None:
        what = f"You told no breed facts yet: {names}." if region_id == "facts" else f"You left out: {names}."
    elif region.visits:
        what = f"At the {region_word(region.title)} you left out: {names}."
    else:
        what = f"You passed over the {region_word(region.title)}: {names}."
    return Fix(left_out[0], what, _place(left_out[0], timed), left_out[0].line)


def _left_out(verdict: Verdict, timed: bool) -> Fix:
    if verdict.kind == "fault":
        what = f"Your bird's own fault was not told: {lower_first(verdict.title)}. Telling it counts for you."
    else:
        what = f"You left out: {lower_first(verdict.title)}."
    return Fix(verdict, what, _place(verdict, timed), verdict.line)


def _out_of_order(judgement: Judgement, timed: bool) -> list[Fix]:
    """One fix per region out of order that has a verdict to hang it on."""
    expected = sorted(judgement.regions, key=lambda r: r.expected_place)
    fixes = []
    for index, region in enumerate(expected):
        verdict = next((v for v in judgement.verdicts if v.region == region.id), None)
        if region.id in judgement.out_of_order and verdict is not None:
            fixes.append(_moved(region, expected[max(index - 1, 0) : index + 2], verdict, timed))
    return fixes


def _moved(region: RegionTime, around: list[RegionTime], verdict: Verdict, timed: bool) -> Fix:
    name = region_word(region.title)
    order = ", then ".join(region_word(r.title) for r in around)
    at_s = region.visits[0].start_s if timed and region.visits else None
    return Fix(verdict, f"The {name} came out of order. The order is: {order}.", at_s, "")

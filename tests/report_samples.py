"""Hand-made reports for the report tests: a strong rehearsal, a weak one, one without times, one that is none.

Run as a program it renews the expected texts in tests/golden.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

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
from coach.report.build import build_report
from coach.report.model import Report
from coach.report.terminal import render
from coach.words import TimedWords, Word

# (region, seconds it starts at, what is said there)
_SPOKEN = tuple((region, " ".join(lines)) for region, *lines in (
    ("opening", "Hello, this is Juniper, she is a Buff Orpington pullet."),
    (
        "head",
        "I start at the head. Her beak is horn and well shaped. The comb is rose, with five points, bright red and no",
        "frostbite. These are the jowls. The eyes are clear and reddish bay. The ear lobes are red.",
    ),
    ("tail", "Easy, girl. Here are the main tail feathers and the tail covers."),
    ("back", "On her back the undercolor is buff, and I see no lice or mites."),
    ("breast", "The breast is full. The keel is straight, without a blister."),
    (
        "legs",
        "Now the thighs, the knee, um, I mean the hocks, and the shanks are white.",
        "The scales are smooth. She has four toes and one of them is a little crooked, so I will not breed from her.",
    ),
    ("closing", "A hen should weigh ten pounds. Thank you, do you have any questions?"),
))  # fmt: skip
_RECIPE = "Stir the butter into the flour."
_PACE_S = 0.36  # seconds a word takes in these samples
_GAP_S = 1.2  # silence before each region


def _speak() -> tuple[tuple[Word, ...], dict[str, Visit]]:
    words: list[Word] = []
    visits = {}
    at_s = 0.4
    for region, text in _SPOKEN:
        start_s = at_s
        for token in text.split():
            words.append(Word(token, round(at_s, 2), round(at_s + 0.3, 2), 0.95))
            at_s += _PACE_S
        visits[region] = Visit(round(start_s, 2), round(at_s, 2))
        at_s += _GAP_S
    return tuple(words), visits


def _find(words: tuple[Word, ...], phrase: str) -> tuple[float, float]:
    texts = [w.text.strip(",.?").lower() for w in words]
    wanted = phrase.lower().split()
    index = next(i for i in range(len(texts)) if texts[i : i + len(wanted)] == wanted)
    return words[index].start_s, words[index + len(wanted) - 1].end_s


# id, kind, title, required, status, expected, heard, line, note
_ITEMS: tuple[tuple[str, str, str, bool, Status, str, str | None, str, str | None], ...] = (
    ("opening.breed", "fact", "breed", True, Status.SAID, "Orpington", "Orpington", "This is an Orpington.", None),
    ("opening.variety", "fact", "variety", True, Status.SAID, "Buff", "Buff", "Her variety is Buff.", None),
    ("opening.sex_age", "fact", "sex and age", True, Status.SAID, "pullet", "pullet", "She is a pullet.", None),
    ("head.beak", "part", "beak", True, Status.SAID, "beak", "beak", "This is the beak.", None),
    ("head.beak_color", "fact", "beak color", True, Status.SAID, "horn", "horn", "The beak is horn.", None),
    (
        "head.beak_condition",
        "condition",
        "beak condition",
        True,
        Status.SAID,
        "well shaped",
        "well shaped",
        "The beak is well shaped.",
        None,
    ),
    ("head.comb", "part", "comb", True, Status.SAID, "comb", "comb", "This is the comb.", None),
    ("head.comb_type", "fact", "comb type", True, Status.WRONG, "single", "rose", "She has a single comb.", None),
    ("head.comb_points", "fact", "comb points", True, Status.SAID, "5", "five points", "It has five points.", None),
    ("head.wattles", "part", "wattles", True, Status.MISNAMED, "wattles", "jowls", "These are the wattles.", None),
    ("head.eyes", "part", "eyes", True, Status.SAID, "eyes", "eyes", "These are the eyes.", None),
    (
        "head.eye_color",
        "fact",
        "eye color",
        True,
        Status.SAID,
        "reddish bay",
        "reddish bay",
        "The eyes are reddish bay.",
        None,
    ),
    ("head.earlobes", "part", "earlobes", True, Status.SAID, "earlobes", "ear lobes", "These are the earlobes.", None),
    ("head.earlobe_color", "fact", "earlobe color", True, Status.SAID, "red", "red", "The earlobes are red.", None),
    (
        "neck.hackle",
        "part",
        "hackle feathers",
        True,
        Status.SKIPPED,
        "hackle feathers",
        None,
        "These are the hackle feathers.",
        None,
    ),
    ("neck.hackle_color", "fact", "hackle color", False, Status.SKIPPED, "buff", None, "The hackle is buff.", None),
    ("back.back", "part", "back", True, Status.SAID, "back", "back", "This is her back.", None),
    (
        "back.undercolor",
        "part",
        "undercolor",
        True,
        Status.SAID,
        "undercolor",
        "undercolor",
        "This is the undercolor.",
        None,
    ),
    (
        "back.undercolor_color",
        "fact",
        "undercolor color",
        True,
        Status.SAID,
        "buff",
        "buff",
        "The undercolor is buff.",
        None,
    ),
    (
        "back.parasites",
        "condition",
        "lice and mites",
        True,
        Status.SAID,
        "no lice or mites",
        "no lice or mites",
        "I see no lice or mites.",
        None,
    ),
    (
        "tail.main_tail",
        "part",
        "main tail feathers",
        True,
        Status.SAID,
        "main tail feathers",
        "main tail feathers",
        "These are the main tail feathers.",
        None,
    ),
    (
        "tail.coverts",
        "part",
        "tail coverts",
        True,
        Status.UNSURE,
        "tail coverts",
        "tail covers",
        "These are the tail coverts.",
        None,
    ),
    ("breast.breast", "part", "breast", True, Status.SAID, "breast", "breast", "This is the breast.", None),
    ("breast.keel", "part", "keel", True, Status.SAID, "keel", "keel", "This is the keel.", None),
    (
        "breast.keel_condition",
        "condition",
        "keel condition",
        True,
        Status.SAID,
        "straight",
        "straight",
        "The keel is straight.",
        None,
    ),
    ("wings.left", "part", "left wing", True, Status.SKIPPED, "left wing", None, "This is the left wing.", None),
    (
        "wings.primaries",
        "part",
        "primary feathers",
        True,
        Status.SKIPPED,
        "primary feathers",
        None,
        "These are the primary feathers.",
        None,
    ),
    (
        "wings.axial",
        "part",
        "axial feather",
        True,
        Status.SKIPPED,
        "axial feather",
        None,
        "This is the axial feather.",
        None,
    ),
    (
        "wings.secondaries",
        "part",
        "secondary feathers",
        True,
        Status.SKIPPED,
        "secondary feathers",
        None,
        "These are the secondary feathers.",
        None,
    ),
    (
        "wings.coverts",
        "part",
        "wing coverts",
        False,
        Status.SKIPPED,
        "wing coverts",
        None,
        "These are the wing coverts.",
        None,
    ),
    ("legs.thighs", "part", "thighs", True, Status.SAID, "thighs", "thighs", "These are the thighs.", None),
    ("legs.hocks", "part", "hocks", True, Status.SAID, "hocks", "hocks", "These are the hocks.", None),
    ("legs.shanks", "part", "shanks", True, Status.SAID, "shanks", "shanks", "These are the shanks.", None),
    ("legs.shank_color", "fact", "shank color", True, Status.SAID, "white", "white", "The shanks are white.", None),
    ("legs.toe_count", "fact", "number of toes", True, Status.SAID, "4", "four toes", "She has four toes.", None),
    (
        "facts.class",
        "fact",
        "class",
        True,
        Status.SKIPPED,
        "English",
        None,
        "Orpingtons are in the English class.",
        None,
    ),
    (
        "facts.weight_hen",
        "fact",
        "weight of a hen",
        True,
        Status.WRONG,
        "8 lb",
        "ten pounds",
        "A hen weighs eight pounds.",
        "ten pounds is the cock's weight",
    ),
    (
        "faults.crooked-toe",
        "fault",
        "crooked toe",
        True,
        Status.SAID,
        "crooked toe",
        "little crooked",
        "One toe is a little crooked.",
        None,
    ),
    (
        "faults.crooked-toe.plan",
        "fault",
        "plan for the crooked toe",
        False,
        Status.SAID,
        "not breed from her",
        "not breed from her",
        "I will not breed from her.",
        None,
    ),
    ("closing.thanks", "condition", "thanks", False, Status.SAID, "thanks", "Thank you", "Thank you.", None),
)
_QUIET = Delivery(
    words_per_minute=None, articulation_wpm=None, fillers=0, long_pauses=(), asides=(), speaking_s=0.0, pace_note=""
)
_ROUTE = ("opening", "head", "neck", "back", "tail", "breast", "wings", "legs", "closing")


def _verdicts(words: tuple[Word, ...], visits: dict[str, Visit]) -> tuple[Verdict, ...]:
    made = []
    for item, kind, title, required, status, expected, heard, line, note in _ITEMS:
        region = item.split(".")[0]
        start_s, end_s = _find(words, heard) if heard else (None, None)
        place_s = visits[region].end_s if region in visits else visits["back"].end_s
        basis = Basis.EXACT if heard else Basis.NOTHING
        confidence = {Status.UNSURE: 0.55, Status.SKIPPED: None}.get(status, 0.93)
        made.append(
            Verdict(id=item, region=region, kind=kind, title=title, required=required, status=status, expected=expected,
                    heard=heard, start_s=start_s, end_s=end_s, confidence=confidence, basis=basis,
                    place_s=place_s if heard is None else None, line=line, note=note)
        )  # fmt: skip
    return tuple(made)


def _regions(
    verdicts: tuple[Verdict, ...], visits: dict[str, Visit], spoken: tuple[str, ...]
) -> tuple[RegionTime, ...]:
    made = []
    for place, region in enumerate(_ROUTE, start=1):
        asked = [v for v in verdicts if v.region == region and v.required]
        told = sum(v.status is Status.SAID for v in asked)
        status = "skipped" if region not in visits else "covered" if told == len(asked) else "partial"
        spoken_place = spoken.index(region) + 1 if region in spoken else None
        stays = (visits[region],) if region in visits else ()
        made.append(
            RegionTime(
                id=region,
                title=region,
                status=status,
                visits=stays,
                expected_place=place,
                spoken_place=spoken_place,
                n_told=told,
                n_required=len(asked),
            )
        )
    return tuple(made)


def with_text(text: str) -> Report:
    """The weak rehearsal with one text in every place that is free text."""
    report = weak()
    old = report.judgement
    verdicts = tuple(replace(v, title=text, expected=text, heard=v.heard and text, line=text, note=text)
                     for v in old.verdicts)  # fmt: skip
    judgement = replace(
        old, verdicts=verdicts, regions=tuple(replace(r, title=text) for r in old.regions),
        slips=tuple(replace(s, heard=text) for s in old.slips), delivery=replace(old.delivery, pace_note=text),
    )  # fmt: skip
    words = tuple(replace(w, text=text) for w in report.words)
    made = _report(TimedWords(words, report.seconds), judgement)
    return replace(made, bird_name=text, breed=text, file=text, cautions=(text,))


def weak() -> Report:
    """A rehearsal with a bit of everything: wrong, misnamed, unsure, skipped, out of order, a slip, an aside."""
    words, visits = _speak()
    verdicts = _verdicts(words, visits)
    spoken = tuple(region for region, _ in _SPOKEN)
    easy = _find(words, "easy girl")
    delivery = Delivery(
        words_per_minute=141.3,
        articulation_wpm=152.8,
        fillers=2,
        long_pauses=(LongPause(20.0, 24.6),),
        asides=(Finding("Easy, girl.", *easy),),
        speaking_s=40.2,
        pace_note="comfortable",
    )
    judgement = Judgement(
        verdicts, _regions(verdicts, visits, spoken), spoken, ("tail",), delivery,
        (Slip("legs.hocks", "knee", _find(words, "knee")[0]),), True,
    )  # fmt: skip
    return _report(TimedWords(words, round(words[-1].end_s + 0.8, 2)), judgement)


def strong() -> Report:
    """Everything required was said, in order."""
    report = weak()
    old = report.judgement
    verdicts = tuple(
        replace(v, status=Status.SAID, heard=v.expected, start_s=v.start_s or 3.0, end_s=v.end_s or 3.4, note=None,
                confidence=0.95, basis=Basis.EXACT, place_s=None)
        if v.required else v
        for v in old.verdicts
    )  # fmt: skip
    step_s = report.seconds / len(_ROUTE)
    visits = {r: Visit(round(i * step_s, 2), round((i + 0.9) * step_s, 2)) for i, r in enumerate(_ROUTE)}
    regions = _regions(verdicts, visits, _ROUTE)
    delivery = replace(old.delivery, fillers=0, long_pauses=(), asides=())
    judgement = Judgement(verdicts, regions, _ROUTE, (), delivery, (), True)
    return _report(TimedWords(report.words, report.seconds), judgement)


def limited() -> Report:
    """The weak rehearsal against a limit and the member's usual, one item told late, paces by region."""
    report = weak()
    old = report.judgement
    verdicts = tuple(replace(v, late=True) if v.id == "head.beak_color" else v for v in old.verdicts)
    regions = tuple(
        replace(r, words_per_minute=120.0 + r.expected_place) if r.id in ("head", "legs") else r for r in old.regions
    )
    judgement = replace(old, verdicts=verdicts, regions=regions, delivery=replace(old.delivery, filler_words=3, repeats=2))
    return _report(TimedWords(report.words, report.seconds), judgement, limit_s=45.0, usual_s={"legs": 7.0, "back": 5.0})


def untimed() -> Report:
    """The weak rehearsal read from plain text."""
    report = weak()
    return _report(TimedWords(report.words, report.seconds, timed=False), report.judgement)


def not_a_rehearsal() -> Report:
    """Somebody reading a recipe."""
    words = tuple(Word(t, i * 0.4, i * 0.4 + 0.3) for i, t in enumerate(_RECIPE.split()))
    quiet = replace(_QUIET, speaking_s=2.4)
    return _report(TimedWords(words, 3.0), Judgement((), (), (), (), quiet, (), False))


def silence() -> Report:
    """A recording in which nobody speaks."""
    return _report(TimedWords((), 12.0), Judgement((), (), (), (), _QUIET, (), False))


def _report(
    words: TimedWords, judgement: Judgement, limit_s: float | None = None, usual_s: dict[str, float] | None = None
) -> Report:
    return build_report(
        words, judgement, file="juniper-3.ogg", listener="whisper", listener_s=4.21, route="head-to-tail",
        card="buff-example", bird="juniper", bird_name="Juniper", breed="Buff Orpington pullet",
        limit_s=limit_s, usual_s=usual_s,
    )  # fmt: skip


def golden(name: str, width: int) -> Path:
    """Where the expected text of a report at a width lies."""
    return Path(__file__).parent / "golden" / f"report-{name}-{width}.txt"


GOLDEN = {
    "weak": weak, "limited": limited, "strong": strong, "untimed": untimed, "not-a-rehearsal": not_a_rehearsal,
    "silence": silence,
}  # fmt: skip

if __name__ == "__main__":  # renews the expected texts; look at the difference before keeping it
    for name, make in GOLDEN.items():
        for width in (80, 160):
            golden(name, width).write_text(render(make(), width=width, color=False), encoding="utf-8")

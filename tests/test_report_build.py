"""What to fix next: which findings come first, how they are worded, and what is never called a miss."""

from __future__ import annotations

from dataclasses import replace

import report_samples as samples

from coach.judge.verdict import Status, Verdict
from coach.report.build import CAUTIONS, MAX_FIXES, build_report
from coach.report.model import Report
from coach.words import TimedWords


def rebuilt(report: Report, verdicts: tuple[Verdict, ...], timed: bool = True) -> Report:
    judgement = replace(report.judgement, verdicts=verdicts)
    return build_report(
        TimedWords(report.words, report.seconds, timed=timed), judgement, file="a.wav", listener="none", listener_s=0.0,
        route="r", card="c", bird="b", bird_name="Juniper", breed="Buff Orpington",
    )  # fmt: skip


def only(report: Report, *ids: str) -> Report:
    """The report with only these items, nothing out of order."""
    judgement = replace(report.judgement, out_of_order=())
    return rebuilt(replace(report, judgement=judgement), tuple(v for v in judgement.verdicts if v.id in ids))


def test_wrong_and_misnamed_come_before_skipped_and_never_more_than_five() -> None:
    """What was said wrong is mended first, in the order it was said."""
    fixes = samples.weak().fixes
    assert len(fixes) == MAX_FIXES
    assert [f.verdict.id for f in fixes[:3]] == ["head.comb_type", "head.wattles", "facts.weight_hen"]
    assert all(f.verdict.status is Status.SKIPPED for f in fixes[3:])


def test_a_skipped_region_is_one_fix() -> None:
    """Passing over the wings is one thing to mend, with the first line to say."""
    (wings,) = [f for f in samples.weak().fixes if f.verdict.region == "wings"]
    assert wings.what.startswith("You passed over the wings: left wing, ")
    assert wings.line == "This is the left wing."


def test_skipped_optional_items_are_no_fix() -> None:
    """An optional item that was not told is a bonus, not a miss."""
    assert only(samples.weak(), "neck.hackle_color", "wings.coverts").fixes == ()


def test_a_region_that_was_visited_was_not_passed_over() -> None:
    """Somebody who spoke at the back but named nothing hears "left out", not "passed over"."""
    report = samples.weak()
    back = next(v for v in report.judgement.verdicts if v.id == "back.back")
    skipped = replace(back, status=Status.SKIPPED, heard=None, start_s=None, end_s=None)
    assert rebuilt(report, (skipped,)).fixes[0].what == "At the back you left out: back."


def test_a_single_skipped_item_names_itself_and_its_place() -> None:
    """The fix tells where the item should have come."""
    report = samples.weak()
    keel = next(v for v in report.judgement.verdicts if v.id == "breast.keel")
    skipped = replace(keel, status=Status.SKIPPED, heard=None, start_s=None, end_s=None, place_s=31.0)
    others = tuple(v for v in report.judgement.verdicts if v.id == "breast.breast")
    fix = rebuilt(report, (skipped, *others)).fixes[0]
    assert (fix.what, fix.at_s) == ("You left out: keel.", 31.0)


def test_an_untold_fault_is_asked_for_kindly() -> None:
    """A fault that was not pointed out says that telling it counts for the member."""
    report = samples.weak()
    fault = next(v for v in report.judgement.verdicts if v.id == "faults.crooked-toe")
    skipped = replace(fault, status=Status.SKIPPED, heard=None, start_s=None, end_s=None)
    assert "Telling it counts for you" in rebuilt(report, (skipped,)).fixes[0].what


def test_skipped_facts_together_are_one_fix() -> None:
    """No breed fact at all is one thing to mend."""
    assert only(samples.weak(), "facts.class").fixes[0].what == "You told no breed facts yet: class."


def test_out_of_order_names_the_order() -> None:
    """The member hears between which regions the tail belongs."""
    report = samples.weak()
    said = tuple(v for v in report.judgement.verdicts if v.status is Status.SAID)
    (fix,) = rebuilt(report, said).fixes
    assert fix.what == "The tail came out of order. The order is: back, then tail, then breast."
    assert fix.at_s == next(r for r in report.judgement.regions if r.id == "tail").visits[0].start_s


def test_unsure_asks_the_member_to_listen() -> None:
    """Weak evidence becomes a question with a second to listen to."""
    (fix,) = only(samples.weak(), "tail.coverts").fixes
    assert "listen at 0:24: did you say “tail coverts”?" in fix.what


def test_without_times_no_fix_has_a_place() -> None:
    """Words from plain text have no seconds to point at."""
    report = samples.untimed()
    assert report.fixes
    assert all(f.at_s is None for f in report.fixes)
    (fix,) = rebuilt(report, only(report, "tail.coverts").judgement.verdicts, timed=False).fixes[:1]
    assert "listen at" not in fix.what


def test_no_findings_for_speech_that_is_no_rehearsal() -> None:
    """Reading a recipe leaves nothing to fix."""
    assert samples.not_a_rehearsal().fixes == ()


def test_the_standing_cautions_say_what_matters() -> None:
    """Hands, sick birds, holding, rules and mishearing are always there."""
    text = " ".join(CAUTIONS)
    for needed in ("Wash your hands", "veterinarian", "product label", "upside down", "judge decide", "mishear"):
        assert needed in text

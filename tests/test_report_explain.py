"""Why an item was judged as it was: the chain for every status, in plain words."""

from __future__ import annotations

from dataclasses import replace

import pytest
import report_samples as samples

from coach.errors import CoachError
from coach.judge.verdict import Basis
from coach.report.explain import explain
from coach.report.model import Report


def _with(item: str, **changes: object) -> Report:
    report = samples.weak()
    changed = tuple(replace(v, **changes) if v.id == item else v for v in report.judgement.verdicts)  # type: ignore[arg-type]
    return replace(report, judgement=replace(report.judgement, verdicts=changed))


@pytest.mark.parametrize(
    ("item", "ends"),
    [("head.beak", "said."), ("head.comb_type", "not right."), ("head.wattles", "wrong name."), ("wings.left", "left out."),
     ("tail.coverts", "listen: the evidence is too weak either way; listen to that second yourself.")],
)  # fmt: skip
def test_every_status_ends_in_its_verdict(item: str, ends: str) -> None:
    """From what was expected to the verdict."""
    lines = explain(samples.weak(), item)
    assert lines[0].startswith(f"{item}: ") and lines[1].startswith("  Expected: ")
    assert lines[-1] == f"  So: {ends}"


def test_what_was_heard_has_its_time_its_words_around_and_how_sure() -> None:
    """The rose comb at its second."""
    text = "\n".join(explain(samples.weak(), "head.comb_type"))
    assert "Heard: “rose” at 0:" in text and "The comb is rose, with five points" in text
    assert "How sure of the words: 93 in 100." in text


def test_what_was_left_out_has_its_place_and_a_fact_has_none() -> None:
    """A part should have come somewhere; breed facts may come anywhere."""
    assert "Where it should have come: about" in "\n".join(explain(samples.weak(), "wings.left"))
    anywhere = _with("facts.class", place_s=None)
    assert "anywhere; breed facts have no fixed place" in "\n".join(explain(anywhere, "facts.class"))


def test_what_was_first_written_a_note_and_late_are_told() -> None:
    """The links of the chain that only some verdicts have."""
    report = _with("tail.coverts", written="pale coverts", late=True, basis=Basis.SOUNDS_LIKE, note="x")
    text = "\n".join(explain(report, "tail.coverts"))
    assert "First written: “pale coverts”. I asked the sound again" in text
    assert "Told late:" in text and "Note: x." in text and "sounds like" in text


def test_a_slip_put_right_is_part_of_the_chain() -> None:
    """The last word stands, and the first is shown."""
    assert "Before that: “knee”" in "\n".join(explain(samples.weak(), "legs.hocks"))


def test_without_times_no_time_is_told() -> None:
    """Words from plain text have no clock."""
    assert not any(" at 0:" in line or "about 0:" in line for v in samples.untimed().judgement.verdicts
                   for line in explain(samples.untimed(), v.id))  # fmt: skip


def test_an_item_that_is_not_there_names_the_nearest() -> None:
    """One line with what to do."""
    with pytest.raises(CoachError, match="did you mean head.comb_type"):
        explain(samples.weak(), "head.comtype")
    with pytest.raises(CoachError, match="the items are: opening.breed"):
        explain(samples.weak(), "zzz")

"""The report as terminal text: expected texts at two widths, no line too wide, no colour codes unless asked for."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import report_samples as samples
from rich.cells import cell_len

from coach.report.terminal import render

ESCAPE = "\x1b"


@pytest.mark.parametrize("width", [80, 160])
@pytest.mark.parametrize("name", samples.GOLDEN)
def test_text_is_as_expected(name: str, width: int) -> None:
    """The whole text equals the stored one; `python tests/report_samples.py` renews it."""
    text = render(samples.GOLDEN[name](), width=width, color=False)
    assert text == samples.golden(name, width).read_text(encoding="utf-8")


@pytest.mark.parametrize("width", [40, 57, 71, 72, 80, 119, 120, 160, 300])
@pytest.mark.parametrize("name", samples.GOLDEN)
def test_no_line_is_wider_than_the_terminal(name: str, width: int) -> None:
    """Every row fits, also at the widths where the layout changes."""
    lines = render(samples.GOLDEN[name](), width=width, color=False).splitlines()
    assert max(map(cell_len, lines)) <= width


def test_long_names_fold() -> None:
    """A word longer than the line is folded, not cut or left hanging out."""
    text = render(samples.with_text("x" * 130), width=80, color=False)
    assert max(map(len, text.splitlines())) <= 80
    assert "…" not in text


def test_colour_is_only_there_when_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """The environment has no say; the words are the same with and without colour."""
    monkeypatch.setenv("FORCE_COLOR", "1")
    plain = render(samples.weak(), width=80, color=False)
    monkeypatch.setenv("NO_COLOR", "1")
    coloured = render(samples.weak(), width=80, color=True)
    assert ESCAPE not in plain
    assert ESCAPE in coloured
    bare = re.sub(r"\x1b\[[0-9;]*m", "", coloured)
    assert [line.rstrip() for line in bare.splitlines()] == plain.splitlines()


def test_hostile_text_cannot_steer_the_terminal() -> None:
    """Escape codes and marks of markup in a heard word come out as plain text."""
    text = render(samples.with_text("\x1b[2J[red]boo[/red]\x07\u202e"), width=80, color=False)
    assert not {ESCAPE, "\x07", "\u202e"} & set(text)
    assert "[red]boo[/red]" in text


def test_every_status_is_a_word_and_a_mark() -> None:
    """Nothing rests on colour."""
    text = render(samples.weak(), width=80, color=False)
    for status in ("✓ said", "○ left out", "≠ wrong name", "✗ not right", "? listen"):
        assert status in text


def test_skipped_extras_are_offered_not_missed() -> None:
    """An optional item is named once, as something to add."""
    text = render(samples.weak(), width=80, color=False)
    assert "left out    wing coverts" not in text
    assert "Extra things you could add, if you like: hackle color, wing coverts." in text


def test_a_strong_rehearsal_hears_the_good_part_first() -> None:
    """Praise stands above what to fix, and nothing is made up to fix."""
    text = render(samples.strong(), width=80, color=False)
    assert text.index("A full rehearsal") < text.index("What to fix next") < text.index("Nothing to fix this time")
    assert text.index("You were honest about your bird") < text.index("What to fix next")


def test_cautions_come_last() -> None:
    """The last lines are the standing cautions."""
    text = render(samples.weak(), width=160, color=False)
    assert text.rstrip().endswith("I never\n   tell how to treat.")


def test_out_of_order_is_a_word() -> None:
    """The time line marks a region out of order by words."""
    (row,) = [line for line in render(samples.weak(), width=80, color=False).splitlines() if "out of order" in line]
    assert "Tail" in row
    assert "█" in row


def test_without_times_no_time_is_shown() -> None:
    """No clock, no seconds, no pace, no pauses for words from plain text."""
    text = render(samples.untimed(), width=80, color=False)
    assert not re.search(r"\d:\d\d|\d s\b|words a minute|Long pauses|█", text)


def test_speech_that_is_no_rehearsal_gets_a_short_answer() -> None:
    """No invented findings; silence is told apart from other speech."""
    other = render(samples.not_a_rehearsal(), width=80, color=False)
    assert "does not sound like a rehearsal" in other
    assert "left out" not in other
    assert "no speech" in render(samples.silence(), width=80, color=False)


def test_too_little_speech_shows_no_pace() -> None:
    """Unknown rates are said to be unknown."""
    report = samples.weak()
    delivery = replace(report.judgement.delivery, words_per_minute=None, pace_note="")
    short = replace(report, judgement=replace(report.judgement, delivery=delivery))
    assert "Pace: too few words to tell." in render(short, width=80, color=False)


@pytest.mark.parametrize("width", [60, 80, 160])
def test_a_limit_shows_each_regions_part_of_it(width: int) -> None:
    """Time of budget in the time line, the whole against the limit, and what is told late in a line of its own."""
    text = render(samples.limited(), width=width, color=False)
    assert "Each with its time, of its part of your limit." in text
    assert re.search(r"Head .*14 s of 15 s", text) and re.search(r"Neck .*0 s of 1 s", text)
    plain = " ".join(text.split())
    assert "Time: 57 s of 45 s, 12 s over." in plain
    assert "The legs took 14 s; your usual is 7 s." in plain
    assert "Told late, when you had already gone on: beak color (0:08)." in plain
    assert "Pace by region, in words a minute: head 122 and legs 128." in plain
    assert all(cell_len(line) <= width for line in text.splitlines())


def test_without_a_limit_no_budget_and_nothing_late() -> None:
    """A rehearsal in time order without a limit stays as quiet as it was."""
    text = render(samples.weak(), width=80, color=False)
    assert "part of your limit" not in text and "Told late" not in text and "Pace by region" not in text

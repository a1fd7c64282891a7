"""A practice score as lines of text for the terminal: a Score in, lines out."""

from __future__ import annotations

import textwrap

from coach.judge.score import Score, ScoreLine

__all__ = ["CAUTION", "score_lines"]

CAUTION = "For practice only: your show's own sheet and the judge decide."
_TITLE_WIDTH = 38
_POINTS_WIDTH = 12


def score_lines(score: Score, width: int = 80) -> tuple[str, ...]:
    """The heading, a line for each line of the sheet, the total and the caution; no line is wider than width."""
    rows = [_row(line, width) for line in score.lines]
    total = f"Total {_points(score.total)} of {_points(score.of)} points"
    if score.at_best > score.total:
        total += f", {_points(score.at_best)} if what I was not sure of was right"
    if score.by_hand:
        total += f"; {_points(score.by_hand)} more by your leader"
    return (score.sheet, *(row for wrapped in rows for row in wrapped), *_wrap(total, width), *_wrap(CAUTION, width))


def _row(line: ScoreLine, width: int) -> list[str]:
    shown = "___" if line.points is None else _points(line.points)
    points = f"{shown} of {_points(line.of)}"
    room = min(_TITLE_WIDTH, max(12, width // 2 - 6))
    title = textwrap.shorten(line.title, room, placeholder=" ...")
    head = f"  {title:<{room}}{points:>{_POINTS_WIDTH}}"
    return [f"{head}  {line.detail}"] if len(head) + 2 + len(line.detail) <= width else [head, *_wrap(line.detail, width, 4)]


def _wrap(text: str, width: int, indent: int = 2) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=" " * indent, subsequent_indent=" " * indent)


def _points(value: float) -> str:
    """At most one decimal, none where it is whole."""
    return f"{value:.1f}".removesuffix(".0")

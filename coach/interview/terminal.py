"""An interview as text for the terminal. Pure: width and color are parameters; nothing rests on color alone."""

from __future__ import annotations

from collections.abc import Sequence
from io import StringIO

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from coach.interview.json_file import cautions
from coach.interview.model import Answer, Interview, PointStatus
from coach.interview.sentences import (
    STATUS_WORDS,
    first_lines,
    heading,
    in_short,
    more_points,
    point_lines,
    source_line,
    timing_line,
    verdict_line,
)
from coach.knowledge.questions import Bank

__all__ = ["render", "render_answer", "render_table"]

TEXT_WIDTH = 100
MARKS = {PointStatus.COVERED: "+", PointStatus.MISSED: "-", PointStatus.WRONG: "x", PointStatus.UNSURE: "?"}
_STYLES = {
    PointStatus.COVERED: "",
    PointStatus.MISSED: "bold blue",
    PointStatus.WRONG: "bold magenta",
    PointStatus.UNSURE: "bold cyan",
}
_STATUS_WIDTH = 2 + max(len(w) for w in STATUS_WORDS.values())


def render(interview: Interview, bank: Bank, *, width: int, color: bool) -> str:
    """The whole interview."""
    parts: list[RenderableType] = [Text(heading(interview), "bold"), *(Text(line) for line in in_short(interview))]
    for number, answer in enumerate(interview.answers, 1):
        parts += [Text(), *_answer(answer, bank, f"{number}. ")]
    parts += [Text(), Text("Keep in mind", "bold"), *(Text(line) for line in cautions(interview))]
    return _printed(parts, width, color)


def render_answer(answer: Answer, bank: Bank, *, width: int, color: bool) -> str:
    """One answer, its points numbered for marking by hand."""
    numbered = _points(answer, numbered=True)
    parts: list[RenderableType] = [Text(f"  {verdict_line(answer)}", "bold"), Padding(numbered, (0, 0, 0, 2))]
    return _printed(parts, width, color)


def render_table(rows: Sequence[Sequence[str]], *, width: int, color: bool) -> str:
    """A table whose first row is its head."""
    grid = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for n, title in enumerate(rows[0]):
        grid.add_column(title, justify="left" if n == 0 else "right")
    for row in rows[1:]:
        grid.add_row(*(Text(cell) for cell in row))
    return _printed([grid], width, color)


def _answer(answer: Answer, bank: Bank, lead: str) -> list[RenderableType]:
    parts: list[RenderableType] = [
        Text(f"{lead}{answer.question.ask}", "bold"),
        Padding(Text(verdict_line(answer)), (0, 0, 0, 3)),
    ]
    parts.append(Padding(_points(answer), (0, 0, 0, 3)))
    lines = [timing_line(answer)]
    if more := more_points(answer):
        lines.append(f"you could add: {first_lines(more, 3)}")
    if answer.note:
        lines.append(f"note: {answer.note}")
    if source := source_line(answer, bank):
        lines.append(f"source: {source}")
    parts += [Padding(Text(line, "dim"), (0, 0, 0, 3)) for line in lines if line]
    return parts


def _points(answer: Answer, *, numbered: bool = False) -> Table:
    """The points in columns, with numbers to mark them by hand."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    if numbered:
        grid.add_column(justify="right")
    grid.add_column(width=_STATUS_WIDTH)
    grid.add_column(ratio=1)
    grid.add_column(ratio=1)
    for status, tell, told, place in point_lines(answer, every=numbered):
        number = [Text("" if place is None else str(place + 1))] if numbered else []
        grid.add_row(*number, Text(f"{MARKS[status]} {STATUS_WORDS[status]}", _STYLES[status]), Text(tell), Text(told, "dim"))
    return grid


def _printed(parts: Sequence[RenderableType], width: int, color: bool) -> str:
    out = StringIO()
    console = Console(
        file=out, width=min(width, TEXT_WIDTH), force_terminal=color, color_system="standard" if color else None, highlight=False,
        no_color=not color, legacy_windows=False,
    )  # fmt: skip
    for part in parts:
        console.print(part)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"

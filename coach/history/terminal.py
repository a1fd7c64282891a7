"""Progress, plan, comparison and club as text for the terminal. Pure: width and colour are parameters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from io import StringIO

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from coach.history.club import READY_RULE, Club
from coach.history.club_page import COLUMNS, cells, club_headline, weak_line
from coach.history.compare import Comparison
from coach.history.plan import Plan
from coach.history.progress import Progress
from coach.history.sentences import (
    KEEP_IN_MIND,
    METHOD,
    comparison_head,
    day,
    fillers_lines,
    headline,
    item_line,
    mended_line,
    missed_line,
    pace_lines,
    plan_head,
    plan_lines,
    region_line,
    times_line,
    told_lines,
    topic_line,
)
from coach.report.phrases import upper_first

__all__ = ["render_club", "render_comparison", "render_plan", "render_progress"]

TEXT_WIDTH = 100  # sentences longer than this are hard to follow
SHOWN = 10  # rows of a list; more are counted
BAR = 24  # cells of a bar that stands for everything told


def render_progress(progress: Progress, *, width: int, color: bool) -> str:
    """A member's progress as lines no wider than width."""
    return _print(_progress(progress), width, color)


def render_plan(plan: Plan, *, width: int, color: bool) -> str:
    """Today's practice."""
    return _print(_plan(plan), width, color)


def render_comparison(comparison: Comparison, *, width: int, color: bool) -> str:
    """Two rehearsals side by side."""
    return _print(_comparison(comparison), width, color)


def render_club(club: Club, *, width: int, color: bool) -> str:
    """The club's table."""
    return _print(_club(club), width, color)


def _progress(progress: Progress) -> Iterator[RenderableType]:
    yield _text(progress.member or "My practice", "bold")
    yield _text(headline(progress))
    if progress.told.points:
        yield from _head("How much was told")
        yield _told_bars(progress)
        yield _sentences(told_lines(progress))
    yield from _list("Missed again and again", [missed_line(h) for h in progress.missed_again])
    yield from _list("Mended", [mended_line(h) for h in progress.mended])
    yield from _list("Time in each region", [region_line(r) for r in progress.regions], shown=None)
    yield from _list("How it was spoken", [*pace_lines(progress), *fillers_lines(progress)])
    yield from _list("Interview questions", [topic_line(t) for t in progress.topics])
    yield from _list("Keep in mind", [METHOD, *KEEP_IN_MIND])


def _told_bars(progress: Progress) -> RenderableType:
    """The latest rehearsals, a bar each with its figure."""
    table = _grid(2)
    for when, value in progress.told.points[-SHOWN:]:
        filled = round(BAR * value / 100)
        table.add_row(_text(day(when), "dim"), _text(f"{value:3.0f} %"), _text("█" * filled + "·" * (BAR - filled), "cyan"))
    return table


def _plan(plan: Plan) -> Iterator[RenderableType]:
    yield _text(plan_head(plan), "bold")
    if plan.lines:
        yield from _head("Say each line aloud, three times")
        table = _grid(1)
        for number, line in enumerate(plan.lines, start=1):
            what = _text(f"{upper_first(line.title)}: {line.why}.")
            table.add_row(_text(str(number), "bold"), what.append_text(_text(f"\nSay: {line.say}", "italic")))
        yield table
    if plan_lines(plan):
        yield Text()
        yield _sentences(plan_lines(plan))


def _comparison(comparison: Comparison) -> Iterator[RenderableType]:
    yield _sentences(comparison_head(comparison))
    for title, items in (
        ("Mended", comparison.mended),
        ("New slips", comparison.slipped),
        ("Still to mend", comparison.still),
    ):
        yield from _head(title)
        yield _sentences([item_line(i) for i in items] or ["Nothing."])
    if any(r.before_s or r.after_s for r in comparison.regions):
        yield from _head("Time in each region")
        yield _table(("region", "before", "after", "change"), [times_line(r) for r in comparison.regions], left=1)


def _club(club: Club) -> Iterator[RenderableType]:
    yield _text(club_headline(club), "bold")
    yield Text()
    yield _table(COLUMNS, [cells(row) for row in club.rows], left=1)
    yield from _list("For the next meeting", [weak_line(w) for w in club.weak])
    yield from _list("Keep in mind", ["In brackets: how many are behind a figure.", READY_RULE, *KEEP_IN_MIND])


def _list(title: str, lines: Sequence[str], shown: int | None = SHOWN) -> Iterator[RenderableType]:
    """A heading with its lines; nothing at all without lines."""
    if lines:
        yield from _head(title)
        more = len(lines) - shown if shown is not None else 0
        yield _sentences([*lines[:shown], *([f"And {more} more; all are on the page (--page)."] if more > 0 else [])])


def _head(title: str) -> Iterator[RenderableType]:
    yield Text()
    yield _text(title, "bold")
    yield _text("─" * len(title), "dim")


def _sentences(lines: Iterable[str]) -> RenderableType:
    table = _grid(1)
    for line in lines:
        table.add_row(_text("-", "dim"), _text(line))
    return table


def _table(columns: Sequence[str], rows: Iterable[Sequence[str]], left: int) -> RenderableType:
    """Cells under headings; the first columns to the left, the rest to the right."""
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for n, column in enumerate(columns):
        table.add_column(column, justify="left" if n < left else "right", overflow="fold")
    for row in rows:
        table.add_row(*[_text(cell) for cell in row])
    return table


def _grid(narrow: int) -> Table:
    """So many columns as wide as they need, and one that takes the rest."""
    table = Table.grid(padding=(0, 2, 0, 0))
    for _ in range(narrow):
        table.add_column(no_wrap=True)
    table.add_column(overflow="fold", max_width=TEXT_WIDTH)
    return table


def _text(text: str, style: str = "") -> Text:
    """Text that cannot steer the terminal: control characters become spaces."""
    return Text("".join(c if c.isprintable() or c == "\n" else " " for c in text), style=style, overflow="fold")


def _print(parts: Iterable[RenderableType], width: int, color: bool) -> str:
    out = StringIO()
    console = Console(
        file=out,
        width=width,
        height=25,  # with width set too, rich never asks the terminal
        force_terminal=color,
        no_color=not color,
        color_system="standard" if color else None,
        legacy_windows=False,
        highlight=False,
        emoji=False,
        markup=False,
    )
    for part in parts:
        console.print(part)
    return "".join(f"{line.rstrip()}\n" for line in out.getvalue().splitlines())

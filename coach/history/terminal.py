"""Progress, plan, comparison and club as text for the terminal. Pure: width and colour are parameters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rich.console import RenderableType
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
from coach.report.console import bullets, grid, heading, narrowed, plain_text, render_parts
from coach.report.phrases import upper_first

__all__ = ["render_club", "render_comparison", "render_plan", "render_progress"]

SHOWN = 10  # rows of a list; more are counted
BAR = 20  # cells of a bar that stands for everything told; a line of 40 holds it


def render_progress(progress: Progress, *, width: int, color: bool) -> str:
    """A member's progress as lines no wider than width."""
    return render_parts(_progress(progress), width=width, color=color)


def render_plan(plan: Plan, *, width: int, color: bool) -> str:
    """Today's practice."""
    return render_parts(_plan(plan), width=width, color=color)


def render_comparison(comparison: Comparison, *, width: int, color: bool) -> str:
    """Two rehearsals side by side."""
    return render_parts(_comparison(comparison), width=width, color=color)


def render_club(club: Club, *, width: int, color: bool) -> str:
    """The club's table."""
    return render_parts(_club(club), width=width, color=color)


def _progress(progress: Progress) -> Iterator[RenderableType]:
    yield plain_text(progress.member or "My practice", "bold")
    yield plain_text(headline(progress))
    if progress.told.points:
        yield from heading("How much was told")
        yield _told_bars(progress)
        yield bullets(told_lines(progress))
    yield from _list("Missed again and again", [missed_line(h) for h in progress.missed_again])
    yield from _list("Mended", [mended_line(h) for h in progress.mended])
    yield from _list("Time in each region", [region_line(r) for r in progress.regions], shown=None)
    yield from _list("How it was spoken", [*pace_lines(progress), *fillers_lines(progress)])
    yield from _list("Interview questions", [topic_line(t) for t in progress.topics])
    yield from _list("Keep in mind", [METHOD, *KEEP_IN_MIND])


def _told_bars(progress: Progress) -> RenderableType:
    """The latest rehearsals, a bar each with its figure."""
    table = grid("left", "right")
    for when, value in progress.told.points[-SHOWN:]:
        filled = round(BAR * value / 100)
        bar = "█" * filled + "·" * (BAR - filled)
        table.add_row(plain_text(day(when), "dim"), plain_text(f"{value:.0f} %"), plain_text(bar, "cyan"))
    return table


def _plan(plan: Plan) -> Iterator[RenderableType]:
    yield plain_text(plan_head(plan), "bold")
    if plan.lines:
        yield from heading("Say each line aloud, three times")
        table = grid("right")
        for number, line in enumerate(plan.lines, start=1):
            what = plain_text(f"{upper_first(line.title)}: {line.why}.")
            table.add_row(plain_text(str(number), "bold"), what.append_text(plain_text(f"\nSay: {line.say}", "italic")))
        yield narrowed(table)
    if plan_lines(plan):
        yield Text()
        yield bullets(plan_lines(plan))


def _comparison(comparison: Comparison) -> Iterator[RenderableType]:
    yield bullets(comparison_head(comparison))
    for title, items in (
        ("Mended", comparison.mended),
        ("New slips", comparison.slipped),
        ("Still to mend", comparison.still),
    ):
        yield from heading(title)
        yield bullets([item_line(i) for i in items] or ["Nothing."])
    if any(r.before_s or r.after_s for r in comparison.regions):
        yield from heading("Time in each region")
        yield _table(("region", "before", "after", "change"), [times_line(r) for r in comparison.regions], left=1)


def _club(club: Club) -> Iterator[RenderableType]:
    yield plain_text(club_headline(club), "bold")
    yield Text()
    yield _table(COLUMNS, [cells(row) for row in club.rows], left=1)
    yield from _list("For the next meeting", [weak_line(w) for w in club.weak])
    yield from _list("Keep in mind", ["In brackets: how many are behind a figure.", READY_RULE, *KEEP_IN_MIND])


def _list(title: str, lines: Sequence[str], shown: int | None = SHOWN) -> Iterator[RenderableType]:
    """A heading with its lines; nothing at all without lines."""
    if lines:
        yield from heading(title)
        more = len(lines) - shown if shown is not None else 0
        yield bullets([*lines[:shown], *([f"And {more} more; all are on the page (--page)."] if more > 0 else [])])


def _table(columns: Sequence[str], rows: Iterable[Sequence[str]], left: int) -> RenderableType:
    """Cells under headings; the first columns to the left, the rest to the right."""
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for n, column in enumerate(columns):
        table.add_column(column, justify="left" if n < left else "right", overflow="fold")
    for row in rows:
        table.add_row(*[plain_text(cell) for cell in row])
    return table

"""A Report as text for the terminal: what went well, what to fix next, the regions on a time line, every item.

Pure: width and colour are parameters. Every status is a word and a mark, so nothing rests on colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import JustifyMethod, RenderableType
from rich.table import Table
from rich.text import Text

from coach.judge.verdict import RegionTime, Status, Verdict
from coach.report.console import GAP, bullets, grid, heading, narrowed, plain_text, render_parts
from coach.report.model import Fix, Report
from coach.report.phrases import (
    MARKS,
    STATUS_WORDS,
    clock,
    delivery_lines,
    detail,
    extras,
    groups,
    headline,
    late_lines,
    length,
    lower_first,
    order_word,
    region_word,
    shown,
    strengths,
    took,
    upper_first,
)

__all__ = ["render"]

MIN_WIDTH = 40
WIDE = 120  # from here items get a column of their own for the line to say
NARROW = 72  # below this the time line has no drawn track
MAX_TRACK = 80  # cells
STATUS_WIDTH = 2 + max(len(word) for word in STATUS_WORDS.values())
DETAIL_WIDTH = 52  # of the 120 or more cells of a wide terminal

_ITEM_COLUMNS: dict[tuple[bool, bool], tuple[JustifyMethod, ...]] = {  # (timed, wide): all but the last column
    (True, True): ("left", "left", "right", "left"),
    (True, False): ("left", "left", "right"),
    (False, True): ("left", "left", "left"),
    (False, False): ("left", "left"),
}
_QUIET, _TIME, _LINE = "dim", "cyan", "italic"
_STYLES = {
    Status.SAID: "",
    Status.SKIPPED: "bold blue",
    Status.MISNAMED: "bold magenta",
    Status.WRONG: "bold magenta",
    Status.UNSURE: "bold cyan",
}


def render(report: Report, *, width: int, color: bool) -> str:
    """The report as lines no wider than width (at least 40), ending in a newline; without colour no escape codes."""
    width = max(width, MIN_WIDTH)
    parts = _full(report, width) if report.judgement.is_rehearsal else _not_a_rehearsal(report)
    return render_parts(parts, width=width, color=color)


def _full(report: Report, width: int) -> Iterator[RenderableType]:
    yield from _title(report)
    yield plain_text(headline(report), "bold")
    yield bullets(strengths(report))
    yield from heading("What to fix next")
    yield _fixes(report)
    yield from heading("The regions, in the order they should come")
    if report.timing and report.timing.limit_s is not None:
        yield plain_text("Each with its time, of its part of your limit.", _QUIET)
    yield _timeline(report, width)
    if late_lines(report):
        yield Text()
        yield bullets(late_lines(report))
    yield from _items(report, width)
    yield from heading("How it was spoken")
    yield bullets(delivery_lines(report))
    yield from heading("Keep in mind")
    yield bullets(report.cautions)


def _not_a_rehearsal(report: Report) -> Iterator[RenderableType]:
    yield from _title(report)
    if not report.words:
        yield plain_text("I heard no speech, so there is nothing to report.", "bold")
        yield plain_text("Check that the microphone was on and close to you, then try once more.")
        return
    yield plain_text("This does not sound like a rehearsal, so there is nothing to report.", "bold")
    yield plain_text("I listen for a member going over a bird aloud, from head to tail. Is this the right recording?")


def _title(report: Report) -> Iterator[RenderableType]:
    yield plain_text(f"{report.bird_name}, {report.breed}", "bold")
    heard = f", {length(report.seconds)}" if report.timed else ""
    yield plain_text(f"{report.file}{heard}", _QUIET)
    yield Text()


def _fixes(report: Report) -> RenderableType:
    if not report.fixes:
        return plain_text("Nothing to fix this time. Say it once more tomorrow to keep it.")
    columns: tuple[JustifyMethod, ...] = ("right", "right") if report.timed else ("right",)
    table = grid(*columns)
    for number, fix in enumerate(report.fixes, start=1):
        at_s = [plain_text(_at(fix.at_s), _TIME)] if report.timed else []
        table.add_row(plain_text(str(number), "bold"), *at_s, _fix(fix))
    return narrowed(table)


def _fix(fix: Fix) -> Text:
    text = plain_text(upper_first(fix.what))
    if fix.line:
        text.append_text(plain_text("\nSay: ", _QUIET)).append_text(plain_text(fix.line, _LINE))
    return text


def _timeline(report: Report, width: int) -> RenderableType:
    """One row per region in expected order: when it was visited, how long, how much of it was told."""
    regions = sorted(report.judgement.regions, key=lambda r: r.expected_place)
    places = [plain_text(str(r.expected_place), _QUIET) for r in regions]
    names = [plain_text(upper_first(region_word(r.title))) for r in regions]
    times = [plain_text(took(r, report) or "-") for r in regions]
    told = [_told(r, report) for r in regions]
    room = width - sum(_widest(column) + GAP for column in (places, names, times, told))
    tracks = [plain_text(_track(r, report.seconds, min(room, MAX_TRACK)), _TIME) for r in regions]
    columns: list[tuple[JustifyMethod, list[Text]]] = [("right", places), ("left", names)]
    if report.timed:
        columns += [("left", tracks), ("right", times)] if width >= NARROW else [("right", times)]
    table = grid(*[justify for justify, _ in columns])
    for row in zip(*[column for _, column in columns], told, strict=True):
        table.add_row(*row)
    return table


def _widest(cells: Sequence[Text]) -> int:
    return max((cell.cell_len for cell in cells), default=0)


def _told(region: RegionTime, report: Report) -> Text:
    told = order_word(region, report.judgement)
    plain = told in ("all told", "visited", "nothing asked")
    return plain_text(told, "" if plain else "bold")


def _track(region: RegionTime, seconds: float, n_cells: int) -> str:
    """The recording from left to right, filled where the region was visited; a short visit fills one cell."""
    cells = ["·"] * n_cells
    scale = n_cells / seconds if seconds > 0 else 0.0
    for visit in region.visits:
        first = min(int(visit.start_s * scale), n_cells - 1)
        last = min(max(round(visit.end_s * scale), first + 1), n_cells)
        cells[first:last] = "█" * (last - first)
    return "".join(cells)


def _items(report: Report, width: int) -> Iterator[RenderableType]:
    """The regions' items, each region a small table; equal columns stand under one another."""
    yield from heading("Everything, region by region")
    found = groups(report.judgement)
    everything = [v for _, verdicts in found for v in verdicts]
    name_width = min(_widest([plain_text(lower_first(v.title)) for v in everything if shown(v)]), width // 3)
    for title, verdicts in found:
        told = [v for v in verdicts if shown(v)]
        if told:
            yield plain_text(upper_first(title), "bold")
            yield _region_items(told, name_width, report.timed, width >= WIDE)
            yield Text()
    bonus = extras(everything)
    if bonus:
        yield plain_text(f"Extra things you could add, if you like: {', '.join(bonus)}.", _QUIET)


def _region_items(verdicts: Sequence[Verdict], name_width: int, timed: bool, wide: bool) -> Table:
    table = grid(*_ITEM_COLUMNS[timed, wide])
    table.columns[0].width = STATUS_WIDTH
    table.columns[1].width = name_width
    if wide:
        table.columns[-2].width = DETAIL_WIDTH
    for verdict in verdicts:
        table.add_row(*_item(verdict, timed, wide))
    return table


def _item(verdict: Verdict, timed: bool, wide: bool) -> list[Text]:
    row = [plain_text(f"{MARKS[verdict.status]} {STATUS_WORDS[verdict.status]}", _STYLES[verdict.status])]
    row.append(plain_text(lower_first(verdict.title)))
    if timed:
        row.append(plain_text(_at(verdict.start_s if verdict.start_s is not None else verdict.place_s), _TIME))
    if wide:
        row += [plain_text(detail(verdict, timed)), plain_text("" if verdict.status is Status.SAID else verdict.line, _LINE)]
    elif verdict.status is Status.SKIPPED and verdict.line:
        row.append(plain_text("say: ", _QUIET).append_text(plain_text(verdict.line, _LINE)))
    else:
        row.append(plain_text(detail(verdict, timed)))
    return row


def _at(at_s: float | None) -> str:
    return "" if at_s is None else clock(at_s)

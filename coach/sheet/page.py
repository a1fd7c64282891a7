"""A study sheet as one HTML page made for paper: a StudySheet in, HTML out. Pure; nothing is loaded from anywhere.

The type is the largest at which everything stands on one page, estimated from the text; both A4 and US Letter hold the page.
"""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Sequence
from pathlib import Path

from coach.sheet.content import CAUTIONS, Part, Station, StudySheet
from coach.sheet.drawing import drawing

__all__ = ["PAPERS", "render_sheet"]

PAPERS = ("letter", "a4")
_SIZES_PT = (
    *(18.0, 17.0, 16.0, 15.0, 14.0, 13.5, 13.0, 12.5, 12.0, 11.5, 11.0),
    *(10.5, 10.0, 9.5, 9.0, 8.75, 8.5, 8.25, 8.0, 7.75, 7.5, 7.25, 7.0, 6.75, 6.5),
)
_LARGE_PT = (24.0, 22.0, 20.0, 19.0, 18.0, 17.0, 16.0, 15.0, 14.0, 13.5, 13.0, 12.5, 12.0, 11.5, 11.0)
_MM_PER_PT = 0.3528
_COLUMN_MM = 92.0
_PAGE_MM = 257.0
_LETTER_EM = 0.5  # the mean width of a letter of the sans-serif type in ems; measured over English text it is 0.47 to 0.5
_LINE_EM = 1.25


def render_sheet(sheet: StudySheet, *, large: bool = False, paper: str | None = None) -> str:
    """The whole page.

    Args:
        large: few words in large type, to read from the table.
        paper: "letter" or "a4" to fix the paper's size; None leaves it to the printer.
    """
    stations = [(station, _large_rows(station) if large else _rows(station)) for station in sheet.stations]
    stations = [(station, rows) for station, rows in stations if rows]
    size = _fit(sheet, [rows for _, rows in stations], large)
    css = (Path(__file__).parent / "page.css").read_text(encoding="utf-8")
    if paper is not None:
        css = css.replace("@page {", f"@page {{ size: {paper};", 1)
    blocks = "".join(_section(station, rows) for station, rows in stations)
    head = _header(sheet, [station for station, _ in stations], large)
    title = f"{sheet.bird}, {sheet.breed} {sheet.sex_age}"
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>Study sheet: {_text(title)}</title><style>{css}body {{ font-size: {size}pt; }}</style></head>"
        f'<body{" class=large" if large else ""}><main>{head}<div class="stations">{blocks}</div>'
        f"<footer>{' '.join(map(_text, CAUTIONS))}</footer></main></body></html>\n"
    )


def _text(text: str) -> str:
    return html.escape(text, quote=True)


# --- the head of the page -------------------------------------------------------------------------------------------


def _header(sheet: StudySheet, stations: Sequence[Station], large: bool) -> str:
    what = f"{sheet.breed}, {sheet.sex_age}. {sheet.route}, {sheet.level} sheet."
    facts = "".join(f"<dt>{_text(fact.name)}</dt><dd>{_text(fact.value)}</dd>" for fact in sheet.facts)
    faults = "".join(_fault(say, plan) for say, plan in sheet.faults)
    title = f"<h1>{_text(sheet.bird)}</h1>"
    if large:
        short = "; ".join(f"{fact.name}: {fact.value}" for fact in sheet.facts)
        return f'<header>{title}<p class="what">{_text(what)}</p><p><b>Facts</b> {_text(short)}</p>{faults}</header>'
    numbers = {station.region: station.number for station in stations}
    key = f'<p class="what">{_text(what)} {_KEY}</p>'
    own = f"<h3>My bird's own faults: tell them honestly</h3>{faults}" if faults else ""
    box = f'<div class="box">{title}{key}<dl class="facts">{facts}</dl>{own}</div>'
    return f"<header>{drawing(sheet.species, sheet.male, numbers)}{box}</header>"


_KEY = (
    '<b class="mark">☞</b>name it, not by the name in brackets; '
    '<b class="mark">✓</b>check it and tell what you really find; '
    '<b class="mark">“</b>say the breed\'s values.'
)


def _fault(say: str, plan: str | None) -> str:
    return f'<p class="fault"><b>{_text(say)}.</b>{_text(_plan(plan))}</p>'


def _plan(plan: str | None) -> str:
    return f" Plan: {plan}." if plan else " No plan yet: what will you do about it?"


# --- stations -------------------------------------------------------------------------------------------------------

Row = tuple[str, str]  # (plain text for the estimate, HTML)


def _section(station: Station, rows: Sequence[Row]) -> str:
    lines = "".join(markup for _, markup in rows)
    return f"<section><h2><b>{station.number}</b> {_text(station.title)}</h2>{lines}</section>"


def _rows(station: Station) -> list[Row]:
    rows: list[Row] = []
    if station.parts:
        plain, markup = _joined([_part(part) for part in station.parts])
        rows.append((f"xx {plain}", f'<p><b class="mark">☞</b>{markup}</p>'))
    rows += [(f"xx {check.line}", f'<p><b class="mark">✓</b>{_text(check.line)}</p>') for check in station.checks]
    if station.says:
        line = " ".join(station.says)
        rows.append((f"xx {line}", f'<p><b class="mark">“</b>{_text(line)}</p>'))
    rows += [(f"Fault: {say}", f'<p class="fault">Fault: {_text(say)}</p>') for say in station.faults]
    return rows


def _large_rows(station: Station) -> list[Row]:
    """Parts with their values and what to check, in the fewest words."""
    rows = []
    pairs = []
    for part in station.parts:
        values = f" {', '.join(part.values)}" if part.values else ""
        pairs.append((f"{part.name}{values}", f"<b>{_text(part.name)}</b>{_text(values)}"))
    if pairs:
        plain, markup = _joined(pairs)
        rows.append((plain, f"<p>{markup}</p>"))
    elif station.says:
        line = " ".join(station.says)
        rows.append((line, f"<p>{_text(line)}</p>"))
    if station.checks:
        line = f"✓ {', '.join(check.what for check in station.checks)}"
        rows.append((line, f"<p>{_text(line)}</p>"))
    rows += [(f"Fault: {say}", f'<p class="fault">Fault: {_text(say)}</p>') for say in station.faults]
    return rows


def _part(part: Part) -> Row:
    wrong = f" (not {part.wrong_names[0]})" if part.wrong_names else ""
    extra = " [extra]" if part.extra else ""
    small = f'<span class="not">{_text(wrong + extra)}</span>' if wrong or extra else ""
    return f"{part.name}{wrong}{extra}", f"<b>{_text(part.name)}</b>{small}"


def _joined(rows: Iterable[Row], between: str = "; ") -> Row:
    rows = list(rows)
    return between.join(plain for plain, _ in rows), between.join(markup for _, markup in rows)


# --- the size of the type -------------------------------------------------------------------------------------------


def _fit(sheet: StudySheet, stations: Sequence[Sequence[Row]], large: bool) -> float:
    """The largest size in points at which the page holds everything; the smallest there is when none does."""
    sizes = _LARGE_PT if large else _SIZES_PT
    return next((size for size in sizes if _height_mm(sheet, stations, size, large) <= _PAGE_MM), sizes[-1])


def _height_mm(sheet: StudySheet, stations: Sequence[Sequence[Row]], size: float, large: bool) -> float:
    line_mm = size * _MM_PER_PT * _LINE_EM
    heights = [line_mm * (1.2 + sum(_lines(plain, _COLUMN_MM, size) for plain, _ in rows)) + 1.6 for rows in stations]
    columns = min(max(sum(heights[:n]), sum(heights[n:])) for n in range(len(heights) + 1))  # sections are not broken
    foot = max(size * 0.82, 7.5) * _MM_PER_PT * _LINE_EM * _lines(" ".join(CAUTIONS), 190.0, max(size * 0.82, 7.5)) + 2
    return _header_mm(sheet, size, large) + columns + foot + 4


def _header_mm(sheet: StudySheet, size: float, large: bool) -> float:
    line_mm = size * _MM_PER_PT * _LINE_EM
    width = 190.0 if large else 123.0
    faults = sum(_lines(f"{say}.{_plan(plan)}", width, size) for say, plan in sheet.faults)
    if large:
        facts = _lines("Facts " + "; ".join(f"{fact.name}: {fact.value}" for fact in sheet.facts), width, size)
        return line_mm * (2.0 + 1 + facts + faults) + 4
    facts = sum(_lines(fact.value, width - 45, size) for fact in sheet.facts)
    return max(55.0, line_mm * (2.0 + 3 + facts + faults + (1.4 if faults else 0))) + 4


def _lines(text: str, width_mm: float, size: float) -> int:
    per_line = max(10, int(width_mm / (size * _MM_PER_PT * _LETTER_EM)))
    return math.ceil(len(text) / per_line * 1.04) or 1

"""Charts of one member's progress as SVG, each with the same in words; drawn by pygal, imported only here.

pygal (0.3 MB, pure Python, drawn in some 10 ms) instead of a larger library whose import alone would take most of the
time a page may take. Colours are the page's own variables, so that dark mode and print follow; marks and written
values carry the meaning, never the colour. Nothing in the SVG runs or is fetched: pygal's script is left out.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from coach.history.progress import Progress, RegionSpread, Series, TopicResult
from coach.history.sentences import (
    count,
    day,
    fillers_lines,
    pace_lines,
    percent,
    region_line,
    told_lines,
    topic_line,
)
from coach.report.phrases import region_word, upper_first

__all__ = ["Chart", "draw_charts"]

WIDTH, HEIGHT = 380, 250  # the width of a phone, so that letters keep their size there
ROW = 26  # height of one named row
LETTERS = 13
NAME_LETTERS = 18
MIN_POINTS = 2  # one point is no chart
BAR = "#4c5f46"  # stands for the page's --bar until the drawing is done: pygal reckons with colours
MAX_SERIES = 64  # as many rows as a chart can have


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture, its title, what its marks mean, and what it says for whoever does not see it."""

    title: str
    key: str
    svg: str
    words: tuple[str, ...]


def draw_charts(progress: Progress) -> tuple[Chart, ...]:
    """The charts for which there is something to draw."""
    charts = [
        _over_sessions("told", "Told, percent", progress.told, told_lines(progress), (0, 100)),
        _regions(progress.regions),
        _over_sessions("pace", "Words a minute", progress.pace, pace_lines(progress)),
        _over_sessions("fillers", "Fillers a minute", progress.fillers, fillers_lines(progress)),
        _topics(progress.topics),
    ]
    return tuple(chart for chart in charts if chart is not None)


def _over_sessions(
    name: str, title: str, series: Series, words: tuple[str, ...], bounds: tuple[float, float] | None = None
) -> Chart | None:
    """A dot for each rehearsal; the robust trend dashed through them where there is a clear one."""
    values, n = series.values, len(series.values)
    if n < MIN_POINTS:
        return None
    low, high = bounds or (0.0, 1.15 * max(values))
    chart = _xy(HEIGHT, 2, range=(low, high or 1.0), xrange=(1, n), x_title="rehearsal")
    chart.x_labels = _steps(n)
    chart.y_labels = _ticks(low, high or 1.0)
    chart.add("", list(enumerate(values, start=1)), stroke=False)
    trend = series.trend
    key = "A dot for each rehearsal."
    if trend is not None and trend.direction:
        key = "A dot for each rehearsal; dashed: the trend."
        ends = [(x, min(max(trend.start + trend.slope * (x - 1), low), high)) for x in (1, n)]
        chart.add("", ends, show_dots=False, stroke_style={"dasharray": "7, 5"})
    first, last = day(series.points[0][0]), day(series.points[-1][0])
    spoken = f"{title}, {count(n, 'rehearsal')} from {first} to {last}: {', '.join(_value(v) for v in values[-10:])}"
    return Chart(title, key, _svg(chart, name), (*words, f"{spoken}{' (the last 10)' if n > 10 else ''}."))


def _regions(regions: Sequence[RegionSpread]) -> Chart | None:
    """A row for each region: the middle half as a bar, the median as a dot, its seconds in the row's name."""
    if not regions:
        return None
    names = [f"{_short(region_word(r.title))}, {r.median_s:.0f} s" for r in regions]
    rows = [(name, r.low_s, r.high_s, r.median_s) for name, r in zip(names, regions, strict=True)]
    chart = _rows(rows, 1.05 * max(r.high_s for r in regions), "seconds")
    key = "Dot: the middle one of all visits; bar: the middle half of them."
    return Chart("Seconds in each region", key, _svg(chart, "regions"), tuple(region_line(r) for r in regions))


def _topics(topics: Sequence[TopicResult]) -> Chart | None:
    """A row for each topic: a bar to the share answered, which stands in the row's name."""
    if not topics:
        return None
    rows = [(f"{_short(r.topic)}, {percent(r.share)}", 0.0, 100 * r.share, 100 * r.share) for r in topics]
    chart = _rows(rows, 100.0, "percent answered")
    key = "Bar: how much of what was asked was answered."
    return Chart("Interview questions, by topic", key, _svg(chart, "topics"), tuple(topic_line(t) for t in topics))


def _rows(rows: Sequence[tuple[str, float, float, float]], high: float, unit: str) -> Any:
    """(name, from, to, dot) a row, the first on top."""
    chart = _xy(
        ROW * len(rows) + 60, 5, range=(0.5, len(rows) + 0.5), xrange=(0, high), x_title=unit, show_y_guides=False,
        show_x_guides=True,
    )  # fmt: skip
    places = range(len(rows), 0, -1)
    chart.y_labels = [{"label": name, "value": y} for y, (name, *_) in zip(places, rows, strict=True)]
    chart.x_labels = _ticks(0.0, high)
    for y, (_, low, to, _) in zip(places, rows, strict=True):
        chart.add("", [(low, y), (to, y)], show_dots=False, stroke_style={"linecap": "round"})
    chart.add("", [(dot, y) for y, (*_, dot) in zip(places, rows, strict=True)], stroke=False)
    return chart


def _xy(height: int, stroke_width: float, **settings: Any) -> Any:
    import sys

    import pygal  # type: ignore[import-untyped]

    # It hangs a finder of the old kind in there, for maps, which warns at every later import. Only that one may go: a
    # library it brings with it moves Python's own search for installed packages into a finder of the new kind.
    sys.meta_path[:] = [finder for finder in sys.meta_path if hasattr(finder, "find_spec")]
    from pygal.style import Style  # type: ignore[import-untyped]

    style = Style(
        background="transparent",
        plot_background="transparent",
        foreground="var(--ink)",
        foreground_strong="var(--ink)",
        foreground_subtle="var(--line)",
        colors=(BAR,) * MAX_SERIES,
        font_family="inherit",
        label_font_size=LETTERS,
        major_label_font_size=LETTERS,
        title_font_size=LETTERS,
        stroke_width=str(stroke_width),
        opacity="1",
        opacity_hover="1",
        transition="0s",
        guide_stroke_color="var(--line)",
        major_guide_stroke_color="var(--line)",
        guide_stroke_dasharray="1,3",
        major_guide_stroke_dasharray="1,3",
    )
    return pygal.XY(
        style=style,
        js=[],
        width=WIDTH,
        height=height,
        dots_size=4,
        show_legend=False,
        margin=8,
        truncate_label=-1,
        **settings,
    )


def _svg(chart: Any, name: str) -> str:
    """The drawing alone: ids told apart by name; no dates, scripts or tooltips, nothing a screen reader would say twice."""
    chart.uuid = name
    text = str(chart.render(is_unicode=True, disable_xml_declaration=True))
    text = re.sub(r"<!--.*?-->|<(script|desc|title)[^>]*>.*?</\1>|<(desc|title)[^>]*/>", "", text, flags=re.DOTALL)
    return text.replace(BAR, "var(--bar)").replace("<svg ", '<svg aria-hidden="true" focusable="false" ', 1)


def _short(text: str) -> str:
    """A row's name: printable, and leaving room for the row."""
    plain = upper_first("".join(c if c.isprintable() else " " for c in text))
    return plain if len(plain) <= NAME_LETTERS else f"{plain[: NAME_LETTERS - 1]}…"


def _value(value: float) -> str:
    return f"{value:.0f}" if value >= 10 or value == round(value) else f"{value:.1f}"


def _steps(n: int) -> list[int]:
    """Session numbers for the axis: the first, the last, a few between."""
    step = max(1, round(n / 5))
    inner = [x for x in range(1 + step, n, step) if n - x >= step]
    return [1, *inner, n]


def _ticks(low: float, high: float) -> list[float]:
    """Four or five round numbers from low to high."""
    step = next(s for s in (0.5, 1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000, 5000) if (high - low) / s <= 5)
    return [low + step * k for k in range(int((high - low) / step) + 1)]

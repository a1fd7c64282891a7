"""A member's progress as one HTML page to look at or hand out: nothing is loaded and nothing runs. Text in, text out.

It stands on the rehearsal report's own sheet (look, colours, dark mode, print); page.css beside this file adds to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from importlib import resources

from coach.history.charts import Chart, draw_charts
from coach.history.plan import Line, Plan
from coach.history.progress import Progress
from coach.history.sentences import (
    KEEP_IN_MIND,
    METHOD,
    headline,
    mended_line,
    missed_line,
    plan_head,
    plan_lines,
    told_lines,
)
from coach.report.markup import Html, joined, tag
from coach.report.phrases import upper_first

__all__ = ["document", "listed", "render_progress_page", "section"]

NOBODY = "My practice"  # the heading where no name was given
SHOWN = 12  # items in a list; more are counted


def render_progress_page(progress: Progress, plan: Plan | None = None) -> str:
    """The page; with a plan also what to practise next."""
    sections = [section("In short", tag("p", headline(progress), class_="headline"), listed(told_lines(progress)))]
    if plan is not None:
        sections.append(section("Practise next", *_plan(plan)))
    if progress.n_sessions:
        sections += _sections(progress)
    sections.append(section("Keep in mind", listed(KEEP_IN_MIND)))
    return document(progress.member or NOBODY, "progress", *sections)


def document(title: str, what: str, *sections: Html) -> str:
    """A whole page. Only styles may act in it: the charts carry theirs, so they cannot be named one by one."""
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag(
            "meta",
            http_equiv="Content-Security-Policy",
            content="default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'",
        ),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("title", f"{title}: {what}"),
        tag("style", Html(_style("coach.report") + _style("coach.history"))),
    )
    main = tag("main", tag("header", tag("h1", title), tag("p", upper_first(what))), *sections)
    return f"<!doctype html>\n{tag('html', head, tag('body', main), lang='en')}\n"


def section(title: str, *children: Html, note: str = "") -> Html:
    """A side heading with what belongs to it."""
    side = tag("div", tag("h2", title), *([tag("p", note)] if note else []), class_="side")
    return tag("section", side, tag("div", *children, class_="body"))


def listed(lines: Iterable[str]) -> Html:
    """A plain list, nothing for no lines."""
    items = [tag("li", line) for line in lines]
    return tag("ul", *items, class_="plain") if items else Html()


def _style(package: str) -> str:
    return resources.files(package).joinpath("page.css").read_text(encoding="utf-8")


def _sections(progress: Progress) -> list[Html]:
    missed = _shortened([missed_line(h) for h in progress.missed_again])
    mended = _shortened([mended_line(h) for h in progress.mended])
    found = [
        section("Missed again and again", listed(missed or ["Nothing: no item was missed most of the last times."])),
        section("Mended", listed(mended or ["Nothing yet: an item is mended when it was missed before and then said twice."])),
    ]
    charts = draw_charts(progress)
    if charts:
        found.append(section("How it went", tag("div", *[_figure(c) for c in charts], class_="charts"), note=METHOD))
    return found


def _shortened(lines: Sequence[str]) -> list[str]:
    more = len(lines) - SHOWN
    return [*lines[:SHOWN], *([f"And {more} more."] if more > 0 else [])]


def _figure(chart: Chart) -> Html:
    """The drawing is for the eye; its words are always there for everybody else."""
    words = tag("details", tag("summary", "The same in words"), *[tag("p", line) for line in chart.words])
    return tag("figure", tag("h3", chart.title), Html(chart.svg), tag("figcaption", tag("p", chart.key), words))


def _plan(plan: Plan) -> list[Html]:
    lines = tag("ol", *[_line(line) for line in plan.lines], class_="fixes") if plan.lines else Html()
    return [tag("p", plan_head(plan)), lines, listed(plan_lines(plan))]


def _line(line: Line) -> Html:
    what = joined(upper_first(line.title), f": {line.why}.")
    return tag("li", tag("p", what), tag("p", tag("span", "Say: "), tag("q", line.say), class_="say"))

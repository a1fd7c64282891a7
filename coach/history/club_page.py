"""The club's table as a page for the leader, as lines of a spreadsheet, and as text cells. Text in, text out."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from coach.history.club import READY_RULE, Club, MemberRow, WeakItem
from coach.history.page import document, listed, section
from coach.history.sentences import KEEP_IN_MIND, count, day, percent
from coach.report.markup import Html, tag
from coach.report.phrases import upper_first

__all__ = ["COLUMNS", "cells", "club_headline", "render_club_csv", "render_club_page", "weak_line"]

COLUMNS = ("member", "sessions", "lately", "last", "told", "answers", "ready for")
NAMELESS_SHOWN = "(no name)"
_NUMBERS = frozenset({"sessions", "lately", "told", "answers"})
_FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would run what begins so (OWASP, "CSV Injection")


def club_headline(club: Club) -> str:
    """How many practised lately."""
    lately = sum(row.n_lately > 0 for row in club.rows)
    return f"{lately} of {count(len(club.rows), 'member')} practised since {day(club.since)}."


def cells(row: MemberRow) -> tuple[str, ...]:
    """A member's row as text, in the order of COLUMNS; "-" is unknown."""
    return (
        row.name or NAMELESS_SHOWN,
        str(row.n_sessions),
        str(row.n_lately),
        day(row.last) if row.last else "-",
        f"{percent(row.told_share)} ({row.n_counted})" if row.told_share is not None else "-",
        f"{percent(row.answer_share)} ({row.n_answers})" if row.answer_share is not None else "-",
        row.ready or "-",
    )


def weak_line(weak: WeakItem) -> str:
    """An item that several members missed last time."""
    return f"{upper_first(weak.item.title)}: missed by {weak.n_missed} of {weak.n_asked} in their latest rehearsal."


def render_club_page(club: Club, links: Mapping[str, str]) -> str:
    """The leader's page. links: member's name -> the file name of the page to hand out."""
    head = tag("tr", *[tag("th", c, class_=_kind(c)) for c in COLUMNS])
    rows = [tag("tr", *_row(row, links.get(row.name))) for row in club.rows]
    table = tag("div", tag("table", tag("thead", head), tag("tbody", *rows)), class_="wide")
    weak = [weak_line(w) for w in club.weak]
    return document(
        "The club",
        "for the leader",
        section("In short", tag("p", club_headline(club), class_="headline")),
        section("For the next meeting", listed(weak or ["No item was missed by two members or more in their latest rehearsal."])),
        section("Members", table, tag("p", READY_RULE, class_="quiet"), note="In brackets: how many are behind the figure."),
        section("Keep in mind", listed(KEEP_IN_MIND), tag("p", "This page shows all members: it is for the leader only.")),
    )


def render_club_csv(club: Club) -> str:
    """A line a member, RFC 4180; shares in percent, dates ISO 8601, unknown is empty."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(
        ("member", "sessions", "sessions_lately", "last", "told_percent", "rehearsals_counted", "answers_percent", "answers",
         "ready_for")
    )  # fmt: skip
    for row in club.rows:
        writer.writerow(
            (
                _plain(row.name or NAMELESS_SHOWN),
                row.n_sessions,
                row.n_lately,
                row.last.astimezone().date().isoformat() if row.last else "",
                "" if row.told_share is None else round(100 * row.told_share, 1),
                row.n_counted,
                "" if row.answer_share is None else round(100 * row.answer_share, 1),
                row.n_answers,
                row.ready or "",
            )
        )
    return out.getvalue()


def _row(row: MemberRow, link: str | None) -> list[Html]:
    name, *rest = cells(row)
    shown = tag("a", name, href=link) if link else name
    return [tag("td", shown), *[tag("td", c, class_=_kind(n)) for n, c in zip(COLUMNS[1:], rest, strict=True)]]


def _kind(column: str) -> str:
    return "number" if column in _NUMBERS else "text"


def _plain(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) else text

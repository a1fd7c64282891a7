"""An interview as one HTML page to look at or print: nothing is loaded and nothing runs. Text in, text out.

It stands on the sheet of the rehearsal report and the history's pages.
"""

from __future__ import annotations

from pathlib import Path

from coach.history.page import document, listed, section
from coach.interview.json_file import cautions
from coach.interview.model import Answer, Interview
from coach.interview.sentences import (
    STATUS_WORDS,
    heading,
    in_short,
    more_points,
    point_lines,
    source_line,
    timing_line,
    verdict_line,
)
from coach.knowledge.questions import Bank
from coach.report.files import write_whole
from coach.report.markup import Html, tag

__all__ = ["render_page", "write_page"]


def write_page(interview: Interview, bank: Bank, path: Path) -> None:
    """Write the page whole or not at all; CoachError tells why it could not be written."""
    write_whole(render_page(interview, bank), path)


def render_page(interview: Interview, bank: Bank) -> str:
    """One member's sheet."""
    short = in_short(interview)
    sections = [section("In short", tag("p", short[0], class_="headline"), listed(short[1:]))]
    for number, answer in enumerate(interview.answers, 1):
        sections.append(section(f"Question {number}", *_answer(answer, bank), note=answer.question.topic))
    sections.append(section("Keep in mind", listed(cautions(interview))))
    what = heading(interview).removeprefix(f"{interview.member}: ")
    day = f"{interview.when:%Y-%m-%d}"
    return document(interview.member or interview.bird_name or "Interview", f"{what}, {day}", *sections)


def _answer(answer: Answer, bank: Bank) -> list[Html]:
    rows = [
        tag("li", tag("b", STATUS_WORDS[status]), ": ", tell, *([" ", tag("span", told, class_="quiet")] if told else []))
        for status, tell, told, _ in point_lines(answer)
    ]
    parts = [tag("h3", answer.question.ask), tag("p", verdict_line(answer))]
    if rows:
        parts.append(tag("ul", *rows, class_="plain"))
    more = more_points(answer)
    lines = [
        f"Said: {answer.text}" if answer.words else "",
        timing_line(answer),
        f"You could add: {', '.join(more)}" if more else "",
        f"Note: {answer.note}" if answer.note else "",
        f"Source: {source_line(answer, bank)}",
    ]
    return [*parts, *(tag("p", line, class_="quiet") for line in lines if line)]

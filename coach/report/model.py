"""The Report: one rehearsal heard and judged, everything the terminal, the JSON file, the page and the history show."""

from __future__ import annotations

from dataclasses import dataclass

from coach.judge.timing import Timing
from coach.judge.verdict import Judgement, Verdict
from coach.words import Word

__all__ = ["Fix", "Report"]


@dataclass(frozen=True, slots=True)
class Fix:
    """One thing to mend next: what happened, when, and the line to say."""

    verdict: Verdict
    what: str
    at_s: float | None
    line: str


@dataclass(frozen=True, slots=True)
class Report:
    """One rehearsal, heard and judged.

    listener_s is the time listening and judging took. fixes holds at most five, the most useful first.
    timed is False when the words came without times: nothing about time is then shown.
    """

    file: str
    seconds: float
    timed: bool
    listener: str
    listener_s: float
    route: str
    card: str
    bird: str
    bird_name: str
    breed: str
    words: tuple[Word, ...]
    judgement: Judgement
    fixes: tuple[Fix, ...]
    cautions: tuple[str, ...]
    timing: Timing | None = None  # None when the words have no times

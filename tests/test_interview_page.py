"""The member's sheet and the terminal's text: what was told, wrong and missing, escaped, whole, and without the network."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from headless_browser import CHROMIUM, Browser
from interviewing import BANK, ScriptedDesk, blank, judge

from coach.interview.model import Interview, PointStatus
from coach.interview.page import render_page, write_page
from coach.interview.run import Heard, Marked, Then, hold
from coach.interview.terminal import render
from coach.words import TimedWords

QUESTIONS = [BANK.questions[q] for q in ("brown-egg-breeds", "keel-other-names", "scaly-leg", "molt-order")]


def interview() -> Interview:
    """Wrong, partial with a hand-made mark, skipped, and out of order."""
    answers = [
        "white & <b>blue</b>",
        "the keel",
        Heard(TimedWords((), 0.0, False), Then.SKIP),
        "tail, head, neck, breast, body, wings",
    ]
    desk = ScriptedDesk(answers, [Marked(), Marked({1: PointStatus.UNSURE}, "ask <again>")])
    return hold(blank(4), QUESTIONS, desk, judge, lambda _: None)


def test_the_page_tells_everything() -> None:
    """Verdicts, right answers, notes, sources and cautions stand on it."""
    page = render_page(interview(), BANK)
    for words in (
        "not right",
        "right is brown",
        "not sure",
        "skipped",
        "told out of order",
        "Source: ",
        "veterinarian",
        "Practice only",
    ):
        assert words in page, words


def test_nothing_said_or_written_becomes_markup() -> None:
    """The member's words and the leader's note are text; no script, nothing from the network."""
    page = render_page(replace(interview(), member="<i>Robin</i>"), BANK)
    assert "<b>blue" not in page and "&lt;b&gt;blue" in page and "ask &lt;again&gt;" in page and "<i>Robin" not in page
    assert "<script" not in page and "src=" not in page and "default-src &#x27;none&#x27;" in page


@pytest.mark.parametrize("width", [40, 80, 120])
def test_the_terminal_text_fits(width: int) -> None:
    """Every line fits, without color no control codes are in it, and an empty interview is told as such."""
    text = render(interview(), BANK, width=width, color=False)
    assert all(len(line) <= width for line in text.splitlines()) and "\x1b" not in text
    assert "right is brown" in " ".join(text.split()) or width == 40
    assert "No question was answered." in render(blank(), BANK, width=width, color=False)


def test_color_is_an_extra() -> None:
    """The same words with color."""
    import re

    colored = render(interview(), BANK, width=80, color=True)
    assert re.sub(r"\x1b\[[0-9;]*m", "", colored).split() == render(interview(), BANK, width=80, color=False).split()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with closing(Browser()) as opened:
        yield opened


@pytest.mark.browser
@pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
@pytest.mark.parametrize("width", [360, 1200])
def test_in_a_browser(browser: Browser, tmp_path: Path, width: int) -> None:
    """Nothing is wider than a phone or a screen, and each question has its heading."""
    path = tmp_path / "sheet.html"
    write_page(interview(), BANK, path)
    browser.open(path, width=width)
    assert browser.value("document.documentElement.scrollWidth <= window.innerWidth")
    assert browser.value("document.querySelectorAll('h3').length") == len(QUESTIONS)

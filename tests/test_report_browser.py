"""The page in a real browser: fits the screen, plays by click and by keyboard, stays readable, asks for nothing."""

from __future__ import annotations

import io
import wave
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import report_samples as samples
from headless_browser import CHROMIUM, Browser

from coach.report.page import write_page

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed"),
]

TIME = "document.querySelector('audio').currentTime"
# Contrast of every piece of text with the sheet it stands on, the lowest of all (WCAG 2 formula).
LOWEST_CONTRAST = """(() => {
  const light = (css) => {
    const part = css.match(/[\\d.]+/g).slice(0, 3).map((v) => v / 255)
      .map((v) => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
  };
  const sheet = light(getComputedStyle(document.querySelector('main')).backgroundColor);
  const seen = [...document.querySelectorAll('main *')].filter((e) => e.textContent.trim());
  return Math.min(...seen.map((e) => {
    const ink = light(getComputedStyle(e).color);
    return (Math.max(ink, sheet) + 0.05) / (Math.min(ink, sheet) + 0.05);
  }));
})()"""


def silence(seconds: float) -> bytes:
    """A WAV file without a sound in it."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(8000)
        file.writeframes(b"\x80" * int(seconds * 8000))
    return out.getvalue()


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "page.html"
    write_page(samples.weak(), path, silence(60), "audio/wav")
    return path


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with closing(Browser()) as opened:
        yield opened


@pytest.mark.parametrize("width", [375, 768, 840, 900, 1280])
def test_the_page_fits_the_screen(browser: Browser, page: Path, width: int) -> None:
    """Nothing has to be scrolled sideways on a phone or a laptop."""
    browser.open(page, width=width)
    assert browser.value("document.documentElement.scrollWidth") <= width


def test_clicking_a_word_plays_from_there(browser: Browser, page: Path) -> None:
    """The sound stands at the word's start."""
    browser.open(page, width=1280)
    at_s = browser.value(
        "(() => { const w = document.querySelectorAll('.word')[20]; w.click(); return w.dataset.at; })()"
    )
    assert browser.value("document.querySelector('audio').paused") is False
    assert browser.value(TIME) == pytest.approx(float(at_s), abs=1.0)


def test_the_keyboard_reaches_and_plays_words(browser: Browser, page: Path) -> None:
    """The words are one stop of Tab; arrows move, Enter plays, and the focus is drawn."""
    browser.open(page, width=1280)
    browser.value("document.querySelectorAll('.word')[0].focus()")
    for _ in range(5):
        browser.press("ArrowRight")
    browser.press("Enter")
    at_s = browser.value("document.activeElement.dataset.at")
    assert at_s == f"{samples.weak().words[5].start_s:.2f}"
    assert browser.value(TIME) == pytest.approx(float(at_s), abs=1.0)
    assert browser.value("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    assert browser.value("document.querySelectorAll('.word[tabindex=\"0\"]').length") == 1


def test_the_first_tab_stop_is_the_first_fix(browser: Browser, page: Path) -> None:
    """A finding plays from a little before its words, and says so to a screen reader."""
    browser.open(page, width=1280)
    browser.press("Tab")
    assert browser.value("document.activeElement.getAttribute('aria-label')") == "Play from 0:10"
    browser.press("Enter")
    browser.value("new Promise(done => setTimeout(done, 100))")
    assert browser.value("document.getElementById('told').textContent").startswith("Playing from 0:")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_has_enough_contrast(browser: Browser, page: Path, scheme: str) -> None:
    """At least 4.5 to 1 everywhere, in both schemes."""
    browser.open(page, width=1280, scheme=scheme)
    assert browser.value(LOWEST_CONTRAST) >= 4.5


def test_the_page_asks_for_nothing_and_complains_of_nothing(browser: Browser, page: Path, tmp_path: Path) -> None:
    """No request leaves the page, its own policy blocks nothing, and hostile text does nothing."""
    hostile = tmp_path / "hostile.html"
    write_page(samples.with_text("<script>window.hit = 1</script><img src=x onerror='window.hit = 1'>"), hostile)
    for path in (page, hostile):
        browser.open(path, width=375)
        assert browser.value("window.hit") is None
    assert browser.messages == []


@pytest.mark.parametrize("width", [375, 1280])
def test_the_time_line_with_a_limit_fits_and_does_not_break(browser: Browser, tmp_path: Path, width: int) -> None:
    """Time of budget stands in one line, and nothing sticks out."""
    path = tmp_path / "limited.html"
    write_page(samples.limited(), path)
    browser.open(path, width=width)
    assert browser.value("document.documentElement.scrollWidth") <= width
    lines = "Math.max(...[...document.querySelectorAll('.took')].map((e) => e.getClientRects().length && e.offsetHeight))"
    assert browser.value(lines) < 40

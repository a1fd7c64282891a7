"""The pages that the command writes, from words and from a demo recording, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import cli_files as files
import pytest
from cli_files import BIRD, run
from headless_browser import CHROMIUM, Browser

from coach.demo import load_demo

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed"),
]

WIDTHS = (375, 1280)
NO_WIDER = "document.documentElement.scrollWidth"
SHOWN = "document.querySelector('main').innerText"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all pages."""
    with closing(Browser()) as opened:
        yield opened


def test_a_rehearsal_in_words(capsys: pytest.CaptureFixture[str], tmp_path: Path, browser: Browser) -> None:
    """Fits phone and laptop, shows the findings, has nothing to play, asks for nothing."""
    words, page = files.words_file(tmp_path / "a.words.json", files.script_words("checkers")), tmp_path / "a.html"
    assert run(capsys, "review", words, "--bird", BIRD, "--page", str(page)).code == 0
    for width in WIDTHS:
        browser.open(page, width=width)
        assert browser.value(NO_WIDER) <= width
    assert "I heard “knees”; the name is “hocks”" in browser.value(SHOWN)
    assert browser.value("document.querySelectorAll('audio, button').length") == 0
    assert browser.messages == []


@pytest.mark.listener
def test_a_demo_recording_plays_in_its_page(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sound inside the page has the recording's length, and a click on a word plays from that word."""
    pytest.importorskip("ctranslate2")
    done, demo, page = files.hear("checkers"), load_demo("checkers"), tmp_path / "a.html"
    monkeypatch.setattr("coach.review.review", lambda *_, **__: done)
    assert run(capsys, "review", str(demo.recording), "--bird", str(demo.bird), "--page", str(page)).code == 0
    for width in WIDTHS:
        browser.open(page, width=width)
        assert browser.value(NO_WIDER) <= width
    length_s = browser.value(
        "new Promise(done => { const a = document.querySelector('audio');"
        " a.duration ? done(a.duration) : a.addEventListener('loadedmetadata', () => done(a.duration)) })"
    )
    assert length_s == pytest.approx(done.report.seconds, abs=0.5)
    click = "(() => { const w = document.querySelectorAll('.word')[99]; w.click(); return w.dataset.at })()"
    at_s = browser.value(click)
    assert float(at_s) == pytest.approx(done.report.words[99].start_s, abs=0.01)
    assert browser.value("document.querySelector('audio').currentTime") == pytest.approx(float(at_s), abs=1.0)
    assert browser.messages == []


@pytest.mark.listener
def test_the_sound_in_the_page_is_the_recording(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page stays small enough to send: under half a megabyte a minute."""
    pytest.importorskip("ctranslate2")
    done, page = files.hear("checkers"), tmp_path / "a.html"
    monkeypatch.setattr("coach.review.review", lambda *_, **__: done)
    run(capsys, "review", "x.ogg", "--bird", BIRD, "--page", str(page))
    assert 100_000 < page.stat().st_size < 500_000 * done.report.seconds / 60

"""The pages in a real browser: they fit phone and laptop, charts are crisp, readable and told in words, nothing is fetched."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from xml.etree import ElementTree

import pytest
from headless_browser import CHROMIUM, Browser
from history_samples import START, interview, practised, rehearsal
from test_report_browser import LOWEST_CONTRAST

from coach.history.charts import draw_charts
from coach.history.club import look_at_club
from coach.history.club_page import render_club_page
from coach.history.page import render_progress_page
from coach.history.plan import make_plan
from coach.history.progress import look_back

NASTY = "<script>alert(1)</script>\x1b[31m"
SESSIONS = practised(24)

in_browser = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed"),
]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    club = look_at_club({"Robin": SESSIONS, "A rather long nickname of forty letters.": SESSIONS[:5]},
                        {"Robin": (24, 3), "A rather long nickname of forty letters.": (5, 0)}, START)  # fmt: skip
    texts = {
        "progress": render_progress_page(look_back("Robin", SESSIONS), make_plan(SESSIONS, SESSIONS[-1].when)),
        "club": render_club_page(club, {"Robin": "member-robin.html"}),
    }
    for name, text in texts.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in texts}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with closing(Browser()) as opened:
        yield opened


class TestInTheBrowser:
    """What only a browser can tell."""

    pytestmark = in_browser

    @pytest.mark.parametrize("width", [390, 1280])
    @pytest.mark.parametrize("name", ["progress", "club"])
    def test_fits_the_screen(self, browser: Browser, pages: dict[str, Path], name: str, width: int) -> None:
        """Nothing but a wide table, in its own box, has to be scrolled sideways."""
        browser.open(pages[name], width=width)
        assert browser.value("document.documentElement.scrollWidth") <= width

    @pytest.mark.parametrize("scheme", ["light", "dark"])
    @pytest.mark.parametrize("name", ["progress", "club"])
    def test_stays_readable(self, browser: Browser, pages: dict[str, Path], name: str, scheme: str) -> None:
        """Contrast of at least 4.5 to 1 for all text (WCAG 2.2, 1.4.3)."""
        browser.open(pages[name], width=1280, scheme=scheme)
        assert browser.value(LOWEST_CONTRAST) >= 4.5

    @pytest.mark.parametrize("width", [390, 1280])
    def test_letters_in_charts_are_large_enough(self, browser: Browser, pages: dict[str, Path], width: int) -> None:
        """No letter of a chart is drawn smaller than 11 px, and none outside its chart."""
        browser.open(pages["progress"], width=width)
        smallest = browser.value(
            """Math.min(...[...document.querySelectorAll('figure svg')].flatMap((svg) => {
              const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
              return [...svg.querySelectorAll('text')].map((t) => scale * parseFloat(getComputedStyle(t).fontSize));
            }))"""
        )
        outside = browser.value(
            """[...document.querySelectorAll('figure svg')].flatMap((svg) => {
              const box = svg.getBoundingClientRect();
              return [...svg.querySelectorAll('text')].filter((t) => {
                const r = t.getBoundingClientRect();
                return r.width && (r.left < box.left - 1 || r.right > box.right + 1);
              }).map((t) => t.textContent);
            })"""
        )
        assert smallest >= 11 and outside == []

    @pytest.mark.parametrize("scheme", ["light", "dark"])
    def test_marks_stand_out(self, browser: Browser, pages: dict[str, Path], scheme: str) -> None:
        """The dots have a contrast of at least 3 to 1 with the sheet (WCAG 2.2, 1.4.11)."""
        browser.open(pages["progress"], width=1280, scheme=scheme)
        contrast = browser.value(
            """(() => {
              const light = (css) => {
                const part = css.match(/[\\d.]+/g).slice(0, 3).map((v) => v / 255)
                  .map((v) => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
                return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
              };
              const sheet = light(getComputedStyle(document.querySelector('main')).backgroundColor);
              const dot = light(getComputedStyle(document.querySelector('figure svg circle')).fill);
              return (Math.max(dot, sheet) + 0.05) / (Math.min(dot, sheet) + 0.05);
            })()"""
        )
        assert contrast >= 3

    def test_nothing_is_fetched_or_run(self, browser: Browser, pages: dict[str, Path]) -> None:
        """No request, no script, no complaint of the browser."""
        for path in pages.values():
            browser.open(path, width=1280)
        assert browser.messages == []
        assert browser.value("document.scripts.length") == 0


def test_charts_are_whole_drawings() -> None:
    """Each is well-formed SVG with a view box, so that it scales without blur, and no raster, script or address in it."""
    charts = draw_charts(look_back("Robin", SESSIONS))
    assert len(charts) == 5
    for chart in charts:
        root = ElementTree.fromstring(chart.svg)
        assert root.tag == "{http://www.w3.org/2000/svg}svg" and root.get("viewBox")
        assert not re.search(r"<(script|image)|https?://(?!www\.w3\.org)", chart.svg)


def test_the_same_history_draws_the_same_page() -> None:
    """No date, no random mark: byte for byte."""
    progress = look_back("Robin", SESSIONS)
    assert render_progress_page(progress) == render_progress_page(progress)


def test_each_chart_says_the_same_in_words() -> None:
    """The figures of the picture stand in its words, for whoever does not see it."""
    progress = look_back("Robin", SESSIONS)
    told, regions, *_, topics = draw_charts(progress)
    assert all(f"{value:.0f}" in told.words[-1] for value in progress.told.values[-10:])
    assert [line.split(":")[0] for line in regions.words][:3] == ["Opening", "Head", "Neck"]
    assert len(topics.words) == len(progress.topics)


def test_dots_stand_where_the_figures_are() -> None:
    """The height of each dot is its figure on the axis, by the positions of the axis's own labels."""
    progress = look_back("Robin", SESSIONS)
    svg = ElementTree.fromstring(draw_charts(progress)[0].svg)
    space = {"s": "http://www.w3.org/2000/svg"}
    dots = [float(c.get("cy", "nan")) for c in svg.findall(".//s:circle", space)]
    assert len(dots) == len(progress.told.values)
    low, high = min(progress.told.values), max(progress.told.values)
    scale = (max(dots) - min(dots)) / (high - low)
    for y, value in zip(dots, progress.told.values, strict=True):
        assert max(dots) - y == pytest.approx((value - low) * scale, abs=0.01)


def test_a_trend_is_drawn_only_where_there_is_one() -> None:
    """Four rehearsals, or no clear change: dots alone."""
    steady = [rehearsal(s.when, pace=p) for s, p in zip(SESSIONS, (120, 124, 119, 125, 121, 118, 126), strict=False)]
    few = look_back("Robin", SESSIONS[:4])
    assert all("stroke-dasharray:7,5" not in chart.svg for chart in draw_charts(look_back("Robin", steady)))
    assert all("stroke-dasharray:7,5" not in chart.svg for chart in draw_charts(few))
    assert "stroke-dasharray:7,5" in draw_charts(look_back("Robin", SESSIONS))[0].svg


@pytest.mark.parametrize("n", range(4))
def test_few_sessions_make_a_page(n: int) -> None:
    """From nothing to three sessions: a page, with only such charts as have something to show."""
    page = render_progress_page(look_back("Robin", practised(n)))
    assert page.count("<figure>") == {0: 0, 1: 1, 2: 4, 3: 4}[n]


def test_names_are_never_markup() -> None:
    """What a member or a file is called, in name, topic and item, is shown, never obeyed."""
    odd = interview(START, [0.5])
    answers = tuple(type(a)(question_id=a.question_id, topic=NASTY, level=a.level, share=a.share) for a in odd.answers)
    session = type(odd)(**{n: getattr(odd, n) for n in odd.__slots__ if n not in ("answers", "number")}, answers=answers)
    page = render_progress_page(look_back(NASTY, [session]))
    club = render_club_page(look_at_club({NASTY: [session]}, {NASTY: (1, 1)}, START), {})
    for text in (page, club):
        assert "<script" not in text and "\x1b" not in text and "&lt;script&gt;" in text

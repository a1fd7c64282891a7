"""The page as text: complete in itself, everything escaped, every finding named in words."""

from __future__ import annotations

import re
from base64 import b64encode
from html.parser import HTMLParser
from pathlib import Path

import pytest
import report_samples as samples

from coach.errors import CoachError
from coach.report.markup import Html, joined, tag
from coach.report.page import render_page, write_page

SOUND = b"OggS, or so"
HOSTILE = "\"><script>alert('x')</script><img src=x onerror=alert(1)>"


class Reader(HTMLParser):
    """Collects the tags, the attributes and the text a browser would see."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(key, value or "") for key, value in attrs]
        if tag not in ("meta", "rect", "use", "path"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.text += data


@pytest.mark.parametrize("name", samples.GOLDEN)
def test_elements_close_in_order(name: str) -> None:
    """The page is well formed."""
    assert Reader(render_page(samples.GOLDEN[name](), SOUND)).open == []


@pytest.mark.parametrize("name", samples.GOLDEN)
def test_nothing_is_loaded_from_anywhere(name: str) -> None:
    """No address, no outside file; only the sound inside the page has a source."""
    page = render_page(samples.GOLDEN[name](), SOUND)
    assert not re.search(r"https?:|//[a-z]|@import|url\(", page)
    sources = [v for k, v in Reader(page).attributes if k in ("src", "href")]
    assert all(s.startswith(("#mark-", "data:audio/ogg;base64,")) for s in sources)
    assert "default-src &#x27;none&#x27;" in page


def test_hostile_text_stays_text() -> None:
    """Markup in any free text is shown, never obeyed."""
    reader = Reader(render_page(samples.with_text(HOSTILE), SOUND))
    assert reader.tags.count("script") == 1
    assert "img" not in reader.tags
    assert not [key for key, _ in reader.attributes if key.startswith("on") or key == "style"]
    assert HOSTILE in reader.text


def test_every_finding_is_named_in_words() -> None:
    """Fixes, statuses, regions, delivery and cautions are all in the text."""
    text = Reader(render_page(samples.weak(), SOUND)).text
    for words in (
        "A good base: you told 26 of the 36 things to tell.",
        "Comb type: I heard “rose”; it should be “single”.",
        "1 of 2 told, out of order",
        "wrong name: wattles (it is wattles)",
        "listen: tail coverts",
        "knee: put right",
        "about 141 words a minute",
        "You were honest about your bird",
        "Wash your hands",
    ):
        assert words in text


def test_left_out_items_stand_at_their_place_in_the_words() -> None:
    """The transcript says what is missing, and where."""
    text = Reader(render_page(samples.weak())).text
    words = text[text.index("Your words") :]
    assert words.index("no lice or mites.") < words.index("left out: hackle feathers") < words.index("The breast")


def test_the_sound_rides_inside_and_words_are_buttons() -> None:
    """With sound every word and every place is a button."""
    report = samples.weak()
    page = render_page(report, SOUND, "audio/webm")
    assert f"data:audio/webm;base64,{b64encode(SOUND).decode()}" in page
    assert page.count('class="word"') == len(report.words)


def test_without_sound_nothing_pretends_to_play() -> None:
    """No button, no script; the page says that it carries no sound."""
    reader = Reader(render_page(samples.weak()))
    assert not {"button", "script", "audio"} & set(reader.tags)
    assert "This page carries no sound" in reader.text


def test_without_times_no_time_is_shown() -> None:
    """Words from plain text have no clock and no track, with or without sound."""
    reader = Reader(render_page(samples.untimed(), SOUND))
    assert not re.search(r"\d:\d\d|\d s\b", reader.text)
    assert "rect" not in reader.tags
    assert "audio" not in reader.tags


def test_speech_that_is_no_rehearsal_gets_a_short_page() -> None:
    """What was heard is shown, and no findings."""
    text = Reader(render_page(samples.not_a_rehearsal())).text
    assert "does not sound like a rehearsal" in text
    assert "Stir the butter" in text
    assert "What to fix next" not in text
    assert "I heard no speech" in Reader(render_page(samples.silence(), SOUND)).text


def test_an_odd_kind_of_sound_is_refused() -> None:
    """The kind goes into an address, so it must look like one."""
    with pytest.raises(ValueError, match="not a kind of sound"):
        render_page(samples.weak(), SOUND, "text/html,<b>")


def test_writing_the_page(tmp_path: Path) -> None:
    """The file is the page; a missing folder is told in one line."""
    write_page(samples.weak(), tmp_path / "page.html", SOUND)
    assert (tmp_path / "page.html").read_text(encoding="utf-8") == render_page(samples.weak(), SOUND)
    with pytest.raises(CoachError, match="cannot write the report"):
        write_page(samples.weak(), tmp_path / "none" / "page.html")


def test_markup_escapes_all_but_markup() -> None:
    """Text becomes markup only by way of tag."""
    assert tag("p", "a < b", class_="x", hidden=True, lang=False) == '<p class="x" hidden>a &lt; b</p>'
    assert joined("<i>", Html("<b>")) == "&lt;i&gt;<b>"
    assert tag("p", "", data_x='"') == '<p data-x="&quot;"></p>'


def test_a_limit_shows_each_regions_part_of_it_and_what_came_late() -> None:
    """The same words as in the terminal."""
    page = render_page(samples.limited())
    for text in ("14 s of 15 s", "0 s of 1 s", "of its part of your limit", "Told late, when you had already gone on: beak color",
                 "Time: 57 s of 45 s, 12 s over.", "(told late)"):  # fmt: skip
        assert text in page
    assert "part of your limit" not in render_page(samples.weak())

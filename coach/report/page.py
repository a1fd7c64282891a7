"""A Report as one self-contained HTML page: nothing is loaded from anywhere, the sound rides inside it if given.

Text in, text out; `write_page` alone touches the disk. Look and behaviour are page.css and page.js beside this file.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable
from hashlib import sha256
from importlib import resources
from pathlib import Path

from coach.judge.verdict import RegionTime, Status, Verdict
from coach.report.files import write_whole
from coach.report.markup import Html, joined, tag
from coach.report.model import Fix, Report
from coach.report.page_words import mark, time_button, transcript
from coach.report.phrases import (
    STATUS_WORDS,
    delivery_lines,
    detail,
    extras,
    groups,
    headline,
    late_lines,
    length,
    lower_first,
    order_word,
    region_word,
    shown,
    strengths,
    took,
    upper_first,
)

__all__ = ["render_page", "write_page"]

_SHAPES = {  # drawn by hand on a field of 20 by 20
    Status.SAID: "M3.4 11.4C5.2 12.6 6.6 14.2 7.7 16.4 9.6 10.8 12.8 6.3 17 3.4",
    Status.SKIPPED: "M10.4 3.4C6 3 3.2 6.2 3.3 10.1 3.4 14.2 6.4 16.9 10.2 16.8 "
    "14 16.7 16.9 13.8 16.7 9.8 16.5 6 14 3.6 9.2 3.6",
    Status.WRONG: "M4.2 4.4C8.4 7.8 12.2 11.6 16 16.2M15.6 3.8C11.6 7.6 7.8 11.8 4.6 16.4",
    Status.MISNAMED: "M3.6 7.8C8 7.4 12 7.5 16.6 7.6M3.4 12.9C8 12.6 12.2 12.6 16.4 12.7"
    "M13.8 3.6C11.4 8 8.8 12.2 6.4 16.8",
    Status.UNSURE: "M6.2 7.2C6.2 4.4 8 3.2 10.2 3.2 12.6 3.2 14.2 4.8 14 7 13.8 9.4 10.3 9.9 10.2 12.8"
    "M10.1 16.2L10.2 16.6",
}


def write_page(report: Report, path: Path, audio: bytes | None = None, audio_mime: str = "audio/ogg") -> None:
    """Write the page whole or not at all; CoachError tells why it could not be written."""
    write_whole(render_page(report, audio, audio_mime), path)


def render_page(report: Report, audio: bytes | None = None, audio_mime: str = "audio/ogg") -> str:
    """The page; with audio, words and findings play the recording from their place (only for a timed report)."""
    sound = audio is not None and report.timed and bool(report.words)
    style, script = _data("page.css"), _data("page.js") if sound else ""
    player = _player(audio, audio_mime) if sound and audio is not None else Html()
    sections = _full(report, sound) if report.judgement.is_rehearsal else _not_a_rehearsal(report, sound)
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=_policy(style, script)),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("title", f"{report.bird_name}: rehearsal report"),
        tag("style", Html(style)),
    )
    main = tag("main", _top(report), *sections)
    end = tag("script", Html(script)) if sound else Html()
    body = tag("body", _shapes(), main, player, end)
    return f"<!doctype html>\n{tag('html', head, body, lang='en')}\n"


def _data(name: str) -> str:
    return resources.files("coach.report").joinpath(name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    """Nothing may be loaded; only this very style and script may act, and the sound inside the page may play."""
    scripts = f"; script-src {_hash(script)}" if script else ""
    return (
        f"default-src 'none'; style-src {_hash(style)}{scripts}; media-src data:; base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _player(audio: bytes, mime: str) -> Html:
    if not re.fullmatch(r"audio/[a-z0-9.+-]+", mime):
        raise ValueError(f"not a kind of sound: {mime!r}")
    source = f"data:{mime};base64,{b64encode(audio).decode('ascii')}"
    sound = tag("audio", src=source, controls=True, preload="auto", aria_label="The recording")
    return tag("aside", sound, tag("p", "", id="told", role="status"), class_="player", aria_label="Player")


def _shapes() -> Html:
    shapes = [tag("symbol", tag("path", d=d), id=f"mark-{s.value}", viewBox="0 0 20 20") for s, d in _SHAPES.items()]
    return tag("svg", *shapes, class_="shapes", aria_hidden="true", width=0, height=0)


def _top(report: Report) -> Html:
    heard = f", {length(report.seconds)}" if report.timed else ""
    return tag("header", tag("h1", report.bird_name), tag("p", report.breed), tag("p", f"{report.file}{heard}"))


def _full(report: Report, sound: bool) -> list[Html]:
    return [
        _section("In short", tag("p", headline(report), class_="headline"), _list(strengths(report))),
        _section("What to fix next", _fixes(report, sound)),
        _section("Regions", _regions(report, sound), _list(late_lines(report)), note=_regions_note(report)),
        _section("Everything", _items(report, sound), note="Region by region."),
        _section(
            "Your words", _how_to_play(report, sound), _legend(), tag("div", transcript(report, sound), id="words")
        ),
        _section("How it was spoken", _list(delivery_lines(report))),
        _section("Keep in mind", _list(report.cautions)),
    ]


def _not_a_rehearsal(report: Report, sound: bool) -> list[Html]:
    if not report.words:
        said = ("I heard no speech.", "Check that the microphone was on and close to you, then try once more.")
    else:
        said = (
            "This does not sound like a rehearsal.",
            "I listen for a member going over a bird aloud, from head to tail. Is this the right recording?",
        )
    short = _section("In short", tag("p", said[0], class_="headline"), tag("p", said[1]))
    if not report.words:
        return [short]
    words = tag("div", transcript(report, sound), id="words")
    return [short, _section("Your words", *([_how_to_play(report, sound)] if sound else []), words)]


def _section(title: str, *children: Html, note: str = "") -> Html:
    side = tag("div", tag("h2", title), *([tag("p", note)] if note else []), class_="side")
    return tag("section", side, tag("div", *children, class_="body"))


def _list(lines: Iterable[str]) -> Html:
    items = [tag("li", line) for line in lines]
    return tag("ul", *items, class_="plain") if items else Html()


def _fixes(report: Report, sound: bool) -> Html:
    if not report.fixes:
        return tag("p", "Nothing to fix this time. Say it once more tomorrow to keep it.")
    return tag("ol", *[_fix(fix, sound) for fix in report.fixes], class_="fixes")


def _fix(fix: Fix, sound: bool) -> Html:
    what = tag("p", upper_first(fix.what), " ", time_button(fix.at_s, sound))
    line = tag("p", tag("span", "Say: "), tag("q", fix.line), class_="say") if fix.line else Html()
    return tag("li", what, line)


def _regions_note(report: Report) -> str:
    limited = report.timing is not None and report.timing.limit_s is not None
    budget = " Each with its time, of its part of your limit." if limited else ""
    return f"In the order they should come.{budget}"


def _regions(report: Report, sound: bool) -> Html:
    regions = sorted(report.judgement.regions, key=lambda r: r.expected_place)
    return tag(
        "ol",
        *[_region(region, report, sound) for region in regions],
        class_="regions" if report.timed else "regions untimed",
    )


def _region(region: RegionTime, report: Report, sound: bool) -> Html:
    name = tag("span", upper_first(region_word(region.title)), class_="name")
    told = order_word(region, report.judgement)
    plain = told in ("all told", "visited", "nothing asked")
    words = tag("span" if plain else "strong", told, class_="told")
    if not report.timed:
        return tag("li", name, words, value=region.expected_place)
    moved = region.id in report.judgement.out_of_order
    spent = tag("span", took(region, report) or "no time", class_="took")
    start = time_button(region.visits[0].start_s, sound, 0.0) if region.visits else tag("span", class_="at")
    return tag("li", name, start, _track(region, report.seconds, moved), spent, words, value=region.expected_place)


def _track(region: RegionTime, seconds: float, moved: bool) -> Html:
    """The recording from left to right, filled where the region was visited; the words beside it say the same."""
    bars = [
        tag("rect", x=f"{v.start_s:.2f}", y=0, height=10, width=f"{max(v.end_s - v.start_s, seconds / 120):.2f}")
        for v in region.visits
    ]
    box = f"0 0 {max(seconds, 0.01):.2f} 10"
    kind = "track moved" if moved else "track"
    return tag("svg", *bars, class_=kind, viewBox=box, preserveAspectRatio="none", aria_hidden="true")


def _items(report: Report, sound: bool) -> Html:
    found = groups(report.judgement)
    bonus = extras(v for _, verdicts in found for v in verdicts)
    blocks = []
    for title, verdicts in found:
        items = [_item(v, report.timed, sound) for v in verdicts if shown(v)]
        if items:
            blocks.append(tag("div", tag("h3", upper_first(title)), tag("ul", *items, class_="items"), class_="group"))
    more = tag("p", f"Extra things you could add, if you like: {', '.join(bonus)}.", class_="quiet")
    return joined(tag("div", *blocks, class_="groups"), more if bonus else "")


def _item(verdict: Verdict, timed: bool, sound: bool) -> Html:
    status = tag(
        "span", mark(verdict.status), " ", STATUS_WORDS[verdict.status], class_=f"status {verdict.status.value}"
    )
    told = detail(verdict, timed)
    if verdict.status is Status.SKIPPED and verdict.line:
        told = f"Say: “{verdict.line}”"
    body = tag("span", tag("b", lower_first(verdict.title)), " ", tag("span", told, class_="detail"))
    at_s = verdict.start_s if verdict.start_s is not None else verdict.place_s
    return tag("li", status, body, time_button(at_s if timed else None, sound))


def _legend() -> Html:
    words = [tag("span", mark(s), " ", word, class_=f"label {s.value}") for s, word in STATUS_WORDS.items()]
    return tag(
        "p", *[part for word in words for part in (word, " ")], class_="legend", aria_label="What the marks mean"
    )


def _how_to_play(report: Report, sound: bool) -> Html:
    if sound:
        return tag(
            "p",
            "Click a word to hear the recording from there. By keyboard: Tab to the words, move with the arrow keys, "
            "press Enter.",
            class_="quiet screen",
        )
    if report.timed:
        return tag("p", "This page carries no sound; find the times in your own recording.", class_="quiet")
    return tag("p", "These words came without times or sound.", class_="quiet")

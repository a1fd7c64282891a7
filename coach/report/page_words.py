"""The transcript of the page: the words as heard, each finding marked in its place, gaps where something is missing.

A paragraph per stay in a region. A mark is a drawn shape with words beside it and an underline, never only colour.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import groupby

from coach.judge.verdict import Status, Verdict
from coach.report.markup import Html, joined, tag
from coach.report.model import Report
from coach.report.phrases import clock, join_words, length, lower_first, region_word, shown, upper_first
from coach.words import Word

__all__ = ["mark", "time_button", "transcript"]

_Stay = tuple[float, str]  # when it began, the region's name

LEAD_S = 0.4  # a finding plays from a little before, so that its first sound is not cut
_LABELS = {Status.WRONG: "not right: ", Status.MISNAMED: "wrong name: ", Status.UNSURE: "listen: ", Status.SAID: ""}


def mark(status: Status) -> Html:
    """The status as a drawn shape; the word stands beside it."""
    use = tag("use", href=f"#mark-{status.value}")
    return tag("svg", use, class_=f"mark {status.value}", viewBox="0 0 20 20", aria_hidden="true")


def time_button(at_s: float | None, sound: bool, lead_s: float = LEAD_S) -> Html:
    """A place in the recording: a button that plays from there, or plain text when the page carries no sound."""
    if at_s is None:
        return Html()
    text = clock(at_s)
    if not sound:
        return tag("span", text, class_="at")
    start = f"{max(at_s - lead_s, 0):.2f}"
    return tag("button", text, type="button", class_="at", data_at=start, aria_label=f"Play from {text}")


def transcript(report: Report, sound: bool) -> Html:
    """All words in paragraphs, or one line when nothing was heard."""
    if not report.words:
        return tag("p", "No words were heard.")
    pieces = _pieces(report, sound)
    paragraphs = []
    for (start_s, title), group in groupby(pieces, key=lambda piece: piece[0]):
        text = tag("p", *[part for _, html in group for part in (html, " ")])
        time = time_button(start_s, sound, 0.0) if report.timed and title else ""
        name = upper_first(title) or ("Before the first region" if report.judgement.regions else "")
        paragraphs.append(tag("div", tag("h3", name, " ", time), text, class_="stay") if name else text)
    return joined(*paragraphs)


def _pieces(report: Report, sound: bool) -> list[tuple[_Stay, Html]]:
    """Runs of words with the same findings, and between them what was left out and the long pauses."""
    between = _between(report)
    times = [at_s for at_s, _ in between]
    stays = _stays(report)
    pieces: list[tuple[_Stay, Html]] = []
    last_s = {v.id: word.start_s for word in report.words for v in _covering(report, word)}
    done = 0

    def kinds(word: Word) -> tuple[_Stay, tuple[Verdict, ...], bool, int]:
        return _stay(stays, word), _covering(report, word), _is_aside(report, word), bisect_right(times, word.start_s)

    for (stay, found, is_aside, n_before), run in groupby(report.words, key=kinds):
        last_stay = pieces[-1][0] if pieces else stay
        pieces += [(last_stay, html) for _, html in between[done:n_before]]
        done = n_before
        words = tuple(run)
        ending = [v for v in found if last_s[v.id] <= words[-1].start_s]
        pieces += [(stay, html) for html in (_run(found, is_aside, words, sound), *map(_label, ending))]
        pieces += [(stay, html) for html in _notes(report, is_aside, words)]
    return pieces + [(pieces[-1][0], html) for _, html in between[done:]]


def _between(report: Report) -> list[tuple[float, Html]]:
    """(second, what to show there) for the gaps: items left out, one caret for all of one place, and long pauses."""
    judgement = report.judgement
    missing = [v for v in judgement.verdicts if v.status is Status.SKIPPED and shown(v) and v.place_s is not None]
    found = []
    for place_s in sorted({v.place_s for v in missing if v.place_s is not None}):
        names = join_words([lower_first(v.title) for v in missing if v.place_s == place_s])
        found.append((place_s, tag("small", mark(Status.SKIPPED), f" left out: {names}", class_="label skipped")))
    for pause in judgement.delivery.long_pauses if report.timed else ():
        text = f"pause, {length(pause.end_s - pause.start_s)}"
        found.append((pause.start_s, tag("small", text, class_="label pause")))
    return sorted(found, key=lambda pair: pair[0])


def _stays(report: Report) -> list[_Stay]:
    """Every stay in a region; a second visit with no other region between goes on with the first."""
    visits = sorted((v.start_s, region_word(r.title)) for r in report.judgement.regions for v in r.visits)
    return [next(group) for _, group in groupby(visits, key=lambda stay: stay[1])]


def _stay(stays: Sequence[_Stay], word: Word) -> _Stay:
    """The stay in a region that the word belongs to: the last one begun; before the first there is no region."""
    return max((stay for stay in stays if stay[0] <= _middle(word)), default=(0.0, ""))


def _covering(report: Report, word: Word) -> tuple[Verdict, ...]:
    """The verdicts that rest on this word, the one most in need of a look first."""
    found = [v for v in report.judgement.verdicts if v.status in _LABELS and _holds(v.start_s, v.end_s, _middle(word))]
    return tuple(sorted(found, key=lambda v: list(_LABELS).index(v.status)))


def _is_aside(report: Report, word: Word) -> bool:
    return any(_holds(a.start_s, a.end_s, _middle(word)) for a in report.judgement.delivery.asides)


def _run(found: Sequence[Verdict], is_aside: bool, words: Sequence[Word], sound: bool) -> Html:
    text = joined(*[piece for word in words for piece in (_word(word, sound), " ")][:-1])
    if found:
        return tag("span", text, class_=f"found {found[0].status.value}")
    return tag("em", text) if is_aside else text


def _notes(report: Report, is_aside: bool, words: Sequence[Word]) -> list[Html]:
    """Remarks that are no findings: an aside, a slip put right."""
    slips = [s for s in report.judgement.slips if words[0].start_s <= s.start_s < words[-1].end_s]
    texts = [f"{slip.heard}: put right" for slip in slips] + ["aside"] * is_aside
    return [tag("small", text, class_="label pause") for text in texts]


def _word(word: Word, sound: bool) -> Html:
    if not sound:
        return joined(word.text)
    return tag("button", word.text, type="button", class_="word", data_at=f"{word.start_s:.2f}")


def _label(verdict: Verdict) -> Html:
    expected = f" (it is {verdict.expected})" if verdict.status in (Status.WRONG, Status.MISNAMED) else ""
    text = f"{_LABELS[verdict.status]}{lower_first(verdict.title)}{expected}"
    return tag("small", mark(verdict.status), f" {text}", class_=f"label {verdict.status.value}")


def _middle(word: Word) -> float:
    return (word.start_s + word.end_s) / 2


def _holds(start_s: float | None, end_s: float | None, at_s: float) -> bool:
    return start_s is not None and end_s is not None and start_s <= at_s <= end_s

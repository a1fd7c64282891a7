"""What the member sees while rehearsing: calm, readable in 80 x 24, or with big letters from two metres.

`draw` is pure: a View and a size in, something rich can print out. LiveScreen shows it in place, PlainScreen where there
is no terminal to draw on. Steady stands between a screen and whoever records: no drawing ends a recording.
"""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from coach.live.big_letters import big_text
from coach.live.meter import bar
from coach.live.tracker import LiveState, RegionState
from coach.report.phrases import clock as minutes

if TYPE_CHECKING:
    from rich.console import Console
    from rich.text import Text

__all__ = ["LiveScreen", "PlainScreen", "Screen", "Steady", "View", "draw", "open_screen"]

LOUD_DBFS = -6.0
METER = 20
DOTS = 10
LAST_CALL_S = 30.0  # remaining time stands out from here


@dataclass(frozen=True, slots=True)
class View:
    """Everything on the screen. note is one line about what is going on."""

    name: str
    elapsed_s: float = 0.0
    limit_s: float | None = None
    state: LiveState | None = None
    level_dbfs: float = -90.0
    prompt: str | None = None  # the region to go to, when the member wants to be told
    problem: str | None = None
    note: str | None = None
    count_in: int | None = None  # 3, 2, 1 before the start
    is_over: bool = False


class Screen(Protocol):
    """Where a View is shown."""

    def show(self, view: View) -> None:
        """Show it; called some times a second."""
        ...


# --- drawing --------------------------------------------------------------------------------------------------------


def draw(view: View, columns: int, rows: int, *, is_big: bool = False, is_plain: bool = False) -> Text:
    """The picture, at most columns x rows, however few they are. is_plain keeps to ASCII."""
    from rich.text import Text

    columns = max(1, columns)
    lines = _big(view, columns, rows, is_plain) if is_big else _lines(view, columns, rows, is_plain)
    for line in lines:
        line.truncate(columns, overflow="ellipsis" if not is_plain else "crop")
    return Text("\n", no_wrap=True, overflow="crop").join(lines[:rows])


def _lines(view: View, columns: int, rows: int, is_plain: bool) -> list[Text]:
    from rich.text import Text

    head = _between(Text(f" {view.name}", "bold"), _clock(view), columns)
    state = view.state
    latest = _fitting(state.latest if state else (), columns - 2)
    foot = [Text(), Text(f" {latest}"), Text(), _meter(view, is_plain), *_foot(view, columns)]
    if view.count_in is not None:
        middle = [Text(), Text(" Ready? Begin after the count.", "bold"), Text()]
        digit = big_text(str(view.count_in), columns - 3, "#" if is_plain else "\u2588")
        middle += [Text(f"   {row}", "bold cyan") for row in digit]
        return [head, *middle, Text(), _meter(view, is_plain), *_foot(view, columns)]
    now = [Text(), _now(view), Text()]
    room = max(0, rows - 1 - len(now) - len(foot))
    return [head, *now, *_region_lines(state, room, columns, is_plain), *foot]


def _fitting(words: Sequence[str], columns: int) -> str:
    """As many of the last words as there is room for."""
    n = len(words)
    while n and len(" ".join(words[-n:])) > columns:
        n -= 1
    return " ".join(words[-n:]) if n else ""


def _now(view: View) -> Text:
    from rich.text import Text

    if view.is_over:
        return Text(" Done.", "bold")
    if view.prompt:
        return Text.assemble((" Next: ", "yellow"), (view.prompt, "bold yellow"))
    title = _title(view.state, view.state.now) if view.state else None
    return Text.assemble(" Now: ", (title, "bold cyan")) if title else Text(" Begin when you are ready.")


def _region_lines(state: LiveState | None, room: int, columns: int, is_plain: bool) -> list[Text]:
    if state is None:
        return []
    regions = list(state.regions)
    if len(regions) > room:  # the ones around the present
        here = next((n for n, r in enumerate(regions) if r.id == state.now), 0)
        first = max(0, min(here - room // 2, len(regions) - room))
        regions = regions[first : first + room]
    widest = max(0, min(max((len(r.title) for r in regions), default=0), columns - DOTS - 20))
    return [_region_line(r, r.id == state.now, widest, is_plain) for r in regions]


def _region_line(region: RegionState, is_now: bool, widest: int, is_plain: bool) -> Text:
    from rich.text import Text

    full, empty, arrow, tick = ("#", ".", ">", "+") if is_plain else ("\u25cf", "\u25cb", "\u25b8", "\u2713")
    mark = arrow if is_now else tick if region.is_done else " "
    dots = min(DOTS, region.n_required)
    lit = region.n_heard * dots // region.n_required
    style = "bold cyan" if is_now else "green" if region.is_done else "" if region.n_heard else "dim"
    return Text(
        f" {mark} {region.title[:widest].ljust(widest)}  {full * lit + empty * (dots - lit):{DOTS}}  "
        f"{region.n_heard:2} of {region.n_required}",
        style,
    )


def _clock(view: View) -> Text:
    from rich.text import Text

    if view.count_in is not None:
        return Text()
    clock = Text(minutes(view.elapsed_s), "bold")
    left_s = _left_s(view)
    if left_s is not None:
        clock.append("   ")
        clock.append(f"{minutes(left_s)} left", "bold yellow" if left_s <= LAST_CALL_S else "")
    return clock.append(" ")


def _meter(view: View, is_plain: bool) -> Text:
    from rich.text import Text

    full, empty = ("#", ".") if is_plain else ("\u2588", "\u00b7")
    lit, dark = bar(view.level_dbfs, METER, full, empty)
    too_loud = view.level_dbfs > LOUD_DBFS
    meter = Text.assemble(" Level ", (lit, "red" if too_loud else "green"), (dark, "dim"))
    return meter.append("  too loud" if too_loud else "", "red")


def _foot(view: View, columns: int) -> list[Text]:
    """What is wrong or going on, on as many lines as it takes."""
    import textwrap

    from rich.text import Text

    if not view.problem and not view.note:
        return [Text("" if view.is_over or view.count_in is not None else " Enter stops", "dim")]
    style = "bold red" if view.problem else "yellow"
    return [Text(f" {line}", style) for line in textwrap.wrap(view.problem or view.note or "", max(1, columns - 2))]


def _big(view: View, columns: int, rows: int, is_plain: bool) -> list[Text]:
    """Region, time and count in big letters, a line for what is wrong."""
    from rich.text import Text

    block = "#" if is_plain else "\u2588"
    blank = [Text()]

    def block_of(text: str, style: str) -> list[Text]:
        return [Text(f"  {row}", style) for row in big_text(text, columns - 4, block)]

    if view.count_in is not None:
        return [*blank, *block_of(str(view.count_in), "bold cyan"), *blank, *_foot(view, columns)]
    state = view.state
    here = state.now if state else None
    if view.prompt:
        top = [Text("  Next:", "yellow"), *block_of(_short(view.prompt), "bold yellow")]
    else:
        top = [Text("  Now:", "dim"), *block_of(_short(_title(state, here) or ""), "bold cyan")]
    left_s = _left_s(view)
    time_style = "bold yellow" if left_s is not None and left_s <= LAST_CALL_S else "bold"
    time = block_of(minutes(view.elapsed_s if left_s is None else left_s), time_style)
    label = Text("  Time:" if left_s is None else "  Time left:", "dim")
    told = _count(state, here)
    count = [Text("  Told here:", "dim"), *block_of(told, "bold green")] if told else []
    gap = blank if rows >= 23 else []
    return [*top, *gap, label, *time, *gap, *count, *gap, *_foot(view, columns)]


def _count(state: LiveState | None, region: str | None) -> str:
    found = next((r for r in state.regions if r.id == region), None) if state else None
    return f"{found.n_heard}/{found.n_required}" if found else ""


def _short(title: str) -> str:
    """The first word of "Back and saddle": big letters take room."""
    return title.split(" ", 1)[0] if len(title) > 8 else title


def _title(state: LiveState | None, region: str | None) -> str | None:
    return next((r.title for r in state.regions if r.id == region), None) if state else None


def _left_s(view: View) -> float | None:
    return None if view.limit_s is None else max(0.0, view.limit_s - view.elapsed_s)


def _between(left: Text, right: Text, columns: int) -> Text:
    from rich.text import Text

    return Text.assemble(left, " " * max(1, columns - left.cell_len - right.cell_len), right)


# --- showing --------------------------------------------------------------------------------------------------------


class Steady:
    """A screen that holds nobody up: what goes wrong in drawing is remembered, and the next view is tried again.

    problem: what went wrong last, in a line; None while all is well.
    """

    def __init__(self, screen: Screen) -> None:
        self._screen = screen
        self.problem: str | None = None

    def show(self, view: View) -> None:
        """See Screen."""
        try:
            self._screen.show(view)
        except Exception as err:  # a terminal of any size or kind, or one that is gone: sound goes before sight
            first = next(iter(str(err).splitlines()), "")
            self.problem = f"not everything could be shown on the screen ({type(err).__name__}: {first})"


class LiveScreen:
    """The whole terminal, drawn in place; what was there before comes back at the end. A context manager."""

    def __init__(self, console: Console, is_big: bool) -> None:
        from rich.live import Live

        self._console, self._is_big = console, is_big
        self._is_plain = not (console.encoding or "").lower().startswith("utf")
        self._live = Live(console=console, screen=True, auto_refresh=False, redirect_stdout=False, redirect_stderr=False)

    def __enter__(self) -> LiveScreen:
        self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        with contextlib.suppress(OSError, ValueError):  # the terminal is gone; what was recorded is told of elsewhere
            self._live.stop()

    def show(self, view: View) -> None:
        """See Screen."""
        columns, rows = self._console.size
        picture = draw(view, columns, rows, is_big=self._is_big, is_plain=self._is_plain)
        self._live.update(picture, refresh=True)


class PlainScreen:
    """No terminal to draw on: a line when it begins, one for each problem or note, one at the end."""

    def __init__(self) -> None:
        self._told: set[str] = set()

    def __enter__(self) -> PlainScreen:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def show(self, view: View) -> None:
        """See Screen."""
        lines = ["Get ready ..." if view.count_in is not None else "Recording. Ctrl-C stops.", view.problem, view.note]
        for line in lines:
            if line and line not in self._told:
                self._told.add(line)
                print(line, file=sys.stderr, flush=True)


def open_screen(is_big: bool) -> LiveScreen | PlainScreen:
    """The screen that fits: drawn on stderr when that is a terminal (NO_COLOR respected by rich)."""
    from rich.console import Console

    console = Console(stderr=True, highlight=False)
    return LiveScreen(console, is_big) if console.is_terminal and not console.is_dumb_terminal else PlainScreen()

"""The screen while rehearsing: everything in 80 x 24, big letters for two metres, nothing that flickers or overflows."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from judging import BIRD, CARD, spoken
from rich.console import Console

from coach.knowledge.routes import load_route
from coach.live.big_letters import ROWS, big_text
from coach.live.screen import PlainScreen, Steady, View, draw
from coach.live.tracker import track
from coach.review import Subject

SUBJECT = Subject(BIRD, CARD, load_route("head-to-tail"))
STATE = track(spoken("This is the beak. It is pinkish white.", "She has a single comb with five points."), SUBJECT)
VIEW = View("Juniper", elapsed_s=83.4, limit_s=240.0, state=STATE, level_dbfs=-24.0)


def shown(view: View, columns: int = 80, rows: int = 24, *, color: bool = False, **how: bool) -> list[str]:
    """The lines as they come out on a terminal of that size."""
    out = io.StringIO()
    console = Console(file=out, width=columns, height=rows, force_terminal=color, color_system="standard" if color else None)
    console.print(draw(view, columns, rows, **how))
    return out.getvalue().rstrip("\n").split("\n")


def test_everything_is_on_the_screen() -> None:
    """Name, time gone and left, region now, each region with its count, the latest words, the level, how to stop."""
    lines = shown(VIEW)
    assert lines[0].split() == ["Juniper", "1:23", "2:36", "left"]
    assert lines[2] == " Now: Head"
    head, wings = (next(line for line in lines if title in line and "of" in line) for title in ("Head", "Wings"))
    assert "\u25b8" in head and head.split()[-3:] == [str(STATE.regions[1].n_heard), "of", str(STATE.regions[1].n_required)]
    assert wings.endswith(" 0 of 5")
    assert any(line.endswith("single comb with five points.") for line in lines)
    assert any("Level" in line for line in lines) and lines[-1] == " Enter stops"


@pytest.mark.parametrize("is_big", [False, True])
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (60, 20), (40, 16), (200, 60)])
def test_it_fits(columns: int, rows: int, is_big: bool) -> None:
    """No line is wider and no picture higher than the terminal, with every note and problem."""
    noted = replace(VIEW, note="y " * 30, prompt="Legs and feet")
    for view in (VIEW, replace(VIEW, problem="x " * 60), noted, View("J", count_in=3)):
        lines = shown(view, columns, rows, is_big=is_big)
        assert len(lines) <= rows and max(map(len, lines)) <= columns


@pytest.mark.parametrize("is_plain", [False, True])
@pytest.mark.parametrize("is_big", [False, True])
@pytest.mark.parametrize("columns", [0, 1, 2, 3, 5, 12, 19, 20, 29, 30, 31])
def test_no_window_is_too_small(columns: int, is_big: bool, is_plain: bool) -> None:
    """Whatever size a window is dragged to, there is a picture, and it is no larger."""
    over = replace(VIEW, is_over=True, note="Listening to the last words ...")
    noted = replace(VIEW, note="y " * 30, prompt="Legs and feet")
    for view in (VIEW, replace(VIEW, problem="x" * 60), noted, over, View("J", count_in=3), View(""), replace(VIEW, state=None)):
        for rows in (0, 1, 2, 5, 9, 24):
            lines = draw(view, columns, rows, is_big=is_big, is_plain=is_plain).split("\n")
            assert len(lines) <= max(1, rows) and all(line.cell_len <= max(1, columns) for line in lines)


def test_rows_keep_their_place() -> None:
    """From the first moment to the last the regions stand in the same rows: nothing jumps."""
    empty = track(spoken(), SUBJECT)
    rows = [
        [n for n, line in enumerate(shown(replace(VIEW, state=state))) if " of " in line]
        for state in (empty, STATE)
    ]
    assert rows[0] == rows[1] and len(rows[0]) == len(STATE.regions)


def test_a_problem_is_told_in_full() -> None:
    """A long line about the microphone is wrapped, not cut."""
    problem = "nothing comes from the microphone 'Desk microphone, left input' any more; check its cable; the take so far is kept"
    text = " ".join(" ".join(shown(replace(VIEW, problem=problem))).split())
    assert problem in text


def test_without_unicode_it_is_plain_ascii() -> None:
    """A console that knows no dots or blocks gets letters."""
    assert all(line.isascii() for line in shown(VIEW, is_plain=True))
    assert all(line.isascii() for line in shown(VIEW, is_plain=True, is_big=True))


def test_no_color_is_respected(monkeypatch: pytest.MonkeyPatch) -> None:
    """With NO_COLOR the words are the same and no color is set (https://no-color.org)."""
    colored = "\n".join(shown(VIEW, color=True))
    monkeypatch.setenv("NO_COLOR", "1")
    bare = "\n".join(shown(VIEW, color=True))
    assert "\x1b[1;36m" in colored and "36m" not in bare and "32m" not in bare


def test_remaining_time_counts_down_in_big_letters() -> None:
    """With a limit the big clock shows what is left, without one what is gone."""
    left, gone = (shown(replace(VIEW, limit_s=limit), is_big=True) for limit in (240.0, None))
    assert [line.strip() for line in big_text("2:36", 76)] == [line.strip() for line in left[8 : 8 + ROWS]]
    assert [line.strip() for line in big_text("1:23", 76)] == [line.strip() for line in gone[8 : 8 + ROWS]]


def test_big_letters_are_all_different_and_five_rows_high() -> None:
    """Every letter and every digit has a shape of its own, and too long a word is cut, not broken over lines."""
    for signs in ("ABCDEFGHIJKLMNOPQRSTUVWXYZ", "0123456789:/"):
        shapes = {big_text(c, 20) for c in signs}
        assert len(shapes) == len(signs) and {len(s) for s in shapes} == {ROWS}
    assert max(map(len, big_text("Abdomen and pubic bones", 40))) <= 40
    assert len(big_text("wings", 80)[0]) > len(big_text("wings", 40)[0])


def test_the_level_meter_follows_the_level() -> None:
    """Louder is longer, and too loud is said."""
    lengths = []
    for level in (-70.0, -40.0, -20.0, -3.0):
        line = next(line for line in shown(replace(VIEW, level_dbfs=level)) if "Level" in line)
        lengths.append(line.count("\u2588"))
    assert lengths == sorted(set(lengths)) and lengths[0] == 0 and "too loud" in line


@pytest.mark.parametrize("trouble", [ValueError("Sign not allowed"), OSError(5, "Input/output error"), ZeroDivisionError()])
def test_a_screen_that_fails_holds_nobody_up(trouble: Exception) -> None:
    """What goes wrong is remembered in a line, the next view is tried again, and Ctrl-C still gets through."""
    errors: list[BaseException | None] = [trouble, None, KeyboardInterrupt()]
    shown_views: list[View] = []

    class Failing:
        def show(self, view: View) -> None:
            if (error := errors.pop(0)) is not None:
                raise error
            shown_views.append(view)

    steady = Steady(Failing())
    steady.show(VIEW)
    assert steady.problem is not None and type(trouble).__name__ in steady.problem and "\n" not in steady.problem
    steady.show(VIEW)
    assert shown_views == [VIEW]
    with pytest.raises(KeyboardInterrupt):
        steady.show(VIEW)


def test_without_a_terminal_only_news_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """Each line once, on stderr."""
    screen = PlainScreen()
    for view in (View("J", count_in=3), VIEW, VIEW, replace(VIEW, problem="the microphone is gone"), VIEW):
        screen.show(view)
    out, err = capsys.readouterr()
    assert (out, err) == ("", "Get ready ...\nRecording. Ctrl-C stops.\nthe microphone is gone\n")

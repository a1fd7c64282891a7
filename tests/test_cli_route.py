"""`coach route` and `coach score`: list, show, copy, check, as a club leader uses them."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_files import run

from coach.knowledge.routes import load_route, shipped_routes
from coach.knowledge.score_sheets import load_sheet, shipped_sheets

Capture = pytest.CaptureFixture[str]


def test_list_names_every_shipped_file(capsys: Capture) -> None:
    """One line each, with the regions in order."""
    out = run(capsys, "route", "list").out.splitlines()
    assert [line.split()[0] for line in out] == list(shipped_routes())
    assert "opening, head, wings, back" in next(line for line in out if line.startswith("wings-early"))
    assert [line.split()[0] for line in run(capsys, "score", "list").out.splitlines()] == list(shipped_sheets())


def test_show_tells_what_a_level_asks(capsys: Capture) -> None:
    """The axial feather is a bonus for a junior and asked of a senior."""
    junior = run(capsys, "route", "show", "head-to-tail", "--level", "junior").out
    senior = run(capsys, "route", "show", "head-to-tail").out
    assert "wings.axial                axial feather (part, a bonus)" in junior
    assert "wings.axial                axial feather (part, senior)" in senior
    assert "not: middle feather" in senior and "Breed facts, anywhere" in senior and "Source: " in senior


@pytest.mark.parametrize("route_id", shipped_routes())
def test_every_route_can_be_copied_and_used(route_id: str, capsys: Capture, tmp_path: Path) -> None:
    """The copy asks the same under the club's name, comments kept, and check finds it sound."""
    path = tmp_path / "Our Club.yaml"
    assert run(capsys, "route", "copy", route_id, str(path)).code == 0
    copy, shipped = load_route(str(path)), load_route(route_id)
    assert (copy.id, copy.regions, copy.items) == ("our-club", shipped.regions, shipped.items)
    assert path.read_text().startswith("# Your own copy")
    assert run(capsys, "route", "check", str(path)).out == f"{path}: the route is sound\n"


def test_a_sheet_can_be_copied_and_used(capsys: Capture, tmp_path: Path) -> None:
    """Its lines arrive, and the example's comments with them."""
    path = tmp_path / "ours.yaml"
    assert run(capsys, "score", "copy", "club-example", str(path)).code == 0
    assert load_sheet(str(path)).lines == load_sheet("club-example").lines and "by_hand: true" in path.read_text()
    assert "For practice only" in run(capsys, "score", "show", str(path)).out


def test_a_file_that_is_there_is_left_alone(capsys: Capture, tmp_path: Path) -> None:
    """Where nobody can be asked, nothing is overwritten."""
    path = tmp_path / "own.yaml"
    path.write_text("mine")
    assert "is there already and was left as it is" in run(capsys, "route", "copy", "duck", str(path)).line
    assert path.read_text() == "mine"


def test_all_problems_come_at_once_with_their_lines(capsys: Capture, tmp_path: Path) -> None:
    """A folder's routes are checked together; files of another kind are passed over."""
    for name in ("a", "b"):
        run(capsys, "route", "copy", "wings-early", str(tmp_path / f"{name}.yaml"))
    bad = tmp_path / "a.yaml"
    bad.write_text(bad.read_text().replace("extends: head-to-tail", "extends: head-to-tial") + "colour: red\n")
    (tmp_path / "bird.yaml").write_text("format: bird/1\n")
    ran = run(capsys, "route", "check", str(tmp_path))
    lines = ran.out.splitlines()
    assert ran.code == 2 and ran.err == ""
    assert any("key 'extends'" in line and "a.yaml:" in line for line in lines)
    assert lines[-2:] == ["1 file of another kind passed over", f"{len(lines) - 2} things to mend in 1 of 2 files"]


@pytest.mark.parametrize(
    ("argv", "message"),
    [
        (("route", "copy", "duk", "x.yaml"), "no route 'duk'; shipped: duck"),
        (("route", "copy", "duck", "x.txt"), "x.txt: the coach knows its files by their ending; name it x.yaml"),
        (("route", "show", "nowhere.yaml"), "no route file 'nowhere.yaml'; check the path"),
        (("route", "check", "."), ".: holds no .yaml file with 'format: route/1'; name the folder with your files, or one file"),
        (("score", "show", "taly"), "no score sheet 'taly'; shipped: "),
    ],
)
def test_mistakes_are_one_line(
    argv: tuple[str, ...], message: str, capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit 2, one line, nothing written."""
    monkeypatch.chdir(tmp_path)
    assert run(capsys, *argv).line.startswith(f"coach: {message}")
    assert list(tmp_path.iterdir()) == []

"""`coach sheet`: files written, options, mistakes."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_files import BIRD, run

Capture = pytest.CaptureFixture[str]


def test_a_sheet_is_written_beside_nothing_else(capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a name it is called after the bird; nothing else appears."""
    monkeypatch.chdir(tmp_path)
    assert run(capsys, "sheet", "--bird", BIRD).out == "sheet-checkers.html: the sheet; open it in a browser and print it\n"
    assert [path.name for path in tmp_path.iterdir()] == ["sheet-checkers.html"]
    assert "Checkers" in Path("sheet-checkers.html").read_text(encoding="utf-8")


def test_level_large_and_paper(capsys: Capture, tmp_path: Path) -> None:
    """A junior's large sheet names fewer things in larger type; the paper's size is fixed when asked."""
    senior, junior = tmp_path / "s.html", tmp_path / "j.html"
    run(capsys, "sheet", "--bird", BIRD, "--out", str(senior))
    run(capsys, "sheet", "--bird", BIRD, "--out", str(junior), "--level", "junior", "--large", "--paper", "a4")
    assert "axial" in senior.read_text(encoding="utf-8") and "axial" not in junior.read_text(encoding="utf-8")
    assert "size: a4" in junior.read_text(encoding="utf-8")
    assert "@page { margin" in senior.read_text(encoding="utf-8")  # no size: the printer's own


def test_without_a_converter_the_remedy_is_told(capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without any browser or converter gets one line that says what to do."""
    monkeypatch.setenv("PATH", str(tmp_path))
    ran = run(capsys, "sheet", "--bird", BIRD, "--pdf", str(tmp_path / "x.pdf"))
    assert ran.line.startswith("coach: no converter to PDF found") and "--out FILE.html" in ran.line
    assert not (tmp_path / "x.pdf").exists()


def test_a_converter_that_fails_is_one_line(capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its last words are passed on and no file is left."""
    fake = tmp_path / "chromium"
    fake.write_text("#!/bin/sh\necho out of ink >&2\nexit 3\n")
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/usr/bin:/bin")
    ran = run(capsys, "sheet", "--bird", BIRD, "--pdf", str(tmp_path / "x.pdf"))
    assert "failed (out of ink)" in ran.line and not (tmp_path / "x.pdf").exists()


@pytest.mark.parametrize(
    ("more", "message"),
    [
        (("--out", "nowhere/x.html"), "nowhere/x.html: there is no folder 'nowhere'"),
        (("--out", BIRD), f"{BIRD}: is named twice in this command"),
        (("--route", "nowhere"), "no route 'nowhere'"),
        (("--card", "buf-orpington"), "no breed card 'buf-orpington'"),
    ],
)
def test_mistakes_are_one_line(more: tuple[str, ...], message: str, capsys: Capture, tmp_path: Path) -> None:
    """Exit 2 and what to do; the bird's file stays as it is."""
    before = Path(BIRD).read_text(encoding="utf-8")
    assert run(capsys, "sheet", "--bird", BIRD, *more).line.startswith(f"coach: {message}")
    assert Path(BIRD).read_text(encoding="utf-8") == before

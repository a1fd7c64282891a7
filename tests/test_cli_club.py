"""The club's command: the leader's table, pages to hand out that show nobody else, a table for a spreadsheet."""

from __future__ import annotations

import csv
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from cli_files import run
from history_samples import practised, rehearsal

from coach.history.store import open_store


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.chdir(tmp_path)
    now = datetime.now(timezone.utc)
    with open_store() as store:
        store.add_all(practised(8, start=now - timedelta(days=25)), "Robin")
        store.add_all(practised(8, seed=2, start=now - timedelta(days=300)), "Wren")
        store.add(rehearsal(now), None)
    return tmp_path / "home"


def test_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    """Who practised lately, with the rule for ready, and whoever gave no name."""
    shown = run(capsys, "club").out
    assert shown.startswith("2 of 3 members practised since ")
    robin, wren = (next(line for line in shown.splitlines() if line.startswith(n)).split() for n in ("Robin", "Wren"))
    assert robin[1:3] == ["8", "8"] and wren[1:3] == ["8", "0"]
    assert "(no name)" in shown and "the leader decides" in shown
    assert run(capsys, "club", "--since", "400d").out.startswith("3 of 3 members")


def test_pages_to_hand_out_show_nobody_else(capsys: pytest.CaptureFixture[str]) -> None:
    """The leader's page links to each member's page, and no member's page names another."""
    assert run(capsys, "club", "--page", "pages").code == 0
    pages = {p.name: p.read_text(encoding="utf-8") for p in Path("pages").iterdir()}
    assert set(pages) == {"club.html", "member-robin.html", "member-wren.html", "member-no-name.html"}
    assert all(f'href="{name}"' in pages["club.html"] for name in pages if name != "club.html")
    assert "Wren" not in pages["member-robin.html"] and "Robin" not in pages["member-wren.html"]
    assert "Practise next" in pages["member-wren.html"]
    assert {p.stat().st_mode & 0o777 for p in Path("pages").iterdir()} == {0o600}


def test_the_spreadsheet(capsys: pytest.CaptureFixture[str]) -> None:
    """A line for each member that Python's own reader reads back."""
    assert run(capsys, "club", "--csv", "club.csv").code == 0
    with Path("club.csv").open(newline="", encoding="utf-8") as file:
        rows = {row["member"]: row for row in csv.DictReader(file)}
    assert rows["Wren"]["sessions"] == "8" and rows["Wren"]["sessions_lately"] == "0"
    assert float(rows["(no name)"]["told_percent"]) == 100.0 and rows["(no name)"]["ready_for"] == ""


def test_places_that_cannot_be_written(capsys: pytest.CaptureFixture[str]) -> None:
    """A file where the folder should be, a folder where the file should be: one line each."""
    Path("file").write_text("")
    assert "cannot be made a folder" in run(capsys, "club", "--page", "file").line
    assert "is a folder" in run(capsys, "club", "--csv", "home").line

"""`coach rehearse` before the first sound: options understood, mistakes told in one line, nothing made by them."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_files import BIRD, run

from coach.cli.screen import seconds as parse


@pytest.mark.parametrize(
    ("text", "seconds"), [("4m", 240), ("4", 240), ("90s", 90), ("1m30s", 90), ("4:30", 270), ("1.5m", 90), ("2min", 120)]
)
def test_times_are_understood(text: str, seconds: float) -> None:
    """As people write them."""
    assert parse(text) == seconds


@pytest.mark.parametrize("text", ["", "0", "soon", "-4m", "4:75", "2h", "61m", "s"])
def test_other_times_are_refused(capsys: pytest.CaptureFixture[str], text: str) -> None:
    """Usage, the option's name and what to write; exit 2."""
    ran = run(capsys, "rehearse", "--bird", BIRD, f"--limit={text}")
    assert ran.code == 2 and "--limit" in ran.err and ("write it like 4m" in ran.err or "an hour" in ran.err)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--bird", "no.yaml"], "no.yaml"),
        (["--bird", BIRD, "--only", "wing"], "did you mean 'wings'"),
        (["--bird", BIRD, "--json", "no/folder/out.json"], "no/folder"),
        (["--bird", BIRD, "--route", "head-to-tial"], "head-to-tail"),
    ],
)
def test_mistakes_are_told_before_the_microphone_is_touched(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, options: list[str], message: str
) -> None:
    """One line, and no take is begun."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    assert message in run(capsys, "rehearse", *options).line
    assert not (tmp_path / "home").exists()

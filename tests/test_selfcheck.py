"""`coach selfcheck`: a line a part, the remedy for what is missing, and an exit code for what is needed."""

from __future__ import annotations

import cli_files as files
import pytest

from coach.errors import CoachError
from coach.selfcheck import Check, run_checks

Capsys = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def checks() -> dict[str, Check]:
    """What works here, by name."""
    return {check.name: check for check in run_checks()}


def test_what_is_needed_works_here(checks: dict[str, Check]) -> None:
    """The tests run where everything needed is installed."""
    pytest.importorskip("ctranslate2")
    assert [c for c in checks.values() if c.needed and not c.works] == []


def test_every_kind_of_recording_is_checked(checks: dict[str, Check]) -> None:
    """The formats that the README promises."""
    kinds = " ".join(name for name in checks if name.startswith("Reads"))
    assert all(kind in kinds for kind in "wav mp3 m4a mp4 mov ogg opus flac webm".split())


def test_the_cards_and_routes_are_counted(checks: dict[str, Check]) -> None:
    """So that a broken installation shows."""
    assert checks["Cards and routes"].found.endswith("routes duck, goose, head-to-tail, turkey, vent-late, wings-early")


def test_a_broken_part_has_a_remedy(capsys: Capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is missing is marked, the next line says what to do, and the command ends with 2."""

    def broken(name: str | None) -> None:
        raise CoachError("the weights are not there")

    monkeypatch.setattr("coach.listen.whisper.find_weights", broken)
    ran = files.run(capsys, "selfcheck")
    lines = ran.out.splitlines()
    at = next(n for n, line in enumerate(lines) if "Embedded listener" in line)
    assert lines[at].startswith("MISSING") and "the weights are not there" in lines[at]
    assert lines[at + 1].strip() == "-> pip install --force-reinstall coach"
    assert ran.code == 2


def test_whatever_a_broken_library_throws_is_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """Any error at all becomes a line, its first line only."""

    def broken() -> None:
        raise OSError("libsound.so.1: cannot open\nmore of it")

    monkeypatch.setattr("coach.audio.library.load_av", broken)
    found = next(c for c in run_checks() if c.name == "Reads wav")
    assert (found.works, found.found) == (False, "OSError: libsound.so.1: cannot open")


def test_what_is_not_needed_does_not_fail(capsys: Capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a microphone recordings can still be reviewed: exit 0, and the line says so."""
    microphone = Check("Microphone", False, "none found", "plug one in", needed=False)
    monkeypatch.setattr("coach.selfcheck.run_checks", lambda: (Check("Python", True, "3.12"), microphone))
    ran = files.run(capsys, "selfcheck")
    assert ran.code == 0 and "without  Microphone" in ran.out and "-> plug one in" in ran.out

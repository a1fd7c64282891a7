"""Handing sessions over: complete, once, checked; damaged or changed files are refused whole."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
import report_samples
from history_samples import practised, rehearsal

from coach.errors import CoachError
from coach.history.exchange import read_sessions, render_sessions
from coach.history.model import Session
from coach.history.store import open_store
from coach.report.json_file import write_json


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def written(path: Path, *sessions: Session) -> Path:
    path.write_text(render_sessions("Robin", sessions), encoding="utf-8")
    return path


def test_what_is_handed_over_comes_back_equal(tmp_path: Path) -> None:
    """Every session, rehearsals and interviews, as it was."""
    sessions = practised(8)
    handed = read_sessions(written(tmp_path / "robin.json", *sessions))
    assert handed.member == "Robin" and list(handed.sessions) == sessions


def test_the_checksum_is_sha256_of_the_content(tmp_path: Path) -> None:
    """Anybody can check it: SHA-256 over the JSON without "sha256", keys sorted, no spaces, ASCII (hashlib, FIPS 180-4)."""
    data = json.loads(written(tmp_path / "robin.json", rehearsal()).read_text(encoding="utf-8"))
    told = data.pop("sha256")
    text = json.dumps(data, sort_keys=True, separators=(",", ":"))
    assert hashlib.sha256(text.encode()).hexdigest() == told


def test_handed_over_twice_is_kept_once(tmp_path: Path) -> None:
    """The second time all sessions are known; a later file adds only what is new."""
    sessions = practised(5)
    with open_store() as store:
        first = store.add_all(read_sessions(written(tmp_path / "a.json", *sessions[:3])).sessions, "Robin")
        again = store.add_all(read_sessions(written(tmp_path / "b.json", *sessions)).sessions, "robin")
        assert [new for _, new in first] == [True] * 3
        assert [new for _, new in again] == [False] * 3 + [True] * 2


def test_every_changed_byte_is_noticed(tmp_path: Path) -> None:
    """A verdict made better, a character changed anywhere: refused, and the message says to ask again."""
    path = written(tmp_path / "robin.json", rehearsal(missed=["legs.hocks"]))
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"skipped"', '"said"', 1), encoding="utf-8")
    with pytest.raises(CoachError, match="damaged or was changed.*once more"):
        read_sessions(path)
    for place in range(0, len(text), 397):
        path.write_text(text[:place] + ("x" if text[place] != "x" else "y") + text[place + 1 :], encoding="utf-8")
        if json_or_none(path) == json.loads(text):
            continue  # white space between values is no content
        with pytest.raises(CoachError):
            read_sessions(path)


def json_or_none(path: Path) -> Any:
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except ValueError:
        return None


def test_a_file_cut_short_is_refused(tmp_path: Path) -> None:
    """Half a file is no file."""
    path = written(tmp_path / "robin.json", rehearsal())
    path.write_bytes(path.read_bytes()[:-200])
    with pytest.raises(CoachError, match="is no JSON.*coach export"):
        read_sessions(path)


def forged(path: Path, change: Any) -> Path:
    """A file whose checksum fits though its content was never ours."""
    data = json.loads(render_sessions("Robin", [rehearsal()]))
    del data["sha256"]
    change(data)
    text = json.dumps(data, sort_keys=True, separators=(",", ":"))
    path.write_text(json.dumps({**data, "sha256": hashlib.sha256(text.encode()).hexdigest()}), encoding="utf-8")
    return path


def set_in(*keys: Any, to: Any) -> Any:
    def change(data: Any) -> None:
        for key in keys[:-1]:
            data = data[key]
        data[keys[-1]] = to

    return change


@pytest.mark.parametrize(
    "change",
    [
        set_in("format", to="coach-sessions/2"),
        set_in("sessions", to={}),
        set_in("sessions", 0, "when", to="yesterday"),
        set_in("sessions", 0, "when", to="2026-03-02T10:00:00"),
        set_in("sessions", 0, "kind", to="party"),
        set_in("sessions", 0, "seconds", to=-1.0),
        set_in("sessions", 0, "items", 0, "status", to="perfect"),
        set_in("sessions", 0, "items", 0, "title", to="\ud800"),
        set_in("sessions", 0, "regions", 1, "place", to=1),
        set_in("sessions", 0, "regions", 1, "place", to=10**30),
        set_in("sessions", 0, "delivery", to={"fillers": 1}),
        set_in("sessions", 0, to=None),
    ],
)
def test_content_that_was_never_ours(tmp_path: Path, change: Any) -> None:
    """A fitting checksum is not enough: each is one line that names the file."""
    path = forged(tmp_path / "forged.json", change)
    with pytest.raises(CoachError, match="forged.json"):
        read_sessions(path)


def test_what_a_later_coach_adds_is_passed_over(tmp_path: Path) -> None:
    """Fields that are not known yet do no harm."""
    path = forged(tmp_path / "later.json", set_in("sessions", 0, "items", 0, "mood", to="happy"))
    assert read_sessions(path).sessions == (rehearsal(),)


def test_a_single_report_can_be_handed_over(tmp_path: Path) -> None:
    """A rehearsal's report file is taken as one session, dated by the file."""
    write_json(report_samples.weak(), tmp_path / "report.json")
    handed = read_sessions(tmp_path / "report.json")
    assert handed.member is None
    assert [(s.kind, s.bird_name) for s in handed.sessions] == [("import", "Juniper")]


@pytest.mark.parametrize("content", [b"", b"[]", b"null", b"\xff\xfe", b"[" * 100_000, b'{"format": "other"}'])
def test_other_files_are_refused(tmp_path: Path, content: bytes) -> None:
    """Anything else is one line with what to do."""
    (tmp_path / "x.json").write_bytes(content)
    with pytest.raises(CoachError, match="coach export"):
        read_sessions(tmp_path / "x.json")

"""The store: kept once, read back equal, private, safe with two processes, killed and damaged files, old and new versions."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
import report_samples
from history_samples import START, interview, practised, rehearsal
from sqlalchemy import inspect

from coach.errors import CoachError
from coach.history.database import connect, migrations
from coach.history.members import member_folder, member_name, member_slug
from coach.history.model import AnswerRow, InterviewSession, Overruling, Session
from coach.history.records import (
    past_answers,
    record_interview,
    record_report,
    session_from_report,
    usual_region_seconds,
)
from coach.history.store import history_file, open_store
from coach.history.tables import METADATA
from coach.judge.verdict import Status

ROOT = Path(__file__).resolve().parent.parent
WRITER = """
import sys
sys.path[:0] = [{tests!r}, {root!r}]
from datetime import timedelta
from history_samples import START, rehearsal
from coach.history.store import open_store
name, count = sys.argv[1], int(sys.argv[2])
with open_store() as store:
    for n in range(count):
        number, _ = store.add(rehearsal(START + timedelta(minutes=n), bird=name), name)
        print(number, flush=True)
"""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def add(*sessions: Session, member: str | None = "Robin") -> list[int]:
    with open_store() as store:
        return [store.add(session, member)[0] for session in sessions]


def kept(member: str | None = "Robin") -> tuple[Session, ...]:
    with open_store() as store:
        return store.sessions(member)


def writer(name: str, count: int) -> subprocess.Popen[str]:
    code = WRITER.format(tests=str(ROOT / "tests"), root=str(ROOT))
    return subprocess.Popen([sys.executable, "-c", code, name, str(count)], stdout=subprocess.PIPE, text=True)


def test_what_is_kept_reads_back_equal() -> None:
    """Rehearsals and interviews come back as they went in, the oldest first."""
    sessions = practised(8)
    add(*reversed(sessions))
    assert list(kept()) == sessions


def test_a_report_is_kept_once() -> None:
    """The same report again, under another file name, after a slower listening and with other remarks, is recognised."""
    report = report_samples.weak()
    again = replace(report, file="copy.ogg", listener_s=99.0, fixes=(), cautions=("Another remark.",))
    numbers = [record_report(r, member="Robin", kind="review", when=START) for r in (report, again)]
    assert numbers == [1, 1]
    assert record_report(report_samples.strong(), member="Robin", kind="review", when=START) == 2
    assert record_report(report, member="Wren", kind="review", when=START) == 3


def test_a_report_keeps_its_count() -> None:
    """The share told in the history is the report's own."""
    session = session_from_report(report_samples.weak(), kind="review", when=START)
    required = [v for v in report_samples.weak().judgement.verdicts if v.required]
    assert session.told_share == sum(v.status is Status.SAID for v in required) / len(required)
    assert [i.item for i in session.items if i.mended] == ["legs.hocks"]


@pytest.mark.parametrize("make", [report_samples.silence, report_samples.not_a_rehearsal])
def test_what_is_no_rehearsal_is_not_kept(make, home: Path) -> None:  # type: ignore[no-untyped-def]
    """Silence and a recipe leave no trace."""
    assert record_report(make(), member=None, kind="review", when=START) is None
    assert not home.exists()


def test_interviews_come_back_as_answers() -> None:
    """Answers come back with points, times and the leader's overruling."""
    answer = AnswerRow(
        question_id="q1",
        topic="eggs",
        level="junior",
        share=0.5,
        covered=("a",),
        missed=("b",),
        wrong=("c",),
        first_word_s=1.5,
        seconds=8.0,
        overrulings=(Overruling("b", "missed", "covered"),),
    )
    later = replace(answer, question_id="q2", overrulings=(), seconds=None, first_word_s=None)
    assert record_interview(InterviewSession(START, (answer, later), bird="juniper"), member="Robin") == 1
    assert record_interview(InterviewSession(START, ()), member="Robin") is None
    assert [(p.when, p.answer) for p in past_answers("robin")] == [(START, answer), (START, later)]
    assert past_answers("robin")[0].answer.overrulings
    assert past_answers("wren") == ()


def test_usual_times_need_three_visits() -> None:
    """The median of a region's times, only where there are three."""
    add(*(rehearsal(START + timedelta(days=n), region_s=s) for n, s in enumerate((4.0, 30.0))))
    assert usual_region_seconds("Robin") == {}
    add(rehearsal(START + timedelta(days=9), region_s=6.0))
    assert usual_region_seconds("Robin")["head"] == 8.0  # the second of twelve regions takes two seconds more


def test_a_file_name_of_another_system() -> None:
    """A name that is no proper text on this system does not stop the session from being kept."""
    report = replace(report_samples.weak(), file="juniper-\udcff.ogg")
    assert record_report(report, member="Robin", kind="review", when=START) == 1
    assert kept()[0].file == "juniper-?.ogg"


def test_looking_makes_no_store(home: Path) -> None:
    """Questions about the past leave no file behind when there is no past."""
    assert (past_answers(None), usual_region_seconds(None)) == ((), {})
    assert not home.exists()


def test_a_leader_overrules() -> None:
    """The leader's word stands over the listener's, and can be changed once more."""
    (number,) = add(rehearsal(missed=["legs.hocks"]))
    with open_store() as store:
        assert store.overrule(number, "legs.hocks", Status.SAID) is Status.SKIPPED
        store.overrule(number, "legs.hocks", Status.WRONG)
        with pytest.raises(CoachError, match="no item 'legs.knees'"):
            store.overrule(number, "legs.knees", Status.SAID)
    assert next(i for i in kept()[0].items if i.item == "legs.hocks").status is Status.WRONG


def test_members_are_kept_apart() -> None:
    """One member's sessions are not another's, nor of whoever gave no name."""
    add(rehearsal(), member="Robin")
    add(rehearsal(), interview(), member=None)
    with open_store() as store:
        assert store.members() == ("", "Robin")
    assert (len(kept("ROBIN")), len(kept(None)), len(kept("Wren"))) == (1, 2, 0)


@pytest.mark.parametrize(
    ("name", "slug"),
    [("Ada B.", "ada-b"), ("  ada   b ", "ada-b"), ("José", "josé"), ("李", "李"), ("../../etc", "etc"), ("CON", "con-")],
)
def test_names_become_safe_folders(name: str, slug: str, home: Path) -> None:
    """No name leads out of the members' folder; what looks the same is the same."""
    assert member_slug(name) == slug
    assert member_folder(name).parent == home / "members"


@pytest.mark.parametrize("name", ["", "  ", "...", "x" * 41, "a\x1b[31m", "🐔"])
def test_names_that_cannot_be_kept(name: str) -> None:
    """The message says what a name needs."""
    with pytest.raises(CoachError, match="nickname|plain characters"):
        member_name(name)


def test_file_and_folder_are_private(home: Path) -> None:
    """Nobody else on the machine can read it, whatever the umask says; the log neither."""
    old = os.umask(0)
    try:
        with open_store() as store:
            store.add(rehearsal(), "Robin")
            modes = {path.name: path.stat().st_mode & 0o777 for path in home.iterdir()}
    finally:
        os.umask(old)
    assert home.stat().st_mode & 0o777 == 0o700
    assert set(modes) == {"history.sqlite", "history.sqlite-wal", "history.sqlite-shm"}
    assert set(modes.values()) == {0o600}


def test_safe_settings() -> None:
    """The database runs with the settings that its safety rests on (sqlite.org, PRAGMA)."""
    with connect(history_file()) as connection:
        read = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "secure_delete", "synchronous", "busy_timeout")
        }
    assert read == {"journal_mode": "wal", "foreign_keys": 1, "secure_delete": 1, "synchronous": 2, "busy_timeout": 20000}


def test_the_tables_are_what_the_migrations_make() -> None:
    """Columns, keys and uniqueness in the file agree with what the queries believe."""
    with connect(history_file()) as connection:
        real = inspect(connection)
        assert set(real.get_table_names()) == set(METADATA.tables)
        for name, table in METADATA.tables.items():
            assert {(c["name"], str(c["type"]), c["nullable"]) for c in real.get_columns(name)} == {
                (c.name, str(c.type), bool(c.nullable)) for c in table.columns
            }
            assert real.get_pk_constraint(name)["constrained_columns"] == [c.name for c in table.primary_key]
            assert {(*k["constrained_columns"], k["referred_table"]) for k in real.get_foreign_keys(name)} == {
                (k.parent.name, k.column.table.name) for k in table.foreign_keys
            }
            assert {i["name"] for i in real.get_indexes(name)} == {i.name for i in table.indexes}


def test_an_older_store_is_migrated_once() -> None:
    """A new step is applied to what is there, with its record, and nothing is lost; a second opening does nothing."""
    add(*practised(3))
    steps = (*migrations(), "ALTER TABLE members ADD COLUMN club TEXT NOT NULL DEFAULT '';\n")
    for _ in range(2):
        with connect(history_file(), steps) as connection:
            assert connection.exec_driver_sql("SELECT name, club FROM members").all() == [("Robin", "")]
            assert connection.exec_driver_sql("SELECT number FROM version ORDER BY number").scalars().all() == [1, 2]
            assert connection.exec_driver_sql("SELECT count(*) FROM sessions").scalar() == 3


def test_a_step_that_fails_changes_nothing() -> None:
    """Half a migration is none."""
    add(rehearsal())
    steps = (*migrations(), "ALTER TABLE members ADD COLUMN club TEXT;\nINSERT INTO nowhere VALUES (1);\n")
    with pytest.raises(CoachError), connect(history_file(), steps):
        pass
    assert len(kept()) == 1
    with connect(history_file()) as connection:
        assert [c["name"] for c in inspect(connection).get_columns("members")] == ["id", "slug", "name"]


def test_a_newer_store_is_refused_untouched() -> None:
    """One line says that the coach must be updated; the file stays as it was, byte for byte."""
    add(rehearsal())
    with connect(history_file(), (*migrations(), "CREATE TABLE tomorrow (x);\n")):
        pass
    before = history_file().read_bytes()
    with pytest.raises(CoachError, match="newer coach .version 2.*update coach"):
        kept()
    assert history_file().read_bytes() == before


def test_another_programs_database_is_refused(home: Path) -> None:
    """A SQLite file that is not ours is left alone."""
    home.mkdir()
    with sqlite3.connect(history_file()) as other:
        other.execute("CREATE TABLE songs (name)")
    other.close()
    with pytest.raises(CoachError, match="another program"):
        kept()


@pytest.mark.parametrize("content", [b"not a database at all, only text" * 40, b"SQLite format 3\0" + b"\xff" * 4000])
def test_a_damaged_store_is_told(home: Path, content: bytes) -> None:
    """One line, and the file stays for whoever can rescue it."""
    home.mkdir()
    history_file().write_bytes(content)
    with pytest.raises(CoachError, match="damaged or is no history"):
        kept()
    assert history_file().read_bytes() == content


def test_a_home_that_cannot_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file where the folder should be is one clear line."""
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "file" / "home"))
    with pytest.raises(CoachError, match="set COACH_HOME"):
        kept()


def test_a_session_is_written_whole_or_not_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """A failure in the last table leaves nothing of the session behind."""
    add(rehearsal())
    broken = replace(interview(), answers=(*interview().answers, object()))  # type: ignore[arg-type]
    with pytest.raises(AttributeError), open_store() as store:
        store.add(broken, "Wren")
    assert len(kept("Robin")) == 1
    with open_store() as store:
        assert store.members() == ("Robin",)


def test_two_processes_write_at_once() -> None:
    """Two writers on a new store: both end well and all that they wrote is there."""
    running = [writer(name, 25) for name in ("robin", "wren")]
    for process in running:
        process.communicate(timeout=120)
    assert [p.returncode for p in running] == [0, 0]
    assert (len(kept("robin")), len(kept("wren"))) == (25, 25)


def kill_a_writer(name: str, after: int) -> Sequence[int]:
    """Kill -9 a writing process once it told of some commits; the numbers it told."""
    process = writer(name, 10_000)
    assert process.stdout is not None
    told = [int(process.stdout.readline()) for _ in range(after)]
    process.send_signal(signal.SIGKILL)
    rest, _ = process.communicate()
    return told + [int(line) for line in rest.split() if line]


def test_killed_while_writing() -> None:
    """Twenty kills: the store opens after each, whole, with every session that was committed."""
    for n in range(20):
        told = kill_a_writer(f"wren{n}", 1 + n % 3)
        sessions = kept(f"wren{n}")
        assert set(told) <= {s.number for s in sessions}
        assert all(len(s.items) == len(rehearsal().items) and s.delivery for s in sessions)
    with connect(history_file()) as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
        assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == []


def test_dates_keep_their_instant() -> None:
    """A date of another time zone is the same instant when read back, and sorts by it."""
    tokyo = timezone(timedelta(hours=9))
    add(rehearsal(datetime(2026, 3, 2, 23, tzinfo=tokyo)), rehearsal(datetime(2026, 3, 2, 13, tzinfo=timezone.utc)))
    assert [s.when.hour for s in kept()] == [13, 14]
    with open_store() as store:
        assert len(store.sessions("Robin", since=datetime(2026, 3, 2, 14, tzinfo=timezone.utc))) == 1
        assert store.sessions("Robin", last=1)[0].when.hour == 14

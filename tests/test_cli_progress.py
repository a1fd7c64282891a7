"""The commands about one member as a user runs them: progress, plan, compare, overrule, export, import, forget, keep."""

from __future__ import annotations

import json
import os
import sys
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
import report_samples
from cli_files import run
from history_samples import practised, rehearsal

from coach.history.store import open_store
from coach.report.json_file import write_json

NICK = "Quillfeather"  # found in no other text, so that its bytes can be searched for
FAULT = "zigzag toe on the port side"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home"


@pytest.fixture
def filled() -> None:
    start = datetime.now(timezone.utc) - timedelta(days=40)
    with open_store() as store:
        store.add_all(practised(12, start=start), "Robin")


def take(home: Path, name: str, member: str | None, room: str = "takes") -> Path:
    """A recorded take as `coach rehearse` leaves it, with one second of silence for sound."""
    folder = home / room / name
    folder.mkdir(parents=True)
    (folder / "take.json").write_text(json.dumps({"format": "take/1", "member": member, "state": "done"}))
    (folder / "take.wav").write_bytes(b"RIFF" + bytes(32_040))
    return folder


def test_nothing_kept_yet(capsys: pytest.CaptureFixture[str], home: Path) -> None:
    """Each command says how to begin, and leaves no file behind."""
    for argv in (["progress"], ["plan"], ["compare"], ["club"], ["export", "x.json"]):
        assert "nothing is kept yet; practise first with: coach review" in run(capsys, *argv).line
    assert run(capsys, "keep").code == run(capsys, "forget", "Robin").code == 0
    assert not home.exists()


@pytest.mark.usefixtures("filled")
def test_progress_without_a_name_is_the_only_members(capsys: pytest.CaptureFixture[str]) -> None:
    """All headings with figures and what is behind them."""
    shown = run(capsys, "progress").out
    assert shown.startswith("Robin\n9 whole rehearsals and 3 interviews, from ")
    for heading in ("How much was told", "Mended", "Time in each region", "How it was spoken", "Interview questions"):
        assert f"\n{heading}\n" in shown
    assert "of the last 3 of 9 rehearsals)" in shown and "(9 visits)" in shown and "answers in 3 interviews" in shown


@pytest.mark.usefixtures("filled")
def test_whose_practice(capsys: pytest.CaptureFixture[str]) -> None:
    """With several members one must be named; a near miss is helped; without any name it is the nameless one's."""
    with open_store() as store:
        store.add(rehearsal(), "Wren")
    assert "choose one with --member NAME; known: Robin, Wren" in run(capsys, "progress").line
    assert "no member 'Robyn' in the history; known: Robin" in run(capsys, "plan", "--member", "Robyn").line
    with open_store() as store:
        store.add(rehearsal(), None)
    assert run(capsys, "progress").out.startswith("My practice\n1 whole rehearsal, on 2 Mar 2026.")


@pytest.mark.usefixtures("filled")
def test_since(capsys: pytest.CaptureFixture[str]) -> None:
    """Only what was practised from that day on; a bad day is a usage error that says what to write."""
    with open_store() as store:
        for n_days in (1, 13, 15):
            store.add(rehearsal(datetime.now(timezone.utc) - timedelta(days=n_days)), "Wren")
    shown = run(capsys, "progress", "--member", "wren", "--since", "2w").out
    assert shown.startswith("Wren\n2 whole rehearsals, from ")
    assert "Nothing was practised in this time." in run(capsys, "progress", "--since", "2999-01-01", "--member", "wren").out
    bad = run(capsys, "progress", "--since", "spring")
    assert bad.code == 2 and "write 2026-03-01, 30d or 4w" in bad.err


@pytest.mark.usefixtures("filled")
def test_the_page_is_written_for_the_user_alone(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A page with charts that nobody else on the machine can read; a folder that is not there is told first."""
    assert run(capsys, "progress", "--page", "robin.html").code == 0
    page = tmp_path / "robin.html"
    assert page.read_text(encoding="utf-8").count("<figure>") == 5
    assert page.stat().st_mode & 0o777 == 0o600
    assert "there is no folder" in run(capsys, "progress", "--page", "nowhere/robin.html").line


@pytest.mark.usefixtures("filled")
def test_plan_names_the_drill_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Lines to say and the command for the drill; more minutes never mean fewer lines."""
    shown = run(capsys, "plan").out
    assert "Say each line aloud, three times" in shown and "coach rehearse --bird YOUR-BIRD.yaml --only" in shown
    assert run(capsys, "plan", "--minutes", "2").out.count("Say: ") <= shown.count("Say: ")
    assert "write minutes from 1 to 180" in run(capsys, "plan", "--minutes", "0").err


def test_compare_report_files(capsys: pytest.CaptureFixture[str]) -> None:
    """Two report files without any history."""
    write_json(report_samples.weak(), Path("a.json"))
    write_json(report_samples.strong(), Path("b.json"))
    shown = run(capsys, "compare", "a.json", "b.json").out
    mended, rest = shown.split("New slips")
    assert "Wattles (head.wattles): said" in mended and "Still to mend" in rest
    assert "Nothing." in rest.split("Still to mend")[0]


@pytest.mark.usefixtures("filled")
def test_compare_kept_sessions_and_overrule(capsys: pytest.CaptureFixture[str]) -> None:
    """Previous and last by default, numbers too; a leader's correction shows at once."""
    shown = run(capsys, "compare").out
    assert "Before: session 10, " in shown and "After: session 11, " in shown
    assert run(capsys, "compare", "10", "11").out == shown
    with open_store() as store:
        _, last = store.session(11) or ("", rehearsal())
    missed = next(i.item for i in last.asked if i.status.value == "skipped")
    told = run(capsys, "overrule", "11", missed, "said").out
    assert told == f"Session 11, {missed}: said. The listener had: left out.\n"
    assert f"told {last.n_told + 1} of" in run(capsys, "compare").out
    assert "has no item 'legs.knees'" in run(capsys, "overrule", "11", "legs.knees", "said").line


@pytest.mark.parametrize("name", ["99", "gone.json", "12", "last"])
@pytest.mark.usefixtures("filled")
def test_compare_what_is_not_there(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """A number or file that does not exist, an interview, and one rehearsal only: one line each."""
    argv = ["compare", name, "last"] if name != "last" else ["compare", "--member", "Wren"]
    with open_store() as store:
        store.add(rehearsal(), "Wren")
    assert run(capsys, *argv).line


@pytest.mark.usefixtures("filled")
def test_export_and_import(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From one computer to another: complete, private, once, and under another name if wanted."""
    assert run(capsys, "export", "robin.json").out.startswith("12 sessions of Robin written to robin.json.")
    assert (tmp_path / "robin.json").stat().st_mode & 0o777 == 0o600
    here = run(capsys, "progress").out
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "leader"))
    assert run(capsys, "import", "robin.json").out == "12 sessions taken in for Robin; 0 were known already.\n"
    assert run(capsys, "import", "robin.json").out == "0 sessions taken in for Robin; 12 were known already.\n"
    assert run(capsys, "progress").out == here
    assert "taken in for Red" in run(capsys, "import", "robin.json", "--member", "Red").out
    Path("robin.json").write_text(Path("robin.json").read_text().replace("juniper", "jupiter", 1))
    assert "damaged or was changed" in run(capsys, "import", "robin.json").line


def fill_about_one_child(home: Path) -> None:
    """Sessions with a fault of their own, a take, an interview and a voice profile; and another member's."""
    with open_store() as store:
        first = rehearsal()
        own = [i for i in first.items if i.item == "legs.hocks"]
        fault = replace(own[0], item="faults.toe", kind="fault", title=FAULT, expected=FAULT, line=FAULT, heard=FAULT)
        store.add(type(first)(**{n: getattr(first, n) for n in first.__slots__ if n not in ("items", "number")},
                              items=(*first.items, fault)), NICK)  # fmt: skip
        store.add_all(practised(9), NICK)
        store.add_all(practised(5, seed=2), "Robin")
    for name, room in (("2026-03-01-100000-juniper", "takes"), ("2026-03-02-100000", "interviews")):
        take(home, name, NICK, room)
    (home / "members" / "quillfeather").mkdir(parents=True)
    (home / "members" / "quillfeather" / "voice.json").write_text("{}")


def found_in(home: Path, *texts: str) -> list[str]:
    """Files below the folder that hold one of the texts, in any of the usual encodings, or in their names."""
    needles = [t.lower().encode(code) for t in texts for code in ("utf-8", "utf-16-le")]
    files = [p for p in home.rglob("*") if p.is_file()]
    return [str(p) for p in files if any(n in p.read_bytes().lower() or n in os.fsencode(str(p)).lower() for n in needles)]


def test_forget_leaves_no_byte(capsys: pytest.CaptureFixture[str], home: Path) -> None:
    """After forgetting, no file of the home holds the nickname or the bird's fault; the other member is untouched."""
    fill_about_one_child(home)
    kept = take(home, "2026-03-03-100000-juniper", "Robin")
    assert len(found_in(home, NICK, FAULT)) >= 4
    shown = run(capsys, "forget", NICK.upper(), "--yes").out
    told = "10 sessions, 1 recorded take, 1 recorded interview and a folder of their own (voice profile)"
    assert f"Removed: {told}." in shown
    assert found_in(home, NICK, FAULT) == []
    assert kept.is_dir()
    with open_store() as store:
        assert store.members() == ("Robin",) and len(store.sessions("Robin")) == 5


def test_forget_clears_what_a_killed_process_left(capsys: pytest.CaptureFixture[str], home: Path) -> None:
    """A write-ahead log left by a process that was killed holds old pages; forgetting empties it too."""
    script = (
        "import os, signal, sys; sys.path[:0] = sys.argv[1:3]\n"
        "from history_samples import rehearsal\nfrom coach.history.store import open_store\n"
        "with open_store() as store:\n"
        f"    store.add(rehearsal(), {NICK!r})\n    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    tests = Path(__file__).parent
    os.spawnv(os.P_WAIT, sys.executable, [sys.executable, "-c", script, str(tests), str(tests.parent)])
    assert any("-wal" in name for name in found_in(home, NICK))
    assert run(capsys, "forget", NICK, "--yes").code == 0
    assert found_in(home, NICK) == []


def test_forget_while_another_reads(capsys: pytest.CaptureFixture[str], home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader keeps old pages alive: that is told, and a second run clears the rest."""
    import sqlite3

    monkeypatch.setattr("coach.history.database.BUSY_S", 0.2)
    fill_about_one_child(home)
    reader = sqlite3.connect(home / "history.sqlite", isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM sessions").fetchone()
    blocked = run(capsys, "forget", NICK, "--yes")
    assert blocked.code == 2 and "another coach is" in blocked.err
    reader.execute("ROLLBACK")
    reader.close()
    assert run(capsys, "forget", NICK, "--yes").code == 0
    assert found_in(home, NICK, FAULT) == []


def test_forget_asks_first(capsys: pytest.CaptureFixture[str], home: Path) -> None:
    """Nobody there to ask: nothing is removed; the nameless are forgotten only when asked for."""
    with open_store() as store:
        store.add(rehearsal(), None)
    take(home, "2026-03-01-100000-juniper", None)
    refused = run(capsys, "forget", "--no-name")
    assert refused.code == 2 and "nobody is there to ask; add --yes" in refused.err
    assert "forget whom?" in run(capsys, "forget").line
    assert "1 session and 1 recorded take" in run(capsys, "forget", "--no-name", "--yes").out
    assert not list((home / "takes").iterdir())


def test_forget_in_a_terminal(home: Path) -> None:
    """The question in a real terminal: anything but yes keeps everything, yes removes it."""
    pexpect = pytest.importorskip("pexpect")
    with open_store() as store:
        store.add(rehearsal(), NICK)
    for answer, told in (("", "Nothing was removed."), ("no", "Nothing was removed."), ("yes", "Removed: 1 session.")):
        child = pexpect.spawn(sys.executable, ["-m", "coach", "forget", NICK], encoding="utf-8", timeout=60)
        child.expect("About Quillfeather there is: 1 session")
        child.expect_exact("Remove all of it for good? (yes, no) [no] ")
        child.sendline(answer)
        child.expect_exact(told)
        child.expect(pexpect.EOF)
        child.close()
    assert found_in(home, NICK) == []


def test_keep_shows_before_it_removes(capsys: pytest.CaptureFixture[str], home: Path) -> None:
    """Old sound is listed, and removed only with a yes; reports, young sound and the setting stay."""
    old, young = (take(home, f"{datetime.now() - timedelta(days=d):%Y-%m-%d-%H%M%S}-juniper", "Robin") for d in (31, 29))
    (old / "report.json").write_text("{}")
    shown = run(capsys, "keep", "--recordings", "30d")
    assert "kept for 30 days. Older than that: 1 recording." in shown.out and str(old / "take.wav") in shown.out
    assert shown.code == 2 and "nobody is there to ask" in shown.err
    assert (old / "take.wav").exists()
    assert "Removed: 1 recording." in run(capsys, "keep", "--yes").out
    assert sorted(p.name for p in old.iterdir()) == ["report.json", "take.json"]
    assert (young / "take.wav").exists()
    assert "kept until you remove them" in run(capsys, "keep", "--recordings", "forever").out
    assert "kept until you remove them" in run(capsys, "keep").out


@pytest.mark.parametrize("text", ["0", "soon", "-3d", "3 months"])
def test_keep_wants_a_length(capsys: pytest.CaptureFixture[str], text: str) -> None:
    """The message shows how to write one."""
    assert "write 30d, 8w or forever" in run(capsys, "keep", f"--recordings={text}").line

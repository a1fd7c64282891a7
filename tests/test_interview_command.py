"""The whole command: in this process, in a real terminal, at a microphone, over a recording, and with wrong input."""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from cli_files import BIRD, run
from interviewing import FOLDER
from sound_server import SoundServer, needs_sound_server

from coach.history.records import past_answers

ROOT = Path(__file__).resolve().parent.parent
IDS = ("chick-hatch-days", "keel-other-names", "brown-egg-breeds")
CLUB = """format: questions/1
questions:
- {id: one, topic: showing, level: junior, ask: "Who goes first?", points: [{tell: Ann, say: [ann]}], sources: [practice]}
- {id: two, topic: showing, level: junior, ask: "Who goes last?", points: [{tell: Ben, say: [ben]}], sources: [practice]}
"""


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "80")


def kept(tmp_path: Path) -> list[dict[str, object]]:
    """The records of all interviews, by folder name."""
    return [
        json.loads(p.read_text(encoding="utf-8")) for p in sorted((tmp_path / "home" / "interviews").glob("*/interview.json"))
    ]


def typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    """Prepare what is typed."""
    import io

    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def asked(tmp_path: Path, *ids: str) -> str:
    """A file of question ids."""
    path = tmp_path / "asked.txt"
    path.write_text("# Tuesday\n" + "\n".join(ids) + "\n", encoding="utf-8")
    return str(path)


# --- in this process ------------------------------------------------------------------------------------------------


def test_typed_from_start_to_end(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Questions, answers, verdicts, files: and the history knows what was missed."""
    club = tmp_path / "club.yaml"
    club.write_text(CLUB, encoding="utf-8")
    typed(monkeypatch, "It is Ann.", "", "I don't know.", "")
    page, out = tmp_path / "page.html", tmp_path / "out.json"
    argv = ("interview", "--bird", BIRD, "--typed", "--seed", "1", "--questions", "2", "--topics", "showing", "--member", "Robin")
    ids: list[str] = []
    for seed in range(200):  # a seed whose two questions are the club's own
        from coach.interview.choose import choose
        from coach.interview.prepare import open_pool

        pool = open_pool(BIRD, None, [str(club)]).fitting("junior", ("showing",))
        ids = [q.id for q in choose(pool, 2, seed, level="junior")]
        if ids == ["one", "two"]:
            argv = (*argv[:4], "--seed", str(seed), *argv[6:])
            break
    assert ids == ["one", "two"]
    ran = run(capsys, *argv, "--questions-file", str(club), "--json", str(out), "--page", str(page))
    assert ran.code == 0 and "1 of 2 points told; 1 of 2 questions answered in full" in ran.out
    report = json.loads(out.read_text(encoding="utf-8"))
    assert [a["kind"] for a in report["answers"]] == ["answer", "does not know"] and kept(tmp_path) == [report]
    assert "<script" not in page.read_text(encoding="utf-8") and "Who goes last?" in page.read_text(encoding="utf-8")
    assert [(p.answer.question_id, p.answer.share) for p in past_answers("Robin")] == [("one", 1.0), ("two", 0.0)]


def test_the_same_seed_asks_the_same(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Two runs with one seed ask the same questions; leaving at once keeps no answer and is no error."""
    outs = []
    for _ in range(2):
        typed(monkeypatch, "/skip", "/skip", "/skip")
        ran = run(capsys, "interview", "--bird", BIRD, "--typed", "--seed", "4", "--questions", "3")
        outs.append(re.findall(r"Question \d.*\n  (.*)", ran.out))
    assert len(outs[0]) == 3 and outs[0] == outs[1]


def test_leaving_half_way_keeps_what_was_answered(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The input ends after the first answer: it is kept, and why it ended is told."""
    typed(monkeypatch, "something", "")
    ran = run(capsys, "interview", "--bird", BIRD, "--typed", "--seed", "4", "--questions", "3")
    assert ran.code == 0 and "ended early: left before all questions were asked" in ran.out
    assert len(kept(tmp_path)[0]["answers"]) == 1  # type: ignore[arg-type]


def test_a_group_in_turn(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Everybody has a turn, mistakes are not shown, each gets a sheet with nothing of the others."""
    typed(monkeypatch, *["zebra alpha", ""] * 4)
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    ran = run(capsys, "interview", "--group", "Ann, Ben", "--typed", "--questions", "2", "--seed", "3", "--sheets", str(sheets))
    assert ran.code == 0 and len(re.findall(r"Round \d: (Ann|Ben)", ran.out)) == 4
    assert "left out" not in ran.out.replace("2- left out", "") and "points" not in ran.out.split("member")[1].split("\n")[0]
    pages = {p.name: p.read_text(encoding="utf-8") for p in sheets.iterdir()}
    assert set(pages) == {"ann.html", "ben.html"} and "Ben" not in pages["ann.html"] and "left out" in pages["ann.html"]
    assert len(past_answers("Ann")) == len(past_answers("Ben")) == 2


def test_a_group_that_may_see_all(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """With --show-all verdicts and points are shown; --same asks all the same."""
    typed(monkeypatch, *["zebra", ""] * 2)
    ran = run(capsys, "interview", "--group", "Ann, Ben", "--same", "--typed", "--questions", "1", "--seed", "3", "--show-all")
    asks = re.findall(r"Question 1 of 1\n  (.*)", ran.out)
    assert len(asks) == 2 and asks[0] == asks[1] and "mistakes" in ran.out and "- left out" in ran.out


def test_no_voice_is_a_line(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """--aloud without a synthesiser says so and goes on."""
    monkeypatch.setattr("coach.interview.speak.find_voice", lambda: None)
    typed(monkeypatch, "/skip")
    ran = run(capsys, "interview", "--bird", BIRD, "--typed", "--aloud", "--questions", "1")
    assert ran.code == 0 and "no speech synthesiser found" in ran.err


def test_words_of_a_whole_interview(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A transcript with leader and member in turn; a question that was not asked is told and counted as skipped."""
    from interview_answers import WHOLE

    text = tmp_path / "talk.txt"
    text.write_text(" ".join(words for _, words in WHOLE), encoding="utf-8")
    ran = run(capsys, "interview", "--bird", BIRD, "--recording", str(text), "--asked", asked(tmp_path, *IDS, "npip"))
    assert ran.code == 0 and "2 of 6 points told" in ran.out and "'npip' was not found" in ran.err
    answers = kept(tmp_path)[0]["answers"]
    assert [[p["status"] for p in a["points"]] for a in answers][:3] == [["covered"], ["covered", "missed"], ["wrong"]]  # type: ignore[index, attr-defined]


@pytest.mark.listener
def test_the_sound_of_a_whole_interview(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The same from sound: two voices, three questions, through the real recogniser."""
    ran = run(capsys, "interview", "--bird", BIRD, "--recording", str(FOLDER / "whole.ogg"), "--asked", asked(tmp_path, *IDS))
    assert ran.code == 0
    answers = kept(tmp_path)[0]["answers"]
    assert [[p["status"] for p in a["points"]] for a in answers] == [["covered"], ["covered", "missed"], ["wrong"]]  # type: ignore[index, attr-defined]
    assert [0.3 <= a["first_word"] <= 2.0 for a in answers] == [True] * 3  # type: ignore[index, attr-defined]


# --- wrong input ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("interview",), "--bird is missing"),
        (("interview", "--bird", "no.yaml", "--typed"), "no.yaml: no such file"),
        (("interview", "--bird", BIRD, "--typed", "--topics", "egs"), "did you mean 'eggs'?"),
        (("interview", "--bird", BIRD, "--recording", "x.wav"), "belong together"),
        (("interview", "--bird", BIRD, "--recording", "x.wav", "--asked", "no.txt"), "no.txt: no such file"),
        (("interview", "--group", "Ann, Ann", "--typed"), "'Ann' stands twice"),
        (("interview", "--group", "Ann", "--typed", "--page", "x.html"), "--sheets FOLDER"),
        (("interview", "--bird", BIRD, "--typed", "--sheets", "x"), "--sheets belongs to --group"),
        (("interview", "--group", "Ann", "--typed", "--sheets", "no-such"), "no such folder"),
        (("interview", "--bird", BIRD, "--typed", "--page", "no-such/x.html"), "there is no folder"),
        (("interview", "--bird", BIRD, "--typed", "--questions-file", "no.yaml"), "no.yaml: no such file"),
        (("interview", "--group", "Ann, Ben", "--typed", "--questions", "100"), "different questions are needed"),
        (("questions", "show", "chick-hatch-day"), "did you mean 'chick-hatch-days'?"),
        (("questions", "check", "no.yaml"), "no.yaml: no such file"),
        (("questions", "list", "--topics", "cheese"), "--topics: 'cheese' is not known"),
    ],
)
def test_one_clear_line(capsys: pytest.CaptureFixture[str], argv: tuple[str, ...], words: str) -> None:
    """Exit 2 and one line that says what to do; nothing is asked."""
    assert words in run(capsys, *argv).line


def test_asked_file_with_an_unknown_question(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The place in the list and the nearest known id are told."""
    ran = run(
        capsys, "interview", "--bird", BIRD, "--recording", "x.wav", "--asked", asked(tmp_path, "keel-other-names", "npipp")
    )
    assert "question 2, 'npipp', is not known; did you mean 'npip'?" in ran.line


def test_a_recording_without_the_questions(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Other talk is one clear line."""
    (tmp_path / "talk.txt").write_text("It rains and the birds are eating.", encoding="utf-8")
    ran = run(capsys, "interview", "--bird", BIRD, "--recording", str(tmp_path / "talk.txt"), "--asked", asked(tmp_path, *IDS))
    assert "none of the questions was found" in ran.line


def test_checking_tells_everything(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """All problems of all files, a line each; a sound file is said to be fine."""
    bad = tmp_path / "bad.yaml"
    bad.write_text(CLUB.replace("topic: showing", "topic: shows").replace("id: two", "id: one"), encoding="utf-8")
    ran = run(capsys, "questions", "check", str(bad))
    assert ran.code == 2 and ran.err.count("\n") == 3 and "stands twice" in ran.err and "did you mean 'showing'?" in ran.err
    good = tmp_path / "good.yaml"
    good.write_text(CLUB, encoding="utf-8")
    assert run(capsys, "questions", "check", str(good)).out == "This file is fine.\n"


def test_listing_and_showing(capsys: pytest.CaptureFixture[str]) -> None:
    """The list holds the bird's own questions; one shown names points, mistakes, sources and caution."""
    listed = run(capsys, "questions", "list", "--bird", BIRD, "--topics", "my card, my bird")
    assert "card-weight-hen" in listed.out and "bird-sex-age" in listed.out
    shown = run(capsys, "questions", "show", "scaly-leg").out
    assert "any 2 of 3 key points" in shown and "veterinarian" in shown and "source: " in shown


# --- in a real terminal ---------------------------------------------------------------------------------------------


def test_in_a_real_terminal(tmp_path: Path) -> None:
    """80 x 24: typed answer, marks by hand, a note, a follow-up, Ctrl-C; the terminal is left as it was."""
    pexpect = pytest.importorskip("pexpect")
    argv = ["-m", "coach", "interview", "--bird", BIRD, "--typed", "--seed", "4", "--questions", "3", "--aloud"]
    env = {
        **os.environ,
        "COACH_HOME": str(tmp_path / "home"),
        "TERM": "xterm",
        "PATH": str(tmp_path),
    }  # no synthesiser on this PATH
    child = pexpect.spawn(sys.executable, argv, env=env, cwd=str(ROOT), dimensions=(24, 80), encoding="utf-8", timeout=60)
    child.expect("no speech synthesiser found")
    child.expect("Question 1 of 3")
    child.expect("> ")
    child.sendline("something with chickens")
    child.expect("leader> ")
    child.sendline("1+")
    child.expect("marked by hand")
    child.expect("leader> ")
    child.sendline("n speak up")
    child.expect("leader> ")
    child.sendline("f")
    child.expect("> ")
    child.sendline("and ducks")
    child.expect("leader> ")
    child.sendline("")
    child.expect("Question 2 of 3")
    child.expect("> ")
    child.sendintr()
    child.expect("ended early")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    (record,) = kept(tmp_path)
    (first,) = record["answers"]  # type: ignore[misc]
    assert first["note"] == "speak up" and first["points"][0]["ruled"] and len(first["words"]) == 5


@pytest.fixture(scope="module")
def sound_server() -> Iterator[SoundServer]:
    with tempfile.TemporaryDirectory(prefix="iv") as folder, SoundServer(Path(folder)) as server:
        yield server


@pytest.mark.listener
@needs_sound_server
def test_at_a_microphone(sound_server: SoundServer, tmp_path: Path) -> None:
    """A leader's whole interview at a microphone that hears a recording: heard, timed, marked, and lost at the end."""
    pexpect = pytest.importorskip("pexpect")
    club = tmp_path / "club.yaml"
    ask = 'ask: "How long does an egg take?", points: [{tell: 21 days, number: {value: 21, unit: day}}], sources: [practice]'
    club.write_text(
        f"format: questions/1\nquestions:\n- {{id: one, topic: my card, level: junior, {ask}}}\n"
        f"- {{id: two, topic: my card, level: junior, {ask}}}\n", encoding="utf-8",
    )  # fmt: skip
    argv = ["-m", "coach", "interview", "--group", "Ann", "--show-all", "--topics", "my card", "--questions", "2"]
    child = pexpect.spawn(
        sys.executable, [*argv, "--questions-file", str(club)], env=sound_server.env, cwd=str(ROOT), dimensions=(24, 80),
        encoding="utf-8", timeout=120,
    )  # fmt: skip
    child.expect("Listening. Enter ends the answer")
    child.expect(r"left here")
    sound_server.play(FOLDER / "hatch-right.ogg")
    time.sleep(0.5)
    child.send("\n")
    child.expect(r"\+ told")
    child.expect("leader> ")
    child.sendline("")
    child.expect("Listening. Enter ends the answer")
    child.expect(r"left here")
    time.sleep(1.0)
    sound_server.unplug()
    child.expect("the take so far is kept")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    folder = next((Path(sound_server.env["COACH_HOME"]) / "interviews").iterdir())
    record = json.loads((folder / "interview.json").read_text(encoding="utf-8"))
    assert [a["take"] for a in record["answers"]] == ["answer-01.wav", "answer-01-2.wav"]
    assert record["answers"][0]["points"][0]["status"] == "covered" and record["answers"][0]["first_word"] > 0
    assert all(p.stat().st_mode & 0o777 == 0o600 for p in folder.iterdir())

"""The order of things in an interview: asked, heard, scored, marked, kept at once; and every way in which it can end."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
from interviewing import BANK, WHEN, ScriptedDesk, blank, covered, judge, said

from coach.errors import CoachError
from coach.history.records import session_from_interview
from coach.interview.json_file import to_dict, to_history
from coach.interview.model import Interview, Kind, PointStatus
from coach.interview.run import Heard, Marked, Then, hold
from coach.interview.store import new_folder, save
from coach.words import TimedWords

QUESTIONS = [BANK.questions[q] for q in ("chick-hatch-days", "keel-other-names", "brown-egg-breeds")]
NOTHING = TimedWords((), 0.0, False)


def held(desk: ScriptedDesk, **more: object) -> tuple[Interview, list[Interview]]:
    """The interview, and every state in which it was saved."""
    kept: list[Interview] = []
    return hold(blank(), QUESTIONS, desk, judge, kept.append, **more), kept  # type: ignore[arg-type]


def test_every_answer_is_kept_at_once() -> None:
    """After each answer a state with it is saved."""
    done, kept = held(ScriptedDesk(["twenty one", "the keel", "brown"]))
    assert [a.question.id for a in done.answers] == [q.id for q in QUESTIONS] and done.ended_early is None
    assert sorted({len(k.answers) for k in kept}) == [1, 2, 3]


def test_a_leader_who_leaves_half_way_loses_nothing() -> None:
    """What was answered before leaving is kept, and why it ended is told."""
    done, kept = held(ScriptedDesk(["twenty one", Heard(NOTHING, Then.LEAVE)]))
    assert len(done.answers) == 1 and done.ended_early == "left before all questions were asked" and kept[-1] == done


def test_the_keyboard_interrupt_loses_nothing() -> None:
    """Ctrl-C while waiting for the second answer keeps the first."""
    done, kept = held(ScriptedDesk(["twenty one", KeyboardInterrupt()]))
    assert len(kept[-1].answers) == 1 and done.ended_early == "left by the keyboard"


def test_a_microphone_lost_in_an_answer() -> None:
    """What was heard before is scored and kept, the line about the microphone is told, and nothing more is asked."""
    lost = Heard(said("the keel and", timed=True), problem="the microphone 'USB' is gone at 0:04; the take so far is kept")
    desk = ScriptedDesk(["twenty one", lost])
    done, _ = held(desk)
    assert len(desk.asked) == 2 and covered(done.answers[1].score) == {0}
    assert done.ended_early is not None and "is gone" in done.ended_early


def test_repeat_and_skip() -> None:
    """A repeated question is asked again; a skipped one is kept as skipped."""
    desk = ScriptedDesk([Heard(NOTHING, Then.REPEAT), "twenty one", Heard(NOTHING, Then.SKIP), "brown"])
    done, _ = held(desk)
    assert [q for q, _ in desk.asked] == ["chick-hatch-days", "chick-hatch-days", "keel-other-names", "brown-egg-breeds"]
    assert [a.score.kind for a in done.answers] == [Kind.ANSWER, Kind.SKIPPED, Kind.ANSWER]


def test_a_follow_up_adds_to_the_answer() -> None:
    """The second half tells the missing point; the words follow one another."""
    desk = ScriptedDesk(["twenty one", "the keel", "the sternum", "brown"], [Marked(), Marked(then=Then.FOLLOW_UP)])
    done, _ = held(desk)
    answer = done.answers[1]
    assert covered(answer.score) == {0, 1} and answer.text == "the keel the sternum"
    assert all(a.start_s <= b.start_s for a, b in zip(answer.words, answer.words[1:], strict=False))


def test_marks_by_hand_are_the_truth_and_both_are_kept() -> None:
    """The ruling counts; what was heard stays beside it, in the file and in the history."""
    desk = ScriptedDesk(["twenty eight days", "keel", "brown"], [Marked({0: PointStatus.COVERED}, "meant ducks")])
    done, _ = held(desk)
    first = to_dict(done, BANK)["answers"][0]
    assert first["share"] == 1 and first["note"] == "meant ducks"
    assert first["points"][0] | {"heard": None, "start": None, "end": None} == {
        "tell": "21 days", "status": "covered", "heard_as": "wrong", "ruled": True, "heard": None, "start": None, "end": None,
        "note": None,
    }  # fmt: skip
    row = to_history(done).answers[0]
    assert row.share == 1 and row.covered == ("21 days",)
    assert [(o.about, o.was, o.now) for o in row.overrulings] == [("21 days", "wrong", "covered")]


def test_the_time_is_up() -> None:
    """With the limit spent no further question is begun, and that is told."""
    clock = iter(range(0, 10_000, 40))
    done, _ = held(ScriptedDesk(["twenty one", "keel", "brown"]), limit_s=60.0, now=lambda: float(next(clock)))
    assert len(done.answers) == 1 and done.ended_early == "the time was up after 1 of 3 questions"


def test_countdowns() -> None:
    """Each question gets an even share of what is left."""
    clock = iter([0.0, 0.0, 30.0, 100.0, 110.0])
    desk = ScriptedDesk(["twenty one", "keel", "brown"])
    held(desk, limit_s=120.0, now=lambda: next(clock))
    assert [(c.answer_s, c.left_s) for _, c in desk.asked] == [(40.0, 120.0), (45.0, 90.0), (20.0, 20.0)]


def test_the_history_takes_it() -> None:
    """Skipped questions stay out, shares and figures go in; the history makes a session of it."""
    done, _ = held(ScriptedDesk(["twenty one", Heard(NOTHING, Then.SKIP), "white"]))
    session = session_from_interview(to_history(done))
    assert session.kind == "interview" and [(a.question_id, a.share) for a in session.answers] == [
        ("chick-hatch-days", 1.0),
        ("brown-egg-breeds", 0.0),
    ]
    assert session.answers[1].wrong == ("brown",)


def test_files_are_private(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Folders 0700, files 0600, a second interview in the same second gets its own folder."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    done, _ = held(ScriptedDesk(["twenty one", "keel", "brown"]))
    folder, other = new_folder(WHEN, "juniper"), new_folder(WHEN, "juniper")
    save(folder, to_dict(done, BANK))
    save(folder, to_dict(done, BANK))
    assert folder != other and folder.name == "2026-11-25-174500-juniper"
    assert [stat.S_IMODE(p.stat().st_mode) for p in (folder.parent, folder, folder / "interview.json")] == [0o700, 0o700, 0o600]
    assert json.loads((folder / "interview.json").read_text(encoding="utf-8"))["format"] == "interview/1"
    assert [p.name for p in folder.iterdir()] == ["interview.json"]


def test_a_place_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file where the folder should be is one clear line."""
    (tmp_path / "home").write_text("", encoding="utf-8")
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    with pytest.raises(CoachError, match="no interview can be kept there"):
        new_folder(WHEN, "juniper")

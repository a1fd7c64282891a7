"""The leader's side: typed commands, marks, what stays hidden in a group; and the microphone's side with a made-up capture."""

from __future__ import annotations

import io
import wave
from dataclasses import replace
from pathlib import Path

import pytest
from interviewing import BANK, judge, said

from coach.interview.desk import Screen, SpokenDesk, TypedDesk, parse_marks
from coach.interview.model import Answer, PointStatus
from coach.interview.run import Clock, Then
from coach.interview.speak import Voice, find_voice
from coach.words import TimedWords

HATCH, KEEL = BANK.questions["chick-hatch-days"], BANK.questions["keel-other-names"]
CLOCK = Clock(1, 3, 20.0, 60.0)


def screen(typed: str, **more: object) -> tuple[Screen, io.StringIO]:
    """A screen with prepared keyboard input."""
    out = io.StringIO()
    return Screen(out, io.StringIO(typed), BANK, **more), out  # type: ignore[arg-type]


def answer(text: str) -> Answer:
    """An answer to the question about the keel."""
    words, score = judge(KEEL, said(text))
    return Answer(KEEL, words.words, score, typed=True)


def test_typed_answers_and_commands() -> None:
    """Commands do what they say, an unknown one is told, the end of the input leaves."""
    one, out = screen("/what\n/repeat\n/skip\ntwenty one\n/leave\n")
    desk = TypedDesk(one)
    then = [desk.hear(HATCH, CLOCK) for _ in range(5)]
    assert [h.then for h in then] == [Then.REPEAT, Then.SKIP, Then.NEXT, Then.LEAVE, Then.LEAVE]
    assert [w.text for w in then[2].words.words] == ["twenty", "one"] and not then[2].words.timed
    assert "'/what' is no command here" in out.getvalue()


def test_the_question_stands_with_its_countdown() -> None:
    """Which question of how many, the time for it and in all."""
    one, out = screen("")
    one.ask(HATCH, CLOCK)
    assert out.getvalue().splitlines()[1:] == ["Question 1 of 3   0:20 for this one, 1:00 in all", f"  {HATCH.ask}"]


def test_marks_are_taken_until_the_leader_goes_on() -> None:
    """Several marks, a note, a slip of the finger, then Enter."""
    one, out = screen("2+\n9+\nwhat\nn louder please\n1x\n\n")
    marked = one.mark(answer("the keel"), CLOCK)
    assert marked.rulings == {1: PointStatus.COVERED, 0: PointStatus.WRONG} and marked.note == "louder please"
    assert marked.then is Then.NEXT
    assert "there is no point 9" in out.getvalue() and "'what' is not understood" in out.getvalue()


@pytest.mark.parametrize(("typed", "then"), [("f\n", Then.FOLLOW_UP), ("q\n", Then.LEAVE), ("", Then.LEAVE), ("\n", Then.NEXT)])
def test_going_on(typed: str, then: Then) -> None:
    """Follow-up, leaving, the end of the input, and Enter."""
    assert screen(typed)[0].mark(answer("the keel"), CLOCK).then is then


def test_a_group_sees_no_verdict_unless_the_leader_looks() -> None:
    """Hidden at first; v shows it."""
    one, out = screen("\n", hides=True)
    one.mark(answer("the wishbone"), CLOCK)
    assert "wishbone" not in out.getvalue() and "keel" not in out.getvalue()
    two, shown = screen("v\n\n", hides=True)
    two.mark(answer("the wishbone"), CLOCK)
    assert "wishbone" in shown.getvalue()


def test_alone_nothing_is_marked_by_hand() -> None:
    """A member alone sees the verdict and goes on."""
    one, _ = screen("2+\n", leads=False)
    assert one.mark(answer("the keel"), CLOCK).rulings == {}


def test_everything_fits_80_columns() -> None:
    """Every question with a wrong and a right answer, marked, stays within the screen's width."""
    for question in BANK.questions.values():
        text = " ".join(p.say[0].replace("/", " ").replace("_", " ") for p in question.points if p.say) or "five days"
        words, score = judge(question, said(text))
        one, out = screen("\n")
        one.mark(Answer(question, words.words, score, typed=True), CLOCK)
        one.ask(question, CLOCK)
        assert all(len(line) <= 80 for line in out.getvalue().splitlines()), question.id


def test_doubtful_marks() -> None:
    """A point may be left unsure by hand; nonsense is a line of help."""
    assert parse_marks("1?", 2).rulings == {0: PointStatus.UNSURE}  # type: ignore[union-attr]
    assert isinstance(parse_marks("+1", 2), str)


@pytest.mark.parametrize(
    ("have", "platform", "name"),
    [
        ({"say"}, "darwin", "say"),
        ({"powershell"}, "win32", "SAPI"),
        ({"flite", "espeak-ng"}, "linux", "espeak-ng"),
        ({"flite"}, "linux", "flite"),
        (set(), "linux", None),
    ],
)
def test_voices_of_each_system(have: set[str], platform: str, name: str | None) -> None:
    """say on macOS, SAPI on Windows, espeak-ng before flite elsewhere, none where there is none."""
    voice = find_voice(lambda program: program if program in have else None, platform)
    assert (voice.name if voice else None) == name


def test_a_voice_that_fails_is_a_line_and_no_more() -> None:
    """A synthesiser that cannot speak does not stop the interview; the question still stands on the screen."""
    one, out = screen("", voice=Voice("mute", ("/no/such/program",)))
    one.ask(HATCH, CLOCK)
    assert HATCH.ask in out.getvalue() and "mute could not speak" in out.getvalue()


class MadeUpCapture:
    """Two seconds of sound that end as told."""

    def __init__(self, path: Path, problem: str | None = None) -> None:
        self._problem, self._looks = problem, 0
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(16_000)
            file.writeframes(b"\x00\x10\x00\xf0" * 16_000)  # a buzz: digital silence counts as no recording

    def level_dbfs(self) -> float:
        """See Recording."""
        return -30.0

    def seconds(self) -> float:
        """See Recording; every look is half a second later."""
        self._looks += 1
        return self._looks / 2

    def lost_s(self) -> float:
        return 0

    def problem(self) -> str | None:
        """See Recording."""
        return self._problem

    def is_running(self) -> bool:
        """See Recording; a lost microphone is lost at the third look."""
        return self._problem is None or self._looks < 3

    def close(self) -> None:
        """See Recording."""


class MadeUpListener:
    """Hears the same words in everything."""

    name = "whisper"

    def transcribe(self, samples: object, progress: object = None) -> TimedWords:
        """See Listener."""
        return said("It is the keel", timed=True)


def test_a_lost_microphone_keeps_what_it_heard(tmp_path: Path) -> None:
    """The words before are there, the take stays, and the line says what happened."""
    one, out = screen("")
    line = "the microphone 'USB' is gone at 0:02; the take so far is kept; plug it in"
    desk = SpokenDesk(one, tmp_path, MadeUpListener(), lambda path: MadeUpCapture(path, line))  # type: ignore[arg-type]
    heard = desk.hear(KEEL, CLOCK)
    assert heard.problem == line and len(heard.words.words) == 4 and heard.take == "answer-01.wav"
    assert (tmp_path / "answer-01.wav").is_file() and line in out.getvalue()


def test_a_terminal_that_fails_ends_no_answer(tmp_path: Path) -> None:
    """The countdown cannot be drawn: the answer is recorded to its end all the same."""

    class Gone(io.StringIO):
        def write(self, text: str) -> int:
            if text.startswith("\r"):
                raise OSError(5, "Input/output error")
            return super().write(text)

    one = replace(screen("", leads=False)[0], out=Gone())
    heard = SpokenDesk(one, tmp_path, MadeUpListener(), MadeUpCapture).hear(KEEL, Clock(1, 3, 2.0, 60.0))  # type: ignore[arg-type]
    assert heard.then is Then.NEXT and len(heard.words.words) == 4


def test_alone_the_time_ends_the_answer(tmp_path: Path) -> None:
    """Without a leader an answer ends with its share of the time; takes never overwrite each other."""
    one, out = screen("", leads=False)
    desk = SpokenDesk(one, tmp_path, MadeUpListener(), MadeUpCapture)  # type: ignore[arg-type]
    heard = [desk.hear(KEEL, Clock(1, 3, 2.0, 60.0)) for _ in range(2)]
    assert [h.take for h in heard] == ["answer-01.wav", "answer-01-2.wav"] and all(h.then is Then.NEXT for h in heard)
    assert "left here" in out.getvalue() and max(len(part) for part in out.getvalue().replace("\r", "\n").splitlines()) <= 80

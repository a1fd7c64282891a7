"""The keyboard and the screen of an interview: typed answers, or the microphone with single keys and a countdown.

Everything is lines of text that fit 80 columns, so that the screen can be read and scrolled back on any terminal.
"""

from __future__ import annotations

import contextlib
import re
import shutil
import textwrap
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from coach.interview.model import Answer, PointStatus
from coach.interview.run import Clock, Heard, Marked, Then
from coach.interview.speak import Voice
from coach.interview.terminal import MARKS, render_answer
from coach.knowledge.questions import CAUTIONS, Bank, Question
from coach.live.keys import Keys
from coach.live.meter import bar
from coach.report.phrases import clock as minutes
from coach.words import TimedWords, Word

if TYPE_CHECKING:
    from coach.listen.listener import Listener
    from coach.live.session import Recording

__all__ = ["Screen", "SpokenDesk", "TypedDesk", "parse_marks"]

DRAW_EVERY_S = 0.2
METER = 12
TYPED_S = 0.4  # a typed word stands for so long; typed answers are never timed
COMMANDS = {"/repeat": Then.REPEAT, "/skip": Then.SKIP, "/leave": Then.LEAVE}
KEYS = {"\n": Then.NEXT, " ": Then.NEXT, "n": Then.NEXT, "r": Then.REPEAT, "s": Then.SKIP, "q": Then.LEAVE, "": Then.LEAVE}
STATUS = {mark: status for status, mark in MARKS.items()}
MARK_HELP = "Enter next, 2+ told, 2- left out, 2x not right, n NOTE, f follow-up, q leave"


@dataclass(frozen=True, slots=True)
class Screen:
    """Where lines go and come from. hides: verdicts stay hidden until the leader wants to see them."""

    out: TextIO
    into: TextIO
    bank: Bank
    width: int = 80
    color: bool = False
    leads: bool = True  # a leader sits at the keyboard
    hides: bool = False
    voice: Voice | None = None

    def line(self, text: str = "") -> None:
        """Print a line."""
        print(text, file=self.out, flush=True)

    def read(self, prompt: str) -> str | None:
        """A typed line, None at the end of the input."""
        print(prompt, end="", file=self.out, flush=True)
        line = self.into.readline()
        return line.strip() if line else None

    def ask(self, question: Question, clock: Clock) -> None:
        """Show the question, and speak it where there is a voice."""
        left = "" if clock.left_s is None else f"   {minutes(clock.answer_s or 0.0)} for this one, {minutes(clock.left_s)} in all"
        self.line()
        self.line(f"Question {clock.number} of {clock.total}{left}")
        self.line(textwrap.fill(question.ask, self.width, initial_indent="  ", subsequent_indent="  "))
        if self.voice is not None and (problem := self.voice.say(question.ask)):
            self.line(f"  ({problem})")

    def mark(self, answer: Answer, clock: Clock) -> Marked:
        """Show the verdict and take marks until something else is wanted."""
        if not self.leads:
            self._show(answer, {})
            line = self.read("Enter next, q leave: ")
            return Marked(then=Then.LEAVE if line is None or line.lower().startswith("q") else Then.NEXT)
        rulings: dict[int, PointStatus] = {}
        note = ""
        if self.hides:
            self.line("  Kept. v shows what was understood.")
        else:
            self._show(answer, rulings)
        self.line(f"  {MARK_HELP}")
        while True:
            line = self.read("leader> ")
            if line is not None and line.lower() == "v":
                self._show(answer, rulings)
                continue
            marked = parse_marks(line, len(answer.question.points))
            if isinstance(marked, str):
                self.line(f"  {marked}")
                continue
            if not marked.rulings and not marked.note:
                return Marked(rulings, note, marked.then)
            rulings |= marked.rulings
            note = marked.note or note
            if marked.rulings:
                self._show(answer, rulings)

    def _show(self, answer: Answer, rulings: dict[int, PointStatus]) -> None:
        shown = replace(answer, rulings={**answer.rulings, **rulings})
        self.out.write(render_answer(shown, self.bank, width=self.width, color=self.color))
        if answer.question.caution:
            caution = CAUTIONS[answer.question.caution]
            self.line(textwrap.fill(caution, self.width, initial_indent="  ", subsequent_indent="  "))
        self.out.flush()


class TypedDesk:
    """Answers typed at the keyboard, for practice without a microphone."""

    def __init__(self, screen: Screen) -> None:
        self._screen = screen
        self.ask, self.mark = screen.ask, screen.mark

    def hear(self, question: Question, clock: Clock) -> Heard:
        """One typed line; /repeat, /skip and /leave do what they say."""
        while True:
            try:
                line = self._screen.read("> ")
            except KeyboardInterrupt:
                line = None
            if line is None:
                return Heard(_typed(""), Then.LEAVE, typed=True)
            if not line.startswith("/"):
                return Heard(_typed(line), typed=True)
            if line.lower() in COMMANDS:
                return Heard(_typed(""), COMMANDS[line.lower()], typed=True)
            self._screen.line(f"  {line!r} is no command here; there are {', '.join(COMMANDS)}")


class SpokenDesk:
    """Answers from the microphone: each a take of its own in the interview's folder, heard as soon as it ends."""

    def __init__(
        self,
        screen: Screen,
        folder: Path,
        listener: Listener,
        start: Callable[[Path], Recording],
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._screen, self._folder, self._listener, self._start, self._now = screen, folder, listener, start, now
        self.ask, self.mark = screen.ask, screen.mark

    def hear(self, question: Question, clock: Clock) -> Heard:
        """Record until a key, the end of the time (for a member alone), or a lost microphone."""
        screen = self._screen
        keys = "Enter ends the answer, r again, s skip, q leave" if screen.leads else "Enter ends the answer, q leave"
        screen.line(f"  Listening. {keys}.")
        path = self._path(clock.number)
        capture = self._start(path)
        then, problem = Then.NEXT, None
        try:
            with Keys() as keyboard:
                then = self._wait(capture, clock, keyboard)
        except KeyboardInterrupt:
            then = Then.LEAVE
        finally:
            problem = None if capture.is_running() else capture.problem()
            capture.close()
            screen.line()
        if then in (Then.REPEAT, Then.SKIP):
            path.unlink(missing_ok=True)
            return Heard(_typed(""), then)
        if problem:
            screen.line(f"  {problem}")
        words, voice_s = self._listen(path)
        return Heard(words, then, path.name, problem=problem, voice_s=voice_s)

    def _wait(self, capture: Recording, clock: Clock, keyboard: Keys) -> Then:
        drawn, warned = float("-inf"), False
        while capture.is_running():
            spent_s = capture.seconds()
            left_s = None if clock.answer_s is None else clock.answer_s - spent_s
            if self._now() - drawn >= DRAW_EVERY_S:
                drawn = self._now()
                with contextlib.suppress(OSError, ValueError):  # a terminal that is gone ends no recording
                    self._draw(capture, clock, spent_s, left_s)
            if left_s is not None and left_s <= 0 and not self._screen.leads:
                return Then.NEXT
            if left_s is not None and left_s <= 0 and not warned:
                warned = True
                with contextlib.suppress(OSError, ValueError):
                    print("\a", end="", file=self._screen.out, flush=True)
            key = keyboard.pressed(0.1)
            if key is not None and key in KEYS and (self._screen.leads or KEYS[key] in (Then.NEXT, Then.LEAVE)):
                return KEYS[key]
        return Then.NEXT

    def _draw(self, capture: Recording, clock: Clock, spent_s: float, left_s: float | None) -> None:
        line = f"  {minutes(spent_s)}  [{''.join(bar(capture.level_dbfs(), METER))}]"
        if left_s is not None and clock.left_s is not None:
            here = f"{minutes(left_s)} left" if left_s > 0 else "time is up"
            line += f"  {here} here, {minutes(max(0.0, clock.left_s - spent_s))} in all"
        problem = capture.problem()
        line = f"  {problem}" if problem else line
        room = max(1, min(self._screen.width, shutil.get_terminal_size().columns) - 1)
        print(f"\r{line[:room]:{room}}", end="", file=self._screen.out, flush=True)

    def _listen(self, path: Path) -> tuple[TimedWords, tuple[float, ...]]:
        from coach.audio.read import read
        from coach.errors import CoachError
        from coach.listen.speech import find_speech

        try:
            sound = read(path)
        except CoachError:  # nothing usable came before the microphone was lost
            return TimedWords((), 0.0), ()
        words = self._listener.transcribe(sound.samples)
        return words, tuple(s.start_s for s in find_speech(sound.samples))

    def _path(self, number: int) -> Path:
        names = (f"answer-{number:02}{part}.wav" for part in ("", *(f"-{n}" for n in range(2, 1000))))
        return next(p for p in (self._folder / name for name in names) if not p.exists())


def parse_marks(line: str | None, n_points: int) -> Marked | str:
    """What a leader typed under an answer, or what is wrong with it.

    Doctest:
        >>> parse_marks("2+ 1x", 3).rulings == {1: PointStatus.COVERED, 0: PointStatus.WRONG}
        True
        >>> parse_marks("7+", 3)
        'there is no point 7; the points are 1 to 3'
    """
    if line is None or line.lower() in ("q", "quit", "leave"):
        return Marked(then=Then.LEAVE)
    if not line:
        return Marked()
    if line.lower() == "f":
        return Marked(then=Then.FOLLOW_UP)
    if re.match(r"n\s", line, re.IGNORECASE):
        return Marked(note=" ".join(line[1:].split()))
    rulings: dict[int, PointStatus] = {}
    for part in line.split():
        found = re.fullmatch(r"(\d{1,2})([+\-x?])", part.lower())
        if found is None:
            return f"{part!r} is not understood; {MARK_HELP}"
        if not 1 <= int(found[1]) <= n_points:
            return f"there is no point {found[1]}; the points are 1 to {n_points}"
        rulings[int(found[1]) - 1] = STATUS[found[2]]
    return Marked(rulings)


def _typed(line: str) -> TimedWords:
    words = tuple(Word(w, n * TYPED_S, (n + 1) * TYPED_S) for n, w in enumerate(line.split()))
    return TimedWords(words, len(words) * TYPED_S, timed=False)

"""One rehearsal at the microphone: recording, listening, screen and keyboard held together until it is judged.

In: what to rehearse and how. Out: the words and their judgement, or why there is none. Sound is on disk from the first
moment; nothing that happens here can lose it.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from coach.live.ears import Done, Ears, Failed, Heard, Message, TooSlow, Working
from coach.live.keys import Keys
from coach.live.screen import Screen, Steady, View
from coach.live.tracker import next_region, track
from coach.words import TimedWords

if TYPE_CHECKING:
    from coach.listen.listener import Listener
    from coach.review import Subject

__all__ = ["Outcome", "Plan", "Recording", "rehearse"]

LOOK_EVERY_S = 0.1
DRAW_EVERY_S = 0.2
PROMPT_AFTER_S = 6.0
COUNT = (3, 2, 1)
SLOW_NOTE = "This computer is too slow to listen along: recording now, listening after."


class Recording(Protocol):
    """What a running capture can do (coach.live.capture.Capture)."""

    def level_dbfs(self) -> float: ...  # noqa: D102
    def seconds(self) -> float: ...  # noqa: D102
    def lost_s(self) -> float: ...  # noqa: D102
    def problem(self) -> str | None: ...  # noqa: D102
    def is_running(self) -> bool: ...  # noqa: D102
    def close(self) -> None: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Plan:
    """What to rehearse and how."""

    subject: Subject
    wav: Path
    open_listener: Callable[[], Listener]  # pickled into the listening process
    start: Callable[[], Recording]  # begins recording into wav
    limit_s: float | None = None
    prompts: bool = False
    member: str | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """How it ended.

    after_s: from the end of the rehearsal to the judgement. problem: why the recording ended early. lost_s: seconds of
    sound lost because this machine was too busy. unseen: what went wrong with the screen, if anything.
    """

    done: Done | None
    failed: Failed | None
    after_s: float
    problem: str | None = None
    lost_s: float = 0.0
    unseen: str | None = None


def rehearse(plan: Plan, screen: Screen, keys: Keys) -> Outcome:
    """Count in, record until Enter, Ctrl-C, the limit or a lost microphone; then wait for the judgement.

    Raises:
        CoachError: recording could not begin.
        KeyboardInterrupt: Ctrl-C during the count, or again while waiting for the judgement; the take is kept.
    """
    screen = Steady(screen)
    with Ears(plan.wav, plan.subject, plan.open_listener, plan.member) as ears:
        view = View(plan.subject.bird.name, limit_s=plan.limit_s, state=track(TimedWords((), 0.0), plan.subject))
        _count_in(view, screen, keys)
        recording = plan.start()
        try:
            view, failed = _record(plan, view, recording, ears, screen, keys)
            problem = None if recording.is_running() else recording.problem()
        finally:
            recording.close()
        ended = time.monotonic()
        ears.finish()
        last = failed or _wait(replace(view, is_over=True, prompt=None, problem=problem), ears, screen)
        after_s = time.monotonic() - ended
    done, failed = (last, None) if isinstance(last, Done) else (None, last)
    return Outcome(done, failed, after_s, problem, recording.lost_s(), screen.problem)


def _count_in(view: View, screen: Screen, keys: Keys) -> None:
    for n in COUNT:
        screen.show(replace(view, count_in=n))
        ends = time.monotonic() + 1.0
        while (left_s := ends - time.monotonic()) > 0:
            keys.pressed(left_s)  # before the start no key means anything


def _record(
    plan: Plan, view: View, recording: Recording, ears: Ears, screen: Screen, keys: Keys
) -> tuple[View, Failed | None]:
    """Until something ends it: the last view, and what broke the listening if that did not last."""
    failed: Failed | None = None
    drawn = 0.0
    try:
        while recording.is_running() and (plan.limit_s is None or recording.seconds() < plan.limit_s):
            while (message := ears.poll()) is not None:
                view = _after(view, message)
                if isinstance(message, Failed):
                    failed = message
            view = replace(
                view,
                elapsed_s=recording.seconds(),
                level_dbfs=recording.level_dbfs(),
                problem=recording.problem(),
                prompt=_prompt(view, recording.seconds()) if plan.prompts else None,
            )
            if time.monotonic() - drawn >= DRAW_EVERY_S:
                drawn = time.monotonic()
                screen.show(view)
            if keys.pressed(LOOK_EVERY_S) == "\n":
                break
    except KeyboardInterrupt:
        pass
    return view, failed


def _wait(view: View, ears: Ears, screen: Screen) -> Done | Failed:
    view = replace(view, note="Listening to the last words ..." if view.note != SLOW_NOTE else "Listening ...")
    screen.show(view)
    while True:
        message = ears.poll(DRAW_EVERY_S)
        if isinstance(message, (Done, Failed)):
            return message
        if message is not None:
            view = _after(view, message)
            screen.show(view)


def _after(view: View, message: Message) -> View:
    if isinstance(message, Heard):
        return replace(view, state=message.state)
    if isinstance(message, TooSlow):
        return replace(view, note=SLOW_NOTE)
    if isinstance(message, Working):
        return replace(view, note=f"Listening ... {message.share:.0%}")
    if isinstance(message, Failed):
        return replace(view, note="The listener broke off; recording goes on, it listens again after.")
    return view


def _prompt(view: View, elapsed_s: float) -> str | None:
    """The region to go to, when the member has been silent for a while."""
    state = view.state
    if state is None or elapsed_s - (state.last_word_s or 0.0) < PROMPT_AFTER_S:
        return None
    following = next_region(state)
    return following.title if following else None

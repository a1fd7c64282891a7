"""A rehearsal held together: it ends as it should, whatever becomes of the listening process, and the take stays whole."""

from __future__ import annotations

import re
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rehearse_stand_ins as stand_ins
from rehearse_stand_ins import GrowingTake, Hands, Notes

from coach.audio.read import RATE_HZ, read
from coach.judge.verdict import Status
from coach.live import session
from coach.live.ears import Failed
from coach.live.screen import View
from coach.live.session import SLOW_NOTE, Outcome, Plan, rehearse
from coach.places import recordings_demo_dir
from coach.review import load_subject, open_listener, review

BIRD = str(recordings_demo_dir() / "birds" / "checkers.yaml")
CHECKERS = recordings_demo_dir() / "checkers.ogg"
TEN_S = np.random.default_rng(1).normal(0, 0.01, 10 * RATE_HZ).astype(np.float32)


@pytest.fixture(autouse=True)
def no_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Begin at once."""
    monkeypatch.setattr(session, "COUNT", ())


def held(
    wav: Path, listener: Callable[[], Any], *, hands: Hands | None = None, samples: Any = TEN_S, **take: Any
) -> tuple[Outcome, Notes]:
    """A rehearsal of three seconds with this listener, and what was on the screen."""
    screen = Notes()
    plan = Plan(load_subject(BIRD), wav, listener, lambda: GrowingTake(wav, samples, **take), limit_s=3.0)
    return rehearse(plan, screen, hands or Hands()), screen


def test_sound_that_was_lost_is_told(tmp_path: Path) -> None:
    """Seconds that the device lost reach the end of the rehearsal; without any there are none."""
    assert held(tmp_path / "whole.wav", stand_ins.quick_listener)[0].lost_s == 0
    assert held(tmp_path / "torn.wav", stand_ins.quick_listener, lost_s=0.4)[0].lost_s == 0.4


def length_s(wav: Path) -> float:
    """What the take's header says."""
    with wave.open(str(wav)) as file:
        return file.getnframes() / file.getframerate()


def test_the_limit_ends_it_and_the_words_are_judged(tmp_path: Path) -> None:
    """After the limit the judgement counts what was heard, and the screen had counted it on the way."""
    outcome, screen = held(tmp_path / "take.wav", stand_ins.quick_listener)
    assert outcome.done is not None and outcome.failed is None and outcome.problem is None
    told = {v.id for v in outcome.done.judgement.verdicts if v.status is Status.SAID}
    assert {"head.beak", "head.comb", "legs.toes"} <= told
    assert 3.0 <= length_s(tmp_path / "take.wav") < 5.0
    last = next(view.state for view in reversed(screen.views) if view.state)
    assert last.heard == told and last.now == "legs" and screen.views[-1].is_over


def test_enter_ends_it(tmp_path: Path) -> None:
    """Enter stops the recording before the limit."""
    wav = tmp_path / "take.wav"
    outcome, _ = held(wav, stand_ins.quick_listener, hands=Hands(lambda: wav.exists() and wav.stat().st_size > 2 * RATE_HZ * 2))
    assert outcome.done is not None and 1.5 < length_s(wav) < 4.0


def test_the_keyboards_interrupt_ends_it_too(tmp_path: Path) -> None:
    """Ctrl-C while recording is as good as Enter."""
    wav = tmp_path / "take.wav"
    hands = Hands(lambda: wav.exists() and wav.stat().st_size > 2 * RATE_HZ * 2, interrupt=True)
    outcome, _ = held(wav, stand_ins.quick_listener, hands=hands)
    assert outcome.done is not None and length_s(wav) > 1.5


def test_a_machine_too_slow_records_now_and_listens_after(tmp_path: Path) -> None:
    """The screen says so, shows the share done at the end, and the judgement is there all the same."""
    outcome, screen = held(tmp_path / "take.wav", stand_ins.slow_listener)
    notes = [view.note for view in screen.views]
    assert SLOW_NOTE in notes and "Listening ... 50%" in notes
    assert outcome.done is not None and "head.beak" in {
        v.id for v in outcome.done.judgement.verdicts if v.status is Status.SAID
    }


@pytest.mark.parametrize(
    ("listener", "why", "is_final"),
    [
        (stand_ins.dying_listener, "ended without a word", False),
        (stand_ins.broken_listener, r"listening broke off \(ValueError: the weights", False),
        (stand_ins.missing_listener, "no listener on this machine; get one", True),
    ],
)
def test_recording_outlives_the_listener(tmp_path: Path, listener: Callable[[], Any], why: str, is_final: bool) -> None:
    """Whatever ends the listening process, the take is whole, the screen says it, and the reason comes out."""
    outcome, screen = held(tmp_path / "take.wav", listener)
    assert outcome.done is None and isinstance(outcome.failed, Failed) and outcome.failed.is_final is is_final
    assert re.search(why, outcome.failed.why)
    assert length_s(tmp_path / "take.wav") >= 3.0
    assert any(view.note and "recording goes on" in view.note for view in screen.views)


def test_a_screen_that_fails_ends_nothing(tmp_path: Path) -> None:
    """Every drawing fails, from the count to the last words: the take is whole and judged, and the trouble comes out."""

    class Broken:
        def show(self, view: View) -> None:
            raise ValueError("Sign not allowed in string format specifier")

    wav = tmp_path / "take.wav"
    plan = Plan(load_subject(BIRD), wav, stand_ins.quick_listener, lambda: GrowingTake(wav, TEN_S), limit_s=3.0)
    outcome = rehearse(plan, Broken(), Hands())
    assert outcome.done is not None and length_s(wav) >= 3.0
    assert outcome.unseen is not None and "Sign not allowed" in outcome.unseen
    assert held(tmp_path / "well.wav", stand_ins.quick_listener)[0].unseen is None


def test_a_lost_microphone_ends_it_with_what_was_said(tmp_path: Path) -> None:
    """The take so far is judged, and the outcome says what happened."""
    outcome, _ = held(tmp_path / "take.wav", stand_ins.quick_listener, lost_at_s=2.5)
    assert outcome.done is not None and outcome.problem == "the microphone is gone; the take so far is kept"


def test_the_prompt_names_the_next_region_after_some_seconds_of_silence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The scripted words end in the second second at the toes; two silent seconds later the screen names a region."""
    monkeypatch.setattr(session, "PROMPT_AFTER_S", 1.5)
    screen, wav = Notes(), tmp_path / "take.wav"
    plan = Plan(load_subject(BIRD), wav, stand_ins.quick_listener, lambda: GrowingTake(wav, TEN_S), 6.0, prompts=True)
    rehearse(plan, screen, Hands())
    later = [view.prompt for view in screen.views if view.elapsed_s > 5.0 and not view.is_over]
    assert later and set(later) == {"Breed facts"}
    assert held(tmp_path / "quiet.wav", stand_ins.quick_listener)[1].views[-2].prompt is None


@pytest.mark.listener
def test_with_the_real_listener_falling_behind_the_judgement_is_that_of_the_file(tmp_path: Path) -> None:
    """A minute and a half that is there all at once is too much to follow: listened to after, judged as the file is."""
    pytest.importorskip("ctranslate2")
    sound, wav, screen = read(CHECKERS), tmp_path / "take.wav", Notes()
    plan = Plan(load_subject(BIRD), wav, open_listener, lambda: GrowingTake(wav, sound.samples, at_once=True))
    hands = Hands(lambda: any(view.note == SLOW_NOTE for view in screen.views))
    outcome = rehearse(plan, screen, hands)
    assert SLOW_NOTE in [view.note for view in screen.views] and outcome.done is not None
    report = review(str(wav), plan.subject).report
    assert outcome.done.judgement == report.judgement

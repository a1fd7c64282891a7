"""Delivery: pace, fillers, silences."""

from __future__ import annotations

import pytest
from judging import spoken

from coach.judge.delivery import LONG_PAUSE_S, articulation_rate, judge_delivery, speaking_rate
from coach.judge.tokens import sentences
from coach.judge.verdict import Delivery
from coach.knowledge.language import load_language
from coach.words import TimedWords


def _delivery(heard: TimedWords) -> Delivery:
    return judge_delivery(heard, sentences(heard), load_language())


@pytest.mark.parametrize(("words", "seconds", "rate"), [(75, 30.0, 150), (40, 20.0, 120), (65, 30.0, 130), (90, 30.0, 180)])
def test_speaking_rate_check_values(words: int, seconds: float, rate: float) -> None:
    """Words by minutes; 150 is the conversational average the National Center for Voice and Speech is quoted for."""
    assert speaking_rate(words, seconds) == rate


def test_articulation_rate_leaves_pauses_out() -> None:
    """60 words in 30 s with 6 s of silence: 120 spoken, 150 articulated (definition: speech tempo, pauses removed)."""
    assert speaking_rate(60, 30.0) == 120
    assert articulation_rate(60, 30.0, 6.0) == 150


def test_too_little_speech_has_no_rate() -> None:
    """Under 15 words or 6 seconds a rate says nothing (Yuan, Liberman and Cieri 2006: short turns mislead)."""
    assert speaking_rate(14, 60.0) is None
    assert speaking_rate(40, 5.9) is None


def test_silences_of_four_seconds_are_long() -> None:
    """0.5 s is an ordinary pause, over 4 s a long one (Lundholm Fors 2015, University of Gothenburg)."""
    assert LONG_PAUSE_S == 4.0
    assert _delivery(spoken("this is the comb", "these are the eyes", pause_s=0.5)).long_pauses == ()
    assert len(_delivery(spoken("this is the comb", "these are the eyes", pause_s=4.5)).long_pauses) == 1


def test_words_to_the_bird_are_asides_and_no_fillers() -> None:
    """ "Easy girl" and "hold still" are counted apart; "um" is a filler."""
    found = _delivery(spoken("um this is the comb", "easy girl", "hold still", "these are the eyes"))
    assert [a.text for a in found.asides] == ["easy girl", "hold still"]
    assert found.fillers == 1

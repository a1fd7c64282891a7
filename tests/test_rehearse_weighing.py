"""Asking the sound on the way: the same answers as at the end, nothing asked twice, little left to ask when it is over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from cli_files import script_words
from rehearse_stand_ins import ScriptedListener, _Scripted

from coach.live.weighing import Over, WeighsEarly
from coach.places import recordings_demo_dir
from coach.review import judge_words, load_subject
from coach.words import Hearing, Question, TimedWords, Weighed, Word

SUBJECT = load_subject(str(recordings_demo_dir() / "birds" / "checkers.yaml"))
# What listeners write for trade words, as unsure as they are of them.
MISHEARD = {"comb": "cone", "hackle": "hackel", "wattles": "waddles", "primaries": "premieres", "shanks": "shacks"}


class Asked(ScriptedListener):
    """Prefers the second wording of every question, and writes down what it was asked."""

    def __init__(self) -> None:
        super().__init__(_Scripted)
        self.questions: list[Question] = []
        self.spans: list[tuple[float, float]] = []

    def weigh(self, questions: Sequence[Question], progress: object = None) -> list[Weighed]:
        self.questions += questions
        return [Weighed(q, tuple(-6.0 * (n != 1) for n in range(len(q.wordings)))) for q in questions]

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        self.spans += spans
        return [() for _ in spans]


def heard() -> TimedWords:
    """A demo's script over one and a half minutes, some words misheard."""
    words = []
    for row in script_words("checkers"):
        text = next((row["text"].replace(said, written) for said, written in MISHEARD.items() if said in row["text"]), None)
        words.append(Word(text or row["text"], row["start"], row["end"], 0.5 if text else 0.99))
    return TimedWords(tuple(words), words[-1].end_s + 0.5)


def until(words: TimedWords, seconds: float) -> TimedWords:
    """The words that had ended by then."""
    return TimedWords(tuple(w for w in words.words if w.end_s <= seconds), seconds)


def test_what_was_asked_on_the_way_is_not_asked_again() -> None:
    """After a rehearsal followed in stretches of ten seconds, judging asks little that is new, and judges the same."""
    listener, words = Asked(), heard()
    early = WeighsEarly(listener)
    for seconds in range(10, int(words.seconds) + 10, 10):
        early.ahead(until(words, float(seconds)), SUBJECT)
    n_questions, n_spans = len(listener.questions), len(listener.spans)
    judged = judge_words(words, SUBJECT, early)
    alone = Asked()
    assert judged == judge_words(words, SUBJECT, alone)
    assert len(set(listener.questions)) == len(listener.questions) and len(set(listener.spans)) == len(listener.spans)
    assert len(alone.questions) >= 10 and len(listener.questions) - n_questions <= len(alone.questions) // 5
    assert n_spans >= 3 and len(listener.spans) - n_spans <= 1


def test_the_last_minute_comes_back_as_the_sound_would_have_it() -> None:
    """Where the sound prefers the trade word, the words on the way already hold it."""
    words = until(heard(), 20.0)
    better = WeighsEarly(Asked()).ahead(words, SUBJECT)
    assert any("cone" in w.text for w in words.words)
    assert any(w.written and "cone" in w.written for w in better.words) and len(better.words) <= len(words.words)


def test_when_it_is_over_nothing_more_is_asked_ahead() -> None:
    """Asking ahead stops before the next question; judging still asks everything."""
    listener, words = Asked(), heard()
    early = WeighsEarly(listener)
    early.hurry()
    with pytest.raises(Over):
        early.ahead(words, SUBJECT)
    assert listener.questions == []
    assert judge_words(words, SUBJECT, early) == judge_words(words, SUBJECT, Asked())


def test_a_new_recording_is_asked_anew() -> None:
    """Transcribing forgets the answers about what was heard before."""
    import numpy as np

    listener = Asked()
    early = WeighsEarly(listener)
    question = Question(start_s=1.0, end_s=1.5, from_s=0.5, to_s=2.0, before="the", after="is", wordings=("cone", "comb"))
    answers = early.weigh([question, replace(question, before="her")])
    assert early.weigh([question]) == answers[:1] and len(listener.questions) == 2
    early.transcribe(np.zeros(16000, np.float32))
    early.weigh([question])
    assert len(listener.questions) == 3

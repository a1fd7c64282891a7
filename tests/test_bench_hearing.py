"""The measure of the listener's choices: its own arithmetic, on words and times written by hand."""

from __future__ import annotations

import pytest

from bench.hearing import changed, word_errors
from bench.hesitations import joined, matched, voiced_alone, voiced_left
from coach.listen import speech, whisper_model
from coach.listen.speech import Stretch
from coach.words import TimedWords, Word


def heard(text: str, step_s: float = 1.0) -> TimedWords:
    """A word at every full step, half a step long."""
    words = tuple(Word(w, n * step_s, (n + 0.5) * step_s) for n, w in enumerate(text.split()))
    return TimedWords(words, len(words) * step_s)


def test_word_errors_count_wrong_missing_and_added_words() -> None:
    """One word wrong ("hawks"), one missing ("the"), one added ("um"); case and marks do not count."""
    assert word_errors(heard("here are the hocks she's clean"), heard("Um, here are hawks. She's clean!")) == (3, 6)


def test_constants_differ_only_while_a_setting_is_heard() -> None:
    """Both modules get the value and get their own back; a name that no module knows stops the run."""
    before = (speech.MAX_STRETCH_S, whisper_model.BEAM)
    with changed({"MAX_STRETCH_S": 8.0, "BEAM": 1}):
        assert (speech.MAX_STRETCH_S, whisper_model.BEAM) == (8.0, 1)
    assert before == (speech.MAX_STRETCH_S, whisper_model.BEAM)
    with pytest.raises(SystemExit, match="no such constant"), changed({"BEEM": 1}):
        pass


def test_a_found_hesitation_counts_once() -> None:
    """Two true ones near one found: one is right; joining does not count the same one twice."""
    assert matched([1.0, 1.5, 9.0], [1.2, 5.0]) == 1
    assert joined([1.0], [1.4, 5.0]) == [1.0, 5.0]


def test_voiced_sound_without_words_is_found() -> None:
    """Words lie at 0.0 to 0.5 and 1.0 to 1.5 s: a stretch between them is alone, and what is left of a longer one is told."""
    words = heard("one two")
    assert voiced_alone([Stretch(0.0, 0.5), Stretch(0.55, 0.95)], words, 0.2, 0.8) == [0.55]
    assert voiced_left([Stretch(0.0, 1.5)], words, 0.2, 0.8) == [0.5]
    assert voiced_left([Stretch(0.0, 1.5)], words, 0.6, 0.8) == []

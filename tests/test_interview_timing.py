"""Seconds to the first word, of the answer, and of silence in it."""

from __future__ import annotations

from interviewing import said

from coach.interview.timing import timing
from coach.words import TimedWords, Word


def test_first_word_length_and_silence() -> None:
    """Gaps over half a second are silence, shorter ones are not."""
    words = (Word("ten", 1.5, 1.8), Word("of", 2.2, 2.4), Word("them", 4.4, 4.9))
    got = timing(TimedWords(words, 6.0))
    assert got is not None and (got.first_word_s, got.seconds, got.silence_s) == (1.5, 4.9, 2.0)


def test_the_voice_tells_the_start_more_exactly() -> None:
    """A voice that begins within a word's reach is its start; one that begins later is another word's."""
    heard = said("ten of them", timed=True, start_s=1.0)
    near, far = timing(heard, (0.2, 1.2, 3.0)), timing(heard, (0.2, 1.6))
    assert near is not None and far is not None and (near.first_word_s, far.first_word_s) == (1.2, 1.0)


def test_nothing_said_and_nothing_timed() -> None:
    """Silence has no first word; typed answers have no timing."""
    silent = timing(TimedWords((), 20.0))
    assert silent is not None and silent.first_word_s is None and silent.silence_s == 20.0
    assert timing(said("typed words")) is None

"""A whole interview from one recording: heard once, cut into turns by the questions' own words, each answer scored."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from coach.errors import CoachError
from coach.interview.hear import judge_answer, make_ear
from coach.interview.model import Answer, Interview, Score
from coach.interview.recording import Turn, find_turns, since
from coach.interview.score import skipped
from coach.interview.timing import timing
from coach.knowledge.questions import Question
from coach.listen.timed_words import WORD_FILES, read_timed_words

if TYPE_CHECKING:
    from coach.interview.prepare import Pool
    from coach.listen.listener import Listener
    from coach.words import TimedWords

__all__ = ["score_recording"]


def score_recording(
    interview: Interview,
    path: Path,
    questions: Sequence[Question],
    pool: Pool,
    listener_name: str | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> Interview:
    """Hear the recording (or read its words) and score each answer; a question that is not found counts as skipped.

    Raises:
        CoachError: the recording cannot be read, holds no speech, or none of the questions.
    """
    heard, listener = _hear(path, listener_name, progress)
    if not any(w.is_spoken for w in heard.words):
        raise CoachError(f"{path}: no speech found; check that the microphone was on, and play the recording")
    turns = find_turns(heard, questions)
    if not any(turns):
        raise CoachError(f"{path}: none of the questions was found in it; is it the right recording, and the right list?")
    ear = make_ear(pool.bank, pool.card.sounds_like if pool.card else None)
    answers = []
    for question, turn in zip(questions, turns, strict=True):
        if turn is None:
            answers.append(Answer(question, (), skipped(question)))
        else:
            words, score = judge_answer(question, turn.answer, ear, listener)
            answers.append(_answer(turn, words, score))
    name = listener.name if listener else "words"
    return replace(interview, answers=tuple(answers), seconds=round(heard.seconds, 2), file=path.name, listener=name)


def _answer(turn: Turn, words: TimedWords, score: Score) -> Answer:
    return Answer(turn.question, words.words, score, timing(since(turn)), turn.asked_s)


def _hear(
    path: Path, listener_name: str | None, progress: Callable[[str, float], None] | None
) -> tuple[TimedWords, Listener | None]:
    if path.suffix.lower() in WORD_FILES:
        return read_timed_words(path), None
    from coach.audio.read import read
    from coach.review import open_listener

    sound = read(path)
    listener: Listener = open_listener(listener_name)
    return listener.transcribe(sound.samples, (lambda share: progress("listening", share)) if progress else None), listener

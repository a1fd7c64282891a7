"""One recording of a whole interview: whose turn is when, found by the words of the questions. Pure.

In: timed words of everything, and the questions in the order in which they were asked. Out: for each question where it
was asked and the words of the answer, or None when it was not found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.interview.forms import stem
from coach.judge.tokens import sentences, words_of_phrase
from coach.knowledge.questions import Question
from coach.words import TimedWords, Word

__all__ = ["Turn", "find_turns", "since"]

LEAST = 0.5  # of a question's words that must be heard in order; other stretches of talk reach 0.3
LONGER = 1.5  # a question may be spoken with so many times its words


@dataclass(frozen=True, slots=True)
class Turn:
    """A question and its answer. asked_s and answer_s are the times at which each begins; likeness: 0..1."""

    question: Question
    asked_s: float
    answer_s: float
    answer: TimedWords
    likeness: float


@dataclass(frozen=True, slots=True)
class _Place:
    """Tokens first (included) to end (excluded) that sound like the question."""

    first: int
    end: int
    likeness: float


def find_turns(heard: TimedWords, questions: Sequence[Question]) -> tuple[Turn | None, ...]:
    """The turns, in the order of the questions.

    The places rise with the questions; together they fit best among all such choices (dynamic programming).
    """
    tokens = [t for s in sentences(heard) for t in s]
    stems = [stem(t.text) for t in tokens]
    places = _choose([_places(stems, q) for q in questions])
    found = [p for p in places if p is not None]
    out: list[Turn | None] = []
    for question, place in zip(questions, places, strict=True):
        if place is None:
            out.append(None)
            continue
        after = [p.first for p in found if p.first > place.first]
        first_word = tokens[place.end - 1].last + 1
        end_word = tokens[min(after)].first if after else len(heard.words)
        asked_s, answer_s = heard.words[tokens[place.first].first].start_s, heard.words[first_word - 1].end_s
        words = heard.words[first_word:end_word]
        out.append(Turn(question, asked_s, answer_s, TimedWords(words, heard.seconds, heard.timed), place.likeness))
    return tuple(out)


def since(turn: Turn) -> TimedWords:
    """The answer with its times counted from the end of the question."""
    words = tuple(
        Word(w.text, max(0.0, w.start_s - turn.answer_s), max(0.0, w.end_s - turn.answer_s), w.confidence)
        for w in turn.answer.words
    )
    return TimedWords(words, words[-1].end_s if words else 0.0, turn.answer.timed)


def _places(stems: Sequence[str], question: Question) -> list[_Place]:
    """All stretches that hold most of the question's words in order, each at its tightest."""
    from rapidfuzz.distance import LCSseq

    wanted = [stem(w) for w in words_of_phrase(question.ask.replace("?", " ").replace(",", " ").replace(":", " "))]
    if not wanted:
        return []
    size, known = int(len(wanted) * LONGER) + 1, set(wanted)
    found = []
    for first in (n for n, s in enumerate(stems) if s in known):
        window = stems[first : first + size]
        blocks = [b for b in LCSseq.opcodes(window, wanted) if b.tag == "equal"]
        n_equal = sum(b.src_end - b.src_start for b in blocks)
        if blocks and blocks[0].src_start == 0 and n_equal / len(wanted) >= LEAST:
            end = first + blocks[-1].src_end
            spread = (end - first) / len(wanted)
            found.append(_Place(first, end, n_equal / len(wanted) - 0.1 * max(0.0, spread - 1.0)))
    return found


def _choose(options: Sequence[Sequence[_Place]]) -> list[_Place | None]:
    """One place or none for each question, rising and apart, of the greatest likeness in all."""
    best: dict[int, tuple[float, tuple[_Place | None, ...]]] = {0: (0.0, ())}  # end of the last place -> likeness, choice
    for places in options:
        after = {end: (total, (*chosen, None)) for end, (total, chosen) in best.items()}
        for place in places:
            before = max((b for end, b in best.items() if end <= place.first), key=lambda b: b[0], default=None)
            if before is not None:
                total = before[0] + place.likeness
                if place.end not in after or total > after[place.end][0]:
                    after[place.end] = (total, (*before[1], place))
        best = after
    return list(max(best.values(), key=lambda b: b[0])[1])

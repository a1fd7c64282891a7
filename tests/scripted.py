"""A listener whose hearing is written down: words with confidences, scores for rival wordings, second hearings.

Stands in for a recogniser wherever a test asks what the chain from sound to verdict makes of its answers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from judging import BIRD, CARD, spoken

from coach.judge.repair import features, likely
from coach.judge.verdict import Verdict
from coach.knowledge.calibration import load_calibration
from coach.knowledge.routes import load_route
from coach.review import Subject, judge_words, spot_doubts
from coach.voice.profile import VoiceProfile
from coach.words import Hearing, Question, TimedWords, Weighed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from coach.listen.listener import Stream

SUBJECT = Subject(BIRD, CARD, load_route("head-to-tail"))
CLEARLY = 15.0  # nats: what the sound says beyond doubt
NOT_AT_ALL = -15.0
SURE = 0.99


def hearing(*sentences: str, **confidence: float) -> TimedWords:
    """The sentences as heard, each word with confidence SURE or the one given for it."""
    heard = spoken(*sentences)
    words = tuple(replace(w, confidence=confidence.get(w.text.strip(".,?").lower(), SURE)) for w in heard.words)
    return replace(heard, words=words)


class Scripted:
    """Hears what it is told to. said: nats by which a rival wording beats what was heard (NOT_AT_ALL for all others; nan where
    it cannot weigh). again: for a breath with that word, the text that the second hearing finds likeliest."""

    def __init__(
        self, said: Mapping[str, float] | None = None, again: Mapping[str, str] | None = None, name: str = "whisper",
        others: float = NOT_AT_ALL,
    ) -> None:  # fmt: skip
        self.name = name
        self._said, self._again, self._others = said or {}, again or {}, others
        self.asked: list[Question] = []
        self.spans: list[tuple[float, float]] = []
        self.heard = TimedWords((), 0.0)

    def transcribe(self, samples: NDArray[np.float32], progress: Callable[[float], None] | None = None) -> TimedWords:
        """What it was told to hear."""
        return self.heard

    def weigh(self, questions: Sequence[Question], progress: Callable[[float], None] | None = None) -> list[Weighed]:
        """The scores that are written down."""
        self.asked += questions
        return [Weighed(q, (0.0, *(self._said.get(_plain(w), self._others) for w in q.wordings[1:]))) for q in questions]

    def hear_again(self, spans: Sequence[tuple[float, float]]) -> list[tuple[Hearing, ...]]:
        """The texts that are written down for breaths with their word."""
        self.spans += spans
        inside = [{_plain(w.text) for w in self.heard.words if a <= w.start_s <= b} for a, b in spans]
        found = [next((text for word, text in self._again.items() if word in words), None) for words in inside]
        return [(Hearing(text, -1.0),) if text else () for text in found]

    def stream(self) -> Stream:
        """It hears no live sound."""
        raise NotImplementedError


def judged_by(
    listener: Scripted, heard: TimedWords, profile: VoiceProfile | None = None, subject: Subject = SUBJECT
) -> dict[str, Verdict]:
    """The verdicts by item, through the whole chain."""
    listener.heard = heard
    return {v.id: v for v in judge_words(heard, subject, listener, profile)[1].verdicts}


def nats_for(share: float, heard: TimedWords, word: str, rival: str, listener: str = "whisper") -> float:
    """By how much the sound must favour the rival for the calibration to give it that probability, asked at this word."""
    belief = likely(load_calibration(listener))
    doubt = next(d for d in spot_doubts(heard, SUBJECT, asks=True) if _plain(d.heard) == word)
    n = next(n for n, w in enumerate(doubt.question.wordings[1:]) if _plain(w) == rival)
    low, high = NOT_AT_ALL, CLEARLY
    for _ in range(40):
        nats = (low + high) / 2
        scores = (0.0, *(nats if k == n else NOT_AT_ALL for k in range(len(doubt.rivals))))
        found = belief.probability(features(doubt, Weighed(doubt.question, scores), n))
        low, high = (nats, high) if found < share else (low, nats)
    return low


def _plain(text: str) -> str:
    return text.strip(".,?!").lower()

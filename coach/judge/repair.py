"""Words repaired by the sound's answers: every doubtful span takes the wording that is likeliest to have been said.

In: timed words, Doubts and, where there was sound, Weighed answers. Out: timed words that remember what was first written.
Pure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from coach.judge.doubts import NAMING, Doubt
from coach.knowledge.calibration import Belief
from coach.words import TimedWords, Weighed, Word

__all__ = ["Calibration", "features", "likely", "possible", "repair", "was_weighed"]

NEAR = 0.25


@dataclass(frozen=True, slots=True)
class Calibration:
    """From features to the probability that a rival was said: a logistic model, fitted on generated rehearsals."""

    weights: Mapping[str, float]
    bias: float
    accept: float = 0.5

    def probability(self, values: Mapping[str, float]) -> float:
        """Logistic of the weighted sum."""
        z = self.bias + sum(self.weights[name] * values[name] for name in self.weights)
        return 1 / (1 + math.exp(-max(-30.0, min(30.0, z))))


def likely(belief: Belief) -> Calibration:
    """Takes as heard what is likely to have been said."""
    return Calibration(belief.weights, belief.bias, belief.accept)


def possible(belief: Belief, share: float = 1.0) -> Calibration:
    """Takes as heard what is possible, from a share of the probability that is kept for it."""
    return Calibration(belief.weights, belief.bias, belief.possible * share)


def features(doubt: Doubt, weighed: Weighed | None, n: int) -> dict[str, float]:
    """What the calibration looks at for rival n (0-based).

    gain: nats by which the rival beats what was heard, kept within -15..15; margin: by which it beats the best other rival;
    distance: of sounds; length: letters of the rival in tens; near: how much closer than NEAR, times length; confidence: the
    listener's own in what it wrote; known: that holds a trade phrase; covered: the share of it that is one; pointed: "the",
    "her" or the like stands before; solid: the rival names something; slot: the sentence asks for its kind here; place: its
    region is being spoken of around here; missing: it would tell what is told nowhere else; words: what was heard is in the
    dictionary; support: the share of a second hearing that speaks for it; again: it comes from a second hearing.
    """
    rival = doubt.rivals[n]
    gain = margin = 0.0
    if weighed is not None and was_weighed(weighed, n):
        scores = weighed.scores
        mine, others = scores[n + 1], [s for k, s in enumerate(scores[1:]) if k != n and not math.isnan(s)]
        gain = max(-15.0, min(15.0, mine - scores[0]))
        margin = max(-15.0, min(15.0, mine - max(others))) if others else 5.0
    return {
        "gain": gain,
        "margin": margin,
        "distance": rival.distance,
        "length": len(rival.text) / 10,
        "confidence": doubt.confidence,
        "near": max(0.0, NEAR - rival.distance) * len(rival.text) / 10,
        "known": float(doubt.known),
        "covered": doubt.covered,
        "pointed": float(doubt.pointed),
        "solid": float(bool(rival.kinds & NAMING)),
        "slot": float(rival.slot),
        "place": rival.place,
        "missing": float(rival.missing),
        "words": float(doubt.plain_words),
        "support": rival.support,
        "again": float(rival.support > 0),
    }


def was_weighed(weighed: Weighed | None, n: int) -> bool:
    """Whether the sound was asked about rival n and what was heard: a listener may lack the words or the means (nan)."""
    return weighed is not None and not math.isnan(weighed.scores[n + 1] - weighed.scores[0])


def repair(
    heard: TimedWords,
    doubts: Sequence[Doubt],
    weighed: Sequence[Weighed] | None,
    calibration: Calibration,
    by_sound: Calibration | None = None,
) -> TimedWords:
    """The words with every doubtful span replaced by the rival that the sound favours, likeliest first, none twice.

    by_sound judges rivals that the listener could not weigh, by their likeness of sound; without it calibration does.
    """
    found: list[tuple[float, Doubt, str]] = []
    for k, doubt in enumerate(doubts):
        for n, _rival in enumerate(doubt.rivals):
            answer = weighed[k] if weighed else None
            judge = calibration if by_sound is None or was_weighed(answer, n) else by_sound
            p = judge.probability(features(doubt, answer, n))
            if p >= judge.accept:
                found.append((p, doubt, doubt.question.wordings[n + 1]))
    taken: set[int] = set()
    chosen: dict[int, tuple[float, Doubt, str]] = {}
    for p, doubt, text in sorted(found, key=lambda f: -f[0]):
        span = set(range(doubt.first, doubt.last + 1))
        if not span & taken:
            taken |= span
            chosen[doubt.first] = (p, doubt, text)
    return TimedWords(tuple(_replaced(heard.words, chosen)), heard.seconds, heard.timed, heard.hesitations_s)


def _replaced(words: Sequence[Word], chosen: Mapping[int, tuple[float, Doubt, str]]) -> Iterable[Word]:
    at = 0
    while at < len(words):
        if at not in chosen:
            yield words[at]
            at += 1
            continue
        p, doubt, text = chosen[at]
        yield Word(text, words[doubt.first].start_s, words[doubt.last].end_s, round(p, 4), doubt.heard)
        at = doubt.last + 1

"""From evidence to a verdict: how likely an item was told rightly, told wrongly or left out, and what a mistake of ours costs.

In: Evidence. Out: Chances, and the status with the least expected cost. Pure. The chances come from logistic models fitted on
writers whose texts the reader had not seen (training/reader/calibrate.py; the figures stand in the model card).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from coach.judge.evidence import NOTHING, Evidence, Find
from coach.judge.verdict import Status
from coach.knowledge.model import Kind

__all__ = ["FALSE_BLAME", "OPEN", "UNTOLD_CREDITED", "Chances", "Logistic", "features", "logistics", "verdict_of"]

# What our mistakes cost, against one item credited that was not told. To be blamed for what was said well is the worst.
FALSE_BLAME = 3.0
UNTOLD_CREDITED = 1.0
OPEN = 0.6  # left unsure, whatever is true
_FARTHEST = 12.0  # logits beyond are as good as certain


@dataclass(frozen=True, slots=True)
class Chances:
    """How likely the item was told rightly, told wrongly (a wrong name or value), and not told. They add up to one."""

    said: float
    slip: float
    skipped: float


@dataclass(frozen=True, slots=True)
class Logistic:
    """A multinomial logistic model: a row of weights and a bias for each of said, slip, skipped."""

    weights: tuple[tuple[float, ...], ...]
    bias: tuple[float, ...]

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> Logistic:
        """From the file beside the network."""
        return cls(tuple(tuple(map(float, row)) for row in data["weights"]), tuple(map(float, data["bias"])))

    def chances(self, values: Sequence[float]) -> Chances:
        """The three probabilities for the features."""
        z = [b + sum(w * v for w, v in zip(row, values, strict=True)) for row, b in zip(self.weights, self.bias, strict=True)]
        top = max(z)
        e = [math.exp(x - top) for x in z]
        return Chances(*(x / sum(e) for x in e))


def features(evidence: Evidence, kind: Kind) -> tuple[float, ...]:
    """What the logistic model of a kind looks at: logits of the places found, and whether there are such places."""
    finds = {
        Kind.PART: (evidence.anywhere, evidence.exact, evidence.wrong, evidence.slip),
        Kind.FACT: (evidence.anywhere, evidence.exact, evidence.near, evidence.wrong, evidence.slip),
        Kind.CONDITION: (evidence.anywhere, evidence.exact),
        Kind.FAULT: (evidence.anywhere, evidence.exact),
    }[kind]
    lead = (_lead(evidence.exact, evidence.wrong),) if kind in (Kind.PART, Kind.FACT) else ()
    return (*(v for find in finds for v in _pair(find)), *lead)


def _lead(right: Find, wrong: Find) -> float:
    """By how much the right one is told rather than the wrong one; what is not told at all (below 0) has no say."""
    return _kept(max(right.logit, 0.0) - max(wrong.logit, 0.0))


def _kept(logit: float) -> float:
    return max(-_FARTHEST, min(_FARTHEST, logit))


def _pair(find: Find) -> tuple[float, float]:
    there = find.logit > NOTHING
    return _kept(find.logit), float(there)


def verdict_of(chances: Chances, kind: Kind) -> Status:
    """The status with the least expected cost."""
    blame, credit = chances.said * FALSE_BLAME, (1 - chances.said) * UNTOLD_CREDITED
    if min(blame, credit) > OPEN:
        return Status.UNSURE
    if credit <= blame:
        return Status.SAID
    if chances.slip > chances.skipped:
        return Status.MISNAMED if kind is Kind.PART else Status.WRONG
    return Status.SKIPPED


def logistics(data: Mapping[str, Mapping[str, Any]]) -> dict[tuple[Kind, bool], Logistic]:
    """The models by kind, for items that the reader was taught (True) and for those it knows by description alone."""
    untaught = (Kind.PART, Kind.FACT, Kind.CONDITION)
    return {
        **{(kind, True): Logistic.of(data[kind.value]) for kind in Kind},
        **{(kind, False): Logistic.of(data[f"untaught {kind.value}" if kind in untaught else kind.value]) for kind in Kind},
    }

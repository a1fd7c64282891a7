"""How far a listener's answers are to be believed: weights fitted on generated rehearsals, shipped as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import yaml

from coach.places import knowledge_data_dir

__all__ = ["Belief", "load_calibration"]


@dataclass(frozen=True, slots=True)
class Belief:
    """A logistic model's weights by feature and its bias, and three bars.

    accept: the probability that is taken as heard. possible: the one that leaves an item unsure. faint: the confidence in
    itself below which a written word accuses nobody; 0 where the listener's confidences were not looked at.
    """

    weights: Mapping[str, float]
    bias: float
    accept: float
    possible: float
    faint: float = 0.0


@lru_cache(maxsize=8)
def load_calibration(listener: str) -> Belief:
    """What is kept for this listener; for words without sound the listener is "words"."""
    text = (knowledge_data_dir() / "calibration.yaml").read_text(encoding="utf-8")
    data = yaml.safe_load(text)["listeners"]
    weights = {str(k): float(v) for k, v in data.get(listener, data["words"])["weights"].items()}
    bars = {bar: weights.pop(bar) for bar in ("bias", "accept", "possible", "faint") if bar in weights}
    return Belief(weights, **bars)

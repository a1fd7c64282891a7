"""How far a listener's answers are to be believed: weights fitted on generated rehearsals, shipped as data."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import yaml

from coach.places import knowledge_data_dir

__all__ = ["load_calibration"]


@lru_cache(maxsize=8)
def load_calibration(listener: str) -> Mapping[str, float]:
    """Weights of the logistic model by feature; for words without sound the listener is "words".

    Among them "bias", "accept" (the probability that is taken as heard) and "possible" (that leaves an item unsure).
    """
    text = (knowledge_data_dir() / "calibration.yaml").read_text(encoding="utf-8")
    data = yaml.safe_load(text)["listeners"]
    return {str(k): float(v) for k, v in data.get(listener, data["words"])["weights"].items()}

"""The passage that a member reads for the voice check, from passage.yaml beside this file."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import yaml

__all__ = ["Passage", "load_passage"]


@dataclass(frozen=True, slots=True)
class Passage:
    """A text of about a minute in paragraphs, and the trade's words and phrases in it that are looked at one by one."""

    paragraphs: tuple[str, ...]
    trade: tuple[str, ...]


@lru_cache(maxsize=1)
def load_passage() -> Passage:
    """The shipped passage."""
    data = yaml.safe_load((Path(__file__).resolve().parent / "passage.yaml").read_text(encoding="utf-8"))
    return Passage(tuple(" ".join(p.split()) for p in data["paragraphs"]), tuple(data["trade"]))

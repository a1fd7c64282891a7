"""Words as the encoder takes them: a context it may know, then the tokens with their marks, and whose each one is.

In: sentences of plain words. Out: a Passage. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

__all__ = ["Passage", "passage"]

NOBODY = -1
_PLAIN = re.compile(r"[a-z0-9]+|[^a-z0-9\s]")


class Plain(Protocol):
    """A plain lower-case word; comma: a pause mark follows."""

    @property
    def text(self) -> str:
        """The word."""

    @property
    def comma(self) -> bool:
        """Whether a pause mark follows."""


@dataclass(frozen=True, slots=True)
class Passage:
    """words in the encoder's spelling; owners[n] is the place of the token that word n belongs to in the row of all
    tokens, NOBODY for marks and for the context."""

    words: tuple[str, ...]
    owners: tuple[int, ...]
    n_tokens: int
    n_context: int


def passage(sentences: Sequence[Sequence[Plain]], context: Sequence[str] = ()) -> Passage:
    """The sentences in one row, behind what is known beforehand ("Pepper is a barred rock hen").

    Args:
        context: plain words; they are read along, but nothing is told by them.
    """
    before = [w for word in context for w in spelled(word)]
    before += ["."] if before else []
    words, owners, at = list(before), [NOBODY] * len(before), 0
    for sentence in sentences:
        for token in sentence:
            for piece in spelled(token.text):
                words.append(piece)
                owners.append(at)
            if token.comma:
                words.append(",")
                owners.append(NOBODY)
            at += 1
        words.append(".")
        owners.append(NOBODY)
    return Passage(tuple(words), tuple(owners), at, len(before))


def spelled(text: str) -> Iterable[str]:
    """A token in the encoder's spelling: "9.5" is three of its words."""
    return _PLAIN.findall(text)

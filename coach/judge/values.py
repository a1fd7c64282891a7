"""What a card accepts for a fact, and how a heard value compares with it.

In: an item, card and bird, or a heard value. Out: accepted keys, and the match SAME, NEAR or OTHER. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum

from coach.judge.numbers import POUNDS_PER_STONE, Number
from coach.judge.tokens import words_of_phrase
from coach.knowledge.language import Language
from coach.knowledge.model import Bird, Card, Item
from coach.knowledge.values import OUNCES_PER_POUND, Value, values_of

__all__ = ["Match", "accepted", "compare_color", "compare_number", "compare_text", "compare_weight", "same_place"]

_STEMS = {"reddish": "red", "pinkish": "pink", "bluish": "blue", "slaty": "slate", "greenish": "green", "golden": "gold",
          "yellowish": "yellow", "brownish": "brown", "grayish": "gray", "whitish": "white", "creamy": "cream"}  # fmt: skip


_LARGE_TOLERANCE_LB = 0.13
_IMPERIAL = (1.0, 1 / OUNCES_PER_POUND, float(POUNDS_PER_STONE))
_LEAST_OUNCES = 8  # of a bantam's weight, as cards may have it


class Match(str, Enum):
    """How a heard value compares with the accepted ones."""

    SAME = "same"
    NEAR = "near"
    OTHER = "other"


def accepted(item: Item, card: Card, bird: Bird) -> tuple[Value, ...]:
    """The values that tell this fact rightly; empty when the card is silent. Numbers stay numbers."""
    return values_of(item.value, card, bird) if item.value else ()


def compare_number(heard: float, values: Iterable[str | float], tolerance: float = 0.0) -> Match:
    """A heard number against the accepted ones."""
    return Match.SAME if any(abs(heard - float(v)) <= tolerance + 1e-9 for v in values) else Match.OTHER


def compare_text(heard: str, values: Iterable[str | float]) -> Match:
    """A heard key against the accepted phrases, both in plain words."""
    wanted = {words_of_phrase(str(v)) for v in values}
    return Match.SAME if words_of_phrase(heard) in wanted else Match.OTHER


def compare_weight(n: Number, values: Iterable[Value], *, in_ounces: bool) -> Match:
    """A weight heard (in pounds, or a bare number) with the accepted ones in pounds.

    Rounded kilograms and ounces of large fowl stay within two ounces. A bantam's weights differ by two ounces from one another,
    so they are told to the ounce, in metric units to the nearest; a bare number of ounces is taken as such.
    """
    if not in_ounces:
        return compare_number(n.value, values, _LARGE_TOLERANCE_LB)
    imperial = n.scale in _IMPERIAL
    value = n.value / OUNCES_PER_POUND if n.unit is None and imperial and n.value >= _LEAST_OUNCES else n.value
    return compare_number(value, values, (0.5 if imperial else 1.0) / OUNCES_PER_POUND)


def same_place(key: str, text: str, values: Iterable[Value]) -> bool:
    """Whether a country or place is one of the accepted, or the end of its name ("Kent" of "the county of Kent")."""
    wanted = [str(v).lower() for v in values]
    return any(key.lower() == v or text in v or v.endswith(key.lower()) for v in wanted)


def compare_color(heard: tuple[str, ...], values: Iterable[str | float], language: Language) -> Match:
    """A heard color phrase: the same when it shares a basic color with an accepted phrase, near for close colors.

    "bay" tells "reddish bay", "light red" tells "red"; "reddish" alone tells no "bay".
    """
    mine = _basic(heard, language)
    near = False
    for value in values:
        theirs = _basic(words_of_phrase(str(value)), language)
        told = basic_of(heard, language)
        if (told and told & theirs) or set(heard) == set(words_of_phrase(str(value))):
            return Match.SAME
        near |= set(heard) <= set(words_of_phrase(str(value)))  # half of it ("reddish" of "reddish bay")
        near |= any(mine & group and theirs & group for group in language.near_colors)
    return Match.NEAR if near else Match.OTHER


def basic_of(words: Iterable[str], language: Language) -> frozenset[str]:
    """The basic colors among the words."""
    return frozenset(w for w in words if w in language.colors and w not in ("dark",))


def _basic(words: Iterable[str], language: Language) -> frozenset[str]:
    """The basic colors of a phrase; modifiers count only when nothing else is there ("dark", "reddish")."""
    words = tuple(words)
    return basic_of(words, language) or frozenset(_STEMS.get(w, w) for w in words)

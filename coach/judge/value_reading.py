"""How the value of a fact is recognised, and how it compares with the card.

In: a fact and a Candidate. Out: its kind, and the match. Pure.
"""

from __future__ import annotations

from coach.judge.candidates import Candidate
from coach.judge.numbers import OUNCES_PER_POUND
from coach.judge.values import WEIGHT_TOLERANCE_LB, Match, accepted, compare_color, compare_number, compare_text
from coach.knowledge.language import Language
from coach.knowledge.model import Bird, Card, Item
from coach.knowledge.species import fits_sex_age

__all__ = ["compare", "kind_of", "matches"]

_KINDS = {"egg_color": "color", "comb.type": "comb", "comb.points": "count", "toes": "count", "class": "class",
          "purpose": "purpose", "breed": "breed", "variety": "variety", "bird.sex_age": "sex_age"}  # fmt: skip


def kind_of(item: Item) -> str | None:
    """The kind of candidate that tells the fact."""
    path = item.value or ""
    if path.startswith("colors."):
        return "color"
    if path.startswith("weights_"):
        return "weight"
    if path.startswith("origin"):
        return "place"
    return _KINDS.get(path)


def compare(item: Item, found: Candidate, card: Card, bird: Bird, language: Language) -> Match:
    """The candidate against what the card accepts."""
    values = accepted(item, card, bird)
    if isinstance(found.value, float):
        if found.kind != "weight":
            return compare_number(found.value, values)
        readings = (found.value, found.value / OUNCES_PER_POUND) if found.bare else (found.value,)
        close = [compare_number(v, values, WEIGHT_TOLERANCE_LB) for v in readings]
        return Match.SAME if Match.SAME in close else Match.OTHER
    if isinstance(found.value, tuple):
        return compare_color(found.value, values, language)
    if found.kind == "sex_age":
        fits = fits_sex_age(card.species, found.value, bird.sex_age)
        return Match.SAME if fits else Match.OTHER if fits is False else Match.NEAR
    if found.kind == "place":
        told = found.value.lower()
        return Match.SAME if any(told in str(v).lower() for v in values) else Match.OTHER
    if found.kind == "purpose":
        return Match.SAME if set(found.value.split("+")) & {str(v) for v in values} else Match.OTHER
    return compare_text(found.value, values)


def matches(item: Item, found: Candidate, card: Card, bird: Bird, language: Language) -> bool:
    """Whether the candidate tells the fact rightly."""
    return compare(item, found, card, bird, language) is Match.SAME

"""The values that a fact may ask for: one table keyed by value path, from which both sides are derived.

What a route may ask is what stands here. How each kind of value is found in words, compared and shown stands in
`coach.judge.value_kinds`, which has an entry for every kind or does not load. So a path is accepted if and only if somebody
reads, compares and shows it. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import Enum

from coach.knowledge.cards import COLORS, SEX_AGES
from coach.knowledge.model import Bird, Card

__all__ = ["OUNCES_PER_POUND", "VALUE_PATHS", "Value", "ValueKind", "ValuePath", "kind_of", "values_of"]

Value = str | float  # as the card has it; True and False where something is there or not; weights in pounds
OUNCES_PER_POUND = 16


class ValueKind(str, Enum):
    """What sort of value it is: how it is found in words, compared and shown."""

    BREED = "breed"
    VARIETY = "variety"
    SPECIES = "species"
    SEX_AGE = "sex and age"
    SHOW_CLASS = "class"
    ORIGIN = "country or place"
    COUNTRY = "country"
    PLACE = "place"
    PERIOD = "period"
    PURPOSE = "purpose"
    COLOR = "color"
    COMB = "comb type"
    COUNT = "count"
    FEATHERED_LEGS = "feathered legs"
    POUNDS = "weight in pounds"
    OUNCES = "weight in ounces"


@dataclass(frozen=True, slots=True, kw_only=True)
class ValuePath:
    """One value of a card, or of the bird itself.

    of: what tells it rightly; nothing where the card is silent. of_part: it is said of a part, which an item that asks for
    it must name (a color alone is told of nothing).
    """

    kind: ValueKind
    of: Callable[[Card, Bird], Iterable[Value | None]]
    of_part: bool = False


def kind_of(path: str, card: Card) -> ValueKind:
    """The kind of value; of a breed that exists as a bantam alone the weights are told in ounces."""
    kind = VALUE_PATHS[path].kind
    return ValueKind.OUNCES if kind is ValueKind.POUNDS and not card.weights_lb else kind


def values_of(path: str, card: Card, bird: Bird) -> tuple[Value, ...]:
    """The values that tell it rightly; empty when the card is silent."""
    return tuple(value for value in VALUE_PATHS[path].of(card, bird) if value is not None)


def _color(part: str) -> ValuePath:
    return ValuePath(kind=ValueKind.COLOR, of=lambda card, _: card.colors.get(part, ()), of_part=True)


def _pounds(which: str) -> ValuePath:
    return ValuePath(kind=ValueKind.POUNDS, of=lambda card, _: _large(card, which) if card.weights_lb else _bantam(card, which))


def _ounces(which: str) -> ValuePath:
    return ValuePath(kind=ValueKind.OUNCES, of=lambda card, _: _bantam(card, which))


def _large(card: Card, which: str) -> list[Value]:
    return [card.weights_lb[which]] if which in card.weights_lb else []


def _bantam(card: Card, which: str) -> list[Value]:
    return [card.weights_bantam_oz[which] / OUNCES_PER_POUND] if which in card.weights_bantam_oz else []


def _origin(*parts: str) -> Callable[[Card, Bird], Iterable[Value | None]]:
    return lambda card, _: [getattr(card.origin, part) for part in parts] if card.origin else []


VALUE_PATHS: Mapping[str, ValuePath] = {
    "breed": ValuePath(kind=ValueKind.BREED, of=lambda card, _: [card.breed]),
    "variety": ValuePath(kind=ValueKind.VARIETY, of=lambda card, _: [card.variety]),
    "species": ValuePath(kind=ValueKind.SPECIES, of=lambda card, _: [card.species]),
    "bird.sex_age": ValuePath(kind=ValueKind.SEX_AGE, of=lambda _, bird: [bird.sex_age]),
    "class": ValuePath(kind=ValueKind.SHOW_CLASS, of=lambda card, _: [card.show_class]),
    "origin": ValuePath(kind=ValueKind.ORIGIN, of=_origin("country", "place")),
    "origin.country": ValuePath(kind=ValueKind.COUNTRY, of=_origin("country")),
    "origin.place": ValuePath(kind=ValueKind.PLACE, of=_origin("place")),
    "origin.period": ValuePath(kind=ValueKind.PERIOD, of=_origin("period")),
    "purpose": ValuePath(kind=ValueKind.PURPOSE, of=lambda card, _: card.purpose),
    "egg_color": ValuePath(kind=ValueKind.COLOR, of=lambda card, _: card.egg_color),
    "comb.type": ValuePath(kind=ValueKind.COMB, of=lambda card, _: [card.comb.type] if card.comb else [], of_part=True),
    "comb.points": ValuePath(kind=ValueKind.COUNT, of=lambda card, _: [card.comb.points] if card.comb else []),
    "toes": ValuePath(kind=ValueKind.COUNT, of=lambda card, _: [card.toes]),
    "feathered_legs": ValuePath(kind=ValueKind.FEATHERED_LEGS, of=lambda card, _: [card.feathered_legs]),
    **{f"colors.{part}": _color(part) for part in COLORS},
    **{f"weights_lb.{which}": _pounds(which) for which in SEX_AGES},
    **{f"weights_bantam_oz.{which}": _ounces(which) for which in SEX_AGES},
}

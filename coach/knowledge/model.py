"""What the coach knows, as frozen values: breed cards, the member's bird, routes over the body.

No files here: the loaders beside this module read and check; an unknown value is None or missing, never 0 or "".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

__all__ = ["LEVELS", "Bird", "Card", "Comb", "Fault", "Item", "Kind", "Origin", "Region", "Route", "Sex"]

LEVELS = ("junior", "intermediate", "senior")  # from the youngest members to the oldest


class Kind(str, Enum):
    """What an item asks of the member."""

    PART = "part"  # the term must be named
    FACT = "fact"  # the card's value must be told
    CONDITION = "condition"  # what was checked must be told
    FAULT = "fault"  # the bird's own fault, or the plan about it


class Sex(str, Enum):
    """Which birds an item is asked of."""

    FEMALE = "f"
    MALE = "m"


@dataclass(frozen=True, slots=True)
class Comb:
    """Comb type in show words, and the number of points where a standard fixes it."""

    type: str
    points: int | None = None


@dataclass(frozen=True, slots=True)
class Origin:
    """Where and roughly when a breed arose."""

    country: str | None = None
    place: str | None = None
    period: str | None = None


@dataclass(frozen=True, slots=True)
class Card:
    """A breed card. colors maps a part (beak, eye, earlobe, shank, ...) to its accepted phrases."""

    id: str
    species: str
    breed: str
    variety: str | None = None
    show_class: str | None = None  # "class" in the file
    origin: Origin | None = None
    purpose: tuple[str, ...] = ()
    egg_color: tuple[str, ...] = ()
    comb: Comb | None = None
    colors: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    toes: int | None = None
    feathered_legs: bool | None = None
    weights_lb: Mapping[str, float] = field(default_factory=dict)  # cock, hen, cockerel, pullet -> pounds
    weights_bantam_oz: Mapping[str, float] = field(default_factory=dict)  # the same -> ounces
    history: str | None = None
    disqualifications: tuple[str, ...] = ()
    sounds_like: Mapping[str, str] = field(default_factory=dict)  # word -> respelling in everyday words
    sources: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # value group or "*" -> source keys


@dataclass(frozen=True, slots=True)
class Fault:
    """An honest fault of the member's bird: phrases that tell it, and the plan about it."""

    id: str
    region: str
    say: str
    also: tuple[str, ...] = ()
    plan: str | None = None
    plan_words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Bird:
    """The member's own bird."""

    id: str
    name: str
    card: str
    sex_age: str
    faults: tuple[Fault, ...] = ()

    @property
    def sex(self) -> Sex:
        """Male for a cock or a cockerel."""
        return Sex.MALE if self.sex_age in ("cock", "cockerel") else Sex.FEMALE


@dataclass(frozen=True, slots=True)
class Region:
    """One station of the route; say holds everyday words that show the member has come here."""

    id: str
    title: str
    say: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to tell.

    about is the part a fact or condition speaks of; value the card's dotted path ("colors.beak", "bird.sex_age").
    cues tell a condition by themselves; cues_of_part do so only when said of the part.
    also_regions are further regions where the item may be told. line is a sentence that tells it, with {value}.
    level is the youngest level it is asked at: a junior item is asked of everybody.
    """

    id: str
    kind: Kind
    title: str
    line: str
    say: tuple[str, ...] = ()
    wrong_names: tuple[str, ...] = ()
    about: str | None = None
    value: str | None = None
    cues: tuple[str, ...] = ()
    cues_of_part: tuple[str, ...] = ()
    also_regions: tuple[str, ...] = ()
    sex: Sex | None = None
    optional: bool = False
    level: str = LEVELS[0]

    @property
    def region(self) -> str:
        """The region (or "facts") the item belongs to."""
        return self.id.split(".", 1)[0]


@dataclass(frozen=True, slots=True)
class Route:
    """Regions in expected order and the items told there; "facts" items have no region of their own."""

    id: str
    title: str
    species: tuple[str, ...]
    regions: tuple[Region, ...]
    items: tuple[Item, ...]
    source: str | None = None

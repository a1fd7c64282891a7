"""What stands on a study sheet: a bird, its card and a route in, stations and facts out. Pure.

Levels give the density: a junior's sheet holds what a junior is asked, a senior's everything, the extras among it.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.judge.lexicon import item_applies
from coach.judge.value_kinds import in_line, show
from coach.knowledge.model import LEVELS, Bird, Card, Item, Kind, Route
from coach.knowledge.route_views import at_level
from coach.knowledge.routes import FACTS
from coach.knowledge.species import sex_age_word
from coach.knowledge.values import ValueKind, kind_of

__all__ = ["CAUTIONS", "Check", "Fact", "Part", "Station", "StudySheet", "study_sheet"]

CAUTIONS = (
    "Practice only: your show's rules, the breed standard and the judge decide; check the values against the current standard.",
    "Wash your hands before and after. Hold the bird upright with its body supported, never upside down.",
    "A sick bird stays home: ask a veterinarian.",
)


@dataclass(frozen=True, slots=True)
class Part:
    """A part to name, the names it is not called, and short values of it ("single", "5 points")."""

    name: str
    wrong_names: tuple[str, ...] = ()
    values: tuple[str, ...] = ()
    extra: bool = False


@dataclass(frozen=True, slots=True)
class Check:
    """A condition to check: what ("beak"), and a sentence that tells a good finding."""

    what: str
    line: str


@dataclass(frozen=True, slots=True)
class Station:
    """One region: its number in the route, what to name, to check and to say there, and the bird's own faults seen there."""

    number: int
    region: str
    title: str
    parts: tuple[Part, ...]
    checks: tuple[Check, ...]
    says: tuple[str, ...]
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fact:
    """A breed fact: what it is, and its value in words."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class StudySheet:
    """All that is printed. faults: each told fault with the plan about it."""

    bird: str
    breed: str
    species: str
    sex_age: str
    male: bool
    level: str
    route: str
    stations: tuple[Station, ...]
    facts: tuple[Fact, ...]
    faults: tuple[tuple[str, str | None], ...]


def study_sheet(bird: Bird, card: Card, route: Route, level: str = LEVELS[-1]) -> StudySheet:
    """The sheet of a bird.

    Raises:
        CoachError: there is no such level.
    """
    asked = at_level(route, level)
    senior = level == LEVELS[-1]
    items = [item for item in asked.items if item_applies(item, card, bird) and (senior or not item.optional)]
    return StudySheet(
        bird=bird.name,
        breed=" ".join(part for part in (card.variety, card.breed) if part),
        species=card.species,
        sex_age=sex_age_word(card.species, bird.sex_age),
        male=bird.sex.value == "m",
        level=level,
        route=route.title,
        stations=tuple(
            _station(n, region.id, region.title, [item for item in items if item.region == region.id], card, bird, level)
            for n, region in enumerate(asked.regions, 1)
        ),
        facts=tuple(Fact(item.title, _value(item, card, bird)) for item in items if item.region == FACTS),
        faults=tuple((fault.say, fault.plan) for fault in bird.faults),
    )


def _station(n: int, region: str, title: str, items: list[Item], card: Card, bird: Bird, level: str) -> Station:
    facts = [item for item in items if item.kind is Kind.FACT]
    return Station(
        number=n,
        region=region,
        title=title,
        parts=tuple(_part(item, facts, card, bird, level) for item in items if item.kind is Kind.PART and _is_there(item, card)),
        checks=tuple(Check(item.title.removesuffix(" checked"), item.line) for item in items if item.kind is Kind.CONDITION),
        says=tuple(in_line(item.line, show(item, card, bird)) for item in facts),
        faults=tuple(fault.say for fault in bird.faults if fault.region == region),
    )


def _is_there(item: Item, card: Card) -> bool:
    """False for an optional part that only some breeds have, when the card gives it no color (a knob, a dewlap)."""
    return not item.optional or item.id.partition(".")[2] not in ("no_comb", "knob", "dewlap") or (
        item.id.partition(".")[2] in card.colors
    )  # fmt: skip


def _part(item: Item, facts: list[Item], card: Card, bird: Bird, level: str) -> Part:
    mine = [fact for fact in facts if fact.about == item.id]
    values = tuple(_short(fact, card, bird) for fact in mine)
    wrong = item.wrong_names[:1] if level != LEVELS[0] else ()
    return Part(item.title, wrong, values, item.optional)


def _short(item: Item, card: Card, bird: Bird) -> str:
    """A value in the fewest words: "5 points", "4 toes", "white or pinkish white"."""
    value = show(item, card, bird)
    counted = {"comb.points": "points", "toes": "on each foot"}.get(item.value or "")
    return f"{value} {counted}" if counted else value


def _value(item: Item, card: Card, bird: Bird) -> str:
    value = show(item, card, bird)
    is_pounds = item.value is not None and kind_of(item.value, card) is ValueKind.POUNDS
    return f"{value} pounds" if is_pounds else value

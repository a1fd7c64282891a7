"""Every kind of value: how it is found in words, read in a sentence, compared with a card, and shown.

The other side of `coach.knowledge.values`, which says what may be asked: this module does not load unless each kind there has
its entry here. In: words or a Scene, and the values that a card accepts. Out: Candidates, FactHeard, a Match, text. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from coach.judge import candidates as found_in
from coach.judge.breed_facts import (
    read_class,
    read_country,
    read_feathered_legs,
    read_origin,
    read_period,
    read_place,
    read_purpose,
    read_species,
    same_place,
    same_time,
)
from coach.judge.candidates import Candidate, Known
from coach.judge.colors import read_colors
from coach.judge.counts import read_comb_type, read_counts
from coach.judge.names import read_breed, read_sex_age, read_variety
from coach.judge.numbers import Number, spoken
from coach.judge.scene import FactHeard, Scene
from coach.judge.values import Match, accepted, compare_color, compare_number, compare_text
from coach.judge.weights import compare_weight, read_weights
from coach.knowledge.model import Bird, Card, Item
from coach.knowledge.species import fits_sex_age, sex_age_word
from coach.knowledge.values import OUNCES_PER_POUND, Value, ValueKind, kind_of

__all__ = ["KINDS", "Kind", "compare", "find", "in_line", "read", "show"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of value.

    find: all values of the kind in plain words, with their places, whatever they are said of.
    read: those that a sentence says of an item of the route, compared.
    compare: one that was found with what the card accepts.
    show: what the card accepts, as a person says it.
    """

    find: Callable[[Sequence[str], Known], Iterable[Candidate]]
    read: Callable[[Scene], Iterable[FactHeard]]
    compare: Callable[[Candidate, Sequence[Value], Known], Match]
    show: Callable[[Sequence[Value], Card], str]


def find(path: str, words: Sequence[str], known: Known) -> tuple[Candidate, ...]:
    """All values in plain words that could be meant for this value path, left to right."""
    return tuple(KINDS[kind_of(path, known.card)].find(words, known))


def read(scene: Scene) -> Iterator[FactHeard]:
    """Every value that the sentence says of an item of the route."""
    for reader in dict.fromkeys(kind.read for kind in KINDS.values()):  # one reads several kinds
        yield from reader(scene)


def compare(path: str, candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    """A value that was found with the accepted ones."""
    return KINDS[kind_of(path, known.card)].compare(candidate, values, known)


def show(item: Item, card: Card, bird: Bird) -> str:
    """The expected value as a person says it: "slate or bluish slate", "nine and a half", "36 ounces"; "" without one."""
    values = accepted(item, card, bird)
    return KINDS[kind_of(item.value, card)].show(values, card) if item.value and values else ""


def in_line(line: str, shown: str) -> str:
    """The line of an item with the value put in; a unit that the value brings along is not said twice."""
    return re.sub(r"\b(ounces|legs) (pounds|ounces|legs)\b", r"\1", line.replace("{value}", shown))


# --- comparing ------------------------------------------------------------------------------------------------------


def _text(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    same = (compare_text(text, values) is Match.SAME for text in (str(candidate.value), candidate.text))
    return Match.SAME if any(same) else Match.OTHER


def _place(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    return Match.SAME if same_place(str(candidate.value), candidate.text, values) else Match.OTHER


def _purpose(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    told = set(candidate.value) if isinstance(candidate.value, tuple) else set()
    return Match.SAME if set(values) <= told else Match.NEAR if told & set(values) else Match.OTHER


def _color(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    return compare_color(tuple(candidate.text.split()), values, known.language)


def _count(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    return compare_number(_number(candidate).value, values)


def _pounds(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    return compare_weight(_number(candidate), values, in_ounces=False)


def _ounces(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    return compare_weight(_number(candidate), values, in_ounces=True)


def _period(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    return same_time(candidate, values)


def _flag(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    return Match.SAME if candidate.value in values else Match.OTHER


def _sex_age(candidate: Candidate, values: Sequence[Value], known: Known) -> Match:
    fits = [fits_sex_age(known.card.species, str(candidate.value), str(key)) for key in values]
    return Match.SAME if True in fits else Match.NEAR if None in fits else Match.OTHER


def _number(candidate: Candidate) -> Number:
    assert isinstance(candidate.value, Number)
    return candidate.value


# --- showing --------------------------------------------------------------------------------------------------------


def _any_of(values: Sequence[Value], card: Card) -> str:
    return " or ".join(str(v) for v in values)


def _all_of(values: Sequence[Value], card: Card) -> str:
    return " and ".join(str(v) for v in values)


def _smallest_first(values: Sequence[Value], card: Card) -> str:
    return ", ".join(str(v) for v in reversed(values))


def _spoken(values: Sequence[Value], card: Card) -> str:
    return " or ".join(spoken(float(v)) for v in values)


def _in_ounces(values: Sequence[Value], card: Card) -> str:
    return " or ".join(f"{float(v) * OUNCES_PER_POUND:g} ounces" for v in values)


def _legs(values: Sequence[Value], card: Card) -> str:
    return "feathered legs" if True in values else "clean legs"


def _bird(values: Sequence[Value], card: Card) -> str:
    return sex_age_word(card.species, str(values[0]))


KINDS: Mapping[ValueKind, Kind] = {
    ValueKind.BREED: Kind(find=found_in.breeds, read=read_breed, compare=_text, show=_any_of),
    ValueKind.VARIETY: Kind(find=found_in.varieties, read=read_variety, compare=_text, show=_any_of),
    ValueKind.SPECIES: Kind(find=found_in.species, read=read_species, compare=_text, show=_any_of),
    ValueKind.SEX_AGE: Kind(find=found_in.sex_ages, read=read_sex_age, compare=_sex_age, show=_bird),
    ValueKind.SHOW_CLASS: Kind(find=found_in.classes, read=read_class, compare=_text, show=_any_of),
    ValueKind.ORIGIN: Kind(find=found_in.whereabouts, read=read_origin, compare=_place, show=_smallest_first),
    ValueKind.COUNTRY: Kind(find=found_in.countries, read=read_country, compare=_place, show=_any_of),
    ValueKind.PLACE: Kind(find=found_in.places, read=read_place, compare=_place, show=_any_of),
    ValueKind.PERIOD: Kind(find=found_in.periods, read=read_period, compare=_period, show=_any_of),
    ValueKind.PURPOSE: Kind(find=found_in.purposes, read=read_purpose, compare=_purpose, show=_all_of),
    ValueKind.COLOR: Kind(find=found_in.colors, read=read_colors, compare=_color, show=_any_of),
    ValueKind.COMB: Kind(find=found_in.combs, read=read_comb_type, compare=_text, show=_any_of),
    ValueKind.COUNT: Kind(find=found_in.counts, read=read_counts, compare=_count, show=_spoken),
    ValueKind.FEATHERED_LEGS: Kind(find=found_in.feathered_legs, read=read_feathered_legs, compare=_flag, show=_legs),
    ValueKind.POUNDS: Kind(find=found_in.weights, read=read_weights, compare=_pounds, show=_spoken),
    ValueKind.OUNCES: Kind(find=found_in.weights, read=read_weights, compare=_ounces, show=_in_ounces),
}
if missing := set(ValueKind) - set(KINDS):
    raise TypeError(f"nobody reads {', '.join(sorted(missing))}: give each kind of coach.knowledge.values its entry here")

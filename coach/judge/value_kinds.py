"""Every kind of value: how it is found in words, compared with a card, and shown.

The other side of `coach.knowledge.values`, which says what may be asked: this module does not load unless each kind there has
its entry here. In: words, and the values that a card accepts. Out: Candidates, a Match, text. Pure. What a value is said of is
not asked here: the reader knows that.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from coach.judge import candidates as found_in
from coach.judge.candidates import Candidate, Known, years_of
from coach.judge.numbers import Number, spoken
from coach.judge.tokens import Sentence
from coach.judge.values import Match, accepted, compare_color, compare_number, compare_text, compare_weight, same_place
from coach.knowledge.model import Bird, Card, Item
from coach.knowledge.species import fits_sex_age, sex_age_word
from coach.knowledge.values import OUNCES_PER_POUND, Value, ValueKind, kind_of

__all__ = ["KINDS", "Kind", "compare", "find", "find_all", "in_line", "show"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of value.

    find: all values of the kind in plain words, with their places, whatever they are said of.
    compare: one that was found with what the card accepts.
    show: what the card accepts, as a person says it.
    """

    find: Callable[[Sequence[str], Known], Iterable[Candidate]]
    compare: Callable[[Candidate, Sequence[Value], Known], Match]
    show: Callable[[Sequence[Value], Card], str]


def find(path: str, words: Sequence[str], known: Known) -> tuple[Candidate, ...]:
    """All values in plain words that could be meant for this value path, left to right."""
    return tuple(KINDS[kind_of(path, known.card)].find(words, known))


def find_all(kind: ValueKind, sentences: Sequence[Sentence], known: Known) -> tuple[Candidate, ...]:
    """All values of a kind in a rehearsal; their places are in the row of all tokens."""
    out: list[Candidate] = []
    at = 0
    for sentence in sentences:
        here = KINDS[kind].find([t.text for t in sentence], known)
        out += (replace(c, start=c.start + at, end=c.end + at) for c in here)
        at += len(sentence)
    return tuple(out)


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


NEAR_YEARS = 10


def same_time(candidate: Candidate, values: Iterable[Value]) -> Match:
    """A time told with the accepted periods: the same where they overlap, near within ten years."""
    told = candidate.value
    spans = [years for v in values if (years := years_of(str(v)))]
    if not isinstance(told, tuple) or not isinstance(told[0], int):
        return Match.OTHER
    first, last = int(told[0]), int(told[1])
    apart = min((max(a - last, first - b, 0) for a, b in spans), default=NEAR_YEARS + 1)
    return Match.SAME if apart == 0 else Match.NEAR if apart <= NEAR_YEARS else Match.OTHER


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
    ValueKind.BREED: Kind(find=found_in.breeds, compare=_text, show=_any_of),
    ValueKind.VARIETY: Kind(find=found_in.varieties, compare=_text, show=_any_of),
    ValueKind.SPECIES: Kind(find=found_in.species, compare=_text, show=_any_of),
    ValueKind.SEX_AGE: Kind(find=found_in.sex_ages, compare=_sex_age, show=_bird),
    ValueKind.SHOW_CLASS: Kind(find=found_in.classes, compare=_text, show=_any_of),
    ValueKind.ORIGIN: Kind(find=found_in.whereabouts, compare=_place, show=_smallest_first),
    ValueKind.COUNTRY: Kind(find=found_in.countries, compare=_place, show=_any_of),
    ValueKind.PLACE: Kind(find=found_in.places, compare=_place, show=_any_of),
    ValueKind.PERIOD: Kind(find=found_in.periods, compare=_period, show=_any_of),
    ValueKind.PURPOSE: Kind(find=found_in.purposes, compare=_purpose, show=_all_of),
    ValueKind.COLOR: Kind(find=found_in.colors, compare=_color, show=_any_of),
    ValueKind.COMB: Kind(find=found_in.combs, compare=_text, show=_any_of),
    ValueKind.COUNT: Kind(find=found_in.counts, compare=_count, show=_spoken),
    ValueKind.FEATHERED_LEGS: Kind(find=found_in.feathered_legs, compare=_flag, show=_legs),
    ValueKind.POUNDS: Kind(find=found_in.weights, compare=_pounds, show=_spoken),
    ValueKind.OUNCES: Kind(find=found_in.weights, compare=_ounces, show=_in_ounces),
}
if missing := set(ValueKind) - set(KINDS):
    raise TypeError(f"nobody reads {', '.join(sorted(missing))}: give each kind of coach.knowledge.values its entry here")

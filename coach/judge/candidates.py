"""Values in words, by kind: every color, count, weight, country, year ... with its place, whatever it is said of.

In: plain words, and what is known (card, language). Out: Candidates, left to right. Pure. Nothing is looked for because a card
expects it; what a value is said of, and whether it is denied, is for those who read sentences.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from coach.judge.numbers import Number, numbers
from coach.judge.tokens import singular, words_of_phrase
from coach.knowledge.cards import breed_names
from coach.knowledge.language import Language
from coach.knowledge.model import Card
from coach.knowledge.species import WORDS, sex_age_words
from coach.knowledge.values import OUNCES_PER_POUND

__all__ = [
    *("Candidate", "Known", "Years"),
    *("breeds", "classes", "colors", "combs", "counts", "countries", "feathered_legs", "periods", "places", "purposes"),
    *("sex_ages", "species", "varieties", "weights", "whereabouts", "years_of"),
]

Years = tuple[int, int]  # first and last (included)
_LONG_AGO = {"ancient": (0, 1000), "very old": (0, 1700), "hundreds of years": (0, 1800), "thousands of years": (0, 1000)}
_ABOUT_YEARS = 5
_PARTS_OF_A_TIME = {"early": (0.0, 0.4), "mid": (0.3, 0.7), "middle": (0.3, 0.7), "late": (0.6, 1.0)}
_CENTURIES = "eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth".split()
_TENS = "tens twenties thirties forties fifties sixties seventies eighties nineties".split()
_DECADES = {word: 10 * n for n, word in enumerate(_TENS, 1)}
_LEGS = frozenset("leg shank foot feet toe".split())
_FEATHERED = frozenset("feather feathered feathering".split())
_BARE = frozenset("unfeathered featherless bare".split())
_NO_FEATHERS = frozenset("no not never without free unfeathered featherless lack bare".split())
_FRONT, _BEHIND = frozenset({"front", "forward"}), frozenset({"back", "behind", "rear", "backward"})
_MOST_TOES = 10
_CLEAN = ("clean", "smooth", "bare")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What candidates are read and compared with."""

    card: Card
    language: Language


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A value at tokens start (included) to end (excluded).

    value: a key of the language file or a name as cards have it; a Number; the words of a color; all purposes told; Years;
    True or False. text: the words themselves.
    """

    start: int
    end: int
    value: str | Number | tuple[str, ...] | Years | bool
    text: str


def _candidate(words: Sequence[str], start: int, end: int, value: str | Number | tuple[str, ...] | Years | bool) -> Candidate:
    return Candidate(start=start, end=end, value=value, text=" ".join(words[start:end]))


# --- colors, numbers ------------------------------------------------------------------------------------------------


def colors(words: Sequence[str], known: Known, taken: Collection[int] = ()) -> Iterator[Candidate]:
    """Runs of color words with at least one basic color or a word like "reddish"; taken: tokens of something longer."""
    basic, hues = known.language.colors, known.language.colors | known.language.color_modifiers
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and end not in taken and words[end] in hues:
            end += 1
        run = tuple(words[at:end])
        if any(w in basic for w in run) or any(w.endswith("ish") for w in run):
            yield _candidate(words, at, end, run)
        at = max(end, at + 1)


def counts(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Numbers without a unit of weight, and those in front and behind added up ("three in front and one behind")."""
    plain = [n for n in numbers(words) if n.unit is None]
    yield from (_candidate(words, n.start, n.end, n) for n in plain)
    for first, second in pairwise(plain):
        around, total = set(words[max(0, first.start - 4) : second.end + 6]), first.value + second.value
        if _FRONT & around and _BEHIND & around and total < _MOST_TOES:
            yield _candidate(words, first.start, second.end, Number(first.start, second.end, total))


def weights(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Weights in pounds, and bare numbers, which may be weights too.

    A bare number is in the unit of the weight before it, or else of the next ("a hen 3.63 kilos, a cockerel 3.86").
    """
    found = numbers(words)
    scale = next((n.scale for n in found if n.unit), 1.0)
    for n in found:
        scale = n.scale if n.unit else scale
        yield _candidate(words, n.start, n.end, n if n.unit or scale == 1.0 else replace(n, value=n.value * scale, scale=scale))
    for first, second in pairwise(found):
        touching = first.end == second.start and first.unit and first.scale == 1.0 and second.unit is None
        if touching and second.value < OUNCES_PER_POUND:  # "one pound ten"
            total = first.value + second.value / OUNCES_PER_POUND
            yield _candidate(words, first.start, second.end, replace(first, end=second.end, value=total))


# --- names ----------------------------------------------------------------------------------------------------------


def combs(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Types of comb."""
    own = {known.card.comb.type.lower(): (known.card.comb.type,)} if known.card.comb else {}
    return _named(words, {**own, **known.language.comb_types})


def classes(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Show classes of the species."""
    own = {known.card.show_class: (known.card.show_class,)} if known.card.show_class else {}
    return _named(words, {**own, **known.language.classes_of(known.card.species)})


def countries(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Countries, by name or adjective."""
    species, own = known.card.species, known.card.origin.country if known.card.origin else None
    table = {key: tuple(f for f in forms if f != species) for key, forms in known.language.countries.items()}
    return _named(words, {**({own.lower(): (own,)} if own and own not in table else {}), **table})


def places(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Smaller places: counties, towns, continents."""
    own = known.card.origin.place if known.card.origin else None
    return _named(words, {place: (place,) for place in (*known.language.places, *([own.lower()] if own else []))})


def whereabouts(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Countries and places."""
    return iter(sorted((*countries(words, known), *places(words, known)), key=lambda c: (c.start, -c.end)))


def breeds(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Breeds of the species."""
    names = {*breed_names(known.card.species), known.card.breed}
    short = known.language.breed_short
    return _named(words, {name.lower(): (name, *short.get(name, ())) for name in names})


def varieties(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Varieties of any breed of the species."""
    names = {v for found in breed_names(known.card.species).values() for v in found} | {known.card.variety or ""}
    return _named(words, {name.lower(): (name,) for name in names if name})


def species(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """Species: a chicken, a duck, a goose, a turkey, a guinea fowl."""
    return _named(words, {**{name: (name,) for name in WORDS}, "goose": ("goose", "geese"), "guinea": ("guinea", "guinea fowl")})


def sex_ages(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """What the species' birds are called by sex and age; the value is the word itself, in the singular."""
    forms = {form: (form,) for found in sex_age_words(known.card.species).values() for form in found}
    return _named(words, forms)


def purposes(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """All purposes told, as one candidate."""
    both = {"eggs+meat": known.language.purpose_both}
    found = list(_named(words, {**known.language.purposes, **both}))
    if found:
        keys = tuple(dict.fromkeys(key for c in found for key in str(c.value).split("+")))
        yield _candidate(words, found[0].start, found[-1].end, keys)


def _named(words: Sequence[str], table: Mapping[str, Iterable[str]]) -> Iterator[Candidate]:
    """Phrases of the table, in singular or plural, the longest where they overlap; the value is the phrase's key."""
    plain = [singular(w) for w in words]
    by_first = _by_first(tuple((key, tuple(forms)) for key, forms in table.items()))
    at = 0
    while at < len(plain):
        fits = ((form, key) for form, key in by_first.get(plain[at], ()) if tuple(plain[at : at + len(form)]) == form)
        form, key = next(fits, ((), ""))
        if form:
            yield _candidate(words, at, at + len(form), key)
        at += max(1, len(form))


@lru_cache(maxsize=512)
def _by_first(table: tuple[tuple[str, tuple[str, ...]], ...]) -> Mapping[str, list[tuple[tuple[str, ...], str]]]:
    """The table's phrases by their first word, in the singular, the longest first, each with its key."""
    out: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for key, forms in table:
        for form in forms:
            plain = tuple(singular(w) for w in words_of_phrase(form))
            if plain:
                out.setdefault(plain[0], []).append((plain, key))
    for found in out.values():
        found.sort(key=lambda entry: -len(entry[0]))
    return out


# --- feathered legs -------------------------------------------------------------------------------------------------


def feathered_legs(words: Sequence[str], known: Known) -> Iterator[Candidate]:
    """ "Feathered shanks" and "feathers on her legs" are True; "clean legged" and "no feathers on the legs" False.

    "Clean legs" alone says nothing: it tells that they were washed.
    """
    plain = [singular(w) for w in words]
    for at, word in enumerate(plain):
        near = [n for n in range(max(0, at - 5), min(len(plain), at + 6)) if plain[n] in _LEGS]
        if word in ("legged", "shanked") and at and plain[at - 1] in _CLEAN:
            yield _candidate(words, at - 1, at + 1, False)
        elif word == "legged" and at and plain[at - 1] in _FEATHERED:
            yield _candidate(words, at - 1, at + 1, not _NO_FEATHERS & set(plain[max(0, at - 4) : at - 1]))
        elif near and (word in _FEATHERED or word in _BARE):
            part = min(near, key=lambda n: abs(n - at))
            start = min(at, part)
            denied = word in _BARE or bool(_NO_FEATHERS & set(plain[max(0, at - 3) : at]))
            yield _candidate(words, start, max(at, part) + 1, not denied)


# --- times ----------------------------------------------------------------------------------------------------------


def periods(words: Sequence[str], known: Known | None = None) -> Iterator[Candidate]:
    """Years, decades and centuries in figures or words ("1880s", "eighteen eighty six", "the late nineteenth century")."""
    at = 0
    while at < len(words):
        found = _time(words, at)
        if found is None:
            at += 1
            continue
        end, years = found
        start, years = _narrowed(words, at, years)
        yield _candidate(words, start, end, years)
        at = end


def years_of(text: str) -> Years | None:
    """The years that a card's period covers ("1840s to 1870s", "before 1850"); None when it names none."""
    words = words_of_phrase(text)
    found = [c.value for c in periods(words)]
    spans = [v for v in found if isinstance(v, tuple) and len(v) == 2 and isinstance(v[0], int) and isinstance(v[1], int)]
    return (min(a for a, _ in spans), max(b for _, b in spans)) if spans else None


def _time(words: Sequence[str], at: int) -> tuple[int, Years] | None:
    """The end and the years of a time that begins here."""
    for phrase, years in _LONG_AGO.items():
        form = phrase.split()
        if list(words[at : at + len(form)]) == form:
            return at + len(form), years
    if words[at] in _CENTURIES and list(words[at + 1 : at + 2]) in (["century"], ["centuries"]):
        first = 1000 + 100 * _CENTURIES.index(words[at])
        return at + 2, (first, first + 99)
    if re.fullmatch(r"1\d\d\d|20\d\d", words[at]):
        return _of_year(words, at + 1, int(words[at]))
    hundreds = numbers(words[at : at + 1])
    if not hundreds or not 10 <= hundreds[0].value <= 20 or hundreds[0].end != 1:
        return None
    first, after = 100 * int(hundreds[0].value), words[at + 1 : at + 2]
    if not after:
        return None
    if tuple(words[at + 1 : at + 3]) in (("th", "century"), ("th", "centuries")):  # "19th century"
        return at + 3, (first - 100, first - 1)
    if after[0] in ("hundred", "hundreds"):
        return _of_year(words, at + 2, first) if after[0] == "hundred" else (at + 2, (first, first + 99))
    if after[0] == "oh" and (ones := numbers(words[at + 2 : at + 3])):
        return at + 3, (first + int(ones[0].value), first + int(ones[0].value))
    if after[0] in _DECADES:
        return at + 2, (first + _DECADES[after[0]], first + _DECADES[after[0]] + 9)
    rest = numbers(words[at + 1 : at + 3])
    if rest and rest[0].start == 0 and 10 <= rest[0].value <= 99 and rest[0].unit is None:
        return _of_year(words, at + 1 + rest[0].end, first + int(rest[0].value))
    return None


def _of_year(words: Sequence[str], end: int, year: int) -> tuple[int, Years]:
    """A year, or with an s after it its decade or century ("1800s", "1880s")."""
    if tuple(words[end : end + 1]) in (("s",), ("'s",)) and year % 10 == 0:
        return end + 1, (year, year + (99 if year % 100 == 0 else 9))
    return end, (year, year)


def _narrowed(words: Sequence[str], at: int, years: Years) -> tuple[int, Years]:
    """The time with "late", "before" or "about" taken in from the words right before it."""
    first, last = years
    start, spans = at, []
    while start and words[start - 1] in (*_PARTS_OF_A_TIME, "to", "the", "in", "or"):
        start -= 1
        if words[start] in _PARTS_OF_A_TIME:
            spans.append(_PARTS_OF_A_TIME[words[start]])
    length = last - first
    if spans and length:
        years = (first + round(min(a for a, _ in spans) * length), first + round(max(b for _, b in spans) * length))
        return start, years
    if at and words[at - 1] in ("before", "by"):
        return at - 1, (0, last)
    if at and words[at - 1] in ("about", "around", "circa", "roughly") and first == last:
        return at - 1, (first - _ABOUT_YEARS, last + _ABOUT_YEARS)
    return at, years

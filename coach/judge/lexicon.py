"""Every phrase the judge listens for with this route, card and bird: parts, wrong names, cues and values.

In: knowledge. Out: a Lexicon of Entries, the same for right and wrong values, so that nothing is won by being expected.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum

from coach.judge.tokens import singular, words_of_phrase
from coach.knowledge.language import Language
from coach.knowledge.model import Bird, Card, Item, Kind, Route
from coach.knowledge.species import sex_age_words

__all__ = ["Entry", "Lexicon", "Meaning", "build_lexicon", "item_applies", "item_required"]

SEX_AGES = ("cock", "hen", "cockerel", "pullet")


class Meaning(str, Enum):
    """What a phrase stands for."""

    PART = "part"
    NAME = "wrong name"
    OF = "said of"  # shows what a condition is said of, names nothing
    CUE = "cue"
    CUE_OF_PART = "cue of a part"
    COMB_TYPE = "comb type"
    SHOW_CLASS = "class"
    PLACE = "place"
    BREED = "breed"
    VARIETY = "variety"
    SEX_AGE = "sex and age"
    PURPOSE = "purpose"
    REGION = "region"
    EGG = "egg"


@dataclass(frozen=True, slots=True)
class Entry:
    """A phrase in plain words, what it stands for and the item or value it means."""

    words: tuple[str, ...]
    meaning: Meaning
    key: str

    @property
    def text(self) -> str:
        """The phrase as one string."""
        return " ".join(self.words)


@dataclass(frozen=True, slots=True)
class Lexicon:
    """Entries by their first word in the singular, longest first."""

    route: Route
    card: Card
    bird: Bird
    items: Mapping[str, Item]
    by_first: Mapping[str, tuple[Entry, ...]]
    entries: tuple[Entry, ...]
    about: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # part item -> items that speak of it
    breeds: Mapping[str, frozenset[str]] = field(default_factory=dict)  # breed -> its varieties

    def starting(self, word: str) -> tuple[Entry, ...]:
        """Entries whose first word is this one, singular or plural."""
        return self.by_first.get(singular(word), ())


def item_applies(item: Item, card: Card, bird: Bird) -> bool:
    """Whether the item is asked of this bird: its sex fits, and the card knows a fact's value."""
    from coach.judge.values import accepted

    if item.sex is not None and item.sex is not bird.sex:
        return False
    if item.value == "comb.points" and (card.comb is None or "single" not in card.comb.type):
        return False
    return item.kind is not Kind.FACT or bool(accepted(item, card, bird))


def item_required(item: Item, bird: Bird) -> bool:
    """Whether leaving it out is a miss: of the weights the two adult ones and the bird's own."""
    if item.value and item.value.startswith("weights_") and not item.optional:
        which = item.value.rsplit(".", 1)[1]
        return which in ("cock", "hen") or which == bird.sex_age
    return not item.optional


def build_lexicon(route: Route, card: Card, bird: Bird, language: Language, breeds: Mapping[str, frozenset[str]]) -> Lexicon:
    """All entries.

    Args:
        breeds: breed names with their varieties, from the shipped cards: what else the bird could be called.
    """
    seen: dict[tuple[tuple[str, ...], Meaning, str], Entry] = {}
    for words, meaning, key in (
        *_from_route(route), *_from_language(language, card.species), *_from_cards(card, breeds), *_sex_ages(card.species),
        *((w, Meaning.EGG, "egg") for w in ("egg", "eggs")),
    ):  # fmt: skip
        plain = words_of_phrase(words)
        if plain:
            seen.setdefault((plain, meaning, key), Entry(plain, meaning, key))
    entries = tuple(seen.values())
    by_first: dict[str, list[Entry]] = {}
    for entry in entries:
        by_first.setdefault(singular(entry.words[0]), []).append(entry)
    about: dict[str, list[str]] = {}
    for item in route.items:
        if item.about:
            about.setdefault(item.about, []).append(item.id)
    return Lexicon(
        route, card, bird, {i.id: i for i in route.items},
        {k: tuple(sorted(v, key=lambda e: -len(e.words))) for k, v in by_first.items()}, entries,
        {k: tuple(v) for k, v in about.items()},
        {**breeds, card.breed: breeds.get(card.breed, frozenset()) | ({card.variety} if card.variety else set())},
    )  # fmt: skip


def _sex_ages(species: str) -> Iterator[tuple[str, Meaning, str]]:
    """What the species' birds are called ("young drake"); the key is the chickens' word for the same sex and age."""
    return ((form, Meaning.SEX_AGE, key) for key, forms in sex_age_words(species).items() for form in forms)


def _from_route(route: Route) -> Iterator[tuple[str, Meaning, str]]:
    for item in route.items:
        of = Meaning.PART if item.kind is Kind.PART else Meaning.OF
        yield from ((w, of, item.id) for w in item.say)
        yield from ((w, Meaning.NAME, item.id) for w in item.wrong_names)
        yield from ((w, Meaning.CUE, item.id) for w in item.cues)
        yield from ((w, Meaning.CUE_OF_PART, item.id) for w in item.cues_of_part)
    for region in route.regions:
        yield from ((w, Meaning.REGION, region.id) for w in region.say)


def _from_language(language: Language, species: str) -> Iterator[tuple[str, Meaning, str]]:
    for meaning, table in (
        (Meaning.COMB_TYPE, language.comb_types),
        (Meaning.SHOW_CLASS, language.classes_of(species)),
        (Meaning.PLACE, language.countries),
        (Meaning.PURPOSE, language.purposes),
    ):
        for key, forms in table.items():
            yield from ((form, meaning, key) for form in forms if form != species)  # a turkey is no country
    yield from ((place, Meaning.PLACE, place) for place in language.places)
    yield from ((form, Meaning.BREED, breed.lower()) for breed, forms in language.breed_short.items() for form in forms)
    yield from ((both, Meaning.PURPOSE, "eggs+meat") for both in language.purpose_both)


def _from_cards(card: Card, breeds: Mapping[str, frozenset[str]]) -> Iterator[tuple[str, Meaning, str]]:
    for breed, varieties in breeds.items():
        if "comb" not in breed.lower():  # the Rosecomb cannot be told from a rose comb by ear
            yield breed, Meaning.BREED, breed.lower()
        yield from ((variety, Meaning.VARIETY, variety.lower()) for variety in sorted(varieties))
    yield card.breed, Meaning.BREED, card.breed.lower()
    if card.variety:
        yield card.variety, Meaning.VARIETY, card.variety.lower()
    if card.comb:
        yield card.comb.type, Meaning.COMB_TYPE, card.comb.type.lower()
    if card.show_class:
        yield card.show_class, Meaning.SHOW_CLASS, card.show_class
    if card.origin:
        yield from ((p, Meaning.PLACE, p.lower()) for p in _places(card))


def _places(card: Card) -> Iterable[str]:
    origin = card.origin
    return [p for p in (origin.country, origin.place) if p] if origin else []

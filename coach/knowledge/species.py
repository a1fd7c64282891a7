"""What each species' birds are called by sex and age, next to the four words that chickens have.

Cards and weights are kept under the chickens' four words (cock, hen, cockerel, pullet) whatever the species: the same four
kinds of bird, old and young of either sex. This module says what the members call them.

Sources: drake, duck, gander, goose, "adult" over a year and "young" under one, ducklet and drakerel in England: H. M. Lamon and
R. R. Slocum, Ducks and Geese, Orange Judd 1922, chapters on nomenclature; tom: University of Kentucky, external anatomy of
turkeys; jake, jenny, stag, rooster and duck hen: from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from coach.knowledge.model import Sex

__all__ = ["WORDS", "bird_words", "fits_sex_age", "key_of", "sex_age_word", "sex_age_words", "sex_words"]

_KEYS = ("cock", "hen", "cockerel", "pullet")

WORDS: Mapping[str, Mapping[str, tuple[str, ...]]] = {  # species -> key -> words, the one to show first
    "chicken": {
        "cock": ("cock", "old cock"),
        "hen": ("hen", "old hen"),
        "cockerel": ("cockerel", "young cock"),
        "pullet": ("pullet", "young hen"),
    },
    "duck": {
        "cock": ("old drake", "drake", "adult drake"),
        "hen": ("old duck", "duck", "adult duck"),
        "cockerel": ("young drake", "drakerel"),
        "pullet": ("young duck", "ducklet"),
    },
    "goose": {
        "cock": ("old gander", "gander", "adult gander"),
        "hen": ("old goose", "goose", "adult goose"),
        "cockerel": ("young gander",),
        "pullet": ("young goose",),
    },
    "turkey": {
        "cock": ("old tom", "tom", "stag", "gobbler", "adult tom"),
        "hen": ("old hen", "hen", "adult hen"),
        "cockerel": ("young tom", "jake"),
        "pullet": ("young hen", "jenny"),
    },
}


_MALES = ("cock", "cockerel")
_SEX_ALONE = {Sex.MALE: ("male", "rooster"), Sex.FEMALE: ("female", "duck hen")}  # of whatever species and age
_AGELESS = {  # words that tell the sex and no age; the chickens' four tell both
    "duck": ("drake", "duck"),
    "goose": ("gander", "goose"),
    "turkey": ("tom", "stag", "gobbler", "hen"),
}


def sex_age_words(species: str) -> Mapping[str, tuple[str, ...]]:
    """key -> the words of the species; the chickens' where a species has none of its own."""
    return WORDS.get(species, WORDS["chicken"])


def sex_age_word(species: str, key: str) -> str:
    """How a bird of that key is called: "cockerel" of a duck is a "young drake"."""
    return sex_age_words(species)[key][0]


@lru_cache(maxsize=16)
def sex_words(species: str, sex: Sex) -> frozenset[str]:
    """What birds of one sex are called: the species' own words, the chickens', and those that tell the sex alone.

    Without the species' own name: a duck or a goose may be either.
    """
    tables = (sex_age_words(species), WORDS["chicken"])
    forms = {form for table in tables for key, forms in table.items() if (key in _MALES) == (sex is Sex.MALE) for form in forms}
    return frozenset(forms | set(_SEX_ALONE[sex])) - {species}


@lru_cache(maxsize=1)
def bird_words() -> frozenset[str]:
    """Single words that name a bird of any species, sex and age."""
    alone = {word.split()[-1] for words in _SEX_ALONE.values() for word in words} - {"male", "female"}
    return frozenset({"bird", "fowl", *WORDS, *alone} | {f.split()[-1] for t in WORDS.values() for fs in t.values() for f in fs})


def key_of(word: str) -> str | None:
    """The key a member's word stands for, whatever the species; None when it is no such word."""
    plain = " ".join(word.lower().split())
    if plain in _KEYS:
        return plain
    return next((key for words in WORDS.values() for key, forms in words.items() if plain in forms), None)


def fits_sex_age(species: str, word: str, key: str) -> bool | None:
    """Whether a word names a bird of that key; None when it says nothing about it.

    Of other species than the chicken the word without an age ("drake") fits the young bird too, and the species' own word
    ("this duck") is said of either sex.

    Doctest:
        >>> fits_sex_age("duck", "drake", "cockerel"), fits_sex_age("duck", "old drake", "cockerel")
        (True, False)
    """
    said = next((one for one, forms in sex_age_words(species).items() if word in forms), None)
    if said == key or said is None:
        return None if said is None else True
    if species not in _AGELESS or word not in _AGELESS[species]:
        return False
    same_sex = (said in _MALES) == (key in _MALES)
    return True if same_sex else None if word == species else False

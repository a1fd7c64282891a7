"""Words for sex and age by species."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

from coach.errors import CoachError
from coach.knowledge import species
from coach.knowledge.birds import bird_problems, load_bird
from coach.knowledge.species import WORDS, fits_sex_age, key_of, sex_age_word


def test_doctests() -> None:
    """The examples run."""
    assert doctest.testmod(species).failed == 0


@pytest.mark.parametrize(
    ("word", "key"),
    [
        *(("Young  Drake", "cockerel"), ("gander", "cock"), ("jenny", "pullet")),
        *(("old goose", "hen"), ("pullet", "pullet"), ("chick", None)),
    ],
)
def test_a_members_word_has_its_key(word: str, key: str | None) -> None:
    """Adult is over a year, young under one (Lamon and Slocum 1922)."""
    assert key_of(word) == key


def test_no_word_means_two_things() -> None:
    """A word stands for the same sex and age in every species that has it."""
    keys: dict[str, set[str]] = {}
    for words in WORDS.values():
        for key, forms in words.items():
            for form in forms:
                keys.setdefault(form, set()).add(key)
    assert all(len(found) == 1 for found in keys.values())


@pytest.mark.parametrize(
    ("kind", "word", "key", "fits"),
    [
        ("duck", "drake", "cockerel", True),  # a young drake is a drake
        ("duck", "old drake", "cockerel", False),
        ("duck", "young duck", "cockerel", False),
        ("duck", "duck", "cock", None),  # "this duck" is said of a drake too
        ("duck", "duck", "pullet", True),
        ("goose", "gander", "hen", False),
        ("turkey", "hen", "pullet", True),
        ("turkey", "jake", "cock", False),
        ("turkey", "tom", "pullet", False),
        ("chicken", "hen", "pullet", False),  # the chickens' words tell the age
        ("chicken", "drake", "cock", None),
    ],
)
def test_whether_a_word_fits_a_bird(kind: str, word: str, key: str, fits: bool | None) -> None:
    """Sex decides where no age is said; the species' own word decides nothing against it."""
    assert fits_sex_age(kind, word, key) is fits


def test_a_bird_may_be_written_in_its_own_words(tmp_path: Path) -> None:
    """A duck's file says young drake; the bird is kept under the common key."""
    path = tmp_path / "puddle.yaml"
    path.write_text("format: bird/1\nid: puddle\nname: Puddle\ncard: white-pekin\nsex_age: young drake\nfaults: []\n")
    assert load_bird(path).sex_age == "cockerel" and sex_age_word("duck", "cockerel") == "young drake"


def test_a_word_that_is_none_names_the_nearest(tmp_path: Path) -> None:
    """The message knows the species' words too."""
    path = tmp_path / "puddle.yaml"
    path.write_text("format: bird/1\nid: puddle\nname: Puddle\ncard: white-pekin\nsex_age: yung drake\n")
    assert bird_problems(path) == [
        f"{path}:5: key 'sex_age': 'yung drake' is none of cock, hen, cockerel, pullet; did you mean 'young drake'?"
    ]
    with pytest.raises(CoachError):
        load_bird(path)

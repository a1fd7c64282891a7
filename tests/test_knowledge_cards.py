"""Breed cards: reading, checking, finding; every shipped card is sound."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import CoachError
from coach.judge.sounds import Pronouncer
from coach.knowledge.cards import breed_names, card_problems, find_card, load_card, shipped_cards
from coach.knowledge.language import load_pronunciations
from coach.knowledge.model import Card, Comb, Origin
from coach.knowledge.new_card import answers_of, card_words
from coach.knowledge.sources_page import load_sources, render_sources_page
from coach.places import breed_cards_dir

CARD = """format: breed-card/1
id: my-card
species: chicken
breed: Orpington
variety: Buff
class: English
origin: {country: England, place: Kent, period: 1880s}
purpose: [eggs, meat]
egg_color: brown
comb: {type: single, points: 5}
colors:
  eye: reddish bay
  shank: [white, pinkish white]
toes: 4
feathered_legs: false
weights_lb: {cock: 10, hen: 8, cockerel: 8.5, pullet: 7}
weights_bantam_oz: {cock: 38, hen: 34}
history: Made in Kent.
disqualifications: [yellow shanks]
sounds_like: {Orpington: or ping ton}
sources:
  weights_lb: [a, b]
  "*": memory
"""


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """A sound card of one's own."""
    path = tmp_path / "my-card.yaml"
    path.write_text(CARD)
    return path


@pytest.fixture(scope="module")
def shipped() -> list[Card]:
    """All cards that come with the coach."""
    return [load_card(breed_cards_dir() / f"{card_id}.yaml") for card_id in shipped_cards()]


def changed(card: Path, old: str, new: str) -> list[str]:
    """The problems after a change, without the folder."""
    assert old in CARD
    card.write_text(CARD.replace(old, new))
    return [line.replace(str(card), card.name) for line in card_problems(card)]


def test_a_card_is_read_whole(card: Path) -> None:
    """Every key of the file arrives in the value."""
    read = load_card(card)
    assert (read.id, read.species, read.breed, read.variety) == ("my-card", "chicken", "Orpington", "Buff")
    assert read.show_class == "English"
    assert read.origin == Origin("England", "Kent", "1880s")
    assert read.purpose == ("eggs", "meat")
    assert read.egg_color == ("brown",)
    assert read.comb == Comb("single", 5)
    assert read.colors == {"eye": ("reddish bay",), "shank": ("white", "pinkish white")}
    assert (read.toes, read.feathered_legs) == (4, False)
    assert read.weights_lb == {"cock": 10, "hen": 8, "cockerel": 8.5, "pullet": 7}
    assert read.weights_bantam_oz == {"cock": 38, "hen": 34}
    assert read.sounds_like == {"Orpington": "or ping ton"}
    assert read.disqualifications == ("yellow shanks",)
    assert read.sources == {"weights_lb": ("a", "b"), "*": ("memory",)}


def test_unknown_values_stay_unknown(card: Path) -> None:
    """A card may know next to nothing; nothing is made up."""
    card.write_text("format: breed-card/1\nid: my-card\nspecies: duck\nbreed: Pekin\n")
    read = load_card(card)
    assert (read.variety, read.comb, read.toes, read.feathered_legs, read.origin) == (None, None, None, None, None)
    assert (read.purpose, read.colors, read.weights_lb) == ((), {}, {})


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "breed-card/1",
            "breed-card/2",
            "1: key 'format': 'breed-card/2' is not known here; write 'format: breed-card/1'",
        ),
        ("format: breed-card/1\n", "", "1: key 'format': missing; write 'format: breed-card/1'"),
        (
            "id: my-card",
            "id: other",
            "2: key 'id': 'other' differs from the file's name; write 'my-card' or rename the file",
        ),
        (
            "id: my-card",
            "id: My_Card",
            (
                "2: key 'id': 'My_Card' has the wrong shape; use small letters, digits and single "
                "hyphens, as in 'buff-orpington'"
            ),
        ),
        ("id: my-card\n", "", "1: key 'id': missing; add 'id: my-card'"),
        (
            "species: chicken",
            "species: chick",
            ("3: key 'species': 'chick' is none of chicken, duck, goose, turkey, guinea; did you mean 'chicken'?"),
        ),
        ("species: chicken\n", "", "1: key 'species': missing; one of chicken, duck, goose, turkey, guinea"),
        ("breed: Orpington\n", "", "1: key 'breed': missing; name the breed"),
        (
            "[eggs, meat]",
            "[egg, meat]",
            ("8: key 'purpose': 'egg' is none of eggs, meat, ornamental, game; did you mean 'eggs'?"),
        ),
        (
            "[eggs, meat]",
            "dual",
            "8: key 'purpose': 'dual' is none of eggs, meat, ornamental, game; choose one of them",
        ),
        ("points: 5", "points: 20", "10: key 'comb.points': '20' does not fit; give a whole number from 1 to 12"),
        (
            "{type: single, points: 5}",
            "single",
            ("10: key 'comb': 'single' stands where keys are expected; write 'key: value' lines under it"),
        ),
        (
            "{type: single, points: 5}",
            "{points: 5}",
            ("10: key 'comb.type': missing; name it in show words, as in 'type: single'"),
        ),
        ("  eye:", "  eyes:", "12: key 'colors.eyes': not known here; did you mean 'eye'?"),
        ("reddish bay", "no", "12: key 'colors.eye': no means true or false in YAML; put it in quotes: \"no\""),
        ("toes: 4", "toes: 9", "14: key 'toes': '9' does not fit; give a whole number from 3 to 6"),
        (
            "legs: false",
            "legs: clean",
            ("15: key 'feathered_legs': 'clean' is neither true nor false; write one of the two, without quotes"),
        ),
        (
            "cock: 10,",
            "cock: -10,",
            "16: key 'weights_lb.cock': -10 pounds cannot be right; give a number from 1 to 20",
        ),
        (
            "cock: 10,",
            "cock: 160,",
            "16: key 'weights_lb.cock': 160 pounds cannot be right; give a number from 1 to 20",
        ),
        (
            "pullet: 7",
            "pullet: 8.5",
            ("16: key 'weights_lb.pullet': a pullet of 8.5 pounds would outweigh the hen; check both figures"),
        ),
        (
            "cock: 38",
            "cock: 3.8",
            "17: key 'weights_bantam_oz.cock': 3.8 ounces cannot be right; give a number from 8 to 80",
        ),
        ("pullet: 7", "chick: 7", "16: key 'weights_lb.chick': not known here; did you mean 'cock'?"),
        ('  "*": memory\n', "  weights: a\n", "23: key 'sources.weights': not known here; did you mean 'weights_lb'?"),
        ("history:", "story:", "18: key 'story': not known here; did you mean 'history'?"),
    ],
)
def test_each_mistake_has_its_line_and_remedy(card: Path, old: str, new: str, message: str) -> None:
    """A wrong value is told by file, line, key and what to do."""
    assert changed(card, old, new)[0] == f"my-card.yaml:{message}"


def test_every_value_group_needs_a_source(card: Path) -> None:
    """Without the star each group that has no key of its own is named."""
    problems = changed(card, '  "*": memory\n', "  colors.eye: [a]\n  class: [a]\n  origin: [a]\n  purpose: [a]\n")
    named = [line.split("'")[1] for line in problems]
    assert named == [
        "egg_color",
        "comb",
        "colors",
        "toes",
        "feathered_legs",
        "weights_bantam_oz",
        "history",
        "disqualifications",
    ]
    assert problems[0] == (
        "my-card.yaml:9: key 'egg_color': no source; add 'egg_color: [key]' or '\"*\": [key]' under 'sources'"
    )


def test_colors_may_name_their_sources_one_by_one(card: Path) -> None:
    """A source for each color is as good as one for all."""
    card.write_text(
        "format: breed-card/1\nid: my-card\nspecies: chicken\nbreed: Cochin\ncolors: {eye: red, beak: horn}\n"
        "sources: {colors.eye: a, colors.beak: b}\n"
    )
    assert card_problems(card) == []


def test_all_problems_are_listed_but_the_first_is_raised(card: Path) -> None:
    """A checker shows everything at once; a loader stops with one line."""
    problems = changed(card, "toes: 4\nfeathered_legs: false", "toes: 1\nfeathered_legs: 3")
    assert len(problems) == 2
    with pytest.raises(CoachError, match=r"my-card\.yaml:14: key 'toes': .* \(and 1 more in this file\)$"):
        load_card(card)


def test_an_unreadable_card_is_one_problem(tmp_path: Path) -> None:
    """A missing file is a problem in the list too."""
    assert card_problems(tmp_path / "x.yaml") == [f"{tmp_path}/x.yaml: no such file; check the name and the folder"]


def test_a_card_is_found_by_id_by_path_and_near_the_bird(card: Path) -> None:
    """One's own cards go before shipped ones, and the folder `cards` beside the birds is searched."""
    root = card.parent
    bird = root / "birds" / "my-bird.yaml"
    bird.parent.mkdir()
    (root / "cards").mkdir()
    own = root / "cards" / "buff-orpington.yaml"
    own.write_text(CARD)
    shipped = breed_cards_dir() / "buff-orpington.yaml"
    assert find_card("buff-orpington") == shipped
    assert find_card("buff-orpington", near=bird).samefile(own)
    assert find_card("buff-orpington", near=root / "my-bird.yaml").samefile(own)
    assert find_card("my-card", near=root / "my-bird.yaml") == card
    assert find_card(str(card)) == card
    assert find_card("../my-card.yaml", near=bird).samefile(card)


def test_a_bird_is_never_its_own_card(tmp_path: Path) -> None:
    """A bird's file that carries the name of its card does not hide the shipped one."""
    bird = tmp_path / "buff-orpington.yaml"
    bird.write_text("format: bird/1\n")
    assert find_card("buff-orpington", near=bird) == breed_cards_dir() / "buff-orpington.yaml"


@pytest.mark.parametrize(
    ("wanted", "message"),
    [
        ("buf-orpington", "no breed card 'buf-orpington'; nearest: buff-orpington, "),
        ("xyz", "no breed card 'xyz'; name one of the shipped cards or the path of your own"),
        ("sources", "no breed card 'sources'; name one of the shipped cards or the path of your own"),
        ("cards/xyz.yaml", "no card file 'cards/xyz.yaml'; check the path"),
        ("x" * 4000, "no breed card 'xxx"),
    ],
)
def test_a_card_that_is_not_there_names_the_nearest(wanted: str, message: str) -> None:
    """A misspelled id gets suggestions."""
    with pytest.raises(CoachError) as caught:
        find_card(wanted)
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize("card_id", shipped_cards())
def test_shipped_cards_are_sound(card_id: str) -> None:
    """Every card that comes with the coach is free of problems."""
    assert card_problems(breed_cards_dir() / f"{card_id}.yaml") == []


def test_shipped_cards_know_the_main_facts(shipped: list[Card]) -> None:
    """Whatever else is unknown, a card tells origin, purpose, egg, history and legs; a chicken's class, comb, skin, toes too."""
    for card in shipped:
        assert card.origin and card.purpose and card.egg_color and card.history, card.id
        assert card.feathered_legs is not None, card.id
        if card.species == "chicken":
            assert card.show_class and card.comb and card.toes and "skin" in card.colors, card.id


def test_waterfowl_and_turkeys_are_there(shipped: list[Card]) -> None:
    """At least three ducks, two geese and two turkeys, with the weights of old birds, and none of them has a comb."""
    others = [card for card in shipped if card.species != "chicken"]
    count = {species: sum(card.species == species for card in others) for species in ("duck", "goose", "turkey")}
    assert count["duck"] >= 3 and count["goose"] >= 2 and count["turkey"] >= 2
    assert all(card.comb is None and {"cock", "hen"} <= set(card.weights_lb) for card in others)


def test_breed_names_keep_to_their_species() -> None:
    """A chicken is not called by a goose's breed, nor the other way about."""
    assert "African" in breed_names("goose") and "African" not in breed_names()
    assert "Orpington" in breed_names() and breed_names("turkey")["Turkey"] >= {"Bronze", "Bourbon Red"}


@pytest.mark.parametrize("card_id", shipped_cards())
def test_every_word_of_a_card_is_known_to_the_listener(card_id: str) -> None:
    """Dictionary, shipped pronunciation or the card's own respelling: no word that a member says is guessed from its letters."""
    card = load_card(breed_cards_dir() / f"{card_id}.yaml")
    pronouncer = Pronouncer({**load_pronunciations(), **card.sounds_like})
    assert [word for word in card_words(answers_of(card)) if not pronouncer.knows(word)] == []


def test_there_are_many_cards_of_every_class(shipped: list[Card]) -> None:
    """At least 45 chicken breeds' cards, all large fowl classes and the three common bantam classes among them."""
    chickens = [card for card in shipped if card.species == "chicken"]
    assert len({card.breed for card in chickens}) >= 45
    assert {card.show_class for card in chickens} == {
        "American",
        "Asiatic",
        "English",
        "Mediterranean",
        "Continental",
        "All Other Standard Breeds",
        "Single Comb Clean Legged",
        "Rose Comb Clean Legged",
        "Feather Legged",
    }


def test_the_sources_page_is_up_to_date(shipped: list[Card]) -> None:
    """SOURCES.md names every source key that a card uses, with the cards; sources.yaml has no key that none uses."""
    folder = breed_cards_dir()
    sources = load_sources(folder / "sources.yaml")
    used = {key for card in shipped for keys in card.sources.values() for key in keys}
    assert used == set(sources)
    assert (folder / "SOURCES.md").read_text(encoding="utf-8") == render_sources_page(sources, shipped)


def test_a_source_without_a_title_is_refused(tmp_path: Path) -> None:
    """The list of sources is checked like any other file."""
    path = tmp_path / "sources.yaml"
    path.write_text("format: card-sources/1\nsources:\n  a: {publisher: b, year: 1917}\n")
    with pytest.raises(CoachError, match=r"sources\.yaml:3: key 'sources\.a\.title': missing; every source has one$"):
        load_sources(path)

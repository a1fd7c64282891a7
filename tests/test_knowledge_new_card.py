"""New cards and birds from answers: values, units, commented files that the readers accept; words for the listener."""

from __future__ import annotations

import doctest
from pathlib import Path

import pint
import pytest

from coach.knowledge import copies, respelling
from coach.knowledge.birds import bird_problems, load_bird
from coach.knowledge.cards import card_problems, load_card, shipped_cards
from coach.knowledge.copies import copied
from coach.knowledge.model import Fault
from coach.knowledge.new_bird import bird_text, fault_id
from coach.knowledge.new_card import (
    QUESTIONS,
    answers_of,
    applies,
    asked,
    card_id,
    card_text,
    card_text_problems,
    card_words,
    parse_answer,
    shown,
)  # fmt: skip
from coach.knowledge.new_file import id_from_name
from coach.knowledge.respelling import respelled, syllables
from coach.places import breed_cards_dir

BY_KEY = {question.key: question for question in QUESTIONS}


def test_doctests() -> None:
    """The examples run."""
    assert doctest.testmod(respelling).failed == doctest.testmod(copies).failed == 0


@pytest.mark.parametrize("card_id_", shipped_cards())
def test_every_shipped_card_survives_being_asked_and_written(card_id_: str, tmp_path: Path) -> None:
    """Answers shown and parsed again make a file that the reader takes for the same values."""
    card = load_card(breed_cards_dir() / f"{card_id_}.yaml")
    answers = {key: value for key, value in answers_of(card).items() if applies(BY_KEY[key], card.species)}
    again = {key: parse_answer(BY_KEY[key], shown(value)) for key, value in answers.items()}
    path = tmp_path / f"{card_id_}.yaml"
    path.write_text(card_text(card_id_, again, card.sounds_like, ["a book"]), encoding="utf-8")
    assert card_problems(path) == []
    assert answers_of(load_card(path)) == answers
    assert load_card(path).sounds_like == card.sounds_like


@pytest.mark.parametrize("species", ["chicken", "duck", "goose", "turkey", "guinea"])
def test_what_was_left_out_stays_as_a_comment(species: str, tmp_path: Path) -> None:
    """The barest card is sound, and every question of its species has its commented line."""
    path = tmp_path / "x.yaml"
    path.write_text(card_text("x", {"species": species, "breed": "X"}, {}, []))
    assert card_problems(path) == []
    text = path.read_text()
    for question in QUESTIONS:
        name = question.key.rpartition(".")[2]
        stands = f"# {name}:" in text or f"{name}: " in text
        assert stands or not applies(question, species)
    assert ("# bill:" in text) == (species in ("duck", "goose"))


@pytest.mark.parametrize(
    ("answer", "pounds"),
    [
        *(("8.5", 8.5), ("8 1/2", 8.5), ("10 lb", 10), ("10 pounds", 10)),
        *(("38 oz", 2.38), ("3 kg", 6.61), ("1 stone", 14), ("900 g", 1.98)),
    ],
)
def test_weights_may_be_given_in_household_units(answer: str, pounds: float) -> None:
    """Kilograms, ounces and stones become pounds by a unit library; the pound is 0.45359237 kg (agreement of 1959)."""
    assert parse_answer(BY_KEY["weights_lb.cock"], answer) == pytest.approx(pounds)
    assert pint.UnitRegistry().Quantity(1, "pound").to("kg").magnitude == pytest.approx(0.45359237)


@pytest.mark.parametrize(
    ("key", "answer", "message"),
    [
        ("weights_lb.cock", "heavy", "'heavy' is no weight; write one such as 8.5 or '3.8 kg'"),
        ("weights_lb.cock", "3 inch", "'inch' is no unit of weight; use lb, oz, kg, g or stone"),
        ("weights_lb.cock", "3 blips", "'blips' is no unit of weight; use lb, oz, kg, g or stone"),
        ("weights_lb.cock", "3 1/0", "'3 1/0' is no weight; write one such as 8.5 or '3.8 kg'"),
        ("toes", "four", "'four' is no whole number; write one such as 5"),
        ("feathered_legs", "maybe", "'maybe' is neither yes nor no"),
    ],
)
def test_an_answer_that_cannot_be_read_says_what_to_write(key: str, answer: str, message: str) -> None:
    """One clear line each."""
    with pytest.raises(ValueError) as caught:
        parse_answer(BY_KEY[key], answer)
    assert str(caught.value) == message


def test_the_reader_judges_the_text() -> None:
    """What a file would be blamed for is told before it is written."""
    text = card_text("x", {"species": "chicken", "breed": "X", "weights_lb.cock": 90.0, "toes": 9}, {}, [])
    assert [line.split(":")[0] for line in card_text_problems("x", text)] == ["key 'toes'", "key 'weights_lb.cock'"]


def test_awkward_words_are_quoted(tmp_path: Path) -> None:
    """Words that YAML would read as something else come back as they were."""
    path = tmp_path / "no.yaml"
    answers = {"species": "chicken", "breed": "No: 5 #1", "variety": "yes", "egg_color": ["on", "'tinted'"]}
    path.write_text(card_text("no", answers, {"d'Uccle": "dew kull"}, ["my uncle's book: page 3"]))
    card = load_card(path)
    assert (card.breed, card.variety, card.egg_color) == ("No: 5 #1", "yes", ("on", "'tinted'"))
    assert card.sounds_like == {"d'Uccle": "dew kull"} and card.sources["*"] == ("my uncle's book: page 3",)


def test_weights_are_asked_in_the_species_words() -> None:
    """A duck has no cockerel."""
    assert asked(BY_KEY["weights_lb.cockerel"], "duck") == "What should a young drake weigh?"
    assert asked(BY_KEY["weights_lb.hen"], "goose") == "What should an old goose weigh?"


def test_ids_and_words_come_from_the_answers() -> None:
    """The file's name from variety and breed; the words a member says, each once."""
    answers = {"species": "chicken", "breed": "Belgian d'Uccle", "variety": "Mille Fleur", "egg_color": ["cream", "light cream"]}
    assert card_id(answers) == "mille-fleur-belgian-duccle"
    assert card_words(answers) == ("Belgian", "d'Uccle", "Mille", "Fleur", "cream", "light")


def test_a_bird_is_written_whole(tmp_path: Path) -> None:
    """Faults with plans arrive as they were told."""
    faults = (
        Fault("bent-toe", "legs", "bent toe: on the right foot", ("crooked toe",), "keep her for eggs", ("for eggs",)),
        Fault("side-sprig", "head", "side sprig"),
    )
    path = tmp_path / "lady-pebble.yaml"
    path.write_text(bird_text(id_from_name("Lady Pebble", "my-bird"), "Lady Pebble", "buff-orpington", "hen", faults))
    assert bird_problems(path) == []
    bird = load_bird(path)
    assert (bird.id, bird.name, bird.sex_age, bird.faults) == ("lady-pebble", "Lady Pebble", "hen", faults)
    path.write_text(bird_text("x", "No", "buff-orpington", "hen"))
    assert load_bird(path).faults == () and load_bird(path).name == "No"


def test_faults_get_ids_of_their_own() -> None:
    """The same words twice do not collide."""
    assert fault_id("bent toe on the right foot", []) == "bent-toe-right"
    assert fault_id("bent toe on the right foot", ["bent-toe-right"]) == "bent-toe-right-2"


@pytest.mark.parametrize(
    ("phones", "text"),
    [
        ("AO R P IH NG T AH N", "or-ping-tuhn"),
        ("W AA T AH L Z", "wah-tuhlz"),
        ("P R AY M EH R IY Z", "prigh-meh-reez"),
        ("AY", "eye"),
        ("EH R", "air"),
        ("S K W AA SH", "skwahsh"),
    ],
)
def test_phones_are_written_for_a_child(phones: str, text: str) -> None:
    """Syllables begin as English words do."""
    assert respelled(phones.split()) == text


def test_syllables_keep_every_phone() -> None:
    """Nothing is lost or moved, with and without vowels."""
    for phones in ("AH N D ER K AH L ER", "HH M", "AE K S IY AH L", "S T R EH NG K TH S"):
        assert [p for one in syllables(phones.split()) for p in one] == phones.split()
    assert syllables([]) == []


def test_a_copy_keeps_text_and_comments() -> None:
    """Only the id and the heading differ."""
    text = "# About.\nformat: route/1\nid: base\ntitle: T\nitems:\n  - id: head.comb\n"
    new = copied(text, id_from_name("Our Club (2026)", "copy"), "coach route check x.yaml")
    assert new.endswith(text.replace("id: base", "id: our-club-2026")) and "coach route check x.yaml" in new.splitlines()[0]
    assert id_from_name("!!", "copy") == "copy"

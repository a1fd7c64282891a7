"""Whole reviews of waterfowl and turkeys from words, routes chosen by the card's species. (Needs cards-wiring.patch.)"""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.report.model import Report
from coach.review import load_subject, review


def reviewed(folder: Path, card: str, sex_age: str, text: str) -> Report:
    """The report of a text about a bird of that card."""
    bird, words = folder / "bird.yaml", folder / "words.txt"
    bird.write_text(f"format: bird/1\nid: puddle\nname: Puddle\ncard: {card}\nsex_age: {sex_age}\nfaults: []\n")
    words.write_text(text)
    return review(None, load_subject(str(bird)), words=str(words)).report


@pytest.mark.parametrize(
    ("card", "route"),
    [("white-pekin", "duck"), ("gray-toulouse", "goose"), ("bronze-turkey", "turkey"), ("buff-orpington", "head-to-tail")],
)
def test_the_route_follows_the_card(card: str, route: str, tmp_path: Path) -> None:
    """Nobody has to name the route of a duck."""
    assert reviewed(tmp_path, card, "hen", "This is the eye.").route == route


@pytest.mark.parametrize(
    ("card", "sex_age", "text", "status"),
    [
        ("white-pekin", "young drake", "This is Puddle, he is a drake.", "said"),
        ("white-pekin", "young drake", "This is Puddle, he is an old drake.", "wrong"),
        ("white-pekin", "young drake", "This is my duck Puddle.", "skipped"),  # the species' word says nothing of the sex
        ("gray-toulouse", "old goose", "She is an old goose.", "said"),
        ("bronze-turkey", "jake", "He is a jake.", "said"),
        ("bronze-turkey", "jake", "He is a hen.", "wrong"),
    ],
)
def test_sex_and_age_in_the_species_words(card: str, sex_age: str, text: str, status: str, tmp_path: Path) -> None:
    """Drake, gander, tom and the ages before them."""
    verdicts = {v.id: v for v in reviewed(tmp_path, card, sex_age, text).judgement.verdicts}
    assert verdicts["opening.sex_age"].status.value == status


def test_weights_go_to_the_species_birds(tmp_path: Path) -> None:
    """An old drake's weight is not an old duck's. Weights: Lamon and Slocum, Ducks and Geese, 1922."""
    text = "An old drake weighs nine pounds and an old duck weighs seven pounds. A young drake weighs eight pounds."
    verdicts = {v.id: v.status.value for v in reviewed(tmp_path, "white-pekin", "old drake", text).judgement.verdicts}
    found = [verdicts[f"facts.weight_{which}"] for which in ("cock", "hen", "cockerel")]
    assert found == ["said", "wrong", "said"]
    of_the_breed = reviewed(tmp_path, "white-pekin", "old drake", "Pekin ducks weigh nine pounds.").judgement.verdicts
    assert "wrong" not in {v.status.value for v in of_the_breed}


def test_a_turkey_is_no_country(tmp_path: Path) -> None:
    """"This Bourbon Red turkey comes from Kentucky" tells the origin rightly."""
    text = "This is a Bourbon Red turkey. This turkey breed comes from Kentucky."
    verdicts = {v.id: v.status.value for v in reviewed(tmp_path, "bourbon-red-turkey", "tom", text).judgement.verdicts}
    assert verdicts["facts.origin"] == "said" and verdicts["opening.breed"] == "said"


def test_a_comb_on_a_duck_is_the_first_thing_to_fix(tmp_path: Path) -> None:
    """A wrong name is mended even where nothing was asked."""
    text = "This is a White Pekin, an old duck. This is the bill. This is the comb. These are the eyes. This is the back."
    fixes = reviewed(tmp_path, "white-pekin", "old duck", text).fixes
    assert fixes[0].verdict.id == "head.no_comb" and "no comb" in fixes[0].line


@pytest.mark.parametrize(
    ("card", "sex_age", "subject", "value", "item"),
    [
        ("gray-rouen", "old duck", "A drake has", "an olive bill", "head.bill_color"),
        ("gray-rouen", "old duck", "An old drake has", "an olive bill", "head.bill_color"),
        ("gray-rouen", "old duck", "Young drakes have", "a black bill", "head.bill_color"),
        ("gray-rouen", "old drake", "A duck hen has", "a black bill", "head.bill_color"),
        ("gray-rouen", "old drake", "An old duck has", "a black bill", "head.bill_color"),
        ("gray-toulouse", "old goose", "A gander has", "blue shanks", "legs.shank_color"),
        ("bronze-turkey", "old hen", "A tom has", "blue shanks", "legs.shank_color"),
        ("bronze-turkey", "old hen", "A jake would have", "blue shanks", "legs.shank_color"),
        ("bronze-turkey", "old tom", "A jenny has", "blue shanks", "legs.shank_color"),
        ("bronze-turkey", "jake", "Old hens have", "blue shanks", "legs.shank_color"),
        ("buff-orpington", "hen", "A rooster has", "blue shanks", "legs.shank_color"),
    ],
)
def test_what_is_said_of_the_other_sex_is_not_held_against_this_bird(
    card: str, sex_age: str, subject: str, value: str, item: str, tmp_path: Path
) -> None:
    """In the words of every species, with their ages; the same words about this bird itself are wrong."""
    for who, status in ((subject, "skipped"), ("This bird has", "wrong")):
        verdicts = {v.id: v.status.value for v in reviewed(tmp_path, card, sex_age, f"{who} {value}.").judgement.verdicts}
        assert verdicts[item] == status


@pytest.mark.parametrize(
    ("card", "sex_age", "text"),
    [
        ("gray-rouen", "old drake", "My drake has a yellow bill."),
        ("gray-rouen", "old duck", "A duck has a yellow bill."),  # the species' own name is said of either sex
        ("gray-rouen", "old drake", "A duck has a yellow bill."),
        ("gray-rouen", "old drake", "My drake's bill is yellow."),
    ],
)
def test_my_drake_is_this_bird(card: str, sex_age: str, text: str, tmp_path: Path) -> None:
    """What is said of "my drake" or of ducks at large counts, as it does of "my hen"."""
    verdicts = {v.id: v.status.value for v in reviewed(tmp_path, card, sex_age, text).judgement.verdicts}
    assert verdicts["head.bill"] == "said" and verdicts["head.bill_color"] == "said"

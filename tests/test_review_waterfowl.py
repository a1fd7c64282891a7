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

"""Weights and classes of the shipped cards against other publications, named in published_figures.yaml beside this file.

None of them is a source of the cards, so agreement means two publications and disagreement is worth knowing: every figure that
differs by more than a quarter of a pound is listed there, and the test fails when the list is not exactly right.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from coach.knowledge.cards import load_card, shipped_cards
from coach.knowledge.model import Card
from coach.places import breed_cards_dir

PUBLISHED: dict[str, Any] = yaml.safe_load((Path(__file__).parent / "published_figures.yaml").read_text(encoding="utf-8"))
POUNDS_PER_KG = 1 / 0.45359237  # international pound, 1959
ALLOWED_LB = 0.25  # standard weights go in half pounds; a page that rounds to a tenth of a kilogram stays within this
SEX_AGES = ("cock", "hen", "cockerel", "pullet")


@pytest.fixture(scope="module")
def cards() -> dict[str, list[Card]]:
    """Shipped cards by breed."""
    out: dict[str, list[Card]] = {}
    for card_id in shipped_cards():
        card = load_card(breed_cards_dir() / f"{card_id}.yaml")
        out.setdefault(card.breed, []).append(card)
    return out


def differing(row: dict[str, Any], card: Card) -> list[tuple[str, str, str, float]]:
    """(breed, source, which, card's pounds) of each figure that is further off than allowed."""
    found = []
    factor = POUNDS_PER_KG if row.get("unit") == "kg" else 1.0
    for which in SEX_AGES:
        if which in row:
            printed = row[which] if isinstance(row[which], list) else [row[which], row[which]]
            mine = card.weights_lb[which]
            if not printed[0] * factor - ALLOWED_LB <= mine <= printed[1] * factor + ALLOWED_LB:
                found.append((row["breed"], row["source"], which, mine))
    return found


def test_weights_agree_but_for_the_listed_ones(cards: dict[str, list[Card]]) -> None:
    """At least 25 breeds are compared; what differs is exactly what the file lists."""
    found = []
    for row in PUBLISHED["weights"]:
        card = next(card for card in cards[row["breed"]] if card.id == row.get("card", card.id))
        found += differing(row, card)
    listed = [(row["breed"], row["source"], row["which"], row["card_says"]) for row in PUBLISHED["disagreements"]]
    assert sorted(found) == sorted(listed)
    assert len({row["breed"] for row in PUBLISHED["weights"]}) >= 25
    assert {row["source"] for row in PUBLISHED["weights"]} <= set(PUBLISHED["sources"])


def test_every_breed_that_is_compared_has_a_figure_in_agreement(cards: dict[str, list[Card]]) -> None:
    """No card stands alone: at least one other publication agrees on a weight, but for the breeds named here."""
    off = {(row["breed"], row["source"], row["which"]) for row in PUBLISHED["disagreements"]}
    agreed = {
        row["breed"]
        for row in PUBLISHED["weights"]
        for which in SEX_AGES
        if which in row and (row["breed"], row["source"], which) not in off
    }
    alone = {row["breed"] for row in PUBLISHED["weights"]} - agreed
    assert alone == set(PUBLISHED["alone"])


def test_classes_are_those_of_a_show_list(cards: dict[str, list[Card]]) -> None:
    """Every breed of the list stands in the same class on its cards."""
    listed = {breed: name for name, breeds in PUBLISHED["classes"].items() if name != "source" for breed in breeds}
    assert len(listed) >= 25
    assert {breed: {card.show_class for card in cards[breed]} for breed in listed} == {b: {c} for b, c in listed.items()}


def test_the_second_sources_are_no_sources_of_the_cards() -> None:
    """A card's own source could only agree with it."""
    own = yaml.safe_load((breed_cards_dir() / "sources.yaml").read_text(encoding="utf-8"))["sources"]
    used = {(source["title"], source["publisher"]) for source in own.values()}
    assert not used & {(source["title"], source["publisher"]) for source in PUBLISHED["sources"].values()}

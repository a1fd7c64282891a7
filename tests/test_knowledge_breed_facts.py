"""Shipped cards against a published table.

The rows are the breed table of Modern Livestock & Poultry Production, 2nd ed., Delmar 1983, copied by hand; the plumage
and use columns are left out. The cards were made from several publications, this table among them.
"""

from __future__ import annotations

import pytest

from coach.knowledge.cards import load_card
from coach.places import breed_cards_dir

COLUMNS = ("class", "comb", "eye", "earlobe", "shank", "skin", "egg")
TABLE = {
    "white-leghorn": ("Mediterranean", "single", "reddish bay", "white", "yellow", "yellow", "white"),
    "black-minorca": ("Mediterranean", "single", "brown", "white", "dark slate", "white", "white"),
    "blue-andalusian": ("Mediterranean", "single", "reddish bay", "white", "dark slaty blue", "white", "white"),
    "barred-plymouth-rock": ("American", "single", "reddish bay", "red", "yellow", "yellow", "brown"),
    "white-plymouth-rock": ("American", "single", "reddish bay", "red", "yellow", "yellow", "brown"),
    "new-hampshire": ("American", "single", "reddish bay", "red", "yellow", "yellow", "brown"),
    "rhode-island-red": ("American", "single", "reddish bay", "red", "yellow", "yellow", "brown"),
    "white-cornish": ("English", "pea", "pearl", "red", "yellow", "yellow", "brown"),
    "black-australorp": ("English", "single", "brown", "red", "dark slate", "white", "tinted"),
    "light-brahma": ("Asiatic", "pea", "reddish bay", "red", "yellow", "yellow", "brown"),
}
DIFFERENCES = {  # (card, column): what the card puts first, and why; the table's value is accepted after it
    ("black-minorca", "eye"): (
        "dark brown",
        "the card's further source is read as dark brown, the table says only brown",
    ),
    ("black-australorp", "eye"): (
        "dark brown",
        "the card's further source is read as dark brown, the table only brown",
    ),
    ("black-australorp", "egg"): ("brown", "the card's two sources say brown, the table alone says tinted"),
}


def on_card(card_id: str) -> dict[str, tuple[str, ...]]:
    """The accepted values of a card by the table's columns."""
    card = load_card(breed_cards_dir() / f"{card_id}.yaml")
    assert card.comb is not None and card.show_class is not None
    colors = {column: card.colors[column] for column in ("eye", "earlobe", "shank", "skin")}
    return {"class": (card.show_class,), "comb": (card.comb.type,), "egg": card.egg_color, **colors}


@pytest.mark.parametrize("card_id", TABLE)
def test_a_card_accepts_what_the_table_says(card_id: str) -> None:
    """Class, comb, eye, lobe, shank, skin and egg: the card's first value is the table's, but for the listed ones."""
    accepted = on_card(card_id)
    for column, published in zip(COLUMNS, TABLE[card_id], strict=True):
        assert published in accepted[column], column
        first, _ = DIFFERENCES.get((card_id, column), (published, "no difference"))
        assert accepted[column][0] == first, column


def test_the_feathered_shanks_of_the_table_are_feathered() -> None:
    """The table gives feathered shanks to the Brahma alone."""
    feathered = [card_id for card_id in TABLE if load_card(breed_cards_dir() / f"{card_id}.yaml").feathered_legs]
    assert feathered == ["light-brahma"]

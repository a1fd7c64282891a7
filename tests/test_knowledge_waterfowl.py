"""Ducks, geese and turkeys: their routes judge what members say, from true words.

Part names after University of Kentucky's external anatomies of duck and turkey (bill, bean, webs, no comb; snood, caruncles,
beard) and Lamon and Slocum, Ducks and Geese, 1922 ("Ducks do not show any comb or wattles", "termed bill", "termed the bean").
"""

from __future__ import annotations

import pytest
from judging import spoken

from coach.judge.decide import decide
from coach.judge.verdict import Verdict
from coach.knowledge.cards import breed_names, load_card
from coach.knowledge.model import Bird
from coach.knowledge.routes import default_route, load_route
from coach.places import breed_cards_dir


def verdicts(card_id: str, *sentences: str, sex_age: str = "pullet") -> dict[str, Verdict]:
    """What comes of a few sentences about a bird of that card, by item."""
    card = load_card(breed_cards_dir() / f"{card_id}.yaml")
    route = load_route(default_route(card))
    names = breed_names(card.species)
    return {v.id: v for v in decide(spoken(*sentences), route, card, Bird("x", "Puddle", card_id, sex_age), names).verdicts}


@pytest.mark.parametrize("card_id", ["white-pekin", "gray-toulouse", "bronze-turkey"])
def test_a_comb_is_misnamed_where_there_is_none(card_id: str) -> None:
    """Naming a comb on a duck, a goose or a turkey is a wrong name."""
    found = verdicts(card_id, "This is the comb.")["head.no_comb"]
    assert (found.status.value, found.heard) == ("misnamed", "comb")


@pytest.mark.parametrize("sentence", ["Ducks have no comb.", "She does not have a comb.", "A duck doesn't have wattles."])
def test_to_say_that_there_is_no_comb_is_right(sentence: str) -> None:
    """The word comb alone makes no mistake."""
    assert verdicts("white-pekin", sentence)["head.no_comb"].status.value == "said"


def test_nobody_misses_a_comb_that_is_not_there() -> None:
    """Saying nothing of it is no miss."""
    found = verdicts("white-pekin", "This is the bill.")
    assert found["head.no_comb"].status.value == "skipped" and not found["head.no_comb"].required
    assert "head.comb" not in found and "head.earlobes" not in found


@pytest.mark.parametrize(
    ("card_id", "sentence", "item", "status"),
    [
        ("white-pekin", "This is the bill.", "head.bill", "said"),
        ("white-pekin", "This is the beak.", "head.bill", "misnamed"),
        ("white-pekin", "The bill is yellow.", "head.bill_color", "said"),
        ("white-pekin", "The bill is black.", "head.bill_color", "wrong"),
        ("white-pekin", "Here is the bean.", "head.bean", "said"),
        ("white-pekin", "These are the webs between the toes.", "legs.webs", "said"),
        ("white-pekin", "This is the webbing and it is not torn.", "legs.webs_condition", "said"),
        ("black-cayuga", "The preen gland is at the base of the tail.", "tail.oil_gland", "said"),
        ("black-cayuga", "There is no angel wing.", "wings.condition", "said"),
        ("gray-toulouse", "This is the dewlap.", "head.dewlap", "said"),
        ("brown-african", "The knob is black.", "head.knob_color", "said"),
        ("bronze-turkey", "This is the snood.", "head.snood", "said"),
        ("bronze-turkey", "These are the caruncles.", "neck.caruncles", "said"),
        ("bronze-turkey", "These are the warts.", "neck.caruncles", "misnamed"),
        ("bronze-turkey", "This is the throat wattle.", "head.wattle", "said"),
        ("bronze-turkey", "These feathers make the fan.", "tail.fan", "said"),
    ],
)
def test_parts_and_values(card_id: str, sentence: str, item: str, status: str) -> None:
    """The trade's words count, the chicken's words for them do not."""
    assert verdicts(card_id, sentence)[item].status.value == status


def test_only_males_are_asked_for_what_males_have() -> None:
    """Sex feathers for a drake, beard and spurs for a tom; neither for their females."""
    assert verdicts("white-pekin", "These are the sex feathers.", sex_age="cock")["tail.sex_feathers"].status.value == "said"
    assert "tail.sex_feathers" not in verdicts("white-pekin", "Hello.")
    tom = verdicts("bronze-turkey", "This is the beard and these are the spurs.", sex_age="cockerel")
    assert tom["breast.beard"].status.value == tom["legs.spurs"].status.value == "said"
    assert not {"breast.beard", "legs.spurs"} & set(verdicts("bronze-turkey", "Hello."))

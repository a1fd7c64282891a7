"""Sentences that were once read wrongly, each with some like it: alone, and within a few neutral sentences of a rehearsal.

Found by trying the tool; none of them is in the texts that the reader learnt from.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from judging import BIRD, BREEDS, CARD, spoken

from coach.judge.decide import decide
from coach.judge.verdict import Status
from coach.knowledge.model import Bird, Card, Comb
from coach.knowledge.routes import load_route

ROUTE = load_route("head-to-tail")
HEN, COCK = replace(BIRD, sex_age="hen"), Bird("moss", "Moss", "buff-orpington", "cock")
HEAVY = replace(CARD, weights_lb={"cock": 9.5, "hen": 7.5, "cockerel": 8, "pullet": 6})
BARRED = replace(CARD, id="barred-rock", breed="Plymouth Rock", variety="Barred", show_class="American", comb=Comb("single", 5))
ROCKS = {**BREEDS, "Plymouth Rock": frozenset({"Barred", "White"})}
BEFORE = ("good morning judge", "i will go over my bird with you now")
AFTER = ("okay let me turn her around a bit", "and then i go on")
BLAMED = {Status.WRONG, Status.MISNAMED}


def statuses(*sentences: str, bird: Bird = BIRD, card: Card = CARD) -> dict[str, Status]:
    """Statuses by item."""
    return {v.id: v.status for v in decide(spoken(*sentences), ROUTE, card, bird, ROCKS).verdicts}


def around(sentence: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The sentence alone, and among others."""
    parts = tuple(sentence.split(" | "))
    return parts, (*BEFORE, *parts, *AFTER)


SAID = [
    # an age in the sentence cancels no sex word
    ("she is a two year old hen", "opening.sex_age", "hen"),
    ("my bird is a hen and she will be three in april", "opening.sex_age", "hen"),
    ("this here is a one and a half year old buff orpington hen", "opening.sex_age", "hen"),
    ("he is a two year old cock", "opening.sex_age", "cock"),
    # toes counted in front and behind
    ("in the front three toes and one in the back", "legs.toe_count", ""),
    ("on each foot there is three toes up front and then one more behind", "legs.toe_count", ""),
    ("three of her toes point forward and one points back", "legs.toe_count", ""),
    # weights in other words
    ("a grown rooster is supposed to be nine and a half pounds", "facts.weight_cock", "heavy"),
    ("a full grown male should be at nine and a half pounds", "facts.weight_cock", "heavy"),
    ("a grown hen is supposed to come in at seven and a half pounds", "facts.weight_hen", "heavy"),
    # the long bone
    ("the sternum is the long bone here, and it's not bent", "breast.keel", ""),
    ("the sternum is the long bone here, and it's not bent", "breast.keel_condition", ""),
    ("this long bone under here is the keel and mine runs nice and straight", "breast.keel_condition", ""),
    # a short name of breed and variety
    ("this is my barred rock pullet", "opening.breed", "barred"),
    ("she is a barred rock", "opening.breed", "barred"),
    # the bones beside the vent
    ("here are the pin bones", "abdomen.pubic_bones", ""),
    ("those two pelvic bones are here by the vent", "abdomen.pubic_bones", ""),
    ("i can feel her pelvic bones on either side", "abdomen.pubic_bones", ""),
    # checks told in plain words
    ("her feet are clean underneath, no cuts and no knobs on the bottom of them", "legs.footpad_condition", ""),
    ("i look at the bottom of the foot and there are no knobs", "legs.footpad_condition", ""),
    ("the scales on her legs lie flat, nothing lifted up", "legs.scales_condition", ""),
    ("i check the scales on the shanks and there is nothing lifted up", "legs.scales_condition", ""),
    ("this is the keel and it doesn't go off to one side", "breast.keel_condition", ""),
    ("i run my finger down her breastbone, it does not wander off to one side", "breast.keel_condition", ""),
    ("i part the feathers on her back and there's no bugs, nothing crawling", "back.parasites", ""),
    ("no bugs, nothing crawling in the feathers", "back.parasites", ""),
]


@pytest.mark.parametrize("alone", [True, False], ids=["alone", "among others"])
@pytest.mark.parametrize(("sentence", "item", "of"), SAID)
def test_what_is_told_so_is_told(sentence: str, item: str, of: str, alone: bool) -> None:
    """It counts, and nothing else is held against the member for it."""
    bird = {"hen": HEN, "cock": COCK}.get(of, BIRD)
    card = {"heavy": HEAVY, "barred": BARRED}.get(of, CARD)
    found = statuses(*around(sentence)[not alone], bird=bird, card=card)
    assert found[item] is Status.SAID
    assert not BLAMED & set(found.values()), {i: s.value for i, s in found.items() if s in BLAMED}


WINGS = {"wings.primaries", "wings.secondaries"}
SLIPS = [
    ("this joint is the shank and this below it is the hock", {"legs.hocks", "legs.shanks"}),
    ("the joint up here is called the shank", {"legs.hocks"}),
    ("the scaly part below the joint is the hock", {"legs.shanks"}),
    ("the ones by the body are the primaries and the long ones on the tip the secondaries", WINGS),
    ("these long ones out at the wing tip are the secondaries", {"wings.primaries"}),
    ("the flights in close to the body are her primaries", {"wings.secondaries"}),
]


@pytest.mark.parametrize("alone", [True, False], ids=["alone", "among others"])
@pytest.mark.parametrize(("sentence", "items"), SLIPS)
def test_a_part_under_anothers_name_is_caught(sentence: str, items: set[str], alone: bool) -> None:
    """Swapped, each part that is described has a wrong name."""
    found = statuses(*around(sentence)[not alone])
    assert {i: found[i] for i in items} == dict.fromkeys(items, Status.MISNAMED)


@pytest.mark.parametrize("alone", [True, False], ids=["alone", "among others"])
@pytest.mark.parametrize(
    "sentence",
    [
        "this joint is the hock and this below it is the shank",
        "the ones by the body are the secondaries and the long ones on the tip the primaries",
    ],
)
def test_parts_under_their_own_names_are_told(sentence: str, alone: bool) -> None:
    """The same sentences with the names in their places."""
    found = statuses(*around(sentence)[not alone])
    told = {"legs.hocks", "legs.shanks"} if "hock" in sentence else WINGS
    assert {found[i] for i in told} == {Status.SAID} and not BLAMED & set(found.values())


@pytest.mark.parametrize("alone", [True, False], ids=["alone", "among others"])
@pytest.mark.parametrize(
    "sentence",
    [
        "my dog weighs sixty pounds",
        "i carried two sacks of feed that weigh fifty pounds each",
        "my little brother weighs forty pounds and he is four",
        "our neighbor has a turkey that weighs thirty pounds",
    ],
)
def test_weights_of_others_accuse_nobody(sentence: str, alone: bool) -> None:
    """Neither right nor wrong."""
    found = statuses(*around(sentence)[not alone])
    weights = {i: s for i, s in found.items() if "weight" in i}
    assert weights and set(weights.values()) == {Status.SKIPPED} and not BLAMED & set(found.values())

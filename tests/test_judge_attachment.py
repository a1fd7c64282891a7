"""What a value is said of: lists, pronouns, returns, corrections, other birds; whose the value was; own faults told wrongly.

All sentences are invented from the item list (no published source); the issue's own examples among them.
"""

from __future__ import annotations

import pytest
from judging import judged, told, verdicts

SAID = "said"


@pytest.mark.parametrize(
    ("sentences", "said"),
    [
        (("her eyes and her earlobes are bay and red",), "head.eye_color head.earlobe_color"),
        (("the comb the wattles and the earlobes are all red",), "head.comb head.wattles head.earlobe_color"),
        (("beak white eyes reddish bay earlobes red shanks white",),
         "head.beak_color head.eye_color head.earlobe_color legs.shank_color"),
        (("both her earlobes and her wattles should be red",), "head.earlobe_color head.wattles"),
        (("she has reddish bay eyes red earlobes and a white beak",), "head.eye_color head.earlobe_color head.beak_color"),
        (("the shanks and the beak are white but the undercolor is buff",),
         "legs.shank_color head.beak_color back.undercolor_color"),
        (("red is what her earlobes are and white is the color of her shanks",), "head.earlobe_color legs.shank_color"),
        (("her wattles are red too and so are the earlobes",), "head.wattles head.earlobe_color"),
        (("this is the beak", "it should be white and mine is white"), "head.beak_color"),
        (("here is her comb", "it is a single one with five points"), "head.comb_type head.comb_points"),
        (("now the toes", "she has got four of them on each side"), "legs.toe_count"),
        (("and her toes", "let us count", "yep that makes four"), "legs.toe_count"),
        (("let me count the points on her comb yep five",), "head.comb_points"),
        (("she has a five pointed comb and she is four toed",), "head.comb_points legs.toe_count"),
        (("this is the beak", "these are the wattles", "going back to the beak it is white"), "head.beak_color"),
        (("this is the vent and it is clean", "oh and i forgot her eyes are reddish bay"), "vent.condition head.eye_color"),
        (("here you have your tail coverts and your primary feathers",), "tail.coverts wings.primaries"),
    ],
)  # fmt: skip
def test_values_in_lists_pronouns_and_returns(sentences: tuple[str, ...], said: str) -> None:
    """Each value goes to its part, and nothing is called wrong."""
    found = told(*sentences)
    assert {i: found.get(i) for i in said.split()} == dict.fromkeys(said.split(), SAID)
    assert not {"wrong", "misnamed"} & set(found.values())


def test_a_pointed_at_part_does_not_share_the_next_parts_color() -> None:
    """ "This is the beak and the eyes are bay": the color is of the eyes alone."""
    assert "head.beak_color" not in told("this is the beak and the eyes are reddish bay")


def test_a_wrong_color_of_two_parts_blames_the_nearer_one_only() -> None:
    """Of the further part it is unsure, unless "both" makes it plain."""
    found = told("the shanks and the beak are yellow")
    assert (found["head.beak_color"], found["legs.shank_color"]) == ("wrong", "unsure")
    found = told("both the shanks and the beak are yellow")
    assert (found["head.beak_color"], found["legs.shank_color"]) == ("wrong", "wrong")


@pytest.mark.parametrize(
    ("sentence", "item", "slip"),
    [
        ("the comb has six sorry five points", "head.comb_points", "six"),
        ("her eyes are red no wait they are reddish bay", "head.eye_color", "red"),
        ("she has five toes i mean four toes on each foot", "legs.toe_count", "five"),
        ("a hen weighs ten pounds sorry eight pounds", "facts.weight_hen", "ten pounds"),
        ("a cock weighs ten pounds and a hen nine no eight pounds", "facts.weight_hen", "nine"),
        ("she belongs to the american class i mean the english class", "facts.class", "american"),
        ("these are her ankles oops i mean hocks", "legs.hocks", "ankles"),
    ],
)
def test_the_last_word_stands_and_the_slip_is_kept(sentence: str, item: str, slip: str) -> None:
    """A correction counts as said, and the slip is mentioned."""
    found = judged(sentence)
    assert {v.id: v.status.value for v in found.verdicts}[item] == SAID
    assert [(s.item, s.heard) for s in found.slips] == [(item, slip)]


def test_a_correction_to_the_wrong_value_is_wrong() -> None:
    """The last word stands also when the first was right."""
    assert told("the comb has five sorry six points")["head.comb_points"] == "wrong"


@pytest.mark.parametrize(
    ("sentence", "silent"),
    [
        ("on a cock the comb would be bigger and have six points", "head.comb_points"),
        ("sussex have white earlobes", "head.earlobe_color"),
        ("sussex come from italy", "facts.origin"),
        ("my brothers hen has yellow shanks", "legs.shank_color"),
        ("my other hen had lice", "back.parasites"),
        ("some birds have five toes", "legs.toe_count"),
        ("last year my pullet had black eyes", "head.eye_color"),
    ],
)
def test_what_is_said_of_another_bird_is_not_said_of_this_one(sentence: str, silent: str) -> None:
    """Neither right nor wrong."""
    assert silent not in told(sentence)


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        ("on a cock the comb would be bigger", "head.comb"),
        ("sussex have white earlobes but hers are red", "head.earlobe_color"),
        ("other breeds have five toes but she has four", "legs.toe_count"),
        ("in some birds the keel is crooked hers is straight", "breast.keel_condition"),
        ("unlike my sisters sussex she has a single comb", "head.comb_type"),
        ("since she is a girl these are the pubic bones", "abdomen.pubic_bones"),
    ],
)
def test_this_bird_comes_back(sentence: str, said: str) -> None:
    """Parts named beside another bird count, and so does what follows on this one."""
    assert told(sentence)[said] == SAID


def test_a_number_before_a_bird_that_has_its_own_weight_is_no_weight() -> None:
    """ "For a cock" may be written "four cock"; "eight, hen six" is a list."""
    assert told("four cock at ten pounds") == {"facts.weight_cock": SAID}
    found = told("weights in order cock ten hen eight cockerel eight and a half pounds pullet seven")
    assert {i: s for i, s in found.items() if "weight" in i} == dict.fromkeys(
        ("facts.weight_cock", "facts.weight_hen", "facts.weight_cockerel", "facts.weight_pullet"), SAID
    )


def test_british_weights_count() -> None:
    """A stone is 14 pounds (British, from memory); kilograms by NIST Handbook 44."""
    assert told("the standard weight for a pullet is half a stone")["facts.weight_pullet"] == SAID
    assert told("a hen weighs three kilos six hundred grams")["facts.weight_hen"] == SAID


def test_one_unit_goes_for_the_whole_list() -> None:
    """A bare weight is in the unit of the one before it, figures after the point one by one, and none of it counts points."""
    found = told("a cock weighs four point five four kilos and a hen three point six three, pullets three point one eight")
    weights = ("facts.weight_cock", "facts.weight_hen", "facts.weight_pullet")
    assert found == dict.fromkeys(weights, SAID)


def test_birds_named_by_sex_and_by_age() -> None:
    """British "young cock" and plain "the male": the grown bird, or with "young" the young one."""
    found = told("the male weighs ten pounds and the female eight, a young male eight and a half")
    assert found == dict.fromkeys(("facts.weight_cock", "facts.weight_hen", "facts.weight_cockerel"), SAID)
    assert told("a young cock weighs eight and a half pounds") == {"facts.weight_cockerel": SAID}
    assert told("this is juniper, a young hen")["opening.sex_age"] == SAID


def test_what_if_presents_no_bird() -> None:
    """ "If it's a cock" says nothing of this bird's sex, and "four weight" is how "for weight" is written."""
    found = told("four weight, if it's a cock, ten point oh. four weight, if it's a hen, eight pounds")
    assert found == dict.fromkeys(("facts.weight_cock", "facts.weight_hen"), SAID)


def test_what_kind_of_comb_it_is_called() -> None:
    """ "That kind of single", after the comb was named."""
    assert told("this is her comb. we call that kind of single")["head.comb_type"] == SAID


def test_a_joke_taken_back_is_corrected() -> None:
    """The last word stands after "just kidding"."""
    assert told("they lay green eggs, just kidding, they lay brown eggs")["facts.egg_color"] == SAID


def test_serrations_are_the_points_of_a_comb() -> None:
    """The British word. From memory."""
    assert told("her comb has five serrations")["head.comb_points"] == SAID


def test_an_everyday_phrase_does_not_reach_over_a_comma() -> None:
    """ "Back there" is elsewhere; the back, and there are no lice on it, is the bird's."""
    assert told("this is the back, there are no lice")["back.back"] == SAID
    assert "back.back" not in told("i left it back there")


@pytest.mark.parametrize(
    ("sentence", "item", "note"),
    [
        ("her beak is reddish bay", "head.beak_color", "reddish bay is what the eyes should be"),
        ("they lay white eggs", "facts.egg_color", "other breeds have that: Leghorn, Polish"),
        ("she has five toes", "legs.toe_count", "other breeds have that: Silkie, Dorking"),
        ("her shanks are slate", "legs.shank_color", "the Black Orpington has that"),
        ("they come from italy", "facts.origin", "other breeds have that: Leghorn, Ancona"),
        ("a hen weighs four and a half pounds", "facts.weight_hen", "other breeds weigh that: Leghorn, Polish"),
        ("a hen weighs ten pounds", "facts.weight_hen", "that is the weight of a cock"),
        ("she has six toes", "legs.toe_count", None),
    ],
)
def test_a_near_miss_says_whose_value_it_was(sentence: str, item: str, note: str | None) -> None:
    """Another part's, another variety's, another breed's (from the shipped cards), another bird's; nobody's has no remark."""
    found = verdicts(sentence)[item]
    assert (found.status.value, found.note) == ("wrong", note)


def test_a_part_in_the_wrong_number_is_said_with_a_remark() -> None:
    """Two wattles; "one wattle is bigger" counts nothing."""
    found = verdicts("she has one wattle")["head.wattles"]
    assert (found.status.value, found.note) == (SAID, "a bird has two wattles")
    assert verdicts("one wattle is bigger than the other")["head.wattles"].note is None
    assert verdicts("she has a pair of wattles")["head.wattles"].note is None


@pytest.mark.parametrize(
    ("sentences", "status", "note"),
    [
        (("she has a side sprig on her comb",), SAID, None),
        (("she has no faults but a side sprig on the comb",), SAID, None),
        (("there is no side sprig on her comb",), "wrong", "I heard that it is not there"),
        (("there is a side sprig on her beak",), "wrong", "I heard it told of the beak"),
        (("there is no side sprig", "oh wait there is a side sprig on the comb"), SAID, None),
    ],
)
def test_an_own_fault_told_wrongly_is_named(sentences: tuple[str, ...], status: str, note: str | None) -> None:
    """Denied or put on another part it is wrong; told rightly anywhere it counts."""
    found = verdicts(*sentences)["faults.side-sprig"]
    assert (found.status.value, found.note) == (status, note)


def test_told_with_plan_and_without() -> None:
    """The plan is an item of its own, and a bonus."""
    found = verdicts("her fault is a side sprig", "i will breed her to a male with a clean comb")
    assert found["faults.side-sprig"].status.value == found["faults.side-sprig.plan"].status.value == SAID
    assert not verdicts("her fault is a side sprig")["faults.side-sprig.plan"].required


def test_told_after_going_on_is_late() -> None:
    """In a later region, or on coming back from one; told again after the first time it is not late."""
    on = ("this is the comb", "here is the back", "these are the tail coverts", "the vent is clean")
    assert verdicts(*on, "these are the shanks and toes and her eyes")["head.eyes"].late
    back = verdicts(*on, "oh i forgot the eyes are clear", "and the wattles and the earlobes are red", "now the shanks")
    assert back["head.eyes"].late and back["head.earlobe_color"].late
    assert not back["head.comb"].late
    again = verdicts("this is the comb and the eyes", *on[1:], "like i said these are the eyes and the wattles")
    assert not again["head.eyes"].late


def test_a_region_out_of_order_is_not_late_item_by_item() -> None:
    """The neck after the tail: the region is named, its items are not."""
    found = judged("this is the comb", "the tail and the main tail", "the vent is clean", "here is the hackle", "the keel")
    assert found.out_of_order == ("neck",)
    assert not any(v.late for v in found.verdicts)

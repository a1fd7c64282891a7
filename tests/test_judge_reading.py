"""Reading sentences: what is told, of what, rightly or wrongly."""

from __future__ import annotations

import pytest
from judging import COCKEREL, told, verdicts


def test_values_go_to_the_part_they_are_said_of() -> None:
    """Two parts and two colors in one sentence do not mix, nor does a return to an earlier part."""
    found = told("the lobes are red and the eyes are reddish bay")
    assert found["head.earlobe_color"] == found["head.eye_color"] == "said"
    found = told("her comb which is bright red has five points and like i said her eyes are reddish bay")
    assert found["head.comb_points"] == found["head.eye_color"] == "said"
    assert "head.earlobe_color" not in found


def test_a_pronoun_speaks_of_the_part_before() -> None:
    """ "It" and "they" carry values and checks back to the last part named."""
    found = told("this is her beak", "it is white and it is not cracked", "here are the eyes", "they are reddish bay")
    assert {found[i] for i in ("head.beak_color", "head.beak_condition", "head.eye_color")} == {"said"}


def test_a_wrong_value_is_wrong_and_names_its_words() -> None:
    """A wrong value gives its words and their time."""
    verdict = verdicts("the comb has six points")["head.comb_points"]
    assert (verdict.status.value, verdict.heard) == ("wrong", "six")
    assert verdict.start_s is not None and verdict.end_s is not None


def test_a_wrong_name_counts_only_while_the_right_one_is_missing() -> None:
    """Knee for hock is misnamed; put right at once it is told, with a slip."""
    assert told("this joint is her knee")["legs.hocks"] == "misnamed"
    assert told("this is her knee i mean her hock")["legs.hocks"] == "said"


def test_swapped_weights_are_named() -> None:
    """The hen's weight given for the cock is wrong and the note says whose it is."""
    found = verdicts("a cock weighs eight pounds and a hen ten pounds")
    assert found["facts.weight_cock"].status.value == "wrong"
    assert found["facts.weight_cock"].note == "that is the weight of a hen"


def test_weights_in_other_units_count() -> None:
    """Pounds with ounces and kilograms tell the same weight."""
    assert told("a cockerel weighs eight pounds eight ounces")["facts.weight_cockerel"] == "said"
    assert told("a cock weighs 4.5 kilos")["facts.weight_cock"] == "said"


@pytest.mark.parametrize("no_lice", ["no lice or mites", "she is free of lice", "there are not any mites on her"])
def test_negated_checks_count(no_lice: str) -> None:
    """A check told with its negation is told."""
    assert told(no_lice)["back.parasites"] == "said"


def test_scaly_leg_mites_are_not_the_mites_of_the_feathers() -> None:
    """The longer phrase takes its words."""
    found = told("there are no scaly leg mites")
    assert "legs.scales_condition" in found and "back.parasites" not in found


@pytest.mark.parametrize(
    "talk",
    ["i wash her back at home in the tub", "i keep an eye on the weather", "my brother got his toes stepped on by a goat",
     "i had to comb my hair", "the vent in the roof of our coop", "my secondary school has a club",
     "our old rooster stayed back in the barn"],
)  # fmt: skip
def test_everyday_talk_names_no_part(talk: str) -> None:
    """Route words used innocently tell nothing."""
    assert told(talk) == {}


def test_another_birds_values_are_not_this_birds() -> None:
    """What a rooster would have is not said of this pullet."""
    assert "legs.spurs" not in told("a rooster would have spurs here")
    assert "head.comb_points" not in told("a rooster would have six points on his comb")


def test_a_pullet_in_the_weights_is_not_this_birds_word() -> None:
    """Sex and age must be said of the bird on the table."""
    assert "opening.sex_age" not in told("a pullet weighs seven pounds")
    assert told("she is a buff orpington pullet")["opening.sex_age"] == "said"
    assert told("she is a buff orpington hen")["opening.sex_age"] == "wrong"
    assert told("he is my rooster", bird=COCKEREL)["opening.sex_age"] == "misnamed"


def test_the_birds_own_fault_and_plan() -> None:
    """Told in the member's own order of words; red lobes or a comb alone tell no sprig."""
    found = told("there is a little sprig on the side of her comb", "so i will breed her to a male with a clean comb")
    assert found["faults.side-sprig"] == found["faults.side-sprig.plan"] == "said"
    assert "faults.side-sprig" not in told("this is the side of her comb")


def test_near_colors_are_left_unsure() -> None:
    """A color a fair judge could take for the right one is no mistake."""
    assert told("her undercolor is golden")["back.undercolor_color"] == "unsure"


def test_the_back_is_named_before_to_and_left_out_after_going_back_to() -> None:
    """ "On the back to show" names it; "back to the barn" does not."""
    assert told("now i lay my palm on the back to show how broad it is") == {"back.back": "said"}
    assert told("we went back to the barn") == {}


def test_a_comb_written_in_one_word_is_a_comb() -> None:
    """ "Rosecomb" is the comb and its type, not the breed of that name."""
    assert told("it is a rosecomb") == {"head.comb": "said", "head.comb_type": "wrong"}


def test_two_bones_may_be_misnamed_but_two_fingers_measure() -> None:
    """A count before a wrong name does not excuse it, except for fingers."""
    assert told("i find the two hip bones") == {"abdomen.pubic_bones": "misnamed"}
    assert "legs.toes" not in told("they are two fingers apart")


def test_a_weight_whose_bird_was_not_heard_is_left_unsure() -> None:
    """In a list of weights a stray number that fits a missing bird is no mistake of hers."""
    found = told("a cock weighs ten pounds and eight a cockerel eight and a half a pullet seven")
    assert found["facts.weight_hen"] == "unsure"
    assert found["facts.weight_cock"] == found["facts.weight_cockerel"] == found["facts.weight_pullet"] == "said"

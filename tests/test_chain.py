"""Every stage from sound to verdict, each by what is lost without it: a scripted listener stands in for the recogniser.

Words with confidences and scores go in, verdicts come out; the sentences are such as any reader must understand. That each of
these tests fails when its stage is broken is shown by `python -m bench.mutations`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from math import nan
from pathlib import Path

import pytest
from judging import BIRD, CARD
from scripted import CLEARLY, SUBJECT, Scripted, hearing, judged_by, nats_for

from coach.errors import CoachError
from coach.judge.belief import Chances, verdict_of
from coach.judge.caution import Caution, soften
from coach.judge.verdict import Basis, Status
from coach.knowledge.model import Kind
from coach.listen import weights
from coach.review import Subject, judge_words, spot_doubts
from coach.voice.profile import VoiceProfile
from coach.words import TimedWords

SAID, SKIPPED, MISNAMED, WRONG, UNSURE = Status.SAID, Status.SKIPPED, Status.MISNAMED, Status.WRONG, Status.UNSURE
LEGS = ("these are the thighs", "these are the hawks", "these are the shanks")


def legs(hawks: float) -> TimedWords:
    """The hocks misheard as hawks with that confidence, among the other parts of the leg."""
    return hearing(*LEGS, hawks=hawks)


def grumbling(sure: float) -> TimedWords:
    """The legs without the hocks, but for a word of that confidence that sounds like nothing."""
    heard = hearing("these are the thighs", "and then come her grumbles", "these are the shanks", "these are the toes")
    return replace(heard, words=tuple(replace(w, confidence=sure) if w.text == "grumbles" else w for w in heard.words))


def hocks_at(share: float, profile: VoiceProfile | None = None) -> Status:
    """What becomes of the hocks when the sound gives them this probability."""
    heard = legs(0.9)
    return judged_by(Scripted({"hocks": nats_for(share, heard, "hawks", "hocks")}), heard, profile)["legs.hocks"].status


def voice(share_heard: float, *misheard: tuple[str, str]) -> VoiceProfile:
    """A member's voice, of which the listener got that share."""
    return VoiceProfile(
        member="Kit", date="2026-01-01", listener="whisper", share_heard=share_heard, misheard=misheard, speed=1.0,
        level_dbfs=-20.0, snr_db=None, clipped_share=0.0,
    )  # fmt: skip


# --- spot: which words are asked about ------------------------------------------------------------------------------


def test_a_word_the_listener_is_fairly_sure_of_is_still_asked_about() -> None:
    """Waffles written with 0.9 are taken for wattles when the sound says so; with 0.999 nobody asks."""
    said = {"wattles": CLEARLY}
    for sure, status in ((0.9, SAID), (0.6, SAID), (0.999, SKIPPED)):
        heard = hearing("this is her comb", "and look at those fine waffles", waffles=sure)
        assert judged_by(Scripted(said), heard)["head.wattles"].status is status


def test_where_the_sentence_asks_for_a_part_even_surer_words_are_questioned() -> None:
    """ "These are the hawks" with 0.97 is asked about, where a part's name must stand."""
    assert judged_by(Scripted({"hocks": CLEARLY}), legs(0.97))["legs.hocks"].status is SAID


def test_a_wrong_name_wins_on_equal_terms() -> None:
    """An "axle" that the sound calls an ankle is blamed as that, one that it calls an axial is told: several rivals are asked."""
    heard = hearing("these are the thighs", "see the axle there", axle=0.6)
    assert judged_by(Scripted({"ankle": CLEARLY}), heard)["legs.hocks"].status is MISNAMED
    assert judged_by(Scripted({"axial": CLEARLY}), heard)["wings.axial"].status is SAID


def test_the_nearer_its_region_is_spoken_of_the_more_speaks_for_a_rival() -> None:
    """In the same sentence most, in the next one less, two away still less, three away nothing."""
    talk = ["we all went home", "it was a long day", "and it rained"]

    def place(sentences: list[str]) -> float:
        doubts = spot_doubts(hearing(*sentences, hawks=0.6), SUBJECT, asks=True)
        return next(r.place for d in doubts if d.heard == "hawks" for r in d.rivals if r.text == "hocks")

    away = [place(["these are the hawks and the shanks"])]
    away += [place(["these are the shanks", *talk[:n], "these are the hawks"]) for n in range(3)]
    away_before = [place(["these are the hawks", *talk[:n], "these are the shanks"]) for n in range(3)]
    assert away[0] > away[1] > away[2] > away[3] == 0.0
    assert away_before == away[1:]


def test_what_is_told_nowhere_else_speaks_for_a_rival() -> None:
    """The hocks are missing until they are named in another sentence."""
    for others, missing in (("these are the thighs", True), ("these are her hocks", False)):
        doubts = spot_doubts(hearing(others, "these are the hawks", hawks=0.6), SUBJECT, asks=True)
        assert {r.missing for d in doubts if d.heard == "hawks" for r in d.rivals if r.text == "hocks"} == {missing}


def test_a_doubt_is_weighed_within_its_breath() -> None:
    """The question holds all the words around the doubtful one, and the sound from the first to the last of them."""
    heard = hearing("these are the hawks and the long yellow shanks", hawks=0.6)
    question = next(d.question for d in spot_doubts(heard, SUBJECT, asks=True) if d.heard == "hawks")
    assert (question.before, question.after) == ("these are the", "and the long yellow shanks")
    assert question.from_s <= heard.words[0].start_s and question.to_s >= heard.words[-1].end_s


def test_the_birds_own_name_is_restored_before_reading() -> None:
    """ "Not Meg" for a bird called Nutmeg becomes the name, and denies nothing."""
    subject = Subject(replace(BIRD, name="Nutmeg"), CARD, SUBJECT.route)
    strict, _ = judge_words(hearing("this is not Meg and this is her comb"), subject, Scripted())
    assert [(w.text, w.written) for w in strict.words if w.written] == [("Nutmeg", "not Meg")]


# --- weigh and repair: what the sound's answers change --------------------------------------------------------------


def test_the_sound_decides() -> None:
    """The same words: said where the sound favours the hocks, left out where it does not."""
    assert judged_by(Scripted({"hocks": CLEARLY}), legs(0.9))["legs.hocks"].status is SAID
    assert judged_by(Scripted(), legs(0.9))["legs.hocks"].status is SKIPPED


def test_what_was_first_written_is_kept() -> None:
    """A verdict that rests on a mended word says so, with what the listener wrote."""
    found = judged_by(Scripted({"hocks": CLEARLY}), legs(0.9))["legs.hocks"]
    assert (found.heard, found.written, found.basis) == ("hocks", "hawks", Basis.SOUNDS_LIKE)


def test_the_likelier_of_two_that_overlap_stands() -> None:
    """ "Axle feather" is either an ankle, or wholly an axial feather: the one the sound favours more is taken."""
    heard = hearing("this is the left wing", "then comes the axle feather", axle=0.6)
    found = judged_by(Scripted({"axial feather": CLEARLY, "ankle": 5.0}), heard)
    assert (found["wings.axial"].status, found["legs.hocks"].status) == (SAID, SKIPPED)
    found = judged_by(Scripted({"axial feather": -4.0, "ankle": CLEARLY}), heard)
    assert found["legs.hocks"].status is MISNAMED


def test_what_cannot_be_weighed_goes_by_likeness_of_sound() -> None:
    """A listener that lacks the words (nan) credits near sounds after "the", and none that is far."""
    heard = hearing("these are the waddles", "these are the hugs", waddles=0.6, hugs=0.6)
    found = judged_by(Scripted(others=nan, name="vosk"), heard)
    assert (found["head.wattles"].status, found["legs.hocks"].status) == (SAID, SKIPPED)


def test_words_without_sound_are_mended_by_likeness_alone() -> None:
    """Words from a file: waddles are wattles, hawks are no hocks."""
    found = {v.id: v.status for v in judge_words(hearing("these are the waddles", "these are the hawks"), SUBJECT)[1].verdicts}
    assert (found["head.wattles"], found["legs.hocks"]) == (SAID, SKIPPED)


# --- the strict and the generous reading, settled ---------------------------------------------------------------------


def test_likely_is_said_possible_is_unsure_unlikely_is_blamed() -> None:
    """More likely than not counts as said; what was said one time in ten accuses nobody; less than one in fifty does."""
    shares = (0.02, 0.1, 0.2, 0.45, 0.55, 0.9)
    assert [hocks_at(share) for share in shares] == [SKIPPED, UNSURE, UNSURE, UNSURE, SAID, SAID]


def test_unsure_tells_where_to_listen() -> None:
    """The verdict names what may have been said, and when."""
    heard = legs(0.9)
    found = judged_by(Scripted({"hocks": nats_for(0.2, heard, "hawks", "hocks")}), heard)["legs.hocks"]
    hawks = next(w for w in heard.words if w.text == "hawks")
    assert (found.heard, found.start_s, found.end_s, found.place_s) == ("hocks", hawks.start_s, hawks.end_s, None)


def test_the_generous_reading_excuses_nothing_else() -> None:
    """With the hocks open, a wrong name, a wrong value and what was left out stay as they are."""
    heard = hearing(*LEGS, "this is her chest", "the comb has nine points", hawks=0.9)
    found = judged_by(Scripted({"hocks": nats_for(0.2, heard, "hawks", "hocks")}), heard)
    wanted = {"legs.hocks": UNSURE, "breast.breast": MISNAMED, "head.comb_points": WRONG, "head.wattles": SKIPPED}
    assert {item: found[item].status for item in wanted} == wanted


def test_a_generous_reading_takes_nothing_away() -> None:
    """The beak that was told stays told where the generous reading would have the back in its place; the back is left open."""
    heard = hearing("this is the beak", "these are the thighs", beak=0.5)
    found = judged_by(Scripted({"back": nats_for(0.2, heard, "beak", "back")}), heard)
    assert (found["head.beak"].status, found["back.back"].status) == (SAID, UNSURE)


# --- again: the second hearing ------------------------------------------------------------------------------------------


def test_an_unclear_breath_is_heard_a_second_time() -> None:
    """What the first hearing wrote out of all likeness ("hugs") is found by the second, where the sound agrees."""
    for sure, status in ((0.3, SAID), (0.7, SAID), (0.95, SKIPPED)):
        heard = hearing("these are the shanks", "and she has clean hugs", hugs=sure)
        listener = Scripted({"hocks": CLEARLY, "strong hocks": CLEARLY}, {"hugs": "and she has strong hocks"})
        assert judged_by(listener, heard)["legs.hocks"].status is status


def test_the_second_hearing_is_weighed_not_believed() -> None:
    """Where the sound is against what the second hearing wrote, it is not told."""
    heard = hearing("these are the shanks", "and she has clean hugs", hugs=0.7)
    assert judged_by(Scripted({}, {"hugs": "and she has strong hocks"}), heard)["legs.hocks"].status is not SAID


def test_where_nothing_is_blamed_nothing_is_heard_again() -> None:
    """A rehearsal that tells every item is heard once; without one item its unclear breaths are heard again."""
    full = Scripted()
    judged_by(full, told_all())
    assert full.spans == []
    short = Scripted()
    judged_by(short, told_all(without="legs.hocks"))
    assert short.spans


def told_all(without: str = "") -> TimedWords:
    """Every item told by the line that the report itself proposes, but for one; the last word is unclear."""
    lines = [v.line for v in judge_words(hearing("um"), SUBJECT)[1].verdicts if v.id != without and v.line]
    return hearing(*lines, "that is it", it=0.5)


# --- caution: what cannot accuse ------------------------------------------------------------------------------------------


def test_a_faint_word_near_its_place_leaves_an_item_open() -> None:
    """Where the listener hardly believed what it wrote among the legs, the missing hocks are not blamed."""
    for sure, status in ((0.1, UNSURE), (0.6, SKIPPED)):
        assert judged_by(Scripted(), grumbling(sure))["legs.hocks"].status is status


def test_one_faint_word_excuses_one_item() -> None:
    """Hocks and scales are both missing, and only one of them can have been that word."""
    found = judged_by(Scripted(), grumbling(0.1))
    assert [i for i, v in found.items() if v.status is UNSURE] == ["legs.hocks"]
    assert found["legs.scales_condition"].status is SKIPPED


def test_a_faint_wrong_value_accuses_nobody() -> None:
    """Five toes heard with hardly any belief are left open; heard clearly they are wrong."""
    for sure, status in ((0.1, UNSURE), (0.99, WRONG)):
        assert judged_by(Scripted(), hearing("she has five toes on each foot", five=sure))["legs.toe_count"].status is status


def test_a_bonus_is_nobodys_blame() -> None:
    """A faint word is kept for what is required: an optional item that comes first in the route takes none of it."""
    judgement = judge_words(hearing("um"), SUBJECT)[1]
    bonus = next(v for v in judgement.verdicts if not v.required)
    heard = hearing("grumbles", grumbles=0.1)
    found = soften(replace(judgement, verdicts=(replace(bonus, place_s=heard.words[0].start_s),)), Caution(sure=0.2), heard)
    assert found.verdicts[0].status is SKIPPED


def test_a_voice_that_is_heard_less_well_gets_more_doubt() -> None:
    """What is one chance in twenty-five leaves open for a voice heard at 0.8, and is blamed in one heard well."""
    assert (hocks_at(0.04), hocks_at(0.04, voice(0.95)), hocks_at(0.04, voice(0.8))) == (SKIPPED, SKIPPED, UNSURE)


def test_a_voice_that_is_hardly_heard_blames_nobody() -> None:
    """Of a voice of which most is lost nothing is called left out or wrong."""
    found = judged_by(Scripted(), hearing(*LEGS, "this is her chest"), voice(0.3))
    assert not {v.status for v in found.values() if v.required} & {SKIPPED, MISNAMED, WRONG}
    assert judged_by(Scripted(), hearing(*LEGS, "this is her chest"), voice(0.95))["breast.breast"].status is MISNAMED


def test_a_term_known_to_be_misheard_of_this_voice_is_left_open() -> None:
    """The voice check found the hock written as hawk: then a hawk among the legs accuses nobody."""
    heard = legs(0.999)
    assert judged_by(Scripted(), heard, voice(0.95))["legs.hocks"].status is SKIPPED
    assert judged_by(Scripted(), heard, voice(0.95, ("hocks", "hawks")))["legs.hocks"].status is UNSURE


# --- decide: from what was read to verdicts -------------------------------------------------------------------------------


def test_told_in_a_later_region_is_said_and_late() -> None:
    """Wattles told among the legs, and on coming back to the head, are said and marked; told in their place they are not."""
    heard = hearing("this is the beak", "these are the thighs", "these are the wattles", "these are the toes")
    away = judged_by(Scripted(), heard)
    assert (away["head.wattles"].status, away["head.wattles"].late) == (SAID, True)
    assert not away["head.beak"].late and not away["legs.toes"].late
    home = judged_by(Scripted(), hearing("this is the beak", "these are the wattles", "these are the thighs"))
    assert not home["head.wattles"].late


def test_a_wrong_color_is_traced_to_the_part_beside_it_before_other_breeds() -> None:
    """White earlobes on this bird are what its beak should be, though other breeds have white earlobes."""
    found = judged_by(Scripted(), hearing("this is the comb", "the earlobes are white"))["head.earlobe_color"]
    assert found.status is WRONG and found.note == "white is what the beak should be"


def test_what_was_left_out_tells_where_it_should_have_come() -> None:
    """The wattles should have come before the head was left."""
    heard = hearing("this is the beak", "this is her comb", "these are the thighs", "these are the toes")
    found = judged_by(Scripted(), heard)["head.wattles"]
    assert found.place_s == next(w.end_s for w in heard.words if w.text == "comb")


def test_right_after_wrong_stands_and_wrong_after_right_is_open() -> None:
    """A value put right counts as said; one told both ways, the wrong one last, is left to the member."""
    found = [
        judged_by(Scripted(), hearing(*told))["head.comb_points"].status
        for told in (
            ("the comb has six points, no sorry, the comb has five points",),
            ("the comb has five points", "this is the beak", "the comb has six points"),
            ("the comb has six points",),
        )
    ]
    assert found == [SAID, UNSURE, WRONG]


def test_what_is_taken_back_does_not_stand() -> None:
    """The last word counts, also where the first was right."""
    heard = hearing("this is the comb", "the comb has five points, no sorry, the comb has six points")
    assert judged_by(Scripted(), heard)["head.comb_points"].status is WRONG


def test_a_slip_put_right_is_kept() -> None:
    """Six points put right to five are told, and the six is remembered."""
    found = judge_words(hearing("this is the comb", "the comb has six, sorry, five points"), SUBJECT, Scripted())[1]
    assert [(s.item, s.heard) for s in found.slips] == [("head.comb_points", "six")]


def test_what_may_well_have_been_told_is_left_open() -> None:
    """One chance in four that it was told well blames nobody; one in twenty does not excuse it."""
    for kind in Kind:
        assert verdict_of(Chances(0.25, 0.0, 0.75), kind) is verdict_of(Chances(0.25, 0.5, 0.25), kind) is UNSURE
        assert verdict_of(Chances(0.05, 0.0, 0.95), kind) is SKIPPED
        assert verdict_of(Chances(0.05, 0.9, 0.05), kind) is (MISNAMED if kind is Kind.PART else WRONG)


def test_what_was_as_good_as_surely_told_is_said() -> None:
    """Nine chances in ten are credited."""
    assert {verdict_of(Chances(0.9, 0.05, 0.05), kind) for kind in Kind} == {SAID}


def test_talk_that_examines_no_bird_is_no_rehearsal() -> None:
    """Two sentences about school judge nobody; three parts do."""
    assert not judge_words(hearing("we had a test at school", "then I went home"), SUBJECT, Scripted())[1].is_rehearsal
    three = hearing("this is the beak", "this is the comb", "these are the wattles")
    assert judge_words(three, SUBJECT, Scripted())[1].is_rehearsal


def test_a_region_told_late_is_out_of_order() -> None:
    """The neck after the legs; the others keep their order."""
    heard = hearing("this is the comb", "here is the back", "this is the vent", "these are the toes", "these are hackle feathers")
    assert judge_words(heard, SUBJECT, Scripted())[1].out_of_order == ("neck",)


def test_a_stray_word_of_another_region_moves_nobody() -> None:
    """A tail that shakes while the vent is shown is no visit to the tail."""
    heard = hearing("this is the back", "this is the vent", "she shakes her tail", "the vent is clean")
    assert judge_words(heard, SUBJECT, Scripted())[1].spoken_order == ("back", "vent")


# --- the weights ------------------------------------------------------------------------------------------------------------


def test_other_weights_than_the_shipped_ones_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A model file that was changed hears nobody: one line says which file it is and what to do."""
    model = tmp_path / "whisper-trade" / "model.bin"
    model.parent.mkdir()
    model.write_bytes(b"other weights")
    monkeypatch.setattr(weights, "models_dir", lambda: tmp_path)
    with pytest.raises(CoachError, match=re.escape(f"{model}: these are not the right weights")):
        weights.find_weights("whisper")


def test_the_taught_weights_come_first() -> None:
    """Without a name the listener that knows the trade's words is found, where it is shipped."""
    assert weights.find_weights()[0] == "whisper"

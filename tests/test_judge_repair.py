"""Doubtful words: which are asked about, what the sound's answers change, and what only a generous reading excuses."""

from __future__ import annotations

from dataclasses import replace

from judging import BIRD, BREEDS, CARD, judged, spoken

from coach.judge.decide import decide
from coach.judge.doubts import Doubt
from coach.judge.lexicon import build_lexicon
from coach.judge.repair import Calibration, features, likely, repair
from coach.judge.settle import settle
from coach.judge.sounds import Pronouncer
from coach.judge.spot import spot
from coach.judge.verdict import Basis, Status
from coach.knowledge.calibration import load_calibration
from coach.knowledge.language import load_language, load_pronunciations
from coach.knowledge.routes import load_route
from coach.words import TimedWords, Weighed

BY_GAIN = Calibration({"gain": 1.0}, 0.0)


def _doubts(heard: TimedWords, asks: bool = True) -> tuple[Doubt, ...]:
    language = load_language()
    lexicon = build_lexicon(load_route("head-to-tail"), CARD, BIRD, language, BREEDS)
    return spot(heard, lexicon, language, Pronouncer(load_pronunciations()), named=frozenset(), asks=asks)


def _answer(doubt: Doubt, winner: str) -> Weighed:
    """The sound says that this wording was spoken."""
    return Weighed(doubt.question, tuple(0.0 if w.strip(".,") == winner else -9.0 for w in doubt.question.wordings))


def test_a_sound_alike_is_asked_about_with_what_was_heard_first() -> None:
    """The rivals of "hawks" hold the hocks, and the first wording is what was heard."""
    doubts = [d for d in _doubts(spoken("these are the hawks and the shanks")) if d.heard == "hawks"]
    assert doubts and doubts[0].question.wordings[0] == "hawks"
    assert any(r.text in ("hock", "hocks") for r in doubts[0].rivals)


def test_the_sound_decides_and_what_was_written_is_kept() -> None:
    """The favoured wording takes the place of the heard one, times stay, the old spelling is remembered."""
    heard = spoken("these are the hawks and the shanks")
    doubts = _doubts(heard)
    answers = [_answer(d, next((r.text for r in d.rivals if r.text.startswith("hock")), d.heard)) for d in doubts]
    mended = repair(heard, doubts, answers, BY_GAIN)
    changed = [w for w in mended.words if w.written]
    assert [(w.written, w.text.rstrip("s")) for w in changed] == [("hawks", "hock")]
    assert changed[0].start_s == next(w.start_s for w in heard.words if w.text == "hawks")


def test_nothing_changes_where_the_sound_says_what_was_heard() -> None:
    """When the heard wording wins everywhere the words stay as they are."""
    heard = spoken("these are the hawks and the shanks", "the kill is straight")
    doubts = _doubts(heard)
    assert repair(heard, doubts, [_answer(d, d.heard) for d in doubts], BY_GAIN) == heard


def test_right_and_wrong_values_are_rivals_alike() -> None:
    """A misheard count is asked about with several counts, not with the card's alone."""
    doubts = _doubts(spoken("the comb has fine points"))
    counts = {r.text for d in doubts if d.heard == "fine" for r in d.rivals} & {"five", "nine", "four", "one"}
    assert {"five", "nine"} <= counts


def test_the_card_has_no_say_in_a_rivals_features() -> None:
    """The features of a rival are the same for a card that expects it and one that does not."""
    heard = spoken("the comb has fine points")
    other = replace(CARD, comb=replace(CARD.comb, points=9)) if CARD.comb else CARD
    language = load_language()
    found = []
    for card in (CARD, other):
        lexicon = build_lexicon(load_route("head-to-tail"), card, BIRD, language, BREEDS)
        doubts = spot(heard, lexicon, language, Pronouncer(load_pronunciations()), named={"head.comb"})
        found.append([features(d, None, n) for d in doubts for n in range(len(d.rivals))])
    assert found[0] == found[1]


def test_without_sound_only_near_sounds_of_part_names_are_taken() -> None:
    """ "The wattles" written as waddles is read as wattles; an uncle is no ankle."""
    heard = spoken("these are the waddles", "my uncle is here")
    mended = repair(heard, _doubts(heard, asks=False), None, likely(load_calibration("words")))
    assert [w.written for w in mended.words if w.written] == ["waddles"]


def test_where_only_the_generous_reading_excuses_the_verdict_is_unsure() -> None:
    """Skipped strictly and said generously is unsure, with the generous reading's words; what both say stands."""
    strict, generous = judged("this is the beak"), judged("this is the beak", "these are the wattles")
    found = {v.id: v for v in settle(strict, generous).verdicts}
    assert found["head.wattles"].status is Status.UNSURE and found["head.wattles"].heard == "wattles"
    assert found["head.beak"].status is Status.SAID
    assert found["head.comb"].status is Status.SKIPPED


def test_a_mended_word_is_told_as_sounding_alike() -> None:
    """A part credited by a repaired spelling says "sounds like"; one spelt right says "exact"."""
    heard = spoken("these are the hawks and the shanks")
    doubts = _doubts(heard)
    answers = [_answer(d, next((r.text for r in d.rivals if r.text.startswith("hock")), d.heard)) for d in doubts]
    found = decide(repair(heard, doubts, answers, BY_GAIN), load_route("head-to-tail"), CARD, BIRD, BREEDS)
    basis = {v.id: v.basis for v in found.verdicts}
    assert (basis["legs.hocks"], basis["legs.shanks"]) == (Basis.SOUNDS_LIKE, Basis.EXACT)

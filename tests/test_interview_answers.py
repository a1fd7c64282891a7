"""Answers as members give them: judged from words, and short recordings through the real recogniser."""

from __future__ import annotations

import pytest
from interview_answers import SPOKEN, compare, load_answers
from interviewing import BANK, FOLDER, judge, said

from coach.interview.hear import judge_answer, make_ear
from coach.interview.model import Kind, Score
from coach.interview.own_bird import card_questions
from coach.knowledge.cards import find_card, load_card
from coach.knowledge.language import load_language
from coach.knowledge.questions import Question

LEAST_F1 = 0.92
HATCH, KEEL, BREATH = "chick-hatch-days", "keel-other-names", "bird-breathing"
# recording -> question, points covered (from 0), points wrong
HEARD = {
    "hatch-right": (HATCH, {0}, set()),
    "hatch-wrong": (HATCH, set(), {0}),
    "hatch-corrected": (HATCH, {0}, set()),
    "keel-right": (KEEL, {0, 1}, set()),
    "keel-partial": (KEEL, {0}, set()),
    "keel-unknown": (KEEL, set(), set()),
    "comb-right": ("comb-types", {0, 1, 2, 3}, set()),
    "breath-right": (BREATH, {0, 1, 3}, set()),
    "breath-wrong": (BREATH, set(), set()),
    "parasites-right": ("external-parasite-kinds", {0, 1}, set()),
    "off-topic": (KEEL, set(), set()),
    "weight-kilos": ("card-weight-hen", {0}, set()),
}
KINDS = {"keel-unknown": Kind.DONT_KNOW, "off-topic": Kind.OFF_TOPIC}


@pytest.mark.parametrize("strips_marks", [False, True], ids=["punctuated", "bare"])
@pytest.mark.parametrize("half", [0, 1])
def test_key_points_from_words(half: int, strips_marks: bool) -> None:
    """F1 of key points and of wrong answers recognised, each half of the questions, with and without punctuation."""
    pairs = []
    for case in load_answers(half):
        text = "".join(c for c in case.text if c.isalnum() or c in " '") if strips_marks else case.text
        pairs.append((case, judge(BANK.questions[case.question], said(text))[1]))
    points, wrongs = compare(pairs)
    assert len({c.question for c, _ in pairs}) >= 37
    assert points.f1 >= LEAST_F1 and wrongs.f1 >= LEAST_F1, (points, wrongs)


def test_not_knowing_and_other_talk_are_told_apart() -> None:
    """Every "I don't know" and every off-topic answer is called so."""
    wanted = {"unknown": Kind.DONT_KNOW, "off": Kind.OFF_TOPIC}
    cases = [c for c in load_answers() if c.kind in wanted]
    assert len(cases) >= 7
    for case in cases:
        assert judge(BANK.questions[case.question], said(case.text))[1].kind is wanted[case.kind], case


@pytest.mark.parametrize(
    ("question", "text", "point"),
    [
        ("oviduct-order", "It goes from the in fun dib you lum to the mag num", 0),
        ("chalazae", "the twisty chords", 0),
        ("five-toed-breeds", "The door king.", 0),
        ("digestive-order", "the pro ventric you lus", 3),
    ],
)
def test_trade_words_written_by_ear(question: str, text: str, point: int) -> None:
    """Without sound to ask, what sounds almost the same as a trade word counts as it."""
    assert judge(BANK.questions[question], said(text))[1].points[point].status.value == "covered"


@pytest.fixture(scope="module")
def scores() -> dict[str, Score]:
    """Every recording, heard and scored by the real recogniser."""
    from coach.audio.read import read
    from coach.review import open_listener

    card = load_card(find_card("light-brahma"))
    bank = BANK.with_questions(card_questions(card, load_language()))
    ear, listener, out = make_ear(bank), open_listener(), {}
    for name, (question_id, _, _) in HEARD.items():
        question: Question = bank.questions[question_id]
        heard = listener.transcribe(read(FOLDER / f"{name}.ogg").samples)
        out[name] = judge_answer(question, heard, ear, listener)[1]  # type: ignore[arg-type]
    return out


@pytest.mark.listener
@pytest.mark.parametrize("name", HEARD)
def test_short_recordings(name: str, scores: dict[str, Score]) -> None:
    """Nothing is credited that was not said, at most one point in a recording is lost or unsure, the kind is right."""
    _, covered, wrong = HEARD[name]
    got = {n for n, p in enumerate(scores[name].points) if p.status.value == "covered"}
    blamed = {n for n, p in enumerate(scores[name].points) if p.status.value == "wrong"}
    assert got <= covered and len(covered - got) <= (1 if len(covered) > 1 else 0), SPOKEN[name]
    assert blamed == wrong
    assert scores[name].kind is KINDS.get(name, Kind.ANSWER)


@pytest.mark.listener
def test_a_mistake_is_heard(scores: dict[str, Score]) -> None:
    """ "Birds have no lungs" is recognised as a common wrong answer."""
    assert [m.note for m in scores["breath-wrong"].mistakes] == ["birds do have lungs that hardly stretch"]

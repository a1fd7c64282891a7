"""Questions made from the card and the bird: for every shipped card, right answers right and wrong ones wrong."""

from __future__ import annotations

import pytest
from interviewing import covered, scored, statuses

from coach.interview.own_bird import bird_questions, card_questions
from coach.judge.numbers import spoken
from coach.knowledge.cards import find_card, load_card, shipped_cards
from coach.knowledge.language import load_language
from coach.knowledge.model import Bird, Fault
from coach.knowledge.questions import LEVELS, UNITS, Question

CARD = load_card(find_card("light-brahma"))
FAULT = Fault("toe", "legs", "missing feathers on the middle toe", ("bare middle toe",), "softer bedding", ("softer bedding",))
BIRD = Bird("juniper", "Juniper", "light-brahma", "hen", (FAULT,))
OURS = {q.id: q for q in (*card_questions(CARD, load_language()), *bird_questions(BIRD, CARD))}


@pytest.mark.parametrize("card_id", shipped_cards())
def test_every_card_gives_sound_questions(card_id: str) -> None:
    """Whole questions with sources, known levels and units; no value is asked that the card does not know."""
    card = load_card(find_card(card_id))
    questions = card_questions(card, load_language())
    assert len({q.id for q in questions}) == len(questions) >= 3
    for question in questions:
        assert question.sources and question.level in LEVELS and question.ask.endswith((".", "?"))
        assert all((p.say or p.number) and (p.number is None or p.number.unit in UNITS) for p in question.points)


@pytest.mark.parametrize("card_id", shipped_cards())
def test_the_cards_own_values_are_right_answers(card_id: str) -> None:
    """Each value said as the card has it covers its question and is no mistake."""
    card = load_card(find_card(card_id))
    for question in card_questions(card, load_language()):
        if question.id == "card-disqualifications":
            continue  # sentences of the card's own, judged by their words
        told = _told(question)
        got = scored(question, told)
        assert covered(got) == {0} and not got.mistakes, (question.ask, told, got)


def _told(question: Question) -> str:
    number = question.points[0].number
    if number is None:
        return question.points[0].tell
    return f"{spoken(number.value)} {'ounces' if number.unit == 'ounce' else 'pounds' if number.unit == 'pound' else ''}".strip()


@pytest.mark.parametrize(
    ("question", "text", "status"),
    [
        ("card-weight-hen", "nine and a half pounds", "covered"),
        ("card-weight-hen", "four point three kilograms", "covered"),
        ("card-weight-hen", "twelve pounds", "wrong"),
        ("card-weight-hen", "seven pounds", "wrong"),
        ("card-toes", "four toes", "covered"),
        ("card-toes", "they do not have four toes", "wrong"),
        ("card-toes", "five", "wrong"),
        ("card-class", "the Asiatic class", "covered"),
        ("card-class", "American", "wrong"),
        ("card-comb", "she has a pea comb", "covered"),
        ("card-comb", "a rose comb", "wrong"),
        ("card-color-eye", "reddish bay", "covered"),
        ("card-color-eye", "bay", "covered"),
        ("card-color-eye", "blue", "wrong"),
        ("card-egg-color", "brown", "covered"),
        ("card-egg-color", "white", "wrong"),
        ("bird-faults", "she has a bare middle toe", "covered"),
        ("bird-faults", "nothing is wrong with her", "wrong"),
        ("bird-plan-toe", "I want to give her softer bedding", "covered"),
        ("bird-sex-age", "she is a hen", "covered"),
        ("bird-sex-age", "she is a pullet", "wrong"),
        ("bird-pubic-bones", "three fingers apart", "covered"),
    ],
)
def test_answers_about_the_own_bird(question: str, text: str, status: str) -> None:
    """The first point's verdict; a Light Brahma weighs 12, 9.5, 10 and 8 pounds by its card."""
    got = scored(OURS[question], text)
    if question == "bird-faults" and status == "wrong":
        assert got.mistakes and "every bird has faults" in got.mistakes[0].note
    else:
        assert statuses(got)[0] == status


def test_whose_weight_it_is_instead() -> None:
    """The cock's weight for the hen is told as such."""
    assert "that is the cock" in scored(OURS["card-weight-hen"], "twelve pounds").mistakes[0].note


def test_a_male_is_not_asked_for_pubic_bones() -> None:
    """Pubic bones and lay are for females; a bird without faults is not asked for them."""
    cock = Bird("max", "Max", "light-brahma", "cock")
    assert {q.id for q in bird_questions(cock, CARD)} == {"bird-sex-age"}

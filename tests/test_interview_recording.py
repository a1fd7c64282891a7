"""One recording of a whole interview: turns found by the questions' own words."""

from __future__ import annotations

import itertools

import pytest
from interviewing import BANK, FOLDER, judge, said

from coach.interview.recording import find_turns, since

IDS = ("chick-hatch-days", "keel-other-names", "brown-egg-breeds")
QUESTIONS = [BANK.questions[q] for q in IDS]
ANSWERS = ("Twenty one days.", "It is called the keel. I do not know the other one.", "They lay white eggs.")


def interview(asks: tuple[str, ...], answers: tuple[str, ...]) -> str:
    """Leader and member in turn."""
    return " ".join(itertools.chain(*zip(asks, answers, strict=True)))


def test_turns_are_found() -> None:
    """Every answer is what stands between its question and the next."""
    turns = find_turns(said(interview(tuple(q.ask for q in QUESTIONS), ANSWERS), timed=True), QUESTIONS)
    assert [" ".join(w.text for w in t.answer.words) for t in turns if t] == list(ANSWERS)


def test_questions_in_other_words_and_small_talk() -> None:
    """Half of a question's words in their order are enough; what the leader says besides harms nothing."""
    asks = (
        "Good morning, Robin. So tell me, how long must an egg be kept warm until it hatches?",
        "Thank you. Now then, the bone along the breast, it has two proper names, which ones?",
        "And Rhode Island Reds and Barred Rocks and Buff Orpingtons lay eggs of what color?",
    )
    turns = find_turns(said(interview(asks, ANSWERS), timed=True), QUESTIONS)
    assert all(turns)
    verdicts = [judge(q, t.answer)[1].points[0].status.value for q, t in zip(QUESTIONS, turns, strict=True) if t]
    assert verdicts == ["covered", "covered", "wrong"]


def test_a_question_that_was_not_asked() -> None:
    """It is None and takes nothing from the others."""
    text = interview((QUESTIONS[0].ask, QUESTIONS[2].ask), (ANSWERS[0], ANSWERS[2]))
    turns = find_turns(said(text, timed=True), QUESTIONS)
    assert [t is not None for t in turns] == [True, False, True]
    assert turns[2] is not None and turns[2].answer.words[-1].text == "eggs."


def test_an_answer_that_repeats_its_question() -> None:
    """A member who says the question back still answers within the same turn."""
    told = f"{QUESTIONS[2].ask} They all lay brown eggs of one color. {QUESTIONS[0].ask} Twenty one days."
    turns = find_turns(said(told, timed=True), [QUESTIONS[2], QUESTIONS[0]])
    assert turns[0] is not None and "brown" in [w.text for w in turns[0].answer.words]


def test_times_are_counted_from_the_end_of_the_question() -> None:
    """The first word's time is the silence before it."""
    turns = find_turns(said(f"{QUESTIONS[0].ask} Twenty one days.", timed=True), QUESTIONS[:1])
    assert turns[0] is not None
    assert since(turns[0]).words[0].start_s == pytest.approx(0.05)  # a word lasts 0.25 s and begins every 0.3 s


@pytest.mark.parametrize("text", ["", "Nobody asks anything here, the birds are eating and it rains."])
def test_nothing_of_the_kind(text: str) -> None:
    """Silence or other talk holds no turn."""
    assert find_turns(said(text, timed=True), QUESTIONS) == (None, None, None)


def test_the_fixture_holds_the_questions() -> None:
    """The recording for the command's test asks these questions (see interview_answers.WHOLE)."""
    from interview_answers import WHOLE

    asked = " ".join(words for _, words in WHOLE)
    assert all(q.ask in asked for q in QUESTIONS) and (FOLDER / "whole.ogg").is_file()

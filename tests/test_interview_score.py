"""Scoring answers by key points: what is covered, missed, wrong, in order, taken back, denied, or not an answer at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from interviewing import BANK, covered, said, scored, statuses

from coach.interview.hear import judge_answer, make_ear
from coach.interview.model import Kind, PointStatus
from coach.interview.score import score, settle, with_rulings
from coach.words import Question as Asked
from coach.words import TimedWords, Weighed, Word


def test_partial_credit_is_the_share_of_what_is_needed() -> None:
    """Two of three points that a complete answer needs are two thirds; more than needed is no more than all."""
    question = BANK.questions["bird-breathing"]
    assert scored(question, "air sacs and no diaphragm").share(question) == pytest.approx(2 / 3)
    full = scored(question, "air sacs, no diaphragm, hollow bones, and they work like bellows")
    assert len(covered(full)) == 4 and full.share(question) == 1


def test_evidence_has_words_and_times() -> None:
    """A covered point names its words and when they were said; a missed one has neither."""
    got = score(BANK.questions["keel-other-names"], said("Well that is the keel", timed=True, start_s=2.0))
    first, second = got.points
    assert (first.heard, first.start_s, first.end_s) == ("keel", pytest.approx(3.2), pytest.approx(3.45))
    assert second.status is PointStatus.MISSED and second.heard is None and second.start_s is None


def test_a_common_wrong_answer_is_named() -> None:
    """The mistake is recognised, with the right answer, and its point is wrong."""
    got = scored("chick-hatch-days", "twenty eight days")
    assert statuses(got) == ["wrong"] and "turkeys" in got.mistakes[0].note and got.mistakes[0].heard == "twenty eight days"


def test_any_other_figure_is_wrong_too() -> None:
    """A figure nobody lists as a common mistake is still not right, and the right one is told."""
    got = scored("chick-hatch-days", "about thirty days")
    assert statuses(got) == ["wrong"] and "21 days" in (got.points[0].note or "")


@pytest.mark.parametrize(
    ("question", "text"),
    [
        ("chick-hatch-days", "twenty eight, sorry, twenty one"),
        ("chick-hatch-days", "It is twenty eight, no wait, twenty one days."),
        ("five-toed-breeds", "The Cochin, no, I mean the Dorking."),
        ("brown-egg-breeds", "White, sorry, brown."),
    ],
)
def test_what_is_put_right_at_once_counts(question: str, text: str) -> None:
    """After a correction the last word stands and the mistake is gone."""
    got = scored(question, text)
    assert covered(got) and not got.mistakes and PointStatus.WRONG not in [p.status for p in got.points]


def test_a_right_value_taken_back_is_wrong() -> None:
    """ "Twenty one, sorry, twenty eight" is twenty eight."""
    assert statuses(scored("chick-hatch-days", "twenty one, sorry, twenty eight days")) == ["wrong"]


@pytest.mark.parametrize(
    "text", ["They do not have air sacs.", "There are no air sacs in a bird.", "Birds don't have any air sacs"]
)
def test_a_denied_point_is_not_covered(text: str) -> None:
    """Saying the opposite of a point makes it wrong."""
    got = scored("bird-breathing", text)
    assert got.points[0].status is PointStatus.WRONG and got.points[0].note == "you said the opposite"


def test_a_denied_number_is_not_covered() -> None:
    """ "They do not take twenty one days" is no right answer."""
    assert statuses(scored("chick-hatch-days", "They do not take twenty one days.")) == ["wrong"]


@pytest.mark.parametrize(
    ("question", "point", "text"),
    [
        ("bird-breathing", 1, "They don't have a diaphragm."),
        ("bird-breathing", 1, "They breathe without a diaphragm."),
        ("salmonella-safety", 1, "Don't kiss your birds."),
        ("male-needed-for-eggs", 0, "No, she does not need one."),
        ("earlobe-egg-color", 2, "That is not always true."),
    ],
)
def test_points_that_are_denials_themselves(question: str, point: int, text: str) -> None:
    """Where the point says what is not so, the denial tells it."""
    assert point in covered(scored(question, text))


def test_not_only_denies_nothing() -> None:
    """ "Not only for eggs but also for meat" tells both."""
    assert covered(scored("dual-purpose-meaning", "They are not only for eggs but also for meat.")) == {0, 1}


def test_brown_not_white_is_no_mistake() -> None:
    """A wrong answer that is itself denied is none."""
    got = scored("brown-egg-breeds", "They are brown, not white.")
    assert covered(got) == {0} and not got.mistakes


def test_ordered_lists() -> None:
    """What comes at the wrong place is heard but not credited."""
    question = BANK.questions["molt-order"]
    right = scored(question, "head, neck, breast, body, wings, tail")
    assert right.out_of_order == () and right.share(question) == 1
    moved = scored(question, "head, neck, tail, breast, body, wings")
    assert moved.out_of_order == (5,) and moved.n_covered() == 5
    back = scored(question, "tail, wings, body, breast, neck, head")
    assert back.n_covered() == 1 and back.share(question) == pytest.approx(1 / 5)


@pytest.mark.parametrize(
    "text",
    [
        "A pullet is a female under a year, a hen is a female over a year, a cockerel is a male under a year, "
        "a cock is a male over a year, and a capon is castrated.",
        "A young female is a pullet. A grown female is a hen. A young male is a cockerel. A grown male is a cock. "
        "A castrated one is a capon.",
    ],
)
def test_definitions_belong_to_their_word(text: str) -> None:
    """Each word's own stretch is looked at, whichever side of it the meaning stands."""
    assert covered(scored("age-sex-terms", text)) == {0, 1, 2, 3, 4}


def test_swapped_definitions_are_not_credited() -> None:
    """A pullet that is an old male and a cock that is a young female are both not told."""
    assert covered(scored("age-sex-terms", "A pullet is a male over a year. A cock is a female under a year.")) == set()


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("", Kind.SILENT),
        ("I don't know.", Kind.DONT_KNOW),
        ("Um, I'm not sure about that one.", Kind.DONT_KNOW),
        ("My pony won a blue ribbon last summer at the lake.", Kind.OFF_TOPIC),
        ("The bone is somewhere under the breast.", Kind.ANSWER),
    ],
)
def test_kinds_of_answers(text: str, kind: Kind) -> None:
    """Silence, honest not knowing, talk of something else, and an answer without a point are told apart."""
    assert scored("keel-other-names", text).kind is kind


def test_not_knowing_all_is_still_an_answer() -> None:
    """ "The keel, and I don't know the other" is an answer with one point."""
    got = scored("keel-other-names", "The keel, and I don't know the other one.")
    assert got.kind is Kind.ANSWER and covered(got) == {0}


def test_the_leader_can_overrule() -> None:
    """The ruling stands in the place of the verdict, is marked, and takes its mistake away."""
    question = BANK.questions["chick-hatch-days"]
    heard = scored(question, "twenty eight days")
    ruled = with_rulings(question, heard, {0: PointStatus.COVERED})
    assert ruled.points[0].status is PointStatus.COVERED and ruled.points[0].ruled and not ruled.mistakes
    assert heard.points[0].status is PointStatus.WRONG and ruled.share(question) == 1


def test_what_only_a_generous_reading_hears_is_unsure() -> None:
    """A point or a mistake that the two readings do not share is not decided."""
    strict, generous = scored("keel-other-names", "the kill"), scored("keel-other-names", "the keel")
    assert statuses(settle(strict, generous)) == ["unsure", "missed"]
    mistaken, innocent = scored("keel-other-names", "the wishbone"), scored("keel-other-names", "the bone")
    assert settle(mistaken, innocent).mistakes == ()


@pytest.mark.parametrize("question", list(BANK.questions))
def test_no_answer_breaks_the_scoring(question: str) -> None:
    """Nothing, marks, a number flood and the question itself give a score with as many verdicts as points."""
    one = BANK.questions[question]
    for text in ("", "... , , ?", "no no not never", "one two three hundred and half a quarter point five", one.ask):
        got = score(one, said(text))
        assert len(got.points) == len(one.points) and 0 <= got.share(one) <= 1
    assert score(one, TimedWords((), 4.0)).kind is Kind.SILENT


def test_repeating_the_question_earns_little() -> None:
    """Saying the question back covers points in at most one question of five."""
    parrots = [q.id for q in BANK.questions.values() if scored(q, q.ask).share(q) >= 0.5]
    assert len(parrots) <= len(BANK.questions) / 5, parrots


class _Leaning:
    """A listener to which the first rival of every doubt sounds almost as well as what it wrote."""

    name = "whisper"

    def weigh(self, questions: Sequence[Asked], progress: Callable[[float], None] | None = None) -> tuple[Weighed, ...]:
        return tuple(Weighed(q, tuple(0.0 if n == 0 else 2.0 - 5 * n for n in range(len(q.wordings)))) for q in questions)


def test_the_questions_own_words_are_what_is_being_spoken_of() -> None:
    """That the question speaks of a word counts for it as its place, as the weights were measured with, not as the support
    of a second hearing, which answers do not have."""
    words = tuple(Word(w, 0.3 * n, 0.3 * n + 0.25, 0.5) for n, w in enumerate("The circles are long".split()))
    heard, answer = judge_answer(
        BANK.questions["male-female-plumage"], TimedWords(words, 2.0), make_ear(BANK), _Leaning()  # type: ignore[arg-type]
    )
    assert " ".join(w.text for w in heard.words) == "The sickles are long"
    assert answer.points[2].status is PointStatus.COVERED

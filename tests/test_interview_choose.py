"""Choosing questions: by level and topic, repeatable by seed, leaning to what was missed and not asked for long."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import pytest
from interviewing import BANK, WHEN

from coach.errors import CoachError
from coach.interview.choose import PastAnswer, choose, suitable, weight

QUESTIONS = tuple(BANK.questions.values())


def test_juniors_get_junior_questions_and_seniors_all() -> None:
    """uidaho-cis1206: juniors answer level 1, intermediates 1 and 2, seniors all three."""
    assert {q.level for q in suitable(QUESTIONS, "junior")} == {"junior"}
    assert {q.level for q in suitable(QUESTIONS, "intermediate")} == {"junior", "intermediate"}
    assert len(suitable(QUESTIONS, "senior")) == len(QUESTIONS)
    assert {q.topic for q in suitable(QUESTIONS, "senior", ("eggs", "market"))} == {"eggs", "market"}


def test_the_same_seed_gives_the_same_questions() -> None:
    """The set is repeatable, has no repeats, and another seed gives another one."""
    first, again, other = (choose(QUESTIONS, 8, seed, now=WHEN) for seed in (5, 5, 6))
    assert first == again != other and len(set(first)) == 8


def test_the_order_of_the_bank_does_not_matter() -> None:
    """The choice hangs on ids, not on the order of files."""
    assert choose(QUESTIONS, 8, 5, now=WHEN) == choose(tuple(reversed(QUESTIONS)), 8, 5, now=WHEN)


def test_topics_are_spread() -> None:
    """Eight questions come from eight topics."""
    assert len({q.topic for q in choose(QUESTIONS, 8, 3, now=WHEN)}) == 8


def test_missed_and_old_questions_weigh_more() -> None:
    """Never asked, missed lately and not asked for long all weigh more than well known and fresh."""
    question = BANK.questions["chick-hatch-days"]
    fresh = weight(question, [PastAnswer(question.id, WHEN, 1.0)], WHEN)
    missed = weight(question, [PastAnswer(question.id, WHEN, 0.0)], WHEN)
    old = weight(question, [PastAnswer(question.id, WHEN - timedelta(days=60), 1.0)], WHEN)
    mended = weight(question, [PastAnswer(question.id, WHEN - timedelta(days=1), 0.0), PastAnswer(question.id, WHEN, 1.0)], WHEN)
    assert fresh == mended < old < missed and fresh < weight(question, [], WHEN)


def test_a_missed_question_comes_up_more_often() -> None:
    """Over many seeds, of two topics' worth of known questions the missed ones are drawn at least twice as often."""
    pool = suitable(QUESTIONS, "senior", ("eggs",))
    missed = {q.id for q in pool[:3]}
    past = [PastAnswer(q.id, WHEN, 0.0 if q.id in missed else 1.0) for q in pool]
    drawn = Counter(q.id in missed for seed in range(300) for q in choose(pool, 2, seed, past, WHEN))
    assert drawn[True] / 3 > 2 * drawn[False] / (len(pool) - 3)


def test_nothing_to_choose_from() -> None:
    """No fitting question is one clear line; fewer than wanted are all asked."""
    with pytest.raises(CoachError, match="no question fits"):
        choose((), 8, 1)
    assert len(choose(QUESTIONS[:3], 8, 1)) == 3

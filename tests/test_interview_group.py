"""A group round: fair and repeatable turns, and a table that keeps each child's mistakes to itself."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from interviewing import BANK, ScriptedDesk, blank, judge

from coach.errors import CoachError
from coach.interview.group import deal, member_names, table
from coach.interview.run import hold

QUESTIONS = tuple(BANK.questions.values())


@given(st.integers(1, 8), st.integers(1, 5), st.integers(0, 999), st.booleans())
def test_turns_are_fair(n_members: int, rounds: int, seed: int, same: bool) -> None:
    """Everybody has one turn a round; no question comes twice but when all share it; the seed decides all."""
    members = [f"M{n}" for n in range(n_members)]
    turns = deal(members, QUESTIONS, rounds, seed, same=same)
    assert Counter((t.round, t.member) for t in turns) == {(r, m): 1 for r in range(1, rounds + 1) for m in members}
    per_question = Counter(t.question.id for t in turns)
    assert set(per_question.values()) == ({n_members} if same else {1})
    assert turns == deal(members, QUESTIONS, rounds, seed, same=same)


def test_nobody_is_last_twice_running() -> None:
    """With three or more members the last of one round is not the last of the next."""
    turns = deal(["Ann", "Ben", "Cleo"], QUESTIONS, 20, 7)
    last = [turns[n].member for n in range(2, len(turns), 3)]
    assert all(a != b for a, b in itertools.pairwise(last))


def test_too_few_questions() -> None:
    """More turns than questions is one clear line that says what to do."""
    with pytest.raises(CoachError, match="6 different questions are needed and 3 fit; ask fewer"):
        deal(["Ann", "Ben"], QUESTIONS[:3], 3, 1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no names"),
        (" , ,", "no names"),
        ("Ann, Ben, ann", "'Ann' stands twice"),
        (",".join(map(str, range(41))), "41 names"),
    ],
)
def test_names_that_cannot_be_right(text: str, words: str) -> None:
    """No names, a name twice, or too many: one clear line."""
    with pytest.raises(CoachError, match=words):
        member_names(text)


def test_names() -> None:
    """Spaces around names do not matter."""
    assert member_names(" Ann ,Ben  K,, Cleo") == ("Ann", "Ben K", "Cleo")


def test_the_table_hides_mistakes_unless_asked() -> None:
    """Only with show_all do points and mistakes stand in the table."""
    questions = [BANK.questions["chick-hatch-days"], BANK.questions["keel-other-names"]]
    ann = hold(blank(2), questions, ScriptedDesk(["twenty eight days", "keel and sternum"]), judge, lambda _: None)
    ben = replace(ann, member="Ben")
    hidden, shown = table([ann, ben], show_all=False), table([ann, ben], show_all=True)
    assert hidden[0] == ["member", "asked", "answered", "first word", "spoken"]
    assert hidden[1] == ["Robin", "2", "2", "-", "-"]
    assert shown[0][5:] == ["points", "in full", "mistakes"] and shown[1][5:] == ["2 of 3", "1 of 2", "1"]

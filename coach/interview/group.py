"""A group round for a club night: who gets which question in which turn, drawn fairly and repeatably, and the table. Pure."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from coach.errors import CoachError
from coach.interview.model import Interview, Kind
from coach.interview.sentences import mean_first_word_s, points_told
from coach.knowledge.questions import Question

__all__ = ["MOST_MEMBERS", "Turn", "deal", "member_names", "table"]

MOST_MEMBERS = 40


@dataclass(frozen=True, slots=True)
class Turn:
    """One member's turn; round counts from 1."""

    round: int
    member: str
    question: Question


def member_names(text: str) -> tuple[str, ...]:
    """Names divided by commas.

    Raises:
        CoachError: none, a name twice, or too many.
    """
    names = tuple(" ".join(part.split()) for part in text.split(",") if part.strip())
    if not names:
        raise CoachError("--group: no names; write them with commas between, as in --group 'Ann, Ben, Cleo'")
    twice = next((n for n in names if sum(m.casefold() == n.casefold() for m in names) > 1), None)
    if twice:
        raise CoachError(f"--group: {twice!r} stands twice; give each member a name of their own, as in 'Ben A, Ben K'")
    if len(names) > MOST_MEMBERS:
        raise CoachError(f"--group: {len(names)} names; at most {MOST_MEMBERS} fit into one round")
    return names


def deal(
    members: Sequence[str], questions: Sequence[Question], rounds: int, seed: int, *, same: bool = False
) -> tuple[Turn, ...]:
    """The turns, every member once a round, the order of members drawn anew each round and nobody last twice running.

    Args:
        questions: in the order in which they are used; as many as rounds (same) or as rounds times members are enough.
        same: everybody gets the same question in a round; else no question comes twice.
    Raises:
        CoachError: there are too few questions.
    """
    wanted = rounds if same else rounds * len(members)
    if len(questions) < wanted:
        raise CoachError(
            f"{wanted} different questions are needed and {len(questions)} fit; ask fewer with --questions, or use --same"
        )
    chance, out, order = random.Random(seed), [], list(members)
    left = iter(questions)
    last = ""
    for n in range(1, rounds + 1):
        chance.shuffle(order)
        if len(order) > 2 and order[-1] == last:
            order[0], order[-1] = order[-1], order[0]
        last = order[-1]
        shared = next(left) if same else None
        out += [Turn(n, member, shared or next(left)) for member in order]
    return tuple(out)


def table(interviews: Sequence[Interview], *, show_all: bool) -> list[list[str]]:
    """Rows with a head: per member how many were answered and how long; points and mistakes only with show_all."""
    head = ["member", "asked", "answered", "first word", "spoken"] + (["points", "in full", "mistakes"] if show_all else [])
    return [head, *([*_row(i), *(_marks(i) if show_all else [])] for i in interviews)]


def _row(interview: Interview) -> list[str]:
    answered = [a for a in interview.answers if a.score.kind not in (Kind.SKIPPED, Kind.SILENT)]
    first_s = mean_first_word_s(interview)
    spoken = sum(a.timing.seconds for a in answered if a.timing)
    first = "-" if first_s is None else f"{first_s:.1f} s"
    return [interview.member or "?", str(len(interview.answers)), str(len(answered)), first, f"{spoken:.0f} s" if spoken else "-"]


def _marks(interview: Interview) -> list[str]:
    told, need, full = points_told(interview)
    mistakes = sum(len(a.ruled.mistakes) for a in interview.answers)
    return [f"{told} of {need}", f"{full} of {len(interview.answers)}", str(mistakes)]

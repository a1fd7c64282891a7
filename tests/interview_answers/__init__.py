"""Answers to interview questions as members give them, with what each one tells."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import yaml

from coach.interview.model import PointStatus, Score

__all__ = ["AnswerCase", "Tally", "compare", "load_answers"]


@dataclass(frozen=True, slots=True)
class AnswerCase:
    """One answer; covered are indices from 0; half 0 may be tuned on, half 1 is for measuring only."""

    question: str
    kind: str
    text: str
    covered: frozenset[int]
    has_wrong: bool
    half: int


@dataclass(frozen=True, slots=True)
class Tally:
    """Key points found, blamed or credited without cause, and left out; answers with a wrong statement likewise."""

    hits: int = 0
    extra: int = 0
    lost: int = 0
    unsure: int = 0

    def __add__(self, other: Tally) -> Tally:
        return Tally(self.hits + other.hits, self.extra + other.extra, self.lost + other.lost, self.unsure + other.unsure)

    @property
    def f1(self) -> float:
        """2 hits over 2 hits, extra and lost together; 1 for nothing to find and nothing found."""
        total = 2 * self.hits + self.extra + self.lost
        return 2 * self.hits / total if total else 1.0


def load_answers(half: int | None = None) -> list[AnswerCase]:
    """All cases, or one half of the questions."""
    data = yaml.safe_load((Path(__file__).parent / "answers.yaml").read_text(encoding="utf-8"))["answers"]
    cases = [
        AnswerCase(question, kind, text, frozenset(n - 1 for n in covered), has_wrong, place % 2)
        for place, (question, answers) in enumerate(data.items())
        for kind, text, covered, has_wrong in answers
    ]
    return [c for c in cases if half in (None, c.half)]


def compare(pairs: Iterable[tuple[AnswerCase, Score]]) -> tuple[Tally, Tally]:
    """Key points covered, and answers with something wrong in them, as a tally each."""
    points, wrongs = Tally(), Tally()
    for case, score in pairs:
        got = {n for n, p in enumerate(score.points) if p.status is PointStatus.COVERED}
        unsure = {n for n, p in enumerate(score.points) if p.status is PointStatus.UNSURE}
        points += Tally(len(got & case.covered), len(got - case.covered), len(case.covered - got), len(unsure))
        blamed = bool(score.mistakes) or any(p.status is PointStatus.WRONG for p in score.points)
        wrongs += Tally(case.has_wrong and blamed, blamed and not case.has_wrong, case.has_wrong and not blamed)
    return points, wrongs


# Short recordings beside this file, made by bench/interview_fixtures.py: name -> voice and words.
SPOKEN = {
    "hatch-right": ("flite slt", "It takes about twenty one days."),
    "hatch-wrong": ("flite rms", "I believe it is twenty eight days."),
    "hatch-corrected": ("flite slt", "It takes twenty eight, sorry, twenty one days."),
    "keel-right": ("flite rms", "It is called the keel, and the other name is the sternum."),
    "keel-partial": ("espeak-ng en-us", "I think that it is called the keel bone."),
    "keel-unknown": ("flite slt", "I am sorry, I do not know that one."),
    "comb-right": ("flite kal16", "There is the single comb, the rose comb, the pea comb and the cushion comb."),
    "breath-right": ("flite slt", "They have air sacs and they have no diaphragm, and some of the bones are hollow."),
    "breath-wrong": ("flite rms", "I think that birds have no lungs."),
    "parasites-right": ("flite rms", "The two main kinds are lice and mites."),
    "off-topic": ("flite slt", "We went to the county fair last summer and I won a blue ribbon for my pony."),
    "weight-kilos": ("flite rms", "She should weigh about four point three kilograms."),
    # A leader and a member in turn; the leader asks three questions of the bank and says other things between.
    "whole": ("turns", ""),
}
WHOLE = (
    (
        "flite rms",
        "Good morning. Let us begin with an easy one. How long must a chicken egg be kept warm until the chick hatches?",
    ),
    ("flite slt", "Twenty one days."),
    ("flite rms", "Very good. Now the next one. The bone along a chicken's breast has two proper names. Which two?"),
    ("flite slt", "It is called the keel. I do not know the other one."),
    ("flite rms", "All right. Rhode Island Reds, Barred Rocks and Buff Orpingtons all lay eggs of one color. Which?"),
    ("flite slt", "They lay white eggs."),
)

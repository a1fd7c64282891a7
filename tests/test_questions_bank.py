"""The shipped question bank: whole, sourced, worded for the ear, and true to what the sources publish."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from interviewing import BANK

from coach.errors import CoachError
from coach.interview.forms import parse_form
from coach.knowledge.questions import CAUTIONS, LEVELS, TOPICS, load_bank, question_problems

# Figures as the pages named by each question's own source keys print them (msstate-periods, msstate-molt and the table of
# US egg standards of 2024 were read again on the day the bank was written; the rest as compiled before).
PUBLISHED = [
    ("chick-hatch-days", 0, 21, 21, "day", "msstate-periods: 21 days for chickens"),
    ("other-hatch-days", 0, 28, 28, "day", "msstate-periods: 28 days for turkeys"),
    ("other-hatch-days", 1, 28, 28, "day", "msstate-periods: 28 days for most ducks"),
    ("other-hatch-days", 3, 33, 33, "day", "msstate-periods: about 33 days for geese"),
    ("other-hatch-days", 4, 23, 23, "day", "msstate-periods: 23 days for bobwhite quail"),
    ("primary-count", 0, 10, 10, "feathers", "msstate-molt: usually 10 primary feathers"),
    ("body-temperature", 0, 104.8, 107.6, "degF", "vet-temps: 104.8 to 107.6 F; normal-chicken: 106.5 to 107.5 F"),
    ("forced-air-temperature", 0, 99, 100, "degF", "uidaho-cis1206, msstate-incub: 99.5 to 100 F in a fan machine"),
    ("still-air-temperature", 0, 100, 102, "degF", "msstate-incub: 101 to 102 F; psu-incub 101 F"),
    ("egg-turning", 1, 3, 5, "times", "vt-incub: three to five times a day"),
    ("egg-turning", 2, 18, 18, "day", "vt-incub: not in the last three days"),
    ("brooder-temperature", 0, 90, 95, "degF", "psu-brood: 90 to 95 F in the first week"),
    ("shell-gland", 1, 20, 20, "hour", "embryo-manual: about 20 hours in the shell gland"),
    ("aa-air-cell-depth", 0, 0.125, 0.125, "inch", "aces-grading; US standards 2024: 1/8 inch (3.2 mm)"),
    ("aa-air-cell-depth", 1, 0.1875, 0.1875, "inch", "aces-grading; US standards 2024: 3/16 inch (4.8 mm)"),
    ("egg-size-weight", 1, 24, 24, "ounce", "eggsizes: large 24 ounces a dozen"),
    ("starter-protein", 0, 18, 22, "percent", "psu-brood: 18 to 22 percent"),
    ("light-hours", 0, 14, 16, "hour", "msu-light: 14 to 16 hours"),
    ("coop-floor-space", 0, 1.5, 2, "foot^2", "ask-ext: 1.5 to 2 square feet"),
    ("nest-box-ratio", 0, 4, 5, "hens", "ask-ext: one box for four or five hens"),
    ("age-at-first-egg", 0, 18, 22, "week", "ufl-lay: 18 to 22 weeks"),
    ("pubic-bones", 0, 2, 4, "fingers", "uky-c330, judging-slides: two to four fingers"),
    ("cooking-temperature", 0, 165, 165, "degF", "cook-165: the USDA FSIS figure"),
    ("broiler-class-age", 0, 9.9, 9.9, "week", "classes-2011: under 10 weeks"),
]


def test_the_bank_is_large_and_spread() -> None:
    """At least 120 questions, some of every level, and at least three of every topic."""
    questions = BANK.questions.values()
    assert len(questions) >= 120
    assert {q.level for q in questions} == set(LEVELS)
    topics = Counter(q.topic for q in questions)
    assert set(topics) == set(TOPICS) - {"my card", "my bird"}
    assert min(topics.values()) >= 3


def test_every_question_names_known_sources() -> None:
    """No question is without a source, and every key is explained."""
    assert all(q.sources and set(q.sources) <= set(BANK.sources) for q in BANK.questions.values())


def test_health_and_medicine_come_with_a_caution() -> None:
    """Every question of health and parasites says to ask a veterinarian."""
    ours = [q for q in BANK.questions.values() if q.topic in ("health", "parasites")]
    assert len(ours) >= 15
    assert all(q.caution in ("vet", "med") and "veterinarian" in CAUTIONS[q.caution or ""] for q in ours)


def test_most_points_can_be_told_in_several_ways() -> None:
    """Key points told by words have more than one spoken form, counting alternatives, in at least seven of ten."""
    ways = [
        sum(len(slot) for form in p.say for slot in parse_form(form))
        for q in BANK.questions.values() for p in q.points if p.say
    ]  # fmt: skip
    assert sum(n > 1 for n in ways) / len(ways) >= 0.7


def test_every_question_can_be_asked_aloud() -> None:
    """Questions are whole sentences of at most 30 words."""
    assert all(q.ask[-1] in "?." and 3 < len(q.ask.split()) <= 30 for q in BANK.questions.values())


@pytest.mark.parametrize(("question", "point", "low", "high", "unit", "source"), PUBLISHED)
def test_figures_agree_with_the_sources(question: str, point: int, low: float, high: float, unit: str, source: str) -> None:
    """Both ends of the published range lie within the tolerance."""
    number = BANK.questions[question].points[point].number
    assert number is not None and number.unit == unit, source
    assert abs(low - number.value) <= number.within + 1e-9 and abs(high - number.value) <= number.within + 1e-9, source


def test_the_order_of_the_molt_is_the_published_one() -> None:
    """msstate-molt: "from the head first, followed in order by those on the neck, breast, body, wings, and tail"."""
    told = [p.tell for p in BANK.questions["molt-order"].points]
    assert told == ["head", "neck", "breast", "body", "wings", "tail"] and BANK.questions["molt-order"].in_order


GOOD = """format: questions/1
questions:
- id: club-night
  topic: showing
  level: junior
  ask: When is our club night?
  points:
  - {tell: on Tuesday, say: [tuesday]}
  sources: [practice]
- id: chick-hatch-days
  topic: hatching
  level: senior
  ask: How long do our own eggs take?
  points:
  - {tell: 21 days, number: {value: 21, unit: day}}
  sources: [practice]
"""


def test_a_clubs_file_adds_and_replaces(tmp_path: Path) -> None:
    """New ids are added, known ones replaced, all others stay."""
    path = tmp_path / "club.yaml"
    path.write_text(GOOD, encoding="utf-8")
    bank = load_bank([path])
    assert len(bank.questions) == len(BANK.questions) + 1
    assert bank.questions["chick-hatch-days"].ask == "How long do our own eggs take?"
    assert question_problems([path]) == []


BAD = """format: questions/1
questions:
- id: one
  topic: eggz
  level: beginner
  ask: What?
  points:
  - {tell: no form here}
  - {tell: a number, number: {value: 21}}
  - {tell: marks only, say: ["--"]}
  sources: [practice]
- id: one
  topic: eggs
  level: junior
  points: []
  any: 5
  caution: vett
  sources: [practice]
"""


def test_all_problems_are_told_at_once_with_their_lines(tmp_path: Path) -> None:
    """A doubled id, a point without spoken form, a number without unit, unknown level and topic: each with its line."""
    path = tmp_path / "bad.yaml"
    path.write_text(BAD, encoding="utf-8")
    lines = question_problems([path])
    for line, words in (
        (4, "'eggz' is none of"), (5, "'beginner' is none of"), (8, "has no spoken form"), (9, "unit': missing"),
        (10, "holds no word"), (12, "stands twice, first on line 3"), (12, "ask': missing"), (15, "an empty list"),
        (17, "did you mean 'vet'?"),
    ):  # fmt: skip
        assert any(one.startswith(f"{path}:{line}: ") and words in one for one in lines), (line, words, lines)
    with pytest.raises(CoachError, match=r"bad\.yaml:8: .*more in this file"):
        load_bank([path])


def test_ids_may_not_stand_in_two_files(tmp_path: Path) -> None:
    """Two of a club's files with the same id: the second is told."""
    for name in ("a.yaml", "b.yaml"):
        (tmp_path / name).write_text(GOOD, encoding="utf-8")
    lines = question_problems([tmp_path / "a.yaml", tmp_path / "b.yaml"])
    assert len(lines) == 2 and "'club-night' stands in" in lines[0] and "a.yaml too" in lines[0]


@pytest.mark.parametrize("text", ["", "format: bird/1\n", "format: questions/1\nquestions: 3\n", "format: [1\n"])
def test_what_is_no_question_file_is_one_clear_line(tmp_path: Path, text: str) -> None:
    """Anything else than a question file gives a CoachError that names the file."""
    path = tmp_path / "x.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CoachError, match=r"x\.yaml:1|x\.yaml:2"):
        load_bank([path])

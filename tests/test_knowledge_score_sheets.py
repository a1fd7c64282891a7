"""Score sheets and the points they give: reading, checking, counting; no sheet claims to be a show's own."""

from __future__ import annotations

from pathlib import Path

import pytest
from judging import BIRD, BREEDS, CARD, COCKEREL, spoken

from coach.errors import CoachError
from coach.judge.decide import decide
from coach.judge.score import Score, score
from coach.judge.verdict import Judgement
from coach.knowledge.routes import load_route
from coach.knowledge.score_sheets import load_sheet, sheet_problems, shipped_sheets
from coach.places import knowledge_data_dir
from coach.report.score_lines import CAUTION, score_lines

ROUTE = load_route("head-to-tail")
SHEET = """format: score-sheet/1
id: ours
title: Ours
lines:
  - {title: Wings, points: 10, regions: [wings]}
  - {title: Left and hocks, points: 4, items: ["*.left", legs.hocks]}
  - {title: Faults, points: 5, regions: [faults]}
  - {title: Pace, points: 3, delivery: words_per_minute, at_least: 60, at_most: 300}
  - {title: Posing, points: 7, by_hand: true}
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A sound sheet."""
    found = tmp_path / "ours.yaml"
    found.write_text(SHEET)
    return found


def judged(*sentences: str, bird: object = BIRD) -> Judgement:
    """A judgement of a few sentences."""
    return decide(spoken(*sentences), ROUTE, CARD, bird, BREEDS)  # type: ignore[arg-type]


def points(found: Score) -> dict[str, float | None]:
    """Points by title."""
    return {line.title: line.points for line in found.lines}


def test_points_are_the_share_of_what_was_told(path: Path) -> None:
    """Two of five wing items give four of ten; a fault told gives its line; the leader's line stays open."""
    wings = "This is the left wing and the right wing, and she has a side sprig on the comb."
    told = judged(wings, "This is the comb.", "And the vent.")
    found = score(told, load_sheet(str(path)))
    assert points(found) == {"Wings": 4.0, "Left and hocks": 2.0, "Faults": 5.0, "Pace": 3.0, "Posing": None}
    assert (found.total, found.of, found.by_hand) == (14.0, 22.0, 7.0)


def test_a_bird_without_faults_loses_no_points(path: Path) -> None:
    """A line that asks nothing of this bird counts neither way."""
    found = score(judged("This is the left wing.", bird=COCKEREL), load_sheet(str(path)))
    assert "Faults" not in points(found)


def test_silence_is_neither_in_order_nor_unhurried(path: Path) -> None:
    """Where nothing was rehearsed the delivery lines are left out."""
    found = score(judged("Hello there."), load_sheet(str(path)))
    assert "Pace" not in points(found) and found.total == 0


def test_what_is_not_sure_counts_at_best(path: Path) -> None:
    """Doubt gives no points and takes none away for good: both sums are told."""
    head = SHEET.partition("  - ")[0]
    path.write_text(head + "  - {title: Eyes, points: 6, items: [head.eye_color]}\n")
    found = score(judged("The eyes are orange."), load_sheet(str(path)))  # near "reddish bay": the judge is not sure
    assert (found.total, found.at_best, found.of) == (0.0, 6.0, 6.0)
    assert any("6 if what I was not sure of was right" in line for line in score_lines(found))


def test_the_tally_weighs_every_region_alike() -> None:
    """The shipped tally gives each region the same points and says that it is only practice."""
    found = score(judged("This is the comb."), load_sheet("practice-tally"))
    assert {line.of for line in found.lines} == {5.0}
    lines = score_lines(found)
    assert lines[0] == "Practice tally" and CAUTION in lines[-1]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """Long titles are cut, long details go to a line of their own."""
    found = score(judged("This is the comb.", "The vent.", "The left wing and the right wing."), load_sheet("club-example"))
    assert max(map(len, score_lines(found, width))) <= width


@pytest.mark.parametrize("sheet_id", shipped_sheets())
def test_shipped_sheets_are_sound_and_claim_nothing(sheet_id: str) -> None:
    """They load, and their source says that they are our own."""
    assert sheet_problems(knowledge_data_dir() / "score_sheets" / f"{sheet_id}.yaml") == []
    source = load_sheet(sheet_id).source
    assert source is not None and ("our own" in source or "made up" in source)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("score-sheet/1", "score/1", "1: key 'format': 'score/1' is not known here; write 'format: score-sheet/1'"),
        ("regions: [wings]", "regions: [wing]", "5: key 'lines[1].regions': no region 'wing'; did you mean 'wings'?"),
        ("legs.hocks]", "legs.hoks]", "6: key 'lines[2].items': 'legs.hoks' fits no item; did you mean 'legs.hocks'?"),
        (", at_least: 60, at_most: 300", "", "8: key 'lines[4].delivery': needs a bound; add at_least, at_most or both"),
        ("at_least: 60", "at_least: 600", "8: key 'lines[4].at_least': 600 is over at_most 300; swap the two"),
        (
            "words_per_minute",
            "words_a_minute",
            "8: key 'lines[4].delivery': 'words_a_minute' is none of words_per_minute, fillers_per_minute, long_pauses, "
            "regions_out_of_order, minutes; did you mean 'words_per_minute'?",
        ),
        ("by_hand: true", "by_hand: false", "9: key 'lines[5].by_hand': write true, or leave the line out"),
        ("points: 10,", "", "5: key 'lines[1].points': missing; how many points the line can give"),
        (
            ", by_hand: true",
            "",
            "9: key 'lines[5].title': the line does not say what it looks at; "
            "write one of each_region, regions, items, delivery, by_hand",
        ),
        (
            "regions: [wings]",
            "regions: [wings], by_hand: true",
            "5: key 'lines[1].title': the line says regions and by_hand; "
            "write one of each_region, regions, items, delivery, by_hand",
        ),
        ("points: 7", "points: -7", "9: key 'lines[5].points': -7 points cannot be right; give a number from 0 to 1000"),
        ("by_hand: true", "by_hand: true, at_most: 3", "9: key 'lines[5].at_most': belongs to a delivery line; leave it out"),
    ],
)
def test_each_mistake_has_its_line_and_remedy(path: Path, old: str, new: str, message: str) -> None:
    """A wrong sheet is told by file, line, key and what to do."""
    assert old in SHEET
    path.write_text(SHEET.replace(old, new, 1))
    assert sheet_problems(path) == [f"{path}:{message}"]
    with pytest.raises(CoachError):
        load_sheet(str(path))


def test_a_clubs_own_regions_may_be_named(path: Path, tmp_path: Path) -> None:
    """With the club's route at hand its regions and items are known too."""
    route = tmp_path / "club.yaml"
    route.write_text(
        "format: route/1\nid: club\ntitle: Club\nspecies: [chicken]\nregions: [{id: showring, title: Ring}]\nitems:\n"
        "  - {id: showring.pose, kind: part, title: pose, line: I pose the bird., say: [pose]}\n"
    )
    path.write_text(SHEET.replace("regions: [wings]", "regions: [showring]"))
    assert len(sheet_problems(path)) == 1
    assert sheet_problems(path, load_route(str(route))) == []


def test_a_sheet_that_is_not_there_names_the_shipped() -> None:
    """An unknown id is told in one line."""
    with pytest.raises(CoachError, match="^no score sheet 'tally'; shipped: club-example, practice-tally, or give"):
        load_sheet("tally")
    with pytest.raises(CoachError, match="^no score sheet file 'x.yaml'; check the path$"):
        load_sheet("x.yaml")

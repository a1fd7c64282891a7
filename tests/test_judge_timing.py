"""Time by region, and the words that only hold the floor."""

from __future__ import annotations

import pytest
from judging import judged, spoken

from coach.judge.delivery import filler_words, repeats
from coach.judge.timing import time_regions
from coach.judge.tokens import sentences
from coach.judge.verdict import RegionTime, Visit
from coach.knowledge.language import load_language


def _region(name: str, seconds: float, n_required: int) -> RegionTime:
    visits = (Visit(1.0, 1.0 + seconds),) if seconds else ()
    return RegionTime(
        id=name,
        title=name,
        status="covered",
        visits=visits,
        expected_place=1,
        spoken_place=1,
        n_told=n_required,
        n_required=n_required,
    )


def test_even_share_budget_and_usual() -> None:
    """30 s over two regions that ask for something; 60 s allowed, shared 2 to 1 by the things to tell."""
    timing = time_regions([_region("a", 20, 2), _region("b", 10, 1), _region("c", 5, 0)], 40.0, 60.0, {"a": 12.0})
    assert [(s.id, s.even_s, s.usual_s, s.budget_s) for s in timing.regions] == [("a", 15, 12.0, 40), ("b", 15, None, 20)]
    assert sum(s.budget_s or 0 for s in timing.regions) == 60


def test_without_a_limit_there_is_no_budget() -> None:
    """And without any region no share at all."""
    assert time_regions([_region("a", 20, 2)], 40.0).regions[0].budget_s is None
    assert time_regions([], 0.0).regions == ()


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("and, like, her comb", 1), ("it looks like a pea comb", 0), ("like, you know, the comb", 2), ("i like the comb", 0),
        ("um like um the comb", 1), ("a kind of comb", 0), ("she is, kind of, small", 1),
    ],
)  # fmt: skip
def test_like_is_a_filler_only_where_it_stands_apart(text: str, count: int) -> None:
    """The same words inside a sentence are words."""
    assert filler_words(sentences(spoken(text)), load_language()) == count


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("these are the, the wattles", 1), ("this is this is the comb", 1), ("her um her comb", 1), ("very very red", 0),
        ("no no no", 0), ("easy easy girl", 0), ("the the the comb", 2), ("one two two three", 0), ("the comb the eyes", 0),
    ],
)  # fmt: skip
def test_repeated_starts_are_counted_and_ordinary_doubling_is_not(text: str, count: int) -> None:
    """Repeats are the third of the disfluencies most often counted (Fraundorf and Watson 2013)."""
    assert repeats(sentences(spoken(text)), load_language()) == count


def test_pace_by_region_needs_enough_words() -> None:
    """24 words at the head in about 7 s; one word at the vent gives no pace."""
    long = "this is the comb and the wattles and the eyes and the earlobes and the beak and they are all very nice to see"
    found = {r.id: r for r in judged(long, "the vent").regions}
    head = found["head"]
    assert head.words_per_minute == pytest.approx(len(long.split()) * 60 / head.seconds)
    assert found["vent"].words_per_minute is None

"""Regions: the time line and the order."""

from __future__ import annotations

import itertools
import random

from judging import judged
from rapidfuzz.distance import LCSseq

from coach.judge.regions import AHEAD, BACK, ON, in_order, time_line
from coach.knowledge.routes import load_route


def _slow(evidence: list[dict[str, float]], regions: list[str]) -> float:
    """The least cost over all paths, by trying every one."""

    def step(a: int, b: int) -> float:
        return 0.0 if a == b else ON + AHEAD * (b - a - 1) if b > a else BACK + AHEAD * (a - b - 1)

    best = float("inf")
    for path in itertools.product(range(len(regions)), repeat=len(evidence)):
        cost = AHEAD * path[0] + sum(itertools.starmap(step, itertools.pairwise(path)))
        best = min(best, cost - sum(e.get(regions[p], 0.0) for e, p in zip(evidence, path, strict=True)))
    return best


def test_the_time_line_is_the_cheapest_path() -> None:
    """Dynamic programming finds what trying every path finds."""
    rng, regions = random.Random(7), ["a", "b", "c", "d"]
    for _ in range(40):
        evidence = [{rng.choice(regions): rng.choice((0.5, 1.5, 3.0))} for _ in range(6)]
        line = time_line(evidence, regions)
        path = [regions.index(r) for r in line if r is not None]
        if len(path) == len(evidence):  # no sentence was left without a region
            steps = itertools.pairwise(path)
            cost = AHEAD * path[0] + sum(
                0.0 if a == b else ON + AHEAD * (b - a - 1) if b > a else BACK + AHEAD * (a - b - 1) for a, b in steps
            ) - sum(e.get(regions[p], 0.0) for e, p in zip(evidence, path, strict=True))  # fmt: skip
            assert abs(cost - _slow(evidence, regions)) < 1e-9


def test_the_kept_order_is_as_long_as_a_librarys() -> None:
    """The longest run in order is as long as the longest common subsequence with the route (rapidfuzz LCSseq)."""
    rng = random.Random(3)
    expected = [r.id for r in load_route("head-to-tail").regions]
    for _ in range(50):
        spoken = rng.sample(expected, rng.randint(2, 9))
        assert len(in_order(spoken, expected, {})) == LCSseq.similarity(spoken, expected)


def test_a_region_told_late_is_out_of_order_and_not_skipped() -> None:
    """Neck after the legs: covered, and named as out of order."""
    found = judged("this is the comb", "here is the back", "this is the vent", "these are the toes", "these are hackle feathers")
    assert found.out_of_order == ("neck",)
    assert next(r for r in found.regions if r.id == "neck").status == "covered"


def test_the_route_keeps_the_published_order() -> None:
    """Head, neck, back, tail, vent, abdomen in that order.

    Source: Goshen County 4-H Poultry Showmanship Guide, University of Wyoming Extension, 2014, steps 2 to 8.
    """
    ids = [r.id for r in load_route("head-to-tail").regions]
    steps = ["head", "neck", "back", "tail", "vent", "abdomen"]
    assert [i for i in ids if i in steps] == steps


def test_wings_early_keeps_the_published_order() -> None:
    """Beak, wings, keel, legs. Source: Pierce County Fair (Washington), 4-H poultry virtual fair guide, 2020."""
    route = load_route("wings-early")
    ids = [r.id for r in route.regions]
    places = [ids.index(next(i.region for i in route.items if i.id == part)) for part in
              ("head.beak", "wings.left", "breast.keel", "legs.shanks")]  # fmt: skip
    assert places == sorted(places)

"""Where on the bird the member was, when, and whether the regions came in the expected order.

In: per sentence the evidence for each region. Out: a region (or None) per sentence, visits, spoken order. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, pairwise

__all__ = ["in_order", "time_line"]

STAY, ON, AHEAD, BACK = 0.0, 0.5, 0.1, 1.3
ELSEWHERE = None  # breed facts, faults told at the end, talk: no region


def time_line(evidence: Sequence[Mapping[str, float]], regions: Sequence[str]) -> list[str | None]:
    """The region of every sentence, by dynamic programming over the route.

    Args:
        evidence: per sentence, weight of its mentions per region; the key "" weighs for no region at all.
        regions: ids in expected order.
    Returns:
        The cheapest path: staying is free, going on costs ON and AHEAD for each region skipped, going back costs BACK;
        a sentence without evidence stays where it was.
    Source: Viterbi's algorithm (1967) with hand-set costs. O(n * m^2).
    """
    if not evidence:
        return []
    size = len(regions)
    step = [[_cost(a, b) for b in range(size)] for a in range(size)]
    cost = [_start(b) - _gain(evidence[0], regions[b]) for b in range(size)]
    came: list[list[int]] = []
    for marks in evidence[1:]:
        gains = [_gain(marks, region) for region in regions]
        before = [min(range(size), key=lambda a: cost[a] + step[a][b]) for b in range(size)]
        cost = [cost[before[b]] + step[before[b]][b] - gains[b] for b in range(size)]
        came.append(before)
    at = min(range(size), key=cost.__getitem__)
    path = [at]
    for before in reversed(came):
        path.append(before[path[-1]])
    path.reverse()
    return [_region(regions[at], marks) for at, marks in zip(path, evidence, strict=True)]


def _region(region: str, marks: Mapping[str, float]) -> str | None:
    """The path's region, unless the sentence speaks for none, or only for others."""
    here = marks.get(region, 0.0)
    return region if here > 0 and here >= marks.get("", 0.0) else ELSEWHERE


def _gain(marks: Mapping[str, float], region: str) -> float:
    return marks.get(region, 0.0)


def _start(b: int) -> float:
    return AHEAD * b


def _cost(a: int, b: int) -> float:
    if a == b:
        return STAY
    return ON + AHEAD * (b - a - 1) if b > a else BACK + AHEAD * (a - b - 1)


def in_order(spoken: Sequence[str], expected: Sequence[str], weight: Mapping[str, float]) -> set[str]:
    """The largest set of spoken regions that stand in the expected order; of equal ones the heaviest.

    Source: longest increasing subsequence (Schensted 1961), by trying all subsets: a route has about a dozen regions.
    """
    place = {region: n for n, region in enumerate(expected)}
    known = [region for region in spoken if region in place]
    for size in range(len(known), 0, -1):
        runs = [
            set(chosen)
            for chosen in combinations(known, size)
            if all(place[a] < place[b] for a, b in pairwise(chosen))
        ]
        if runs:
            return max(runs, key=lambda run: sum(weight.get(r, 0.0) for r in run))
    return set()

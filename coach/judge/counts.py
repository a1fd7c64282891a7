"""Counts in a sentence: the comb's type and points, and the toes.

In: a Scene and its numbers. Out: FactHeard per count. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.judge.lexicon import Meaning
from coach.judge.numbers import Number, numbers
from coach.judge.scene import NOUNS_COUNTED, FactHeard, Scene, counts_other
from coach.judge.values import Match, compare_number, compare_text
from coach.knowledge.model import Item

__all__ = ["read_comb_type", "read_counts"]


def read_comb_type(scene: Scene) -> Iterator[FactHeard]:
    """The type of comb, next to the word comb or said of it."""
    item = scene.item("comb.type")
    if item is None or not scene.values(item):
        return
    comb = [m for m in scene.here if m.meaning in (Meaning.PART, Meaning.NAME) and m.key == item.about]
    for m in scene.here:
        if m.meaning is not Meaning.COMB_TYPE or scene.denied(m.start):
            continue
        before = scene.words[m.start - 1] if m.start else ""
        after = scene.words[m.end] if m.end < len(scene.words) else ""
        touching = any(c.start == m.end for c in comb)
        named = comb and before in ("is", "a", "the", "be", "of", "called", "an", "type") and after not in NOUNS_COUNTED
        called = before == "of" and scene.words[m.start - 2] in ("kind", "sort", "type")  # "we call that kind of buttercup"
        typed = after in ("type", "one", "kind", "comb") or before in ("is", "a", "be") or called
        focused = item.about in scene.focus and not comb and typed
        if touching or named or (focused and after not in ("mite", "spot", "feather")):
            match = compare_text(m.key, scene.values(item))
            if match is Match.OTHER:
                match = compare_text(m.entry.text, scene.values(item))
            yield scene.heard(item, match, m.start, m.end)


def read_counts(scene: Scene) -> Iterator[FactHeard]:
    """The points of the comb and the toes of a foot."""
    counted = numbers([t.text for t in scene.sentence])
    yield from _points(scene, counted)
    yield from _toes(scene, counted)


def _points(scene: Scene, counted: Sequence[Number]) -> Iterator[FactHeard]:
    """The number of points on the comb."""
    item = scene.item("comb.points")
    if item is None or not scene.values(item):
        return
    points = {k for k, word in enumerate(scene.words) if word == "point"}
    points -= {k for n in counted for k in range(n.start, n.end)}  # not that of "three point four"
    for n in counted:
        after = scene.words[n.end : n.end + 4]
        before = scene.words[max(0, n.start - 4) : n.start]
        place = min((k for k in points if n.end <= k < n.end + 4), default=None)
        ahead = place is not None and not set(scene.words[n.end : place]) & NOUNS_COUNTED
        behind = points & set(range(n.start - 4, n.start)) and {"is", "are", "be", "of"} & set(before) and not counts_other(after)
        alone = item.about in scene.focus and not after and {"has", "are", "is", "count"} & set(before)
        counted_out = item.about in scene.focus and "point" in scene.recent and scene.bare(n.start, n.end)
        answered = not after and "point" in scene.words[: n.start] and {"yep", "yes", "yeah", "make", "see"} & set(before[-1:])
        pointed = answered or "pointed" in after[:1]  # "count the points: yep, five", "a five pointed comb"
        if (
            n.unit is None
            and (ahead or behind or alone or counted_out or pointed)
            and _of_comb(scene, item)
            and not scene.denied(n.start)
        ):
            yield scene.heard(item, compare_number(n.value, scene.values(item)), n.start, n.end)


def _of_comb(scene: Scene, item: Item) -> bool:
    """Points of the comb, not of a game or a test."""
    named = item.about in scene.focus or any(m.key == item.about for m in scene.here)
    return named or not {"my", "i", "got", "scored"} & set(scene.words)


def _toes(scene: Scene, counted: Sequence[Number]) -> Iterator[FactHeard]:
    """The number of toes on a foot; those in front and behind are added up."""
    item = scene.item("toes")
    if item is None or not scene.values(item):
        return
    plain = [n for n in counted if n.unit is None]
    if {"front", "forward"} & set(scene.words) and {"back", "behind", "rear"} & set(scene.words) and len(plain) == 2:
        first, last = plain
        if "toe" in scene.words or item.about in scene.focus:
            yield scene.heard(item, compare_number(first.value + last.value, scene.values(item)), first.start, last.end)
        return
    has_toes = any(m.meaning is Meaning.PART and m.key == item.about for m in scene.here)
    for n in plain:
        if n.value < 2:  # "one bent toe" counts no toes
            continue
        after = list(scene.words[n.end : n.end + 4])
        before = scene.words[max(0, n.start - 4) : n.start]
        ahead = "toe" in after and not set(after[: after.index("toe")]) & (NOUNS_COUNTED - {"toe"})
        each = after[:1] in (["on"], ["of"]) and (has_toes or item.about in scene.focus)
        behind = "toe" in before and not counts_other(after) and n.start - 4 <= scene.words.index("toe")
        alone = item.about in scene.focus and not after and bool({"has", "are", "is", "count"} & set(before))
        alone = alone or "toed" in after[:1] or (item.about in scene.focus and scene.bare(n.start, n.end))
        if (ahead or each or behind or alone) and not scene.denied(n.start):
            yield scene.heard(item, compare_number(n.value, scene.values(item)), n.start, n.end)

"""Facts of the breed in a sentence: class, origin and purpose.

In: a Scene. Out: FactHeard per fact. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coach.judge.lexicon import Meaning
from coach.judge.scene import FactHeard, Scene
from coach.judge.tokens import singular
from coach.judge.values import Match, compare_text

__all__ = ["read_class", "read_origin", "read_purpose"]

_ONLY_CLASSES = ("Asiatic", "Mediterranean", "Continental", "All Other Standard Breeds")  # words that name a class alone


def read_class(scene: Scene) -> Iterator[FactHeard]:
    """The show class, where it is spoken of as one."""
    item = scene.item("class")
    if item is None or not scene.values(item):
        return
    at_class = [n for n, w in enumerate(scene.words) if w == "class"]
    for m in scene.here:
        near = any(abs(m.start - n) <= 7 for n in at_class)
        alone = m.key in _ONLY_CLASSES and {"is", "are"} & set(scene.words[max(0, m.start - 3) : m.start])
        if m.meaning is Meaning.SHOW_CLASS and (near or alone) and not scene.denied(m.start):
            yield scene.heard(item, compare_text(m.key, scene.values(item)), m.start, m.end)


def read_origin(scene: Scene) -> Iterator[FactHeard]:
    """The country or place a breed comes from."""
    item = scene.item("origin") or scene.item("origin.country")
    if item is None or not scene.values(item):
        return
    values = [str(v).lower() for v in scene.values(item)]
    for m in scene.here:
        if m.meaning is not Meaning.PLACE or scene.denied(m.start):
            continue
        nearby = set(scene.words[max(0, m.start - 9) : m.start]) | set(scene.words[m.end : m.end + 8])
        if any(b.meaning is Meaning.BREED and b.start == m.start for b in scene.here) and not (
            {"from", "in"} & set(scene.words[max(0, m.start - 2) : m.start])
        ):
            continue
        next_word = scene.words[m.end] if m.end < len(scene.words) else ""
        if next_word in ("class", "standard", "breed") or not nearby & _singular_set(scene.language.origin_cues):
            continue
        same = any(m.key.lower() == v or m.entry.text in v or v.endswith(m.key.lower()) for v in values)
        yield scene.heard(item, Match.SAME if same else Match.OTHER, m.start, m.end)


def _singular_set(words: Iterable[str]) -> set[str]:
    return {singular(w) for w in words}


def read_purpose(scene: Scene) -> Iterator[FactHeard]:
    """What the breed is kept for; told when nothing of the card's purpose is missing."""
    item = scene.item("purpose")
    found = [m for m in scene.here if m.meaning is Meaning.PURPOSE]
    if item is None or not scene.values(item) or not found:
        return
    cues = {singular(w) for w in scene.language.purpose_cues} & set(scene.words)
    told = {key for m in found for key in m.key.split("+")}
    if not cues or ("color" in scene.words and told == {"eggs"}):
        return
    wanted = {str(v) for v in scene.values(item)}
    if wanted <= told:
        yield scene.heard(item, Match.SAME, found[0].start, found[-1].end)

"""Facts of the breed in a sentence: species, class, origin, period, purpose, feathered legs.

In: a Scene. Out: FactHeard per fact. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from coach.judge.candidates import Candidate, Known, feathered_legs, periods, species, years_of
from coach.judge.lexicon import Meaning
from coach.judge.names import presented, someone_elses
from coach.judge.scene import FactHeard, Scene
from coach.judge.tokens import singular
from coach.judge.values import Match, compare_text
from coach.knowledge.model import Item
from coach.knowledge.values import Value

__all__ = [
    *("read_class", "read_country", "read_feathered_legs", "read_origin", "read_period", "read_place", "read_purpose"),
    *("read_species", "same_place", "same_time"),
]

NEAR_YEARS = 10
_NO_CUE = frozenset("from in country first home native raised come hail breed".split())  # also of one bird, or of anything
_OWN_LIFE = frozenset("hatch hatched bought show fair old birthday my i".split())
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
    """The country or place a breed comes from, where either tells it."""
    yield from _from(scene, scene.item("origin"), lambda key, values: True)


def read_country(scene: Scene) -> Iterator[FactHeard]:
    """The country alone: a smaller place says nothing about it."""
    countries = {key.lower() for key in scene.language.countries}
    yield from _from(scene, scene.item("origin.country"), lambda key, values: key in countries or key in values)


def read_place(scene: Scene) -> Iterator[FactHeard]:
    """The place alone: a country says nothing about it."""
    countries = {key.lower() for key in scene.language.countries}
    yield from _from(scene, scene.item("origin.place"), lambda key, values: key not in countries or key in values)


def _from(scene: Scene, item: Item | None, tells: Callable[[str, Sequence[str]], bool]) -> Iterator[FactHeard]:
    if item is None or not scene.values(item):
        return
    values = [str(v).lower() for v in scene.values(item)]
    for m in scene.here:
        if m.meaning is not Meaning.PLACE or scene.denied(m.start) or not tells(m.key.lower(), values):
            continue
        nearby = set(scene.words[max(0, m.start - 9) : m.start]) | set(scene.words[m.end : m.end + 8])
        if any(b.meaning is Meaning.BREED and b.start == m.start for b in scene.here) and not (
            {"from", "in"} & set(scene.words[max(0, m.start - 2) : m.start])
        ):
            continue
        next_word = scene.words[m.end] if m.end < len(scene.words) else ""
        if next_word in ("class", "standard", "breed") or not nearby & _singular_set(scene.language.origin_cues):
            continue
        same = same_place(m.key, m.entry.text, scene.values(item))
        yield scene.heard(item, Match.SAME if same else Match.OTHER, m.start, m.end)


def same_place(key: str, text: str, values: Iterable[Value]) -> bool:
    """Whether a country or place is one of the accepted, or the end of its name ("Kent" of "the county of Kent")."""
    wanted = [str(v).lower() for v in values]
    return any(key.lower() == v or text in v or v.endswith(key.lower()) for v in wanted)


def read_period(scene: Scene) -> Iterator[FactHeard]:
    """When the breed arose, where a time is told with words of origin and not of this bird's own life."""
    item = scene.item("origin.period")
    if item is None or not scene.values(item):
        return
    words = [t.text for t in scene.sentence]
    cues = (_singular_set(scene.language.origin_cues) | {"century", "date", "develop"}) - _NO_CUE
    for c in periods(words):
        if cues & set(scene.words) and not _OWN_LIFE & set(scene.words) and not scene.denied(c.start):
            yield scene.heard(item, same_time(c, scene.values(item)), c.start, c.end)


def same_time(candidate: Candidate, values: Iterable[Value]) -> Match:
    """A time told with the accepted periods: the same where they overlap, near within ten years."""
    told = candidate.value
    spans = [years for v in values if (years := years_of(str(v)))]
    if not isinstance(told, tuple) or not isinstance(told[0], int):
        return Match.OTHER
    first, last = int(told[0]), int(told[1])
    apart = min((max(a - last, first - b, 0) for a, b in spans), default=NEAR_YEARS + 1)
    return Match.SAME if apart == 0 else Match.NEAR if apart <= NEAR_YEARS else Match.OTHER


def read_species(scene: Scene) -> Iterator[FactHeard]:
    """What kind of bird it is, where this bird is presented or its species is spoken of."""
    item = scene.item("species")
    if item is None or not scene.values(item):
        return
    known = Known(card=scene.lexicon.card, language=scene.language)
    named = [n for n, w in enumerate(scene.words) if w in ("specie", "species")]
    for c in species(scene.words, known):
        shown = presented(scene, scene.words[max(0, c.start - 6) : c.start]) and not someone_elses(scene, c.start)
        if (shown or any(abs(c.start - n) <= 6 for n in named)) and not scene.denied(c.start):
            yield scene.heard(item, compare_text(str(c.value), scene.values(item)), c.start, c.end)


def read_feathered_legs(scene: Scene) -> Iterator[FactHeard]:
    """Whether the legs are feathered; a show class of that name tells nothing by itself."""
    item = scene.item("feathered_legs")
    if item is None or not scene.values(item):
        return
    known = Known(card=scene.lexicon.card, language=scene.language)
    classes = {n for m in scene.here if m.meaning is Meaning.SHOW_CLASS for n in range(m.start, m.end)}
    speaks_of_class = "class" in scene.words
    for c in feathered_legs([t.text for t in scene.sentence], known):
        if not (speaks_of_class and classes & set(range(c.start, c.end))):
            yield scene.heard(item, Match.SAME if c.value in scene.values(item) else Match.OTHER, c.start, c.end)


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

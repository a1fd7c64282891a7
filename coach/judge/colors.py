"""Colors in a sentence, each attached to the part it is said of and compared with the card.

In: a Scene. Out: FactHeard per attached color. Pure. A color belongs to a part by grammar-near order, not by nearness alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from coach.judge.candidates import Known, colors
from coach.judge.lexicon import Meaning
from coach.judge.scene import FactHeard, Scene
from coach.judge.values import compare_color
from coach.knowledge.model import Item

__all__ = ["read_colors"]

_COPULA = frozenset("is are be was were being should would has have color colored called looks look in with".split())
_DET = frozenset("a an the her his its these this those some has have with nice of lay lays laying having want wants for".split())
_SINKS = frozenset(
    "face skin feather plumage body lacing barring ring pupil nail spot tip wing ground surface fluff "
    "thing bit patch flap stuff".split()
)
_SMALL = frozenset("the her his its their both all a an my also too just bright nice well as".split())
_JOINS = _SMALL | {"and"}
_BREAKS = frozenset("but so because while that then yes okay and".split())
_BIRD = frozenset("variety breed bird class she he chick feather plumage come".split())
_PLURAL = frozenset("are were be should must both all is".split())


@dataclass(frozen=True, slots=True)
class _Anchor:
    """Something a color can be said of; item is None for what no item asks the color of."""

    start: int
    end: int
    item: Item | None


def read_colors(scene: Scene) -> Iterator[FactHeard]:
    """Every color, said of the part or parts it belongs to."""
    anchors = _anchors(scene)
    taken: dict[int, int] = {}
    runs = [run for run in _color_runs(scene) if not scene.denied(run[0])]
    listed = _listed(scene, anchors, runs)
    for anchor, run, sure in listed:
        taken[anchor.start] = run[1]
        for fact in _told(scene, anchor.item, *run):
            yield fact if sure or fact.outcome == "said" else replace(fact, outcome="near")
    for start, end in runs:
        if any((start, end) == run for _, run, _ in listed):
            continue
        yield from _told(scene, _attach(scene, anchors, start, end, taken), start, end)
        yield from _so_are(scene, anchors, start, end)


def _told(scene: Scene, item: Item | None, start: int, end: int) -> Iterator[FactHeard]:
    values = scene.values(item) if item else ()
    if item and values:
        match = compare_color(tuple(t.text for t in scene.sentence[start:end]), values, scene.language)
        yield scene.heard(item, match, start, end)


def _listed(
    scene: Scene, anchors: Sequence[_Anchor], runs: Sequence[tuple[int, int]]
) -> list[tuple[_Anchor, tuple[int, int], bool]]:
    """Parts joined as one subject with what is said of them: "the shanks and the beak are white" (the color is of both),
    "the eyes and the lobes are bay and red" (each has its own). The last part is sure; of the others a wrong color may have
    been said only where "both" or "all" stands."""
    out: list[tuple[_Anchor, tuple[int, int], bool]] = []
    for group in _subjects(scene, anchors):
        said = _predicate(scene, group, anchors, runs)
        if len(said) == len(group):
            out += ((anchor, run, True) for anchor, run in zip(group, said, strict=True))
        elif len(said) == 1:
            every = bool({"both", "all"} & set(scene.words[max(0, group[0].start - 2) : said[0][0]]))
            out += ((anchor, said[0], every or anchor is group[-1]) for anchor in group)
    return out


def _subjects(scene: Scene, anchors: Sequence[_Anchor]) -> list[list[_Anchor]]:
    """Groups of two or more parts that open the sentence or a clause, joined by nothing but "and" and small words."""
    groups: list[list[_Anchor]] = []
    for anchor in anchors:
        joined = groups and set(scene.words[groups[-1][-1].end : anchor.start]) <= _JOINS
        if joined and anchor.start >= groups[-1][-1].end:
            groups[-1].append(anchor)
        else:
            groups.append([anchor])
    return [g for g in groups if len(g) > 1 and _opens_clause(scene, g[0].start)]


def _opens_clause(scene: Scene, at: int) -> bool:
    while at and scene.words[at - 1] in _SMALL:
        at -= 1
    return at == 0 or scene.words[at - 1] in _BREAKS or scene.sentence[at - 1].comma


def _predicate(
    scene: Scene, group: Sequence[_Anchor], anchors: Sequence[_Anchor], runs: Sequence[tuple[int, int]]
) -> list[tuple[int, int]]:
    """The colors said of a group with "are", "should be" or "both": next to it, joined by "and", before any other part."""
    start = group[-1].end
    stop = min((a.start for a in anchors if a.start >= start), default=len(scene.words))
    said: list[tuple[int, int]] = []
    for run in (r for r in runs if start <= r[0] < stop):
        between = set(scene.words[said[-1][1] if said else start : run[0]])
        if (not said and _PLURAL & between and between <= _PLURAL | _SMALL) or (said and between <= {"and"}):
            said.append(run)
    return (
        said
        if not said or said[-1][1] == stop or stop == len(scene.words) or scene.words[said[-1][1]] in _BREAKS | {"and"}
        else []
    )


def _so_are(scene: Scene, anchors: Sequence[_Anchor], start: int, end: int) -> Iterator[FactHeard]:
    """ "The wattles are red and so are the earlobes": the color goes on to the part after "so are"."""
    for anchor in (a for a in anchors if a.start > end and a.item):
        before = [w for w in scene.words[end : anchor.start] if w not in _SMALL - {"as"}]
        if before[-2:] in (["so", "are"], ["so", "is"], ["as", "are"], ["same", "for"], ["same", "with"]):
            later = any(scene.words[n] in scene.language.colors for n in range(end, anchor.start))
            if not later:
                yield from _told(scene, anchor.item, start, end)


def _anchors(scene: Scene) -> list[_Anchor]:
    out = []
    for m in scene.here:
        if m.meaning in (Meaning.PART, Meaning.NAME):
            out.append(_Anchor(m.start, m.end, _color_item(scene, m.key)))
        elif m.meaning is Meaning.EGG:
            out.append(_Anchor(m.start, m.end, scene.item("egg_color")))
        elif m.meaning is Meaning.REGION and m.key in ("tail", "legs"):
            path = {"tail": "colors.tail", "legs": "colors.shank"}[m.key]
            out.append(_Anchor(m.start, m.end, scene.item(path)))
    covered = {n for m in scene.here for n in range(m.start, m.end)}
    out += [_Anchor(n, n + 1, None) for n, w in enumerate(scene.words) if w in _SINKS and n not in covered]
    return sorted(out, key=lambda a: a.start)


def _color_item(scene: Scene, part: str) -> Item | None:
    return next((i for i in scene.items("colors.") if i.about == part), None)


def _color_runs(scene: Scene) -> Iterator[tuple[int, int]]:
    """Runs of color words with at least one basic color, not inside a longer phrase such as a breed's name."""
    words = [t.text for t in scene.sentence]
    longer = {n for m in scene.here if m.end - m.start > 1 or m.meaning is Meaning.BREED for n in range(m.start, m.end)
              if m.meaning in (Meaning.BREED, Meaning.CUE, Meaning.CUE_OF_PART, Meaning.PLACE, Meaning.COMB_TYPE)}  # fmt: skip
    known = Known(card=scene.lexicon.card, language=scene.language)
    return ((c.start, c.end) for c in colors(words, known, longer))


def _attach(scene: Scene, anchors: Sequence[_Anchor], start: int, end: int, taken: dict[int, int]) -> Item | None:
    """What the color at start..end is said of, by the likeliest of: a part before with a verb between, a part right
    after, a part the color is "of", the focus of the sentence before."""
    best: tuple[float, _Anchor | None, Item | None] = (0.0, None, None)
    for anchor in anchors:
        score = _score(scene, anchor, anchors, start, end, taken)
        if score > best[0]:
            best = (score, anchor, anchor.item)
    if best[1] is not None:
        taken[best[1].start] = end
        return best[2]
    if not anchors or all(a.start > end + 4 for a in anchors):
        return next((i for part in scene.focus if (i := _color_item(scene, part))), None) or _of_the_eggs(scene)
    return None


def _of_the_eggs(scene: Scene) -> Item | None:
    """ "They lay purple eggs. No, they're brown": right after the eggs a color without a part may be theirs."""
    spoken_of = {"they", "no", "sorry", "mean", "kidding", "actually"} & set(scene.words)
    return scene.item("egg_color") if "egg" in scene.focus and spoken_of and not _BIRD & set(scene.words) else None


def _fronted(scene: Scene, end: int) -> bool:
    """ "Red is what her earlobes are", "white is the color of her shanks": the part comes after the color."""
    return scene.words[end : end + 2] in (("is", "what"), ("is", "how")) or scene.words[end : end + 3] == ("is", "the", "color")


def _score(scene: Scene, a: _Anchor, anchors: Sequence[_Anchor], start: int, end: int, taken: dict[int, int]) -> float:
    if _fronted(scene, end):
        return max(0.0, 3.0 - 0.1 * (a.start - end)) if a.start >= end else 0.0
    if a.end <= start:
        between = [t.text for t in scene.sentence[a.end : start]]
        others = sum(1 for o in anchors if a.end <= o.start < start)
        used = 1.0 if a.start in taken and "or" not in between and "and" not in between[-1:] else 0.0
        verb = 2.5 if _COPULA & set(between) or not between else 1.2
        return max(0.0, verb - 0.08 * len(between) - 1.2 * others - used)
    if a.start >= end:
        between = [t.text for t in scene.sentence[end : a.start]]
        before = scene.words[start - 1] if start else ""
        if not between or between == ["colored"] or between == ["color"]:
            return 3.0 if before in _DET or start == 0 else 2.2
        if {"of", "for"} & set(between) and len(between) <= 6:
            return 2.0 - 0.05 * len(between)
        return max(0.0, 0.6 - 0.1 * len(between))
    return 0.0

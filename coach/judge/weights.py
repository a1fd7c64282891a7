"""Weights in a sentence, each with the bird it is said of: "a cock weighs ten pounds and a hen eight".

In: a Scene. Out: FactHeard per weight. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from coach.judge.lexicon import SEX_AGES, Meaning
from coach.judge.numbers import POUNDS_PER_STONE, Number, numbers
from coach.judge.scene import FactHeard, Scene, counts_other
from coach.judge.values import Match, compare_number
from coach.knowledge.model import Item
from coach.knowledge.values import OUNCES_PER_POUND, Value, ValueKind, kind_of

__all__ = ["compare_weight", "read_weights"]

_LARGE_TOLERANCE_LB = 0.13
_IMPERIAL = (1.0, 1 / OUNCES_PER_POUND, float(POUNDS_PER_STONE))
_LEAST_OUNCES, _MOST_OUNCES = 8, 80  # a bantam's weight, as cards may have it
_BY_SEX = {"male": ("cock", "cockerel"), "female": ("hen", "pullet")}  # grown, young


def read_weights(scene: Scene) -> Iterator[FactHeard]:
    """Every weight, said of the bird that stands nearest in the sentence's own order."""
    counted = numbers([t.text for t in scene.sentence])
    asked = _Asked.of(scene)
    weighed = any(n.unit for n in counted)
    talk = weighed or {"weigh", "weight", "weighs", "weighing", "pound", "ounce"} & set(scene.words)
    birds = sorted([(m.start, m.key) for m in scene.here if m.meaning is Meaning.SEX_AGE] + list(_by_sex(scene.words)))
    if len(birds) == 1 and scene.sentence[birds[0][0]].text == f"{scene.lexicon.card.species}s":
        return  # "ducks weigh nine pounds" is said of the breed, of neither sex
    listed = len(counted) > 1 and len({key for _, key in birds}) > 1  # "hen eight and a half, cock ten"
    if not (asked.large or asked.bantam) or not counted or not (talk or listed or _bare_weight(scene, birds, counted)):
        return
    numbers_here = [
        n for n in counted
        if not scene.of_another(n.start)
        and (n.unit or not (counts_other(scene.words[n.end :]) or _misheard_for(n, birds, counted)))
    ]  # fmt: skip
    numbers_here = _same_unit(numbers_here)
    if not birds:
        own = {"she", "he", "bird", "it", scene.lexicon.bird.name.lower()} & set(scene.words)
        if own and len(numbers_here) == 1 and not {"bag", "feed"} & set(scene.words):
            birds = [(0, scene.lexicon.bird.sex_age)]
    paired = list(_pair(birds, numbers_here, scene.words))
    for items in asked.groups():
        mine = [(which, n) for which, n in paired if items in asked.meant(scene, n, birds, numbers_here)]
        for which, n in mine:
            item = items.get(which)
            if item and scene.values(item) and not scene.denied(n.start):
                found = scene.heard(item, _compared(scene, item, n), n.start, n.end)
                yield _named_swap(scene, items, which, n, found)
        strays = [n for n in numbers_here if all(n is not m for _, m in paired)]
        yield from _strays(scene, items, {w for w, _ in mine}, strays)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """The weights that the route asks for: of the large fowl, and of the bantam, each by the bird they are of."""

    large: dict[str, Item]
    bantam: dict[str, Item]
    has_large: bool  # the card has weights of large fowl; else all are the bantam's
    has_bantam: bool

    @classmethod
    def of(cls, scene: Scene) -> _Asked:
        large, bantam = ({(i.value or "")[len(g) :]: i for i in scene.items(g)} for g in ("weights_lb.", "weights_bantam_oz."))
        card = scene.lexicon.card
        return cls(large=large, bantam=bantam, has_large=bool(card.weights_lb), has_bantam=bool(card.weights_bantam_oz))

    def groups(self) -> list[dict[str, Item]]:
        """Those that are asked for at all."""
        return [items for items in (self.large, self.bantam) if items]

    def meant(
        self, scene: Scene, n: Number, birds: Sequence[tuple[int, str]], counted: Sequence[Number]
    ) -> list[dict[str, Item]]:
        """Which of them a weight may be said of: the bantam's where "bantam" stands with it, or it is told in ounces alone."""
        if not self.has_large:
            return self.groups()
        if self.has_bantam and n.scale == 1 / OUNCES_PER_POUND and n.value <= _MOST_OUNCES / OUNCES_PER_POUND:
            return [self.bantam]
        is_bantam = "bantam" in scene.recent or "bantam" in _around(scene.words, n, birds, counted)
        return [self.bantam if is_bantam else self.large]


def _around(words: Sequence[str], n: Number, birds: Sequence[tuple[int, str]], counted: Sequence[Number]) -> Sequence[str]:
    """The words that belong to this weight: those before it, or where weights come first those after it."""
    number_first = bool(birds) and counted[0].start < birds[0][0]
    if number_first:
        return words[n.end : min((m.start for m in counted if m.start > n.start), default=len(words))]
    return words[max((m.end for m in counted if m.end <= n.start), default=0) : n.start]


def compare_weight(n: Number, values: Iterable[Value], *, in_ounces: bool) -> Match:
    """A weight heard (in pounds, or a bare number) with the accepted ones in pounds.

    Rounded kilograms and ounces of large fowl stay within two ounces. A bantam's weights differ by two ounces from one another,
    so they are told to the ounce, in metric units to the nearest; a bare number of ounces is taken as such.
    """
    if not in_ounces:
        return compare_number(n.value, values, _LARGE_TOLERANCE_LB)
    imperial = n.scale in _IMPERIAL
    value = n.value / OUNCES_PER_POUND if n.unit is None and imperial and n.value >= _LEAST_OUNCES else n.value
    return compare_number(value, values, (0.5 if imperial else 1.0) / OUNCES_PER_POUND)


def _compared(scene: Scene, item: Item, n: Number) -> Match:
    in_ounces = kind_of(item.value or "", scene.lexicon.card) is ValueKind.OUNCES
    return compare_weight(n, scene.values(item), in_ounces=in_ounces)


def _by_sex(words: Sequence[str]) -> Iterator[tuple[int, str]]:
    """ "The male weighs ten pounds": a bird named by its sex alone is a grown one, with "young" a young one."""
    for at, word in enumerate(words):
        if word in _BY_SEX:
            yield at, _BY_SEX[word]["young" in words[max(0, at - 1) : at]]


def _same_unit(found: Sequence[Number]) -> list[Number]:
    """ "A hen 3.63 kilos, a cockerel 3.86": a bare number is in the unit of the weight before it, or else of the next."""
    out: list[Number] = []
    scale = next((n.scale for n in found if n.unit), 1.0)
    for n in found:
        scale = n.scale if n.unit else scale
        out.append(n if n.unit else replace(n, value=n.value * scale, scale=scale))
    return out


def _strays(scene: Scene, items: dict[str, Item], told: set[str], strays: Sequence[Number]) -> Iterator[FactHeard]:
    """A weight in a list whose bird was not heard may be that of a bird still missing: unsure, never a mistake."""
    missing = [which for which in SEX_AGES if which in items and which not in told]
    for n in strays if told else ():
        fits = [w for w in missing if _compared(scene, items[w], n) is Match.SAME]
        for which in fits[:1]:
            missing.remove(which)
            yield FactHeard(items[which].id, "near", scene.text(n.start, n.end), n.start, n.end, "I did not hear which bird")


def _misheard_for(n: Number, birds: Sequence[tuple[int, str]], counted: Sequence[Number]) -> bool:
    """ "Four cock at six pounds": a bare number right before a bird whose weight follows with its unit was "for a"."""
    last_bird = max((place for place, _ in birds if place < n.start), default=-1)
    has_own = last_bird >= 0 and not any(last_bird < m.start < n.start for m in counted)  # "cock eight, hen six"
    if has_own or n.end not in (place for place, _ in birds):
        return False
    following = min((m.start for m in counted if m.start > n.end and m.unit), default=None)
    next_bird = min((place for place, _ in birds if place > n.end), default=None)
    return following is not None and (next_bird is None or following < next_bird)


def _bare_weight(scene: Scene, birds: Sequence[tuple[int, str]], counted: Sequence[Number]) -> bool:
    """ "Cock, nine.": a bird and a number and next to nothing else."""
    return len(birds) == 1 and len(counted) == 1 and len(scene.words) - (counted[0].end - counted[0].start) <= 2


def _pair(birds: Sequence[tuple[int, str]], counted: Sequence[Number], words: Sequence[str]) -> Iterator[tuple[str, Number]]:
    """Each weight with its bird: birds first ("a cock weighs ten, a hen eight") or numbers first ("eight for a hen")."""
    if not birds or not counted:
        return
    number_first = counted[0].start < birds[0][0]
    for at, (place, which) in enumerate(birds):
        if number_first:
            low = birds[at - 1][0] if at else -1
            mine = [n for n in counted if low < n.start < place]
        else:
            high = birds[at + 1][0] if at + 1 < len(birds) else 10**9
            mine = [n for n in counted if place < n.start < high]
        mended = mine and {"sorry", "mean", "no", "wait", "actually", "oops"} & set(words[mine[0].end : mine[-1].start])
        found = [mine[0], mine[-1]] if mended else mine[-1:] if number_first else mine[:1]  # the slip, and what stands
        yield from ((which, n) for n in found)


def _named_swap(scene: Scene, items: dict[str, Item], which: str, n: Number, found: FactHeard) -> FactHeard:
    if found.outcome == "said":
        return found
    for other in SEX_AGES:
        item = items.get(other)
        if item and other != which and _compared(scene, item, n) is Match.SAME:
            return FactHeard(found.item, found.outcome, found.heard, found.start, found.end, f"that is the weight of a {other}")
    return found

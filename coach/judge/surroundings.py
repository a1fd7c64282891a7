"""What surrounds a rival and speaks for it: which items are told anyway, which values are lacking, what region is spoken of.

In: sentences as they stand. Out: per sentence its regions and lacking kinds, and Rivals with them filled in. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from coach.judge.doubts import Rival
from coach.judge.lexicon import Lexicon, Meaning
from coach.judge.mentions import Mention
from coach.judge.vocabulary import Home
from coach.knowledge.values import VALUE_PATHS, ValueKind

__all__ = ["placed", "regions_around", "wanted_kinds"]

_LACKED = {ValueKind.COLOR: "color", ValueKind.COMB: "comb", ValueKind.COUNT: "number"}


def wanted_kinds(found: Sequence[Sequence[Mention]], lexicon: Lexicon, named: Collection[str]) -> list[frozenset[str]]:
    """Per sentence the kinds of value that its parts, or those of the sentence before, still lack: any color, any number."""
    lacking: dict[str, set[str]] = {}
    for item in lexicon.items.values():
        if item.value and item.about and item.id not in named:
            kind = _LACKED.get(VALUE_PATHS[item.value].kind)
            lacking.setdefault(item.about, set()).update([kind] if kind else [])
    eggs = {"color"} if any(i.value == "egg_color" and i.id not in named for i in lexicon.items.values()) else set()
    own = [{k for m in here for k in (eggs if m.meaning is Meaning.EGG else lacking.get(m.key, ()))} for here in found]
    before = [set(), *own][:-1]  # words without a Latin letter make no sentence at all
    names_part = [any(m.key in lacking for m in here) for here in found]
    return [frozenset(kinds if part else kinds | last) for kinds, last, part in zip(own, before, names_part, strict=True)]


def regions_around(found: Sequence[Sequence[Mention]], lexicon: Lexicon) -> list[dict[str, float]]:
    """Per sentence the regions that its own trade phrases and its neighbours' speak of, with their weight."""
    own = [{lexicon.items[m.key].region for m in here if m.key in lexicon.items} for here in found]
    out = []
    for n in range(len(own)):
        here: dict[str, float] = {}
        for away, weight in ((2, 0.4), (-2, 0.4), (1, 0.7), (-1, 0.7), (0, 1.0)):
            if 0 <= n + away < len(own):
                here |= dict.fromkeys(own[n + away], weight)
        out.append(here)
    return out


def placed(
    rival: Rival, tells: Sequence[Home], named: Collection[str], regions: Mapping[str, float], wanted: frozenset[str]
) -> Rival:
    """The rival with what speaks for it here: its region is spoken of, and what it tells is told nowhere else."""
    place = max((regions.get(r, 0.0) for home in tells for r in home.regions), default=0.0)
    return replace(rival, place=place, missing=_missing(rival, tells, named, wanted))


def _missing(rival: Rival, tells: Sequence[Home], named: Collection[str], wanted: frozenset[str]) -> bool:
    return bool(rival.kinds & wanted) or (bool(tells) and not any(home.item in named for home in tells))

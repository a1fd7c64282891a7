"""Plain line drawings of our own of a chicken, a duck (and goose) and a turkey, facing left, with numbered regions.

In: species, sex and the numbers by region; the lines lie in drawings/*.svg. Out: SVG text, ink in currentColor.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

__all__ = ["drawing"]

Point = tuple[int, int]

_WIDTH, _HEIGHT = 400, 330

# species drawn -> the files that make it: for both sexes, for females, for males
_FILES: Mapping[str, tuple[str, str | None, str | None]] = {
    "chicken": ("chicken", "hen", "cock"),
    "duck": ("duck", None, "drake"),
    "goose": ("duck", None, None),
    "turkey": ("turkey", None, "tom"),
}

# region -> (the place on the bird, where its number stands)
_SPOTS: Mapping[str, Mapping[str, tuple[Point, Point]]] = {
    "chicken": {
        "head": ((70, 66), (28, 44)), "neck": ((124, 110), (166, 74)), "back": ((206, 146), (216, 100)),
        "tail": ((300, 100), (352, 130)), "vent": ((264, 206), (318, 216)), "abdomen": ((226, 248), (280, 268)),
        "breast": ((66, 190), (24, 206)), "wings": ((186, 186), (186, 186)), "legs": ((145, 292), (84, 286)),
    },
    "duck": {
        "head": ((86, 56), (44, 40)), "neck": ((132, 112), (176, 84)), "back": ((226, 142), (236, 98)),
        "tail": ((326, 136), (370, 100)), "vent": ((292, 190), (344, 206)), "abdomen": ((236, 240), (288, 262)),
        "breast": ((68, 184), (24, 196)), "wings": ((196, 184), (196, 184)), "legs": ((150, 280), (90, 282)),
    },
    "turkey": {
        "head": ((72, 80), (34, 56)), "neck": ((78, 152), (26, 152)), "back": ((150, 144), (150, 102)),
        "tail": ((296, 110), (372, 60)), "vent": ((250, 212), (312, 236)), "abdomen": ((214, 250), (270, 270)),
        "breast": ((62, 196), (22, 196)), "wings": ((178, 198), (178, 198)), "legs": ((142, 290), (84, 288)),
    },
}  # fmt: skip


def drawing(species: str, male: bool, numbers: Mapping[str, int]) -> str:
    """The bird as SVG, with the numbers of the regions that can be shown on it.

    Args:
        species: a goose is drawn as a duck; anything that is no waterfowl and no turkey as a chicken.
        numbers: region id -> number.
    """
    drawn = species if species in _FILES else "chicken"
    both, female, male_only = _FILES[drawn]
    lines = "".join(_lines(name) for name in (both, male_only if male else female) if name)
    kind = "duck" if drawn == "goose" else drawn
    spots = [_spot(*_SPOTS[kind][region], number) for region, number in numbers.items() if region in _SPOTS[kind]]
    return (
        f'<svg viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="A {species} with numbered regions">'
        '<g fill="none" stroke="currentColor" stroke-width="2" stroke-linecap="round" stroke-linejoin="round">'
        f"{lines}</g>{''.join(spots)}</svg>"
    )


@cache
def _lines(name: str) -> str:
    """What stands inside one drawing's outer tag."""
    text = (Path(__file__).parent / "drawings" / f"{name}.svg").read_text(encoding="utf-8")
    return text.partition(">")[2].rpartition("</svg>")[0]


def _spot(place: Point, label: Point, number: int) -> str:
    """A numbered disk, a thin line from it to the place, and a dot there."""
    (x, y), (u, v) = place, label
    line = "" if place == label else (
        f'<path d="M{u} {v} L{x} {y}" stroke="currentColor"/><circle cx="{x}" cy="{y}" r="3"/>'
    )  # fmt: skip
    return (
        f'<g fill="currentColor">{line}<circle cx="{u}" cy="{v}" r="15" fill="#fff" stroke="currentColor" stroke-width="1.6"/>'
        f'<text x="{u}" y="{v}" font-size="18" font-weight="700" text-anchor="middle" dominant-baseline="central">'
        f"{number}</text></g>"
    )

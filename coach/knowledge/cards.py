"""Breed cards: from a file `breed-card/1` to a Card, from an id or a path to the file.

A card is the member's own authority, so a value that cannot be right is refused rather than guessed, and every value
says where it comes from. `card_problems` lists all that is wrong; `load_card` raises with the first of them.
"""

from __future__ import annotations

import os.path
import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

import yaml

from coach.errors import CoachError
from coach.knowledge.model import Card, Comb, Origin
from coach.knowledge.yaml_file import Fields, Problems, is_path, load_yaml, nearest
from coach.places import breed_cards_dir

__all__ = ["COLORS", "SEX_AGES", "breed_names", "card_problems", "find_card", "load_card", "shipped_cards"]

FORMAT = "breed-card/1"
SPECIES = ("chicken", "duck", "goose", "turkey", "guinea")
PURPOSES = ("eggs", "meat", "ornamental", "game")
SEX_AGES = ("cock", "hen", "cockerel", "pullet")
COLORS = (  # the parts a card may give a color of
    *("beak", "bill", "bean", "comb", "wattle", "face", "crest", "beard", "eye", "earlobe"),
    *("caruncle", "snood", "dewlap", "knob", "helmet"),
    *("hackle", "neck", "back", "saddle", "breast", "body", "abdomen", "fluff", "undercolor", "plumage"),
    *("wing", "wing_bow", "wing_bar", "primaries", "secondaries", "speculum", "tail", "sickles", "coverts"),
    *("thigh", "shank", "spur", "foot", "toe", "toenail", "sole", "skin"),
)
VALUES = (  # each group of these names its sources
    *("class", "origin", "purpose", "egg_color", "comb", "colors", "toes", "feathered_legs"),
    *("weights_lb", "weights_bantam_oz", "history", "disqualifications"),
)
KEYS = ("format", "id", "species", "breed", "variety", *VALUES, "sounds_like", "sources")
KEBAB = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")

_POUNDS = {"chicken": (1.0, 20.0)}  # the heaviest cocks of any breed stand near 13 lb; other fowl reach 50
_OUNCES = (8.0, 80.0)
_OLDER = {"cockerel": "cock", "pullet": "hen"}
_NOT_CARDS = ("sources",)  # further files of the card folder


def load_card(path: Path) -> Card:
    """Read a card and check it.

    Raises:
        CoachError: the file cannot be read or a value is wrong; the message names file, line, key and remedy.
    """
    card, problems = _read(path)
    problems.raise_first()
    return card


@lru_cache(maxsize=len(SPECIES))
def breed_names(species: str = SPECIES[0]) -> Mapping[str, frozenset[str]]:
    """Every shipped breed of a species with its shipped varieties: what else a bird of that species could be called.

    Read without the checks and so far faster than load_card: the shipped cards are checked by the tests.
    """
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    out: dict[str, set[str]] = {}
    for card_id in shipped_cards():
        text = (breed_cards_dir() / f"{card_id}.yaml").read_text(encoding="utf-8")
        head = re.search(r"^species:.*?(?=^(?!species|breed|variety))", text, re.MULTILINE | re.DOTALL)
        data = yaml.load(head.group() if head else text, Loader=loader)
        if data["species"] == species:
            out.setdefault(data["breed"], set()).update([data["variety"]] if data.get("variety") else [])
    return {breed: frozenset(varieties) for breed, varieties in out.items()}


def card_problems(path: Path) -> list[str]:
    """All that is wrong with a card, a line each; empty when it is sound."""
    try:
        return _read(path)[1].lines
    except CoachError as err:
        return [str(err)]


def shipped_cards() -> tuple[str, ...]:
    """The ids of the cards that come with the coach, in alphabetical order."""
    return tuple(sorted(path.stem for path in breed_cards_dir().glob("*.yaml") if path.stem not in _NOT_CARDS))


def find_card(id_or_path: str, near: Path | None = None) -> Path:
    """The file of a card.

    Args:
        id_or_path: an id, or a path when it ends in .yaml or .yml or has a folder in it.
        near: the bird's file; a card in its folder, or in a folder `cards` in or beside that one, goes before a
            shipped card of the same id, and a relative path starts there first.
    Raises:
        CoachError: there is no such card; the message names the nearest ids.
    """
    folders = _folders(near)
    if is_path(id_or_path):
        tried = [*(folder / id_or_path for folder in folders[:1]), Path(id_or_path)]
        problem = f"no card file '{id_or_path}'; check the path"
    else:
        tried = [folder / f"{id_or_path}.yaml" for folder in (*folders, breed_cards_dir())]
        problem = _no_card(id_or_path, folders)
    for path in tried:
        if os.path.isfile(path) and path != near and path.stem not in _NOT_CARDS:  # False where Path.is_file raises
            return path
    raise CoachError(problem)


def _folders(near: Path | None) -> tuple[Path, ...]:
    if near is None:
        return ()
    folder = near.parent
    return (folder, folder / "cards", folder.resolve().parent / "cards")


def _no_card(card_id: str, folders: tuple[Path, ...]) -> str:
    own = {path.stem for folder in folders[1:] for path in folder.glob("*.yaml")}
    close = nearest(card_id, sorted(own | set(shipped_cards())))
    remedy = f"nearest: {', '.join(close)}" if close else "name one of the shipped cards or the path of your own"
    return f"no breed card '{card_id}'; {remedy}"


def _read(path: Path) -> tuple[Card, Problems]:
    problems = Problems(path)
    top = load_yaml(path)
    problems.check_format(top, FORMAT)
    fields = Fields(top, problems, KEYS)
    species = fields.choice("species", SPECIES) if fields.require("species", f"one of {', '.join(SPECIES)}") else None
    fields.require("breed", "name the breed")
    low, high = _POUNDS.get(species or "", (0.5, 50.0))
    card = Card(
        id=_id(fields, path) or "",
        species=species or "",
        breed=fields.text("breed") or "",
        variety=fields.text("variety"),
        show_class=fields.text("class"),
        origin=_origin(fields),
        purpose=fields.choices("purpose", PURPOSES),
        egg_color=fields.phrases("egg_color"),
        comb=_comb(fields),
        colors=_colors(fields),
        toes=fields.whole("toes", 3, 6),
        feathered_legs=fields.flag("feathered_legs"),
        weights_lb=_weights(fields, "weights_lb", low, high, "pounds"),
        weights_bantam_oz=_weights(fields, "weights_bantam_oz", *_OUNCES, "ounces"),
        history=fields.text("history"),
        disqualifications=fields.phrases("disqualifications"),
        sounds_like=_sounds_like(fields),
        sources=_sources(fields),
    )
    return card, problems


def _id(fields: Fields, path: Path) -> str | None:
    if not fields.require("id", f"add 'id: {path.stem}'"):
        return None
    found = fields.matching("id", KEBAB, "use small letters, digits and single hyphens, as in 'buff-orpington'")
    if found is not None and found != path.stem:
        fields.problem("id", f"'{found}' differs from the file's name; write '{path.stem}' or rename the file")
    return found


def _origin(fields: Fields) -> Origin | None:
    part = fields.section("origin", ("country", "place", "period"))
    return Origin(part.text("country"), part.text("place"), part.text("period")) if part else None


def _comb(fields: Fields) -> Comb | None:
    part = fields.section("comb", ("type", "points"))
    if part is None or not part.require("type", "name it in show words, as in 'type: single'"):
        return None
    points = part.whole("points", 1, 12)
    kind = part.text("type")
    return Comb(kind, points) if kind else None


def _colors(fields: Fields) -> dict[str, tuple[str, ...]]:
    part = fields.section("colors", COLORS)
    return {name: part.phrases(name) for name in part.node.entries if name in COLORS} if part else {}


def _weights(fields: Fields, group: str, low: float, high: float, unit: str) -> dict[str, float]:
    part = fields.section(group, SEX_AGES)
    if part is None:
        return {}
    found = {name: part.number(name, low, high, unit) for name in SEX_AGES}
    weights = {name: weight for name, weight in found.items() if weight is not None}
    for young, old in _OLDER.items():
        if young in weights and old in weights and weights[young] > weights[old]:
            part.problem(young, f"a {young} of {weights[young]:g} {unit} would outweigh the {old}; check both figures")
    return weights


def _sounds_like(fields: Fields) -> dict[str, str]:
    part = fields.section("sounds_like")
    words = {name: part.text(name) for name in part.node.entries} if part else {}
    return {name: sound for name, sound in words.items() if sound is not None}


def _sources(fields: Fields) -> dict[str, tuple[str, ...]]:
    """The source keys of each value group, or of one color as colors.eye; "*" stands for all the others."""
    single = [f"colors.{color}" for color in COLORS]
    part = fields.section("sources", ("*", *VALUES, *single))
    sources = {name: part.phrases(name) for name in part.node.entries} if part else {}
    colors = fields.node.entries.get("colors")
    for group in VALUES:
        covered = group in sources or "*" in sources or not fields.has(group)
        if group == "colors" and colors is not None:
            covered = covered or all(f"colors.{color}" in sources for color in colors.entries)
        if not covered:
            fields.problem(group, f"no source; add '{group}: [key]' or '\"*\": [key]' under 'sources'")
    return sources

"""The language the judge reads with, from `data/language.yaml`: values and their other forms, asides, everyday talk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import yaml

from coach.places import knowledge_data_dir

__all__ = ["Language", "load_language", "load_pronunciations"]


@dataclass(frozen=True, slots=True)
class Language:
    """See the comments in the file; every phrase is lower case with single spaces."""

    colors: frozenset[str]
    color_modifiers: frozenset[str]
    near_colors: tuple[frozenset[str], ...]
    comb_types: Mapping[str, tuple[str, ...]]
    classes: Mapping[str, tuple[str, ...]]
    waterfowl_classes: Mapping[str, tuple[str, ...]]
    countries: Mapping[str, tuple[str, ...]]
    places: tuple[str, ...]
    breed_short: Mapping[str, tuple[str, ...]]
    purposes: Mapping[str, tuple[str, ...]]
    purpose_both: tuple[str, ...]
    asides: tuple[str, ...]
    others: frozenset[str]
    this_bird: frozenset[str]
    denials: frozenset[str]
    fillers: frozenset[str]
    corrections: tuple[str, ...]
    faults: tuple[str, ...]
    filler_words: tuple[str, ...]

    def classes_of(self, species: str) -> Mapping[str, tuple[str, ...]]:
        """The show classes that a bird of the species may be said to be in."""
        return {**self.classes, **self.waterfowl_classes} if species in ("duck", "goose") else self.classes


@lru_cache(maxsize=1)
def load_language() -> Language:
    """The shipped language file."""
    data = _read("language.yaml")
    sets = ("colors", "color_modifiers", "others", "this_bird", "denials", "fillers")
    tables = ("comb_types", "classes", "waterfowl_classes", "countries", "breed_short", "purposes")
    fields: dict[str, Any] = {key: tuple(value) for key, value in data.items() if isinstance(value, list)}
    fields |= {key: frozenset(data[key]) for key in sets}
    fields |= {key: {name: tuple(forms) for name, forms in data[key].items()} for key in tables}
    fields["near_colors"] = tuple(frozenset(group) for group in data["near_colors"])
    return Language(**fields)


@lru_cache(maxsize=1)
def load_pronunciations() -> Mapping[str, str]:
    """Trade words that the pronouncing dictionary lacks, respelled in everyday words."""
    return {str(k).lower(): str(v) for k, v in _read("pronunciations.yaml")["sounds_like"].items()}


def _read(name: str) -> dict[str, Any]:
    text = (knowledge_data_dir() / name).read_text(encoding="utf-8")
    data = yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    data.pop("format")
    return dict(data)

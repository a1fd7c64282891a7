"""The values of all shipped breeds of a species, the best-known first: whose value was it that the member told?

In: a species. Out: Cards, read without the checks (the shipped cards are checked by the tests), about 0.05 s once.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import yaml

from coach.knowledge.cards import shipped_cards
from coach.knowledge.model import Card, Comb, Origin
from coach.places import breed_cards_dir

__all__ = ["shipped_values"]

# The breeds most often met at youth shows, roughly in that order. From memory, no source; the others follow by name.
_WELL_KNOWN = (
    *("Leghorn", "Rhode Island Red", "Plymouth Rock", "Orpington", "Wyandotte", "Sussex", "Brahma", "Cochin", "Silkie"),
    *("Australorp", "New Hampshire", "Ameraucana", "Marans", "Polish", "Cornish", "Minorca", "Dorking", "Ancona", "Hamburg"),
    *("Pekin", "Rouen", "Runner", "Khaki Campbell", "Muscovy", "Embden", "Toulouse", "Chinese", "African"),
)


@lru_cache(maxsize=8)
def shipped_values(species: str) -> tuple[Card, ...]:
    """One Card per shipped breed and variety of the species."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    texts = ((breed_cards_dir() / f"{card_id}.yaml").read_text(encoding="utf-8") for card_id in shipped_cards())
    cards = [_card(data) for text in texts if (data := yaml.load(text, Loader=loader))["species"] == species]
    return tuple(sorted(cards, key=_rank))


def _rank(card: Card) -> tuple[int, str, str]:
    known = _WELL_KNOWN.index(card.breed) if card.breed in _WELL_KNOWN else len(_WELL_KNOWN)
    return known, card.breed, card.variety or ""


def _card(data: Mapping[str, Any]) -> Card:
    comb, origin = data.get("comb") or {}, data.get("origin") or {}
    return Card(
        id=data["id"], species=data["species"], breed=data["breed"], variety=data.get("variety"), show_class=data.get("class"),
        origin=Origin(origin.get("country"), origin.get("place"), None) if origin else None,
        egg_color=_phrases(data.get("egg_color")), comb=Comb(comb["type"], comb.get("points")) if comb else None,
        colors={part: _phrases(value) for part, value in (data.get("colors") or {}).items()}, toes=data.get("toes"),
        weights_lb=data.get("weights_lb") or {}, weights_bantam_oz=data.get("weights_bantam_oz") or {},
    )  # fmt: skip


def _phrases(value: str | list[str] | None) -> tuple[str, ...]:
    return () if value is None else (value,) if isinstance(value, str) else tuple(value)

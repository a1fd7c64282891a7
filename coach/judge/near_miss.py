"""Whose value it was: a wrong value that is right for another part of this bird, another variety or another breed.

In: the fact, the words heard, the card and the shipped cards. Out: a plain remark, or None. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence

from coach.judge.candidates import Known
from coach.judge.tokens import words_of_phrase
from coach.judge.value_kinds import compare, find
from coach.judge.values import Match, accepted
from coach.knowledge.language import Language
from coach.knowledge.model import Bird, Card, Item
from coach.knowledge.species import sex_age_word
from coach.knowledge.values import ValueKind, kind_of

__all__ = ["whose_value"]

MOST_NAMES = 2
_OF_A_BREED = frozenset({
    ValueKind.COLOR, ValueKind.SHOW_CLASS, ValueKind.ORIGIN, ValueKind.COUNTRY, ValueKind.PLACE, ValueKind.COMB, ValueKind.COUNT,
    ValueKind.POUNDS, ValueKind.OUNCES,
})  # fmt: skip


def whose_value(
    item: Item, heard: str, card: Card, bird: Bird, items: Sequence[Item], shipped: Sequence[Card], language: Language
) -> str | None:
    """The remark: "bay is what the eyes should be", "other breeds have that: Leghorn, Ancona".

    Args:
        heard: the wrong value in the member's words.
        items: the route's items, whose parts may have the value.
        shipped: cards of the same species, the best-known first.
    """
    path = item.value or ""
    if path.startswith("weights_"):
        weights = [i for i in items if i.id != item.id and (i.value or "").startswith("weights_")]
        other = next((i for i in weights if _same(i, heard, card, bird, language)), None)
        if other and other.value:
            return f"that is the weight of a {sex_age_word(card.species, other.value.rsplit('.', 1)[1])}"
    near = _parts(item, heard, card, bird, items, language) if path.startswith("colors.") else []
    here = [i for i in near if i.region == item.region]
    if here:
        return _of_part(heard, here)
    breeds = _breeds(item, heard, card, bird, shipped, language)
    if breeds:
        return breeds
    return _of_part(heard, near) if near else None


def _of_part(heard: str, items: Sequence[Item]) -> str:
    named = [i.title.removesuffix(" color").removeprefix("color of the ") for i in items[:MOST_NAMES]]
    plural = {"eye": "eyes", "earlobe": "earlobes", "shank": "shanks"}
    return f"{heard} is what the {' and '.join(plural.get(n, n) for n in named)} should be"


def _parts(item: Item, heard: str, card: Card, bird: Bird, items: Sequence[Item], language: Language) -> list[Item]:
    """Other facts of this bird that the color would be right for."""
    colored = [i for i in items if i.id != item.id and (i.value or "").startswith("colors.")]
    return [i for i in colored if _same(i, heard, card, bird, language)]


def _breeds(item: Item, heard: str, card: Card, bird: Bird, shipped: Sequence[Card], language: Language) -> str | None:
    has = [c for c in shipped if _same(item, heard, c, bird, language)]
    varieties = [c.variety for c in has if c.breed == card.breed and c.variety and c.variety != card.variety]
    if varieties:
        return f"the {varieties[0]} {card.breed} has that"
    breeds = list(dict.fromkeys(c.breed for c in has if c.breed != card.breed))[:MOST_NAMES]
    if not breeds:
        return None
    what = "weigh that" if (item.value or "").startswith("weights_") else "have that"
    return f"other breeds {what}: {', '.join(breeds)}"


def _same(item: Item, heard: str, card: Card, bird: Bird, language: Language) -> bool:
    """Whether a card holds the value heard; False for facts that are no value of a breed (its name, the bird's sex)."""
    values = accepted(item, card, bird)
    if not values or item.value is None or kind_of(item.value, card) not in _OF_A_BREED:
        return False
    known = Known(card=card, language=language)
    return any(compare(item.value, c, values, known) is Match.SAME for c in find(item.value, words_of_phrase(heard), known))

"""What the reader looks for, in words: every item, fault, plan or key point is a statement described in a line.

In: knowledge. Out: texts. Pure. Ids are not part of them: an item under another id is read alike, and an item that a club adds is
understood from its own title and line.
"""

from __future__ import annotations

from coach.knowledge.model import Bird, Card, Fault, Item, Route
from coach.knowledge.species import sex_age_word

__all__ = ["context_of", "describe", "describe_fault", "describe_plan", "describe_point"]


def describe(item: Item, route: Route) -> str:
    """An item: its region, title and line."""
    region = next((r.title for r in route.regions if r.id == item.region), "Facts")
    line = " ".join(item.line.replace("{value}", "").split())
    return f"{region}: {item.title}: {line}".lower()


def describe_fault(fault: Fault) -> str:
    """A fault of the member's own bird."""
    return f"own fault: {fault.region}: {fault.say}".lower()


def describe_plan(fault: Fault) -> str:
    """What the member means to do about a fault."""
    return f"plan about the fault: {fault.plan}".lower()


def describe_point(tell: str) -> str:
    """A key point of an interview's question."""
    return f"answer: {tell}".lower()


def context_of(card: Card, bird: Bird) -> str:
    """What is known of the bird before anything is said: whose weight "she" is, and which breeds are others."""
    kind = " ".join(p for p in (card.variety, card.breed) if p)
    return f"{bird.name} {kind} {sex_age_word(card.species, bird.sex_age)}"

"""One sentence laid out for the readers of facts: its words, what is mentioned in it, and what the card accepts.

In: a sentence with its mentions, clauses and the focus carried over. Out: a Scene, and FactHeard for what readers find. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.judge.lexicon import Lexicon
from coach.judge.mentions import Mention
from coach.judge.tokens import Sentence
from coach.judge.values import Match, accepted
from coach.knowledge.language import Language
from coach.knowledge.model import Item

__all__ = ["NOUNS_COUNTED", "FactHeard", "Scene", "counts_other"]

NOUNS_COUNTED = frozenset(
    "week month year day point toe finger pound time minute inch egg bird feather chick hour mile foot dollar".split()
)
# In the singular, as roughly as tokens.singular makes it ("doe" of "does").
_SMALL = frozenset(
    "yep yup yes yeah that make makes is there are and so it let us count see i get got um uh "
    "all of them right she he has have supposed to do doe should meant".split()
)
_NOT = frozenset("not never instead without nor".split())


@dataclass(frozen=True, slots=True)
class FactHeard:
    """A value said of an item: outcome is said, near or wrong."""

    item: str
    outcome: str
    heard: str
    start: int
    end: int
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything the readers of one sentence need."""

    sentence: Sentence
    words: tuple[str, ...]  # singular
    here: Sequence[Mention]
    cut: Sequence[int]
    focus: tuple[str, ...]
    lexicon: Lexicon
    language: Language
    others: frozenset[int] = frozenset()  # tokens that speak of another bird
    recent: frozenset[str] = frozenset()  # words of the two sentences before

    def items(self, prefix: str) -> list[Item]:
        """The route's facts whose value path starts so."""
        return [i for i in self.lexicon.items.values() if i.value and i.value.startswith(prefix)]

    def item(self, path: str) -> Item | None:
        """The route's fact of that value path."""
        return next(iter(i for i in self.items(path) if i.value == path), None)

    def values(self, item: Item) -> tuple[str | float, ...]:
        """What the card accepts."""
        return accepted(item, self.lexicon.card, self.lexicon.bird)

    def denied(self, at: int) -> bool:
        """Whether the words just before deny what stands here ("not yellow", "does not have a rose comb")."""
        return bool(_NOT & set(self.words[max(0, at - 4) : at]))

    def bare(self, start: int, end: int) -> bool:
        """Whether the sentence is nothing but this number and small words ("yep, that makes four")."""
        return set(self.words[:start] + self.words[end:]) <= _SMALL

    def of_another(self, at: int) -> bool:
        """Whether what stands here is said of another bird or breed."""
        return at in self.others

    def text(self, start: int, end: int) -> str:
        """Words as heard."""
        return " ".join(t.text for t in self.sentence[start:end])

    def heard(self, item: Item, match: Match, start: int, end: int, text: str | None = None) -> FactHeard:
        """The outcome for a value."""
        outcome = {Match.SAME: "said", Match.NEAR: "near", Match.OTHER: "wrong"}[match]
        return FactHeard(item.id, outcome, text or self.text(start, end), start, end)


def counts_other(after: Sequence[str]) -> bool:
    """Whether the words right after a number say that it counts something else ("three weeks")."""
    return bool(set(after[:2]) & NOUNS_COUNTED)

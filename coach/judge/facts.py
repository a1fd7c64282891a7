"""Facts in a sentence: every value heard, attached to what it is said of and compared with the card.

In: one sentence with its mentions, clauses and the focus carried over. Out: FactHeard per attached value. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.judge.lexicon import Lexicon
from coach.judge.mentions import Mention
from coach.judge.scene import FactHeard, Scene
from coach.judge.tokens import Sentence, singular
from coach.judge.value_kinds import read
from coach.knowledge.language import Language

__all__ = ["FactHeard", "read_facts"]


def read_facts(
    sentence: Sentence, here: Sequence[Mention], cut: Sequence[int], focus: tuple[str, ...], lexicon: Lexicon,
    language: Language, others: frozenset[int] = frozenset(),
    recent: frozenset[str] = frozenset(),
) -> Iterator[FactHeard]:  # fmt: skip
    """All facts the sentence tells of this bird.

    Args:
        others: places of the tokens that speak of another bird.
        recent: words of the two sentences before, in the singular.
    """
    scene = Scene(sentence, tuple(singular(t.text) for t in sentence), here, cut, focus, lexicon, language, others, recent)
    yield from (fact for fact in read(scene) if fact.start not in others)

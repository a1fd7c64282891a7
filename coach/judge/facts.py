"""Facts in a sentence: every value heard, attached to what it is said of and compared with the card.

In: one sentence with its mentions, clauses and the focus carried over. Out: FactHeard per attached value. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.judge.breed_facts import read_class, read_origin, read_purpose
from coach.judge.colors import read_colors
from coach.judge.counts import read_comb_type, read_points, read_toes
from coach.judge.lexicon import Lexicon
from coach.judge.mentions import Mention
from coach.judge.names import read_names
from coach.judge.numbers import numbers
from coach.judge.scene import FactHeard, Scene
from coach.judge.tokens import Sentence, singular
from coach.judge.weights import read_weights
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
    yield from (fact for fact in _all(scene) if fact.start not in others)


def _all(scene: Scene) -> Iterator[FactHeard]:
    sentence = scene.sentence
    counted = numbers([t.text for t in sentence])
    yield from read_colors(scene)
    yield from read_comb_type(scene)
    yield from read_points(scene, counted)
    yield from read_toes(scene, counted)
    yield from read_weights(scene, counted)
    yield from read_class(scene)
    yield from read_origin(scene)
    yield from read_purpose(scene)
    yield from read_names(scene)

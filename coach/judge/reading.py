"""Reading a rehearsal: the words in sentences, what the reader answers to every item, and what follows for each.

In: timed words, what they are held against, the reader. Out: a Reading. Pure, the same for the same words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from coach.judge.belief import Chances, features, logistics
from coach.judge.evidence import Evidence, fault_evidence, gather
from coach.judge.lexicon import Lexicon, item_applies
from coach.judge.mentions import Mention, mentions
from coach.judge.tokens import Sentence, sentences, words_of_phrase
from coach.knowledge.language import Language
from coach.knowledge.model import Item, Kind
from coach.knowledge.routes import default_route, load_route
from coach.reader.labels import context_of, describe, describe_fault, describe_plan
from coach.reader.passage import passage
from coach.words import TimedWords

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from coach.reader.model import Reader

__all__ = ["Read", "Reading", "read"]


@dataclass(frozen=True, slots=True)
class Read:
    """One item, fault or plan: what speaks for it, and the chances that follow."""

    id: str
    kind: Kind
    evidence: Evidence
    chances: Chances


@dataclass(frozen=True, slots=True)
class Reading:
    """sentences, where each begins in the row of all tokens, the phrases in each, and what was read of every item.

    spoken[n] are the items that sentence n speaks of, with the reader's probability.
    """

    sentences: tuple[Sentence, ...]
    starts: tuple[int, ...]
    found: tuple[tuple[Mention, ...], ...]
    reads: tuple[Read, ...]
    spoken: tuple[dict[str, float], ...]

    def of(self, item: str) -> Read | None:
        """What was read of an item."""
        return next((r for r in self.reads if r.id == item), None)

    @property
    def told(self) -> frozenset[str]:
        """Items that are told, rightly or not, more likely than left out."""
        return frozenset(r.id for r in self.reads if r.chances.skipped < 0.5)


def read(heard: TimedWords, lexicon: Lexicon, language: Language, reader: Reader) -> Reading:
    """All items of the route that may be asked of the bird, and its own faults and plans."""
    split = sentences(heard)
    items = [i for i in lexicon.route.items if item_applies(i, lexicon.card, lexicon.bird)]
    owned = [
        (f"faults.{fault.id}{suffix}", phrases, described)
        for fault in lexicon.bird.faults
        for suffix, phrases, described in (
            ("", (fault.say, *fault.also), describe_fault(fault)),
            *([(".plan", (fault.plan, *fault.plan_words), describe_plan(fault))] if fault.plan else []),
        )
    ]
    labels = (*(_label(i, lexicon, reader) for i in items), *(d for _, _, d in owned))
    logits = _logits(reader, split, context_of(lexicon.card, lexicon.bird), labels)
    found = tuple(mentions(s, lexicon) for s in split)
    starts = tuple(sum(map(len, split[:n])) for n in range(len(split)))
    taught = [reader.knows(d) for d in labels[: len(items)]]
    evidence = gather(logits[:, : len(items)], items, split, found, lexicon, language, taught)
    own = fault_evidence(logits[:, len(items) :], [(i, p) for i, p, _ in owned], split)
    kinds = [*(i.kind for i in items), *(Kind.FAULT for _ in owned)]
    models = logistics(reader.beliefs)
    reads = tuple(
        Read(e.item, kind, e, models[kind, known].chances(features(e, kind)))
        for e, kind, known in zip([*evidence, *own], kinds, [*taught, *(True for _ in own)], strict=True)
    )
    return Reading(split, starts, found, reads, tuple(_spoken(logits, [e.item for e in evidence], split, starts)))


def _label(item: Item, lexicon: Lexicon, reader: Reader) -> str:
    """The description of an item; a value that the reader was taught under other words is asked in those."""
    own = describe(item, lexicon.route)
    if reader.knows(own) or not item.value:
        return own
    shipped = load_route(default_route(lexicon.card))
    taught = (describe(i, shipped) for i in shipped.items if i.value == item.value)
    return next((d for d in taught if reader.knows(d)), own)


@lru_cache(maxsize=8)
def _logits(reader: Reader, split: tuple[Sentence, ...], context: str, labels: tuple[str, ...]) -> NDArray[np.float32]:
    """A rehearsal is read several times with hardly a word changed: the same words are asked once."""
    return reader.logits(passage(split, words_of_phrase(context)), labels)


def _spoken(
    logits: NDArray[np.float32], ids: Sequence[str], split: Sequence[Sentence], starts: Sequence[int]
) -> list[dict[str, float]]:
    import numpy as np

    out = []
    for start, sentence in zip(starts, split, strict=True):
        top = logits[start : start + len(sentence), : len(ids)].max(axis=(0, 2))
        out.append({item: float(1 / (1 + np.exp(-logit))) for item, logit in zip(ids, top, strict=True) if logit > 0})
    return out

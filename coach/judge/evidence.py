"""What speaks for every item having been told: the reader's answers where its term, its value or a wrong name stands.

In: the reader's logits for every token, the candidates and the mentions. Out: Evidence per item. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coach.judge.candidates import Candidate, Known
from coach.judge.lexicon import Lexicon, Meaning
from coach.judge.mentions import Mention
from coach.judge.tokens import Sentence, singular, words_of_phrase
from coach.judge.value_kinds import compare, find_all
from coach.judge.values import Match, accepted
from coach.knowledge.language import Language
from coach.knowledge.model import Item, Kind
from coach.knowledge.values import ValueKind, kind_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["NOTHING", "Evidence", "Find", "fault_evidence", "gather"]

NOTHING = -16.0  # the logit of what stands nowhere
OWN_WORD = 8.0  # logits that an own word in the sentence is worth to an item that was never taught
_LINKS = frozenset("of the a an and or color colors type number checked facts".split())
REACH = 12  # words within which a fault's own words stand together
TOLD, SLIP = 0, 1  # the reader's two answers: told here; told here under a wrong name


@dataclass(frozen=True, slots=True)
class Find:
    """Tokens start to end with the reader's logit there; logit is NOTHING where there is no such place."""

    logit: float = NOTHING
    start: int = 0
    end: int = 0


@dataclass(frozen=True, slots=True)
class Evidence:
    """The best place of each kind for one item.

    anywhere: wherever the reader says it is told. exact: on the part's own term, on a condition's cue, on a value that the card
    accepts. near: on a value close to it. wrong: on a value that the card does not accept, or where the reader hears a wrong name
    on a name that is not the part's. slip: where it hears a wrong name at all (for a fact: on one of its listed wrong names).
    """

    item: str
    anywhere: Find
    exact: Find
    near: Find
    wrong: Find
    slip: Find


def gather(
    logits: NDArray[np.float32], items: Sequence[Item], sentences: Sequence[Sentence], found: Sequence[Sequence[Mention]],
    lexicon: Lexicon, language: Language, taught: Sequence[bool],
) -> list[Evidence]:  # fmt: skip
    """Evidence for every item.

    Args:
        logits: (tokens of all sentences, items, 2).
        found: the phrases of every sentence.
        taught: whether the reader was taught the item; of any other it has only the description, and the item's own words
            in the sentence help.
    """
    spans: dict[tuple[Meaning, str], list[tuple[int, int]]] = {}
    at = 0
    for sentence, here in zip(sentences, found, strict=True):
        for m in here:
            spans.setdefault((m.meaning, m.key), []).append((at + m.start, at + m.end))
        at += len(sentence)
    known = Known(card=lexicon.card, language=language)
    kinds = {kind_of(i.value, lexicon.card) for i in items if i.kind is Kind.FACT and i.value}
    values = {kind: find_all(kind, sentences, known) for kind in kinds}
    out = []
    for n, item in enumerate(items):
        mine = logits[:, n] if taught[n] else _helped(logits[:, n], item, sentences, lexicon)
        out.append(_of(item, mine, spans, values, lexicon, known))
    return out


def _helped(logits: NDArray[np.float32], item: Item, sentences: Sequence[Sentence], lexicon: Lexicon) -> NDArray[np.float32]:
    """The logits of an item that the reader was never taught, higher in sentences that hold one of the item's own words."""
    about = lexicon.items.get(item.about or "")
    phrases = (item.title.replace("_", " "), *item.say, *(about.say if about else ()))
    own = {singular(w) for p in phrases for w in words_of_phrase(p)} - _LINKS
    out: NDArray[np.float32] = logits.copy()
    at = 0
    for sentence in sentences:
        if own & {singular(t.text) for t in sentence}:
            out[at : at + len(sentence), TOLD] += OWN_WORD
        at += len(sentence)
    return out


def fault_evidence(
    logits: NDArray[np.float32], faults: Sequence[tuple[str, Sequence[str]]], sentences: Sequence[Sentence]
) -> list[Evidence]:
    """Evidence for the bird's own faults and plans; exact is where the most words of one of its phrases stand together.

    Its logit is their share, as a number of -4 to 4.
    """
    row = [singular(t.text) for s in sentences for t in s]
    out = []
    for n, (item, phrases) in enumerate(faults):
        anywhere = _best(logits[:, n, TOLD], ((k, k + 1) for k in range(len(row))))
        exact = max((_together(phrase, row) for phrase in phrases), key=lambda f: f.logit, default=Find())
        out.append(Evidence(item, anywhere, exact, Find(), Find(), Find()))
    return out


def _together(phrase: str, row: Sequence[str]) -> Find:
    """Where most of the telling words of the phrase stand within a dozen words."""
    wanted = {singular(w) for w in words_of_phrase(phrase) if len(w) > 3} or {singular(w) for w in words_of_phrase(phrase)}
    places = [n for n, w in enumerate(row) if w in wanted]
    best = Find()
    for start in places:
        inside = [n for n in places if start <= n < start + REACH]
        if len(wanted) > 1 and len({row[n] for n in inside}) < 2:
            continue  # one word of several is no fault
        share = 8 * len({row[n] for n in inside}) / len(wanted) - 4
        if share > best.logit:
            best = Find(share, start, inside[-1] + 1)
    return best


def _of(
    item: Item, logits: NDArray[np.float32], spans: Mapping[tuple[Meaning, str], Sequence[tuple[int, int]]],
    values: Mapping[ValueKind, Sequence[Candidate]], lexicon: Lexicon, known: Known,
) -> Evidence:  # fmt: skip
    told, slip = logits[:, TOLD], logits[:, SLIP]
    anywhere, slipped = _best(told, ((n, n + 1) for n in range(len(told)))), _best(slip, ((n, n + 1) for n in range(len(slip))))
    if item.kind is Kind.FACT and item.value:
        found: dict[Match, list[tuple[int, int]]] = {m: [] for m in Match}
        right = accepted(item, lexicon.card, lexicon.bird)
        for c in values[kind_of(item.value, lexicon.card)]:
            found[compare(item.value, c, right, known)].append((c.start, c.end))
        same = found[Match.SAME]
        others = [s for s in found[Match.OTHER] if not any(s[0] < b and a < s[1] for a, b in same)]
        named = _best(slip, spans.get((Meaning.NAME, item.id), ()))
        return Evidence(item.id, anywhere, _best(told, same), _best(told, found[Match.NEAR]), _best(told, others), named)
    exact = spans.get((Meaning.PART, item.id), ()) if item.kind is Kind.PART else (
        *spans.get((Meaning.CUE, item.id), ()), *spans.get((Meaning.CUE_OF_PART, item.id), ())
    )  # fmt: skip
    names = [*spans.get((Meaning.NAME, item.id), ())]
    if item.kind is Kind.PART:
        names += [s for (meaning, key), places in spans.items() if meaning is Meaning.PART and key != item.id for s in places]
    return Evidence(item.id, anywhere, _best(told, exact), Find(), _best(slip, names), slipped)


def _best(logits: NDArray[np.float32], places: Iterable[tuple[int, int]]) -> Find:
    """The place with the highest logit on any of its tokens."""
    best = Find()
    for a, b in places:
        top = float(logits[a:b].max())
        if top > best.logit:
            best = Find(top, a, b)
    return best

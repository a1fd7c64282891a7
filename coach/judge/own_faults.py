"""The bird's own faults and plans: told in the member's words, however they are turned.

In: sentences and the bird. Out: FaultHeard per fault or plan told. A fault is told when most of the telling words of one
of its phrases stand close together; rare words ("sprig") count more than everyday ones ("side"). Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from coach.judge.tokens import Sentence, singular, words_of_phrase
from coach.knowledge.model import Bird, Fault

__all__ = ["FaultHeard", "read_faults"]

_EMPTY = frozenset(
    "a an the on of in at to for with and or is are be she he her his him it its that this there so until till by as they "
    "them was has have had will would am i my some one not no too very who which from over before up only into out".split()
)
# A fault needs this share of a phrase's telling words, a plan this share of its own.
FAULT_SHARE = 0.66
PLAN_SHARE = 0.6
# Talk of faults that lets a slightly poorer match stand.
_FAULT_TALK = frozenset("fault faults flaw flaws defect honest problem notice weak weakness improve disqualification".split())
FAULT_TALK_BONUS = 0.12
WINDOW = 2  # sentences that may share one fault


@dataclass(frozen=True, slots=True)
class FaultHeard:
    """An item of the bird's own faults, told by sentence `sentence`, tokens start to end.

    wrong tells what is not right about it: told of another part, or said not to be there.
    """

    item: str
    heard: str
    sentence: int
    start: int
    end: int
    share: float
    wrong: str | None = None


def read_faults(
    sentences: Sequence[Sentence], bird: Bird, alike: Callable[[str, str], bool], trade: frozenset[str],
    parts: Mapping[str, str] | None = None,
) -> Iterator[FaultHeard]:  # fmt: skip
    """Faults and plans told anywhere.

    Args:
        trade: words of the route and of values, in the singular: alone they tell no fault ("her earlobes are red").
        parts: names of parts in one word, in the singular, with the item each names.
        alike: whether two plain words sound the same; the listener may have misspelt one.
    """
    for fault in bird.faults:
        told = _best(sentences, (fault.say, *fault.also), alike, FAULT_SHARE, f"faults.{fault.id}", trade, parts or {})
        if told:
            yield told
        plan = _plan(sentences, fault, alike)
        if plan:
            yield plan


def _plan(sentences: Sequence[Sentence], fault: Fault, alike: Callable[[str, str], bool]) -> FaultHeard | None:
    if not fault.plan:
        return None
    phrases = [fault.plan, *([" ".join(fault.plan_words)] if fault.plan_words else [])]
    return _best(sentences, phrases, alike, PLAN_SHARE, f"faults.{fault.id}.plan", frozenset())


def _best(
    sentences: Sequence[Sentence], phrases: Sequence[str], alike: Callable[[str, str], bool], least: float, item: str,
    trade: frozenset[str], parts: Mapping[str, str] | None = None,
) -> FaultHeard | None:  # fmt: skip
    best: FaultHeard | None = None
    for n in range(len(sentences)):
        for size in range(1, WINDOW + 1):
            window = sentences[n : n + size]
            if len(window) < size:
                continue
            for phrase in phrases:
                found = _match(window, phrase, alike, n, item, trade)
                if found and parts is not None:
                    found = _checked(window, phrase, found, parts)
                # One sentence is better evidence than two, and the fault told rightly better than told wrongly.
                if found and found.share >= least and (best is None or _worth(found, size) > _worth(best, 1)):
                    best = found
    return best


def _worth(found: FaultHeard, size: int) -> float:
    return found.share - 0.05 * (size - 1) - (1.0 if found.wrong else 0.0)


def _checked(window: Sequence[Sentence], phrase: str, found: FaultHeard, parts: Mapping[str, str]) -> FaultHeard:
    """ "No side sprig" tells the opposite; "a side sprig on her beak" tells it of another part."""
    words = [singular(t.text) for t in window[0]]
    before = words[max(0, found.start - 3) : found.start]
    denied = bool({"no", "without"} & set(before[-2:])) or before in (["not", "have", "a"], ["not", "have", "any"])
    if denied and not {"no", "not", "without", "missing"} & set(words_of_phrase(phrase)):
        no = next(k for k in range(max(0, found.start - 3), found.start) if words[k] in ("no", "without", "not"))
        return replace(found, start=no, wrong="I heard that it is not there")
    own = {parts[w] for w in map(singular, words_of_phrase(phrase)) if w in parts}
    near = words[max(0, found.start - 4) : found.end + 5]
    named = {w: parts[w] for w in near if w in parts}
    if own and named and not own & {parts[w] for s in window for t in s if (w := singular(t.text)) in parts}:
        return replace(found, wrong=f"I heard it told of the {next(iter(named))}")
    return found


def _match(
    window: Sequence[Sentence], phrase: str, alike: Callable[[str, str], bool], n: int, item: str, trade: frozenset[str]
) -> FaultHeard | None:
    wanted = [w for w in dict.fromkeys(singular(w) for w in words_of_phrase(phrase)) if w not in _EMPTY]
    if not wanted:
        return None
    first = [singular(t.text) for t in window[0]]
    words = [singular(t.text) for s in window for t in s]
    places = {w: [k for k, x in enumerate(words) if x == w or alike(w, x)] for w in wanted}
    found = {w: p for w, p in places.items() if p}
    if trade and not _telling(wanted, found, trade):
        return None
    weight = {w: 2.0 if len(w) > 5 else 1.0 for w in wanted}
    share = sum(weight[w] for w in found) / sum(weight.values())
    if _FAULT_TALK & set(words):
        share = min(1.0, share + FAULT_TALK_BONUS * (len(found) > 1))
    inside = [k for p in found.values() for k in p if k < len(first)]
    if not inside:
        return None
    start, end = min(inside), max(inside) + 1
    return FaultHeard(item, " ".join(t.text for t in window[0][start:end]), n, start, end, share)


def _telling(wanted: Sequence[str], found: dict[str, list[int]], trade: frozenset[str]) -> bool:
    """Whether what was found is more than trade words: one of the phrase's own words, or all words in their order."""
    own = [w for w in wanted if w not in trade]
    if own:
        return any(w in found for w in own)
    if len(found) < len(wanted):
        return False
    places = [min(found[w]) for w in wanted]
    return places == sorted(places) and places[-1] - places[0] <= len(wanted) + 2

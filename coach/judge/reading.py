"""Reading sentences: which items are told, rightly or wrongly, by which words.

In: sentences, lexicon, language. Out: Claims in the order spoken, with marks of where on the bird each sentence is. Pure.
A value belongs to the part it is said of: by grammar-near order, not by the nearest word alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from coach.judge.facts import read_facts
from coach.judge.lexicon import Lexicon, Meaning
from coach.judge.mentions import Mention, clauses, find_phrases, mentions
from coach.judge.numbers import numbers
from coach.judge.others import spoken_of_others
from coach.judge.tokens import Sentence, singular
from coach.judge.verdict import Basis
from coach.knowledge.language import Language

__all__ = ["Claim", "Outcome", "Read", "read"]

# A focus ("it", "they") lasts so many sentences that name no other part.
FOCUS_SENTENCES = 3
_ADJECTIVES_BETWEEN = 3
_LEFT_UNDONE = ("not checked", "not check ", "forgot to", "did not look", "have not looked", "never checked")
_PREPOSITIONS = frozenset("from on in around of at to inside along under over for about".split())


class Outcome(str, Enum):
    """What a claim says of its item."""

    SAID = "said"
    WRONG = "wrong"
    NEAR = "near"  # a value close to the accepted one
    MISNAMED = "misnamed"


@dataclass(frozen=True, slots=True)
class Claim:
    """The item is told here, rightly or wrongly, by tokens start to end of a sentence."""

    item: str
    outcome: Outcome
    heard: str
    sentence: int
    start: int
    end: int
    basis: Basis
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Read:
    """All claims, and per sentence: the mentions and which clause each token is in."""

    claims: tuple[Claim, ...]
    found: tuple[tuple[Mention, ...], ...]
    corrections: tuple[tuple[int, int], ...]  # (sentence, token) of "sorry", "I mean", ...


@dataclass(frozen=True, slots=True)
class Focus:
    """The parts last named together, and how many sentences ago."""

    parts: tuple[str, ...] = ()
    age: int = 0


def read(sentences: Sequence[Sentence], lexicon: Lexicon, language: Language) -> Read:
    """All claims of the sentences."""
    claims: list[Claim] = []
    found: list[tuple[Mention, ...]] = []
    corrections: list[tuple[int, int]] = []
    focus = Focus()
    for n, sentence in enumerate(sentences):
        here = mentions(sentence, lexicon, language)
        cut = clauses(sentence)
        found.append(here)
        corrections += [(n, a) for a, _ in find_phrases([t.text for t in sentence], language.corrections)]
        recent = frozenset(singular(t.text) for s in sentences[max(0, n - 2) : n] for t in s)
        claims += (replace(c, sentence=n) for c in _sentence(sentence, here, cut, focus, recent, lexicon, language))
        focus = _next_focus(focus, here)
    return Read(tuple(claims), tuple(found), tuple(corrections))


def _sentence(
    sentence: Sentence, here: Sequence[Mention], cut: Sequence[int], focus: Focus, recent: frozenset[str], lexicon: Lexicon,
    language: Language,
) -> Iterable[Claim]:  # fmt: skip
    others = spoken_of_others(sentence, here, lexicon, language)
    yield from _parts(sentence, here, lexicon)
    yield from _wings(sentence, here, lexicon)
    yield from (c for c in _conditions(sentence, here, focus, lexicon) if c.start not in others)
    for fact in read_facts(sentence, here, cut, focus.parts, lexicon, language, others, recent):
        yield Claim(fact.item, Outcome(fact.outcome), fact.heard, 0, fact.start, fact.end, Basis.VALUE, fact.note)


def _next_focus(focus: Focus, here: Sequence[Mention]) -> Focus:
    named = [m for m in here if m.meaning in (Meaning.PART, Meaning.NAME, Meaning.OF)]
    if not named:
        if any(m.meaning is Meaning.EGG for m in here):
            return Focus(("egg",), FOCUS_SENTENCES - 2)  # for the next sentence alone
        return Focus() if focus.age + 1 >= FOCUS_SENTENCES else Focus(focus.parts, focus.age + 1)
    last = max(m.end for m in named)
    group = _group_ending(named, last)
    return Focus(tuple(dict.fromkeys(m.key for m in group)))


def _group_ending(named: Sequence[Mention], end: int) -> list[Mention]:
    """The last part and those joined to it by "and" or a comma right before ("the comb and the wattles")."""
    group: list[Mention] = []
    at = end
    for m in sorted(named, key=lambda m: -m.end):
        if not group or 0 <= at - m.end <= 3:
            group.append(m)
            at = m.start
        else:
            break
    return group


def _parts(sentence: Sentence, here: Sequence[Mention], lexicon: Lexicon) -> Iterable[Claim]:
    for m in here:
        heard = " ".join(t.text for t in sentence[m.start : m.end])
        if m.meaning is Meaning.PART:
            yield Claim(m.key, Outcome.SAID, heard, 0, m.start, m.end, Basis.EXACT, _miscounted(sentence, m, lexicon))
        elif m.meaning is Meaning.NAME and lexicon.items[m.key].value is None and _pointing(sentence, m):
            yield Claim(m.key, Outcome.MISNAMED, heard, 0, m.start, m.end, Basis.EXACT)


def _miscounted(sentence: Sentence, m: Mention, lexicon: Lexicon) -> str | None:
    """A remark where a part that comes in twos is told in another number ("she has one wattle", "three eyes")."""
    words = [singular(t.text) for t in sentence]
    noun = words[m.end - 1]
    if noun not in _PAIRED or words[m.start - 2 : m.start - 1] not in (["has"], ["have"], ["with"], ["is"], ["are"], ["got"]):
        return None
    counted = numbers(words[m.start - 1 : m.start])
    after = words[m.end : m.end + 2]
    if not counted or counted[0].value == 2 or {"is", "on", "of", "that", "each", "and", "per", "with", "which"} & set(after):
        return None
    return f"a bird has two {lexicon.items[m.key].title}"


def _pointing(sentence: Sentence, m: Mention) -> bool:
    """Whether a wrong name is used as a name: after the, her, this, both, called ..., and not counted ("two fingers")."""
    if singular(m.entry.words[-1]) == "leg" and sentence[m.end - 1].text == "legs":
        return False
    before = sentence[m.start - 1].text if m.start else ""
    if m.end < len(sentence) and sentence[m.end].text in ("apart", "between", "wide", "width", "'s", "feathering"):
        return False
    counted = before in _COUNTS and m.key == "legs.toes"  # "two fingers" measure
    return not counted and before not in ("my", "our", "scaly", "each", "with", "index", "by", "at")


_PAIRED = frozenset("wattle eye earlobe thigh hock shank".split())
_COUNTS = frozenset("one two three four five 1 2 3 4 5 a couple several".split()) - {"a"}


def _wings(sentence: Sentence, here: Sequence[Mention], lexicon: Lexicon) -> Iterable[Claim]:
    """ "the left and right wings", "the left wing and then the right": a side said with the wing elsewhere near."""
    sides = {side: f"wings.{side}" for side in ("left", "right") if f"wings.{side}" in lexicon.items}
    words = [singular(t.text) for t in sentence]
    wings = [n for n, w in enumerate(words) if w == "wing"]
    for n, word in enumerate(words):
        if word not in sides or words[n + 1 : n + 2] == ["wing"]:
            continue
        after = next((w for w in wings if 0 < w - n <= 4), None)
        before = next((w for w in wings if 0 < n - w <= 8), None)
        alone = n + 1 == len(words) or words[n + 1] in ("one", "side", "and", "too", "as", "is", "look", "then")
        if after is not None or (before is not None and alone and words[n - 1 : n] == ["the"]):
            yield Claim(sides[word], Outcome.SAID, f"{word} ... wing", 0, n, n + 1, Basis.SYNONYM)


def _conditions(sentence: Sentence, here: Sequence[Mention], focus: Focus, lexicon: Lexicon) -> Iterable[Claim]:
    words = " ".join(t.text for t in sentence)
    if any(left in words for left in _LEFT_UNDONE):
        return
    for m in here:
        if m.meaning is Meaning.CUE or (
            m.meaning is Meaning.CUE_OF_PART and _said_of(m, sentence, here, focus) & _subjects(m.key, lexicon)
        ):
            heard = " ".join(t.text for t in sentence[m.start : m.end])
            yield Claim(m.key, Outcome.SAID, heard, 0, m.start, m.end, Basis.EXACT)


def _subjects(item: str, lexicon: Lexicon) -> set[str]:
    """What a condition may be said of: its part, or its own "said of" words."""
    return {lexicon.items[item].about or item, item}


def _said_of(m: Mention, sentence: Sentence, here: Sequence[Mention], focus: Focus) -> set[str]:
    """The parts a cue is said of."""
    named = [p for p in here if p.meaning in (Meaning.PART, Meaning.NAME, Meaning.OF)]
    after = [p for p in named if p.start >= m.end]
    before = [p for p in named if p.end <= m.start]
    close = [p for p in after if p.start - m.end <= _ADJECTIVES_BETWEEN]
    if close and {t.text for t in sentence[m.end : close[0].start]} & _PREPOSITIONS:
        return {p.key for p in close if p.start == close[0].start}
    if close and not before and close[0].start - m.end <= 2:
        return {p.key for p in _run_from(close[0], after)}
    if close and close[0].start - m.end <= 1 and sentence[m.start - 1].text not in ("is", "are", "and", "be", "or"):
        return {p.key for p in close if p.start == close[0].start}
    if before:
        last = max(p.end for p in before)
        return {p.key for p in _group_ending(before, last)}
    if after:
        reach = [p for p in after if {t.text for t in sentence[m.end : p.start]} & _PREPOSITIONS]
        return {p.key for p in reach[:1]} or set(focus.parts) or {after[0].key}
    return set(focus.parts)


def _run_from(first: Mention, after: Sequence[Mention]) -> list[Mention]:
    run = [first]
    for p in after:
        if p is not first and 0 <= p.start - run[-1].end <= 3:
            run.append(p)
    return run

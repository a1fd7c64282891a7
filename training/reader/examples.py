"""Talks to training examples: the row of words, the pieces between tags, and for every label what each piece should answer.

A piece is met by the largest answer among its tokens, so that the reader learns where. Where the tagged value or name stands in
the piece, its own tokens are asked, and the piece's other values of the kind must not answer. After its first tag an item is
not asked any more, since people repeat.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from coach.judge.candidates import Candidate, Known
from coach.judge.lexicon import Lexicon, Meaning, build_lexicon, item_applies
from coach.judge.mentions import mentions
from coach.judge.tokens import Sentence, Token, sentences, singular, words_of_phrase
from coach.judge.value_kinds import compare, find_all
from coach.judge.values import Match, accepted
from coach.knowledge.cards import breed_names
from coach.knowledge.language import load_language
from coach.knowledge.model import Bird, Card, Item, Kind, Route
from coach.knowledge.routes import default_route, load_route
from coach.knowledge.values import kind_of
from coach.reader.labels import context_of, describe, describe_fault, describe_plan
from coach.reader.passage import passage
from coach.words import TimedWords
from training.reader.corpus import Tag, Talk

__all__ = ["Example", "example"]


@dataclass
class Example:
    """One text ready to learn from. labels are descriptions; a group is (label, tokens, channel, answer)."""

    name: str
    writer: str
    words: tuple[str, ...]
    owners: tuple[int, ...]
    n_tokens: int
    n_context: int
    pieces: list[tuple[int, int]]
    labels: list[str]
    told: list[tuple[int, int]]  # (piece, label): told there, rightly or not
    groups: list[tuple[int, list[int], int, int]] = field(default_factory=list)
    whole: bool = True


def labels_of(route: Route, card: Card, bird: Bird) -> dict[str, str]:
    """Item id -> description, of all that may be asked of this bird."""
    out = {i.id: describe(i, route) for i in route.items if item_applies(i, card, bird)}
    for fault in bird.faults:
        out[f"faults.{fault.id}"] = describe_fault(fault)
        if fault.plan:
            out[f"faults.{fault.id}.plan"] = describe_plan(fault)
    return out


def example(talk: Talk, heard: TimedWords | None = None, tags: Sequence[Tag] | None = None) -> Example:
    """The example of a talk, as written or as a listener heard it (then with the tags carried over)."""
    assert talk.card and talk.bird
    tags = talk.tags if tags is None else tags
    route = load_route(default_route(talk.card))
    language = load_language()
    lexicon = build_lexicon(route, talk.card, talk.bird, language, breed_names(talk.card.species))
    split = sentences(heard or talk.heard)
    row = [t for s in split for t in s]
    labels = labels_of(route, talk.card, talk.bird)
    order = list(labels)
    items = {i.id: i for i in route.items}
    ends, at = [], 0
    for s in split:
        at += len(s)
        ends.append(at)
    places = [sum(t.first < tag.after for t in row) for tag in tags]
    borders = sorted({0, *ends, *places})
    pieces = [(a, b) for a, b in pairwise(borders) if b > a]
    by_end = {b: n for n, (_, b) in enumerate(pieces)}
    made = Example(talk.name, talk.writer, *_row(split, talk), pieces, [labels[i] for i in order], [], whole=talk.whole)
    known = Known(card=talk.card, language=language)
    named = list(_named(split, lexicon))
    for tag, place in zip(tags, places, strict=True):
        if tag.item not in labels:
            continue
        k = order.index(tag.item)
        n = by_end.get(place, max((m for e, m in by_end.items() if e <= place), default=0))
        a, b = pieces[n]
        first = max((e for e in (0, *ends) if e < b), default=0)
        item = items.get(tag.item)
        if tag.slip == "misnamed":
            wanted = [singular(w) for w in words_of_phrase(tag.value)]
            where = _find(row, wanted, first, b)
            made.groups.append((k, where or list(range(a, b)), 1, 1))  # and nowhere is it told rightly
            continue
        made.told.append((n, k))
        if item and item.kind is Kind.FACT:
            mine = [c for c in values_of(item, split, known) if first <= c.start and c.end <= b + 3]
            inside = [c for c in mine if a <= c.start and c.end <= b] or mine
            if tag.slip == "wrong":
                words = {singular(w) for w in words_of_phrase(tag.value)}
                hit = [c for c in inside if words & {singular(row[x].text) for x in range(c.start, c.end)}]
            else:
                hit = [c for c in inside if tells(item, c, talk.bird, known)]
            if hit:
                made.groups.append((k, list(range(hit[-1].start, hit[-1].end)), 0, 1))
                good = {x for c in hit for x in range(c.start, c.end)}
                made.groups += [(k, list(range(c.start, c.end)), 0, 0) for c in inside
                                if a <= c.start and c.end <= b and not good & set(range(c.start, c.end))]  # fmt: skip
        elif item and item.kind is Kind.PART:
            spans = [(x, y) for x, y, key in named if key == tag.item and first <= x and y <= b]
            inside_spans = [s for s in spans if a <= s[0]] or spans
            if inside_spans:
                made.groups.append((k, list(range(*inside_spans[-1])), 0, 1))
    return made


def values_of(item: Item, split: Sequence[Sentence], known: Known) -> tuple[Candidate, ...]:
    """All values of the fact's kind."""
    return find_all(kind_of(item.value, known.card), split, known) if item.value else ()


def tells(item: Item, found: Candidate, bird: Bird, known: Known) -> bool:
    """Whether the value tells the fact rightly."""
    return compare(item.value or "", found, accepted(item, known.card, bird), known) is Match.SAME


def _row(split: Sequence[Sentence], talk: Talk) -> tuple[tuple[str, ...], tuple[int, ...], int, int]:
    assert talk.card and talk.bird
    p = passage(split, words_of_phrase(context_of(talk.card, talk.bird)))
    return p.words, p.owners, p.n_tokens, p.n_context


def _named(split: Sequence[Sentence], lexicon: Lexicon) -> Iterator[tuple[int, int, str]]:
    at = 0
    for s in split:
        for m in mentions(s, lexicon):
            if m.meaning is Meaning.PART:
                yield at + m.start, at + m.end, m.key
        at += len(s)


def _find(row: Sequence[Token], wanted: list[str], start: int, end: int) -> list[int]:
    plain = [singular(t.text) for t in row]
    for x in range(end - len(wanted), start - 1, -1):
        if plain[x : x + len(wanted)] == wanted:
            return list(range(x, x + len(wanted)))
    some = [x for x in range(start, end) if plain[x] in wanted and len(plain[x]) > 3]
    return some

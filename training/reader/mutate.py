"""Talks with other values and other names in the same sentences: what is told stays where it is told, rightly or not.

Pure but for the random numbers that are handed in. A value told of an item is replaced by another of its kind; a part named once
by a name that the route lists as wrong; primaries and secondaries told by their place change names.
"""

from __future__ import annotations

import random
import re
from collections.abc import Sequence
from dataclasses import replace

from coach.judge.candidates import Known
from coach.judge.lexicon import Meaning, build_lexicon
from coach.judge.mentions import mentions
from coach.judge.tokens import Sentence, sentences
from coach.knowledge.cards import breed_names
from coach.knowledge.language import load_language
from coach.knowledge.model import Kind
from coach.knowledge.routes import default_route, load_route
from coach.knowledge.values import ValueKind, kind_of
from training.reader.corpus import Tag, Talk
from training.reader.examples import tells, values_of

__all__ = ["mutated"]

VALUES = {
    ValueKind.COLOR: (
        *"white black red yellow slate willow buff brown bay horn green blue pink orange gray cream".split(),
        *("reddish bay", "dark brown", "slaty blue", "pinkish white", "light yellow"),
    ),
    ValueKind.COMB: (*"single rose pea walnut cushion buttercup".split(), "v shaped"),
    ValueKind.COUNT: tuple("three four five six seven eight nine".split()),
    ValueKind.POUNDS: (
        *("six", "eight and a half", "five pounds", "seven and a half pounds", "ten", "four pounds", "nine", "twenty ounces"),
        *("thirty", "twenty six ounces", "six pounds", "eleven", "two pounds"),
    ),
    ValueKind.SHOW_CLASS: (
        *"American Asiatic English Mediterranean Continental Game".split(),
        *("Feather Legged", "Single Comb Clean Legged", "All Other Standard Breeds"),
    ),
    ValueKind.ORIGIN: (
        *"England Italy China Spain France Germany Belgium Holland Japan Massachusetts Turkey".split(),
        *("New York", "Rhode Island", "the United States"),
    ),
    ValueKind.PURPOSE: ("eggs", "meat", "show", "eggs and meat", "dual purpose"),
}  # what may be told in place of a value
VALUES[ValueKind.OUNCES] = VALUES[ValueKind.POUNDS]
P_VALUE, P_NAME, P_SWAP = 0.3, 0.2, 0.6
_PLACED = re.compile(r"\b(outside|outer|tip|end|ends|body|inside|inner|close|closer|closest|far|farthest|next to)\b")


def mutated(talk: Talk, rng: random.Random) -> Talk:
    """The talk with some values and names changed and its tags kept true."""
    assert talk.card and talk.bird
    route, language = load_route(default_route(talk.card)), load_language()
    lexicon = build_lexicon(route, talk.card, talk.bird, language, breed_names(talk.card.species))
    split = sentences(talk.heard)
    row = [t for s in split for t in s]
    found = [mentions(s, lexicon) for s in split]
    starts = [sum(map(len, split[:n])) for n in range(len(split))]
    parts = [
        (start + m.start, start + m.end, m.key)
        for start, here in zip(starts, found, strict=True) for m in here if m.meaning is Meaning.PART
    ]  # fmt: skip
    known = Known(card=talk.card, language=language)
    items = {i.id: i for i in route.items}
    new: dict[tuple[int, int], str] = {}  # words first..last -> text
    tags = dict(enumerate(talk.tags))
    swap = _swap(split, starts, parts, rng)
    for n, tag in tags.items():
        item = items.get(tag.item)
        before = max((t.after for t in talk.tags if t.after < tag.after), default=0)
        if item is None or tag.slip == "misnamed":
            continue
        if item.kind is Kind.PART and tag.item in swap:
            (a, b), word = swap[tag.item]
            new[row[a].first, row[b - 1].last] = word
            tags[n] = replace(tag, slip="misnamed", value=word)
        elif item.kind is Kind.PART and item.wrong_names and rng.random() < P_NAME:
            mine = [(a, b) for a, b, key in parts if key == tag.item]
            if len(mine) == 1 and before <= row[mine[0][0]].first < tag.after:
                (a, b), word = mine[0], rng.choice(item.wrong_names)
                new[row[a].first, row[b - 1].last] = word
                tags[n] = replace(tag, slip="misnamed", value=word)
        elif item.kind is Kind.FACT and item.value and rng.random() < P_VALUE:
            choices = VALUES.get(kind_of(item.value, talk.card), ())
            values = values_of(item, split, known) if choices else ()
            inside = [c for c in values if before <= row[c.start].first and row[c.end - 1].last < tag.after]
            hit = [c for c in inside if tag.slip or tells(item, c, talk.bird, known)]
            if len(hit) == 1:
                word = rng.choice(choices)
                new[row[hit[0].start].first, row[hit[0].end - 1].last] = word
                tags[n] = replace(tag, slip="wrong", value=word)
    return _rewritten(talk, new, list(tags.values()))


def _swap(
    split: Sequence[Sentence], starts: Sequence[int], parts: Sequence[tuple[int, int, str]], rng: random.Random
) -> dict[str, tuple[tuple[int, int], str]]:
    """Primaries and secondaries told by where they are, each named once: their names changed over."""
    mine = {key: [(a, b) for a, b, k in parts if k == key] for key in ("wings.primaries", "wings.secondaries")}
    if any(len(v) != 1 for v in mine.values()) or rng.random() > P_SWAP:
        return {}
    for (a, _), in mine.values():
        n = max(k for k, s in enumerate(starts) if s <= a)
        if not _PLACED.search(" ".join(t.text for t in split[n])):
            return {}
    one, other = mine["wings.primaries"][0], mine["wings.secondaries"][0]
    return {"wings.primaries": (one, "secondaries"), "wings.secondaries": (other, "primaries")}


def _rewritten(talk: Talk, new: dict[tuple[int, int], str], tags: list[Tag]) -> Talk:
    words: list[str] = []
    place = [0] * (len(talk.words) + 1)
    at, spans = 0, {a: (b, text) for (a, b), text in new.items()}
    while at < len(talk.words):
        if at in spans:
            b, text = spans[at]
            mark = talk.words[b][-1] if talk.words[b][-1:] in ".,;:!?" else ""
            words += (text + mark).split()
            for k in range(at, b + 1):
                place[k + 1] = len(words)
            at = b + 1
        else:
            words.append(talk.words[at])
            place[at + 1] = len(words)
            at += 1
    return replace(talk, words=tuple(words), tags=tuple(replace(t, after=place[t.after]) for t in tags))

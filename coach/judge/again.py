"""A second hearing: where something seems left out, the unclear breaths are heard once more, and what else they may be competes.

In: the words, Hearings of some breaths. Out: Doubts like those of `spot`, their rivals supported by the second hearing. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from coach.judge.doubts import Doubt, Rival, breaths, doubt_at
from coach.judge.lexicon import Lexicon
from coach.judge.mentions import mentions
from coach.judge.sounds import Pronouncer, distance
from coach.judge.surroundings import placed, regions_around, wanted_kinds
from coach.judge.tokens import sentences
from coach.judge.vocabulary import Home, Vocabulary, learn
from coach.knowledge.language import Language
from coach.words import Hearing, TimedWords

__all__ = ["second_doubts", "span_of", "unclear_breaths"]

UNCLEAR = 0.8  # a breath with a word below this is worth hearing again
MOST_BREATHS = 32
LONGEST_S = 14.0
MARGIN_S = 0.25
MAX_RIVALS = 3
LEAST_SUPPORT = 0.01
LONGEST_SPAN = 10  # words; what differs over more is another sentence, not another word


def unclear_breaths(heard: TimedWords) -> tuple[tuple[int, int], ...]:
    """The breaths (first word, last word excluded) with the least clear words, by place."""
    borders = breaths(heard.words)
    found = []
    for a, b in pairwise(borders):
        sure = [w.confidence for w in heard.words[a:b] if w.confidence is not None]
        if sure and min(sure) < UNCLEAR and heard.words[b - 1].end_s - heard.words[a].start_s <= LONGEST_S:
            found.append((min(sure), a, b))
    return tuple(sorted((a, b) for _, a, b in sorted(found)[:MOST_BREATHS]))


def span_of(heard: TimedWords, breath: tuple[int, int]) -> tuple[float, float]:
    """The seconds of a breath, with a little of what surrounds it."""
    a, b = breath
    return max(0.0, heard.words[a].start_s - MARGIN_S), min(heard.seconds, heard.words[b - 1].end_s + MARGIN_S)


def second_doubts(
    heard: TimedWords,
    spans: Sequence[tuple[int, int]],
    hearings: Sequence[Sequence[Hearing]],
    lexicon: Lexicon,
    language: Language,
    pronouncer: Pronouncer,
    named: Collection[str],
) -> tuple[Doubt, ...]:
    """Doubts about what the second hearing wrote otherwise.

    Args:
        named: the items that the words tell as they stand, rightly or not.
        spans: the breaths that were heard again (first word, last word excluded).
        hearings: what each of them may be, one entry per breath.
    """
    vocabulary = learn(lexicon, language, pronouncer, asks=True)
    split = sentences(heard)
    found = [mentions(s, lexicon) for s in split]
    regions, borders = regions_around(found, lexicon), breaths(heard.words)
    wanted = wanted_kinds(found, lexicon, named)
    at = {n: k for k, s in enumerate(split) for t in s for n in range(t.first, t.last + 1)}
    out = []
    for (a, b), texts in zip(spans, hearings, strict=True):
        for (first, last), wordings in _differences(heard, a, b, texts).items():
            sentence = at.get(first)
            made = (_rival(text, share, heard, first, last, vocabulary, pronouncer) for text, share in wordings.items())
            rivals = [rival for rival in made if rival]
            if not rivals or sentence is None:
                continue
            best = sorted(rivals, key=lambda r: -r.support)[:MAX_RIVALS]
            around = named, regions[sentence], wanted[sentence]
            here = tuple(placed(r, _homes(r.text, vocabulary), *around) for r in best)
            words = [_plain(w.text) for w in heard.words[first : last + 1]]
            inside = {n for at, phrase in vocabulary.phrases_at(words) for n in range(at, at + len(phrase))}
            plain = all(pronouncer.knows(w) for w in words)
            known, covered = bool(inside), len(inside) / len(words)
            out.append(doubt_at(heard, borders, first, last, here, known=known, covered=covered, plain_words=plain))
    return tuple(out)


def _differences(
    heard: TimedWords, a: int, b: int, hearings: Sequence[Hearing]
) -> dict[tuple[int, int], dict[str, float]]:
    """Spans of words (first, last included) that hearings write otherwise: each wording with its share of belief."""
    from rapidfuzz.distance import Levenshtein

    out: dict[tuple[int, int], dict[str, float]] = {}
    if not hearings:
        return out
    top = max(h.score for h in hearings)
    whole = sum(math.exp(h.score - top) for h in hearings)
    mine = [_plain(w.text) for w in heard.words[a:b]]
    for hearing in hearings:
        share = math.exp(hearing.score - top) / whole
        theirs = [p for w in hearing.text.split() if (p := _plain(w))]
        blocks = list(_blocks(Levenshtein.opcodes(mine, theirs)))
        if len(blocks) > 1:  # differences that hang together ("four cock at", "for a cock it is") are worth asking as one
            blocks.append((blocks[0][0], blocks[-1][1], blocks[0][2], blocks[-1][3]))
        for i, j, k, m in blocks:
            if i == j:  # something between two words: it takes a neighbour along, as only words can be replaced
                i, k = (i - 1, k - 1) if i else (i, k)
                j, m = (j, m) if i < j else (j + 1, m + 1)
            if j - i <= LONGEST_SPAN and k < m <= k + LONGEST_SPAN and (text := " ".join(theirs[k:m])) != " ".join(mine[i:j]):
                wordings = out.setdefault((a + i, a + j - 1), {})
                wordings[text] = wordings.get(text, 0.0) + share
    return out


def _blocks(opcodes: Iterable[Any]) -> Iterator[tuple[int, int, int, int]]:
    """Runs of differences: words i to j of the first stand against words k to m of the second."""
    run: tuple[int, int, int, int] | None = None
    for op in opcodes:
        if op.tag == "equal":
            if run:
                yield run
            run = None
        else:
            i, k = run[::2] if run else (op.src_start, op.dest_start)
            run = (i, op.src_end, k, op.dest_end)
    if run:
        yield run


def _rival(
    text: str, support: float, heard: TimedWords, first: int, last: int, vocabulary: Vocabulary, pronouncer: Pronouncer
) -> Rival | None:
    """A rival of the second hearing, or None when no trade word comes or goes with it, or it has no belief to speak of."""
    phrases = list(_phrases_in(text.split(), vocabulary))
    written = [_plain(w.text) for w in heard.words[first : last + 1]]
    if support < LEAST_SUPPORT or not (phrases or any(True for _ in _phrases_in(written, vocabulary))):
        return None
    kinds = frozenset(k for phrase in phrases for k in vocabulary.known[phrase])
    span = " ".join(written)
    far = distance(pronouncer.phones(span), pronouncer.phones(text))
    return Rival(text=text, distance=far, kinds=kinds, support=support)


def _homes(text: str, vocabulary: Vocabulary) -> list[Home]:
    return [h for phrase in _phrases_in(text.split(), vocabulary) for h in vocabulary.told_by.get(phrase, ())]


def _phrases_in(words: Sequence[str], vocabulary: Vocabulary) -> Iterator[tuple[str, ...]]:
    return (phrase for _, phrase in vocabulary.phrases_at(words))


def _plain(word: str) -> str:
    return word.strip(".,;:!?\"'-").lower()

"""Which stretch of an answer speaks of which word: "a pullet is ..., a hen is ...", or "... is a pullet". Pure."""

from __future__ import annotations

from collections.abc import Sequence

from coach.judge.tokens import Sentence, singular

__all__ = ["stretches"]

_SAYING = frozenset("is are means mean be was called 's".split())
LEAD = 3  # a word named so early in its sentence is what the sentence speaks of


def stretches(
    of: Sequence[str], heads: Sequence[str], split: Sequence[Sentence], starts: Sequence[int]
) -> list[tuple[int, Sentence]]:
    """The stretches that speak of one of the words in of.

    Args:
        heads: every word that a stretch may speak of, those of `of` among them.
        split, starts: the sentences and the number of the first token of each.
    Returns:
        (number of the first token, tokens) of each stretch.
    """
    mine, all_heads = {singular(h) for h in of}, {singular(h) for h in heads}
    out: list[tuple[int, Sentence]] = []
    speaking_of: str | None = None
    for start, sentence in zip(starts, split, strict=True):
        places = _heads(sentence, all_heads)
        if not places:
            if speaking_of in mine:
                out.append((start, sentence))
            continue
        backward = places[0] > LEAD and len(sentence) - places[-1] <= LEAD
        for a, b, head in _cut(sentence, places, backward):
            if singular(sentence[head].text) in mine:
                out.append((start + a, sentence[a:b]))
        speaking_of = singular(sentence[places[-1]].text)
    return out


def _heads(sentence: Sentence, heads: set[str]) -> list[int]:
    """Tokens that open a stretch; in "a cockerel is a young rooster" the rooster does not."""
    found: list[int] = []
    for n, token in enumerate(sentence):
        if singular(token.text) not in heads:
            continue
        near = [t.text for t in sentence[max(0, n - LEAD) : n]]
        told_of = found and n - found[-1] <= LEAD + 2 and any(w in _SAYING for w in near)
        if not told_of:
            found.append(n)
    return found


def _cut(sentence: Sentence, places: Sequence[int], backward: bool) -> list[tuple[int, int, int]]:
    """(start, end, head) of every stretch: from each head to the next, or from each to the one before it."""
    if backward:
        edges = [0, *(p + 1 for p in places)]
        return [(edges[n], edges[n + 1], p) for n, p in enumerate(places)]
    edges = [*places[1:], len(sentence)]
    return [(p, edges[n], p) for n, p in enumerate(places)]

"""How much of the passage was heard, word by word: the text that was read beside the words that the listener wrote.

In: a Passage and timed words. Out: a Reading. Pure. Plural and singular count as the same word, and so do "ear lobes" and
"earlobes", "5" and "five": what is measured is hearing, not spelling.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coach.judge.numbers import spoken
from coach.judge.tokens import sentences, singular, words_of_phrase
from coach.voice.passage import Passage
from coach.words import TimedWords

__all__ = ["Misheard", "Reading", "measure"]

GAP_WORDS = 6  # so many words of the passage in a row without a trace were left out by the reader, or lost by the listener


@dataclass(frozen=True, slots=True)
class Misheard:
    """A trade word of the passage that was written as something else; heard is "" when nothing was written."""

    term: str
    heard: str
    at_s: float | None


@dataclass(frozen=True, slots=True)
class Reading:
    """What came of one reading. gaps are stretches of the passage that left no trace at all."""

    n_words: int
    n_right: int
    misheard: tuple[Misheard, ...]
    gaps: tuple[str, ...]

    @property
    def share_heard(self) -> float:
        """Share of the passage's words that were written right, 0..1."""
        return self.n_right / self.n_words


@dataclass(frozen=True, slots=True)
class _Block:
    """Words a..b of the passage beside words c..d of what was heard, alike or not."""

    a: int
    b: int
    c: int
    d: int
    alike: bool


def measure(passage: Passage, heard: TimedWords) -> Reading:
    """Compare what was read with what was heard.

    Source: Levenshtein alignment on words, as for word error rate; O(n*m) time.
    """
    read = [word for paragraph in passage.paragraphs for word in words_of_phrase(paragraph)]
    tokens = [token for sentence in sentences(heard) for token in sentence]
    wanted, found = [_plain(word) for word in read], [_plain(token.text) for token in tokens]
    blocks = list(_blocks(wanted, found))
    right = [False] * len(read)
    for block in blocks:
        right[block.a : block.b] = [block.alike] * (block.b - block.a)
    misheard = []
    for term in passage.trade:
        a, b = _place(wanted, [_plain(word) for word in words_of_phrase(term)])
        if not all(right[a:b]):
            over = [n for block in blocks if block.a < b and block.b > a for n in _beside(block, a, b)]
            text = " ".join(tokens[n].text for n in over)
            misheard.append(Misheard(term, text, heard.words[tokens[over[0]].first].start_s if over else None))
    gaps = tuple(" ".join(read[k.a : k.b]) for k in blocks if k.c == k.d and k.b - k.a >= GAP_WORDS)
    return Reading(len(read), sum(right), tuple(misheard), gaps)


def _blocks(wanted: Sequence[str], found: Sequence[str]) -> Iterator[_Block]:
    """The two texts side by side, unlike neighbours joined; unlike in spacing only counts as alike."""
    from rapidfuzz.distance import Levenshtein

    held: _Block | None = None
    for op in Levenshtein.opcodes(wanted, found):
        block = _Block(op.src_start, op.src_end, op.dest_start, op.dest_end, op.tag == "equal")
        if held and not block.alike:
            held = _Block(held.a, block.b, held.c, block.d, False)
        elif block.alike:
            if held:
                yield from _settled(held, wanted, found)
            held = None
            yield block
        else:
            held = block
    if held:
        yield from _settled(held, wanted, found)


def _settled(block: _Block, wanted: Sequence[str], found: Sequence[str]) -> Iterator[_Block]:
    alike = "".join(wanted[block.a : block.b]) == "".join(found[block.c : block.d])
    yield _Block(block.a, block.b, block.c, block.d, alike)


def _beside(block: _Block, a: int, b: int) -> range:
    """The heard words beside words a..b of the passage: in an unlike block, in proportion."""
    length = max(1, block.b - block.a)
    share = (block.d - block.c) / length
    start = block.c + round((max(a, block.a) - block.a) * share)
    end = block.c + round((min(b, block.b) - block.a) * share)
    return range(start, max(end, min(start + 1, block.d)))


def _place(wanted: Sequence[str], term: Sequence[str]) -> tuple[int, int]:
    """Where the term stands in the passage for the first time."""
    for start in range(len(wanted) - len(term) + 1):
        if list(wanted[start : start + len(term)]) == list(term):
            return start, start + len(term)
    raise ValueError(f"the passage does not hold {' '.join(term)!r}")


def _plain(word: str) -> str:
    return singular(spoken(float(word)) if word.replace(".", "", 1).isdigit() else word)

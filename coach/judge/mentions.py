"""Where the trade's phrases stand in a sentence, and whether the sentence speaks of this bird at all.

In: one sentence and the lexicon. Out: Mentions by place, longest phrase first; clauses; everyday uses taken out. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from coach.judge.lexicon import Entry, Lexicon, Meaning
from coach.judge.tokens import Sentence, singular, words_of_phrase
from coach.knowledge.language import Language
from coach.knowledge.species import bird_words

__all__ = ["Mention", "clauses", "find_phrases", "foreign", "mentions"]

NAMED = (Meaning.PART, Meaning.NAME, Meaning.OF)
_STARTERS = frozenset(
    "i she he it this that these those they there here we you the her his its a an no our my their both now then next "
    "on in under below behind above over as if when".split()
)
_ALWAYS_SPLIT = frozenset("but because while which although though whereas unless".split())
_MINE = frozenset("my your our".split())
_HANDS = frozenset("hand finger thumb palm arm forearm other left right index breed variety name project plan first".split())
# What a judge has too: "your eyes" are not the bird's, "your tail coverts" are.
_PEOPLE_HAVE = frozenset(
    "eye ear back toe finger nose chin neck knee ankle leg chest breast thigh hip hips butt bottom shin foot".split()
)
_OUR_BIRD = bird_words()


@dataclass(frozen=True, slots=True)
class Mention:
    """A phrase of the lexicon at tokens start (included) to end (excluded) of a sentence."""

    start: int
    end: int
    entry: Entry

    @property
    def meaning(self) -> Meaning:
        """What the phrase stands for."""
        return self.entry.meaning

    @property
    def key(self) -> str:
        """The item or value it means."""
        return self.entry.key


def mentions(sentence: Sentence, lexicon: Lexicon, language: Language) -> tuple[Mention, ...]:
    """All phrases of the lexicon in the sentence that are meant of a bird, by place.

    A phrase inside a longer one is dropped ("leg" in "scaly leg mites"), and so is an everyday use ("keep an eye on").
    """
    plain = [singular(t.text) for t in sentence]
    found = [
        Mention(at, at + len(entry.words), entry)
        for at in range(len(plain))
        for entry in lexicon.starting(plain[at])
        if _matches(plain, at, entry)
    ]
    innocent = [
        (a, b) for a, b in find_phrases([t.text for t in sentence], language.innocent)
        if not any(t.comma for t in sentence[a : b - 1])  # "this is the back, there are no lice"
    ]  # fmt: skip
    kept = [m for m in found if not _inside_longer(m, found) and not _innocent(m, innocent)]
    cut = clauses(sentence)
    kept = [m for m in kept if not (m.meaning in NAMED and foreign(m, sentence, cut, language))]
    return tuple(sorted(kept, key=lambda m: (m.start, -m.end)))


@lru_cache(maxsize=4096)
def _singulars(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(singular(w) for w in words)


def _matches(plain: Sequence[str], at: int, entry: Entry) -> bool:
    want = _singulars(entry.words)
    return tuple(plain[at : at + len(want)]) == want


def _inside_longer(m: Mention, others: Sequence[Mention]) -> bool:
    return any(o.start <= m.start and m.end <= o.end and o.end - o.start > m.end - m.start and _swallows(o, m) for o in others)


def _swallows(longer: Mention, m: Mention) -> bool:
    """A variety ("Rose Comb"), or a breed named after its comb, leaves the part and its type inside it standing."""
    named = longer.meaning is Meaning.VARIETY or (longer.meaning is Meaning.BREED and "comb" in longer.entry.words)
    return not named or m.meaning not in (Meaning.PART, Meaning.COMB_TYPE)


def _innocent(m: Mention, spans: Sequence[tuple[int, int]]) -> bool:
    """Whether an everyday phrase covers the mention and reaches beyond it."""
    return any(a <= m.start < b and b - a > m.end - m.start for a, b in spans)


def find_phrases(words: Sequence[str], phrases: Sequence[str]) -> list[tuple[int, int]]:
    """Spans of the words that say one of the phrases; '*' stands for any one word."""
    table = _by_first(tuple(phrases))
    spans = []
    for at, word in enumerate(words):
        for phrase in table.get(word, ()):
            if at + len(phrase) <= len(words) and all(
                p in ("*", w) for p, w in zip(phrase, words[at : at + len(phrase)], strict=True)
            ):
                spans.append((at, at + len(phrase)))
    return spans


@lru_cache(maxsize=16)
def _by_first(phrases: tuple[str, ...]) -> dict[str, list[tuple[str, ...]]]:
    table: dict[str, list[tuple[str, ...]]] = {}
    for phrase in phrases:
        words = tuple(w if w == "*" else x for w in phrase.split() for x in ([w] if w == "*" else words_of_phrase(w)))
        table.setdefault(words[0], []).append(words)
    return table


def clauses(sentence: Sentence) -> tuple[int, ...]:
    """The clause number of every token: a clause ends at a comma or at "and she", "but", "because" and the like."""
    number, out = 0, []
    for n, token in enumerate(sentence):
        after_comma = n > 0 and sentence[n - 1].comma and token.text in _STARTERS
        joins = token.text in ("and", "so", "then") and n + 1 < len(sentence) and sentence[n + 1].text in _STARTERS
        if n and (after_comma or joins or token.text in _ALWAYS_SPLIT):
            number += 1
        out.append(number)
    return tuple(out)


def foreign(m: Mention, sentence: Sentence, cut: Sequence[int], language: Language) -> bool:
    """Whether the mention belongs to a person, another animal or a thing, not to the bird on the table."""
    before = [t.text for n, t in enumerate(sentence[: m.start]) if cut[n] == cut[m.start]]
    clause = {t.text for n, t in enumerate(sentence) if cut[n] == cut[m.start]}
    if before and before[-1] in _MINE and m.entry.words[-1] not in _OUR_BIRD:
        return before[-1] != "your" or (len(m.entry.words) == 1 and singular(m.entry.words[0]) in _PEOPLE_HAVE)
    if len(before) > 1 and before[-1] == "'s" and before[-2] in language.people | language.animals | {"judge"}:
        return True
    if "unlike" in before and {"she", "he"} & set(before[before.index("unlike") :]):  # "unlike my sister's, she has"
        return False
    if (clause & language.elsewhere or _my_thing(sentence, cut, cut[m.start])) and not _pointed_at(before):
        return True
    whole = {singular(t.text) for t in sentence}
    if whole & language.elsewhere and whole & (language.people | language.animals) and not _pointed_at(before):
        return True
    other = next(
        (n for n, w in enumerate(before) if singular(w) in language.people | language.animals and not _calls_bird(before, n)),
        None,
    )
    if other is None:
        return False
    after_other = set(before[other + 1 :])
    if after_other & language.say_verbs:
        return False
    return not _of_the_bird(before)


def _calls_bird(before: Sequence[str], at: int) -> bool:
    """ "Since he is a boy": what the bird itself is called."""
    return before[at - 2 : at] == ["is", "a"] and before[at - 3 : at - 2] in (["he"], ["she"], ["it"])


def _my_thing(sentence: Sentence, cut: Sequence[int], clause: int) -> bool:
    """Whether the clause is about something of the member's own that is neither a bird nor a hand ("my jacket")."""
    words = [t.text for n, t in enumerate(sentence) if cut[n] == clause]
    return any(
        word in _MINE and not {singular(w) for w in words[n + 1 : n + 4]} & (_OUR_BIRD | _HANDS)
        for n, word in enumerate(words[:-1])
    )


def _pointed_at(before: Sequence[str]) -> bool:
    """Whether the words before point at something here and now or of the bird's ("this is ...", "her ...")."""
    return bool({"this", "these", "here"} & set(before)) or before[-1:] in (["her"], ["his"], ["its"], ["both"])


def _of_the_bird(before: Sequence[str]) -> bool:
    """ "this is", "here are" right before show the bird even when somebody was named earlier in the clause."""
    return bool({"these", "here"} & set(before[-4:]))

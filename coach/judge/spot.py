"""Doubtful places: where the listener may have written an everyday word for a trade word, and what to ask the sound.

In: timed words and the lexicon. Out: Doubts, each a Question with rival wordings on equal terms (what was heard first, then
every trade phrase that sounds like it, right or wrong for this bird alike). Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from coach.judge.doubts import POINTING, Doubt, Rival, breaths, confidence, doubt_at
from coach.judge.lexicon import Lexicon
from coach.judge.mentions import mentions
from coach.judge.slots import slot_kinds
from coach.judge.sounds import Pronouncer, coarse, distance
from coach.judge.surroundings import placed, regions_around, wanted_kinds
from coach.judge.tokens import Sentence, sentences, singular
from coach.judge.vocabulary import Vocabulary, learn
from coach.knowledge.language import Language
from coach.words import TimedWords

__all__ = ["spot"]

MAX_SPAN = 4  # words that one trade phrase may have been written as
MAX_NAME_SPAN = 6  # the same where a breed is presented ("or pink ton hen")
MAX_DISTANCE = 0.26
WORDS_DISTANCE = 0.09  # without sound to ask, only what sounds almost the same is taken for a trade phrase
COARSE = 2.0  # the coarse distance may be so many times the weighted one
SLOT_REACH = 1.6  # where the sentence asks for the kind, sounds may be so much farther away
SURE_IN_SLOT = 0.985
ALONE = 0.16  # sounds this close are asked about without slot or place
MAX_RIVALS = 3
SURE = 0.95  # a word the listener is so sure of is not questioned: of misspelt trade words 1 in 20 had more
# Words so common that alone they are hardly ever a misspelt trade word.
_COMMON = frozenset(
    "a an the and or but so of in on at to for with from by is are was were be been am has have had do does did not no yes i "
    "you he she it we they me him her us them my your his its our their this that these those here there what which who when "
    "where how why can could will would should may might must just very really too also then now as if than up down out over "
    "all any some one two three four five six seven eight nine ten eleven twelve okay um uh like know see look show "
    "color colors feather feathers bone bones side show shows standard breed check name judge bird good nice morning "
    "afternoon day thank thanks you".split()
)
NOTHING: frozenset[str] = frozenset()
_WIDE = frozenset({"color", "number", "bird", "unit", "comb"})  # few of a kind: worth asking from farther away
_COLORED = frozenset("beak eye earlobe lobe hackle undercolor tail shank egg comb leg".split())


def spot(
    heard: TimedWords, lexicon: Lexicon, language: Language, pronouncer: Pronouncer, named: Collection[str], asks: bool = True
) -> tuple[Doubt, ...]:
    """All doubtful spans with their rivals, by place.

    Args:
        named: the items that the words tell as they stand, rightly or not.
        asks: there is sound that can be asked; without it only what sounds almost the same is taken for a rival.
    """
    vocabulary = learn(lexicon, language, pronouncer, asks)
    split = sentences(heard)
    found = [mentions(s, lexicon) for s in split]
    homes = vocabulary.homes
    wanted = wanted_kinds(found, lexicon, named)
    borders = breaths(heard.words)
    out: list[Doubt] = []
    previous: Sentence = ()
    for sentence, regions, kinds in zip(split, regions_around(found, lexicon), wanted, strict=True):
        covered = _covered(sentence, vocabulary)
        asked = dict(_asked_spans(heard, sentence, previous, covered, asks))
        previous = sentence
        near = _best_places(list(asked), _near(asked, sentence, vocabulary, pronouncer))
        for span, rivals in near.items():
            here = tuple(p for r in rivals if _likely_here(p := placed(r, homes.get(r.text.lower(), ()), named, regions, kinds)))
            if here:
                plain = all(pronouncer.knows(t.text) for t in sentence[span[0] : span[1]])
                known = _known(span, covered, asked[span])
                first, last = sentence[span[0]].first, sentence[span[1] - 1].last
                share = sum(n in covered for n in range(*span)) / (span[1] - span[0])
                out.append(doubt_at(heard, borders, first, last, here, known=known, covered=share, plain_words=plain))
    return tuple(out)


def _asked_spans(
    heard: TimedWords, sentence: Sentence, previous: Sentence, covered: Mapping[int, frozenset[str]], asks: bool
) -> Iterator[tuple[tuple[int, int], frozenset[str]]]:
    """The spans worth asking about, each with the kinds of word that the sentence asks for there."""
    words = tuple(t.text for t in sentence)
    near = {singular(t.text) for t in (*previous, *sentence)}
    colored, combed = bool(near & _COLORED), bool(near & {"comb", "point"})
    for span in _spans(sentence):
        kinds = slot_kinds(words, *span, has_color_part=colored, has_comb=combed) if asks else NOTHING
        if span[1] - span[0] > MAX_SPAN and "breed" not in kinds:
            continue
        if _worth_asking(heard, sentence, span, kinds, covered) if asks else _bare(words, span, covered):
            yield span, kinds


def _bare(words: Sequence[str], span: tuple[int, int], covered: Mapping[int, frozenset[str]]) -> bool:
    """Without sound to ask: something is pointed at and no trade phrase or everyday word stands there."""
    start, end = span
    pointed = start > 0 and words[start - 1] in POINTING
    return pointed and not covered.keys() & set(range(start, end)) and not all(w in _COMMON for w in words[start:end])


def _worth_asking(
    heard: TimedWords, sentence: Sentence, span: tuple[int, int], kinds: frozenset[str], covered: Mapping[int, frozenset[str]]
) -> bool:
    """A span is asked about when the listener is unsure of it, or when a slot makes a trade word likely there."""
    start, end = span
    sure = confidence(heard.words[sentence[start].first : sentence[end - 1].last + 1])
    if all(t.text in _COMMON for t in sentence[start:end]):
        return bool(kinds & {"bird", "number", "color", "unit"}) and end - start <= 2 and sure < SURE
    inside = _known(span, covered, kinds) and all(n in covered for n in range(start, end))
    return sure < (SURE if not kinds or inside else SURE_IN_SLOT)


def _likely_here(rival: Rival) -> bool:
    """Whether anything but a faint likeness of sound speaks for the rival."""
    return rival.slot or rival.place > 0 or rival.distance <= ALONE


def _best_places(spans: Sequence[tuple[int, int]], near: Sequence[Sequence[Rival]]) -> dict[tuple[int, int], tuple[Rival, ...]]:
    """Every rival only at the span it fits best among those that overlap; then the closest few of each span."""
    found = sorted(
        ((_likely(rival), b - a, (a, b), rival) for (a, b), rivals in zip(spans, near, strict=True) for rival in rivals),
        key=lambda f: f[:3],
    )
    taken: dict[str, list[tuple[int, int]]] = {}
    kept: dict[tuple[int, int], list[Rival]] = {}
    for _, _, (a, b), rival in found:
        mine = taken.setdefault(singular(rival.text.lower()), [])
        if any(x < b and a < y for x, y in mine):
            continue
        mine.append((a, b))
        kept.setdefault((a, b), []).append(rival)
    return {span: tuple(sorted(rivals, key=_likely)[:MAX_RIVALS]) for span, rivals in sorted(kept.items())}


def _spans(sentence: Sentence) -> Iterator[tuple[int, int]]:
    """Token spans that could be a misspelt phrase."""
    words = [t.text for t in sentence]
    for start in range(len(words)):
        for end in range(start + 1, min(start + MAX_NAME_SPAN, len(words)) + 1):
            span = words[start:end]
            if any(w in ("'s", "um", "uh") for w in span):
                continue
            yield start, end


def _near(
    asked: Mapping[tuple[int, int], frozenset[str]], sentence: Sentence, vocabulary: Vocabulary, pronouncer: Pronouncer
) -> list[tuple[Rival, ...]]:
    """Rivals of every span; a coarse, fast distance picks who is worth the weighted one."""
    import numpy as np
    from rapidfuzz.distance import Levenshtein
    from rapidfuzz.process import cdist

    kinds, sounds, asks = vocabulary.kinds, vocabulary.sounds, vocabulary.asks
    furthest = MAX_DISTANCE if asks else WORDS_DISTANCE
    texts = [" ".join(t.text for t in sentence[a:b]) for a, b in asked]
    phones = [pronouncer.phones(text) for text in texts]
    names = list(sounds)
    if not texts:
        return []
    # Only the sound may answer for what is farther away.
    far = 0.75 if asks else COARSE * furthest
    sifted = cdist(
        [coarse(p) for p in phones],
        [vocabulary.outlines[n] for n in names],
        scorer=Levenshtein.normalized_distance,
        score_cutoff=far,
        dtype=np.float32,
    )
    out: list[tuple[Rival, ...]] = []
    for row, own, text, slot in zip(sifted, phones, texts, asked.values(), strict=True):
        mine = singular(text)
        found = []
        for k in np.flatnonzero(row <= far):
            name = names[k]
            fits = bool(kinds[name] & slot & _WIDE)
            if row[k] > COARSE * furthest and not (asks and fits):
                continue
            if name.lower() == text or (singular(name.lower()) == mine and "unit" not in kinds[name]):
                continue
            if (d := distance(own, sounds[name])) <= furthest * (SLOT_REACH if asks and fits else 1.0):
                found.append(Rival(text=name, distance=d, kinds=kinds[name], slot=bool(kinds[name] & slot)))
        out.append(tuple(sorted(found, key=_likely)[: MAX_RIVALS + 1]))
    return out


def _likely(rival: Rival) -> float:
    """Order of asking: the closer sounds first, those that fit the slot before others."""
    return rival.distance - (0.12 if rival.slot else 0.0)


def _covered(sentence: Sentence, vocabulary: Vocabulary) -> dict[int, frozenset[str]]:
    """Tokens that are part of a trade phrase as it stands, with the kinds of thing it stands for."""
    out: dict[int, frozenset[str]] = {}
    for at, phrase in vocabulary.phrases_at([t.text for t in sentence]):
        out |= {n: out.get(n, NOTHING) | vocabulary.known[phrase] for n in range(at, at + len(phrase))}
    return out


def _known(span: tuple[int, int], covered: Mapping[int, frozenset[str]], slot: frozenset[str]) -> bool:
    """Whether the span holds a trade phrase that may stand: one of a kind the sentence asks for, where it asks."""
    kinds = [covered[n] for n in range(*span) if n in covered]
    return bool(kinds) and (not slot & _WIDE or any(k & slot for k in kinds))



"""Doubtful places: where the listener may have written an everyday word for a trade word, and what to ask the sound.

In: timed words and the lexicon. Out: Doubts, each a Question with rival wordings on equal terms (what was heard first, then
every trade phrase that sounds like it, right or wrong for this bird alike), and words repaired by the answers. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from coach.judge.lexicon import Lexicon, Meaning
from coach.judge.sounds import Phones, Pronouncer, distance
from coach.judge.tokens import Sentence, sentences, singular
from coach.knowledge.language import Language
from coach.words import Question, TimedWords, Weighed, Word

__all__ = ["MAX_DISTANCE", "WORDS_DISTANCE", "Calibration", "Doubt", "features", "repair", "spot"]

MAX_SPAN = 4  # words that one trade phrase may have been written as
MAX_DISTANCE = 0.26
WORDS_DISTANCE = 0.11  # without sound to ask, only what sounds almost the same is taken for a trade phrase
COARSE = 2.4  # the coarse distance may be so many times the weighted one
MAX_RIVALS = 3
SURE = 0.95  # a word the listener is so sure of is not questioned: of misspelt trade words 1 in 20 had more
# Words so common that alone they are hardly ever a misspelt trade word.
_COMMON = frozenset(
    "a an the and or but so of in on at to for with from by is are was were be been am has have had do does did not no yes i "
    "you he she it we they me him her us them my your his its our their this that these those here there what which who when "
    "where how why can could will would should may might must just very really too also then now as if than up down out over "
    "all any some one two three four five six seven eight nine ten eleven twelve okay um uh like know see look show "
    "color colors feather feathers bone bones side show shows standard breed check name judge bird good nice morning afternoon day thank thanks you".split()
)
_NUMBERS = "one two three four five six seven eight nine ten eleven twelve".split()
_SOLID = (Meaning.PART, Meaning.BREED, Meaning.VARIETY, Meaning.SEX_AGE, Meaning.SHOW_CLASS, Meaning.PLACE)
_POINTING = frozenset("the a an her his its this these those both left right two main is are my of called and".split())
_PROPER = (Meaning.BREED, Meaning.PLACE, Meaning.SHOW_CLASS)


@dataclass(frozen=True, slots=True)
class Rival:
    """A trade phrase that sounds like the span."""

    text: str
    distance: float  # of sounds, 0 the same
    solid: bool  # names something (a part, a breed, ...), rather than a cue or an everyday word


@dataclass(frozen=True, slots=True)
class Doubt:
    """Words first to last (included) of the timed words, as heard, with their rivals and the question to the sound."""

    first: int
    last: int
    heard: str
    known: bool  # a word of it belongs to a trade phrase as it stands
    confidence: float
    pointed: bool  # "the", "her", "these" or the like stands right before
    rivals: tuple[Rival, ...]
    question: Question


@dataclass(frozen=True, slots=True)
class Calibration:
    """From features to the probability that a rival was said: a logistic model, fitted on generated rehearsals."""

    weights: Mapping[str, float]
    bias: float
    accept: float = 0.5

    def probability(self, values: Mapping[str, float]) -> float:
        """Logistic of the weighted sum."""
        z = self.bias + sum(self.weights[name] * values[name] for name in self.weights)
        return 1 / (1 + math.exp(-max(-30.0, min(30.0, z))))


def spot(
    heard: TimedWords, lexicon: Lexicon, language: Language, pronouncer: Pronouncer, furthest: float = MAX_DISTANCE
) -> tuple[Doubt, ...]:
    """All doubtful spans with their rivals, by place; rivals sound at most `furthest` away."""
    phrases = _vocabulary(lexicon, language)
    sounds = {text: pronouncer.phones(text.lower()) for text in phrases}
    known = {tuple(singular(w) for w in text.lower().split()) for text in phrases}
    out: list[Doubt] = []
    for sentence in sentences(heard):
        spans = [s for s in _spans(sentence) if _confidence(heard, sentence, *s) < SURE]
        near = _best_places(spans, _near(spans, sentence, sounds, phrases, pronouncer, furthest))
        covered = _covered(sentence, known)
        for (start, end), rivals in near.items():
            out.append(_doubt(heard, sentence, start, end, rivals, bool(covered & set(range(start, end)))))
    return tuple(out)


def _best_places(
    spans: Sequence[tuple[int, int]], near: Sequence[Sequence[Rival]]
) -> dict[tuple[int, int], tuple[Rival, ...]]:
    """Every rival only at the span it fits best among those that overlap; then the closest few of each span."""
    found = sorted(
        ((rival.distance, b - a, (a, b), rival) for (a, b), rivals in zip(spans, near, strict=True) for rival in rivals),
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
    return {span: tuple(sorted(rivals, key=lambda r: r.distance)[:MAX_RIVALS]) for span, rivals in sorted(kept.items())}


def _confidence(heard: TimedWords, sentence: Sentence, start: int, end: int) -> float:
    """The listener's lowest confidence in the words of the span; 0 when it gives none."""
    words = heard.words[sentence[start].first : sentence[end - 1].last + 1]
    return min((w.confidence if w.confidence is not None else 0.0 for w in words), default=0.0)


def _vocabulary(lexicon: Lexicon, language: Language) -> dict[str, bool]:
    """Every phrase worth asking for, written as the recogniser writes, with whether it names something."""
    out: dict[str, bool] = {}
    for entry in lexicon.entries:
        if entry.meaning is Meaning.REGION and len(entry.words) > 1:
            continue
        text = entry.text.title() if entry.meaning in _PROPER else entry.text
        out[text] = out.get(text, False) or entry.meaning in _SOLID
    return {**dict.fromkeys((*sorted(language.colors), *_NUMBERS), False), **out}


def _spans(sentence: Sentence) -> Iterator[tuple[int, int]]:
    """Token spans that could be a misspelt phrase: not only common words."""
    words = [t.text for t in sentence]
    for start in range(len(words)):
        for end in range(start + 1, min(start + MAX_SPAN, len(words)) + 1):
            span = words[start:end]
            if any(w in ("'s", "um", "uh") for w in span):
                continue
            if all(w in _COMMON for w in span):
                continue
            yield start, end


def _near(
    spans: Sequence[tuple[int, int]], sentence: Sentence, sounds: Mapping[str, Phones],
    solid: Mapping[str, bool], pronouncer: Pronouncer, furthest: float,
) -> list[tuple[Rival, ...]]:
    """Rivals of every span; a coarse, fast distance picks who is worth the weighted one."""
    import numpy as np
    from rapidfuzz.distance import Levenshtein
    from rapidfuzz.process import cdist

    texts = [" ".join(t.text for t in sentence[a:b]) for a, b in spans]
    phones = [pronouncer.phones(text) for text in texts]
    names = list(sounds)
    if not texts:
        return []
    coarse = cdist(
        [_letters(p) for p in phones], [_letters(sounds[n]) for n in names],
        scorer=Levenshtein.normalized_distance, score_cutoff=COARSE * furthest, dtype=np.float32,
    )  # fmt: skip
    out: list[tuple[Rival, ...]] = []
    for row, own, text in zip(coarse, phones, texts, strict=True):
        mine = singular(text)
        found = [
            Rival(names[k], d, solid[names[k]])
            for k in np.flatnonzero(row <= COARSE * furthest)
            if names[k].lower() != text and singular(names[k].lower()) != mine
            and (d := distance(own, sounds[names[k]])) <= furthest
        ]  # fmt: skip
        out.append(tuple(sorted(found, key=lambda r: r.distance)[:MAX_RIVALS]))
    return out


# One character a phone, vowels of like sound sharing one, so that a C library can do the first sift.
_SYMBOL = {p: c for c, group in zip("abcdefghijklmnopqrstuvwxyz0123456789", (
    "AA AO AH UH OW", "IH IY EH AH0", "AE", "AY", "EY", "OY", "UW", "ER", "AW", "B P", "CH JH", "D T DH TH", "F V", "G K",
    "HH", "L", "M N NG", "R", "S Z SH ZH", "W", "Y"), strict=False) for p in group.split()}  # fmt: skip


def _letters(phones: Phones) -> str:
    return "".join(_SYMBOL.get(p, "?") for p in phones)


def _doubt(
    heard: TimedWords, sentence: Sentence, start: int, end: int, rivals: tuple[Rival, ...], known: bool
) -> Doubt:
    first, last = sentence[start].first, sentence[end - 1].last
    words = heard.words[first : last + 1]
    text = " ".join(w.text for w in words)
    before = _context(heard.words[max(0, first - 12) : first], words[0].start_s, True)
    after = _context(heard.words[last + 1 : last + 6], words[-1].end_s, False)
    shaped = tuple(_shape(r.text, text) for r in rivals)
    confidence = _confidence(heard, sentence, start, end)
    question = Question(words[0].start_s, words[-1].end_s, before, after, (text, *shaped))
    pointed = start > 0 and sentence[start - 1].text in _POINTING
    return Doubt(first, last, text, known, confidence, pointed, rivals, question)


def _covered(sentence: Sentence, known: set[tuple[str, ...]]) -> frozenset[int]:
    """Tokens that are part of a trade phrase as it stands."""
    plain = [singular(t.text) for t in sentence]
    size = len(plain)
    spans = ((a, b) for a in range(size) for b in range(a + 1, min(a + 6, size) + 1) if tuple(plain[a:b]) in known)
    return frozenset(n for a, b in spans for n in range(a, b))


def _context(words: Sequence[Word], at_s: float, backwards: bool) -> str:
    """Neighbouring words within the same breath."""
    kept: list[str] = []
    for word in reversed(words) if backwards else words:
        gap = at_s - word.end_s if backwards else word.start_s - at_s
        if gap > 1.2:
            break
        kept.append(word.text)
        at_s = word.start_s if backwards else word.end_s
    return " ".join(reversed(kept) if backwards else kept)


def _shape(wording: str, heard: str) -> str:
    """The wording with the heard span's capital and final mark, so that only the word differs."""
    mark = heard[-1] if heard[-1:] in ".,?!;:" else ""
    text = wording[0].upper() + wording[1:] if heard[:1].isupper() else wording
    return text + mark


def features(doubt: Doubt, weighed: Weighed | None, n: int) -> dict[str, float]:
    """What the calibration looks at for rival n (0-based).

    gain: nats by which the rival beats what was heard, kept within -15..15; margin: by which it beats the best other rival;
    distance: of sounds; length: phones of the rival; confidence: the listener's own in what it wrote; known: that holds
    a trade phrase; pointed: "the", "her" or the like stands before; solid: the rival names something.
    """
    rival = doubt.rivals[n]
    gain = margin = 0.0
    if weighed is not None:
        scores = weighed.scores
        mine, others = scores[n + 1], [s for k, s in enumerate(scores[1:]) if k != n]
        gain = max(-15.0, min(15.0, mine - scores[0]))
        margin = max(-15.0, min(15.0, mine - max(others))) if others else 5.0
    return {
        "gain": gain, "margin": margin, "distance": rival.distance, "length": float(len(rival.text)) / 10,
        "confidence": doubt.confidence, "known": float(doubt.known),
        "pointed": float(doubt.pointed), "solid": float(rival.solid),
    }  # fmt: skip


def repair(
    heard: TimedWords, doubts: Sequence[Doubt], weighed: Sequence[Weighed] | None, calibration: Calibration
) -> TimedWords:
    """The words with every doubtful span replaced by the rival that the sound favours, likeliest first, none twice."""
    found: list[tuple[float, Doubt, str]] = []
    for k, doubt in enumerate(doubts):
        for n, rival in enumerate(doubt.rivals):
            p = calibration.probability(features(doubt, weighed[k] if weighed else None, n))
            if p >= calibration.accept:
                found.append((p, doubt, doubt.question.wordings[n + 1]))
    taken: set[int] = set()
    chosen: dict[int, tuple[float, Doubt, str]] = {}
    for p, doubt, text in sorted(found, key=lambda f: -f[0]):
        span = set(range(doubt.first, doubt.last + 1))
        if not span & taken:
            taken |= span
            chosen[doubt.first] = (p, doubt, text)
    return TimedWords(tuple(_replaced(heard.words, chosen)), heard.seconds, heard.timed, heard.hesitations_s)


def _replaced(words: Sequence[Word], chosen: Mapping[int, tuple[float, Doubt, str]]) -> Iterable[Word]:
    at = 0
    while at < len(words):
        if at not in chosen:
            yield words[at]
            at += 1
            continue
        p, doubt, text = chosen[at]
        yield Word(text, words[doubt.first].start_s, words[doubt.last].end_s, round(p, 4), doubt.heard)
        at = doubt.last + 1

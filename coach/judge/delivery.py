"""How the rehearsal was spoken: pace, fillers, long silences, words to the bird.

In: timed words and their sentences. Out: a Delivery. Pure.
Speaking rate counts all words over all time, articulation rate leaves pauses over 0.25 s out; filled pauses ("um") are no
words. Silences over 4 s are long (Lundholm Fors 2015 uses 4 s as the unusually long pause). Bands for young speakers are
the project's own suggestion, not published; adult ranges are a ceiling for juniors, not a target.

Disfluencies are counted as filled pauses and repeats, the kinds most often counted (Fraundorf and Watson 2013); filler words
("like", "you know") only where they stand apart from the sentence, as they are ordinary words elsewhere ("looks like a
pea comb"): which words these are is from memory, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from coach.judge.mentions import find_phrases
from coach.judge.tokens import Sentence
from coach.judge.verdict import Delivery, Finding, LongPause
from coach.knowledge.language import Language
from coach.words import TimedWords, Word

__all__ = ["LONG_PAUSE_S", "articulation_rate", "counted", "filler_words", "judge_delivery", "repeats", "speaking_rate"]

LONG_PAUSE_S = 4.0
PAUSE_S = 0.25
_DOUBLED = frozenset("very really so no yes that had easy good there one two three four five six seven eight nine ten".split())
LEAST_WORDS, LEAST_S = 15, 6.0  # below these a rate says nothing
_BANDS = ((90, "slow and careful"), (110, "unhurried"), (160, "comfortable"), (180, "brisk"), (float("inf"), "very fast"))


def speaking_rate(n_words: int, seconds: float) -> float | None:
    """Words a minute, or None under 15 words or 6 seconds.

    Doctest:
        >>> speaking_rate(75, 30.0)
        150.0
    """
    return None if n_words < LEAST_WORDS or seconds < LEAST_S else n_words * 60 / seconds


def articulation_rate(n_words: int, seconds: float, pauses_s: float) -> float | None:
    """Words a minute with pauses taken out; None where there is too little speech."""
    return speaking_rate(n_words, seconds - pauses_s)


def judge_delivery(heard: TimedWords, sentences: Sequence[Sentence], language: Language) -> Delivery:
    """All delivery figures."""
    fillers = sum(t.text in language.fillers for s in sentences for t in s) + len(heard.hesitations_s)
    asides = _asides(heard.words, sentences, language)
    said = {"filler_words": filler_words(sentences, language), "repeats": repeats(sentences, language)}
    words = counted(heard.words, language)
    if not words or not heard.timed:
        return Delivery(
            words_per_minute=None,
            articulation_wpm=None,
            fillers=fillers,
            long_pauses=(),
            asides=asides,
            speaking_s=0.0,
            pace_note="",
            **said,
        )
    span = words[-1].end_s - words[0].start_s
    between = list(pairwise(w for w in heard.words if w.is_spoken))
    rate = speaking_rate(len(words), span)
    pauses = tuple(LongPause(a.end_s, b.start_s) for a, b in between if b.start_s - a.end_s > LONG_PAUSE_S)
    quiet = sum(gap for a, b in between if (gap := b.start_s - a.end_s) > PAUSE_S)
    paced = articulation_rate(len(words), span, quiet)
    return Delivery(
        words_per_minute=rate,
        articulation_wpm=paced,
        fillers=fillers,
        long_pauses=pauses,
        asides=asides,
        speaking_s=max(0.0, span - quiet),
        pace_note=_note(rate),
        **said,
    )


def counted(words: Iterable[Word], language: Language) -> list[Word]:
    """The words that count for the pace: "um" is none, nor is a mark that stands alone."""
    return [w for w in words if w.is_spoken and w.text.lower().strip(".,?!") not in language.fillers]


def filler_words(sentences: Sequence[Sentence], language: Language) -> int:
    """Real words that only hold the floor: of the language's list, and set apart by commas, "um" or a sentence's border.

    "And, like, her comb" has one; "it looks like a pea comb" none.
    """
    count = 0
    for sentence in sentences:
        words = [t.text for t in sentence]
        for start, end in find_phrases(words, language.filler_words):
            opens = start == 0 or sentence[start - 1].comma or words[start - 1] in language.fillers
            closes = end == len(words) or sentence[end - 1].comma or words[end] in language.fillers
            count += opens and closes and end - start < len(words)
    return count


def repeats(sentences: Sequence[Sentence], language: Language) -> int:
    """Words or pairs of words said twice at once ("her, her comb", "this is this is"), an "um" between them or not.

    Doubling that is ordinary speech is no repeat: "very, very red", "that that", "no, no", counting, words to the bird.
    """
    count = 0
    for sentence in sentences:
        asides = {n for a, b in find_phrases([t.text for t in sentence], language.asides) for n in range(a, b)}
        words = [t.text for n, t in enumerate(sentence) if t.text not in language.fillers and n not in asides]
        at = 0
        while at < len(words):
            size = next((k for k in (2, 1) if words[at : at + k] == words[at + k : at + 2 * k] != []), 0)
            count += size == 2 or (size == 1 and words[at] not in _DOUBLED)
            at += size or 1
    return count


def _note(rate: float | None) -> str:
    return "" if rate is None else next(text for limit, text in _BANDS if rate < limit)


def _asides(words: Sequence[Word], sentences: Sequence[Sentence], language: Language) -> tuple[Finding, ...]:
    """Words to the bird or the judge; of overlapping phrases the longest."""
    out = []
    for sentence in sentences:
        last = -1
        for start, end in sorted(find_phrases([t.text for t in sentence], language.asides), key=lambda s: (s[0], -s[1])):
            if start <= last:
                continue
            last = end - 1
            a, b = words[sentence[start].first], words[sentence[end - 1].last]
            out.append(Finding(" ".join(t.text for t in sentence[start:end]), a.start_s, b.end_s))
    return tuple(out)

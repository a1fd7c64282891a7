"""From what the listener wrote to what was said: doubtful words of an answer are put to the sound. Pure but for that.

Rivals are all trade words of the bank, right and wrong answers alike; which question was asked only tells that its own
words, again right and wrong alike, are being spoken of. Nothing wins because the answer needs it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from coach.interview.forms import stem
from coach.interview.model import Score
from coach.interview.reading import leave_open
from coach.interview.score import score, settle
from coach.judge.doubts import Doubt, Rival, confidence, doubt_at
from coach.judge.repair import likely, possible, repair
from coach.judge.sounds import VOWELS, Phones, Pronouncer, distance
from coach.judge.tokens import Sentence, sentences
from coach.knowledge.calibration import Belief, load_calibration
from coach.knowledge.language import load_pronunciations
from coach.knowledge.questions import Bank, Question, load_spoken_words
from coach.reader.model import load_reader
from coach.words import TimedWords

if TYPE_CHECKING:
    from coach.listen.listener import Listener

__all__ = ["Ear", "judge_answer", "make_ear"]

MAX_SPAN = 5  # words that one trade word may have been written as
FARTHEST = 0.28
FARTHEST_ELSEWHERE = 0.14  # for words that this question does not speak of
WORDS_ONLY = 0.09  # without sound to ask, only what sounds almost the same
MAX_RIVALS = 3
SURE = 0.985  # a word the listener is so sure of is not questioned
SHORTEST = 3  # phones; shorter words sound like too much
AROUND = 10  # words weighed together with the doubtful ones, before and after
COARSE = 0.6  # letters of the first sift that may differ; of 4034 rivals near enough 48 differ in more
_POINTING = frozenset("the a an her his its their is are and of".split())
_LIKE = ("B P", "CH JH SH ZH", "D T", "F V TH DH", "G K", "HH", "L R", "M", "N NG", "S Z", "W", "Y")
_CONSONANTS = {phone: letter for letter, group in zip("bcdfghlmnswy", _LIKE, strict=True) for phone in group.split()}
_EVERYDAY = frozenset(
    "a an the and or but so of in on at to for with from by is are was were be been am has have had do does did not no yes i "
    "you he she it we they me him her us them my your his its our their this that these those here there what which who when "
    "where how why can could will would should may might must just very really too also then now as if than up down out over "
    "all any some one two three four five six seven eight nine ten eleven twelve okay um uh like know see look show day days "
    "week weeks hour hours thing things get got go goes going keep make want need put take think because about little lot "
    "bird birds hen hens egg eggs good time off more most into around same other into don't it's".split()
)


@dataclass(frozen=True, slots=True)
class Ear:
    """The trade words of a bank and how they sound."""

    pronouncer: Pronouncer
    sounds: Mapping[str, Phones]
    coarse: tuple[str, ...]  # the sounds in order, a letter a phone, all vowels alike


def make_ear(bank: Bank, respellings: Mapping[str, str] | None = None) -> Ear:
    """All trade words of the bank; respellings are the card's own."""
    pronouncer = Pronouncer({**load_pronunciations(), **load_spoken_words().sounds, **(respellings or {})})
    words = {w for q in bank.questions.values() for w in _words(q)}
    words |= {f"{w}s" for w in words if not w.endswith("s")}
    sounds = {w: phones for w in sorted(words) if len(phones := pronouncer.phones(w)) >= SHORTEST}
    return Ear(pronouncer, sounds, tuple(_letters(p) for p in sounds.values()))


def _letters(phones: Phones) -> str:
    """One letter a phone, so that a fast library can do the first sift; vowels are taken for one another."""
    return "".join("a" if p in VOWELS else _CONSONANTS.get(p, "z") for p in phones)


def judge_answer(question: Question, heard: TimedWords, ear: Ear, listener: Listener | None = None) -> tuple[TimedWords, Score]:
    """The words as understood, and their score.

    Read twice: strictly, taking only what is likely, and generously; where only the generous reading credits a point
    it is unsure. The listener is the one that heard the words, and still holds their sound.
    """
    doubts = _doubts(question, heard, ear, asks=listener is not None)
    belief = _calibration(listener.name if listener else "words")
    weighed = listener.weigh([d.question for d in doubts]) if listener else None
    strict = repair(heard, doubts, weighed, likely(belief))
    generous = repair(heard, doubts, weighed, possible(belief))
    result = score(question, strict)
    result = result if generous == strict else settle(result, score(question, generous))
    return strict, leave_open(question, strict, result, load_reader())


def _words(question: Question) -> set[str]:
    """Words of the spoken forms worth listening for; pairs of words as one too."""
    forms = [f for p in question.points for f in (*p.say, *p.of)] + [f for w in question.wrong for f in w.say]
    forms = [form.lower().replace("-", " ") for form in forms]
    words = {alternative.replace("_", " ") for form in forms for part in form.split() for alternative in part.split("/")}
    words |= {form for form in forms if form.count(" ") == 1 and "/" not in form and not form.startswith("no ")}  # "air sac"
    return {w for w in words if w not in _EVERYDAY and not w.isdigit() and len(w) >= SHORTEST}


def _doubts(question: Question, heard: TimedWords, ear: Ear, asks: bool) -> tuple[Doubt, ...]:
    own = _words(question) | _plain_numbers(question)
    own |= {f"{w}s" for w in own}
    told = {stem(t.text) for s in sentences(heard) for t in s}
    found: dict[tuple[int, int], list[Rival]] = {}
    best: dict[str, list[tuple[float, tuple[int, int]]]] = {}
    spans: dict[tuple[int, int], tuple[Sentence, int, int]] = {}
    for sentence in sentences(heard):
        for start, end in _spans(heard, sentence, told, own, asks):
            key = (sentence[start].first, sentence[end - 1].last)
            text = " ".join(t.text for t in sentence[start:end])
            for rival in _rivals(text, ear, own, told, asks):
                best.setdefault(rival.text, []).append((rival.distance, key))
                found.setdefault(key, []).append(rival)
                spans[key] = (sentence, start, end)
    out = []
    for key, rivals in sorted(found.items()):
        mine = tuple(sorted((r for r in rivals if _is_best(r, key, best)), key=lambda r: r.distance))[:MAX_RIVALS]
        if mine:
            out.append(_doubt(heard, *spans[key], mine, ear, asks))
    return tuple(out)


def _plain_numbers(question: Question) -> set[str]:
    """Number words that the points and mistakes of the question use."""
    from coach.judge.numbers import spoken

    wanted = [p.number for p in question.points] + [w.number for w in question.wrong]
    return {spoken(n.value) for n in wanted if n is not None and n.value == int(n.value) and n.value < 20}


def _spans(heard: TimedWords, sentence: Sentence, told: set[str], own: set[str], asks: bool) -> Iterable[tuple[int, int]]:
    own_stems = {stem(w) for w in own}
    for start in range(len(sentence)):
        for end in range(start + 1, min(start + MAX_SPAN, len(sentence)) + 1):
            words = [t.text for t in sentence[start:end]]
            if all(w in _EVERYDAY for w in words) or any(w in ("um", "uh", "'s") for w in words):
                continue
            if any(stem(w) in own_stems for w in words):
                continue
            if asks and confidence(heard.words[sentence[start].first : sentence[end - 1].last + 1]) >= SURE:
                continue
            yield start, end


def _rivals(text: str, ear: Ear, own: set[str], told: set[str], asks: bool) -> list[Rival]:
    from rapidfuzz.distance import Levenshtein
    from rapidfuzz.process import extract_iter

    phones, mine = ear.pronouncer.phones(text), stem(text)
    names = tuple(ear.sounds)
    out = []
    near = extract_iter(_letters(phones), ear.coarse, scorer=Levenshtein.normalized_distance, score_cutoff=COARSE)
    for _, _, place in near:
        word = names[place]
        is_own = word in own
        far = (FARTHEST if is_own else FARTHEST_ELSEWHERE) if asks else WORDS_ONLY
        if stem(word) == mine or (not asks and not is_own):
            continue
        if (d := distance(phones, ear.sounds[word])) <= far:
            missing = is_own and stem(word) not in told
            out.append(
                Rival(
                    text=word, distance=d, kinds=frozenset({"part"}), missing=missing, place=1.0 if is_own else 0.0
                )
            )
    return sorted(out, key=lambda r: r.distance)[: MAX_RIVALS + 1]


def _calibration(name: str) -> Belief:
    """How the listener is believed on answers, or where none were measured those for rehearsals."""
    return load_calibration("whisper-answers" if name == "whisper" else name)


def _is_best(rival: Rival, key: tuple[int, int], best: Mapping[str, Sequence[tuple[float, tuple[int, int]]]]) -> bool:
    """A rival only at the place it fits best among those that overlap."""
    return not any(d < rival.distance and a <= key[1] and key[0] <= b for d, (a, b) in best[rival.text])


def _doubt(heard: TimedWords, sentence: Sentence, start: int, end: int, rivals: tuple[Rival, ...], ear: Ear, asks: bool) -> Doubt:
    first, last = sentence[start].first, sentence[end - 1].last
    around = [max(0, first - AROUND), min(len(heard.words), last + 1 + AROUND)]
    plain = all(ear.pronouncer.knows(t.text) for t in sentence[start:end])
    doubt = doubt_at(heard, around, first, last, rivals, known=False, covered=0.0, plain_words=plain)
    # Without sound only words that are pointed at are taken for others; the question itself points at its own.
    return replace(doubt, pointed=not asks or (start > 0 and sentence[start - 1].text in _POINTING))

"""Doubtful places: where the listener may have written an everyday word for a trade word, and what to ask the sound.

In: timed words and the lexicon. Out: Doubts, each a Question with rival wordings on equal terms (what was heard first, then
every trade phrase that sounds like it, right or wrong for this bird alike). Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from coach.judge.compounds import compounds, own_phrases
from coach.judge.lexicon import Lexicon, Meaning
from coach.judge.mentions import Mention, mentions
from coach.judge.reading import read
from coach.judge.slots import KIND_OF, UNITS, slot_kinds
from coach.judge.sounds import Phones, Pronouncer, distance
from coach.judge.tokens import Sentence, sentences, singular
from coach.knowledge.language import Language
from coach.words import Question, TimedWords, Word

__all__ = [
    "NAMING",
    "Doubt",
    "Home",
    "Rival",
    "Vocabulary",
    "breaths",
    "doubt_at",
    "learn",
    "placed",
    "regions_around",
    "spot",
    "told",
    "wanted_kinds",
]

MAX_SPAN = 4  # words that one trade phrase may have been written as
MAX_NAME_SPAN = 6  # the same where a breed is presented ("or pink ton hen")
MAX_DISTANCE = 0.26
WORDS_DISTANCE = 0.09  # without sound to ask, only what sounds almost the same is taken for a trade phrase
COARSE = 2.0  # the coarse distance may be so many times the weighted one
SLOT_REACH = 1.6  # where the sentence asks for the kind, sounds may be so much farther away
SURE_IN_SLOT = 0.985
ALONE = 0.16  # sounds this close are asked about without slot or place
MARGIN_S = 0.2  # of sound around the words weighed together
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
_NUMBERS = "one two three four five six seven eight nine ten eleven twelve".split()
NOTHING: frozenset[str] = frozenset()
_WIDE = frozenset({"color", "number", "bird", "unit", "comb"})  # few of a kind: worth asking from farther away
# Kinds that name something, rather than describe it.
NAMING = frozenset({"part", "breed", "bird", "class", "place"})
_POINTING = frozenset("the a an her his its this these those both left right two main is are my of called and".split())
_COLORED = frozenset("beak eye earlobe lobe hackle undercolor tail shank egg comb leg".split())
# Whatever breed, variety, class or place is named, right or wrong, tells the item of that value.
_TELLS = {Meaning.BREED: "breed", Meaning.VARIETY: "variety", Meaning.SHOW_CLASS: "class", Meaning.PLACE: "origin"}
_VALUE_KINDS = {"colors.": "color", "comb.type": "comb", "comb.points": "number", "toes": "number"}
_PROPER = (Meaning.BREED, Meaning.PLACE, Meaning.SHOW_CLASS)


@dataclass(frozen=True, slots=True)
class Rival:
    """A trade phrase that sounds like the span."""

    text: str
    distance: float  # of sounds, 0 the same
    kinds: frozenset[str]  # what it stands for: part, color, number, bird, ...
    slot: bool = False  # the sentence asks for such a kind here
    missing: bool = False  # a part or check that is told nowhere else in the rehearsal
    support: float = 0.0  # share of a second hearing that speaks for it, 0..1
    place: float = 0.0  # 1 when its region is being spoken of in this sentence, less in neighbouring ones, else 0


@dataclass(frozen=True, slots=True)
class Doubt:
    """Words first to last (included) of the timed words, as heard, with their rivals and the question to the sound."""

    first: int
    last: int
    heard: str
    known: bool  # a word of it belongs to a trade phrase as it stands
    covered: float  # share of its words that belong to one, 0..1
    confidence: float
    plain_words: bool  # all of it is in the dictionary
    pointed: bool  # "the", "her", "these" or the like stands right before
    rivals: tuple[Rival, ...]
    question: Question


@dataclass(frozen=True, slots=True)
class Home:
    """An item that a phrase tells, and the regions where it may be told."""

    item: str
    regions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every phrase that may be asked for: its kinds, its sound, its kinds by its words in the singular, what it tells."""

    kinds: Mapping[str, frozenset[str]]
    sounds: Mapping[str, Phones]
    known: Mapping[tuple[str, ...], frozenset[str]]
    homes: Mapping[str, tuple[Home, ...]]
    asks: bool  # there is sound that can be asked

    @property
    def furthest(self) -> float:
        """How far away in sound a rival may be."""
        return MAX_DISTANCE if self.asks else WORDS_DISTANCE


def spot(heard: TimedWords, lexicon: Lexicon, language: Language, pronouncer: Pronouncer, asks: bool = True) -> tuple[Doubt, ...]:
    """All doubtful spans with their rivals, by place.

    Args:
        asks: there is sound that can be asked; without it only what sounds almost the same is taken for a rival.
    """
    vocabulary = learn(lexicon, language, pronouncer, asks)
    split = sentences(heard)
    found = [mentions(s, lexicon, language) for s in split]
    homes, named = vocabulary.homes, told(split, lexicon, language)
    wanted = wanted_kinds(found, lexicon, named)
    borders = breaths(heard.words)
    out: list[Doubt] = []
    previous: Sentence = ()
    for sentence, regions, kinds in zip(split, regions_around(found, lexicon), wanted, strict=True):
        covered = _covered(sentence, vocabulary.known)
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


def learn(lexicon: Lexicon, language: Language, pronouncer: Pronouncer, asks: bool) -> Vocabulary:
    """Every phrase that may be asked for."""
    single = {**_phrases(lexicon, language), **own_phrases(lexicon, language)}
    homes = _homes(lexicon)
    kinds, spread = dict(single), dict(homes)
    for text, parts in compounds(lexicon, language).items() if asks else ():
        if text not in single:
            kinds[text] = frozenset(k for part in parts for k in single.get(part, ()))
            spread[text.lower()] = tuple(h for part in parts for h in homes.get(part.lower(), ()))
    sounds = {text: pronouncer.phones(text.lower()) for text in kinds}
    known = {tuple(singular(w) for w in text.lower().split()): k for text, k in kinds.items()}
    return Vocabulary(kinds, sounds, known, spread, asks)


def told(split: Sequence[Sentence], lexicon: Lexicon, language: Language) -> set[str]:
    """The items that the words tell as they stand, rightly or wrongly, and the own faults whose words are said anywhere."""
    words = " ".join(t.text for s in split for t in s)
    faults = {f"faults.{f.id}" for f in lexicon.bird.faults if any(say.lower() in words for say in (f.say, *f.also))}
    return {claim.item for claim in read(split, lexicon, language).claims} | faults


def wanted_kinds(found: Sequence[Sequence[Mention]], lexicon: Lexicon, named: set[str]) -> list[frozenset[str]]:
    """Per sentence the kinds of value that its parts, or those of the sentence before, still lack: any color, any number."""
    lacking: dict[str, set[str]] = {}
    for item in lexicon.items.values():
        if item.value and item.about and item.id not in named:
            lacking.setdefault(item.about, set()).update(k for start, k in _VALUE_KINDS.items() if item.value.startswith(start))
    eggs = {"color"} if any(i.value == "egg_color" and i.id not in named for i in lexicon.items.values()) else set()
    own = [{k for m in here for k in (eggs if m.meaning is Meaning.EGG else lacking.get(m.key, ()))} for here in found]
    before = [set(), *own[:-1]]
    names_part = [any(m.key in lacking for m in here) for here in found]
    return [frozenset(kinds if part else kinds | last) for kinds, last, part in zip(own, before, names_part, strict=True)]


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
    pointed = start > 0 and words[start - 1] in _POINTING
    return pointed and not covered.keys() & set(range(start, end)) and not all(w in _COMMON for w in words[start:end])


def _worth_asking(
    heard: TimedWords, sentence: Sentence, span: tuple[int, int], kinds: frozenset[str], covered: Mapping[int, frozenset[str]]
) -> bool:
    """A span is asked about when the listener is unsure of it, or when a slot makes a trade word likely there."""
    start, end = span
    confidence = _confidence(heard.words[sentence[start].first : sentence[end - 1].last + 1])
    if all(t.text in _COMMON for t in sentence[start:end]):
        return bool(kinds & {"bird", "number", "color", "unit"}) and end - start <= 2 and confidence < SURE
    inside = _known(span, covered, kinds) and all(n in covered for n in range(start, end))
    return confidence < (SURE if not kinds or inside else SURE_IN_SLOT)


def regions_around(found: Sequence[Sequence[Mention]], lexicon: Lexicon) -> list[dict[str, float]]:
    """Per sentence the regions that its own trade phrases and its neighbours' speak of, with their weight."""
    own = [{lexicon.items[m.key].region for m in here if m.key in lexicon.items} for here in found]
    out = []
    for n in range(len(own)):
        here: dict[str, float] = {}
        for away, weight in ((2, 0.4), (-2, 0.4), (1, 0.7), (-1, 0.7), (0, 1.0)):
            if 0 <= n + away < len(own):
                here |= dict.fromkeys(own[n + away], weight)
        out.append(here)
    return out


def _homes(lexicon: Lexicon) -> dict[str, tuple[Home, ...]]:
    """The items that each phrase of the route or the bird's own faults tells."""
    out: dict[str, tuple[Home, ...]] = {}
    for entry in lexicon.entries:
        item = lexicon.items.get(entry.key)
        if item and entry.meaning is not Meaning.NAME:
            out[entry.text] = (*out.get(entry.text, ()), Home(item.id, (item.region, *item.also_regions)))
        elif entry.meaning in _TELLS:
            named = (i for i in lexicon.route.items if i.value and i.value.split(".")[0] == _TELLS[entry.meaning])
            out[entry.text] = (*out.get(entry.text, ()), *(Home(i.id, (i.region, *i.also_regions)) for i in named))
    for fault in lexicon.bird.faults:
        for say in (fault.say, *fault.also):
            out[say.lower()] = (Home(f"faults.{fault.id}", (fault.region,)),)
    return out


def _likely_here(rival: Rival) -> bool:
    """Whether anything but a faint likeness of sound speaks for the rival."""
    return rival.slot or rival.place > 0 or rival.distance <= ALONE


def placed(
    rival: Rival, tells: Sequence[Home], named: set[str], regions: Mapping[str, float], wanted: frozenset[str] = NOTHING
) -> Rival:
    """The rival with what speaks for it here: its region is spoken of, and what it tells is told nowhere else."""
    place = max((regions.get(r, 0.0) for home in tells for r in home.regions), default=0.0)
    return replace(rival, place=place, missing=_missing(rival, tells, named, wanted))


def _missing(rival: Rival, tells: Sequence[Home], named: set[str], wanted: frozenset[str]) -> bool:
    return bool(rival.kinds & wanted) or (bool(tells) and not any(home.item in named for home in tells))


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


def _confidence(words: Sequence[Word]) -> float:
    """The listener's lowest confidence in the words; 0 when it gives none."""
    return min((w.confidence if w.confidence is not None else 0.0 for w in words), default=0.0)


def _phrases(lexicon: Lexicon, language: Language) -> dict[str, frozenset[str]]:
    """Every phrase worth asking for, written as the recogniser writes, with the kinds of thing it stands for."""
    out: dict[str, frozenset[str]] = dict.fromkeys(language.colors, frozenset({"color"}))
    out |= dict.fromkeys(_NUMBERS, frozenset({"number"}))
    out |= dict.fromkeys(UNITS, frozenset({"unit"}))
    for entry in lexicon.entries:
        if entry.meaning is Meaning.REGION and len(entry.words) > 1:
            continue
        text = entry.text.title() if entry.meaning in _PROPER else entry.text
        out[text] = out.get(text, frozenset()) | {KIND_OF.get(entry.meaning, "other")}
        if entry.meaning is Meaning.SEX_AGE:
            out[f"{text}s"] = out[text]
    return out


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

    kinds, sounds, furthest, asks = vocabulary.kinds, vocabulary.sounds, vocabulary.furthest, vocabulary.asks
    texts = [" ".join(t.text for t in sentence[a:b]) for a, b in asked]
    phones = [pronouncer.phones(text) for text in texts]
    names = list(sounds)
    if not texts:
        return []
    # Only the sound may answer for what is farther away.
    far = 0.75 if asks else COARSE * furthest
    coarse = cdist(
        [_letters(p) for p in phones],
        [_letters(sounds[n]) for n in names],
        scorer=Levenshtein.normalized_distance,
        score_cutoff=far,
        dtype=np.float32,
    )
    out: list[tuple[Rival, ...]] = []
    for row, own, text, slot in zip(coarse, phones, texts, asked.values(), strict=True):
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
                found.append(Rival(name, d, kinds[name], bool(kinds[name] & slot)))
        out.append(tuple(sorted(found, key=_likely)[: MAX_RIVALS + 1]))
    return out


def _likely(rival: Rival) -> float:
    """Order of asking: the closer sounds first, those that fit the slot before others."""
    return rival.distance - (0.12 if rival.slot else 0.0)


# One character a phone, vowels of like sound sharing one, so that a C library can do the first sift.
_SYMBOL = {p: c for c, group in zip("abcdefghijklmnopqrstuvwxyz0123456789", (
    "AA AO AH UH OW", "IH IY EH AH0", "AE", "AY", "EY", "OY", "UW", "ER", "AW", "B P", "CH JH", "D T DH TH", "F V", "G K",
    "HH", "L", "M N NG", "R", "S Z SH ZH", "W", "Y"), strict=False) for p in group.split()}  # fmt: skip


def _letters(phones: Phones) -> str:
    return "".join(_SYMBOL.get(p, "?") for p in phones)


def doubt_at(
    heard: TimedWords,
    borders: Sequence[int],
    first: int,
    last: int,
    rivals: tuple[Rival, ...],
    *,
    known: bool,
    covered: float,
    plain_words: bool,
) -> Doubt:
    """The doubt about words first to last (included), weighed within the breath that holds them.

    Args:
        borders: the breaths of these words.
        known: a word of the span belongs to a trade phrase as it stands; covered: the share of its words that do.
        plain_words: all of it is in the dictionary.
    """
    words = heard.words[first : last + 1]
    text = " ".join(w.text for w in words)
    window = _window(borders, first, last)
    before = " ".join(w.text for w in heard.words[window[0] : first])
    after = " ".join(w.text for w in heard.words[last + 1 : window[1]])
    from_s = heard.words[window[0]].start_s - MARGIN_S
    to_s = heard.words[window[1] - 1].end_s + MARGIN_S
    shaped = tuple(_shape(r.text, text) for r in rivals)
    question = Question(words[0].start_s, words[-1].end_s, from_s, to_s, before, after, (text, *shaped))
    pointed = first > 0 and heard.words[first - 1].text.strip(".,;:!?").lower() in _POINTING
    return Doubt(first, last, text, known, covered, _confidence(words), plain_words, pointed, rivals, question)


def _covered(sentence: Sentence, known: Mapping[tuple[str, ...], frozenset[str]]) -> dict[int, frozenset[str]]:
    """Tokens that are part of a trade phrase as it stands, with the kinds of thing it stands for."""
    plain = [singular(t.text) for t in sentence]
    size = len(plain)
    out: dict[int, frozenset[str]] = {}
    for a in range(size):
        for b in range(a + 1, min(a + 6, size) + 1):
            kinds = known.get(tuple(plain[a:b]))
            if kinds:
                out |= {n: out.get(n, frozenset()) | kinds for n in range(a, b)}
    return out


def _known(span: tuple[int, int], covered: Mapping[int, frozenset[str]], slot: frozenset[str]) -> bool:
    """Whether the span holds a trade phrase that may stand: one of a kind the sentence asks for, where it asks."""
    kinds = [covered[n] for n in range(*span) if n in covered]
    return bool(kinds) and (not slot & _WIDE or any(k & slot for k in kinds))


def breaths(words: Sequence[Word]) -> list[int]:
    """Borders (word numbers, first and last included) of runs spoken in one breath: what is weighed as a whole."""
    borders = [0]
    for n in range(1, len(words)):
        gap, long = words[n].start_s - words[n - 1].end_s, n - borders[-1]
        ends = words[n - 1].text[-1:] in (".", "?", "!")
        if gap > 1.0 or (long >= 6 and (ends or gap > 0.3)) or (long >= 16 and gap > 0.08) or long >= 24:
            borders.append(n)
    return [*borders, len(words)]


def _window(borders: Sequence[int], first: int, last: int) -> tuple[int, int]:
    """The breath that holds words first to last, or the breaths when they reach over a border."""
    return max(b for b in borders if b <= first), min(b for b in borders if b > last)


def _shape(wording: str, heard: str) -> str:
    """The wording with the heard span's capital and final mark, so that only the word differs."""
    mark = heard[-1] if heard[-1:] in ".,?!;:" else ""
    text = wording[0].upper() + wording[1:] if heard[:1].isupper() else wording
    return text + mark

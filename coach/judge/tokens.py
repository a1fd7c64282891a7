"""Words as the judge reads them: plain tokens in sentences and clauses, compounds joined, contractions opened.

In: timed words, punctuation kept. Out: Tokens that remember which words they came from. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from coach.words import TimedWords, Word

__all__ = ["Sentence", "Token", "sentences", "singular", "words_of_phrase"]

# Without punctuation a silence ends a sentence; with it only a long one does.
GAP_UNPUNCTUATED_S = 0.15
GAP_PUNCTUATED_S = 0.9
# So many words to a sentence mark, or the text counts as unpunctuated.
WORDS_PER_MARK = 40

_SPELLINGS = {
    "colour": "color", "colours": "colors", "coloured": "colored", "grey": "gray", "greyish": "grayish",
    "undercolour": "undercolor", "undercolours": "undercolor", "undercolors": "undercolor", "mom": "mum",
    "ok": "okay", "erm": "um", "umm": "um", "uhh": "uh", "hm": "hmm", "hmmm": "hmm", "lbs": "lb",
    "serration": "point", "serrations": "points", "undercoloring": "undercolor",
    "tipped": "tipped", "tho": "though", "cuz": "because", "cause": "because",
}  # fmt: skip
_JOINED = {
    ("ear", "lobe"): "earlobe", ("ear", "lobes"): "earlobes", ("under", "color"): "undercolor",
    ("under", "colors"): "undercolor", ("breast", "bone"): "breastbone", ("toe", "nail"): "toenail",
    ("toe", "nails"): "toenails", ("bumble", "foot"): "bumblefoot", ("foot", "pad"): "footpad",
    ("foot", "pads"): "footpads", ("frost", "bite"): "frostbite", ("frost", "bitten"): "frostbitten",
    ("over", "grown"): "overgrown", ("chest", "bone"): "chestbone", ("drum", "stick"): "drumstick",
    ("leg", "horn"): "leghorn", ("leg", "horns"): "leghorns", ("eye", "lid"): "eyelid", ("cross", "beak"): "crossbeak",
}  # fmt: skip
_OPENED = {
    "shes": "she is", "hes": "he is", "thats": "that is", "theres": "there is", "theyre": "they are", "im": "i am",
    "ive": "i have", "isnt": "is not", "arent": "are not", "doesnt": "does not", "dont": "do not", "hasnt": "has not",
    "havent": "have not", "wasnt": "was not", "cant": "can not", "ill": "i will", "youre": "you are", "weve": "we have",
    "shouldnt": "should not", "didnt": "did not", "aint": "is not", "whats": "what is", "theyve": "they have",
    "hasn": "has not", "youll": "you will", "youve": "you have", "lets": "let us", "were": "were", "couldnt": "could not",
    "wouldnt": "would not", "theyd": "they would", "shed": "she would", "hed": "he would", "id": "i would",
}  # fmt: skip
_KEEP_S = frozenset(
    "this is his was has as us its less dress class glass grass moss boss across always yes bus plus toss gas lens "
    "perhaps besides towards sometimes faverolles asiatic texas illinois massachusetts us stress mess".split()
)


@dataclass(frozen=True, slots=True)
class Token:
    """A plain lower-case word. first and last are indices into the timed words; comma: a pause mark follows."""

    text: str
    first: int
    last: int
    comma: bool = False


Sentence = tuple[Token, ...]


def sentences(heard: TimedWords) -> tuple[Sentence, ...]:
    """The tokens of all words, cut into sentences at marks and silences."""
    words = heard.words
    marks = sum(word.text.rstrip("\"')")[-1:] in (".", "?", "!") for word in words)
    gap_s = GAP_PUNCTUATED_S if marks * WORDS_PER_MARK >= len(words) else GAP_UNPUNCTUATED_S
    out: list[list[Token]] = [[]]
    for n, word in enumerate(words):
        if n and heard.timed and word.start_s - words[n - 1].end_s > gap_s:
            out.append([])
        out[-1] += _tokens(word, n)
        if word.text.rstrip("\"')")[-1:] in (".", "?", "!"):
            out.append([])
    return tuple(tuple(_join(sentence)) for sentence in out if sentence)


@lru_cache(maxsize=4096)
def words_of_phrase(phrase: str) -> tuple[str, ...]:
    """A phrase of a card or route as tokens would hold it."""
    return tuple(t.text for t in _join(_tokens(Word(phrase, 0.0, 0.0), 0)))


@lru_cache(maxsize=4096)
def singular(word: str) -> str:
    """The word without a plural s, roughly: enough to compare feathers with feather."""
    if len(word) < 4 or word in _KEEP_S or not word.endswith("s") or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("ches", "shes", "xes")):
        return word[:-2]
    return word[:-1]


def _tokens(word: Word, n: int) -> list[Token]:
    text = word.text.lower().replace("\u2019", "'").replace("\u00bd", " and a half")
    comma = text.rstrip("\"')")[-1:] in (",", ";", ":")
    out: list[str] = []
    for piece in re.findall(r"\d+(?:\.\d+)?|\.\d+|[a-z]+(?:'[a-z]+)*", text.replace("-", " ")):
        out += _open(piece)
    return [Token(t, n, n, comma and k == len(out) - 1) for k, t in enumerate(out)]


def _open(piece: str) -> list[str]:
    plain = piece.replace("'", "")
    if "'" in piece and piece.endswith("'s") and plain not in _OPENED:
        stem = piece[:-2]
        return [_SPELLINGS.get(stem, stem), "is"] if stem in ("it", "who", "here", "what", "bird", "name") else [stem, "'s"]
    if plain in ("ill", "id", "shed", "hed", "were", "cant", "lets") and "'" not in piece and plain != "cant":
        return [plain]
    if plain.endswith("comb") and plain.removesuffix("comb") in ("rose", "pea", "single"):
        return [plain.removesuffix("comb"), "comb"]
    opened = _OPENED.get(plain)
    return opened.split() if opened else [_SPELLINGS.get(plain, plain)]


def _join(tokens: Sequence[Token]) -> list[Token]:
    out: list[Token] = []
    for token in tokens:
        joined = _JOINED.get((out[-1].text, token.text)) if out and not out[-1].comma else None
        if joined:
            out[-1] = Token(joined, out[-1].first, token.last, token.comma)
        else:
            out.append(token)
    return out

"""How words sound: dictionary phones and a weighted distance between two runs of phones.

In: words. Out: tuples of ARPAbet phones without stress, and distances 0 (the same) to about 1 (nothing alike).
The dictionary is the CMU Pronouncing Dictionary (`knowledge/data/cmudict.gz`, made by `training/dictionary.py`; its licence lies
beside it); trade words it lacks come from `knowledge/data/pronunciations.yaml` and the cards' own `sounds_like`; the rest is
read by simple letter rules.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from coach.places import knowledge_data_dir

__all__ = ["Phones", "Pronouncer", "coarse", "dictionary", "distance"]

Phones = tuple[str, ...]

GAP = 0.7  # a phone too many or too few
WEAK_GAP = 0.4  # the same for sounds that are often swallowed
WEAK = frozenset({"HH", "AH", "T", "D", "R", "L", "IH", "ER", "Y", "W"})
VOWELS = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())

# Sounds that recognisers (and ears) take for one another; 0 would be the same sound. Everyday phonetics: pairs that
# share place and manner differ little, the rest of vowels and of consonants more. From memory, no source.
_NEAR: dict[frozenset[str], float] = {}
for _pairs, _cost in (
    ("AA-AO AH-UH IH-IY AH-IH AH-EH EH-IH AE-EH AA-AH AO-OW UH-UW ER-AH AO-AH OW-UH EY-EH AY-AA OY-AO AW-AA", 0.25),
    ("S-Z T-D P-B K-G F-V TH-DH SH-ZH CH-JH M-N N-NG TH-F DH-V S-TH Z-DH CH-SH JH-ZH DH-D TH-T", 0.25),
    ("EY-IY EY-IH AY-EY AE-AH AE-AA OW-AA OW-AH UW-IH ER-AO ER-EH ER-UH L-R W-L R-W L-OW S-SH Z-ZH T-CH D-JH T-K", 0.45),
    ("P-T K-P B-D B-V W-V HH-F L-N G-D B-M P-F NG-G", 0.5),
):
    for _pair in _pairs.split():
        _NEAR[frozenset(_pair.split("-"))] = _cost


@lru_cache(maxsize=200_000)
def distance(a: Phones, b: Phones) -> float:
    """Weighted edit distance of two phone runs divided by the length of the longer one.

    Source: Wagner and Fischer 1974, with costs by likeness of sound. O(len(a) * len(b)).
    """
    if not a or not b:
        return 1.0
    row = [0.0]
    for phone in b:
        row.append(row[-1] + _gap(phone))
    for x in a:
        last, gap_x = row[0], _gap(x)
        row[0] += gap_x
        for j, y in enumerate(b, 1):
            here = min(row[j] + gap_x, row[j - 1] + _gap(y), last + _swap(x, y))
            last, row[j] = row[j], here
    return row[-1] / max(len(a), len(b))


def _gap(phone: str) -> float:
    return WEAK_GAP if phone in WEAK else GAP


def _swap(x: str, y: str) -> float:
    if x == y:
        return 0.0
    near = _NEAR.get(frozenset((x, y)))
    if near is not None:
        return near
    return 0.6 if (x in VOWELS) == (y in VOWELS) else 1.0


# One character a phone, vowels of like sound sharing one, so that a C library can do the first sift.
_SYMBOL = {p: c for c, group in zip("abcdefghijklmnopqrstuvwxyz0123456789", (
    "AA AO AH UH OW", "IH IY EH AH0", "AE", "AY", "EY", "OY", "UW", "ER", "AW", "B P", "CH JH", "D T DH TH", "F V", "G K",
    "HH", "L", "M N NG", "R", "S Z SH ZH", "W", "Y"), strict=False) for p in group.split()}  # fmt: skip


def coarse(phones: Phones) -> str:
    """The phones as letters, for a fast first sift by a C library."""
    return "".join(_SYMBOL.get(p, "?") for p in phones)


class Pronouncer:
    """Phones of words and phrases; knows the respellings it was given."""

    def __init__(self, sounds_like: Mapping[str, str] | None = None) -> None:
        """sounds_like maps words to respellings in everyday words ("why an dot")."""
        self._respelled = {key.lower(): value.lower().split() for key, value in (sounds_like or {}).items()}
        self._known: dict[str, Phones] = {}

    def knows(self, word: str) -> bool:
        """Whether the word's sound is known from a dictionary or respelling, not guessed from letters."""
        word = word.lower()
        return word in self._respelled or word in dictionary()

    def phones(self, phrase: str) -> Phones:
        """Phones of all words of the phrase, one after the other."""
        return tuple(p for word in phrase.split() for p in self._word(word))

    def _word(self, word: str) -> Phones:
        word = word.lower().strip("'")
        if word not in self._known:
            self._known[word] = self._look_up(word)
        return self._known[word]

    def _look_up(self, word: str) -> Phones:
        if word in self._respelled:
            return tuple(p for part in self._respelled[word] for p in _look_up_or_spell(part))
        return _look_up_or_spell(word)


def _look_up_or_spell(word: str) -> Phones:
    entry = dictionary().get(word)
    if entry is None and word.endswith("s") and (stem := dictionary().get(word.removesuffix("s"))):
        entry = f"{stem} Z"
    return tuple(entry.split()) if entry else _spell(word)


@lru_cache(maxsize=1)
def dictionary() -> Mapping[str, str]:
    """Word to its first pronunciation: phones without stress, single spaces between."""
    import gzip

    words, phones = gzip.decompress((knowledge_data_dir() / "cmudict.gz").read_bytes()).decode("ascii").split("\n\n")
    return dict(zip(words.split("\n"), phones.split("\n"), strict=True))


# Letter rules for names and made-up words, longest first. Enough to compare sounds, not to speak.
_LETTERS = (
    *(("tion", "SH AH N"), ("ough", "OW"), ("eigh", "EY"), ("igh", "AY"), ("tch", "CH"), ("sch", "SH")),
    *(("ch", "CH"), ("sh", "SH"), ("th", "TH"), ("ph", "F"), ("wh", "W"), ("ck", "K"), ("ng", "NG"), ("qu", "K W")),
    *(("ee", "IY"), ("ea", "IY"), ("oo", "UW"), ("ou", "AW"), ("ow", "OW"), ("ai", "EY"), ("ay", "EY"), ("oa", "OW")),
    *(("oi", "OY"), ("oy", "OY"), ("au", "AO"), ("aw", "AO"), ("ie", "IY"), ("ei", "EY"), ("ew", "UW"), ("er", "ER")),
    *(("ir", "ER"), ("ur", "ER"), ("ar", "AA R"), ("or", "AO R"), ("a", "AE"), ("b", "B"), ("c", "K"), ("d", "D")),
    *(("e", "EH"), ("f", "F"), ("g", "G"), ("h", "HH"), ("i", "IH"), ("j", "JH"), ("k", "K"), ("l", "L"), ("m", "M")),
    *(("n", "N"), ("o", "AA"), ("p", "P"), ("q", "K"), ("r", "R"), ("s", "S"), ("t", "T"), ("u", "AH"), ("v", "V")),
    *(("w", "W"), ("x", "K S"), ("y", "IY"), ("z", "Z")),
)


def _spell(word: str) -> Phones:
    word = re.sub(r"(.)\1", r"\1", re.sub(r"[^a-z]", "", word))
    word = re.sub(r"(?<=[bcdfgkptz])le(s?)$", r"ul\1", word)  # "wackles" ends as "wattles" does
    if len(word) > 3 and word.endswith("e"):
        word = word[:-1]
    out: list[str] = []
    at = 0
    while at < len(word):
        letters, phones = next((k, v) for k, v in _LETTERS if word.startswith(k, at))
        out += phones.split()
        at += len(letters)
    return tuple(out)

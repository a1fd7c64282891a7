"""Phones written so that a child can read them aloud: ("AO","R","P","IH","NG","T","AH","N") becomes "or-ping-tuhn".

In: ARPAbet phones without stress. Out: syllables with hyphens. Pure.
Syllables: each vowel takes the consonants before it that can begin an English word, the rest stay with the vowel before.
The letters are our own choice, after the way schoolbooks respell (no published scheme followed).
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["respelled", "syllables"]

_VOWELS = {
    "AA": "ah", "AE": "a", "AH": "uh", "AO": "aw", "AW": "ow", "AY": "eye", "EH": "e", "ER": "er", "EY": "ay", "IH": "i",
    "IY": "ee", "OW": "oh", "OY": "oy", "UH": "oo", "UW": "oo",
}  # fmt: skip
_BEFORE_R = {"AA": "ah", "AO": "o", "EH": "ai", "IH": "ee", "UH": "oo"}  # "or", "air"
_CONSONANTS = {
    "B": "b", "CH": "ch", "D": "d", "DH": "th", "F": "f", "G": "g", "HH": "h", "JH": "j", "K": "k", "L": "l", "M": "m",
    "N": "n", "NG": "ng", "P": "p", "R": "r", "S": "s", "SH": "sh", "T": "t", "TH": "th", "V": "v", "W": "w", "Y": "y",
    "Z": "z", "ZH": "zh",
}  # fmt: skip
_ONSETS = frozenset(
    "B L,B R,D R,D W,F L,F R,G L,G R,K L,K R,K W,K Y,M Y,P L,P R,P Y,F Y,B Y,HH Y,V Y,S K,S L,S M,S N,S P,S T,S W,SH R,T R,T W,"
    "TH R,S K R,S K W,S P L,S P R,S T R".split(",")
)


def respelled(phones: Sequence[str]) -> str:
    """The phones in letters, a hyphen between syllables.

    Doctest:
        >>> respelled(("HH", "AE", "K", "AH", "L"))
        'ha-kuhl'
    """
    return "-".join(_letters(one) for one in syllables(phones))


def syllables(phones: Sequence[str]) -> list[list[str]]:
    """The phones in syllables; a run without any vowel is one syllable."""
    nuclei = [n for n, phone in enumerate(phones) if phone in _VOWELS]
    if len(nuclei) < 2:
        return [list(phones)] if phones else []
    cuts = [_cut(phones, a, b) for a, b in zip(nuclei, nuclei[1:])]  # noqa: B905, RUF007
    return [list(phones[a:b]) for a, b in zip([0, *cuts], [*cuts, len(phones)], strict=True)]


def _cut(phones: Sequence[str], vowel: int, following: int) -> int:
    """Where the next syllable begins: the longest run before its vowel that can begin a word."""
    for start in range(vowel + 1, following + 1):
        run = phones[start:following]
        if len(run) <= 1 and "NG" not in run and "ZH" not in run:
            return start
        if " ".join(run) in _ONSETS:
            return start
    return following


def _letters(syllable: Sequence[str]) -> str:
    out = []
    for n, phone in enumerate(syllable):
        if syllable[n + 1 : n + 2] == ["R"] and phone in _BEFORE_R:
            out.append(_BEFORE_R[phone])
        elif phone == "AY" and n > 0:
            out.append("igh")
        elif phone == "EH" and n + 1 == len(syllable):
            out.append("eh")
        else:
            out.append(_VOWELS.get(phone) or _CONSONANTS.get(phone, phone.lower()))
    return "".join(out)

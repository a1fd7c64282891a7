"""Spoken numbers and weights: "nine and a half pounds", "9.5 lb", "nine pounds eight ounces", "four kilos", "half a stone".

In: plain tokens. Out: Number spans with their value. A pound is 0.45359237 kg and 16 ounces (NIST Handbook 44,
Appendix C; international yard and pound agreement of 1959); a stone is 14 pounds (British, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.knowledge.values import OUNCES_PER_POUND

__all__ = ["KG_PER_POUND", "POUNDS_PER_STONE", "Number", "numbers", "spoken"]

KG_PER_POUND = 0.45359237
POUNDS_PER_STONE = 14

_ONES = {w: n for n, w in enumerate(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen".split())}  # fmt: skip
_TENS = {w: 10 * n for n, w in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)}
_KILO, _GRAM = 1 / KG_PER_POUND, 0.001 / KG_PER_POUND
_POUNDS_IN = {
    **dict.fromkeys(("pound", "pounds", "lb"), 1.0),
    **dict.fromkeys(("ounce", "ounces", "oz"), 1 / OUNCES_PER_POUND),
    **dict.fromkeys(("kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes", "kg", "kgs"), _KILO),
    **dict.fromkeys(("gram", "grams", "gramme", "grammes", "g"), _GRAM),
    **dict.fromkeys(("stone", "stones"), float(POUNDS_PER_STONE)),
}
_FRACTIONS = {"half": 0.5, "quarter": 0.25}


@dataclass(frozen=True, slots=True)
class Number:
    """A spoken number: tokens start (included) to end (excluded); unit "lb" when a weight was said, value then in pounds."""

    start: int
    end: int
    value: float
    unit: str | None = None
    scale: float = 1.0  # pounds in one of the unit it was said in


def numbers(tokens: Sequence[str]) -> tuple[Number, ...]:
    """All numbers of the tokens, left to right, weights turned into pounds.

    Doctest:
        >>> [(n.value, n.unit) for n in numbers("a hen is nine and a half pounds".split())]
        [(9.5, 'lb')]
        >>> [(n.value, n.unit) for n in numbers("nine pounds eight ounces".split())]
        [(9.5, 'lb')]
    """
    out: list[Number] = []
    at = 0
    while at < len(tokens):
        found = _number(tokens, at)
        if found is None:
            at += 1
            continue
        found = _with_unit(tokens, found)
        out.append(found)
        at = found.end
    return tuple(out)


def spoken(value: float) -> str:
    """A number as a person says it: 9.5 -> "nine and a half", 4.54 -> "4.54"."""
    parts = {0.0: "", 0.25: " and a quarter", 0.5: " and a half", 0.75: " and three quarters"}
    whole = int(value)
    names = [*_ONES, *_TENS]
    if whole >= 20 or value - whole not in parts:
        return f"{value:g}"
    return f"{names[whole]}{parts[value - whole]}"


def _number(tokens: Sequence[str], at: int) -> Number | None:
    word = tokens[at]
    if word == "four" and tokens[at + 1 : at + 2] in (["weight"], ["weights"]):  # "for weight"
        return None
    if word[0].isdigit() or (word[0] == "." and word[1:].isdigit()):
        value, end = float(word), at + 1
        if end < len(tokens) and tokens[end].startswith(".") and tokens[end][1:].isdigit():
            value, end = value + float(tokens[end]), end + 1
    elif word in _ONES:
        value, end = float(_ONES[word]), at + 1
    elif word in _TENS:
        value, end = float(_TENS[word]), at + 1
        if end < len(tokens) and 0 < _ONES.get(tokens[end], 0) < 10:
            value, end = value + _ONES[tokens[end]], end + 1
    elif word in _FRACTIONS and _unit_after_article(tokens, at + 1):
        return Number(at, at + 2 + (tokens[at + 1] == "of"), _FRACTIONS[word])
    elif word in ("a", "one") and tokens[at + 1 : at + 2] in (["stone"], ["kilo"], ["pound"]):
        return Number(at, at + 1, 1.0)
    else:
        return None
    if end < len(tokens) and tokens[end] == "hundred":
        value, end = 100 * value, end + 1
        more = _number(tokens, end + (tokens[end : end + 1] == ["and"])) if end < len(tokens) - 1 else None
        if more and more.value < 100:
            value, end = value + more.value, more.end
    return _with_fraction(tokens, at, value, end)


def _unit_after_article(tokens: Sequence[str], at: int) -> bool:
    """ "a pound", "of a stone" after "half" or "quarter"."""
    rest = list(tokens[at : at + 3])
    rest = rest[1:] if rest[:1] == ["of"] else rest
    return rest[:1] == ["a"] and len(rest) > 1 and rest[1] in _POUNDS_IN


def _with_fraction(tokens: Sequence[str], at: int, value: float, end: int) -> Number:
    rest = tuple(tokens[end : end + 3])
    if rest[:1] == ("point",) and (digits := _digits(tokens, end + 1)):
        return Number(at, end + 1 + len(digits), value + float(f"0.{digits}"))
    if rest[:1] == ("point",) and len(rest) > 1 and rest[1].isdigit():
        return Number(at, end + 2, value + float(f"0.{rest[1]}"))
    if rest[:1] == ("and",) and len(rest) > 2 and rest[1] in ("a", "one") and rest[2] in _FRACTIONS:
        return Number(at, end + 3, value + _FRACTIONS[rest[2]])
    if rest[:2] == ("and", "half"):
        return Number(at, end + 2, value + 0.5)
    if rest[:3] == ("and", "three", "quarters"):
        return Number(at, end + 3, value + 0.75)
    if rest[:1] == ("1/2",):
        return Number(at, end + 1, value + 0.5)
    return Number(at, end, value)


def _digits(tokens: Sequence[str], at: int) -> str:
    """The figures spoken one by one from here: "five four" -> "54"; one that counts points or toes is none of them."""
    out = ""
    for n in range(at, len(tokens)):
        figure = 0 if tokens[n] == "oh" else _ONES.get(tokens[n], 10)
        if figure > 9 or (out and tokens[n + 1 : n + 2] in (["points"], ["toes"])):
            break
        out += str(figure)
    return out


def _with_unit(tokens: Sequence[str], found: Number) -> Number:
    """The number in pounds where a unit follows, smaller units and a half after it added ("nine pounds eight ounces")."""
    size = _POUNDS_IN.get(tokens[found.end]) if found.end < len(tokens) else None
    if size is None:
        return found
    end, value = found.end + 1, found.value * size
    if tuple(tokens[end : end + 3]) == ("and", "a", "half"):
        return Number(found.start, end + 3, value + 0.5 * size, "lb", size)
    start = end + (tokens[end : end + 1] == ["and"])
    more = _number(tokens, start) if start < len(tokens) else None
    smaller = _POUNDS_IN.get(tokens[more.end], size) if more and more.end < len(tokens) else size
    if more and smaller < size:
        return Number(found.start, more.end + 1, value + more.value * smaller, "lb", size)
    return Number(found.start, end, value, "lb", size)

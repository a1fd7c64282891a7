"""Spoken numbers and weights: "nine and a half pounds", "9.5 lb", "nine pounds eight ounces", "four kilos".

In: plain tokens. Out: Number spans with their value. A pound is 0.45359237 kg and 16 ounces (NIST Handbook 44,
Appendix C; international yard and pound agreement of 1959).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["KG_PER_POUND", "OUNCES_PER_POUND", "Number", "numbers", "spoken"]

KG_PER_POUND = 0.45359237
OUNCES_PER_POUND = 16

_ONES = {w: n for n, w in enumerate(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen".split())}  # fmt: skip
_TENS = {w: 10 * n for n, w in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)}
_POUNDS, _OUNCES = ("pound", "pounds", "lb"), ("ounce", "ounces", "oz")
_KILOS = ("kilo", "kilos", "kilogram", "kilograms", "kg", "kgs")
_GRAMS = ("gram", "grams", "g")
_FRACTIONS = {"half": 0.5, "quarter": 0.25}


@dataclass(frozen=True, slots=True)
class Number:
    """A spoken number: tokens start (included) to end (excluded); unit "lb" when a weight was said, else None."""

    start: int
    end: int
    value: float
    unit: str | None = None


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
    elif word == "half" and tokens[at + 1 : at + 3] == ["a", "pound"]:
        return Number(at, at + 2, 0.5)
    else:
        return None
    return _with_fraction(tokens, at, value, end)


def _with_fraction(tokens: Sequence[str], at: int, value: float, end: int) -> Number:
    rest = tuple(tokens[end : end + 3])
    if rest[:1] == ("point",) and len(rest) > 1 and rest[1] in _ONES and _ONES[rest[1]] < 10:
        return Number(at, end + 2, value + _ONES[rest[1]] / 10)
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


def _with_unit(tokens: Sequence[str], found: Number) -> Number:
    unit = tokens[found.end] if found.end < len(tokens) else ""
    if unit in _POUNDS:
        return _with_ounces(tokens, found)
    if unit in _OUNCES:
        return Number(found.start, found.end + 1, found.value / OUNCES_PER_POUND, "lb")
    if unit in _KILOS:
        return Number(found.start, found.end + 1, found.value / KG_PER_POUND, "lb")
    if unit in _GRAMS:
        return Number(found.start, found.end + 1, found.value / 1000 / KG_PER_POUND, "lb")
    return found


def _with_ounces(tokens: Sequence[str], found: Number) -> Number:
    end, value = found.end + 1, found.value
    rest = tokens[end : end + 4]
    if tuple(rest[:3]) == ("and", "a", "half"):
        return Number(found.start, end + 3, value + 0.5, "lb")
    start = end + (1 if rest[:1] == ["and"] else 0)
    more = _number(tokens, start) if start < len(tokens) else None
    if more and more.end < len(tokens) and tokens[more.end] in _OUNCES:
        return Number(found.start, more.end + 1, value + more.value / OUNCES_PER_POUND, "lb")
    return Number(found.start, end, value, "lb")

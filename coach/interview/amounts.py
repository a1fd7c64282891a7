"""Spoken amounts: "a hundred and six degrees", "eighteen to twenty-two weeks", "three sixteenths of an inch". Pure.

In: plain tokens of a sentence. Out: Amounts; `difference` compares one with a figure in another unit (pint converts).
Plain numbers and weights are read by coach.judge.numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from coach.judge.numbers import numbers
from coach.knowledge.questions import COUNTS, Number

__all__ = ["Amount", "amounts", "is_comparable", "is_right", "value_in"]

_UNITS = {
    **dict.fromkeys(("day", "days"), "day"), **dict.fromkeys(("week", "weeks"), "week"),
    **dict.fromkeys(("month", "months"), "month"), **dict.fromkeys(("year", "years"), "year"),
    **dict.fromkeys(("hour", "hours"), "hour"), **dict.fromkeys(("minute", "minutes"), "minute"),
    **dict.fromkeys(("inch", "inches"), "inch"), **dict.fromkeys(("centimeters", "centimeter", "cm"), "cm"),
    **dict.fromkeys(("millimeters", "millimeter", "mm"), "mm"), **dict.fromkeys(("percent", "per cent"), "percent"),
    **dict.fromkeys(("ounce", "ounces", "oz"), "ounce"), **dict.fromkeys(("fahrenheit", "f"), "degF"),
    **dict.fromkeys(("celsius", "c", "centigrade"), "degC"), **dict.fromkeys(("times", "time"), "times"),
    **dict.fromkeys(("foot", "feet"), "foot"), **dict.fromkeys(("finger", "fingers"), "fingers"),
}  # fmt: skip
_PARTS = {"half": 2, "halves": 2, "third": 3, "thirds": 3, "fourth": 4, "quarter": 4, "quarters": 4, "fifth": 5, "eighth": 8}
_PARTS |= {"eighths": 8, "sixteenth": 16, "sixteenths": 16, "fifths": 5, "fourths": 4}
_WHOLES = {("year",), ("month",), ("week",), ("day",), ("inch",)}  # "a month" is one
_BETWEEN = ("to", "or", "and", "through", "until")
_ROUNDED = 0.5  # of the unit said: how exactly a rounded figure in another unit can be meant


@dataclass(frozen=True, slots=True)
class Amount:
    """Tokens start (included) to end (excluded); low equals high unless a range was said. unit: see UNITS, or None."""

    start: int
    end: int
    low: float
    high: float
    unit: str | None = None


def amounts(tokens: Sequence[str]) -> tuple[Amount, ...]:
    """All amounts of the tokens, left to right, ranges joined.

    Doctest:
        >>> [(a.low, a.high, a.unit) for a in amounts("eighteen to twenty two weeks".split())]
        [(18.0, 22.0, 'week')]
        >>> [(a.low, a.unit) for a in amounts("a hundred and six degrees fahrenheit".split())]
        [(106.0, 'degF')]
    """
    found = _joined_ranges(tokens, [_with_unit(tokens, a) for a in _hundreds(tokens, _plain(tokens))])
    return tuple(found)


def value_in(amount: Amount, unit: str) -> tuple[float, float, float] | None:
    """Low and high in the unit, and how exact the figure can be; None when it counts something else.

    An amount said without a unit is taken in the unit asked for.
    """
    if unit == "percent" and amount.unit is None and amount.high <= 1:
        return 100 * amount.low, 100 * amount.high, 0.0  # "a quarter of the size"
    if amount.unit is None or amount.unit == unit:
        return amount.low, amount.high, 0.0
    if amount.unit in COUNTS or unit in COUNTS:
        return None
    factor = _converted(1.0, amount.unit, unit, is_step=True)
    if factor is None:
        return None
    low, high = (_converted(v, amount.unit, unit) or 0.0 for v in (amount.low, amount.high))
    return low, high, abs(factor) * (0.0 if _is_exact(amount.unit, unit) else _ROUNDED)


def is_comparable(amount: Amount, wanted: Number) -> bool:
    """Whether the amount counts the same kind of thing."""
    return value_in(amount, wanted.unit) is not None


def is_right(amount: Amount, wanted: Number) -> bool:
    """Whether the amount lies within the figure's tolerance; a range, when both its ends or its middle do."""
    found = value_in(amount, wanted.unit)
    if found is None:
        return False
    low, high, slack = found
    reach = wanted.within + slack + 1e-6 * max(1.0, wanted.value)
    near = [abs(v - wanted.value) <= reach for v in (low, high, (low + high) / 2)]
    return near[0] if low == high else (near[0] and near[1]) or (near[2] and (high - low) <= max(4 * wanted.within, 2))


def _is_exact(said: str, unit: str) -> bool:
    """Weeks are exactly seven days, weights are read exactly; months, years, degrees and lengths are said rounded."""
    return said == "pound" or {said, unit} <= {"day", "week", "hour", "minute"} or {said, unit} <= {"month", "year"}


def _plain(tokens: Sequence[str]) -> list[Amount]:
    found: list[Amount] = []
    taken: set[int] = set()
    for at, word in enumerate(tokens):
        if word in _PARTS and at and (above := _above(tokens, at)) is not None:
            start, value = above
            found.append(Amount(start, at + 1, value / _PARTS[word], value / _PARTS[word]))
            taken |= set(range(start, at + 1))
        if word == "half" and at not in taken and list(tokens[at + 1 : at + 2]) in (["a"], ["an"]):
            found.append(Amount(at, at + 2, 0.5, 0.5))
            taken |= {at, at + 1}
        is_rate = at and tokens[at - 1] in (*_UNITS, "degrees", "eggs", "of")  # "five times a day", "an eighth of an inch"
        if word in ("a", "an") and not is_rate and at not in taken and tuple(tokens[at + 1 : at + 2]) in _WHOLES:
            found.append(Amount(at, at + 1, 1.0, 1.0))
    for n in numbers(tokens):
        if not taken & set(range(n.start, n.end)):
            unit = "pound" if n.unit == "lb" else None
            found.append(Amount(n.start, n.end, n.value, n.value, unit))
    return sorted(found, key=lambda a: a.start)


def _above(tokens: Sequence[str], at: int) -> tuple[int, float] | None:
    """What stands above a fraction's line: "three" of "three sixteenths", "an" of "an eighth"."""
    before = tokens[at - 1]
    if tokens[at] == "half" and at >= 2 and tokens[at - 2 : at] == ["and", "a"]:
        return None  # "nine and a half" is read as a number
    if before in ("a", "an"):
        return at - 1, 1.0
    number = numbers([before])
    return (at - 1, number[0].value) if number and number[0].value < 20 else None


def _hundreds(tokens: Sequence[str], found: Sequence[Amount]) -> list[Amount]:
    """ "three hundred (and) sixty five", "a hundred", and "one sixty five" as people say it."""
    out: list[Amount] = []
    rest = list(found)
    for at, word in enumerate(tokens):
        if word == "hundred" and not any(a.start <= at < a.end for a in (*out, *found)):
            above = next((a for a in rest if a.end == at), None)
            value, start = (above.low * 100, above.start) if above else (100.0, max(0, at - 1))
            more = next((a for a in rest if a.start in (at + 1, at + 2) and a.low < 100), None)
            joins = more is not None and (more.start == at + 1 or tokens[at + 1] == "and")
            end = more.end if more and joins else at + 1
            value += more.low if more and joins else 0.0
            rest = [a for a in rest if a.end <= start or a.start >= end]
            out.append(Amount(start, end, value, value, more.unit if more and joins else None))
    for one in rest:
        last = out[-1] if out else None
        if last and last.end == one.start and last.low in (1.0, 2.0, 3.0) and 10 <= one.low < 100 and last.unit is None:
            value = last.low * 100 + one.low
            out[-1] = replace(one, start=last.start, low=value, high=value)
        else:
            out.append(one)
    return sorted(out, key=lambda a: a.start)


def _with_unit(tokens: Sequence[str], amount: Amount) -> Amount:
    if amount.unit == "pound":
        return amount
    rest = list(tokens[amount.end : amount.end + 4])
    at = 0
    while at < len(rest) and rest[at] in ("degrees", "degree", "of", "an", "a", "full", "whole"):
        at += 1
    if rest[at : at + 1] in (["square"], ["sq"]) and rest[at + 1 : at + 2] and rest[at + 1] in ("foot", "feet"):
        return replace(amount, end=amount.end + at + 2, unit="foot^2")
    unit = _UNITS.get(rest[at]) if at < len(rest) else None
    if unit in ("degF", "degC") and at == 0 and rest[0] in ("f", "c"):
        unit = unit if amount.low > 20 else None  # a grade, not a temperature
    return replace(amount, end=amount.end + at + 1, unit=unit) if unit else amount


def _joined_ranges(tokens: Sequence[str], found: Sequence[Amount]) -> list[Amount]:
    out: list[Amount] = []
    for one in found:
        last = out[-1] if out else None
        between = list(tokens[last.end : one.start]) if last else []
        joined = bool(last) and (between == [] or (len(between) == 1 and between[0] in _BETWEEN))
        if last and joined and last.low == last.high < one.low <= 3 * last.low + 3 and last.unit in (None, one.unit):
            spoken_as_range = between[:1] != ["and"] or "between" in tokens[max(0, last.start - 2) : last.start]
            if (between and spoken_as_range) or (not between and one.low - last.low <= 2):
                out[-1] = Amount(last.start, one.end, last.low, one.high, one.unit)
                continue
        out.append(one)
    return out


def _converted(value: float, said: str, unit: str, is_step: bool = False) -> float | None:
    import pint

    ureg = _registry()
    names = {"degF": "delta_degF", "degC": "delta_degC"} if is_step else {}
    try:
        return float(ureg.Quantity(value, names.get(said, said)).to(names.get(unit, unit)).magnitude)
    except pint.DimensionalityError:
        return None


@lru_cache(maxsize=1)
def _registry():  # type: ignore[no-untyped-def]
    import pint

    return pint.UnitRegistry()

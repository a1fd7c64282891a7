"""Spoken amounts, and figures compared across units."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.interview.amounts import amounts, is_comparable, is_right
from coach.judge.numbers import spoken
from coach.knowledge.questions import Number


@pytest.mark.parametrize(
    ("text", "low", "high", "unit"),
    [
        ("a hundred and six degrees", 106, 106, None),
        ("one hundred six degrees fahrenheit", 106, 106, "degF"),
        ("one sixty five", 165, 165, None),
        ("three hundred and sixty five eggs", 365, 365, None),
        ("ninety nine and a half", 99.5, 99.5, None),
        ("an eighth of an inch", 0.125, 0.125, "inch"),
        ("three sixteenths", 0.1875, 0.1875, None),
        ("half a square foot", 0.5, 0.5, "foot^2"),
        ("eighteen to twenty two weeks", 18, 22, "week"),
        ("between 105 and 107", 105, 107, None),
        ("four or five hens", 4, 5, None),
        ("a month", 1, 1, "month"),
        ("41.1 degrees celsius", 41.1, 41.1, "degC"),
        ("three times a day", 3, 3, "times"),
    ],
)
def test_amounts_as_people_say_them(text: str, low: float, high: float, unit: str | None) -> None:
    """One amount, its range and its unit."""
    (found,) = amounts(text.split())
    assert (found.low, found.high, found.unit) == (low, high, unit)


@pytest.mark.parametrize(
    ("text", "wanted", "right"),
    [
        ("three weeks", Number(21, "day"), True),
        ("four weeks", Number(21, "day"), False),
        ("twelve months", Number(1, "year"), True),
        ("41 degrees celsius", Number(106, "degF", 1.6), True),
        ("39 degrees celsius", Number(106, "degF", 1.6), False),
        ("thirty seven point five celsius", Number(99.5, "degF", 0.6), True),
        ("74 celsius", Number(165, "degF"), True),
        ("five months", Number(20, "week", 3), True),
        ("four point three kilograms", Number(9.5, "pound", 0.13), True),
        ("nine pounds eight ounces", Number(9.5, "pound", 0.13), True),
        ("a quarter", Number(22, "percent", 6), True),
        ("24 to 26 hours", Number(25, "hour", 1.5), True),
        ("10 to 40 hours", Number(25, "hour", 1.5), False),
    ],
)
def test_units_are_converted(text: str, wanted: Number, right: bool) -> None:
    """Factors by pint; 1 lb = 0.45359237 kg (NIST Handbook 44, Appendix C), 0 C = 32 F."""
    assert is_right(amounts(text.split())[0], wanted) is right


def test_another_kind_of_thing_is_not_compared() -> None:
    """Hours do not answer a question for degrees, nor feathers one for days."""
    assert not is_comparable(amounts(["three", "hours"])[0], Number(106, "degF"))
    assert not is_comparable(amounts(["three", "times"])[0], Number(21, "day"))


@pytest.mark.parametrize("celsius", [0, 20, 37, 41, 74, 100])
def test_degrees_agree_with_pint(celsius: int) -> None:
    """Any temperature said in whole Celsius is right for the same one in Fahrenheit, and wrong two degrees on."""
    fahrenheit = float(pint.UnitRegistry().Quantity(celsius, "degC").to("degF").magnitude)
    said = amounts([str(celsius), "celsius"])[0]
    assert is_right(said, Number(fahrenheit, "degF")) and not is_right(said, Number(fahrenheit + 2, "degF"))


@given(st.integers(min_value=0, max_value=19))
def test_every_small_number_is_read_back(value: int) -> None:
    """A number spoken as a word is that number."""
    assert amounts([*spoken(value).split(), "days"])[0].low == value

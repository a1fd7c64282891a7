"""Spoken numbers and weights."""

from __future__ import annotations

import doctest

import pytest

import coach.judge.delivery
import coach.judge.numbers
from coach.judge.numbers import KG_PER_POUND, OUNCES_PER_POUND, numbers, spoken


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("nine and a half pounds", 9.5, "lb"),
        ("9.5 lb", 9.5, "lb"),
        ("9 .5 pounds", 9.5, "lb"),
        ("nine point five pounds", 9.5, "lb"),
        ("nine pounds eight ounces", 9.5, "lb"),
        ("nine pounds and eight ounces", 9.5, "lb"),
        ("nine pounds and a half", 9.5, "lb"),
        ("six and three quarters", 6.75, None),
        ("thirty six ounces", 2.25, "lb"),
        ("twenty five", 25.0, None),
        ("5", 5.0, None),
        ("half a stone", 7.0, "lb"),
        ("one stone two pounds", 16.0, "lb"),
        ("a quarter of a pound", 0.25, "lb"),
        ("four point five four", 4.54, None),
        ("one point oh eight kilos", 1.08 / KG_PER_POUND, "lb"),
        ("two kilos seven hundred grams", 2.7 / KG_PER_POUND, "lb"),
        ("seven hundred and fifty grammes", 0.75 / KG_PER_POUND, "lb"),
        ("three and a half kilograms", 3.5 / KG_PER_POUND, "lb"),
        ("a kilo and a half", 1.5 / KG_PER_POUND, "lb"),
    ],
)
def test_a_number_is_read_however_it_is_said(text: str, value: float, unit: str | None) -> None:
    """Words, digits, halves, pounds with ounces all give one value."""
    (found,) = numbers(text.split())
    assert (found.value, found.unit) == (pytest.approx(value), unit)


def test_a_pound_is_the_legal_pound() -> None:
    """1 lb = 0.45359237 kg and 16 oz. Source: NIST Handbook 44, Appendix C (yard and pound agreement of 1959)."""
    assert KG_PER_POUND == 0.45359237
    assert OUNCES_PER_POUND == 16
    (kilos,) = numbers("4.5359237 kilograms".split())
    assert kilos.value == pytest.approx(10.0)


def test_what_is_spoken_is_read_back() -> None:
    """Every weight in quarter pounds up to 19.75 comes back from its spoken form."""
    for quarter in range(1, 80):
        (found,) = numbers(spoken(quarter / 4).split())
        assert found.value == quarter / 4


def test_text_without_numbers_has_none() -> None:
    """Ordinary words give no number."""
    assert numbers("the comb is bright and healthy".split()) == ()


def test_docstring_examples_are_true() -> None:
    """The examples in the docstrings run."""
    for module in (coach.judge.numbers, coach.judge.delivery):
        assert doctest.testmod(module).failed == 0

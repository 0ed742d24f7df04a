"""Digits follow the uncertainty."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.rounding import MINUS, about, decimals_for, fixed, interval, plain, with_uncertainty

numbers = st.floats(-1e12, 1e12, allow_nan=False)
spreads = st.floats(1e-6, 1e6)
anything = st.floats(allow_nan=True, allow_infinity=True)


def number(text: str) -> float:
    return float(text.replace(MINUS, "-"))


@pytest.mark.parametrize(
    ("uncertainty", "decimals"),
    [
        (0.0996, 2),
        (0.0994, 3),
        (1.0, 1),
        (0.99, 2),
        (0.999, 1),
        (9.96, 0),
        (12.0, 0),
        (123.0, -1),
        (99.6, -1),
        (9.96e-24, 24),
    ],
)
def test_an_uncertainty_shows_two_digits(uncertainty: float, decimals: int) -> None:
    assert decimals_for(uncertainty) == decimals


@pytest.mark.parametrize("exponent", range(-300, 12))
def test_rounding_up_to_the_next_power_of_ten_takes_a_decimal_away(exponent: int) -> None:
    assert decimals_for(float(f"9.96e{exponent}")) == -exponent
    assert decimals_for(float(f"9.94e{exponent}")) == 1 - exponent


@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [
        (58.123, 1.1, "58.1"),
        (58.123, 0.0996, "58.12"),
        (1234.5, 123.0, "1230"),
        (-18.04, 0.12, "−18.04"),
        (-0.004, 0.11, "0.00"),
        (0.5, 0.0, "0.5"),
        (0.5, math.nan, "0.5"),
        (0.5, math.inf, "0.5"),
        (math.nan, 0.1, "nan"),
        (-math.inf, 0.1, "−inf"),
        (1 / 3, 1e-30, "0.333333333"),
    ],
)
def test_a_value_has_the_digits_of_its_uncertainty(value: float, uncertainty: float, text: str) -> None:
    assert with_uncertainty(value, uncertainty) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (1.0, "1"),
        (58.123, "58.12"),
        (0.00012345, "0.0001234"),
        (99996.0, "100000"),
        (0.99996, "1"),
        (-3.14159, "−3.142"),
        (1200.0, "1200"),
        (1e22, "1e+22"),
        (1.7976931348623157e308, "1.798e+308"),
        (math.nan, "nan"),
        (math.inf, "inf"),
        (-math.inf, "−inf"),
        (1e-300, "0"),
    ],
)
def test_a_plain_number_has_four_digits(value: float, text: str) -> None:
    assert plain(value) == text


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (-0.04, 1, "0.0"),
        (-0.06, 1, "−0.1"),
        (1250.0, -2, "1200"),
        (1350.0, -2, "1400"),
        (2.5, 0, "2"),
        (-7.0, 0, "−7"),
    ],
)
def test_fixed_decimals_have_a_true_minus_and_no_negative_zero(value: float, decimals: int, text: str) -> None:
    assert fixed(value, decimals) == text


@pytest.mark.parametrize(
    ("low", "high", "ends"),
    [
        (55.93, 60.28, ("55.9", "60.3")),
        (2.0, 2.0, ("2", "2")),
        (-1.04, 1.04, ("−1.04", "1.04")),
        (math.nan, 1.0, ("nan", "1")),
        (-math.inf, math.inf, ("−inf", "inf")),
        (980.0, 1420.0, ("980", "1420")),
    ],
)
def test_both_ends_of_an_interval_have_the_same_digits(low: float, high: float, ends: tuple[str, str]) -> None:
    assert interval(low, high) == ends


@pytest.mark.parametrize(
    ("parts", "texts"),
    [
        ((58.1, 55.9, 60.3), ("58", "56", "60")),
        ((5.0, 4.9996, 5.0004), ("5.0000", "4.9996", "5.0004")),
        ((0.0, 0.0, 0.0), ("0", "0", "0")),
        ((1.0, -math.inf, 2.0), ("1", "−inf", "2")),
        ((-12.4, -13.0, -11.0), ("−12", "−13", "−11")),
    ],
)
def test_about_gives_two_digits_unless_the_range_is_narrow(
    parts: tuple[float, float, float], texts: tuple[str, str, str]
) -> None:
    assert about(*parts) == texts


@given(numbers, spreads)
def test_rounding_stays_within_a_twentieth_of_the_uncertainty(value: float, spread: float) -> None:
    assert abs(number(with_uncertainty(value, spread)) - value) <= 0.0501 * spread + abs(value) * 1e-15


@given(numbers, st.integers(1, 6))
def test_a_plain_number_is_near_the_value(value: float, digits: int) -> None:
    assert number(plain(value, digits)) == pytest.approx(value, rel=0.51 * 10.0 ** (1 - digits), abs=1e-12)


@given(numbers, spreads)
def test_the_rounded_ends_of_an_interval_keep_their_order(low: float, width: float) -> None:
    high = low + width
    assume(high > low)
    first, last = interval(low, high)
    assert number(first) <= number(last)
    assert abs(number(first) - low) <= 0.02 * (high - low) + abs(low) * 1e-15


@given(anything, anything, anything)
def test_no_number_is_too_odd_to_be_shown(a: float, b: float, c: float) -> None:
    texts = [plain(a), with_uncertainty(a, b), *interval(a, b), *about(a, b, c)]
    assert all(text and not text.startswith("-") for text in texts)
    assert all(len(text) < 400 for text in texts)

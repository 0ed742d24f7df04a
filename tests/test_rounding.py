"""Digits follow the uncertainty."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.rounding import (
    MINUS,
    SHORT_DIGITS,
    about,
    decimals_for,
    duration,
    fixed,
    interval,
    plain,
    time_span,
    with_uncertainty,
)

numbers = st.floats(-1e12, 1e12, allow_nan=False)
spreads = st.floats(1e-6, 1e6)
anything = st.floats(allow_nan=True, allow_infinity=True)


def number(text: str) -> float:
    return float(text.replace(MINUS, "-"))


@pytest.mark.parametrize(
    ("uncertainty", "decimals"),
    [
        (0.0996, 2),
        (0.03, 2),
        (0.0299, 3),
        (0.0068, 3),
        (1.0, 1),
        (2.99, 1),
        (3.0, 0),
        (9.96, 0),
        (12.0, 0),
        (123.0, -1),
        (400.0, -2),
        (9.96e-24, 24),
    ],
)
def test_an_uncertainty_shows_two_digits_up_to_29_and_one_beyond(uncertainty: float, decimals: int) -> None:
    assert decimals_for(uncertainty) == decimals


@pytest.mark.parametrize("exponent", range(-300, 12))
def test_rounding_up_to_the_next_power_of_ten_takes_a_decimal_away(exponent: int) -> None:
    assert decimals_for(float(f"9.96e{exponent}"), 2) == -exponent
    assert decimals_for(float(f"9.94e{exponent}"), 2) == 1 - exponent


@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [
        (58.123, 1.1, "58.1"),
        (58.123, 0.0996, "58.12"),
        (5.2, 0.0068, "5.200"),
        (58.15, 0.4, "58.2"),
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
        (0.00012345, "0.0001235"),
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
        (1250.0, -2, "1300"),
        (1350.0, -2, "1400"),
        (2.5, 0, "3"),
        (-2.5, 0, "−3"),
        (0.125, 2, "0.13"),
        (2.675, 2, "2.68"),
        (math.nan, 1, "nan"),
        (-math.inf, 1, "−inf"),
        (-7.0, 0, "−7"),
    ],
)
def test_fixed_decimals_have_a_true_minus_and_no_negative_zero(value: float, decimals: int, text: str) -> None:
    assert fixed(value, decimals) == text


@pytest.mark.parametrize(
    ("low", "high", "uncertainty", "ends"),
    [
        (55.93, 60.28, 1.1, ("55.9", "60.3")),
        (5.1867, 5.2133, 0.0068, ("5.187", "5.213")),
        (2.0, 2.0, 0.0, ("2", "2")),
        (-1.04, 1.04, 0.53, ("−1.0", "1.0")),
        (1.01, 1.02, 10.0, ("1.010", "1.020")),
        (math.nan, 1.0, 1.0, ("nan", "1")),
        (-math.inf, math.inf, 1.0, ("−inf", "inf")),
        (980.0, 1420.0, 110.0, ("980", "1420")),
    ],
)
def test_both_ends_of_an_interval_have_the_digits_of_the_uncertainty(
    low: float, high: float, uncertainty: float, ends: tuple[str, str]
) -> None:
    assert interval(low, high, uncertainty) == ends


@pytest.mark.parametrize(
    ("parts", "texts"),
    [
        ((345.0, 337.0, 353.0), ("345", "337", "353")),
        ((345.0, 333.0, 357.0), ("345", "333", "357")),
        ((292.0, 287.0, 297.0), ("292", "287", "297")),
        ((1.0, 0.99, 1.01), ("1.00", "0.99", "1.01")),
        ((1.0, 0.9902, 1.0098), ("1.00", "0.99", "1.01")),
        ((58.1, 55.9, 60.3), ("58.1", "55.9", "60.3")),
        ((1234.0, 1111.0, 1357.0), ("1230", "1110", "1360")),
        ((1234.0, 1230.0, 1238.0), ("1234", "1230", "1238")),
        ((5.0, 4.9996, 5.0004), ("5.0000", "4.9996", "5.0004")),
        ((0.0, 0.0, 0.0), ("0", "0", "0")),
        ((345.6, 345.6, 345.6), ("346", "346", "346")),
        ((1.0, -math.inf, 2.0), ("1", "−inf", "2")),
        ((-12.4, -13.0, -11.0), ("−12.4", "−13.0", "−11.0")),
    ],
)
def test_about_has_the_digits_of_its_range_and_three_at_most(
    parts: tuple[float, float, float], texts: tuple[str, str, str]
) -> None:
    assert about(*parts) == texts


@given(st.floats(-1e6, 1e6), st.floats(0, 1e5), st.floats(0, 1e5))
def test_about_prints_a_range_that_holds_its_value(value: float, below: float, above: float) -> None:
    low, high = value - below, value + above
    texts = about(value, low, high)
    middle, first, last = map(number, texts)
    assert first <= middle <= last
    decimals = {len(text.partition(".")[2]) for text in texts}
    if high > low and (high - low) / 2 > 1e-9:
        assert len(decimals) == 1
        unit = 10.0 ** -decimals_for((high - low) / 2, 1)
        # No end moves by more than half of the first digit of half the width.
        assert max(abs(first - low), abs(last - high), abs(middle - value)) <= 0.51 * unit + 1e-9
        if high - low > unit:
            assert first < last


@given(st.floats(1, 1e6), st.floats(1e-4, 0.5))
def test_about_has_three_digits_unless_the_range_is_narrow(value: float, share: float) -> None:
    text = about(value, value * (1 - share), value * (1 + share))[0]
    digits = len(text.replace(".", "").strip("0"))
    # A range of 0.5 % or more is seen in three digits.
    assert digits <= SHORT_DIGITS or share < 0.01


@pytest.mark.parametrize(
    ("hours", "text"),
    [
        (0.1667, "10 min"),
        (0.0, "0 min"),
        (0.75, "45 min"),
        (1.0, "1.0 h"),
        (5.18, "5.2 h"),
        (12.42, "12.4 h"),
        (123.4, "123 h"),
    ],
)
def test_a_duration_is_said_in_minutes_or_hours(hours: float, text: str) -> None:
    assert duration(hours) == text


@pytest.mark.parametrize(
    ("low", "high", "texts"),
    [
        (5.183, 5.7, ("5.2 h", "5.7 h")),
        (5.18, 5.2, ("5.18 h", "5.20 h")),
        (0.5, 0.9, ("30 min", "54 min")),
        (0.5, 1.2, ("0.5 h", "1.2 h")),
    ],
)
def test_both_ends_of_a_time_span_have_one_unit_and_differ(low: float, high: float, texts: tuple[str, str]) -> None:
    assert time_span(low, high) == texts


@given(numbers, spreads)
def test_rounding_stays_within_a_sixth_of_the_uncertainty(value: float, spread: float) -> None:
    assert abs(number(with_uncertainty(value, spread)) - value) <= 0.1667 * spread + abs(value) * 1e-15


@given(numbers, st.integers(1, 6))
def test_a_plain_number_is_near_the_value(value: float, digits: int) -> None:
    assert number(plain(value, digits)) == pytest.approx(value, rel=0.51 * 10.0 ** (1 - digits), abs=1e-12)


@given(numbers, spreads)
def test_the_rounded_ends_of_an_interval_keep_their_order(low: float, width: float) -> None:
    high = low + width
    assume(high > low)
    first, last = interval(low, high, width / 4)
    assert number(first) <= number(last)
    assert abs(number(first) - low) <= 0.042 * (high - low) + abs(low) * 1e-15


@given(anything, anything, anything)
def test_no_number_is_too_odd_to_be_shown(a: float, b: float, c: float) -> None:
    texts = [plain(a), with_uncertainty(a, b), *interval(a, b, c), *about(a, b, c), *time_span(a, b)]
    assert all(text and not text.startswith("-") for text in texts)
    assert all(len(text) < 400 for text in texts)

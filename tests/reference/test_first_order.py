"""First-order response against worked examples of an open textbook, and against its definition."""

from __future__ import annotations

import math

import pytest

from reportgen.calc.response import first_order, time_to_reach

# OpenStax Calculus vol. 2, section 2.8 (exponential growth and decay) and section 4.3 (separable equations).
# Temperatures there are in degrees Fahrenheit, times in minutes or hours; the curve takes any unit.


def rate_from_one_reading(start: float, surroundings: float, reading: float, after: float) -> float:
    """Return k of a curve through one later reading, found from the curve by halving, not by its inverse."""
    low, high = 1e-6, 1e6
    for _ in range(200):
        middle = math.sqrt(low * high)
        if first_order(after, start, surroundings, middle, 0.0) < reading:
            low = middle
        else:
            high = middle
    return 1 / middle


@pytest.mark.parametrize(
    ("constants", "printed"),
    [
        pytest.param(1, 63.21, id="step-share-1-tau"),
        pytest.param(2, 86.47, id="step-share-2-tau"),
        pytest.param(3, 95.02, id="step-share-3-tau"),
    ],
)
def test_share_of_the_step_done(constants: int, printed: float) -> None:
    assert 100 - float(first_order(constants * 1.3, 100.0, 0.0, 1.3, 0.0)) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("share", "printed"),
    [
        pytest.param(0.50, 0.6931, id="half-time"),
        pytest.param(0.90, 2.3026, id="time-to-90-percent"),
        pytest.param(0.95, 2.9957, id="time-to-95-percent"),
    ],
)
def test_time_to_a_share_of_the_step(share: float, printed: float) -> None:
    assert time_to_reach(1 - share, 1.0, 0.0, 1.0, 0.0) == pytest.approx(printed, abs=0.00005)


@pytest.mark.parametrize(
    ("start", "surroundings", "reading", "after", "printed"),
    [
        pytest.param(200, 70, 180, 2, 0.08353, id="openstax-calculus2-2.8-coffee"),
        pytest.param(200, 75, 190, 1, 0.08338, id="openstax-calculus2-4.3-pizza"),
    ],
)
def test_rate_constant_from_one_reading(
    start: float, surroundings: float, reading: float, after: float, printed: float
) -> None:
    assert rate_from_one_reading(start, surroundings, reading, after) == pytest.approx(printed, abs=0.000005)


@pytest.mark.parametrize(
    ("start", "surroundings", "reading", "after", "target", "printed", "half_digit"),
    [
        pytest.param(200, 70, 180, 2, 175, 2.56, 0.005, id="openstax-calculus2-2.8-coffee-175F"),
        pytest.param(200, 70, 180, 2, 155, 5.09, 0.005, id="openstax-calculus2-2.8-coffee-155F"),
        # Asked for to the nearest half minute.
        pytest.param(200, 75, 185, 2, 175, 3.5, 0.25, id="openstax-calculus2-2.8-check-175F"),
        pytest.param(200, 75, 185, 2, 155, 7.0, 0.25, id="openstax-calculus2-2.8-check-155F"),
        # The book prints 6.12, cut off; 6.126 rounds to 6.13.
        pytest.param(200, 75, 190, 1, 150, 6.13, 0.005, id="openstax-calculus2-4.3-pizza-150F"),
        pytest.param(450, 70, 330, 10, 75, 114, 0.5, id="openstax-calculus2-4.3-cake-75F"),
        # The book prints 24 h 57 min because it rounds k to 0.118; unrounded it is 24.91 h.
        pytest.param(210, 20, 170, 2, 30, 24.91, 0.005, id="openstax-calculus2-4.3-ice-cream-30F"),
    ],
)
def test_time_to_a_temperature(
    start: float,
    surroundings: float,
    reading: float,
    after: float,
    target: float,
    printed: float,
    half_digit: float,
) -> None:
    time_constant = 1 / rate_from_one_reading(start, surroundings, reading, after)
    assert time_to_reach(target, start, surroundings, time_constant, 0.0) == pytest.approx(printed, abs=half_digit)


def test_temperature_at_a_time() -> None:
    # OpenStax Calculus vol. 2, section 4.3, coffee of 70 degC, room 20 degC, k 0.125/min, after 10 min.
    assert float(first_order(10.0, 70.0, 20.0, 1 / 0.125, 0.0)) == pytest.approx(34.3, abs=0.05)


@pytest.mark.parametrize(
    ("surroundings", "printed"),
    [
        pytest.param(25.0, 25.54, id="openstax-calculus2-2.8-tea-in-the-room"),
        pytest.param(5.0, 18.97, id="openstax-calculus2-2.8-tea-in-the-refrigerator"),
    ],
)
def test_colder_surroundings_cool_sooner(surroundings: float, printed: float) -> None:
    assert time_to_reach(70.0, 100.0, surroundings, 1 / 0.02, 0.0) == pytest.approx(printed, abs=0.005)

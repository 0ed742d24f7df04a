"""The grid, the derivatives and the limits of the search for a first-order response, each against plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from reportgen.calc import response_search
from reportgen.calc.response_search import (
    DELAY,
    FLOOR,
    START,
    TIME_CONSTANT,
    ResponseGrid,
    first_order,
    inverse_normal_matrix,
    least_squares_step,
    search_limits,
)

HOURS = np.array([0.25, 0.5, 0.8, 1.0, 1.5, 2.25, 3.0, 4.5])
READINGS = np.array([24.0, 25.0, 17.5, 11.0, 4.0, -3.0, -8.5, -12.0])


@pytest.mark.parametrize("constant", [0.3, 1.1, 6.0])
@pytest.mark.parametrize("delay", [0.0, 0.5, 0.7, 1.2])
def test_each_point_of_the_grid_is_a_straight_line_fitted_to_the_decay(constant: float, delay: float) -> None:
    grid = ResponseGrid(HOURS, READINGS, np.array([0.2, constant]), np.array([delay, 1.4]))
    decay = np.where(delay < HOURS, np.exp(-(HOURS - delay) / constant), 1.0)
    design = np.column_stack((decay, 1 - decay))  # by start and by floor
    (start, floor), squares = np.linalg.lstsq(design, READINGS, rcond=None)[:2]
    known = np.linalg.inv(design.T @ design)
    assert grid.squares[1, 0] == pytest.approx(squares[0])
    assert (grid.start[1, 0], grid.floor[1, 0]) == pytest.approx((start, floor))
    assert (grid.start_variance[1, 0], grid.floor_variance[1, 0]) == pytest.approx((known[0, 0], known[1, 1]))


def test_a_grid_over_readings_that_all_lie_before_the_delay_has_no_slope() -> None:
    grid = ResponseGrid(HOURS, READINGS, np.array([1.0]), np.array([5.0]))
    away = READINGS - READINGS.mean()
    assert grid.squares[0, 0] == pytest.approx(away @ away)
    assert np.isfinite([grid.start[0, 0], grid.floor[0, 0]]).all()


def test_derivatives_are_those_of_the_curve() -> None:
    fit = least_squares_step(HOURS, READINGS)
    beside = np.abs(HOURS - fit.parameters[DELAY]) > 2e-6  # where it sets out the curve has two slopes
    for index in range(4):
        step = np.zeros(4)
        step[index] = 1e-6
        up, down = (first_order(HOURS, *(fit.parameters + sign * step)) for sign in (1, -1))
        assert fit.jacobian[beside, index] == pytest.approx((up - down)[beside] / 2e-6, abs=1e-6)


def test_what_is_held_is_not_fitted() -> None:
    whole = least_squares_step(HOURS, READINGS)
    assert whole.free == (START, FLOOR, TIME_CONSTANT, DELAY)
    undelayed = least_squares_step(HOURS, READINGS, allow_delay=False)
    assert (undelayed.free, undelayed.parameters[DELAY]) == ((START, FLOOR, TIME_CONSTANT), 0.0)
    held = least_squares_step(HOURS, READINGS, known_start=26.0)
    assert (held.free, held.parameters[START]) == ((FLOOR, TIME_CONSTANT, DELAY), 26.0)
    for fit in (whole, undelayed, held):
        assert fit.jacobian.shape == (len(HOURS), len(fit.free))
        assert fit.residuals == pytest.approx(READINGS - first_order(HOURS, *fit.parameters))
    # Where the curve is smooth, residuals at the least sum of squares stand at right angles to what can be changed.
    assert undelayed.jacobian.T @ undelayed.residuals == pytest.approx([0, 0, 0], abs=1e-5)
    assert whole.residual_sum_of_squares <= min(undelayed.residual_sum_of_squares, held.residual_sum_of_squares)


def test_a_floor_is_found_from_above_and_a_ceiling_from_below() -> None:
    falling = least_squares_step(HOURS, first_order(HOURS, 25.0, -15.0, 1.2, 0.4))
    rising = least_squares_step(HOURS, first_order(HOURS, -15.0, 25.0, 1.2, 0.4))
    assert falling.parameters == pytest.approx([25.0, -15.0, 1.2, 0.4], rel=1e-6)
    assert rising.parameters == pytest.approx([-15.0, 25.0, 1.2, 0.4], rel=1e-6)


def test_covariance_of_independent_noise_is_the_inverse_of_the_normal_matrix_whatever_the_units() -> None:
    jacobian = np.column_stack((np.ones(5), np.arange(5.0), np.array([1.0, 0.0, 2.0, 0.0, 1.0])))
    expected = np.linalg.inv(jacobian.T @ jacobian)
    assert inverse_normal_matrix(jacobian) == pytest.approx(expected)
    units = np.array([1e-9, 1.0, 1e7])
    assert inverse_normal_matrix(jacobian * units) == pytest.approx(expected / np.outer(units, units))
    # What cannot be told apart shares what is known of the sum.
    same = inverse_normal_matrix(np.column_stack((np.ones(4), np.ones(4))))
    assert same == pytest.approx(np.full((2, 2), 1 / 16))


def test_limits_of_the_search_follow_the_span_and_leave_three_readings_after_the_delay() -> None:
    # Hundredth and twentyfold of 4.25 h; the delay ends with the fourth reading from the end.
    assert search_limits(HOURS, True) == ((pytest.approx(0.0425), 0.0), (pytest.approx(85.0), 1.5))
    assert search_limits(HOURS, False) == ((pytest.approx(0.0425), 0.0), (pytest.approx(85.0), 0.0))
    assert search_limits(HOURS[:2], True)[1][1] == 0.25


def test_three_readings_lie_after_the_delay_even_where_the_fall_comes_last() -> None:
    fit = least_squares_step(HOURS, [20.0, 20.0, 20.0, 20.0, 20.0, 20.0, 10.0, 0.0])
    assert fit.parameters[DELAY] == pytest.approx(1.5)


def test_a_fall_between_two_readings_is_not_fitted_faster_than_is_searched() -> None:
    hours = np.arange(12) / 4
    fit = least_squares_step(hours, np.where(hours < 1, 20.0, -5.0))
    assert fit.parameters[TIME_CONSTANT] >= search_limits(hours, True)[0][0]


def test_a_reading_at_the_very_end_of_the_delay_is_still_in_it() -> None:
    derivatives = response_search._derivatives(np.array([0.5, 0.75]), np.array([25.0, -15.0, 1.2, 0.5]))[:, DELAY]
    assert derivatives[0] == 0
    assert derivatives[1] > 0

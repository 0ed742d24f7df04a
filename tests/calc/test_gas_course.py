"""Windows, their scatter, changes of a rate and flat stretches: hand-worked numbers, and what must always hold."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.calc import gas_course

HALF = 0.5
QUARTERS = np.arange(0, 4.01, 0.25)  # hours, a reading every quarter hour
#: Times on a grid of 1/8 h: sums are exact.
times = st.lists(st.integers(1, 8), min_size=1, max_size=40).map(lambda steps: np.cumsum([0, *steps]) / 8)


def drawn_at(hours: np.ndarray, *pieces: tuple[float, float]) -> np.ndarray:
    """Return the litres drawn so far at rates [L/h] that last until given hours."""
    total, since = np.zeros(len(hours)), 0.0
    for until, rate in pieces:
        total += rate * (np.clip(hours, since, until) - since)
        since = until
    return total


def fitted(hours: np.ndarray, drawn: np.ndarray, changes: int, reading: float = 0.1) -> gas_course.RateFit:
    fit = gas_course.fit_rates(hours, drawn, reading, changes, np.zeros(len(hours)), HALF, 3)
    assert fit is not None
    return fit


# Windows


def test_windows_end_on_the_first_reading_that_is_late_enough_and_the_rest_joins_the_last() -> None:
    # 0 to 0.6, 0.6 to 1.3; the last 0.4 h would be too short.
    assert gas_course.window_bounds([0, 0.3, 0.6, 0.9, 1.3, 1.7], HALF) == [(0, 2), (2, 5)]


def test_no_window_in_less_than_its_length() -> None:
    assert gas_course.window_bounds([0, 0.2, 0.49], HALF) == []
    assert gas_course.window_bounds([], HALF) == []


@given(times)
def test_windows_are_never_too_short_and_leave_nothing_out(at: np.ndarray) -> None:
    bounds = gas_course.window_bounds(at, HALF)
    assert all(at[last] - at[first] >= HALF for first, last in bounds)
    assert all(before[1] == after[0] for before, after in itertools.pairwise(bounds))
    assert bool(bounds) == (at[-1] >= HALF)
    if bounds:
        assert (bounds[0][0], bounds[-1][1]) == (0, len(at) - 1)


# Scatter


def test_scatter_of_exact_rates_is_their_standard_deviation() -> None:
    # 50, 60, 70: standard deviation 10; chi-squared of 2 degrees of freedom at 0.975 and 0.025: 7.378 and 0.0506.
    found = gas_course.excess_scatter([50, 60, 70], [1, 1, 1], np.zeros((3, 3)))
    assert (found.mean, found.observed, found.explained, found.excess) == pytest.approx((60, 10, 0, 10))
    assert found.low == pytest.approx(10 * (2 / 7.378) ** 0.5, rel=1e-3)
    assert found.high == pytest.approx(10 * (2 / 0.050636) ** 0.5, rel=1e-3)


def test_errors_that_neighbouring_windows_share_explain_more_of_the_scatter() -> None:
    # Five readings of 1 L, four windows of an hour: variance 2, covariance of neighbours -1.
    # (4 x 2 - (4 x 2 - 2 x 3) / 4) / 3 = 2.5 against 2 for independent windows.
    errors = 2 * np.eye(4) - np.eye(4, k=1) - np.eye(4, k=-1)
    found = gas_course.excess_scatter([58, 62, 58, 62], [1, 1, 1, 1], errors)
    assert found.explained**2 == pytest.approx(2.5)
    assert found.observed**2 == pytest.approx(16 / 3)
    assert found.excess**2 == pytest.approx(16 / 3 - 2.5)


def test_mean_is_amount_over_time() -> None:
    assert gas_course.excess_scatter([30, 60], [1, 2], np.zeros((2, 2))).mean == pytest.approx(50)


def test_agreement_beyond_the_readings_is_no_proof_of_steadiness() -> None:
    # Rates that agree exactly though each may be wrong by 3 L/h; chi-squared of 3 degrees of freedom at 0.025: 0.2158.
    found = gas_course.excess_scatter([60, 60, 60, 60], [1, 1, 1, 1], 9 * np.eye(4))
    assert found.excess == 0
    assert found.high == pytest.approx(3 * (3 / 0.2158 - 1) ** 0.5, rel=1e-3)


@given(
    st.lists(st.tuples(st.floats(1, 100), st.floats(0.5, 2)), min_size=2, max_size=12),
    st.floats(0, 20),
    st.floats(0.5, 3),
)
def test_scatter_lies_in_its_interval_and_scales(pairs: list[tuple[float, float]], error: float, factor: float) -> None:
    rates, hours = (np.array(part) for part in zip(*pairs, strict=True))
    found = gas_course.excess_scatter(rates, hours, error**2 * np.eye(len(rates)))
    assert 0 <= found.low <= found.excess <= found.high
    assert found.excess <= found.observed
    scaled = gas_course.excess_scatter(factor * rates, hours, (factor * error) ** 2 * np.eye(len(rates)))
    assert scaled.high == pytest.approx(factor * found.high, abs=1e-9)


def test_interval_of_the_scatter_holds_the_truth_as_often_as_it_says() -> None:
    draw = np.random.default_rng(7)
    held, middle = 0, []
    for _ in range(600):
        level = draw.normal(0, 0.6, 9)
        rates = 60 + draw.normal(0, 3, 8) + np.diff(level) / HALF
        errors = (2 * np.eye(8) - np.eye(8, k=1) - np.eye(8, k=-1)) * 0.36 / HALF**2
        found = gas_course.excess_scatter(rates, np.full(8, HALF), errors)
        held += found.low <= 3 <= found.high
        middle.append(found.observed**2 - found.explained**2)
    assert 0.92 <= held / 600 <= 0.99
    assert np.mean(middle) == pytest.approx(9, abs=0.8)  # the method of moments is right on average


def test_one_window_has_no_scatter() -> None:
    with pytest.raises(ValueError, match="two windows"):
        gas_course.excess_scatter([60], [1], [[0]])


# Changes


def test_rate_without_changes_is_the_slope_with_its_uncertainty() -> None:
    # Readings at 0, 1, 2, 3, 4 h: sum of squares about the middle 10 h².
    fit = fitted(np.arange(5.0), 60 * np.arange(5.0), 0, reading=2.0)
    assert fit.rates == pytest.approx([60])
    assert fit.covariance[0, 0] ** 0.5 == pytest.approx(2 / 10**0.5)


def test_two_readings_give_the_difference_of_two_readings() -> None:
    fit = fitted(np.array([0.0, 0.5]), np.array([0.0, 30.0]), 0, reading=1.0)
    assert fit.rates == pytest.approx([60])
    assert fit.covariance[0, 0] ** 0.5 == pytest.approx(2**0.5 / 0.5)


@pytest.mark.parametrize("moment", [0.5, 1.0, 1.5, 1.8125, 2.125, 2.4375, 2.75, 3.5])
def test_change_is_found_where_it_was(moment: float) -> None:
    fit = fitted(QUARTERS, drawn_at(QUARTERS, (moment, 45), (4, 62)), 1)
    assert fit.changes == pytest.approx([moment])
    assert fit.rates == pytest.approx([45, 62])


def test_two_changes_are_found_where_they_were() -> None:
    fit = fitted(QUARTERS, drawn_at(QUARTERS, (1.25, 60), (2.5, 0), (4, 60)), 2)
    assert fit.changes == pytest.approx([1.25, 2.5])
    assert fit.rates == pytest.approx([60, 0, 60], abs=1e-6)


def test_change_is_found_in_a_log_of_rates() -> None:
    flow = np.where(QUARTERS <= 2, 60.0, 90.0)
    fit = gas_course.fit_rates(QUARTERS, flow, 1.0, 1, None, HALF, 3)
    assert fit is not None
    assert 2 <= fit.changes[0] < 2.25
    assert fit.rates == pytest.approx([60, 90])
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([1 / 9**0.5, 1 / 8**0.5])


def test_rates_beside_a_change_are_those_of_ordinary_least_squares() -> None:
    # Amounts are start + rate 1 x time until 1.5 h + rate 2 x time after it.
    drawn = drawn_at(QUARTERS, (1.5, 45), (4, 62)) + 0.01 * (-1.0) ** np.arange(17)
    fit = fitted(QUARTERS, drawn, 1, reading=0.5)
    assert fit.changes == (1.5,)
    design = np.column_stack((np.ones(17), np.minimum(QUARTERS, 1.5), np.maximum(QUARTERS - 1.5, 0)))
    parameters, squares = np.linalg.lstsq(design, drawn, rcond=None)[:2]
    assert fit.rates == pytest.approx(parameters[1:])
    assert fit.sum_of_squares == pytest.approx(squares[0])
    assert fit.covariance == pytest.approx(0.5**2 * np.linalg.inv(design.T @ design)[1:, 1:])
    # Less a start, two rates and a moment; a second block has a start of its own, a log of rates has none.
    assert fit.freedom == 17 - 4
    block = (np.arange(17) >= 9).astype(int)
    parted = gas_course.fit_rates(QUARTERS, drawn, 0.5, 1, block, HALF, 3)
    assert parted is not None
    assert parted.freedom == 17 - 5
    flow = gas_course.fit_rates(QUARTERS, np.full(17, 60.0), 0.5, 0, None, HALF, 3)
    assert flow is not None
    assert flow.freedom == 17 - 1


def test_two_changes_leave_room_for_three_pieces() -> None:
    at = np.arange(0, 1.51, 0.25)
    drawn = drawn_at(at, (0.5, 60), (1.0, 0), (1.5, 60))
    fit = fitted(at, drawn, 2)
    assert fit.changes == (0.5, 1.0)
    assert fit.rates == pytest.approx([60, 0, 60], abs=1e-6)
    assert gas_course.fit_rates(at[:-1], drawn[:-1], 0.1, 2, np.zeros(6), HALF, 3) is None
    assert gas_course.fit_rates(at, drawn, 0.1, 2, np.zeros(7), HALF, 4) is None


def mean_and_variance(values: np.ndarray, reading: float) -> tuple[float, float]:
    """Return the mean of a log of rates as a fit, and its variance times how many they are."""
    fit = gas_course.fit_rates(np.arange(float(len(values))), values, reading, 0, None, HALF, 3)
    assert fit is not None
    return float(fit.rates[0]), float(fit.covariance[0, 0]) * len(values)


def test_scatter_counts_for_more_where_neighbours_agree() -> None:
    # 1, 1, 1, 1, -1, -1, -1, -1: squares 8 over 7; seven products of neighbours, 3 - 1 + 3 = 5 of 8: (1 + 5/8) / (3/8).
    values = np.repeat([61.0, 59.0], 4)
    assert mean_and_variance(values, 0.1) == pytest.approx((60, 8 / 7 * 13 / 3))
    # By turns they do not: no less than independent ones.
    assert mean_and_variance(np.tile([61.0, 59.0], 4), 0.1) == pytest.approx((60, 8 / 7))
    # Seven are too few to show it.
    seven = np.repeat([61.0, 59.0], 4)[:7]
    assert mean_and_variance(seven, 0.1)[1] == pytest.approx(float(np.var(seven, ddof=1)))
    # A long ramp agrees nearly whole; no more than nine tenths are allowed for: (1 + 0.9) / (1 - 0.9).
    ramp = np.linspace(50, 70, 200)
    assert mean_and_variance(ramp, 0.1)[1] == pytest.approx(19 * float(np.var(ramp, ddof=1)))
    # Two readings have one degree of freedom: 50 and 70 have the variance 200.
    assert mean_and_variance(np.array([50.0, 70.0]), 0.1) == pytest.approx((60, 200))
    # Readings that could be as wrong as they scatter are.
    assert mean_and_variance(values, 5.0) == pytest.approx((60, 25))


def test_a_lone_reading_between_two_refills_tells_no_rate_and_hides_none_beside_it() -> None:
    at = np.concatenate((np.arange(0, 1.01, 0.25), [1.5], np.arange(2, 4.01, 0.25)))
    drawn = drawn_at(at, (1, 60), (3, 45), (4, 62))
    block = np.concatenate((np.zeros(5, dtype=int), [1], np.full(9, 2)))
    # Of all pairs of moments some leave that reading a piece of its own; the best do not.
    fit = gas_course.fit_rates(at, drawn, 0.1, 2, block, HALF, 1)
    assert fit is not None
    assert fit.rates == pytest.approx([60, 45, 62], abs=1)
    assert fit.changes[1] == pytest.approx(3.0, abs=0.1)


def test_each_side_of_a_change_needs_room() -> None:
    at = np.array([0.0, 0.5, 1.0, 1.5])
    assert gas_course.fit_rates(at, 60 * at, 0.1, 1, np.zeros(4), HALF, 3) is None
    assert gas_course.fit_rates(QUARTERS[:4], QUARTERS[:4], 0.1, 1, np.zeros(4), HALF, 1) is None


@given(st.floats(-500, 500), st.floats(0, 4), st.integers(3, 13))
def test_what_a_refill_adds_does_not_matter(jump: float, moment: float, first: int) -> None:
    drawn = drawn_at(QUARTERS, (moment, 45), (4, 62))
    block = (np.arange(len(QUARTERS)) >= first).astype(int)
    plain = gas_course.fit_rates(QUARTERS, drawn, 0.5, 1, block, HALF, 3)
    moved = gas_course.fit_rates(QUARTERS, drawn + jump * block, 0.5, 1, block, HALF, 3)
    assert plain is not None
    assert moved is not None
    assert moved.sum_of_squares == pytest.approx(plain.sum_of_squares, abs=1e-6)
    assert moved.rates == pytest.approx(plain.rates, abs=1e-4)


def test_noise_that_neighbours_share_widens_the_uncertainty() -> None:
    at = np.arange(0, 4.001, 0.05)
    wave = 2 * np.sin(2 * math.pi * at)
    smooth = fitted(at, 60 * at + wave, 0)
    mixed = fitted(at, 60 * at + np.random.default_rng(1).permutation(wave), 0)
    assert smooth.covariance[0, 0] > 5 * mixed.covariance[0, 0]


def test_drift_of_a_jet_whose_pressure_falls() -> None:
    # From 80 to 40 L/h in four hours: 80 t - 5 t² is drawn.
    drift = gas_course.fit_drift(QUARTERS, 80 * QUARTERS - 5 * QUARTERS**2, 0.1, np.zeros(len(QUARTERS)))
    assert drift is not None
    assert (drift.first, drift.last) == pytest.approx((80, 40))
    rates = gas_course.fit_drift(QUARTERS, 80 - 10 * QUARTERS, 0.1, None)
    assert rates is not None
    assert (rates.first, rates.last) == pytest.approx((80, 40))


def test_uncertainty_of_a_drift_is_that_of_ordinary_least_squares() -> None:
    # In a log of rates: slope times span; 17 readings a quarter hour apart have squares of 25.5 h² about the middle.
    flow = gas_course.fit_drift(QUARTERS, 80 - 10 * QUARTERS, 0.5, None)
    assert flow is not None
    assert flow.difference_uncertainty == pytest.approx(0.5 * 4 / 25.5**0.5)
    assert flow.sum_of_squares == pytest.approx(0, abs=1e-20)
    # In amounts drawn: twice the coefficient of the square, times span.
    drawn = 80 * QUARTERS - 5 * QUARTERS**2 + 0.01 * (-1.0) ** np.arange(17)
    drift = gas_course.fit_drift(QUARTERS, drawn, 0.5, np.zeros(17))
    assert drift is not None
    design = np.column_stack((np.ones(17), QUARTERS, QUARTERS**2))
    known = np.linalg.inv(design.T @ design)
    (_, first, square), squares = np.linalg.lstsq(design, drawn, rcond=None)[:2]
    assert (drift.first, drift.last) == pytest.approx((first, first + 8 * square))
    assert drift.difference_uncertainty == pytest.approx(0.5 * 8 * known[2, 2] ** 0.5)
    assert drift.sum_of_squares == pytest.approx(squares[0])
    # Scatter larger than the errors of reading counts: slope by its standard error, times span.
    restless = 80 - 10 * QUARTERS + 3 * (-1.0) ** np.arange(17)
    scattered = gas_course.fit_drift(QUARTERS, restless, 0.1, None)
    assert scattered is not None
    assert scattered.difference_uncertainty == pytest.approx(4 * float(stats.linregress(QUARTERS, restless).stderr))
    # Three readings are as many as there are to find, and four one more.
    assert gas_course.fit_drift([0, 1, 2], [0, 60, 110], 0.1, [0, 0, 0]) is not None
    assert gas_course.fit_drift([0, 1, 2], [0, 60, 110], 0.1, [0, 0, 1]) is None


def test_uncertainty_of_a_drift_is_that_of_simulated_readings() -> None:
    draw = np.random.default_rng(3)
    found = [
        gas_course.fit_drift(QUARTERS, 60 * QUARTERS + draw.normal(0, 1, len(QUARTERS)), 1.0, np.zeros(len(QUARTERS)))
        for _ in range(500)
    ]
    known = [drift for drift in found if drift is not None]
    assert len(known) == 500
    stated = np.mean([drift.difference_uncertainty for drift in known])
    assert np.std([drift.last - drift.first for drift in known]) == pytest.approx(stated, rel=0.2)


def test_two_readings_tell_no_drift() -> None:
    assert gas_course.fit_drift([0, 1], [0, 60], 0.1, [0, 0]) is None


def test_readings_with_a_refill_between_any_two_tell_no_rate() -> None:
    at, block = np.arange(12.0), np.arange(12)
    for changes in (0, 1):
        assert gas_course.fit_rates(at, 60 * at, 0.1, changes, block, HALF, 1) is None
    assert gas_course.fit_drift(at, 60 * at, 0.1, block) is None


def test_readings_of_one_instant_tell_no_rate_and_those_of_two_no_drift() -> None:
    assert gas_course.fit_rates([1.0], [60.0], 0.1, 0, None, HALF, 3) is None
    assert gas_course.fit_rates([1.0, 1.0, 1.0], [60.0, 61.0, 62.0], 0.1, 0, None, HALF, 3) is None
    assert gas_course.fit_drift([1.0, 1.0, 1.0], [60.0, 61.0, 62.0], 0.1, None) is None
    # Three readings at each of two instants tell what was drawn between them, and not when.
    twice = np.repeat([0.0, 1.0], 3)
    assert gas_course.fit_drift(twice, 60 * twice, 0.1, np.zeros(6)) is None
    assert gas_course.fit_rates(twice, 60 * twice, 0.1, 0, np.zeros(6), HALF, 3) is not None
    for at in ([0.0, 1.0, 1.0], [0.0, 0.0, 1.0]):
        assert gas_course.fit_drift(at, [60.0, 50.0, 52.0], 0.1, None) is not None


# Flat stretches


def test_flat_stretch_is_found_from_its_first_to_its_last_reading() -> None:
    drawn = drawn_at(QUARTERS, (1, 60), (2, 0), (4, 60))
    assert gas_course.flat_stretches(QUARTERS, drawn, 1.0, HALF) == [(4, 8)]
    assert gas_course.flat_stretches(QUARTERS, 60 * QUARTERS, 1.0, HALF) == []


def test_the_longer_of_two_stretches_that_overlap_is_taken() -> None:
    # From 0 on, flat within 1 for an hour; from 0.5 on for two, which share what lies between.
    values = [0.0, 0, 0.5, 0.5, 1, 1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 9]
    at = 0.25 * np.arange(12)
    assert gas_course.flat_stretches(at, values, 1.0, HALF) == [(2, 10)]
    # They may share an end.
    assert gas_course.flat_stretches(at[:7], [0.0, 0, 0, 1, 1, 1, 2], 0.5, HALF) == [(0, 2), (3, 5)]
    assert gas_course.flat_stretches(at[:5], [0.0, 0, 1, 2, 2], 1.0, HALF) == [(0, 2), (2, 4)]


def test_flat_stretch_shorter_than_asked_is_none() -> None:
    drawn = drawn_at(QUARTERS, (1, 60), (1.25, 0), (4, 60))
    assert gas_course.flat_stretches(QUARTERS, drawn, 1.0, HALF) == []


@given(times, st.data())
def test_flat_stretches_are_long_and_do_not_overlap(at: np.ndarray, data: st.DataObject) -> None:
    values = np.cumsum(data.draw(st.lists(st.integers(0, 3), min_size=len(at), max_size=len(at)))).astype(float)
    found = gas_course.flat_stretches(at, values, 2.0, HALF)
    assert all(at[last] - at[first] >= HALF and values[last] - values[first] <= 2 for first, last in found)
    assert all(before[1] <= after[0] for before, after in itertools.pairwise(found))


@given(times, st.data())
def test_marked_stretches_are_the_flat_ones_of_a_mark(at: np.ndarray, data: st.DataObject) -> None:
    marked = np.array(data.draw(st.lists(st.booleans(), min_size=len(at), max_size=len(at))))
    found = gas_course.marked_stretches(at, marked, HALF)
    flat = gas_course.flat_stretches(at, marked.astype(float), 0.5, HALF)
    assert found == [pair for pair in flat if marked[pair[0]]]


# Lines


def test_change_along_a_line() -> None:
    # 10, 8, 6 at 0, 1, 2 h falls by 4; the weights are -1, 0 and 1.
    change, spread, weights = gas_course.line_change([0, 1, 2], [10, 8, 6])
    assert (change, spread) == pytest.approx((-4, 0))
    assert weights == pytest.approx([-1, 0, 1])
    # 0, 3, 0: no change, scatter² = 6 with one degree of freedom, times 1² + 1².
    change, spread, _ = gas_course.line_change([0, 1, 2], [0, 3, 0])
    assert (change, spread) == pytest.approx((0, (6 * 2) ** 0.5))
    # Two readings at one instant, and one later, are three.
    assert gas_course.line_change([0, 0, 1], [1, 3, 5])[0] == pytest.approx(3)
    assert gas_course.line_change([0, 1, 1], [1, 3, 5])[0] == pytest.approx(3)
    # 1, -1, -1, 1 an hour apart, whenever that is: scatter² = 4 over 2, weights -0.9, -0.3, 0.3, 0.9.
    change, spread, weights = gas_course.line_change([7, 8, 9, 10], [1, -1, -1, 1])
    assert (change, spread) == pytest.approx((0, (2 * 1.8) ** 0.5))
    assert weights == pytest.approx([-0.9, -0.3, 0.3, 0.9])


@pytest.mark.parametrize("at", [[0, 1], [1, 1, 1]], ids=["two readings", "one instant"])
def test_line_without_scatter_is_refused(at: list[float]) -> None:
    with pytest.raises(ValueError, match="three readings"):
        gas_course.line_change(at, [0.0] * len(at))

"""Helpers on irregular series: hand-checked numbers, and what shifting and scaling must not change."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.calc import series

HOLD = 5.0  # minutes

# Times on a grid of quarter minutes and values on one of eighths: shifts and halvings are exact.
steps = st.lists(st.integers(1, 200), min_size=2, max_size=40)
levels = st.integers(-400, 400).map(lambda eighths: eighths / 8)
shifts = st.integers(-4000, 4000).map(lambda quarters: quarters / 4)
factors = st.sampled_from([0.25, 0.5, 2.0, 8.0])


@st.composite
def logs(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    times = np.cumsum(draw(steps)) / 4
    return times, np.array(draw(st.lists(levels, min_size=len(times), max_size=len(times))))


def test_value_between_two_readings() -> None:
    assert series.value_at([0, 10, 30], [5.0, 1.0, 2.0], 4) == pytest.approx(3.4)
    assert series.value_at([0, 10, 30], [5.0, 1.0, 2.0], 30) == 2.0


@pytest.mark.parametrize("instant", [-0.1, 30.1])
def test_no_value_outside_the_readings(instant: float) -> None:
    assert series.value_at([0, 10, 30], [5.0, 1.0, 2.0], instant) is None
    assert series.value_at([], [], instant) is None


def test_nearest_reading_within_tolerance() -> None:
    assert series.nearest_within([0, 10, 30], [5.0, 1.0, 2.0], 14, 5) == 1
    assert series.nearest_within([0, 10, 30], [5.0, 1.0, 2.0], 5, 5) == 0
    assert series.nearest_within([0, 10, 30], [5.0, 1.0, 2.0], 20, 5) is None
    assert series.nearest_within([], [], 20, 5) is None


def test_mean_over_time_weighs_by_the_time_between() -> None:
    # 10 for nine parts of the time and a fall to 0 over the last: (9 * 10 + 5) / 10.
    assert series.time_weighted_mean([0, 9, 10], [10.0, 10.0, 0.0], 0, 10) == pytest.approx(9.5)
    # Inside one step: the middle of the straight line.
    assert series.time_weighted_mean([0, 10], [0.0, 10.0], 2, 6) == pytest.approx(4.0)


def test_mean_is_over_the_part_of_the_window_that_readings_cover() -> None:
    assert series.time_weighted_mean([5, 10], [0.0, 10.0], 0, 7) == pytest.approx(2.0)
    assert series.time_weighted_mean([5, 10], [0.0, 10.0], 11, 12) is None
    assert series.time_weighted_mean([5, 10], [0.0, 10.0], 7, 7) == pytest.approx(4.0)
    assert series.time_weighted_mean([], [], 0, 1) is None
    with pytest.raises(ValueError, match="ends before it starts"):
        series.time_weighted_mean([5, 10], [0.0, 10.0], 7, 6)


@given(log=logs(), shift=shifts, factor=factors)
def test_mean_shifts_and_scales_with_the_readings(
    log: tuple[np.ndarray, np.ndarray], shift: float, factor: float
) -> None:
    times, values = log
    start, end = float(times[0]) + 0.25, float(times[-1]) + 3
    mean = series.time_weighted_mean(times, values, start, end)
    assert mean is not None
    assert values.min() - 1e-9 <= mean <= values.max() + 1e-9
    moved = series.time_weighted_mean(times + shift, values * factor + 3, start + shift, end + shift)
    assert moved == pytest.approx(mean * factor + 3, abs=1e-8)


@given(log=logs(), share=st.floats(0.1, 0.9))
def test_means_of_two_parts_make_the_mean_of_the_whole(log: tuple[np.ndarray, np.ndarray], share: float) -> None:
    times, values = log
    start, end = float(times[0]), float(times[-1])
    middle = start + share * (end - start)
    whole, first, second = (
        series.time_weighted_mean(times, values, *window) for window in ((start, end), (start, middle), (middle, end))
    )
    assert whole is not None
    assert first is not None
    assert second is not None
    assert first * (middle - start) + second * (end - middle) == pytest.approx(
        whole * (end - start), abs=1e-6 * (end - start)
    )


def test_of_two_readings_at_the_end_of_a_window_the_one_on_its_side_counts() -> None:
    times, values = [0, 5, 5, 10], [0.0, 2.0, 10.0, 12.0]
    assert series.time_weighted_mean(times, values, 0, 5) == pytest.approx(1.0)
    assert series.time_weighted_mean(times, values, 5, 10) == pytest.approx(11.0)
    assert series.time_weighted_mean(times, values, 0, 10) == pytest.approx(6.0)
    assert series.time_weighted_mean(times, values, 10, 12) == 12.0


def test_running_median_takes_out_single_spikes() -> None:
    assert series.running_median_of_three([5, 4, 30, 3, 2, -40, 1]).tolist() == [5, 5, 4, 3, 2, 1, 1]
    assert series.running_median_of_three([5, -40]).tolist() == [5, -40]
    # The lowest of complete threes, not the last reading alone.
    assert series.running_median_of_three([3, 2, 1]).min() == 2


@given(values=st.lists(levels, min_size=3, max_size=30))
def test_running_median_is_the_median_of_each_three(values: list[float]) -> None:
    smooth = series.running_median_of_three(values)
    assert smooth[1:-1].tolist() == [float(np.median(values[i : i + 3])) for i in range(len(values) - 2)]


def test_scatter_is_that_of_the_errors_and_not_of_the_course() -> None:
    errors = np.random.default_rng(7).normal(0.0, 0.5, 4000)
    course = 20.0 - 0.01 * np.arange(4000)
    # Its own standard deviation over 4000 readings is about 2 % of it.
    assert series.scatter(course + errors) == pytest.approx(0.5, rel=0.08)
    assert series.scatter(course) == pytest.approx(0.0, abs=1e-12)
    # Second differences of 0, 1, 0, 1, ... are -2 and 2: median deviation 2, so 2 / 0.6745 / sqrt(6).
    assert series.scatter([0.0, 1.0] * 6) == pytest.approx(1.21052, abs=5e-6)


def test_scatter_of_a_log_of_days_is_told_by_a_sample_of_it() -> None:
    errors = np.random.default_rng(8).normal(0.0, 0.5, 3 * series.SCATTER_SAMPLE)
    # Of 37 500 second differences, or 30 000: good to about a percent.
    assert series.scatter(errors) == pytest.approx(0.5, rel=0.03)
    assert series.scatter(errors[:60_000]) == pytest.approx(0.5, rel=0.03)


def test_few_readings_show_no_scatter() -> None:
    assert series.scatter([0.0, 1.0] * 3 + [0.0]) == 0.0
    assert series.scatter([0.0, 1.0] * 4) > 0.0
    assert series.scatter([]) == 0.0


def test_gaps_by_hand_and_by_logger() -> None:
    minutes = np.array([0, 6, 33, 45, 72, 78, 141, 150])  # 27 minutes by hand is no gap, 63 is
    assert series.gaps(minutes * 60).tolist() == [5]
    assert series.gaps(minutes / 60, hour=1.0).tolist() == [5]
    logger = np.concatenate((np.arange(0, 30), np.arange(42, 60), np.arange(67, 80)))  # of 13 and 8 minutes
    assert series.gaps(logger * 60.0).tolist() == [29]
    assert series.gaps([0.0, 7200.0]).tolist() == [0]
    assert series.gaps([0.0]).tolist() == []
    assert series.gaps([]).tolist() == []


@pytest.mark.parametrize(
    ("usual", "step", "is_gap"),
    [
        pytest.param(4, 12.0, False, id="three usual steps"),
        pytest.param(4, 12.1, True, id="more than three"),
        pytest.param(1, 10.0, False, id="ten minutes"),
        pytest.param(1, 10.1, True, id="more than ten"),
        pytest.param(27, 60.0, False, id="an hour"),
        pytest.param(27, 60.1, True, id="more than an hour"),
    ],
)
def test_what_is_a_gap_among_steps_of_so_many_minutes(usual: float, step: float, is_gap: bool) -> None:
    minutes = np.cumsum([0.0, *[usual] * 5, step, *[usual] * 5])
    assert series.gaps(minutes, hour=60).tolist() == ([5] if is_gap else [])


@given(log=logs(), shift=shifts)
def test_gaps_stay_where_they_are_when_time_is_shifted(log: tuple[np.ndarray, np.ndarray], shift: float) -> None:
    times, _ = log
    assert series.gaps(times + shift, hour=60).tolist() == series.gaps(times, hour=60).tolist()


def test_a_crossing_is_interpolated_between_its_two_readings() -> None:
    crossing = series.first_holding_crossing([0, 10, 20, 30], [9.0, 3.0, -1.0, -4.0], 0, HOLD)
    assert crossing == series.Crossing(1, 2, 17.5, True)


def test_a_crossing_must_hold_at_the_first_reading_five_minutes_later() -> None:
    times = [0, 10, 16, 20, 26]
    assert series.first_holding_crossing(times, [2.0, -2.0, 1.0, -1.0, -3.0], 0, HOLD) == series.Crossing(
        2, 3, 18.0, True
    )
    # A reading within the five minutes does not decide, neither way.
    blip = series.first_holding_crossing([0, 10, 12, 16], [2.0, -2.0, 1.0, -1.0], 0, HOLD)
    assert blip == series.Crossing(0, 1, 5.0, True)
    assert series.first_holding_crossing([0, 10, 12, 16], [2.0, -2.0, -1.0, 1.0], 0, HOLD) is None


def test_a_crossing_without_a_later_reading_is_unconfirmed() -> None:
    crossing = series.first_holding_crossing([0, 10, 14], [2.0, 0.0, -1.0], 0, HOLD)
    assert crossing == series.Crossing(0, 1, 10.0, False)
    last = series.first_holding_crossing([0, 10], [2.0, -2.0], 0, 0)
    assert last == series.Crossing(0, 1, 5.0, False)


@pytest.mark.parametrize("values", [[3.0, 2.0, 1.0], [-1.0, -2.0, -3.0], [-1.0, 1.0, 2.0], [0.0, 0.0, 0.0]])
def test_no_downward_crossing(values: list[float]) -> None:
    assert series.first_holding_crossing([0, 10, 20], values, 0, HOLD) is None


def test_a_start_below_that_warms_up_crosses_later() -> None:
    crossing = series.first_holding_crossing([0, 10, 20, 30], [-1.0, 1.0, -1.0, -2.0], 0, HOLD)
    assert crossing == series.Crossing(1, 2, 15.0, True)


@given(log=logs(), threshold=levels, shift=shifts, factor=factors)
def test_crossings_shift_with_time_and_scale_with_values(
    log: tuple[np.ndarray, np.ndarray], threshold: float, shift: float, factor: float
) -> None:
    times, values = log
    plain = series.first_holding_crossing(times, values, threshold, HOLD)
    moved = series.first_holding_crossing(times + shift, values * factor, threshold * factor, HOLD)
    if plain is None:
        assert moved is None
        return
    assert values[plain.before] > threshold >= values[plain.after]
    assert times[plain.before] <= plain.instant <= times[plain.after]
    assert moved is not None
    assert (moved.before, moved.after, moved.confirmed) == (plain.before, plain.after, plain.confirmed)
    assert moved.instant == pytest.approx(plain.instant + shift, abs=1e-9)


def test_steepest_fall_of_a_kinked_line() -> None:
    times = np.arange(0, 180, 5.0)
    values = np.where(times < 60, 25.0, np.where(times < 120, 25 - 0.4 * (times - 60), 1 - 0.1 * (times - 120)))
    fall = series.steepest_slope(times, values, 3, 15)
    assert fall is not None
    assert fall.rate == pytest.approx(0.4)
    assert fall.end - fall.start >= 15
    assert fall.points == 4
    assert 60 <= fall.start < fall.end <= 120
    assert fall.standard_uncertainty == pytest.approx(0, abs=1e-9)


def test_uncertainty_of_the_steepest_fall_from_the_resolution() -> None:
    # Three readings 7.5 minutes apart of a thermometer with steps of 1 K: (1 / sqrt(12)) / sqrt(2 * 7.5^2).
    fall = series.steepest_slope([0, 7.5, 15], [20, 15, 10], 3, 15, resolution=1.0)
    assert fall is not None
    assert fall.rate == pytest.approx(2 / 3)
    assert fall.standard_uncertainty == pytest.approx(1 / math.sqrt(12) / math.sqrt(112.5))


def test_uncertainty_of_the_steepest_fall_from_the_scatter_about_its_line() -> None:
    # Slopes of pairs of 9, 5, 4, 0 at 0, 5, 10, 15: -4/5, -5/10, -9/15, -1/5, -5/10, -4/5: median -0.55.
    fall = series.steepest_slope([0, 5, 10, 15], [9.0, 5.0, 4.0, 0.0], 3, 15)
    assert fall is not None
    assert fall.rate == pytest.approx(0.55)
    # Residuals about the line: 0.375, -0.875, 0.875, -0.375; squares 1.8125 over 2, and 125 of the times.
    assert fall.standard_uncertainty == pytest.approx(math.sqrt(1.8125 / 2 / 125))
    assert (fall.start, fall.end, fall.points) == (0, 15, 4)
    # A coarser thermometer hides scatter as small.
    rounded = series.steepest_slope([0, 5, 10, 15], [9.0, 5.0, 4.0, 0.0], 3, 15, resolution=6.0)
    assert rounded is not None
    assert rounded.standard_uncertainty == pytest.approx(math.sqrt(3 / 125))


def test_readings_closer_than_a_fifteenth_of_the_window_are_medians() -> None:
    # Half a minute apart in windows of 15: two in a bin; one slip of four readings a bin does not count.
    times = np.arange(0, 60.25, 0.25)
    values = 20 - 0.3 * times
    values[2::4] += 40.0
    fall = series.steepest_slope(times, values, 3, 15)
    assert fall is not None
    assert fall.rate == pytest.approx(0.3, abs=1e-6)
    assert fall.points == 16


def test_one_wrong_reading_hardly_moves_the_steepest_fall() -> None:
    times = np.arange(0, 120.0)
    values = 25 - 0.2 * times
    values[50] = 52.0
    fall = series.steepest_slope(times, values, 3, 15)
    assert fall is not None
    assert fall.rate == pytest.approx(0.2, rel=0.05)


def test_fifteen_minutes_are_fifteen_minutes_however_the_hours_are_counted() -> None:
    times = 1_772_000_000.0 + 180.0 * np.arange(6)  # 15 minutes from first to last
    assert series.steepest_slope(times, [5, 4, 3, 2, 1, 0], 3, 900) is not None
    assert series.steepest_slope(times / 3600, [5, 4, 3, 2, 1, 0], 3, 0.25) is not None
    assert series.steepest_slope(times[:5], [5, 4, 3, 2, 1], 3, 900) is None


def test_windows_that_get_the_robust_line_are_the_steepest_ones_and_not_the_longest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # By hand 12 K in an hour, and then by a logger 6 K in a quarter of an hour.
    times = np.concatenate(([0.0, 30, 60], np.arange(61, 81)))
    values = np.where(times <= 60, 20 - 0.2 * times, 8 - 0.4 * (times - 60))
    monkeypatch.setattr(series, "SLOPE_CANDIDATES", 1)
    fall = series.steepest_slope(times, values, 3, 15)
    assert fall is not None
    assert fall.rate == pytest.approx(0.4)


def test_medians_of_bins_stand_at_their_mean_times() -> None:
    # Three readings a minute in bins of one: the middle one of 0, 0.2 and 0.7 min stands at 0.3 min.
    minutes = np.arange(16.0)
    times = 100 + (minutes[:, None] + np.array([0.0, 0.2, 0.7])).ravel()
    slips = np.where(minutes % 2 == 0, 5.0, 1.0)[:, None] * np.array([0.0, 1.0, -1.0])
    values = (20 - minutes[:, None] + slips).ravel()
    fall = series.steepest_slope(times, values, 3, 15)
    assert fall is not None
    assert (fall.rate, fall.points) == (pytest.approx(1.0), 16)
    assert (fall.start, fall.end) == pytest.approx((100.3, 115.3))
    assert fall.standard_uncertainty == pytest.approx(0.0, abs=1e-9)
    # Of two, the value between them: half a slip lower, by turns 2.5 and 0.5.
    at, pairs = np.delete(times, slice(1, None, 3)), np.delete(values, slice(1, None, 3))
    even = series.steepest_slope(at, pairs + np.repeat(-slips[:, 2] / 2, 2), 3, 15)
    assert even is not None
    assert even.rate == pytest.approx(1.0)
    assert even.standard_uncertainty == pytest.approx(0.0, abs=1e-9)


def test_too_short_a_log_has_no_steepest_fall() -> None:
    assert series.steepest_slope([0, 20], [5, 1], 3, 15) is None
    assert series.steepest_slope([], [], 3, 15) is None
    with pytest.raises(ValueError, match="three points"):
        series.steepest_slope([0, 20, 40], [5, 1, 0], 2, 15)
    with pytest.raises(ValueError, match="a span above zero"):
        series.steepest_slope([0, 20, 40], [5, 1, 0], 3, 0)


@given(log=logs(), shift=shifts, factor=factors)
def test_steepest_fall_scales_with_values_and_not_with_the_clock(
    log: tuple[np.ndarray, np.ndarray], shift: float, factor: float
) -> None:
    times, values = log
    plain = series.steepest_slope(times, values, 3, 15, resolution=0.125)
    moved = series.steepest_slope(times + shift, values * factor + 7, 3, 15, resolution=0.125 * factor)
    if plain is None:
        assert moved is None
        return
    assert moved is not None
    assert moved.rate == pytest.approx(plain.rate * factor, abs=1e-9)


@given(step=st.integers(1, 30), level=levels, count=st.integers(4, 60))
def test_a_constant_series_has_no_slope_no_crossing_and_its_own_mean(step: int, level: float, count: int) -> None:
    times = np.arange(count) * float(step)
    values = np.full(count, level)
    assert series.time_weighted_mean(times, values, 0, times[-1]) == pytest.approx(level)
    assert series.first_holding_crossing(times, values, level, HOLD) is None
    fall = series.steepest_slope(times, values, 3, 15, resolution=0.1)
    if fall is not None:
        assert fall.rate == 0
        assert fall.standard_uncertainty > 0
    assert set(series.running_median_of_three(values)) == {level}
    line = series.least_squares_line(times, values)
    assert (line.slope, line.residual_sd, line.determination) == pytest.approx((0, 0, 1), abs=1e-9)


def test_a_million_readings_take_a_moment() -> None:
    seconds = np.arange(1_000_000.0)
    values = 10 + 5 * np.sin(seconds / 5000)
    started = time.perf_counter()
    fall = series.steepest_slope(seconds, values, 3, 900, resolution=0.1)
    assert time.perf_counter() - started < 3
    assert fall is not None
    assert fall.rate == pytest.approx(5 / 5000, rel=0.01)


def test_steepest_fall_is_found_among_more_windows_than_get_the_robust_line() -> None:
    minutes = np.arange(20_000.0)
    values = 10 + 5 * np.sin(minutes / 500) - 1.5 * np.tanh((minutes - 12_345) / 20)
    fall = series.steepest_slope(minutes, values, 3, 15)
    assert fall is not None
    assert 12_325 <= fall.start <= fall.end <= 12_365


@given(
    intercept=st.floats(-10, 10),
    slope=st.floats(-10, 10),
    x=st.lists(st.integers(-50, 50), min_size=3, max_size=20, unique=True),
)
def test_points_on_a_line_give_the_line(intercept: float, slope: float, x: list[int]) -> None:
    line = series.least_squares_line(x, [intercept + slope * value for value in x])
    assert line.slope == pytest.approx(slope, abs=1e-9)
    assert line.intercept == pytest.approx(intercept, abs=1e-8)


def test_a_line_needs_enough_points_at_different_places() -> None:
    with pytest.raises(ValueError, match="at least 3 points"):
        series.least_squares_line([1, 2], [1, 2])
    with pytest.raises(ValueError, match="at least 2 points"):
        series.least_squares_line([1], [1], through_origin=True)
    with pytest.raises(ValueError, match="different x"):
        series.least_squares_line([1, 1, 1], [1, 2, 3])


def test_line_through_two_points_and_the_origin_and_through_three() -> None:
    # y = 2 x + 1, 3, 8 at 1, 2, 3 through the origin: slope (1 x 1 + 2 x 3 + 3 x 8) / 14 = 31 / 14.
    line = series.least_squares_line([1, 2, 3], [1, 3, 8], through_origin=True)
    assert line.slope == pytest.approx(31 / 14)
    assert line.determination == pytest.approx(1 - (74 - 31**2 / 14) / 74)
    assert line.degrees_of_freedom == 2
    assert series.least_squares_line([1, 2], [2, 4], through_origin=True).degrees_of_freedom == 1
    assert series.least_squares_line([1, 2, 3], [2, 4, 6]).degrees_of_freedom == 1
    with pytest.raises(ValueError, match="different x"):
        series.least_squares_line([0, 0], [1, 2], through_origin=True)


def test_thinning_takes_means_and_leaves_short_series_alone() -> None:
    times, values = series.thin(np.arange(10.0), np.arange(10.0) ** 2, 5)
    assert times.tolist() == [0.5, 2.5, 4.5, 6.5, 8.5]
    assert values.tolist() == [0.5, 6.5, 20.5, 42.5, 72.5]
    assert series.thin([1.0, 2.0], [3.0, 4.0], 2)[1].tolist() == [3.0, 4.0]
    # No mean is taken across a gap.
    assert series.thin([0, 1, 2, 100, 101], [0.0, 0.0, 0.0, 9.0, 9.0], 4)[1].tolist() == [0.0, 9.0]


def test_readings_of_one_instant_thin_to_one() -> None:
    at, values = series.thin([5.0] * 4, [1.0, 2.0, 3.0, 6.0], 2)
    assert (at.tolist(), values.tolist()) == ([5.0], [3.0])
    at, values = series.thin_extremes([5.0] * 8, [4.0, 1.0, 9.0, 1.0, 9.0, 2.0, 3.0, 5.0], 1)
    assert values.tolist() == [4.0, 1.0, 9.0, 5.0]
    with pytest.raises(ValueError, match="at least one bin"):
        series.thin([1.0, 2.0], [3.0, 4.0], 0)


@given(log=logs(), limit=st.integers(1, 20))
def test_thinned_series_are_short_ordered_and_within_the_readings(
    log: tuple[np.ndarray, np.ndarray], limit: int
) -> None:
    times, values = log
    fewer, means = series.thin(times, values, limit)
    assert len(fewer) == len(means) <= max(limit, 1)
    assert np.all(np.diff(fewer) > 0)
    assert values.min() - 1e-9 <= means.min() <= means.max() <= values.max() + 1e-9


def test_series_short_enough_for_a_chart_are_left_alone() -> None:
    assert series.thin_extremes([0, 1, 2, 3], [1.0, 2.0, 3.0, 4.0], 1)[1].tolist() == [1, 2, 3, 4]
    assert series.thin_extremes([0, 1, 2, 3, 4], [1.0, 2.0, 3.0, 4.0, 5.0], 1)[1].tolist() == [1, 5]


@given(log=logs(), bins=st.integers(1, 8))
def test_extremes_survive_thinning_for_a_chart(log: tuple[np.ndarray, np.ndarray], bins: int) -> None:
    times, values = log
    fewer, kept = series.thin_extremes(times, values, bins)
    assert len(fewer) <= 2 * bins + 2
    assert (fewer[0], fewer[-1]) == (times[0], times[-1])
    assert (kept.min(), kept.max()) == (values.min(), values.max())
    assert set(zip(fewer, kept, strict=True)) <= set(zip(times, values, strict=True))
    assert np.all(np.diff(fewer) > 0)


@pytest.mark.parametrize(
    ("times", "values", "words"),
    [
        pytest.param([0, 2, 1], [0, 0, 0], "must not decrease", id="backward"),
        pytest.param([0, 1], [0, 0, 0], "equal length", id="unequal"),
        pytest.param([0, 1], [0, math.nan], "not a number", id="nan-value"),
        pytest.param([0, math.inf], [0, 0], "plain list of numbers", id="infinite-time"),
    ],
)
def test_what_is_no_series_is_a_mistake_of_the_caller(times: list[float], values: list[float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        series.value_at(times, values, 0.5)

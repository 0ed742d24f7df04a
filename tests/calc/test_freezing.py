"""The plateau of a probe in freezing water, found in curves made for it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from reportgen.calc.freezing import Plateau, find_plateau, steadied

Floats = NDArray[np.float64]


def course(*corners: tuple[float, float], step: float = 1 / 12) -> tuple[Floats, Floats]:
    """Return readings every `step` hours on straight lines between corners (hour, temperature)."""
    hours, values = zip(*corners, strict=True)
    at = np.arange(hours[0], hours[-1] + 1e-9, step)
    return at, np.interp(at, hours, values)


#: 10 K/h down to 0 °C at 2 h, there until 4 h, then 6 K/h down.
PLAIN = ((0.0, 20.0), (2.0, 0.0), (4.0, 0.0), (5.0, -6.0))


def found(at: Floats, values: Floats) -> Plateau:
    plateau = find_plateau(at, values, 1.0)
    assert plateau is not None
    return plateau


def test_plateau_has_its_first_and_last_reading_and_the_fall_before() -> None:
    at, values = course(*PLAIN)
    plateau = found(at, values)
    assert plateau.level == 0
    # 0.5 °C is passed at 1.95 h and -0.5 °C at 4.083 h: a reading at 4 h 5 min is on it.
    assert at[plateau.first] == pytest.approx(2.0)
    assert at[plateau.last] == pytest.approx(4 + 1 / 12)
    assert plateau.above == plateau.first - 1
    assert plateau.fall == pytest.approx(10)
    # -1 °C is reached at 4 h 10 min, and passed by the reading after.
    assert plateau.left is not None and at[plateau.left] == pytest.approx(4.25)
    assert plateau.returned is None and plateau.lowest is None


@given(st.floats(-1, 1), st.sampled_from([1 / 60, 1 / 12, 0.25]))
def test_error_of_the_probe_moves_the_level_and_nothing_else(error: float, step: float) -> None:
    # No reading of this course lies on the very edge of the plateau, where the last bit would decide.
    at, values = course((0, 20.07), (2, 0), (4, 0), (5, -6.1), step=step)
    moved, plain = found(at, values + error), found(at, values)
    assert moved.level == pytest.approx(error, abs=1e-9)
    assert (moved.first, moved.above, moved.last, moved.left) == (plain.first, plain.above, plain.last, plain.left)


def test_probe_farther_off_than_its_accuracy_shows_no_plateau() -> None:
    at, values = course(*PLAIN)
    assert find_plateau(at, values + 1.8, 1.0) is None
    assert find_plateau(at, values + 1.8, 2.0) is not None


@given(st.floats(0.1, 60), st.floats(1 / 60, 0.5))
def test_steady_cooling_past_zero_is_no_plateau(rate: float, step: float) -> None:
    at = np.arange(0, 20 / rate + 5 * step, step)
    assert find_plateau(at, 10 - rate * at, 1.0) is None


@given(st.floats(0.5, 20))
def test_cooling_as_by_newton_is_no_plateau(time_constant: float) -> None:
    at = np.linspace(0, 3 * time_constant, 400)
    assert find_plateau(at, -12 + 32 * np.exp(-at / time_constant), 1.0) is None


def test_plateau_of_less_than_half_an_hour_is_none() -> None:
    assert find_plateau(*course((0, 20), (1, 0), (1.3, 0), (1.6, -6), step=1 / 60), 1.0) is None
    assert find_plateau(*course((0, 20), (1, 0), (1.6, 0), (1.9, -6), step=1 / 60), 1.0) is not None


def test_supercooled_water_freezes_at_the_jump() -> None:
    at, values = course((0, 20), (2, 0), (2.5, -5), (2.51, 0), (4, 0), (4.5, -5))
    plateau = found(at, values)
    assert plateau.lowest is not None and plateau.dip_from is not None
    assert at[plateau.lowest] == pytest.approx(2.5)
    assert values[plateau.lowest] == pytest.approx(-5)
    assert plateau.first == plateau.lowest + 1
    assert values[plateau.dip_from] == pytest.approx(0)
    assert plateau.above is None


def test_slow_cooling_past_zero_and_then_a_jump_starts_at_the_jump() -> None:
    # 1 K/h takes an hour through the band, as long as a plateau.
    plateau = found(*course((0, 3), (5, -2), (5.01, 0), (9, 0), (9.5, -4)))
    assert plateau.lowest is not None
    assert course((0, 3), (9.5, -4))[0][plateau.lowest] == pytest.approx(5)


def test_sparse_readings_show_a_dip_of_one() -> None:
    at = np.array([0, 0.5, 1, 1.5, 2, 2.5, 3.0])
    plateau = found(at, np.array([20, 9, 2, -3, 0.1, 0.0, -4.0]))
    assert (plateau.dip_from, plateau.lowest, plateau.first, plateau.last, plateau.left) == (2, 3, 4, 5, 6)


def test_ice_that_warms_to_zero_is_no_freezing() -> None:
    assert find_plateau(*course((0, -8), (2, 0), (5, 0), (6, 10)), 1.0) is None
    # Nor after liquid water, where it takes long.
    assert find_plateau(*course((0, 20), (0.5, -8), (3, 0), (5, 0)), 1.0) is None


def test_readings_that_begin_on_the_plateau_have_nothing_above_it() -> None:
    plateau = found(*course((0, 0.1), (2, 0.1), (3, -6)))
    assert (plateau.first, plateau.above, plateau.fall) == (0, None, None)


def test_plateau_at_the_end_is_not_left() -> None:
    at, values = course((0, 20), (2, 0), (4, 0))
    plateau = found(at, values)
    assert plateau.left is None
    assert plateau.last == len(at) - 1
    # 0.8 K below is not yet off it, but the last reading on it stays the last within 0.5 K.
    at, values = course((0, 20), (2, 0), (4, 0), (4.5, -0.8))
    assert values[found(at, values).last] >= -0.5
    assert found(at, values).left is None


def test_thaw_and_warming_after_are_told() -> None:
    at, values = course((0, 20), (2, 0), (4, 0), (4.5, -5), (5, 0), (6, 0))
    plateau = found(at, values)
    assert plateau.returned is not None and at[plateau.returned] == pytest.approx(5)
    assert at[plateau.last] < 4.2
    at, values = course((0, 20), (2, 0), (4, 0), (4.5, 5))
    plateau = found(at, values)
    assert plateau.left is not None and values[plateau.left] > 1


@settings(max_examples=25)
@given(st.integers(0, 10**6), st.floats(-0.8, 0.8), st.booleans())
def test_noise_of_a_logger_does_not_hide_the_plateau(seed: int, error: float, supercooled: bool) -> None:
    jump = ((2.4, -4.0), (2.42, 0.0)) if supercooled else ()
    at, values = course((0, 20), (2, 0), *jump, (5, 0), (7, -12), step=1 / 180)
    noisy = np.round(values + error + np.random.default_rng(seed).normal(0, 0.2, len(at)), 1)
    smooth, readings = steadied(at, noisy)
    assert readings == 15
    plateau = found(at, smooth)
    assert plateau.level == pytest.approx(error, abs=0.1)
    assert at[plateau.first] == pytest.approx(2.4 if supercooled else 2 - 0.05, abs=0.04)
    # 6 K/h: 0.5 K below five minutes after, 1 K ten minutes after.
    assert at[plateau.last] == pytest.approx(5 + 5 / 60, abs=0.05)
    assert plateau.left is not None and at[plateau.left] == pytest.approx(5 + 10 / 60, abs=0.05)
    assert plateau.returned is None
    assert (plateau.lowest is not None) == supercooled


@given(st.lists(st.floats(-30, 30), min_size=1, max_size=60), st.sampled_from([1 / 3600, 1 / 60, 1 / 12, 1.0]))
def test_steadied_readings_are_medians_of_what_lies_around(readings: list[float], step: float) -> None:
    at = step * np.arange(len(readings))
    smooth, count = steadied(at, readings)
    half = count // 2
    assert count % 2 == 1
    assert count <= min(31, max(len(readings), 1))
    expected = [np.median(readings[max(i - half, 0) : i + half + 1]) for i in range(len(readings))]
    assert smooth == pytest.approx(expected)


@pytest.mark.parametrize(("minutes", "count"), [(10, 1), (2, 1), (1.5, 3), (1, 5), (0.5, 9), (1 / 60, 31)])
def test_readings_of_five_minutes_are_taken_together(minutes: float, count: int) -> None:
    at = np.arange(100) * minutes / 60
    assert steadied(at, np.zeros(100))[1] == count
    jump = (np.arange(100) >= 50).astype(float)
    assert np.array_equal(steadied(at, jump)[0], jump)


def test_brief_slip_of_a_reading_does_not_break_the_plateau() -> None:
    at, values = course(*PLAIN, step=1 / 60)
    values[180] = -0.8
    values[190] = -1.6
    plateau = found(at, values)
    assert at[plateau.last] == pytest.approx(4 + 5 / 60, abs=1e-6)
    assert plateau.returned is None


def test_reading_far_off_ends_a_stretch_before_it_is_long_enough() -> None:
    # Two stretches of 20 minutes, with a reading 3 K below between them, are no plateau of 40.
    at = np.arange(0, 2, 1 / 60)
    values = np.interp(at, [0, 1, 1.7, 2], [20, 0, 0, -6])
    assert find_plateau(at, values, 1.0) is not None
    values[80] = -3
    assert find_plateau(at, values, 1.0) is None


def test_lowest_reading_is_the_last_of_its_kind() -> None:
    at = np.array([0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4.0])
    plateau = found(at, np.array([20, 9, 2, -3, -3, 0, 0, 0, -4.0]))
    assert (plateau.dip_from, plateau.lowest, plateau.first) == (2, 4, 5)


def test_next_reading_may_be_late_and_the_water_was_supercooled_all_the_same() -> None:
    at = np.array([0, 0.75, 1.5, 2.25, 3.0, 3.75])
    plateau = found(at, np.array([20, 5, -3, 0, 0, -4.0]))
    assert (plateau.lowest, plateau.first) == (2, 3)


def test_supercooled_water_may_warm_for_half_an_hour_and_not_longer() -> None:
    for rise, is_one in ((0.25, True), (0.26, False)):
        at = np.array([0, 0.25, 0.5, 0.75, 0.75 + rise, 0.75 + 2 * rise, 2, 2.5, 3])
        plateau = find_plateau(at, np.array([20, 10, 2, -3, -2, 0, 0, 0, -4.0]), 0.0)
        assert (plateau is not None) == is_one


def test_jump_from_below_to_above_is_no_return_to_the_plateau() -> None:
    at, values = course((0, 20), (2, 0), (4, 0), (4.1, -6), step=1 / 60)
    after = int(np.flatnonzero(values < -1)[0]) + 1
    values[after:] = 8
    plateau = found(at, values)
    assert (plateau.left, plateau.returned) == (after - 1, after)
    assert values[plateau.last] >= -0.5


def test_few_readings_are_no_plateau() -> None:
    assert find_plateau([], [], 1.0) is None
    assert find_plateau([1.0], [0.0], 1.0) is None


@pytest.mark.parametrize(("hours", "values"), [([0, 1], [0.0]), ([1, 1], [0, 0]), ([2, 1], [0, 0])])
def test_hours_must_rise_and_fit(hours: list[float], values: list[float]) -> None:
    with pytest.raises(ValueError, match="hours"):
        find_plateau(hours, values, 1.0)


@given(
    st.lists(st.tuples(st.floats(0.01, 3), st.floats(-15, 15)), max_size=40),
)
def test_what_is_found_is_in_order(steps: list[tuple[float, float]]) -> None:
    at = np.cumsum([step for step, _ in steps])
    values = np.array([value for _, value in steps])
    plateau = find_plateau(at, values, 1.0)
    if plateau is None:
        return
    assert at[plateau.last] - at[plateau.first] >= 0.5
    assert abs(plateau.level) <= 1
    assert abs(values[plateau.last] - plateau.level) <= 0.5 + 1e-9
    assert abs(values[plateau.first] - plateau.level) <= 0.5 + 1e-9
    order = [plateau.dip_from, plateau.lowest, plateau.above, plateau.first, plateau.last, plateau.left]
    known = [index for index in order if index is not None]
    assert known == sorted(known)
    assert plateau.fall is None or plateau.fall > 0


def test_fall_before_is_that_of_the_last_kelvin_above_the_band() -> None:
    # Fast down to 3 °C, then 4 K/h down to 1 °C and 2 K/h down to 0 °C: from 1.5 to 0.5 °C in 1/8 h and 1/4 h.
    at, values = course((0, 20), (1, 3), (1.5, 1), (2, 0), (4, 0), (5, -6), step=1 / 120)
    fall = found(at, values).fall
    assert fall == pytest.approx(1 / 0.375, abs=0.05)
    # Readings that begin within that kelvin tell by what there is.
    late = at >= 1.5
    assert found(at[late], values[late]).fall == pytest.approx(2.0, abs=0.01)
    # What comes after it tells nothing of that.
    assert found(*course((1.5, 1), (2, 0), (4, 0), (4.5, 5), step=1 / 120)).fall == pytest.approx(2.0, abs=0.01)


def test_fall_before_does_not_reach_back_through_an_earlier_dip() -> None:
    # It touched 0 °C at half an hour for a moment, warmed to 1.2 °C and fell again at 2 K/h.
    at, values = course((0, 12), (0.5, 0), (1, 1.2), (1.6, 0), (4, 0), step=1 / 120)
    assert found(at, values).fall == pytest.approx(2.0, abs=0.02)


@pytest.mark.parametrize(
    ("slips", "is_found"),
    [
        pytest.param({70: -0.8}, True, id="one"),
        pytest.param({67: -0.8, 78: 0.9}, True, id="two, on both sides"),
        pytest.param(dict.fromkeys(range(68, 71), -0.8), True, id="four minutes from reading to reading"),
        pytest.param(dict.fromkeys(range(68, 73), -0.8), False, id="six minutes from reading to reading"),
        pytest.param({70: -1.1}, False, id="farther than a kelvin"),
    ],
)
def test_brief_small_excursions_part_no_plateau(slips: dict[int, float], is_found: bool) -> None:
    # Flat for 33 minutes from the hour on, less than half an hour on either side of a slip.
    at = np.arange(0, 2, 1 / 60)
    values = np.interp(at, [0, 1, 1.53, 1.7], [20, 0, 0, -6])
    assert find_plateau(at, values, 0.0) is not None
    for index, value in slips.items():
        values[index] = value
    assert (find_plateau(at, values, 0.0) is not None) == is_found


def test_a_slip_is_bridged_after_an_earlier_touch_of_zero_too() -> None:
    at = np.arange(0, 2, 1 / 60)
    values = np.interp(at, [0, 0.3, 0.35, 0.6, 1, 1.53, 1.7], [20, 0.2, 0.2, 6, 0, 0, -6])
    values[[67, 78]] = -0.8, 0.9
    plateau = found(at, values)
    assert at[plateau.first] == pytest.approx(1, abs=0.04)
    assert at[plateau.last] == pytest.approx(1.53, abs=0.03)


@pytest.mark.parametrize(
    ("error", "accuracy", "level"),
    [(0.45, 0.0, 0.0), (0.55, 0.0, None), (0.55, 0.1, 0.1), (-0.55, 0.1, -0.1), (0.65, 0.1, None), (0.3, 0.5, 0.3)],
)
def test_level_is_no_farther_from_zero_than_the_probe_may_be_off(
    error: float, accuracy: float, level: float | None
) -> None:
    at, values = course((0, 20.07), (2, 0), (4, 0), (5, -6.1))
    plateau = find_plateau(at, values + error, accuracy)
    assert (None if plateau is None else plateau.level) == (None if level is None else pytest.approx(level))


def test_a_plateau_takes_twice_as_long_as_the_fall_would_through_its_band() -> None:
    # 2.5 K/h falls through 1 K in 0.4 h: a stay of 0.75 h is too short to be one, of 0.85 h it is.
    for hours, is_one in ((0.75, False), (0.85, True)):
        # Half of the band is passed on the way in, within 0.2 h, and half on the way out at 6 K/h.
        stay = hours - 0.2 - 0.5 / 6
        at, values = course((0, 5), (2, 0), (2 + stay, 0), (3 + stay, -6), step=1 / 120)
        assert (find_plateau(at, values, 0.0) is not None) == is_one

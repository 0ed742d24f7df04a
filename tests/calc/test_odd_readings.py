"""What looks odd beside its neighbours, and what never does."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.calc.odd_readings import (
    Bump,
    alternates,
    bumps,
    heaped_step,
    identical_runs,
    swapped_digits,
    there_and_back,
    turn_at_zero,
)


@st.composite
def pull_downs(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, float]:
    """Return times [s], readings and their noise [K] of a first-order pull-down of up to 60 K/h and more."""
    minutes = draw(st.sampled_from([1 / 6, 1, 2, 5, 10, 15, 30]))
    constant = draw(st.floats(0.3, 3.0))
    hours = draw(st.floats(2.0, 8.0))
    fall = draw(st.floats(15.0, 55.0))
    noise = draw(st.floats(0.0, 0.3))
    step = draw(st.sampled_from([0.01, 0.1, 0.5, 1.0]))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    at = np.arange(0.0, hours * 3600, minutes * 60)
    if minutes >= 5:
        at = at + rng.uniform(-0.3, 0.3, len(at)) * minutes * 60
    curve = 27.0 - fall * (1 - np.exp(-np.maximum(at / 3600 - draw(st.floats(0.0, 0.5)), 0.0) / constant))
    values = np.rint((curve + rng.normal(0, noise, len(at))) / step) * step
    return np.sort(at), values, max(noise, step)


@given(pull_downs())
def test_a_steep_but_smooth_fall_is_no_spike_and_no_open_door(course: tuple[np.ndarray, np.ndarray, float]) -> None:
    at, values, coarse = course
    assert not len(there_and_back(values, max(3.0, 3 * coarse)))
    assert bumps(at, values, max(2.0, 8 * coarse), 900.0, 1800.0) == []
    assert turn_at_zero(at, np.maximum(values, 0.0), coarse) is None
    assert alternates(values, max(1.0, 3 * coarse)) is None


@pytest.mark.parametrize("odd", [52.0, -12.0])
def test_a_reading_there_and_back_is_found_up_and_down(odd: float) -> None:
    assert there_and_back([25.0, 24.0, odd, 21.0, 19.0, 16.0], 3.0).tolist() == [2]


def test_the_neighbours_of_a_spike_are_none() -> None:
    assert there_and_back([22.0, 17.0, 11.0, 52.0, 2.0, -1.0], 3.0).tolist() == [3]


def test_two_steps_down_are_no_spike() -> None:
    assert there_and_back([25.0, 10.0, 9.0, -4.0], 3.0).tolist() == []
    assert there_and_back([25.0], 3.0).tolist() == []


@pytest.mark.parametrize(
    ("value", "step", "expected", "meant"),
    [(52.0, 1.0, 24.6, 25.0), (12.4, 0.1, 21.2, 21.4), (-31.5, 0.1, -13.2, -13.5), (52.0, 1.0, 10.0, None)],
)
def test_digits_swapped(value: float, step: float, expected: float, meant: float | None) -> None:
    assert swapped_digits(value, step, expected, 0.5) == meant


def door(height: float, minutes: float, *, every: float = 60.0) -> tuple[np.ndarray, np.ndarray]:
    """Return four hours of a slow fall, with a rise at 2 h that decays with a tenth of an hour."""
    at = np.arange(0.0, 4 * 3600, every)
    since = at - 7200.0
    open_for = minutes * 60
    rise = np.where(since < 0, 0.0, np.minimum(since / open_for, 1.0) * np.exp(-np.maximum(since - open_for, 0) / 360))
    return at, -5.0 - at / 3600 + height * rise


@pytest.mark.parametrize("every", [1.0, 10.0, 60.0, 300.0])
def test_an_opened_door_is_found_with_its_times(every: float) -> None:
    found = bumps(*door(4.0, 5.0, every=every), 2.0, 900.0, 1800.0)
    assert len(found) == 1
    assert found[0].start == pytest.approx(7200, abs=max(every, 90))
    assert found[0].peak == pytest.approx(7500, abs=max(every, 90))
    assert 7500 < found[0].end <= 7500 + 1800
    assert found[0].height == pytest.approx(4.0, abs=0.6)


def test_a_rise_that_stays_is_no_bump() -> None:
    at = np.arange(0.0, 4 * 3600, 60.0)
    assert bumps(at, np.where(at > 7200, 5.0, 0.0), 2.0, 900.0, 1800.0) == []
    assert bumps(at[:2], at[:2], 2.0, 900.0, 1800.0) == []


@given(
    st.lists(st.tuples(st.floats(1.0, 4000.0), st.integers(-20, 20)), min_size=3, max_size=60),
)
def test_heights_of_bumps_are_those_of_a_plain_search(course: list[tuple[float, int]]) -> None:
    at = np.cumsum([max(step, 61.0) for step, _ in course])
    values = np.array([float(value) for _, value in course])
    expected = []
    for i, here in enumerate(at):
        left = values[(at >= here - 900) & (at <= here)].min()
        right = values[(at >= here) & (at <= here + 1800)].min()
        expected.append(values[i] - max(left, right))
    found = bumps(at, values, 5.0, 900.0, 1800.0)
    assert bool(found) == bool(max(expected) >= 5.0)
    assert all(bump.height in expected for bump in found)


def test_runs_of_equal_readings() -> None:
    at = np.arange(10) * 1000.0
    values = [5, 4, 4, 4, 4, 4, 3, 3, 2, 1]
    assert identical_runs(at, values, 5, 3600.0) == [(1, 5)]
    assert identical_runs(at, values, 5, 4000.0) == []
    assert identical_runs(at, values, 6, 3600.0) == []
    assert identical_runs(at[:1], values[:1], 5, 3600.0) == []


def test_a_fall_through_zero_without_its_sign_turns_there() -> None:
    at = np.arange(14) * 900.0
    values = np.array([20, 16, 12, 9, 6, 4, 2, 1, 0, -1, -2, -3, -3, -4], dtype=float)
    assert turn_at_zero(at, np.abs(values), 1.0) == at[8]
    assert turn_at_zero(at, values, 1.0) is None


def test_a_turn_above_zero_or_a_slow_rise_has_no_sign_lost() -> None:
    at = np.arange(14) * 900.0
    values = np.array([20, 16, 12, 9, 6, 4, 2, 1, 0, 1, 2, 3, 3, 4], dtype=float)
    assert turn_at_zero(at, values + 4, 1.0) is None
    assert turn_at_zero(at, np.where(at > at[8], values / 8, values), 0.1) is None
    assert turn_at_zero(at[:6], values[:6], 1.0) is None


def test_two_thermometers_by_turns() -> None:
    one = np.linspace(20, 0, 20)
    mixed = np.where(np.arange(20) % 2 == 0, one, one + 3)
    assert alternates(mixed, 1.0) == pytest.approx(3.0, abs=1.2)
    assert alternates(one, 1.0) is None
    assert alternates(mixed[:11], 1.0) is None


@given(st.integers(0, 2**32 - 1), st.floats(0.0, 2.0))
def test_noise_is_no_second_thermometer(seed: int, noise: float) -> None:
    rng = np.random.default_rng(seed)
    assert alternates(rng.normal(0, noise, 60), 1.0) is None


def test_digits_that_heap() -> None:
    rng = np.random.default_rng(1)
    halves = np.rint(np.linspace(20, -10, 60) * 2) / 2
    halves[::9] += 0.2
    assert heaped_step(halves, 0.1, 0.7, 20) == pytest.approx(0.5)
    wholes = np.rint(halves)
    wholes[::15] += 0.3
    assert heaped_step(np.repeat(wholes, 2), 0.1, 0.7, 20) == pytest.approx(1.0)
    assert heaped_step(np.rint(rng.uniform(-10, 20, 200) * 10) / 10, 0.1, 0.7, 20) == 0.1
    assert heaped_step(halves[:10], 0.1, 0.7, 20) == 0.1
    # Equal readings in a row are one: ten different ones tell nothing, however often each is repeated.
    assert heaped_step(np.repeat(np.arange(10.0), 6), 0.1, 0.7, 20) == 0.1
    assert heaped_step(np.repeat(np.arange(20.0), 6), 0.1, 0.7, 20) == 1.0
    assert heaped_step(halves, 0.0, 0.7, 20) == 0.0


def test_a_spike_is_farther_than_asked_from_both_neighbours_and_on_one_side() -> None:
    assert there_and_back([0.0, 10.0, 0.0], 9.9).tolist() == [1]
    assert there_and_back([0.0, -10.0, 0.0], 9.9).tolist() == [1]
    assert there_and_back([0.0, 10.0, 0.0], 10.0).tolist() == []
    assert there_and_back([0.0, 10.0, -1.0], 10.0).tolist() == []
    assert there_and_back([-1.0, 10.0, 0.0], 10.0).tolist() == []
    assert there_and_back([0.0, 10.0, 5.0], 6.0).tolist() == []
    assert there_and_back([0.0, 0.5, 0.0], 0.1).tolist() == [1]
    # Of neighbours that lie on one side of theirs each, the farthest off is meant: 12 K, not 10 K.
    assert there_and_back([0.0, 10.0, -2.0, 10.0, 0.0], 3.0).tolist() == [2]
    assert there_and_back([0.0, 10.0, -2.0, 0.0], 1.0).tolist() == [1]
    assert there_and_back([0.0, -2.0, 10.0, 0.0], 1.0).tolist() == [2]
    assert there_and_back([0.0, 10.0, -2.0, 10.0, -1.0], 3.0).tolist() == [2]  # 10, 12 and 11 K off
    # Alike far off, it cannot be told.
    assert there_and_back([0.0, 10.0, 0.0, 10.0, 0.0], 3.0).tolist() == [1, 2, 3]


@pytest.mark.parametrize(
    ("value", "step", "expected", "tolerance", "meant"),
    [
        pytest.param(52.0, 1.0, 24.5, 0.5, 25.0, id="just near enough"),
        pytest.param(52.0, 1.0, 24.4, 0.5, None, id="not near enough"),
        pytest.param(12.4, 0.0, 21.2, 0.5, 21.4, id="one decimal where no step is known"),
        pytest.param(12.25, 0.05, 12.5, 0.05, 12.52, id="two decimals"),
        pytest.param(1.203, 0.001, 1.23, 0.005, 1.23, id="three decimals"),
        pytest.param(10.0, 5.0, 1.0, 0.5, 1.0, id="whole numbers of a coarse step"),
        pytest.param(120.0, 20.0, 210.0, 0.5, 210.0, id="tens"),
        pytest.param(52.0, 1.0, 50.2, 0.1, None, id="no decimal was written"),
        pytest.param(22.0, 1.0, 22.0, 0.5, None, id="the same digit twice"),
    ],
)
def test_digits_are_swapped_as_they_were_written(
    value: float, step: float, expected: float, tolerance: float, meant: float | None
) -> None:
    assert swapped_digits(value, step, expected, tolerance) == meant


def test_a_bump_by_hand() -> None:
    at = 100.0 * np.arange(8)
    # Up from 0 by 5 and down again; at a quarter of its height, 1.25, it is over.
    assert bumps(at, [0, 0, 5, 4, 1, 0, 0, 0], 5.0, 900.0, 1800.0) == [Bump(100.0, 200.0, 400.0, 5.0)]
    assert bumps(at, [0, 0, 5, 4, 1.3, 0, 0, 0], 5.0, 900.0, 1800.0) == [Bump(100.0, 200.0, 500.0, 5.0)]
    assert bumps(at, [0, 0, 5, 4, 1, 0, 0, 0], 5.1, 900.0, 1800.0) == []
    # Its height is that above the higher of its feet, and the other way round.
    assert bumps(at, [0, 0, 5, 4, 2, 2, 2, 2], 3.0, 900.0, 1800.0) == [Bump(100.0, 200.0, 400.0, 3.0)]
    assert bumps(at, [2, 2, 5, 4, 0, 0, 0, 0], 3.0, 900.0, 1800.0) == [Bump(100.0, 200.0, 400.0, 3.0)]
    # A notch in it makes it no two; a return between them does.
    assert [bump.peak for bump in bumps(at, [0, 6, 4, 7, 0, 0, 0, 0], 5.0, 900.0, 1800.0)] == [100.0]
    assert [bump.peak for bump in bumps(at, [0, 6, 0, 7, 0, 0, 0, 0], 5.0, 900.0, 1800.0)] == [100.0, 300.0]
    assert [bump.peak for bump in bumps(at, [0, 6, 0, 6, 4, 7, 0, 0], 5.0, 900.0, 1800.0)] == [100.0, 300.0]
    assert [bump.peak for bump in bumps(at, [0, 6, 5.5, 0, 0, 6, 7, 0], 5.0, 900.0, 1800.0)] == [100.0, 600.0]
    # Three readings are enough to show one, and fewer are not.
    assert bumps(at[:3], [0, 5, 0], 5.0, 900.0, 1800.0) == [Bump(0.0, 100.0, 200.0, 5.0)]
    for count in (0, 1, 2):
        assert bumps(at[:count], [0.0, 9.0][:count], 5.0, 900.0, 1800.0) == []
    # It is found at the ends of the times allowed, and not beyond.
    assert len(bumps(at, [0, 1, 5, 4, 4, 0, 0, 0], 5.0, 200.0, 300.0)) == 1
    assert bumps(at, [0, 1, 5, 4, 4, 0, 0, 0], 5.0, 199.0, 300.0) == []
    assert bumps(at, [0, 1, 5, 4, 4, 0, 0, 0], 5.0, 200.0, 299.0) == []


def test_a_return_is_found_in_the_middle_of_a_long_time_allowed() -> None:
    at = 61.0 * np.arange(40)
    values = np.array([0.0, *[6.0] * 12, 0.0, *[6.0] * 26])
    assert [bump.peak for bump in bumps(at, values, 5.0, 61.0, 30 * 61.0)] == [61.0]


def test_bumps_of_a_logger_are_those_of_means_over_a_minute() -> None:
    at = np.arange(0.0, 600.0, 20.0)
    values = np.where((at >= 180) & (at < 240), 6.0, 0.0)
    values[9] = 9.0  # a slip within the minute of 180 s: (9 + 6 + 6) / 3
    assert bumps(at, values, 5.0, 900.0, 1800.0) == [Bump(140.0, 200.0, 260.0, 7.0)]


def test_a_run_at_the_end_counts() -> None:
    assert identical_runs([0.0, 10.0, 20.0, 30.0], [1, 2, 2, 2], 3, 15.0) == [(1, 3)]
    assert identical_runs([0.0, 10.0, 20.0, 30.0], [2, 2, 2, 1], 3, 15.0) == [(0, 2)]
    assert identical_runs([0.0, 10.0, 20.0], [2, 2, 2], 3, 15.0) == [(0, 2)]


def turned(fall: float, rise: float, each: int = 4, above: float = 0.0) -> list[float]:
    """Return readings that fall by so much a step to `above`, and rise from there."""
    return [above + fall * n for n in range(each, 0, -1)] + [above + rise * n for n in range(each + 1)]


@pytest.mark.parametrize(
    ("values", "tolerance", "is_turn"),
    [
        pytest.param(turned(1.0, 0.8), 0.1, True, id="plain"),
        pytest.param(turned(1.0, 0.8, 3), 0.1, True, id="three readings on each side, and a fall of 3 K"),
        pytest.param(turned(1.6, 1.2, 2), 0.1, False, id="two readings on each side"),
        pytest.param(turned(1.6, 1.2)[2:], 0.1, False, id="two readings before"),
        pytest.param(turned(1.6, 1.2)[:-2], 0.1, False, id="two readings after"),
        pytest.param(turned(0.95, 0.8, 3), 0.1, False, id="a fall of 2.85 K"),
        pytest.param(turned(1.0, 0.51), 0.1, True, id="a rise of 2.04 K"),
        pytest.param(turned(1.0, 0.49), 0.1, False, id="a rise of 1.96 K"),
        pytest.param(turned(2.0, 0.62), 0.1, True, id="less than a third as fast"),
        pytest.param(turned(2.0, 0.58), 0.1, False, id="too slow"),
        pytest.param(turned(1.0, 1.48), 0.1, True, id="half as fast again"),
        pytest.param(turned(1.0, 1.52), 0.1, False, id="too fast"),
        pytest.param(turned(1.0, 0.8, above=0.95), 0.1, True, id="the next step would have crossed zero"),
        pytest.param(turned(1.0, 0.8, above=1.0), 0.1, True, id="the next step would have reached zero"),
        pytest.param(turned(2.0, 0.62, above=0.5), 0.1, True, id="slopes do not depend on where it turns"),
        pytest.param(turned(1.0, 0.49, above=0.5), 0.1, False, id="nor does the rise"),
        pytest.param(turned(1.0, 0.8, above=1.05), 0.1, False, id="zero is farther than a step"),
        pytest.param(turned(1.0, 0.8, above=1.05), 1.1, True, id="or near enough for the thermometer"),
        pytest.param([*turned(1.0, 0.8), 3.15, 4.0], 0.1, True, id="a small step back"),
        pytest.param([*turned(1.0, 0.8), 3.05, 4.0], 0.1, False, id="a step back"),
        pytest.param([*turned(1.0, 0.8)[:4], -0.1, *turned(1.0, 0.8)[5:]], 0.1, False, id="a sign is there"),
        pytest.param([4.0, 3.0, 2.0, 0.0, 0.0, 0.0, 0.0, 2.0, 3.0], 0.1, False, id="flat at zero"),
    ],
)
def test_what_looks_as_if_its_sign_was_lost(values: list[float], tolerance: float, is_turn: bool) -> None:
    at = 600.0 * np.arange(len(values))
    expected = at[int(np.argmin(values))] if is_turn else None
    assert turn_at_zero(at, values, tolerance) == expected


def test_readings_of_a_logger_turn_where_their_means_do() -> None:
    # Ten a bin of five minutes: the turn of single readings at zero, hidden by noise, is that of their means.
    means = np.repeat(turned(1.0, 0.8), 10)
    noise = np.tile([0.3, -0.3], 45)
    at = 30.0 * np.arange(90)
    assert turn_at_zero(at, means + noise + 0.3, 0.1) == pytest.approx(4 * 300 + 135)


@pytest.mark.parametrize(
    ("wobble", "least", "apart"),
    [
        pytest.param(0.0, 3.0, 3.0, id="as far apart as asked"),
        pytest.param(0.0, 3.1, None, id="not so far apart"),
        pytest.param(0.7, 1.0, 3.0, id="each course calmer than they are apart"),
        pytest.param(1.0, 1.0, None, id="as restless"),
    ],
)
def test_two_courses_by_turns_are_told_by_how_calm_each_is(wobble: float, least: float, apart: float | None) -> None:
    both = np.tile([0.0, 3.0, wobble, 3.0 + wobble], 3)
    found = alternates(both, least)
    assert found == (None if apart is None else pytest.approx(apart, abs=wobble))
    assert alternates(both[:11], least) is None


def test_a_course_that_stands_still_for_a_fifth_of_the_time_is_no_second_one() -> None:
    both = np.tile([0.0, 3.0], 20)
    both[10:18] = 0.0
    assert alternates(both, 1.0) is None


@pytest.mark.parametrize(("twice", "apart"), [((8, 16, 24), 3.0), ((8, 16, 24, 32), None)])
def test_nine_of_ten_readings_must_change_sides(twice: tuple[int, ...], apart: float | None) -> None:
    # 37 pairs of neighbours; where one instrument comes twice, a pair lies on one side.
    shifts = np.cumsum(np.isin(np.arange(40), twice))
    assert alternates(3.0 * ((np.arange(40) + shifts) % 2), 1.0) == apart


def test_a_step_is_kept_to_by_as_many_readings_as_asked() -> None:
    fives = np.array([0.5 * n for n in range(1, 29, 2)])  # fourteen odd halves
    others = np.array([0.1, 0.7, 1.3, 1.9, 3.1, 4.3])
    assert heaped_step(np.concatenate((fives, others)), 0.1, 0.7, 20) == 0.5
    assert heaped_step(np.concatenate((fives[1:], others, [5.7])), 0.1, 0.7, 20) == 0.1
    assert heaped_step(np.concatenate((fives[1:], others)), 0.1, 0.5, 20) == 0.1
    tens = np.arange(14.0)
    assert heaped_step(np.concatenate((tens, others)), 0.1, 0.7, 20) == 1.0
    assert heaped_step(np.concatenate((tens[1:], others, [5.7])), 0.1, 0.7, 20) == 0.1

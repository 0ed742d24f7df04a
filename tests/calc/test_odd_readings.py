"""What looks odd beside its neighbours, and what never does."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.calc.odd_readings import (
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

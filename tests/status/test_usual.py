"""What is usual, and how own past runs replace it."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import SAMPLES

from reportgen.plan.past import PastRun
from reportgen.read.folder import read_trial
from reportgen.status import status_of
from reportgen.status.usual import Usual, usual_of

FIGURES = {
    "temperature_start": 26.0,
    "temperature_floor": -14.0,
    "cooling_time_constant": 1.0,
    "cooling_delay": 0.3,
    "ice_making_time": 5.0,
    "freezing_time": 5.0,
    "water_mass": 1.0,
}


def run(name: str, **other: float) -> PastRun:
    return PastRun(name, {**FIGURES, **other})


def test_without_past_runs_the_bands_hold() -> None:
    assert usual_of((), 1.0) == Usual()
    assert usual_of((PastRun("of gas only", {"gas_used": 300.0}),), 1.0) == Usual()


def test_the_cold_of_a_past_run_is_the_area_below_zero_under_its_curve() -> None:
    found = usual_of((run("one"),), 1.0)
    hours = np.linspace(0.6, 5.0, 100_001)  # the water counts as down to 0 °C in the middle of 0.2 h to 1.0 h
    course = -14.0 + 40.0 * np.exp(-(hours - 0.3))
    assert found.cold is not None
    assert found.cold[0] == pytest.approx(np.mean(np.maximum(-course, 0.0)) * 4.4, rel=1e-3)
    assert found.of_cooling == found.of_ice == ("one",)


def test_runs_that_agree_narrow_what_is_usual_and_runs_that_differ_widen_it() -> None:
    one = usual_of((run("a"),), 1.0)
    alike = usual_of(tuple(run(name) for name in "abcd"), 1.0)
    apart = usual_of((run("a", cooling_time_constant=0.5), run("b", cooling_time_constant=2.0)), 1.0)
    assert alike.constant[1] < one.constant[1] < apart.constant[1]
    assert apart.constant[0] == pytest.approx(1.0)


@pytest.mark.parametrize("mass", [0.5, 2.0])
def test_other_amounts_of_water_take_other_times_less_surely(mass: float) -> None:
    same, other = usual_of((run("a"),), 1.0), usual_of((run("a"),), mass)
    assert same.hours is not None
    assert other.hours is not None
    assert other.hours[0] == pytest.approx(same.hours[0] * mass**0.5)
    assert other.hours[1] > same.hours[1]


def test_a_run_without_a_cooling_curve_still_tells_hours() -> None:
    found = usual_of((PastRun("a", {"ice_making_time": 5.0}),), None)
    assert found.cold is None
    assert found.hours is not None
    assert found.hours[0] == pytest.approx(4.4)
    assert found.of_cooling == ()


@pytest.mark.parametrize("key", list(FIGURES))
@pytest.mark.parametrize("value", [-1e9, -1e-6, 1e-6, 1e9])
def test_figures_that_cannot_be_leave_a_forecast_or_a_reason(key: str, value: float) -> None:
    trial = read_trial(SAMPLES / "canteen-hand-readings")
    found = status_of(trial, None, "1 h", (run("strange", **{key: value}),)).forecasts
    for one in found.values():
        assert (one.value is None) == (one.reason is not None)
        assert one.value is None or np.isfinite(one.value)

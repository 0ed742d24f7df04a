"""Cost of the ice, and what a day's gas would do: from what is recorded, or not at all."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from figures.trials import FALLING, HOLDER, THREE_HOURS, column, number, reason, write
from hypothesis import given
from hypothesis import strategies as st

from reportgen.figures import compute
from reportgen.outputs import DAY, GAS_TO_BOIL, Outputs, days_of, outputs
from reportgen.read.folder import read_trial

ICE = {"ice_mass": "0.5 +/- 0.01 kg", "mass": "0.5 +/- 0.01 kg"}
DAILY = "date,gas_produced [L]\n" + "".join(f"2026-03-{day:02},480\n" for day in range(1, 15))


def found(folder: Path, *logs: str, **sheet: object) -> Outputs:
    write(folder, *logs, **sheet)
    trial = read_trial(folder)
    return outputs(trial, compute(trial))


def test_only_what_this_trial_cost_is_divided_by_its_ice(tmp_path: Path) -> None:
    costs = {"currency": "XTS", "burner": 900, "per_trial": {"labour": 20, "lye": 5}}
    cost = found(tmp_path, burner=THREE_HOURS, water=ICE, costs=costs)
    assert cost.currency == "XTS"
    assert number(cost.cost_per_ice).nominal_value == pytest.approx(50.0)
    assert number(cost.cost_per_ice).std_dev == pytest.approx(1.0)
    assert "trial.toml:costs.per_trial" in cost.cost_per_ice.inputs


def test_costs_of_which_nobody_says_what_they_are_of_give_no_cost_of_ice(tmp_path: Path) -> None:
    cost = found(tmp_path / "a", burner=THREE_HOURS, water=ICE, costs={"burner": 900}).cost_per_ice
    assert "which costs are of this trial alone is not recorded" in reason(cost)
    cost = found(tmp_path / "b", burner=THREE_HOURS, water=ICE).cost_per_ice
    assert "no costs of this trial are recorded" in reason(cost)


def test_no_ice_no_cost_of_ice(tmp_path: Path) -> None:
    assert not found(tmp_path, burner=THREE_HOURS, costs={"per_trial": {"labour": 20}}).cost_per_ice.is_given


def test_a_days_gas_at_the_rate_of_the_trial(tmp_path: Path) -> None:
    all_of_it = found(tmp_path, column("gas_volume [L]", FALLING), DAILY, burner=THREE_HOURS, gas=HOLDER, water=ICE)
    # The gas is dry at 0 °C and one atmosphere, 60 L/h for 3 h: 360 L a kilogram of ice.
    assert all_of_it.days == pytest.approx(14)
    assert number(all_of_it.gas_per_day).nominal_value == pytest.approx(480)
    assert number(all_of_it.ice_per_day).nominal_value == pytest.approx(480 / 360)
    boiled = all_of_it.water_boiled
    assert number(boiled).nominal_value == pytest.approx(360 / 35)
    assert boiled.basis == "assumed"
    assert boiled.interval is not None
    assert boiled.interval[0] < 360 / GAS_TO_BOIL[1] < 360 / GAS_TO_BOIL[0] < boiled.interval[1]


def test_a_few_days_of_log_tell_no_days_gas(tmp_path: Path) -> None:
    short = "\n".join(DAILY.splitlines()[:5]) + "\n"
    few = found(tmp_path / "few", column("gas_volume [L]", FALLING), short, burner=THREE_HOURS, gas=HOLDER, water=ICE)
    assert "4 days" in reason(few.gas_per_day)
    none = found(tmp_path / "none", burner=THREE_HOURS)
    assert not none.gas_per_day.is_given
    assert none.days == 0


@given(st.integers(2, 60), st.integers(1, 3))
def test_each_row_stands_for_one_interval(n: int, step: int) -> None:
    assert days_of(np.arange(n) * step * DAY) == pytest.approx(n * step)
    assert days_of(np.array([5.0])) == 0

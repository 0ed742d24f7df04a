"""Over simulated trials with known truth, intervals hold it as often as they say and are of use."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from scipy.stats import binom
from simulate import KINDS, simulate

SEEDS = range(60)
#: A calibrated 95 % interval holds the truth less often than this with a chance of 0.1 %.
LOWER_TAIL = 0.001
#: The mean of as many errors, over their standard uncertainty, is farther from zero with a chance of 0.1 % [sd of it].
FARTHEST_MEAN = 3.29
#: Median half-width of the interval over the truth; of the floor, over the fall from start to floor.
WIDEST = {
    "gas_used": 0.07,
    "energy_used": 0.10,
    "cooling_rate_mean": 0.15,
    "cooling_time_constant": 0.15,
    "temperature_floor": 0.15,
    "time_to_0": 0.12,
    "heat_removed": 0.04,
    "waste_to_ice": 0.12,
}
LEAST_GIVEN = 0.90


def _coverage() -> ModuleType:
    """Load the module next door by its path; its name is also that of a library pytest may have loaded."""
    name = "simulation_coverage"
    spec = importlib.util.spec_from_file_location(name, Path(__file__).parent / "coverage.py")
    assert spec is not None and spec.loader is not None
    module = sys.modules[name] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def rows() -> dict[str, Any]:
    """Return the table over the trials, by key."""
    return {row.key: row for row in _coverage().run(SEEDS, workers=1)}


def test_intervals_hold_the_truth_as_often_as_they_say(rows: dict[str, Any]) -> None:
    too_narrow = {
        row.key: f"{row.held} of {row.judged}"
        for row in rows.values()
        if row.judged and row.held < binom.ppf(LOWER_TAIL, row.judged, 0.95)
    }
    assert not too_narrow


def test_figures_lean_to_neither_side(rows: dict[str, Any]) -> None:
    leaning = {
        row.key: row.mean_z
        for row in rows.values()
        if row.judged and abs(row.mean_z) * row.judged**0.5 > FARTHEST_MEAN * max(row.sd_z, 1.0)
    }
    assert not leaning


def test_intervals_are_narrow_enough_to_be_of_use(rows: dict[str, Any]) -> None:
    too_wide = {key: rows[key].half_width for key, widest in WIDEST.items() if not rows[key].half_width <= widest}
    assert not too_wide


def test_what_the_logs_support_is_given(rows: dict[str, Any]) -> None:
    withheld = {row.key: row.share_given for row in rows.values() if row.supported and row.share_given < LEAST_GIVEN}
    assert not withheld


def test_what_never_happened_is_not_given(rows: dict[str, Any]) -> None:
    assert {row.key: row.wrongly_given for row in rows.values() if row.wrongly_given} == {}


@pytest.mark.parametrize("kind", KINDS)
def test_a_simulated_trial_is_the_same_each_time(kind: Any) -> None:
    first, second = simulate(7, kind), simulate(7, kind)
    assert first == second
    assert first.supported <= set(first.truth)
    assert not first.never & first.supported

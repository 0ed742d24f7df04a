"""What freezing takes, how long gas lasts and what is left: hand-checkable numbers and invariants."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.calc import supply
from reportgen.calc.gas import METHANE_NET_HEATING_VALUE


def test_the_heat_of_a_litre_is_that_of_its_methane() -> None:
    assert supply.energy_per_litre(1.0, 1.0) == pytest.approx(METHANE_NET_HEATING_VALUE / 1000)
    assert supply.energy_per_litre(0.5, 0.6) == pytest.approx(0.3 * METHANE_NET_HEATING_VALUE / 1000)


def test_gas_for_heat_and_rate_of_power() -> None:
    # 1 MJ out of the cold at a COP of 0.1 takes 10 MJ of flame; at 0.02 MJ a litre that is 500 L.
    assert supply.gas_for_heat(1000.0, 0.1, 0.02) == pytest.approx(500.0)
    # 360 W are 1.296 MJ an hour.
    assert supply.rate_of_power(360.0, 0.02) == pytest.approx(64.8)


def test_the_same_ice_takes_the_same_gas_and_twice_the_ice_less_than_twice() -> None:
    assert supply.scaled_by_heat(300.0, 400.0, 400.0, 0.3) == pytest.approx(300.0)
    assert supply.scaled_by_heat(300.0, 800.0, 400.0, 0.3) == pytest.approx(300.0 * 1.7)


@given(st.floats(1.0, 1e4), st.floats(10.0, 1e3), st.floats(10.0, 1e3), st.floats(0.0, 0.6))
def test_heat_within_reach_turns_the_scaling_round(heat: float, past: float, past_heat: float, fixed: float) -> None:
    gas = supply.scaled_by_heat(past, heat, past_heat, fixed)
    assert supply.heat_within_reach(gas, past, past_heat, fixed) == pytest.approx(heat, rel=1e-6)


def test_gas_below_the_fixed_share_freezes_nothing() -> None:
    assert supply.heat_within_reach(50.0, 300.0, 400.0, 0.3) == 0.0
    # A little above it: 93 L are 0.31 of the run before, and 0.01 / 0.7 of its heat.
    assert supply.heat_within_reach(93.0, 300.0, 400.0, 0.3) == pytest.approx(400 / 70)


def test_ice_is_solid_when_both_heat_and_shape_allow_it() -> None:
    assert supply.hours_to_solid(3.0, 1.5, 0.0) == 3.0
    assert supply.hours_to_solid(3.0, 1.5, 4.0) == 5.5
    # Of water whose shape is not known only the heat counts, however long the cabinet takes to get cold.
    assert supply.hours_to_solid(0.5, 1.5, 0.0) == 1.5
    assert supply.hours_to_solid(0.5, 1.5, 0.25) == 1.75
    assert list(supply.hours_to_solid(np.array([3.0, 8.0]), 1.5, 4.0)) == [5.5, 8.0]


def test_small_amounts_are_allowed() -> None:
    assert supply.scaled_by_heat(300.0, 0.2, 0.4, 0.0) == pytest.approx(150.0)
    assert supply.hours_of_gas(1.0, 0.5) == 2.0
    assert supply.heat_within_reach(0.5, 0.5, 400.0, 0.3) == pytest.approx(400.0)


def test_gas_lasts_and_is_left() -> None:
    assert supply.hours_of_gas(200.0, 60.0) == pytest.approx(10 / 3)
    assert supply.gas_left(200.0, 60.0, 3.0) == 20.0
    assert supply.gas_left(200.0, 60.0, 4.0) == -40.0


def test_chance_is_the_share_of_draws_and_the_range_holds_its_level() -> None:
    assert supply.chance(3.0, [1.0, 2.0, 3.0, 4.0]) == 0.75
    assert supply.chance([1.0, 5.0, 2.0], [2.0, 2.0, 2.0]) == pytest.approx(2 / 3)
    middle, low, high = supply.middle_and_range(np.arange(1001.0), level=0.8)
    assert (middle, low, high) == pytest.approx((500.0, 100.0, 900.0))


@pytest.mark.parametrize(
    "call",
    [
        lambda: supply.energy_per_litre(0.0, 0.6),
        lambda: supply.energy_per_litre(0.9, 1.01),
        lambda: supply.gas_for_heat(100.0, 0.0, 0.02),
        lambda: supply.gas_for_heat(100.0, 0.1, 0.0),
        lambda: supply.heat_within_reach(100.0, 0.0, 400.0, 0.3),
        lambda: supply.rate_of_power(100.0, 0.0),
        lambda: supply.scaled_by_heat(1.0, 1.0, 0.0, 0.1),
        lambda: supply.scaled_by_heat(1.0, 1.0, 1.0, 1.1),
        lambda: supply.hours_of_gas(1.0, 0.0),
        lambda: supply.middle_and_range([]),
        lambda: supply.middle_and_range([1.0, float("nan")]),
    ],
)
def test_impossible_inputs_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must be|outside|draws"):
        call()  # type: ignore[operator]

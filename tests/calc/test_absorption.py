"""Properties of the absorption limit that need no reference."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from reportgen.calc.absorption import (
    DIFFUSION_ABSORPTION_COP_HIGH,
    reversible_cop,
)

sources = st.floats(90.0, 250.0)
surroundings_temperatures = st.floats(5.0, 45.0)
cold_temperatures = st.floats(-30.0, 4.0)
steps = st.floats(0.01, 20.0)


@given(sources, surroundings_temperatures, cold_temperatures, steps)
def test_limit_rises_with_the_source_and_with_the_cold_space_and_falls_with_the_surroundings(
    source: float, surroundings: float, cold: float, step: float
) -> None:
    limit = reversible_cop(source, surroundings, cold)
    assert reversible_cop(source + step, surroundings, cold) > limit
    assert reversible_cop(source, surroundings + step, cold) < limit
    assert reversible_cop(source, surroundings, cold - step) < limit


@given(sources, surroundings_temperatures, cold_temperatures)
def test_limit_never_exceeds_that_of_a_refrigerator_driven_by_work(
    source: float, surroundings: float, cold: float
) -> None:
    by_work = (cold + 273.15) / (surroundings - cold)
    assert 0 < reversible_cop(source, surroundings, cold) < by_work


@given(sources, surroundings_temperatures, cold_temperatures)
def test_entropy_of_the_three_heats_balances(source: float, surroundings: float, cold: float) -> None:
    limit = reversible_cop(source, surroundings, cold)
    entropy = 1 / (source + 273.15) + limit / (cold + 273.15) - (1 + limit) / (surroundings + 273.15)
    assert entropy == pytest.approx(0.0, abs=1e-15 * (1 + limit) * 10)


def test_what_small_units_usually_reach_holds_a_measured_one_and_stays_far_below_the_limit_of_a_hot_day() -> None:
    # Najjaran et al. 2019, Applied Energy 256, 113899: a unit of about 100 W gave 0.11 to 0.26; reviews say 0.1 to 0.3.
    hot_day = reversible_cop(150.0, 45.0, -18.0)
    assert 0.26 < DIFFUSION_ABSORPTION_COP_HIGH == 0.3 < hot_day / 3


def test_numbers_with_uncertainty_keep_the_value_and_their_correlation() -> None:
    ambient = ufloat(30.0, 1.0)
    limit = reversible_cop(ufloat(180.0, 10.0), ambient, ufloat(-10.0, 0.5))
    assert limit.nominal_value == pytest.approx(reversible_cop(180.0, 30.0, -10.0), rel=1e-12)
    by_ambient = reversible_cop(180.0, ambient, -10.0)
    slope = (reversible_cop(180.0, 30.001, -10.0) - reversible_cop(180.0, 29.999, -10.0)) / 0.002
    assert by_ambient.std_dev == pytest.approx(abs(slope), rel=1e-6)


def test_arrays_give_what_their_elements_give() -> None:
    ambient = np.array([20.0, 30.0, 40.0])
    expected = [reversible_cop(180.0, value, -10.0) for value in ambient.tolist()]
    assert reversible_cop(180.0, ambient, -10.0) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(
    ("source", "surroundings", "cold", "message"),
    [
        (30.0, 30.0, -10.0, "the heat source .* must be above the surroundings"),
        (180.0, -10.0, -10.0, "the surroundings .* must be above the cold space"),
        (180.0, 30.0, -273.15, "the cold space .* must be above absolute zero"),
        (float("nan"), 30.0, -10.0, "the heat source"),
    ],
)
def test_temperatures_in_the_wrong_order_are_refused(
    source: float, surroundings: float, cold: float, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        reversible_cop(source, surroundings, cold)

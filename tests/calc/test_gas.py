"""Properties of the gas formulas that need no reference."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from reportgen.calc.gas import (
    STANDARD_PRESSURE,
    burner_power,
    dry_standard_factor,
    energy_of_methane,
    standard_atmosphere,
    water_vapour_pressure,
)

temperatures = st.floats(0.0, 60.0)
pressures = st.floats(60.0, 120.0)
altitudes = st.floats(-400.0, 5000.0)
volumes = st.floats(0.0, 1e6)
steps = st.floats(0.01, 10.0)


@given(temperatures, steps)
def test_vapour_pressure_rises_with_temperature(temperature: float, step: float) -> None:
    assert water_vapour_pressure(temperature + step) > water_vapour_pressure(temperature) > 0


def test_vapour_pressure_at_the_boiling_point_is_about_one_atmosphere() -> None:
    assert water_vapour_pressure(100.0) == pytest.approx(101.42, abs=0.005)  # boils at 99.97 °C


@given(altitudes, st.floats(0.1, 1000.0))
def test_air_pressure_falls_with_altitude(altitude: float, step: float) -> None:
    assert standard_atmosphere(altitude + step) < standard_atmosphere(altitude)


@given(temperatures, pressures, steps)
def test_dry_factor_falls_with_temperature_and_rises_with_pressure(
    temperature: float, pressure: float, step: float
) -> None:
    vapour = water_vapour_pressure(temperature)
    factor = dry_standard_factor(temperature, pressure, vapour)
    assert dry_standard_factor(temperature, pressure + step, vapour) > factor
    assert dry_standard_factor(temperature + step, pressure, vapour) < factor
    warmer = temperature + step
    assert dry_standard_factor(warmer, pressure, water_vapour_pressure(warmer)) < factor


@given(temperatures, pressures)
def test_wet_gas_holds_less_than_dry_gas(temperature: float, pressure: float) -> None:
    wet = dry_standard_factor(temperature, pressure, water_vapour_pressure(temperature))
    dry = dry_standard_factor(temperature, pressure, 0.0)
    assert 0 < wet < dry


@given(temperatures, pressures, st.floats(1.1, 10.0))
def test_dry_factor_depends_on_pressure_ratios_only(temperature: float, pressure: float, scale: float) -> None:
    # the same in kPa or in any other unit: scaling both pressures scales the result
    vapour = water_vapour_pressure(temperature)
    scaled = dry_standard_factor(temperature, scale * pressure, scale * vapour)
    assert scaled == pytest.approx(scale * dry_standard_factor(temperature, pressure, vapour), rel=1e-12)


def test_dry_gas_at_standard_conditions_keeps_its_volume() -> None:
    assert dry_standard_factor(0.0, STANDARD_PRESSURE, 0.0) == 1.0


@given(volumes, st.floats(0.01, 1000.0))
def test_energy_and_power_are_proportional(volume: float, hours: float) -> None:
    energy = energy_of_methane(volume)
    assert energy_of_methane(2 * volume) == pytest.approx(2 * energy)
    assert burner_power(energy, hours) == pytest.approx(2 * burner_power(energy, 2 * hours))
    assert burner_power(energy, hours) * hours * 3600 == pytest.approx(energy * 1e6)


@given(temperatures.filter(lambda temperature: temperature > 0.1), pressures, st.floats(0.01, 2.0))
def test_numbers_with_uncertainty_keep_the_value(temperature: float, pressure: float, deviation: float) -> None:
    uncertain = ufloat(temperature, deviation)
    factor = dry_standard_factor(uncertain, ufloat(pressure, 0.5), water_vapour_pressure(uncertain))
    expected = dry_standard_factor(temperature, pressure, water_vapour_pressure(temperature))
    assert factor.nominal_value == pytest.approx(expected, rel=1e-12)
    assert factor.std_dev > 0
    assert standard_atmosphere(ufloat(800.0, 10.0)).nominal_value == standard_atmosphere(800.0)
    power = burner_power(energy_of_methane(ufloat(60.0, 3.0)), ufloat(2.0, 0.1))
    assert power.nominal_value == pytest.approx(burner_power(energy_of_methane(60.0), 2.0))
    assert power.std_dev / power.nominal_value == pytest.approx((0.05**2 + 0.05**2) ** 0.5)


def test_temperature_counts_through_expansion_and_through_vapour() -> None:
    # 30 °C: -0.330 %/K for the expansion, -0.243/97.08 = -0.251 %/K for the vapour, same direction
    warm = ufloat(30.0, 1.0)
    factor = dry_standard_factor(warm, STANDARD_PRESSURE, water_vapour_pressure(warm))
    assert 100 * factor.std_dev / factor.nominal_value == pytest.approx(0.581, abs=0.001)


def test_uncertainty_of_the_altitude_is_that_of_a_barometric_step() -> None:
    # 9.80665 m/s2 * 1.2250 kg/m3 at sea level = 12.01 Pa per metre
    assert standard_atmosphere(ufloat(0.0, 1.0)).std_dev == pytest.approx(0.01201, abs=5e-6)


def test_arrays_give_what_their_elements_give() -> None:
    array = np.array([1.0, 20.0, 35.0])
    factors = dry_standard_factor(array, STANDARD_PRESSURE, water_vapour_pressure(array))
    one_by_one = [
        dry_standard_factor(value, STANDARD_PRESSURE, water_vapour_pressure(value)) for value in array.tolist()
    ]
    assert factors == pytest.approx(one_by_one, rel=1e-14)
    assert standard_atmosphere(np.array([0.0, 100.0]))[1] == standard_atmosphere(100.0)


@pytest.mark.parametrize("temperature", [-0.1, 100.1, float("nan"), np.float64(-5.0)])
def test_vapour_pressure_outside_its_range_is_refused(temperature: float) -> None:
    with pytest.raises(ValueError, match=r"wet gas \[degC\] is .* outside 0 to 100"):
        water_vapour_pressure(temperature)


def test_the_lowest_layer_of_the_atmosphere_goes_from_2_km_below_the_sea_to_11_above() -> None:
    for altitude in (-2000.0, 11000.0):
        assert standard_atmosphere(altitude) > 0
    for altitude in (-2001.0, 11001.0):
        with pytest.raises(ValueError, match="outside -2000 to 11000"):
            standard_atmosphere(altitude)


def test_other_impossible_inputs_are_refused() -> None:
    with pytest.raises(ValueError, match=r"altitude \[m\] is 12000"):
        standard_atmosphere(12000.0)
    with pytest.raises(ValueError, match="must be above its vapour pressure"):
        dry_standard_factor(40.0, 7.0, 7.4)
    with pytest.raises(ValueError, match="must be above absolute zero"):
        dry_standard_factor(-273.15, 101.325, 0.0)
    with pytest.raises(ValueError, match=r"burning time \[h\] is 0"):
        burner_power(1.0, 0)

"""Heat in water and ice against IAPWS and worked problems of a textbook."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from printed import as_printed
from scipy.optimize import brentq

from reportgen.calc.water import HEAT_OF_FUSION, ICE_DENSITY, heat_removed, ice_enthalpy, water_enthalpy

KILOCALORIE = 4.186  # kJ, as the textbook rounds it
SHORT_TON = 907.18474  # kg, exact


def heat_capacity(enthalpy: Callable[[float], float], temperature: float, inward: float) -> float:
    """Return d(enthalpy)/dt from a one-sided second-order difference that stays inside the range."""
    near, far = enthalpy(temperature + inward), enthalpy(temperature + 2 * inward)
    return (4 * near - far - 3 * enthalpy(temperature)) / (2 * inward)


@pytest.mark.parametrize(
    ("temperature", "printed"),
    [
        pytest.param(0.0, 4.2194, id="iapws-95-0C"),
        pytest.param(10.0, 4.1952, id="iapws-95-10C"),
        pytest.param(20.0, 4.1841, id="iapws-95-20C"),
        pytest.param(25.0, 4.1813, id="iapws-95-25C"),
    ],
)
def test_heat_capacity_of_water(temperature: float, printed: float) -> None:
    # the slope of the fit is good to 0.0001, as said beside its coefficients
    assert heat_capacity(water_enthalpy, temperature, 0.01) == pytest.approx(printed, abs=1e-4)


@pytest.mark.parametrize(
    ("temperature", "difference", "mean"),
    [
        pytest.param(20.0, "83.946", "4.1973", id="iapws-95-20C"),
        pytest.param(25.0, "104.859", "4.1944", id="iapws-95-25C"),
    ],
)
def test_heat_in_water_above_0_degrees(temperature: float, difference: str, mean: str) -> None:
    assert water_enthalpy(temperature) == as_printed(difference)
    assert water_enthalpy(temperature) / temperature == as_printed(mean)


def test_heat_of_fusion() -> None:
    # IAPWS-95 less IAPWS R10-06 at the normal melting point, 273.152519 K
    assert as_printed("333.43") == HEAT_OF_FUSION


@pytest.mark.parametrize(
    ("temperature", "printed"),
    [
        pytest.param(0.0, "2.0967", id="iapws-r10-06-0C"),
        pytest.param(-5.0, "2.0599", id="iapws-r10-06-minus-5C"),
        pytest.param(-10.0, "2.0231", id="iapws-r10-06-minus-10C"),
        pytest.param(-20.0, "1.9498", id="iapws-r10-06-minus-20C"),
    ],
)
def test_heat_capacity_of_ice(temperature: float, printed: str) -> None:
    assert heat_capacity(ice_enthalpy, temperature, -0.01) == as_printed(printed)


def test_heat_capacity_of_ice_at_the_triple_point() -> None:
    # IAPWS R10-06(2009), Table 6: 2096.784316 J/(kg K) at 273.16 K; at 0 °C, 0.01 K lower, it is 0.074 less
    # for the slope of 7.4 J/(kg K) per K and 0.015 less for the pressure. The fit is good to 0.002.
    assert 1000 * heat_capacity(ice_enthalpy, 0.0, -0.01) == pytest.approx(2096.784316 - 0.089, abs=0.003)


@pytest.mark.parametrize(
    ("temperature", "printed"),
    [
        pytest.param(-5.0, "10.391", id="iapws-r10-06-minus-5C"),
        pytest.param(-10.0, "20.599", id="iapws-r10-06-minus-10C"),
        pytest.param(-20.0, "40.463", id="iapws-r10-06-minus-20C"),
    ],
)
def test_heat_to_sub_cool_ice(temperature: float, printed: str) -> None:
    assert -ice_enthalpy(temperature) == as_printed(printed)


def test_fits_keep_the_residuals_they_state() -> None:
    from iapws import IAPWS95
    from iapws._iapws import _Ice

    zero = IAPWS95(T=273.15, P=0.101325).h
    for temperature in (5.0, 18.0, 37.0, 52.0, 78.0, 95.0):
        expected = IAPWS95(T=273.15 + temperature, P=0.101325).h - zero
        assert water_enthalpy(temperature) == pytest.approx(expected, abs=5e-4)
    ice_zero = _Ice(273.15, 0.101325)["h"]
    for temperature in np.linspace(-40.0, 0.0, 21):
        expected = _Ice(273.15 + temperature, 0.101325)["h"] - ice_zero
        assert ice_enthalpy(temperature) == pytest.approx(expected, abs=2e-5)


def test_density_of_ice_and_its_growth_on_freezing() -> None:
    # IAPWS R10-06 at 0 °C (918.17 at -10 °C); water 999.84 kg/m3 by IAPWS-95
    assert as_printed("916.72") == ICE_DENSITY
    assert as_printed("0.16") == 100 * (918.17 / ICE_DENSITY - 1)
    assert as_printed("9.07") == 100 * (999.84 / ICE_DENSITY - 1)


@pytest.mark.parametrize(
    ("start", "end", "printed"),
    [
        pytest.param(20.0, -5.0, "427.8", id="iapws-20C-to-minus-5C"),
        pytest.param(20.0, -10.0, "438.0", id="iapws-20C-to-minus-10C"),
        pytest.param(25.0, -5.0, "448.7", id="iapws-25C-to-minus-5C"),
        pytest.param(25.0, -10.0, "458.9", id="iapws-25C-to-minus-10C"),
    ],
)
def test_heat_from_a_kilogram_of_water_made_to_ice(start: float, end: float, printed: str) -> None:
    assert heat_removed(1.0, 1.0, start, end) == as_printed(printed)


def test_heat_with_the_round_constants_of_a_textbook() -> None:
    # 449.1 kJ/kg with 4.186, 334 and 2.09: 0.1 % high, so 0.3 % is allowed
    assert heat_removed(1.0, 1.0, 25.0, -5.0) == pytest.approx(449.1, rel=0.003)


def test_a_kilogram_of_ice_a_day_as_mean_power() -> None:
    assert heat_removed(1.0, 1.0, 25.0, -5.0) * 1000 / 86400 == as_printed("5.193")


def test_ton_of_refrigeration_is_0_45_percent_above_nature() -> None:
    # 3516.85 W (NIST SP 811, from memory): a short ton of ice a day at 144 Btu/lb. With 333.42 kJ/kg it would
    # be 3500.9 W; our heat of fusion is 0.01 larger, worth 0.1 W.
    power = heat_removed(SHORT_TON, SHORT_TON, 0.0, 0.0) * 1000 / 86400
    assert power == pytest.approx(3500.9, abs=0.05 + 0.11)
    assert 100 * (3516.85 / power - 1) == as_printed("0.45")


def test_round_constants_of_a_textbook_lie_among_ours() -> None:
    # OpenStax University Physics volume 2, sections 1.4 and 1.5: water 4186, ice 2090 J/(kg K), 334 kJ/kg
    assert heat_capacity(water_enthalpy, 20.0, 0.01) < 4.186 < heat_capacity(water_enthalpy, 10.0, 0.01)
    assert heat_capacity(ice_enthalpy, -5.0, -0.01) < 2.090 < heat_capacity(ice_enthalpy, 0.0, -0.01)
    assert pytest.approx(334, rel=0.003) == HEAT_OF_FUSION


def test_freezing_four_kilograms() -> None:
    # OpenStax University Physics volume 2, section 1.5 problem: 319 kcal
    assert heat_removed(4.00, 4.00, 0.0, 0.0) / KILOCALORIE == as_printed("319")


def test_ice_in_soda() -> None:
    # OpenStax University Physics volume 2, section 1.5 example: 18 g of ice at 0 °C in 250 g at 20 °C, 13 °C
    heat = 0.250 * water_enthalpy(20.0) - heat_removed(0.018, 0.018, 0.0, 0.0)
    final = brentq(lambda temperature: 0.268 * water_enthalpy(temperature) - heat, 0.0, 20.0)
    assert final == as_printed("13")


def test_cold_ice_in_warm_water() -> None:
    # OpenStax University Physics volume 2, section 1.5 problem: 0.0500 kg of ice at -30.0 °C takes 4.74 kcal
    # to melt and brings 0.400 kg of water from 35.0 to 20.6 °C. The book takes 2.09 kJ/(kg K) for ice, which
    # is 5 % high at -30 °C and makes its heat 1 % and the cooling 0.1 K too large.
    melting = heat_removed(0.0500, 0.0500, 0.0, -30.0)
    assert melting / KILOCALORIE == pytest.approx(4.74, rel=0.012)
    heat = 0.400 * water_enthalpy(35.0) - melting
    final = brentq(lambda temperature: 0.450 * water_enthalpy(temperature) - heat, 0.0, 35.0)
    assert final == pytest.approx(20.6, abs=0.05 + 0.1)


def test_ice_melted_in_a_foam_icebox() -> None:
    # OpenStax University Physics volume 2, section 1.6 example: 0.950 m2 of foam, 25.0 mm,
    # 0.035 W/(m K), 35 K. Prints 46.6 W and 12.1 kg a day; unrounded 46.55 W and 12.04 kg with 334 kJ/kg,
    # 12.06 with ours.
    heat_flow = 0.035 * 0.950 * 35.0 / 0.0250
    assert heat_flow == as_printed("46.55")
    assert heat_flow * 86400 / 1000 / heat_removed(1.0, 1.0, 0.0, 0.0) == as_printed("12.1")

"""Plans and advice against figures worked out elsewhere, and against rules of thumb of the trade."""

from __future__ import annotations

import pytest
from printed import as_printed

from reportgen.advice.model import FUELS, SERVICE
from reportgen.advice.words import turned_into_gas
from reportgen.calc import gas, supply
from reportgen.calc.water import heat_removed
from reportgen.plan.circumstances import PUBLISHED_RATES

#: Wet gas at 30 °C and 101.325 kPa [L standard dry per L as read].
FACTOR = gas.dry_standard_factor(30.0, 101.325, gas.water_vapour_pressure(30.0))


@pytest.mark.parametrize(
    ("methane", "power"),
    [(0.50, "258"), (0.55, "283"), (0.60, "309"), (0.65, "335"), (0.70, "361")],
)
def test_power_of_a_litre_a_minute(methane: float, power: str) -> None:
    energy = supply.energy_per_litre(FACTOR, methane)
    assert 60 * energy * 1e6 / 3600 == as_printed(power)
    assert supply.rate_of_power(60 * energy * 1e6 / 3600, energy) == pytest.approx(60)


@pytest.mark.parametrize(
    ("rate", "hours"),
    [(0.5, "6.7"), (1.0, "3.3"), (1.25, "2.7"), (2.4, "1.4")],
)
def test_how_long_two_hundred_litres_last(rate: float, hours: str) -> None:
    assert supply.hours_of_gas(200.0, 60 * rate) == as_printed(hours)


@pytest.mark.parametrize(
    ("cop", "cubic_metres"),
    [(0.02, "1.18"), (0.05, "0.47"), (0.10, "0.24"), (0.15, "0.16")],
)
def test_gas_of_a_kilogram_of_ice(cop: float, cubic_metres: str) -> None:
    heat = heat_removed(1.0, 1.0, 25.0, 0.0)
    assert supply.gas_for_heat(heat, cop, supply.energy_per_litre(FACTOR, 0.6)) / 1000 == as_printed(cubic_metres)


@pytest.mark.parametrize(
    ("fuel", "mass"),
    [("lpg", "0.454"), ("kerosene", "0.491"), ("wood", "1.378"), ("charcoal", "0.728")],
)
def test_fuel_with_the_heat_of_a_standard_cubic_metre(fuel: str, mass: str) -> None:
    assert 1000 * supply.energy_per_litre(1.0, 0.6) / FUELS[fuel][2] == as_printed(mass)


def test_fuel_that_cooks_as_much_as_a_cubic_metre() -> None:
    assert 1000 / SERVICE["charcoal"] == as_printed("2")
    assert 1000 / SERVICE["wood"] == as_printed("5")


@pytest.mark.parametrize(
    ("days", "rate", "percent"),
    [(1, 0.09, 9), (1, 0.30, 26), (7, 0.09, 47), (7, 0.30, 88)],
)
def test_share_of_a_feed_that_is_gas_by_then(days: int, rate: float, percent: int) -> None:
    assert turned_into_gas(days, rate) == percent


def test_rules_of_thumb_of_the_trade() -> None:
    """Common practice, no source: a litre a minute runs a cabinet; a holder of 200 litres lasts about 200 minutes."""
    low, high = PUBLISHED_RATES
    assert low < 60 < high
    assert 60 * supply.hours_of_gas(200.0, 60.0) == pytest.approx(200)

"""State of the gas, the factor to standard dry gas, and the methane fraction."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from reportgen.figures import Results

from .trials import FALLING, HOLDER, THREE_HOURS, column, names, number, results


def with_gas(folder: Path, *logs: str, without: tuple[str, ...] = (), top: Any = None, **changes: Any) -> Results:
    gas = {key: value for key, value in HOLDER.items() if key not in without} | changes
    return results(folder, column("gas_volume [L]", FALLING), *logs, burner=THREE_HOURS, gas=gas, **(top or {}))


def factor(found: Results) -> float:
    return found["gas_used"].value / found["gas_used_as_read"].value


def test_standard_gas_is_its_own_standard_volume(tmp_path: Path) -> None:
    assert factor(with_gas(tmp_path)) == pytest.approx(1, abs=1e-12)


def test_warm_dry_gas_shrinks_with_the_kelvins(tmp_path: Path) -> None:
    # 273.15 / 300.465 = 1 / 1.1
    found = with_gas(tmp_path, temperature="27.315 +/- 0.3 degC")
    assert factor(found) == pytest.approx(1 / 1.1, abs=1e-12)
    # Relative: 0.3 K of 300.465 K, beside the readings and the scale that both volumes share.
    ratio = number(found["gas_used"]) / number(found["gas_used_as_read"])
    assert ratio.std_dev / ratio.nominal_value == pytest.approx(0.3 / 300.465, rel=1e-6)


def test_wet_gas_at_30_degc_holds_0_863_of_dry_gas(tmp_path: Path) -> None:
    # (101.325 - 4.247) / 101.325 x 273.15 / 303.15, with the vapour pressure of steam tables.
    found = with_gas(tmp_path, dry=False, temperature="30 +/- 0 degC")
    assert factor(found) == pytest.approx((101.325 - 4.247) / 101.325 * 273.15 / 303.15, abs=2e-5)
    assert "water vapour" in names(found["gas_used"])
    assert found["gas_used"].basis == "derived"


def test_gauge_pressure_adds_to_the_atmosphere(tmp_path: Path) -> None:
    assert factor(with_gas(tmp_path, pressure="101.325 +/- 0 mbar")) == pytest.approx(1.1, abs=1e-12)


def test_altitude_stands_in_for_a_barometer(tmp_path: Path) -> None:
    # Standard atmosphere at 1000 m: 898.75 hPa (ISO 2533).
    found = with_gas(tmp_path, without=("atmospheric",), top={"altitude": "1000 +/- 0 m"})
    assert factor(found) == pytest.approx(898.75 / 1013.25, abs=1e-4)
    assert found["gas_used"].basis == "derived"
    assert "atmospheric pressure" in names(found["gas_used"])
    # The weather moves it by 0.8 kPa.
    ratio = number(found["gas_used"]) / number(found["gas_used_as_read"])
    assert ratio.std_dev == pytest.approx(0.8 / 101.325, rel=1e-3)


def test_stated_barometer_goes_before_altitude(tmp_path: Path) -> None:
    found = with_gas(tmp_path, atmospheric="911.925 +/- 0 hPa", top={"altitude": "0 m"})
    assert factor(found) == pytest.approx(0.9, abs=1e-12)


def test_logged_barometer_goes_before_the_stated_one(tmp_path: Path) -> None:
    found = with_gas(tmp_path, column("atmospheric_pressure [hPa]", {0: 810.6, 3: 810.6}))
    assert factor(found) == pytest.approx(0.8, abs=1e-12)
    assert found["gas_used"].basis == "derived"  # the instrument's limits are taken, not the value


def test_without_barometer_and_altitude_sea_level_is_an_assumption(tmp_path: Path) -> None:
    found = with_gas(tmp_path, without=("atmospheric",))
    assert factor(found) == pytest.approx(1)
    for key in ("gas_used", "gas_per_hour", "energy_used", "burner_power"):
        assert found[key].basis == "assumed"
    assert found["gas_used_as_read"].basis == "measured"


def test_gas_temperature_is_taken_from_the_air_where_not_recorded(tmp_path: Path) -> None:
    ambient = column("ambient_temperature [degC]", {0: 20, 1.5: 26, 3: 32})
    found = with_gas(tmp_path, ambient, without=("temperature",))
    assert factor(found) == pytest.approx(273.15 / (273.15 + 26), abs=1e-12)
    assert "gas temperature" in names(found["gas_used"])
    assert found["gas_used"].basis == "assumed"
    # 5 K limits of the difference and 1 K limits of the thermometer.
    assert found.gas_state.temperature.standard_uncertainty == pytest.approx((26 / 3) ** 0.5)


def test_nothing_recorded_is_a_warm_day_and_a_wide_one(tmp_path: Path) -> None:
    found = with_gas(tmp_path, without=("temperature", "pressure", "atmospheric"))
    assert {"gas temperature", "gas pressure", "atmospheric pressure"} <= names(found["gas_used"])
    assert found.gas_state.temperature.value == 25
    assert found.gas_state.temperature.standard_uncertainty == pytest.approx(10 / 3**0.5)


def test_logged_gas_temperature_is_weighted_by_time(tmp_path: Path) -> None:
    # 10 °C for two hours, then a line to 40 °C in one: (2 x 10 + 25) / 3 = 15.
    found = with_gas(tmp_path, column("gas_temperature [degC]", {0: 10, 1: 10, 2: 10, 3: 40}))
    assert found.gas_state.temperature.value == pytest.approx(15)


# Methane


def test_methane_stated_with_its_method_is_measured(tmp_path: Path) -> None:
    found = with_gas(tmp_path)
    assert found["methane_fraction"].value == pytest.approx(0.6)
    assert found["methane_fraction"].standard_uncertainty == pytest.approx(0.03)
    assert found["methane_fraction"].basis == "measured"
    assert found["energy_used"].basis == "derived"


@pytest.mark.parametrize("method", ["assumed", "Estimated from a table", "guess", ""])
def test_methane_that_was_not_measured_makes_the_energy_assumed(tmp_path: Path, method: str) -> None:
    found = with_gas(tmp_path, methane_method=method)
    assert found["methane_fraction"].basis == "assumed"
    for key in ("energy_used", "burner_power"):
        assert found[key].basis == "assumed"
        assert "methane fraction" in names(found[key])
    for key in ("gas_used", "gas_per_hour", "gas_used_as_read"):
        assert found[key].basis != "assumed"


def test_methane_logged_goes_before_the_stated_one(tmp_path: Path) -> None:
    found = with_gas(tmp_path, column("methane [%]", {1: 70, 2: 70}))
    assert found["methane_fraction"].value == pytest.approx(0.7)
    assert found["methane_fraction"].standard_uncertainty == pytest.approx(0.01 / 3**0.5)
    assert found["methane_fraction"].basis == "measured"


def test_methane_not_recorded_is_the_usual_band(tmp_path: Path) -> None:
    found = with_gas(tmp_path, without=("methane", "methane_method"))
    assert found["methane_fraction"].value == pytest.approx(0.6)
    assert found["methane_fraction"].standard_uncertainty == pytest.approx(0.1 / 3**0.5)
    assert found["methane_fraction"].basis == "assumed"
    effect = next(e for e in found.assumptions if e.assumption.name == "methane fraction")
    assert "energy_used" in effect.affects
    assert "gas_used" not in effect.affects
    assert effect.share_of == "energy_used"
    # 9.6 % of methane against 1.2 % of the scale and 0.5 % of the readings.
    assert effect.share_of_variance == pytest.approx(0.98, abs=0.01)


def test_assumed_methane_without_an_uncertainty_gets_wide_limits(tmp_path: Path) -> None:
    found = with_gas(tmp_path, methane="62 %", methane_method="assumed")
    assert found["methane_fraction"].standard_uncertainty == pytest.approx(0.1 / 3**0.5)

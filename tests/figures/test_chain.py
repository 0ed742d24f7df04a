"""Gas and energy per kilogram of ice, the COP and its limit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from reportgen.figures import Results

from .trials import FALLING, HOLDER, THREE_HOURS, column, names, number, reason, results

WATER = {
    "mass": "1.00 +/- 0.01 kg",
    "ice_mass": "0.9 +/- 0.01 kg",
    "placed": "09:00",
    "temperature": "25 +/- 0.5 degC",
    "ice_temperature": "-5 +/- 1 degC",
}
COLD = {0.0: 25, 1.0: 5, 1.5: -10, 2.0: -10, 2.5: -10, 3.0: -10}


def of(folder: Path, *logs: str, **sheet: Any) -> Results:
    base = {"burner": THREE_HOURS, "gas": HOLDER, "water": WATER, "boiler": {"temperature": "180 +/- 5 degC"}}
    return results(
        folder,
        column("gas_volume [L]", FALLING),
        column("cabinet_temperature [degC]", COLD),
        column("ambient_temperature [degC]", {0: 30, 3: 30}),
        *logs,
        **(base | sheet),
    )


def test_gas_methane_and_energy_per_kilogram(tmp_path: Path) -> None:
    found = of(tmp_path)
    assert found["gas_per_ice_as_read"].value == pytest.approx(200)
    assert found["gas_per_ice"].value == pytest.approx(200)
    assert found["methane_per_ice"].value == pytest.approx(120)
    assert found["energy_per_ice"].value == pytest.approx(0.12 * 35.818, rel=1e-4)
    for key in ("gas_per_ice", "energy_per_ice", "cop_ice"):
        assert found[key].basis == "derived"


def test_what_is_per_ice_shares_all_errors_with_what_it_is_made_of(tmp_path: Path) -> None:
    found = of(tmp_path)
    for per_ice, whole in (("gas_per_ice", "gas_used"), ("energy_per_ice", "energy_used")):
        back = number(found[per_ice]) * number(found["ice_mass"]) / number(found[whole])
        assert back.nominal_value == pytest.approx(1)
        assert back.std_dev == pytest.approx(0, abs=1e-12)
    ratio = number(found["energy_per_ice"]) / number(found["gas_per_ice"])
    # What differs is the methane and its heating value only.
    assert ratio.std_dev / ratio.nominal_value == pytest.approx(((3 / 60) ** 2 + 0.003**2 / 3) ** 0.5, rel=1e-6)


def test_cop_is_heat_over_energy(tmp_path: Path) -> None:
    found = of(tmp_path)
    expected = found["heat_removed"].value / (0.108 * 35818)
    assert found["cop_ice"].value == pytest.approx(expected, rel=1e-4)


def test_reversible_limit_by_two_carnot_machines(tmp_path: Path) -> None:
    found = of(tmp_path)
    expected = (1 - 303.15 / 453.15) * 263.15 / (303.15 - 263.15)
    assert found["cop_reversible"].value == pytest.approx(expected)
    assert found["cop_reversible"].basis == "derived"


def test_boiler_log_is_weighted_by_time_and_goes_first(tmp_path: Path) -> None:
    # 160 °C for two hours, then to 200 °C in one: (2 x 160 + 180) / 3 °C.
    found = of(tmp_path, column("boiler_temperature [degC]", {0: 160, 1.9: 160, 2: 160, 3: 200}))
    boiler = 273.15 + 500 / 3
    assert found["cop_reversible"].value == pytest.approx((1 - 303.15 / boiler) * 263.15 / 40)


def test_boiler_not_measured_is_assumed(tmp_path: Path) -> None:
    found = of(tmp_path, boiler={})
    assert found["cop_reversible"].basis == "assumed"
    assert "boiler temperature" in names(found["cop_reversible"])
    assert found["cop_ice"].basis == "derived"


def test_limit_needs_temperatures_in_order(tmp_path: Path) -> None:
    assert "order" in reason(of(tmp_path, boiler={"temperature": "20 degC"})["cop_reversible"])


def test_cop_above_what_heat_can_do_is_withheld(tmp_path: Path) -> None:
    # 10 kg of water for 0.108 m3 of methane (3.87 MJ): 4.3 MJ of cold, more than the heat.
    found = of(tmp_path, water=WATER | {"mass": "10 +/- 0.1 kg", "ice_mass": "9.9 +/- 0.1 kg"})
    assert "must be wrong" in reason(found["cop_ice"])


def test_cop_above_the_reversible_limit_is_withheld(tmp_path: Path) -> None:
    # A boiler of 35 °C: (1 - 303.15 / 308.15) x 263.15 / 40 = 0.107; the COP is about 0.11.
    water = WATER | {"mass": "1.1 +/- 0.01 kg", "ice_mass": "1.1 +/- 0.01 kg"}
    found = of(tmp_path, boiler={"temperature": "35 +/- 1 degC"}, water=water)
    assert found["cop_reversible"].value == pytest.approx(0.1067, abs=1e-4)
    assert "reversible limit" in reason(found["cop_ice"])
    # The ratios of the same gas and ice are no better; gas and ice by themselves stand.
    assert "reversible limit" in reason(found["energy_per_ice"])
    assert found["energy_used"].is_given
    assert found["ice_mass"].is_given
    assert [finding.code for finding in found.findings].count("impossible-figure") == 1


def test_first_cause_is_named_all_along_the_chain(tmp_path: Path) -> None:
    found = of(tmp_path, gas={key: value for key, value in HOLDER.items() if key != "kind"})
    for key in ("gas_per_ice", "energy_per_ice", "cop_ice", "methane_per_ice"):
        assert "gas.kind" in reason(found[key])

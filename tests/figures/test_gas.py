"""Gas per hour, energy, power, endurance, production."""

from __future__ import annotations

from pathlib import Path

import pytest

from .trials import FALLING, HOLDER, THREE_HOURS, column, names, number, reason, results

READING = 2 / 12**0.5  # L, of a scale read to 2 L


def test_chain_from_litres_to_watts(tmp_path: Path) -> None:
    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=HOLDER)
    assert found["gas_per_hour_as_read"].value == pytest.approx(60)
    assert found["gas_per_hour"].value == pytest.approx(60)
    assert found["gas_per_hour_as_read"].basis == "measured"
    assert found["gas_per_hour"].basis == "derived"
    assert found["hours_per_cubic_metre_as_read"].value == pytest.approx(1000 / 60)
    # 0.18 m3 x 0.6 x 35.8 MJ/m3 (ISO 6976: 35.818, here of the ideal gas).
    assert found["energy_used"].value == pytest.approx(0.108 * 35.818, rel=1e-4)
    assert found["burner_power"].value == pytest.approx(0.108 * 35.818e6 / 10800, rel=1e-4)
    relative = (2 * READING**2 / 180**2 + 0.02**2 / 3 + (3 / 60) ** 2 + 0.003**2 / 3) ** 0.5
    energy = found["energy_used"]
    assert energy.standard_uncertainty / energy.value == pytest.approx(relative, rel=1e-6)


def test_rate_times_time_is_the_gas_with_no_error_left(tmp_path: Path) -> None:
    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=HOLDER)
    again = number(found["gas_per_hour"]) * number(found["burning_time"])
    assert again.nominal_value == pytest.approx(found["gas_used"].value)
    assert (again / number(found["gas_used"])).std_dev == pytest.approx(0, abs=1e-12)


def test_endurance_runs_down_to_the_reserve(tmp_path: Path) -> None:
    found = results(
        tmp_path,
        column("gas_volume [L]", {0: 300, 1: 240, 2: 180, 3: 120}),
        burner=THREE_HOURS,
        gas=HOLDER | {"reserve": "30 L"},
    )
    assert found["holder_endurance"].value == pytest.approx(90 / 60)
    assert found["holder_endurance"].basis == "derived"
    assert "reserve" in names(found["holder_endurance"])  # stated without an uncertainty
    assert "trial.toml:gas.reserve" in found["holder_endurance"].inputs


def test_endurance_without_a_stated_reserve_is_assumed(tmp_path: Path) -> None:
    found = results(
        tmp_path, column("gas_volume [L]", {0: 300, 1: 240, 2: 180, 3: 120}), burner=THREE_HOURS, gas=HOLDER
    )
    assert found["holder_endurance"].value == pytest.approx(2)
    assert found["holder_endurance"].basis == "assumed"
    assert found["gas_per_hour"].basis == "derived"


def test_holder_at_its_reserve_has_no_endurance(tmp_path: Path) -> None:
    log = column("gas_volume [L]", FALLING)
    found = results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER | {"reserve": "20 L"})
    assert "reserve" in reason(found["holder_endurance"])


def test_limits_in_litres_are_of_the_zero_which_falls_are_free_of(tmp_path: Path) -> None:
    log = column("gas_volume [L]", {0: 300, 1: 240, 2: 180, 3: 120})
    gas = HOLDER | {"accuracy": "6 L", "reserve": "30 +/- 0 L"}
    found = results(tmp_path, log, burner=THREE_HOURS, gas=gas)
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(READING * 2**0.5)
    assert found["holder_endurance"].standard_uncertainty == pytest.approx(6 / 60, rel=0.02)


def test_scale_nobody_described_is_an_assumption_of_its_limits_only(tmp_path: Path) -> None:
    gas = {key: value for key, value in HOLDER.items() if key not in ("accuracy", "resolution")}
    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=gas)
    assert {"gas scale", "gas readings"} <= names(found["gas_used_as_read"])
    assert found["gas_used_as_read"].basis == "measured"


def test_production_is_the_sum_of_all_rows(tmp_path: Path) -> None:
    log = column("gas_produced [L]", {-48: 400, -24: 380, 0: 420})
    found = results(tmp_path, column("gas_volume [L]", FALLING), log, burner=THREE_HOURS, gas=HOLDER)
    assert found["gas_produced"].value == pytest.approx(1200)


def test_rises_of_an_idle_holder_are_production(tmp_path: Path) -> None:
    # 10 to 110 L before, 20 to 50 L after; the refill of an idle holder is none, nor are falls.
    before = {-20.0: 10, -10.0: 110, -8.0: 100, -6.0: 160}
    after = {5.0: 50}
    found = results(
        tmp_path,
        column("gas_volume [L]", before | {-1.0: 200} | FALLING | after),
        column("event", {-7: "refill"}),
        burner=THREE_HOURS,
        gas=HOLDER,
    )
    assert found["gas_produced"].value == pytest.approx(100 + 40 + 30)
    by_level = results(
        tmp_path / "level",
        column("gas_level [cm]", {at: value / 2 for at, value in (before | FALLING).items()}),
        column("event", {-7: "refill"}),
        burner=THREE_HOURS,
        gas=HOLDER | {"level_area": "2000 +/- 0 cm^2"},
    )
    assert by_level["gas_produced"].value == pytest.approx(100 + 40)


def test_no_production_logged_is_said(tmp_path: Path) -> None:
    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=HOLDER)
    assert "gas_produced" in reason(found["gas_produced"])


def test_variance_shares_sum_to_one(tmp_path: Path) -> None:
    from reportgen.calc.uncertainty import variance_shares

    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=HOLDER)
    shares = variance_shares(number(found["energy_used"]))
    assert sum(shares.values()) == pytest.approx(1)
    total = 2 * READING**2 / 180**2 + 0.02**2 / 3 + (3 / 60) ** 2 + 0.003**2 / 3
    assert shares["methane fraction"] == pytest.approx((3 / 60) ** 2 / total)
    assert shares["gas scale"] == pytest.approx(0.02**2 / 3 / total)

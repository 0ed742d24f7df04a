"""What left the holder, the meter or the flow line for the burner."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from reportgen.figures import Results
from reportgen.figures.gas_account import GasAccount

from .trials import FALLING, HOLDER, THREE_HOURS, codes, column, names, reason, results, rows

READING = 2 / 12**0.5  # L, of a scale read to 2 L
SCALE = 0.02 / 3**0.5  # of a scale right to 2 %


def of_holder(folder: Path, readings: Mapping[float, float], *logs: str, **changes: Any) -> Results:
    """Return the results of a shut-off holder, lit for three hours."""
    return results(folder, column("gas_volume [L]", readings), *logs, burner=THREE_HOURS, gas=HOLDER | changes)


def used(found: Results) -> float:
    return found["gas_used_as_read"].value


def account(found: Results) -> GasAccount:
    assert isinstance(found.gas_account, GasAccount)
    return found.gas_account


# A shut-off holder


def test_gas_used_is_the_fall_with_the_error_of_two_readings_and_the_scale(tmp_path: Path) -> None:
    found = of_holder(tmp_path, FALLING)
    assert used(found) == pytest.approx(180)
    expected = (2 * READING**2 + (180 * SCALE) ** 2) ** 0.5
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(expected)
    assert found["gas_used_as_read"].basis == "measured"
    assert "(200.0 − 20.0)" in str(found["gas_used_as_read"].working)
    assert "log1.csv:2-5" in found["gas_used_as_read"].inputs


def test_production_of_an_open_holder_is_added(tmp_path: Path) -> None:
    # 24 rows of 48 L, two hours apart: 24 L/h, 72 L in three hours.
    production = column("gas_produced [L]", {-47.0 + 2 * i: 48 for i in range(24)})
    found = of_holder(tmp_path, FALLING, production, isolated=False)
    assert used(found) == pytest.approx(180 + 72)
    assert found["gas_used_as_read"].basis == "assumed"
    assert "production during the run" in names(found["gas_used_as_read"])
    parts = 2 * READING**2 + (0.2 * 72) ** 2 + (252 * SCALE) ** 2
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)


def test_open_holder_without_production_tells_nothing(tmp_path: Path) -> None:
    assert "gas_produced" in reason(of_holder(tmp_path, FALLING, isolated=False)["gas_used_as_read"])


def test_rise_of_an_open_holder_is_production_and_is_reported(tmp_path: Path) -> None:
    production = column("gas_produced [L]", {-47.0 + 2 * i: 48 for i in range(24)})
    found = of_holder(tmp_path, {0: 100, 1: 90, 2: 120, 3: 100}, production, isolated=False)
    assert used(found) == pytest.approx(0 + 72)
    assert "holder-rises" in codes(found)
    assert not account(found).refills


def test_isolation_not_stated_is_an_assumption(tmp_path: Path) -> None:
    gas = {key: value for key, value in HOLDER.items() if key != "isolated"}
    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=gas)
    assert used(found) == pytest.approx(180)
    assert found["gas_used_as_read"].basis == "assumed"
    assert "holder isolated" in names(found["gas_used_as_read"])
    assert "gas_per_hour" in next(e.affects for e in found.assumptions if e.assumption.name == "holder isolated")


def test_kind_not_stated_decides_nothing(tmp_path: Path) -> None:
    gas = {key: value for key, value in HOLDER.items() if key != "kind"}
    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=gas)
    assert "gas.kind" in reason(found["gas_used"])
    assert "gas.kind" in reason(found["energy_used"])


@pytest.mark.parametrize("readings", [{0.0: 100, 3.0: 100}, {0.0: 20, 1.5: 22, 3.0: 24}], ids=["none", "negative"])
def test_no_gas_used_is_not_a_result(tmp_path: Path, readings: dict[float, float]) -> None:
    found = of_holder(tmp_path, readings)
    assert "no gas used" in reason(found["gas_used_as_read"])
    assert not found["gas_per_hour"].is_given


def test_readings_of_one_instant_are_no_fault(tmp_path: Path) -> None:
    other = column("gas_volume [L]", {1.0: 142})
    assert used(of_holder(tmp_path, FALLING, other)) == pytest.approx(180)


# Refills


def test_refill_is_left_out_and_the_gas_burnt_meanwhile_is_taken_at_the_mean_rate(tmp_path: Path) -> None:
    # 40 + 50 L in two hours, then half an hour with the refill: 22.5 L more; 30 L in the last half hour.
    found = of_holder(tmp_path, {0: 100, 1: 40, 1.5: 160, 2: 130, 3: 70})
    # (60 + 90) L in 2.5 h is 60 L/h: 30 L meanwhile.
    assert used(found) == pytest.approx(150 + 30)
    (refill,) = account(found).refills
    assert refill.amount == pytest.approx(120 + 30)
    assert codes(found).count("refill") == 1
    assert found["gas_used_as_read"].basis == "derived"
    assert "gas burnt during a refill" in names(found["gas_used_as_read"])
    parts = 4 * READING**2 + (0.2 * 30) ** 2 + (180 * SCALE) ** 2
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)


def test_small_logged_refill_counts_where_it_shows(tmp_path: Path) -> None:
    # 60 L/h; the third interval falls by 10 L only, and a refill is logged in it.
    event = column("event", {1.25: "refill"})
    found = of_holder(tmp_path, {0: 200, 1: 140, 1.5: 130, 2: 100, 3: 40}, event)
    assert used(found) == pytest.approx(180)
    assert account(found).refills[0].amount == pytest.approx(20)


def test_logged_refill_that_does_not_show_is_a_finding(tmp_path: Path) -> None:
    found = of_holder(tmp_path, FALLING, column("event", {1.25: "refill"}))
    assert used(found) == pytest.approx(180)
    assert "refill-not-seen" in codes(found)


def test_logged_refill_counts_in_an_open_holder_too(tmp_path: Path) -> None:
    production = column("gas_produced [L]", {-47.0 + 2 * i: 48 for i in range(24)})
    found = of_holder(
        tmp_path,
        {0: 100, 1: 40, 1.5: 160, 2: 130, 3: 70},
        production,
        column("event", {1.2: "refill"}),
        isolated=False,
    )
    assert used(found) == pytest.approx(180 + 72)


@pytest.mark.parametrize("wrong", [180, 40], ids=["spike", "dip"])
def test_misread_content_is_no_refill(tmp_path: Path, wrong: float) -> None:
    readings = {0.0: 200, 0.5: 170, 1.0: 140, 1.5: 110, 2.0: 80, 2.5: 50, 3.0: 20} | {1.5: wrong}
    found = of_holder(tmp_path, readings)
    assert used(found) == pytest.approx(180)
    assert not account(found).refills
    (finding,) = [f for f in found.findings if f.code == "gas-misread"]
    assert (finding.file, finding.row) == ("log1.csv", 5)


# The content when the burner was lit and went out


def test_content_at_lighting_is_interpolated(tmp_path: Path) -> None:
    # A quarter hour before at 200 L, a quarter after at 190 L: 195 L at lighting.
    found = of_holder(tmp_path, {-0.25: 200, 0.25: 190, 1: 140, 3: 20})
    assert used(found) == pytest.approx(175)
    # The shut-off holder may have stood at 200 L up to the lighting: limits of 5 L.
    parts = 2 * READING**2 + 5**2 / 3 + (175 * SCALE) ** 2
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)


def test_content_at_flame_out_is_the_nearest_within_five_minutes(tmp_path: Path) -> None:
    # 4 minutes before the end, at 60 L/h: 4 L may be missing.
    found = of_holder(tmp_path, {0: 200, 1: 140, 3 - 4 / 60: 24})
    assert used(found) == pytest.approx(176)
    assert found["gas_used_as_read"].basis == "measured"
    parts = 2 * READING**2 + 4**2 / 3 + (176 * SCALE) ** 2
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)


def test_content_up_to_an_hour_beyond_the_readings_is_an_assumption(tmp_path: Path) -> None:
    # The last reading is half an hour before the end; 60 L/h until then, 30 L give or take a fifth.
    found = of_holder(tmp_path, {0: 200, 1: 140, 2.5: 50})
    assert used(found) == pytest.approx(180)
    assert found["gas_used_as_read"].basis == "assumed"
    assert "gas beyond the readings" in names(found["gas_used_as_read"])
    parts = 2 * READING**2 + (0.2 * 30) ** 2 + (180 * SCALE) ** 2
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)


@pytest.mark.parametrize("readings", [{0: 200, 1: 140, 1.5: 110}, {1.5: 110, 2: 80, 3: 20}], ids=["out", "lit"])
def test_content_that_nobody_read_gives_no_gas_used(tmp_path: Path, readings: dict[float, float]) -> None:
    assert "no gas reading tells the content" in reason(of_holder(tmp_path, readings)["gas_used_as_read"])


# Meters, levels, flow


def test_meter_counts_up(tmp_path: Path) -> None:
    found = of_holder(tmp_path, {0: 1000, 1: 1060, 2: 1120, 3: 1180}, kind="meter")
    assert used(found) == pytest.approx(180)
    assert "gasholder" in reason(found["holder_endurance"])


def test_meter_passes_its_highest_reading(tmp_path: Path) -> None:
    found = of_holder(tmp_path, {0: 9900, 1: 9960, 2: 20, 3: 80}, kind="meter")
    assert used(found) == pytest.approx(180)
    assert "meter-rollover" in codes(found)


def test_misread_meter_is_no_rollover(tmp_path: Path) -> None:
    found = of_holder(tmp_path, {0: 120, 1: 980, 2: 240, 3: 300}, kind="meter")
    assert used(found) == pytest.approx(180)
    assert "meter-rollover" not in codes(found)
    assert "gas-misread" in codes(found)


def test_meter_in_cubic_metres(tmp_path: Path) -> None:
    log = column("gas_volume [m3]", {0: "12.000", 1: "12.060", 3: "12.180"})
    found = results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER | {"kind": "meter"})
    assert used(found) == pytest.approx(180)


def test_level_by_area(tmp_path: Path) -> None:
    # 2000 cm² give 2 L per cm; the area is right to 1 %.
    log = column("gas_level [cm]", {0: 100, 1: 70, 3: 10})
    found = results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER | {"level_area": "2000 +/- 20 cm^2"})
    assert used(found) == pytest.approx(180)
    parts = 2 * READING**2 + 180**2 * (SCALE**2 + 0.01**2)
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)
    assert "trial.toml:gas.level_area" in found["gas_used_as_read"].inputs


def test_level_by_table(tmp_path: Path) -> None:
    log = column("gas_level [cm]", {0: 15, 1: 10, 3: 5})
    found = results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER | {"level_table": [[0, 0], [10, 24], [20, 48]]})
    assert used(found) == pytest.approx(36 - 12)


def test_level_outside_its_table_is_not_used_and_is_a_finding(tmp_path: Path) -> None:
    log = column("gas_level [cm]", {0: 15, 1: 10, 2: 25, 3: 5})
    table = {"level_table": [[0, 0], [10, 24], [20, 48]]}
    found = results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER | table)
    assert used(found) == pytest.approx(24)
    (finding,) = [f for f in found.findings if f.code == "level-outside-table"]
    assert (finding.file, finding.row) == ("log1.csv", 4)


def test_level_alone_is_no_volume(tmp_path: Path) -> None:
    log = column("gas_level [cm]", FALLING)
    assert "level_area" in reason(results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER)["gas_used"])


def test_flow_is_integrated_between_readings(tmp_path: Path) -> None:
    # 1 L/min for an hour, rising to 2 L/min in the second, 2 L/min in the third: 60 + 90 + 120 L.
    log = column("gas_flow [L/min]", {0: "1.0", 0.5: "1.0", 1: "1.0", 1.5: "1.5", 2: "2.0", 2.5: "2.0", 3: "2.0"})
    found = results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER | {"kind": "flow"})
    assert used(found) == pytest.approx(270)
    # Written in steps of 0.5 L/min: 30 L/h / sqrt 12 for half an hour each, the ends for a quarter.
    parts = (5 * 0.5**2 + 2 * 0.25**2) * (30 / 12**0.5) ** 2 + (270 * SCALE) ** 2
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)


def test_flow_log_that_leaves_out_hours_tells_nothing(tmp_path: Path) -> None:
    log = column("gas_flow [L/min]", {0: "1.0", 0.5: "1.0", 1: "1.0"})
    found = results(tmp_path, log, burner=THREE_HOURS, gas=HOLDER | {"kind": "flow"})
    assert "read only from" in reason(found["gas_used"])


# Gas used elsewhere


def test_gas_used_elsewhere_in_the_run_is_taken_off(tmp_path: Path) -> None:
    found = of_holder(tmp_path, FALLING, column("gas_elsewhere [L]", {1: 0, 2: 30}))
    assert used(found) == pytest.approx(150)


def test_gas_used_elsewhere_before_and_after_the_run_is_not(tmp_path: Path) -> None:
    found = of_holder(tmp_path, FALLING, column("gas_elsewhere [L]", {-5: 40, -1: 50, 0: 0, 3: 0, 5: 60}))
    assert used(found) == pytest.approx(180)
    assert "elsewhere" not in str(found["gas_used_as_read"].working)


def test_gas_used_elsewhere_partly_in_the_run_is_shared_out_by_time(tmp_path: Path) -> None:
    # 40 L between an hour before the end and an hour after: 20 L, and as likely all as none.
    found = of_holder(tmp_path, FALLING, column("gas_elsewhere [L]", {2: 0, 4: 40}))
    assert used(found) == pytest.approx(160)
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(20, rel=0.02)


def test_flame_out_in_mid_run_counts_no_gas(tmp_path: Path) -> None:
    log = rows(
        "time,event,gas_volume [L]",
        (0, "burner lit", 200),
        (1, "burner out", 140),
        (1.5, "", 138),
        (2, "relit", 136),
        (3, "burner out", 76),
    )
    found = results(tmp_path, log, gas=HOLDER)
    assert used(found) == pytest.approx(120)
    assert "(200.0 − 140.0) + (136.0 − 76.0)" in str(found["gas_used_as_read"].working)
    parts = 4 * READING**2 + (120 * SCALE) ** 2
    assert found["gas_used_as_read"].standard_uncertainty == pytest.approx(parts**0.5)

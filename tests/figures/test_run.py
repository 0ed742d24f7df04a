"""Run time and burning time."""

from __future__ import annotations

from pathlib import Path

import pytest

from .trials import FALLING, HOLDER, THREE_HOURS, codes, column, reason, results, rows


def test_time_of_a_burner_that_never_went_out_is_the_run(tmp_path: Path) -> None:
    found = results(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=HOLDER)
    assert found["run_time"].value == 3
    assert found["burning_time"].number is found["run_time"].number
    # Two moments to the minute: limits of half a minute each.
    assert found["run_time"].standard_uncertainty == pytest.approx((2 * (1 / 120) ** 2 / 3) ** 0.5)
    assert found["run_time"].basis == "measured"


def test_time_without_flame_is_run_time_but_not_burning_time(tmp_path: Path) -> None:
    events = rows(
        "time,event,gas_volume [L]",
        (0, "burner lit", 200),
        (1, "burner out", 140),
        (1.5, "relit", 140),
        (3, "burner out", 50),
    )
    found = results(tmp_path, events, gas=HOLDER)
    assert found["run_time"].value == 3
    assert found["burning_time"].value == pytest.approx(2.5)
    assert "(1.00 − 0.00) + (3.00 − 1.50)" in str(found["burning_time"].working)
    # 150 L in the 2.5 h with the flame lit.
    assert found["gas_per_hour_as_read"].value == pytest.approx(60)


def test_without_lighting_there_is_no_run(tmp_path: Path) -> None:
    found = results(tmp_path, column("gas_volume [L]", FALLING), column("ice", {2: "solid"}), gas=HOLDER)
    for key in ("run_time", "burning_time", "gas_used", "gas_per_hour", "ice_making_time", "energy_used"):
        assert "lit" in reason(found[key]), key


def test_without_a_flame_out_the_last_reading_ends_the_run_and_is_a_finding(tmp_path: Path) -> None:
    cabinet = column("cabinet_temperature [degC]", {0: 25, 1: 10, 2: 0, 2.5: -5})
    found = results(tmp_path, column("gas_volume [L]", FALLING), cabinet, burner={"lit": "09:00"}, gas=HOLDER)
    assert found["run_time"].value == 3
    assert "end-not-recorded" in codes(found)
    assert "not recorded" in reason(found["hold_over_time"])

"""What is unusual is said and stays; what is usual is not remarked on."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial

SHEET = """title = "t"
date = 2026-03-14
[burner]
lit = "09:00"
out = "13:00"
[gas]
kind = "holder"
isolated = true
temperature = "25 +/- 1 degC"
pressure = "10 +/- 1 mbar"
atmospheric = "1013 +/- 1 hPa"
methane = "{methane} +/- 1 %"
methane_method = "analyser"
[water]
mass = "1.00 +/- 0.01 kg"
ice_mass = "{ice} +/- 0.01 kg"
placed = "09:00"
temperature = "20 +/- 1 degC"
ice_temperature = "-5 +/- 1 degC"
"""
ROWS = "time,gas_volume [L],cabinet_temperature [degC],ambient_temperature [degC],ice\n"


def found(
    folder: Path, *, gas: float = 200, methane: float = 60, ice: float = 1.0, cabinet: str = "26 10 0 -6 -9",
    ambient: str = "27 28 28 28 27", solid: bool = True,
) -> Results:  # fmt: skip
    (folder / "trial.toml").write_text(SHEET.format(methane=methane, ice=ice), encoding="utf-8")
    rows = ROWS
    for hour, (inside, outside) in enumerate(zip(cabinet.split(), ambient.split(), strict=True)):
        look = ("solid" if solid else "partial") if hour == 4 else "liquid" if hour == 0 else ""
        rows += f"{9 + hour:02d}:00,{10 + gas * (4 - hour) / 4:.2f},{inside},{outside},{look}\n"
    (folder / "log.csv").write_text(rows, encoding="utf-8")
    return compute(read_trial(folder))


def codes(results: Results) -> set[str]:
    return {finding.code for finding in results.findings if finding.level == "caution"}


def test_a_usual_trial_draws_no_caution(tmp_path: Path) -> None:
    assert codes(found(tmp_path)) == set()


@pytest.mark.parametrize(
    ("change", "code", "key"),
    [
        ({"gas": 50}, "unusual-gas-rate", "gas_per_hour_as_read"),  # 12.5 L/h
        ({"gas": 900}, "unusual-gas-rate", "gas_per_hour_as_read"),  # 225 L/h
        ({"methane": 90}, "unusual-methane", "methane_fraction"),
        ({"methane": 30}, "unusual-methane", "methane_fraction"),
        # 1 kg from 20 to -5 °C takes 428 kJ; 120 L of gas hold 2.3 MJ: 0.19.
        ({"gas": 120}, "unusual-cop", "cop_ice"),
        ({"gas": 30}, "unusual-burner-power", "burner_power"),  # 0.57 MJ in 4 h is 40 W
    ],
)
def test_an_unusual_figure_stays_and_is_said(tmp_path: Path, change: dict[str, float], code: str, key: str) -> None:
    results = found(tmp_path, **change)  # type: ignore[arg-type]
    assert code in codes(results)
    assert results[key].is_given


def test_an_impossible_figure_is_withheld_and_said(tmp_path: Path) -> None:
    results = found(tmp_path, ice=3.0)
    assert "impossible-figure" in codes(results)
    assert not results["ice_mass"].is_given


def test_lighter_ice_swapped_thermometers_and_solid_without_frost_are_said(tmp_path: Path) -> None:
    assert "ice-lighter" in codes(found(tmp_path, ice=0.9))
    assert "warmer-than-ambient" in codes(found(tmp_path, cabinet="26 33 34 35 36"))
    assert "solid-above-zero" in codes(found(tmp_path, cabinet="26 20 12 8 4"))


def cold_starts(results: Results) -> list[str]:
    return [str(finding.message) for finding in results.findings if finding.code == "cooled-before"]


def test_the_start_is_compared_with_the_room_at_lighting_and_not_with_the_warm_noon(tmp_path: Path) -> None:
    assert not cold_starts(found(tmp_path, cabinet="20 10 0 -6 -9", ambient="21 26 31 32 30"))
    # Between the readings on either side of the lighting, 4 K above the cabinet; a warm night after it changes nothing.
    (said,) = cold_starts(found(tmp_path, cabinet="20 10 0 -6 -9", ambient="24 22 18 14 12"))
    assert said.startswith("the cabinet was 4 K colder than its surroundings when the burner was lit")


def test_without_a_reading_at_lighting_the_mean_is_taken_and_that_is_said(tmp_path: Path) -> None:
    found(tmp_path, cabinet="20 10 0 -6 -9")
    log = (tmp_path / "log.csv").read_text(encoding="utf-8")
    for hours in (("09:00",), ("09:00", "10:00")):
        rows = [
            ",".join([*row.split(",")[:3], "", row.split(",")[4]]) if row[:5] in hours else row
            for row in log.split("\n")
        ]
        (tmp_path / "log.csv").write_text("\n".join(rows), encoding="utf-8")
        (said,) = cold_starts(compute(read_trial(tmp_path)))
        assert "K colder than the mean ambient of the run when the burner was lit, near to which none was read" in said
    near = log.replace("09:00,210.00,20,27", "09:00,210.00,20,") + "09:20,190,18,24,\n"
    (tmp_path / "log.csv").write_text(near, encoding="utf-8")
    (said,) = cold_starts(compute(read_trial(tmp_path)))
    assert said.startswith("the cabinet was 4 K colder than its surroundings")


def test_a_cold_start_and_a_day_and_night_are_noted(tmp_path: Path) -> None:
    results = found(tmp_path, cabinet="12 5 0 -6 -9", ambient="27 28 33 28 27")
    notes = {finding.code for finding in results.findings if finding.level == "note"}
    assert {"cooled-before", "ambient-swings"} <= notes

"""Real logs by other people, where they are at hand: what is read from them is what a careful reader takes from them.

The expected values stand in `facts.json` beside the logs and were computed apart from this project. The logs and their
facts are not part of it; without REPORTGEN_REAL_LOGS these tests are skipped and say so.
"""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reportgen.calc.response import Response, fit_first_order
from reportgen.cli import run
from reportgen.errors import LogFileError
from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial
from reportgen.trial import Finding, Trial

TEMPERATURE = 'gas_temperature = "Temperature (°C)"'
METERS = {"biogas-meter-0604": "2024-06-04.csv", "biogas-meter-0726": "2024-07-26.csv"}


def expected(real_logs: Path, file: str) -> dict[str, Any]:
    facts = json.loads((real_logs / "facts.json").read_text(encoding="utf-8"))
    return next(fact["expected"] for fact in facts if fact["file"] == file)


def of_kind(trial: Trial, code: str) -> list[Finding]:
    return [finding for finding in trial.findings if finding.code == code]


def trial_around(folder: Path, log: Path, sheet: str) -> tuple[Trial, Results]:
    folder.mkdir(exist_ok=True)
    shutil.copy(log, folder)
    (folder / "trial.toml").write_text(f'title = "A real log"\n{sheet}', encoding="utf-8")
    trial = read_trial(folder)
    return trial, compute(trial)


@pytest.mark.parametrize("name", sorted(METERS))
def test_register_of_a_gas_meter(name: str, real_logs: Path, tmp_path: Path) -> None:
    """The register's rise over the whole log, with the lighting and the going out at its first and last reading."""
    fact = expected(real_logs, f"{name}/{METERS[name]}")
    sheet = f"""[burner]
lit = "{fact["t_first_utc"]}"
out = "{fact["t_last_utc"]}"
[gas]
kind = "meter"
[columns]
"{METERS[name]}" = {{ epoch = "UNIX Timestamp", gas_volume = "Gas Consumption (l)", {TEMPERATURE} }}
"""
    trial, results = trial_around(tmp_path / "trial", real_logs / name / METERS[name], sheet)
    register = trial.readings["gas_volume"]
    assert len(register) == fact["register_rows"]
    assert (register.values[0], register.values[-1]) == (fact["register_first_L"], fact["register_last_L"])
    assert results["gas_used_as_read"].value == pytest.approx(fact["volume_L"], abs=2.0)
    assert trial.readings["gas_temperature"].values.mean() == pytest.approx(fact["temperature_C"]["mean"], abs=1e-3)
    assert run(["report", str(tmp_path / "trial"), "--out", str(tmp_path / "out")]) == 0


@pytest.mark.parametrize("name", sorted(METERS))
def test_flow_of_a_gas_meter_integrates_to_its_register(name: str, real_logs: Path, tmp_path: Path) -> None:
    fact = expected(real_logs, f"{name}/{METERS[name]}")
    sheet = f"""[burner]
lit = "{fact["t_first_utc"]}"
out = "{fact["t_last_utc"]}"
[gas]
kind = "flow"
[columns]
"{METERS[name]}" = {{ epoch = "UNIX Timestamp", gas_flow = "Flow (lph)" }}
"""
    _, results = trial_around(tmp_path / "trial", real_logs / name / METERS[name], sheet)
    assert results["gas_used_as_read"].value == pytest.approx(fact["flow_integral_trapezoid_L"], rel=0.02)


def test_freezer_log_with_offsets_and_a_gap(real_logs: Path, tmp_path: Path) -> None:
    fact = expected(real_logs, "beacon-freezer/freezer.csv")
    sheet = """time_zone = "Europe/Berlin"
[burner]
lit = "2020-05-05 09:17:51"
[columns]
"freezer.csv" = { time = "timestamp", cabinet_temperature = "temperature" }
"""
    trial, results = trial_around(tmp_path / "trial", real_logs / "beacon-freezer" / "freezer.csv", sheet)
    cabinet = trial.readings["cabinet_temperature"]
    assert len(cabinet) == fact["rows"]
    assert (cabinet.values.min(), cabinet.values.max()) == (fact["temperature_C"]["min"], fact["temperature_C"]["max"])
    assert float(np.diff(cabinet.at).max()) == fact["largest_gap_s"]
    assert trial.hours(float(cabinet.at[-1])) == pytest.approx(24 - 38 / 3600, abs=1e-6)
    assert not results["time_to_0"].is_given  # it started below


def test_mug_of_water_follows_no_single_time_constant(real_logs: Path) -> None:
    """A free fit of one exponential misses the readings by 1.5 K; that must not pass unsaid."""
    fact = expected(real_logs, "mug-cooling/CoolingWater.csv")
    rows = np.genfromtxt(real_logs / "mug-cooling" / "CoolingWater.csv", delimiter=",", skip_header=1)
    fitted = fit_first_order(rows[:, 1] / 60, rows[:, 2], 0.1, allow_delay=False)
    assert isinstance(fitted, Response)
    plain = fact["exp_fit_free_ambient_min"]
    assert fitted.time_constant.value == pytest.approx(plain["tau"] / 60, rel=0.02)
    assert fitted.floor.value == pytest.approx(plain["T_inf"], abs=0.3)
    assert fitted.model_doubt is not None


def test_water_cooling_by_itself(real_logs: Path) -> None:
    fact = expected(real_logs, "water-cooling-nofan/Water-Cooling-Without-Fan.dat")["exp_fit_free_ambient_s"]
    rows = np.genfromtxt(real_logs / "water-cooling-nofan" / "Water-Cooling-Without-Fan.dat")
    fitted = fit_first_order(rows[:, 0] / 3600, rows[:, 1], 0.1, allow_delay=False)
    assert isinstance(fitted, Response)
    assert fitted.time_constant.value == pytest.approx(fact["tau"] / 3600, rel=0.02)
    assert fitted.floor.value == pytest.approx(fact["T_inf"], abs=0.3)


PENDANT_HEADERS = 'time = "Date Time, GMT+0{hours}:00", cabinet_temperature = "Temp, °C (LGR S/N: {a}, SEN S/N: {b})"'
#: The one line under [columns] that each logger file needs, the column it fills, its fact, and the zone of its clock.
SERIES: dict[str, tuple[str, str, str, str]] = {
    "pendant-logger/20024354_comma.csv": (
        PENDANT_HEADERS.format(hours=2, a=20024354, b=20024354),
        "cabinet_temperature",
        "temperature",
        "+02:00",
    ),
    "pendant-logger/20024354_tab.txt": (
        PENDANT_HEADERS.format(hours=2, a=20024354, b=20024354),
        "cabinet_temperature",
        "temperature",
        "+02:00",
    ),
    "pendant-logger/6265.csv": (
        PENDANT_HEADERS.format(hours=1, a=20396265, b=20396265),
        "cabinet_temperature",
        "temperature",
        "+01:00",
    ),
    "pendant-logger/20024354_minimal.csv": (
        'time = "Date Time", cabinet_temperature = "Temp (°C) c:1"',
        "cabinet_temperature",
        "temperature",
        "+00:00",
    ),
    "pendant-logger/20024354.txt": (
        'time = "Date Time", cabinet_temperature = "Temp (°C) LGR S/N: 20024354,  #20024354"',
        "cabinet_temperature",
        "temperature",
        "+00:00",
    ),
    "soil-logger/data_94214606_0.csv": (
        'time = "column 2", cabinet_temperature = "column 4 [degC]"',
        "cabinet_temperature",
        "T1",
        "+00:00",
    ),
    "room-climate/2024-08-19.csv": (
        'time = "Datetime", ambient_temperature = "Temp (deg C)"',
        "ambient_temperature",
        "temperature_C",
        "+00:00",
    ),
    "beacon-freezer/freezer.csv": (
        'time = "timestamp", cabinet_temperature = "temperature"',
        "cabinet_temperature",
        "temperature_C",
        "+00:00",
    ),
}


@pytest.mark.parametrize("file", sorted(SERIES))
def test_a_logger_file_needs_one_line_under_columns(file: str, real_logs: Path, tmp_path: Path) -> None:
    line, column, key, offset = SERIES[file]
    fact = expected(real_logs, file)
    folder, name = file.split("/")
    trial, _ = trial_around(tmp_path / "trial", real_logs / folder / name, f'[columns]\n"{name}" = {{ {line} }}\n')
    readings = trial.readings[column]
    numbers = fact[key]
    lines = [line.rstrip() for line in (real_logs / file).read_text(encoding="utf-8-sig").splitlines()]
    repeated = len(lines) - len(set(lines))  # lines that are the same to the letter are read once, and said
    assert len(readings) == numbers["n"] - repeated
    assert [finding.message.values["n"] for finding in of_kind(trial, "repeated-rows")] == [repeated] * bool(repeated)
    assert readings.values[[0, -1]].tolist() == [numbers["first"], numbers["last"]]
    assert (readings.values.min(), readings.values.max()) == (numbers["min"], numbers["max"])
    assert readings.values.mean() == pytest.approx(numbers["mean"], abs=2e-3 if repeated else 1e-6)
    times = [dt.datetime.fromtimestamp(float(at), dt.UTC) for at in readings.at[[0, -1]]]
    stated = [dt.datetime.fromisoformat(fact[name]) for name in ("t_first", "t_last")]
    zone = dt.datetime.fromisoformat(f"2000-01-01T00:00{offset}").tzinfo
    assert times == [moment if moment.tzinfo else moment.replace(tzinfo=zone) for moment in stated]


@pytest.mark.parametrize(
    ("file", "line", "key", "last"),
    [
        (
            "mug-cooling/CoolingWater.csv",
            'elapsed = "time [min]", water_temperature = "temp [degC]"',
            "temp_C",
            221 * 60,
        ),
        (
            "water-cooling-nofan/Water-Cooling-Without-Fan.dat",
            'elapsed = "column 1 [s]", water_temperature = "column 2 [degC]"',
            "temp_C",
            2137.76,
        ),
        (
            "sdcard-logger/example-log.csv",
            'elapsed = "Time (ms)", water_temperature = "Temperature (°C)"',
            "temperature_C",
            256.4,
        ),
    ],
)
def test_a_log_of_elapsed_time(file: str, line: str, key: str, last: float, real_logs: Path, tmp_path: Path) -> None:
    numbers = expected(real_logs, file)[key]
    folder, name = file.split("/")
    trial, _ = trial_around(tmp_path / "trial", real_logs / folder / name, f'[columns]\n"{name}" = {{ {line} }}\n')
    water = trial.readings["water_temperature"]
    assert trial.lit_at is not None
    assert len(water) == numbers["n"]
    assert (water.values[0], water.values[-1]) == (numbers["first"], numbers["last"])
    assert water.values.mean() == pytest.approx(numbers["mean"], abs=1e-5)
    assert water.at[-1] - trial.lit_at == pytest.approx(last, abs=1e-6)


def test_a_fraction_of_methane_is_read_where_its_unit_is_said(real_logs: Path, tmp_path: Path) -> None:
    fact = expected(real_logs, "bmp-interlab-gc/comp.csv")
    sheet = '[columns]\n"comp.csv" = { time = "inject.date.time", methane = "xCH4 [fraction]" }\n'
    trial, _ = trial_around(tmp_path / "trial", real_logs / "bmp-interlab-gc" / "comp.csv", sheet)
    methane = trial.readings["methane"]
    assert len(methane) == fact["rows"]
    assert methane.values.mean() == pytest.approx(100 * fact["xCH4"]["mean"], abs=1e-4)
    ends = [dt.datetime.fromtimestamp(float(at), dt.UTC).replace(tzinfo=None).isoformat() for at in methane.at[[0, -1]]]
    assert ends == [fact["t_min"], fact["t_max"]]
    assert "not-in-order" in {finding.code for finding in trial.findings}


@pytest.mark.parametrize(
    ("file", "line"),
    [
        ("gas-insulation-weekly/whiteside.csv", ""),
        ("gas-insulation-weekly/whiteside.csv", 'ambient_temperature = "Temp"'),
        ("heating-kwh-monthly/electric_heat_consumption_data.csv", ""),
        ("heating-kwh-monthly/electric_heat_consumption_data.csv", 'time = "Date", gas_volume = "kWh"'),
        ("household-utilities/Utilities.csv", ""),
        ("household-utilities/Utilities.csv", 'time = "month", ambient_temperature = "temp [degF]"'),
        ("household-utilities/Utilities.csv", 'date = "year", ambient_temperature = "temp [degF]"'),
    ],
)
def test_bills_and_tables_without_times_are_refused(file: str, line: str, real_logs: Path, tmp_path: Path) -> None:
    folder, name = file.split("/")
    columns = f'[columns]\n"{name}" = {{ {line} }}\n' if line else ""
    with pytest.raises(LogFileError) as caught:
        trial_around(tmp_path / "trial", real_logs / folder / name, columns)
    assert 1 <= len(str(caught.value).split("\n")) <= 3
    assert name in str(caught.value)
    (tmp_path / "trial").mkdir(exist_ok=True)
    assert run(["report", str(tmp_path / "trial"), "--out", str(tmp_path / "out")]) == 1
    assert not (tmp_path / "out").exists()

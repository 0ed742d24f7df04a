"""Real logs by other people, where they are at hand: what is read from them is what a careful reader takes from them.

The expected values stand in `facts.json` beside the logs and were computed apart from this project. The logs and their
facts are not part of it; without REPORTGEN_REAL_LOGS these tests are skipped and say so.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reportgen.calc.response import Response, fit_first_order
from reportgen.cli import run
from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial
from reportgen.trial import Trial

TEMPERATURE = 'gas_temperature = "Temperature (°C)"'
METERS = {"biogas-meter-0604": "2024-06-04.csv", "biogas-meter-0726": "2024-07-26.csv"}


def expected(real_logs: Path, file: str) -> dict[str, Any]:
    facts = json.loads((real_logs / "facts.json").read_text(encoding="utf-8"))
    return next(fact["expected"] for fact in facts if fact["file"] == file)


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

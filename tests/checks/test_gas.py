"""What the checks say of gas readings, and that sound ones pass."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

import pytest

from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.trial import Trial

OURS = {"factor-of-thousand", "gas-direction"}
FALLING = {0.0: 200, 0.5: 170, 1.0: 140, 1.5: 110, 2.0: 80, 2.5: 50, 3.0: 20}
RISING = {hour: 1000 - value for hour, value in FALLING.items()}


def trial_of(
    readings: Mapping[float, object],
    gas: str,
    column: str = "gas_volume [L]",
) -> Trial:
    burner = '[burner]\nlit = "2026-03-14 09:00"\nout = "2026-03-14 12:00"\n'
    sheet = f'title = "A trial"\ntime_zone = "UTC"\n{burner}[gas]\n{gas}\n'
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "trial.toml").write_text(sheet, encoding="utf-8")
        rows = [f"2026-03-14T{9 + int(h):02d}:{round(h % 1 * 60):02d},{v}" for h, v in readings.items()]
        (folder / "gas.csv").write_text("\n".join([f"time,{column}", *rows, ""]), encoding="utf-8")
        return read_trial(folder)


def ours(trial: Trial) -> list[str]:
    return [finding.code for finding in trial.findings if finding.code in OURS]


@pytest.mark.parametrize(
    ("readings", "gas"),
    [
        (FALLING, 'kind = "holder"'),
        (RISING, 'kind = "meter"'),
        (RISING, 'kind = "holder"\nisolated = false'),
        ({**FALLING, 1.55: 190, 2.0: 163, 2.5: 133, 3.0: 103}, 'kind = "holder"'),  # a refill
        ({0.0: 99_900, 1.0: 99_960, 2.0: 20, 3.0: 80}, 'kind = "meter"'),  # a rollover
    ],
)
def test_sound_readings_pass(readings: dict[float, float], gas: str) -> None:
    trial = trial_of(readings, gas)
    assert ours(trial) == []
    assert not trial.readings["gas_volume"].is_questionable.any()


def test_a_holder_that_rises_with_the_burner_lit_is_asked_for() -> None:
    trial = trial_of(RISING, 'kind = "holder"')
    assert ours(trial) == ["gas-direction"]
    level = 'kind = "holder"\nlevel_table = [[0, 900], [1000, 0]]'
    assert ours(trial_of(RISING, level, "gas_level [cm]")) == []  # a water level rises as the content falls
    assert ours(trial_of(RISING, 'kind = "holder"\nlevel_area = "2400 cm^2"', "gas_level [cm]")) == ["gas-direction"]


def test_a_meter_that_falls_is_asked_for() -> None:
    assert ours(trial_of(FALLING, 'kind = "meter"')) == ["gas-direction"]


def test_a_column_that_goes_on_in_another_unit() -> None:
    trial = trial_of({**RISING, 2.5: 0.95, 3.0: 0.98}, 'kind = "meter"')
    assert ours(trial) == ["factor-of-thousand"]
    finding = next(finding for finding in trial.findings if finding.code in OURS)
    assert "2 readings (rows 7, 8)" in str(finding.message)
    volumes = trial.readings["gas_volume"]
    assert volumes.values[volumes.is_questionable].tolist() == [0.95, 0.98]


def test_gas_of_few_steps_is_said() -> None:
    few = trial_of(FALLING, 'kind = "holder"\nresolution = "10 L"')
    assert "few-gas-steps" in [finding.code for finding in compute(few).findings]
    enough = trial_of(FALLING, 'kind = "holder"\nresolution = "5 L"')
    assert "few-gas-steps" not in [finding.code for finding in compute(enough).findings]

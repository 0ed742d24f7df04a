"""The error to find: one reading altered, always the same one, that stands out and is told truly in the answer."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from conftest import computed_sample, sample_folders
from figures.trials import FALLING, HOLDER, THREE_HOURS, column, write

from reportgen.read.folder import read_trial
from reportgen.view.altered import FEWEST_ROWS, MOST_ROWS, AlteredView, altered_table, off_line

COLD = {0: 20.0, 0.5: 9.0, 1: 1.0, 1.5: -4.0, 2: -7.0, 2.5: -9.0, 3: -10.0}


def number_of(text: str) -> float:
    return float(text.replace("−", "-"))


def table(folder: Path, *logs: str, **sheet: object) -> AlteredView | None:
    write(folder, *logs, burner=THREE_HOURS, **sheet)
    return altered_table(read_trial(folder))


@pytest.mark.parametrize("folder", sample_folders(), ids=lambda folder: folder.name)
def test_one_reading_is_altered_and_all_others_are_the_logs_own(folder: Path) -> None:
    trial, _ = computed_sample(folder.name)
    view = altered_table(trial)
    assert view is not None
    assert view == altered_table(read_trial(folder))
    assert FEWEST_ROWS <= len(view.rows) <= MOST_ROWS
    readings = trial.column("cabinet_temperature")
    assert readings is not None
    logged = {
        round(trial.hours(float(at)), 2): float(value) for at, value in zip(readings.at, readings.values, strict=True)
    }
    for i, (time, value) in enumerate(view.rows):
        close = min(logged, key=lambda hour, time=time: abs(hour - number_of(time)))
        if i == view.altered:
            assert number_of(value) != pytest.approx(logged[close], abs=0.06)
            assert number_of(view.true) == pytest.approx(logged[close], abs=0.06)
            assert value == view.shown
        else:
            assert number_of(value) == pytest.approx(logged[close], abs=0.06)
    for part in (view.true, view.shown, view.place):
        assert part in view.answer


@pytest.mark.parametrize("folder", sample_folders(), ids=lambda folder: folder.name)
def test_the_altered_reading_is_the_one_furthest_off_its_neighbours(folder: Path) -> None:
    view = altered_table(computed_sample(folder.name)[0])
    assert view is not None
    at, values = np.array([[number_of(cell) for cell in row] for row in view.rows]).T
    assert int(np.argmax(np.abs(off_line(at, values)))) + 1 == view.altered


def test_a_sign_is_lost_where_there_is_one_to_lose(tmp_path: Path) -> None:
    view = table(tmp_path, column("cabinet_temperature [degC]", COLD))
    assert view is not None
    assert number_of(view.shown) == -number_of(view.true) > 0
    assert "minus sign" in view.answer


def test_gas_readings_serve_where_the_cabinet_was_not_logged(tmp_path: Path) -> None:
    gas = {hour / 2: 300 - 31 * hour for hour in range(7)}
    view = table(tmp_path, column("gas_volume [L]", gas), gas=HOLDER)
    assert view is not None
    assert "Gas in the holder" in view.quantity


def test_without_readings_enough_there_is_no_exercise(tmp_path: Path) -> None:
    assert table(tmp_path / "few", column("gas_volume [L]", FALLING), gas=HOLDER) is None
    assert table(tmp_path / "none", column("ice", {0: "liquid", 2: "solid"})) is None


def test_no_slip_is_made_that_would_not_stand_out(tmp_path: Path) -> None:
    wild = {hour / 2: value for hour, value in enumerate((2.0, 9.0, 1.0, 8.0, 2.0, 9.0, 1.0))}
    assert table(tmp_path, column("cabinet_temperature [degC]", wild)) is None

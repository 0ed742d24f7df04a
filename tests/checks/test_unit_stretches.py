"""Stretches of temperatures in °F or K among °C: asked once, used nowhere; real jumps are no such thing."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.charts.cabinet import cabinet_chart
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.status.state import status_of
from reportgen.trial import Trial

CABINET, AMBIENT = "cabinet_temperature [degC]", "ambient_temperature [degC]"
OUT = 'out = "2026-03-14 15:00"\n'
#: What may be said of such readings; one of it is enough.
ABOUT_IT = {"unit-changes", "not-possible", "stands-alone", "unit-in-doubt", "door-openings", "gap", "two-in-one"}
Readings = Mapping[float, float]


def stamp(hour: float) -> str:
    minutes = round((9 + hour) * 60)
    return f"2026-03-14T{minutes // 60:02d}:{minutes % 60:02d}"


def trial_of(
    cabinet: Readings, ambient: Readings | None = None, events: Mapping[float, str] = {}, out: str = OUT
) -> Trial:
    """Return a trial lit at 09:00, with readings by hour of the run."""
    logs: dict[str, Mapping[float, object]] = {CABINET: cabinet, AMBIENT: ambient or {}, "event": events}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sheet = f'title = "A trial"\ntime_zone = "UTC"\n[burner]\nlit = "2026-03-14 09:00"\n{out}'
        (folder / "trial.toml").write_text(sheet, encoding="utf-8")
        for number, (header, cells) in enumerate(logs.items()):
            rows = [f"{stamp(hour)},{value}" for hour, value in cells.items()]
            if rows:
                (folder / f"log{number}.csv").write_text("\n".join([f"time,{header}", *rows, ""]), encoding="utf-8")
        return read_trial(folder)


def cooling(every: float = 0.25, floor: float = -12.0, until: float = 6.0) -> dict[float, float]:
    hours = np.round(np.arange(0, until + 0.01, every), 6).tolist()
    return {hour: round(floor + (26 - floor) * math.exp(-max(hour - 0.2, 0) / 1.1), 1) for hour in hours}


def air(every: float = 0.25) -> dict[float, float]:
    return dict.fromkeys(cooling(every), 24.0)


def fahrenheit(value: float) -> float:
    return round(value * 1.8 + 32, 1)


def kelvin(value: float) -> float:
    return round(value + 273.15, 1)


def written(readings: Readings, start: float, end: float, unit: Callable[[float], float]) -> dict[float, float]:
    """Return the readings from `start` to `end` [h], that not included, in another unit."""
    return {hour: unit(value) if start <= hour < end else value for hour, value in readings.items()}


def said(trial: Trial) -> list[tuple[str, int | None]]:
    return [(finding.code, finding.row) for finding in trial.findings if finding.code in ABOUT_IT]


@pytest.mark.parametrize("every", [0.25, 1 / 12])
@pytest.mark.parametrize(
    ("start", "end", "unit"),
    [
        (0.0, 1.0, fahrenheit),
        (0.5, 1.5, fahrenheit),
        (2.0, 3.0, fahrenheit),
        (3.5, 4.5, fahrenheit),
        (5.0, 6.1, fahrenheit),
        (0.0, 1.0, kelvin),
        (2.0, 3.0, kelvin),
        (5.0, 6.1, kelvin),
    ],
)
def test_an_hour_in_another_unit_is_one_question(
    every: float, start: float, end: float, unit: Callable[[float], float]
) -> None:
    readings = cooling(every)
    changed = [hour for hour in readings if start <= hour < end]
    trial = trial_of(written(readings, start, end, unit), air(every))
    first = list(readings).index(changed[0]) + 2
    assert said(trial) == [("unit-changes", first)]
    (finding,) = (finding for finding in trial.findings if finding.code == "unit-changes")
    assert f"rows {first} to {first + len(changed) - 1} ({len(changed)} readings" in str(finding.message)
    assert f"in {'°F' if unit is fahrenheit else 'K'}" in str(finding.message)
    used = trial.readings["cabinet_temperature"]
    assert used.values.tolist() == [value for hour, value in readings.items() if hour not in changed]
    assert not used.is_questionable.any()
    assert len(trial.excluded["cabinet_temperature"]) == len(changed)


@pytest.mark.parametrize("unit", [fahrenheit, kelvin])
def test_figures_are_those_of_the_log_without_the_stretch(unit: Callable[[float], float]) -> None:
    readings = cooling()
    trial = trial_of(written(readings, 2.0, 3.0, unit), air())
    without = trial_of({hour: value for hour, value in readings.items() if not 2 <= hour < 3}, air())
    results, others = compute(trial), compute(without)
    for key in ("time_to_0", "time_to_minus_6", "cooling_time_constant", "temperature_lowest", "cooling_rate_peak"):
        assert results[key].is_given == others[key].is_given
        if results[key].is_given:
            assert results[key].value == pytest.approx(others[key].value)
            assert results[key].standard_uncertainty == pytest.approx(others[key].standard_uncertainty)
    charts = [cabinet_chart(*one, str) for one in ((trial, results), (without, others))]
    assert len({str(chart.alt) for chart in charts if chart is not None}) == 1


def test_ambient_in_another_unit_leaves_its_mean() -> None:
    for unit in (fahrenheit, kelvin):
        trial = trial_of(cooling(), written(air(), 1, 2, unit))
        assert said(trial) == [("unit-changes", 6)]
        assert compute(trial)["ambient_mean"].value == pytest.approx(24)


def test_two_stretches_are_two_questions() -> None:
    trial = trial_of(written(written(cooling(), 1, 1.6, fahrenheit), 3, 4, fahrenheit), air())
    assert said(trial) == [("unit-changes", 6), ("unit-changes", 14)]


def test_what_no_stretch_explains_is_still_not_possible() -> None:
    trial = trial_of(written(cooling(), 2, 3, kelvin) | {5.0: 400.0}, air())
    assert said(trial) == [("unit-changes", 10), ("not-possible", 22)]
    assert len(trial.excluded["cabinet_temperature"]) == 5


def test_status_takes_a_stretch_for_no_warming_and_forecasts_as_without_it() -> None:
    readings = cooling(1 / 12, until=3.0)
    running = status_of(trial_of(written(readings, 1.5, 2.5, fahrenheit), air(), out=""))
    without = status_of(trial_of({h: v for h, v in readings.items() if not 1.5 <= h < 2.5}, air(), out=""))
    assert [alert.code for alert in running.alerts] == [alert.code for alert in without.alerts]
    assert running.forecasts["time_to_minus_12"] == without.forecasts["time_to_minus_12"]
    assert [finding.code for finding in running.trial.findings].count("unit-changes") == 1
    # Within the stretch, and before it.
    assert status_of(running.trial, at="2.4 h").trial.readings["cabinet_temperature"].at.size == 18
    assert "unit-changes" not in [finding.code for finding in status_of(running.trial, at="1 h").trial.findings]


def put_out(readings: Readings, start: float, end: float, lag: float) -> dict[float, float]:
    """Return the readings of a probe that lay in air of 24 °C from `start` to `end` [h]; it lags by `lag` [h]."""
    found = {}
    for hour, value in readings.items():
        share = 0.0
        if hour >= start:
            share = 1 - math.exp(-(min(hour, end) - start) / lag)
            share *= math.exp(-max(hour - end, 0) / lag)
        found[hour] = round(value + (24.0 - value) * share, 1)
    return found


@pytest.mark.parametrize("every", [1 / 60, 1 / 12, 0.25])
@pytest.mark.parametrize("lag", [0.02, 0.1, 0.3])
@pytest.mark.parametrize("start", [0.9, 2.2, 2.7, 3.5])
def test_a_probe_taken_out_or_an_open_door_is_no_unit(every: float, lag: float, start: float) -> None:
    for ambient in (air(every), None):
        trial = trial_of(put_out(cooling(every), start, start + 0.8, lag), ambient)
        assert "unit-changes" not in [code for code, _ in said(trial)], ambient is None


def test_a_probe_taken_out_for_good_is_no_unit() -> None:
    for ambient in (air(), None):
        for start in (2.2, 3.0, 4.0):
            trial = trial_of(put_out(cooling(), start, 99.0, 0.02), ambient)
            assert "unit-changes" not in [code for code, _ in said(trial)]


def test_air_about_the_cabinet_is_no_unit_though_it_would_fit() -> None:
    # At -5.6 °C the cabinet is 22 °C in °F.
    readings = {hour: 22.0 if 3 <= hour < 4 else -5.6 for hour in cooling()}
    assert "unit-changes" not in [code for code, _ in said(trial_of(readings, dict.fromkeys(readings, 22.5)))]
    assert "unit-changes" in [code for code, _ in said(trial_of(readings, dict.fromkeys(readings, 31.0)))]


def test_a_door_that_is_logged_answers_the_question() -> None:
    readings = written(cooling(), 3.5, 4.5, fahrenheit)
    assert said(trial_of(readings, air()))[0][0] == "unit-changes"
    trial = trial_of(readings, air(), {3.6: "door opened"})
    assert "unit-changes" not in [code for code, _ in said(trial)]
    assert len(trial.readings["cabinet_temperature"]) == len(readings)


@settings(deadline=None, max_examples=12)
@given(
    first=st.integers(1, 40),
    count=st.integers(4, 20),
    floor=st.floats(-20.0, -5.0),
    unit=st.sampled_from([fahrenheit, kelvin]),
)
def test_any_stretch_is_found_and_nothing_else(
    first: int, count: int, floor: float, unit: Callable[[float], float]
) -> None:
    readings = cooling(0.1, floor)
    hours = list(readings)
    trial = trial_of(written(readings, hours[first], hours[first + count], unit))
    assert said(trial) == [("unit-changes", first + 2)]
    expected = [value for hour, value in readings.items() if not hours[first] <= hour < hours[first + count]]
    assert trial.readings["cabinet_temperature"].values.tolist() == expected

"""Gas readings a power of ten or a unit away: asked once, used nowhere; and no real loss is taken for one."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.charts.gas_and_feed import gas_chart
from reportgen.checks import checked
from reportgen.checks.gas_slips import step_without
from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial
from reportgen.safety import safety_notes
from reportgen.status.moment import until
from reportgen.status.state import status_of
from reportgen.trial import QUESTIONABLE, Readings, Trial

OUT = 'out = "2026-03-14 15:00"'
HOLDER = 'kind = "holder"\ncapacity = "600 L"\nreserve = "60 L"\nisolated = true'
#: A holder that sinks by 60 L/h, read every quarter of an hour.
FALLING = {quarter / 4: 475 - 15 * quarter for quarter in range(25)}
FIGURES = ("gas_used_as_read", "gas_per_hour_as_read", "gas_rate_steadiness", "holder_endurance", "idle_loss")


def trial_of(
    readings: Mapping[float, object], gas: str = HOLDER, out: str = OUT, column: str = "gas_volume [L]", **more: object
) -> Trial:
    """Return a trial lit at 09:00 with gas readings by hour of the run; `more` are cells of other columns by name."""
    sheet = f'title = "A trial"\ntime_zone = "UTC"\n[burner]\nlit = "2026-03-14 09:00"\n{out}\n[gas]\n{gas}\n'
    logs = {column: readings, **{name.replace("_L", " [L]"): cells for name, cells in more.items()}}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "trial.toml").write_text(sheet, encoding="utf-8")
        for number, (header, cells) in enumerate(logs.items()):
            assert isinstance(cells, Mapping)
            rows = [f"{stamp(hour)},{cells[hour]}" for hour in sorted(cells)]
            (folder / f"log{number}.csv").write_text("\n".join([f"time,{header}", *rows, ""]), encoding="utf-8")
        return read_trial(folder)


def stamp(hour: float) -> str:
    minutes = round((9 + hour) * 60)
    return f"2026-03-14T{minutes // 60:02d}:{minutes % 60:02d}"


def said(results: Results) -> list[tuple[str, int | None]]:
    about_it = {"gas-misread", "factor-of-thousand", "gas-direction", "refill", "holder-leaks", "meter-rollover"}
    return [(finding.code, finding.row) for finding in results.findings if finding.code in about_it]


def aside(trial: Trial, name: str = "gas_volume") -> list[float]:
    left_out = trial.excluded[name]
    assert left_out.flag is None or set(left_out.flag.tolist()) <= {QUESTIONABLE}
    return [float(value) for value in left_out.values]


def numbers(results: Results) -> list[object]:
    return [
        (results[key].value, results[key].standard_uncertainty) if results[key].is_given else str(results[key].reason)
        for key in FIGURES
    ]


@pytest.mark.parametrize("wrong", [0.385, 38.5, 3.85, 3850, 385_000, 13.6])
def test_one_slip_is_one_question_and_the_reading_is_used_nowhere(wrong: float) -> None:
    trial, clean = trial_of({**FALLING, 1.5: wrong}), trial_of({h: v for h, v in FALLING.items() if h != 1.5})
    results, others = compute(trial), compute(clean)
    assert said(results) == [("gas-misread", 8)]
    assert aside(trial) == [wrong]
    assert numbers(results) == numbers(others)
    notes = [note.code for note in safety_notes(trial, results)]
    assert notes == [note.code for note in safety_notes(clean, others)]
    assert {"holder-nearly-empty", "holder-nearly-full"} & set(notes) == set()
    charts = [gas_chart(*one, str) for one in ((trial, results), (clean, others))]
    captions = {str(chart.alt) for chart in charts if chart is not None}
    assert len(captions) == 1


def test_what_the_question_says() -> None:
    (finding,) = (f for f in trial_of({**FALLING, 1.5: 0.385}).findings if f.code == "gas-misread")
    assert "0.385 L where the readings beside it lead to 385 L, a factor of 1000" in str(finding.message)
    assert "log the refill" in str(finding.effect)
    rising = {hour: 1475 - value for hour, value in FALLING.items()}
    (of_meter,) = (f for f in trial_of({**rising, 1.5: 1.09}, 'kind = "meter"').findings if f.code == "gas-misread")
    assert "refill" not in str(of_meter.effect)


def test_a_stretch_in_cubic_metres_is_one_question() -> None:
    trial = trial_of({**FALLING, 1.5: 0.385, 1.75: 0.37, 2.0: 0.355})
    results = compute(trial)
    assert said(results) == [("gas-misread", 8)]
    assert "3 readings (rows 8 to 10)" in str(next(f for f in results.findings if f.code == "gas-misread").message)
    assert aside(trial) == [0.385, 0.37, 0.355]
    assert results["gas_per_hour_as_read"].value == pytest.approx(60)


def test_a_slip_of_a_level_and_of_a_meter() -> None:
    level = trial_of({**FALLING, 1.5: 38.5}, HOLDER + '\nlevel_area = "1000 cm^2"', column="gas_level [cm]")
    assert aside(level, "gas_level") == [38.5]
    rising = {hour: 1475 - value for hour, value in FALLING.items()}
    meter = trial_of({**rising, 1.5: 10.9}, 'kind = "meter"')
    assert aside(meter) == [10.9]
    assert said(compute(meter)) == [("gas-misread", 8)]
    assert compute(meter)["gas_used_as_read"].value == pytest.approx(360)


def test_a_slip_raises_no_alert_once_the_next_reading_tells() -> None:
    running = trial_of({h: v for h, v in {**FALLING, 1.5: 38.5}.items() if h <= 2}, out="")
    assert {"holder-sinks-fast", "gas-at-reserve", "flame-may-be-out"} & {
        a.code for a in status_of(running).alerts
    } == set()
    # Nobody knows before the next reading, so that a loss is taken for one.
    newest = status_of(running, at="1.5 h")
    assert "gas-at-reserve" in [alert.code for alert in newest.alerts]
    assert newest.trial.readings["gas_volume"].values[-1] == 38.5
    assert not len(newest.trial.excluded["gas_volume"])


def test_a_trial_that_is_checked_again_is_judged_anew() -> None:
    trial = trial_of({**FALLING, 1.5: 38.5})
    again = checked(until(trial, math.inf))
    assert aside(again) == [38.5]
    assert [f.code for f in again.findings].count("gas-misread") == 2  # `checked` adds to what it is given
    assert len(until(trial, trial.lit_at + 5400 if trial.lit_at else 0).readings["gas_volume"]) == 7


@pytest.mark.parametrize(
    ("readings", "gas"),
    [
        ({**FALLING, **{h: 38.5 - 8 * (h - 1.5) for h in FALLING if h >= 1.5}}, HOLDER),  # let out, and stays out
        ({**FALLING, **{h: 0.385 for h in FALLING if h >= 1.5}}, HOLDER),
        ({**FALLING, **{h: max(475 - 300 * h, 0.4) for h in FALLING}}, HOLDER),  # it leaks
        ({0.0: 475, 0.25: 460, 0.5: 445, 0.75: 43, 1.0: 150, 1.25: 135, 1.5: 120}, HOLDER),  # refilled in part
        ({0.0: 475, 2.5: 44, 5.0: 450, 6.0: 440}, 'kind = "holder"'),  # it had time to fill again
        ({h: v * (1 if i % 2 else 0.1) for i, (h, v) in enumerate(FALLING.items())}, HOLDER),  # that is how it is
    ],
)
def test_a_real_loss_is_no_slip(readings: dict[float, float], gas: str) -> None:
    trial = trial_of(readings, gas)
    assert aside(trial) == []
    assert trial.readings["gas_volume"].values.tolist() == [readings[hour] for hour in sorted(readings)]


def test_gas_let_out_and_back_is_no_slip_where_that_is_logged() -> None:
    readings = {**FALLING, 1.5: 38.5}
    assert aside(trial_of(readings)) == [38.5]
    assert aside(trial_of(readings, event={1.6: "refill"})) == []
    assert aside(trial_of(readings, gas_elsewhere_L={0.0: 0, 1.25: 0, 1.5: 340})) == []


def test_a_logged_refill_leaves_the_loss_to_the_safety_notes() -> None:
    trial = trial_of({**FALLING, 1.5: 38.5}, event={1.6: "refill"})
    assert "holder-nearly-empty" in [note.code for note in safety_notes(trial, compute(trial))]


@settings(deadline=None, max_examples=12)
@given(
    row=st.integers(1, 23),
    factor=st.sampled_from([0.001, 0.01, 0.1, 10.0, 100.0, 1000.0]),
    rate=st.floats(20.0, 70.0),
    decimals=st.integers(0, 1),
)
def test_any_reading_scaled_is_set_aside_and_gives_the_figures_without_it(
    row: int, factor: float, rate: float, decimals: int
) -> None:
    exact = {quarter / 4: 475 - rate * quarter / 4 for quarter in range(25)}
    readings = {hour: round(value, 1) if decimals else round(value) for hour, value in exact.items()}
    wrong = float(f"{readings[row / 4] * factor:.6g}")
    trial = trial_of({**readings, row / 4: wrong})
    without = trial_of({hour: value for hour, value in readings.items() if hour != row / 4})
    results = compute(trial)
    assert said(results) == [("gas-misread", row + 2)]
    assert aside(trial) == pytest.approx([wrong])
    assert trial.readings["gas_volume"].step == pytest.approx(without.readings["gas_volume"].step)
    for one, other in zip(numbers(results), numbers(compute(without)), strict=True):
        assert one == (other if isinstance(other, str) else pytest.approx(other))


@pytest.mark.parametrize(
    ("values", "written", "step"),
    [
        ([475, 460, 0.445, 430], 0.001, 1.0),
        ([475, 460, 44.5, 430, 415, 400, 385], 0.1, 5.0),
        ([47.5, 46, 445], 0.5, 0.5),
    ],
)
def test_the_step_of_the_scale_without_a_slip(values: list[float], written: float, step: float) -> None:
    count = len(values)
    rows = np.arange(count)
    readings = Readings(rows * 900.0, np.array(values), rows, ("a.csv",), np.zeros(count, dtype=np.int64), written)
    assert step_without(readings, rows == 2) == pytest.approx(step)

"""What the checks say of cabinet and ambient readings, what they flag, and that sound readings pass."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial
from reportgen.trial import Finding, Trial

OURS = {
    "stands-alone",
    "door-openings",
    "stands-still",
    "sign-left-out",
    "two-in-one",
    "one-time-two-values",
    "gap",
    "heaped-digits",
    "before-the-flame",
    "unit-in-doubt",
    "factor-of-thousand",
    "gas-direction",
}
SHEET = 'title = "A trial"\ntime_zone = "UTC"\n[burner]\nlit = "2026-03-14 09:00"\nout = "2026-03-14 15:00"\n'


def stamp(hours: float) -> str:
    minutes = round((9 + hours) * 60, 6)
    return f"2026-03-14T{int(minutes // 60):02d}:{int(minutes % 60):02d}:{round(minutes % 1 * 60):02d}"


def trial_of(*columns: tuple[str, Mapping[float, object]], sheet: str = SHEET) -> Trial:
    """Return a trial with one file per column: hour of the run to reading."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "trial.toml").write_text(sheet, encoding="utf-8")
        for number, (header, cells) in enumerate(columns):
            rows = [f"{stamp(hour)},{value}" for hour, value in cells.items()]
            (folder / f"log{number}.csv").write_text("\n".join([f"time,{header}", *rows, ""]), encoding="utf-8")
        return read_trial(folder)


def cooling(hour: float, floor: float = -12.0) -> float:
    return floor + (26 - floor) * math.exp(-max(hour - 0.2, 0) / 1.1)


def hand(changes: Mapping[float, float] | None = None, every: float = 0.25, decimals: int = 1) -> dict[float, float]:
    """Return readings every quarter of an hour, some of them changed."""
    hours = np.round(np.arange(0, 6.01, every), 4).tolist()
    return {hour: round(cooling(hour), decimals) for hour in hours} | dict(changes or {})


def of(trial: Trial, code: str) -> Finding:
    found = [finding for finding in trial.findings if finding.code == code]
    assert len(found) == 1, [finding.code for finding in trial.findings]
    return found[0]


def ours(trial: Trial) -> set[str]:
    return OURS & {finding.code for finding in trial.findings}


def doubted(trial: Trial, name: str = "cabinet_temperature") -> list[float]:
    readings = trial.readings[name]
    return [float(value) for value in readings.values[readings.is_questionable]]


CABINET = "cabinet_temperature [degC]"
AMBIENT = "ambient_temperature [degC]"


@pytest.mark.parametrize(
    ("hour", "value", "asks"),
    [
        (1.0, 52.0, "stands alone"),
        (3.0, 9.2, "is the sign of 9.2 wrong?"),
        (4.0, -91.0 / 10, "nothing"),
        (2.0, 3.5, "sign of 3.5"),
        (0.5, 61.7, "is 61.7 meant as 16.7?"),
        (1.5, -3.3, "nothing"),
        (4.0, 12.5, "°F"),
    ],
)
def test_a_slip_of_the_pen_is_asked_for(hour: float, value: float, asks: str) -> None:
    before = cooling(hour)
    trial = trial_of((CABINET, hand({hour: value})))
    if asks == "nothing":
        assert "stands-alone" not in ours(trial), before
        return
    finding = of(trial, "stands-alone")
    assert doubted(trial) == [value], before
    assert asks in str(finding.message), before
    assert finding.row == round(hour / 0.25) + 2


def test_many_slips_are_one_finding_and_no_reading_is_lost() -> None:
    trial = trial_of((CABINET, hand({1.0: 99.9, 2.0: 66.0, 3.0: 66.0, 4.0: 66.0}, every=0.05)))
    finding = of(trial, "stands-alone")
    assert "3 readings (rows 42, 62, 82)" in str(finding.message)
    assert of(trial, "not-possible").row == 22
    assert trial.excluded["cabinet_temperature"].flag is not None
    assert trial.excluded["cabinet_temperature"].flag.tolist() == [4]
    assert len(trial.readings["cabinet_temperature"]) == 120


def test_impossible_readings_of_a_column_are_one_finding() -> None:
    trial = trial_of((CABINET, hand({1.0: 300.0, 2.0: 400.0})))
    assert "2 readings such as 300 degC (rows 6, 10)" in str(of(trial, "not-possible").message)


def test_a_slip_does_not_bend_the_fitted_curve() -> None:
    def results(changes: dict[float, float]) -> Results:
        return compute(trial_of((CABINET, hand(changes))))

    clean, slipped = results({}), results({2.5: 66.0})
    assert slipped["cooling_time_constant"].value == pytest.approx(clean["cooling_time_constant"].value, rel=0.02)
    assert slipped["cooling_rate_peak"].value == pytest.approx(clean["cooling_rate_peak"].value, rel=0.02)


@settings(deadline=None, max_examples=40)
@given(
    minutes=st.sampled_from([1, 2, 5, 10, 15, 30]),
    constant=st.floats(0.35, 2.5),
    floor=st.floats(-25.0, -2.0),
    noise=st.floats(0.0, 0.25),
    step=st.sampled_from([0.1, 0.5, 1.0]),
    seed=st.integers(0, 2**32 - 1),
)
def test_a_steep_but_smooth_pull_down_is_never_flagged(
    minutes: int, constant: float, floor: float, noise: float, step: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    hours = np.arange(-0.5, 6.0, minutes / 60)
    curve = floor + (27 - floor) * np.exp(-np.maximum(hours - 0.2, 0) / constant)
    values = np.rint((curve + rng.normal(0, noise, len(hours))) / step) * step
    trial = trial_of((CABINET, {float(h): f"{v:.1f}" for h, v in zip(hours, values, strict=True)}))
    assert doubted(trial) == []
    assert ours(trial) <= {"heaped-digits"}


def with_door(logged: bool = False) -> Trial:
    readings = {}
    for minute in range(0, 360, 2):
        hour = minute / 60
        rise = 0.0 if minute < 240 else 5 * min((minute - 240) / 4, 1) * math.exp(-max(minute - 244, 0) / 7)
        readings[hour] = round(cooling(hour) + rise, 1)
    events = [("event", {4.0: "door opened"})] if logged else []
    return trial_of((CABINET, readings), *events)


def test_an_opened_door_is_listed_and_kept_out_of_fits() -> None:
    trial = with_door()
    finding = of(trial, "door-openings")
    assert finding.level == "note"
    assert "row 124" in str(finding.message)
    assert str(finding.message).endswith("logged then: 0")
    assert 5 <= len(doubted(trial)) <= 16
    assert compute(trial)["cooling_time_constant"].value == pytest.approx(1.1, rel=0.03)
    assert str(of(with_door(logged=True), "door-openings").message).endswith("logged then: 1")


def test_a_thermostat_is_no_door() -> None:
    readings = {m / 60: round(cooling(m / 60) + 2.0 * math.sin(m / 5), 1) for m in range(0, 360, 2)}
    trial = trial_of((CABINET, readings))
    assert "thermostat" in str(of(trial, "door-openings").effect)
    assert doubted(trial) == []


def test_warming_while_the_flame_was_out_is_no_door() -> None:
    sheet = SHEET.replace('lit = "2026-03-14 09:00"\nout = "2026-03-14 15:00"\n', "")
    readings = {}
    for minute in range(0, 360, 5):
        hour = minute / 60
        readings[hour] = round(cooling(hour) + max(0.0, 4 - abs(minute - 215) * 4 / 15), 1)
    events = {0.0: "burner lit", 200 / 60: "burner out", 215 / 60: "burner lit", 6.0: "burner out"}
    trial = trial_of((CABINET, readings), ("event", events), sheet=sheet)
    assert "door-openings" not in ours(trial)


def test_a_sensor_that_stands_still_is_asked_for() -> None:
    rng = np.random.default_rng(3)
    readings = {m / 60: round(cooling(m / 60) + rng.normal(0, 0.1), 1) for m in range(0, 360, 5)}
    stuck = {m / 60: readings[120 / 60] for m in range(120, 265, 5)}
    trial = trial_of((CABINET, readings | stuck))
    finding = of(trial, "stands-still")
    assert "for 2.3 h (rows 26 to 54)" in str(finding.message)
    assert len(doubted(trial)) == 28
    assert "stands-still" not in ours(trial_of((CABINET, readings)))


def test_a_coarse_scale_on_a_plateau_does_not_stand_still() -> None:
    assert "stands-still" not in ours(trial_of((CABINET, {h: round(v) for h, v in hand(every=0.05).items()})))


def test_minus_signs_left_out_are_asked_for_and_kept_out_of_fits() -> None:
    trial = trial_of((CABINET, {h: abs(round(v)) for h, v in hand().items()}))
    finding = of(trial, "sign-left-out")
    signed = [h for h, v in hand().items() if round(v) < 0]
    assert finding.row == round(signed[0] / 0.25) + 2
    assert len(doubted(trial)) == len(signed)
    assert not ours(trial_of((CABINET, {h: round(v) for h, v in hand().items()}))) & {"sign-left-out"}


def test_a_cabinet_that_stays_above_zero_lost_no_sign() -> None:
    warm = {h: round(v) + 13 for h, v in hand().items()}
    assert "sign-left-out" not in ours(trial_of((CABINET, warm)))


def test_two_thermometers_in_one_column() -> None:
    readings = {h: v + (4 if i % 2 else 0) for i, (h, v) in enumerate(hand().items())}
    trial = trial_of((CABINET, {h: round(v, 1) for h, v in readings.items()}))
    assert ours(trial) == {"two-in-one"}
    assert doubted(trial) == []


def test_one_time_with_two_values() -> None:
    trial = trial_of((CABINET, hand()), (CABINET, {3.0: 5.0}))
    assert len(doubted(trial)) == 2
    assert "row 14" in str(of(trial, "one-time-two-values").message)


def test_two_probes_all_along_are_not_flagged() -> None:
    trial = trial_of((CABINET, hand()), (CABINET, {h: round(v + 4, 1) for h, v in hand().items()}))
    assert "one-time-two-values" not in ours(trial)
    assert doubted(trial) == []


def test_gaps_of_the_run_are_one_note() -> None:
    readings = {h: v for h, v in hand(every=0.1).items() if not 2 < h < 2.8 and not 4 < h < 4.5}
    finding = of(trial_of((CABINET, readings)), "gap")
    assert finding.level == "note"
    assert "2 gaps" in str(finding.message)
    assert "48 min (after rows 22, 35)" in str(finding.message)
    assert "gap" not in ours(trial_of((CABINET, hand())))


def test_digits_that_heap_give_the_step() -> None:
    readings = {h: round(v * 2) / 2 for h, v in hand(every=0.05).items()}
    trial = trial_of((CABINET, readings | {1.0: 10.3, 2.0: -4.7}))
    assert trial.readings["cabinet_temperature"].step == pytest.approx(0.5)
    assert "keep to 0.5 K, though written to 0.1 K" in str(of(trial, "heaped-digits").message)


def test_a_cabinet_in_fahrenheit_under_a_header_in_celsius() -> None:
    hot = {h: round(v * 1.8 + 32 - 15, 1) for h, v in hand().items()}
    ambient = dict.fromkeys(hand(), 17.0)
    assert "is it in °F?" in str(of(trial_of((CABINET, hot), (AMBIENT, ambient)), "unit-in-doubt").message)
    assert "unit-in-doubt" not in ours(trial_of((CABINET, hot)))
    assert "unit-in-doubt" not in ours(trial_of((CABINET, hot), (AMBIENT, dict.fromkeys(hand(), 44.0))))


def test_checked_readings_are_good_and_others_not_evaluated() -> None:
    trial = trial_of((CABINET, hand()), ("boiler_temperature [degC]", dict.fromkeys(hand(), 160)))
    flag = trial.readings["cabinet_temperature"].flag
    assert flag is not None
    assert set(flag.tolist()) == {1}
    assert trial.readings["boiler_temperature"].flag is None


def test_a_cabinet_that_answers_before_the_flame() -> None:
    early = {h - 0.75: v for h, v in hand().items()}
    finding = of(trial_of((CABINET, early)), "before-the-flame")
    assert finding.level == "caution"
    assert "trial.toml" in str(finding.message)
    assert "before-the-flame" not in ours(trial_of((CABINET, {-0.5: 26, -0.25: 26.1, **hand()})))
    standing = {-0.9: 2.0, -0.6: 2.1, -0.3: 2.0, -0.1: 2.0}
    assert "before-the-flame" not in ours(trial_of((CABINET, standing | {h: v - 24 for h, v in hand().items()})))


def test_a_boiler_that_answers_before_the_flame() -> None:
    boiler = {-0.9: 30, -0.7: 80, -0.5: 120, -0.3: 150, 0.5: 170, 1: 180}
    finding = of(trial_of(("boiler_temperature [degC]", boiler)), "before-the-flame")
    assert "boiler rose by 120 K" in str(finding.message)


def test_a_plateau_that_is_come_to_without_any_noise_is_not_stuck() -> None:
    hours = np.arange(-0.5, 6.0, 5 / 60)
    values = np.rint((-2 + 29 * np.exp(-np.maximum(hours - 0.2, 0) / 0.5)) / 0.1) * 0.1
    trial = trial_of((CABINET, {float(h): f"{v:.1f}" for h, v in zip(hours, values, strict=True)}))
    assert doubted(trial) == []

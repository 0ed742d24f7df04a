"""When the water froze by a probe in it, and how long Plank's equation gives it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reportgen.figures import Figure, compute
from reportgen.figures.freezing import FreezingFigures, freezing_figures
from reportgen.read.folder import read_trial

from .trials import column, names, number, reason, write

BURNER = {"lit": "09:00", "out": "17:00"}
WATER = {
    "mass": "1.00 +/- 0 kg",
    "ice_mass": "1.00 +/- 0 kg",
    "placed": "09:30",
    "temperature": "25 +/- 0 degC",
    "ice_temperature": "0 +/- 0 degC",
}
SLAB = {"shape": "slab", "thickness": "40 +/- 0 mm"}
#: A cabinet at -10 °C throughout, by a thermometer without error.
COLD = {hour / 2: -10 for hour in range(17)}
EXACT = {"resolution": "0.001 K", "accuracy": "0.001 K (limits)"}
#: Water put in at 25 °C that stands at 0 °C from 2 h to 5 h.
FREEZING = {0.5: 25, 1: 16, 1.5: 8, 1.75: 4, 2: 0.1, 2.5: 0, 3: 0, 4: 0, 4.5: 0, 5: 0, 5.25: -3, 6: -7, 8: -9}


def of(
    folder: Path,
    *logs: str,
    water: Mapping[str, Any] | None = None,
    cabinet: Mapping[str, Any] | None = None,
    burner: Mapping[str, Any] | None = None,
) -> tuple[dict[str, Figure], FreezingFigures]:
    """Return the figures by key, and all there is."""
    kept = {key: value for key, value in (WATER | dict(water or {})).items() if value is not None}
    write(folder, *logs, burner=dict(burner or BURNER), water=kept, cabinet=dict(cabinet or EXACT))
    trial = read_trial(folder)
    found = compute(trial)
    made = freezing_figures(
        trial,
        found["temperature_lowest"],
        found.bracket,
        found["freezing_time"],
        found["heat_removed"],
        found["ice_mass"],
    )
    return {figure.key: figure for figure in made.figures}, made


def probe(readings: Mapping[float, object]) -> str:
    return column("water_temperature [degC]", readings)


def cold(readings: Mapping[float, object] = COLD) -> str:
    return column("cabinet_temperature [degC]", readings)


# By the probe


def test_freezing_lies_between_readings(tmp_path: Path) -> None:
    figures, made = of(tmp_path, probe(FREEZING))
    start, end = figures["freezing_start"], figures["freezing_end"]
    # 4 °C at 1.75 h and 0.1 °C at 2 h: that fall of 15.6 K/h would have come to -0.5 °C at 2.04 h.
    assert start.interval == pytest.approx((1.75, 1.75 + 4.5 / 15.6))
    assert start.interval_kind == "limits"
    assert start.basis == "measured"
    assert start.inputs == ("log1.csv:5-6",)
    # 0 °C at 5 h and -3 °C at 5.25 h: that fall of 12 K/h would have come from 0.5 °C at 4.96 h.
    assert end.interval == pytest.approx((5 - 0.5 / 12, 5.25))
    assert end.value == pytest.approx(5.125 - 0.25 / 12)
    assert end.standard_uncertainty == pytest.approx((0.25 + 0.5 / 12) / 2 / 3**0.5)
    assert end.inputs == ("log1.csv:11-12",)
    assert names(end) == {"freezing plateau"}
    assert "no reading before the plateau" in reason(figures["supercooling"])
    assert not made.findings
    assert "middle 5.104 h" in str(end.working)


def test_dense_readings_reach_the_level_by_their_fall(tmp_path: Path) -> None:
    # 6 K/h: 0.5 °C, the edge of the plateau, is passed five minutes before 0 °C at 2 h.
    readings = {n / 60: round(max(6 * (2 - n / 60), 0.0), 3) for n in range(30, 240)}
    figures, _ = of(tmp_path, probe(readings))
    low, high = figures["freezing_start"].interval or (0, 0)
    assert low == pytest.approx(2 - 6 / 60)
    assert high == pytest.approx(2 + 5 / 60)


def test_supercooled_water_freezes_at_the_jump(tmp_path: Path) -> None:
    figures, _ = of(tmp_path, probe({0.5: 20, 1: 8, 1.5: 2, 2: -4, 2.1: -4.6, 2.2: 0, 3: 0, 4: 0, 5: -6, 8: -9}))
    assert figures["freezing_start"].interval == pytest.approx((2.1, 2.2))
    supercooling = figures["supercooling"]
    # From 2 °C to -4.6 °C in 0.6 h is 11 K/h: at most 1.1 K more until the reading at 2.2 h.
    assert supercooling.interval is not None
    assert supercooling.interval == pytest.approx((4.6, 5.7), abs=0.2)
    assert supercooling.value == pytest.approx(5.15)
    # Two readings to the nearest step of the log, beside the range of 1.1 K.
    step = 0.2
    assert supercooling.standard_uncertainty == pytest.approx((1.1**2 / 12 + 2 * step**2 / 12) ** 0.5, rel=1e-3)
    assert supercooling.interval_kind == "limits"
    assert figures["freezing_end"].interval == pytest.approx((4 - 0.5 / 6, 5))


def test_error_of_the_probe_drops_out(tmp_path: Path) -> None:
    dip = {0.5: 20, 1: 8, 1.5: 2, 2: -4, 2.1: -4.6, 2.2: 0, 3: 0, 4: 0, 5: -6, 8: -9}
    plain, _ = of(tmp_path / "plain", probe(dip))
    moved, made = of(tmp_path / "moved", probe({hour: round(value + 0.8, 1) for hour, value in dip.items()}))
    for key in ("freezing_start", "freezing_end", "supercooling"):
        assert moved[key].value == pytest.approx(plain[key].value)
    assert [finding.code for finding in made.findings] == ["probe-off-at-freezing"]
    assert (made.findings[0].level, made.findings[0].file, made.findings[0].row) == ("note", "log1.csv", 7)
    far, _ = of(tmp_path / "far", probe({hour: value + 2 for hour, value in dip.items()}))
    assert "did not" in reason(far["freezing_start"])


def test_plateau_at_the_last_reading_is_at_least_so_long(tmp_path: Path) -> None:
    figures, _ = of(tmp_path, probe({hour: value for hour, value in FREEZING.items() if hour <= 4.5}))
    assert "last reading" in reason(figures["freezing_end"])
    assert figures["freezing_end"].at_least == pytest.approx(4.5)
    assert figures["freezing_start"].is_given


def test_readings_before_the_water_and_after_the_burner_do_not_count(tmp_path: Path) -> None:
    # The probe lay in ice and water before, and the ice thaws after.
    before: dict[float, object] = {-1.0: 0, -0.5: 0, 0.0: 0, 0.25: 0}
    thaw: dict[float, object] = {9.0: -2, 10.0: 0, 11.0: 0, 12.0: 0}
    figures, _ = of(tmp_path, probe({**before, **FREEZING, **thaw}))
    assert figures["freezing_start"].interval == pytest.approx((1.75, 1.75 + 4.5 / 15.6))
    assert figures["freezing_end"].interval == pytest.approx((5 - 0.5 / 12, 5.25))


def test_first_reading_on_the_plateau_is_at_most_so_long(tmp_path: Path) -> None:
    figures, _ = of(tmp_path, probe({0.5: 0.1, 1: 0, 2: 0, 3: -5, 4: -7}))
    assert "already" in reason(figures["freezing_start"])
    assert figures["freezing_start"].at_most == pytest.approx(0.5)
    assert "when the readings begin" in reason(figures["supercooling"])
    assert figures["freezing_end"].is_given


def test_ice_that_thawed_has_no_end_of_freezing(tmp_path: Path) -> None:
    figures, _ = of(tmp_path, probe(FREEZING | {6: -3, 7: 0, 7.5: 0}))
    assert "came back" in reason(figures["freezing_end"])
    assert figures["freezing_end"].at_least == pytest.approx(5)
    warm, _ = of(tmp_path / "warm", probe({0.5: 25, 1: 9, 1.5: 0, 2: 0, 3: 0, 4: 6}))
    assert "thawed" in reason(warm["freezing_end"])
    assert warm["freezing_end"].at_least is None


def test_why_there_is_no_plateau_is_said(tmp_path: Path) -> None:
    def why(name: str, *logs: str, **sheet: Any) -> str:
        figures, _ = of(tmp_path / name, *logs, **sheet)
        reasons = {reason(figures[key]) for key in ("freezing_start", "freezing_end", "supercooling")}
        assert len(reasons) == 1
        return reasons.pop()

    # A plateau of the air in the cabinet is none of the water.
    assert "column water_temperature" in why("air", cold(FREEZING))
    assert "lowest reading is 8 °C" in why("warm", probe({0.5: 25, 1: 16, 2: 12, 8: 8}))
    assert "stand still" in why("passing", probe({n / 10: 25 - n for n in range(5, 40)}))
    assert "water.placed" in why("placed", probe(FREEZING), water={"placed": None})
    assert "read 1 times" in why("one", probe({1: 9}))
    assert "burner was lit" in why("unlit", probe(FREEZING), burner={"description": "a jet"})


def test_two_probes_at_one_time_count_as_the_first(tmp_path: Path) -> None:
    twice = probe(FREEZING) + "".join(
        line + "\n" for line in probe({hour: value + 3 for hour, value in FREEZING.items()}).splitlines()[1:]
    )
    figures, _ = of(tmp_path, twice)
    assert figures["freezing_end"].interval == pytest.approx((5 - 0.5 / 12, 5.25))


def test_dense_readings_leave_the_level_by_their_fall(tmp_path: Path) -> None:
    # 6 K/h from 4 h on: 0.5 K below is reached five minutes after that; as far above it would have been five before.
    clean = {n / 60: round(float(np.interp(n / 60, [0.5, 2, 4, 6], [9, 0, 0, -12])), 4) for n in range(30, 360)}
    figures, _ = of(tmp_path / "clean", probe(clean))
    assert figures["freezing_end"].interval == pytest.approx((4 - 5 / 60, 4 + 6 / 60))
    assert "running medians of 5 readings" in str(figures["freezing_end"].working)
    noise = np.random.default_rng(3).normal(0, 0.15, len(clean))
    noisy = {hour: round(value + float(e), 1) for (hour, value), e in zip(clean.items(), noise, strict=True)}
    figures, _ = of(tmp_path / "noisy", probe(noisy))
    assert figures["freezing_end"].interval == pytest.approx((4 - 5 / 60, 4 + 6 / 60), abs=0.07)
    assert figures["freezing_start"].interval == pytest.approx((2 - 5 / 60, 2 + 5 / 60), abs=0.07)


def test_end_is_not_before_the_plateau_began(tmp_path: Path) -> None:
    # 0 °C at 2 h and 3 h, -0.4 °C at 4 h, -1.2 °C at 8 h: 0.2 K/h carried back to 0.5 °C is before lighting.
    figures, _ = of(tmp_path, probe({0.5: 20, 1: 10, 2: 0, 3: 0, 4: -0.4, 8: -1.2}))
    assert figures["freezing_end"].interval == pytest.approx((2, 8))


def test_coarse_scale_has_wide_ends(tmp_path: Path) -> None:
    # Read to 1 K: on 0 °C until 5 h, -3 °C at 5.25 h; carried back to 1 °C, at 12 K/h.
    coarse = {hour: round(value) for hour, value in FREEZING.items()}
    figures, _ = of(tmp_path, probe(coarse))
    assert figures["freezing_end"].interval == pytest.approx((5 - 1 / 12, 5.25))


def test_plateau_that_is_left_slowly_has_a_wide_end(tmp_path: Path) -> None:
    # -0.5 °C at 5 h and -1.1 °C at 7 h, 0.3 K/h: carried back to 0.5 °C it is 1.67 h; off it for good at 6 h.
    slow = {0.5: 20, 1: 10, 1.5: 0, 2: 0, 2.5: 0, 3: 0, 3.5: 0, 4: -0.2, 5: -0.5, 6: -0.8, 7: -1.1, 8: -1.4}
    figures, _ = of(tmp_path, probe(slow))
    assert figures["freezing_end"].interval == pytest.approx((7 - 1.6 / 0.3, 6))


# By Plank's equation


def test_slab_by_hand(tmp_path: Path) -> None:
    figures, _ = of(tmp_path, cold(), water=SLAB)
    predicted = figures["freezing_time_predicted"]
    # 916.72 kg/m3 x 438.29 kJ/kg / 10 K x (0.04 m / 2 h + 0.0016 m2 / (8 x 2.2)), h 50 and 5 W/(m2 K).
    fast, slow = (916.72 * 438290 / 10 * (0.02 / h + 0.0016 / 17.6) / 3600 for h in (50, 5))
    assert (fast, slow) == pytest.approx((5.48, 45.66), abs=0.01)
    assert predicted.value == pytest.approx((fast + slow) / 2, rel=1e-4)
    assert predicted.interval == pytest.approx((fast, slow), rel=1e-3)
    assert predicted.interval_kind == "limits"
    assert predicted.basis == "assumed"
    assert {"surface coefficient", "faces of the slab"} <= names(predicted)
    for place in ("log1.csv:3-18", "trial.toml:water.thickness", "trial.toml:water.shape"):
        assert place in predicted.inputs
    text = str(predicted.working)
    assert "a / (2 h) + a² / (8 k)" in text
    # With the heat of freezing alone: 333.43 / 438.29 of it.
    assert "4.168 to 34.73 h" in text


@pytest.mark.parametrize(("shape", "surface", "inside"), [("cylinder", 4, 16), ("sphere", 6, 24)])
def test_round_bodies_by_hand(tmp_path: Path, shape: str, surface: int, inside: int) -> None:
    figures, _ = of(tmp_path, cold(), water={"shape": shape, "diameter": "90 +/- 0 mm"})
    predicted = figures["freezing_time_predicted"]
    times = [916.72 * 438290 / 10 * (0.09 / surface / h + 0.0081 / inside / 2.2) / 3600 for h in (50, 5)]
    assert predicted.interval == pytest.approx(tuple(times), rel=1e-3)
    assert f"a / ({surface} h) + a² / ({inside} k)" in str(predicted.working)
    assert "faces of the slab" not in names(predicted)


def test_mean_is_of_the_time_the_water_was_in(tmp_path: Path) -> None:
    # -15 °C from placing at 0.5 h to 3 h, then -25 °C until it is solid at 4 h; warmer before and after.
    readings: dict[float, object] = {0: 20, 0.49: 20, 4.5: 5, 8: 5, **{n / 2: -15 for n in range(1, 7)}}
    readings |= {3.01: -25, 3.5: -25, 4: -25}
    looks = column("ice", {3: "partial", 4: "solid"})
    figures, _ = of(tmp_path, cold(readings), looks, water=SLAB)
    mean = (15 * 2.5 + 20 * 0.01 + 25 * 0.99) / 3.5
    fast = 916.72 * 438290 / mean * (0.02 / 50 + 0.0016 / 17.6) / 3600
    assert (figures["freezing_time_predicted"].interval or (0,))[0] == pytest.approx(fast, rel=1e-3)


def test_heat_of_cooling_is_that_of_all_the_water(tmp_path: Path) -> None:
    # Half of it froze, but it takes the heat of a whole kilogram to freeze a kilogram through.
    whole, _ = of(tmp_path / "whole", cold(), water=SLAB)
    half, _ = of(tmp_path / "half", cold(), water=SLAB | {"ice_mass": "0.5 +/- 0 kg"})
    assert half["freezing_time_predicted"].value == pytest.approx(whole["freezing_time_predicted"].value)


def test_prediction_shares_the_error_of_the_cabinet_thermometer(tmp_path: Path) -> None:
    write(
        tmp_path,
        cold(),
        burner=BURNER,
        water=WATER | SLAB,
        cabinet={"resolution": "0.001 K", "accuracy": "1 K (limits)"},
    )
    trial = read_trial(tmp_path)
    found = compute(trial)
    lowest = found["temperature_lowest"]
    made = freezing_figures(trial, lowest, None, found["freezing_time"], found["heat_removed"], found["ice_mass"])
    predicted = made.figures[-1]
    # Time goes with 1 / (0 - T), so it shifts by t / 10 K for a kelvin of both.
    shift = number(predicted) - predicted.value / 10 * number(lowest)
    assert shift.std_dev < 0.05 * number(predicted).std_dev
    # The interval runs over both ends and their other uncertainty: 0.577 K of 10 K.
    low, high = predicted.interval or (0, 0)
    assert low == pytest.approx(5.479 * (1 - 1.96 * 0.0577), rel=0.01)
    assert high == pytest.approx(45.66 * (1 + 1.96 * 0.0577), rel=0.01)


def test_start_temperature_not_recorded_leaves_a_lower_bound(tmp_path: Path) -> None:
    figures, _ = of(tmp_path, cold(), water=SLAB | {"temperature": None})
    predicted = figures["freezing_time_predicted"]
    assert "water.temperature" in reason(predicted)
    assert predicted.at_least == pytest.approx(5.479 * 333.43 / 438.29, rel=1e-3)


@pytest.mark.parametrize(
    ("sheet", "logs", "says"),
    [
        ({}, [cold()], "water.shape"),
        ({"shape": "slab", "diameter": "40 mm"}, [cold()], "water.thickness of a slab"),
        ({"shape": "cylinder", "thickness": "40 mm"}, [cold()], "water.diameter of a cylinder"),
        (SLAB, [], "no cabinet temperature"),
        (SLAB, [cold(dict.fromkeys(COLD, 4))], "not certainly below 0 °C"),
        (SLAB, [cold({0.5: -10, 1: -10, 1.5: -10})], "cover only 13 %"),
        (SLAB, [cold({0: -10, 0.5: -10, 7.5: -10, 8: -10})], "cover only 7 %"),
        (SLAB | {"placed": None}, [cold()], "water.placed"),
        (SLAB | {"placed": "18:00"}, [cold()], "no length"),
    ],
)
def test_why_there_is_no_prediction_is_said(tmp_path: Path, sheet: dict[str, Any], logs: list[str], says: str) -> None:
    figures, _ = of(tmp_path, *logs, column("ambient_temperature [degC]", {0: 30, 8: 30}), water=sheet)
    assert says in reason(figures["freezing_time_predicted"])


def test_mean_near_zero_is_not_certainly_below(tmp_path: Path) -> None:
    near = cold(dict.fromkeys(COLD, -1))
    figures, _ = of(tmp_path / "rough", near, water=SLAB, cabinet={"accuracy": "1 K (limits)"})
    assert "not certainly" in reason(figures["freezing_time_predicted"])
    fine, _ = of(tmp_path / "fine", near, water=SLAB)
    assert fine["freezing_time_predicted"].is_given


# Faster than it can be


def looked(hour: float) -> str:
    return column("ice", {hour - 0.5: "liquid", hour: "solid"})


def test_slab_solid_too_soon_is_said(tmp_path: Path) -> None:
    # 916.72 x 333430 / 10 x (0.1 / 200 + 0.01 / 17.6) / 3600 = 9.07 h for 10 cm.
    _, made = of(tmp_path, cold(), looked(7), water={"shape": "slab", "thickness": "100 +/- 0 mm"})
    (finding,) = made.findings
    assert (finding.level, finding.code) == ("caution", "faster-than-plank")
    assert (finding.file, finding.row) == ("log2.csv", 3)
    assert "6.5 h" in str(finding.message) and "9.068" in str(finding.message)
    # A slab of 6 cm takes 9.07 h x (0.30 + 0.205) / (0.50 + 0.568) = 4.3 h: it may be solid within 6.5 h.
    _, made = of(tmp_path / "thin", cold(), looked(7), water={"shape": "slab", "thickness": "60 +/- 0 mm"})
    assert not made.findings


def test_solid_at_the_first_look_is_too_soon_as_well(tmp_path: Path) -> None:
    look = column("ice", {7: "solid"})
    _, made = of(tmp_path, cold(), look, water={"shape": "slab", "thickness": "100 +/- 0 mm"})
    assert [finding.code for finding in made.findings] == ["faster-than-plank"]


def test_doubt_about_size_or_temperature_is_allowed_for(tmp_path: Path) -> None:
    rough = {"shape": "slab", "thickness": "100 +/- 20 mm"}
    _, made = of(tmp_path, cold(), looked(7), water=rough)
    assert not made.findings
    # What the cabinet reached at its coldest counts, not its mean.
    deep = {hour: -10 if hour < 6 else -20 for hour in COLD}
    _, made = of(tmp_path / "deep", cold(deep), looked(7), water={"shape": "slab", "thickness": "100 +/- 0 mm"})
    assert not made.findings


@pytest.mark.parametrize(
    ("logs", "sheet"),
    [
        ([cold(), looked(7)], {}),
        ([looked(7)], {"shape": "slab", "thickness": "100 mm"}),
        ([cold(dict.fromkeys(COLD, 4)), looked(7)], {"shape": "slab", "thickness": "100 mm"}),
        ([cold()], {"shape": "slab", "thickness": "100 mm"}),
        ([cold(), column("ice", {1: "liquid"})], {"shape": "slab", "thickness": "100 mm"}),
    ],
)
def test_without_size_time_or_cold_nothing_is_too_soon(tmp_path: Path, logs: list[str], sheet: dict[str, Any]) -> None:
    assert not of(tmp_path, *logs, water=sheet)[1].findings

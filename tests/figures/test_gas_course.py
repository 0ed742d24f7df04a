"""How steady the gas was drawn, where its rate changed or stopped, and what the holder did with the flame off."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.figures import Figure
from reportgen.figures.gas_account import gas_account
from reportgen.figures.gas_course import GasCourse, gas_course
from reportgen.read.folder import read_trial
from reportgen.trial import Finding

from .trials import FALLING, HOLDER, column, names, reason, rows, write

READING = 2 / 12**0.5  # L, of a scale read to 2 L
QUARTERS = [i / 4 for i in range(13)]
#: Wet gas under one standard atmosphere, read to 0.5 L.
WET = {
    "kind": "holder",
    "isolated": True,
    "accuracy": "2 % (limits)",
    "resolution": "0.5 L",
    "temperature": "25 degC",
    "pressure": "0 +/- 0 mbar",
    "atmospheric": "1013.25 +/- 0 hPa",
}


def course(folder: Path, *logs: str, hours: float = 3, gas: Any = HOLDER, **changes: Any) -> GasCourse:
    """Return the course of a run that was lit at 09:00 and burnt for so many hours."""
    out = f"{9 + int(hours):02d}:{round(hours % 1 * 60):02d}"
    write(folder, *logs, burner={"lit": "09:00", "out": out}, gas=gas | changes)
    return of(folder)


def of(folder: Path) -> GasCourse:
    trial = read_trial(folder)
    return gas_course(trial, gas_account(trial))


def holder(drawn: Callable[[float], float], hours: Iterable[float], full: float = 300, digits: int = 1) -> str:
    """Return the log of a holder that so much was drawn from at the hours."""
    return column("gas_volume [L]", {hour: f"{full - drawn(hour):.{digits}f}" for hour in hours})


def at_rates(*pieces: tuple[float, float]) -> Callable[[float], float]:
    """Return what was drawn [L] by an hour, at rates that last until given hours."""

    def drawn(hour: float) -> float:
        total, since = 0.0, 0.0
        for until, rate in pieces:
            total += rate * max(min(hour, until) - since, 0.0)
            since = until
        return total

    return drawn


def steadiness(found: GasCourse) -> Figure:
    return next(figure for figure in found.figures if figure.key == "gas_rate_steadiness")


def loss(found: GasCourse) -> Figure:
    return next(figure for figure in found.figures if figure.key == "idle_loss")


def codes(found: GasCourse) -> list[str]:
    return [finding.code for finding in found.findings]


def the(found: GasCourse, code: str) -> Finding:
    (finding,) = [finding for finding in found.findings if finding.code == code]
    return finding


# How steady


def test_level_read_to_a_centimetre_is_worth_3_5_percent_over_half_an_hour(tmp_path: Path) -> None:
    # A drum of 57 cm: pi / 4 x 57² = 2551.8 cm², 2.55 L per cm. Read to 0.5 cm either side: 2.55 L / sqrt 12 each,
    # 1.04 L for a difference, of 30 L at 60 L/h: 3.5 % (and 10 % of the 10 L of ten minutes).
    log = column("gas_level [cm]", {h / 2: round((200 - 30 * h) / 2.5518) for h in range(7)})
    found = course(tmp_path, log, level_area="2551.8 +/- 0 cm^2", resolution="2.5518 L")
    assert [window.end - window.start for window in found.windows] == [1800] * 6
    assert found.windows[0].standard_uncertainty / 60 == pytest.approx(0.035, abs=0.0005)
    # Rates of whole centimetres scatter, but no more than such readings do.
    interval = steadiness(found).interval
    assert interval is not None
    assert interval[0] == 0


def test_steady_holder_is_as_steady_as_its_readings_can_tell(tmp_path: Path) -> None:
    found = course(tmp_path, holder(at_rates((3, 60)), QUARTERS[::2], full=200))
    figure = steadiness(found)
    assert figure.value == 0
    # Six windows of 30 L exactly. A window's variance is 2 x 0.333 L² / (0.5 h)² = 2.667, its covariance with the next
    # -1.333: the readings explain (6 x 2.667 - (16 - 2 x 5 x 1.333) / 6) / 5 = 3.111 (L/h)², and chi-squared of 5
    # degrees of freedom at 0.025 is 0.8312.
    assert figure.interval == pytest.approx((0, (3.1111 * (5 / 0.8312 - 1)) ** 0.5 / 60), rel=1e-3)
    assert "explain 1.76 L/h" in str(figure.working)
    assert figure.basis == "derived"
    assert figure.inputs == ("log1.csv:2-8",)
    assert codes(found) == []
    (segment,) = found.segments
    assert (segment.rate, segment.end - segment.start) == pytest.approx((60, 3 * 3600))
    # Seven readings, 0.5 h apart: sum of squares about the middle 7 h².
    assert segment.standard_uncertainty == pytest.approx(READING / 7**0.5)


def test_drifting_rate_is_unsteady_but_no_flame_was_adjusted(tmp_path: Path) -> None:
    # A jet under a falling pressure: its flow goes with the square root of it, 80 L/h down to 40 L/h in four hours.
    found = course(tmp_path, holder(lambda h: 80 * h - 5 * h**2, np.arange(0, 4.01, 0.25)), hours=4, resolution="0.1 L")
    # Half hours at 77.5, 72.5 ... 42.5 L/h: standard deviation 5 x sqrt(8 x 9 / 12), mean 60.
    assert steadiness(found).value == pytest.approx(5 * 6**0.5 / 60, abs=1e-3)
    assert codes(found) == ["rate-drifts"]
    assert "from 80 L/h at 0 h to 40 L/h at 4 h" in str(the(found, "rate-drifts").message)
    assert len(found.segments) == 1


def test_coarse_readings_claim_no_steadiness(tmp_path: Path) -> None:
    # To 10 L: 30 L in every half hour, exactly, and each half hour good to 4 L.
    found = course(tmp_path, holder(at_rates((3, 60)), QUARTERS[::2], full=200), resolution="10 L")
    assert "too coarse" in reason(steadiness(found))
    most = steadiness(found).at_most
    assert most is not None
    assert most > 0.3
    assert codes(found) == []


@settings(max_examples=25)
@given(st.integers(0, 9), st.integers(8, 90))
def test_rounding_is_no_event(tmp_path_factory: pytest.TempPathFactory, first: int, rate: int) -> None:
    # To 5 L, every ten minutes, from any content and at any rate: nothing changes and nothing stops.
    hours = [i / 6 for i in range(19)]
    log = column("gas_volume [L]", {h: 5 * round((300 + first - rate * h) / 5) for h in hours})
    found = course(tmp_path_factory.mktemp("rounded"), log, resolution="5 L")
    assert codes(found) == []


def test_two_windows_are_too_few(tmp_path: Path) -> None:
    found = course(tmp_path, holder(at_rates((3, 60)), [0, 1, 3]))
    assert "into 2 windows of 30 minutes or more; 3 are needed" in reason(steadiness(found))
    assert len(found.windows) == 2


def test_windows_do_not_cross_a_refill(tmp_path: Path) -> None:
    # 60 L/h; between 1.25 and 1.5 h 100 L come in.
    readings = {h: 200 - 60 * h + (100 if h >= 1.5 else 0) for h in QUARTERS}
    found = course(tmp_path, column("gas_volume [L]", readings))
    edges = [(moment - found.windows[0].start) / 3600 for w in found.windows for moment in (w.start, w.end)]
    assert edges == pytest.approx([0, 0.5, 0.5, 1.25, 1.5, 2, 2, 2.5, 2.5, 3])
    assert [w.rate for w in found.windows] == pytest.approx([60] * 5)
    assert [s.rate for s in found.segments] == pytest.approx([60])
    assert codes(found) == []


def test_windows_and_segments_do_not_cross_a_flame_out(tmp_path: Path) -> None:
    drawn = at_rates((1.25, 60), (2, 0), (4, 80))
    log = rows(
        "time,event,gas_volume [L]",
        *(
            (h, {0: "burner lit", 1.25: "burner out", 2: "relit", 4: "burner out"}.get(h, ""), 300 - drawn(h))
            for h in [i / 4 for i in range(17)]
        ),
    )
    write(tmp_path, log, gas=HOLDER)
    found = of(tmp_path)
    assert [round(w.rate) for w in found.windows] == [60, 60, 80, 80, 80, 80]
    assert [round(s.rate) for s in found.segments] == [60, 80]
    assert [s.end - s.start for s in found.segments] == pytest.approx([4500, 7200])
    assert codes(found) == []


def test_slip_of_the_pen_is_no_unsteadiness(tmp_path: Path) -> None:
    found = course(tmp_path, column("gas_volume [L]", {h: 200 - 60 * h + (40 if h == 1.5 else 0) for h in QUARTERS}))
    assert [w.rate for w in found.windows] == pytest.approx([60] * len(found.windows))
    assert codes(found) == []


def test_meter_counts_up(tmp_path: Path) -> None:
    # Past its highest reading as well.
    log = column("gas_volume [L]", {h: (9900 + 60 * h) % 10000 for h in QUARTERS})
    found = course(tmp_path, log, kind="meter")
    assert [w.rate for w in found.windows] == pytest.approx([60] * 6)
    assert steadiness(found).value == 0
    assert "gasholder" in reason(loss(found))


def test_flow_is_averaged_over_windows(tmp_path: Path) -> None:
    # Hours at 1.0, 1.2 and 1.4 L/min, every five minutes.
    flow = {i / 12: f"{1 + 0.2 * min(i // 12, 2):.1f}" for i in range(37)}
    found = course(tmp_path, column("gas_flow [L/min]", flow), kind="flow")
    assert [round(w.rate) for w in found.windows] == [60, 61, 72, 73, 84, 84]
    # 60, 60.5, 72, 72.5, 84, 84 L/h (the trapezium across a step takes half of it for five minutes): variance 112.8,
    # mean 72.2. Flows in steps of 0.2 L/min, 12 L/h, are rounded alike for up to half an hour: 12² / 12 = 12 of it.
    assert steadiness(found).value == pytest.approx((112.8 - 12) ** 0.5 / 72.2, rel=0.02)
    # A meter that jumps by one step of its scale may have seen next to no change.
    assert "flame-changed" not in codes(found)


def test_flame_adjusted_twice_shows_in_a_flow_log(tmp_path: Path) -> None:
    # Hours at 1.0, 1.3 and 1.6 L/min, with a flicker of 0.05 L/min.
    flow = {i / 12: f"{1 + 0.3 * min(i // 12, 2) + 0.05 * (i % 2):.2f}" for i in range(37)}
    found = course(tmp_path, column("gas_flow [L/min]", flow), kind="flow")
    assert codes(found) == ["flame-changed", "flame-changed"]
    assert [segment.rate for segment in found.segments] == pytest.approx([61.5, 79.5, 97.5], abs=0.2)
    assert [(s.end - s.start) / 3600 for s in found.segments] == pytest.approx([1, 1, 1], abs=0.09)


def test_flow_steadier_than_its_meter_can_show_is_not_claimed_steady(tmp_path: Path) -> None:
    flow = dict.fromkeys([i / 12 for i in range(37)], 1) | {3.5: 2}
    found = course(tmp_path, column("gas_flow [L/min]", flow), kind="flow")
    assert "too coarse" in reason(steadiness(found))
    # All are rounded alike to 1 L/min: 60 L/h / sqrt 12, and seven readings once more each for itself.
    assert found.windows[0].standard_uncertainty == pytest.approx(60 / 12**0.5 * (1 + 5.5 / 36) ** 0.5)


def test_open_holder_tells_no_rate(tmp_path: Path) -> None:
    production = column("gas_produced [L]", {-47.0 + 2 * i: 48 for i in range(24)})
    found = course(tmp_path, holder(at_rates((3, 60)), QUARTERS), production, isolated=False)
    assert "open to the digester" in reason(steadiness(found))
    assert found.windows == ()
    assert found.segments == ()


def test_isolation_not_stated_is_an_assumption(tmp_path: Path) -> None:
    gas = {key: value for key, value in HOLDER.items() if key not in ("isolated", "resolution")}
    found = course(tmp_path, holder(at_rates((3, 60)), QUARTERS), gas=gas)
    assert names(steadiness(found)) == {"holder isolated", "gas readings"}
    assert steadiness(found).basis == "assumed"


def test_log_that_supports_no_account_says_why(tmp_path: Path) -> None:
    found = course(tmp_path, column("gas_volume [L]", {1.5: 110, 2: 80, 3: 20}))
    assert "no gas reading tells the content" in reason(steadiness(found))
    assert "no idle stretch" in reason(loss(found))


def test_gas_used_elsewhere_is_taken_off(tmp_path: Path) -> None:
    # 60 L/h for the burner and 20 L for a stove in the second hour.
    log = column("gas_volume [L]", {h: 300 - at_rates((1, 60), (2, 80), (3, 60))(h) for h in QUARTERS})
    stove = column("gas_elsewhere [L]", {1.0: 0, 2.0: 20})
    found = course(tmp_path, log, stove)
    assert [w.rate for w in found.windows] == pytest.approx([60] * 6)
    # Half of the 20 L may have left in either half hour: sqrt(0.25) x 20 L, over 0.5 h.
    assert found.windows[2].standard_uncertainty == pytest.approx((2 * READING**2 + 100) ** 0.5 / 0.5, rel=1e-3)
    assert codes(found) == []


@pytest.mark.parametrize(
    "stove", [at_rates((2, 0), (3, 30)), lambda h: 30 * (h / 3) ** 2], ids=["in the last hour", "more and more"]
)
def test_gas_used_elsewhere_nobody_knows_when_makes_no_event(tmp_path: Path, stove: Callable[[float], float]) -> None:
    # 30 L for a stove some time in the three hours.
    log = holder(lambda h: 60 * h + stove(h), QUARTERS)
    assert codes(course(tmp_path, log, column("gas_elsewhere [L]", {0.0: 0, 3.0: 30}), resolution="0.5 L")) == []


# Changes


def test_flame_adjusted_in_mid_run_is_told_with_both_rates(tmp_path: Path) -> None:
    hours = [i / 5 for i in range(26)]
    found = course(tmp_path, holder(at_rates((2.4, 45), (5, 62)), hours, full=400), hours=5, resolution="0.5 L")
    finding = the(found, "flame-changed")
    assert finding.level == "caution"
    assert "the rate changed at 2.4 h from 45.0" in str(finding.message)
    assert "L/h to 62.0" in str(finding.message)
    assert (finding.file, finding.row) == ("log1.csv", 14)  # the reading at 2.4 h
    first, second = found.segments
    assert (first.rate, second.rate) == pytest.approx((45, 62), abs=0.1)
    assert first.end == second.start
    assert (first.end - first.start) / 3600 == pytest.approx(2.4, abs=0.02)
    assert codes(found) == ["flame-changed"]


@pytest.mark.parametrize("after", [53, 52], ids=["up", "up a little"])
def test_change_within_15_percent_is_no_finding(tmp_path: Path, after: float) -> None:
    # 8 of 53 L/h are 15.1 %, 7 of 52 L/h 13.5 %.
    hours = [i / 5 for i in range(26)]
    log = holder(at_rates((2.4, 45), (5, after)), hours, full=400, digits=2)
    found = course(tmp_path, log, hours=5, resolution="0.01 L")
    assert ("flame-changed" in codes(found)) == (after == 53)


def test_change_near_an_end_has_too_little_on_one_side(tmp_path: Path) -> None:
    found = course(tmp_path, holder(at_rates((0.25, 30), (3, 60)), QUARTERS), resolution="0.1 L")
    assert "flame-changed" not in codes(found)


def test_change_that_the_readings_do_not_carry_is_not_claimed(tmp_path: Path) -> None:
    # 50 to 62 L/h within readings to 10 L.
    log = column("gas_volume [L]", {h: 10 * round((300 - at_rates((1.5, 50), (3, 62))(h)) / 10) for h in QUARTERS})
    assert "flame-changed" not in codes(course(tmp_path, log, resolution="10 L"))


def test_change_across_a_refill(tmp_path: Path) -> None:
    drawn = at_rates((2, 60), (4, 90))
    hours = [i / 4 for i in range(17)]
    log = column("gas_volume [L]", {h: 250 - drawn(h) + (150 if h >= 1.5 else 0) for h in hours})
    found = course(tmp_path, log, hours=4)
    assert [round(s.rate) for s in found.segments] == [60, 90]
    assert "at 2 h" in str(the(found, "flame-changed").message)


# A flame that was out


def test_flame_out_that_nobody_logged(tmp_path: Path) -> None:
    hours = [i / 4 for i in range(17)]
    found = course(tmp_path, holder(at_rates((1, 60), (2, 0), (4, 60)), hours), hours=4)
    finding = the(found, "flame-out-not-logged")
    assert finding.level == "caution"
    # 180 L left in the other three hours.
    assert "from 1 h to 2 h 0 L of gas left" in str(finding.message)
    assert "where 60 L would" in str(finding.message)
    assert str(finding.effect) == "burning time may be too long, gas per hour too small"
    assert (finding.file, finding.row) == ("log1.csv", 6)
    assert codes(found) == ["flame-out-not-logged"]  # and not a flame that was adjusted as well
    assert [round(s.rate) for s in found.segments] == [60, 0, 60]


def test_flame_out_between_readings_that_do_not_stand_still(tmp_path: Path) -> None:
    # Out from 1.05 to 1.7 h, a reading every twelve minutes: only 1.2, 1.4 and 1.6 h read alike, not half an hour.
    found = course(tmp_path, holder(at_rates((1.05, 60), (1.7, 0), (4, 60)), [i / 5 for i in range(21)]), hours=4)
    assert codes(found) == ["flame-out-not-logged"]
    assert [round(s.rate) for s in found.segments] == pytest.approx([60, 0, 60], abs=2)


def test_gas_that_ran_out_before_the_end(tmp_path: Path) -> None:
    hours = [i / 4 for i in range(17)]
    found = course(tmp_path, holder(at_rates((3, 60), (4, 0)), hours, full=180), hours=4)
    assert "from 3 h to 4 h" in str(the(found, "flame-out-not-logged").message)


def test_small_flame_is_not_a_flame_out(tmp_path: Path) -> None:
    # 10 L/h, of which readings to 2 L still see 5 L in half an hour.
    hours = [i / 4 for i in range(17)]
    found = course(tmp_path, holder(at_rates((1, 60), (2, 10), (4, 60)), hours), hours=4, resolution="0.5 L")
    assert "flame-out-not-logged" not in codes(found)
    assert codes(found) == ["flame-changed", "flame-changed"]


def test_flow_that_stopped(tmp_path: Path) -> None:
    flow = {i / 12: ("0.0" if 12 <= i <= 24 else f"{1 + i % 2 / 10:.1f}") for i in range(49)}
    found = course(tmp_path, column("gas_flow [L/min]", flow), hours=4, kind="flow")
    assert "from 1 h to 2 h" in str(the(found, "flame-out-not-logged").message)
    assert codes(found) == ["flame-out-not-logged"]


def test_nothing_drawn_at_all_is_no_flame_out(tmp_path: Path) -> None:
    found = course(tmp_path, holder(lambda _: 0.0, QUARTERS))
    assert "no gas used" in reason(steadiness(found))
    assert codes(found) == []


# The idle holder


def idle(
    folder: Path, contents: Mapping[float, float], temperatures: Mapping[float, float] | None = None, **changes: Any
) -> GasCourse:
    """Return the course of a run of 60 L/h, with contents read before lighting (negative hours) or after the run."""
    last = [value for hour, value in contents.items() if hour <= 0]
    full = last[-1] if last else 200.0
    run = {0.0: full, 1.5: full - 90, 3.0: full - 180}
    logs = [column("gas_volume [L]", contents | run)]
    if temperatures is not None:
        logs.append(column(changes.pop("thermometer", "gas_temperature") + " [degC]", temperatures))
    return course(folder, *logs, gas=WET, **changes)


STEADY_25 = dict.fromkeys(range(-12, 9), 25.0)


def test_leaky_holder(tmp_path: Path) -> None:
    # 2 L/h over ten hours at one temperature.
    found = idle(tmp_path, {h: 200 - 2 * (h + 10) for h in range(-10, 0)} | {0: 180}, STEADY_25)
    figure = loss(found)
    assert figure.value == pytest.approx(2)
    # Eleven readings an hour apart: sum of |weights| 10 x 30 / 110 of a step of 0.5 L; a kelvin, as limits, of gas
    # that grows by 1 / 298.15 + 0.189 / 98.2 = 0.53 % per kelvin (vapour: 0.189 kPa/K); 0.3 kPa of the weather; and
    # 2 % of the scale.
    by_reading = 0.5 / 12**0.5 * 10 * 30 / 110
    by_state = 190 * ((0.00528 / 3**0.5) ** 2 + (0.3 / 101.325) ** 2) ** 0.5
    expected = ((by_reading**2 + by_state**2) / 100 + (2 * 0.02 / 3**0.5) ** 2) ** 0.5
    assert figure.standard_uncertainty == pytest.approx(expected, rel=0.01)
    finding = the(found, "holder-leaks")
    assert finding.level == "caution"
    assert "falls by 20 L from −10 h to 0 h (log1.csv:2-12)" in str(finding.message)
    assert "2 L/h leaks" in str(finding.message)
    assert str(finding.effect) == "gas used may include 6 L lost; it is not taken off"
    assert (finding.file, finding.row) == ("log1.csv", 2)
    assert figure.inputs == ("log1.csv:2-12",)
    assert "(20.0 − 0.0) L / 10 h" in str(figure.working)


def test_holder_that_leaks_after_the_run(tmp_path: Path) -> None:
    found = idle(tmp_path, {0: 200} | {h: 20 - 2 * (h - 3) for h in range(4, 9)}, STEADY_25)
    assert loss(found).value == pytest.approx(2)


def test_sun_heated_holder_breathes(tmp_path: Path) -> None:
    # Wet gas from 20 to 35 °C grows by 8.7 %: (101.325 - 2.339) x 308.15 / ((101.325 - 5.629) x 293.15) = 1.0873.
    warm = {h: 20 + 3 * (h + 5) for h in range(-5, 1)}
    content = {h: round(200 * growth(20, t), 1) for h, t in warm.items()}
    assert content[0] == pytest.approx(217.5, abs=0.1)
    found = idle(tmp_path, content, warm)
    finding = the(found, "thermal-breathing")
    assert finding.level == "note"
    assert "temperature (20 °C to 35 °C) and pressure of the gas make 17.5 L" in str(finding.message)
    assert codes(found) == ["thermal-breathing"]
    assert "within the errors" in reason(loss(found))


def growth(cold: float, warm: float) -> float:
    """Return by how much wet gas grows; vapour pressures [kPa] by Magnus' formula, to 0.1 % of steam tables."""
    cold_vapour, warm_vapour = (0.61094 * np.exp(17.625 * t / (t + 243.04)) for t in (cold, warm))
    return float((101.325 - cold_vapour) / (101.325 - warm_vapour) * (warm + 273.15) / (cold + 273.15))


def test_temperature_that_makes_a_little_of_a_movement_does_not_explain_it(tmp_path: Path) -> None:
    # 1.5 K of air are 1.6 L of 200 L; the holder rises by 6 L, which 5 K of doubt do not tell from breathing.
    air = {h: 25 + 0.3 * (h + 5) for h in range(-5, 1)}
    found = idle(tmp_path, {h: 200 + 1.2 * (h + 5) for h in range(-5, 1)}, air, thermometer="ambient_temperature")
    assert codes(found) == []
    assert "within the errors" in reason(loss(found))


def test_rising_barometer_is_no_leak(tmp_path: Path) -> None:
    # Of 200 L of wet gas at 25 °C, (101.3 - 3.2) / (104.3 - 3.2) are left under 3 kPa more: 5.9 L less.
    contents = column("gas_volume [L]", {-6 + i: round(200 * 98.1 / (98.1 + i / 2), 1) for i in range(7)} | {3: 20})
    warm = column("gas_temperature [degC]", STEADY_25)
    barometer = column("atmospheric_pressure [hPa]", {-6 + i: 1013 + 5 * i for i in range(7)})
    assert codes(course(tmp_path / "read", contents, warm, barometer, gas=WET)) == ["thermal-breathing"]
    assert codes(course(tmp_path / "unread", contents, warm, gas=WET)) == ["holder-leaks"]


def test_holder_that_warms_and_cools_again_breathes(tmp_path: Path) -> None:
    warm = {-6: 20, -4: 28, -2: 28, 0: 20}
    found = idle(tmp_path, {h: round(200 * growth(20, t), 1) for h, t in warm.items()}, warm)
    assert codes(found) == ["thermal-breathing"]


def test_leak_that_the_sun_hides_is_found(tmp_path: Path) -> None:
    # The gas warms from 20 to 35 °C and 20 L are lost: the holder hardly moves.
    warm = {h: 20 + 3 * (h + 5) for h in range(-5, 1)}
    content = {h: round(200 * growth(20, t) - 4 * (h + 5), 1) for h, t in warm.items()}
    found = idle(tmp_path, content, warm)
    assert loss(found).value == pytest.approx(4, rel=0.05)  # 4 L at 20 °C are 4.3 L at 35 °C
    assert codes(found) == ["holder-leaks"]


def test_air_tells_less_of_the_gas_than_its_own_thermometer(tmp_path: Path) -> None:
    # 8 L lost in five hours at one air temperature; the gas may have cooled by 5 K, as limits: 196 L x 0.53 % x 2.9 is
    # 3 L.
    contents = {-5 + 1.25 * i: 200 - 2 * i for i in range(5)}
    air = dict.fromkeys(range(-6, 4, 3), 25.0)
    by_air = idle(tmp_path / "air", contents, air, thermometer="ambient_temperature")
    assert codes(by_air) == []
    assert loss(by_air).at_most == pytest.approx((8 + 1.96 * 3.0) / 5, rel=0.05)
    assert "less than 2.8 L/h" in reason(loss(by_air))
    by_gas = idle(tmp_path / "gas", contents, air)
    assert codes(by_gas) == ["holder-leaks"]


def test_without_a_thermometer_a_small_fall_is_no_leak_but_a_large_one_is(tmp_path: Path) -> None:
    # 10 K, as limits, of 200 L: 6 L; three of those are 18 L.
    small = idle(tmp_path / "small", {h: 200 - 2 * (h + 5) for h in range(-5, 1)})
    assert codes(small) == []
    large = idle(tmp_path / "large", {h: 260 - 8 * (h + 5) for h in range(-5, 1)})
    assert codes(large) == ["holder-leaks"]
    assert "temperature of the idle gas" in names(loss(large))
    assert loss(large).basis == "assumed"


def test_gas_that_comes_into_an_idle_holder_is_production(tmp_path: Path) -> None:
    found = idle(tmp_path, {h: 150 + 8 * (h + 6) for h in range(-6, 1)}, STEADY_25)
    finding = the(found, "idle-rise")
    assert finding.level == "note"
    assert "rises by 48 L from −6 h to 0 h" in str(finding.message)
    assert "8 L/h came in" in str(finding.message)
    assert "hides what it lost" in reason(loss(found))


def test_open_holder_that_rises_needs_no_note(tmp_path: Path) -> None:
    found = idle(tmp_path, {h: 150 + 8 * (h + 6) for h in range(-6, 1)}, STEADY_25, isolated=False)
    assert codes(found) == []
    assert "hides what it lost" in reason(loss(found))


def test_idle_holder_that_stands_still_bounds_its_loss(tmp_path: Path) -> None:
    found = idle(tmp_path, dict.fromkeys(range(-10, 1), 200), STEADY_25)
    assert codes(found) == []
    assert "less than" in reason(loss(found))
    most = loss(found).at_most
    assert most is not None
    assert 0.1 < most < 0.3


def test_one_flip_of_the_last_digit_is_no_leak(tmp_path: Path) -> None:
    # To 5 L: ten readings of 200 and ten of 195, where next to nothing need have left.
    contents = {-10 + h / 2: (200.0 if h < 10 else 195.0) for h in range(21)}
    assert codes(idle(tmp_path, contents, STEADY_25, resolution="5 L")) == []


@pytest.mark.parametrize(
    "contents", [{-5: 200, 0: 180}, {-0.9: 200, -0.5: 195, 0: 190}, {-30: 260, -28: 240, -26: 220}], ids=str
)
def test_idle_stretch_needs_an_hour_three_readings_and_the_day_of_the_run(
    tmp_path: Path, contents: dict[float, float]
) -> None:
    found = idle(tmp_path, contents, STEADY_25)
    assert "no idle stretch of an hour with three readings was logged" in reason(loss(found))


def test_what_a_stove_took_from_an_idle_holder_did_not_leak(tmp_path: Path) -> None:
    contents = column("gas_volume [L]", {h: 200 - 2 * (h + 10) for h in range(-10, 1)} | {1.5: 90, 3: 0})
    stove = column("gas_elsewhere [L]", {-10: 0, 0: 20})
    found = course(tmp_path, contents, column("gas_temperature [degC]", STEADY_25), stove, gas=WET)
    assert codes(found) == []


def test_refill_of_an_idle_holder_cuts_the_stretch(tmp_path: Path) -> None:
    contents = {h: 150 - 4 * (h + 10) for h in range(-10, -5)} | {h: 220 - 4 * (h + 5) for h in range(-5, 1)}
    logs = (
        column("gas_volume [L]", contents | {1.5: 110, 3: 20}),
        column("gas_temperature [degC]", STEADY_25),
        column("event", {-5.5: "refill"}),
    )
    found = course(tmp_path, *logs, gas=WET)
    assert codes(found) == ["holder-leaks", "holder-leaks"]
    assert loss(found).value == pytest.approx(4)


def test_holder_idle_between_two_lightings_is_looked_at(tmp_path: Path) -> None:
    content = {0: 300, 0.5: 270, 1: 240, 2: 230, 3: 220, 4: 210, 4.5: 180, 5: 150}
    events = {0: "burner lit", 1: "burner out", 4: "relit", 5: "burner out"}
    log = rows("time,event,gas_volume [L]", *((h, events.get(h, ""), v) for h, v in content.items()))
    write(tmp_path, log, column("gas_temperature [degC]", dict.fromkeys(range(7), 25)), gas=WET)
    found = of(tmp_path)
    assert loss(found).value == pytest.approx(10)
    assert "from 1 h to 4 h" in str(the(found, "holder-leaks").message)


def test_everything_holds_without_any_idle_reading(tmp_path: Path) -> None:
    found = course(tmp_path, column("gas_volume [L]", FALLING))
    assert [figure.key for figure in found.figures] == ["gas_rate_steadiness", "idle_loss"]
    assert len(found.windows) == 3

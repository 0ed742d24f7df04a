"""The cabinet: start, lowest, crossings, rates, response, hold-over."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from reportgen.figures import Results

from .trials import THREE_HOURS, codes, column, names, number, reason, results, rows

CABINET = {"resolution": "0.1 K", "accuracy": "0.3 K (limits)"}
OFFSET = 0.3 / 3**0.5  # K, of a thermometer right to 0.3 K
READING = 0.1 / 12**0.5  # K, of one that shows 0.1 K
CLOCK = (2 * (1 / 120) ** 2 / 3) ** 0.5  # h, two moments to the minute
#: 10 K/h down from 20 °C, a reading every quarter hour.
LINE = {i / 4: 20 - 10 * i / 4 for i in range(13)}


def of(folder: Path, readings: Mapping[float, float], *logs: str, cabinet: Any = None, burner: Any = None) -> Results:
    """Return the results of a cabinet read to 0.1 K, the burner lit for three hours."""
    log = column("cabinet_temperature [degC]", readings)
    return results(folder, log, *logs, burner=burner or THREE_HOURS, cabinet=cabinet or CABINET)


# Start and lowest


def test_start_is_the_reading_at_lighting(tmp_path: Path) -> None:
    start = of(tmp_path, LINE)["temperature_start"]
    assert start.value == 20
    assert start.standard_uncertainty == pytest.approx(math.hypot(READING, OFFSET))
    assert start.inputs == ("log1.csv:2",)
    assert start.basis == "measured"


def test_start_between_two_readings_is_interpolated(tmp_path: Path) -> None:
    # 22 °C six minutes before, 20 °C twelve minutes after.
    assert of(tmp_path, {-0.1: 22, 0.2: 19, 1: 10, 2: 5})["temperature_start"].value == pytest.approx(21)


def test_start_twelve_minutes_late_is_taken_with_what_it_may_hide(tmp_path: Path) -> None:
    # 5 K in the quarter hour that follows: 4 K may have gone in the twelve minutes before.
    start = of(tmp_path, {0.2: 20, 0.45: 15, 1: 10, 2: 5})["temperature_start"]
    assert start.value == 20
    assert start.standard_uncertainty == pytest.approx((READING**2 + OFFSET**2 + 4**2 / 3) ** 0.5)


def test_start_twenty_minutes_late_is_not_given(tmp_path: Path) -> None:
    found = of(tmp_path, {1 / 3: 20, 0.75: 15, 1: 10, 2: -5, 3: -8})
    assert "20 min" in reason(found["temperature_start"])
    assert "20 min" in reason(found["cooling_rate_mean"])
    assert found["time_to_0"].is_given


def test_lowest_is_a_median_of_three(tmp_path: Path) -> None:
    # The spike at -5.8 is one reading; the middle of (-4, -5, -4.5) is -4.5.
    found = of(tmp_path, {0: 20, 0.5: 8, 1: -2, 1.25: -5.8, 1.5: -3, 2: -4, 2.5: -5, 3: -4.5})
    assert found["temperature_lowest"].value == pytest.approx(-4.5)
    assert found["temperature_lowest"].standard_uncertainty == pytest.approx(math.hypot(READING, OFFSET))


def test_lowest_at_the_first_three_readings_is_at_the_middle_one(tmp_path: Path) -> None:
    # The median of (20, 5, 4) is 5, lower than those that follow: 15 K in the first hour.
    found = of(tmp_path, {0: 20, 1: 5, 1.5: 4, 2: 8, 2.5: 9, 3: 9})
    assert found["temperature_lowest"].value == 5
    assert found["temperature_lowest"].inputs == ("log1.csv:2-4",)
    assert found["cooling_rate_mean"].value == pytest.approx(15)


def test_three_readings_are_enough_for_the_plain_figures(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 0.5: 10, 1: 0})
    assert found["temperature_lowest"].value == 10
    assert found["cooling_rate_peak"].value == pytest.approx(20)
    assert "readings" in reason(found["cooling_time_constant"])
    two = of(tmp_path / "two", {0: 20, 0.5: 10})
    assert "three" in reason(two["temperature_lowest"])
    assert "three" in reason(two["cooling_rate_peak"])


# Crossings


def test_crossing_is_interpolated_and_shares_the_thermometer_error(tmp_path: Path) -> None:
    # 3 K above at 1.7 h, 1 K below at 2.1 h.
    readings = {0: 20, 1.7: 3, 2.1: -1, 2.5: -5, 2.9: -9, 3.3: -13}
    found = of(tmp_path, readings)
    assert found["time_to_0"].value == pytest.approx(2.0)
    assert found["time_to_0"].standard_uncertainty == pytest.approx(
        ((READING**2 + OFFSET**2) / 10**2 + CLOCK**2) ** 0.5
    )
    assert found["time_to_minus_6"].value == pytest.approx(2.6)
    working = str(found["time_to_0"].working)
    assert "(3 − 0) / (3 − (−1))" in working
    # The offset moves both crossings alike; only readings and clock stay in their distance.
    apart = number(found["time_to_minus_6"]) - number(found["time_to_0"])
    assert apart.nominal_value == pytest.approx(0.6)
    assert apart.std_dev == pytest.approx((2 * READING**2 / 10**2 + 2 * CLOCK**2) ** 0.5)


def test_start_below_zero_has_no_time_to_zero(tmp_path: Path) -> None:
    found = of(tmp_path, {0: -2, 1: -4, 2: -7, 3: -8})
    assert "started below" in reason(found["time_to_0"])
    assert found["time_to_minus_6"].value == pytest.approx(1 + 2 / 3)
    assert found["cooling_rate_mean"].method == "start to the lowest reading"
    # -2 to the middle of (-4, -7, -8) at 2 h.
    assert found["cooling_rate_mean"].value == pytest.approx(5 / 2)


def test_first_reading_late_and_below_is_not_called_a_crossing(tmp_path: Path) -> None:
    found = of(tmp_path, {0.5: -2, 1: -4, 2: -7, 3: -8})
    assert "already at the first reading" in reason(found["time_to_0"])


def test_threshold_never_reached_has_a_lower_bound_up_to_the_flame_out(tmp_path: Path) -> None:
    found = of(tmp_path, LINE | {3.5: -5, 4: 0, 5: 8}, burner={"lit": "09:00", "out": "11:00"})
    assert "not reached" in reason(found["time_to_minus_12"])
    assert found["time_to_minus_12"].at_least == 2


def test_crossing_that_does_not_hold_is_passed_over(tmp_path: Path) -> None:
    # Below at 1 h, above again 6 minutes later; for good between 2 and 2.5 h.
    found = of(tmp_path, {0: 20, 0.9: 1, 1: -0.5, 1.1: 1, 1.5: 2, 2: 1, 2.5: -1, 3: -2})
    assert found["time_to_0"].value == pytest.approx(2.25)


def test_crossing_that_never_holds_is_not_given(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 0.9: 1, 1: -0.5, 1.1: 1, 1.5: 2, 2: 1})
    assert "held" in reason(found["time_to_0"])
    # The mean rate then goes to the lowest median of three.
    assert found["cooling_rate_mean"].method == "start to the lowest reading"


def test_crossing_in_the_last_reading_is_not_confirmed(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 1: 10, 2: 1, 2.5: -4})
    assert "no later one" in reason(found["time_to_0"])
    assert found["time_to_0"].at_least == 2


def test_crossing_in_a_gap_is_known_between_two_readings(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 0.25: 18, 0.5: 15, 0.75: 12, 2.75: -3, 3: -4})
    time = found["time_to_0"]
    assert time.interval_kind == "limits"
    assert time.interval == (0.75, 2.75)
    assert time.value == pytest.approx(1.75)
    assert time.standard_uncertainty == pytest.approx(1 / 3**0.5)
    rate = found["cooling_rate_mean"]
    assert rate.interval_kind == "limits"
    assert rate.value == pytest.approx(20 / 1.75)
    spread = 1.96 * math.hypot(READING, OFFSET)
    assert rate.interval == pytest.approx(((20 - spread) / 2.75, (20 + spread) / 0.75), rel=1e-4)


def test_crossing_in_a_gap_from_the_lighting_on_gives_a_rate_with_a_lower_bound_only(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 2: -3, 2.25: -4, 2.5: -5, 2.75: -6})
    assert found["time_to_0"].interval == (0, 2)
    assert "nought" in reason(found["cooling_rate_mean"])
    assert found["cooling_rate_mean"].at_least == pytest.approx((20 - 1.96 * math.hypot(READING, OFFSET)) / 2, rel=1e-4)


def test_slope_at_a_crossing_is_not_taken_from_one_step_of_the_scale(tmp_path: Path) -> None:
    # In whole degrees, 6 K/h: the two readings around 0 °C are two minutes apart: no slope of 30 K/h.
    readings = {0.0: 20, 2.0: 8, 2.5: 5, 3.0: 2, 3.3: 1, 3.3 + 1 / 30: 0, 3.7: -2, 4.2: -5, 4.7: -8}
    cabinet = {"resolution": "1 K", "accuracy": "0.6 K (limits)"}
    found = of(tmp_path, readings, cabinet=cabinet, burner={"lit": "09:00", "out": "14:00"})
    least = math.hypot(1 / 12**0.5, 0.6 / 3**0.5) / 6
    assert 0.9 * least < found["time_to_0"].standard_uncertainty < 1.5 * least


def test_readings_of_one_instant_count_as_one(tmp_path: Path) -> None:
    second = column("cabinet_temperature [degC]", {1.7: 5, 2.1: -3})
    found = of(tmp_path, {0: 20, 1.7: 1, 2.1: 1, 2.5: -5, 2.9: -9}, second)
    assert found["time_to_0"].value == pytest.approx(2.0)
    assert "same-instant" in codes(found)


def test_thermometer_nobody_described_is_an_assumption_of_its_limits_only(tmp_path: Path) -> None:
    found = of(tmp_path, LINE, cabinet={"appliance": "a small one"})
    assert {"cabinet thermometer", "cabinet readings"} <= names(found["temperature_start"])
    assert found["temperature_start"].basis == "measured"


# Rates


def test_mean_rate_to_zero(tmp_path: Path) -> None:
    rate = of(tmp_path, LINE)["cooling_rate_mean"]
    assert rate.value == pytest.approx(10)
    assert rate.method == "start to 0 °C"
    assert rate.basis == "derived"
    # An offset d moves the start by d and the time by d / (10 K/h): the rate stays.
    from reportgen.calc.uncertainty import variance_shares

    assert variance_shares(number(rate)).get("cabinet thermometer", 0) == pytest.approx(0, abs=1e-9)


def test_mean_rate_to_the_lowest_where_zero_is_not_reached(tmp_path: Path) -> None:
    rate = of(tmp_path, {0: 20, 1: 15, 2: 11, 3: 10})["cooling_rate_mean"]
    assert rate.method == "start to the lowest reading"
    assert rate.value == pytest.approx((20 - 11) / 2)


def test_cabinet_that_warms_has_no_rate(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 1: 21, 2: 22, 3: 23})
    assert "did not cool" in reason(found["cooling_rate_mean"])
    assert "did not cool" in reason(found["cooling_rate_peak"])


def test_peak_rate_is_of_the_steepest_quarter_hour(tmp_path: Path) -> None:
    # 4 K/h, then 24 K/h for a quarter hour, then 4 K/h; a reading every five minutes.
    def at(minute: int) -> float:
        return 20 - 4 * minute / 60 - 20 * min(max(minute - 60, 0), 15) / 60

    found = of(tmp_path, {minute / 60: round(at(minute), 6) for minute in range(0, 181, 5)})
    assert found["cooling_rate_peak"].value == pytest.approx(24, rel=1e-4)
    assert found["cooling_rate_peak"].basis == "derived"
    # Four readings five minutes apart: sum of squares 2 x (7.5² + 2.5²) min² = 125 min².
    expected = 0.1 / 12**0.5 / (125 / 3600) ** 0.5
    assert found["cooling_rate_peak"].standard_uncertainty == pytest.approx(expected, rel=1e-3)


def test_peak_rate_looks_at_the_run_only(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 0.5: 18, 1: 16, 1.5: 0, 2: -16}, burner={"lit": "09:00", "out": "10:00"})
    assert found["cooling_rate_peak"].value == pytest.approx(4)


# Response


def test_response_is_found_where_it_is_there(tmp_path: Path) -> None:
    # Twelve minutes of delay, then from 25 °C towards -15 °C with a time constant of 40 minutes.
    def at(hour: float) -> float:
        return -15 + 40 * math.exp(-max(hour - 0.2, 0) / (2 / 3))

    found = of(tmp_path, {i / 20: round(at(i / 20), 1) for i in range(61)})
    for key, true in (("cooling_delay", 0.2), ("cooling_time_constant", 2 / 3), ("temperature_floor", -15)):
        figure = found[key]
        assert figure.interval is not None
        assert figure.interval[0] <= true <= figure.interval[1]
        assert figure.value == pytest.approx(true, rel=0.02)
        assert figure.interval_kind == "simulated"
        assert figure.basis == "derived"
    assert found["temperature_floor"].standard_uncertainty > OFFSET
    assert found["cooling_delay"].standard_uncertainty > CLOCK
    assert found.response is not None


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ({0: 20, 1: 10, 2: 0}, "readings"),
        ({i / 4: 20 for i in range(13)}, "fell by only"),
        ({i / 10: 20 - 3 * i / 10 for i in range(11)}, "far beyond"),
        ({i / 50: round(40 * math.exp(-i / 50) - 15, 2) for i in range(66)}, "1.5 time constants"),
    ],
    ids=["few", "flat", "straight", "short"],
)
def test_response_is_refused_with_a_reason(tmp_path: Path, readings: dict[float, float], why: str) -> None:
    found = of(tmp_path, readings)
    for key in ("cooling_delay", "cooling_time_constant", "temperature_floor"):
        assert why in reason(found[key])
        assert "{" not in reason(found[key])
    assert found.response is None


# Hold-over


def test_hold_over_is_from_flame_out_to_above_zero(tmp_path: Path) -> None:
    # 5 K/h up: -5 °C at the flame-out, 0 °C an hour later.
    after = {3.0: -5, 3.5: -2.5, 4.5: 2.5, 5.0: 5}
    found = of(tmp_path, {0: 20, 1: 5, 2: -4} | after)
    assert found["hold_over_time"].value == pytest.approx(1)
    assert found["hold_over_time"].standard_uncertainty == pytest.approx(
        ((READING**2 + OFFSET**2) / 5**2 + CLOCK**2) ** 0.5
    )


def test_hold_over_still_cold_is_at_least_so_long(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 1: 5, 2: -4, 3: -5, 4: -3, 5: -1})
    assert "still" in reason(found["hold_over_time"])
    assert found["hold_over_time"].at_least == 2


def test_hold_over_needs_a_cabinet_below_zero(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 1: 15, 2: 10, 3: 8, 4: 12})
    assert "8 °C when the burner went out" in reason(found["hold_over_time"])
    assert found["hold_over_time"].at_least is None


def test_hold_over_that_ends_before_the_first_later_reading(tmp_path: Path) -> None:
    # -1 °C at 2.9 h, +2 °C at 3.2 h: 0 °C at 3.0 h, the flame-out itself, at the earliest.
    found = of(tmp_path, {0: 20, 1: 5, 2: -4, 2.8: -2, 3.2: 2, 3.5: 5, 3.8: 8})
    assert found["hold_over_time"].value == pytest.approx(0, abs=1e-6)


def test_hold_over_at_zero_is_not_yet_above(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 1: 5, 2: -4, 3: -2, 3.5: 0, 4: 0, 4.5: 0, 5: 2, 5.5: 4})
    assert found["hold_over_time"].value == pytest.approx(1.5, abs=1e-5)


def test_hold_over_in_a_gap_is_known_between_two_readings(tmp_path: Path) -> None:
    found = of(tmp_path, {0: 20, 1: 5, 2: -4, 3: -5, 3.5: -4, 9: 10, 9.5: 11})
    assert found["hold_over_time"].interval_kind == "limits"
    assert found["hold_over_time"].interval == (0.5, 6)
    assert found["hold_over_time"].value == pytest.approx(3.25)


def test_hold_over_is_not_given_without_readings_after(tmp_path: Path) -> None:
    assert "not read after" in reason(of(tmp_path, {0: 20, 1: 5, 2: -4, 3: -5})["hold_over_time"])


# Ambient, °F


def test_ambient_is_weighted_by_time(tmp_path: Path) -> None:
    # 20 °C for two hours, then a line to 32 °C in one: (2 x 20 + 26) / 3.
    found = of(tmp_path, LINE, column("ambient_temperature [degC]", {-0.5: 20, 2: 20, 3: 32, 9: 40}))
    assert found["ambient_mean"].value == pytest.approx(22)
    assert found["ambient_mean"].basis == "measured"


def test_ambient_of_another_day_is_not_that_of_the_run(tmp_path: Path) -> None:
    found = of(tmp_path, LINE, column("ambient_temperature [degC]", {-24: 20, 24: 40}))
    assert "no ambient reading" in reason(found["ambient_mean"])
    assert not found["cop_reversible"].is_given


def test_fahrenheit_log_gives_the_same_as_celsius(tmp_path: Path) -> None:
    found = of(tmp_path, LINE)
    log = column("cabinet_temperature [degF]", {at: 32 + 1.8 * value for at, value in LINE.items()})
    other = results(tmp_path / "f", log, burner=THREE_HOURS, cabinet=CABINET)
    for key in (
        "temperature_start",
        "time_to_0",
        "time_to_minus_6",
        "cooling_rate_mean",
        "cooling_rate_peak",
    ):
        assert other[key].value == pytest.approx(found[key].value), key
        assert other[key].standard_uncertainty == pytest.approx(found[key].standard_uncertainty), key


def test_relit_burner_shows_its_response_in_the_first_span_only(tmp_path: Path) -> None:
    log = rows("time,event", (0, "burner lit"), (1, "burner out"), (2, "relit"), (3, "burner out"))
    readings = {i / 10: 20 - 5 * i / 10 for i in range(31)}
    found = results(tmp_path, column("cabinet_temperature [degC]", readings), log, cabinet=CABINET)
    # Rows of the first hour only: readings at 0 to 1 h.
    assert found["cooling_delay"].inputs == ("log1.csv:2-12",)

"""Steadiness of feeding, and yields recovered from simulated digesters."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from reportgen.calc.digester_log import DEFAULT_RATES, Reason
from reportgen.calc.gas_yield import SteadyYield, daily_totals, feeding_is_steady, steady_yield
from reportgen.calc.gas_yield_model import FirstOrderYield, first_order_yield

Floats = NDArray[np.float64]
MORNING = 8.0 / 24.0
HISTORY = 60  # days of feed before the log


@dataclass(frozen=True)
class Logs:
    """Feed and gas logs, and the yield behind them."""

    feed_times: Floats
    feed_masses: Floats
    gas_times: Floats
    gas_amounts: Floats
    true_yield: float = math.nan

    def arguments(self) -> tuple[Floats, Floats, Floats, Floats]:
        return self.feed_times, self.feed_masses, self.gas_times, self.gas_amounts


def digest(masses: Floats, rate: float, true_yield: float, readings: NDArray[np.floating[Any]], noise: Floats) -> Logs:
    """Return the logs of a first-order digester fed each morning, day 0 being the first one logged."""
    feeds: Floats = np.arange(masses.size, dtype=np.float64) - HISTORY + MORNING
    age = np.clip(readings[:, None] - feeds, 0.0, None)
    gas: Floats = np.diff(true_yield * (1.0 - np.exp(-rate * age)) @ masses) * noise
    logged = (feeds > 0.0) & (masses > 0.0)
    return Logs(feeds[logged], masses[logged], readings[1:].astype(np.float64), gas, true_yield)


def even(days: int, rate: float = 0.2, true_yield: float = 120.0, masses: Floats | None = None) -> Logs:
    """Return the logs of a digester without any noise."""
    fed = np.full(HISTORY + days, 5.0) if masses is None else masses
    return digest(fed, rate, true_yield, np.arange(-1, days) + MORNING, np.ones(days))


def random_logs(generator: np.random.Generator, spread: float) -> Logs:
    """Return logs with uneven feed and hours, steps, missing days and readings with 3 % noise."""
    days = int(generator.integers(14, 31))
    masses = 5.0 * np.clip(generator.normal(1.0, spread, HISTORY + days), 0.05, None)
    if generator.random() < 0.5:
        masses[int(generator.integers(20, HISTORY + days)) :] *= generator.uniform(0.7, 1.4)
    masses[generator.random(masses.size) < 0.02] = 0.0
    readings = np.arange(-1, days) + MORNING + generator.normal(0.0, 1.0 / 24.0, days + 1)
    taken = generator.random(days + 1) > 0.05
    taken[[0, 1, -1]] = True
    readings = readings[taken].astype(np.float64)
    noise = 1.0 + 0.03 * generator.standard_normal(readings.size - 1)
    return digest(masses, generator.uniform(0.09, 0.30), generator.uniform(100.0, 180.0), readings, noise)


# Formulas


def test_daily_totals_fill_days_without_entry_and_sort() -> None:
    days, totals = daily_totals([3.9, 1.2, 1.8, 1.2], [4.0, 1.0, 2.0, 3.0])
    assert days.tolist() == [1, 2, 3]
    assert totals.tolist() == [6.0, 0.0, 4.0]


def test_daily_totals_of_nothing() -> None:
    days, totals = daily_totals([], [])
    assert days.size == totals.size == 0


@given(st.lists(st.tuples(st.floats(-50.0, 50.0), st.floats(0.0, 1e3)), min_size=1, max_size=30))
def test_daily_totals_keep_the_total(entries: list[tuple[float, float]]) -> None:
    times, amounts = zip(*entries, strict=True)
    days, totals = daily_totals(times, amounts)
    assert totals.sum() == pytest.approx(sum(amounts))
    assert days[0] == math.floor(min(times))
    assert days[-1] == math.floor(max(times))


@pytest.mark.parametrize(
    ("times", "amounts"), [([1.0], [1.0, 2.0]), ([math.nan], [1.0]), ([1.0], [-1.0]), ([1.0], [math.inf])]
)
def test_impossible_logs_are_refused(times: list[float], amounts: list[float]) -> None:
    with pytest.raises(ValueError, match="times"):
        daily_totals(times, amounts)


# Steadiness


def codes(logs: Logs) -> list[str]:
    steady, reasons = feeding_is_steady(*logs.arguments())
    assert steady == (not reasons)
    return [reason.code for reason in reasons]


def test_fourteen_even_days_are_steady() -> None:
    assert codes(even(14)) == []


def test_thirteen_days_are_too_few() -> None:
    steady, (reason,) = feeding_is_steady(*even(13).arguments())
    assert not steady
    assert reason.code == "window_short"
    assert reason.values == pytest.approx({"days": 12.0, "needed_days": 14.0})


def test_a_week_is_too_short_whatever_the_feed() -> None:
    masses = np.full(HISTORY + 7, 5.0)
    masses[::2] = 9.0
    assert "window_short" in codes(even(7, masses=masses))


def test_feed_that_varies_is_uneven() -> None:
    masses = np.full(HISTORY + 20, 5.0)
    masses[::2] = 9.0
    assert codes(even(20, masses=masses)) == ["feed_uneven"]


def test_a_digester_fed_every_second_day_is_judged_by_the_week() -> None:
    masses = np.full(HISTORY + 24, 10.0)
    masses[1::2] = 0.0
    assert codes(even(24, masses=masses)) == []
    masses[HISTORY + 8 : HISTORY + 16] = 0.0
    assert "weekly_feed_uneven" in codes(even(24, masses=masses))


def test_gas_still_rising_after_more_feed_is_a_drift() -> None:
    masses = np.full(HISTORY + 20, 5.0)
    masses[:HISTORY] = 2.5
    steady, (reason,) = feeding_is_steady(*even(20, rate=0.1, masses=masses).arguments())
    assert not steady
    assert reason.code == "gas_drifts"
    assert reason.values["drift"] > 0.1


def test_logs_of_different_weeks_do_not_support_a_yield() -> None:
    logs = even(14)
    later = logs.gas_times + 40.0
    for outcome in (
        feeding_is_steady(logs.feed_times, logs.feed_masses, later, logs.gas_amounts)[1][0],
        steady_yield(logs.feed_times, logs.feed_masses, later, logs.gas_amounts),
    ):
        assert isinstance(outcome, Reason)
        assert outcome.code == "logs_apart"
        assert outcome.values["days_apart"] > 20.0


def test_missing_feed_or_gas_is_said() -> None:
    logs = even(14)
    assert steady_yield([], [], logs.gas_times, logs.gas_amounts) == Reason("no_feed")
    assert steady_yield(logs.feed_times, logs.feed_masses, [], []) == Reason("no_gas")
    assert feeding_is_steady(logs.feed_times, logs.feed_masses, logs.gas_times, 0.0 * logs.gas_amounts) == (
        False,
        (Reason("no_gas"),),
    )


# Yields


def steady(logs: Logs) -> SteadyYield:
    outcome = steady_yield(*logs.arguments())
    assert isinstance(outcome, SteadyYield)
    return outcome


def modelled(logs: Logs) -> FirstOrderYield:
    outcome = first_order_yield(*logs.arguments())
    assert isinstance(outcome, FirstOrderYield)
    return outcome


@pytest.mark.parametrize("rate", [0.09, 0.2, 0.3])
def test_even_feeding_gives_back_the_yield(rate: float) -> None:
    # 60 days of history leave exp(-0.09 * 60) = 0.5 % of the gas out at the slowest rate.
    assert steady(even(20, rate=rate)).value == pytest.approx(120.0, rel=0.006)


def test_steady_uncertainty_names_its_parts() -> None:
    outcome = steady(even(20))
    assert math.hypot(*outcome.components.values()) == pytest.approx(outcome.relative_standard_uncertainty)
    assert outcome.relative_standard_uncertainty < 0.01
    assert outcome.value == pytest.approx(outcome.gas / outcome.feed)
    assert outcome.last_day - outcome.first_day == pytest.approx(19.0)


def test_feed_split_into_several_entries_of_a_day_changes_nothing() -> None:
    logs = even(21)
    minutes = np.repeat(logs.feed_times, 3) + np.tile([-0.005, 0.0, 0.005], logs.feed_times.size)
    parts = np.repeat(logs.feed_masses / 3.0, 3)
    split = Logs(minutes, parts, logs.gas_times, logs.gas_amounts)
    assert steady(split).value == pytest.approx(steady(logs).value, rel=1e-3)
    assert modelled(split).value == pytest.approx(modelled(logs).value, rel=1e-2)


def test_feeding_morning_and_evening_is_even_though_the_last_reading_parts_the_day() -> None:
    logs = even(16)
    times = np.concatenate([logs.feed_times, logs.feed_times + 10.0 / 24.0])
    masses = np.concatenate([logs.feed_masses, logs.feed_masses]) / 2.0
    assert codes(Logs(times, masses, logs.gas_times + 5.0 / 24.0, logs.gas_amounts)) == []


def test_a_feed_that_lies_outside_the_gas_log_gives_no_yield() -> None:
    logs = even(10)
    later = logs.gas_times + 20.0
    # A lone feed counts for one day, until day 1.0; the first gas row, at 20 1/3, for the day before it.
    apart = steady_yield([0.0, 30.0], [5.0, 0.0], later, logs.gas_amounts)
    assert isinstance(apart, Reason)
    assert apart.code == "logs_apart"
    assert apart.values["days_apart"] == pytest.approx(18.0 + 1.0 / 3.0)
    # Fed on days 0 and 40 only: the gas lies between, and no feed is among the days it covers.
    assert steady_yield([0.0, 40.0], [5.0, 5.0], later, logs.gas_amounts) == Reason("no_feed")


def test_gas_read_every_hour_gives_what_daily_readings_give() -> None:
    masses = np.full(HISTORY + 28, 5.0)
    masses[HISTORY + 10 :] = 6.0
    readings = np.arange(-24, 28 * 24) / 24.0 + MORNING
    hourly = digest(masses, 0.2, 120.0, readings, np.ones(readings.size - 1))
    daily = even(28, masses=masses)
    assert steady(hourly).value == pytest.approx(steady(daily).value, rel=0.01)
    # Hours of the rows differ, so the rows merged are not quite those read daily.
    assert modelled(hourly).value == pytest.approx(120.0, rel=0.02)
    assert modelled(hourly).gas_rows > 27


def test_a_few_shared_days_are_too_short_to_be_judged() -> None:
    logs = even(4)
    for outcome in (feeding_is_steady(*logs.arguments())[1][0], steady_yield(*logs.arguments())):
        assert isinstance(outcome, Reason)
        assert outcome.code == "window_short"


@pytest.mark.parametrize("rates", [(), (0.1, 0.0), (0.1, math.nan), (0.1, math.inf)])
def test_impossible_rates_are_refused(rates: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="rates must be positive"):
        first_order_yield(*even(28).arguments(), rates=rates)


@pytest.mark.parametrize("rate", [0.10, 0.20, 0.30])
def test_model_finds_yield_rate_and_background_without_noise(rate: float) -> None:
    masses = np.full(HISTORY + 28, 5.0)
    masses[HISTORY + 10 :] = 9.0
    outcome = modelled(even(28, rate=rate, masses=masses))
    assert outcome.value == pytest.approx(120.0, rel=0.03)
    assert outcome.rate == pytest.approx(rate, abs=0.03)
    assert outcome.interval_95[0] < 120.0 < outcome.interval_95[1]
    assert outcome.rates == (DEFAULT_RATES[0], DEFAULT_RATES[-1]) == (0.09, 0.30)
    assert outcome.gas_rows == 27
    # Feed before the log: 5 / k kg are left of it; the log adds 10 days of 5 and 18 of 9 kg, less what is
    # still to come.
    left = 5.0 / rate
    assert outcome.background_share == pytest.approx(left / (10 * 5.0 + 18 * 9.0 + left - 9.0 / rate), abs=0.06)


def test_a_digester_without_history_has_no_background() -> None:
    masses = np.full(HISTORY + 28, 5.0)
    masses[:HISTORY] = 0.0
    noise = 1.0 + 0.03 * np.random.default_rng(1).standard_normal(28)
    logs = digest(masses, 0.2, 120.0, np.arange(-1, 28) + MORNING + 0.1, noise)
    outcome = modelled(logs)
    assert outcome.background_share < 0.05
    assert outcome.interval_95[0] < 120.0 < outcome.interval_95[1]


@settings(max_examples=10)
@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0), st.integers(-1000, 30_000))
def test_yields_scale_with_gas_and_against_feed_and_not_with_the_calendar(gas: float, feed: float, shift: int) -> None:
    logs = random_logs(np.random.default_rng(4), 0.2)
    scaled = Logs(logs.feed_times + shift, logs.feed_masses * feed, logs.gas_times + shift, logs.gas_amounts * gas)
    assert steady(scaled).value == pytest.approx(steady(logs).value * gas / feed, rel=1e-6)
    assert modelled(scaled).value == pytest.approx(modelled(logs).value * gas / feed, rel=1e-6)


def test_first_gas_row_of_unknown_reach_does_not_move_the_model() -> None:
    logs = even(28)
    swollen = logs.gas_amounts.copy()
    swollen[0] *= 10.0
    outcome = first_order_yield(logs.feed_times, logs.feed_masses, logs.gas_times, swollen)
    assert outcome == modelled(logs)


@pytest.mark.parametrize(
    ("feed_days", "gas_days", "code"),
    [
        pytest.param(slice(0, 0), slice(0, 28), "no_feed", id="no feed"),
        pytest.param(slice(0, 20), slice(0, 28), "feed_log_short", id="short feed log"),
        pytest.param(slice(0, 28), slice(0, 20), "gas_log_short", id="short gas log"),
        pytest.param(slice(0, 28), slice(0, 1), "gas_rows_few", id="one gas row"),
        pytest.param(slice(0, 28), slice(0, 28, 4), "gas_rows_few", id="few gas rows"),
    ],
)
def test_model_is_refused_with_a_reason(feed_days: slice, gas_days: slice, code: str) -> None:
    logs = even(28)
    outcome = first_order_yield(
        logs.feed_times[feed_days],
        logs.feed_masses[feed_days],
        logs.gas_times[gas_days],
        logs.gas_amounts[gas_days],
    )
    assert isinstance(outcome, Reason)
    assert outcome.code == code


def test_gas_that_has_nothing_to_do_with_the_feed_is_refused() -> None:
    logs = even(28)
    erratic = np.abs(np.random.default_rng(2).standard_cauchy(28)) * 100.0
    outcome = first_order_yield(logs.feed_times, logs.feed_masses, logs.gas_times, erratic)
    assert isinstance(outcome, Reason)
    assert outcome.code == "not_constrained"
    assert outcome.values["relative_standard_uncertainty"] > 0.3
    assert first_order_yield(*logs.arguments()[:3], 0.0 * logs.gas_amounts) == Reason("no_gas")


def test_intervals_hold_the_true_yield_about_as_often_as_they_say() -> None:
    # 110 seeded digesters; the bounds are three standard errors of a share of 95 % beside it, and the widths
    # asked for.
    generator = np.random.default_rng(20_260_314)
    steady_holds, steady_widths, model_holds, model_widths = [], [], [], []
    for _ in range(110):
        logs = random_logs(generator, generator.uniform(0.05, 0.40))
        if not codes(logs):
            total = steady(logs)
            half_width = 1.96 * total.relative_standard_uncertainty
            steady_holds.append(abs(logs.true_yield / total.value - 1.0) <= half_width)
            steady_widths.append(half_width)
        outcome = first_order_yield(*logs.arguments())
        if isinstance(outcome, FirstOrderYield):
            low, high = outcome.interval_95
            model_holds.append(low <= logs.true_yield <= high)
            model_widths.append(0.5 * (high - low) / outcome.value)
    assert len(steady_holds) > 30
    assert len(model_holds) > 45
    assert np.mean(steady_holds) > 0.95 - 3.0 * math.sqrt(0.05 * 0.95 / len(steady_holds))
    assert np.mean(model_holds) > 0.95 - 3.0 * math.sqrt(0.05 * 0.95 / len(model_holds))
    assert 0.01 < np.median(steady_widths) <= 0.08
    assert 0.005 < np.median(model_widths) <= 0.15


def test_one_day_of_feed_leaves_the_yield_wide_open() -> None:
    # Ten days between two feeds: whether the one of the window was like those before it cannot be known.
    found = steady_yield([15.3, 25.3], [3.0, 3.0], np.arange(15.5, 25.5), np.full(10, 300.0))
    assert isinstance(found, SteadyYield)
    assert found.relative_standard_uncertainty > 1


def growing() -> tuple[SteadyYield, Floats, Floats]:
    """Return a yield of sixteen days of slowly growing feed and gas with a wave, and both logs by the day."""
    day = np.arange(16)
    feed, gas = 5.0 + 0.1 * day + 0.3 * (-1.0) ** day, 600.0 + 5 * day + 20 * np.sin(day)
    found = steady_yield(day + 1 / 3, feed, day + 1 / 3, gas)
    assert isinstance(found, SteadyYield)
    return found, feed, gas


def test_totals_are_those_of_the_days_both_logs_cover() -> None:
    found, feed, gas = growing()
    # Gas from the morning before the first feed on is left out; the last feed counts for a day that has no gas yet.
    assert (found.first_day, found.last_day) == pytest.approx((1 / 3, 15 + 1 / 3))
    assert found.gas == pytest.approx(gas[1:].sum())
    assert found.feed == pytest.approx(feed[:-1].sum())
    assert found.value == pytest.approx(gas[1:].sum() / feed[:-1].sum())


def test_parts_of_the_uncertainty_are_what_rates_of_food_waste_leave_open() -> None:
    found, feed, gas = growing()
    rates = np.asarray(DEFAULT_RATES)
    line = stats.linregress(np.arange(15), gas[1:] / gas[1:].mean())
    residuals = gas[1:] / gas[1:].mean() - line.intercept - line.slope * np.arange(15)
    scatter = math.sqrt(float(residuals @ residuals) / 13)
    assert found.components["scatter"] == pytest.approx(scatter / math.sqrt(15))
    drift = max(abs(line.slope), line.stderr) * 15
    assert found.components["drift"] == pytest.approx(drift * math.sqrt(np.mean(1 / (rates * 15) ** 2)))
    # Feeds half a day, a day and a half, ... before the window, each with the spread of those in it.
    before = [sum((1 - math.exp(-k * 15)) ** 2 * math.exp(-2 * k * (j + 0.5)) for j in range(400)) for k in rates]
    spread = float(np.std(feed[:-1], ddof=1)) / feed[:-1].sum()
    assert found.components["earlier feed"] == pytest.approx(spread * math.sqrt(np.mean(before)), rel=1e-6)
    # Each day's feed, spread over the day, has by the end of the window turned into gas as far as its age lets it.
    missing = []
    for k in rates:
        age = 15 - (np.arange(15_000) + 0.5) / 1000
        turned = float(np.repeat(feed[:-1], 1000) @ (1 - np.exp(-k * age))) / 1000
        from_before = feed[:-1].mean() * (1 - math.exp(-k * 15)) / k
        missing.append(feed[:-1].sum() / (turned + from_before) - 1)
    assert found.components["feed in the window"] == pytest.approx(math.sqrt(np.mean(np.square(missing))), rel=1e-4)


@pytest.mark.parametrize(("variation", "is_even"), [(0.248, True), (0.252, False)])
def test_feed_may_vary_by_a_quarter(variation: float, is_even: bool) -> None:
    # By turns more and less in twenty days: their standard deviation is sqrt(20 / 19) times what each is off.
    off = variation / math.sqrt(20 / 19)
    masses = 5.0 * (1 + off * (-1.0) ** np.arange(HISTORY + 21))
    assert np.std(masses[HISTORY : HISTORY + 20], ddof=1) / 5 == pytest.approx(variation)
    assert ("feed_uneven" in codes(even(21, masses=masses))) == (not is_even)


def test_a_quarter_of_the_days_without_feed_is_no_daily_feeding() -> None:
    masses = np.full(HISTORY + 21, 5.0)
    masses[2::4] = 0.0
    assert np.mean(masses[HISTORY : HISTORY + 20] == 0) == 0.25
    assert codes(even(21, masses=masses)) == []  # any seven days hold five feeds or six
    masses[HISTORY + 6] = 5.0
    assert codes(even(21, masses=masses)) == ["feed_uneven"]


@pytest.mark.parametrize(("last", "is_long"), [(13.0, True), (12.9, True), (12.7, False)])
def test_fourteen_days_less_a_day_and_a_quarter_are_long_enough(last: float, is_long: bool) -> None:
    # The window goes from the first feed, at 0, to the last reading.
    feed_times, gas_times = np.arange(20.0), np.array([*np.arange(0.0, 12.0), last])
    _, reasons = feeding_is_steady(feed_times, np.full(20, 5.0), gas_times, np.full(13, 600.0))
    assert ("window_short" in [reason.code for reason in reasons]) == (not is_long)


@pytest.mark.parametrize(("drift", "noise", "is_drift"), [(0.14, 0.0, False), (0.16, 0.0, True), (0.2, 0.3, False)])
def test_gas_drifts_by_more_than_it_may_and_more_than_chance(drift: float, noise: float, is_drift: bool) -> None:
    day = np.arange(21)
    gas = 600 * (1 + drift * (day - 10.5) / 20 + noise * (-1.0) ** (day // 2))
    _, reasons = feeding_is_steady(day + 1 / 3, np.full(21, 5.0), day + 1 / 3, gas)
    assert ("gas_drifts" in [reason.code for reason in reasons]) == is_drift

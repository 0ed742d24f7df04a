"""Logs brought in order, and how long they are taken to be."""

from __future__ import annotations

import numpy as np
import pytest

from reportgen.calc.digester_log import DEFAULT_RATES, Reason, ordered_log, typical_step
from reportgen.calc.gas_yield_model import FirstOrderYield, first_order_yield


def test_entries_are_sorted_and_those_of_one_moment_added_up() -> None:
    times, amounts = ordered_log([2.0, 1.0, 2.0, 0.5], [3.0, 1.0, 4.0, 0.0])
    assert times.tolist() == [0.5, 1.0, 2.0]
    assert amounts.tolist() == [0.0, 1.0, 7.0]


@pytest.mark.parametrize(
    ("times", "amounts"),
    [([[1.0]], [[1.0]]), ([1.0, 2.0], [1.0]), ([np.inf], [1.0]), ([1.0], [np.nan]), ([1.0], [-0.1])],
)
def test_what_is_no_log_is_refused(times: list[float], amounts: list[float]) -> None:
    with pytest.raises(ValueError, match="times"):
        ordered_log(times, amounts)


def test_the_usual_step_is_the_median_one_and_a_day_for_a_lone_entry() -> None:
    assert typical_step([0.0, 1.0, 2.0, 5.0]) == 1.0
    assert typical_step([3.0, 0.0, 3.0]) == 3.0
    assert typical_step([4.0]) == typical_step([]) == 1.0


def test_rates_tried_are_those_of_food_waste_in_steps_of_a_hundredth() -> None:
    assert (DEFAULT_RATES[0], DEFAULT_RATES[-1], len(DEFAULT_RATES)) == (0.09, 0.30, 22)
    assert np.diff(DEFAULT_RATES) == pytest.approx(np.full(21, 0.01))


@pytest.mark.parametrize(("last", "is_enough"), [(19.51, True), (19.49, False)])
def test_a_log_may_fall_half_a_day_short_of_three_weeks(last: float, is_enough: bool) -> None:
    # The last reading's day comes on top: 19.51 days from the first to the last make 20.51.
    gas_times = np.array([0.0, *(last - np.arange(18.0, -1.0, -1.0))])
    feed_times = np.arange(-1.0, 21.0)
    masses = np.where(feed_times < 10, 5.0, 9.0)
    gas = np.where(gas_times < 11, 500.0, 800.0)
    outcome = first_order_yield(feed_times, masses, gas_times, gas)
    if is_enough:
        assert not (isinstance(outcome, Reason) and outcome.code == "gas_log_short")
        assert isinstance(outcome, FirstOrderYield | Reason)
    else:
        assert outcome == Reason("gas_log_short", {"days": pytest.approx(20.49), "needed_days": 21.0})

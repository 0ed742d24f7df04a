"""Replayed reading by reading, the forecasts hold what later happened as often as they say, and are of use.

Few trials are replayed here, so chance is allowed for; `python tests/status/replay.py 120` shows the shares themselves.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1] / "simulation"))

from replay import CROSSINGS, Case, everything, one

#: Trials replayed here; `python tests/status/replay.py 100` does more of them.
SEEDS = range(500, 518)
#: An interval of 80 % holds what happened in so large a share of cases; with so few cases chance widens the ends.
HELD = (0.70, 0.95)
LEAST_GIVEN, WIDEST = 0.60, 1.0


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    """Return all forecasts of what was still ahead."""
    return everything(SEEDS, workers=1)


def of(cases: list[Case], *keys: str, since: float = 0.25) -> list[Case]:
    return [case for case in cases if case.key in keys and case.share >= since]


@pytest.mark.parametrize(
    ("keys", "since"), [(CROSSINGS, 0.25), (("ice_making_time",), 0.5), (("gas_lasts_until",), 0.25)]
)
def test_intervals_hold_what_later_happened(cases: list[Case], keys: tuple[str, ...], since: float) -> None:
    given = [case for case in of(cases, *keys, since=since) if case.value is not None]
    held = sum(case.held for case in given)
    chance = 2 * (len(given) * 0.8 * 0.2) ** 0.5  # two standard deviations of a count of so few
    assert len(given) >= 5
    assert HELD[0] * len(given) - chance <= held <= HELD[1] * len(given) + chance


def test_intervals_of_ice_judged_by_eye_hold_what_later_happened(cases: list[Case]) -> None:
    given = [case for case in of(cases, "ice_making_time", since=0.5) if case.value is not None and case.by_eye]
    held = sum(case.held for case in given)
    assert len(given) >= 5
    assert held >= HELD[0] * len(given) - 2 * (len(given) * 0.8 * 0.2) ** 0.5


@pytest.mark.parametrize(("keys", "since"), [(CROSSINGS, 0.25), (("ice_making_time",), 0.5)])
def test_most_of_what_lies_ahead_gets_a_forecast(cases: list[Case], keys: tuple[str, ...], since: float) -> None:
    ahead = of(cases, *keys, since=since)
    chance = 2 * (len(ahead) * LEAST_GIVEN * (1 - LEAST_GIVEN)) ** 0.5
    assert len(ahead) >= 10
    assert sum(case.value is not None for case in ahead) >= LEAST_GIVEN * len(ahead) - chance


@pytest.mark.parametrize(("keys", "since"), [(CROSSINGS, 0.25), (("gas_lasts_until",), 0.25)])
def test_intervals_are_no_wider_than_the_time_still_to_go(
    cases: list[Case], keys: tuple[str, ...], since: float
) -> None:
    widths = [case.width_over_rest for case in of(cases, *keys, since=since) if case.value is not None]
    assert np.median(widths) <= WIDEST


def test_intervals_narrow_as_readings_arrive(cases: list[Case]) -> None:
    by_share = {
        share: {(c.seed, c.key): c.high - c.low for c in cases if c.share == share and c.value is not None}
        for share in (0.25, 0.5)
    }
    both = [key for key in by_share[0.25] if key in by_share[0.5] and key[1] in CROSSINGS]
    assert len(both) >= 10
    assert np.mean([by_share[0.5][key] < by_share[0.25][key] for key in both]) > 0.75


def test_past_runs_tell_of_ice_early_on_and_hold() -> None:
    told = [case for seed in range(500, 510) for case in one(seed, (0.25,), with_past=True)]
    ice = [case for case in told if case.key == "ice_making_time"]
    held = sum(case.held for case in ice if case.value is not None)
    assert len(ice) >= 5
    assert sum(case.value is not None for case in ice) >= 0.8 * len(ice)
    assert held >= 0.8 * len(ice) - 2 * (len(ice) * 0.8 * 0.2) ** 0.5
    assert np.median([case.width_over_rest for case in ice if case.value is not None]) <= WIDEST

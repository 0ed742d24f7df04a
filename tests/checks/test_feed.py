"""Feeds far above the usual and dates after the run: asked about where they look like a slip, and only there."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
from conftest import SAMPLES, computed_sample

from reportgen.checks import checked
from reportgen.read.folder import read_trial
from reportgen.trial import Finding, Trial

RUN = '[burner]\nlit = "2026-03-14 09:00"\nout = "2026-03-14 12:00"\n[gas]\nkind = "holder"\n'
GAS = "time,gas_volume [L]\n" + "".join(
    f"2026-03-14 {9 + n // 4:02}:{n % 4 * 15:02},{200 - 10 * n}\n" for n in range(13)
)
FIRST = dt.date(2026, 2, 20)


def trial_of(folder: Path, feeds: list[tuple[dt.date, object]], material: str = "rice", **logs: str) -> Trial:
    rows = "".join(f"{day},{material},{mass}\n" for day, mass in feeds)
    (folder / "trial.toml").write_text(f'title = "t"\ntime_zone = "UTC"\n{RUN}', encoding="utf-8")
    named = {"gas": GAS, "feed": f"date,material,fresh_mass [kg]\n{rows}"} | logs
    for name, text in named.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return read_trial(folder)


def daily(count: int, masses: dict[int, float] | None = None) -> list[tuple[dt.date, object]]:
    return [(FIRST + dt.timedelta(days=n), (masses or {}).get(n, 4.0 + n % 3 / 10)) for n in range(count)]


def asked(trial: Trial, code: str) -> list[Finding]:
    return [finding for finding in trial.findings if finding.code == code]


# Feeds far above the usual


def test_a_feed_of_ten_times_the_usual_is_asked_about_and_used(tmp_path: Path) -> None:
    trial = trial_of(tmp_path, daily(15, {8: 40.0}))
    (found,) = asked(trial, "feed-far-above-usual")
    assert (found.level, found.file, found.row) == ("caution", "feed.csv", 10)
    assert str(found.message) == (
        "40 kg were fed where the other feeds of this material are about 4.1 kg: is the decimal mark or the unit wrong?"
    )
    assert "Waste per kg of ice" in str(found.effect)
    assert max(feed.fresh_mass for feed in trial.feeds) == 40.0


def test_several_such_feeds_are_one_question_with_their_rows(tmp_path: Path) -> None:
    (found,) = asked(trial_of(tmp_path, daily(20, {3: 41.0, 11: 4100.0})), "feed-far-above-usual")
    assert str(found.message).startswith("2 feeds (rows 5, 13) such as 41 kg")


@pytest.mark.parametrize(
    "masses",
    [
        {},
        {8: 12.0},  # three times as much, for a feast
        {3: 25.0, 8: 40.0, 11: 30.0, 14: 28.0},  # large feeds are a habit
        {5: 14.0, 8: 40.0},  # feeds of all sizes
        {8: 0.4},
    ],
)
def test_feeds_that_may_well_be_are_not_asked_about(masses: dict[int, float], tmp_path: Path) -> None:
    assert not asked(trial_of(tmp_path, daily(15, masses)), "feed-far-above-usual")


def test_too_few_feeds_show_nothing_usual(tmp_path: Path) -> None:
    assert not asked(trial_of(tmp_path, daily(5, {4: 40.0})), "feed-far-above-usual")
    assert asked(trial_of(tmp_path, daily(6, {4: 40.0})), "feed-far-above-usual")


def test_another_material_is_another_habit(tmp_path: Path) -> None:
    text = "date,material,fresh_mass [kg]\n" + "".join(f"{day},rice,{mass}\n" for day, mass in daily(12))
    trial = trial_of(tmp_path, [], feed=text + "2026-03-13,fish water,40\n")
    assert len(trial.feeds) == 13
    assert not asked(trial, "feed-far-above-usual")


# Dates after the run


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        (dt.date(2026, 4, 14), "2026-03-14"),
        (dt.date(2027, 3, 14), "2026-03-14"),
        (dt.date(2026, 3, 24), "2026-03-14"),
        (dt.date(2026, 5, 15), "2026-03-15"),
    ],
)
def test_a_last_feed_behind_a_gap_that_another_day_closes_is_asked_about(
    written: dt.date, meant: str, tmp_path: Path
) -> None:
    trial = trial_of(tmp_path, [*daily(22), (written, 4.0)])
    (found,) = asked(trial, "date-after-run")
    assert (found.level, found.file, found.row) == ("caution", "feed.csv", 24)
    assert str(found.message).endswith(f"days after the row before: is {meant} meant?")
    assert len(trial.feeds) == 23


def test_a_feed_dated_after_the_run_between_earlier_ones_is_asked_about(tmp_path: Path) -> None:
    feeds = daily(30)
    feeds[20] = (dt.date(2026, 12, 3), 4.0)
    (found,) = asked(trial_of(tmp_path, feeds), "date-after-run")
    assert found.row == 22
    assert str(found.message) == (
        "this row is dated 2026-12-03, after the end of the run, and stands between rows of 2026-03-11 and 2026-03-13: "
        "is the date right?"
    )
    (found,) = asked(trial_of(tmp_path, feeds[::-1]), "date-after-run")
    assert found.row == 11


def test_a_gas_reading_dated_after_the_run_between_earlier_ones_is_asked_about(tmp_path: Path) -> None:
    gas = GAS.replace("2026-03-14 10:30", "2026-03-15 10:30").replace("2026-03-14 11:15", "2026-04-14 11:15")
    (found,) = asked(trial_of(tmp_path, [], gas=gas), "date-after-run")
    assert (found.file, found.row) == ("gas.csv", 8)
    assert str(found.message).startswith("2 rows (8, 11) are dated after the end of the run")
    assert "Gas used" in str(found.effect)


@pytest.mark.parametrize(
    "later",
    [
        [],
        [15, 16, 17, 18],  # a log that goes on
        [16, 17, 18],  # with a day left out
        [29],  # a feed two weeks later
        [30, 31, 32, 33],  # the school was closed
        [60, 90],
    ],
)
def test_feeds_after_the_run_are_no_slip_by_themselves(later: list[int], tmp_path: Path) -> None:
    more = [(dt.date(2026, 3, 1) + dt.timedelta(days=day - 1), 4.0) for day in later]
    assert not asked(trial_of(tmp_path, [*daily(23), *more]), "date-after-run")


def test_weekly_feeds_and_unsorted_ones_are_no_slip(tmp_path: Path) -> None:
    weekly = [(FIRST + dt.timedelta(days=7 * n), 20.0) for n in range(12)]
    assert not asked(trial_of(tmp_path, weekly), "date-after-run")
    order = np.random.default_rng(3).permutation(6).tolist()
    days = daily(30)
    turned = [days[6 * (n // 6) + order[n % 6]] for n in range(30)]
    assert not asked(trial_of(tmp_path, turned), "date-after-run")


def test_an_idle_holder_read_on_after_the_run_is_no_slip(tmp_path: Path) -> None:
    later = "".join(f"2026-03-{15 + day} 09:00,{80 + day}\n" for day in range(3))
    assert not asked(trial_of(tmp_path, [], gas=GAS + later), "date-after-run")


def test_without_an_end_nothing_is_after_it(tmp_path: Path) -> None:
    trial = trial_of(tmp_path, [*daily(22), (dt.date(2026, 4, 14), 4.0)])
    (tmp_path / "trial.toml").write_text('title = "t"\ntime_zone = "UTC"\n', encoding="utf-8")
    assert asked(trial, "date-after-run")
    assert not asked(read_trial(tmp_path), "date-after-run")


def test_a_trial_that_is_judged_again_is_asked_once(tmp_path: Path) -> None:
    trial = trial_of(tmp_path, [*daily(22, {8: 40.0}), (dt.date(2026, 4, 14), 4.0)])
    again = checked(trial)
    for code in ("feed-far-above-usual", "date-after-run"):
        assert len(asked(again, code)) == 1
    assert all(math.isfinite(feed.at) for feed in again.feeds)


@pytest.mark.parametrize("name", sorted(path.parent.name for path in SAMPLES.glob("*/trial.toml")))
def test_no_sample_is_asked_about(name: str) -> None:
    trial, _ = computed_sample(name)
    assert not asked(trial, "feed-far-above-usual")
    assert not asked(trial, "date-after-run")

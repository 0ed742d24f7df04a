"""Elapsed times, epochs and the day numbers of spreadsheets, as logs hold them."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from reportgen.errors import LogFileError
from reportgen.read.counts import plain_numbers, wall_counts
from reportgen.trial import Trial

from .written import trial_of

RUN = 'date = 2026-03-14\n[burner]\nlit = "09:05"\nout = "12:40"\n'


def trial(header: str, *times: str, sheet: str = RUN) -> Trial:
    rows = "".join(f"{cell},{20 - n}\n" for n, cell in enumerate(times))
    return trial_of(sheet, log=f"{header},cabinet_temperature [degC]\n{rows}")


def minutes(read: Trial) -> list[float]:
    assert read.lit_at is not None
    return ((read.readings["cabinet_temperature"].at - read.lit_at) / 60).tolist()


def said(read: Trial) -> dict[str, str]:
    return {finding.code: str(finding.message) for finding in read.findings}


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("elapsed", ("0:00:00", "0:15:00", "1:02:03")),
        ("elapsed", ("00:00:00", "00:15:00", "0 days 01:02:03")),
        ("elapsed [h]", ("0:00", "0:15", "1:02:03")),
        ("elapsed", ("00:00", "15:00", "1:02:03")),
        ("elapsed [min]", ("0:00", "15:00", "62:03")),
        ("elapsed [min]", ("0", "15", "62.05")),
        ("elapsed [s]", ("0", "900", "3723")),
        ("elapsed [ms]", ("0", "900000", "3723000")),
        ("elapsed [h]", ("0", "0.25", "1.034166666666666666")),
    ],
)
def test_elapsed_time_is_counted_or_shown_by_a_watch(header: str, cells: tuple[str, ...]) -> None:
    assert minutes(trial(header, *cells)) == pytest.approx([0.0, 15.0, 62.05])


def test_minutes_and_seconds_of_a_watch_are_said() -> None:
    assert (
        said(trial("elapsed [min]", "0:00"))["elapsed-as-clock"]
        == "elapsed times such as 0:00 are read as minutes and seconds"
    )
    assert (
        said(trial("elapsed [h]", "0:15"))["elapsed-as-clock"]
        == "elapsed times such as 0:15 are read as hours and minutes"
    )
    with pytest.raises(LogFileError) as caught:
        trial("elapsed", "0:15", "0:30")
    assert (caught.value.code, caught.value.row) == ("elapsed-open", 2)


def test_what_is_no_elapsed_time_is_said() -> None:
    read = trial("elapsed", "0:15:00", "soon", "0:99:00", "0:30:00")
    assert minutes(read) == [15.0, 30.0]
    assert said(read)["time-not-read"].startswith('2 cells such as "soon"')


def test_elapsed_times_with_days_may_come_again_and_be_left_out() -> None:
    day = 24 * 60.0
    read = trial(
        "elapsed", "0 days 23:59:00", "1 days 00:15:00", "1 days 00:15:00", "", "later", "later", "1 days 01:00"
    )
    assert minutes(read) == [day - 1, day + 15, day + 15, day + 60]
    assert said(read)["time-not-read"].startswith('2 cells such as "later"')


def test_elapsed_time_begins_anew_at_midnight() -> None:
    read = trial("elapsed", "23:59:40", "23:59:50", "0:00:00", "0:00:10")
    assert np.diff(minutes(read)) == pytest.approx([1 / 6] * 3)
    assert said(read)["elapsed-wraps"] == "the elapsed time begins anew here; a day is added from here on"
    assert "elapsed-wraps" not in said(trial("elapsed [s]", "90000", "0"))


@pytest.mark.parametrize(("unit", "zeros"), [("s", ""), ("ms", "000"), ("us", "000000")])
def test_the_size_of_an_epoch_tells_its_unit(unit: str, zeros: str) -> None:
    read = trial("epoch", f"1773479100{zeros}", f"1773479160{zeros}")
    assert minutes(read) == [0.0, 1.0]
    assert said(read)["unit-taken"] == f"no unit in the header; taken as epoch [{unit}]"


def test_a_column_of_times_may_hold_epochs() -> None:
    read = trial("time", "1773479100", "1773479160")
    assert minutes(read) == [0.0, 1.0]
    assert "epoch-as-time" in said(read)


def test_a_column_of_times_may_hold_day_numbers_of_a_spreadsheet() -> None:
    day = (dt.date(2026, 3, 14) - dt.date(1899, 12, 30)).days
    for mark in ".,":
        cells = [f"{day + (545 + n) / 1440:.9f}".replace(".", mark) for n in range(3)]
        read = trial("time", *(f'"{cell}"' for cell in cells))
        assert minutes(read) == pytest.approx([0.0, 1.0, 2.0], abs=1e-4)
        assert "days since 1899-12-30" in said(read)["day-numbers"]


@pytest.mark.parametrize("cells", [["0905", "0915"], ["45730", "45731"], ["45730.5", "9:05"], ["", ""], ["nan", "1e9"]])
def test_other_columns_of_times_are_no_counts(cells: list[str]) -> None:
    assert wall_counts(np.array(cells, dtype=object)) is None


def test_plain_numbers_may_come_as_numbers() -> None:
    column = np.array([1.0, np.nan])
    assert plain_numbers(column) is not None
    assert plain_numbers(np.array(["1", "x"], dtype=object)) is None

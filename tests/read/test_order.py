"""Which number of a date is the day, and of what year a date is that carries none."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import LogFileError
from reportgen.read.clock import Moments, parse_moments

DAY = dt.date(2026, 3, 14)


def moments(*cells: str, date: dt.date | None = None, order: str | None = None, year: int | None = None) -> Moments:
    return parse_moments(list(cells), np.arange(2, len(cells) + 2), "log.csv", dt.UTC, date, order, year)


def days(read: Moments) -> list[str]:
    return [dt.datetime.fromtimestamp(float(at), dt.UTC).date().isoformat() for at in read.at]


def said(read: Moments) -> list[tuple[str, int | None]]:
    return [(finding.code, finding.row) for finding in read.findings]


def test_a_run_over_midnight_tells_the_order() -> None:
    read = moments("21.04.08 23:15", "21.04.08 23:30", "21.04.08 23:45", "21.04.08 23:55", "21.04.09 00:10")
    assert days(read)[0] == "2021-04-08"
    assert said(read) == [("date-order", 2)]
    assert str(read.findings[0].message) == (
        "the date 21.04.08 is read as year first, like all dates of the file, because only so do they follow each "
        'other evenly; if that is wrong, add date_order under [files."log.csv"]'
    )


@pytest.mark.parametrize("turned", [False, True])
def test_three_dates_in_a_row_tell_the_order(turned: bool) -> None:
    cells = ["11/05/19 14:00", "11/06/19 15:30", "11/07/19 15:00"]
    read = moments(*(cells[::-1] if turned else cells))
    assert sorted(days(read)) == ["2019-11-05", "2019-11-06", "2019-11-07"]
    assert said(read)[0] == ("date-order", 2)


@pytest.mark.parametrize(
    "cells",
    [
        ("21.04.08 23:15", "21.04.08 23:30"),
        ("03/04/2026 09:05", "04/04/2026 09:05"),
        ("01/04/2026 09:00", "01/04/2026 12:00", "03/04/2026 09:00", "03/04/2026 12:00"),
        ("01/04/2026 09:00", "03/04/2026 09:00", "02/04/2026 12:00"),
        ("26-04-03 09:05",),
    ],
)
def test_too_little_to_go_by_is_refused(cells: tuple[str, ...]) -> None:
    with pytest.raises(LogFileError) as caught:
        moments(*cells)
    assert (caught.value.code, caught.value.file, caught.value.row) == ("date-order-open", "log.csv", 2)


def test_the_date_of_the_trial_tells_the_order_of_short_years() -> None:
    for cell in ("14.03.26 09:05", "26.03.14 09:05", "26-03-14 09:05", "14-03-26 09:05", "14/03/26 09:05"):
        read = moments(cell, date=DAY)
        assert days(read) == ["2026-03-14"]
        # 14/03/26 is day first wherever it is written: nothing had to be chosen.
        assert bool(said(read)) == ("/" not in cell)
    assert days(moments("26/03/14 09:05", date=DAY)) == ["2026-03-14"]


def test_a_stated_order_is_obeyed() -> None:
    assert days(moments("21.04.08 09:00", order="day first")) == ["2008-04-21"]
    assert days(moments("21.04.08 09:00", order="year first")) == ["2021-04-08"]
    assert days(moments("03/04 09:00", date=DAY, order="month first")) == ["2026-03-04"]


def test_dates_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(LogFileError, match=r"row 2: the date 31\.04\.08 can only be year first, but .* only day first"):
        moments("31.04.08 09:00", "08.04.31 09:00", "08.04.00 10:00")


@pytest.mark.parametrize(
    ("date", "year", "expected"),
    [
        (dt.date(2025, 12, 30), None, ["2025-12-31", "2026-01-01"]),
        (dt.date(2026, 1, 2), None, ["2025-12-31", "2026-01-01"]),
        (None, 2024, ["2024-12-31", "2025-01-01"]),
        (dt.date(2026, 1, 2), 2020, ["2020-12-31", "2021-01-01"]),
    ],
)
def test_a_year_left_out_is_that_of_the_trial_and_turns(
    date: dt.date | None, year: int | None, expected: list[str]
) -> None:
    for cells in (("31/12 23:50", "01/01 00:10"), ("31.12. 23:50", "01.01. 00:10"), ("Dec 31 23:50", "Jan 1 00:10")):
        read = moments(*cells, date=date, year=year)
        assert days(read) == expected
        assert said(read) == [("year-taken", 2)]
        assert str(read.findings[0].message) == (
            f"the dates carry no year; read as of {expected[0][:4]}, and as of {expected[1][:4]} from row 3 on"
        )


def test_a_year_written_once_counts_for_the_others() -> None:
    assert days(moments("14 Mar 2026 09:05", "Mar 14 09:15")) == ["2026-03-14", "2026-03-14"]


def test_a_year_that_nothing_tells_is_asked_for() -> None:
    with pytest.raises(LogFileError) as caught:
        moments("", "Mar 14 09:05")
    assert (caught.value.code, caught.value.row) == ("year-missing", 3)
    assert "year = …  (or date = …" in str(caught.value)


def test_29_february_needs_a_leap_year() -> None:
    assert days(moments("29 Feb 09:05", date=dt.date(2024, 3, 1))) == ["2024-02-29"]
    read = moments("29 Feb 09:05", "1 Mar 09:05", date=dt.date(2025, 3, 1))
    assert np.isnan(read.at).tolist() == [True, False]
    assert ("time-not-read", 2) in said(read)


@given(
    st.dates(dt.date(2001, 1, 1), dt.date(2098, 1, 1)), st.sampled_from(["%d.%m.%y", "%y.%m.%d"]), st.integers(3, 40)
)
def test_days_in_a_row_are_never_read_as_others(start: dt.date, form: str, count: int) -> None:
    dates = [start + dt.timedelta(days=n) for n in range(count)]
    try:
        read = moments(*(f"{day.strftime(form)} 09:00" for day in dates))
    except LogFileError as error:
        assert error.code == "date-order-open"
    else:
        assert days(read) == [day.isoformat() for day in dates]

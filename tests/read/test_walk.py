"""Clock times through noon and midnight, newest first, and clocks that cannot be followed."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import LogFileError
from reportgen.read.clock import Moments, parse_moments

DAY = dt.date(2026, 3, 14)


def moments(*cells: str, starts: str | None = None) -> Moments:
    rows = np.arange(2, len(cells) + 2)
    return parse_moments(list(cells), rows, "log.csv", dt.UTC, DAY, None, clock_starts=starts)


def clocks(read: Moments) -> list[str]:
    return [dt.datetime.fromtimestamp(float(at), dt.UTC).strftime("%d %H:%M") for at in read.at]


def codes(read: Moments) -> list[str]:
    return [finding.code for finding in read.findings]


@pytest.mark.parametrize(
    ("starts", "expected"),
    [
        (None, ["14 09:00", "14 11:40", "14 12:20", "14 13:00", "14 23:00", "15 00:10", "15 01:00"]),
        ("am", ["14 09:00", "14 11:40", "14 12:20", "14 13:00", "14 23:00", "15 00:10", "15 01:00"]),
        ("pm", ["14 21:00", "14 23:40", "15 00:20", "15 01:00", "15 11:00", "15 12:10", "15 13:00"]),
    ],
)
def test_a_12_hour_clock_starts_in_the_half_that_is_stated(starts: str | None, expected: list[str]) -> None:
    read = moments("9:00", "11:40", "12:20", "1:00", "11:00", "12:10", "1:00", starts=starts)
    assert clocks(read) == expected
    assert ("twelve-hour-clock" in codes(read)) == (starts is None)


def test_the_half_may_be_stated_where_no_noon_is_passed() -> None:
    assert clocks(moments("1:00", "2:00", starts="pm")) == ["14 13:00", "14 14:00"]
    assert clocks(moments("12:10", "12:50", starts="am")) == ["14 00:10", "14 00:50"]


@pytest.mark.parametrize("cells", [("9:00", "13:00"), ("9:00 am", "10:00"), ("0:10", "12:10")])
def test_a_full_clock_does_not_take_a_half(cells: tuple[str, ...]) -> None:
    read = moments(*cells, starts="pm")
    assert codes(read) == ["clock-starts-not-used"]
    assert clocks(read)[0].endswith(("09:00", "00:10"))


def test_a_row_out_of_order_at_noon_goes_back_over_it() -> None:
    read = moments("11:00", "12:05", "11:58", "12:10", "1:00", "2:00")
    assert clocks(read)[1:4] == ["14 12:05", "14 11:58", "14 12:10"]
    assert clocks(read)[-1] == "14 14:00"


def test_a_12_hour_clock_may_carry_dates() -> None:
    read = moments("14/03/2026 11:40", "14/03/2026 12:20", "14/03/2026 1:00", "14/03/2026 11:50", "15/03/2026 12:10")
    assert clocks(read) == ["14 11:40", "14 12:20", "14 13:00", "14 23:50", "15 00:10"]
    assert codes(read) == ["twelve-hour-clock"]


def test_dates_out_of_order_are_no_12_hour_clock() -> None:
    assert clocks(moments("14/03/2026 10:00", "14/03/2026 3:00")) == ["14 10:00", "14 03:00"]


def test_a_12_hour_clock_that_passes_noon_twice_on_a_date_is_refused() -> None:
    cells = ("11:40", "1:10", "11:30", "1:20")
    with pytest.raises(LogFileError) as caught:
        moments(*(f"14/03/2026 {cell}" for cell in cells))
    assert (caught.value.code, caught.value.row) == ("half-day-open", 5)


@pytest.mark.parametrize(
    ("cells", "row"),
    [
        (("22:00", "23:00", "1:00", "5:00", "0:30", "4:00"), 6),
        (("10:00", "15:00", "0:00", "3:00", "0:00"), 6),
        (("9:00", "16:00", "9:00", "16:00", "9:00", "16:00"), 6),
    ],
)
def test_two_falls_within_half_a_day_are_refused(cells: tuple[str, ...], row: int) -> None:
    with pytest.raises(LogFileError) as caught:
        moments(*cells)
    assert (caught.value.code, caught.value.row) == ("clock-jumps", row)
    # With the dates written nothing is open.
    assert len(moments(*(f"2026-03-{14 + n} {cell}" for n, cell in enumerate(cells))).findings) == 0


def test_small_falls_are_rows_out_of_order() -> None:
    read = moments("9:05", "14:00", "9:15", "13:00", "10:00")
    assert [clock[:2] for clock in clocks(read)] == ["14"] * 5


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        (("0:30", "0:10", "23:50", "23:30"), ["15 00:30", "15 00:10", "14 23:50", "14 23:30"]),
        (("14:00", "13:30", "13:00"), ["14 14:00", "14 13:30", "14 13:00"]),
        (("1:10", "12:50", "11:40"), ["14 13:10", "14 12:50", "14 11:40"]),
    ],
)
def test_a_column_with_its_newest_row_first_is_read_from_its_end(cells: tuple[str, ...], expected: list[str]) -> None:
    assert clocks(moments(*cells)) == expected


def test_many_midnights_are_counted() -> None:
    read = moments(*["8:00", "22:00"] * 40)
    assert codes(read).count("midnight-passed") == 32
    assert str(read.findings[-1].message) == "the clock passes midnight 8 more times, the last time here"
    assert clocks(read)[-1] == "22 22:00"  # 39 days on


@given(st.integers(0, 86399), st.lists(st.integers(1, 8 * 3600), min_size=2, max_size=60), st.booleans())
def test_clock_times_come_back_as_they_were_taken(start: int, steps: list[int], turned: bool) -> None:
    # From one in the afternoon on no 12-hour clock is possible.
    at = 13 * 3600 + start % 3600 + np.concatenate([[0], np.cumsum(steps)])
    cells = [f"{s // 3600 % 24:02d}:{s // 60 % 60:02d}:{s % 60:02d}" for s in at.tolist()]
    try:
        read = moments(*(cells[::-1] if turned else cells))
    except LogFileError as error:
        assert error.code == "clock-jumps"
        return
    found = read.at[::-1] if turned else read.at
    if not turned or (np.asarray(steps) <= 6 * 3600).all():
        assert np.diff(found).tolist() == steps

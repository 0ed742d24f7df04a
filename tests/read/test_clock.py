"""Clock times as people write them, and what day and zone they are of."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import LogFileError
from reportgen.read.clock import NO_DATE, Moments, parse_moments, parse_stated, to_utc
from reportgen.read.stamps import YEARS, Style, parse_clock, parse_stamp

UTC = ZoneInfo("UTC")
BERLIN = ZoneInfo("Europe/Berlin")
MAURITIUS = ZoneInfo("Indian/Mauritius")
DAY = dt.date(2026, 3, 14)
HOUR = 3600.0


def moments(
    cells: Sequence[str],
    zone: dt.tzinfo = UTC,
    date: dt.date | None = DAY,
    order: str | None = None,
) -> Moments:
    return parse_moments(list(cells), np.arange(2, len(cells) + 2), "log.csv", zone, date, order)


def local(read: Moments, zone: dt.tzinfo = UTC) -> list[str]:
    return [
        "" if np.isnan(at) else dt.datetime.fromtimestamp(float(at), zone).strftime("%Y-%m-%d %H:%M") for at in read.at
    ]


def codes(read: Moments) -> list[tuple[str, int | None]]:
    return [(finding.code, finding.row) for finding in read.findings]


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("09:05", 9 + 5 / 60),
        ("9:05", 9 + 5 / 60),
        ("9:05:30", 9 + 5.5 / 60),
        ("09:05:30.5", 9 + 5 / 60 + 30.5 / 3600),
        ("0905", 9 + 5 / 60),
        ("905", 9 + 5 / 60),
        ("9h05", 9 + 5 / 60),
        ("09H05", 9 + 5 / 60),
        ("9h", 9.0),
        ("21:05", 21 + 5 / 60),
        ("9:05 pm", 21 + 5 / 60),
        ("9:05PM", 21 + 5 / 60),
        ("9:05 p.m.", 21 + 5 / 60),
        ("9 am", 9.0),
        ("12:00 am", 0.0),
        ("12:30 pm", 12.5),
        ("24:00", 24.0),
        ("00:00", 0.0),
        ("0000", 0.0),
        ("905 pm", 21 + 5 / 60),
    ],
)
def test_a_clock_time_is_written_in_many_ways(text: str, hours: float) -> None:
    assert parse_clock(text) == pytest.approx(hours * HOUR)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "9",
        "noon",
        "25:00",
        "24:01",
        "9:60",
        "13:00 pm",
        "0:30 am",
        "9.05",
        "9:5",
        "09:05:61",
        "-9:05",
        "9h5",
    ],
)
def test_what_is_no_clock_time_is_none(text: str) -> None:
    assert parse_clock(text) is None


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-14 09:05",
        "2026-03-14T09:05",
        "2026-03-14T09:05:00",
        "2026-03-14  9:05",
        "2026/03/14 09:05",
        "2026.03.14 9h05",
        "2026-3-14 09:05",
        "2026-03-14 0905",
        "2026-03-14 9:05 am",
        "2026-03-14T05:05Z",
        "2026-03-14T05:05:00+00:00",
        "2026-03-14T09:05+0400",
        "2026-03-14T09:05+04",
        "2026-03-14 01:05 -04:00",
        "14/03/2026 09:05",
        "14/03/26 09:05",
        "14.03.2026 09:05",
        "14-03-2026 9:05 am",
        "14/03/2026, 09:05",
        "14.3.2026 9:05",
    ],
)
def test_one_moment_is_written_in_many_ways(text: str) -> None:
    for cells in ([text], [text, "2026-03-14 09:15"], ["09:00", text]):
        read = moments(cells, MAURITIUS)
        assert local(read, MAURITIUS)[cells.index(text)] == "2026-03-14 09:05"
        assert read.dated and not read.findings


def test_a_midnight_of_24_hours_is_the_next_day() -> None:
    assert local(moments(["2026-03-14 24:00"])) == ["2026-03-15 00:00"]
    assert local(moments(["23:50", "24:00", "00:10"])) == [
        "2026-03-14 23:50",
        "2026-03-15 00:00",
        "2026-03-15 00:10",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "2026-13-01 09:05",
        "2026-02-30 09:05",
        "31/02/2026 09:05",
        "2026-03-14 25:00",
        "2026-03-14T09:05+99:00",
        "0905-03-14",
        "9999-12-31 24:00",
        "1969-12-31 23:59",
        "yesterday",
        "14/03/2026 noon",
        "99/99/2026",
    ],
)
def test_what_is_no_time_is_a_finding_and_no_reading(text: str) -> None:
    read = moments(["2026-03-14 09:05", text, "", text])
    assert local(read) == ["2026-03-14 09:05", "", "", ""]
    assert codes(read) == [("time-not-read", 3)]
    assert (
        str(read.findings[0].message)
        == f'2 cells such as "{text}" are no time that can be read; their rows are not used; write times like 09:05'
    )


def test_a_clock_time_among_iso_times_is_no_year() -> None:
    cells = [f"2026-03-14 09:{minute:02d}" for minute in range(8)] + ["1015", "1020"]
    assert local(moments(cells))[-2:] == ["2026-03-14 10:15", "2026-03-14 10:20"]


def test_the_date_is_that_of_the_first_clock_time_and_midnight_passes() -> None:
    read = moments(["22:00", "23:50", "0:10", "08:00", "23:00", "01:00"])
    assert local(read) == [
        "2026-03-14 22:00",
        "2026-03-14 23:50",
        "2026-03-15 00:10",
        "2026-03-15 08:00",
        "2026-03-15 23:00",
        "2026-03-16 01:00",
    ]
    assert codes(read) == [("midnight-passed", 4), ("midnight-passed", 7)]
    assert str(read.findings[0].message) == "the clock falls from 23:50 to 00:10; read as the next day, 2026-03-15"


def test_a_clock_that_falls_a_little_is_a_row_out_of_order() -> None:
    assert local(moments(["09:05", "09:25", "09:15"])) == [
        "2026-03-14 09:05",
        "2026-03-14 09:25",
        "2026-03-14 09:15",
    ]


def test_clock_times_with_a_point_are_hours_and_minutes() -> None:
    read = moments(["8.50 am", "9:10 am", "12.30", "1.05 p.m.", "14/03/2026 15.20"])
    assert [text[-5:] for text in local(read)] == ["08:50", "09:10", "12:30", "13:05", "15:20"]
    assert codes(read) == [("clock-with-point", 2)]
    assert str(read.findings[0].message) == ('4 times such as "8.50 am" are read as hours and minutes, 8:50 am')
    one = moments(["9:05", "9.10"])
    assert str(one.findings[0].message) == 'the time "9.10" is read as 9:10, hours and minutes'


@pytest.mark.parametrize("other", ["9.5", "9.75", "9.375"])
def test_one_number_that_fits_no_clock_makes_all_of_them_numbers(other: str) -> None:
    read = moments(["9:00", "9.25", other])
    assert local(read)[1:] == ["", ""]
    assert codes(read) == [("time-not-read", 3)]


def test_an_order_of_dates_that_the_date_of_the_trial_decides_is_said() -> None:
    read = moments(["03/04/2026 09:00", "03/04/2026 10:00"], date=dt.date(2026, 4, 3))
    assert local(read)[0] == "2026-04-03 09:00"
    assert codes(read) == [("date-order", 2)]
    assert str(read.findings[0].message) == (
        "the date 03/04/2026 is read as day first, like all dates of the file, because only so do they lie near "
        "2026-04-03, the date of the trial"
    )
    assert not moments(["03/04/2026 09:00"], date=dt.date(2026, 4, 3), order="day first").findings


def test_a_twelve_hour_clock_without_am_and_pm_passes_noon() -> None:
    read = moments(["9:05", "12:50", "1:10", "5:00"])
    assert local(read) == ["2026-03-14 09:05", "2026-03-14 12:50", "2026-03-14 13:10", "2026-03-14 17:00"]
    assert codes(read) == [("twelve-hour-clock", 4)]


def test_a_twelve_hour_clock_passes_noon_and_midnight() -> None:
    read = moments(["9:05", "1:10", "11:50", "12:10", "1:10"])
    assert local(read)[-2:] == ["2026-03-15 00:10", "2026-03-15 01:10"]


@pytest.mark.parametrize("cells", [["9:05 am", "12:50 pm", "1:10"], ["9:05", "13:50", "1:10"]])
def test_am_pm_or_an_afternoon_hour_makes_it_a_full_clock(cells: list[str]) -> None:
    assert local(moments(cells))[-1] == "2026-03-15 01:10"


def test_clocks_of_12_and_24_hours_may_be_mixed() -> None:
    read = moments(["9:05 am", "13:10", "2:15 pm", "1500"])
    assert [text[-5:] for text in local(read)] == ["09:05", "13:10", "14:15", "15:00"]
    assert not read.findings


def test_a_clock_time_after_a_date_is_of_that_day() -> None:
    read = moments(["2026-03-14 23:40", "23:50", "0:10", "2026-03-16 09:00", "09:10"], date=None)
    assert local(read) == [
        "2026-03-14 23:40",
        "2026-03-14 23:50",
        "2026-03-15 00:10",
        "2026-03-16 09:00",
        "2026-03-16 09:10",
    ]
    assert read.dated


def test_a_clock_time_before_the_first_date_is_of_that_day() -> None:
    read = moments(["08:50", "2026-03-14 09:05"], date=None)
    assert local(read) == ["2026-03-14 08:50", "2026-03-14 09:05"]
    assert read.dated


def test_without_any_date_times_are_undated() -> None:
    read = moments(["09:05", "09:15"], date=None)
    assert not read.dated
    assert local(read)[0] == f"{NO_DATE} 09:05"


@pytest.mark.parametrize(
    ("cells", "order", "date", "first"),
    [
        (["03/04/2026 09:05", "14/04/2026 09:05"], None, None, "2026-04-03"),
        (["03/04/2026 09:05", "03/14/2026 09:05"], None, None, "2026-03-04"),
        (["03/04/2026 09:05"], "day first", None, "2026-04-03"),
        (["03/04/2026 09:05"], "month first", None, "2026-03-04"),
        (["03/04/2026 09:05"], None, dt.date(2026, 4, 1), "2026-04-03"),
        (["03/04/2026 09:05"], None, dt.date(2026, 3, 5), "2026-03-04"),
        (["05/05/2026 09:05"], None, None, "2026-05-05"),
        (["03.04.2026 09:05"], None, None, "2026-04-03"),
        (["03.04.2026 09:05"], "month first", None, "2026-03-04"),
        (["26-04-03 09:05"], "year first", None, "2026-04-03"),
        (["26/04/03 09:05"], "year first", None, "2026-04-03"),
        (["2026-04-03 09:05"], "day first", None, "2026-04-03"),
        (["31/02/2026 09:05", "14/04/2026 09:05"], None, None, ""),
        (["03/04/2026 09:05"], "year first", None, ""),
    ],
)
def test_the_order_of_a_date(cells: list[str], order: str | None, date: dt.date | None, first: str) -> None:
    assert local(moments(cells, date=date, order=order))[0][:10] == first


@pytest.mark.parametrize(
    ("cells", "date"),
    [
        (["03/04/2026 09:05", "04/04/2026 09:05"], None),
        (["03/04/2026 09:05"], dt.date(2026, 8, 1)),
        (["03/04/26 09:05"], None),
        (["05/04/2026 09:05"], dt.date(2026, 5, 4) - dt.timedelta(days=15)),
    ],
)
def test_an_open_date_is_refused(cells: list[str], date: dt.date | None) -> None:
    with pytest.raises(LogFileError) as caught:
        moments(["09:00", *cells], date=date)
    first = cells[0].split()[0]
    assert str(caught.value) == (
        f"log.csv, row 3: the date {first} may be day first or month first.\n"
        'Add to trial.toml:  [files."log.csv"]  and below it  date_order = "day first"  (or "month first").'
    )


@pytest.mark.parametrize(
    "cells",
    [
        ["2026-10-25 00:30", "2026-10-25 02:30", "2026-10-25 02:50", "2026-10-25 02:10", "2026-10-25 03:30"],
        ["00:30", "02:30", "02:50", "02:10", "03:30"],
    ],
)
def test_a_clock_set_back_repeats_an_hour(cells: list[str]) -> None:
    read = moments(cells, BERLIN, dt.date(2026, 10, 25))
    assert np.diff(read.at).tolist() == [2 * HOUR, HOUR / 3, HOUR / 3, 4 * HOUR / 3]
    assert codes(read) == [("clock-set-back", 3)]


@pytest.mark.parametrize("dated", [True, False])
def test_a_clock_set_forward_skips_an_hour(dated: bool) -> None:
    day = "2026-03-29 " if dated else ""
    read = moments([f"{day}01:50", f"{day}03:10"], BERLIN, dt.date(2026, 3, 29))
    assert read.at[1] - read.at[0] == HOUR / 3
    assert not read.findings
    skipped = moments([f"{day}01:50", f"{day}02:10"], BERLIN, dt.date(2026, 3, 29))
    assert skipped.at[1] - skipped.at[0] == HOUR / 3
    assert codes(skipped) == [("clock-not-set-forward", 3)]


def test_a_night_with_a_clock_change_is_as_long_as_it_was() -> None:
    evening = ["22:00", "06:00"]
    assert np.diff(moments(evening, BERLIN, dt.date(2026, 3, 28)).at) == 7 * HOUR
    assert np.diff(moments(evening, BERLIN, dt.date(2026, 10, 24)).at) == 9 * HOUR
    assert np.diff(moments(evening, MAURITIUS, dt.date(2026, 3, 28)).at) == 8 * HOUR


def test_offsets_are_used_before_the_zone() -> None:
    read = moments(["2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00", "2026-10-25T01:30:00Z"], BERLIN)
    assert np.diff(read.at).tolist() == [HOUR, 0.0]
    assert not read.findings


@pytest.mark.parametrize(
    ("value", "text", "dated"),
    [
        ("09:05", "2026-03-14 09:05", True),
        (dt.time(9, 5), "2026-03-14 09:05", True),
        ("9:05 pm", "2026-03-14 21:05", True),
        ("2026-03-15 09:05", "2026-03-15 09:05", True),
        (dt.datetime(2026, 3, 15, 9, 5), "2026-03-15 09:05", True),
        (dt.datetime(2026, 3, 15, 5, 5, tzinfo=dt.UTC), "2026-03-15 09:05", True),
        ("2026-03-15T05:05Z", "2026-03-15 09:05", True),
        ("15/03/2026 09:05", "2026-03-15 09:05", True),
        ("05.04.2026 09:05", "2026-04-05 09:05", True),
        ("04/04/2026 09:05", "2026-04-04 09:05", True),
    ],
)
def test_a_stated_moment_is_text_or_a_time_of_toml(value: str | dt.time | dt.datetime, text: str, dated: bool) -> None:
    read = parse_stated(value, MAURITIUS, DAY)
    assert read is not None
    assert dt.datetime.fromtimestamp(read[0], MAURITIUS).strftime("%Y-%m-%d %H:%M") == text
    assert read[1] is dated


@pytest.mark.parametrize("value", ["09:05", dt.time(9, 5)])
def test_a_stated_clock_time_without_a_date_is_undated(value: str | dt.time) -> None:
    assert parse_stated(value, UTC, None) == (to_utc(NO_DATE, 9 * HOUR + 300, UTC), False)


@pytest.mark.parametrize("value", ["2026-03-14", "nine", "03/04/2026 09:05", "", dt.datetime(1, 1, 1, 9, 5)])
def test_an_unreadable_moment_is_none(value: str | dt.datetime) -> None:
    assert parse_stated(value, UTC, DAY) is None


@given(st.text(alphabet="0123456789-/.:hHTZ +apmAPM ,", max_size=24))
def test_no_text_breaks_the_clock(text: str) -> None:
    for zone, date in ((BERLIN, DAY), (UTC, None)):
        try:
            read = moments(["2026-03-14 09:05", text, "09:10"], zone, date)
        except LogFileError as error:
            assert "row 3" in str(error)
        else:
            assert np.isfinite(read.at[[0, 2]]).all()


@given(st.datetimes(dt.datetime(1971, 1, 1), dt.datetime(2198, 1, 1)).map(lambda at: at.replace(microsecond=0)))
def test_all_ways_of_writing_a_moment_agree(at: dt.datetime) -> None:
    texts = [
        at.isoformat(),
        at.isoformat(" "),
        at.strftime("%d.%m.%Y %H:%M:%S"),
        at.strftime("%Y/%m/%d %H:%M:%S"),
    ]
    seconds = at.replace(tzinfo=UTC).timestamp()
    for text in texts:
        assert moments([text]).at[0] == seconds
        assert parse_stated(text, UTC, None) == (seconds, True)


@given(st.lists(st.integers(0, 86399 // 60), min_size=1, max_size=20))
def test_the_fast_way_and_the_slow_way_agree(minutes: list[int]) -> None:
    cells = [f"2026-10-24 {minute // 60:02d}:{minute % 60:02d}" for minute in minutes]
    fast = moments(cells, BERLIN)
    slow = moments([*cells, "24/10/2026 12:00"], BERLIN)
    assert slow.at[:-1].tolist() == fast.at.tolist()


def test_a_stamp_says_how_its_date_was_written() -> None:
    stamp = parse_stamp("3/4/26 9:05 pm")
    assert stamp is not None
    assert (stamp.date_text, stamp.has_half, stamp.style) == ("03/04/26", True, Style.SHORT_SLASHES)
    assert stamp.date("day first") == dt.date(2026, 4, 3)
    assert parse_stamp("noon") is None
    assert YEARS[0] == 1970

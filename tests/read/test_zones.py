"""The zone that a header names, and the wall clock through changes of summer time."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.read.zones import column_to_utc, to_utc, zone_in

HOUR = 3600.0


@pytest.mark.parametrize(
    ("header", "hours"),
    [
        ("Date Time, GMT+02:00", 2.0),
        ("Date Time, GMT-03:30", -3.5),
        ("Time (UTC+1)", 1.0),
        ("Time (UTC +0530)", 5.5),
        ("timestamp [UTC]", 0.0),
        ("Time, GMT", 0.0),
        ("time [+04:00]", 4.0),
        ("time (Indian/Mauritius)", 4.0),
    ],
)
def test_a_header_names_its_zone(header: str, hours: float) -> None:
    found = zone_in(header)
    assert found is not None
    assert dt.datetime(2026, 3, 14, tzinfo=found[1]).utcoffset() == dt.timedelta(hours=hours)
    assert found[0] in header


@pytest.mark.parametrize("header", ["time", "Date/Time", "time [min]", "Time (UTC+99)", "time (Harbour/Time)", "UTCX"])
def test_a_header_without_a_zone(header: str) -> None:
    assert zone_in(header) is None


@given(
    st.lists(st.integers(0, 4 * 86400), min_size=1, max_size=30),
    st.sampled_from(
        ["Europe/Berlin", "Indian/Mauritius", "America/St_Johns", "Australia/Lord_Howe", "Africa/Monrovia"]
    ),
    st.sampled_from([dt.date(2026, 3, 28), dt.date(2026, 10, 24), dt.date(2026, 4, 4), dt.date(1972, 1, 6)]),
)
def test_a_column_is_read_as_its_times_are_one_by_one(seconds: list[int], name: str, start: dt.date) -> None:
    zone = ZoneInfo(name)
    wall = np.sort(np.array(seconds, dtype=float)) + (start - dt.date(1970, 1, 1)).days * 86400.0
    at, _ = column_to_utc(wall, np.full(len(wall), np.nan), np.arange(len(wall)), "log.csv", zone)
    for w, found in zip(wall, at, strict=True):
        assert found in {to_utc(float(w), zone, 0), to_utc(float(w), zone, 1)}


def test_times_with_an_offset_of_their_own_need_no_zone() -> None:
    at, findings = column_to_utc(
        np.array([7200.0, np.nan, 7200.0]), np.array([3600.0, np.nan, np.nan]), [2, 3, 4], "log.csv", dt.UTC
    )
    assert at[[0, 2]].tolist() == [3600.0, 7200.0]
    assert np.isnan(at[1])
    assert not findings


def test_an_hour_that_comes_twice_goes_on() -> None:
    wall = (
        to_utc(0.0, dt.UTC)
        + (dt.date(2026, 10, 25) - dt.date(1970, 1, 1)).days * 86400
        + np.array([1.5, 2.5, 2.25]) * HOUR
    )
    at, findings = column_to_utc(wall, np.full(3, np.nan), [2, 3, 4], "log.csv", ZoneInfo("Europe/Berlin"))
    assert np.diff(at).tolist() == [HOUR, 0.75 * HOUR]
    assert [(finding.code, finding.row) for finding in findings] == [("clock-set-back", 3)]

"""One time as people and loggers of many lands write it."""

from __future__ import annotations

import datetime as dt
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.read import date_words
from reportgen.read.stamps import LONGEST, Style, parse_clock, parse_stamp, with_colon

DAY = dt.date(2026, 3, 14)


@pytest.mark.parametrize(
    "text",
    [
        "14 Mar 2026 09:05",
        "Mar 14, 2026 9:05 AM",
        "March 14 2026 09:05",
        "14-Mar-26 09:05",
        "14Mar2026 09:05",
        "2026-Mar-14 09:05",
        "Sat, 14 Mar 2026 09:05",
        "Sat Mar 14 09:05:00 2026",
        "14th March 2026, 9h05",
        "14-mars-2026 09:05",
        "14 de marzo de 2026 9:05 a. m.",
        "sáb. 14 mar. 2026 09:05",
        "14. März 2026 9:05 vorm.",
        "14 Machi 2026 09:05",
        "14 مارس 2026 9:05 ص",
    ],
)
def test_a_month_may_be_named(text: str) -> None:
    stamp = parse_stamp(text)
    assert stamp is not None
    assert stamp.style == Style.NAMED
    assert stamp.date("month first") == DAY  # no order of others changes it
    assert stamp.seconds == 9 * 3600 + 300


@pytest.mark.parametrize("number", range(1, 13))
def test_no_name_means_two_months(number: int) -> None:
    names = {name for name, month in date_words.MONTHS.items() if month == number}
    listed = [{date_words.plain(name) for name in names.split()} for names in date_words._MONTHS]
    assert names == listed[number - 1]
    assert all(not names & others for place, others in enumerate(listed) if place != number - 1)


@pytest.mark.parametrize(
    ("text", "style", "day"),
    [
        ("14/03 09:05", Style.YEARLESS, DAY),
        ("14-03 09:05", Style.YEARLESS, DAY),
        ("14/03", Style.YEARLESS, DAY),
        ("14.03. 09:05", Style.YEARLESS_POINTS, DAY),
        ("14.03.", Style.YEARLESS_POINTS, DAY),
        ("Mar 14 09:05", Style.NAMED, DAY),
        ("14 mars", Style.NAMED, DAY),
    ],
)
def test_a_year_may_be_left_out(text: str, style: Style, day: dt.date) -> None:
    stamp = parse_stamp(text)
    assert stamp is not None
    assert (stamp.style, stamp.year) == (style, None)
    assert stamp.date("day first") is None
    assert stamp.date("day first", 2026) == day


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("26/03/14", "year first", DAY),
        ("26.03.14", "year first", DAY),
        ("14/03/26", "day first", DAY),
        ("03/14/26", "month first", DAY),
        ("03/14/26", "day first", None),  # there is no fourteenth month
        ("14/03/2026", "year first", None),  # the year stands last
        ("2026-03-14", "day first", DAY),  # a year of four digits in front leaves nothing open
    ],
)
def test_an_order_says_which_number_is_which(text: str, order: str, day: dt.date | None) -> None:
    stamp = parse_stamp(text)
    assert stamp is not None
    assert stamp.date(order) == day


@pytest.mark.parametrize("text", ["14.03", "14-03", "14/03.", "March 2026", "14 Marsh 2026", "May", "14 Mar Mar 2026"])
def test_what_is_no_date_without_a_year(text: str) -> None:
    assert parse_stamp(text) is None


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("9:05 p. m.", 21),
        ("9:05\u202fPM", 21),
        ("PM 09:05", 21),
        ("9:05 vorm.", 9),
        ("9:05 nachm.", 21),
        ("9:05 dop.", 9),
        ("9:05 odp.", 21),
        ("9:05 ص", 9),
        ("9:05 م", 21),
        ("9:05 πμ", 9),
        ("9:05 μ.μ.", 21),
        ("午前9:05", 9),
        ("午後 9:05", 21),
        ("9:05 Uhr", 9),
        ("９：０５", 9),
        ("٩:٠٥", 9),
        ("9:05:00,0", 9),
    ],
)
def test_halves_of_the_day_in_other_languages(text: str, hours: int) -> None:
    assert parse_clock(text) == hours * 3600 + 300


@pytest.mark.parametrize("text", ["AM 9:05 PM", "9:05 xm", "h 9:05", "13:05 م", "9 h 5", "9:05 °C", "x" * 100])
def test_other_words_make_no_clock_time(text: str) -> None:
    assert parse_clock(text) is None


@pytest.mark.parametrize(
    ("text", "style"),
    [
        ("21.04.08 23:00:00", Style.SHORT_POINTS),
        ("21-04-08 23:00", Style.SHORT),
        ("21/04/08 23:00", Style.SHORT_SLASHES),
        ("08.04.2021 21:00", Style.POINTS),
        ("2021.06.15 00:00", Style.YEAR_FIRST),
    ],
)
def test_marks_and_lengths_tell_which_orders_are_open(text: str, style: Style) -> None:
    stamp = parse_stamp(text)
    assert stamp is not None
    assert stamp.style == style


def test_an_offset_may_stand_behind_any_date() -> None:
    for text in ("14/03/2026 09:05 +02:00", "2026-03-14T09:05+0200"):
        stamp = parse_stamp(text)
        assert stamp is not None
        assert stamp.offset == 7200


@pytest.mark.parametrize("text", ["9" * 100_000, "14 " + "mar " * 30_000, "9.0" * 30_000, "14" + " " * 100_000 + "mar"])
def test_a_cell_without_end_costs_nothing(text: str) -> None:
    began = time.perf_counter()
    for _ in range(100):
        assert parse_stamp(text) is None
        assert with_colon(text) is None
    assert time.perf_counter() - began < 1


@given(st.text(alphabet="019 -/.:,+TZmarMAchpMäص後", max_size=LONGEST))
def test_no_text_breaks_a_stamp(text: str) -> None:
    stamp = parse_stamp(text)
    assert stamp is None or stamp.seconds is None or 0 <= stamp.seconds <= 86400

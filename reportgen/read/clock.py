"""Wall-clock text to seconds since 1970-01-01 00:00 UTC. What cannot be read in one way only is refused."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from reportgen.message import say_counted
from reportgen.read import order, zones
from reportgen.read.order import day_number, day_of
from reportgen.read.stamp_columns import StampColumn, read_alike, read_rest
from reportgen.read.stamps import ORDERS, YEARS, Style, parse_stamp, with_colon
from reportgen.read.walk import DAY, HALF_DAY, is_newest_first, walk
from reportgen.trial import Finding, Numbers

__all__ = ["DAY", "HALF_DAY", "NO_DATE", "Moments", "parse_moments", "parse_stated", "to_utc"]
#: Date taken for clock times where no date is known at all; the trial then counts as undated.
NO_DATE = dt.date(2000, 1, 1)
#: A column is looked through for hours written with a zero for so many rows.
LOOKED_AT = 1000
_PADDED_HOUR = re.compile(r"(?:^|[T ,])0\d[:hH]?\d\d")


@dataclass(frozen=True)
class Moments:
    """Times of rows [s since 1970 UTC], NaN where a cell was blank or not to be read; and what was noticed.

    `dated` is False where clock times stand without any date to put them on. `other_half` is the half of
    the day, ``am`` or ``pm``, in which the first time may as well lie, if the clock is one of 12 hours; None where the
    column tells. `is_padded` is True where hours are written with a zero before them, as a 24-hour clock shows them;
    `is_twelve` where they were read as those of a 12-hour clock.
    """

    at: Numbers
    dated: bool
    findings: tuple[Finding, ...]
    other_half: Literal["am", "pm"] | None = None
    is_padded: bool = False
    is_twelve: bool = False


def parse_moments(
    cells: Sequence[str] | Any,
    rows: Any,
    file: str,
    zone: dt.tzinfo,
    date: dt.date | None,
    date_order: str | None,
    year: int | None = None,
    clock_starts: str | None = None,
) -> Moments:
    """Read a column of times.

    Parameters
    ----------
    cells, rows
        The texts, and the row of each as a spreadsheet counts.
    zone
        Zone of wall-clock times without an offset.
    date
        Date of the first clock-only entry; None if not known.
    date_order
        ``day first``, ``month first``, ``year first`` or None where the file must tell by itself.
    year
        Of dates that carry none; None where the date of the trial tells.
    clock_starts
        ``am`` or ``pm`` where the clock is one of 12 hours without am and pm; None where the file must tell.

    Raises
    ------
    LogFileError
        If dates may be read in several orders and nothing decides, dates carry no year and none is known, or the
        clock falls in a way that cannot be followed.
    """
    # The cells of a table come stripped.
    texts = cells if isinstance(cells, np.ndarray) else np.array([text.strip() for text in cells], dtype=object)
    column = read_alike(texts)
    pointed: list[Finding] = []
    read_rest(_with_colons(texts, column, rows, file, pointed), column)
    order_of_file, ordered = order.choose_order(column, rows, file, date, date_order)
    years, dated_by = order.fill_years(column, order_of_file, rows, file, date, year)
    days = order.days(column, order_of_file, years)
    known = np.isfinite(days)
    unread = (texts != "") & (~column.is_read | (order.has_date(column) & ~known))
    findings = _unread(np.flatnonzero(unread), texts, rows, file)
    date = date or (day_of(days[known][0]) if known.any() else None)
    is_back = is_newest_first(column, days)
    ahead = slice(None, None, -1 if is_back else 1)
    walked_column, walked_rows = column.reversed() if is_back else column, np.asarray(rows)[ahead]
    walked = walk(walked_column, days[ahead], walked_rows, file, day_number(date or NO_DATE), clock_starts)
    at, changed = zones.column_to_utc(walked.wall, walked_column.offset, walked_rows, file, zone)
    has_any = bool((column.is_read & ~unread).any())
    said = (*pointed, *ordered, *dated_by, *findings, *walked.findings, *changed)
    padded = walked.other_half is not None and any(_PADDED_HOUR.search(text) for text in texts[:LOOKED_AT])
    return Moments(at[ahead], date is not None or not has_any, said, walked.other_half, padded, walked.is_twelve)


def _with_colons(
    texts: npt.NDArray[Any], column: StampColumn, rows: Any, file: str, findings: list[Finding]
) -> npt.NDArray[Any]:
    """Return the texts, ``9.05`` as ``9:05`` where all that are written so can be clock times."""
    left = np.flatnonzero(~column.is_read)
    colons = {i: colon for i in left if (colon := with_colon(texts[i])) is not None}
    if not colons or not all(colons.values()):
        return texts
    first = next(iter(colons))
    message = say_counted(
        len(colons),
        'the time "{text}" is read as {colon}, hours and minutes',
        '{n} times such as "{text}" are read as hours and minutes, {colon}',
        text=texts[first][:40],
        colon=colons[first][:40],
    )
    findings.append(Finding("note", "clock-with-point", message, file, int(rows[first])))
    read = texts.copy()
    for i, colon in colons.items():
        read[i] = colon
    return read


def to_utc(day: dt.date, seconds: float, zone: dt.tzinfo) -> float:
    """Return wall-clock `seconds` of `day` in `zone` as seconds since 1970 UTC, the earlier of two."""
    return zones.to_utc(day_number(day) * DAY + seconds, zone)


def parse_stated(
    value: str | dt.time | dt.datetime, zone: dt.tzinfo, date: dt.date | None
) -> tuple[float, bool] | None:
    """Return (seconds since 1970 UTC, whether a date is known) for a stated moment; None if unreadable.

    A date that may be day first or month first is unreadable, and so is a date without a clock time or a year.
    """
    if isinstance(value, dt.datetime):
        if value.year not in YEARS:
            return None
        return (value if value.tzinfo else value.replace(tzinfo=zone)).timestamp(), True
    if isinstance(value, dt.time):
        seconds = value.hour * 3600.0 + value.minute * 60 + value.second + value.microsecond / 1e6
        return to_utc(date or NO_DATE, seconds, zone), date is not None
    stamp = parse_stamp(value.strip())
    if stamp is None or stamp.seconds is None:
        return None
    if stamp.style == Style.NONE:
        return to_utc(date or NO_DATE, stamp.seconds, zone), date is not None
    orders = ORDERS.get(stamp.style, (None,))
    possible = {when for order in orders if (when := stamp.date(order)) is not None}
    if len(possible) != 1:
        return None
    when = possible.pop()
    if stamp.offset is not None:
        return day_number(when) * DAY + stamp.seconds - stamp.offset, True
    return to_utc(when, stamp.seconds, zone), True


def _unread(unread: npt.NDArray[np.int64], texts: npt.NDArray[Any], rows: Any, file: str) -> list[Finding]:
    if not len(unread):
        return []
    message = say_counted(
        len(unread),
        '"{text}" is no time that can be read; its row is not used; write times like 09:05',
        '{n} cells such as "{text}" are no time that can be read; their rows are not used; write times like 09:05',
        text=texts[unread[0]][:40],
    )
    return [Finding("caution", "time-not-read", message, file, int(rows[unread[0]]))]

"""Times that are counted: elapsed since the lighting, seconds since 1970, the day numbers of spreadsheets."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from reportgen import units
from reportgen.errors import LogFileError
from reportgen.message import say, say_counted
from reportgen.read import cells
from reportgen.read.layout import Heading
from reportgen.read.stamp_columns import read_alike
from reportgen.read.table import Table
from reportgen.read.zones import DAY
from reportgen.trial import Finding, Numbers

#: Counts since 1970 are of this unit where half of them are no larger: seconds until the year 5138, and so on.
EPOCH_UNITS = ((1e11, "s", 1.0), (1e14, "ms", 1e-3), (1e17, "us", 1e-6), (np.inf, "ns", 1e-9))
#: A count that falls by more than this has begun anew at midnight [s].
WRAP_DROP = 43200.0
#: Day numbers of a spreadsheet, 1954 to 2064 (ours); counts since 1970 in seconds or finer, from 2001 on (ours).
SERIALS = (20_000.0, 60_000.0)
EPOCHS = 1e9
#: Day number of 1970-01-01 in spreadsheets, which count from 1899-12-30.
SERIAL_OF_1970 = 25_569.0
_CLOCK = re.compile(
    r"(?P<sign>[-+]?)(?:(?P<d>\d{1,6})\s*d(?:ays?)?,?\s+)?(?P<h>\d{1,6}):(?P<m>\d\d)(?::(?P<s>\d\d(?:[.,]\d{1,9})?))?"
)


def converted(table: Table, heading: Heading, to: str, default: str | None) -> tuple[str, float, float]:
    """Return the unit of a column, and (factor, offset) that turn its numbers into the unit `to`.

    Raises
    ------
    LogFileError
        If the header's unit does not fit.
    """
    unit = heading.unit or default or to
    try:
        return unit, *units.conversion(unit, to)
    except units.UnitError as error:
        raise LogFileError(
            "column-unit",
            f"{table.file}, row {table.header_row}: column {heading.column}: {error}.\n"
            f"Write its unit in brackets in the header, such as {heading.column} [{default}].",
            file=table.file,
            row=table.header_row,
        ) from error


def elapsed_seconds(table: Table, heading: Heading, findings: list[Finding]) -> Numbers:
    """Return a column of elapsed times in seconds: counts in the unit of the header, or written as ``00:15:00``."""
    column = table.cells[heading.index]
    if column.dtype == object and any(":" in text for text in column[column != ""][:1]):
        seconds = _as_clock(table, heading, column, findings)
    else:
        unit, factor, _ = converted(table, heading, "s", "min")
        if heading.unit is None:
            _say_unit(table, heading, unit, findings)
        seconds = _numbers(table, heading, column, unit, findings) * factor
    known = np.flatnonzero(np.isfinite(seconds))
    falls = np.concatenate([[False], np.diff(seconds[known]) < -WRAP_DROP]) if len(known) else np.zeros(0, dtype=bool)
    if falls.any() and bool(((seconds[known] >= 0) & (seconds[known] <= DAY)).all()):
        seconds[known] += DAY * np.cumsum(falls)
        message = say_counted(
            int(falls.sum()),
            "the elapsed time begins anew here; a day is added from here on",
            "the elapsed time begins anew {n} times; a day is added each time",
        )
        findings.append(Finding("note", "elapsed-wraps", message, table.file, int(table.rows[known[falls][0]])))
    return seconds


def epoch_seconds(table: Table, heading: Heading, findings: list[Finding]) -> Numbers:
    """Return a column of counts since 1970 in seconds; without a unit in the header their size tells it."""
    column = table.cells[heading.index]
    values = plain_numbers(column)
    default, factor = "s", 1.0
    if values is not None and np.isfinite(values).any():
        typical = float(np.nanmedian(np.abs(values)))
        default, factor = next((unit, factor) for limit, unit, factor in EPOCH_UNITS if typical < limit)
    unit, stated, _ = converted(table, heading, "s", default)
    if heading.unit is None:
        _say_unit(table, heading, unit, findings)
    factor = stated if heading.unit is not None else factor
    if values is not None and factor < 1:
        # Counts in microseconds are larger than any reading may be.
        return _numbers(table, heading, values * factor, "s", findings)
    return _numbers(table, heading, column, unit, findings) * factor


def wall_counts(column: npt.NDArray[Any]) -> tuple[str, Numbers] | None:
    """Return what a time column counts that holds numbers alone, and the numbers in seconds since 1970.

    ``serial`` are the day numbers of a spreadsheet, on the wall clock; ``epoch`` are counts in UTC. None where the
    column is neither.
    """
    # Looked at first, so that a column of texts costs nothing.
    if not len(column) or plain_numbers(column[:20]) is None:
        return None
    values = plain_numbers(column)
    if values is None or not np.isfinite(values).any():
        return None
    known = values[np.isfinite(values)]
    if bool(((known >= SERIALS[0]) & (known < SERIALS[1])).all()) and bool((known % 1 != 0).any()):
        return "serial", np.round((values - SERIAL_OF_1970) * DAY, 3)
    if bool((known >= EPOCHS).all()):
        factor = next(factor for limit, _, factor in EPOCH_UNITS if float(np.median(known)) < limit)
        return "epoch", values * factor
    return None


def plain_numbers(column: npt.NDArray[Any]) -> Numbers | None:
    """Return the numbers of a column, NaN where blank; None where a cell is anything else."""
    if column.dtype == np.float64:
        return np.asarray(column)
    texts = pd.Series(column, dtype=object).astype(str).str.replace(",", ".", regex=False)
    blank = (texts == "").to_numpy()
    values = pd.to_numeric(texts.where(~blank, None), errors="coerce").to_numpy(dtype=float)
    return values if bool((np.isfinite(values) | blank).all()) else None


def _numbers(table: Table, heading: Heading, column: npt.NDArray[Any], unit: str, findings: list[Finding]) -> Numbers:
    read = cells.parse_numbers(column, table.rows, table.file, heading.column, unit, table.decimal)
    findings += read.findings
    return read.values


def _as_clock(table: Table, heading: Heading, column: npt.NDArray[Any], findings: list[Finding]) -> Numbers:
    """Return elapsed times written as a clock shows them, in seconds."""
    alike = read_alike(column)
    usable = alike.is_read & (alike.style == 0) & ~alike.has_half & np.isnan(alike.offset)
    seconds = np.where(usable, alike.seconds, np.nan)
    has_two = np.zeros(len(column), dtype=bool)
    matches: dict[str, tuple[float, bool] | None] = {}
    for i, text in enumerate(column):
        if usable[i]:
            has_two[i] = text.count(":") == 1
        elif text:
            if text not in matches:
                matches[text] = _clock_value(text)
            if (value := matches[text]) is not None:
                seconds[i], has_two[i] = value
    if has_two.any():
        first = int(np.flatnonzero(has_two)[0])
        # A watch that shows 59:50 and then 1:00:10 counts minutes and seconds until the first hour is full.
        by_minutes = bool((~has_two & np.isfinite(seconds)).any()) or heading.unit is not None
        if heading.unit is not None and converted(table, heading, "s", "min")[1] >= 3600:
            by_minutes = False
        elif not by_minutes:
            raise LogFileError(
                "elapsed-open",
                f"{table.file}, row {table.rows[first]}: the elapsed time {column[first][:20]} may be hours "
                "and minutes or minutes and seconds.\n"
                "Write 0:15:00, or name the larger unit in the header: elapsed [h] or [min].",
                file=table.file,
                row=int(table.rows[first]),
            )
        if by_minutes:
            seconds = np.where(has_two, seconds / 60, seconds)
        message = say("elapsed times such as {text} are read as hours and minutes", text=column[first][:20])
        if by_minutes:
            message = say("elapsed times such as {text} are read as minutes and seconds", text=column[first][:20])
        # The header says minutes, but who fills it in may have meant hours and minutes.
        level = "caution" if by_minutes else "note"
        findings.append(Finding(level, "elapsed-as-clock", message, table.file, int(table.rows[first])))
    unread = np.flatnonzero((column != "") & ~np.isfinite(seconds))
    if len(unread):
        message = say_counted(
            len(unread),
            '"{text}" is no elapsed time that can be read; its row is not used; write it like 0:15:00',
            '{n} cells such as "{text}" are no elapsed time that can be read; their rows are not used; write them like '
            "0:15:00",
            text=column[unread[0]][:40],
        )
        findings.append(Finding("caution", "time-not-read", message, table.file, int(table.rows[unread[0]])))
    return seconds


def _clock_value(text: str) -> tuple[float, bool] | None:
    """Return (seconds, whether only two numbers are written) of a clock-like elapsed time; None if it is none."""
    match = _CLOCK.fullmatch(text) if len(text) <= cells.LONGEST_NUMBER else None
    if match is None or int(match["m"]) > 59 or (match["s"] and float(match["s"].replace(",", ".")) >= 60):
        return None
    days, second = float(match["d"] or 0), float((match["s"] or "0").replace(",", "."))
    value = days * DAY + float(match["h"]) * 3600 + float(match["m"]) * 60 + second
    return (-value if match["sign"] == "-" else value), match["s"] is None and match["d"] is None


def _say_unit(table: Table, heading: Heading, unit: str, findings: list[Finding]) -> None:
    message = say("no unit in the header; taken as {columns}", columns=f"{heading.column} [{unit}]")
    findings.append(Finding("note", "unit-taken", message, table.file, table.header_row))

"""The times of one log: its zone, its columns of dates, clock times and counts, and rows that cannot be placed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any, Literal
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from reportgen import vocabulary
from reportgen.errors import LogFileError
from reportgen.everyday.phrases import normalised
from reportgen.message import Message, say, say_counted
from reportgen.read import cells, clock, counts, stamps, zones
from reportgen.read.layout import Heading
from reportgen.read.order import NEAR_TRIAL
from reportgen.read.sheet import FILE_NAME, FileRule, Sheet
from reportgen.read.table import Table
from reportgen.read.walk import goes_back
from reportgen.trial import Finding, Numbers, wall_clock

#: Columns whose rows say nothing about when the run took place.
HISTORY_COLUMNS = frozenset(
    ("material", "fresh_mass", "total_solids", "volatile_solids", "water_added", "gas_produced")
)
#: The times that a log can be of [s since 1970 UTC].
FIRST, LAST = (clock.to_utc(dt.date(year, 1, 1), 0.0, dt.UTC) for year in (stamps.YEARS[0], stamps.YEARS[-1]))
#: Years that a table of bills or of weather may be of; and how many cells show whether a column holds them (ours).
YEARS = range(1900, 2200)
LOOKED_AT = 1000
#: Rows further from the others than this were written by a clock that was not set (ours) [s].
FAR = 366 * clock.DAY


@dataclass
class Log:
    """One log file on its way in: its table, and the time of each row once known."""

    table: Table
    at: Numbers = field(default_factory=lambda: np.empty(0))

    def heading(self, column: str) -> Heading | None:
        """Return the heading of one of our columns, or None where the file has none."""
        return next((heading for heading in self.table.headings if heading.column == column), None)

    @property
    def is_elapsed_only(self) -> bool:
        """True where rows are timed from the lighting alone."""
        return self.heading("elapsed") is not None and not any(map(self.heading, ("time", "epoch")))

    @property
    def is_history(self) -> bool:
        """True where no column speaks of the run."""
        return not self.run_columns

    @property
    def run_columns(self) -> list[Heading]:
        """Columns that speak of the run."""
        others = HISTORY_COLUMNS | set(vocabulary.TIME_COLUMNS) | {"note"}
        return [heading for heading in self.table.headings if heading.column not in others]


def converted(log: Log, heading: Heading, to: str, default: str | None) -> tuple[str, float, float]:
    """Return the unit of a column of a log, and (factor, offset) that turn its numbers into the unit `to`.

    Raises
    ------
    LogFileError
        If the header's unit does not fit.
    """
    return counts.converted(log.table, heading, to, default)


@dataclass(frozen=True)
class Seen:
    """What the times of a log told: whether they carry a date (None: they wait), what was noticed, and the attributes
    of `clock.Moments` of the same names.
    """

    is_dated: bool | None
    findings: list[Finding]
    other_half: Literal["am", "pm"] | None = None
    is_padded: bool = False
    is_twelve: bool = False


def read_log(
    log: Log,
    sheet: Sheet,
    zone: dt.tzinfo,
    date: dt.date | None,
    waiting: list[LogFileError] | None = None,
    clock_starts: Literal["am", "pm"] | None = None,
) -> Seen:
    """Fill in the times of the rows. A log whose dates lack a year that is not known yet goes to `waiting`."""
    found, findings = log.table, list[Finding]()
    time, day, epoch = log.heading("time"), log.heading("date"), log.heading("epoch")
    log.at = np.full(len(found.rows), np.nan)
    if log.is_elapsed_only:
        return Seen(None, findings)
    one = time or day
    if one is None:
        if epoch is not None:
            log.at = possible(log, epoch, counts.epoch_seconds(found, epoch, findings), FIRST, LAST, findings)
        return Seen(None if epoch is None else True, findings)
    rule = sheet.files.get(found.file) or FileRule()
    zone = _zone_of(log, [heading for heading in (time, day) if heading is not None], rule, zone, findings)
    _say_three_columns(log, findings)
    texts = found.cells[one.index]
    if time is None and _are_years(texts):
        message = say("the dates are years alone; the rows are not used; write dates like 2026-03-14")
        findings.append(at_row("caution", "time-not-read", message, log, int(found.rows[0])))
        return Seen(True, findings)
    if (counted := counts.wall_counts(texts)) is not None:
        log.at = possible(log, one, _from_counts(log, one, *counted, zone, findings), FIRST, LAST, findings)
        return Seen(True, findings)
    if time is not None and day is not None and not _carries_date(texts):
        # A date is written once per page: a row without one is a clock time after the row before. A row
        # of the run without a clock time cannot be placed; one of the feed log is of that day.
        pairs = zip(found.cells[day.index], found.cells[time.index], strict=True)
        texts = np.array([f"{d} {t}".strip() if t or log.is_history else "" for d, t in pairs], dtype=object)
    try:
        moments = clock.parse_moments(
            texts,
            found.rows,
            found.file,
            zone,
            date,
            rule.date_order,
            rule.year,
            clock_starts or rule.clock_starts,
        )
    except LogFileError as error:
        if error.code != "year-missing" or waiting is None:
            raise
        waiting.append(error)
        return Seen(False, findings)
    findings += moments.findings
    log.at = moments.at
    if moments.dated:
        _leave_out_unset(log, date, zone, findings)
    return Seen(moments.dated, findings, moments.other_half, moments.is_padded, moments.is_twelve)


def _carries_date(texts: npt.NDArray[Any]) -> bool:
    """Return whether the first time that is filled in has a date of its own."""
    first = next((text for text in texts if text), "")
    stamp = stamps.parse_stamp(first)
    return stamp is not None and stamp.style != stamps.Style.NONE


def _are_years(texts: npt.NDArray[Any]) -> bool:
    """Return whether a column of dates holds years alone, which look like clock times: 2026 is no 20:26."""
    filled = texts[texts != ""]
    return bool(len(filled)) and all(
        len(text) == 4 and text.isdecimal() and int(text) in YEARS for text in filled[:LOOKED_AT]
    )


def _zone_of(log: Log, headings: list[Heading], rule: FileRule, zone: dt.tzinfo, findings: list[Finding]) -> dt.tzinfo:
    """Return the zone of a file's wall clock: stated for the file, else named by the header, else the trial's."""
    named = next((found for heading in headings if (found := zones.zone_in(heading.header))), None)
    stated = None if rule.time_zone is None else ZoneInfo(rule.time_zone)
    if named is None:
        return stated or zone
    written, from_header = named
    if stated is None:
        message = say("the header names the zone {zone}; the times of the file are read in it", zone=written)
        findings.append(at_row("note", "zone-from-header", message, log, log.table.header_row))
        return from_header
    # Two zones that agree in winter and in summer are one for our purpose.
    days = (dt.datetime(2026, month, 1) for month in (1, 7))
    if any(day.replace(tzinfo=stated).utcoffset() != day.replace(tzinfo=from_header).utcoffset() for day in days):
        message = say(
            "the header names the zone {zone}, {sheet} another for the file, {stated}, which is used",
            zone=written,
            sheet=FILE_NAME,
            stated=rule.time_zone,
        )
        findings.append(at_row("caution", "zones-differ", message, log, log.table.header_row))
    return stated


def _from_counts(
    log: Log, heading: Heading, kind: str, seconds: Numbers, zone: dt.tzinfo, findings: list[Finding]
) -> Numbers:
    """Return the times of a column that holds the day numbers of a spreadsheet, or counts since 1970."""
    filled = np.flatnonzero(np.isfinite(seconds))
    text = str(log.table.cells[heading.index][filled[0]])[:40]
    row = int(log.table.rows[filled[0]])
    if kind == "epoch":
        message = say("times such as {text} are read as counted since 1970-01-01 00:00 UTC", text=text)
        findings.append(at_row("note", "epoch-as-time", message, log, row))
        return seconds
    message = say(
        "times such as {text} are read as the day numbers of a spreadsheet, days since 1899-12-30; give the cells a "
        "format of date and time before they are exported",
        text=text,
    )
    findings.append(at_row("note", "day-numbers", message, log, row))
    at, changed = zones.column_to_utc(seconds, np.full(len(seconds), np.nan), log.table.rows, log.table.file, zone)
    findings += changed
    return at


def _leave_out_unset(log: Log, date: dt.date | None, zone: dt.tzinfo, findings: list[Finding]) -> None:
    """Leave out rows that lie years away from the others: the logger's clock was not set."""
    known = np.flatnonzero(np.isfinite(log.at))
    if log.is_history or len(known) < 2 or np.ptp(log.at[known]) <= FAR:
        return
    ordered = known[np.argsort(log.at[known], kind="stable")]
    part = np.concatenate([[0], np.cumsum(np.diff(log.at[ordered]) > FAR)])
    sizes = np.bincount(part)
    kept = int(sizes.argmax()) if sizes.max() * 2 > len(known) else -1
    if date is not None:
        moment = clock.to_utc(date, 0.0, zone)
        near = np.unique(part[np.abs(log.at[ordered] - moment) <= NEAR_TRIAL * clock.DAY])
        kept = int(near[0]) if len(near) == 1 else kept
    if kept < 0 or len(sizes) == 1:
        return
    away = np.sort(ordered[part != kept])
    message = say_counted(
        len(away),
        "this row, of {day}, lies more than a year from the others and is not used; was the clock of the logger set?",
        "{n} rows, the first of {day}, lie more than a year from the others and are not used; was the clock of the "
        "logger set?",
        day=wall_clock(float(log.at[away[0]]), zone).date(),
    )
    findings.append(at_row("caution", "clock-not-set", message, log, int(log.table.rows[away[0]])))
    log.at[away] = np.nan


def possible(log: Log, heading: Heading, seconds: Numbers, low: float, high: float, findings: list[Finding]) -> Numbers:
    """Return times in seconds, NaN where one does not lie from `low` to `high`."""
    wrong = np.isfinite(seconds) & ~((seconds >= low) & (seconds <= high))
    if wrong.any():
        first = int(np.flatnonzero(wrong)[0])
        message = say_counted(
            int(wrong.sum()),
            "the time {text} is not possible; its row is not used; is the unit in the header right?",
            "{n} times such as {text} are not possible; their rows are not used; is the unit in the header right?",
            text=str(log.table.cells[heading.index][first])[:40],
        )
        findings.append(at_row("caution", "time-not-possible", message, log, int(log.table.rows[first])))
    return np.where(wrong, np.nan, seconds)


def say_order(log: Log, findings: list[Finding]) -> None:
    """Say that the rows of a log are not in order of time."""
    known = np.flatnonzero(np.isfinite(log.at))
    steps = np.diff(log.at[known])
    back = np.flatnonzero(steps < 0)
    if not back.size:
        return
    row = int(log.table.rows[known][back[0] + 1])
    if goes_back(log.at[known]):
        message = say("the newest row comes first; the file is read from its end")
        findings.append(at_row("note", "newest-first", message, log, row))
        back = np.flatnonzero(steps > 0)
    if back.size:
        row = int(log.table.rows[known][back[0] + 1])
        findings.append(at_row("note", "not-in-order", say("the rows are not in order of time; sorted"), log, row))


def _say_three_columns(log: Log, findings: list[Finding]) -> None:
    """Say that a date in three columns is not read."""
    names = {normalised(header) for header in log.table.unknown}
    if {"year", "month", "day"} <= names and log.heading("date") is None:
        message = say("the columns year, month and day are not read; write one column date, like 2026-03-14")
        findings.append(at_row("caution", "date-in-three-columns", message, log, log.table.header_row))


def say_untimed(log: Log, findings: list[Finding]) -> None:
    """Say which rows hold something but no time, so that they cannot be used."""
    heading = next((found for name in ("time", "elapsed", "epoch", "date") if (found := log.heading(name))), None)
    untimed = np.flatnonzero(~np.isfinite(log.at))
    if heading is None or not len(untimed) or (log.is_elapsed_only and len(untimed) == len(log.at)):
        return
    untimed = untimed[~cells.filled(log.table.cells[heading.index][untimed])]
    others = [h.index for h in log.table.headings if h.column not in vocabulary.TIME_COLUMNS]
    if others and len(untimed):
        untimed = untimed[np.logical_or.reduce([cells.filled(log.table.cells[index][untimed]) for index in others])]
        if len(untimed):
            message = say_counted(
                len(untimed),
                "this row holds no time and is not used; write when it was read",
                "{n} rows hold no time and are not used; write when they were read",
            )
            findings.append(at_row("caution", "row-without-time", message, log, int(log.table.rows[untimed[0]])))


def at_row(level: str, code: str, message: Message, log: Log, row: int) -> Finding:
    """Return a finding at a row of a log."""
    return Finding(level, code, message, log.table.file, row)

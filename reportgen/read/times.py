"""When the rows of all logs were written, and what moments `trial.toml` states."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from reportgen import units, vocabulary
from reportgen.errors import LogFileError
from reportgen.message import Message, say, say_counted
from reportgen.read import burning, cells, clock, stamps
from reportgen.read.layout import Heading
from reportgen.read.sheet import FILE_NAME, Sheet
from reportgen.read.table import Table
from reportgen.trial import Finding, Numbers

#: Columns whose rows say nothing about when the run took place.
HISTORY_COLUMNS = frozenset(
    ("material", "fresh_mass", "total_solids", "volatile_solids", "water_added", "gas_produced")
)
#: No trial is longer than this before or after its lighting [s] (ours).
LONGEST = 10 * 366 * clock.DAY


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
            f"{log.table.file}, row {log.table.header_row}: column {heading.column}: {error}.\n"
            f"Write its unit in brackets in the header, such as {heading.column} [{default}].",
            file=log.table.file,
            row=log.table.header_row,
        ) from error


def read_times(logs: list[Log], sheet: Sheet, zone: dt.tzinfo, findings: list[Finding]) -> tuple[dt.date | None, bool]:
    """Fill in the times of the rows; those of elapsed time wait for the lighting.

    Returns
    -------
    date : date or None
        Of the first clock-only entry: stated, else the day on which the dated logs of the run begin.
    dated : bool
        False where only clock times are known and no date.
    """
    date = sheet.date or _stated_date(sheet, zone)
    read = [_read(log, sheet, zone, date) for log in logs]
    runs = [is_dated for log, (is_dated, _) in zip(logs, read, strict=True) if not log.is_history]
    clock_only = any(value is not None and not _has_date(value) for value in _stated(sheet).values())
    if date is None and (False in runs or (clock_only and True in runs)):
        date = _first_day(logs, [is_dated for is_dated, _ in read], zone)
        if date is not None:
            findings.append(
                Finding(
                    "note",
                    "date-from-log",
                    say(
                        "no date is stated; clock times without one are taken on {day}, the day the logs begin",
                        day=date.isoformat(),
                    ),
                    FILE_NAME,
                )
            )
            read = [
                _read(log, sheet, zone, date) if is_dated is False else (is_dated, seen)
                for log, (is_dated, seen) in zip(logs, read, strict=True)
            ]
    for _, seen in read:
        findings += seen
    return date, date is not None or (True in runs and False not in runs)


def read_elapsed(logs: list[Log], zero: float, findings: list[Finding]) -> None:
    """Fill in the times of the logs that count from the lighting at `zero` [s since 1970 UTC]."""
    for log in logs:
        heading = log.heading("elapsed")
        if heading is not None and log.is_elapsed_only:
            log.at = zero + _seconds(log, heading, "min", -LONGEST, LONGEST, findings)
            _say_untimed(log, findings)


def stated_moments(sheet: Sheet, zone: dt.tzinfo, date: dt.date | None) -> burning.Stated:
    """Return the moments that trial.toml states, clock times without a date on `date`."""
    moments: dict[str, float] = {}
    for key, value in _stated(sheet).items():
        name = key.partition(".")[2]
        if value is None:
            continue
        moments[name], _ = _moment(value, zone, date)
        if name != "lit" and not _has_date(value):
            next_day = (date or clock.NO_DATE) + dt.timedelta(days=1)
            moments[f"{name}_next_day"], _ = _moment(value, zone, next_day)
            if _can_be_afternoon(value):
                moments[f"{name}_afternoon"] = moments[name] + clock.HALF_DAY
    return burning.Stated(**moments, zone=zone)


def drop_repeated(log: Log, zone: dt.tzinfo, findings: list[Finding]) -> None:
    """Leave out rows that repeat another to the letter; feeds of a day without a clock time may be alike."""
    found = log.table
    frame = pd.DataFrame({heading.index: found.cells[heading.index] for heading in found.headings})
    # The same clock time on two days is no repetition.
    frame["at"] = log.at
    repeated = frame.duplicated().to_numpy() & np.isfinite(log.at)
    if log.is_history:
        for i in np.flatnonzero(repeated):
            repeated[i] = dt.datetime.fromtimestamp(float(log.at[i]), zone).time() != dt.time()
    if repeated.any():
        findings.append(
            Finding(
                "note",
                "repeated-rows",
                say_counted(
                    int(repeated.sum()),
                    "this row repeats another to the letter; it is read once",
                    "{n} rows repeat another to the letter; each is read once",
                ),
                found.file,
                int(found.rows[repeated][0]),
            )
        )
        log.at = np.where(repeated, np.nan, log.at)


def _read(log: Log, sheet: Sheet, zone: dt.tzinfo, date: dt.date | None) -> tuple[bool | None, list[Finding]]:
    """Fill in the times of the rows; return whether they carry a date (None: they wait) and what was seen."""
    found, findings = log.table, list[Finding]()
    time, day, epoch = log.heading("time"), log.heading("date"), log.heading("epoch")
    log.at = np.full(len(found.rows), np.nan)
    if log.is_elapsed_only:
        return None, findings
    one = time or day
    if one is None:
        if epoch is None:
            return None, findings
        low, high = (clock.to_utc(dt.date(year, 1, 1), 0.0, dt.UTC) for year in (stamps.YEARS[0], stamps.YEARS[-1]))
        log.at = _seconds(log, epoch, "s", low, high, findings)
        is_dated = True
    else:
        texts = found.cells[one.index]
        if time is not None and day is not None:
            # A date is written once per page: a row without one is a clock time after the row before. A row
            # of the run without a clock time cannot be placed; one of the feed log is of that day.
            texts = np.array(
                [
                    f"{d} {t}".strip() if t or log.is_history else ""
                    for d, t in zip(found.cells[day.index], found.cells[time.index], strict=True)
                ],
                dtype=object,
            )
        rule = sheet.files.get(found.file)
        moments = clock.parse_moments(texts, found.rows, found.file, zone, date, rule.date_order if rule else None)
        findings += moments.findings
        log.at, is_dated = moments.at, moments.dated
    back = np.flatnonzero(np.diff(log.at[np.isfinite(log.at)]) < 0)
    if back.size:
        row = int(found.rows[np.isfinite(log.at)][back[0] + 1])
        message = say("the rows are not in order of time; sorted")
        findings.append(Finding("note", "not-in-order", message, found.file, row))
    _say_untimed(log, findings)
    return is_dated, findings


def _seconds(log: Log, heading: Heading, default: str, low: float, high: float, findings: list[Finding]) -> Numbers:
    """Return a column of elapsed or epoch times in seconds, NaN where there is none from `low` to `high`."""
    unit, factor, _ = converted(log, heading, "s", default)
    if heading.unit is None:
        findings.append(
            _at_row(
                "note",
                "unit-taken",
                say("no unit in the header; taken as {columns}", columns=f"{heading.column} [{unit}]"),
                log,
                log.table.header_row,
            )
        )
    numbers = cells.parse_numbers(
        log.table.cells[heading.index], log.table.rows, log.table.file, heading.column, unit, log.table.decimal
    )
    findings += numbers.findings
    seconds = numbers.values * factor
    wrong = np.isfinite(seconds) & ~((seconds >= low) & (seconds <= high))
    if wrong.any():
        first = int(np.flatnonzero(wrong)[0])
        findings.append(
            _at_row(
                "caution",
                "time-not-possible",
                say_counted(
                    int(wrong.sum()),
                    "the time {text} is not possible; its row is not used; is the unit in the header right?",
                    "{n} times such as {text} are not possible; their rows are not used; is the unit in the header "
                    "right?",
                    text=str(log.table.cells[heading.index][first])[:40],
                ),
                log,
                int(log.table.rows[first]),
            )
        )
    return np.where(wrong, np.nan, seconds)


def _say_untimed(log: Log, findings: list[Finding]) -> None:
    """Say which rows hold something but no time, so that they cannot be used."""
    names = [name for name in ("time", "elapsed", "epoch") if (heading := log.heading(name))] or ["date"]
    heading = log.heading(names[0])
    assert heading is not None
    others = [h for h in log.table.headings if h.column not in vocabulary.TIME_COLUMNS]
    filled = np.logical_or.reduce([log.table.cells[h.index] != "" for h in others])
    untimed = filled & (log.table.cells[heading.index] == "") & ~np.isfinite(log.at)
    if untimed.any():
        findings.append(
            _at_row(
                "caution",
                "row-without-time",
                say_counted(
                    int(untimed.sum()),
                    "this row holds no time and is not used; write when it was read",
                    "{n} rows hold no time and are not used; write when they were read",
                ),
                log,
                int(log.table.rows[untimed][0]),
            )
        )


def _at_row(level: str, code: str, message: Message, log: Log, row: int) -> Finding:
    return Finding(level, code, message, log.table.file, row)


def _moment(value: Any, zone: dt.tzinfo, date: dt.date | None) -> tuple[float, bool]:
    """Return a moment that the sheet has already been checked to hold."""
    read = clock.parse_stated(value, zone, date)
    assert read is not None
    return read


def _stated(sheet: Sheet) -> dict[str, Any]:
    return {
        "burner.lit": sheet.burner.lit,
        "burner.out": sheet.burner.out,
        "water.placed": sheet.water.placed,
    }


def _can_be_afternoon(value: Any) -> bool:
    """Return whether a clock time may be one of a 12-hour clock that leaves out am and pm."""
    if isinstance(value, dt.time):
        return value.hour <= 12
    stamp = stamps.parse_stamp(value.strip())
    return stamp is not None and not stamp.has_half and (stamp.seconds or 0.0) < 13 * 3600


def _has_date(value: Any) -> bool:
    return isinstance(value, dt.datetime) or (isinstance(value, str) and stamps.parse_clock(value) is None)


def _stated_date(sheet: Sheet, zone: dt.tzinfo) -> dt.date | None:
    """Return the date that a moment of trial.toml carries, the lighting's first; None where none does."""
    for value in _stated(sheet).values():
        if value is not None and _has_date(value):
            return dt.datetime.fromtimestamp(_moment(value, zone, None)[0], zone).date()
    return None


def _first_day(logs: list[Log], dated: list[bool | None], zone: dt.tzinfo) -> dt.date | None:
    """Return the day on which the dated logs of the run begin."""
    times = [
        log.at[np.isfinite(log.at)]
        for log, is_dated in zip(logs, dated, strict=True)
        if is_dated and not log.is_history
    ]
    joined = np.concatenate(times) if times else np.empty(0)
    return dt.datetime.fromtimestamp(float(joined.min()), zone).date() if joined.size else None

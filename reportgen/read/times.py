"""When the rows of all logs were written, and what moments `trial.toml` states."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd

from reportgen.errors import LogFileError
from reportgen.message import say, say_counted
from reportgen.read import burning, clock, counts, stamps
from reportgen.read.log import Log, Seen, at_row, possible, read_log, say_order, say_untimed
from reportgen.read.sheet import FILE_NAME, Sheet
from reportgen.read.walk import half_open
from reportgen.trial import Finding, wall_clock

#: No trial is longer than this before or after its lighting [s] (ours).
LONGEST = 10 * 366 * clock.DAY
#: A log that ends or begins within so long of the run may well be of it (ours) [s] ...
NEAR_RUN = 3 * 3600.0
#: ... and lies at the run if within so long (ours) [s].
AT_RUN = 3600.0


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
    waiting: list[LogFileError] = []
    read = [read_log(log, sheet, zone, date, waiting) for log in logs]
    runs = [seen.is_dated for log, seen in zip(logs, read, strict=True) if not log.is_history]
    clock_only = any(value is not None and not _has_date(value) for value in _stated(sheet).values())
    if date is None and (False in runs or waiting or (clock_only and True in runs)):
        date = _first_day(logs, [seen.is_dated for seen in read], zone)
        if date is not None:
            findings.append(
                Finding(
                    "note",
                    "date-from-log",
                    say(
                        "no date is stated; clock times without one are taken on {day}, the day the logs begin",
                        day=date,
                    ),
                    FILE_NAME,
                )
            )
            read = [
                read_log(log, sheet, zone, date) if seen.is_dated is False else seen
                for log, seen in zip(logs, read, strict=True)
            ]
        elif waiting:
            raise waiting[0]
    _settle_halves(logs, read, sheet, zone, date)
    for log, seen in zip(logs, read, strict=True):
        findings += seen.findings
        say_order(log, findings)
        say_untimed(log, findings)
    return date, date is not None or (True in runs and False not in runs)


def read_elapsed(logs: list[Log], zero: float, findings: list[Finding]) -> None:
    """Fill in the times of the logs that count from the lighting at `zero` [s since 1970 UTC]."""
    for log in logs:
        heading = log.heading("elapsed")
        if heading is not None and log.is_elapsed_only:
            seconds = counts.elapsed_seconds(log.table, heading, findings)
            log.at = zero + possible(log, heading, seconds, -LONGEST, LONGEST, findings)
            say_order(log, findings)
            say_untimed(log, findings)


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
    # The same clock time on two days is no repetition, and rows at different times are none.
    if (np.diff(log.at) > 0).all():
        return
    alike = np.flatnonzero(pd.Series(log.at).duplicated(keep=False).to_numpy() & np.isfinite(log.at))
    if not len(alike):
        return
    frame = pd.DataFrame({heading.index: found.cells[heading.index][alike] for heading in found.headings})
    frame["at"] = log.at[alike]
    twice = alike[frame.duplicated().to_numpy() & found.repeats[alike]]
    if log.is_history:
        moments, which = np.unique(log.at[twice], return_inverse=True)
        has_clock = [wall_clock(float(at), zone).time() != dt.time() for at in moments]
        twice = twice[np.array(has_clock, dtype=bool)[which]]
    repeated = np.zeros(len(log.at), dtype=bool)
    repeated[twice] = True
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


def _settle_halves(logs: list[Log], read: list[Seen], sheet: Sheet, zone: dt.tzinfo, date: dt.date | None) -> None:
    """Read logs of a 12-hour clock without am and pm in the half of the day in which the run lies.

    Raises
    ------
    LogFileError
        If a log lies far from the run in both halves, and its hours are not written as those of a 24-hour clock.
    """
    run = _stated_span(sheet, zone, date) or _logged_span(logs, read)
    if run is None:
        return
    for number, (log, seen) in enumerate(zip(logs, read, strict=True)):
        known = log.at[np.isfinite(log.at)]
        if seen.other_half is None or log.is_history or not len(known):
            continue
        shift = clock.HALF_DAY if seen.other_half == "pm" else -clock.HALF_DAY
        as_read, other = (_distance((known.min() + by, known.max() + by), run) for by in (0.0, shift))
        row = int(log.table.rows[np.isfinite(log.at)][0])
        if as_read <= (0.0 if seen.is_twelve else NEAR_RUN):
            continue
        if other < as_read and other <= AT_RUN:
            read[number] = read_log(log, sheet, zone, date, None, seen.other_half)
            message = say(
                "the times carry neither am nor pm; those from this row on are read from {time} on, since only so do "
                'they lie at the run; write am and pm, or clock_starts = "{half}" under [files."{file}"]',
                time=wall_clock(float(log.at[np.isfinite(log.at)][0]), zone).strftime("%H:%M"),
                half=seen.other_half,
                file=log.table.file,
            )
            read[number].findings.append(at_row("caution", "half-day-taken", message, log, row))
        elif not seen.is_padded and not seen.is_twelve:
            raise half_open(row, log.table.file, "both halves of the day lie hours away from the run")


def _stated_span(sheet: Sheet, zone: dt.tzinfo, date: dt.date | None) -> tuple[float, float] | None:
    """Return the first and the last moment of the run as trial.toml states them; None where it states none."""
    moments = {name: value for name, value in vars(stated_moments(sheet, zone, date)).items() if name != "zone"}
    known = [at for name in ("lit", "placed") if (at := moments[name]) is not None]
    start = moments["lit"] if moments["lit"] is not None else min(known, default=None)
    ends = [at for name, at in moments.items() if name.startswith("out") and at is not None]
    if start is None:
        return (ends[0], ends[0]) if ends else None
    return start, min((at for at in ends if at >= start), default=max(start, *known))


def _logged_span(logs: list[Log], read: list[Seen]) -> tuple[float, float] | None:
    """Return the first and the last time of the logs of the run whose clock is sure; None where there are none."""
    sure = [
        log.at[np.isfinite(log.at)]
        for log, seen in zip(logs, read, strict=True)
        if seen.is_dated is not None and seen.other_half is None and not log.is_history
    ]
    joined = np.concatenate(sure) if sure else np.empty(0)
    return (float(joined.min()), float(joined.max())) if joined.size else None


def _distance(one: tuple[float, float], other: tuple[float, float]) -> float:
    return max(one[0] - other[1], other[0] - one[1], 0.0)


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
            return wall_clock(_moment(value, zone, None)[0], zone).date()
    return None


def _first_day(logs: list[Log], dated: list[bool | None], zone: dt.tzinfo) -> dt.date | None:
    """Return the day on which the dated logs of the run begin."""
    times = [
        log.at[np.isfinite(log.at)]
        for log, is_dated in zip(logs, dated, strict=True)
        if is_dated and not log.is_history
    ]
    joined = np.concatenate(times) if times else np.empty(0)
    return wall_clock(float(joined.min()), zone).date() if joined.size else None

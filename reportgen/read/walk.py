"""Clock times put on days in the order of the rows: midnight, and noon on a 12-hour clock without am and pm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from reportgen.errors import LogFileError
from reportgen.message import say
from reportgen.read.order import day_of, has_date
from reportgen.read.stamp_columns import StampColumn
from reportgen.read.stamps import Style
from reportgen.trial import Finding, Numbers

#: A clock that falls back by more than this has passed midnight; by less, a row is out of order (ours) [s].
MIDNIGHT_DROP = 6 * 3600.0
#: A clock that falls back by more than this is no slip of a row or two (ours) [s].
LEAST_JUMP = 2 * 3600.0
#: A 12-hour clock passes noon from a reading no earlier than this (ours) [s].
BEFORE_NOON = 9 * 3600.0
#: Readings with a date lie no further apart over noon than this, or the clock is none of 12 hours (ours) [s].
OVER_NOON = 3 * 3600.0
#: So large a share of the steps going back makes a file one with its newest row first (ours).
MOSTLY = 0.9
#: Midnights are said one by one up to so many (ours).
MOST_MIDNIGHTS = 31
HOUR = 3600.0
DAY = 86400.0
HALF_DAY = 43200.0


@dataclass(frozen=True)
class Walk:
    """Wall-clock times [s since 1970-01-01 00:00], NaN where there is none, and what was noticed.

    `other_half` is that in which the first time may as well lie, ``am`` or ``pm``; None where the clock is sure.
    `is_twelve` is True where the times were read as those of a 12-hour clock.
    """

    wall: Numbers
    other_half: Literal["am", "pm"] | None
    is_twelve: bool
    findings: tuple[Finding, ...]


def is_newest_first(column: StampColumn, days: Numbers) -> bool:
    """Return whether a column runs back in time; never where only some of its rows carry a date."""
    timed = _timed(column, days)
    clock = np.nan_to_num(column.seconds[timed])
    day = days[timed]
    if np.isfinite(day).all():
        return goes_back(day * DAY + clock)
    if np.isfinite(day).any():
        return False
    # On a dial, the shorter way round, and no long way as a rule: that of 12 hours comes round twice a day.
    dials = (DAY, HALF_DAY) if _may_be_twelve(column, np.flatnonzero(timed)) else (DAY,)
    for dial in dials:
        steps = (np.diff(clock) + dial / 2) % dial - dial / 2
        steps = steps[steps != 0]
        if len(steps) > 1 and np.median(np.abs(steps)) <= dial / 4 and (steps < 0).mean() >= MOSTLY:
            return True
    return False


def goes_back(at: Numbers) -> bool:
    """Return whether times run back, from the newest to the oldest, but for a few."""
    steps = np.diff(at)
    steps = steps[steps != 0]
    return len(steps) > 1 and float((steps < 0).mean()) >= MOSTLY


def walk(column: StampColumn, days: Numbers, rows: Any, file: str, day: float, clock_starts: str | None) -> Walk:
    """Put the times of a column on days.

    Parameters
    ----------
    days
        Days since 1970-01-01, NaN where a time carries no date.
    day
        Day of clock times before the first date.
    clock_starts
        ``am`` or ``pm``: a 12-hour clock without am and pm that begins in this half of the day.

    Raises
    ------
    LogFileError
        If a clock falls back twice within half a day, or a 12-hour clock passes noon twice in a day.
    """
    timed = np.flatnonzero(_timed(column, days))
    wall = np.full(len(column), np.nan)
    if not len(timed):
        return Walk(wall, None, False, ())
    rows = np.asarray(rows)[timed]
    clock, dates = np.nan_to_num(column.seconds[timed]), days[timed]
    dated = np.isfinite(dates)
    same_day = np.concatenate([[False], dates[1:] == dates[:-1]])
    step = np.concatenate([[0.0], np.diff(clock)])
    may_be_twelve = _may_be_twelve(column, timed)
    is_iso = bool((column.style[timed] == Style.YEAR_FIRST).any())
    falls = (step < -MIDNIGHT_DROP) & (~dated | (same_day & (not is_iso)))
    is_twelve = may_be_twelve and (clock_starts is not None or _passes_noon(clock, step, falls, same_day))
    findings = []
    if clock_starts is not None and not may_be_twelve:
        message = say(
            "clock_starts is not used: the times carry am or pm, an offset, or hours that a 12-hour clock does not have"
        )
        findings.append(Finding("caution", "clock-starts-not-used", message, file, int(rows[0])))
    anchor = dated & ~(same_day & is_twelve)
    since = np.maximum.accumulate(np.where(anchor, np.arange(len(timed)), -1))
    base = np.where(since >= 0, dates[since], day)
    if is_twelve:
        seconds = _twelve_hours(clock, step, dates, anchor, since, clock_starts)
        late = np.flatnonzero(dated & (seconds >= DAY))
        if len(late):
            raise half_open(rows[late[0]], file, "the clock passes noon twice on one date")
        if falls.any() and clock_starts is None:
            first = int(np.flatnonzero(falls)[0])
            message = say(
                "the clock falls from {before} to {now}; read as a 12-hour clock, {after}; write am and pm, or {after}",
                before=clock_text(clock[first - 1]),
                now=clock_text(clock[first]),
                after=clock_text(seconds[first]),
            )
            findings.append(Finding("caution", "twelve-hour-clock", message, file, int(rows[first])))
    else:
        falls &= ~dated
        _refuse_jumps(clock, step, dated, since, rows, file)
        nights = np.cumsum(falls)
        seconds = clock + DAY * np.where(since >= 0, nights - nights[since], nights)
    findings += _midnights(seconds, base, clock, dated, rows, file)
    wall[timed] = base * DAY + seconds
    is_open = may_be_twelve and not is_iso and clock_starts is None and bool((clock >= HOUR).all())
    other: Literal["am", "pm"] | None = "am" if clock[0] >= HALF_DAY else "pm"
    return Walk(wall, other if is_open and (is_twelve or not falls.any()) else None, is_twelve, tuple(findings))


def _timed(column: StampColumn, days: Numbers) -> npt.NDArray[np.bool_]:
    return np.asarray(column.is_read & (~has_date(column) | np.isfinite(days)))


def _may_be_twelve(column: StampColumn, timed: npt.NDArray[np.int64]) -> bool:
    """Return whether the clock may be one of 12 hours that leaves out am and pm: no hour of it tells."""
    clock = column.seconds[timed]
    clock = clock[np.isfinite(clock)]
    if not len(clock) or column.has_half[timed].any() or np.isfinite(column.offset[timed]).any():
        return False
    has_zero_hour, has_noon = bool((clock < HOUR).any()), bool((clock >= HALF_DAY).any())
    return bool((clock < 13 * HOUR).all()) and not (has_zero_hour and has_noon)


def _passes_noon(clock: Numbers, step: Numbers, falls: Any, same_day: Any) -> bool:
    """Return whether the first fall of the clock is that of a 12-hour clock: 12:50 is followed by 1:10."""
    if not falls.any():
        return False
    first = int(np.flatnonzero(falls)[0])
    dated_fall = falls & same_day
    # Rows with a date may simply be out of order, so of them all falls must be small steps over noon.
    is_clear = bool((step[dated_fall] <= OVER_NOON - HALF_DAY).all() and (step[same_day & ~falls] >= 0).all())
    return bool(clock[first - 1] >= BEFORE_NOON) and (
        not dated_fall.any() or (is_clear and bool((clock >= HOUR).all()))
    )


def _twelve_hours(
    clock: Numbers, step: Numbers, dates: Numbers, anchor: Any, since: Any, clock_starts: str | None
) -> Numbers:
    """Return seconds since midnight of the day of each stretch, from the faces of a 12-hour clock."""
    face = clock % HALF_DAY
    turn = np.concatenate([[0.0], np.diff(face)])
    # A row or two out of order just at noon go back over it.
    back = (turn > MIDNIGHT_DROP) & (step < 0) & (step > -MIDNIGHT_DROP)
    turns = np.where(anchor, 0, (turn < -MIDNIGHT_DROP).astype(int) - back.astype(int))
    halves = np.cumsum(turns)
    halves = np.where(since >= 0, halves - halves[since], halves)
    # 12:10 at the head of a new date is just after midnight if the evening before was logged, else after noon.
    after_evening = np.concatenate([[False], (dates[1:] == dates[:-1] + 1) & (clock[:-1] >= MIDNIGHT_DROP)])
    start = ((clock >= HALF_DAY) & ~after_evening).astype(int)
    start[0] = {"am": 0, "pm": 1}.get(clock_starts or "", start[0])
    return np.asarray(face + HALF_DAY * (start[np.maximum(since, 0)] + halves))


def _refuse_jumps(clock: Numbers, step: Numbers, dated: Any, since: Any, rows: Any, file: str) -> None:
    """Refuse a clock that falls back twice within half a day: it cannot have passed midnight both times."""
    jumps = np.flatnonzero((step < -LEAST_JUMP) & ~dated)
    if len(jumps) < 2:
        return
    one, two = jumps[:-1], jumps[1:]
    near = (clock[two - 1] - clock[one] < HALF_DAY) & (since[one] == since[two])
    near &= (step[one] < -MIDNIGHT_DROP) | (step[two] < -MIDNIGHT_DROP)
    if near.any():
        first = int(np.flatnonzero(near)[0])
        a, b = int(one[first]), int(two[first])
        raise LogFileError(
            "clock-jumps",
            f"{file}, row {rows[b]}: the clock falls from {clock_text(clock[b - 1])} to {clock_text(clock[b])}, and "
            f"from {clock_text(clock[a - 1])} to {clock_text(clock[a])} in row {rows[a]}, with less than half a day "
            "between.\n"
            "It cannot have passed midnight both times: write the date with each time, like 2026-03-14 09:05.",
            file=file,
            row=int(rows[b]),
        )


def _midnights(seconds: Numbers, base: Numbers, clock: Numbers, dated: Any, rows: Any, file: str) -> list[Finding]:
    """Return what is to be said of the midnights that clock times without a date pass."""
    day = base + np.floor(seconds / DAY)
    new = np.concatenate([[False], (day[1:] > day[:-1]) & (clock[1:] < clock[:-1])]) & ~dated
    found = []
    passed = np.flatnonzero(new)
    for i in passed[:MOST_MIDNIGHTS]:
        message = say(
            "the clock falls from {before} to {now}; read as the next day, {day}",
            before=clock_text(clock[i - 1]),
            now=clock_text(clock[i]),
            day=day_of(day[i]),
        )
        found.append(Finding("note", "midnight-passed", message, file, int(rows[i])))
    if len(passed) > MOST_MIDNIGHTS:
        rest = passed[MOST_MIDNIGHTS:]
        message = say("the clock passes midnight {n} more times, the last time here", n=len(rest))
        found.append(Finding("note", "midnight-passed", message, file, int(rows[rest[-1]])))
    return found


def half_open(row: int, file: str, why: str) -> LogFileError:
    """Return the error of a 12-hour clock whose half of the day nothing tells."""
    return LogFileError(
        "half-day-open",
        f"{file}, row {row}: {why}, and the times carry neither am nor pm.\n"
        f'Add to trial.toml:  [files."{file}"]  and below it  clock_starts = "am"  (or "pm").',
        file=file,
        row=int(row),
    )


def clock_text(seconds: float) -> str:
    """Return a time of day as HH:MM."""
    minutes = int(seconds // 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"

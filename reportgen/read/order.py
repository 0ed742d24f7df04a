"""The days of a column of times: whether a date is day, month or year first, and the year where none is written."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import numpy.typing as npt

from reportgen.errors import LogFileError
from reportgen.message import say
from reportgen.read.stamp_columns import StampColumn
from reportgen.read.stamps import FIXED, ORDERS, SHORT_YEARS, YEARS, Style
from reportgen.trial import Finding, Numbers

#: Two readings of an open date are told apart by the trial's date if only one lies this near to it (ours) [d].
NEAR_TRIAL = 10
#: Dates run evenly if they go on within so long (ours) [d] ...
EVEN = 2.0
#: ... and jump if they go on only after so long: a month, less the days that a log may pause (ours) [d].
JUMP = 20.0
#: A single change of date tells of the order only if it comes no later than so many usual steps (ours).
USUAL_STEPS = 10
#: A date that falls back by more than this many months of 31 days belongs to the next year.
TURN_OF_YEAR = 6 * 31
_ALL = ("day first", "month first", "year first")
_EPOCH = dt.date(1970, 1, 1)


def day_number(day: dt.date) -> int:
    """Return the days since 1970-01-01."""
    return (day - _EPOCH).days


def day_of(number: float) -> dt.date:
    """Return the date of a number of days since 1970-01-01."""
    return _EPOCH + dt.timedelta(days=int(number))


def has_date(column: StampColumn) -> npt.NDArray[np.bool_]:
    """Return which times carry a date, with or without a year."""
    return np.asarray(column.is_read & (column.style != Style.NONE))


def has_no_year(column: StampColumn) -> npt.NDArray[np.bool_]:
    """Return which times carry a date that lacks its year."""
    return np.asarray(has_date(column) & (column.year < 0))


def days(column: StampColumn, order: str | None, years: npt.NDArray[np.int64] | None = None) -> Numbers:
    """Return the days since 1970-01-01 of the dates, read in an order; NaN where there is none.

    `years` stand in for those that are not written.
    """
    orders = np.full(len(Style), -1)
    for style in Style:
        default = ORDERS.get(style, (None,))[0]
        # Only dates with points and a year of four digits have an order of their own that can be overruled.
        chosen = order if order is not None else default
        if style == Style.NAMED:
            chosen = "day first"
        elif style in (Style.NONE, Style.YEAR_FIRST) or (
            chosen == "year first" and style in (Style.YEARLESS, Style.YEARLESS_POINTS)
        ):
            chosen = "month first"
        elif chosen == "year first" and style not in SHORT_YEARS:
            continue  # the year stands last
        orders[style] = _ALL.index(chosen) if chosen else 0
    how = orders[column.style]
    year = column.year if years is None else np.where(column.year < 0, years, column.year)
    year_first = how == 2
    month = np.where(how == 1, column.first, column.second)
    day = np.where(how == 1, column.second, column.first)
    day = np.where(year_first, year - 2000, day)
    year = np.where(year_first, 2000 + column.first, year)
    good = has_date(column) & (how >= 0) & (month >= 1) & (month <= 12) & (day >= 1) & (day <= 31)
    good &= (year >= YEARS[0]) & (year <= YEARS[-1])
    months = np.where(good, (year - 1970) * 12 + month - 1, 0).astype("datetime64[M]")
    dates = months.astype("datetime64[D]") + np.where(good, day - 1, 0)
    good &= dates.astype("datetime64[M]") == months  # no 31 February
    return np.where(good, dates.astype(np.int64).astype(float), np.nan)


def choose_order(
    column: StampColumn, rows: Any, file: str, date: dt.date | None, stated: str | None
) -> tuple[str | None, list[Finding]]:
    """Return how the open dates of a column are ordered, and what to say of it.

    The dates decide by themselves where only one order gives dates at all; else the date of the trial, if it lies near
    in one order only; else the run of the dates, if it is even in one order and jumps by months in the others.

    Raises
    ------
    LogFileError
        If nothing decides, or the dates contradict each other.
    """
    if stated is not None:
        return stated, []
    open_ones = np.flatnonzero(has_date(column) & ~np.isin(column.style, (*FIXED, Style.POINTS, Style.YEARLESS_POINTS)))
    if not len(open_ones):
        return None, []
    styles = [Style(int(style)) for style in np.unique(column.style[open_ones])]
    likely = [order for order in _ALL if all(order in ORDERS[style] for style in styles)]
    unlikely = ["year first"] if styles == [Style.SHORT_SLASHES] else []
    read = {order: days(column, order, _years(column, order, date, None))[open_ones] for order in (*likely, *unlikely)}
    usable = np.logical_or.reduce([np.isfinite(numbers) for numbers in read.values()])
    open_ones = open_ones[usable]
    if not len(open_ones):
        return None, []
    read = {order: numbers[usable] for order, numbers in read.items()}
    fitting = [order for order, numbers in read.items() if np.isfinite(numbers).all()]
    if not fitting:
        raise _contradiction(column, open_ones, read, rows, file)
    plain = [order for order in fitting if order in likely]
    if len(fitting) == 1 or not any((read[order] != read[fitting[0]]).any() for order in fitting):
        return fitting[0], []
    # The first date that the orders read differently shows what was decided.
    differs = np.logical_or.reduce([read[order] != read[fitting[0]] for order in fitting])
    shown = int(open_ones[int(np.flatnonzero(differs)[0])])
    near = _by_trial(read, plain, fitting, date)
    chosen = near or _by_run(column, open_ones, read, fitting) or (plain[0] if len(plain) == 1 else None)
    if chosen is None:
        raise _open(column.stamp(shown).date_text, int(rows[shown]), file, plain or fitting)
    if plain == [chosen]:
        return chosen, []
    message = say(
        "the date {written} is read as {order}, like all dates of the file, because only so do they follow each other "
        'evenly; if that is wrong, add date_order under [files."{file}"]',
        written=column.stamp(shown).date_text,
        order=chosen,
        file=file,
    )
    if near is not None and date is not None:
        message = say(
            "the date {written} is read as {order}, like all dates of the file, because only so do they lie near "
            "{day}, the date of the trial",
            written=column.stamp(shown).date_text,
            order=chosen,
            day=date,
        )
    return chosen, [Finding("note", "date-order", message, file, int(rows[shown]))]


def _by_trial(read: dict[str, Numbers], plain: list[str], fitting: list[str], date: dt.date | None) -> str | None:
    """Return the one order in which dates lie near the date of the trial, if there is one."""
    if date is None:
        return None
    near = [order for order in fitting if (np.abs(read[order] - day_number(date)) <= NEAR_TRIAL).any()]
    first = [order for order in near if order in plain] or near
    return first[0] if len(first) == 1 else None


def _by_run(
    column: StampColumn, chosen: npt.NDArray[np.int64], read: dict[str, Numbers], fitting: list[str]
) -> str | None:
    """Return the one order in which the dates run evenly where they jump by months in all others."""
    written = np.stack([column.year[chosen], column.first[chosen], column.second[chosen]])
    changed = (np.diff(written) != 0).any(axis=0)
    if not changed.any():
        return None
    clock = np.nan_to_num(column.seconds[chosen]) / 86400.0
    steps = {order: np.diff(read[order] + clock) for order in fitting}
    within = np.abs(np.diff(clock)[~changed])
    usual = float(np.median(within)) if len(within) >= 3 else 0.0
    even = []
    for order, step in steps.items():
        over = step[changed]
        if (over > 0).all() or (over < 0).all():
            longest = float(np.abs(over).max())
            told = len(over) > 1 or longest <= USUAL_STEPS * usual
            if told and float(np.median(np.abs(over))) <= EVEN and longest < JUMP:
                even.append(order)
    others = [order for order in fitting if order not in even]
    jump = all(float(np.median(np.abs(steps[order][changed]))) >= JUMP for order in others)
    return even[0] if len(even) == 1 and jump else None


def _open(written: str, row: int, file: str, plain: list[str]) -> LogFileError:
    others = " or ".join(f'"{order}"' for order in plain[1:])
    return LogFileError(
        "date-order-open",
        f"{file}, row {row}: the date {written} may be {' or '.join(plain)}.\n"
        f'Add to trial.toml:  [files."{file}"]  and below it  date_order = "{plain[0]}"  (or {others}).',
        file=file,
        row=row,
    )


def _contradiction(
    column: StampColumn, chosen: npt.NDArray[np.int64], read: dict[str, Numbers], rows: Any, file: str
) -> LogFileError:
    fits = {order: np.isfinite(numbers) for order, numbers in read.items()}
    first = int(np.flatnonzero(~next(iter(fits.values())))[0])
    ways = [order for order in fits if fits[order][first]]
    # Another date that cannot be read in the ways of the first.
    second = int(np.flatnonzero(~fits[ways[0]])[0])
    others = [order for order in fits if fits[order][second]]
    one, two = chosen[first], chosen[second]
    return LogFileError(
        "date-order-contradicts",
        f"{file}, row {rows[one]}: the date {column.stamp(one).date_text} can only be {' or '.join(ways)}, "
        f"but {column.stamp(two).date_text} in row {rows[two]} only {' or '.join(others)}.\n"
        "Write all dates like 2026-03-14.",
        file=file,
        row=int(rows[one]),
    )


def fill_years(
    column: StampColumn, order: str | None, rows: Any, file: str, date: dt.date | None, stated: int | None
) -> tuple[npt.NDArray[np.int64] | None, list[Finding]]:
    """Return the years of the dates that lack one, and what to say of them.

    It is the stated year, or that in which the dates lie nearest the date of the trial, or the nearest to the first
    date of the file that carries one; dates that fall back by half a year are of the next.

    Raises
    ------
    LogFileError
        If no year is known.
    """
    bare = has_no_year(column)
    if not bare.any():
        return None, []
    first = int(np.flatnonzero(bare)[0])
    if date is None and stated is None:
        full = days(column, order)
        if not np.isfinite(full).any():
            raise LogFileError(
                "year-missing",
                f"{file}, row {rows[first]}: the date {column.stamp(first).date_text} carries no year.\n"
                f'Add to trial.toml:  [files."{file}"]  and below it  year = …  (or date = … at the top).',
                file=file,
                row=int(rows[first]),
            )
        date = day_of(full[np.isfinite(full)][0])
    years = _years(column, order, date, stated)
    found = np.unique(years[bare])
    turned = len(found) > 1
    later = int(np.flatnonzero(bare & (years == found[-1]))[0])
    message = say("the dates carry no year; read as of {year}", year=int(found[0]))
    if turned:
        message = say(
            "the dates carry no year; read as of {year}, and as of {next} from row {row} on",
            year=int(found[0]),
            next=int(found[-1]),
            row=int(rows[later]),
        )
    return years, [Finding("note", "year-taken", message, file, int(rows[first]))]


def _years(column: StampColumn, order: str | None, date: dt.date | None, stated: int | None) -> npt.NDArray[np.int64]:
    """Return a year for each date that lacks one; a leap year where nothing is known."""
    bare = np.flatnonzero(has_no_year(column))
    years = np.full(len(column), 2000, dtype=np.int64)
    if not len(bare) or (date is None and stated is None):
        return years
    named = column.style[bare] == Style.NAMED
    month_first = ~named & (order in ("month first", "year first"))
    month = np.where(month_first, column.first[bare], column.second[bare])
    day = np.where(month_first, column.second[bare], column.first[bare])
    step = np.diff(month * 31 + day)
    turns = np.concatenate([[0], np.cumsum((step < -TURN_OF_YEAR).astype(int) - (step > TURN_OF_YEAR).astype(int))])
    if stated is not None:
        years[bare] = stated + turns
        return years
    assert date is not None

    def distance(first: int) -> float:
        years[bare] = first + turns
        read = days(column, order, years)[bare]
        return float(np.nanmin(np.abs(read - day_number(date)))) if np.isfinite(read).any() else np.inf

    around = range(date.year - 1 - int(turns.max()), date.year + 2 - int(turns.min()))
    best = min(around, key=distance)
    years[bare] = best + turns
    return years

"""Wall-clock text to seconds since 1970-01-01 00:00 UTC. What cannot be read in one way only is refused, not guessed."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from reportgen.errors import LogFileError
from reportgen.message import say
from reportgen.trial import Finding, Numbers

#: Date taken for clock times where no date is known at all; the trial then counts as undated.
NO_DATE = dt.date(2000, 1, 1)
#: A clock that falls back by more than this has passed midnight; by less, a row is out of order (ours).
MIDNIGHT_DROP = dt.timedelta(hours=6)
#: Two readings of an ambiguous date are told apart by the trial's date if only one lies this near to it (ours).
NEAR_TRIAL = dt.timedelta(days=10)
DAY = 86400.0

_ISO = re.compile(
    r"(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})(?:[T ]+(?P<clock>.+?))?(?P<zone>Z|[+-]\d\d:?\d\d)?", re.I
)
_OTHER_DATE = re.compile(r"(?P<a>\d{1,2})(?P<mark>[-/.])(?P<b>\d{1,2})[-/.](?P<y>\d{4}|\d\d)(?:[T ,]+(?P<clock>.+))?")
_CLOCK = re.compile(
    r"(?P<h>\d{1,2})(?:[:hH](?P<m>\d\d)?(?::(?P<s>\d\d(?:\.\d+)?))?|(?P<mm>\d\d))\s*(?P<half>[aApP]\.?[mM]\.?)?|"
    r"(?P<h12>\d{1,2})\s*(?P<half12>[aApP]\.?[mM]\.?)"
)


@dataclass(frozen=True)
class Moments:
    """Times of rows [s since 1970 UTC], NaN where a cell was blank or could not be read; and what was noticed."""

    at: Numbers
    dated: bool
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Stamp:
    """A cell taken apart: a date as year, and two numbers whose order may be open; and seconds of the day."""

    year: int | None
    first: int
    second: int
    order: str | None
    seconds: float
    offset: float | None
    has_half: bool


def parse_clock(text: str) -> float | None:
    """Return the seconds since midnight of ``09:05``, ``9:05 pm``, ``0905``, ``9h05``; None if it is no clock time."""
    stamp = _clock_parts(text)
    return None if stamp is None else stamp[0]


def parse_moments(
    cells: Sequence[str] | Any, rows: Any, file: str, zone: dt.tzinfo, date: dt.date | None, date_order: str | None
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

    Raises
    ------
    LogFileError
        If dates may be day first or month first and nothing decides.
    """
    texts = pd.Series(cells, dtype="object").str.strip()
    fast = _fast_iso(texts, zone)
    if fast is not None:
        return Moments(fast, True, ())
    stamps = [_stamp(text) if text else None for text in texts]
    findings = [
        Finding(
            "caution", "time-not-read", say('"{text}" is no time that can be read; the row is not used', text=text[:40]),
            file, int(row),
        )
        for text, stamp, row in zip(texts, stamps, rows, strict=True)
        if text and stamp is None
    ]  # fmt: skip
    order = _date_order(stamps, rows, file, date, date_order)
    at, dated = np.full(len(stamps), np.nan), True
    day, previous = date or NO_DATE, -1.0
    has_half = any(stamp is not None and stamp.has_half for stamp in stamps)
    largest = max((s.seconds for s in stamps if s is not None), default=0.0)
    shift = 0.0
    for i, stamp in enumerate(stamps):
        if stamp is None:
            continue
        seconds = stamp.seconds
        if stamp.year is None:
            dated = dated and date is not None
            seconds += shift
            if previous - seconds > MIDNIGHT_DROP.total_seconds():
                if not has_half and largest < 13 * 3600 and shift == 0 and previous >= 9 * 3600:
                    # A 12-hour clock without am and pm: 12:50 is followed by 1:10, which is 13:10.
                    shift = 12 * 3600.0
                    seconds += shift
                    findings.append(Finding("caution", "twelve-hour-clock", say(
                        'the clock falls from {before} to {now}; read as a 12-hour clock, afternoon from here on',
                        before=_hm(previous), now=_hm(stamp.seconds)), file, int(rows[i])))  # fmt: skip
                else:
                    day += dt.timedelta(days=1)
                    seconds, shift = stamp.seconds, 0.0
                    findings.append(Finding("note", "midnight-passed", say(
                        "the clock falls from {before} to {now}; read as the next day, {day}",
                        before=_hm(previous), now=_hm(stamp.seconds), day=day.isoformat()),
                        file, int(rows[i])))  # fmt: skip
            previous = seconds
            at[i] = to_utc(day, seconds, zone)
            continue
        when = _date_of(stamp, order)
        if when is None:
            findings.append(Finding(
                "caution", "time-not-read", say('"{text}" is no date of the calendar; the row is not used',
                text=str(texts.iloc[i])[:40]), file, int(rows[i])))  # fmt: skip
            continue
        day, previous, shift = when, seconds, 0.0
        at[i] = to_utc(when, seconds, zone) if stamp.offset is None else _midnight_utc(when) + seconds - stamp.offset
    return Moments(at, dated, tuple(findings))


def to_utc(day: dt.date, seconds: float, zone: dt.tzinfo) -> float:
    """Return wall-clock `seconds` of `day` in `zone` as seconds since 1970 UTC (the earlier one where two are meant)."""
    wall = dt.datetime.combine(day, dt.time(), tzinfo=zone) + dt.timedelta(seconds=seconds)
    return wall.timestamp()


def parse_stated(value: str | dt.time | dt.datetime, zone: dt.tzinfo, date: dt.date | None) -> tuple[float, bool] | None:
    """Return (seconds since 1970 UTC, whether a date is known) for a moment of `trial.toml`; None if unreadable.

    A date in day/month order that could be meant in two ways is unreadable.
    """
    if isinstance(value, dt.datetime):
        return (value if value.tzinfo else value.replace(tzinfo=zone)).timestamp(), True
    if isinstance(value, dt.time):
        seconds = value.hour * 3600.0 + value.minute * 60 + value.second + value.microsecond / 1e6
        return to_utc(date or NO_DATE, seconds, zone), date is not None
    stamp = _stamp(value.strip())
    if stamp is None:
        return None
    if stamp.year is None:
        return to_utc(date or NO_DATE, stamp.seconds, zone), date is not None
    order = stamp.order or ("day first" if stamp.first > 12 else "month first" if stamp.second > 12 else None)
    when = _date_of(stamp, order) if order else None
    if when is None:
        return None
    return (to_utc(when, stamp.seconds, zone) if stamp.offset is None else _midnight_utc(when) + stamp.seconds - stamp.offset), True


def _fast_iso(texts: pd.Series[Any], zone: dt.tzinfo) -> Numbers | None:
    """Return the times of a column that is wholly ISO 8601, read at once; None if it is not."""
    filled = texts != ""
    head = texts[filled].iloc[:5]
    if not len(head) or not all(_ISO.fullmatch(text) and "." not in text[:10] and "/" not in text[:10] for text in head):
        return None
    try:
        stamps = pd.to_datetime(texts.where(filled, None), format="ISO8601", errors="raise")
    except (ValueError, TypeError):
        return None
    if not isinstance(stamps.dtype, pd.DatetimeTZDtype):
        if stamps.dtype == object:
            return None
        try:
            stamps = stamps.dt.tz_localize(str(zone), ambiguous="raise", nonexistent="raise")
        except ValueError:
            return None
    zero = pd.Timestamp("1970-01-01", tz="UTC")
    return ((stamps.dt.tz_convert("UTC") - zero) / pd.Timedelta("1s")).to_numpy(dtype=float)


def _stamp(text: str) -> _Stamp | None:
    iso = _ISO.fullmatch(text)
    if iso is not None:
        clock = _clock_parts(iso["clock"]) if iso["clock"] else (0.0, False)
        if clock is None:
            return None
        return _Stamp(int(iso["y"]), int(iso["m"]), int(iso["d"]), "year first", *clock[:1], _offset(iso["zone"]), clock[1])
    other = _OTHER_DATE.fullmatch(text)
    if other is not None:
        clock = _clock_parts(other["clock"]) if other["clock"] else (0.0, False)
        if clock is None:
            return None
        year = int(other["y"]) + (2000 if len(other["y"]) == 2 else 0)
        # Dates with points are written day first wherever they are used (common practice, no source).
        order = "day first" if other["mark"] == "." else None
        return _Stamp(year, int(other["a"]), int(other["b"]), order, clock[0], None, clock[1])
    clock = _clock_parts(text)
    return None if clock is None else _Stamp(None, 0, 0, None, clock[0], None, clock[1])


def _clock_parts(text: str) -> tuple[float, bool] | None:
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return None
    hour = int(match["h"] or match["h12"])
    minute = int(match["m"] or match["mm"] or 0)
    second = float(match["s"] or 0)
    half = (match["half"] or match["half12"] or "").lower()
    if half and not 1 <= hour <= 12:
        return None
    if half:
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    if hour > 24 or minute > 59 or second >= 61 or (hour == 24 and (minute or second)):
        return None
    return hour * 3600.0 + minute * 60 + second, bool(half)


def _date_order(
    stamps: list[_Stamp | None], rows: Any, file: str, date: dt.date | None, stated: str | None
) -> str | None:
    """Return how the open dates of a column are ordered; raise if nothing tells."""
    if stated is not None:
        return stated
    open_ones = [(s, row) for s, row in zip(stamps, rows, strict=True) if s is not None and s.year and s.order is None]
    if not open_ones:
        return None
    possible = [order for order in ("day first", "month first") if all(_date_of(s, order) for s, _ in open_ones)]
    if len(possible) == 2 and date is not None:
        near = [
            order for order in possible
            if any(abs(when - date) <= NEAR_TRIAL for s, _ in open_ones if (when := _date_of(s, order)) is not None)
        ]  # fmt: skip
        possible = near if len(near) == 1 else possible
    if len(possible) == 2 and all(s.first == s.second for s, _ in open_ones):
        possible = possible[:1]
    if len(possible) == 1:
        return possible[0]
    stamp, row = open_ones[0]
    raise LogFileError(
        f"{file}, row {row}: the date {stamp.first}/{stamp.second}/{stamp.year} may be day first or month first.\n"
        f'Add to trial.toml:  [files."{file}"]  and below it  date_order = "day first"  (or "month first").'
    )


def _date_of(stamp: _Stamp, order: str | None) -> dt.date | None:
    order = stamp.order or order
    month, day = (stamp.second, stamp.first) if order == "day first" else (stamp.first, stamp.second)
    try:
        return dt.date(stamp.year or 1, month, day)
    except ValueError:
        return None


def _offset(text: str | None) -> float | None:
    if not text:
        return None
    if text in "Zz":
        return 0.0
    digits = text[1:].replace(":", "")
    return (1 if text[0] == "+" else -1) * (int(digits[:2]) * 3600.0 + int(digits[2:]) * 60)


def _midnight_utc(day: dt.date) -> float:
    return (day - dt.date(1970, 1, 1)).days * DAY


def _hm(seconds: float) -> str:
    minutes = int(seconds // 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"

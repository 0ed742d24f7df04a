"""Wall-clock text to seconds since 1970-01-01 00:00 UTC. What cannot be read in one way only is refused."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from reportgen.errors import LogFileError
from reportgen.message import say, say_counted
from reportgen.read.stamps import ISO, YEARS, Stamp, parse_stamp, with_colon
from reportgen.trial import Finding, Numbers

#: Date taken for clock times where no date is known at all; the trial then counts as undated.
NO_DATE = dt.date(2000, 1, 1)
#: A clock that falls back by more than this has passed midnight; by less, a row is out of order (ours) [s].
MIDNIGHT_DROP = 6 * 3600.0
#: Two readings of an open date are told apart by the trial's date if only one lies this near to it (ours).
NEAR_TRIAL = dt.timedelta(days=10)
DAY = 86400.0
HALF_DAY = 43200.0
#: What a date such as 04/05/2026 may mean.
ORDERS = ("day first", "month first")


@dataclass(frozen=True)
class Moments:
    """Times of rows [s since 1970 UTC], NaN where a cell was blank or not to be read; and what was noticed.

    `dated` is False where clock times stand without any date to put them on.
    """

    at: Numbers
    dated: bool
    findings: tuple[Finding, ...]


def parse_moments(
    cells: Sequence[str] | Any,
    rows: Any,
    file: str,
    zone: dt.tzinfo,
    date: dt.date | None,
    date_order: str | None,
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
    read, pointed = _with_colons(texts, rows, file)
    stamps = [parse_stamp(text) if text else None for text in read]
    order, ordered = _date_order(stamps, rows, file, date, date_order)
    days = [s.date(date_order if s.order else order) if s is not None and s.year is not None else None for s in stamps]
    unread = [
        i
        for i, (text, stamp) in enumerate(zip(texts, stamps, strict=True))
        if text and (stamp is None or (stamp.year is not None and days[i] is None))
    ]
    findings = _unread(unread, texts, rows, file)
    for i in unread:
        stamps[i] = None
    date = date or next((day for day in days if day is not None), None)
    at, moved = _walk(stamps, days, rows, file, zone, date or NO_DATE)
    is_dated = date is not None or all(stamp is None for stamp in stamps)
    return Moments(at, is_dated, (*pointed, *ordered, *findings, *moved))


def _with_colons(texts: pd.Series[Any], rows: Any, file: str) -> tuple[list[str], list[Finding]]:
    """Return the texts, ``9.05`` as ``9:05`` where all that are written so can be clock times, and what to say."""
    read = [str(text) for text in texts]
    colons = {i: colon for i, text in enumerate(read) if (colon := with_colon(text)) is not None}
    if not colons or not all(colons.values()):
        return read, []
    first = next(iter(colons))
    message = say_counted(
        len(colons),
        'the time "{text}" is read as {colon}, hours and minutes',
        '{n} times such as "{text}" are read as hours and minutes, {colon}',
        text=read[first][:40],
        colon=colons[first][:40],
    )
    finding = Finding("note", "clock-with-point", message, file, int(rows[first]))
    return [colons.get(i, text) for i, text in enumerate(read)], [finding]


def _walk(
    stamps: list[Stamp | None],
    days: list[dt.date | None],
    rows: Any,
    file: str,
    zone: dt.tzinfo,
    day: dt.date,
) -> tuple[Numbers, list[Finding]]:
    """Return the times of the stamps in the order of the file, where clock times pass noon and midnight."""
    at, findings = np.full(len(stamps), np.nan), []
    previous, shift = -1.0, 0.0
    can_pass_noon = not any(s.has_half or (s.seconds or 0.0) >= 13 * 3600 for s in stamps if s is not None)
    changes = _ClockChanges(zone)
    for i, stamp in enumerate(stamps):
        if stamp is None:
            continue
        written = stamp.seconds or 0.0
        seconds = written
        dated = days[i]
        if dated is not None:
            day, shift = dated, 0.0
        else:
            seconds += shift
            if previous - seconds > MIDNIGHT_DROP:
                if can_pass_noon and shift == 0 and previous >= 9 * 3600:
                    # A 12-hour clock without am and pm: 12:50 is followed by 1:10, which is 13:10.
                    shift = HALF_DAY
                    seconds += shift
                    findings.append(
                        Finding(
                            "caution",
                            "twelve-hour-clock",
                            say(
                                "the clock falls from {before} to {now}; read as a 12-hour clock, afternoon; write am "
                                "and pm, or {after}",
                                before=_hm(previous),
                                now=_hm(written),
                                after=_hm(seconds),
                            ),
                            file,
                            int(rows[i]),
                        )
                    )
                else:
                    day += dt.timedelta(days=1)
                    seconds, shift = written, 0.0
                    findings.append(
                        Finding(
                            "note",
                            "midnight-passed",
                            say(
                                "the clock falls from {before} to {now}; read as the next day, {day}",
                                before=_hm(previous),
                                now=_hm(written),
                                day=day.isoformat(),
                            ),
                            file,
                            int(rows[i]),
                        )
                    )
        previous = seconds
        if stamp.offset is not None:
            at[i] = changes.previous = _midnight_utc(day) + seconds - stamp.offset
        else:
            at[i] = changes.to_utc(day, seconds, int(rows[i]))
    return at, findings + changes.findings(file)


class _ClockChanges:
    """Wall-clock times, also in the hours that a summer-time change skips or repeats."""

    def __init__(self, zone: dt.tzinfo) -> None:
        self.zone = zone
        self.previous = -np.inf
        #: Days around which the zone keeps its offset.
        self.quiet_days: set[dt.date] = set()
        self.repeated: list[int] = []
        self.skipped: list[int] = []

    def to_utc(self, day: dt.date, seconds: float, row: int) -> float:
        """Return seconds since 1970 UTC; of two possible ones the first that does not go back."""
        early = late = _to_utc(day, seconds, self.zone, 0)
        if day not in self.quiet_days:
            late = _to_utc(day, seconds, self.zone, 1)
            before, after = (_to_utc(day, edge, self.zone, 0) for edge in (-HALF_DAY, DAY + HALF_DAY))
            if after - before == 2 * DAY:
                self.quiet_days.add(day)
        if late > early:
            self.repeated.append(row)
        elif late < early:
            self.skipped.append(row)
        at = late if late > early and early < self.previous <= late else early
        self.previous = at
        return at

    def findings(self, file: str) -> list[Finding]:
        """Return what a reader must know of the change."""
        found = []
        if self.repeated:
            found.append(
                Finding(
                    "note",
                    "clock-set-back",
                    say_counted(
                        len(self.repeated),
                        "this row lies in an hour that the change of summer time repeats; taken in the order of the "
                        "rows, the first time round where nothing tells",
                        "{n} rows lie in an hour that the change of summer time repeats; taken in the order of the "
                        "rows, the first time round where nothing tells",
                    ),
                    file,
                    self.repeated[0],
                )
            )
        if self.skipped:
            found.append(
                Finding(
                    "caution",
                    "clock-not-set-forward",
                    say_counted(
                        len(self.skipped),
                        "this row lies in an hour that the change of summer time skips; read as if the clock had not "
                        "been set forward yet; is time_zone right?",
                        "{n} rows lie in an hour that the change of summer time skips; read as if the clock had not "
                        "been set forward yet; is time_zone right?",
                    ),
                    file,
                    self.skipped[0],
                )
            )
        return found


def to_utc(day: dt.date, seconds: float, zone: dt.tzinfo) -> float:
    """Return wall-clock `seconds` of `day` in `zone` as seconds since 1970 UTC, the earlier of two."""
    return _to_utc(day, seconds, zone, 0)


def _to_utc(day: dt.date, seconds: float, zone: dt.tzinfo, fold: int) -> float:
    wall = dt.datetime.combine(day, dt.time(), tzinfo=zone) + dt.timedelta(seconds=seconds)
    return wall.replace(fold=fold).timestamp()


def parse_stated(
    value: str | dt.time | dt.datetime, zone: dt.tzinfo, date: dt.date | None
) -> tuple[float, bool] | None:
    """Return (seconds since 1970 UTC, whether a date is known) for a stated moment; None if unreadable.

    A date that may be day first or month first is unreadable, and so is a date without a clock time.
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
    if stamp.year is None:
        return to_utc(date or NO_DATE, stamp.seconds, zone), date is not None
    orders = (stamp.order,) if stamp.order else ORDERS
    possible = {when for order in orders if (when := stamp.date(order)) is not None}
    if len(possible) != 1:
        return None
    when = possible.pop()
    if stamp.offset is not None:
        return _midnight_utc(when) + stamp.seconds - stamp.offset, True
    return to_utc(when, stamp.seconds, zone), True


def _unread(unread: list[int], texts: pd.Series[Any], rows: Any, file: str) -> list[Finding]:
    if not unread:
        return []
    message = say_counted(
        len(unread),
        '"{text}" is no time that can be read; its row is not used; write times like 09:05',
        '{n} cells such as "{text}" are no time that can be read; their rows are not used; write times like 09:05',
        text=str(texts.iloc[unread[0]])[:40],
    )
    return [Finding("caution", "time-not-read", message, file, int(rows[unread[0]]))]


def _fast_iso(texts: pd.Series[Any], zone: dt.tzinfo) -> Numbers | None:
    """Return the times of a column that is wholly ISO 8601, read at once; None if it is not."""
    filled = texts[texts != ""]
    # Shorter texts are clock times, which pandas would take for years.
    if not len(filled) or not filled.str.match(r"\d{4}-\d\d-\d\d").all():
        return None
    if not all(ISO.fullmatch(text) for text in filled.iloc[:5]):
        return None
    try:
        stamps = pd.to_datetime(texts.where(texts != "", None), format="ISO8601", errors="raise")
        if not isinstance(stamps.dtype, pd.DatetimeTZDtype):
            stamps = stamps.dt.tz_localize(str(zone), ambiguous="raise", nonexistent="raise")
    except (ValueError, TypeError, AttributeError, OverflowError):
        return None
    zero = pd.Timestamp("1970-01-01", tz="UTC")
    at = ((stamps.dt.tz_convert("UTC") - zero) / pd.Timedelta("1s")).to_numpy(dtype=np.float64)
    known = at[np.isfinite(at)]
    lowest, highest = (_midnight_utc(dt.date(year, 1, 1)) for year in (YEARS.start, YEARS.stop))
    return np.asarray(at) if known.size and known.min() >= lowest and known.max() < highest else None


def _date_order(
    stamps: list[Stamp | None], rows: Any, file: str, date: dt.date | None, stated: str | None
) -> tuple[str | None, list[Finding]]:
    """Return how the open dates of a column are ordered, and what to say of it; raise if nothing tells."""
    if stated is not None:
        return stated, []
    open_ones = [
        (stamp, row, [order for order in ORDERS if stamp.date(order) is not None])
        for stamp, row in zip(stamps, rows, strict=True)
        if stamp is not None and stamp.year is not None and stamp.order is None
    ]
    open_ones = [entry for entry in open_ones if entry[2]]
    if not open_ones:
        return None, []
    possible = [order for order in ORDERS if all(order in entry[2] for entry in open_ones)]
    if not possible:
        day, month = (next((s, row) for s, row, fits in open_ones if order not in fits) for order in ORDERS)
        raise LogFileError(
            "date-order-contradicts",
            f"{file}, row {day[1]}: the date {day[0].date_text} can only be month first, "
            f"but {month[0].date_text} in row {month[1]} only day first.\nWrite all dates like 2026-03-14.",
            file=file,
            row=int(day[1]),
        )
    if len(possible) == 2 and date is not None:
        near = [
            order
            for order in possible
            if any((when := s.date(order)) and abs(when - date) <= NEAR_TRIAL for s, _, _ in open_ones)
        ]
        if len(near) == 1:
            stamp, row, _ = next(entry for entry in open_ones if entry[0].first != entry[0].second)
            message = say(
                "the date {written} is read as {order}, like all dates of the file, because only so do they lie near "
                "{day}, the date of the trial",
                written=stamp.date_text,
                order=near[0],
                day=date.isoformat(),
            )
            return near[0], [Finding("note", "date-order", message, file, int(row))]
    if len(possible) == 1 or all(stamp.first == stamp.second for stamp, _, _ in open_ones):
        return possible[0], []
    stamp, row, _ = open_ones[0]
    raise LogFileError(
        "date-order-open",
        f"{file}, row {row}: the date {stamp.date_text} may be day first or month first.\n"
        f'Add to trial.toml:  [files."{file}"]  and below it  date_order = "day first"  (or "month first").',
        file=file,
        row=int(row),
    )


def _midnight_utc(day: dt.date) -> float:
    return (day - dt.date(1970, 1, 1)).days * DAY


def _hm(seconds: float) -> str:
    minutes = int(seconds // 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"

"""From the wall clock to seconds since 1970 UTC, through changes of summer time; the zone that a header names."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

from reportgen.message import say_counted
from reportgen.read.stamps import LARGEST_OFFSET
from reportgen.trial import Finding, Numbers

DAY = 86400.0
#: Days around which a zone keeps its offset need no second look; no change reaches further than this [s].
AROUND = 43200.0
#: Offsets change on whole minutes of the wall clock.
MINUTE = 60.0
_EPOCH = dt.datetime(1970, 1, 1)
_NAMED_OFFSET = re.compile(
    r"(?:\b(?:GMT|UTC)\s*(?P<after>[+\-\u2212]\s*\d{1,2}(?::?\d\d)?)?(?![A-Za-z])|^(?P<alone>[+\-\u2212]\d\d:?\d\d)$)"
)
_NAMED_ZONE = re.compile(r"\b[A-Z][A-Za-z_]+(?:/[A-Z][A-Za-z_\-]+){1,2}\b")


def to_utc(seconds: float, zone: dt.tzinfo, fold: int = 0) -> float:
    """Return wall-clock seconds since 1970-01-01 00:00 in a zone as seconds since 1970 UTC.

    In an hour that comes twice `fold` 0 is the first time round.
    """
    wall = (_EPOCH + dt.timedelta(seconds=seconds)).replace(tzinfo=zone, fold=fold)
    return wall.timestamp()


def column_to_utc(
    wall: Numbers, offset: Numbers, rows: Any, file: str, zone: dt.tzinfo
) -> tuple[Numbers, list[Finding]]:
    """Return a column of wall-clock times [s since 1970] as seconds since 1970 UTC, NaN where there is none.

    A time with an offset of its own is read by that. In an hour that comes twice it is the first time round, unless
    that would go back behind the row before.
    """
    own = np.isfinite(offset)
    at = np.where(own, wall - offset, np.nan)
    local = np.flatnonzero(np.isfinite(wall) & ~own)
    if not len(local):
        return at, []
    day, of_day = np.unique(np.floor(wall[local] / DAY), return_inverse=True)
    before, after = (np.array([to_utc(d * DAY + edge, zone) for d in day]) for edge in (-AROUND, DAY + AROUND))
    is_quiet = (after - before == DAY + 2 * AROUND)[of_day]
    shift = np.array([d * DAY - to_utc(d * DAY, zone) for d in day])[of_day]
    at[local] = wall[local] - shift
    changing = local[~is_quiet]
    if not len(changing):
        return at, []
    minute, of_minute = np.unique(np.floor(wall[changing] / MINUTE), return_inverse=True)
    early, late = (np.array([to_utc(m * MINUTE, zone, fold) for m in minute]) for fold in (0, 1))
    rest = wall[changing] - (minute * MINUTE)[of_minute]
    at[changing] = early[of_minute] + rest
    repeated = changing[(late > early)[of_minute]]
    skipped = changing[(late < early)[of_minute]]
    gap = dict(zip(changing, (late - early)[of_minute], strict=True))
    timed = np.flatnonzero(np.isfinite(at))
    place = np.searchsorted(timed, repeated)
    for i, k in zip(repeated, place, strict=True):
        previous = at[timed[k - 1]] if k else -np.inf
        if at[i] < previous <= at[i] + gap[i]:
            at[i] += gap[i]
    return at, _said(repeated, skipped, rows, file)


def _said(repeated: Any, skipped: Any, rows: Any, file: str) -> list[Finding]:
    """Return what a reader must know of a change of summer time."""
    found = []
    if len(repeated):
        message = say_counted(
            len(repeated),
            "this row lies in an hour that the change of summer time repeats; taken in the order of the rows, the "
            "first time round where nothing tells",
            "{n} rows lie in an hour that the change of summer time repeats; taken in the order of the rows, the "
            "first time round where nothing tells",
        )
        found.append(Finding("note", "clock-set-back", message, file, int(rows[repeated[0]])))
    if len(skipped):
        message = say_counted(
            len(skipped),
            "this row lies in an hour that the change of summer time skips; read as if the clock had not been set "
            "forward yet; is time_zone right?",
            "{n} rows lie in an hour that the change of summer time skips; read as if the clock had not been set "
            "forward yet; is time_zone right?",
        )
        found.append(Finding("caution", "clock-not-set-forward", message, file, int(rows[skipped[0]])))
    return found


def zone_in(header: str) -> tuple[str, dt.tzinfo] | None:
    """Return the zone that the header of a time column names, as written and to be used; None where it names none.

    ``Date Time, GMT+02:00``, ``Time (UTC+1)``, ``timestamp [UTC]``, ``time (Indian/Mauritius)``.
    """
    for match in _NAMED_ZONE.finditer(header):
        try:
            return match[0], ZoneInfo(match[0])
        except (ZoneInfoNotFoundError, ValueError, OSError):
            continue
    inside = re.search(r"[\[(]\s*([^\[\]()]*?)\s*[\])]", header)
    for text in (header, inside[1] if inside else ""):
        found = _NAMED_OFFSET.search(text)
        if found is not None:
            written = (found["after"] or found["alone"] or "").replace(" ", "").replace("\u2212", "-")
            if not written:
                return found[0].strip(), dt.UTC
            digits = written[1:].replace(":", "").rjust(2, "0")
            hours, minutes = (digits[:-2], digits[-2:]) if len(digits) > 2 else (digits, "0")
            seconds = (1 if written[0] == "+" else -1) * (int(hours) * 3600.0 + int(minutes) * 60)
            if abs(seconds) <= LARGEST_OFFSET and int(minutes) < 60:
                return found[0].strip(), dt.timezone(dt.timedelta(seconds=seconds))
    return None

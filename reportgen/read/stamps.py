"""One cell of a time column taken apart: a date whose order may be open, seconds of the day, an offset."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

#: Years that a log can be of. Loggers whose clock was never set begin in 1970 or 2000.
YEARS = range(1970, 2200)
#: No zone of the world lies further from UTC than this [s].
LARGEST_OFFSET = 15 * 3600.0
ISO = re.compile(
    r"(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})"
    r"(?:[T ]+(?P<clock>.+?)\s*(?P<zone>Z|[+-]\d\d(?::?\d\d)?)?)?",
    re.I,
)
_OTHER_DATE = re.compile(r"(?P<a>\d{1,2})(?P<mark>[-/.])(?P<b>\d{1,2})[-/.](?P<y>\d{4}|\d\d)(?:[T ,]+(?P<clock>.+))?")
#: A cell that ends in a clock time, or any other number, with a point: 9.05, 12.30 pm.
_POINTED = re.compile(r"(?P<before>(?:.*[T ,])?)(?P<h>\d{1,2})\.(?P<m>\d+)(?P<after>\s*(?:[ap]\.?m\.?)?)", re.I)
_CLOCK = re.compile(
    r"(?P<h>\d{1,2})(?:[:hH](?P<m>\d\d)?(?::(?P<s>\d\d(?:\.\d+)?))?|(?P<mm>\d\d))"
    r"\s*(?P<half>[aApP]\.?[mM]\.?)?|(?P<h12>\d{1,2})\s*(?P<half12>[aApP]\.?[mM]\.?)"
)


@dataclass(frozen=True)
class Stamp:
    """A date and a clock time as written; either may be missing.

    Attributes
    ----------
    year : int or None
        None where there is no date.
    first, second : int
        The other two numbers of the date, in the order written.
    order : str or None
        What the way of writing says: ``year first``, ``day first``, or None where it says nothing.
    seconds : float or None
        Seconds since midnight; None where there is no clock time.
    offset : float or None
        From UTC [s].
    has_half : bool
        True with am or pm.
    short_year : bool
        True for a year of two digits.
    """

    year: int | None
    first: int
    second: int
    order: str | None
    seconds: float | None
    offset: float | None = None
    has_half: bool = False
    short_year: bool = False

    def date(self, order: str | None) -> dt.date | None:
        """Return the date, its numbers in that order unless written year first; None if there is none."""
        year = self.year or 0
        order = self.order if self.order == "year first" or order is None else order
        month, day = (self.second, self.first) if order == "day first" else (self.first, self.second)
        if order == "year first" and self.order != "year first":
            if not self.short_year:
                return None  # the year stands last
            year, month, day = 2000 + self.first, self.second, year - 2000
        try:
            return dt.date(year, month, day) if year in YEARS else None
        except ValueError:
            return None

    @property
    def date_text(self) -> str:
        """The date as it was written."""
        year = f"{(self.year or 0) % 100:02d}" if self.short_year else str(self.year)
        return f"{self.first:02d}/{self.second:02d}/{year}"


def parse_stamp(text: str) -> Stamp | None:
    """Return what a text says of a moment; None if it is neither a date nor a clock time."""
    iso = ISO.fullmatch(text)
    other = _OTHER_DATE.fullmatch(text)
    clock: tuple[float, bool] | tuple[None, bool] | None = (None, False)
    if iso is not None:
        offset = _offset(iso["zone"])
        clock = _clock_parts(iso["clock"]) if iso["clock"] else clock
        if clock is None or (offset is not None and abs(offset) > LARGEST_OFFSET):
            return None
        return Stamp(int(iso["y"]), int(iso["m"]), int(iso["d"]), "year first", clock[0], offset, clock[1])
    if other is not None:
        clock = _clock_parts(other["clock"]) if other["clock"] else clock
        if clock is None:
            return None
        short = len(other["y"]) == 2
        # Dates with points are written day first wherever they are used (common practice, no source).
        order = "day first" if other["mark"] == "." else None
        year = int(other["y"]) + (2000 if short else 0)
        return Stamp(year, int(other["a"]), int(other["b"]), order, clock[0], None, clock[1], short)
    clock = _clock_parts(text)
    return None if clock is None else Stamp(None, 0, 0, None, clock[0], None, clock[1])


def with_colon(text: str) -> str | None:
    """Return a clock time written ``9.05`` as ``9:05``; "" if its digits fit no clock, None if none is written so."""
    match = _POINTED.fullmatch(text)
    if match is None:
        return None
    if len(match["m"]) != 2 or int(match["m"]) > 59:
        return ""
    return f"{match['before']}{match['h']}:{match['m']}{match['after']}"


def parse_clock(text: str) -> float | None:
    """Return the seconds since midnight of ``09:05``, ``9:05 pm``, ``0905``, ``9h05``; None if it is none."""
    stamp = _clock_parts(text)
    return None if stamp is None else stamp[0]


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


def _offset(text: str | None) -> float | None:
    if not text:
        return None
    if text in "Zz":
        return 0.0
    digits = text[1:].replace(":", "")
    return (1 if text[0] == "+" else -1) * (int(digits[:2]) * 3600.0 + int(digits[2:] or 0) * 60)

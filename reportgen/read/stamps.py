"""One cell of a time column taken apart: a date whose order may be open, seconds of the day, an offset."""

from __future__ import annotations

import datetime as dt
import enum
import re
import unicodedata
from dataclasses import dataclass
from itertools import islice

from reportgen.everyday.letters import western
from reportgen.read.date_words import CLOCK_WORDS, HALVES, MONTHS, plain

#: Years that a log can be of. Loggers whose clock was never set begin in 1970 or 2000.
YEARS = range(1970, 2200)
#: No zone of the world lies further from UTC than this [s].
LARGEST_OFFSET = 15 * 3600.0
#: A longer cell is no time [characters] (ours).
LONGEST = 60
#: The month is among so many words at the head of a time.
MOST_WORDS = 3


class Style(enum.IntEnum):
    """How a date is written."""

    NONE = 0
    YEAR_FIRST = 1  # 2026-03-14, 2026.3.14
    NAMED = 2  # 14 Mar 2026, Mar 14
    POINTS = 3  # 14.03.2026
    LONG = 4  # 14/03/2026, 14-03-2026
    SHORT_SLASHES = 5  # 14/03/26
    SHORT = 6  # 14-03-26
    SHORT_POINTS = 7  # 14.03.26
    YEARLESS = 8  # 14/03, 14-03
    YEARLESS_POINTS = 9  # 14.03.


#: What the numbers of a date may be, by the way it is written. Dates with points are written day first or year first
#: wherever they are used; years of two digits come first between points and hyphens (common practice, no source).
ORDERS: dict[Style, tuple[str, ...]] = {
    Style.POINTS: ("day first",),
    Style.LONG: ("day first", "month first"),
    Style.SHORT_SLASHES: ("day first", "month first"),
    Style.SHORT: ("day first", "month first", "year first"),
    Style.SHORT_POINTS: ("day first", "year first"),
    Style.YEARLESS: ("day first", "month first"),
    Style.YEARLESS_POINTS: ("day first",),
}
SHORT_YEARS = (Style.SHORT_SLASHES, Style.SHORT, Style.SHORT_POINTS)
FIXED = (Style.YEAR_FIRST, Style.NAMED)

_ISO = re.compile(
    r"(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})"
    r"(?:[T ]\s*(?P<clock>\S.*?)\s*(?P<zone>Z|[+-]\d\d(?::?\d\d)?)?)?",
    re.I,
)
_OTHER_DATE = re.compile(
    r"(?P<a>\d{1,2})(?P<mark>[-/.])(?P<b>\d{1,2})[-/.](?P<y>\d{4}|\d\d)"
    r"(?:[T ,]\s*(?P<clock>\S.*?)\s*(?P<zone>[+-]\d\d:?\d\d)?)?"
)
_YEARLESS = re.compile(r"(?P<a>\d{1,2})(?P<mark>[-/.])(?P<b>\d{1,2})(?P<end>\.?)(?:[ ,]\s*(?P<clock>\S.*))?")
_WORD = re.compile(r"[^\W\d_]+\.?")
_WEEKDAY = re.compile(r"(?:[^\W\d_]{2,12}\.?,?\s+)?")
_DAY = r"(?P<d>\d{1,2})(?:st|nd|rd|th|er|\.|º)?"
_REST = r"(?:[\s,T]\s*(?P<clock>\d\S?.*|[^\W\d].*))?"
_BEFORE_DAY = re.compile(rf"{_WEEKDAY.pattern}{_DAY}[\s\-/]*(?:de\s+|of\s+)?", re.I)
_AFTER_DAY = re.compile(rf"[\s\-/,]*(?:(?:del?|of)\s+)?(?:(?P<y>\d{{4}}|\d\d)(?![\d:hH.]))?{_REST}", re.I)
_MONTH_FIRST = re.compile(rf"[\s\-/]*{_DAY}(?:(?:\s*,\s*|[\s\-/]+)(?P<y>\d{{4}})(?![\d:hH]))?{_REST}", re.I)
_CLOCK_THEN_YEAR = re.compile(r"\s+(?P<d>\d{1,2})\s+(?P<clock>\d{1,2}:\S+)\s+(?P<y>\d{4})")
_YEAR_BEFORE = re.compile(r"(?P<y>\d{4})[\s\-/.]+")
_DAY_LAST = re.compile(rf"[\s\-/]+{_DAY}(?!\d){_REST}", re.I)
#: A cell that ends in a clock time, or any other number, with a point: 9.05, 12.30 pm.
_POINTED = re.compile(r"(?P<before>(?:.*[T ,])?)(?P<h>\d{1,2})\.(?P<m>\d+)(?P<after>\s*(?:[ap]\.?\s?m\.?)?)", re.I)
_DIGITS = re.compile(r"(?P<before>\D*)(?P<body>\d(?:.*\d)?)(?P<after>\D*)")
_CLOCK = re.compile(r"(?P<h>\d{1,2})(?:[:hH](?P<m>\d\d)?(?::(?P<s>\d\d(?:[.,]\d+)?))?|(?P<mm>\d\d))?")


@dataclass(frozen=True)
class Stamp:
    """A date and a clock time as written; either may be missing.

    Attributes
    ----------
    style : Style
        How the date is written; `Style.NONE` where there is none.
    year : int or None
        None where none is written.
    first, second : int
        The other two numbers of the date in the order written; day and month where the month is named.
    seconds : float or None
        Seconds since midnight; None where there is no clock time.
    offset : float or None
        From UTC [s].
    has_half : bool
        True with am or pm.
    """

    style: Style
    year: int | None
    first: int
    second: int
    seconds: float | None
    offset: float | None = None
    has_half: bool = False

    def date(self, order: str | None, year: int | None = None) -> dt.date | None:
        """Return the date, its numbers in that order where it is open; None if there is none.

        `year` is taken where none is written.
        """
        found = (year if self.year is None else self.year) or 0
        if self.style in FIXED or order is None:
            order = "day first" if self.style == Style.NAMED else "month first"
        month, day = (self.second, self.first) if order == "day first" else (self.first, self.second)
        if order == "year first" and self.year is not None:
            if self.style not in SHORT_YEARS:
                return None  # the year stands last
            found, month, day = 2000 + self.first, self.second, found - 2000
        try:
            return dt.date(found, month, day) if found in YEARS else None
        except ValueError:
            return None

    @property
    def date_text(self) -> str:
        """The date about as it was written."""
        mark = "." if self.style in (Style.POINTS, Style.SHORT_POINTS, Style.YEARLESS_POINTS) else "/"
        year = f"{(self.year or 0) % 100:02d}" if self.style in SHORT_YEARS else str(self.year or "")
        return mark.join((f"{self.first:02d}", f"{self.second:02d}", year)).rstrip("/")


def tidy(text: str) -> str:
    """Return a cell with the digits, letters and blanks that are plainly meant."""
    text = text[: LONGEST + 1]
    return text if text.isascii() else unicodedata.normalize("NFKC", western(text)).replace("\u2212", "-")


def parse_stamp(text: str) -> Stamp | None:
    """Return what a text says of a moment; None if it is neither a date nor a clock time."""
    text = tidy(text)
    if not text or len(text) > LONGEST:
        return None
    if (match := _ISO.fullmatch(text)) is not None:
        return _stamp(Style.YEAR_FIRST, match["y"], match["m"], match["d"], match["clock"], match["zone"])
    if (match := _OTHER_DATE.fullmatch(text)) is not None:
        short, points = len(match["y"]) == 2, match["mark"] == "."
        style = Style.POINTS if points else Style.LONG
        if short:
            style = {".": Style.SHORT_POINTS, "-": Style.SHORT, "/": Style.SHORT_SLASHES}[match["mark"]]
        return _stamp(style, match["y"], match["a"], match["b"], match["clock"], match["zone"])
    clock = _clock_parts(text)
    if clock is not None:
        return Stamp(Style.NONE, None, 0, 0, clock[0], None, clock[1])
    match = _YEARLESS.fullmatch(text)
    # Without a clock time only 14/03 and 14.03. are dates: 14.03 is a clock time, 14-03 a number of pieces.
    if match is not None and (match["clock"] or match["mark"] == "/" or (match["mark"] + match["end"]) == ".."):
        points = match["mark"] == "."
        if points or not match["end"]:
            style = Style.YEARLESS_POINTS if points else Style.YEARLESS
            return _stamp(style, None, match["a"], match["b"], match["clock"], None)
    return _named(text)


def _named(text: str) -> Stamp | None:
    """Return a stamp whose month is a word."""
    for word in islice(_WORD.finditer(text), MOST_WORDS):
        month = MONTHS.get(plain(word[0]))
        if month is None:
            continue
        before, after = text[: word.start()], text[word.end() :]
        found = [
            {**left.groupdict(), **right.groupdict()}
            for first, second in ((_BEFORE_DAY, _AFTER_DAY), (_YEAR_BEFORE, _DAY_LAST))
            if (left := first.fullmatch(before)) and (right := second.fullmatch(after))
        ]
        if _WEEKDAY.fullmatch(before):
            found += [m.groupdict() for p in (_CLOCK_THEN_YEAR, _MONTH_FIRST) if (m := p.fullmatch(after))]
        for parts in found:
            stamp = _stamp(Style.NAMED, parts["y"], parts["d"], month, parts["clock"], None)
            if stamp is not None:
                return stamp
    return None


def _stamp(
    style: Style, year: str | None, first: str | int, second: str | int, clock: str | None, zone: str | None
) -> Stamp | None:
    parts: tuple[float, bool] | tuple[None, bool] | None = _clock_parts(clock) if clock else (None, False)
    offset = _offset(zone)
    if parts is None or (offset is not None and abs(offset) > LARGEST_OFFSET):
        return None
    number = None if year is None else int(year) + (2000 if len(year) == 2 else 0)
    return Stamp(style, number, int(first), int(second), parts[0], offset, parts[1])


def with_colon(text: str) -> str | None:
    """Return a clock time written ``9.05`` as ``9:05``; "" if its digits fit no clock, None if none is written so."""
    match = _POINTED.fullmatch(text) if len(text) <= LONGEST else None
    if match is None:
        return None
    if len(match["m"]) != 2 or int(match["m"]) > 59:
        return ""
    return f"{match['before']}{match['h']}:{match['m']}{match['after']}"


def parse_clock(text: str) -> float | None:
    """Return the seconds since midnight of ``09:05``, ``9:05 pm``, ``0905``, ``9h05``; None if it is none."""
    stamp = _clock_parts(tidy(text))
    return None if stamp is None else stamp[0]


def _clock_parts(text: str) -> tuple[float, bool] | None:
    """Return (seconds since midnight, whether am or pm is written); None where the text is no clock time."""
    match = _DIGITS.fullmatch(text) if len(text) <= LONGEST else None
    if match is None:
        return None
    before, body, after = match["before"], match["body"], match["after"]
    words = [word for word in (plain(before), plain(after.strip().removeprefix(":"))) if word]
    halves = [HALVES[word] for word in words if word in HALVES]
    if len(words) > 1 or (words and not halves and (words[0] not in CLOCK_WORDS or before.strip())):
        return None
    match = _CLOCK.fullmatch(body)
    if match is None or not (words or match["m"] or match["mm"]):
        return None
    hour = int(match["h"])
    minute = int(match["m"] or match["mm"] or 0)
    second = float((match["s"] or "0").replace(",", "."))
    if halves and not 1 <= hour <= 12:
        return None
    if halves:
        hour = hour % 12 + (12 if halves[0] else 0)
    if hour > 24 or minute > 59 or second >= 61 or (hour == 24 and (minute or second)):
        return None
    return hour * 3600.0 + minute * 60 + second, bool(halves)


def _offset(text: str | None) -> float | None:
    if not text:
        return None
    if text in "Zz":
        return 0.0
    digits = text[1:].replace(":", "")
    return (1 if text[0] == "+" else -1) * (int(digits[:2]) * 3600.0 + int(digits[2:] or 0) * 60)

"""A whole column of times taken apart: cells of one shape at once, what is left one by one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from reportgen.read.stamps import LARGEST_OFFSET, LONGEST, SHORT_YEARS, Stamp, Style, parse_stamp
from reportgen.trial import Numbers

#: A shape that fewer cells share is not worth reading at once (ours).
FEWEST_ALIKE = 20
#: Cells of more than so many lengths are no log's (ours).
MOST_LENGTHS = 12
#: Longer cells are read one by one [characters].
LONGEST_ALIKE = 40
_SHAPE = re.compile(
    r"(?:(?P<a>\d{4}|\d\d?)[-/.](?P<b>\d\d?)[-/.](?P<c>\d{4}|\d\d?)(?:[T ]|, ))?"
    r"(?P<h>\d\d?):(?P<m>\d\d)(?::(?P<s>\d\d)(?:\.(?P<f>\d{1,9}))?)?(?: ?(?P<half>[AaPp])[Mm])?"
    r"(?: ?(?:Z|(?P<sign>[+-])(?P<zh>\d\d):?(?P<zm>\d\d)))?"
)
_ONES = str.maketrans(dict.fromkeys("0123456789", "1"))
#: A date before a clock time of 24 hours: what stands before the clock does not depend on it.
_PLAIN_CLOCK = re.compile(r"(?P<date>\d[^:]*[^\W\d_][^:]*\s)(?P<h>\d\d):(?P<m>\d\d)(?::(?P<s>\d\d))?")


@dataclass
class StampColumn:
    """The parts of n times: see the attributes of the same names in `Stamp`.

    `is_read` is False where a cell is blank or no time; a missing year is -1, a missing clock time or offset NaN.
    """

    is_read: npt.NDArray[np.bool_]
    style: npt.NDArray[np.int64]
    year: npt.NDArray[np.int64]
    first: npt.NDArray[np.int64]
    second: npt.NDArray[np.int64]
    seconds: Numbers
    offset: Numbers
    has_half: npt.NDArray[np.bool_]

    @classmethod
    def blank(cls, n: int) -> StampColumn:
        """Return a column of n times of which none is read yet."""
        no, zero, nan = np.zeros(n, dtype=bool), np.zeros(n, dtype=np.int64), np.full(n, np.nan)
        return cls(no, zero, zero - 1, zero.copy(), zero.copy(), nan, nan.copy(), no.copy())

    def __len__(self) -> int:
        return len(self.is_read)

    def put(self, i: int, stamp: Stamp) -> None:
        """Write one stamp into the column."""
        self.is_read[i], self.style[i], self.has_half[i] = True, stamp.style, stamp.has_half
        self.first[i], self.second[i] = stamp.first, stamp.second
        self.year[i] = -1 if stamp.year is None else stamp.year
        self.seconds[i] = np.nan if stamp.seconds is None else stamp.seconds
        self.offset[i] = np.nan if stamp.offset is None else stamp.offset

    def stamp(self, i: int) -> Stamp:
        """Return one stamp of the column."""
        return Stamp(
            Style(int(self.style[i])),
            None if self.year[i] < 0 else int(self.year[i]),
            int(self.first[i]),
            int(self.second[i]),
            None if np.isnan(self.seconds[i]) else float(self.seconds[i]),
            None if np.isnan(self.offset[i]) else float(self.offset[i]),
            bool(self.has_half[i]),
        )

    def reversed(self) -> StampColumn:
        """Return the column from its end to its beginning."""
        return StampColumn(*(part[::-1] for part in vars(self).values()))


def read_alike(texts: npt.NDArray[Any]) -> StampColumn:
    """Return the column with all cells read that share a plain shape; the others are left blank."""
    column = StampColumn.blank(len(texts))
    lengths = np.fromiter(map(len, texts), dtype=np.int64, count=len(texts))
    known, counts = np.unique(lengths, return_counts=True)
    if len(known) <= MOST_LENGTHS:
        for length, count in zip(known, counts, strict=True):
            if 0 < length <= LONGEST_ALIKE and count >= FEWEST_ALIKE:
                _read_shape(texts, np.flatnonzero(lengths == length), column)
    return column


def read_rest(texts: npt.NDArray[Any], column: StampColumn) -> None:
    """Read the cells one by one that are not read yet; a date that comes again is read once."""
    places: dict[str, int] = {}
    # Where all digits are ones, what is no time then is none with other digits.
    shapes: dict[str, bool] = {}
    stamps: list[Stamp | None] = []
    chosen, which, clock = [], [], []
    for i in np.flatnonzero(~column.is_read):
        text, seconds = texts[i], np.nan
        if len(text) <= LONGEST_ALIKE and (split := _PLAIN_CLOCK.fullmatch(text)):
            hour, minute, second = int(split["h"]), int(split["m"]), int(split["s"] or 0)
            if hour <= 23 and minute <= 59 and second <= 59:
                text, seconds = f"{split['date']}00:00", hour * 3600.0 + minute * 60 + second
        if text not in places:
            shape = text[: LONGEST + 1].translate(_ONES)
            if shape not in shapes:
                shapes[shape] = parse_stamp(shape) is not None
            places[text] = len(stamps)
            stamps.append(parse_stamp(text) if shapes[shape] else None)
        if stamps[places[text]] is not None:
            chosen.append(i)
            which.append(places[text])
            clock.append(seconds)
    if not chosen:
        return
    read = StampColumn.blank(len(stamps))
    for place, stamp in enumerate(stamps):
        if stamp is not None:
            read.put(place, stamp)
    for name, part in vars(column).items():
        part[chosen] = getattr(read, name)[which]
    column.seconds[chosen] = np.where(np.isnan(clock), column.seconds[chosen], clock)


def _read_shape(texts: npt.NDArray[Any], chosen: npt.NDArray[np.int64], column: StampColumn) -> None:
    """Read those of the chosen cells, all of one length, that have the shape of the first."""
    template = texts[chosen[0]]
    match, stamp = _SHAPE.fullmatch(template), parse_stamp(template)
    if match is None or stamp is None or not template.isascii():
        return
    try:
        cells = texts[chosen].astype(f"S{len(template)}")
    except UnicodeEncodeError:
        return
    # One row for each place in the text: what stands there in all cells.
    letters = np.ascontiguousarray(cells.view(np.uint8).reshape(len(chosen), len(template)).T)
    parts = {name: match.span(name) for name in match.groupdict() if match[name] is not None}
    fits = np.ones(len(chosen), dtype=bool)
    in_parts = {place for start, end in parts.values() for place in range(start, end)}
    for place in set(range(len(template))) - in_parts:
        fits &= letters[place] == ord(template[place])
    numbers = {name: np.zeros(len(chosen), dtype=np.int32) for name in ("a", "b", "c", "h", "m", "s", "f", "zh", "zm")}
    for name in parts.keys() - {"half", "sign"}:
        for place in range(*parts[name]):
            digit = letters[place] - np.uint8(ord("0"))  # below zero it wraps to a large number
            fits &= digit <= 9
            numbers[name] = numbers[name] * np.int32(10) + digit
    hour = numbers["h"]
    if stamp.has_half:
        written = letters[parts["half"][0]] | 32  # lower case
        fits &= ((written == ord("a")) | (written == ord("p"))) & (hour >= 1) & (hour <= 12)
        hour = hour % 12 + np.where(written == ord("p"), 12, 0)
    fits &= (hour <= 23) & (numbers["m"] <= 59) & (numbers["s"] <= 59)
    offset = np.full(len(chosen), np.nan if stamp.offset is None else stamp.offset)
    if "sign" in parts:
        sign = letters[parts["sign"][0]]
        fits &= (sign == ord("+")) | (sign == ord("-"))
        offset = np.where(sign == ord("-"), -1.0, 1.0) * (numbers["zh"] * 3600.0 + numbers["zm"] * 60)
        fits &= np.abs(offset) <= LARGEST_OFFSET
    digits_of_fraction = parts["f"][1] - parts["f"][0] if "f" in parts else 0
    seconds = hour * 3600.0 + numbers["m"] * 60 + numbers["s"] + numbers["f"] / 10.0**digits_of_fraction
    year, first, second = numbers["c"], numbers["a"], numbers["b"]
    if stamp.style == Style.YEAR_FIRST:
        year, first, second = numbers["a"], numbers["b"], numbers["c"]
    elif stamp.style in SHORT_YEARS:
        year = year + 2000
    elif stamp.style == Style.NONE:
        year = year - 1
    at = chosen[fits]
    column.is_read[at], column.style[at], column.has_half[at] = True, stamp.style, stamp.has_half
    column.year[at], column.first[at], column.second[at] = year[fits], first[fits], second[fits]
    column.seconds[at], column.offset[at] = seconds[fits], offset[fits]

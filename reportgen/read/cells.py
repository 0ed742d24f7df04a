"""Text cells to numbers: decimal marks, minus signs, failure words. Every repair is a finding."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from reportgen import units
from reportgen.message import say_counted
from reportgen.read import decimals
from reportgen.trial import Finding, Numbers

#: What loggers and people write where there is no reading (common practice, no source).
NO_READING = frozenset(
    (
        "nan",
        "na",
        "n/a",
        "#n/a",
        "null",
        "none",
        "-",
        "--",
        "---",
        "err",
        "error",
        "fail",
        "fault",
        "ol",
        "open",
        "short",
        "over",
        "under",
        "nd",
        "n.d.",
        "?",
        "??",
        "???",
        "x",
        "inf",
        "-inf",
    )
)
#: Temperatures that common sensors report when they fail [degC], whatever unit the logger then writes (common
#: practice, no source).
FAILURE_TEMPERATURES = (-127.0, -200.0, -273.15)
#: The same, but also possible of a boiler or a deep freezer, so a failure only in these columns [degC].
COLD_FAILURES = (85.0, -48.7)
COLD_COLUMNS = ("cabinet_temperature", "ambient_temperature", "water_temperature", "gas_temperature")
#: What a logger writes for a missing temperature, in any unit (common practice, no source).
FAILURE_NUMBERS = (-999.0, 999.0, 9999.0, -9999.0)
#: A reading this near to a code that is also a possible temperature makes it one [K] (ours).
NEAR_CODE = 5.0
#: A failure code comes rounded when it was converted to another scale [K].
CODE_TOLERANCE = 0.06
#: A number of this size is a slip of a key or of a logger in every unit (ours).
LARGEST = 1e15
#: A longer text is no number [characters].
LONGEST_NUMBER = 60
#: More decimals than this are no digits of an instrument.
MOST_DECIMALS = 12
#: Steps that people and instruments read in, in units of the last written digit.
STEPS = (10, 5, 2)
#: Fewer readings than this do not show a step coarser than the last digit written (ours).
READINGS_FOR_STEP = 6
#: So many cells show how finely a column is written.
MOST_WRITTEN = 2000
#: Numbers that people write as words; more than a dozen nobody writes out (ours).
NUMBER_WORDS = {
    word: float(number)
    for number, word in enumerate(
        (
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
        )
    )
}
_UNIT_SIGN = "A-Za-z°%µμ\u2103\u2109"
_WITH_UNIT = re.compile(
    rf"(?P<number>[+-]?\d[\d.,' ]*?|[+-]?[.,]\d+)\s*(?P<unit>[{_UNIT_SIGN}][{_UNIT_SIGN}/23²³]{{0,9}})"
)


@dataclass(frozen=True)
class Column:
    """Numbers of a column, NaN where there is none; `step` is the smallest step written (0 if unknown).

    `failures` are the places where a failed sensor left a mark for a reading, and `marks` what stands there, NaN for a
    word.
    """

    values: Numbers
    step: float
    findings: tuple[Finding, ...]
    failures: npt.NDArray[np.int64] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    marks: Numbers = field(default_factory=lambda: np.empty(0))


@dataclass(frozen=True)
class _Read:
    """What one text of a column means: its number, its digits as a plain number has them, and how it was read."""

    value: float
    digits: str
    how: str


#: How a text was read: as it stands; as one of several repairs, each a note; as none.
PLAIN, COMMA, GROUPED, WORD, OTHER_UNIT, NO_VALUE, UNREAD = (
    "plain",
    "comma",
    "grouped",
    "word",
    "unit",
    "none",
    "unread",
)


def filled(cells: npt.NDArray[Any]) -> npt.NDArray[np.bool_]:
    """Return which cells of a table hold something, whether they are texts or numbers."""
    return np.isfinite(cells) if cells.dtype == np.float64 else np.asarray(cells != "", dtype=bool)


def parse_numbers(
    cells: npt.NDArray[Any],
    rows: npt.NDArray[np.int64],
    file: str,
    column: str,
    unit: str,
    mark: decimals.Mark = "point",
    written: tuple[str, ...] = (),
) -> Column:
    """Read a column of numbers.

    Parameters
    ----------
    cells : (n,) array of str or of float
        Stripped texts; numbers, NaN where blank, where every cell was a plain number.
    rows : (n,) array of int
    unit : str
        Unit the numbers are written in. It decides what a sensor's failure code looks like; a cell that names
        another unit of the same kind is converted, and one that names a unit of another kind is not read.
    mark
        Decimal mark of the file.
    written
        The first texts of a column of numbers, which show how finely it is written.
    """
    findings: list[Finding] = []
    if cells.dtype == np.float64:
        values = cells.copy()
        digits = [text for text in written if text and abs(float(text)) < LARGEST]
        sample = np.array([float(text) for text in digits], dtype=float)
        failures = np.zeros(len(values), dtype=bool)
        large = np.abs(values) >= LARGEST
        values[large] = math.nan
        _say_unread(large, [f"{value:g}" for value in cells[large][:1]], rows, file, column, unit, findings)
    else:
        codes, texts = pd.factorize(cells)
        read = [_read(str(text), unit, mark) for text in texts]
        values = np.array([entry.value for entry in read] or [math.nan], dtype=float)[codes]
        how = np.array([entry.how for entry in read] or [PLAIN], dtype=object)[codes]
        digits, sample = [read[code].digits for code in codes[:MOST_WRITTEN]], values[:MOST_WRITTEN]
        failures = how == NO_VALUE
        unread = how == UNREAD
        _say_unread(unread, cells[unread][:1], rows, file, column, unit, findings)
        for kind, code, said in _REPAIRS:
            chosen = how == kind
            if chosen.any():
                first = int(np.flatnonzero(chosen)[0])
                message = said.filled(
                    n=int(chosen.sum()),
                    column=column,
                    text=str(cells[first])[:40],
                    number=f"{values[first]:g}",
                    unit=unit,
                )
                findings.append(Finding("note", code, message, file, int(rows[first])))
    step = _written_step(sample, digits)
    failures |= _is_failure(values, column, unit)
    failed = np.flatnonzero(failures)
    marks = values[failed]
    if len(failed):
        values[failed] = math.nan
        first = int(failed[0])
        message = say_counted(
            len(failed),
            "{column}: {text} is the failure mark of a sensor and is not used; look after the sensor and its cable",
            "{column}: {n} rows hold a failure mark of a sensor such as {text} and are not used; look after the sensor "
            "and its cable",
            column=column,
            text=str(cells[first])[:40],
        )
        findings.append(Finding("caution", "sensor-failure", message, file, int(rows[first])))
    return Column(values, step, tuple(findings), failed, marks)


#: Each repair of a number: how it was read, its code, and what is said of one row or many.
_REPAIRS = (
    (
        COMMA,
        "decimal-comma",
        say_counted(
            0, "{column}: a decimal comma is read as a point", "{column}: decimal commas are read as points in {n} rows"
        ),
    ),
    (
        GROUPED,
        "thousands-mark",
        say_counted(
            0,
            '{column}: "{text}" is read as {number}; the mark in it groups thousands',
            '{column}: {n} numbers with thousands marks, such as "{text}", are read without them, {number}',
        ),
    ),
    (
        WORD,
        "number-word",
        say_counted(
            0,
            '{column}: "{text}" is read as {number}',
            '{column}: {n} numbers written as words, such as "{text}", are read as numbers, {number}',
        ),
    ),
    (
        OTHER_UNIT,
        "cell-unit",
        say_counted(
            0,
            '{column}: "{text}" names a unit of its own and is read as {number} {unit}',
            '{column}: {n} cells name a unit of their own, such as "{text}", and are read so, {number} {unit}',
        ),
    ),
)


def _say_unread(
    chosen: npt.NDArray[np.bool_],
    texts: Any,
    rows: npt.NDArray[np.int64],
    file: str,
    column: str,
    unit: str,
    findings: list[Finding],
) -> None:
    if not chosen.any():
        return
    message = say_counted(
        int(chosen.sum()),
        '{column}: the cell "{text}" is no number in {unit} and is not used; write the number alone',
        '{column}: {n} cells such as "{text}" are no number in {unit} and are not used; write the numbers alone',
        column=column,
        text=str(texts[0])[:40],
        unit=unit,
    )
    findings.append(Finding("caution", "number-not-read", message, file, int(rows[chosen][0])))


def _read(cell: str, unit: str, mark: decimals.Mark) -> _Read:
    """Return what a text of a column in this unit means."""
    if not cell:
        return _Read(math.nan, "", PLAIN)
    text = decimals.tidy(cell)
    if text.casefold() in NO_READING:
        return _Read(math.nan, "", NO_VALUE)
    if text.casefold() in NUMBER_WORDS:
        value = NUMBER_WORDS[text.casefold()]
        return _Read(value, f"{value:g}", WORD)
    factor, offset, how = 1.0, 0.0, PLAIN
    found = decimals.number_of(text, mark)
    with_unit = _WITH_UNIT.fullmatch(text) if found is None and len(text) < LONGEST_NUMBER else None
    if with_unit is not None and (converted := _conversion(with_unit["unit"], unit)) is not None:
        text = with_unit["number"].strip()
        found = decimals.number_of(text, mark)
        factor, offset = converted
        how = PLAIN if converted == (1.0, 0.0) else OTHER_UNIT
    if found is None or len(cell) > LONGEST_NUMBER or not abs(found[0]) < LARGEST:
        return _Read(math.nan, "", UNREAD)
    value, digits = found
    if how == PLAIN and digits != text:
        how = COMMA if digits == text.replace(",", ".") else GROUPED
    return _Read(value * factor + offset, digits, how)


def number_texts(cells: npt.NDArray[Any]) -> list[str]:
    """Return the different numbers among texts, tidy and without units, as they tell of the decimal mark."""
    texts = []
    for cell in pd.unique(cells):
        text = decimals.tidy(str(cell))[:LONGEST_NUMBER]
        with_unit = _WITH_UNIT.fullmatch(text)
        texts.append(with_unit["number"].strip() if with_unit else text)
    return texts


def _conversion(unit: str, wanted: str) -> tuple[float, float] | None:
    """Return (factor, offset) from a unit that a cell names to that of its column; None where they do not fit."""
    if _is_same(unit, wanted):
        return 1.0, 0.0
    try:
        if _is_temperature(wanted):
            (factor, offset), (scale, zero) = units.conversion(unit, "degC"), units.conversion(wanted, "degC")
            return factor / scale, (offset - zero) / scale
        return units.conversion(unit, wanted)
    except units.UnitError:
        return None


def _is_temperature(unit: str) -> bool:
    try:
        units.conversion(unit, "degC")
    except units.UnitError:
        return False
    return True


def _is_same(unit: str, other: str) -> bool:
    try:
        if units.unit_named(unit) == units.unit_named(other):
            return True
        factor, offset = units.conversion(unit, other)
    except units.UnitError:
        return False
    # hPa and mbar are one; a degree and a kelvin are one only for differences.
    return units.unit_named(other) != units.unit_named("K") and math.isclose(factor, 1.0) and offset == 0


def _is_failure(values: Numbers, column: str, unit: str) -> npt.NDArray[np.bool_]:
    """Return which readings of a column of temperatures are codes for a failed sensor."""
    try:
        factor, offset = units.conversion(unit, "degC")
    except units.UnitError:
        return np.zeros(len(values), dtype=bool)
    celsius = values * factor + offset
    tolerance = CODE_TOLERANCE if factor != 1 or offset else 1e-6
    failed = np.isin(values, FAILURE_NUMBERS)
    for code in FAILURE_TEMPERATURES:
        failed |= np.abs(celsius - code) < tolerance
    for code in COLD_FAILURES if column in COLD_COLUMNS else ():
        failed |= _stands_apart(celsius, np.abs(celsius - code) < tolerance)
    return failed


def _stands_apart(values: Numbers, coded: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return which coded readings have no other reading near them [K]: hot water cools through 85 °C as well."""
    others = np.flatnonzero(np.isfinite(values) & ~coded)
    at = np.flatnonzero(coded)
    if not len(at) or not len(others):
        return coded
    place = np.searchsorted(others, at)
    before, after = others[np.maximum(place - 1, 0)], others[np.minimum(place, len(others) - 1)]
    distance = np.minimum(np.abs(values[before] - values[at]), np.abs(values[after] - values[at]))
    apart = np.zeros(len(values), dtype=bool)
    apart[at] = distance > NEAR_CODE
    return apart


def _written_step(values: Numbers, written: list[str]) -> float:
    """Return the smallest step between values as written: the last digit, or 2, 5 or 10 of it if all are."""
    read = [(v, text) for v, text in zip(values, written, strict=True) if math.isfinite(v)]
    if not read:
        return 0.0
    decimals = min(max(len(text.lower().partition("e")[0].partition(".")[2]) for _, text in read), MOST_DECIMALS)
    digit = 10.0**-decimals
    counts = np.unique(np.rint(np.array([v for v, _ in read]) / digit))
    for factor in STEPS:
        if len(read) >= READINGS_FOR_STEP and len(counts) > 2 and not np.any(counts % factor):
            return factor * digit
    return digit

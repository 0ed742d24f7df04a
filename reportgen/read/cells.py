"""Text cells to numbers: decimal marks, minus signs, failure words. Every repair is a finding."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from reportgen import units
from reportgen.message import say_counted
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
        "x",
        "inf",
        "-inf",
    )
)
#: Temperatures that common sensors report when they fail [degC], whatever unit the logger then writes (common
#: practice, no source).
FAILURE_TEMPERATURES = (-127.0, -200.0, -273.15)
#: The same, but also a possible boiler temperature, so a failure only in the cold columns [degC].
COLD_FAILURE = 85.0
COLD_COLUMNS = ("cabinet_temperature", "ambient_temperature", "water_temperature", "gas_temperature")
#: What a logger writes for a missing temperature, in any unit (common practice, no source).
FAILURE_NUMBERS = (-999.0, 999.0, 9999.0, -9999.0)
#: A failure code comes rounded when it was converted to another scale [K].
CODE_TOLERANCE = 0.06
#: A number of this size is a slip of a key or of a logger in every unit (ours).
LARGEST = 1e15
#: More decimals than this are no digits of an instrument.
MOST_DECIMALS = 12
#: Steps that people and instruments read in, in units of the last written digit.
STEPS = (10, 5, 2)
#: Fewer readings than this do not show a step coarser than the last digit written (ours).
READINGS_FOR_STEP = 6
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_WITH_UNIT = re.compile(r"(?P<number>[+-]?(?:\d+[.,]?\d*|[.,]\d+))\s*(?P<unit>[A-Za-z°%µ][A-Za-z°%µ/³²0-9]{0,7})")


@dataclass(frozen=True)
class Column:
    """Numbers of a column, NaN where there is none; `step` is the smallest step written (0 if unknown)."""

    values: Numbers
    step: float
    findings: tuple[Finding, ...]


def parse_numbers(cells: npt.NDArray[Any], rows: npt.NDArray[np.int64], file: str, column: str, unit: str) -> Column:
    """Read a column of numbers.

    Parameters
    ----------
    cells : (n,) array of str
        Stripped.
    rows : (n,) array of int
    unit : str
        Unit the numbers are written in. It decides what a sensor's failure code looks like, and a cell that
        names another unit is not read.
    """
    texts = pd.Series(cells, dtype="str")
    values = pd.to_numeric(texts, errors="coerce").to_numpy(dtype=float).copy()
    findings: list[Finding] = []
    odd = np.flatnonzero(~(np.abs(values) < LARGEST) & (cells != ""))
    commas, failures, unread = [], [], []
    written: list[str] = [str(text) for text in texts.iloc[:2000]]
    for i in odd:
        text = _number_text(str(cells[i]), unit)
        values[i] = math.nan
        has_comma = _DECIMAL_COMMA.fullmatch(text) is not None
        text = text.replace(",", ".") if has_comma else text
        if i < len(written):
            written[i] = text
        if _NUMBER.fullmatch(text) and abs(float(text)) < LARGEST:
            values[i] = float(text)
            commas += [i] if has_comma else []
        elif str(cells[i]).casefold() in NO_READING:
            failures.append(i)
        else:
            unread.append(i)
    if unread:
        message = say_counted(
            len(unread),
            '{column}: the cell "{text}" is no number in {unit} and is not used; write the number alone',
            '{column}: {n} cells such as "{text}" are no number in {unit} and are not used; write the numbers alone',
            column=column,
            text=str(cells[unread[0]])[:40],
            unit=unit,
        )
        findings.append(Finding("caution", "number-not-read", message, file, int(rows[unread[0]])))
    if commas:
        message = say_counted(
            len(commas),
            "{column}: a decimal comma is read as a point",
            "{column}: decimal commas are read as points in {n} rows",
            column=column,
        )
        findings.append(Finding("note", "decimal-comma", message, file, int(rows[commas[0]])))
    step = _written_step(values[: len(written)], written)
    failures = sorted([*failures, *np.flatnonzero(_is_failure(values, column, unit))])
    if failures:
        values[failures] = math.nan
        message = say_counted(
            len(failures),
            "{column}: {text} is the failure mark of a sensor and is not used; look after the sensor and its cable",
            "{column}: {n} rows hold a failure mark of a sensor such as {text} and are not used; look after the sensor "
            "and its cable",
            column=column,
            text=str(cells[failures[0]]),
        )
        findings.append(Finding("caution", "sensor-failure", message, file, int(rows[failures[0]])))
    return Column(values, step, tuple(findings))


def _number_text(cell: str, unit: str) -> str:
    """Return a cell with a plain minus sign, and without its unit if that is the unit of the column."""
    text = cell.replace("\u2212", "-").replace("\u2013", "-").replace("\u00a0", "")
    match = _WITH_UNIT.fullmatch(text)
    if match is None or _NUMBER.fullmatch(text):
        return text
    return match["number"] if _is_same(match["unit"], unit) else text


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
    failed = np.isin(values, FAILURE_NUMBERS)
    for code in (*FAILURE_TEMPERATURES, *((COLD_FAILURE,) if column in COLD_COLUMNS else ())):
        failed |= np.abs(values * factor + offset - code) < (CODE_TOLERANCE if factor != 1 or offset else 1e-6)
    return failed


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

"""Text cells to numbers: decimal marks, minus signs, failure words. Every repair is a finding; nothing is guessed silently."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from reportgen.message import say
from reportgen.trial import Finding, Numbers

#: What loggers and people write where there is no reading (common practice, no source).
NO_READING = frozenset(
    "nan na n/a #n/a null none - -- --- err error fail fault ol open short over under nd n.d. ? x inf -inf".split()
)
#: Readings that common sensors report when they fail, by column unit (common practice, no source).
FAILURE_CODES = {"degC": (-127.0, -200.0, -273.15, -999.0, 999.0, 9999.0, -9999.0, 85.0)}
#: 85 is also a possible boiler temperature, so it is a failure only in these columns.
COLD_COLUMNS = ("cabinet_temperature", "ambient_temperature", "water_temperature", "gas_temperature")
#: Steps that people and instruments read in, in units of the last written digit.
STEPS = (10, 5, 2)
#: Fewer readings than this do not show a step coarser than the last digit written (ours).
READINGS_FOR_STEP = 6
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_WITH_UNIT = re.compile(r"([+-]?(?:\d+[.,]?\d*|[.,]\d+))\s*[A-Za-z°%µ][A-Za-z°%µ/³²0-9]{0,7}")


@dataclass(frozen=True)
class Column:
    """Numbers of a column, NaN where there is no reading; `step` is the smallest step as written (0 if unknown)."""

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
        Unit of the written numbers' column inside the program; decides which failure codes apply.
    """
    texts = pd.Series(cells, dtype="str")
    values = pd.to_numeric(texts, errors="coerce").to_numpy(dtype=float).copy()
    findings: list[Finding] = []
    odd = np.flatnonzero(~np.isfinite(values) & (cells != ""))
    commas, failures, unread = [], [], []
    written: list[str] = [str(text) for text in texts.iloc[:2000]]
    for i in odd:
        text = str(cells[i]).replace("\u2212", "-").replace("\u2013", "-").replace("\u00a0", "")
        with_unit = _WITH_UNIT.fullmatch(text)
        text = with_unit[1] if with_unit and not _NUMBER.fullmatch(text) else text
        values[i] = math.nan
        if _DECIMAL_COMMA.fullmatch(text):
            commas.append(i)
            text = text.replace(",", ".")
        if i < len(written):
            written[i] = text
        if _NUMBER.fullmatch(text):
            values[i] = float(text)
        elif str(cells[i]).casefold() in NO_READING:
            failures.append(i)
        else:
            unread.append(i)
    if unread:
        message = say(
            '{column}: {n} cells such as "{text}" are no number and are not used',
            column=column, n=len(unread), text=str(cells[unread[0]])[:40],
        )  # fmt: skip
        findings.append(Finding("caution", "number-not-read", message, file, int(rows[unread[0]])))
    if commas:
        message = say("{column}: decimal commas read in {n} rows", column=column, n=len(commas))
        findings.append(Finding("note", "decimal-comma", message, file, int(rows[commas[0]])))
    step = _written_step(values[: len(written)], written)
    codes = FAILURE_CODES.get(unit, ())
    coded = np.isin(values, codes) & ((values != 85.0) | (column in COLD_COLUMNS))
    failures = sorted([*failures, *np.flatnonzero(coded)])
    if failures:
        values[failures] = math.nan
        message = say(
            "{column}: {n} rows hold a failure mark of a sensor such as {text} and are not used",
            column=column, n=len(failures), text=str(cells[failures[0]]),
        )  # fmt: skip
        findings.append(Finding("caution", "sensor-failure", message, file, int(rows[failures[0]])))
    return Column(values, step, tuple(findings))


def _written_step(values: Numbers, written: list[str]) -> float:
    """Return the smallest step between different values as written: the last digit, or 2, 5 or 10 of it if all are."""
    read = [(v, text) for v, text in zip(values, written, strict=True) if math.isfinite(v)]
    if not read:
        return 0.0
    decimals = max(len(text.lower().partition("e")[0].partition(".")[2]) for _, text in read)
    digit = 10.0**-decimals
    counts = np.unique(np.rint(np.array([v for v, _ in read]) / digit))
    for factor in STEPS:
        if len(read) >= READINGS_FOR_STEP and len(counts) > 2 and not np.any(counts % factor):
            return factor * digit
    return digit

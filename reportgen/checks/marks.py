"""Readings with their flags, and findings that name the rows they speak of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from reportgen.message import COMMA, Listed, Message, listed, say_counted
from reportgen.trial import GOOD, QUESTIONABLE, Finding, Numbers, Readings
from reportgen.vocabulary import COLUMNS

#: So many rows of one finding are named (ours).
MOST_ROWS = 6

Mask = npt.NDArray[np.bool_]


def with_flags(readings: Readings, doubted: Mask) -> Readings:
    """Return the readings flagged: questionable where `doubted`, else good."""
    return replace(readings, flag=np.where(doubted, QUESTIONABLE, GOOD).astype(np.int8))


@dataclass(frozen=True)
class Checked:
    """Readings of a column after its checks: those used, flagged, and those set `aside` until somebody answers."""

    used: Readings
    aside: Readings

    @classmethod
    def of(cls, used: Readings, doubted: Mask, aside: Readings) -> Checked:
        """Return what is used, questionable where `doubted` and else good, and what is not used but asked for."""
        return cls(with_flags(used, doubted), with_flags(aside, np.ones(len(aside), dtype=bool)))


def joined(one: Readings | None, other: Readings) -> Readings:
    """Return the readings of both in order of time, on the finer of their scales; without flags if either has none."""
    if one is None or not len(one):
        return other
    if not len(other):
        return one
    at, rows = np.concatenate((one.at, other.at)), np.concatenate((one.rows, other.rows))
    files = np.concatenate((one.file_index, other.file_index))
    order = np.lexsort((rows, files, at))
    flag = None
    if one.flag is not None and other.flag is not None:
        flag = np.concatenate((one.flag, other.flag))[order]
    values: Numbers = np.concatenate((one.values, other.values))[order]
    step = min(one.step, other.step)
    return replace(one, at=at[order], values=values, rows=rows[order], file_index=files[order], flag=flag, step=step)


def rows_named(readings: Readings, indices: npt.NDArray[np.int64] | Sequence[int]) -> Listed:
    """Return the rows of these readings: ``5, 9, 12``, with ``…`` where there are more."""
    shown = [str(int(readings.rows[i])) for i in indices[:MOST_ROWS]]
    return listed([*shown, "…"] if len(indices) > MOST_ROWS else shown, COMMA)


def at_reading(
    level: str, code: str, message: Message, readings: Readings, index: int, effect: Message | None = None
) -> Finding:
    """Return a finding at the row of one reading."""
    file = readings.files[int(readings.file_index[index])]
    return Finding(level, code, message, file, int(readings.rows[index]), effect)


def not_possible(name: str, readings: Readings, odd: npt.NDArray[np.int64]) -> list[Finding]:
    """Return the caution that these readings of a column are beyond what any instrument of a trial reads."""
    if not len(odd):
        return []
    first = int(odd[0])
    message = say_counted(
        len(odd),
        "{column}: {value} {unit} is not possible; shown but not used; is it a slip, or another unit?",
        "{column}: {n} readings such as {value} {unit} (rows {rows}) are not possible; shown but not used; are they "
        "slips, or in another unit?",
        column=name,
        value=float(readings.values[first]),
        unit=COLUMNS[name].unit,
        rows=rows_named(readings, odd),
    )
    return [at_reading("caution", "not-possible", message, readings, first)]

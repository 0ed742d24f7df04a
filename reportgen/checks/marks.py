"""Readings with their flags, and findings that name the rows they speak of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from reportgen.message import COMMA, Listed, Message, listed
from reportgen.trial import GOOD, QUESTIONABLE, Finding, Readings

#: So many rows of one finding are named (ours).
MOST_ROWS = 6

Mask = npt.NDArray[np.bool_]


def with_flags(readings: Readings, doubted: Mask) -> Readings:
    """Return the readings flagged: questionable where `doubted`, else good."""
    return replace(readings, flag=np.where(doubted, QUESTIONABLE, GOOD).astype(np.int8))


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

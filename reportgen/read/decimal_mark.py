"""The decimal mark of a file, as its numbers tell it; what they leave open is asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy.typing as npt

from reportgen import units, vocabulary
from reportgen.errors import LogFileError
from reportgen.read import cells, decimals
from reportgen.read.layout import Heading


def told_mark(
    columns: Mapping[int, npt.NDArray[Any]],
    written: Mapping[int, tuple[str, ...]],
    headings: Sequence[Heading],
    rows: npt.NDArray[Any],
    file: str,
) -> decimals.Mark | None:
    """Return the decimal mark that the numbers of a table tell of; None where they tell of none, or of both.

    Parameters
    ----------
    columns
        By the index of their heading: texts, or numbers where every cell was plainly one.
    written
        By the same index: the first texts of those that are numbers.
    rows : (n,) array of int

    Raises
    ------
    LogFileError
        If a number may be read with either mark, both readings are possible, and no other number tells.
    """
    texts = {
        heading: cells.number_texts(columns[heading.index])
        for heading in headings
        if vocabulary.COLUMNS[heading.column].unit is not None and columns[heading.index].dtype == object
    }
    told = decimals.marks_told(text for column in (*texts.values(), *written.values()) for text in column)
    possible: list[decimals.Mark] = ["comma", "point"]
    if decimals.OPEN not in told:
        known = [mark for mark in possible if mark in told]
        return known[0] if len(known) == 1 else None
    if told != {decimals.OPEN}:
        possible = [mark for mark in possible if mark in told]
    if len(possible) == 2:
        possible = [mark for mark in possible if all(_is_possible(h, column, mark) for h, column in texts.items())]
    if len(possible) == 1:
        return possible[0]
    heading, text = next((h, t) for h, column in texts.items() for t in column if decimals.mark_told(t) == "open")
    row = int(rows[next(i for i, cell in enumerate(columns[heading.index]) if text in decimals.tidy(str(cell)))])
    raise LogFileError(
        "decimal-open",
        f'{file}, row {row}: {heading.column} "{text}" may be {text.replace(",", ".")} or {text.replace(",", "")}.\n'
        f'Add to trial.toml:  [files."{file}"]  and below it  decimal = "comma"  (or "point").',
        file=file,
        row=row,
    )


def _is_possible(heading: Heading, texts: list[str], mark: decimals.Mark) -> bool:
    """Return whether the numbers of a column are possible with a decimal mark."""
    column = vocabulary.COLUMNS[heading.column]
    if column.unit is None or column.name not in vocabulary.POSSIBLE:
        return True
    try:
        factor, offset = units.conversion(heading.unit or column.default_unit or column.unit, column.unit)
    except units.UnitError:
        return True  # said where the column is read
    low, high = vocabulary.POSSIBLE[column.name]
    read = (decimals.number_of(text, mark) for text in texts if decimals.mark_told(text) == decimals.OPEN)
    return all(low <= number[0] * factor + offset <= high for number in read if number is not None)

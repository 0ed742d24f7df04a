"""The lines below a header made ready to be cut into cells: comments and broken lines out, cells counted.

A text in the last cell that holds the separator is put together again, and so are numbers parted at decimal commas.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reportgen import vocabulary
from reportgen.checks.marks import MOST_ROWS
from reportgen.errors import LogFileError
from reportgen.message import COMMA, Listed, listed, say, say_counted
from reportgen.read import layout
from reportgen.read.cells import NO_READING
from reportgen.read.decimals import Mark
from reportgen.read.layout import Layout
from reportgen.trial import Finding

#: A row with more cells than this is no table.
MOST_CELLS = 1000
#: A line with more characters than this is none of a log (ours).
LONGEST_LINE = 1_000_000
_COMMENT_LINES = re.compile(rf"(?mi)^[^\S\n]*(?!{layout.SPREADSHEET_ERROR}){layout.COMMENT}.*$")
#: So many lines above the last one show how many decimals its number should have (ours).
LINES_COMPARED = 20
_LAST_NUMBER = re.compile(r"[+-]?\d*[.,](?P<decimals>\d*)")
_DECIMAL = re.compile(r"[+\-\u2212]?\d+,\d+")
_BLANK_LINES = re.compile(r"(?m)^[^\S\n]+$")
#: Columns of free text, in which people write the sign that parts the cells.
FREE_TEXT = ("note", "event", "material")
_PLAIN_NUMBER = re.compile(r"[+\-\u2212]?\d+(?:[.,]\d*)?|[+\-\u2212]?[.,]\d+")
_DIGITS = re.compile(r"[+\-\u2212]?\d+")
#: A row that can be taken apart in more ways than this is left as it is (ours).
MOST_WAYS = 1000


@dataclass(frozen=True)
class Body:
    """The lines below a header: their bytes and where each ends; whether a cell may go on over a line's end, and
    whether blanks may stand at the ends of cells."""

    data: bytes
    ends: npt.NDArray[np.int64]
    width: int
    spans_lines: bool
    is_padded: bool

    def line(self, index: int) -> str:
        """Return a line, counted from 0 below the header."""
        start = int(self.ends[index - 1]) + 1 if index else 0
        return self.data[start : int(self.ends[index])].decode()


def body_of(text: str, found: Layout, file: str, first_row: int, decimal: Mark | None, findings: list[Finding]) -> Body:
    """Return the lines of a table, comments left out, and a last line that breaks off."""
    if not text.endswith("\n"):
        last = text[text.rfind("\n") + 1 :]
        before = text[max(len(text) - len(last) - LINES_COMPARED * 200, 0) : len(text) - len(last)].split("\n")[1:-1]
        if last.strip() and _breaks_off(last, before[-LINES_COMPARED:], found):
            row = first_row + text.count("\n")
            message = say("the last line breaks off and is not used; complete it, or leave it out")
            findings.append(Finding("caution", "half-written-line", message, file, row))
            text = text[: len(text) - len(last)]
        elif text:
            text += "\n"
    if layout.COMMENT in text:
        text = _COMMENT_LINES.sub("", text)
    if "\n " in text or "\n\t" in text or text[:1].isspace():
        text = _BLANK_LINES.sub("", text)
    if found.delimiter in layout.BLANKS:
        text = layout.blanks_to_tabs(text, found.delimiter)
    if decimal == "comma" and found.delimiter == "," and found.header:
        text = _commas_rejoined(text, found, file, first_row, findings)
    data = text.encode()
    letters = np.frombuffer(data, dtype=np.uint8)
    ends = np.flatnonzero(letters == ord("\n"))
    lengths = np.diff(ends, prepend=-1)
    if len(ends) and lengths.max() > LONGEST_LINE:
        row = first_row + int(lengths.argmax())
        raise LogFileError(
            "line-too-long",
            f"{file}, row {row}: a line of {lengths.max()} characters; a log has at most {LONGEST_LINE}. "
            "Is it the right file?",
            file=file,
            row=row,
        )
    counts = _per_line(letters, ends, found.separator)
    wide = np.flatnonzero(counts >= len(found.header)) if found.header else np.empty(0, dtype=np.int64)
    joined = _texts_rejoined(text, wide, found, file, first_row, decimal, findings) if len(wide) else text
    if joined is not text:
        data = joined.encode()
        letters = np.frombuffer(data, dtype=np.uint8)
        ends = np.flatnonzero(letters == ord("\n"))
        text, counts = joined, _per_line(letters, ends, found.separator)
    width = int(counts.max()) + 1 if len(counts) else 1
    spans_lines = '"' in text and bool((_per_line(letters, ends, '"') % 2).any())
    if spans_lines:
        # A quoted cell over several lines may make a row wider than any line.
        try:
            width = max(width, *map(len, csv.reader(io.StringIO(text), delimiter=found.separator)))
        except csv.Error as error:
            raise LogFileError("not-a-table", f"{file}: {error}. Is it the right file?", file=file) from error
    if width > MOST_CELLS:
        raise LogFileError(
            "too-many-columns",
            f"{file}: a row has {width} cells; a log has at most {MOST_CELLS}. Is it the right file?",
            file=file,
        )
    return Body(data, ends, width, spans_lines, _is_padded(data, letters, found.separator))


def _is_padded(data: bytes, letters: npt.NDArray[np.uint8], separator: str) -> bool:
    """Return whether blanks may stand at the ends of cells; to strip each of a million cells takes much longer."""
    if not data.isascii() or b'"' in data or b"\x0b" in data or b"\x0c" in data:
        return True
    if separator != "\t" and b"\t" in data:
        return True
    blanks = np.flatnonzero(letters == ord(" "))
    edges = np.array([ord(separator), ord(" "), ord("\n")], dtype=np.uint8)
    beside = (letters[np.maximum(blanks - 1, 0)], letters[np.minimum(blanks + 1, len(letters) - 1)])
    return bool(len(blanks) and (blanks[0] == 0 or any(np.isin(side, edges).any() for side in beside)))


def _per_line(letters: npt.NDArray[np.uint8], ends: npt.NDArray[np.int64], letter: str) -> npt.NDArray[np.int64]:
    """Return how often a letter stands in each line."""
    return np.bincount(np.searchsorted(ends, np.flatnonzero(letters == ord(letter))), minlength=len(ends))


def _breaks_off(line: str, before: list[str], found: Layout) -> bool:
    """Return whether a line without an end has too few cells, an open quotation mark, or a number cut short.

    A number is cut short if it has fewer decimals than all those above it in the last column.
    """
    columns = len(found.header) or 1 + max(heading.index for heading in found.headings)
    cells = layout.split(line, found.delimiter)
    if len(cells) < columns or line.count('"') % 2 == 1:
        return True
    above = [parts[-1].strip() for other in before if len(parts := layout.split(other, found.delimiter)) == len(cells)]
    decimals = [len(match["decimals"]) if (match := _LAST_NUMBER.fullmatch(text)) else 0 for text in above if text]
    last = _LAST_NUMBER.fullmatch(cells[-1].strip()) or re.fullmatch(r"[+-]?\d*(?P<decimals>)", cells[-1].strip())
    return bool(decimals) and last is not None and len(last["decimals"]) < min(decimals)


def is_broken_by_commas(line: str, found: Layout) -> bool:
    """Return whether a line has a cell too many for each number of the header: its commas are decimal marks as well."""
    return bool(_rejoined(layout.split(line, found.delimiter), found))


def _commas_rejoined(text: str, found: Layout, file: str, first_row: int, findings: list[Finding]) -> str:
    """Return a text with the numbers put together again that commas part as they part the cells."""
    lines, joined = text.split("\n"), list[int]()
    for number, line in enumerate(lines):
        cells = _rejoined(layout.split(line, found.delimiter), found)
        if cells:
            # Quotation marks keep the comma inside the cell, and are doubled inside a text.
            lines[number] = ",".join('"' + cell.replace('"', '""') + '"' for cell in cells)
            joined.append(number)
    if joined:
        message = say_counted(
            len(joined),
            "commas part the cells of this row and its decimals; put together again, as decimal of [files] says",
            "commas part the cells of {n} rows and their decimals; put together again, as decimal of [files] says",
        )
        findings.append(Finding("note", "commas-rejoined", message, file, first_row + joined[0]))
    return "\n".join(lines)


def _rejoined(cells: list[str], found: Layout) -> list[str]:
    """Return the cells of a row whose every number was parted at its decimal comma; none where it is no such row.

    Every column but those of words must hold numbers, and all of them with decimals, or it would be a guess which.
    """
    words = {heading.index for heading in found.headings if vocabulary.COLUMNS[heading.column].unit is None}
    whole = range(len(found.header))
    if len(cells) != len(whole) + len([index for index in whole if index not in words]):
        return []
    parts = iter(cells)
    joined = [next(parts) if index in words else f"{next(parts).strip()},{next(parts).strip()}" for index in whole]
    are_numbers = all(index in words or _DECIMAL.fullmatch(cell) for index, cell in enumerate(joined))
    return joined if are_numbers and len(joined) < len(cells) else []


def rows_named(rows: Iterable[int]) -> Listed:
    """Return rows as a finding names them: ``5, 9, 12``, with ``…`` where there are more."""
    texts = [str(row) for row in rows]
    return listed([*texts[:MOST_ROWS], "…"] if len(texts) > MOST_ROWS else texts, COMMA)


def _texts_rejoined(
    text: str,
    wide: npt.NDArray[np.int64],
    found: Layout,
    file: str,
    first_row: int,
    decimal: Mark | None,
    findings: list[Finding],
) -> str:
    """Return a text with the last cells put together again in which somebody wrote the sign that parts the cells.

    Only a last column of free text has them. Where the surplus may as well come of decimal commas or of a column that
    the header does not name, the row is left as it is.

    Parameters
    ----------
    wide
        The lines, counted from 0, with more signs than part the columns of the header.
    """
    last = next((heading for heading in found.headings if heading.index == len(found.header) - 1), None)
    if last is None or last.column not in FREE_TEXT or (decimal == "comma" and found.delimiter == ","):
        return text
    lines, rows = text.split("\n"), list[int]()
    if any(line.count('"') % 2 for line in lines if '"' in line):
        return text  # a cell goes on over the end of its line, so a line is no row
    for number in wide:
        if lines[number].rstrip(f"{found.separator} ").count(found.separator) < len(found.header):
            continue  # nothing stands in the cells beyond
        cells = layout.split(lines[number], found.separator)
        whole = len(found.header) - 1
        while len(cells) > whole + 1 and not cells[-1].strip():
            cells.pop()
        if len(cells) > whole + 1 and _ends_in_a_text(cells, found):
            joined = [*cells[:whole], (" " if found.separator == "\t" else found.separator).join(cells[whole:])]
            lines[number] = found.separator.join('"' + cell.replace('"', '""') + '"' for cell in joined)
            rows.append(first_row + int(number))
    if not rows:
        return text
    message = say_counted(
        len(rows),
        "the sign that parts the cells stands in the text of the last column, {column}; read as one text; put such a "
        "text in quotation marks",
        "the sign that parts the cells stands in the texts of the last column, {column}, in {n} rows ({rows}); each is "
        "read as one text; put such texts in quotation marks",
        column=last.column,
        rows=rows_named(rows),
    )
    findings.append(Finding("note", "text-rejoined", message, file, rows[0]))
    return "\n".join(lines)


def _ends_in_a_text(cells: list[str], found: Layout) -> bool:
    """Return whether the cells of a row are those of the header, but for a last text that was parted."""
    whole = len(found.header) - 1
    columns = {heading.index: heading.column for heading in found.headings}
    parts = [cell.strip() for cell in cells]
    # A number at either end of the surplus may be one that moved there, or one of a column without a name.
    if not parts[whole] or _PLAIN_NUMBER.fullmatch(parts[whole]) or _PLAIN_NUMBER.fullmatch(parts[-1]):
        return False
    if not all(_can_be(parts[index], columns.get(index)) for index in range(whole)):
        return False
    return found.delimiter != "," or not _has_decimal_commas(parts, columns, whole)


def _can_be(cell: str, column: str | None) -> bool:
    """Return whether a cell can stand in a column; any can in one that means nothing to us."""
    if column is None or not cell:
        return True
    if column in vocabulary.TIME_COLUMNS:
        return any(letter.isdigit() for letter in cell)  # the name of a column, in a second header, holds none
    if column in FREE_TEXT:
        return not _PLAIN_NUMBER.fullmatch(cell)
    if vocabulary.COLUMNS[column].unit is None:
        return True
    return cell[0].isdigit() or cell[0] in "+-\u2212.<>~" or cell.casefold() in NO_READING


def _has_decimal_commas(cells: list[str], columns: Mapping[int, str], whole: int) -> bool:
    """Return whether the row can be read with a comma in one or more of its numbers as the decimal mark."""
    # A number of cells taken, a column reached, and whether a number was put together on the way.
    open_ways, seen = [(0, 0, False)], set[tuple[int, int, bool]]()
    while open_ways:
        if len(seen) > MOST_WAYS:
            return True
        way = open_ways.pop()
        taken, index, is_joined = way
        if way in seen or taken >= len(cells):
            continue
        seen.add(way)
        if index == whole:
            if is_joined and not _PLAIN_NUMBER.fullmatch(cells[taken]):
                return True
            continue
        column = columns.get(index)
        if _can_be(cells[taken], column):
            open_ways.append((taken + 1, index + 1, is_joined))
        is_number = column is not None and vocabulary.COLUMNS[column].unit is not None
        pair = cells[taken : taken + 2]
        if is_number and len(pair) == 2 and _DIGITS.fullmatch(pair[0]) and pair[1].isdecimal():
            open_ways.append((taken + 2, index + 1, True))
    return False

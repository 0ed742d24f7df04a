"""Text of a log file to tables of cells: second headers, page lines, comments, broken lines."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from reportgen import units, vocabulary
from reportgen.errors import LogFileError
from reportgen.message import say, say_counted
from reportgen.read import cells, decimals, layout
from reportgen.read.layout import Heading, Layout
from reportgen.trial import Finding

LOG_SUFFIXES = (".csv", ".tsv", ".txt", ".dat")
#: A row with more cells than this is no table.
MOST_CELLS = 1000
#: A line with more characters than this is none of a log (ours).
LONGEST_LINE = 1_000_000
#: A file with more headers than this is no log (ours).
MOST_HEADERS = 100
#: Rows that hold text where a time should be are looked at one by one, up to so many (ours).
MOST_ODD_ROWS = 10_000
#: The parser is given so many rows at once.
ROWS_AT_ONCE = 100_000
_COMMENT_LINES = re.compile(rf"(?mi)^[^\S\n]*(?!{layout.SPREADSHEET_ERROR}){layout.COMMENT}.*$")
_BLANK_LINES = re.compile(r"(?m)^[^\S\n]+$")


#: Columns by their place: stripped texts, or numbers with NaN where blank.
Columns = dict[int, npt.NDArray[Any]]


@dataclass(frozen=True)
class Table:
    """The rows below a header.

    Attributes
    ----------
    headings : tuple of Heading
    unknown : tuple of str
        Headers that mean nothing to us.
    cells : mapping of int to (n,) array
        By the index of their heading: stripped texts, "" where blank; or numbers, NaN where blank, in a column of
        numbers whose every cell is plainly one.
    written : mapping of int to tuple of str
        The first texts of a column of numbers, which show how finely it is written.
    rows : (n,) array of int
        Row of each as a spreadsheet counts.
    header_row : int
        Where there is no header, the first row.
    decimal : str
        Decimal mark of the numbers that are texts.
    """

    file: str
    headings: tuple[Heading, ...]
    unknown: tuple[str, ...]
    cells: Mapping[int, npt.NDArray[Any]]
    written: Mapping[int, tuple[str, ...]]
    rows: npt.NDArray[np.int64]
    header_row: int
    decimal: decimals.Mark
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Body:
    """The lines below a header: their bytes, where each ends, and whether a cell may go on over a line's end."""

    data: bytes
    ends: npt.NDArray[np.int64]
    width: int
    spans_lines: bool

    def line(self, index: int) -> str:
        start = int(self.ends[index - 1]) + 1 if index else 0
        return self.data[start : int(self.ends[index])].decode()


def find_tables(
    text: str, file: str, mapping: Mapping[str, str], decimal: decimals.Mark | None = None
) -> tuple[Table, ...]:
    """Find the header in a text and return the table below it; none where no line is a header of ours.

    A log may hold a second header further down, with other columns: what stands below that is a table of its own.

    Parameters
    ----------
    text
        With ``\\n`` at the end of lines.
    mapping
        Our column name -> the header's text or the column's place, from `[columns]` of `trial.toml`.
    decimal
        Decimal mark that `trial.toml` states for the file.

    Raises
    ------
    LogFileError
        If a mapped header is missing, a column stands twice, rows hold more cells than the header names, or the
        decimal mark is open.
    """
    found = layout.find_layout(_first_lines(text), file, mapping)
    if found is None:
        return ()
    start = _offset(text, found.line)
    table, starts = _read_table(text[start:], found, file, found.line + 1, decimal)
    if not starts:
        return (table,)
    if len(starts) > MOST_HEADERS:
        raise LogFileError(
            "not-a-table",
            f"{file}, row {starts[0] + 1}: {len(starts)} headers of other columns. Is it the right file?",
            file=file,
            row=starts[0] + 1,
        )
    lines = text.split("\n")
    tables: list[Table] = []
    for line, end in zip((found.line - 1, *starts), (*starts, len(lines)), strict=True):
        here = layout.find_layout([lines[line]], file, mapping) if line >= found.line else found
        assert here is not None  # it is a header, or it would not be among the starts
        below = max(line + 1, found.line)
        part, _ = _read_table("\n".join(lines[below:end]), here, file, below + 1, decimal)
        message = say("a second header, with other columns; the rows below it are read by it")
        second = (Finding("note", "second-header", message, file, line + 1),) if tables else ()
        tables.append(replace(part, findings=(*second, *part.findings)))
    return tuple(tables)


def has_header(text: str) -> bool:
    """Return whether a row of a text is a header of ours."""
    return any(map(layout.is_header, _first_lines(text)))


def _first_lines(text: str) -> list[str]:
    lines = text[: _offset(text, layout.HEADER_WITHIN)].split("\n")
    return lines if lines[-1] else lines[:-1]


def _offset(text: str, lines: int) -> int:
    """Return where the line after so many lines begins."""
    at = 0
    for _ in range(lines):
        end = text.find("\n", at)
        if end < 0:
            return len(text)
        at = end + 1
    return at


def _read_table(
    text: str, found: Layout, file: str, first_row: int, decimal: decimals.Mark | None
) -> tuple[Table, list[int]]:
    """Return the table of the lines below a header, and the lines [0-based, of the file] that are other headers."""
    findings: list[Finding] = []
    header_row = first_row - 1 if found.header else first_row
    body = _body(text, found, file, first_row, findings)
    columns = _columns(body, found, file, first_row, decimal)
    count = len(next(iter(columns.values()), ()))
    rows = np.arange(count, dtype=np.int64) + first_row
    if count < len(body.ends):
        _say_quoted(columns, len(body.ends) - count, rows, file, findings)
    kept = ~_blank((columns[h.index] for h in found.headings if h.index in columns), count)
    kept &= ~_crowded(columns, found, rows, kept, file, findings)
    starts = _odd_rows(columns, body, found, rows, kept, file, findings)
    if not kept.all():
        columns, rows = {index: column[kept] for index, column in columns.items()}, rows[kept]
    nothing = np.full(len(rows), "", dtype=object)
    used = {heading.index: columns.get(heading.index, nothing) for heading in found.headings}
    table = Table(
        file,
        found.headings,
        found.unknown,
        used,
        _written(body, found, used),
        rows,
        header_row,
        _decimal(used, found, rows, file, decimal),
        tuple(findings),
    )
    return table, starts


def _body(text: str, found: Layout, file: str, first_row: int, findings: list[Finding]) -> _Body:
    """Return the lines of a table, comments left out, and a last line that breaks off."""
    if not text.endswith("\n"):
        last = text[text.rfind("\n") + 1 :]
        if last.strip() and _breaks_off(last, found):
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
    counts = _per_line(letters, ends, _separator(found))
    width = int(counts.max()) + 1 if len(counts) else 1
    spans_lines = '"' in text and bool((_per_line(letters, ends, '"') % 2).any())
    if spans_lines:
        # A quoted cell over several lines may make a row wider than any line.
        try:
            width = max(width, *map(len, csv.reader(io.StringIO(text), delimiter=_separator(found))))
        except csv.Error as error:
            raise LogFileError("not-a-table", f"{file}: {error}. Is it the right file?", file=file) from error
    if width > MOST_CELLS:
        raise LogFileError(
            "too-many-columns",
            f"{file}: a row has {width} cells; a log has at most {MOST_CELLS}. Is it the right file?",
            file=file,
        )
    return _Body(data, ends, width, spans_lines)


def _per_line(letters: npt.NDArray[np.uint8], ends: npt.NDArray[np.int64], letter: str) -> npt.NDArray[np.int64]:
    """Return how often a letter stands in each line."""
    return np.bincount(np.searchsorted(ends, np.flatnonzero(letters == ord(letter))), minlength=len(ends))


def _separator(found: Layout) -> str:
    return "\t" if found.delimiter in layout.BLANKS else found.delimiter


def _breaks_off(line: str, found: Layout) -> bool:
    """Return whether a line without an end has too few cells or an open quotation mark."""
    columns = len(found.header) or 1 + max(heading.index for heading in found.headings)
    return len(layout.split(line, found.delimiter)) < columns or line.count('"') % 2 == 1


def _columns(body: _Body, found: Layout, file: str, first_row: int, decimal: decimals.Mark | None) -> Columns:
    """Return the columns of ours, numbers where every cell is plainly one and stripped text elsewhere; and the cells
    beyond the header, as text.
    """
    numbers = {h.index for h in found.headings if vocabulary.COLUMNS[h.column].unit is not None}
    beyond = range(len(found.header), body.width) if found.header else range(0)
    wanted = sorted(({heading.index for heading in found.headings} | set(beyond)) & set(range(body.width)))
    as_text = set(wanted) if decimal == "comma" else set(wanted) - numbers
    columns = _parsed(body, found, wanted, as_text, file, first_row)
    texts = {index for index in wanted if index not in as_text and columns[index].dtype == object}
    if texts:
        # What is no number everywhere is read once more as it was written, and so is all else where a comma in one
        # number may make the points in others thousands marks.
        as_text |= numbers & set(wanted) if any(_holds_comma(columns[index]) for index in texts) else texts
        columns = _parsed(body, found, wanted, as_text, file, first_row)
    return columns


def _holds_comma(column: npt.NDArray[Any]) -> bool:
    return any("," in text for text in pd.unique(column) if isinstance(text, str))


def _parsed(body: _Body, found: Layout, wanted: list[int], as_text: set[int], file: str, first_row: int) -> Columns:
    """Return the columns wanted; one that holds more than numbers is of objects, not all of them as written."""
    parts: dict[int, list[npt.NDArray[Any]]] = {index: [] for index in wanted}
    is_padded = _is_padded(body.data, _separator(found))
    try:
        for chunk in _chunks(body, found, wanted, as_text):
            for index in wanted:
                column = chunk[index]
                if column.dtype in (np.float64, np.int64) and np.isfinite(column.fillna(0)).all():
                    parts[index].append(column.to_numpy(dtype=np.float64))
                else:
                    texts = column.fillna("")
                    parts[index].append(
                        (texts.str.strip() if index in as_text and is_padded else texts).to_numpy(object)
                    )
    except pd.errors.ParserError as error:
        place = re.search(r"starting at row (\d+)", str(error))
        row = first_row + int(place[1]) if place else None
        raise LogFileError(
            "quotation-not-closed",
            f"{file}{f', row {row}' if row else ''}: a quotation mark is opened and never closed.\n"
            "Close it, or leave it out.",
            file=file,
            row=row,
        ) from error
    return {index: np.concatenate(part) if part else np.empty(0, dtype=object) for index, part in parts.items()}


def _chunks(body: _Body, found: Layout, wanted: list[int], as_text: set[int]) -> Iterator[pd.DataFrame]:
    """Return the cells a good many rows at a time, since the parser needs several times the memory of what it reads."""
    if not body.data or not wanted:
        return iter(())
    # Where marks of the separator stand inside quotation marks, `width` is more than any row has, and the columns
    # wanted might not be there.
    chosen = wanted if b'"' not in body.data else None
    return iter(
        pd.read_csv(
            io.BytesIO(body.data),
            sep=_separator(found),
            header=None,
            names=list(range(body.width)),
            usecols=chosen,
            index_col=False,
            dtype=dict.fromkeys(as_text, "str"),
            keep_default_na=False,
            na_values=[""],
            skip_blank_lines=False,
            low_memory=False,
            encoding="utf-8",
            engine="c",
            chunksize=ROWS_AT_ONCE,
        )
    )


def _is_padded(data: bytes, separator: str) -> bool:
    """Return whether blanks may stand at the ends of cells; to look at each of a million cells takes much longer."""
    mark = separator.encode()
    edges = (mark + b" ", b" " + mark, b" \n", b"\n ", b'"', b"\x0b", b"\x0c")
    return (
        data[:1] == b" "
        or not data.isascii()
        or any(edge in data for edge in edges)
        or (separator != "\t" and b"\t" in data)
    )


def _blank(columns: Iterable[npt.NDArray[Any]], rows: int) -> npt.NDArray[np.bool_]:
    """Return which rows hold nothing in some columns."""
    blank = np.ones(rows, dtype=bool)
    for column in columns:
        blank &= ~cells.filled(column)
    return blank


def _say_quoted(columns: Columns, count: int, rows: npt.NDArray[np.int64], file: str, findings: list[Finding]) -> None:
    spanning = np.zeros(len(rows), dtype=bool)
    for column in columns.values():
        if column.dtype == object:
            spanning |= np.array(["\n" in text for text in column], dtype=bool)
    message = say_counted(
        count,
        "a line stands inside quotation marks and is read as part of the cell before; close the mark that opens there, "
        "or leave it out",
        "{n} lines stand inside quotation marks and are read as part of one cell; close the mark that opens there, or "
        "leave it out",
    )
    findings.append(
        Finding("caution", "quoted-lines", message, file, int(rows[spanning][0]) if spanning.any() else None)
    )


def _crowded(
    columns: Columns,
    found: Layout,
    rows: npt.NDArray[np.int64],
    kept: npt.NDArray[np.bool_],
    file: str,
    findings: list[Finding],
) -> npt.NDArray[np.bool_]:
    """Return which rows hold more cells than the header names."""
    beyond = [column for index, column in columns.items() if index >= len(found.header)] if found.header else []
    crowded = ~_blank(beyond, len(rows))
    if not crowded.any():
        return crowded
    first = int(rows[crowded][0])
    if crowded.sum() * 2 > kept.sum():
        raise LogFileError(
            "more-cells-than-columns",
            f"{file}, row {first}: found more cells than the {len(found.header)} columns of the header.\n"
            "If commas are decimal marks, separate the columns with semicolons, or write the numbers with points.",
            file=file,
            row=first,
        )
    message = say_counted(
        int(crowded.sum()),
        "this row holds more cells than the header has columns and is not used; put a text that holds the separator in "
        "quotation marks",
        "{n} rows hold more cells than the header has columns and are not used; put a text that holds the separator in "
        "quotation marks",
    )
    findings.append(Finding("caution", "extra-cells", message, file, first))
    return crowded


def _odd_rows(
    columns: Columns,
    body: _Body,
    found: Layout,
    rows: npt.NDArray[np.int64],
    kept: npt.NDArray[np.bool_],
    file: str,
    findings: list[Finding],
) -> list[int]:
    """Take repeated headers and page lines out of the rows kept; return the lines [0-based] that are other headers."""
    clock = next((h for h in found.headings if h.column in ("time", "date", "elapsed", "epoch")), None)
    if clock is None or clock.index not in columns or columns[clock.index].dtype != object:
        return []
    times = columns[clock.index]
    # Letters stand behind all digits.
    odd = np.flatnonzero((times > "@") & kept)
    others = (columns[h.index][odd] for h in found.headings if h.index != clock.index and h.index in columns)
    lone = _blank(others, len(odd))
    header = [cell.strip().casefold() for cell in found.header]
    repeated, pages, starts = [], [], []
    for i, is_lone in zip(odd[:MOST_ODD_ROWS], lone, strict=False):
        line = body.line(i) if not body.spans_lines else ""
        here = [cell.strip().casefold() for cell in layout.split(line, _separator(found))]
        if header and here == header:
            repeated.append(i)
        elif layout.is_header(line):
            starts.append(int(rows[i]) - 1)
        elif is_lone:
            pages.append(i)
    for chosen, code, one, many in (
        (repeated, "repeated-header", "this row repeats the header", "{n} rows repeat the header"),
        (
            pages,
            "page-line",
            'this row holds the words "{text}" and no reading; passed over',
            '{n} rows hold words such as "{text}" and no reading; passed over',
        ),
    ):
        if chosen:
            kept[chosen] = False
            message = say_counted(len(chosen), one, many, text=str(times[chosen[0]])[:40])
            findings.append(Finding("note", code, message, file, int(rows[chosen[0]])))
    return starts


def _written(body: _Body, found: Layout, columns: Mapping[int, npt.NDArray[Any]]) -> dict[int, tuple[str, ...]]:
    """Return the first texts of the columns that were read as numbers at once."""
    numbers = [index for index, column in columns.items() if column.dtype == np.float64]
    if not numbers or not len(body.ends):
        return {}
    end = int(body.ends[min(cells.MOST_WRITTEN, len(body.ends)) - 1]) + 1
    frame = pd.read_csv(
        io.BytesIO(body.data[:end]),
        sep=_separator(found),
        header=None,
        names=list(range(body.width)),
        usecols=numbers,
        index_col=False,
        dtype="str",
        keep_default_na=False,
        skip_blank_lines=True,
        encoding="utf-8",
        engine="c",
    )
    return {index: tuple(frame[index].fillna("").str.strip()) for index in numbers}


def _decimal(
    columns: Mapping[int, npt.NDArray[Any]],
    found: Layout,
    rows: npt.NDArray[np.int64],
    file: str,
    stated: decimals.Mark | None,
) -> decimals.Mark:
    """Return the decimal mark of a table, as stated or as its numbers tell; raise if it is open and matters."""
    if stated is not None:
        return stated
    texts = {
        heading: cells.number_texts(columns[heading.index])
        for heading in found.headings
        if vocabulary.COLUMNS[heading.column].unit is not None and columns[heading.index].dtype == object
    }
    told = decimals.marks_told(text for column in texts.values() for text in column)
    if decimals.OPEN not in told:
        return "comma" if told == {"comma"} else "point"
    possible: list[decimals.Mark] = ["comma", "point"]
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

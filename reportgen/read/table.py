"""Text of a log file to tables of cells: second headers, page lines, comments, broken lines."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from reportgen import vocabulary
from reportgen.errors import LogFileError
from reportgen.message import say, say_counted
from reportgen.read import cells, decimals, layout
from reportgen.read.decimal_mark import told_mark
from reportgen.read.layout import Heading, Layout
from reportgen.read.lines import Body, body_of, is_broken_by_commas, rows_named
from reportgen.trial import Finding

LOG_SUFFIXES = (".csv", ".tsv", ".txt", ".dat")
#: A file with more headers than this is no log (ours).
MOST_HEADERS = 100
#: Rows that hold text where a time should be are looked at one by one, up to so many (ours).
MOST_ODD_ROWS = 10_000
#: The parser is given so many rows at once.
ROWS_AT_ONCE = 100_000
#: What is said of rows that are no readings.
_REPEATED = say_counted(0, "this row repeats the header", "{n} rows repeat the header")
_PAGE_LINES = say_counted(
    0,
    'this row holds the words "{text}" and no reading; passed over',
    '{n} rows hold words such as "{text}" and no reading; passed over',
)


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
    repeats : (n,) array of bool
        True where a line above is the same to the letter, columns that mean nothing to us included.
    header_row : int
        Where there is no header, the first row.
    decimal : str
        Decimal mark of the numbers that are texts.
    told : str or None
        The mark that the numbers tell of by themselves; None where they hold none, or both.
    """

    file: str
    delimiter: str
    headings: tuple[Heading, ...]
    unknown: tuple[str, ...]
    cells: Mapping[int, npt.NDArray[Any]]
    written: Mapping[int, tuple[str, ...]]
    rows: npt.NDArray[np.int64]
    repeats: npt.NDArray[np.bool_]
    header_row: int
    decimal: decimals.Mark
    told: decimals.Mark | None
    findings: tuple[Finding, ...]


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
    clock = next((h for h in found.headings if h.column == "elapsed"), None)
    if (
        clock is not None
        and "elapsed" not in mapping
        and vocabulary.column_named(*vocabulary.split_header(clock.header)) != "elapsed"
    ):
        message = say(
            '"{header}" is read as the time elapsed since the burner was lit; if its zero is another moment, write '
            "clock times",
            header=clock.header[:60],
        )
        table = replace(
            table, findings=(Finding("note", "time-as-elapsed", message, file, found.line), *table.findings)
        )
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


def delimiter_of(text: str, file: str, mapping: Mapping[str, str]) -> str:
    """Return what parts the cells of the table in a text; "" where it holds none."""
    found = layout.find_layout(_first_lines(text), file, mapping)
    return found.delimiter if found is not None else ""


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
    body = body_of(text, found, file, first_row, decimal, findings)
    columns = _columns(body, found, file, first_row, decimal)
    count = len(next(iter(columns.values()), ()))
    rows = np.arange(count, dtype=np.int64) + first_row
    if count < len(body.ends):
        _say_quoted(columns, len(body.ends) - count, rows, file, findings)
    kept = ~_blank((columns[h.index] for h in found.headings if h.index in columns), count)
    kept &= ~_crowded(columns, body, found, rows, kept, file, findings)
    starts = _odd_rows(columns, body, found, rows, kept, file, findings)
    if not kept.all():
        columns, rows = {index: column[kept] for index, column in columns.items()}, rows[kept]
    nothing = np.full(len(rows), "", dtype=object)
    used = {heading.index: columns.get(heading.index, nothing) for heading in found.headings}
    written = _written(body, found, used)
    told = decimal or told_mark(used, written, found.headings, rows, file)
    table = Table(
        file,
        found.delimiter,
        found.headings,
        found.unknown,
        used,
        written,
        rows,
        _repeats(used, body, found, rows - first_row),
        header_row,
        told or "point",
        told,
        tuple(findings),
    )
    return table, starts


def _columns(body: Body, found: Layout, file: str, first_row: int, decimal: decimals.Mark | None) -> Columns:
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


def _parsed(body: Body, found: Layout, wanted: list[int], as_text: set[int], file: str, first_row: int) -> Columns:
    """Return the columns wanted; one that holds more than numbers is of objects, not all of them as written."""
    parts: dict[int, list[npt.NDArray[Any]]] = {index: [] for index in wanted}
    try:
        for chunk in _chunks(body, found, wanted, as_text):
            for index in wanted:
                column = chunk[index]
                if column.dtype in (np.float64, np.int64) and np.isfinite(column.fillna(0)).all():
                    parts[index].append(column.to_numpy(dtype=np.float64))
                elif index not in as_text:
                    parts[index].append(column.to_numpy(object))  # to be read once more as it was written
                else:
                    texts = column.fillna("")
                    parts[index].append((texts.str.strip() if body.is_padded else texts).to_numpy(object))
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


def _chunks(body: Body, found: Layout, wanted: list[int], as_text: set[int]) -> Iterator[pd.DataFrame]:
    """Return the cells a good many rows at a time, since the parser needs several times the memory of what it reads."""
    if not body.data or not wanted:
        return iter(())
    # Where marks of the separator stand inside quotation marks, `width` is more than any row has, and the columns
    # wanted might not be there.
    chosen = wanted if b'"' not in body.data else None
    return iter(
        pd.read_csv(
            io.BytesIO(body.data),
            sep=found.separator,
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
    body: Body,
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
            + _advice(body.line(int(np.flatnonzero(crowded)[0])) if not body.spans_lines else "", found, file),
            file=file,
            row=first,
        )
    message = say_counted(
        int(crowded.sum()),
        "this row holds more cells than the header has columns and is not used; put a text that holds the separator in "
        "quotation marks",
        "{n} rows ({rows}) hold more cells than the header has columns and are not used; put a text that holds the "
        "separator in quotation marks",
        rows=rows_named(rows[crowded].tolist()),
    )
    findings.append(Finding("caution", "extra-cells", message, file, first))
    return crowded


def _advice(line: str, found: Layout, file: str) -> str:
    if found.delimiter == "," and is_broken_by_commas(line, found):
        return (
            "Commas part the cells and the decimals. Write semicolons between the cells, or add to trial.toml:  "
            f'[files."{file}"]  and below it  decimal = "comma".'
        )
    return "If commas are decimal marks, separate the columns with semicolons, or write the numbers with points."


def _odd_rows(
    columns: Columns,
    body: Body,
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
    repeated: list[int] = []
    pages: list[int] = []
    starts: list[int] = []
    for i, is_lone in zip(odd[:MOST_ODD_ROWS], lone, strict=False):
        line = body.line(i) if not body.spans_lines else ""
        here = [cell.strip().casefold() for cell in layout.split(line, found.separator)]
        is_same = bool(header) and here == header
        if is_same and not starts:
            repeated.append(i)
        elif is_same or layout.is_header(line):  # after another header, the first one comes as another again
            starts.append(int(rows[i]) - 1)
        elif is_lone:
            pages.append(i)
    for chosen, code, told in ((repeated, "repeated-header", _REPEATED), (pages, "page-line", _PAGE_LINES)):
        if chosen:
            kept[chosen] = False
            message = told.filled(n=len(chosen), text=str(times[chosen[0]])[:40])
            findings.append(Finding("note", code, message, file, int(rows[chosen[0]])))
    return starts


def _repeats(columns: Columns, body: Body, found: Layout, lines: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
    """Return which rows stand above to the letter; where a cell spans lines, those whose time stands above."""
    clock = next((heading.index for heading in found.headings if heading.column in vocabulary.TIME_COLUMNS), None)
    if clock is None or not len(lines):
        return np.zeros(len(lines), dtype=bool)
    times = columns[clock]
    if (times[1:] > times[:-1]).all():
        return np.zeros(len(lines), dtype=bool)  # what rises from row to row repeats nothing
    candidates = pd.Series(times).duplicated(keep=False).to_numpy(copy=True)
    if body.spans_lines or not candidates.any():
        return candidates
    chosen = np.flatnonzero(candidates)
    texts = pd.Series([body.line(int(lines[i])).rstrip() for i in chosen], dtype="object")
    candidates[chosen] = texts.duplicated().to_numpy()
    return candidates


def _written(body: Body, found: Layout, columns: Mapping[int, npt.NDArray[Any]]) -> dict[int, tuple[str, ...]]:
    """Return the first texts of the columns that were read as numbers at once."""
    numbers = [index for index, column in columns.items() if column.dtype == np.float64]
    if not numbers or not len(body.ends):
        return {}
    end = int(body.ends[min(cells.MOST_WRITTEN, len(body.ends)) - 1]) + 1
    frame = pd.read_csv(
        io.BytesIO(body.data[:end]),
        sep=found.separator,
        header=None,
        names=list(range(body.width)),
        usecols=numbers if b'"' not in body.data else None,
        index_col=False,
        dtype="str",
        keep_default_na=False,
        skip_blank_lines=True,
        encoding="utf-8",
        engine="c",
    )
    return {index: tuple(frame[index].fillna("").str.strip()) for index in numbers}

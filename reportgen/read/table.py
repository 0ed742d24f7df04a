"""Bytes of a log file to a table of text cells: encoding, preamble, delimiter, header."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from reportgen import vocabulary
from reportgen.errors import LogFileError
from reportgen.message import say, say_counted
from reportgen.trial import Finding

LOG_SUFFIXES = (".csv", ".tsv", ".txt", ".dat")
DELIMITERS = (",", ";", "\t", "|")
#: A header stands within this many lines; loggers write some dozens of lines before it (ours).
HEADER_WITHIN = 200
#: A longer line is no header [characters].
LONGEST_HEADER = 100_000
#: A row with more cells than this is no table.
MOST_CELLS = 1000
COMMENT = "#"
#: What spreadsheets write for a value they could not compute; it begins like a comment and is none.
SPREADSHEET_ERROR = re.compile(r"\s*#(N/A|NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!)", re.I)
#: Where a line ends in a spreadsheet; a form feed or a line separator in a note is no end.
_LINE_END = re.compile(r"\r\n|\r|\n")


@dataclass(frozen=True)
class Heading:
    """A column that means something to us: its place, our name for it, and the unit its header gives."""

    index: int
    column: str
    unit: str | None
    header: str


@dataclass(frozen=True)
class Table:
    """The rows below a header, as text.

    Attributes
    ----------
    headings : tuple of Heading
    unknown : tuple of str
        Headers that mean nothing to us.
    cells : mapping of int to (n,) array of str
        Stripped cells by the index of their heading.
    rows : (n,) array of int
        Row of each as a spreadsheet counts.
    header_row : int
    """

    file: str
    headings: tuple[Heading, ...]
    unknown: tuple[str, ...]
    cells: Mapping[int, npt.NDArray[Any]]
    rows: npt.NDArray[np.int64]
    header_row: int
    findings: tuple[Finding, ...]


def decode(data: bytes, file: str) -> tuple[str, tuple[Finding, ...]]:
    """Return the text of a log: as its byte order mark says, else UTF-8, else Windows-1252 with a finding.

    Raises
    ------
    LogFileError
        If the bytes are no text.
    """
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            try:
                return data.decode(encoding), ()
            except UnicodeDecodeError as error:
                raise LogFileError(
                    "broken-encoding",
                    f"{file}: byte {error.start + 1} is not {encoding} text though the file begins as such.\n"
                    "Save the file as CSV UTF-8.",
                    file=file,
                ) from error
    if b"\0" in data:
        raise LogFileError(
            "not-text",
            f"{file}: this is not a text file (it holds zero bytes).\nSave or export the log as CSV UTF-8.",
            file=file,
        )
    try:
        return data.decode("utf-8"), ()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = say("not UTF-8 from row {row} on; read as Windows-1252", row=line)
        return data.decode("cp1252", errors="replace"), (Finding("note", "encoding", message, file, line),)


def find_table(text: str, file: str, mapping: Mapping[str, str]) -> Table | None:
    """Find the header in a text and return the table below it; None where no line is a header of ours.

    Parameters
    ----------
    mapping
        Our column name -> the header's text, from `[columns]` of `trial.toml`.

    Raises
    ------
    LogFileError
        If a mapped header is missing, a column stands twice, or rows hold more cells than the header names.
    """
    lines = _LINE_END.split(text)
    if not lines[-1]:
        lines.pop()
    found = _find_header(lines, mapping)
    if found is None:
        return None
    at, delimiter = found
    header = _split(lines[at], delimiter)
    headings, unknown = _headings(header, file, at + 1, mapping)
    body = ["" if _is_comment(line) or line.isspace() else line for line in lines[at + 1 :]]
    findings: list[Finding] = []
    if body and body[-1].strip() and not text.endswith(("\n", "\r")) and _breaks_off(body[-1], delimiter, len(header)):
        findings.append(
            Finding(
                "caution",
                "half-written-line",
                say("the last line breaks off and is not used; complete it, or leave it out"),
                file,
                at + 1 + len(body),
            )
        )
        body = body[:-1]
    frame = _cells(body, delimiter, file, at + 2)
    rows = np.arange(len(frame), dtype=np.int64) + at + 2
    if len(frame) < len(body):
        spanning = frame.apply(lambda column: column.str.contains("\n", regex=False)).any(axis=1).to_numpy()
        findings.append(
            Finding(
                "caution",
                "quoted-lines",
                say_counted(
                    len(body) - len(frame),
                    "a line stands inside quotation marks and is read as part of the cell before; close the mark that "
                    "opens there, or leave it out",
                    "{n} lines stand inside quotation marks and are read as part of one cell; close the mark that "
                    "opens there, or leave it out",
                ),
                file,
                int(rows[spanning][0]),
            )
        )
    blank = (frame == "").all(axis=1).to_numpy()
    frame, rows = frame[~blank], rows[~blank]
    extra = [number for number in range(len(frame.columns)) if number >= len(header)]
    if extra:
        crowded = (frame[extra].apply(lambda column: column.str.strip()) != "").any(axis=1).to_numpy()
        if crowded.sum() * 2 > len(frame):
            raise LogFileError(
                "more-cells-than-columns",
                f"{file}, row {rows[crowded][0]}: found more cells than the {len(header)} columns of the "
                "header.\nIf commas are decimal marks, separate the columns with semicolons, or write the "
                "numbers with points.",
                file=file,
                row=int(rows[crowded][0]),
            )
        if crowded.any():
            findings.append(
                Finding(
                    "caution",
                    "extra-cells",
                    say_counted(
                        int(crowded.sum()),
                        "this row holds more cells than the header has columns and is not used; put a text that holds "
                        "the separator in quotation marks",
                        "{n} rows hold more cells than the header has columns and are not used; put a text that holds "
                        "the separator in quotation marks",
                    ),
                    file,
                    int(rows[crowded][0]),
                )
            )
        frame, rows = frame[~crowded], rows[~crowded]
    cells = {
        heading.index: frame[heading.index].str.strip().to_numpy(dtype=object)
        if heading.index in frame.columns
        else np.full(len(frame), "", dtype=object)
        for heading in headings
    }
    return Table(file, headings, unknown, cells, rows, at + 1, tuple(findings))


def has_header(text: str) -> bool:
    """Return whether a row of a text is a header of ours."""
    return _find_header(_LINE_END.split(text), {}) is not None


def _find_header(lines: list[str], mapping: Mapping[str, str]) -> tuple[int, str] | None:
    """Return the line and the delimiter of the first line that names a time and most columns of ours."""
    for number, line in enumerate(lines[:HEADER_WITHIN]):
        if _is_comment(line) or len(line) > LONGEST_HEADER:
            continue
        best = (0, "")
        for delimiter in DELIMITERS:
            names = {_meaning(cell, mapping) for cell in _split(line, delimiter)}
            names.discard(None)
            others = names - set(vocabulary.TIME_COLUMNS)
            if others and len(others) < len(names) and len(names) > best[0]:
                best = (len(names), delimiter)
        if best[0]:
            return number, best[1]
    return None


def _meaning(cell: str, mapping: Mapping[str, str]) -> str | None:
    text = cell.strip()
    for ours, theirs in mapping.items():
        if text == theirs.strip():
            return vocabulary.column_named(ours)
    if any(vocabulary.column_named(ours) == vocabulary.column_named(text) for ours in mapping):
        return None  # the user has said which column this is; another of that name is not it
    return vocabulary.column_named(vocabulary.split_header(text)[0])


def _headings(
    header: list[str], file: str, row: int, mapping: Mapping[str, str]
) -> tuple[tuple[Heading, ...], tuple[str, ...]]:
    headings: dict[str, Heading] = {}
    unknown = []
    for index, cell in enumerate(header):
        name = _meaning(cell, mapping)
        if name is None:
            unknown += [cell.strip()] if cell.strip() else []
        elif name in headings:
            raise LogFileError(
                "column-twice",
                f"{file}, row {row}: two columns are named {name} "
                f'("{headings[name].header}" and "{cell.strip()}").\n'
                f'Rename one, or say in trial.toml under [columns]:  "{file}" = {{ {name} = "…" }}',
                file=file,
                row=row,
            )
        else:
            headings[name] = Heading(index, name, vocabulary.split_header(cell)[1], cell.strip())
    missing = [text for ours, text in mapping.items() if vocabulary.column_named(ours) not in headings]
    if missing:
        shown = ", ".join(f'"{cell.strip()}"' for cell in header[:8])
        raise LogFileError(
            "mapped-column-missing",
            f'{file}, row {row}: no column "{missing[0]}", which [columns] of trial.toml names.\nFound {shown}.',
            file=file,
            row=row,
        )
    return tuple(headings.values()), tuple(unknown)


def _split(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return [line]


def _is_comment(line: str) -> bool:
    return line.lstrip().startswith(COMMENT) and not SPREADSHEET_ERROR.match(line)


def _breaks_off(line: str, delimiter: str, columns: int) -> bool:
    """Return whether a line without an end has too few cells or an open quotation mark."""
    return len(_split(line, delimiter)) < columns or line.count('"') % 2 == 1


def _cells(body: list[str], delimiter: str, file: str, first_row: int) -> pd.DataFrame:
    """Return the cells of all lines as text; a short line is filled with blanks."""
    width = max((line.count(delimiter) for line in body), default=0) + 1
    if any('"' in line for line in body):
        # A quoted cell over several lines may make a row wider than any line.
        try:
            width = max(width, *map(len, csv.reader(body, delimiter=delimiter)))
        except csv.Error as error:
            raise LogFileError("not-a-table", f"{file}: {error}. Is it the right file?", file=file) from error
    if width > MOST_CELLS:
        raise LogFileError(
            "too-many-columns",
            f"{file}: a row has {width} cells; a log has at most {MOST_CELLS}. Is it the right file?",
            file=file,
        )
    if not body:
        return pd.DataFrame({0: pd.Series([], dtype="str")})
    try:
        frame = pd.read_csv(
            io.StringIO("\n".join(body) + "\n"),
            sep=delimiter,
            header=None,
            names=list(range(width)),
            index_col=False,
            dtype="str",
            keep_default_na=False,
            na_filter=False,
            skip_blank_lines=False,
            engine="c",
        )
    except pd.errors.ParserError as error:
        place = re.search(r"starting at row (\d+)", str(error))
        where = f"{file}, row {first_row + int(place[1])}" if place else file
        raise LogFileError(
            "quotation-not-closed",
            f"{where}: a quotation mark is opened and never closed.\nClose it, or leave it out.",
            file=file,
        ) from error
    return frame.fillna("")

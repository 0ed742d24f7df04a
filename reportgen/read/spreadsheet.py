"""The first sheet of a spreadsheet file as the text of a log: a line a row, so that rows count as the sheet shows them.

An `.ods` file is read with what Python brings along; an `.xlsx` file needs openpyxl, which the extra `spreadsheet`
installs.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
import re
import warnings
import zipfile
from collections.abc import Iterator
from pathlib import PurePath
from typing import Any
from xml.parsers import expat

from reportgen.message import say, say_counted
from reportgen.trial import Finding

SUFFIXES = (".xlsx", ".ods", ".xls")
#: What a file may unpack to [bytes]; rows; cells, blanks between them included (ours).
LARGEST_UNPACKED = 200_000_000
MOST_ROWS = 200_000
MOST_CELLS = 10_000_000
#: A row with more cells than this is none of a log (ours); the last one a sheet can have is the 16 384th.
MOST_COLUMNS = 1000
_TOO_MANY = f"it has more than {MOST_ROWS} rows, or too many cells for a log"
#: At most so many sheets that are not read are named (ours).
MOST_NAMED = 6
#: Digits that a stored number is sure of; more are what is left of a binary fraction.
DIGITS = 15
_TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0 "
_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0 "
_TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0 "
_CELLS = (_TABLE + "table-cell", _TABLE + "covered-table-cell")
_BLANKS = (_TEXT + "p", _TEXT + "s", _TEXT + "tab", _TEXT + "line-break")
#: ISO 8601 duration as OpenDocument writes a time.
_DURATION = re.compile(r"(-?)P(?:(\d+)D)?T?(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:\.\d+)?)S)?")
#: An entity that is declared may stand for more than any memory holds, or for a file of this machine.
_DECLARATION = re.compile(rb"<!(DOCTYPE|ENTITY)")
_FORMULA_ALONE = re.compile(rb"</(?:\w+:)?f>\s*(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v>\s*</(?:\w+:)?v>)?\s*</(?:\w+:)?c>")


class _RefusedError(Exception):
    """The file is not read; the text says why."""


def read_text(data: bytes, file: str) -> tuple[str | None, tuple[Finding, ...]]:
    """Return the first sheet of a spreadsheet file as comma-separated text, and what to say of it.

    Numbers have a point, dates and times are as ISO 8601 writes them, and percentages keep their sign. Of a formula,
    the value stored with it is read. The text is None where the file is not read.
    """
    suffix = PurePath(file).suffix.lower()
    try:
        if suffix == ".xls":
            return None, (_not_read(file, ""),)
        members = _members(data)
        if suffix == ".ods":
            sheets, rows, findings = _read_ods(members)
        else:
            try:
                import openpyxl
            except ImportError:
                extra = '; or install the extra that reads it:  pip install "trial-reportgen[spreadsheet]"'
                return None, (_not_read(file, extra),)
            sheets, rows, findings = _read_xlsx(openpyxl, data, members, file)
    except _RefusedError as refusal:
        message = say("the spreadsheet is not read: {why}; save its sheet as CSV UTF-8", why=str(refusal))
        return None, (Finding("error", "spreadsheet-not-read", message, file),)
    others = sheets[1:]
    if others:
        message = say(
            'only the first sheet, "{first}", is read; not read: {others}',
            first=sheets[0][:60],
            others=", ".join(f'"{name[:60]}"' for name in others[:MOST_NAMED]),
        )
        findings.append(Finding("note", "other-sheets", message, file))
    return _as_csv(rows), tuple(findings)


def _not_read(file: str, extra: str) -> Finding:
    message = say(
        "a spreadsheet is not read; open it, choose Save as, then CSV UTF-8, into this folder{extra}", extra=extra
    )
    return Finding("caution", "spreadsheet", message, file)


def _members(data: bytes) -> dict[str, bytes]:
    """Return the parts of the file that hold text, unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = [part for part in archive.infolist() if part.filename.endswith((".xml", ".rels"))]
            if sum(part.file_size for part in archive.infolist()) > LARGEST_UNPACKED:
                raise _RefusedError(f"it unpacks to more than {LARGEST_UNPACKED / 1e6:.0f} MB")
            # No part gives more than the size it states: what goes on after that is an error here.
            return {part.filename: archive.read(part) for part in parts}
    except _RefusedError:
        raise
    except Exception as error:  # a damaged archive fails in more ways than can be listed
        raise _RefusedError("it is damaged, protected by a password, or no spreadsheet") from error


def _as_csv(rows: list[list[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    for row in rows:
        if any(row):
            writer.writerow(row)
        else:
            text.write("\n")
    return text.getvalue()


def _plain(text: str) -> str:
    """Return a text as one line of printable signs."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _number(value: float, *, is_percent: bool = False) -> str:
    if not math.isfinite(value):
        return ""
    return f"{value * 100:.{DIGITS - 1}g}%" if is_percent else f"{value:.{DIGITS}g}"


def _clock(seconds: float) -> str:
    """Return a time of day or a duration as H:MM:SS, to the millisecond."""
    milliseconds = round(seconds * 1000)
    sign, milliseconds = ("-", -milliseconds) if milliseconds < 0 else ("", milliseconds)
    minutes, rest = divmod(milliseconds, 60_000)
    tail = f".{rest % 1000:03d}" if rest % 1000 else ""
    return f"{sign}{minutes // 60:02d}:{minutes % 60:02d}:{rest // 1000:02d}{tail}"


# .xlsx


def _read_xlsx(
    openpyxl: Any, data: bytes, members: dict[str, bytes], file: str
) -> tuple[list[str], list[list[str]], list[Finding]]:
    if any(_DECLARATION.search(part.replace(b"\0", b"")) for part in members.values()):
        raise _RefusedError("it declares entities, which no spreadsheet needs")
    alone = sum(
        len(_FORMULA_ALONE.findall(part)) for name, part in members.items() if name.startswith("xl/worksheets/")
    )
    members.clear()
    findings = list[Finding]()
    if alone:
        message = say_counted(
            alone,
            "a formula has no stored value and is read as a blank; open the file, and save it once more",
            "{n} formulas have no stored value and are read as blanks; open the file, and save it once more",
        )
        findings.append(Finding("caution", "formula-without-value", message, file))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what openpyxl leaves out, such as colours, is no part of a log
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
            sheets = [sheet.title for sheet in book.worksheets]
            if not sheets:
                raise _RefusedError("it holds no sheet")
            sheet = book.worksheets[0]
            sheet.reset_dimensions()  # what the file says of its size need not be so
            rows = _bounded([_cell_text(cell) for cell in row] for row in sheet.iter_rows())
    except _RefusedError:
        raise
    except Exception as error:  # whatever a damaged file makes of its reader is that file's fault
        raise _RefusedError("it is damaged, or no spreadsheet") from error
    return sheets, rows, findings


def _bounded(source: Iterator[list[str]]) -> list[list[str]]:
    """Return rows without the blanks that end them and the blank rows that end the sheet."""
    rows, cells, last = list[list[str]](), 0, 0
    for row in source:
        cells += len(row) + 1
        while row and not row[-1]:
            row.pop()
        rows.append(row)
        last = len(rows) if row else last
        if last > MOST_ROWS or cells > MOST_CELLS or len(rows) > 10 * MOST_ROWS:
            raise _RefusedError(_TOO_MANY)
        if len(row) > MOST_COLUMNS:
            raise _RefusedError(f"row {len(rows)} has {len(row)} cells; a log has at most {MOST_COLUMNS}")
    return rows[:last]


def _cell_text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return _number(float(value), is_percent="%" in (cell.number_format or ""))
    if isinstance(value, dt.datetime):
        value = (value + dt.timedelta(microseconds=500)).replace(tzinfo=None)
        value = value.replace(microsecond=value.microsecond // 1000 * 1000)
        has_clock = value.time() != dt.time() or "h" in (cell.number_format or "").casefold()
        return f"{value.date()} {_of_day(value.time())}" if has_clock else str(value.date())
    if isinstance(value, dt.date):
        return str(value)
    if isinstance(value, dt.time):
        return _of_day(value)
    if isinstance(value, dt.timedelta):
        return _clock(value.total_seconds())
    return _plain(str(value))


def _of_day(time: dt.time) -> str:
    return _clock(time.hour * 3600 + time.minute * 60 + time.second + time.microsecond / 1e6)


# .ods


def _read_ods(members: dict[str, bytes]) -> tuple[list[str], list[list[str]], list[Finding]]:
    content = members.get("content.xml")
    if content is None:
        raise _RefusedError("it is damaged, or no spreadsheet")
    reader = _Ods()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.data
    parser.StartDoctypeDeclHandler = reader.doctype
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        raise _RefusedError("it is damaged, or protected by a password") from error
    if not reader.sheets:
        raise _RefusedError("it holds no sheet")
    return reader.sheets, reader.rows, []


class _Ods:
    """What is met on the way through `content.xml`: the names of the sheets, and the rows of the first."""

    def __init__(self) -> None:
        self.sheets: list[str] = []
        self.rows: list[list[str]] = []
        self._blank_rows = 0
        self._row_repeated = 1
        self._row: list[str] = []
        self._blank_cells = 0
        self._cells = 0
        self._cell: dict[str, str] | None = None
        self._texts: list[str] = []
        self._in_comment = 0
        self._tables = 0

    @property
    def _is_in_first_sheet(self) -> bool:
        return len(self.sheets) == 1 and self._tables == 1 and not self._in_comment

    def doctype(self, *_: object) -> None:
        raise _RefusedError("it declares entities, which no spreadsheet needs")

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == _OFFICE + "annotation" or self._in_comment:
            self._in_comment += 1
        elif name == _TABLE + "table":
            self._tables += 1
            if self._tables == 1:  # a table within a table is part of a picture
                self.sheets.append(_plain(attributes.get(_TABLE + "name", "")))
        elif not self._is_in_first_sheet:
            return
        elif name == _TABLE + "table-row":
            self._row, self._blank_cells = [], 0
            self._row_repeated = _count(attributes.get(_TABLE + "number-rows-repeated"))
        elif name in _CELLS:
            self._cell, self._texts = attributes, []
        elif name in _BLANKS:
            self._texts.append(" ")

    def data(self, text: str) -> None:
        if self._cell is not None and self._is_in_first_sheet:
            self._texts.append(text)

    def end(self, name: str) -> None:
        if self._in_comment:
            self._in_comment -= 1
        elif name == _TABLE + "table":
            self._tables -= 1
        elif not self._is_in_first_sheet:
            return
        elif name in _CELLS and self._cell is not None:
            self._end_cell(_ods_text(self._cell, "".join(self._texts)), self._cell)
        elif name == _TABLE + "table-row":
            self._end_row()

    def _end_cell(self, text: str, attributes: dict[str, str]) -> None:
        times = _count(attributes.get(_TABLE + "number-columns-repeated"))
        self._cell = None
        if not text:
            self._blank_cells += times  # blanks at the end of a row are none of its cells
            return
        if len(self._row) + self._blank_cells + times > MOST_COLUMNS:
            raise _RefusedError(f"a row has more than {MOST_COLUMNS} cells, which no log has")
        self._row += [""] * self._blank_cells + [text] * times
        self._blank_cells = 0

    def _end_row(self) -> None:
        if not self._row:
            self._blank_rows += self._row_repeated
            return
        added = self._blank_rows + self._row_repeated
        self._cells += len(self._row) * self._row_repeated
        if len(self.rows) + added > MOST_ROWS or self._cells > MOST_CELLS:
            raise _RefusedError(_TOO_MANY)
        self.rows += [[] for _ in range(self._blank_rows)] + [self._row] * self._row_repeated
        self._blank_rows = 0


def _count(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) < 9 else 1


def _ods_text(attributes: dict[str, str], shown: str) -> str:
    """Return a cell's stored value as text; as it is shown where it is no number and no time."""
    kind = attributes.get(_OFFICE + "value-type", "string")
    try:
        if kind in ("float", "currency", "percentage"):
            return _number(float(attributes[_OFFICE + "value"]), is_percent=kind == "percentage")
        if kind == "date":
            return attributes[_OFFICE + "date-value"].replace("T", " ")
        if kind == "time":
            match = _DURATION.fullmatch(attributes[_OFFICE + "time-value"])
            if match is not None:
                days, hours, minutes, seconds = (float(part or 0) for part in match.groups()[1:])
                return match[1] + _clock(((days * 24 + hours) * 60 + minutes) * 60 + seconds)
    except (KeyError, ValueError, OverflowError) as error:
        raise _RefusedError("it is damaged: a cell lacks its value") from error
    return _plain(shown)

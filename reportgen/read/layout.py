"""Where the table of a log begins, what parts its cells, and which column holds what."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass

from reportgen import units, vocabulary
from reportgen.errors import LogFileError

#: What parts the cells of a line; the last two are runs of blanks, and single blanks.
DELIMITERS = (",", ";", "\t", "|", "  ", " ")
BLANKS = ("  ", " ")
#: A header stands within this many lines; loggers write some dozens of lines before it (ours).
HEADER_WITHIN = 200
#: A longer line is no header [characters].
LONGEST_HEADER = 100_000
COMMENT = "#"
#: What spreadsheets write for a value they could not compute; it begins like a comment and is none.
SPREADSHEET_ERROR = r"#(?:N/A|NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!)"
_COMMENT = re.compile(rf"\s*(?!{SPREADSHEET_ERROR}){COMMENT}", re.I)
#: A column named by its place, for files without a header.
_PLACE = re.compile(r"column\s*(?P<place>[1-9]\d{0,2})", re.I)
_NUMBER = re.compile(r"[+\-\u2212]?\d[\d.,]*([eE][+-]?\d+)?")


@dataclass(frozen=True)
class Heading:
    """A column that means something to us: its place, our name for it, and the unit its header gives."""

    index: int
    column: str
    unit: str | None
    header: str


@dataclass(frozen=True)
class Layout:
    """How a table is laid out.

    Attributes
    ----------
    line : int
        Lines above its first row, the header included.
    delimiter : str
    header : tuple of str
        The cells of the header; empty where the file has none.
    headings : tuple of Heading
    unknown : tuple of str
        Headers that mean nothing to us.
    """

    line: int
    delimiter: str
    header: tuple[str, ...]
    headings: tuple[Heading, ...]
    unknown: tuple[str, ...]

    @property
    def separator(self) -> str:
        """What parts the cells once runs of blanks are tabs."""
        return "\t" if self.delimiter in BLANKS else self.delimiter


@dataclass(frozen=True)
class _Wanted:
    """A column that `[columns]` of `trial.toml` names: by the text of its header, or by its place."""

    column: str
    text: str
    name: str
    unit: str | None
    place: int | None


def find_layout(lines: list[str], file: str, mapping: Mapping[str, str]) -> Layout | None:
    """Return how the table in the first lines of a log is laid out; None where no line is a header of ours.

    Parameters
    ----------
    mapping
        Our column name -> the header's text, from `[columns]` of `trial.toml`.

    Raises
    ------
    LogFileError
        If a mapped header is missing or a column stands twice.
    """
    wanted = [_wanted(ours, theirs) for ours, theirs in mapping.items()]
    if any(want.place is not None for want in wanted):
        return _by_places(lines, wanted, file)
    for number, line in enumerate(lines[:HEADER_WITHIN]):
        delimiter = _header_delimiter(line, wanted)
        if delimiter:
            header = split(line, delimiter)
            headings, unknown = _headings(header, file, number + 1, wanted)
            return Layout(number + 1, delimiter, tuple(header), headings, unknown)
    return None


def is_header(line: str) -> bool:
    """Return whether a line names a time and a column of ours."""
    return bool(_header_delimiter(line, []))


def looks_like_numbers(lines: list[str]) -> bool:
    """Return whether the first line that is no comment holds numbers alone, as in a file without a header."""
    first = next((line for line in lines if line.strip() and not is_comment(line)), "")
    for delimiter in DELIMITERS:
        cells = [cell.strip() for cell in split(first[:LONGEST_HEADER], delimiter) if cell.strip()]
        if len(cells) > 1 and sum(cell[0].isdigit() or bool(_NUMBER.fullmatch(cell)) for cell in cells) == len(cells):
            return True
    return False


def split(line: str, delimiter: str) -> list[str]:
    """Return the cells of a line."""
    if delimiter in BLANKS:
        line, delimiter = blanks_to_tabs(line, delimiter), "\t"
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return [line]


def blanks_to_tabs(text: str, delimiter: str) -> str:
    """Return a text with a tab for each run of blanks that parts cells; blanks at the ends of lines go."""
    least = len(delimiter)
    # Not by a pattern: one that looks for blanks before the end of a line takes the square of their number.
    lines = (line.strip(" \t") for line in text.split("\n"))
    return re.sub(rf"[ \t]{{{least},}}", "\t", "\n".join(lines))


def is_comment(line: str) -> bool:
    """Return whether a line is a comment."""
    return _COMMENT.match(line) is not None


def _wanted(ours: str, theirs: str) -> _Wanted:
    column = vocabulary.column_named(ours)
    assert column is not None  # the sheet has been checked for it
    name, unit = vocabulary.split_header(theirs)
    place = _PLACE.fullmatch(name)
    return _Wanted(column, theirs.strip(), name, unit, int(place["place"]) - 1 if place else None)


def _header_delimiter(line: str, wanted: list[_Wanted]) -> str:
    """Return what parts the cells of a line that names a time and a column of ours; "" where it is no header."""
    if len(line) > LONGEST_HEADER or is_comment(line) or not line.strip():
        return ""
    best, count = "", 0
    for delimiter in DELIMITERS:
        named = {_meaning(cell, wanted)[0] for cell in split(line, delimiter)}
        if delimiter == " " and None in named:
            continue  # a sentence, of which a word or two could name columns
        names = named - {None}
        others = names - set(vocabulary.TIME_COLUMNS)
        if others and len(others) < len(names) and len(names) > count:
            best, count = delimiter, len(names)
    return best


def _meaning(cell: str, wanted: list[_Wanted]) -> tuple[str | None, str | None]:
    """Return the column that a header cell names, and its unit."""
    text = cell.strip()
    name, unit = vocabulary.split_header(text)
    for want in wanted:
        if text == want.text:
            return want.column, unit
        if text == want.name and want.unit:
            return want.column, want.unit
    column = vocabulary.column_named(name, unit)
    if column == "time" and unit is not None and _is_duration(unit):
        column = "elapsed"  # a clock has no unit
    # The user has said which column this is; another of that name is not it.
    return (None if any(column == want.column for want in wanted) else column), unit


def _is_duration(unit: str) -> bool:
    try:
        units.conversion(unit, "s")
    except units.UnitError:
        return False
    return True


def _is_own_name(header: str) -> bool:
    return vocabulary.is_own_name(vocabulary.split_header(header)[0])


def _headings(
    header: list[str], file: str, row: int, wanted: list[_Wanted]
) -> tuple[tuple[Heading, ...], tuple[str, ...]]:
    headings: dict[str, Heading] = {}
    unknown = []
    for index, cell in enumerate(header):
        name, unit = _meaning(cell, wanted)
        if name is None:
            unknown += [cell.strip()] if cell.strip() else []
            continue
        heading = Heading(index, name, unit, cell.strip())
        other = headings.get(name)
        if other is None:
            headings[name] = heading
        elif _is_own_name(other.header) != _is_own_name(cell):
            # The name itself wins over an everyday name for the same thing.
            exact, alias = (heading, other) if _is_own_name(cell) else (other, heading)
            headings[name] = exact
            unknown.append(alias.header)
        else:
            raise LogFileError(
                "column-twice",
                f'{file}, row {row}: two columns are named {name} ("{other.header}" and "{cell.strip()}").\n'
                f'Rename one, or say in trial.toml under [columns]:  "{file}" = {{ {name} = "column {index + 1}", … }} '
                "with the place of each column that is to be read.",
                file=file,
                row=row,
            )
    missing = [want.text for want in wanted if want.column not in headings]
    if missing:
        shown = ", ".join(f'"{cell.strip()}"' for cell in header[:8])
        raise LogFileError(
            "mapped-column-missing",
            f'{file}, row {row}: no column "{missing[0]}", which [columns] of trial.toml names.\nFound {shown}.',
            file=file,
            row=row,
        )
    return tuple(headings.values()), tuple(unknown)


def _by_places(lines: list[str], wanted: list[_Wanted], file: str) -> Layout:
    """Return the layout of a file whose columns are named by their places, with or without a header.

    The table begins with the first line whose time begins with a digit and whose other columns of numbers hold some.
    """
    unplaced = next((want for want in wanted if want.place is None), None)
    if unplaced is not None:
        raise LogFileError(
            "mapped-column-missing",
            f'{file}: [columns] of trial.toml names some columns by place and "{unplaced.text}" by its header.\n'
            "Name all columns of the file by place.",
            file=file,
        )
    for number, line in enumerate(lines[:HEADER_WITHIN]):
        for delimiter in DELIMITERS if len(line) <= LONGEST_HEADER and not is_comment(line) else ():
            cells = [cell.strip() for cell in split(line, delimiter)]
            if all(_fits(want, cells) for want in wanted):
                header = split(lines[number - 1], delimiter) if number else []
                headings = tuple(
                    Heading(want.place or 0, want.column, want.unit or _unit_of(header, want), want.text)
                    for want in wanted
                )
                return Layout(number, delimiter, (), headings, ())
    raise LogFileError(
        "mapped-column-missing",
        f"{file}: no line holds a time and numbers in the columns {', '.join(want.text for want in wanted)}, "
        "which [columns] of trial.toml names.\nThe first column of a file is column 1.",
        file=file,
    )


def _fits(want: _Wanted, cells: list[str]) -> bool:
    assert want.place is not None
    if want.place >= len(cells):
        return False
    cell = cells[want.place]
    if want.column in vocabulary.TIME_COLUMNS:
        return cell[:1].isdigit() or want.column == "date"
    return vocabulary.COLUMNS[want.column].unit is None or not cell or _NUMBER.match(cell) is not None


def _unit_of(header: list[str], want: _Wanted) -> str | None:
    """Return the unit in the line above the first row, where that is a header and the mapping gives none."""
    assert want.place is not None
    return vocabulary.split_header(header[want.place])[1] if want.place < len(header) else None

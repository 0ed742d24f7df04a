"""What somebody probably meant: an everyday name, a unit left out, a misnamed sheet. It is asked, never guessed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from reportgen import vocabulary
from reportgen.errors import LogFileError
from reportgen.message import Message, say
from reportgen.read import encoding, layout, table
from reportgen.read.layout import Heading
from reportgen.read.log import Log
from reportgen.read.sheet import FILE_NAME
from reportgen.read.table import Table
from reportgen.trial import Finding, Numbers

#: A cabinet that starts above this, or surroundings above it, are more likely in °F than in °C [degC] (ours).
WARMEST_LIKELY = 45.0
#: A holder or meter that stays below this for so long is more likely read in m3 than in litres [L], [s] (ours).
SMALLEST_LIKELY = 5.0
SEVERAL_HOURS = 7200.0
#: At most so many columns that mean nothing are named (ours).
MOST_NAMED = 12
#: So much of a header is shown [characters]; so many columns are asked about (ours).
LONGEST_SHOWN = 60
MOST_ASKED = 100
#: A header that nobody knows is looked for in so many rows of at most so many characters (ours).
LIKELY_WITHIN = 30
LONGEST_LIKELY = 2000
#: So much of a file tells whether it is a log [bytes]; an even number, for UTF-16.
PEEK = 65_536
#: So many files of a folder are looked into (ours).
MOST_PEEKED = 20
#: What the trial sheet is called where an editor, or its owner, gave it another name.
MISNAMED = (f"{FILE_NAME}.txt", "trial.txt", FILE_NAME)


def everyday_names(found: Table) -> list[Finding]:
    """Return the note that says which columns of a file were read by another name than ours; none where none was."""
    others = [h for h in found.headings if is_read_as_written(h) and not vocabulary.is_own_name(_name_in(h.header))]
    if not others:
        return []
    message = say(
        "read by their everyday names: {columns}",
        columns=", ".join(f'"{heading.header[:LONGEST_SHOWN]}" as {heading.column}' for heading in others),
    )
    return [Finding("note", "column-alias", message, found.file, found.header_row)]


def mapping_line(file: str, mapping: Mapping[str, str]) -> str:
    """Return the line of `[columns]` that names the columns of a file: our name -> the header's text."""
    columns = ", ".join(f"{name} = {_quoted(header)}" for name, header in mapping.items())
    return f"{_quoted(file)} = {{ {columns} }}"


def likely_header(text: str, file: str) -> tuple[int, str] | None:
    """Return the row of a text that is most like a header of ours, and the line of `[columns]` that would read it.

    None where no row is like one.
    """
    best: tuple[int, dict[str, str]] = (0, {})
    for row, line in enumerate(text[:PEEK].split("\n")[:LIKELY_WITHIN], start=1):
        if len(line) > LONGEST_LIKELY or layout.is_comment(line):
            continue
        for delimiter in layout.DELIMITERS:
            if delimiter in layout.BLANKS:
                continue
            mapping: dict[str, str] = {}
            cells = [cell for cell in layout.split(line, delimiter) if cell.strip()[:1].isalpha()]
            for cell in cells[:MOST_ASKED]:
                one = vocabulary.column_named(*vocabulary.split_header(cell))
                meant = [one] if one else [name for name in vocabulary.columns_meant(cell) if name not in mapping]
                mapping.update({meant[0]: cell.strip()} if meant else {})
            if len(mapping) > max(1, len(best[1])):
                best = (row, mapping)
    return (best[0], mapping_line(file, best[1])) if best[1] else None


def is_read_as_written(heading: Heading) -> bool:
    """Return whether a column is read by what its header says, and not because `[columns]` names it."""
    return vocabulary.column_named(*vocabulary.split_header(heading.header)) == heading.column


def _name_in(header: str) -> str:
    return vocabulary.split_header(header)[0]


def _quoted(text: str) -> str:
    """Return a text as TOML writes it."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def doubtful_unit(log: Log, column: str, values: Numbers, gas_kind: str | None) -> list[Finding]:
    """Return what to ask of a column without a unit whose `values`, in its default unit, look like another's."""
    known = np.isfinite(log.at) & np.isfinite(values) if len(log.at) else np.zeros(len(values), dtype=bool)
    order = np.argsort(log.at[known], kind="stable")
    at, read = log.at[known][order], values[known][order]
    message: Message | None = None
    if not len(read):
        return []
    if (column == "cabinet_temperature" and read[0] > WARMEST_LIKELY and read.min() < read[0]) or (
        column == "ambient_temperature" and np.median(read) > WARMEST_LIKELY
    ):
        message = say(
            "{column} begins at {number} and the header gives no unit; are these °F? write {column} [degF], or [degC]",
            column=column,
            number=float(read[0]),
        )
    elif (
        column == "gas_volume"
        and gas_kind != "flow"
        and read.max() < SMALLEST_LIKELY
        and at[-1] - at[0] >= SEVERAL_HOURS
    ):
        message = say(
            "{column} is never above {number} and the header gives no unit; are these m3? write {column} [m3], or [L]",
            column=column,
            number=float(read.max()),
        )
    return [Finding("caution", "unit-in-doubt", message, log.table.file, log.table.header_row)] if message else []


def misnamed_sheet(folder: Path) -> str | None:
    """Return the name of the file that is probably meant for the trial sheet which a folder lacks."""
    return next((name for name in _files(folder) if name.casefold() in MISNAMED), None)


def why_no_trial(folder: Path) -> str | None:
    """Return what a folder without a trial sheet lacks to be a trial; None where it does not look like one."""
    misnamed = misnamed_sheet(folder)
    if misnamed:
        return f'it holds no {FILE_NAME}, but a file named "{misnamed}"; rename that to {FILE_NAME}'
    named = [name for name in _files(folder) if Path(name).suffix.lower() in table.LOG_SUFFIXES]
    log = next((name for name in named[:MOST_PEEKED] if _is_log(folder / name)), None)
    return f'it holds {log} but no {FILE_NAME}; put one in it; one line is enough:  title = "…"' if log else None


def _files(folder: Path) -> list[str]:
    try:
        return sorted(path.name for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
    except OSError:
        return []


def _is_log(path: Path) -> bool:
    """Return whether a file has a header of ours; a link is not followed."""
    if path.is_symlink():
        return False
    try:
        with path.open("rb") as file:
            return table.has_header(encoding.decode(file.read(PEEK), path.name)[0])
    except (OSError, LogFileError):
        return False

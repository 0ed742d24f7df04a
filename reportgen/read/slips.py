"""What somebody probably meant: a misspelt column, a unit left out, a misnamed sheet. It is asked, never guessed."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from reportgen import vocabulary
from reportgen.errors import LogFileError
from reportgen.message import Message, say
from reportgen.read import table
from reportgen.read.sheet import FILE_NAME
from reportgen.read.times import Log
from reportgen.trial import Finding, Numbers

#: A cabinet that starts above this, or surroundings above it, are more likely in °F than in °C [degC] (ours).
WARMEST_LIKELY = 45.0
#: A holder or meter that stays below this for so long is more likely read in m3 than in litres [L], [s] (ours).
SMALLEST_LIKELY = 5.0
SEVERAL_HOURS = 7200.0
#: At most so many columns that mean nothing are named (ours).
MOST_NAMED = 12
#: So much of a file tells whether it is a log [bytes]; an even number, for UTF-16.
PEEK = 65_536
#: What the trial sheet is called where an editor, or its owner, gave it another name.
MISNAMED = (f"{FILE_NAME}.txt", "trial.txt", FILE_NAME)


def unknown_columns(log: Log) -> list[Finding]:
    """Return what to say of the columns that mean nothing here: which column each may be, the rest in one note."""
    found = log.table
    taken = {heading.column for heading in found.headings}
    findings, others = [], []
    for header in found.unknown:
        meant = [name for name in vocabulary.columns_meant(header) if name not in taken]
        if not meant:
            others.append(header)
            continue
        message = say(
            'is "{header}" {columns}? it is not read; rename it or map it under [columns] in {sheet}',
            header=header[:60],
            columns=" or ".join(filter(None, (", ".join(meant[:-1]), meant[-1]))),
            sheet=FILE_NAME,
        )
        findings.append(Finding("caution", "column-in-doubt", message, found.file, found.header_row))
    if others:
        message = say(
            "columns that mean nothing here are not used: {columns}",
            columns=", ".join(header[:60] for header in others[:MOST_NAMED]),
        )
        findings.append(Finding("note", "unknown-column", message, found.file, found.header_row))
    return findings


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
    log = next((name for name in _files(folder) if _is_log(folder / name)), None)
    return f'it holds {log} but no {FILE_NAME}; put one in it; one line is enough:  title = "…"' if log else None


def _files(folder: Path) -> list[str]:
    try:
        return sorted(path.name for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
    except OSError:
        return []


def _is_log(path: Path) -> bool:
    """Return whether a file is called like a log and has a header of ours."""
    if path.suffix.lower() not in table.LOG_SUFFIXES:
        return False
    try:
        with path.open("rb") as file:
            return table.has_header(table.decode(file.read(PEEK), path.name)[0])
    except (OSError, LogFileError):
        return False

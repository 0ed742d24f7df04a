"""Which files of a folder are read, and the logs among them cut into tables."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from reportgen.errors import LogFileError, TrialFileError
from reportgen.message import say
from reportgen.read import decimals, encoding, slips, spreadsheet, table
from reportgen.read.sheet import FILE_NAME, LARGEST_FILE, FileRule, Sheet
from reportgen.trial import Finding

#: A log of a second's readings over a month has about 100 MB; more than this is no log of a trial [bytes] (ours).
LARGEST_LOG = 200_000_000
#: A log a day for nearly three years; more are no logs of one trial (ours).
MOST_LOGS = 1000


@dataclass(frozen=True)
class LogFiles:
    """The logs of a folder cut into tables.

    Attributes
    ----------
    names : tuple of str
        All of them, those that could not be cut as well.
    tables : mapping of str to tuple of Table
    hashes : mapping of str to str
        SHA-256 of the bytes.
    errors : tuple of LogFileError
        Why others could not be cut.
    """

    names: tuple[str, ...]
    tables: Mapping[str, tuple[table.Table, ...]]
    hashes: Mapping[str, str]
    findings: tuple[Finding, ...]
    errors: tuple[LogFileError, ...]


def read_logs(folder: Path, names: Sequence[str], sheet: Sheet, most_errors: int = 1) -> LogFiles:
    """Return the logs of a folder cut into tables, up to so many that cannot be.

    A decimal mark that a file leaves open is that of the other files, if they agree.
    """
    tables: dict[str, tuple[table.Table, ...]] = {}
    hashes: dict[str, str] = {}
    left_open: dict[str, tuple[str, LogFileError]] = {}
    findings, errors = list[Finding](), list[LogFileError]()
    for name in names:
        if len(errors) >= most_errors:
            break
        try:
            data = _log_bytes(folder / name)
            text, seen = _text_of(data, name, sheet)
            findings += seen
            if text is None:
                continue
            hashes[name] = hashlib.sha256(data).hexdigest()
            del data
            tables[name] = table.find_tables(text, name, sheet.columns.get(name, {}), _rule(name, sheet).decimal)
        except LogFileError as refusal:
            if refusal.code == "decimal-open" and text is not None:
                left_open[name] = text, refusal
            else:
                errors.append(refusal)
            continue
        if not tables[name]:
            findings.append(_no_header(name, text))
    told = dict(tables)
    for name, (text, error) in left_open.items():
        try:
            mark = _mark_of_others(table.delimiter_of(text, name, sheet.columns.get(name, {})), told)
            if mark is None:
                raise error
            tables[name] = table.find_tables(text, name, sheet.columns.get(name, {}), mark)
        except LogFileError as refusal:
            errors.append(refusal)
            continue
        message = say(
            "commas before three digits may be decimal marks or group thousands; read as in the other files of the "
            'trial, which have a decimal {mark}; if that is wrong, add decimal under [files."{file}"]',
            mark=mark,
            file=name,
        )
        findings.append(Finding("caution", "decimal-of-other-files", message, name, error.row))
    return LogFiles(tuple(names), tables, hashes, tuple(findings), tuple(errors))


def _rule(name: str, sheet: Sheet) -> FileRule:
    return sheet.files.get(name, FileRule())


def _text_of(data: bytes, name: str, sheet: Sheet) -> tuple[str | None, Sequence[Finding]]:
    if _is_spreadsheet(name):
        return spreadsheet.read_text(data, name)
    return encoding.decode(data, name, _rule(name, sheet).encoding)


def _mark_of_others(delimiter: str, tables: Mapping[str, tuple[table.Table, ...]]) -> decimals.Mark | None:
    """Return the decimal mark on which the other logs agree: those with the same delimiter, or else all of them."""
    others = [found for parts in tables.values() for found in parts if found.told is not None]
    told = {found.told for found in others if found.delimiter == delimiter} or {found.told for found in others}
    return told.pop() if len(told) == 1 else None


def sheet_bytes(folder: Path) -> bytes:
    """Return the bytes of the trial sheet of a folder.

    Raises
    ------
    TrialFileError
        If there is none, or none that can be opened.
    """
    if folder.is_file():
        raise TrialFileError("no-such-folder", f"{folder}: this is a file; name the folder that holds {FILE_NAME}.")
    if not folder.is_dir():
        raise TrialFileError("no-such-folder", f"{folder}: there is no such folder.")
    path = folder / FILE_NAME
    if not path.exists():
        misnamed = slips.misnamed_sheet(folder)
        raise TrialFileError(
            "no-trial-sheet",
            f"{folder}: this is not a trial folder, it holds no {FILE_NAME}.\n"
            + (
                f'Rename "{misnamed}" to {FILE_NAME}.'
                if misnamed
                else f'Put a {FILE_NAME} in it; one line is enough:  title = "…"'
            ),
        )
    if not path.is_file():
        raise TrialFileError("file-not-readable", f"{path}: cannot be read (it is no file).", file=FILE_NAME)
    if _leads_out(path):
        raise TrialFileError(
            "link-outside",
            f"{path}: this is a link to a file outside the folder.\nPut the file itself in the folder.",
            file=FILE_NAME,
        )
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_FILE + 1)  # one more tells that it is too large
    except OSError as error:
        raise TrialFileError(
            "file-not-readable", f"{path}: cannot be read ({error.strerror}).", file=FILE_NAME
        ) from error


def _log_bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            size = os.fstat(file.fileno()).st_size
            if size <= LARGEST_LOG:
                # It may grow while it is read; and to read "at most so much" takes so much memory at once.
                return file.read(size)
    except OSError as error:
        raise LogFileError(
            "file-not-readable", f"{path}: cannot be read ({error.strerror}).", file=path.name
        ) from error
    raise LogFileError(
        "log-too-large",
        f"{path.name}: {size / 1e6:.0f} MB are too many for a log, which may have {LARGEST_LOG / 1e6:.0f} MB.\n"
        "Cut it down to the days of the trial, or write fewer readings per minute.",
        file=path.name,
    )


def _leads_out(path: Path) -> bool:
    """Return whether a file is a link out of its folder: who sent the folder need not be who may read what it names."""
    return not path.resolve().is_relative_to(path.parent.resolve())


def log_names(folder: Path, findings: list[Finding]) -> list[str]:
    """Return the names of the logs of a folder in their order.

    Raises
    ------
    ReportgenError
        If it cannot be looked into, or holds too many.
    """
    suffixes = (*table.LOG_SUFFIXES, *spreadsheet.SUFFIXES)
    try:
        here = [path for path in folder.iterdir() if path.suffix.lower() in suffixes]
    except OSError as error:
        raise TrialFileError("file-not-readable", f"{folder}: cannot be looked into ({error.strerror}).") from error
    # In order of their names and not of their paths, which Windows orders otherwise.
    here.sort(key=lambda path: path.name)
    here = [path for path in here if not path.name.startswith((".", "~$"))]
    if len(here) > MOST_LOGS:
        raise LogFileError(
            "too-many-logs",
            f"{folder}: {len(here)} logs are too many for one trial, which may have {MOST_LOGS}.\n"
            f"Give each trial a folder of its own, with a {FILE_NAME} in it.",
        )
    for path in here:
        if _leads_out(path):
            message = say("this is a link to a file outside the folder and is not read; put the file itself there")
            findings.append(Finding("error", "link-outside", message, path.name))
        elif not path.is_file():
            message = say("this is no file, though it is named like a log; it is not read")
            findings.append(Finding("error", "file-not-readable", message, path.name))
    here = [path for path in here if path.is_file()]
    names = [path.name for path in here if not _leads_out(path)]
    exported = {name: _exported_from(name, names) for name in names if _is_spreadsheet(name)}
    for name, log in exported.items():
        if log is not None:
            message = say("not read, since {log} seems to be saved from it; delete one of the two", log=log)
            findings.append(Finding("note", "spreadsheet-exported", message, name))
    return [name for name in names if exported.get(name) is None]


def missing_files(sheet: Sheet, names: list[str]) -> list[TrialFileError]:
    """Return an error for each log that the sheet names and the folder has not."""
    return [
        TrialFileError(
            "file-named-missing",
            f'{FILE_NAME}: {key} names the file "{name}", which is not in the folder; '
            f"found {', '.join(names) or 'no log files'}.",
            file=FILE_NAME,
        )
        for key, section in (("columns", sheet.columns), ("files", sheet.files))
        for name in section
        if name not in names
    ]


def _is_spreadsheet(name: str) -> bool:
    return Path(name).suffix.lower() in spreadsheet.SUFFIXES


def _exported_from(name: str, names: list[str]) -> str | None:
    """Return the log that was probably saved from a spreadsheet: one of its name, or of that and a sheet's."""
    stem = Path(name).stem.casefold()
    pattern = re.compile(rf"{re.escape(stem)}(?!\w).*")
    logs = (log for log in names if not _is_spreadsheet(log))
    return next((log for log in logs if pattern.fullmatch(Path(log).stem.casefold())), None)


def _no_header(name: str, text: str) -> Finding:
    if not text.strip():
        return Finding("caution", "empty-file", say("the file is empty; export it once more"), name)
    likely = slips.likely_header(text, name)
    if likely is not None:
        row, line = likely
        message = say(
            "no row names a time column and a column of ours, so the file is not used; row {row} is most like one; "
            "check and add under [columns] in {sheet}:  {line}",
            row=row,
            sheet=FILE_NAME,
            line=line,
        )
        return Finding("error", "no-header", message, name, row)
    known = ", ".join(("time", "cabinet_temperature [degC]", "gas_volume [L]", "ice", "event"))
    message = say(
        "no row names a time column and a column of ours, so the file is not used; name the columns like {known}, or "
        "map them under [columns] in {sheet}",
        known=known,
        sheet=FILE_NAME,
    )
    return Finding("error", "no-header", message, name, 1)

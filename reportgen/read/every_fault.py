"""All that is wrong with a trial folder, at once: it is mended in one go, and not a fault a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from reportgen import vocabulary
from reportgen.errors import LogFileError, ReportgenError, TrialFileError
from reportgen.read.faults import each_fault_of, recover
from reportgen.read.files import LogFiles, log_names, missing_files, read_logs, sheet_bytes
from reportgen.read.folder import trial_of
from reportgen.read.log import Log, converted
from reportgen.read.sheet import FILE_NAME, Sheet, as_error, sheet_text
from reportgen.trial import Finding, InputFile

#: Some faults of a sheet show only once others are out; after so many rounds the rest is let be (ours).
MOST_ROUNDS = 5
#: So many logs that cannot be read are looked for (ours).
MOST_LOGS_AT_FAULT = 10
#: Codes of what another log may settle, so that with one of these out nobody knows.
SETTLED_BY_OTHERS = frozenset(("decimal-open", "year-missing", "half-day-open"))
#: Codes of what the date, or the times of the run, may settle.
SETTLED_BY_TIMES = frozenset(("date-order-open", "year-missing", "half-day-open"))


def every_fault(folder: Path, first: ReportgenError) -> list[ReportgenError]:
    """Return all that keeps a trial from being read; `first` is why reading it has ended.

    Faults of the sheet come first, each by itself, then those of logs that do not hang on what is wrong in the sheet.
    """
    if not isinstance(first, TrialFileError | LogFileError):
        return [first]
    found: list[ReportgenError] = []
    try:
        data = sheet_bytes(folder)
        faulty = every_sheet_fault(data)
        found += faulty.errors
        sheet = faulty.sheet or Sheet(title="-")
        names = log_names(folder, list[Finding]())
        found += missing_files(sheet, names)
        # Where the sheet may say how a file is read, and cannot be read itself, that file cannot be judged.
        if faulty.sheet is None or faulty.unsure & {"columns", "files"}:
            names = [name for name in names if name.encode(errors="replace") not in data]
        has_times = faulty.sheet is not None and not faulty.unsure & {"date", "burner", "water"}
        found += _of_logs(folder, sheet, names, has_times=has_times)
    except ReportgenError as error:
        found.append(error)
    return found if any(error.code == first.code for error in found) else [first, *found]


@dataclass(frozen=True)
class FaultySheet:
    """A sheet that cannot be used: every fault by itself, and what could be told without these.

    Attributes
    ----------
    errors : tuple of TrialFileError
    sheet : Sheet or None
        Without the keys at fault; None where nothing is sure.
    unsure : frozenset of str
        The top keys at fault, or above one that is.
    """

    errors: tuple[TrialFileError, ...]
    sheet: Sheet | None
    unsure: frozenset[str]


def every_sheet_fault(data: bytes) -> FaultySheet:
    """Return all that is wrong with the bytes of `trial.toml`, as far as one look can tell."""
    try:
        text = sheet_text(data)
    except TrialFileError as error:
        return FaultySheet((error,), None, frozenset())
    found = recover(text, FILE_NAME)
    faults, content = list(found.faults), found.content
    unsure = {key[0] for key in found.keys}
    left_out = {key[-1] for key in found.keys}
    for _ in range(MOST_ROUNDS if content is not None else 0):
        try:
            sheet = Sheet.model_validate(content)
        except ValidationError as error:
            for fault in each_fault_of(error, found.text, FILE_NAME, Sheet):
                # A key that is out with its line is not missing.
                is_out = fault.code == "key-missing" and any(f"{key} is missing" in fault.text for key in left_out)
                if not is_out and fault not in faults:
                    faults.append(fault)
            unsure |= {str(fault["loc"][0]) for fault in error.errors(include_url=False) if fault["loc"]}
            content = _without_places(content, [fault["loc"] for fault in error.errors(include_url=False)])
        else:
            return FaultySheet(tuple(map(as_error, faults)), sheet, frozenset(unsure))
    return FaultySheet(tuple(map(as_error, faults)), None, frozenset(unsure))


def _without_places(content: Any, places: Sequence[Sequence[int | str]]) -> dict[str, Any]:
    """Return the content of a sheet without the values at some places, and with some title."""
    for place in places:
        parent, key, inner = content, None, content
        for part in place:
            # Unions add the names of their members to the place.
            if isinstance(inner, dict) and part in inner:
                parent, key, inner = inner, part, inner[part]
        if key is not None:
            parent.pop(key, None)
    return {"title": "-", **content}


def _of_logs(folder: Path, sheet: Sheet, names: list[str], *, has_times: bool) -> list[LogFileError]:
    """Return why logs cannot be read, one error for each that cannot."""
    files = read_logs(folder, names, sheet, MOST_LOGS_AT_FAULT)
    found = list(files.errors)
    own = InputFile(FILE_NAME, "", 0)
    while files.tables and len(found) < MOST_LOGS_AT_FAULT:
        try:
            trial_of(folder, sheet, files, own)
        except LogFileError as error:
            if error.file is None or error.file not in files.tables:
                # Nothing in any log can be used: said only where that is all there is to say.
                return found or [error]
            if _is_sure(error, found, has_times=has_times):
                found += (_units(files, error.file) if error.code == "column-unit" else []) or [error]
            files = replace(files, tables={key: files.tables[key] for key in files.tables if key != error.file})
        else:
            break
    return found


def _is_sure(error: LogFileError, others: list[LogFileError], *, has_times: bool) -> bool:
    """Return whether an error would stay if all else were mended."""
    if error.code in SETTLED_BY_TIMES and not has_times:
        return False
    return error.code not in SETTLED_BY_OTHERS or all(other.code == error.code for other in others)


def _units(files: LogFiles, name: str) -> list[LogFileError]:
    """Return an error for each column of a log whose unit is not known, or is one of another quantity."""
    found: dict[str, LogFileError] = {}
    for one in files.tables[name]:
        for heading in one.headings:
            column = vocabulary.COLUMNS[heading.column]
            try:
                if column.unit is not None:
                    converted(Log(one), heading, column.unit, column.default_unit)
            except LogFileError as error:
                found.setdefault(error.text, error)
    return list(found.values())

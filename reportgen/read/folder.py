"""A trial folder to a `Trial`: which files, which events; strings become quantities here, not later."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
import re
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

from reportgen.checks import checked
from reportgen.errors import LogFileError, TrialFileError
from reportgen.message import say
from reportgen.read import burning, clock, decimals, encoding, slips, spreadsheet, table
from reportgen.read.faults import one_line
from reportgen.read.gather import events_of, feeds_of, last_reading, looks_of, readings_of, unknown_events
from reportgen.read.log import Log
from reportgen.read.sheet import FILE_NAME, LARGEST_FILE, FileRule, Sheet, parse_sheet
from reportgen.read.times import drop_repeated, read_elapsed, read_times, stated_moments
from reportgen.trial import Event, Finding, InputFile, Trial

#: A log of a second's readings over a month has about 100 MB; more than this is no log of a trial [bytes] (ours).
LARGEST_LOG = 200_000_000
#: A log a day for nearly three years; more are no logs of one trial (ours).
MOST_LOGS = 1000
#: At most so many log files are named in an error (ours).
MOST_NAMED = 4


def read_trial(folder: Path) -> Trial:
    """Read one trial folder. It is never written to.

    Raises
    ------
    TrialFileError
        If there is no `trial.toml` or it cannot be used.
    LogFileError
        If a log cannot be read safely, or there are logs and nothing in any of them can be used.
    """
    sheet_data = _sheet_bytes(folder)
    sheet = parse_sheet(sheet_data)
    zone = ZoneInfo(sheet.time_zone or "UTC")
    findings: list[Finding] = []
    inputs = [InputFile(FILE_NAME, hashlib.sha256(sheet_data).hexdigest(), len(sheet_data.splitlines()))]
    names = _log_names(folder, sheet, findings)
    logs = _read_logs(folder, names, sheet, inputs, findings)
    date, dated = read_times(logs, sheet, zone, findings)
    for log in logs:
        drop_repeated(log, zone, findings)
    clocked = True
    stated = stated_moments(sheet, zone, date)
    events, notes = events_of(logs)
    run = burning.find_run(stated, events, last_reading(logs))
    if any(log.is_elapsed_only for log in logs):
        zero = stated.lit if stated.lit is not None else _first_lit(events)
        if zero is None:
            zero = _zero_of_elapsed(logs, date, zone, findings)
            clocked = zero is None
            stated = _without_clock_times(replace(stated, lit=zero), findings) if zero is not None else stated
        if zero is not None:
            read_elapsed(logs, zero, findings)
            for log in logs:
                if log.is_elapsed_only:
                    drop_repeated(log, zone, findings)
            events, notes = events_of(logs)
            run = burning.find_run(stated, events, last_reading(logs))
    findings += [*unknown_events(events), *run.findings]
    if clocked and sheet.time_zone is None and (any(log.heading("time") for log in logs) or _states_clock(sheet)):
        message = say("time_zone is not stated in {sheet}; clock times are read and shown as UTC", sheet=FILE_NAME)
        findings.append(Finding("note", "zone-not-stated", message, FILE_NAME))
    readings, excluded = readings_of(logs, sheet.gas.kind, findings)
    trial = Trial(
        folder=folder.resolve().name.encode(errors="replace").decode(),  # a name need not be text
        sheet=sheet,
        zone=zone,
        lit_at=run.lit_at,
        out_at=run.out_at,
        placed_at=run.placed_at,
        dated=dated,
        burning=run.spans,
        end_recorded=run.end_recorded,
        readings=readings,
        excluded=excluded,
        feeds=tuple(feeds_of(logs, findings)),
        looks=tuple(looks_of(logs, findings)),
        events=tuple(events),
        notes=tuple(notes),
        inputs=tuple(inputs),
        findings=tuple(findings),
        clocked=clocked,
    )
    if names and not _holds_anything(trial):
        return replace(trial, findings=(*trial.findings, _nothing_read(names, findings)))
    return checked(trial)


def _read_logs(
    folder: Path, names: list[str], sheet: Sheet, inputs: list[InputFile], findings: list[Finding]
) -> list[Log]:
    """Return the logs of a folder. A decimal mark that a file leaves open is that of the other files, if they agree."""
    tables: dict[str, tuple[table.Table, ...]] = {}
    hashes: dict[str, str] = {}
    left_open: dict[str, tuple[str, LogFileError]] = {}
    for name in names:
        data = _log_bytes(folder / name)
        rule = sheet.files.get(name, FileRule())
        text: str | None
        if _is_spreadsheet(name):
            text, seen = spreadsheet.read_text(data, name)
        else:
            text, seen = encoding.decode(data, name, rule.encoding)
        findings += seen
        if text is None:
            continue
        hashes[name] = hashlib.sha256(data).hexdigest()
        del data
        try:
            tables[name] = table.find_tables(text, name, sheet.columns.get(name, {}), rule.decimal)
        except LogFileError as refusal:
            if refusal.code != "decimal-open":
                raise
            left_open[name] = text, refusal
            continue
        if not tables[name]:
            findings.append(_no_header(name, text))
    for name, (text, error) in left_open.items():
        mark = _mark_of_others(table.delimiter_of(text, name, sheet.columns.get(name, {})), tables)
        if mark is None:
            raise error
        tables[name] = table.find_tables(text, name, sheet.columns.get(name, {}), mark)
        message = say(
            "commas before three digits may be decimal marks or group thousands; read as in the other files of the "
            'trial, which have a decimal {mark}; if that is wrong, add decimal under [files."{file}"]',
            mark=mark,
            file=name,
        )
        findings.append(Finding("caution", "decimal-of-other-files", message, name, error.row))
    logs = []
    for name in (name for name in names if name in tables):
        inputs.append(InputFile(name, hashes[name], sum(len(found.rows) for found in tables[name])))
        for found in tables[name]:
            findings += (*found.findings, *slips.everyday_names(found))
            logs.append(Log(found))
    return logs


def _mark_of_others(delimiter: str, tables: dict[str, tuple[table.Table, ...]]) -> decimals.Mark | None:
    """Return the decimal mark on which the other logs agree: those with the same delimiter, or else all of them."""
    others = [found for parts in tables.values() for found in parts if found.told is not None]
    told = {found.told for found in others if found.delimiter == delimiter} or {found.told for found in others}
    return told.pop() if len(told) == 1 else None


def _states_clock(sheet: Sheet) -> bool:
    return any(moment is not None for moment in (sheet.burner.lit, sheet.burner.out, sheet.water.placed))


def _holds_anything(trial: Trial) -> bool:
    timed_notes = [note for note in trial.notes if math.isfinite(note.at)]
    return bool(trial.events or trial.looks or trial.feeds or timed_notes) or any(map(len, trial.readings.values()))


def _nothing_read(names: list[str], findings: list[Finding]) -> Finding:
    """Return what is said of logs in which nothing is filled in yet.

    Raises
    ------
    LogFileError
        If something is, and it cannot be used: their names, and the first reason.
    """
    shown = ", ".join(names[:MOST_NAMED]) + (f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else "")
    reasons = [found for found in findings if found.level != "note" and found.file in names]
    if not reasons:
        message = say(
            "{files}: no reading, event, look at the ice or feed; there is nothing filled in below the header",
            files=shown,
        )
        return Finding("caution", "nothing-filled-in", message, effect=say("no figure can be given yet"))
    first = reasons[0]
    where = f"{first.file}, row {first.row}" if first.row else first.file
    what = one_line(f"{shown}: no reading, event, look at the ice or feed could be used.")
    raise LogFileError("nothing-read", f"{what}\n{one_line(f'{where}: {first.message}')}")


def _sheet_bytes(folder: Path) -> bytes:
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
        size = path.stat().st_size
        if size <= LARGEST_LOG:
            with path.open("rb") as file:
                data = file.read(LARGEST_LOG + 1)  # it may grow while it is read
            if len(data) <= LARGEST_LOG:
                return data
            size = len(data)
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


def _log_names(folder: Path, sheet: Sheet, findings: list[Finding]) -> list[str]:
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
    names = [name for name in names if exported.get(name) is None]
    for key, section in (("columns", sheet.columns), ("files", sheet.files)):
        for name in section:
            if name not in names:
                raise TrialFileError(
                    "file-named-missing",
                    f'{FILE_NAME}: {key} names the file "{name}", which is not in the folder; '
                    f"found {', '.join(names) or 'no log files'}.",
                    file=FILE_NAME,
                )
    return names


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


def _first_lit(events: list[Event]) -> float | None:
    return next((event.at for event in events if event.kind == "burner lit"), None)


def _zero_of_elapsed(logs: list[Log], date: dt.date | None, zone: dt.tzinfo, findings: list[Finding]) -> float | None:
    """Return the moment from which elapsed times count where no lighting is recorded; None if none is.

    Where nothing else is timed, the zero of the elapsed time is the lighting by definition.
    """
    if all(log.is_elapsed_only or log.is_history for log in logs):
        findings.append(
            Finding(
                "note",
                "lit-at-zero",
                say(
                    "when the burner was lit is not stated; taken as the zero of the elapsed times, and no clock time "
                    "is known"
                ),
                FILE_NAME,
            )
        )
        return clock.to_utc(date or clock.NO_DATE, 0.0, zone)
    for log in logs:
        if log.is_elapsed_only:
            findings.append(
                Finding(
                    "error",
                    "elapsed-without-zero",
                    say(
                        "elapsed times count from the lighting of the burner, which is not recorded, so the file is "
                        "not used; add lit under [burner] in {sheet}",
                        sheet=FILE_NAME,
                    ),
                    log.table.file,
                    log.table.header_row,
                )
            )
    return None


def _without_clock_times(stated: burning.Stated, findings: list[Finding]) -> burning.Stated:
    """Return what is stated, less the clock times that mean nothing without the clock time of lighting."""
    for key, at in (("burner.out", stated.out), ("water.placed", stated.placed)):
        if at is not None:
            findings.append(
                Finding(
                    "caution",
                    "clock-without-lit",
                    say(
                        "the logs count from lighting and its clock time is not stated, so {key} tells nothing", key=key
                    ),
                    FILE_NAME,
                    effect=say("add burner.lit to trial.toml"),
                )
            )
    return replace(stated, out=None, placed=None)

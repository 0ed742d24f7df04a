"""A trial folder to a `Trial`: which files, which events; strings become quantities here, not later."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

from reportgen import vocabulary
from reportgen.checks import checked
from reportgen.errors import LogFileError
from reportgen.message import say
from reportgen.read import burning, clock, slips
from reportgen.read.faults import one_line
from reportgen.read.files import LogFiles, log_names, missing_files, read_logs, sheet_bytes
from reportgen.read.gather import events_of, feeds_of, last_reading, looks_of, readings_of, unknown_events
from reportgen.read.lighting import lit_before, without_run
from reportgen.read.log import Log
from reportgen.read.sheet import FILE_NAME, Sheet, parse_sheet
from reportgen.read.times import drop_repeated, read_elapsed, read_times, stated_moments
from reportgen.trial import Event, Finding, InputFile, Trial

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
    sheet_data = sheet_bytes(folder)
    sheet = parse_sheet(sheet_data)
    findings: list[Finding] = []
    names = log_names(folder, findings)
    for missing in missing_files(sheet, names):
        raise missing
    files = read_logs(folder, names, sheet)
    for error in files.errors:
        raise error
    own = InputFile(FILE_NAME, hashlib.sha256(sheet_data).hexdigest(), len(sheet_data.splitlines()))
    return trial_of(folder, sheet, replace(files, findings=(*findings, *files.findings)), own)


def trial_of(folder: Path, sheet: Sheet, files: LogFiles, own: InputFile) -> Trial:
    """Return the trial of a sheet, as the file `own`, and of logs that could all be cut into tables.

    Raises
    ------
    LogFileError
        If a log cannot be read safely, or nothing in any of them can be used.
    """
    zone = ZoneInfo(sheet.time_zone or "UTC")
    findings, inputs, names = list(files.findings), [own], files.names
    logs = _logs_of(files, inputs, findings)
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
    judged = checked(trial)
    found = lit_before(judged)
    return judged if found is None else checked(without_run(trial, found))


def _logs_of(files: LogFiles, inputs: list[InputFile], findings: list[Finding]) -> list[Log]:
    logs = []
    for name in (name for name in files.names if name in files.tables):
        inputs.append(InputFile(name, files.hashes[name], sum(len(found.rows) for found in files.tables[name])))
        for found in files.tables[name]:
            findings += (*found.findings, *slips.everyday_names(found))
            logs.append(Log(found))
    return logs


def _states_clock(sheet: Sheet) -> bool:
    return any(moment is not None for moment in (sheet.burner.lit, sheet.burner.out, sheet.water.placed))


def _holds_anything(trial: Trial) -> bool:
    timed_notes = [note for note in trial.notes if math.isfinite(note.at)]
    return bool(trial.events or trial.looks or trial.feeds or timed_notes) or any(map(len, trial.readings.values()))


def _nothing_read(names: Sequence[str], findings: list[Finding]) -> Finding:
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


def _first_lit(events: list[Event]) -> float | None:
    """Return when a row lit the burner first; None also where it says itself that it was not for the first time."""
    first = next((event for event in events if event.kind == "burner lit"), None)
    return None if first is None or vocabulary.lights_again(first.text) else first.at


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

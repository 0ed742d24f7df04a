"""A trial folder to a `Trial`: which files, which clock, which events; strings become quantities here and nowhere later."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from reportgen import units, vocabulary
from reportgen.errors import LogFileError, TrialFileError
from reportgen.message import say
from reportgen.read import burning, cells, clock, table
from reportgen.read.sheet import FILE_NAME, Sheet, parse_sheet
from reportgen.trial import Event, Feed, Finding, InputFile, Look, Numbers, Readings, Trial

LOG_SUFFIXES = (".csv", ".tsv", ".txt", ".dat")
SPREADSHEET_SUFFIXES = (".xlsx", ".xls", ".ods")
#: Columns whose rows say nothing about when the run took place.
HISTORY_COLUMNS = frozenset(
    ("material", "fresh_mass", "total_solids", "volatile_solids", "water_added", "gas_produced")
)


@dataclass
class _Log:
    """One log file on its way in: its table, and the time of each row once known."""

    table: table.Table
    at: Numbers = field(default_factory=lambda: np.empty(0))


def read_trial(folder: Path) -> Trial:
    """Read one trial folder. It is never written to.

    Raises
    ------
    TrialFileError
        If there is no `trial.toml` or it cannot be used.
    LogFileError
        If a log cannot be read safely.
    """
    sheet_data = _bytes(folder / FILE_NAME, folder)
    sheet = parse_sheet(sheet_data)
    zone = ZoneInfo(sheet.time_zone or "UTC")
    findings: list[Finding] = []
    inputs = [InputFile(FILE_NAME, hashlib.sha256(sheet_data).hexdigest(), len(sheet_data.splitlines()))]
    logs: list[_Log] = []
    names = _log_names(folder, sheet, findings)
    for name in names:
        data = _bytes(folder / name, folder)
        text, decoded = table.decode(data, name)
        found = table.find_table(text, name, sheet.columns.get(name, {}))
        inputs.append(InputFile(name, hashlib.sha256(data).hexdigest(), len(found.rows) if found else 0))
        findings += decoded
        if found is None:
            findings.append(_no_header(name, text))
            continue
        findings += found.findings
        logs.append(_Log(found))
    date = sheet.date
    dated = True
    for log in logs:
        dated &= _read_times(log, sheet, zone, date, findings)
    stated = _stated_moments(sheet, zone, logs, dated, findings)
    _drop_repeated(logs, findings)
    events, notes = _events(logs)
    run = burning.find_run(stated, events, _last_reading(logs))
    _read_elapsed(logs, run.lit_at if run.lit_at is not None else clock.to_utc(date or clock.NO_DATE, 0.0, zone))
    if any(_elapsed_only(log) for log in logs):
        events, notes = _events(logs)
        run = burning.find_run(stated, events, _last_reading(logs))
    findings += run.findings
    readings, excluded = _readings(logs, findings)
    return Trial(
        folder=folder.resolve().name,
        sheet=sheet,
        zone=zone,
        lit_at=run.lit_at,
        out_at=run.out_at,
        placed_at=run.placed_at,
        dated=(dated and any(log.at.size for log in logs)) or date is not None or _has_date(sheet.burner.lit),
        burning=run.spans,
        end_recorded=run.end_recorded,
        readings=readings,
        excluded=excluded,
        feeds=tuple(_feeds(logs, findings)),
        looks=tuple(_looks(logs, findings)),
        events=tuple(events),
        notes=tuple(notes),
        inputs=tuple(inputs),
        findings=tuple(findings),
    )


def _bytes(path: Path, folder: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError as error:
        if not folder.is_dir():
            raise TrialFileError(f"{folder}: there is no such folder.") from error
        raise TrialFileError(
            f"{folder}: this is not a trial folder, it holds no {FILE_NAME}.\n"
            f'Put a {FILE_NAME} in it; one line is enough:  title = "…"'
        ) from error
    except OSError as error:
        raise TrialFileError(f"{path}: cannot be read ({error.strerror}).") from error


def _log_names(folder: Path, sheet: Sheet, findings: list[Finding]) -> list[str]:
    here = sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
    for path in here:
        if path.suffix.lower() in SPREADSHEET_SUFFIXES:
            findings.append(Finding("caution", "spreadsheet", say(
                "a spreadsheet is not read; open it, choose Save as, then CSV UTF-8, into this folder"),
                path.name))  # fmt: skip
    names = [path.name for path in here if path.suffix.lower() in LOG_SUFFIXES]
    for key, section in (("columns", sheet.columns), ("files", sheet.files)):
        for name in section:
            if name not in names:
                raise TrialFileError(
                    f'{FILE_NAME}: {key} names the file "{name}", which is not in the folder; '
                    f"found {', '.join(names) or 'no log files'}."
                )
    return names


def _no_header(name: str, text: str) -> Finding:
    if not text.strip():
        return Finding("caution", "empty-file", say("the file is empty"), name)
    known = ", ".join(("time", "cabinet_temperature [degC]", "gas_volume [L]", "ice", "event"))
    return Finding("error", "no-header", say(
        "no row names a time column and a column of ours, so the file is not used; name the columns like {known}, "
        "or map them under [columns] in {sheet}", known=known, sheet=FILE_NAME), name, 1)  # fmt: skip


def _heading(log: _Log, column: str) -> table.Heading | None:
    return next((h for h in log.table.headings if h.column == column), None)


def _elapsed_only(log: _Log) -> bool:
    return _heading(log, "elapsed") is not None and _heading(log, "time") is None and _heading(log, "epoch") is None


def _read_times(log: _Log, sheet: Sheet, zone: ZoneInfo, date: dt.date | None, findings: list[Finding]) -> bool:
    """Fill in the times of a log's rows; return whether they carry a date. Elapsed times wait for the lighting."""
    found = log.table
    time, day, epoch = _heading(log, "time"), _heading(log, "date"), _heading(log, "epoch")
    log.at = np.full(len(found.rows), np.nan)
    if time is None and day is None:
        if epoch is not None:
            numbers = cells.parse_numbers(found.cells[epoch.index], found.rows, found.file, "epoch", "s")
            log.at = numbers.values * units.conversion(epoch.unit or "s", "s")[0]
            findings += numbers.findings
        return True
    if time is not None and day is not None:
        texts = np.array(
            [f"{d} {t}".strip() for d, t in zip(_filled(found.cells[day.index]), found.cells[time.index], strict=True)],
            dtype=object,
        )
    else:
        one = time or day
        assert one is not None
        texts = found.cells[one.index]
    rule = sheet.files.get(found.file)
    moments = clock.parse_moments(texts, found.rows, found.file, zone, date, rule.date_order if rule else None)
    findings += moments.findings
    log.at = moments.at
    if np.any(np.diff(log.at[np.isfinite(log.at)]) < 0):
        findings.append(Finding("note", "not-in-order", say("the rows are not in order of time; sorted"), found.file))
    return moments.dated


def _filled(days: Any) -> list[str]:
    """Return a date column with blanks filled from above, as people write a date once per page."""
    filled, last = [], ""
    for day in days:
        last = day or last
        filled.append(last)
    return filled


def _read_elapsed(logs: list[_Log], zero: float) -> None:
    for log in logs:
        heading = _heading(log, "elapsed")
        if heading is None or not _elapsed_only(log):
            continue
        numbers = cells.parse_numbers(log.table.cells[heading.index], log.table.rows, log.table.file, "elapsed", "s")
        log.at = zero + numbers.values * units.conversion(heading.unit or "min", "s")[0]


def _has_date(value: Any) -> bool:
    return isinstance(value, dt.datetime) or (isinstance(value, str) and clock.parse_clock(value) is None)


def _stated_moments(
    sheet: Sheet, zone: ZoneInfo, logs: list[_Log], dated: bool, findings: list[Finding]
) -> burning.Stated:
    """Return the moments that trial.toml states; a clock time without a date takes the day the logs show."""
    date = sheet.date
    run_times = [log.at[np.isfinite(log.at)] for log in logs if not _is_history(log)]
    joined = np.concatenate(run_times) if run_times else np.empty(0)
    keys = {"lit": sheet.burner.lit, "out": sheet.burner.out, "placed": sheet.water.placed}
    if date is None and dated and joined.size and any(v is not None and not _has_date(v) for v in keys.values()):
        date = dt.datetime.fromtimestamp(float(joined.min()), zone).date()
        findings.append(Finding("note", "date-from-log", say(
            "no date is stated; clock times of {sheet} are taken on {day}, the day the logs begin",
            sheet=FILE_NAME, day=date.isoformat()), FILE_NAME))  # fmt: skip
    moments: dict[str, float | None] = {}
    for key, value in keys.items():
        read = None if value is None else clock.parse_stated(value, zone, date)
        if value is not None and read is None:
            section = "water" if key == "placed" else "burner"
            raise TrialFileError(
                f'{FILE_NAME}: {section}.{key}: found "{value}", expected a clock time such as "09:05" '
                'or a date and time such as "2026-03-14 09:05"'
            )
        moments[key] = None if read is None else read[0]
    return burning.Stated(moments["lit"], moments["out"], moments["placed"])


def _is_history(log: _Log) -> bool:
    return all(h.column in HISTORY_COLUMNS | set(vocabulary.TIME_COLUMNS) | {"note"} for h in log.table.headings)


def _last_reading(logs: list[_Log]) -> float | None:
    """Return the time of the last row that holds a reading of the run [s]."""
    last: float | None = None
    for log in logs:
        if not log.at.size:
            continue
        filled = np.zeros(len(log.at), dtype=bool)
        for heading in log.table.headings:
            if heading.column not in HISTORY_COLUMNS | set(vocabulary.TIME_COLUMNS) | {"note"}:
                filled |= log.table.cells[heading.index] != ""
        times = log.at[filled & np.isfinite(log.at)]
        if times.size:
            last = max(last if last is not None else -np.inf, float(times.max()))
    return last


def _drop_repeated(logs: list[_Log], findings: list[Finding]) -> None:
    """Leave out rows that repeat another to the letter; feeds of one day without a clock time may truly be alike."""
    for log in logs:
        found = log.table
        day_only = np.isfinite(log.at) & (np.mod(log.at, 900) == 0) & _is_history(log)
        frame = pd.DataFrame({heading.index: found.cells[heading.index] for heading in found.headings})
        repeated = frame.duplicated().to_numpy() & np.isfinite(log.at) & ~day_only
        if repeated.any():
            findings.append(Finding("note", "repeated-rows", say(
                "{n} rows repeat another to the letter and are read once", n=int(repeated.sum())),
                found.file, int(found.rows[repeated][0])))  # fmt: skip
            log.at = np.where(repeated, np.nan, log.at)


def _words(log: _Log, column: str) -> list[tuple[float, str, int]]:
    """Return (time, text, row) of the filled cells of a column of words, of rows whose time is known."""
    heading = _heading(log, column)
    if heading is None or not log.at.size:
        return []
    texts = log.table.cells[heading.index]
    chosen = np.flatnonzero((texts != "") & np.isfinite(log.at))
    return [(float(log.at[i]), str(texts[i]), int(log.table.rows[i])) for i in chosen]


def _events(logs: list[_Log]) -> tuple[list[Event], list[Event]]:
    events, notes = [], []
    for log in logs:
        file = log.table.file
        events += [Event(at, vocabulary.event_kind(t), t, file, row) for at, t, row in _words(log, "event")]
        notes += [Event(at, "note", t, file, row) for at, t, row in _words(log, "note")]
    return sorted(events, key=lambda event: event.at), sorted(notes, key=lambda event: event.at)


def _looks(logs: list[_Log], findings: list[Finding]) -> list[Look]:
    looks = []
    for log in logs:
        containers = {row: text for _, text, row in _words(log, "container")}
        for at, text, row in _words(log, "ice"):
            try:
                share = vocabulary.frozen_share(text)
            except ValueError:
                findings.append(Finding("caution", "ice-not-read", say(
                    'ice: "{text}" is none of liquid, partial, solid, or a percentage; not used', text=text[:40]),
                    log.table.file, row))  # fmt: skip
                continue
            looks.append(Look(at, containers.get(row, ""), share, log.table.file, row))
    return sorted(looks, key=lambda look: look.at)


def _feeds(logs: list[_Log], findings: list[Finding]) -> list[Feed]:
    feeds = []
    for log in logs:
        if _heading(log, "fresh_mass") is None or not log.at.size:
            continue
        numbers = {
            name: _numbers(log, heading, findings, quiet=True).values if (heading := _heading(log, name)) else None
            for name in ("fresh_mass", "total_solids", "volatile_solids", "water_added")
        }
        material = _heading(log, "material")
        mass = numbers["fresh_mass"]
        assert mass is not None
        low, high = vocabulary.POSSIBLE["fresh_mass"]
        for i in np.flatnonzero(np.isfinite(mass) & np.isfinite(log.at) & (mass >= low) & (mass <= high)):
            other = {
                name: None if values is None or not np.isfinite(values[i]) else float(values[i])
                for name, values in numbers.items()
            }
            text = str(log.table.cells[material.index][i]) if material else ""
            feeds.append(Feed(
                float(log.at[i]), text, float(mass[i]), other["total_solids"], other["volatile_solids"],
                other["water_added"], log.table.file, int(log.table.rows[i]),
            ))  # fmt: skip
    return sorted(feeds, key=lambda feed: feed.at)


def _numbers(log: _Log, heading: table.Heading, findings: list[Finding], *, quiet: bool = False) -> cells.Column:
    """Return a column's numbers in the unit of the vocabulary."""
    found, column = log.table, vocabulary.COLUMNS[heading.column]
    assert column.unit is not None and column.default_unit is not None
    try:
        factor, offset = units.conversion(heading.unit or column.default_unit, column.unit)
    except units.UnitError as error:
        raise LogFileError(
            f"{found.file}, row {int(found.rows[0]) - 1 if len(found.rows) else 1}: column {column.name}: {error}.\n"
            f"Write its unit in brackets in the header, such as {column.name} [{column.default_unit}]."
        ) from error
    numbers = cells.parse_numbers(found.cells[heading.index], found.rows, found.file, column.name, column.unit)
    if not quiet:
        findings += numbers.findings
    return cells.Column(numbers.values * factor + offset, numbers.step * abs(factor), ())


def _readings(logs: list[_Log], findings: list[Finding]) -> tuple[Mapping[str, Readings], Mapping[str, Readings]]:
    parts: dict[str, list[tuple[int, cells.Column]]] = {}
    for index, log in enumerate(logs):
        without_unit = []
        for heading in log.table.headings:
            column = vocabulary.COLUMNS[heading.column]
            if column.unit is None or heading.column in ("elapsed", "epoch"):
                continue
            if heading.unit is None:
                without_unit.append(f"{column.name} [{column.default_unit}]")
            parts.setdefault(heading.column, []).append((index, _numbers(log, heading, findings)))
        if without_unit:
            findings.append(Finding("note", "unit-taken", say(
                "no unit in the header; taken as {columns}", columns=", ".join(without_unit)),
                log.table.file, _header_row(log)))  # fmt: skip
        if log.table.unknown:
            findings.append(Finding("note", "unknown-column", say(
                "columns that mean nothing here are not used: {columns}", columns=", ".join(log.table.unknown[:12])),
                log.table.file, _header_row(log)))  # fmt: skip
    files = tuple(log.table.file for log in logs)
    readings, excluded = {}, {}
    for name, columns in parts.items():
        at = np.concatenate([logs[i].at for i, _ in columns])
        values = np.concatenate([column.values for _, column in columns])
        rows = np.concatenate([logs[i].table.rows for i, _ in columns])
        file_index = np.concatenate([np.full(len(logs[i].table.rows), i) for i, _ in columns])
        order = np.argsort(at, kind="stable")
        order = order[np.isfinite(at[order]) & np.isfinite(values[order])]
        step = max((column.step for _, column in columns), default=0.0)
        joined = Readings(at[order], values[order], rows[order], files, file_index[order], step)
        low, high = vocabulary.POSSIBLE.get(name, (-np.inf, np.inf))
        possible = (joined.values >= low) & (joined.values <= high)
        readings[name], excluded[name] = joined.where(possible), joined.where(~possible)
        for i in np.flatnonzero(~possible)[:20]:
            findings.append(Finding("caution", "not-possible", say(
                "{column}: {value} {unit} is not possible; shown but not used", column=name,
                value=float(joined.values[i]), unit=vocabulary.COLUMNS[name].unit),
                files[int(joined.file_index[i])], int(joined.rows[i])))  # fmt: skip
    return readings, excluded


def _header_row(log: _Log) -> int | None:
    return int(log.table.rows[0]) - 1 if len(log.table.rows) else None

"""Columns of all logs brought together: readings, feeds, looks, events and notes in order of time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from reportgen import vocabulary
from reportgen.checks.marks import not_possible
from reportgen.message import say, say_counted
from reportgen.read import cells, slips, unread
from reportgen.read.layout import Heading
from reportgen.read.log import Log, converted
from reportgen.trial import BAD, MISSING, Event, Feed, Finding, Look, Readings


def last_reading(logs: list[Log]) -> float | None:
    """Return the time of the last row that holds a reading of the run [s]."""
    last: float | None = None
    for log in logs:
        if not log.at.size:
            continue
        filled = np.zeros(len(log.at), dtype=bool)
        for heading in log.run_columns:
            filled |= cells.filled(log.table.cells[heading.index])
        times = log.at[filled & np.isfinite(log.at)]
        if times.size:
            last = max(last if last is not None else -np.inf, float(times.max()))
    return last


def _words(log: Log, column: str, *, timed: bool = True) -> list[tuple[float, str, int]]:
    """Return (time, text, row) of the filled cells of a column of words, where the time is known or where not."""
    heading = log.heading(column)
    if heading is None or not log.at.size:
        return []
    texts = log.table.cells[heading.index]
    chosen = np.flatnonzero((texts != "") & (np.isfinite(log.at) == timed))
    return [(float(log.at[i]), str(texts[i]), int(log.table.rows[i])) for i in chosen]


def events_of(logs: list[Log]) -> tuple[list[Event], list[Event]]:
    """Return events and notes in order of time; notes of rows without a readable time come last, at NaN."""
    events, notes, untimed = [], [], []
    for log in logs:
        file = log.table.file
        events += [Event(at, vocabulary.event_kind(t), t, file, row) for at, t, row in _words(log, "event")]
        notes += [Event(at, "note", t, file, row) for at, t, row in _words(log, "note")]
        # A warning in a row whose time cannot be read is a warning all the same; its time stays unknown (NaN).
        untimed += [
            Event(at, "note", t, file, row)
            for column in ("note", "event")
            for at, t, row in _words(log, column, timed=False)
        ]
    return sorted(events, key=lambda event: event.at), [*sorted(notes, key=lambda event: event.at), *untimed]


def unknown_events(events: list[Event]) -> list[Finding]:
    """Return the caution that words in the column of events were not understood, which may have told of the flame."""
    unknown = [event for event in events if event.kind == "other"]
    if not unknown:
        return []
    first = unknown[0]
    message = say_counted(
        len(unknown),
        '"{text}" is no event that is known; kept as a note',
        '{n} events are none that is known, such as "{text}"; kept as notes',
        text=first.text[:40],
    )
    effect = say(
        "where one of them tells of the flame, lighting and going out may be taken from other rows than the true ones"
    )
    return [Finding("caution", "event-not-read", message, first.file, first.row, effect)]


def looks_of(logs: list[Log], findings: list[Finding]) -> list[Look]:
    """Return the looks at the ice in order of time."""
    looks, everyday = [], set[tuple[str, str]]()
    for log in logs:
        containers = {row: text for _, text, row in _words(log, "container")}
        for at, text, row in _words(log, "ice"):
            try:
                share = vocabulary.frozen_share(text)
            except ValueError:
                findings.append(
                    Finding(
                        "caution",
                        "ice-not-read",
                        say(
                            'ice: "{text}" is not used; write liquid, partial, solid, or the percent frozen',
                            text=text[:40],
                        ),
                        log.table.file,
                        row,
                    )
                )
                continue
            plain = vocabulary.plain_ice_word(text)
            if plain is not None and (text.casefold(), plain) not in everyday:
                everyday.add((text.casefold(), plain))
                message = say('ice: "{text}" is read as {word}', text=text[:40], word=plain)
                findings.append(Finding("note", "ice-word", message, log.table.file, row))
            looks.append(Look(at, containers.get(row, ""), share, log.table.file, row))
    return sorted(looks, key=lambda look: look.at)


def feeds_of(logs: list[Log], findings: list[Finding]) -> list[Feed]:
    """Return the feeds in order of time."""
    feeds = []
    for log in logs:
        if log.heading("fresh_mass") is None or not log.at.size:
            continue
        numbers = {
            name: _numbers(log, heading, findings, quiet=True).values if (heading := log.heading(name)) else None
            for name in ("fresh_mass", "total_solids", "volatile_solids", "water_added")
        }
        material = log.heading("material")
        mass = numbers["fresh_mass"]
        assert mass is not None
        for i in np.flatnonzero(np.isfinite(log.at) & _is_possible("fresh_mass", mass)):
            other = {
                name: None if values is None or not _is_possible(name, values[i]) else float(values[i])
                for name, values in numbers.items()
            }
            text = str(log.table.cells[material.index][i]) if material else ""
            feeds.append(
                Feed(
                    float(log.at[i]),
                    text,
                    float(mass[i]),
                    other["total_solids"],
                    other["volatile_solids"],
                    other["water_added"],
                    log.table.file,
                    int(log.table.rows[i]),
                )
            )
    return sorted(feeds, key=lambda feed: feed.at)


def _numbers(log: Log, heading: Heading, findings: list[Finding], *, quiet: bool = False) -> cells.Column:
    """Return a column's numbers in the unit of the vocabulary."""
    found, column = log.table, vocabulary.COLUMNS[heading.column]
    assert column.unit is not None
    unit, factor, offset = converted(log, heading, column.unit, column.default_unit)
    numbers = cells.parse_numbers(
        found.cells[heading.index],
        found.rows,
        found.file,
        column.name,
        unit,
        found.decimal,
        found.written.get(heading.index, ()),
    )
    if not quiet:
        findings += numbers.findings
    return cells.Column(
        numbers.values * factor + offset,
        numbers.step * abs(factor),
        (),
        numbers.failures,
        numbers.marks * factor + offset,
    )


def readings_of(
    logs: list[Log], gas_kind: str | None, findings: list[Finding]
) -> tuple[Mapping[str, Readings], Mapping[str, Readings]]:
    """Return the readings of each column, and those that are shown but not used: not possible, or a failed sensor's."""
    parts: dict[str, list[tuple[int, cells.Column]]] = {}
    read = unread.columns_read(logs)
    for index, log in enumerate(logs):
        without_unit = []
        for heading in log.table.headings:
            column = vocabulary.COLUMNS[heading.column]
            if column.unit is None or heading.column in ("elapsed", "epoch"):
                continue
            numbers = _numbers(log, heading, findings)
            parts.setdefault(heading.column, []).append((index, numbers))
            if heading.unit is None:
                without_unit.append(f"{column.name} [{column.default_unit}]")
                findings += slips.doubtful_unit(log, column.name, numbers.values, gas_kind)
        if without_unit:
            findings.append(
                Finding(
                    "note",
                    "unit-taken",
                    say("no unit in the header; taken as {columns}", columns=", ".join(without_unit)),
                    log.table.file,
                    log.table.header_row,
                )
            )
        findings += unread.unknown_columns(log, read)
    files = tuple(log.table.file for log in logs)
    readings, excluded = {}, {}
    for name, columns in parts.items():
        at = np.concatenate([logs[i].at for i, _ in columns])
        values = np.concatenate([column.values for _, column in columns])
        rows = np.concatenate([logs[i].table.rows for i, _ in columns])
        file_index = np.concatenate([np.full(len(logs[i].table.rows), i) for i, _ in columns])
        failed = np.zeros(len(values), dtype=bool)
        starts = np.cumsum([0, *(len(column.values) for _, column in columns)])
        for start, (_, numbers) in zip(starts, columns, strict=False):
            failed[start + numbers.failures] = True
            values[start + numbers.failures] = numbers.marks
        order = np.argsort(at, kind="stable")
        order = order[np.isfinite(at[order]) & (np.isfinite(values[order]) | failed[order])]
        step = max((column.step for _, column in columns), default=0.0)
        joined = Readings(at[order], values[order], rows[order], files, file_index[order], step)
        used = _is_possible(name, joined.values) & ~failed[order]
        readings[name] = joined if used.all() else joined.where(used)
        left_out = joined.where(~used)
        excluded[name] = replace(left_out, flag=np.where(failed[order][~used], MISSING, BAD).astype(np.int8))
        findings += not_possible(name, joined, np.flatnonzero(~used & ~failed[order]))
    return readings, excluded


def _is_possible(column: str, values: Any) -> Any:
    """Return where values of a column lie inside the limits of the vocabulary; NaN never does."""
    low, high = vocabulary.POSSIBLE[column]
    return (values >= low) & (values <= high)

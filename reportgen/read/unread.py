"""Columns that are not read: which column of ours each may be, and which figures then have nothing to rest on."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from reportgen import units, vocabulary
from reportgen.catalogue import KINDS
from reportgen.message import Message, listed, say
from reportgen.read.log import Log
from reportgen.read.sheet import FILE_NAME
from reportgen.read.slips import LONGEST_SHOWN, MOST_ASKED, MOST_NAMED, is_read_as_written, mapping_line
from reportgen.trial import Finding

#: Any one of these gives the gas used.
GAS_COLUMNS = ("gas_volume", "gas_level", "gas_flow")
_OF_GAS = ("gas_used", "gas_per_hour", "burner_power", "gas_per_ice", "cop_ice", "waste_to_ice")
#: Column -> the chief of the figures that rest on it, by their keys in the catalogue.
RESTS_ON_COLUMN: Mapping[str, tuple[str, ...]] = {
    "fresh_mass": ("waste_fed", "gas_yield_fresh", "waste_for_run", "waste_to_ice", "loading_rate", "retention_time"),
    "gas_produced": ("gas_produced", "gas_yield_fresh", "waste_for_run", "waste_to_ice"),
    **dict.fromkeys(GAS_COLUMNS, _OF_GAS),
    "cabinet_temperature": ("temperature_lowest", "time_to_0", "cooling_rate_mean", "cooling_time_constant"),
    "ambient_temperature": ("ambient_mean", "cop_reversible", "share_of_limit"),
    "ice": ("ice_making_time", "freezing_time", "ice_making_capacity", "cooling_power"),
    "total_solids": ("gas_yield_vs", "methane_yield_vs", "loading_rate"),
    "volatile_solids": ("gas_yield_vs", "methane_yield_vs", "loading_rate"),
    "water_added": ("retention_time",),
}


def columns_read(logs: Collection[Log]) -> frozenset[str]:
    """Return the columns that the logs of a trial have, each of the gas columns where one is there."""
    found = {heading.column for log in logs for heading in log.table.headings}
    return frozenset(found | (set(GAS_COLUMNS) if found.intersection(GAS_COLUMNS) else set()))


def unknown_columns(log: Log, read: Collection[str]) -> list[Finding]:
    """Return what to say of the columns that are not read: which column each may be, the rest in one note.

    Parameters
    ----------
    read
        What the logs of the trial have, as `columns_read` gives it.
    """
    found = log.table
    taken = {heading.column: heading for heading in found.headings}
    findings, others, doubted = list[Finding](), list[str](), dict[str, list[str]]()
    for header in found.unknown:
        is_asked = len(findings) + len(doubted) + len(others) < MOST_ASKED
        column = vocabulary.column_named(*vocabulary.split_header(header))
        if column in taken and is_read_as_written(taken[column]):
            message = say(
                '"{header}" means {column} too, which is read from the column "{other}"; it is not read',
                header=header[:LONGEST_SHOWN],
                column=column,
                other=taken[column].header[:LONGEST_SHOWN],
            )
            findings.append(Finding("caution", "column-set-aside", message, found.file, found.header_row))
            continue
        meant = [name for name in _meant(header, log, read) if name not in taken] if is_asked else []
        if meant:
            # What no log has is the likelier.
            doubted[header] = sorted(meant, key=lambda name: name in read)
        else:
            others.append(header)
    findings += _doubts(log, doubted, read)
    if others:
        message = say(
            "columns that mean nothing here are not used: {columns}",
            columns=", ".join(header[:LONGEST_SHOWN] for header in others[:MOST_NAMED]),
        )
        findings.append(Finding("note", "unknown-column", message, found.file, found.header_row))
    return findings


def _meant(header: str, log: Log, read: Collection[str]) -> list[str]:
    """Return the columns that a header may be meant for; in a feed log a mass is what was fed, whatever its name."""
    meant = vocabulary.columns_meant(header)
    unit = vocabulary.split_header(header)[1]
    if meant or unit is None or not log.is_history or "fresh_mass" in read:
        return meant
    try:
        units.conversion(unit, "kg")
    except units.UnitError:
        return []
    return ["fresh_mass"]


def _doubts(log: Log, doubted: Mapping[str, list[str]], read: Collection[str]) -> list[Finding]:
    """Return a question for each header in doubt.

    What can be one column only stands in the line of every question: two lines for one file are no TOML.
    """
    found, findings = log.table, list[Finding]()
    mapped = {heading.column: heading.header for heading in found.headings if not is_read_as_written(heading)}
    likeliest: dict[str, str] = {}
    for header, meant in doubted.items():
        if len(meant) == 1:
            likeliest.setdefault(meant[0], header)
    for header, meant in doubted.items():
        line = mapping_line(found.file, {**mapped, **likeliest, meant[0]: header})
        message = say(
            'is "{header}" {columns}? it is not read; rename it, or add under [columns] in {sheet}:  {line}',
            header=header[:LONGEST_SHOWN],
            columns=" or ".join(filter(None, (", ".join(meant[:-1]), meant[-1]))),
            sheet=FILE_NAME,
            line=line,
        )
        effect = None if meant[0] in read else _lost(meant[0])
        findings.append(Finding("caution", "column-in-doubt", message, found.file, found.header_row, effect))
    return findings


def _lost(column: str) -> Message | None:
    """Return which figures rest on a column that no log has; None for one on which no figure rests alone."""
    keys = RESTS_ON_COLUMN.get(column)
    if keys is None:
        return None
    labels = listed(KINDS[key].label for key in keys)
    return say("no other column gives {column}, on which these figures rest: {figures}", column=column, figures=labels)

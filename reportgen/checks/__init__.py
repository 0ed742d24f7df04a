"""Checks of the readings of a trial: what looks wrong is flagged and said, never deleted and never mended."""

from __future__ import annotations

from dataclasses import replace

from reportgen.checks.clocks import clock_findings
from reportgen.checks.feed import CODES_HERE, feed_findings
from reportgen.checks.gas import check_gas
from reportgen.checks.marks import joined
from reportgen.checks.temperatures import CHECKED, check_temperatures
from reportgen.trial import Finding, Trial

__all__ = ["checked"]


def checked(trial: Trial) -> Trial:
    """Return the trial with its readings flagged, and what the checks found added to its findings.

    Totals and crossings keep a questionable reading; fitted curves and slopes leave it out (`Readings.for_fits`). What
    was probably written in another unit, or with its decimal mark in another place, is not used at all: it stands in
    `Trial.excluded`, flagged questionable. A trial that was checked before is judged anew.
    """
    trial = _with_all_back(trial)
    temperatures, of_temperatures = check_temperatures(trial)
    gas, of_gas = check_gas(trial)
    columns = temperatures | gas
    aside = {name: joined(trial.excluded.get(name), column.aside) for name, column in columns.items()}
    judged = replace(
        trial,
        readings={**trial.readings, **{name: column.used for name, column in columns.items()}},
        excluded={**trial.excluded, **aside},
    )
    said = tuple(found for found in trial.findings if not _is_said_anew(found))
    return replace(judged, findings=(*said, *of_temperatures, *of_gas, *clock_findings(judged), *feed_findings(judged)))


def _with_all_back(trial: Trial) -> Trial:
    """Return a trial with the readings that a check before set aside among those used."""
    readings, excluded = dict(trial.readings), dict(trial.excluded)
    for name, left_out in trial.excluded.items():
        doubted = left_out.is_questionable
        if doubted.any():
            readings[name] = joined(readings.get(name), left_out.where(doubted))
            excluded[name] = left_out.where(~doubted)
    return replace(trial, readings=readings, excluded=excluded)


def _is_said_anew(finding: Finding) -> bool:
    is_of_temperatures = finding.message.values.get("column") in CHECKED
    return finding.code in CODES_HERE or (finding.code == "not-possible" and is_of_temperatures)

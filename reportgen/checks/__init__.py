"""Checks of the readings of a trial: what looks wrong is flagged and said, never deleted and never mended."""

from __future__ import annotations

from dataclasses import replace

from reportgen.checks.clocks import clock_findings
from reportgen.checks.gas import check_gas
from reportgen.checks.temperatures import check_temperatures
from reportgen.trial import Trial

__all__ = ["checked"]


def checked(trial: Trial) -> Trial:
    """Return the trial with its readings flagged, and what the checks found added to its findings.

    Totals and crossings keep a questionable reading; fitted curves and slopes leave it out (`Readings.for_fits`).
    """
    readings = dict(trial.readings)
    temperatures, of_temperatures = check_temperatures(trial)
    gas, of_gas = check_gas(trial)
    readings |= temperatures | gas
    return replace(
        trial, readings=readings, findings=(*trial.findings, *of_temperatures, *of_gas, *clock_findings(trial))
    )

"""The gas readings of a trial as volumes, with what one reading is good for."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from reportgen.calc import series, uncertainty
from reportgen.figures.figure import Assumption
from reportgen.message import Message, say
from reportgen.trial import Finding, Readings, Trial

HOUR = 3600.0
#: Content at an instant may be that of the nearest reading within this time [s] (the trial format says so).
NEAREST_WITHIN = 300.0


def volume_readings(trial: Trial) -> Readings | Message:
    """Return content or total in L (flow in L/min for a flow log), or the reason why there is none."""
    sheet = trial.sheet.gas
    volume, level, flow = (trial.column(name) for name in ("gas_volume", "gas_level", "gas_flow"))
    if sheet.kind == "flow" or (sheet.kind is None and flow is not None and volume is None and level is None):
        return flow if flow is not None else say("no gas flow is logged")
    if volume is None and level is None:
        return say("no gas readings are logged")
    if sheet.kind is None:
        return say("gas.kind is not stated: holder, meter or flow decides what a gas reading means")
    if volume is not None:
        return volume
    assert level is not None
    if sheet.level_table is not None:
        levels, volumes = (np.array(column, dtype=float) for column in zip(*sheet.level_table, strict=True))
        inside = level.where((level.values >= levels[0]) & (level.values <= levels[-1]))
        if not len(inside):
            return say("all gas levels lie outside gas.level_table")
        slope = abs(volumes[-1] - volumes[0]) / (levels[-1] - levels[0])
        return inside.with_values(np.interp(inside.values, levels, volumes), level.step * slope)
    if sheet.level_area is not None:
        per_cm = sheet.level_area.value / 1000
        return level.with_values(level.values * per_cm, level.step * per_cm)
    return say("gas levels are logged, but neither gas.level_area nor gas.level_table turns them into volume")


def unused_levels(trial: Trial) -> list[Finding]:
    """Return what is to be said of gas levels that are logged but not used."""
    level, table = trial.column("gas_level"), trial.sheet.gas.level_table
    if level is None:
        return []
    if trial.column("gas_volume") is not None:
        return [
            at_row(
                "note",
                "level-not-used",
                say("gas volumes are logged as well as levels; the volumes are used"),
                level,
                0,
            )
        ]
    if table is None:
        return []
    outside = np.flatnonzero((level.values < table[0][0]) | (level.values > table[-1][0]))
    if not len(outside):
        return []
    return [
        at_row(
            "caution",
            "level-outside-table",
            say(
                "{n} gas levels lie outside gas.level_table ({low} to {high} cm) and are not used",
                n=len(outside),
                low=float(table[0][0]),
                high=float(table[-1][0]),
            ),
            level,
            int(outside[0]),
        )
    ]


def reading_uncertainty(trial: Trial, kind: str, volumes: Readings) -> tuple[float, list[Assumption]]:
    """Return the standard uncertainty of one reading [L or L/min]: from its step, or its scatter if that is larger."""
    stated = trial.sheet.gas.resolution
    step = stated.value if stated is not None and kind != "flow" else volumes.step
    assumptions = []
    if stated is None or kind == "flow":
        assumptions.append(
            Assumption(
                "gas readings",
                say("read to the nearest {step} {unit}", step=step, unit="L/min" if kind == "flow" else "L"),
                say("gas.resolution is not stated; the smallest step in the log is taken"),
                of_value=False,
            )
        )
    return max(uncertainty.rounding(step), _scatter(volumes)), assumptions


def _scatter(volumes: Readings) -> float:
    """Return the scatter of the volumes about their own course; 0 where they are too far apart to show it."""
    dense = len(volumes) > 1 and np.median(np.diff(volumes.at)) <= NEAREST_WITHIN
    return series.scatter(volumes.values) if dense else 0.0


def unrolled(volumes: Readings, findings: list[Finding]) -> Readings:
    """Return a meter's total with its rollovers undone: a fall of more than half its range is one."""
    total = volumes.values.astype(float).copy()
    for i in np.flatnonzero(np.diff(volumes.values) < 0) + 1:
        before, after = volumes.values[i - 1], volumes.values[i]
        span = 10.0 ** math.ceil(math.log10(before)) if before > 0 else 0.0
        if before - after <= span / 2:
            continue
        if i >= 2 and after >= volumes.values[i - 2]:
            # The meter went on from the reading before: the one between was misread, or written wrongly.
            if volumes.is_questionable[i - 1]:
                continue  # that is asked about already
            findings.append(
                at_row(
                    "caution",
                    "gas-misread",
                    say("the meter jumps to {before} L and back; read as a slip", before=float(before)),
                    volumes,
                    int(i) - 1,
                )
            )
        else:
            total[i:] += span
            findings.append(
                at_row(
                    "note",
                    "meter-rollover",
                    say(
                        "the meter falls from {before} to {after} L; read as passing {span} L",
                        before=float(before),
                        after=float(after),
                        span=span,
                    ),
                    volumes,
                    int(i),
                )
            )
    return volumes.with_values(total, volumes.step)


def overlap_with_burning(trial: Trial, amounts: Readings) -> tuple[float, float]:
    """Return how much of amounts `since the row before` falls into the burning time, and its standard uncertainty [L].

    An amount is shared out in proportion to time. Where it left at one moment that could be any, a share s of it being
    inside has the variance s (1 - s) of the amount squared.
    """
    total, variance = 0.0, 0.0
    for i in range(len(amounts)):
        end, amount = float(amounts.at[i]), float(amounts.values[i])
        start = float(amounts.at[i - 1]) if i else end
        if end == start:
            share = float(any(lit <= end <= out for lit, out in trial.burning))
        else:
            share = sum(max(min(end, out) - max(start, lit), 0.0) for lit, out in trial.burning) / (end - start)
        total += share * amount
        variance += share**2 * uncertainty.rounding(amounts.step) ** 2 + max(share * (1 - share), 0.0) * amount**2
    return total, math.sqrt(variance)


def at_row(level: str, code: str, message: Message, readings: Readings, index: int) -> Finding:
    """Return a finding at the row of one reading."""
    file = readings.files[int(readings.file_index[index])]
    return Finding(level, code, message, file, int(readings.rows[index]))


def used_elsewhere(trial: Trial, start: float, end: float) -> tuple[float, float]:
    """Return what went elsewhere from `start` to `end` [s], and its standard uncertainty [L]."""
    amounts = trial.column("gas_elsewhere")
    if amounts is None:
        return 0.0, 0.0
    return overlap_with_burning(replace(trial, burning=((start, end),)), amounts)

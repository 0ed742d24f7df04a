"""Gas readings that were probably written wrongly: a power of ten, or a unit, away from the course before and after.

A leak, a tap left open or a bag let out does not come back by itself to the course it left, and is no slip.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reportgen.calc import series
from reportgen.checks.marks import Mask, at_reading
from reportgen.message import say, say_counted
from reportgen.trial import Finding, Numbers, Readings, Trial
from reportgen.units import conversion
from reportgen.vocabulary import COLUMNS

#: What a wrong decimal mark makes of a reading, and litres for cubic metres or the other way round [1].
FACTORS = (0.001, 0.01, 0.1, 10.0, 100.0, 1000.0)
#: Readings beside each other whose ratio is beyond this may be such a slip; its smallest factor is 10 [1] (ours).
LEAST_RATIO = 4.0
#: A slip lies beyond the readings on both its sides by this factor [1] (ours).
STICKS_OUT = 2.0
#: What a slip was meant to be is within this share of the course [1], or half the way the course goes meanwhile (ours).
MEANT_WITHIN = 0.03
#: The course is come back to if it went less than this share of the way to the slip [1], or not much faster than beside
#: it [1] (ours).
COMES_BACK, AS_FAST = 0.25, 1.5
#: A holder that really lost its gas may be full again after so long [s], unless it is shut off and burns (ours).
NEIGHBOURS_WITHIN = 5400.0
#: More slips than this share of a column, and than so many, are no slips but how it is (ours).
MOST_SLIPS, FEW_SLIPS = 0.05, 3
#: A change of a holder counts beyond so many times the scatter of its readings (ours).
SCATTERS = 8.0
#: A log with more jumps than this is no log of a gasholder (ours).
MOST_JUMPS = 1000
#: So many readings show a step that is coarser than their last digit, as where logs are read.
READINGS_FOR_STEP = 6
#: How many times coarser the scale may be than a column whose slip adds one to three decimals: by whole digits, or from
#: one of 1, 2, 5 and 10 of a digit to another where the readings show it.
DECIMALS = (1000, 100, 10)
COARSER = (10_000, 5000, 2500, 2000, 1000, 500, 250, 200, 100, 50, 25, 20, 10, 5, 2)


@dataclass(frozen=True)
class _Slip:
    """Readings `first` to `last` that are written `factor` times too small; `meant` is what the first should be."""

    first: int
    last: int
    factor: float
    meant: float


def gas_slips(trial: Trial, name: str, readings: Readings) -> tuple[Mask, list[Finding]]:
    """Return which readings are slips of a power of ten or of the unit, and one question for each stretch of them."""
    mask = np.zeros(len(readings), dtype=bool)
    values = readings.values.astype(float, copy=False)
    slips = [slip for slip in _slips(trial, name, readings, values) if not _explained(trial, name, readings, slip)]
    if len(slips) > max(MOST_SLIPS * len(readings), FEW_SLIPS):
        return mask, []
    findings = []
    for slip in slips:
        mask[slip.first : slip.last + 1] = True
        count = slip.last - slip.first + 1
        message = say_counted(
            count,
            "{column}: {value} {unit} where the readings beside it lead to {meant} {unit}, a factor of {factor}: is "
            "its decimal mark or its unit wrong?",
            "{column}: {n} readings (rows {first} to {last}) such as {value} {unit} where those beside them lead to "
            "{meant} {unit}, a factor of {factor}: is their decimal mark or their unit wrong?",
            column=name,
            value=float(values[slip.first]),
            unit=COLUMNS[name].unit,
            meant=slip.meant,
            factor=float(f"{max(slip.factor, 1 / slip.factor):.3g}"),
            first=int(readings.rows[slip.first]),
            last=int(readings.rows[slip.last]),
        )
        effect = (
            say(
                "shown but not used until it is answered; correct the log if it is a slip, or log the refill if so "
                "much gas did leave and come back"
            )
            if trial.sheet.gas.kind == "holder"
            else say("shown but not used until it is answered; correct the log if it is a slip")
        )
        findings.append(at_reading("caution", "gas-misread", message, readings, slip.first, effect))
    return mask, findings


def step_without(readings: Readings, slips: Mask) -> float:
    """Return the step of the readings without slips, whose many decimals are not those of the scale."""
    kept = readings.values[~slips].astype(float)
    if not readings.step > 0 or not len(kept) or not np.any(readings.values[slips] < np.median(kept)):
        return readings.step
    counts = np.unique(np.rint(kept / readings.step))
    coarser = COARSER if len(kept) >= READINGS_FOR_STEP and len(counts) > 2 else DECIMALS
    return readings.step * next((times for times in coarser if not np.any(counts % times)), 1)


def _slips(trial: Trial, name: str, readings: Readings, values: Numbers) -> list[_Slip]:
    """Return the stretches between two jumps that fit the course before and after once their factor is undone."""
    if len(values) < 3:
        return []
    size = np.abs(values)
    small, large = np.minimum(size[:-1], size[1:]), np.maximum(size[:-1], size[1:])
    jumps = np.flatnonzero((values[:-1] * values[1:] > 0) & (large > LEAST_RATIO * small))
    if len(jumps) > min(max(2 * MOST_SLIPS * len(values), 4 * FEW_SLIPS), MOST_JUMPS):
        return []
    if len(jumps) < 2:
        return []
    litres = conversion("ft^3", "L")[0]  # the other unit of gas meters
    factors = (*FACTORS, litres, 1 / litres) if name == "gas_volume" else FACTORS
    beside = np.zeros(len(values), dtype=bool)
    beside[jumps] = beside[jumps + 1] = True
    least = SCATTERS * series.scatter(values[~beside])
    at = readings.at
    found: list[_Slip] = []
    for before, last in zip(jumps[:-1].tolist(), jumps[1:].tolist(), strict=True):
        first, after = before + 1, last + 1
        if found and before <= found[-1].last:
            continue
        if not _cannot_fill(trial, at[before], at[after]) and (
            at[first] - at[before] > NEIGHBOURS_WITHIN or at[after] - at[last] > NEIGHBOURS_WITHIN
        ):
            continue
        stretch = values[first : last + 1]
        low, high = sorted((values[before], values[after]))
        if not (stretch.max() < low / STICKS_OUT or stretch.min() > high * STICKS_OUT):
            continue
        course = np.interp(at[first : last + 1], [at[before], at[after]], [values[before], values[after]])
        depth = float(np.median(np.abs(stretch - course)))
        if depth < least or not _comes_back(readings, values, before, after, depth):
            continue
        tolerance = np.maximum(MEANT_WITHIN * np.abs(course), (high - low) / 2)
        fits = [f for f in factors if np.all(np.abs(f * stretch - course) <= tolerance)]
        if fits:
            factor = min(fits, key=lambda f: float(np.abs(f * stretch - course).sum()))
            found.append(_Slip(first, last, factor, float(f"{course[0]:.3g}")))
    return found


def _cannot_fill(trial: Trial, start: float, end: float) -> bool:
    """Return whether no gas can come in from `start` to `end` [s]: of a meter, and of a shut-off holder that burns."""
    gas = trial.sheet.gas
    lit = any(since <= start and end <= until for since, until in trial.burning)
    return gas.kind == "meter" or (gas.kind == "holder" and gas.isolated is True and lit)


def _comes_back(readings: Readings, values: Numbers, before: int, after: int, depth: float) -> bool:
    """Return whether the readings on both sides of a stretch are of one course: no gas was lost between them."""
    at, change = readings.at, abs(float(values[after] - values[before]))
    if change <= COMES_BACK * depth:
        return True
    beside = [(i, i + 1) for i in (before - 1, after) if i >= 0 and i + 1 < len(values) and at[i + 1] > at[i]]
    usual = max((abs(float(values[j] - values[i]) / float(at[j] - at[i])) for i, j in beside), default=0.0)
    return change <= AS_FAST * usual * float(at[after] - at[before])


def _explained(trial: Trial, name: str, readings: Readings, slip: _Slip) -> bool:
    """Return whether a logged refill, or gas that went elsewhere, tells of a content that did go there and back."""
    values = readings.values
    start, end = float(readings.at[slip.first - 1]), float(readings.at[slip.last + 1])
    if any(event.kind == "refill" and start <= event.at <= end for event in trial.events):
        return True
    elsewhere = trial.column("gas_elsewhere")
    if elsewhere is None or trial.sheet.gas.kind != "holder":
        return False
    left = float(elsewhere.values[(elsewhere.at > start) & (elsewhere.at <= end)].sum())
    fall = float(values[slip.first - 1] - values[slip.first]) if name == "gas_volume" else 0.0  # a level is no amount
    return left > abs(fall) / 2

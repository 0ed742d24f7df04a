"""Stretches of temperatures that were probably written in °F or K among readings in °C."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reportgen.checks.marks import Mask, at_reading
from reportgen.message import say
from reportgen.trial import Finding, Numbers, Readings, Trial
from reportgen.units import conversion, in_celsius

#: So many in a row make a stretch, for one alone may be any slip; more at the beginning and end of a column (ours).
FEWEST, FEWEST_AT_END = 2, 3
#: At most this share of a column is such a stretch; else the whole is in doubt [1] (ours).
MOST_OF_COLUMN = 0.5
#: From °C to °F a reading jumps by more than this [K] unless it is colder than -27 °C (ours).
LEAST_JUMP = 10.0
#: Where the unit is undone the course goes on within this [K], or within so many of the steps beside, and then moves by
#: less than this share of the jump [1] (ours).
GOES_ON_WITHIN, GOES_ON_STEPS, SHARE_OF_JUMP = 1.5, 1.5, 0.4
#: What a door or a hand could explain as well has to go on more closely [K], [steps of the scale], and as fast as the
#: steps of so many readings before it (ours).
GOES_ON_CLOSELY, CLOSELY_STEPS, STEPS_BEFORE = 0.75, 2.0, 4
#: Steps beside are taken for as long as this many times their own time [1] (ours).
STEP_REACHES = 2.0
#: Beyond so long between readings a jump may be real [s] (ours).
NEIGHBOURS_WITHIN = 5400.0
#: The course of so long before and after is what a stretch has to be like [s] (ours).
LIKE_WITHIN = 3600.0
#: This far above the warmest that an opened door can make it no cabinet was [K] (ours).
OUT_OF_REACH = 5.0
#: A probe that was taken out reads the air around the cabinet this closely [K], in this share of readings [1] (ours).
LIKE_AIR, MOST_LIKE_AIR = 3.0, 0.8
#: No air that people work in is warmer [degC] (ours).
WARMEST_AIR = 45.0
#: A column with more jumps than this is no course of a temperature; an end is looked for in so many jumps (ours).
MOST_JUMPS, JUMPS_AHEAD = 200, 6

#: What temperatures may have been written in, in place of °C.
OTHER_UNITS = ("°F", "K")


@dataclass(frozen=True)
class _Stretch:
    """Readings `first` to `last`, which look as if they were in `unit`, and what the first is in °C then."""

    first: int
    last: int
    unit: str
    meant: float


def in_other_unit(trial: Trial, name: str, readings: Readings, warmest: float) -> tuple[Mask, list[Finding]]:
    """Return which readings lie in stretches that look like another unit, and one question for each stretch.

    Parameters
    ----------
    readings : Readings
        Of cabinet or ambient temperature [degC], with those that no instrument would read in °C.
    warmest : float
        The warmest [degC] that an opened door can make the cabinet; for ambient, that people can stand.
    """
    mask = np.zeros(len(readings), dtype=bool)
    findings = []
    for stretch in _stretches(trial, name, readings, readings.values.astype(float), warmest):
        mask[stretch.first : stretch.last + 1] = True
        message = say(
            "{column}: rows {first} to {last} ({n} readings from {value} °C to {end} °C) jump from those beside them, "
            "and go on from them at {meant} °C if they are in {unit}: were they written in {unit}?",
            column=name,
            first=int(readings.rows[stretch.first]),
            last=int(readings.rows[stretch.last]),
            value=float(readings.values[stretch.first]),
            end=float(readings.values[stretch.last]),
            meant=round(stretch.meant, 1),
            unit=stretch.unit,
            n=stretch.last - stretch.first + 1,
        )
        effect = say(
            "shown but not used until it is answered; write them in °C, or in a log of their own with the unit in its "
            "header; if they are right, log what was done then, such as door opened"
        )
        findings.append(at_reading("caution", "unit-changes", message, readings, stretch.first, effect))
    return mask, findings


def _stretches(trial: Trial, name: str, readings: Readings, values: Numbers, warmest: float) -> list[_Stretch]:
    jumps = np.flatnonzero(np.abs(np.diff(values)) > LEAST_JUMP).tolist()
    if not jumps or len(jumps) > MOST_JUMPS:
        return []
    end = len(values) - 1
    found: list[_Stretch] = []
    # Each stretch begins after a jump or with the log, and ends before one of the next few jumps or with the log.
    for number, before in enumerate([-1, *jumps]):
        if found and before < found[-1].last:
            continue
        for last in [*jumps[number : number + JUMPS_AHEAD], end]:
            if last <= before:
                continue
            first = before + 1
            is_inside = before >= 0 and last < end
            count = last - first + 1
            if count < (FEWEST if is_inside else FEWEST_AT_END) or count > MOST_OF_COLUMN * len(values):
                continue
            stretch = values[first : last + 1]
            in_reach = bool(stretch.max() <= warmest + OUT_OF_REACH if is_inside else stretch.min() <= warmest)
            if in_reach and (_has_a_cause(trial, name, readings, first, last) or not (is_inside or _is_calm(stretch))):
                continue
            closely = max(GOES_ON_CLOSELY, CLOSELY_STEPS * readings.step) if in_reach else None
            unit = next(
                (unit for unit in OTHER_UNITS if _goes_on(readings.at, values, first, last, unit, closely)),
                None,
            )
            if unit is not None:
                meant = in_celsius(float(values[first]), unit)
                found.append(_Stretch(first, last, unit, meant))
                break
    return found


def _is_calm(values: Numbers) -> bool:
    """Return whether there is no jump within a stretch."""
    return bool(np.all(np.abs(np.diff(values)) <= LEAST_JUMP))


def _goes_on(at: Numbers, values: Numbers, first: int, last: int, unit: str, closely: float | None) -> bool:
    """Return whether a stretch, its unit undone, goes on from what is before it into what is after, and like these.

    `closely` [K] is given where the cabinet may well read what is written, so that less will do for a doubt.
    """
    factor, offset = conversion(unit, "degC")
    near = slice(max(first - STEPS_BEFORE, 0), last + 1 + STEPS_BEFORE)
    undone = values[near].copy()
    inside = slice(first - near.start, last + 1 - near.start)
    undone[inside] = factor * undone[inside] + offset
    sides = [i for i in (first - 1, last) if i >= 0 and i + 1 < len(values)]
    if not all(_is_a_step(at[near], values[near], undone, i - near.start) for i in sides):
        return False
    if closely is not None and not _is_smooth(at[near], undone, inside, closely):
        return False
    reach = max(LIKE_WITHIN, float(at[last] - at[first]))
    start, beyond = np.searchsorted(at, (at[first] - reach, at[last] + reach))
    beside = np.concatenate((values[start:first], values[last + 1 : beyond]))
    lowest, highest = float(undone[inside].min()), float(undone[inside].max())
    # A course that goes down leaves what it was: no reason to doubt an end that nothing but a unit explains.
    if len(sides) < 2 and closely is None:
        return True
    goes_down = last == len(values) - 1 or lowest >= beside.min() - GOES_ON_WITHIN
    return bool(goes_down and highest <= beside.max() + GOES_ON_WITHIN)


def _is_smooth(at: Numbers, undone: Numbers, inside: slice, closely: float) -> bool:
    """Return whether, about both ends of a stretch, the course moves no faster than before it (or after, at the start).

    A probe that is put out and back comes to the air, and back to the cold, in steps that grow smaller.
    """
    time, step = np.diff(at), np.abs(np.diff(undone))
    before = slice(0, inside.start - 1) if inside.start > 1 else slice(inside.stop, None)
    moving = time[before] > 0
    rate = float(np.max(step[before][moving] / time[before][moving], initial=0.0))
    entry, leaving = inside.start - 1, inside.stop - 1
    about = [i for i in (entry, entry + 1, leaving - 1, leaving, leaving + 1) if 0 <= i < len(step)]
    return bool(np.all(step[about] <= np.maximum(closely, GOES_ON_STEPS * rate * time[about])))


def _is_a_step(at: Numbers, values: Numbers, undone: Numbers, i: int) -> bool:
    """Return whether from reading i to the next is no more than a step of the course once the unit is undone."""
    time = float(at[i + 1] - at[i])
    if time > NEIGHBOURS_WITHIN:
        return False
    off, jump = abs(float(undone[i + 1] - undone[i])), abs(float(values[i + 1] - values[i]))
    steps = [
        abs(float(undone[j + 1] - undone[j])) * min(time / float(at[j + 1] - at[j]), STEP_REACHES)
        for j in (i - 1, i + 1)
        if j >= 0 and j + 1 < len(at) and at[j + 1] > at[j]
    ]
    return off <= min(max(GOES_ON_WITHIN, GOES_ON_STEPS * max(steps, default=0.0)), SHARE_OF_JUMP * jump)


def _has_a_cause(trial: Trial, name: str, readings: Readings, first: int, last: int) -> bool:
    """Return whether a stretch that a thermometer may well read has a cause: a logged door, or a probe taken out.

    At the beginning and end of a column, where nobody put a probe back, the air must be known and the burner lit.
    """
    at = readings.at
    start, end = float(at[max(first - 1, 0)]), float(at[min(last + 1, len(at) - 1)])
    if any(event.kind == "door opened" and start <= event.at <= end for event in trial.events):
        return True
    ambient = trial.column("ambient_temperature")
    is_end = first == 0 or last == len(at) - 1
    if is_end and not any(lit <= float(at[first]) and float(at[last]) <= out for lit, out in trial.burning):
        return True
    if name == "ambient_temperature" or ambient is None:
        return is_end
    around = np.interp(at[first : last + 1], ambient.at, ambient.values.astype(float))
    off = np.abs(readings.values[first : last + 1] - around)
    return float(np.quantile(off, MOST_LIKE_AIR)) <= LIKE_AIR

"""Temperatures that were probably written wrongly: there and back, a sign lost, two instruments in one column."""

from __future__ import annotations

import numpy as np

from reportgen.calc import odd_readings, series
from reportgen.checks.marks import Mask, at_reading, rows_named
from reportgen.message import Message, say, say_counted
from reportgen.trial import Finding, Numbers, Readings, Trial
from reportgen.units import in_celsius

#: A reading is there and back beyond this [K], this many times the scatter of its column, and this many steps (ours).
LEAST_SPIKE = {"cabinet_temperature": 3.0, "ambient_temperature": 6.0}
SPIKE_SCATTERS, SPIKE_STEPS = 8.0, 3.0
#: A reading explains itself as a slip where what it should be lies so near to what its neighbours say [K] (ours).
SLIP_WITHIN = 0.5
#: A cabinet warms this far above its surroundings through no door [K] (ours).
ABOVE_SURROUNDINGS = 3.0
#: Beyond so long between neighbours a rise and fall may be real [s] (ours).
NEIGHBOURS_WITHIN = 5400.0
#: An opened door lets a single reading rise where it and its neighbours are this near [s] (domain practice; ours).
DOOR_WITHIN = 1800.0
#: More spikes than this share of a column are no slips but how it is [1] (ours).
MOST_SPIKES = 0.05
#: Readings of one instant that differ by more than this are not of one thing [K]; if they are most of the column, it
#: holds two probes (ours).
SAME_INSTANT = 2.0
#: Two instruments by turns differ by at least this [K], and this many steps (ours).
LEAST_APART, APART_STEPS = 1.0, 3.0
#: So many readings tell whether two instruments take turns (ours).
MOST_TOLD = 10_000


def spikes(trial: Trial, name: str, readings: Readings) -> tuple[Mask, list[Finding]]:
    """Return which readings stand alone there and back, and the finding that asks for them.

    A rise of the cabinet that an opened door explains is left to the search for those.
    """
    mask = np.zeros(len(readings), dtype=bool)
    values = readings.values.astype(float)
    least = max(LEAST_SPIKE[name], SPIKE_SCATTERS * series.scatter(values), SPIKE_STEPS * readings.step)
    doors = np.array([event.at for event in trial.events if event.kind == "door opened"])
    meant: dict[int, Message | None] = {}
    candidates = odd_readings.there_and_back(values, least)
    if len(candidates) > max(MOST_SPIKES * len(readings), 2):
        return mask, []
    hottest = warmest(trial, name, values)
    for i in candidates.tolist():
        before, here, after = (float(at) for at in readings.at[i - 1 : i + 2])
        if after - before > NEIGHBOURS_WITHIN or np.any((doors >= before) & (doors <= after)):
            continue
        share = (here - before) / (after - before) if after > before else 0.5
        expected = float(values[i - 1] + share * (values[i + 1] - values[i - 1]))
        within = max(SLIP_WITHIN, readings.step, abs(float(values[i + 1] - values[i - 1])) / 2)
        meant[i] = _meant(float(values[i]), readings.step, expected, within)
        by_door = name == "cabinet_temperature" and expected < values[i] <= hottest and after - before <= DOOR_WITHIN
        if by_door and meant[i] is None:
            del meant[i]
    if not meant:
        return mask, []
    found = np.array(list(meant))
    mask[found] = True
    first = int(found[0])
    message = say_counted(
        len(found),
        "{column}: {value} °C stands alone between {before} °C and {after} °C",
        "{column}: {n} readings (rows {rows}) stand alone, such as {value} °C between {before} °C and {after} °C",
        column=name,
        rows=rows_named(readings, found),
        value=float(values[first]),
        before=float(values[first - 1]),
        after=float(values[first + 1]),
    )
    suggestion = next((text for text in meant.values() if text is not None), None)
    if suggestion is not None:
        message = say("{what}; {meant}", what=message, meant=suggestion)
    effect = say("kept and marked, but left out of fitted curves and slopes; correct the log if it is a slip")
    return mask, [at_reading("caution", "stands-alone", message, readings, first, effect)]


def warmest(trial: Trial, name: str, values: Numbers) -> float:
    """Return the warmest [degC] that an opened door can make the cabinet."""
    ambient = trial.column("ambient_temperature")
    if name == "cabinet_temperature" and ambient is not None:
        return float(np.median(ambient.values)) + ABOVE_SURROUNDINGS
    return float(np.median(values[:3])) + ABOVE_SURROUNDINGS


def _meant(value: float, step: float, expected: float, within: float) -> Message | None:
    """Return what a reading was probably meant to be, if a common slip of the pen leads to what is expected."""
    if abs(-value - expected) <= within:
        return say("is the sign of {value} wrong?", value=value)
    swapped = odd_readings.swapped_digits(value, step, expected, within)
    if swapped is not None:
        return say("is {value} meant as {other}?", value=value, other=swapped)
    for other in (value / 10, value * 10):
        if abs(other - expected) <= within:
            return say("is the decimal mark of {value} wrong?", value=value)
    if abs(in_celsius(value, "°F") - expected) <= within:
        return say("is {value} in °F?", value=value)
    return None


def lost_sign(trial: Trial, readings: Readings, values: Numbers) -> tuple[Mask, list[Finding]]:
    """Return which readings look as if their minus sign was left out while the burner was lit, and the question."""
    mask = np.zeros(len(readings), dtype=bool)
    if float(values.min()) < 0:
        return mask, []
    for lit, out in trial.burning:
        inside = np.flatnonzero((readings.at >= lit) & (readings.at <= out))
        if not len(inside):
            continue
        at, read = readings.at[inside], values[inside]
        tolerance = max(readings.step, 2 * series.scatter(read))
        turn = odd_readings.turn_at_zero(at, read, tolerance)
        if turn is None:
            continue
        positive = inside[(at > turn) & (read > 0)]
        mask[positive] = True
        message = say(
            "cabinet_temperature falls to {low} °C and rises again to {end} °C with the burner lit, and no reading is "
            "below zero: was the minus sign left out from row {row} on?",
            low=float(read.min()),
            end=float(read[-1]),
            row=int(readings.rows[positive[0]]),
        )
        effect = say(
            "read as written, so 0 °C and what is colder is not reached; those readings are left out of fitted "
            "curves; write the sign if it is missing"
        )
        return mask, [at_reading("caution", "sign-left-out", message, readings, int(positive[0]), effect)]
    return mask, []


def two_in_one(name: str, readings: Readings, values: Numbers) -> list[Finding]:
    """Return the caution that a column holds two instruments by turns."""
    apart = odd_readings.alternates(values[:MOST_TOLD], max(LEAST_APART, APART_STEPS * readings.step))
    if apart is None:
        return []
    message = say(
        "{column} jumps by {apart} K and back from reading to reading: are two thermometers written into one column?",
        column=name,
        apart=apart,
    )
    effect = say("figures are those of the two mixed; give each its own column, and leave one out under [columns]")
    return [at_reading("caution", "two-in-one", message, readings, 0, effect)]


def same_instant(name: str, readings: Readings, values: Numbers) -> tuple[Mask, list[Finding]]:
    """Return which readings differ from another of the same instant, unless the whole column is like that."""
    mask = np.zeros(len(readings), dtype=bool)
    pairs = np.flatnonzero((np.diff(readings.at) == 0) & (np.abs(np.diff(values)) > SAME_INSTANT))
    if not len(pairs) or len(pairs) > len(readings) / 4:
        return mask, []
    mask[pairs] = mask[pairs + 1] = True
    message = say_counted(
        len(pairs),
        "{column}: two readings of one time differ by more than {limit} K (row {rows})",
        "{column}: {n} times have two readings that differ by more than {limit} K (rows {rows})",
        column=name,
        limit=SAME_INSTANT,
        rows=rows_named(readings, pairs),
    )
    effect = say("the mean of both stands for that time, and both are left out of fitted curves; delete the wrong one")
    return mask, [at_reading("caution", "one-time-two-values", message, readings, int(pairs[0]), effect)]

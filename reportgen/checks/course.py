"""The course of the cabinet temperature: doors opened, readings that stand still, gaps, digits that heap."""

from __future__ import annotations

import numpy as np

from reportgen.calc import odd_readings, series
from reportgen.checks.marks import Mask, at_reading, rows_named
from reportgen.message import say, say_counted
from reportgen.trial import Finding, Numbers, Readings, Trial

#: A door lets the cabinet rise by so much [K], within so long, and it is back within so long [s] (ours).
DOOR_RISE, DOOR_OPENS, DOOR_BACK = 2.0, 900.0, 1800.0
#: Beyond so many times the scatter of the readings, and so many steps (ours).
DOOR_SCATTERS, DOOR_STEPS = 8.0, 2.5
#: More rises than this in an hour that no opening and no look at the ice explains are no doors, but a thermostat or a
#: defroster [1/h]; so few are never (ours).
MOST_DOORS, FEW_DOORS = 1.0, 3
#: Equal readings stand still if there are so many over more than so long [s] (ours).
STILL_READINGS, STILL_FOR = 5, 7200.0
#: A thermometer moves of itself where its readings scatter by more than this share of its step (ours); rounding alone
#: makes a course that moves seem to scatter by 0.6 of it.
MOVES_OF_ITSELF = 0.7
#: Where both readings beside a stretch are as near to it as this [K], it is come to slowly; readings as near as that to
#: it tell whether they scatter there [K], if there are so many (ours).
COMES_SLOWLY, NEAR_PLATEAU, FEWEST_NEAR = 1.0, 2.0, 24
#: A scatter is seen only where readings are as near as this [s] (ours).
SCATTER_WITHIN = 300.0
#: Readings that use all digits do not keep to a coarser step in this share of cases; fewest readings that tell (ours).
HEAPED_SHARE, HEAPED_READINGS = 0.7, 20


def doors(trial: Trial, readings: Readings, values: Numbers) -> tuple[Mask, list[Finding]]:
    """Return the readings while the door was open or the cold came back, and the finding that lists these times."""
    mask = np.zeros(len(readings), dtype=bool)
    at = readings.at
    # Within one span with the burner lit: where the flame was out the cabinet warms by itself.
    found = []
    for lit, out in trial.burning:
        span = slice(*np.searchsorted(at, (lit, out)))
        least = max(DOOR_RISE, DOOR_SCATTERS * series.scatter(values[span]), DOOR_STEPS * readings.step)
        found += odd_readings.bumps(at[span], values[span], least, DOOR_OPENS, DOOR_BACK)
    if not found:
        return mask, []
    hours = sum(out - lit for lit, out in trial.burning) / 3600
    opened = [event.at for event in trial.events if event.kind == "door opened"] + [look.at for look in trial.looks]
    peaks = []
    for bump in found:
        first = int(np.searchsorted(at, bump.start, side="right"))
        last = max(int(np.searchsorted(at, bump.end, side="left")), first + 1)
        mask[first:last] = True
        peaks.append(first + int(np.argmax(values[first:last])))
    logged = sum(any(bump.start - DOOR_OPENS <= at <= bump.end for at in opened) for bump in found)
    message = say_counted(
        len(found),
        "the cabinet rose by {rise} K and was back soon (row {rows}); openings or looks at the ice logged then: "
        "{logged}",
        "the cabinet rose by up to {rise} K and was back soon {n} times (rows {rows}); openings or looks at the "
        "ice logged then: {logged}",
        rise=round(max(bump.height for bump in found), 1),
        rows=rows_named(readings, peaks),
        logged=logged,
    )
    effect = say("as an opened door does; kept and marked, but left out of fitted curves and slopes")
    if len(found) - logged > max(MOST_DOORS * hours, FEW_DOORS):
        mask[:] = False
        effect = say("so often it is rather a thermostat or a defroster; the readings are used as they are")
    return mask, [at_reading("note", "door-openings", message, readings, peaks[0], effect)]


def stands_still(trial: Trial, readings: Readings, values: Numbers) -> tuple[Mask, list[Finding]]:
    """Return readings that repeat their value too long with the burner lit, and the question whether they are real."""
    mask = np.zeros(len(readings), dtype=bool)
    dense = len(readings) > 1 and float(np.median(np.diff(readings.at))) <= SCATTER_WITHIN
    stuck = []
    for first, last in odd_readings.identical_runs(readings.at, values, STILL_READINGS, STILL_FOR):
        lit = any(on <= readings.at[first] and readings.at[last] <= out for on, out in trial.burning)
        others = np.concatenate((values[:first], values[last + 1 :]))
        # A plateau is come to slowly, and there the bend of the course before it is no scatter.
        sides = np.abs(np.concatenate((values[:first][-1:], values[last + 1 :][:1])) - values[first])
        if sides.size and sides.max() <= COMES_SLOWLY:
            others = others[np.abs(others - values[first]) <= NEAR_PLATEAU]
            if len(others) < FEWEST_NEAR:
                continue
        # A coarse scale stands still by itself on a plateau; one whose readings scatter does not.
        if lit and dense and series.scatter(others) > MOVES_OF_ITSELF * readings.step > 0:
            stuck.append((first, last))
            mask[first + 1 : last + 1] = True
    if not stuck:
        return mask, []
    first, last = stuck[0]
    message = say_counted(
        len(stuck),
        "cabinet_temperature stays at exactly {value} °C for {hours} h (rows {first} to {last}) with the burner lit, "
        "though its readings scatter else",
        "cabinet_temperature stands exactly still {n} times with the burner lit, though its readings scatter else, "
        "first at {value} °C for {hours} h (rows {first} to {last})",
        value=float(values[first]),
        hours=round(float(readings.at[last] - readings.at[first]) / 3600, 1),
        first=int(readings.rows[first]),
        last=int(readings.rows[last]),
    )
    effect = say("stuck or copied? kept and marked, but left out of fitted curves and slopes")
    return mask, [at_reading("caution", "stands-still", message, readings, first, effect)]


def gaps(trial: Trial, name: str, readings: Readings) -> list[Finding]:
    """Return the note that lists the gaps of a column while the burner was lit."""
    if not trial.burning:
        return []
    start, end = trial.burning[0][0], trial.burning[-1][1]
    run = readings.between(start, end)
    found = series.gaps(run.at)
    if not len(found):
        return []
    lengths = (run.at[found + 1] - run.at[found]) / 60
    message = say_counted(
        len(found),
        "{column}: no reading for {longest} min after row {rows}",
        "{column}: {n} gaps with the burner lit, the longest of {longest} min (after rows {rows})",
        column=name,
        longest=round(float(lengths.max())),
        rows=rows_named(run, found),
    )
    effect = say("the line of the chart is broken there, and what happened in a gap is given as limits or not at all")
    return [at_reading("note", "gap", message, run, int(found[0]), effect)]


def heaping(name: str, readings: Readings, values: Numbers) -> tuple[float, list[Finding]]:
    """Return the step that readings keep to though more digits are written, and the note that says so."""
    step = odd_readings.heaped_step(values[:100_000], readings.step, HEAPED_SHARE, HEAPED_READINGS)
    if step == readings.step:
        return step, []
    message = say(
        "{column}: most readings keep to {step} K, though written to {fine} K",
        column=name,
        step=step,
        fine=readings.step,
    )
    effect = say("taken as read to the nearest {step} K where no resolution is stated", step=step)
    return step, [at_reading("note", "heaped-digits", message, readings, 0, effect)]

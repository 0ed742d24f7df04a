"""Checks of the gas readings as a whole: slips of the unit, which way they go, jumps of a thousand that stay.

Refills, leaks, the breathing of an idle holder, and readings out of line for no reason that can be told, are told where
the gas is accounted for.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reportgen.checks.gas_slips import gas_slips, step_without
from reportgen.checks.marks import Checked, Mask, at_reading, rows_named
from reportgen.message import say, say_counted
from reportgen.trial import Finding, Numbers, Readings, Trial

#: A change of a gas reading counts beyond so many steps of its scale (ours).
MOVES_STEPS = 2.0
#: So many changes, nearly all in one direction, show what a column means (ours).
FEWEST_MOVES, ONE_WAY = 3, 0.8
#: Two readings in a row whose ratio is a thousand within this share are of two units (ours).
THOUSAND_WITHIN = 0.1


def check_gas(trial: Trial) -> tuple[dict[str, Checked], list[Finding]]:
    """Return gas volumes and levels with their flags, and what the checks found."""
    kind = trial.sheet.gas.kind
    flagged: dict[str, Checked] = {}
    findings: list[Finding] = []
    for name in ("gas_volume", "gas_level"):
        readings = trial.column(name)
        if readings is None:
            continue
        aside, slips = gas_slips(trial, name, readings)
        rest = replace(readings.where(~aside), step=step_without(readings, aside)) if slips else readings
        values = rest.values.astype(float, copy=False)
        doubted, jumps = _thousands(name, rest, values)
        findings += [*slips, *jumps]
        if not jumps and kind in ("holder", "meter"):
            findings += _direction(trial, name, rest, values)
        flagged[name] = Checked.of(rest, doubted, readings.where(aside))
    return flagged, findings


def _thousands(name: str, readings: Readings, values: Numbers) -> tuple[Mask, list[Finding]]:
    """Return the readings of the rarer unit where a column jumps by a factor of a thousand."""
    mask = np.zeros(len(readings), dtype=bool)
    if len(values) < 2:
        return mask, []
    before, after = np.abs(values[:-1]), np.abs(values[1:])
    small, large = np.minimum(before, after), np.maximum(before, after)
    jumps = np.flatnonzero(
        (small > 0) & (large >= 1000 * (1 - THOUSAND_WITHIN) * small) & (large <= 1000 * (1 + THOUSAND_WITHIN) * small)
    )
    if not len(jumps):
        return mask, []
    between = float(np.sqrt(small[jumps[0]] * large[jumps[0]]))
    above = np.abs(values) > between
    mask = above if np.count_nonzero(above) <= len(values) / 2 else ~above
    odd = np.flatnonzero(mask)
    i = int(jumps[0])
    message = say_counted(
        len(odd),
        "{column} goes from {before} to {after}, a factor of 1000: is row {rows} in another unit?",
        "{column} goes from {before} to {after}, a factor of 1000: are {n} readings (rows {rows}) in another unit?",
        column=name,
        before=float(values[i]),
        after=float(values[i + 1]),
        rows=rows_named(readings, odd),
    )
    effect = say("used as written, so the gas used is wrong if they are; write the whole column in one unit")
    return mask, [at_reading("caution", "factor-of-thousand", message, readings, i + 1, effect)]


def _direction(trial: Trial, name: str, readings: Readings, values: Numbers) -> list[Finding]:
    """Return the question what a column means where, with the burner lit, it goes the wrong way for its kind."""
    kind = trial.sheet.gas.kind
    sign = 1.0
    if name == "gas_level" and trial.sheet.gas.level_table is not None:
        sign = float(np.sign(trial.sheet.gas.level_table[-1][1] - trial.sheet.gas.level_table[0][1]))
    ups = downs = 0
    for lit, out in trial.burning:
        step = sign * np.diff(values[(readings.at >= lit) & (readings.at <= out)])
        ups += int(np.count_nonzero(step > MOVES_STEPS * readings.step))
        downs += int(np.count_nonzero(step < -MOVES_STEPS * readings.step))
    wrong, right = (ups, downs) if kind == "holder" else (downs, ups)
    if wrong < FEWEST_MOVES or wrong < ONE_WAY * (wrong + right):
        return []
    message = (
        say(
            "{column} rises with the burner lit, where the content of a holder falls: does it show the gas used, or "
            "the water that takes its place (gas.kind meter), or was the holder open to the digester?",
            column=name,
        )
        if kind == "holder"
        else say(
            "{column} falls with the burner lit, where the total of a meter rises: is it the content of a holder "
            "(gas.kind holder)?",
            column=name,
        )
    )
    if kind == "holder" and trial.sheet.gas.isolated is False:
        return []
    effect = say("read as {kind}, as gas.kind says; the gas used is wrong if it is not", kind=kind)
    return [at_reading("caution", "gas-direction", message, readings, 0, effect)]

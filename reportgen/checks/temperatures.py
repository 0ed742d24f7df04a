"""All checks of the temperatures of a trial, with the flags that come of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from reportgen.checks import course, slips
from reportgen.checks.marks import Checked, Mask, at_reading, joined, not_possible
from reportgen.checks.unit_stretches import WARMEST_AIR, in_other_unit
from reportgen.message import say
from reportgen.trial import BAD, NOT_EVALUATED, Finding, Numbers, Readings, Trial
from reportgen.units import in_celsius

#: The columns that are checked here.
CHECKED = ("cabinet_temperature", "ambient_temperature")

#: A cabinet that is warmer than this at lighting is more likely written in °F [degC] (ours).
WARMEST_LIKELY = 45.0
#: The same instrument in the same unit reads the cabinet and the air around it this near before lighting [K] (ours).
LIKE_AMBIENT = 6.0


def check_temperatures(trial: Trial) -> tuple[dict[str, Checked], list[Finding]]:
    """Return cabinet and ambient readings with their flags, and what the checks found.

    Which readings are not possible is said anew here: those of a stretch in °F or K are explained.
    """
    checked: dict[str, Checked] = {}
    findings: list[Finding] = []
    for name in CHECKED:
        readings = trial.column(name)
        impossible = _impossible(trial, name)
        if readings is None:
            findings += not_possible(name, impossible, np.arange(len(impossible))) if impossible is not None else []
            continue
        everything, other_unit, found = _in_other_unit(trial, name, readings, impossible)
        findings += found
        was_used = everything.flag != BAD
        aside = everything.where(other_unit & was_used)
        if other_unit.any():
            readings = everything.where(~other_unit & was_used)
        values = readings.values.astype(float, copy=False)
        step, heaped = course.heaping(name, readings, values)
        readings = replace(readings, step=step)
        mixed = slips.two_in_one(name, readings, values)
        doubted, found = slips.same_instant(name, readings, values)
        findings += [*heaped, *mixed, *found]
        if not mixed:  # where every second reading is another's, nothing else can be told
            alone, found = slips.spikes(trial, name, readings)
            doubted |= alone
            findings += found
        if name == "cabinet_temperature":
            if not mixed:
                where = np.flatnonzero(~doubted) if doubted.any() else slice(None)
                rest = readings.where(~doubted) if doubted.any() else readings
                for check in (course.doors, course.stands_still, slips.lost_sign):
                    mask, found = check(trial, rest, values[where])
                    doubted[where] |= mask
                    findings += found
            # What is set aside was read, and has its own finding.
            read = everything.where(other_unit | was_used) if other_unit.any() else readings
            findings += [*course.gaps(trial, name, read), *_in_fahrenheit(trial, readings, values)]
        checked[name] = Checked.of(readings, doubted, aside)
    return checked, findings


def _impossible(trial: Trial, name: str) -> Readings | None:
    """Return the readings of a column that no instrument of a trial reads, without the error codes of a sensor."""
    left_out = trial.excluded.get(name)
    if left_out is None or left_out.flag is None:
        return None
    return left_out.where(left_out.flag == BAD)


def _in_other_unit(
    trial: Trial, name: str, readings: Readings, impossible: Readings | None
) -> tuple[Readings, Mask, list[Finding]]:
    """Return possible and impossible readings, which lie in stretches of another unit, and what to say of these."""
    everything = replace(readings, flag=np.full(len(readings), NOT_EVALUATED, dtype=np.int8))
    if impossible is not None:
        everything = joined(everything, impossible)
    assert everything.flag is not None
    warmest = min(slips.warmest(trial, name, readings.values.astype(float)), WARMEST_AIR)
    mask, findings = in_other_unit(trial, name, everything, warmest)
    is_impossible = everything.flag == BAD
    findings += not_possible(name, everything, np.flatnonzero(is_impossible & ~mask))
    return everything, mask, findings


def _in_fahrenheit(trial: Trial, readings: Readings, values: Numbers) -> Iterator[Finding]:
    """Yield the question whether a cabinet is in °F: hot at lighting, cooling, and like the ambient if it were."""
    if trial.lit_at is None or any(finding.code == "unit-in-doubt" for finding in trial.findings):
        return
    start = max(int(np.searchsorted(readings.at, trial.lit_at, side="right")) - 1, 0)
    first = float(values[start])
    if first <= WARMEST_LIKELY or float(values[start:].min()) >= first:
        return
    ambient = trial.column("ambient_temperature")
    if ambient is None or abs(in_celsius(first, "°F") - float(np.median(ambient.values))) > LIKE_AMBIENT:
        return
    message = say("cabinet_temperature is {first} at lighting, in °C by its header: is it in °F?", first=first)
    effect = say("read as °C; if not, every temperature, time and rate of the cabinet is wrong")
    yield at_reading("caution", "unit-in-doubt", message, readings, start, effect)

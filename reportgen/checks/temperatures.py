"""All checks of the temperatures of a trial, with the flags that come of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from reportgen.checks import course, slips
from reportgen.checks.marks import at_reading, with_flags
from reportgen.message import say
from reportgen.trial import Finding, Numbers, Readings, Trial

#: A cabinet that is warmer than this at lighting is more likely written in °F [degC] (ours).
WARMEST_LIKELY = 45.0
#: The same instrument in the same unit reads the cabinet and the air around it this near before lighting [K] (ours).
LIKE_AMBIENT = 6.0


def check_temperatures(trial: Trial) -> tuple[dict[str, Readings], list[Finding]]:
    """Return cabinet and ambient readings with their flags, and what the checks found."""
    flagged: dict[str, Readings] = {}
    findings: list[Finding] = []
    for name in ("cabinet_temperature", "ambient_temperature"):
        readings = trial.column(name)
        if readings is None:
            continue
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
            findings += [*course.gaps(trial, name, readings), *_in_fahrenheit(trial, readings, values)]
        flagged[name] = with_flags(readings, doubted)
    return flagged, findings


def _in_fahrenheit(trial: Trial, readings: Readings, values: Numbers) -> Iterator[Finding]:
    """Yield the question whether a cabinet is in °F: hot at lighting, cooling, and like the ambient if it were."""
    if trial.lit_at is None or any(finding.code == "unit-in-doubt" for finding in trial.findings):
        return
    start = max(int(np.searchsorted(readings.at, trial.lit_at, side="right")) - 1, 0)
    first = float(values[start])
    if first <= WARMEST_LIKELY or float(values[start:].min()) >= first:
        return
    ambient = trial.column("ambient_temperature")
    if ambient is None or abs((first - 32) / 1.8 - float(np.median(ambient.values))) > LIKE_AMBIENT:
        return
    message = say("cabinet_temperature is {first} at lighting, in °C by its header: is it in °F?", first=first)
    effect = say("read as °C; if not, every temperature, time and rate of the cabinet is wrong")
    yield at_reading("caution", "unit-in-doubt", message, readings, start, effect)

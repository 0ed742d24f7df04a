"""Freezing as a probe in the water shows it: its start and end, and how far the water was supercooled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reportgen.calc import series, uncertainty
from reportgen.calc.freezing import BAND, BRIEF, LEAST_HOURS, LEFT, Plateau, find_plateau, steadied
from reportgen.figures.cabinet_log import HOUR, THERMOMETER_LIMITS
from reportgen.figures.figure import Assumption, Figure, given, not_given
from reportgen.message import NOTHING, Message, say
from reportgen.trial import Finding, Numbers, Readings, Trial

#: A plateau read so far from 0 °C tells of the probe [K] (ours).
PROBE_OFF = 0.5


@dataclass(frozen=True)
class _Probe:
    """The readings with the water in: their hours from lighting, running medians of so many [degC], and their blur.

    `blur` [K] is how far from the plateau's level a reading may lie that is still on it.
    """

    readings: Readings
    hours: Numbers
    values: Numbers
    medians_of: int
    blur: float

    def at(self, *indices: int) -> Readings:
        chosen = np.zeros(len(self.hours), dtype=bool)
        chosen[list(indices)] = True
        return self.readings.where(chosen)


def probe_figures(trial: Trial) -> tuple[list[Figure], tuple[Finding, ...]]:
    """Return start and end of freezing and the supercooling, and what the plateau tells of the probe."""
    keys = ("freezing_start", "freezing_end", "supercooling")
    probe = _probe(trial)
    if isinstance(probe, Message):
        return [not_given(key, probe) for key in keys], ()
    # A probe whose accuracy nobody stated is taken to be right to 1 K, so the plateau may lie that far from 0 °C; it is
    # looked for there, but is no wider for it: a band of 1.5 K would take slow cooling past 0 °C for freezing.
    plateau = find_plateau(probe.hours, probe.values, THERMOMETER_LIMITS)
    if plateau is None:
        return [not_given(key, _no_plateau(probe), inputs=[probe.readings]) for key in keys], ()
    taken = Assumption(
        "freezing plateau",
        say("water freezes where the probe stood still, at {level} °C on its scale", level=plateau.level),
        say("clean water freezes at 0 °C, and the accuracy of the probe is not recorded"),
        of_value=False,
    )
    findings: tuple[Finding, ...] = ()
    if abs(plateau.level) > PROBE_OFF:
        used = probe.readings
        findings = (
            Finding(
                "note",
                "probe-off-at-freezing",
                say("the probe in the water read {level} °C while the water froze", level=plateau.level),
                used.files[int(used.file_index[plateau.first])],
                int(used.rows[plateau.first]),
                say("clean water freezes at 0 °C: the probe is off by as much, or the water was not clean"),
            ),
        )
    figures = [_start(probe, plateau, taken), _end(probe, plateau, taken), _supercooling(probe, plateau, taken)]
    return figures, findings


def _probe(trial: Trial) -> _Probe | Message:
    readings = trial.column("water_temperature")
    if readings is None:
        return say("no probe in the water is logged (column water_temperature); one in the air cannot show freezing")
    if trial.lit_at is None or not trial.burning:
        return trial.no_lighting
    if trial.placed_at is None:
        return say("when the water was put in is not recorded (water.placed, or the event “water placed”)")
    used = readings.between(trial.placed_at, trial.burning[-1][1])
    if len(used) < 2:
        return say("the water was read {n} times between putting it in and the end of burning", n=len(used))
    # Of several readings at one instant the first is taken: always that of the same probe.
    first = np.zeros(len(used), dtype=bool)
    first[np.unique(used.at, return_index=True)[1]] = True
    used = used.where(first)
    hours = (used.at - trial.lit_at) / HOUR
    values = used.values.astype(float)
    steady, medians_of = steadied(hours, values)
    # Readings far apart show the curve between them, not their scatter.
    scatter = series.scatter(values) if medians_of > 1 else 0.0
    return _Probe(used, hours, steady, medians_of, max(BAND, used.step + 2 * scatter))


def _no_plateau(probe: _Probe) -> Message:
    lowest = float(probe.values.min())
    if lowest > THERMOMETER_LIMITS + BAND:
        return say("the water did not come to 0 °C: the lowest reading is {t} °C", t=lowest)
    return say(
        "the probe in the water did not stand still near 0 °C for {minutes} min or more, within {band} K",
        minutes=round(60 * LEAST_HOURS),
        band=BAND,
    )


def _start(probe: _Probe, plateau: Plateau, taken: Assumption) -> Figure:
    key = "freezing_start"
    begins = float(probe.hours[plateau.first])
    if plateau.lowest is not None:
        low, high = float(probe.hours[plateau.lowest]), begins
        working = say(
            "supercooled to {t} °C at {low} h, back at {level} °C at {high} h: freezing began between the two, middle "
            "{middle} h{medians}",
            t=float(probe.values[plateau.lowest]),
            low=low,
            level=plateau.level,
            high=high,
            middle=(low + high) / 2,
            medians=_medians(probe),
        )
        return _between(key, low, high, working, probe.at(plateau.lowest, plateau.first), taken)
    if plateau.above is None or plateau.fall is None:
        return not_given(
            key,
            say(
                "at {level} °C already at the first reading with the water in, at {t} h", level=plateau.level, t=begins
            ),
            at_most=begins,
            inputs=[probe.at(plateau.first)],
        )
    # A reading that just came into the band may still be above the level, and where the fall bends onto the plateau is
    # blurred: the fall carried on to as far below the level is the latest.
    above = float(probe.values[plateau.above])
    low = float(probe.hours[plateau.above])
    high = max(begins, low + (above - plateau.level + probe.blur) / plateau.fall)
    working = say(
        "{above} °C at {low} h, falling at {fall} K/h, which carried on is {blur} K below the plateau ({level} °C) at "
        "{carried} h; on it from {begins} h: freezing began between {low} h and {high} h, middle {middle} h{medians}",
        above=above,
        low=low,
        fall=plateau.fall,
        blur=probe.blur,
        level=plateau.level,
        carried=low + (above - plateau.level + probe.blur) / plateau.fall,
        begins=begins,
        high=high,
        middle=(low + high) / 2,
        medians=_medians(probe),
    )
    return _between(key, low, high, working, probe.at(plateau.above, plateau.first), taken)


def _end(probe: _Probe, plateau: Plateau, taken: Assumption) -> Figure:
    key = "freezing_end"
    last = float(probe.hours[plateau.last])
    if plateau.left is None:
        return not_given(
            key,
            say("the probe was still within {left} K of the plateau at its last reading", left=LEFT),
            at_least=last,
            inputs=[probe.at(plateau.last)],
        )
    around = probe.at(plateau.last, plateau.last + 1, plateau.left)
    if probe.values[plateau.left] > plateau.level:
        return not_given(
            key, say("the probe rose from the plateau instead of falling: the water thawed"), inputs=[around]
        )
    if plateau.returned is not None:
        return not_given(
            key,
            say("the probe fell from the plateau and came back to it at {t} h", t=float(probe.hours[plateau.returned])),
            at_least=last,
            inputs=[probe.at(plateau.last, plateau.left, plateau.returned)],
        )
    # By the time the probe is half a kelvin below, it has been falling for a while; where that began is blurred, so the
    # fall is carried back to as far above the level, but not beyond the plateau's first reading.
    below, off = float(probe.values[plateau.left]), float(probe.hours[plateau.left])
    fall = (float(probe.values[plateau.last]) - below) / (off - last)
    carried = off - (plateau.level + probe.blur - below) / fall
    low = min(max(carried, float(probe.hours[plateau.first])), last)
    high = float(probe.hours[plateau.last + 1])
    working = say(
        "within {band} K of the plateau ({level} °C) until {last} h and never after; {below} °C at {off} h, so falling "
        "at {fall} K/h, which carried back is {blur} K above the plateau at {carried} h: frozen between {low} h and "
        "{high} h, middle {middle} h{medians}",
        band=BAND,
        level=plateau.level,
        last=last,
        below=below,
        off=off,
        fall=fall,
        blur=probe.blur,
        carried=carried,
        low=low,
        high=high,
        middle=(low + high) / 2,
        medians=_medians(probe),
    )
    return _between(key, low, high, working, around, taken)


def _supercooling(probe: _Probe, plateau: Plateau, taken: Assumption) -> Figure:
    key = "supercooling"
    if plateau.lowest is None or plateau.dip_from is None:
        if plateau.above is None:
            return not_given(key, say("the probe was on the plateau when the readings begin"))
        return not_given(
            key,
            say(
                "no reading before the plateau is more than {band} K below it; dips of under "
                "{minutes} min are not seen",
                band=BAND,
                minutes=round(60 * BRIEF),
            ),
            inputs=[probe.at(plateau.above, plateau.first)],
        )
    deepest, fell_from = float(probe.values[plateau.lowest]), float(probe.values[plateau.dip_from])
    seen = plateau.level - deepest
    hours = float(probe.hours[plateau.lowest] - probe.hours[plateau.dip_from])
    unseen = (fell_from - deepest) / hours * float(probe.hours[plateau.first] - probe.hours[plateau.lowest])
    # The probe's own error is in both readings and drops out; each is read to its step.
    scale = uncertainty.estimate(0.0, 2**0.5 * uncertainty.rounding(probe.readings.step), "water probe readings")
    working = say(
        "plateau at {level} °C − lowest reading {t} °C = {seen} K; falling on like that until the next reading "
        "it would be {most} K; middle {middle} K{medians}",
        level=plateau.level,
        t=deepest,
        seen=seen,
        most=seen + unseen,
        middle=seen + unseen / 2,
        medians=_medians(probe),
    )
    return given(
        key,
        seen + unseen / 2 + scale,
        inputs=[probe.at(plateau.lowest, plateau.first)],
        working=working,
        ends=(seen + scale, seen + unseen + scale),
        assumptions=[taken],
    )


def _medians(probe: _Probe) -> Message:
    """Return what was done to close readings, for the end of a working."""
    return say(" (running medians of {n} readings)", n=probe.medians_of) if probe.medians_of > 1 else NOTHING


def _between(key: str, low: float, high: float, working: Message, inputs: Readings, taken: Assumption) -> Figure:
    """Return a time [h] known to lie between two readings."""
    middle, *ends = (uncertainty.estimate(t, 0.0, "water probe readings") for t in ((low + high) / 2, low, high))
    return given(key, middle, inputs=[inputs], working=working, ends=(ends[0], ends[1]), assumptions=[taken])

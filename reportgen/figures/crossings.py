"""When the cabinet crossed a threshold, and how long it held below 0 °C."""

from __future__ import annotations

import math

import numpy as np

from reportgen.calc import response, series, uncertainty
from reportgen.figures.cabinet_log import Cabinet
from reportgen.figures.figure import LIMITS, SIMULATED, Figure, given, not_given
from reportgen.message import Message, say
from reportgen.trial import Numbers, Readings, Trial

#: Freezing, and the temperatures of frozen compartments of one, two and three stars [degC] (Regulation (EU) 2019/2016).
THRESHOLDS = {"time_to_0": 0.0, "time_to_minus_6": -6.0, "time_to_minus_12": -12.0, "time_to_minus_18": -18.0}
#: A crossing holds if the reading this long after it is not above either [h] (the results format says so).
HOLDS_FOR = 5 / 60
#: Half of the window that gives the slope at a crossing [h] (ours).
SLOPE_WINDOW = 0.25
#: Two readings must differ by so many steps of the scale to tell a slope (ours).
SLOPE_STEPS = 5
#: Less than any thermometer resolves: what is higher than this is above 0 °C [K].
ABOVE_ZERO = 1e-6


def crossing_figure(
    cabinet: Cabinet, key: str, threshold: float, start: Figure, fitted: response.Response | None
) -> Figure:
    """Return when the cabinet first crossed a threshold for good, or why that is not known.

    Where a first-order response describes the readings, the interval follows its curve: near the floor an error of the
    thermometer is worth more time after the crossing than before it.
    """
    after = np.flatnonzero(cabinet.hours >= 0)
    offset = int(after[0]) if len(after) else 0
    # The reading before lighting counts as the start where the first one after it is late.
    hours, values = cabinet.hours[max(offset - 1, 0) :], cabinet.values[max(offset - 1, 0) :]
    if start.is_given and start.value <= threshold:
        return not_given(key, say("the cabinet started below: {t} °C at lighting", t=start.number))
    crossing = series.first_holding_crossing(hours, values, threshold, HOLDS_FOR)
    if crossing is None:
        lowest = float(np.min(values)) if len(values) else math.nan
        if lowest > threshold:
            # After the burner went out nobody waited for it any more.
            return not_given(
                key,
                say("not reached: the lowest reading is {t} °C", t=lowest),
                at_least=max(min(float(hours[-1]), cabinet.end), 0.0),
                inputs=[cabinet.readings],
            )
        if values[0] <= threshold:
            return not_given(
                key,
                say("at or below already at the first reading, {t} h after lighting", t=float(hours[0])),
                inputs=[cabinet.at(max(offset - 1, 0))],
            )
        return not_given(key, say("no crossing held for five minutes"), inputs=[cabinet.readings])
    shift = max(offset - 1, 0)
    sides = cabinet.at(crossing.before + shift, crossing.after + shift)
    if not crossing.confirmed:
        return not_given(
            key,
            say("the last reading is below, and no later one shows that it held"),
            inputs=[sides],
            at_least=max(float(hours[crossing.before]), 0.0),
        )
    left, right = max(float(hours[crossing.before]), 0.0), float(hours[crossing.after])
    if crossing.before in series.gaps(hours, 1.0):
        working = say("crossed between the readings at {a} h and {b} h, in a gap of the log", a=left, b=right)
        return _in_gap(cabinet, key, left, right, sides, working)
    fall = _slope_at(cabinet, hours, values, crossing)
    spread = math.hypot(cabinet.reading / fall, uncertainty.rectangular(_bend(hours, values, crossing, fall)))
    # A thermometer that reads high by d sees the crossing late by d over the rate of fall.
    number = uncertainty.estimate(crossing.instant, spread, "cabinet readings") - cabinet.offset / fall
    number += uncertainty.estimate(0.0, cabinet.clock, "clock")
    upper, lower = float(values[crossing.before]), float(values[crossing.after])
    working = say(
        "{a} h + ({upper} − {threshold}) / ({upper} − {lower}) × ({b} − {a}) h = {t} h",
        a=float(hours[crossing.before]),
        b=right,
        upper=upper,
        lower=signed(lower),
        threshold=signed(threshold),
        t=number,
    )
    if fitted is None:
        return given(key, number, inputs=[sides], working=working, assumptions=cabinet.assumptions)
    return given(
        key,
        number,
        inputs=[sides],
        working=working,
        assumptions=cabinet.assumptions,
        interval=_interval_on_curve(cabinet, fitted, threshold, crossing.instant),
        interval_kind=SIMULATED,
    )


def _in_gap(cabinet: Cabinet, key: str, left: float, right: float, sides: Readings, working: Message) -> Figure:
    """Return a crossing known only to lie between the readings on the two sides of a gap [h]."""
    return given(
        key,
        uncertainty.estimate((left + right) / 2, 0.0, "cabinet readings"),
        inputs=[sides],
        working=working,
        ends=(uncertainty.estimate(left, 0.0, key), uncertainty.estimate(right, 0.0, key)),
        interval=(left, right),
        interval_kind=LIMITS,
        assumptions=cabinet.assumptions,
        method="between two readings",
    )


def _interval_on_curve(
    cabinet: Cabinet, fitted: response.Response, threshold: float, instant: float
) -> tuple[float, float]:
    """Return the 95 % interval [h] of a crossing: when the curve passes the limits of error of the threshold."""
    curve = (fitted.start.value, fitted.floor.value, fitted.time_constant.value, fitted.delay.value)
    coverage = uncertainty.coverage_factor()
    reach = coverage * math.hypot(uncertainty.standard_uncertainty(cabinet.offset), cabinet.reading)
    clock = coverage * cabinet.clock
    early, at, late = (response.time_to_reach(threshold + by, *curve) for by in (reach, 0.0, -reach))
    until_end = max(cabinet.end - instant, 0.0)
    before = 0.0 if at is None or early is None else at - early
    after = until_end if at is None or late is None else late - at
    return max(instant - math.hypot(before, clock), 0.0), instant + math.hypot(after, clock)


def _slope_at(cabinet: Cabinet, hours: Numbers, values: Numbers, crossing: series.Crossing) -> float:
    """Return how fast the values fall at a crossing [K/h]: by a line through the readings around it, if enough.

    Else the slope between the crossing's two readings, or others beyond them if the two lie only a few steps of the
    scale apart: a slope taken from them would be mostly rounding.
    """
    near = np.flatnonzero(np.abs(hours - crossing.instant) <= SLOPE_WINDOW)
    near = near[~np.isin(hours[near], cabinet.hours[cabinet.is_doubted])]
    if len(near) >= 5:
        line = series.least_squares_line(hours[near], values[near])
        if line.slope < 0:
            return float(-line.slope)
    a, b = crossing.before, crossing.after
    between = float(values[a] - values[b]) / float(hours[b] - hours[a])
    while values[a] - values[b] < SLOPE_STEPS * cabinet.step and hours[b] - hours[a] < 4 * SLOPE_WINDOW:
        wider = max(a - 1, 0), min(b + 1, len(hours) - 1)
        if wider == (a, b):
            break
        a, b = wider
    slope = float(values[a] - values[b]) / float(hours[b] - hours[a])
    return slope if slope > 0 else between


def _bend(hours: Numbers, values: Numbers, crossing: series.Crossing, fall: float) -> float:
    """Return how far the curve may lie from the straight line between two readings, as time [h]: step² × bend / 8."""
    a, b = crossing.before, crossing.after
    step = float(hours[b] - hours[a])
    inner = float((values[a] - values[b]) / step)
    neighbours = [(a - 1, a)] * (a > 0) + [(b, b + 1)] * (b + 1 < len(hours))
    bends = [
        abs(inner - float((values[i] - values[j]) / (hours[j] - hours[i])))
        / (step / 2 + float(hours[j] - hours[i]) / 2)
        for i, j in neighbours
        if hours[j] > hours[i]
    ]
    return min(step**2 * max(bends, default=0.0) / 8 / fall, step / 2)


def signed(number: uncertainty.UFloat | float) -> Message:
    """Return a number as it stands in an equation: in brackets where it is negative."""
    return say("({number})", number=number) if uncertainty.nominal(number) < 0 else say("{number}", number=number)


def hold_over(trial: Trial, cabinet: Cabinet) -> Figure:
    """Return how long the cabinet stayed at or below 0 °C after the burner went out."""
    key = "hold_over_time"
    if not trial.end_recorded:
        return not_given(key, say("when the burner went out is not recorded"))
    after = np.flatnonzero(cabinet.hours > cabinet.end)
    at_out = series.value_at(cabinet.hours, cabinet.values, cabinet.end)
    if at_out is None or not len(after):
        return not_given(key, say("the cabinet was not read after the burner went out"))
    if at_out > 0:
        return not_given(key, say("the cabinet was at {t} °C when the burner went out", t=at_out))
    hours = np.concatenate(([cabinet.end], cabinet.hours[after]))
    values = np.concatenate(([at_out], cabinet.values[after]))
    # A rise above 0 °C is a fall of the mirrored readings; 0 °C itself is not above.
    crossing = series.first_holding_crossing(hours, -values, -ABOVE_ZERO, HOLDS_FOR)
    if crossing is None:
        last = float(hours[-1] - cabinet.end)
        return not_given(key, say("still at or below 0 °C at the last reading, {t} h after", t=last), at_least=last)
    before, beyond = int(after[0]) - 1 + crossing.before, int(after[0]) - 1 + crossing.after
    sides = cabinet.at(before, beyond)
    left, right = float(hours[crossing.before] - cabinet.end), float(hours[crossing.after] - cabinet.end)
    if not crossing.confirmed:
        return not_given(
            key,
            say("the last reading is above 0 °C, and no later one shows that it held"),
            at_least=left,
            inputs=[sides],
        )
    if before in series.gaps(cabinet.hours, 1.0):
        working = say("above 0 °C again between {a} h and {b} h after, in a gap of the log", a=left, b=right)
        return _in_gap(cabinet, key, left, right, sides, working)
    rise = _slope_at(cabinet, hours, -values, crossing)
    spread = math.hypot(cabinet.reading / rise, uncertainty.rectangular(_bend(hours, values, crossing, rise)))
    number = uncertainty.estimate(crossing.instant - cabinet.end, spread, "cabinet readings")
    number += cabinet.offset / rise + uncertainty.estimate(0.0, cabinet.clock, "clock")
    return given(
        key,
        number,
        inputs=[sides],
        assumptions=cabinet.assumptions,
        working=say("above 0 °C again at {a} h − out at {b} h = {t} h", a=crossing.instant, b=cabinet.end, t=number),
    )

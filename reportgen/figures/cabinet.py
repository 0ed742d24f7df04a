"""The cabinet figures: start, lowest, crossings, cooling rates, first-order response, hold-over."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from reportgen.calc import response, series, uncertainty
from reportgen.figures.figure import (
    LIMITS,
    SIMULATED,
    Assumption,
    Figure,
    because_of,
    derived,
    given,
    not_given,
)
from reportgen.message import Message, say
from reportgen.trial import Finding, Numbers, Readings, Trial

HOUR = 3600.0
THRESHOLDS = {"time_to_0": 0.0, "time_to_minus_6": -6.0, "time_to_minus_12": -12.0, "time_to_minus_18": -18.0}
#: A crossing holds if the reading this long after it is not above either [h] (the results format says so).
HOLDS_FOR = 5 / 60
#: Accuracy of a thermometer where none is stated, as limits [K] (common practice, no source).
THERMOMETER_LIMITS = 1.0
#: The cabinet hardly moves in its first minutes, so a reading this near to lighting is its start [h] (ours).
START_WITHIN = 0.25
#: Window of the steepest line [h], and the readings it must hold (the results format says so).
STEEPEST_SPAN, STEEPEST_READINGS = 0.25, 3
#: Half of the window that gives the slope at a crossing [h] (ours).
SLOPE_WINDOW = 0.25
#: Two readings must differ by so many steps of the scale to tell a slope (ours).
SLOPE_STEPS = 5
#: Readings nearer than this show their own scatter; farther ones also show the curve between them [h] (ours).
SCATTER_WITHIN = 5 / 60
READINGS_FOR_SCATTER = 8
#: Less than any thermometer resolves: what is higher than this is above 0 °C [K].
ABOVE_ZERO = 1e-6
#: Ambient readings further than this from the run say nothing of it [h] (ours).
AMBIENT_WITHIN = 1.0


@dataclass(frozen=True)
class CabinetFigures:
    """The figures of this part, and the fitted response for the chart (or None)."""

    figures: list[Figure]
    response: response.Response | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Cabinet:
    """Readings from lighting on: hours, degC, standard uncertainty of one reading [K], error of the thermometer and of the clock [h]."""

    readings: Readings
    hours: Numbers
    values: Numbers
    step: float
    reading: float
    offset: uncertainty.UFloat
    clock: float
    assumptions: tuple[Assumption, ...]
    end: float
    repeated: int

    def at(self, *indices: int) -> Readings:
        chosen = np.zeros(len(self.hours), dtype=bool)
        chosen[list(indices)] = True
        return self.readings.where(chosen)


def ambient_mean(trial: Trial) -> Figure:
    """Return the time-weighted mean ambient temperature over the run."""
    readings = trial.column("ambient_temperature")
    if readings is None:
        return not_given("ambient_mean", say("no ambient temperature is logged (column ambient_temperature)"))
    if not trial.burning:
        return not_given("ambient_mean", say("when the burner was lit is not recorded"))
    start, end = trial.burning[0][0], trial.burning[-1][1]
    used = readings.between(start - AMBIENT_WITHIN * HOUR, end + AMBIENT_WITHIN * HOUR)
    mean = series.time_weighted_mean(used.at, used.values, start, end)
    if mean is None:
        return not_given("ambient_mean", say("no ambient reading lies in the run"), inputs=[readings])
    inside = used.between(start, end)
    used = inside if len(inside) else used
    taken = Assumption(
        "ambient thermometer", say("right to {limits} K, as limits", limits=THERMOMETER_LIMITS),
        say("its accuracy is not recorded"), of_value=False,
    )  # fmt: skip
    number = uncertainty.estimate(mean, uncertainty.rectangular(THERMOMETER_LIMITS), "ambient thermometer")
    working = say("area under {n} readings / time = {number} °C", n=len(used), number=number)
    return given("ambient_mean", number, inputs=[used], working=working, assumptions=[taken])


def cabinet_figures(trial: Trial) -> CabinetFigures:
    """Return all cabinet figures."""
    keys = [
        "temperature_start", "temperature_lowest", "cooling_rate_mean", "cooling_rate_peak", *THRESHOLDS,
        "cooling_delay", "cooling_time_constant", "temperature_floor", "hold_over_time",
    ]  # fmt: skip
    cabinet = _cabinet(trial)
    if isinstance(cabinet, Message):
        return CabinetFigures([not_given(key, cabinet) for key in keys], None, ())
    start = _start(cabinet)
    lowest, lowest_at = _lowest(cabinet)
    crossings = [_crossing(cabinet, key, threshold, start) for key, threshold in THRESHOLDS.items()]
    fitted, fit_figures, findings = _response(trial, cabinet)
    figures = [
        start, lowest, _mean_rate(start, crossings[0], lowest, lowest_at), _peak_rate(cabinet), *crossings,
        *fit_figures, _hold_over(trial, cabinet),
    ]  # fmt: skip
    if cabinet.repeated:
        findings += (Finding("note", "same-instant", say(
            "{n} cabinet readings share their time with another; the mean of those of one time is used",
            n=cabinet.repeated)),)  # fmt: skip
    return CabinetFigures(figures, fitted, findings)


def _cabinet(trial: Trial) -> _Cabinet | Message:
    readings = trial.column("cabinet_temperature")
    if readings is None:
        return say("no cabinet temperature is logged (column cabinet_temperature)")
    if trial.lit_at is None or not trial.burning:
        return say("when the burner was lit is not recorded")
    # One reading before lighting is kept: the content at lighting lies between it and the next.
    recent = readings.where(readings.at >= trial.lit_at - START_WITHIN * HOUR)
    since = _one_per_instant(recent)
    if not len(since):
        return say("no cabinet reading follows the lighting of the burner")
    hours = (since.at - trial.lit_at) / HOUR
    sheet = trial.sheet.cabinet
    step = sheet.resolution.value if sheet.resolution is not None else since.step
    assumptions = []
    if sheet.resolution is None:
        assumptions.append(Assumption(
            "cabinet readings", say("read to the nearest {step} K", step=step),
            say("cabinet.resolution is not stated; the smallest step in the log is taken"), of_value=False))  # fmt: skip
    if sheet.accuracy is not None and sheet.accuracy.unit == "K":
        offset = sheet.accuracy.value
    else:
        offset = uncertainty.rectangular(THERMOMETER_LIMITS)
        assumptions.append(Assumption(
            "cabinet thermometer", say("right to {limits} K, as limits", limits=THERMOMETER_LIMITS),
            say("cabinet.accuracy is not stated"), of_value=False))  # fmt: skip
    values = since.values.astype(float)
    return _Cabinet(
        since, hours, values, step, max(uncertainty.rounding(step), _scatter(hours, values)),
        uncertainty.estimate(0.0, offset, "cabinet thermometer"), _clock_error(since, trial.lit_at), tuple(assumptions),
        trial.hours(trial.burning[-1][1]), len(recent) - len(since),
    )  # fmt: skip


def _one_per_instant(readings: Readings) -> Readings:
    """Return the readings, those of one instant (two probes, or a clock without seconds) replaced by their mean."""
    at, first, count = np.unique(readings.at, return_index=True, return_counts=True)
    if len(at) == len(readings):
        return readings
    kept = np.zeros(len(readings), dtype=bool)
    kept[first] = True
    means = np.add.reduceat(readings.values.astype(float), first) / count
    return readings.where(kept).with_values(means, readings.step)


def _clock_error(readings: Readings, lit_at: float) -> float:
    """Return the standard uncertainty of a time from lighting to a reading [h]: both ends as fine as they are written."""
    whole_minutes = not np.any(np.mod(np.append(readings.at[:2000], lit_at), 60))
    return 2**0.5 * uncertainty.rounding((60 if whole_minutes else 1) / HOUR)


def _scatter(hours: Numbers, values: Numbers) -> float:
    if len(values) < READINGS_FOR_SCATTER or np.median(np.diff(hours)) > SCATTER_WITHIN:
        return 0.0
    second = np.diff(values, 2)
    return float(np.median(np.abs(second - np.median(second)))) / 0.6745 / math.sqrt(6)


def _start(cabinet: _Cabinet) -> Figure:
    key = "temperature_start"
    before, after = np.flatnonzero(cabinet.hours <= 0), np.flatnonzero(cabinet.hours >= 0)
    if len(before) and len(after):
        value = series.value_at(cabinet.hours, cabinet.values, 0.0)
        used, hidden = cabinet.at(int(before[-1]), int(after[0])), 0.0
    else:
        near = series.nearest_within(cabinet.hours, cabinet.values, 0.0, START_WITHIN)
        if near is None:
            return not_given(key, say(
                "the first cabinet reading is {minutes} min after lighting", minutes=round(60 * float(cabinet.hours[0]))),
                inputs=[cabinet.at(0)])  # fmt: skip
        value, used = float(cabinet.values[near]), cabinet.at(near)
        after_it = min(near + 1, len(cabinet.hours) - 1)
        hidden = abs(float(cabinet.values[after_it] - cabinet.values[near])) if after_it > near else 0.0
        hidden *= min(1.0, abs(float(cabinet.hours[near])) / max(float(cabinet.hours[after_it] - cabinet.hours[near]), 1e-9))
    assert value is not None
    noise = math.hypot(cabinet.reading, uncertainty.rectangular(hidden))
    number = uncertainty.estimate(value, noise, "cabinet readings") - cabinet.offset
    return given(key, number, inputs=[used], working=say("reading at lighting = {number} °C", number=number),
                 assumptions=cabinet.assumptions)  # fmt: skip


def _lowest(cabinet: _Cabinet) -> tuple[Figure, float]:
    after = cabinet.hours >= 0
    hours, values = cabinet.hours[after], cabinet.values[after]
    if len(values) < 3:
        reason = say("fewer than three cabinet readings follow the lighting of the burner")
        return not_given("temperature_lowest", reason), math.nan
    medians = series.running_median_of_three(values)
    index = 1 + int(np.argmin(medians[1:-1]))  # the two ends repeat their neighbours
    number = uncertainty.estimate(float(medians[index]), cabinet.reading, "cabinet readings") - cabinet.offset
    first = int(np.flatnonzero(after)[0])
    around = [first + i for i in range(index - 1, index + 2)]
    working = say(
        "median of three readings around {t} h = {number} °C, the lowest of all such", t=float(hours[index]), number=number
    )
    figure = given("temperature_lowest", number, inputs=[cabinet.at(*around)], working=working,
                   assumptions=cabinet.assumptions)  # fmt: skip
    return figure, float(hours[index])


def _crossing(cabinet: _Cabinet, key: str, threshold: float, start: Figure) -> Figure:
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
                key, say("not reached: the lowest reading is {t} °C", t=lowest),
                at_least=max(min(float(hours[-1]), cabinet.end), 0.0), inputs=[cabinet.readings],
            )  # fmt: skip
        if values[0] <= threshold:
            return not_given(key, say(
                "at or below already at the first reading, {t} h after lighting", t=float(hours[0])),
                inputs=[cabinet.at(max(offset - 1, 0))])  # fmt: skip
        return not_given(key, say("no crossing held for five minutes"), inputs=[cabinet.readings])
    shift = max(offset - 1, 0)
    sides = cabinet.at(crossing.before + shift, crossing.after + shift)
    if not crossing.confirmed:
        return not_given(
            key, say("the last reading is below, and no later one shows that it held"), inputs=[sides],
            at_least=max(float(hours[crossing.before]), 0.0),
        )  # fmt: skip
    left, right = max(float(hours[crossing.before]), 0.0), float(hours[crossing.after])
    if crossing.before in series.gaps(hours, 1.0):
        middle = uncertainty.estimate((left + right) / 2, 0.0, "cabinet readings")
        ends = (uncertainty.estimate(left, 0.0, key), uncertainty.estimate(right, 0.0, key))
        working = say("crossed between the readings at {a} h and {b} h, in a gap of the log", a=left, b=right)
        return given(key, middle, inputs=[sides], working=working, ends=ends, interval=(left, right),
                     interval_kind=LIMITS, assumptions=cabinet.assumptions, method="between two readings")  # fmt: skip
    fall = _slope_at(cabinet, hours, values, crossing)
    spread = math.hypot(cabinet.reading / fall, uncertainty.rectangular(_bend(hours, values, crossing, fall)))
    # A thermometer that reads high by d sees the crossing late by d over the rate of fall.
    number = uncertainty.estimate(crossing.instant, spread, "cabinet readings") - cabinet.offset / fall
    number += uncertainty.estimate(0.0, cabinet.clock, "clock")
    upper, lower = float(values[crossing.before]), float(values[crossing.after])
    working = say(
        "{a} h + ({upper} − {threshold}) / ({upper} − {lower}) × ({b} − {a}) h = {t} h",
        a=float(hours[crossing.before]), b=right, upper=upper, lower=_signed(lower), threshold=_signed(threshold), t=number,
    )  # fmt: skip
    return given(key, number, inputs=[sides], working=working, assumptions=cabinet.assumptions)


def _slope_at(cabinet: _Cabinet, hours: Numbers, values: Numbers, crossing: series.Crossing) -> float:
    """Return how fast the values fall at a crossing [K/h]: a line through the readings around it, where there are enough.

    Else the slope between the crossing's two readings, or others beyond them if a few steps of the scale are all there is
    between the two: a slope taken from them would be mostly rounding.
    """
    near = np.abs(hours - crossing.instant) <= SLOPE_WINDOW
    if near.sum() >= 5:
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
        abs(inner - float((values[i] - values[j]) / (hours[j] - hours[i]))) / (step / 2 + float(hours[j] - hours[i]) / 2)
        for i, j in neighbours
        if hours[j] > hours[i]
    ]
    return min(step**2 * max(bends, default=0.0) / 8 / fall, step / 2)


def _mean_rate(start: Figure, to_zero: Figure, lowest: Figure, lowest_at: float) -> Figure:
    key = "cooling_rate_mean"
    if to_zero.is_given and start.is_given and start.value > 0:
        return derived(
            key, lambda t, h: t / h, start, to_zero, method="start to 0 °C",
            working=lambda r, t, h: say("({t} − 0) K / {h} h = {r} K/h", t=t, h=h, r=r),
        )  # fmt: skip
    if not (start.is_given and lowest.is_given):
        return not_given(key, because_of(lowest if start.is_given else start))
    if start.value <= lowest.value or not lowest_at > 0:
        return not_given(key, say("the cabinet did not cool"), inputs=[*start.inputs, *lowest.inputs])
    return derived(
        key, lambda t, low: (t - low) / lowest_at, start, lowest, method="start to the lowest reading",
        working=lambda r, t, low: say(
            "({t} − {low}) K / {h} h = {r} K/h", t=t, low=_signed(low), h=lowest_at, r=r),
    )  # fmt: skip


def _signed(number: uncertainty.UFloat | float) -> Message:
    """Return a number as it stands in an equation: in brackets where it is negative."""
    return say("({number})", number=number) if uncertainty.nominal(number) < 0 else say("{number}", number=number)


def _peak_rate(cabinet: _Cabinet) -> Figure:
    key = "cooling_rate_peak"
    inside = (cabinet.hours >= 0) & (cabinet.hours <= cabinet.end)
    hours, values = cabinet.hours[inside], cabinet.values[inside]
    steepest = series.steepest_slope(hours, values, STEEPEST_READINGS, STEEPEST_SPAN, cabinet.step) if len(hours) > 2 else None
    if steepest is None:
        return not_given(key, say("no three readings of the run span 15 minutes or more"), inputs=[cabinet.readings])
    if steepest.rate <= 0:
        return not_given(key, say("the cabinet did not cool"), inputs=[cabinet.readings])
    number = uncertainty.estimate(steepest.rate, steepest.standard_uncertainty, "cabinet readings")
    window = (cabinet.hours >= steepest.start) & (cabinet.hours <= steepest.end)
    working = say(
        "robust line through {n} points from {a} h to {b} h: {r} K/h", n=steepest.points, a=steepest.start, b=steepest.end, r=number
    )
    return given(key, number, basis="derived", inputs=[cabinet.readings.where(window)], working=working,
                 assumptions=cabinet.assumptions)  # fmt: skip


_REFUSALS = {
    "too_few_readings": "only {readings} cabinet readings; the curve needs {needed}",
    "no_fall": "the cabinet fell by only {fall} K; the curve needs {needed} K",
    "span_too_short": "the readings follow the curve for only {span} h; it needs {needed} h (1.5 time constants)",
    "floor_too_far": "the curve would end at {floor} °C, far beyond the last reading ({end} °C)",
    "time_constant_uncertain": "the readings leave the time constant open ({time_constant} h)",
    "not_converged": "the readings do not follow a first-order response",
}


def _response(trial: Trial, cabinet: _Cabinet) -> tuple[response.Response | None, list[Figure], tuple[Finding, ...]]:
    """Fit the first-order response to the first span of burning: later ones start from another state."""
    end = trial.hours(trial.burning[0][1])
    inside = (cabinet.hours >= 0) & (cabinet.hours <= end)
    used = cabinet.readings.where(inside)
    fitted = response.fit_first_order(cabinet.hours[inside], cabinet.values[inside], cabinet.step)
    keys = ("cooling_delay", "cooling_time_constant", "temperature_floor")
    if isinstance(fitted, response.Refusal):
        reason = say(_REFUSALS[fitted.reason_code], **{k: round(v, 2) for k, v in fitted.values.items()})
        return None, [not_given(key, reason, inputs=[used]) for key in keys], ()
    curve = say(
        "least squares of T = floor + (start − floor) × exp(−(t − delay) / time constant) on {n} readings: start {s} °C, "
        "floor {f} °C, delay {d} h, time constant {c} h; scatter {sd} K",
        n=fitted.readings, s=fitted.start.value, f=fitted.floor.value, d=fitted.delay.value,
        c=fitted.time_constant.value, sd=fitted.residual_sd,
    )  # fmt: skip
    findings: tuple[Finding, ...] = ()
    if fitted.model_doubt:
        findings = (Finding("caution", "response-doubtful", say(
            "the cabinet does not quite follow a first-order response: {doubt}", doubt=fitted.model_doubt),
            effect=say("time constant, delay and floor describe the curve only roughly")),)  # fmt: skip
    figures = []
    for key, part in zip(keys, (fitted.delay, fitted.time_constant, fitted.floor), strict=True):
        number = uncertainty.estimate(part.value, part.standard_uncertainty, "fit of the response")
        low, high = part.low, part.high
        # What all readings share is no scatter about the curve: the thermometer's error, and that of the time of lighting.
        shared = {"temperature_floor": -cabinet.offset, "cooling_delay": uncertainty.estimate(0.0, cabinet.clock, "clock")}
        if key in shared:
            number += shared[key]
            extra = uncertainty.normal_interval(shared[key])[1]
            low, high = part.value - math.hypot(part.value - low, extra), part.value + math.hypot(high - part.value, extra)
        if key == "cooling_delay":
            low = max(low, 0.0)
        figures.append(given(
            key, number, basis="derived", inputs=[used], working=curve, interval=(low, high), interval_kind=SIMULATED,
            assumptions=cabinet.assumptions))  # fmt: skip
    return fitted, figures, findings


def _hold_over(trial: Trial, cabinet: _Cabinet) -> Figure:
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
        return not_given(key, say("the last reading is above 0 °C, and no later one shows that it held"),
                         at_least=left, inputs=[sides])  # fmt: skip
    if before in series.gaps(cabinet.hours, 1.0):
        middle = uncertainty.estimate((left + right) / 2, 0.0, "cabinet readings")
        ends = (uncertainty.estimate(left, 0.0, key), uncertainty.estimate(right, 0.0, key))
        working = say("above 0 °C again between {a} h and {b} h after, in a gap of the log", a=left, b=right)
        return given(key, middle, inputs=[sides], working=working, ends=ends, interval=(left, right),
                     interval_kind=LIMITS, assumptions=cabinet.assumptions, method="between two readings")  # fmt: skip
    rise = _slope_at(cabinet, hours, -values, crossing)
    spread = math.hypot(cabinet.reading / rise, uncertainty.rectangular(_bend(hours, values, crossing, rise)))
    number = uncertainty.estimate(crossing.instant - cabinet.end, spread, "cabinet readings")
    number += cabinet.offset / rise + uncertainty.estimate(0.0, cabinet.clock, "clock")
    return given(key, number, inputs=[sides], assumptions=cabinet.assumptions, working=say(
        "above 0 °C again at {a} h − out at {b} h = {t} h", a=crossing.instant, b=cabinet.end, t=number))  # fmt: skip

"""How fast the cabinet cooled: mean and steepest rate, and the first-order response."""

from __future__ import annotations

import math

from reportgen.calc import response, series, uncertainty
from reportgen.figures.cabinet_log import Cabinet
from reportgen.figures.crossings import signed
from reportgen.figures.figure import (
    SIMULATED,
    Figure,
    because_of,
    derived,
    given,
    not_given,
)
from reportgen.message import say
from reportgen.trial import Finding, Trial

#: A line over more time than this says nothing of a fastest rate [h] (ours).
STEEPEST_LONGEST = 1.0
#: Window of the steepest line [h], and the readings it must hold (the results format says so).
STEEPEST_SPAN, STEEPEST_READINGS = 0.25, 3
_REFUSALS = {
    "too_few_readings": say("only {readings} cabinet readings; the curve needs {needed}"),
    "no_fall": say("the cabinet fell by only {fall} K; the curve needs {needed} K"),
    "span_too_short": say("the readings follow the curve for only {span} h; it needs {needed} h (1.5 time constants)"),
    "floor_too_far": say("the curve would end at {floor} °C, far beyond the last reading ({end} °C)"),
    "time_constant_uncertain": say("the readings leave the time constant open ({time_constant} h)"),
    "not_converged": say("the readings do not follow a first-order response"),
}


def mean_rate(start: Figure, to_zero: Figure, lowest: Figure, lowest_at: float) -> Figure:
    """Return the fall from the start to 0 °C over its time; failing that, to the lowest reading."""
    key = "cooling_rate_mean"
    if to_zero.is_given and start.is_given and start.value > 0:
        return derived(
            key,
            lambda t, h: t / h,
            start,
            to_zero,
            method="start to 0 °C",
            working=lambda r, t, h: say("({t} − 0) K / {h} h = {r} K/h", t=t, h=h, r=r),
        )
    if not (start.is_given and lowest.is_given):
        return not_given(key, because_of(lowest if start.is_given else start))
    if start.value <= lowest.value or not lowest_at > 0:
        return not_given(key, say("the cabinet did not cool"), inputs=[*start.inputs, *lowest.inputs])
    return derived(
        key,
        lambda t, low: (t - low) / lowest_at,
        start,
        lowest,
        method="start to the lowest reading",
        working=lambda r, t, low: say("({t} − {low}) K / {h} h = {r} K/h", t=t, low=signed(low), h=lowest_at, r=r),
    )


def peak_rate(cabinet: Cabinet) -> Figure:
    """Return the steepest robust line over the run."""
    key = "cooling_rate_peak"
    inside = (cabinet.hours >= 0) & (cabinet.hours <= cabinet.end) & ~cabinet.is_doubted
    hours, values = cabinet.hours[inside], cabinet.values[inside]
    steepest = (
        series.steepest_slope(hours, values, STEEPEST_READINGS, STEEPEST_SPAN, cabinet.step) if len(hours) > 2 else None
    )
    if steepest is None:
        return not_given(key, say("no three readings of the run span 15 minutes or more"), inputs=[cabinet.readings])
    if steepest.rate <= 0:
        return not_given(key, say("the cabinet did not cool"), inputs=[cabinet.readings])
    if steepest.end - steepest.start > STEEPEST_LONGEST:
        return not_given(
            key,
            say(
                "three readings span {hours} h or more, too long for a fastest rate",
                hours=steepest.end - steepest.start,
            ),
        )
    number = uncertainty.estimate(steepest.rate, steepest.standard_uncertainty, "cabinet readings")
    window = inside & (cabinet.hours >= steepest.start) & (cabinet.hours <= steepest.end)
    working = say(
        "robust line through {n} points from {a} h to {b} h: {r} K/h",
        n=steepest.points,
        a=steepest.start,
        b=steepest.end,
        r=number,
    )
    return given(
        key,
        number,
        basis="derived",
        inputs=[cabinet.readings.where(window)],
        working=working,
        assumptions=cabinet.assumptions,
    )


def fitted_response(
    trial: Trial, cabinet: Cabinet
) -> tuple[response.Response | None, list[Figure], tuple[Finding, ...]]:
    """Fit the first-order response to the first span of burning: later ones start from another state.

    Readings that a check doubts are left out: a door or a slip of the pen is no part of the response.
    """
    end = trial.hours(trial.burning[0][1])
    inside = (cabinet.hours >= 0) & (cabinet.hours <= end) & ~cabinet.is_doubted
    used = cabinet.readings.where(inside)
    fitted = response.fit_first_order(cabinet.hours[inside], cabinet.values[inside], cabinet.step)
    keys = ("cooling_delay", "cooling_time_constant", "temperature_floor")
    if isinstance(fitted, response.Refusal):
        reason = _REFUSALS[fitted.reason_code].filled(**{k: round(v, 2) for k, v in fitted.values.items()})
        if len(trial.burning) > 1:
            reason = say("{reason}, before the burner first went out", reason=reason)
        return None, [not_given(key, reason, inputs=[used]) for key in keys], ()
    curve = say(
        "least squares of T = floor + (start − floor) × exp(−(t − delay) / time constant) on {n} readings: "
        "start {s} °C, "
        "floor {f} °C, delay {d} h, time constant {c} h; scatter {sd} K",
        n=fitted.readings,
        s=fitted.start.value,
        f=fitted.floor.value,
        d=fitted.delay.value,
        c=fitted.time_constant.value,
        sd=fitted.residual_sd,
    )
    findings: tuple[Finding, ...] = ()
    if fitted.model_doubt:
        findings = (
            Finding(
                "caution",
                "response-doubtful",
                say("the cabinet does not quite follow a first-order response: {doubt}", doubt=fitted.model_doubt),
                effect=say("time constant, delay and floor describe the curve only roughly"),
            ),
        )
    figures = []
    for key, part in zip(keys, (fitted.delay, fitted.time_constant, fitted.floor), strict=True):
        number = uncertainty.estimate(part.value, part.standard_uncertainty, "fit of the response")
        low, high = part.low, part.high
        # What all readings share is no scatter about the curve: the errors of the thermometer and of the lighting time.
        shared = {
            "temperature_floor": -cabinet.offset,
            "cooling_delay": uncertainty.estimate(0.0, cabinet.clock, "clock"),
        }
        if key in shared:
            number += shared[key]
            extra = uncertainty.normal_interval(shared[key])[1]
            low, high = (
                part.value - math.hypot(part.value - low, extra),
                part.value + math.hypot(high - part.value, extra),
            )
        if key == "cooling_delay":
            low = max(low, 0.0)
        figures.append(
            given(
                key,
                number,
                basis="derived",
                inputs=[used],
                working=curve,
                interval=(low, high),
                interval_kind=SIMULATED,
                assumptions=cabinet.assumptions,
            )
        )
    return fitted, figures, findings

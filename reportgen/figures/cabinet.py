"""The cabinet figures: start, lowest, crossings, cooling rates, first-order response, hold-over."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from reportgen.calc import response, series, uncertainty
from reportgen.figures.cabinet_log import HOUR, START_WITHIN, THERMOMETER_LIMITS, Cabinet, cabinet_log
from reportgen.figures.cooling import fitted_response, mean_rate, peak_rate
from reportgen.figures.crossings import THRESHOLDS, crossing_figure, hold_over
from reportgen.figures.figure import (
    Assumption,
    Figure,
    given,
    not_given,
)
from reportgen.message import Message, say
from reportgen.trial import Finding, Trial

#: Ambient readings further than this from the run say nothing of it [h] (ours).
AMBIENT_WITHIN = 1.0


@dataclass(frozen=True)
class CabinetFigures:
    """The figures of this part, and the fitted response for the chart (or None)."""

    figures: list[Figure]
    response: response.Response | None
    findings: tuple[Finding, ...]


def ambient_mean(trial: Trial) -> Figure:
    """Return the time-weighted mean ambient temperature over the run."""
    readings = trial.column("ambient_temperature")
    if readings is None:
        return not_given("ambient_mean", say("no ambient temperature is logged (column ambient_temperature)"))
    if not trial.burning:
        return not_given("ambient_mean", trial.no_lighting)
    start, end = trial.burning[0][0], trial.burning[-1][1]
    used = readings.between(start - AMBIENT_WITHIN * HOUR, end + AMBIENT_WITHIN * HOUR)
    mean = series.time_weighted_mean(used.at, used.values, start, end)
    if mean is None:
        return not_given("ambient_mean", say("no ambient reading lies in the run"), inputs=[readings])
    inside = used.between(start, end)
    used = inside if len(inside) else used
    taken = Assumption(
        "ambient thermometer",
        say("right to {limits} K, as limits", limits=THERMOMETER_LIMITS),
        say("its accuracy is not recorded"),
        of_value=False,
    )
    number = uncertainty.estimate(mean, uncertainty.rectangular(THERMOMETER_LIMITS), "ambient thermometer")
    working = say("area under {n} readings / time = {number} °C", n=len(used), number=number)
    return given("ambient_mean", number, inputs=[used], working=working, assumptions=[taken])


def cabinet_figures(trial: Trial) -> CabinetFigures:
    """Return all cabinet figures."""
    keys = [
        "temperature_start",
        "temperature_lowest",
        "cooling_rate_mean",
        "cooling_rate_peak",
        *THRESHOLDS,
        "cooling_delay",
        "cooling_time_constant",
        "temperature_floor",
        "hold_over_time",
    ]
    cabinet = cabinet_log(trial)
    if isinstance(cabinet, Message):
        return CabinetFigures([not_given(key, cabinet) for key in keys], None, ())
    fitted, fit_figures, findings = fitted_response(trial, cabinet)
    trusted = fitted if fitted is not None and fitted.model_doubt is None else None
    if trusted is not None:
        # Noise that several readings in a row share does not show in their differences, but beside the curve it does.
        cabinet = replace(cabinet, reading=max(cabinet.reading, trusted.residual_sd))
    start = _start(cabinet)
    lowest, lowest_at = _lowest(cabinet)
    crossings = [crossing_figure(cabinet, key, threshold, start, trusted) for key, threshold in THRESHOLDS.items()]
    figures = [
        start,
        lowest,
        mean_rate(start, crossings[0], lowest, lowest_at),
        peak_rate(cabinet),
        *crossings,
        *fit_figures,
        hold_over(trial, cabinet),
    ]
    if cabinet.repeated:
        findings += (
            Finding(
                "note",
                "same-instant",
                say(
                    "{n} cabinet readings share their time with another; the mean of those of one time is used",
                    n=cabinet.repeated,
                ),
            ),
        )
    return CabinetFigures(figures, fitted, findings)


def _start(cabinet: Cabinet) -> Figure:
    key = "temperature_start"
    before, after = np.flatnonzero(cabinet.hours <= 0), np.flatnonzero(cabinet.hours >= 0)
    if len(before) and len(after):
        value = series.value_at(cabinet.hours, cabinet.values, 0.0)
        used = cabinet.at(int(before[-1]), int(after[0]))
        # Before lighting the cabinet stands still, so the straight line to the next reading may begin too early.
        hidden = abs(float(cabinet.values[before[-1]]) - value) if value is not None else 0.0
    else:
        near = series.nearest_within(cabinet.hours, cabinet.values, 0.0, START_WITHIN)
        if near is None:
            return not_given(
                key,
                say(
                    "the first cabinet reading is {minutes} min after lighting",
                    minutes=round(60 * float(cabinet.hours[0])),
                ),
                inputs=[cabinet.at(0)],
            )
        value, used = float(cabinet.values[near]), cabinet.at(near)
        after_it = min(near + 1, len(cabinet.hours) - 1)
        hidden = abs(float(cabinet.values[after_it] - cabinet.values[near])) if after_it > near else 0.0
        hidden *= min(
            1.0, abs(float(cabinet.hours[near])) / max(float(cabinet.hours[after_it] - cabinet.hours[near]), 1e-9)
        )
    assert value is not None
    noise = math.hypot(cabinet.reading, uncertainty.rectangular(hidden))
    number = uncertainty.estimate(value, noise, "cabinet readings") - cabinet.offset
    return given(
        key,
        number,
        inputs=[used],
        working=say("reading at lighting = {number} °C", number=number),
        assumptions=cabinet.assumptions,
    )


def _lowest(cabinet: Cabinet) -> tuple[Figure, float]:
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
        "median of three readings around {t} h = {number} °C, the lowest of all such",
        t=float(hours[index]),
        number=number,
    )
    figure = given(
        "temperature_lowest", number, inputs=[cabinet.at(*around)], working=working, assumptions=cabinet.assumptions
    )
    return figure, float(hours[index])

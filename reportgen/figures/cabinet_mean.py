"""The mean cabinet temperature over a span of the run, sharing the thermometer's error with other figures."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from reportgen.calc import series, uncertainty
from reportgen.figures.cabinet_log import cabinet_log
from reportgen.figures.figure import Figure, given, not_given
from reportgen.message import Message, say
from reportgen.trial import Numbers, Trial

#: Readings must cover this share of a span for its mean to be given (ours).
LEAST_COVERAGE = 0.8


def cabinet_mean(trial: Trial, start: float, end: float, shares_with: Iterable[Figure]) -> Figure:
    """Return the time-weighted mean cabinet temperature [degC] from `start` to `end` [s].

    Parameters
    ----------
    shares_with
        Figures that may rest on the same thermometer; its error is then the same one.

    Notes
    -----
    What lies in gaps of the log is taken to be anywhere between the lowest and the highest reading of the span.
    """
    key = "cabinet_mean"
    cabinet = cabinet_log(trial)
    if isinstance(cabinet, Message):
        return not_given(key, cabinet)
    if not end > start:
        return not_given(key, say("the span is of no length"))
    left, right = trial.hours(start), trial.hours(end)
    mean = series.time_weighted_mean(cabinet.hours, cabinet.values, left, right)
    used = cabinet.readings.between(start, end)
    share = covered_share(cabinet.hours, left, right)
    if mean is None or not len(used) or share < LEAST_COVERAGE:
        return not_given(
            key,
            say(
                "cabinet readings cover only {percent} % of the {span} h; {least} % are needed",
                percent=round(100 * share),
                span=right - left,
                least=round(100 * LEAST_COVERAGE),
            ),
            inputs=[used] if len(used) else [],
        )
    values = used.values.astype(float)
    hidden = (1 - share) * max(float(values.max()) - mean, mean - float(values.min()), 0.0)
    spread = math.hypot(cabinet.reading / math.sqrt(len(used)), uncertainty.rectangular(hidden))
    offset = shared_error("cabinet thermometer", shares_with) or cabinet.offset
    # A thermometer that reads high by d shows a mean that is high by d.
    number = uncertainty.estimate(mean, spread, "cabinet readings") - offset
    return given(
        key,
        number,
        inputs=[used],
        working=say("area under {n} cabinet readings / time = {number} °C", n=len(used), number=number),
        assumptions=cabinet.assumptions,
    )


def covered_share(hours: Numbers, start: float, end: float) -> float:
    """Return the share [1] of a span from `start` to `end` that readings at these hours cover, gaps left out."""
    if len(hours) < 2 or not end > start:
        return 0.0
    gaps = series.gaps(hours, 1.0)
    lefts = np.concatenate((hours[:1], hours[gaps + 1]))
    rights = np.concatenate((hours[gaps], hours[-1:]))
    overlaps = np.minimum(rights, end) - np.maximum(lefts, start)
    return float(np.sum(np.maximum(overlaps, 0.0))) / (end - start)


def covered_span(at: Numbers, start: float, end: float) -> float:
    """Return the share [1] of a span that lies between the first and the last of these moments, gaps or not."""
    if not len(at) or not end > start:
        return 0.0
    return max(float(min(at[-1], end) - max(at[0], start)), 0.0) / (end - start)


def shared_error(source: str, figures: Iterable[Figure]) -> uncertainty.UFloat | None:
    """Return the error of this name that one of the figures carries, so that another can carry the same; or None."""
    for figure in figures:
        for error in getattr(figure.number, "derivatives", {}):
            if error.tag == source:
                return error
    return None

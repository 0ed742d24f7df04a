"""The cabinet readings of a run, with the errors they share."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from reportgen.calc import series, uncertainty
from reportgen.figures.figure import Assumption
from reportgen.message import Message, say
from reportgen.trial import Numbers, Readings, Trial

HOUR = 3600.0
#: Accuracy of a thermometer where none is stated, as limits [K] (common practice, no source).
THERMOMETER_LIMITS = 1.0
#: The cabinet hardly moves in its first minutes, so a reading this near to lighting is its start [h] (ours).
START_WITHIN = 0.25
#: Readings nearer than this show their own scatter; farther ones also show the curve between them [h] (ours).
SCATTER_WITHIN = 5 / 60


@dataclass(frozen=True)
class Cabinet:
    """The cabinet readings of a run, from just before lighting on.

    Attributes
    ----------
    readings : Readings
        One per instant; `hours` [h] from lighting and `values` [degC] are theirs.
    step : float
        Smallest step of the scale [K].
    reading : float
        Standard uncertainty of one reading [K].
    offset : uncertainties number [K]
        Error of the thermometer, shared by all readings.
    clock : float
        Standard uncertainty of a time from lighting to a reading [h].
    assumptions : tuple of Assumption
    end : float
        When the burner last went out [h].
    repeated : int
        Readings that shared their instant with another.
    """

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

    @property
    def is_doubted(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Which readings a check doubts: left out of fitted curves and slopes."""
        return self.readings.is_questionable

    def at(self, *indices: int) -> Readings:
        """Return the readings of these indices, for naming their rows."""
        return self.readings.where(np.unique(indices))


def cabinet_log(trial: Trial) -> Cabinet | Message:
    """Return the cabinet readings from just before lighting on, or why there are none to use."""
    readings = trial.column("cabinet_temperature")
    if readings is None:
        return say("no cabinet temperature is logged (column cabinet_temperature)")
    if trial.lit_at is None or not trial.burning:
        return trial.no_lighting
    # Readings just before lighting are kept: the temperature at lighting lies between them and the next.
    recent = readings.between(trial.lit_at - START_WITHIN * HOUR, math.inf)
    since = _one_per_instant(recent)
    if not len(since):
        return say("no cabinet reading follows the lighting of the burner")
    hours = (since.at - trial.lit_at) / HOUR
    sheet = trial.sheet.cabinet
    step = sheet.resolution.value if sheet.resolution is not None else since.step
    assumptions = []
    if sheet.resolution is None:
        assumptions.append(
            Assumption(
                "cabinet readings",
                say("read to the nearest {step} K", step=step),
                say("cabinet.resolution is not stated; the smallest step in the log is taken"),
                of_value=False,
            )
        )
    if sheet.accuracy is not None and sheet.accuracy.unit == "K":
        offset = sheet.accuracy.value
    else:
        offset = uncertainty.rectangular(THERMOMETER_LIMITS)
        assumptions.append(
            Assumption(
                "cabinet thermometer",
                say("right to {limits} K, as limits", limits=THERMOMETER_LIMITS),
                say("cabinet.accuracy is not stated"),
                of_value=False,
            )
        )
    values = since.values.astype(float, copy=False)
    return Cabinet(
        since,
        hours,
        values,
        step,
        max(uncertainty.rounding(step), _scatter(hours, values)),
        uncertainty.estimate(0.0, offset, "cabinet thermometer"),
        _clock_error(since, trial.lit_at),
        tuple(assumptions),
        trial.hours(trial.burning[-1][1]),
        len(recent) - len(since),
    )


def _one_per_instant(readings: Readings) -> Readings:
    """Return the readings, those of one instant (two probes, or a clock without seconds) replaced by their mean."""
    kept = np.diff(readings.at, prepend=-np.inf) > 0
    if kept.all():
        return readings
    first = np.flatnonzero(kept)
    count = np.diff(first, append=len(readings))
    means = np.add.reduceat(readings.values.astype(float), first) / count
    return readings.where(kept).with_values(means, readings.step)


def _clock_error(readings: Readings, lit_at: float) -> float:
    """Return the standard uncertainty of a time from lighting to a reading [h]: both ends as fine as written."""

    def step(at: Numbers) -> float:
        return 1.0 if np.any(np.mod(at, 60)) else 60.0

    written = [step(readings.at[:2000]), step(np.array([lit_at]))]
    return math.hypot(*map(uncertainty.rounding, written)) / HOUR


def _scatter(hours: Numbers, values: Numbers) -> float:
    """Return the scatter of the readings about their own course [K]; 0 where they are too far apart to show it."""
    dense = len(hours) > 1 and np.median(np.diff(hours)) <= SCATTER_WITHIN
    return series.scatter(values) if dense else 0.0

"""How long the gas lasts: the content of the holder now, and how fast it sinks, as draws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from reportgen.calc import sampling, series, uncertainty
from reportgen.figures.gas_account import GasAccount
from reportgen.message import Message, say
from reportgen.status.cooling import DRAWS, Floats
from reportgen.trial import Readings, Trial

HOUR = 3600.0
#: Readings over less time than this tell no rate [h]; nor does a fall of fewer steps of the scale (ours).
SHORTEST, FEWEST_STEPS = 0.25, 3
#: Relative spread of the rate still to come about that so far [1] (ours).
RATE_VARIES = 0.045
#: What is forecast is what will be read: an error now and one then [1].
READ_LATER = 2**0.5
#: Older readings than this do not tell the content now [h] (ours).
TOO_OLD = 1.0


@dataclass(frozen=True)
class Gas:
    """A holder that sinks.

    Attributes
    ----------
    now : float [h]
    content : array of shape (draws,) [L as read]
        At `now`.
    rate : array of shape (draws,) [L/h as read]
        How fast it sinks; above zero.
    reserve : float [L]
        Not to be drawn; nought where none is stated.
    """

    now: float
    content: Floats
    rate: Floats
    reserve: float

    @property
    def lasts_until(self) -> Floats:
        """When the holder is down to its reserve [h], not before now."""
        return np.asarray(self.now + np.maximum(self.content - self.reserve, 0.0) / self.rate)

    def left_at(self, hours: Floats) -> Floats:
        """Return the gas above the reserve at these hours [L as read]; below zero is what is missing."""
        return np.asarray(self.content - self.reserve - self.rate * (hours - self.now))


def gas_now(trial: Trial, account: GasAccount | Message, now: float) -> Gas | Message:
    """Return the draws of a holder that the burner draws from, or why the readings do not support any."""
    if isinstance(account, Message):
        return account
    if account.kind != "holder":
        return say("only a gasholder tells how much gas is left; a meter or flow log does not")
    hours, values = sinking(trial, account)
    step = trial.sheet.gas.resolution.value if trial.sheet.gas.resolution is not None else account.volumes.step
    if len(hours) < 2 or hours[-1] - hours[0] < SHORTEST:
        return say("the holder was not read often enough since it began to sink")
    if now - hours[-1] > TOO_OLD:
        return say("the holder was last read {age} h ago", age=round(now - float(hours[-1]), 1))
    fall = float(values[0] - values[-1])
    if fall < FEWEST_STEPS * step:
        return say("the holder fell by {fall} L so far, too little to tell a rate", fall=max(round(fall, 1), 0.0))
    rate, content, rate_error, error = _line(hours, values, now, step)
    scale = trial.sheet.gas.accuracy
    zero = scale.value if scale is not None and scale.unit == "L" else 0.0
    varies = np.exp(RATE_VARIES * _normal("gas rate to come"))
    drawn = np.maximum(rate + rate_error * _normal("gas rate so far"), 0.2 * rate) * varies
    reserve = trial.sheet.gas.reserve
    spread = float(np.hypot(error, zero))
    return Gas(now, content + spread * _normal("content now"), drawn, reserve.value if reserve is not None else 0.0)


def sinking(trial: Trial, account: GasAccount) -> tuple[Floats, Floats]:
    """Return hours from lit and contents [L] since the flame was last lit or the holder last refilled."""
    lit, end = trial.burning[-1]
    since = max([lit, *(refill.end for refill in account.refills)])
    volumes = account.volumes.between(since, end)
    before = account.volumes.between(lit - HOUR / 2, lit)
    if since == lit and len(before) and trial.sheet.gas.isolated is not False:
        volumes = _with_first(volumes, before, lit)
    at, first = np.unique(volumes.at, return_index=True)
    return trial.hours_of(at), volumes.values.astype(float)[first]


def _with_first(volumes: Readings, before: Readings, lit: float) -> Readings:
    """Return readings led by the last one before lighting: a holder that is shut off stands still until then."""
    if len(volumes) and volumes.at[0] == lit:
        return volumes
    at, values = np.append(lit, volumes.at), np.append(before.values[-1], volumes.values)
    last = before.where(np.arange(len(before)) == len(before) - 1)
    rows, files = np.append(last.rows, volumes.rows), np.append(last.file_index, volumes.file_index)
    return Readings(at, values, rows, before.files, files, before.step)


def _line(hours: Floats, values: Floats, now: float, step: float) -> tuple[float, float, float, float]:
    """Return rate [L/h] and content now [L], and the standard uncertainty of each."""
    scatter = max(series.scatter(values) if len(values) > 8 else 0.0, uncertainty.rounding(step))
    if len(hours) < 4:
        span = float(hours[-1] - hours[0])
        rate, rate_error = float(values[0] - values[-1]) / span, 2**0.5 * scatter / span
    else:
        line = series.least_squares_line(hours, values)
        rate = -line.slope
        rate_error = scatter / float(np.sqrt(np.sum((hours - hours.mean()) ** 2)))
    # The content goes by the last readings, the middle of the last few: the line of the whole run may be left by then.
    last = slice(-min(3, len(hours)), None)
    content = float(np.mean(values[last] - rate * (now - hours[last])))
    return rate, content, rate_error, READ_LATER * scatter


def _normal(name: str) -> Floats:
    return np.asarray(ndtri(sampling.shares(name, DRAWS)))

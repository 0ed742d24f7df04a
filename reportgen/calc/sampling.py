"""Draws of uncertain inputs for a forecast: each named input has its own, the same every time.

The draws of one input are spread evenly over its distribution (Latin hypercube), so that medians and ends of intervals
hardly depend on chance, and changing one input leaves the draws of all others as they were. Arrays have shape (draws,).
"""

from __future__ import annotations

import functools
import math
import zlib
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

from reportgen.calc.uncertainty import DEFAULT_DRAWS, DEFAULT_SEED

Floats: TypeAlias = NDArray[np.float64]

#: Standard deviations from the middle of a normal distribution to the ends of its 95 % range.
NORMAL_95 = 1.959964
#: A quantity that cannot be nought is drawn no smaller than this share of its value [1] (ours).
SMALLEST_SHARE = 0.01


@functools.lru_cache(maxsize=128)
def shares(name: str, draws: int = DEFAULT_DRAWS) -> Floats:
    """Return evenly spread numbers between 0 and 1 in an order of this name's own.

    Parameters
    ----------
    name : str
        Of the input; equal names give equal numbers.
    draws : int
        How many; at least one.

    References
    ----------
    JCGM 101:2008, clause 6, for drawing from distributions by their inverse; McKay, Beckman and Conover 1979 for
    spreading the draws (from memory).
    """
    if draws < 1:
        raise ValueError(f"at least one draw is needed, got {draws}")
    generator = np.random.default_rng([DEFAULT_SEED, zlib.crc32(name.encode())])
    drawn = (generator.permutation(draws) + 0.5) / draws
    drawn.flags.writeable = False  # all who ask for this name share it
    return drawn


def normal(name: str, value: float, standard_uncertainty: float, *, positive: bool = False) -> Floats:
    """Return normal draws; with `positive` none is below `SMALLEST_SHARE` of the value.

    Parameters
    ----------
    name : str
        Of the input.
    value, standard_uncertainty : float
        In one unit; the uncertainty may be nought.
    positive : bool
        Whether the quantity cannot be nought or less.
    """
    if not (math.isfinite(value) and math.isfinite(standard_uncertainty) and standard_uncertainty >= 0.0):
        raise ValueError(f"{name}: {value} with standard uncertainty {standard_uncertainty} cannot be drawn")
    drawn = value + standard_uncertainty * ndtri(shares(name))
    return np.maximum(drawn, SMALLEST_SHARE * value) if positive else np.asarray(drawn)


def between(name: str, low: float, high: float) -> Floats:
    """Return draws that are as likely anywhere between two limits."""
    _require_order(name, low, high)
    return low + (high - low) * shares(name)


def between_factors(name: str, low: float, high: float) -> Floats:
    """Return draws between two positive limits whose logarithm is as likely anywhere: for bands several-fold wide."""
    _require_order(name, low, high)
    if low <= 0.0:
        raise ValueError(f"{name}: the limits must be positive, got {low}")
    return np.asarray(low * (high / low) ** shares(name))


def next_of(name: str, seen: list[float], usual_spread: float, weight: int) -> Floats:
    """Return draws of the next value of a positive quantity that was seen once or more.

    Parameters
    ----------
    name : str
        Of the input.
    seen : list of float
        Values of earlier runs [any], positive, one or more.
    usual_spread : float
        Relative standard deviation from run to run that is taken before any run was seen [1].
    weight : int
        How many degrees of freedom that is worth [1].

    Notes
    -----
    On the logarithms: Student's t about their mean with the spread s sqrt(1 + 1/n), where s² joins the usual spread,
    worth `weight` degrees of freedom, to that of the values seen, worth n - 1. One run alone is thus known to about the
    usual spread, and many runs to their own.

    References
    ----------
    The predictive distribution of a normal sample with a scaled inverse chi-squared prior of its variance, as in
    textbooks of Bayesian statistics (from memory).
    """
    logs = np.log(np.asarray(seen, dtype=float))
    if not len(logs) or not np.isfinite(logs).all():
        raise ValueError(f"{name}: positive values of one run or more are needed, got {seen}")
    count = len(logs)
    freedom = weight + count - 1
    own = float(np.sum((logs - logs.mean()) ** 2))
    spread = math.sqrt((weight * usual_spread**2 + own) / freedom)
    steps = stdtrit(freedom, shares(name))
    return np.asarray(np.exp(logs.mean() + spread * math.sqrt(1 + 1 / count) * steps))


def _require_order(name: str, low: float, high: float) -> None:
    if not (math.isfinite(low) and math.isfinite(high) and low <= high):
        raise ValueError(f"{name}: the limits {low} and {high} are no range")

"""Where the cabinet is heading: draws of first-order responses that the readings so far allow.

The report fits one curve to a whole run; early in a run many curves fit, so here what cabinets usually do is joined to
the readings, weighted by how well each curve meets them (Bayes). Times in hours from burner lit, temperatures in degC.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reportgen.calc import series, uncertainty
from reportgen.calc.uncertainty import DEFAULT_SEED
from reportgen.figures.cabinet_log import Cabinet
from reportgen.message import Message, say
from reportgen.status.usual import USUAL_DELAY, Usual
from reportgen.trial import Numbers

Floats: TypeAlias = NDArray[np.float64]

#: How many curves are drawn.
DRAWS = 1500
#: The longest dead time that is published [h].
LONGEST_DELAY = 4.0
#: Spread of the start about the first reading [K] (ours).
START_SPREAD = 2.0
#: Time constants that are weighed [h]; delays are from nought to the longest. So many of each, and so many times the
#: grid is drawn closer about those that the readings allow: logarithms of weights nearer to the best than `CLOSE`.
SHORTEST_CONSTANT, LONGEST_CONSTANT = 0.15, 8.0
CELLS, CLOSER, CLOSE = 44, 2, 9.0
#: A cabinet is not quite of first order: so much it is off the curve [K], and per hour of age [K/h] (ours).
MODEL_ERROR, AGEING = 0.12, 0.07
#: Spread of the logarithm of the time still to go, for what no curve of the past can tell: doors, flame, sun (ours).
UNFORESEEN = 0.09
#: Readings are brought down to so many points.
MOST_POINTS = 60
#: A fall tells of cooling from so many kelvin, and so many steps of the thermometer, on (ours).
LEAST_FALL, LEAST_STEPS = 2.0, 4.0
#: Older readings than this do not tell where the cabinet is now [h] (ours).
TOO_OLD = 1.0


@dataclass(frozen=True)
class Cooling:
    """Draws of the course of the cabinet; arrays have shape (draws,).

    Attributes
    ----------
    now, lit : float [h]
        The moment, and when the flame was last lit.
    start, floor : array [degC]
    constant, delay : array [h]
        The delay counts from `lit`.
    offset : array [K]
        What the thermometer reads too high.
    slower : array [1]
        Factor on the time still to go.
    """

    now: float
    lit: float
    start: Floats
    floor: Floats
    constant: Floats
    delay: Floats
    offset: Floats
    slower: Floats

    def reach(self, target: float) -> Floats:
        """Return when each draw is at `target` [degC], not before now; infinite where it never is."""
        level = target + self.offset
        share = (self.start - self.floor) / np.where(level > self.floor, level - self.floor, 1.0)
        passed = self.lit + self.delay + self.constant * np.log(np.maximum(share, 1.0))
        later = self.now + np.maximum(passed - self.now, 0.0) * self.slower
        return np.where(level > self.floor, later, np.inf)

    def first(self, draws: int) -> Cooling:
        """Return the first so many draws."""
        arrays = (self.start, self.floor, self.constant, self.delay, self.offset, self.slower)
        return Cooling(self.now, self.lit, *(array[:draws] for array in arrays))

    def course(self, hours: Floats) -> Floats:
        """Return the true temperatures of all draws at these hours from now on, shape (draws, hours)."""
        model = self.now + (hours[None, :] - self.now) / self.slower[:, None]
        since = np.maximum(model - self.lit - self.delay[:, None], 0.0)
        fall = (self.start - self.floor)[:, None] * np.exp(-since / self.constant[:, None])
        return self.floor[:, None] + fall - self.offset[:, None]


def cooling(cabinet: Cabinet, lit: float, now: float, usual: Usual) -> Cooling | Message:
    """Return draws of the cabinet's course since the flame was last lit, or why the readings do not support any."""
    chosen = (cabinet.hours >= lit - 0.25) & ~cabinet.is_doubted
    hours, values = cabinet.hours[chosen], cabinet.values[chosen]
    if not len(hours) or hours[-1] <= lit:
        return say("no cabinet reading follows the last lighting")
    if now - hours[-1] > TOO_OLD:
        return say("the cabinet was last read {age} h ago", age=round(now - float(hours[-1]), 1))
    fall, needed = fall_so_far(cabinet, lit), max(LEAST_FALL, LEAST_STEPS * cabinet.step)
    if fall < needed and not usual.of_cooling:
        return say(
            "the cabinet fell by {fall} K so far; {needed} K or more tell where it is heading",
            fall=max(round(fall, 1), 0.0),
            needed=needed,
        )
    points, levels = series.thin(hours, values, MOST_POINTS)
    together = max(len(hours) / len(points), 1.0)
    variance = cabinet.reading**2 / together + cabinet.step**2 / 12 + MODEL_ERROR**2 + (AGEING * (now - points)) ** 2
    start, floor, constant, delay = _drawn(points - lit, levels, variance, usual)
    generator = np.random.default_rng([DEFAULT_SEED, 2])
    offset = uncertainty.standard_uncertainty(cabinet.offset) * generator.standard_normal(DRAWS)
    slower = np.exp(UNFORESEEN * generator.standard_normal(DRAWS))
    return Cooling(now, lit, start, floor, constant, delay, offset, slower)


def fall_so_far(cabinet: Cabinet, lit: float) -> float:
    """Return how far the cabinet fell since the flame was last lit [K]; below zero where it warmed."""
    values = cabinet.values[(cabinet.hours >= lit - 0.25) & ~cabinet.is_doubted]
    return float(np.median(values[:3]) - np.median(values[-3:])) if len(values) > 3 else 0.0


def _drawn(at: Numbers, reading: Numbers, variance: Numbers, usual: Usual) -> tuple[Floats, Floats, Floats, Floats]:
    """Return draws of start, floor, time constant and delay, given readings with independent errors.

    For each pair of time constant and delay the curve is a straight line in start and floor, so that their distribution
    and the weight of the pair follow in closed form.
    """
    # Evenly in the logarithm of the constant and in the root of the delay.
    ends = (math.log(SHORTEST_CONSTANT), math.log(LONGEST_CONSTANT)), (0.0, math.sqrt(LONGEST_DELAY))
    for turn in range(CLOSER + 1):
        logarithms, roots = (np.linspace(low, high, CELLS) for low, high in ends)
        evidence, mean, matrix = _grid(at, reading, variance, usual, np.exp(logarithms), roots**2)
        near = evidence > evidence.max() - CLOSE
        if turn < CLOSER:
            ends = _around(logarithms, near.any(axis=1)), _around(roots, near.any(axis=0))
    weights = np.exp(evidence - evidence.max()).ravel()
    generator = np.random.default_rng([DEFAULT_SEED, 1])
    # Evenly spread draws: chance hardly moves medians and ends.
    shares = (np.arange(DRAWS) + generator.random()) / DRAWS
    cells = np.minimum(np.searchsorted(np.cumsum(weights) / weights.sum(), shares), len(weights) - 1)
    generator.shuffle(cells)
    factor = np.linalg.cholesky(matrix[cells])
    # `factor` is that of the precision: its inverse turned round gives draws of the covariance.
    steps = np.linalg.solve(np.swapaxes(factor, 1, 2), generator.standard_normal((DRAWS, 2, 1)))[:, :, 0]
    drawn = mean[cells] + steps
    return drawn[:, 0], drawn[:, 1], np.exp(logarithms[cells // CELLS]), roots[cells % CELLS] ** 2


def _around(places: Floats, chosen: NDArray[np.bool_]) -> tuple[float, float]:
    """Return the ends of the chosen places of a grid, and one place more on either side."""
    found = np.flatnonzero(chosen)
    return float(places[max(found[0] - 1, 0)]), float(places[min(found[-1] + 1, len(places) - 1)])


def _grid(
    at: Numbers, reading: Numbers, variance: Numbers, usual: Usual, constants: Floats, delays: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return the logarithms of the weights (constants, delays), and mean and precision of start and floor by cell."""
    constant, delay = (grid.ravel() for grid in np.meshgrid(constants, delays, indexing="ij"))
    since = np.maximum(at[None, :] - delay[:, None], 0.0)
    left = np.exp(-since / constant[:, None])  # share of the fall that is still to come
    before = np.array([reading[0], usual.floor[0]])
    precision = np.array([START_SPREAD**-2, usual.floor[1] ** -2])
    chi_squared, evidence, mean, matrix = _weighed(left, reading, 1 / variance, before, precision)
    # Errors that go together from point to point, and those larger than thought, count for fewer points.
    best = int(np.argmin(chi_squared))
    residuals = (reading - left[best] * mean[best, 0] - (1 - left[best]) * mean[best, 1]) / np.sqrt(variance)
    inflation = max(float(chi_squared[best]) / max(len(at) - 4, 1), 1.0) * _togetherness(residuals)
    if inflation > 1:
        _, evidence, mean, matrix = _weighed(left, reading, 1 / (inflation * variance), before, precision)
    if usual.delay is None:
        by_delay = -delays / USUAL_DELAY
    else:
        by_delay = -0.5 * ((delays - usual.delay[0]) / usual.delay[1]) ** 2
    by_delay = by_delay + np.log(np.gradient(delays))  # evenly in its root, so a step counts for its width
    by_constant = -0.5 * (np.log(constants / usual.constant[0]) / usual.constant[1]) ** 2
    return evidence.reshape(len(constants), -1) + by_constant[:, None] + by_delay, mean, matrix


def _weighed(
    left: Floats, reading: Numbers, weight: Floats, usual: Floats, precision: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return squares left, logarithm of the weight, mean (cells, 2) and precision (cells, 2, 2) of start and floor."""
    gone = 1 - left
    middle = reading - usual[1]
    ww, wg, gg = (left**2) @ weight, (left * gone) @ weight, (gone**2) @ weight
    wy, gy = left @ (weight * middle), gone @ (weight * middle)
    a, b, c = ww + precision[0], wg, gg + precision[1]
    top, low = wy + precision[0] * (usual[0] - usual[1]), gy
    determinant = a * c - b**2
    start, floor = (c * top - b * low) / determinant, (a * low - b * top) / determinant
    fitted = left * start[:, None] + gone * floor[:, None]
    squares = ((middle - fitted) ** 2) @ weight
    beside = precision[0] * (start - (usual[0] - usual[1])) ** 2 + precision[1] * floor**2
    evidence = -0.5 * (squares + beside + np.log(determinant))
    matrix = np.stack([np.stack([a, b], axis=-1), np.stack([b, c], axis=-1)], axis=-2)
    return squares, evidence, np.stack([start, floor], axis=-1) + usual[1], matrix


def _togetherness(residuals: Floats) -> float:
    """Return by how much errors that go together from one point to the next raise the variance of a mean [1]."""
    square = float(residuals @ residuals)
    if len(residuals) < 6 or square <= 0:
        return 1.0
    alike = min(max(float(residuals[1:] @ residuals[:-1]) / square, 0.0), 0.8)
    return (1 + alike) / (1 - alike) if math.isfinite(alike) else 1.0

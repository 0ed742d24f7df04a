"""Cooling as a first-order response with dead time: evaluating it, and fitting it to thermometer readings.

Floats and arrays only. Times in hours since the burner was lit, temperatures in degC, differences in K.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reportgen.calc import series
from reportgen.calc.response_noise import DOUBT_LAG, Noise, noise_of
from reportgen.calc.response_search import (
    DELAY,
    FLOOR,
    SEARCH_STEPS,
    START,
    TIME_CONSTANT,
    ResponseGrid,
    StepFit,
    first_order,
    inverse_normal_matrix,
    least_squares_step,
    search_limits,
)

__all__ = [
    "Estimate",
    "Refusal",
    "Response",
    "curve_uncertainty",
    "first_order",
    "fit_first_order",
    "least_squares_step",
    "time_to_reach",
]

Floats: TypeAlias = NDArray[np.float64]

COVERAGE = 0.95  # level of every interval; JCGM 100:2008, 6.2.2
FEWEST_READINGS = 6  # ours: two more than there are parameters
SHORTEST_SPAN = 1.5  # ours [time constants]: readings must go on so long after the delay
SMALLEST_FALL = 4.0  # ours: smallest fall, in steps of the thermometer, and in residual standard deviations
FARTHEST_FLOOR = 0.6  # ours: floor beyond the end of the curve, as a share of the fall up to there
LARGEST_UNCERTAINTY = 0.35  # ours: relative standard uncertainty of the time constant
LONGEST_SPAN = 12.0  # ours [time constants]: what a long log holds later after the delay is left out
MOST_POINTS = 400  # ours: longer logs are thinned to means over equal stretches of time
PROFILE_STEPS = 61  # ours: points of the grid the intervals are read from, in each direction
GRADIENT_STEP = 0.1  # of a numerical gradient, in standard uncertainties of the parameter
DOUBT_SHARE = 0.01  # ours: residuals that agree over `DOUBT_LAG` and cast doubt, as a share of the fall


@dataclass(frozen=True)
class Estimate:
    """A fitted value, its standard uncertainty, and the ends of its 95 % interval, not always symmetric."""

    value: float
    standard_uncertainty: float
    low: float
    high: float


@dataclass(frozen=True)
class Response:
    """A first-order response with dead time fitted to readings.

    Attributes
    ----------
    start, floor : Estimate [degC]
    time_constant, delay : Estimate [h]
        Where no delay was allowed it is zero without uncertainty.
    covariance : (4, 4) array
        Of start, floor, time constant and delay; (3, 3) where no delay was allowed.
    residual_sd : float [K]
        Scatter of the readings about the curve, not below that from rounding to the thermometer's step.
    residual_correlation : float
        Correlation of the noise of two readings one median step apart.
    effective_count : float
        Independent readings that would tell as much of a mean as the points used.
    model_doubt : str or None
        What in the residuals says that the readings follow another curve, if anything does. The intervals
        then take the misfit for correlated noise and are wider, but answer for this curve only.
    readings, used : int
        Readings given, and points fitted after thinning and without the end of a long plateau.
    """

    start: Estimate
    floor: Estimate
    time_constant: Estimate
    delay: Estimate
    covariance: Floats
    residual_sd: float
    residual_correlation: float
    effective_count: float
    model_doubt: str | None
    readings: int
    used: int


def curve_uncertainty(found: Response, hours: Floats) -> Floats:
    """Return the standard uncertainty of a fitted curve.

    Parameters
    ----------
    hours : (n,) array [h]
        From the start of the response.

    Returns
    -------
    (n,) array [K]
        From the readings alone; an error that all of them share, such as that of the thermometer, comes on top.

    Notes
    -----
    u^2 = g C g^T with the gradient g of the curve by its parameters and their covariance C.

    References
    ----------
    JCGM 100:2008, equation 13.
    """
    values = np.array([found.start.value, found.floor.value, found.time_constant.value, found.delay.value])
    free = len(found.covariance)
    steps = np.maximum(np.sqrt(np.diag(found.covariance)) * GRADIENT_STEP, 1e-9)
    gradient = np.empty((len(hours), free))
    for i in range(free):
        shift = np.zeros(len(values))
        shift[i] = steps[i]
        gradient[:, i] = (first_order(hours, *(values + shift)) - first_order(hours, *(values - shift))) / (
            2 * steps[i]
        )
    return np.sqrt(np.asarray(np.einsum("ni,ij,nj->n", gradient, found.covariance, gradient), dtype=np.float64))


@dataclass(frozen=True)
class Refusal:
    """Why readings do not support a fit: a stable code, and the numbers behind it (h, degC, K, counts).

    Codes: ``too_few_readings``, ``no_fall``, ``span_too_short``, ``floor_too_far``,
    ``time_constant_uncertain``, ``not_converged``.
    """

    reason_code: str
    values: Mapping[str, float]


def time_to_reach(target: float, start: float, floor: float, time_constant: float, delay: float) -> float | None:
    """Return when [h] a first-order response with dead time is at `target` [degC] for the first time.

    Parameters
    ----------
    target, start, floor : float [degC]
    time_constant, delay : float [h]

    Returns
    -------
    float or None [h]
        Zero for the start itself; None where the response never gets there, as for the floor itself.

    Raises
    ------
    ValueError
        If the time constant is not above zero.

    Notes
    -----
    t = delay + time_constant ln((start - floor) / (target - floor)), for warming as for cooling.
    """
    if not time_constant > 0:
        raise ValueError("the time constant must be above zero")
    if target == start:
        return 0.0
    if target == floor or (start - floor) / (target - floor) < 1:
        return None
    return delay + time_constant * math.log((start - floor) / (target - floor))


def fit_first_order(
    hours: ArrayLike, temperatures: ArrayLike, resolution: float, *, allow_delay: bool = True
) -> Response | Refusal:
    """Fit a first-order cooling response with dead time to readings, or say why they do not support one.

    Parameters
    ----------
    hours : (n,) array [h]
        Since the burner was lit. Earlier readings, and those that are not numbers, are left out.
    temperatures : (n,) array [degC]
    resolution : float [K]
        Smallest step of the thermometer or of the writer.
    allow_delay : bool
        False holds the delay at zero.

    Returns
    -------
    Response or Refusal
        An error shared by all readings, such as the thermometer's offset, is not part of the intervals.

    Raises
    ------
    ValueError
        If hours and temperatures are not equally long or the resolution is negative.

    Notes
    -----
    Least squares; the standard uncertainties allow for noise that is correlated from reading to reading (with
    a correlation that falls off exponentially with the time between) and for rounding, which is the same for
    readings of the same temperature. The intervals are profile intervals: all values at which the other
    parameters can be so chosen that the sum of squares grows by no more than t^2 times what that noise makes
    likely, t being Student's.

    References
    ----------
    D. M. Bates and D. G. Watts, Nonlinear Regression Analysis and Its Applications (1988), 6.1 (from memory).
    """
    at, reading = np.asarray(hours, dtype=np.float64), np.asarray(temperatures, dtype=np.float64)
    if at.ndim != 1 or at.shape != reading.shape:
        raise ValueError("hours and temperatures must be plain lists of equal length")
    if not resolution >= 0:
        raise ValueError("the resolution must not be negative")
    usable = np.isfinite(at) & np.isfinite(reading) & (at >= 0)
    count = int(np.count_nonzero(usable))
    if count < len(at):
        at, reading = at[usable], reading[usable]
    if np.any(np.diff(at) < 0):
        order = np.argsort(at, kind="stable")
        at, reading = at[order], reading[order]
    # Readings of one instant count as one, their mean.
    firsts = np.concatenate(([0], np.flatnonzero(np.diff(at)) + 1)) if len(at) else np.empty(0, dtype=np.int64)
    together = np.diff(firsts, append=len(at))
    at = at[firsts]
    if len(at) < FEWEST_READINGS:
        return Refusal("too_few_readings", {"readings": float(len(at)), "needed": float(FEWEST_READINGS)})
    reading = np.add.reduceat(reading, firsts) / together
    lowest_fall = SMALLEST_FALL * resolution
    observed = float(reading.max() - reading.min())
    if observed <= lowest_fall:
        return Refusal("no_fall", {"fall": observed, "needed": lowest_fall})
    at, reading, fit = _fit_thinned(at, reading, allow_delay)
    refusal = _refusal_of_curve(at, fit, resolution)
    if refusal is not None:
        return refusal
    noise = noise_of(at, reading, fit, resolution)
    estimates, covariance = _estimates(at, reading, fit, noise)
    constant = estimates[TIME_CONSTANT]
    relative = constant.standard_uncertainty / constant.value
    if relative > LARGEST_UNCERTAINTY:
        return Refusal(
            "time_constant_uncertain",
            {
                "time_constant": constant.value,
                "relative_uncertainty": relative,
                "allowed": LARGEST_UNCERTAINTY,
            },
        )
    return Response(
        start=estimates[START],
        floor=estimates[FLOOR],
        time_constant=constant,
        delay=estimates[DELAY],
        covariance=covariance,
        residual_sd=noise.sd,
        residual_correlation=noise.step_correlation,
        effective_count=noise.effective_count,
        model_doubt=_model_doubt(at, fit, noise, resolution),
        readings=count,
        used=len(at),
    )


def _fit_thinned(at: Floats, reading: Floats, allow_delay: bool) -> tuple[Floats, Floats, StepFit]:
    """Return the points fitted and their curve: of a long log, without what comes long after the response."""
    while True:
        points, levels = series.thin(at, reading, MOST_POINTS)
        fit = least_squares_step(points, levels, allow_delay=allow_delay)
        delay, over = (
            fit.parameters[DELAY],
            fit.parameters[DELAY] + LONGEST_SPAN * fit.parameters[TIME_CONSTANT],
        )
        falling = int(np.count_nonzero((at > delay) & (at <= over)))
        if len(at) <= MOST_POINTS or at[-1] <= over or falling < FEWEST_READINGS:
            return points, levels, fit
        at, reading = at[at <= over], reading[at <= over]


def _refusal_of_curve(at: Floats, fit: StepFit, resolution: float) -> Refusal | None:
    start, floor, constant, delay = (float(value) for value in fit.parameters)
    freedom = max(len(at) - len(fit.free), 1)
    sd = math.sqrt(max(fit.residual_sum_of_squares / freedom, resolution**2 / 12))
    end = float(first_order(at[-1], start, floor, constant, delay))
    fall, needed = start - end, SMALLEST_FALL * max(resolution, sd)
    if fall <= needed:
        return Refusal("no_fall", {"fall": fall, "needed": needed})
    (shortest, _), _ = search_limits(at, True)
    if constant <= shortest * 1.001:
        return Refusal("not_converged", {"time_constant": constant})
    if end - floor > FARTHEST_FLOOR * fall:
        return Refusal("floor_too_far", {"floor": floor, "end": end, "allowed": FARTHEST_FLOOR * fall})
    span = float(at[-1]) - delay
    if span < SHORTEST_SPAN * constant:
        return Refusal(
            "span_too_short",
            {"span": span, "needed": SHORTEST_SPAN * constant, "time_constant": constant},
        )
    return None


def _estimates(
    at: Floats, reading: Floats, fit: StepFit, noise: Noise
) -> tuple[tuple[Estimate, Estimate, Estimate, Estimate], Floats]:
    """Return each parameter with its profile interval, and their covariance."""
    from scipy.special import stdtrit

    quantile = float(stdtrit(noise.freedom, (1 + COVERAGE) / 2))
    inverse = inverse_normal_matrix(fit.jacobian)
    averaged = noise.blocks @ fit.jacobian
    effect = inverse_normal_matrix(averaged) @ averaged.T
    sandwich = effect @ noise.covariance @ effect.T
    # Growth of the sum of squares allowed to each parameter: t^2 times its variance over that for unit noise.
    alone = np.maximum(np.diag(inverse), np.finfo(float).tiny)
    allowed = np.zeros(4)
    allowed[list(fit.free)] = quantile**2 * np.maximum(np.diag(sandwich) / alone, noise.sd**2 * 1e-9)
    ends = _profile_ends(at, reading, fit, allowed)
    half_widths = np.array([(ends[index][1] - ends[index][0]) / 2 for index in fit.free])
    uncertainties = half_widths / quantile
    roots = np.sqrt(np.maximum(np.diag(sandwich), np.finfo(float).tiny))
    correlation = np.clip(sandwich / np.outer(roots, roots), -1, 1)
    covariance = correlation * np.outer(uncertainties, uncertainties)
    known = dict(zip(fit.free, uncertainties, strict=True))
    start, floor, constant, delay = (
        Estimate(float(fit.parameters[index]), float(known.get(index, 0.0)), *ends[index]) for index in range(4)
    )
    return (start, floor, constant, delay), covariance


def _profile_ends(at: Floats, reading: Floats, fit: StepFit, allowed: Floats) -> list[tuple[float, float]]:
    """Return the lowest and highest value of each parameter that the growth `allowed` [K^2] admits."""
    least = fit.residual_sum_of_squares
    allow_delay = DELAY in fit.free
    (shortest, _), (longest, last_delay) = search_limits(at, allow_delay)
    constant, delay = float(fit.parameters[TIME_CONSTANT]), float(fit.parameters[DELAY])
    limit = least + float(allowed.max())
    box = [shortest, longest, 0.0, last_delay]
    grid = _box_grid(at, reading, box, constant, delay, SEARCH_STEPS)
    for _ in range(3):  # each look closes in on where the limit is met, with one cell to spare
        inside = grid.squares <= limit
        rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
        if len(rows) and len(columns):
            box = [
                grid.constants[max(rows[0] - 1, 0)],
                grid.constants[min(rows[-1] + 1, len(grid.constants) - 1)],
                grid.delays[max(columns[0] - 1, 0)],
                grid.delays[min(columns[-1] + 1, len(grid.delays) - 1)],
            ]
        grid = _box_grid(at, reading, box, constant, delay, PROFILE_STEPS)
    ends = []
    for index, level, variance in (
        (START, grid.start, grid.start_variance),
        (FLOOR, grid.floor, grid.floor_variance),
    ):
        reach = np.sqrt(np.maximum((least + allowed[index] - grid.squares) * variance, 0.0))
        admitted = grid.squares <= least + allowed[index]
        value = float(fit.parameters[index])
        ends.append(
            (
                min(value, float((level - reach)[admitted].min(initial=value))),
                max(value, float((level + reach)[admitted].max(initial=value))),
            )
        )
    for index, axis, squares in (
        (TIME_CONSTANT, grid.constants, grid.squares.min(axis=1)),
        (DELAY, grid.delays, grid.squares.min(axis=0)),
    ):
        ends.append(_crossing_ends(axis, squares, least + allowed[index], float(fit.parameters[index])))
    return ends


def _box_grid(at: Floats, reading: Floats, box: list[float], constant: float, delay: float, steps: int) -> ResponseGrid:
    """Return the grid over a box of time constants and delays, with the best pair among its points."""
    constants = np.unique(np.append(np.geomspace(box[0], box[1], steps), constant))
    delays = np.unique(np.append(np.linspace(box[2], box[3], steps), delay))
    return ResponseGrid(at, reading, constants, delays)


def _crossing_ends(axis: Floats, squares: Floats, limit: float, value: float) -> tuple[float, float]:
    """Return the outermost places on `axis` where `squares`, joined by straight lines, meets `limit`."""
    admitted = np.flatnonzero(squares <= limit)
    if len(admitted) == 0:
        return value, value

    def meet(inner: int, outer: int) -> float:
        if not 0 <= outer < len(axis):
            return float(axis[inner])
        share = (limit - squares[inner]) / (squares[outer] - squares[inner])
        return float(axis[inner] + share * (axis[outer] - axis[inner]))

    first, last = int(admitted[0]), int(admitted[-1])
    return min(value, meet(first, first - 1)), max(value, meet(last, last + 1))


def _model_doubt(at: Floats, fit: StepFit, noise: Noise, resolution: float) -> str | None:
    """Return how far the readings stay off the curve, where noise and thermometer do not explain it."""
    start, floor, constant, delay = (float(value) for value in fit.parameters)
    fall = start - float(first_order(at[-1], start, floor, constant, delay))
    if noise.drift <= max(DOUBT_SHARE * fall, resolution / 2):
        return None
    return (
        f"residuals drift: the readings stay about {noise.drift:.1f} K off the curve, to one side, "
        f"for {DOUBT_LAG * constant:.1f} h and longer"
    )

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

Floats: TypeAlias = NDArray[np.float64]

COVERAGE = 0.95  # level of every interval; JCGM 100:2008, 6.2.2
FEWEST_READINGS = 6  # ours: two more than there are parameters
SHORTEST_SPAN = 1.5  # ours [time constants]: readings must go on so long after the delay
SMALLEST_FALL = 4.0  # ours: the fall in steps of the thermometer, and in residual standard deviations
FARTHEST_FLOOR = 0.6  # ours: floor beyond the end of the curve, as a share of the fall up to there
LARGEST_UNCERTAINTY = 0.35  # ours: relative standard uncertainty of the time constant
MOST_POINTS = 400  # ours: longer logs are thinned to means over equal stretches of time
SEARCH_LOW, SEARCH_HIGH = 0.01, 20.0  # ours: time constants searched, as shares of the time readings span
SEARCH_STEPS = 80  # ours: points of the search grid in each direction
PROFILE_STEPS = 61  # ours: points of the grid the intervals are read from, in each direction
LONGEST_CORRELATION = 0.3  # ours: longest correlation time of the noise, as a share of the time readings span
CORRELATION_EVIDENCE = 1.0  # ours: log likelihood that correlation must gain over independent noise
NOISE_POINTS = 80  # ours: means over equal stretches of time that the noise is judged from
CORRELATION_TIMES = 14  # ours: correlation times tried
FRESH_SHARES = (0.0, 0.3, 0.6, 0.8, 0.9)  # ours: shares tried of noise that is new in each reading
LEAST_WEIGHT = 0.03  # ours: likelihood, relative to the best, below which a correlation time is left out
DOUBT_LAG = 0.25  # ours [time constants]: residuals that agree over so long a time are the curve's fault, not noise
DOUBT_SHARE = 0.01  # ours: such residuals that cast doubt, as a share of the fall

NAMES = ("start", "floor", "time_constant", "delay")
START, FLOOR, TIME_CONSTANT, DELAY = range(4)


@dataclass(frozen=True)
class Estimate:
    """A fitted value with its standard uncertainty and the ends of its 95 % interval, which need not be symmetric."""

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
        What in the residuals says that the readings follow another curve, if anything does. The intervals then take
        the misfit for correlated noise and are wider, but answer for this curve only.
    readings, used : int
        Readings given, and points fitted after thinning.
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


@dataclass(frozen=True)
class Refusal:
    """Why readings do not support a fit: a stable code, and the numbers that led to it (hours, degC, K, counts).

    Codes: ``too few readings``, ``no fall``, ``span too short``, ``floor too far``, ``time constant uncertain``,
    ``not converged``.
    """

    reason_code: str
    values: Mapping[str, float]


@dataclass(frozen=True)
class StepFit:
    """A least-squares fit of the curve.

    Attributes
    ----------
    parameters : (4,) array
        Start, floor [degC], time constant, delay [h].
    free : tuple of int
        Which of them were fitted.
    residuals : (n,) array [K]
        Reading minus curve.
    jacobian : (n, p) array
        Derivative of the curve by the fitted parameters.
    """

    parameters: Floats
    free: tuple[int, ...]
    residuals: Floats
    jacobian: Floats

    @property
    def residual_sum_of_squares(self) -> float:
        """Sum of the squared residuals [K^2]."""
        return float(self.residuals @ self.residuals)


def first_order(hours: ArrayLike, start: float, floor: float, time_constant: float, delay: float) -> Floats:
    """Return the temperature [degC] of a first-order response with dead time. Floats and arrays only.

    Parameters
    ----------
    hours : scalar or (n,) array [h]
    start : float [degC]
        Temperature until the delay is over.
    floor : float [degC]
        Temperature the response is heading for, above `start` for warming.
    time_constant, delay : float [h]

    Returns
    -------
    scalar or (n,) array [degC]

    Raises
    ------
    ValueError
        If the time constant is not above zero.

    Notes
    -----
    T(t) = start for t <= delay, else floor + (start - floor) exp(-(t - delay) / time_constant).
    """
    if not time_constant > 0:
        raise ValueError("the time constant must be above zero")
    since = np.maximum(np.asarray(hours, dtype=np.float64) - delay, 0.0)
    return np.asarray(floor + (start - floor) * np.exp(-since / time_constant))


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


def least_squares_step(
    hours: ArrayLike,
    temperatures: ArrayLike,
    *,
    allow_delay: bool = True,
    known_start: float | None = None,
    guess: tuple[float, float] | None = None,
) -> StepFit:
    """Return the curve that leaves the least sum of squares, without judging whether the readings support it.

    Parameters
    ----------
    hours, temperatures : (n,) arrays [h], [degC]
        In order of time, at least two different times.
    allow_delay : bool
        False holds the delay at zero.
    known_start : float or None [degC]
        Holds the start at this value.
    guess : (float, float) or None [h]
        Time constant and delay to set out from; found by search if not given.

    Returns
    -------
    StepFit

    Notes
    -----
    The curve is linear in start and floor, so the search goes over time constant and delay only and finds the best
    start and floor for each pair in closed form.

    References
    ----------
    G. H. Golub and V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413, on separable least squares (from memory).
    """
    from scipy.optimize import least_squares

    at, reading = np.asarray(hours, dtype=np.float64), np.asarray(temperatures, dtype=np.float64)
    low, high = _search_limits(at, allow_delay)
    constants = np.geomspace(low[0], high[0], SEARCH_STEPS) if guess is None else np.array([guess[0]])
    delays = np.linspace(low[1], high[1], SEARCH_STEPS) if guess is None else np.array([guess[1]])
    grid = _Grid(at, reading, constants, delays if allow_delay else np.zeros(1))
    row, column = np.unravel_index(int(np.argmin(grid.squares)), grid.squares.shape)
    parameters = np.array(
        [grid.start[row, column], grid.floor[row, column], grid.constants[row], grid.delays[column]]
    )
    if known_start is not None:
        parameters[START] = known_start
    free = tuple(
        index
        for index in (START, FLOOR, TIME_CONSTANT, DELAY)
        if not (index == START and known_start is not None) and not (index == DELAY and not allow_delay)
    )
    chosen = list(free)
    lowest = np.array([-np.inf, -np.inf, low[0], -1e-12])[chosen]
    highest = np.array([np.inf, np.inf, high[0], high[1] + 1e-12])[chosen]

    def whole(part: Floats) -> Floats:
        full = parameters.copy()
        full[chosen] = part
        return full

    solved = least_squares(
        lambda part: first_order(at, *whole(part)) - reading,
        np.clip(parameters[chosen], lowest + 1e-13, highest - 1e-13),
        jac=lambda part: _derivatives(at, whole(part))[:, chosen],
        bounds=(lowest, highest),
        x_scale="jac",
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-14,
        max_nfev=200,
    )
    best = whole(solved.x)
    best[DELAY] = max(best[DELAY], 0.0)
    return StepFit(best, free, reading - first_order(at, *best), _derivatives(at, best)[:, chosen])


def inverse_normal_matrix(jacobian: Floats) -> Floats:
    """Return the covariance of least-squares parameters for independent noise of variance one, (p, p)."""
    # Columns are brought to one length first. Start and delay cannot be told apart without a reading in the delay.
    lengths = np.maximum(np.linalg.norm(jacobian, axis=0), np.finfo(float).tiny)
    scaled = jacobian / lengths
    return np.asarray(np.linalg.pinv(scaled.T @ scaled, hermitian=True) / np.outer(lengths, lengths))


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
    Least squares; the standard uncertainties allow for noise that is correlated from reading to reading (with a
    correlation that falls off exponentially with the time between) and for rounding, which is the same for readings of
    the same temperature. The intervals are profile intervals: all values at which the other parameters can be so
    chosen that the sum of squares grows by no more than t^2 times what that noise makes likely, t being Student's.

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
    order = np.argsort(at[usable], kind="stable")
    at, reading = at[usable][order], reading[usable][order]
    readings = len(at)
    at, reading = series.thin(at, reading, MOST_POINTS)
    if len(np.unique(at)) < FEWEST_READINGS:
        return Refusal("too few readings", {"readings": float(readings), "needed": float(FEWEST_READINGS)})
    lowest_fall = SMALLEST_FALL * resolution
    observed = float(reading.max() - reading.min())
    if observed <= lowest_fall:
        return Refusal("no fall", {"fall": observed, "needed": lowest_fall})
    fit = least_squares_step(at, reading, allow_delay=allow_delay)
    refusal = _refusal_of_curve(at, fit, resolution)
    if refusal is not None:
        return refusal
    noise = _noise(at, reading, fit, resolution)
    estimates, covariance = _estimates(at, reading, fit, noise)
    constant = estimates[TIME_CONSTANT]
    relative = constant.standard_uncertainty / constant.value
    if relative > LARGEST_UNCERTAINTY:
        return Refusal(
            "time constant uncertain",
            {"time_constant": constant.value, "relative_uncertainty": relative, "allowed": LARGEST_UNCERTAINTY},
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
        readings=readings,
        used=len(at),
    )


@dataclass(frozen=True)
class _Noise:
    """Noise of the readings.

    `covariance` [K^2] is that of the means over stretches of time that `blocks` takes, `sd` [K] that of one reading,
    `drift` [K] the part of it that two readings `DOUBT_LAG` time constants apart have in common.
    """

    blocks: Floats
    covariance: Floats
    sd: float
    step_correlation: float
    effective_count: float
    freedom: float
    drift: float


class _Grid:
    """Best start and floor, and what they leave, for every pair of time constant (rows) and delay (columns).

    With x = 1 up to the delay and exp(-(t - delay) / time constant) after it, T = floor + (start - floor) x is a
    straight line in x. Sums over the readings after each delay come from one running sum per time constant.
    """

    def __init__(self, at: Floats, reading: Floats, constants: Floats, delays: Floats) -> None:
        self.constants, self.delays = constants, delays
        count, mean = len(at), float(reading.mean())
        since = at - at[0]
        centred = reading - mean
        decays = np.exp(-since / constants[:, None])
        before = np.searchsorted(at, delays, side="right")
        growth = np.exp((delays - at[0]) / constants[:, None])

        def after(terms: Floats) -> Floats:
            backward = np.cumsum(terms[:, ::-1], axis=1)[:, ::-1]
            return np.concatenate((backward, np.zeros((len(terms), 1))), axis=1)[:, before]

        sum_x = before + growth * after(decays)
        sum_xx = before + growth**2 * after(decays**2)
        led = np.concatenate(([0.0], np.cumsum(centred)))[before]
        sum_xy = led + growth * after(decays * centred)
        spread = np.maximum(sum_xx - sum_x**2 / count, 1e-12 * count)
        slope = sum_xy / spread
        mean_x = sum_x / count
        self.squares = np.maximum(float(centred @ centred) - slope * sum_xy, 0.0)
        self.floor = mean - slope * mean_x
        self.start = self.floor + slope
        #: Variance of floor and start for noise of variance one and known time constant and delay.
        self.floor_variance = 1 / count + mean_x**2 / spread
        self.start_variance = 1 / count + (1 - mean_x) ** 2 / spread


def _search_limits(at: Floats, allow_delay: bool) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the lowest and highest time constant and delay searched [h]."""
    span = float(at[-1] - at[0])
    # The curve after the delay must still be seen by three readings.
    last_delay = float(at[max(len(at) - 4, 0)]) if allow_delay else 0.0
    return (SEARCH_LOW * span, 0.0), (SEARCH_HIGH * span, last_delay)


def _derivatives(at: Floats, parameters: Floats) -> Floats:
    """Return the derivatives of the curve by start, floor, time constant and delay, (n, 4)."""
    start, floor, constant, delay = parameters
    since = np.maximum(at - delay, 0.0)
    decay = np.exp(-since / constant)
    falling = (start - floor) * decay / constant
    return np.column_stack((decay, 1 - decay, falling * since / constant, np.where(at > delay, falling, 0.0)))


def _refusal_of_curve(at: Floats, fit: StepFit, resolution: float) -> Refusal | None:
    start, floor, constant, delay = (float(value) for value in fit.parameters)
    freedom = max(len(at) - len(fit.free), 1)
    sd = math.sqrt(max(fit.residual_sum_of_squares / freedom, resolution**2 / 12))
    end = float(first_order(at[-1], start, floor, constant, delay))
    fall, needed = start - end, SMALLEST_FALL * max(resolution, sd)
    if fall <= needed:
        return Refusal("no fall", {"fall": fall, "needed": needed})
    (shortest, _), (longest, _) = _search_limits(at, True)
    if constant <= shortest * 1.001:
        return Refusal("not converged", {"time_constant": constant})
    span = float(at[-1]) - delay
    if span < SHORTEST_SPAN * constant:
        return Refusal(
            "span too short",
            {"span": span, "needed": SHORTEST_SPAN * constant, "time_constant": constant},
        )
    if end - floor > FARTHEST_FLOOR * fall:
        return Refusal("floor too far", {"floor": floor, "end": end, "allowed": FARTHEST_FLOOR * fall})
    return None


def _noise(at: Floats, reading: Floats, fit: StepFit, resolution: float) -> _Noise:
    """Return the noise that the residuals and the thermometer's step speak for."""
    blocks = _blocks(at, NOISE_POINTS)
    middle, fitted = blocks @ at, blocks @ (reading - fit.residuals)
    residuals, jacobian = blocks @ fit.residuals, blocks @ fit.jacobian
    count, parameters = jacobian.shape
    squares = float(residuals @ residuals)
    axes, _ = np.linalg.qr(jacobian)
    rounding = resolution**2 / 12
    covariance = np.zeros((count, count))
    other = growth = freedom = mean_variance = carried = drift = 0.0
    long_lag = DOUBT_LAG * float(fit.parameters[TIME_CONSTANT])
    median_step = float(np.median(np.diff(at)))
    lags = np.abs(middle[:, None] - middle)
    for weight, length, fresh in _likely_correlations(lags, residuals, jacobian):
        correlation = _correlation(lags, length, fresh)
        spread = correlation @ axes
        inner = axes.T @ spread
        # Sum of squares that noise of variance one leaves after the fit: its mean, and half its variance.
        left = max(float(count - np.trace(inner)), 1e-6 * count)
        left_squared = float(np.sum(correlation**2)) - 2 * float(np.sum(spread**2)) + float(np.sum(inner**2))
        size = max(squares / left - rounding, 0.0)
        covariance += weight * size * correlation
        other += weight * size
        growth += weight * (count - parameters) / left
        freedom += weight * left_squared / left**2
        mean_variance += weight * max(squares / left, rounding) * float(np.sum(correlation)) / count**2
        if length > 0:
            carried += weight * size * (1 - fresh) * math.exp(-median_step / length)
            drift += weight * size * (1 - fresh) * math.exp(-long_lag / length)
    covariance += rounding * _rounding_correlation(fitted, other, resolution)
    variance = max(growth * fit.residual_sum_of_squares / (len(at) - parameters), rounding)
    # Noise of variance zero, from a thermometer without steps, tells all there is.
    alone = variance / mean_variance if mean_variance > 0 else math.inf
    return _Noise(
        blocks=blocks,
        covariance=covariance,
        sd=math.sqrt(variance),
        step_correlation=min(carried / variance, 1.0) if variance > 0 else 0.0,
        effective_count=min(alone, float(len(at))),
        freedom=max(1 / freedom, 1.0),
        drift=math.sqrt(drift),
    )


def _blocks(at: Floats, limit: int) -> Floats:
    """Return the matrix that takes means over at most `limit` equal stretches of time, (blocks, n)."""
    if len(at) <= limit:
        return np.eye(len(at))
    number = np.minimum((at - at[0]) * (limit / (at[-1] - at[0])), limit - 1).astype(np.int64)
    occupied, number = np.unique(number, return_inverse=True)
    members = (np.arange(len(occupied))[:, None] == number).astype(np.float64)
    return np.asarray(members / members.sum(axis=1, keepdims=True))


def _correlation(lags: Floats, length: float, fresh: float) -> Floats:
    """Return the correlation of noise of which the share `fresh` is new in each reading."""
    if length == 0:
        return np.eye(len(lags))
    return (1 - fresh) * np.exp(-lags / length) + fresh * np.eye(len(lags))


def _rounding_correlation(fitted: Floats, variance: float, resolution: float) -> Floats:
    """Return the correlation of the rounding errors of readings whose true values lie on the curve, (n, n).

    Rounding errors at temperatures d steps apart have the correlation 1 - 6 d (1 - d), d taken modulo one, averaged
    over where the temperatures lie between two steps. Noise before rounding blurs it.
    """
    if resolution == 0:
        return np.eye(len(fitted))
    apart = np.abs(fitted[:, None] - fitted) / resolution
    blur = math.exp(-4 * math.pi**2 * variance / resolution**2)
    correlation = np.where(apart < 0.5, np.maximum(1 - 6 * apart * (1 - apart), 0.0), 0.0) * blur
    np.fill_diagonal(correlation, 1.0)
    return correlation


def _likely_correlations(lags: Floats, residuals: Floats, jacobian: Floats) -> list[tuple[float, float, float]]:
    """Return what the noise may be like by restricted likelihood: weight, correlation time [h], share that is fresh.

    Noise correlated over a time, plus noise that is new in each reading as from rounding, each in any share.
    """
    count, parameters = jacobian.shape
    independent = [(1.0, 0.0, 0.0)]
    typical = float(np.median(np.diagonal(lags, offset=1)))
    shortest, longest = 0.3 * typical, LONGEST_CORRELATION * float(lags[0, -1])
    if longest <= shortest or not np.any(residuals):
        return independent
    lengths = np.geomspace(shortest, longest, CORRELATION_TIMES)
    kinds = [(0.0, 0.0)] + [(float(length), fresh) for fresh in FRESH_SHARES for length in lengths]
    decays = np.exp(-lags / lengths[:, None, None])
    correlations = np.concatenate([np.eye(count)[None]] + [(1 - fresh) * decays for fresh in FRESH_SHARES])
    correlations[1:, np.arange(count), np.arange(count)] = 1.0
    columns = np.column_stack((jacobian / np.linalg.norm(jacobian, axis=0).clip(1e-300), residuals))
    solved = np.linalg.solve(correlations, np.broadcast_to(columns, (len(kinds), *columns.shape)))
    normal = columns.T @ solved
    design = normal[:, :-1, :-1] + 1e-9 * np.eye(parameters)
    explained = np.linalg.solve(design, normal[:, :-1, -1:])[:, :, 0]
    remaining = normal[:, -1, -1] - np.sum(explained * normal[:, :-1, -1], axis=1)
    likelihood = -0.5 * (
        (count - parameters) * np.log(np.maximum(remaining, np.finfo(float).tiny))
        + np.linalg.slogdet(correlations)[1]
        + np.linalg.slogdet(design)[1]
    )
    best = float(likelihood.max())
    if best - float(likelihood[0]) <= CORRELATION_EVIDENCE:
        return independent
    weights = np.exp(likelihood - best)
    weights[weights < LEAST_WEIGHT] = 0.0
    weights /= weights.sum()
    return [(float(weight), *kind) for weight, kind in zip(weights, kinds, strict=True) if weight > 0]


def _estimates(
    at: Floats, reading: Floats, fit: StepFit, noise: _Noise
) -> tuple[tuple[Estimate, Estimate, Estimate, Estimate], Floats]:
    """Return each parameter with its profile interval, and their covariance."""
    from scipy.stats import t as student

    quantile = float(student.ppf((1 + COVERAGE) / 2, noise.freedom))
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
    """Return the lowest and highest start, floor, time constant and delay that the growth `allowed` [K^2] admits."""
    least = fit.residual_sum_of_squares
    allow_delay = DELAY in fit.free
    (shortest, _), (longest, last_delay) = _search_limits(at, allow_delay)
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


def _box_grid(
    at: Floats, reading: Floats, box: list[float], constant: float, delay: float, steps: int
) -> _Grid:
    """Return the grid over a box of time constants and delays, with the best pair among its points."""
    constants = np.unique(np.append(np.geomspace(box[0], box[1], steps), constant))
    delays = np.unique(np.append(np.linspace(box[2], box[3], steps), delay))
    return _Grid(at, reading, constants, delays)


def _crossing_ends(axis: Floats, squares: Floats, limit: float, value: float) -> tuple[float, float]:
    """Return the outermost points of `axis` where `squares` meets `limit`, by straight lines between its points."""
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


def _model_doubt(at: Floats, fit: StepFit, noise: _Noise, resolution: float) -> str | None:
    """Return how far the readings stay off the curve, where that is more than noise and the thermometer explain."""
    start, floor, constant, delay = (float(value) for value in fit.parameters)
    fall = start - float(first_order(at[-1], start, floor, constant, delay))
    if noise.drift <= max(DOUBT_SHARE * fall, resolution / 2):
        return None
    return (
        f"residuals drift: the readings stay about {noise.drift:.1f} K off the curve, to one side, "
        f"for {DOUBT_LAG * constant:.1f} h and longer"
    )

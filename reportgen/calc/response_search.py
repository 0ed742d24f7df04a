"""The first-order response with dead time as a curve, and its least-squares fit, unjudged.

Floats and arrays only. Times in hours, temperatures in degC, differences in K.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]

SEARCH_LOW, SEARCH_HIGH = 0.01, 20.0  # ours: time constants searched, as shares of the time readings span
SEARCH_STEPS = 80  # ours: points of the search grid in each direction
FEWEST_AFTER_DELAY = 3  # ours: readings that must lie after the delay
TOLERANCE = 1e-14  # ours: relative change at which the solver stops, close to the precision of the numbers
MOST_EVALUATIONS = 200  # ours

START, FLOOR, TIME_CONSTANT, DELAY = range(4)


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


class ResponseGrid:
    """Best start and floor, and the squares left, for each time constant (rows) and delay (columns).

    With x = 1 up to the delay and exp(-(t - delay) / time constant) after it, T = floor + (start - floor) x
    is a straight line in x. Sums over the readings after each delay come from running sums.
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
    The curve is linear in start and floor, so the search goes over time constant and delay only and finds the
    best start and floor for each pair in closed form.

    References
    ----------
    G. H. Golub and V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413, on separable least squares (from memory).
    """
    from scipy.optimize import least_squares

    at, reading = np.asarray(hours, dtype=np.float64), np.asarray(temperatures, dtype=np.float64)
    low, high = search_limits(at, allow_delay)
    constants = np.geomspace(low[0], high[0], SEARCH_STEPS) if guess is None else np.array([guess[0]])
    delays = np.linspace(low[1], high[1], SEARCH_STEPS) if guess is None else np.array([guess[1]])
    grid = ResponseGrid(at, reading, constants, delays if allow_delay else np.zeros(1))
    row, column = np.unravel_index(int(np.argmin(grid.squares)), grid.squares.shape)
    parameters = np.array([grid.start[row, column], grid.floor[row, column], grid.constants[row], grid.delays[column]])
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
        xtol=TOLERANCE,
        ftol=TOLERANCE,
        gtol=TOLERANCE,
        max_nfev=MOST_EVALUATIONS,
    )
    best = whole(solved.x)
    best[DELAY] = max(best[DELAY], 0.0)
    return StepFit(best, free, reading - first_order(at, *best), _derivatives(at, best)[:, chosen])


def inverse_normal_matrix(jacobian: Floats) -> Floats:
    """Return the covariance of least-squares parameters for independent noise of variance one, (p, p)."""
    # Columns are brought to one length first. Start and delay cannot be told apart without a reading in the
    # delay.
    lengths = np.maximum(np.linalg.norm(jacobian, axis=0), np.finfo(float).tiny)
    scaled = jacobian / lengths
    return np.asarray(np.linalg.pinv(scaled.T @ scaled, hermitian=True) / np.outer(lengths, lengths))


def search_limits(at: Floats, allow_delay: bool) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the lowest and highest time constant and delay searched [h]."""
    span = float(at[-1] - at[0])
    last_delay = float(at[max(len(at) - FEWEST_AFTER_DELAY - 1, 0)]) if allow_delay else 0.0
    return (SEARCH_LOW * span, 0.0), (SEARCH_HIGH * span, last_delay)


def _derivatives(at: Floats, parameters: Floats) -> Floats:
    """Return the derivatives of the curve by start, floor, time constant and delay, (n, 4)."""
    start, floor, constant, delay = parameters
    since = np.maximum(at - delay, 0.0)
    decay = np.exp(-since / constant)
    falling = (start - floor) * decay / constant
    return np.column_stack((decay, 1 - decay, falling * since / constant, np.where(at > delay, falling, 0.0)))

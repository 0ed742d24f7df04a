"""How steady a rate was and where it changed, from readings of what was drawn, or of the rate itself.

Floats and arrays only. Times in hours, amounts in L, rates in L/h. A log is made of *blocks*: readings between which
nothing but the burner moved the amount. Between blocks, as over a refill, it may have jumped.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.int64]

COVERAGE = 0.95  # level of the interval of the scatter; JCGM 100:2008, 6.2.2
SAME_TIME = 1e-9  # relative: instants that came out of a subtraction may miss a span by a rounding error
FINE_MOMENTS = 160  # ours: possible moments of one change
COARSE_MOMENTS = 40  # ours: possible moments of each of two changes, before each is refined among the fine ones
BETWEEN_READINGS = (0.0, 0.25, 0.5, 0.75)  # ours: possible moments of a change, as shares of the way to the next one
READINGS_FOR_MEMORY = 8  # ours: fewer residuals do not show that neighbours share their noise
MOST_MEMORY = 0.9  # ours: highest correlation of neighbouring residuals allowed for
SINGULAR = 1e-10  # ours: pieces whose readings are so nearly alike do not tell their rates apart


@dataclass(frozen=True)
class Scatter:
    """Scatter of a rate between windows [L/h].

    `observed` is the standard deviation as it is, `explained` what errors of reading alone would give, `excess` what is
    left (never below 0), `low` and `high` the ends of the 95 % interval of the excess. `mean` is amount over time.
    """

    mean: float
    observed: float
    explained: float
    excess: float
    low: float
    high: float


@dataclass(frozen=True)
class RateFit:
    """Rates that are constant between changes, by least squares.

    Attributes
    ----------
    changes : tuple of float [h]
    rates : (k + 1,) array [L/h]
        For k changes, in order of time.
    covariance : (k + 1, k + 1) array [(L/h)^2]
        From the errors of reading or the residuals, whichever is larger; wider where neighbouring residuals agree.
    sum_of_squares : float
        Of the residuals, in the unit of the readings squared.
    freedom : int
        Readings less parameters, the moments of the changes included.
    """

    changes: tuple[float, ...]
    rates: Floats
    covariance: Floats
    sum_of_squares: float
    freedom: int


@dataclass(frozen=True)
class Drift:
    """A rate that drifts evenly [L/h], by least squares: at the first and last reading, and how well it is known.

    `difference_uncertainty` is the standard uncertainty of last - first; `sum_of_squares` is as in `RateFit`.
    """

    first: float
    last: float
    difference_uncertainty: float
    sum_of_squares: float


def window_bounds(times: ArrayLike, shortest: float) -> list[tuple[int, int]]:
    """Return first and last reading of consecutive windows, none shorter than `shortest`.

    Parameters
    ----------
    times : (n,) array [h]
        Never decreasing.
    shortest : float [h]

    Returns
    -------
    list of (int, int)
        A window starts with the reading that ended the one before. What is left at the end is joined to the last one.
    """
    at = np.asarray(times, dtype=np.float64)
    bounds: list[tuple[int, int]] = []
    first = 0
    while first < len(at):
        last = int(np.searchsorted(at, at[first] + shortest * (1 - SAME_TIME)))
        if last >= len(at):
            break
        bounds.append((first, last))
        first = last
    if bounds:
        bounds[-1] = (bounds[-1][0], len(at) - 1)
    return bounds


def excess_scatter(rates: ArrayLike, hours: ArrayLike, covariance: ArrayLike) -> Scatter:
    """Return the scatter of rates between windows beyond what the errors of the readings explain.

    Parameters
    ----------
    rates : (n,) array [L/h]
        Of two windows or more.
    hours : (n,) array [h]
        Lengths of the windows.
    covariance : (n, n) array [(L/h)^2]
        Of the errors of the rates; windows that share a reading share its error.

    Raises
    ------
    ValueError
        For fewer than two windows.

    Notes
    -----
    Method of moments. With weights w = hours / sum of hours, m = sum of w r, Q = sum of w (r - m)^2: rates that scatter
    with variance s^2 have Q = s^2 a + b on average, with a = 1 - sum of w^2, and b = sum of w_i C_ii - w C w the part
    of the errors. The interval takes (n - 1) Q / (s^2 a + b) as chi-squared with n - 1 degrees of freedom. For its
    upper end, Q counts at least b: windows that agree better than their readings can did so by chance.
    """
    from scipy.special import chdtri

    rate, length = np.asarray(rates, dtype=np.float64), np.asarray(hours, dtype=np.float64)
    errors = np.asarray(covariance, dtype=np.float64)
    if len(rate) < 2:
        raise ValueError(f"a scatter needs at least two windows, got {len(rate)}")
    weights = length / length.sum()
    mean = float(weights @ rate)
    found = float(weights @ (rate - mean) ** 2)
    share = 1 - float(weights @ weights)
    by_errors = float(weights @ np.diag(errors) - weights @ errors @ weights)
    freedom = len(rate) - 1
    upper, lower = (float(chdtri(freedom, tail)) for tail in ((1 - COVERAGE) / 2, (1 + COVERAGE) / 2))
    low = found * freedom / upper - by_errors
    high = max(found, by_errors) * freedom / lower - by_errors
    excess, low, high = (math.sqrt(max(part, 0.0) / share) for part in (found - by_errors, low, high))
    return Scatter(mean, math.sqrt(found / share), math.sqrt(max(by_errors, 0.0) / share), excess, low, high)


def fit_rates(
    times: ArrayLike,
    values: ArrayLike,
    reading: float,
    changes: int,
    block: ArrayLike | None,
    shortest: float,
    fewest: int,
) -> RateFit | None:
    """Return the rates between so many changes that leave the least sum of squares.

    Parameters
    ----------
    times : (n,) array [h]
        Never decreasing.
    values : (n,) array
        Amounts drawn so far [L] where `block` is given, else rates [L/h].
    reading : float
        Standard uncertainty of one value.
    changes : int
        Changes to look for: 0, 1 or 2.
    block : (n,) array of int, or None
        Number of the block of each reading, never decreasing; amounts of one block share an unknown start.
    shortest : float [h]
    fewest : int
        Every piece lasts at least `shortest` and holds at least `fewest` readings, unless there is only one piece.

    Returns
    -------
    RateFit or None
        None where the readings leave no room for so many changes, or do not tell a rate.

    References
    ----------
    D. J. Hudson, J. Am. Stat. Assoc. 61 (1966) 1097: joined lines with unknown joints by least squares (from memory).
    """
    at, value = np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64)
    starts = None if block is None else _starts(np.asarray(block))
    if len(at) < 2 or not at[-1] > at[0]:
        return None
    moments = np.empty((1, 0))
    if changes:
        fine = _moments(at, FINE_MOMENTS)
        if changes == 1:
            moments = fine[:, None]
        else:
            moments = np.array(list(itertools.combinations(_moments(at, COARSE_MOMENTS), changes))).reshape(-1, changes)
        moments = _with_room(at, moments, shortest, fewest)
        best = _best(at, value, starts, moments)
        if best is None:
            return None
        for i in range(changes if changes > 1 else 0):
            other = np.tile(best, (len(fine), 1))
            other[:, i] = fine
            refined = _best(at, value, starts, _with_room(at, np.vstack((best, other)), shortest, fewest))
            best = best if refined is None else refined
        moments = best[None]
    columns = _centred(_columns(at, moments, starts is None), starts)[0]
    target = _centred(value[None], starts)[0]
    normal = columns @ columns.T
    if _is_singular(normal[None])[0]:
        return None
    inverse = np.linalg.inv(normal)
    rates = inverse @ columns @ target
    residuals = target - rates @ columns
    squares = float(residuals @ residuals)
    freedom = len(at) - 2 * changes - 1 - (0 if starts is None else len(starts))
    variance = _variance(residuals, freedom, reading)
    return RateFit(
        tuple(float(moment) for moment in moments[0]),
        rates,
        np.asarray(inverse * variance, dtype=np.float64),
        squares,
        freedom,
    )


def fit_drift(times: ArrayLike, values: ArrayLike, reading: float, block: ArrayLike | None) -> Drift | None:
    """Return the evenly drifting rate that leaves the least sum of squares.

    Parameters
    ----------
    times, values, reading, block
        As in `fit_rates`.

    Returns
    -------
    Drift or None
        None where the readings do not tell.

    Notes
    -----
    The flow of a jet goes with the square root of the pressure. A drum without counterweight that empties at such a
    rate has a pressure falling with its content, so its rate falls along a straight line.
    """
    at, value = np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64)
    starts = None if block is None else _starts(np.asarray(block))
    freedom = len(at) - 2 - (0 if starts is None else len(starts))
    if freedom < 0 or not at[-1] > at[0]:
        return None
    span = at[-1] - at[0]
    share = (at - at[0]) / span
    # The rate r0 (1 - x) + r1 x, and what is drawn at it up to the share x of the span.
    to_last = share if starts is None else span * share**2 / 2
    to_first = 1 - share if starts is None else span * share - to_last
    columns = _centred(np.array([to_first, to_last]), starts)
    target = _centred(value[None], starts)[0]
    normal = columns @ columns.T
    if _is_singular(normal[None])[0]:
        return None
    inverse = np.linalg.inv(normal)
    rates = inverse @ columns @ target
    residuals = target - rates @ columns
    squares = float(residuals @ residuals)
    covariance = inverse * _variance(residuals, freedom, reading)
    difference = float(covariance[0, 0] + covariance[1, 1] - 2 * covariance[0, 1])
    return Drift(float(rates[0]), float(rates[1]), math.sqrt(difference), squares)


def flat_stretches(times: ArrayLike, values: ArrayLike, tolerance: float, shortest: float) -> list[tuple[int, int]]:
    """Return first and last reading of stretches over which the values stand still, longest first chosen.

    Parameters
    ----------
    times : (n,) array [h]
        Never decreasing.
    values : (n,) array
    tolerance : float
        No reading of a stretch is further than this from its first one.
    shortest : float [h]

    Returns
    -------
    list of (int, int)
        In order of time; no two share more than an end.
    """
    at, value = np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64)
    found: list[tuple[float, int, int]] = []
    for first in range(len(at) - 1):
        away = np.abs(value[first:] - value[first]) > tolerance
        last = first + (int(np.argmax(away)) if away.any() else len(away)) - 1
        length = float(at[last] - at[first])
        if length >= shortest * (1 - SAME_TIME):
            found.append((-length, first, last))
    chosen: list[tuple[int, int]] = []
    for _, first, last in sorted(found):
        if all(last <= other[0] or first >= other[1] for other in chosen):
            chosen.append((first, last))
    return sorted(chosen)


def marked_stretches(times: ArrayLike, marked: ArrayLike, shortest: float) -> list[tuple[int, int]]:
    """Return first and last reading of stretches over which every reading is marked, in order of time.

    Parameters
    ----------
    times : (n,) array [h]
        Never decreasing.
    marked : (n,) array of bool
    shortest : float [h]
    """
    at = np.asarray(times, dtype=np.float64)
    bounds = np.flatnonzero(np.diff(np.asarray(marked, dtype=np.int8), prepend=0, append=0))
    pairs = zip(bounds[::2].tolist(), (bounds[1::2] - 1).tolist(), strict=True)
    return [(first, last) for first, last in pairs if at[last] - at[first] >= shortest * (1 - SAME_TIME)]


def line_change(times: ArrayLike, values: ArrayLike) -> tuple[float, float, Floats]:
    """Return by how much a straight line through the readings changes from the first to the last.

    Parameters
    ----------
    times : (n,) array [h]
    values : (n,) array
        Three readings or more, not all of one instant.

    Returns
    -------
    (float, float, (n,) array)
        The change in the unit of the values, its standard uncertainty from the scatter about the line, and the weight
        of each reading in the change.

    Raises
    ------
    ValueError
        If there are fewer than three readings, or all of one instant.
    """
    at, value = np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64)
    away = at - at.mean()
    if len(at) < 3 or not at[-1] > at[0]:
        raise ValueError("a line with its scatter needs three readings at different times")
    weights = away * (at[-1] - at[0]) / float(away @ away)
    change = float(weights @ value)
    residuals = value - value.mean() - change * away / (at[-1] - at[0])
    variance = float(residuals @ residuals) / (len(at) - 2)
    return change, math.sqrt(variance * float(weights @ weights)), weights


def _starts(block: NDArray[np.int64]) -> Indices:
    return np.concatenate(([0], np.flatnonzero(np.diff(block)) + 1)).astype(np.int64)


def _centred(columns: Floats, starts: Indices | None) -> Floats:
    """Return columns (..., n) less their mean over each block, which takes the unknown starts out of the fit."""
    if starts is None:
        return columns
    counts = np.diff(np.append(starts, columns.shape[-1]))
    means = np.add.reduceat(columns, starts, axis=-1) / counts
    return np.asarray(columns - np.repeat(means, counts, axis=-1))


def _moments(at: Floats, limit: int) -> Floats:
    """Return possible moments of a change: readings and points between them, at most `limit`."""
    points = np.unique((at[:-1, None] + np.diff(at)[:, None] * np.array(BETWEEN_READINGS)).ravel())
    if len(points) > limit:
        points = points[np.linspace(0, len(points) - 1, limit).round().astype(int)]
    return points


def _with_room(at: Floats, moments: Floats, shortest: float, fewest: int) -> Floats:
    """Return the rows of moments (m, k) between which every piece is long enough and holds enough readings."""
    edges = np.hstack((np.full((len(moments), 1), at[0]), moments, np.full((len(moments), 1), at[-1])))
    long_enough = (np.diff(edges) >= shortest * (1 - SAME_TIME)).all(axis=1)
    count = np.searchsorted(at, edges[:, 1:], side="right") - np.searchsorted(at, edges[:, :-1], side="left")
    return np.asarray(moments[long_enough & (count >= fewest).all(axis=1)])


def _columns(at: Floats, moments: Floats, of_rates: bool) -> Floats:
    """Return the columns (m, k + 1, n) of the pieces: time spent in each so far, or 1 within it for a log of rates."""
    low = np.hstack((np.full((len(moments), 1), at[0]), moments))[:, :, None]
    high = np.hstack((moments, np.full((len(moments), 1), at[-1])))[:, :, None]
    if of_rates:
        return np.asarray(((at > low) | ((at == low) & (low == at[0]))) & (at <= high), dtype=np.float64)
    return np.asarray(np.clip(at, low, high) - low)


def _best(at: Floats, value: Floats, starts: Indices | None, moments: Floats) -> Floats | None:
    """Return the row of moments that leaves the least sum of squares; None where none can be fitted."""
    if not len(moments):
        return None
    columns = _centred(_columns(at, moments, starts is None), starts)
    target = _centred(value[None], starts)[0]
    normal = columns @ columns.transpose(0, 2, 1)
    usable = ~_is_singular(normal)
    if not usable.any():
        return None
    right = columns[usable] @ target
    rates = np.linalg.solve(normal[usable], right[:, :, None])[:, :, 0]
    residuals = target - np.einsum("mk,mkn->mn", rates, columns[usable])
    squares = (residuals**2).sum(axis=1)
    return np.asarray(moments[usable][int(np.argmin(squares))])


def _is_singular(normal: Floats) -> NDArray[np.bool_]:
    """Return which of normal matrices (m, p, p) cannot be relied on."""
    scale = np.prod(np.diagonal(normal, axis1=1, axis2=2), axis=1)
    return np.asarray(~(np.linalg.det(normal) > SINGULAR * scale))


def _variance(residuals: Floats, freedom: int, reading: float) -> float:
    """Return the variance of one value: of reading, or of the residuals where that is larger.

    Neighbouring residuals that agree tell less than independent ones (first-order autoregression).
    """
    squares = float(residuals @ residuals)
    if freedom <= 0 or not squares > 0:
        return reading**2
    memory = float(residuals[1:] @ residuals[:-1]) / squares if len(residuals) >= READINGS_FOR_MEMORY else 0.0
    memory = min(max(memory, 0.0), MOST_MEMORY)
    return max(reading**2, squares / freedom * (1 + memory) / (1 - memory))

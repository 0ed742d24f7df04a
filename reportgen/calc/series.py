"""Helpers on irregular series: values between readings, scatter, gaps, crossings, slopes, lines, thinning.

Floats and arrays only. Times are in any one unit, used throughout a call; results that are times or rates are
in that same unit. Times never decrease; readings that are not numbers are left out by the caller beforehand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.int64]

GAP_STEPS = 3.0  # ours: a step this many times the median step is a gap ...
SHORTEST_GAP = 10 / 60  # ours [h]: ... if it is longer than this, for hand readings are 6 to 27 minutes apart
LONGEST_STEP = 1.0  # ours [h]: any longer step is a gap
SLOPE_BINS = 15  # ours: bins per shortest window of `steepest_slope`; one minute for 15 minutes
SLOPE_CANDIDATES = 4000  # ours: windows that get the robust line where there are more
SECONDS_PER_HOUR = 3600.0
SCATTER_READINGS = 8  # ours: fewer readings do not show their own scatter
SCATTER_SAMPLE = 50_000  # ours: so many second differences of a long log show it
MEDIAN_DEVIATION = 0.6745  # median absolute deviation of a normal distribution, in standard deviations


@dataclass(frozen=True)
class Crossing:
    """A downward crossing between readings `before` and `after` (indices), `instant` on the line between.

    `confirmed` is True where a later reading shows that it held, False where no reading is late enough to
    tell.
    """

    before: int
    after: int
    instant: float
    confirmed: bool


@dataclass(frozen=True)
class SteepestFall:
    """The steepest fall: `rate` and its standard uncertainty [value per time], positive when the values fall.

    `start` and `end` are the first and last instant of the window, `points` how many readings (or medians of
    readings within one bin) its line rests on.
    """

    rate: float
    standard_uncertainty: float
    start: float
    end: float
    points: int


@dataclass(frozen=True)
class Line:
    """A straight line by least squares, with standard uncertainties from the scatter of the points about it.

    `determination` is the share of the sum of squares that the line accounts for: about the mean, or about
    zero for a line through the origin.
    """

    intercept: float
    slope: float
    intercept_uncertainty: float
    slope_uncertainty: float
    residual_sd: float
    residual_sum_of_squares: float
    determination: float
    degrees_of_freedom: int


def value_at(times: ArrayLike, values: ArrayLike, instant: float) -> float | None:
    """Return the value at `instant` on the straight line between the readings on its two sides.

    Returns
    -------
    float or None
        None before the first reading and after the last.

    Raises
    ------
    ValueError
        If times and values are not equally long, hold what is not a number, or times decrease.
    """
    at, reading = _series(times, values)
    if len(at) == 0 or not at[0] <= instant <= at[-1]:
        return None
    return float(np.interp(instant, at, reading))


def nearest_within(times: ArrayLike, values: ArrayLike, instant: float, tolerance: float) -> int | None:
    """Return the index of the reading nearest to `instant`, the earlier of two, if within `tolerance`."""
    at, _ = _series(times, values)
    if len(at) == 0:
        return None
    nearest = int(np.argmin(np.abs(at - instant)))
    return nearest if abs(at[nearest] - instant) <= tolerance else None


def time_weighted_mean(times: ArrayLike, values: ArrayLike, start: float, end: float) -> float | None:
    """Return the mean over time from `start` to `end`, readings being joined by straight lines.

    Parameters
    ----------
    times, values : (n,) arrays
    start, end : float
        The window. An end between two readings is interpolated; where readings do not reach an end, the mean
        is over the part they cover.

    Returns
    -------
    float or None
        None where the readings cover no part of the window. A window of no length gives the value there.

    Raises
    ------
    ValueError
        As `value_at`, or if `end` is before `start`.
    """
    at, reading = _series(times, values)
    if end < start:
        raise ValueError("the window ends before it starts")
    if len(at) == 0:
        return None
    first, last = max(start, float(at[0])), min(end, float(at[-1]))
    if first > last:
        return None
    if first == last:
        return float(np.interp(first, at, reading))
    inside = (at > first) & (at < last)
    # Readings that share the instant of an end: the one on the window's side counts.
    left = reading[at == first][-1] if np.any(at == first) else np.interp(first, at, reading)
    right = reading[at == last][0] if np.any(at == last) else np.interp(last, at, reading)
    corners = np.concatenate(([first], at[inside], [last]))
    heights = np.concatenate(([left], reading[inside], [right]))
    return float(np.trapezoid(heights, corners) / (last - first))


def running_median_of_three(values: ArrayLike) -> Floats:
    """Return each reading replaced by the median of itself and its two neighbours.

    The first and last, which have one neighbour, take the median beside them, so extremes are those of
    complete threes. Fewer than three readings are returned as they are.
    """
    reading = np.array(values, dtype=np.float64)
    if len(reading) < 3:
        return reading
    low, high = np.minimum(reading[:-2], reading[1:-1]), np.maximum(reading[:-2], reading[1:-1])
    middle = np.maximum(low, np.minimum(high, reading[2:]))
    return np.concatenate((middle[:1], middle, middle[-1:]))


def scatter(values: ArrayLike) -> float:
    """Return the standard deviation of readings about their own smooth course; 0 for fewer than eight.

    Notes
    -----
    From the median absolute deviation of the second differences v[i] - 2 v[i+1] + v[i+2]: independent errors of
    standard deviation s give them sqrt(1 + 4 + 1) s. A straight course drops out, and slips of single readings hardly
    count. Noise that neighbouring readings share does not show.
    """
    reading = np.asarray(values, dtype=np.float64)
    if len(reading) < SCATTER_READINGS:
        return 0.0
    second = np.diff(reading, 2)
    if len(second) > SCATTER_SAMPLE:
        second = second[:: len(second) // SCATTER_SAMPLE + 1]  # evenly spread, and as good to a percent
    return float(np.median(np.abs(second - np.median(second)))) / MEDIAN_DEVIATION / math.sqrt(6)


def gaps(times: ArrayLike, hour: float = SECONDS_PER_HOUR) -> Indices:
    """Return the indices i of gaps: no reading for too long between times[i] and times[i + 1].

    Parameters
    ----------
    times : (n,) array
    hour : float
        One hour in the unit of `times`; seconds are taken if not given.

    Notes
    -----
    A gap is a step of more than `LONGEST_STEP`, or of more than `GAP_STEPS` median steps and `SHORTEST_GAP`.
    """
    at = _ordered(times)
    if len(at) < 2:
        return np.empty(0, dtype=np.int64)
    steps = np.diff(at)
    unusual = (steps > GAP_STEPS * np.median(steps)) & (steps > SHORTEST_GAP * hour)
    return np.flatnonzero(unusual | (steps > LONGEST_STEP * hour)).astype(np.int64)


def first_holding_crossing(times: ArrayLike, values: ArrayLike, threshold: float, hold_for: float) -> Crossing | None:
    """Return the first crossing from above `threshold` to it or below that holds.

    It holds if the first reading at least `hold_for` after the first one that is not above is not above
    either.

    Returns
    -------
    Crossing or None
        One that no later reading can confirm is returned only if none before it held. None where nothing
        crosses: never so low, or never above.
    """
    at, reading = _series(times, values)
    above = reading > threshold
    before = np.flatnonzero(above[:-1] & ~above[1:])
    witness = np.searchsorted(at, at[before + 1] + hold_for, side="left")
    witness = np.maximum(witness, before + 2)  # a later reading, also where hold_for is zero
    seen = witness < len(at)
    open_or_held = ~seen
    open_or_held[seen] = ~above[witness[seen]]
    chosen = np.flatnonzero(open_or_held)
    if len(chosen) == 0:
        return None
    left = int(before[chosen[0]])
    share = (reading[left] - threshold) / (reading[left] - reading[left + 1])
    instant = float(at[left] + share * (at[left + 1] - at[left]))
    return Crossing(left, left + 1, instant, bool(seen[chosen[0]]))


def steepest_slope(
    times: ArrayLike, values: ArrayLike, minimum_points: int, minimum_span: float, resolution: float = 0.0
) -> SteepestFall | None:
    """Return the steepest fall of a robust line over windows of enough readings and enough time.

    Parameters
    ----------
    times, values : (n,) arrays
    minimum_points : int
        Readings a window must hold, at least three.
    minimum_span : float
        Time from a window's first reading to its last, at least.
    resolution : float
        Smallest step of the values, which bounds the scatter from below.

    Returns
    -------
    SteepestFall or None
        None where no window is long enough. The rate is zero or negative where nothing falls.

    Raises
    ------
    ValueError
        As `value_at`; or for fewer than three points, or no span.

    Notes
    -----
    From each reading on, the shortest window that is long enough is taken; its rate is the median of the
    slopes between all pairs of its readings (Theil-Sen). Readings closer than a fifteenth of `minimum_span`
    are first replaced by medians over bins so wide. The standard uncertainty is s / sqrt(sum of (t - mean t)
    squared) with s the scatter about the line, never below resolution / sqrt(12). The steepest of many
    windows tends to be a little too steep, by the order of that uncertainty.

    References
    ----------
    H. Theil, Indagationes Mathematicae 12 (1950) 85; P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379 (from
    memory).
    """
    if minimum_points < 3 or not minimum_span > 0:
        raise ValueError("a window needs at least three points and a span above zero")
    at, reading = _bin_medians(*_series(times, values), minimum_span / SLOPE_BINS)
    # Instants that came out of a subtraction may miss the span by a rounding error.
    last = np.searchsorted(at, at + minimum_span * (1 - 1e-9), side="left")
    last = np.maximum(last, np.arange(len(at)) + minimum_points - 1)
    first = np.flatnonzero(last < len(at))
    last = last[first]
    if len(first) == 0:
        return None
    if len(first) > SLOPE_CANDIDATES:
        smooth = running_median_of_three(reading)
        slopes = (smooth[last] - smooth[first]) / (at[last] - at[first])
        steepest = np.sort(np.argpartition(slopes, SLOPE_CANDIDATES)[:SLOPE_CANDIDATES])
        first, last = first[steepest], last[steepest]
    rates = np.empty(len(first))
    for length in np.unique(last - first):
        same = np.flatnonzero(last - first == length)
        rates[same] = -_median_pair_slopes(at, reading, first[same], int(length) + 1)
    best = int(np.argmax(rates))
    window = slice(int(first[best]), int(last[best]) + 1)
    elapsed, levels = at[window] - at[window].mean(), reading[window]
    residuals = levels + rates[best] * elapsed
    scatter = float(np.sum((residuals - residuals.mean()) ** 2)) / (len(elapsed) - 2)
    uncertainty = math.sqrt(max(scatter, resolution**2 / 12) / float(np.sum(elapsed**2)))
    return SteepestFall(float(rates[best]), uncertainty, float(at[window][0]), float(at[window][-1]), len(elapsed))


def least_squares_line(x: ArrayLike, y: ArrayLike, through_origin: bool = False) -> Line:
    """Return the line y = intercept + slope x, or y = slope x, that leaves the least sum of squares.

    Raises
    ------
    ValueError
        If there are fewer than three points (two through the origin), or all x are equal (zero).

    References
    ----------
    N. R. Draper and H. Smith, Applied Regression Analysis, chapter 1 (from memory).
    """
    across, up = _equally_long(x, y)
    parameters = 1 if through_origin else 2
    freedom = len(across) - parameters
    if freedom < 1:
        raise ValueError(f"a line with its uncertainty needs at least {parameters + 1} points, got {len(across)}")
    mean_x, mean_y = (0.0, 0.0) if through_origin else (float(across.mean()), float(up.mean()))
    from_x, from_y = across - mean_x, up - mean_y
    spread = float(np.sum(from_x**2))
    if spread == 0:
        raise ValueError("a line needs points at different x")
    slope = float(np.sum(from_x * from_y)) / spread
    residuals = from_y - slope * from_x
    remaining = float(np.sum(residuals**2))
    total = float(np.sum(from_y**2))
    sd = math.sqrt(remaining / freedom)
    return Line(
        intercept=mean_y - slope * mean_x,
        slope=slope,
        intercept_uncertainty=0.0 if through_origin else sd * math.sqrt(1 / len(across) + mean_x**2 / spread),
        slope_uncertainty=sd / math.sqrt(spread),
        residual_sd=sd,
        residual_sum_of_squares=remaining,
        determination=1 - remaining / total if total > 0 else 1.0,
        degrees_of_freedom=freedom,
    )


def thin(times: ArrayLike, values: ArrayLike, limit: int) -> tuple[Floats, Floats]:
    """Return at most `limit` points: means of times and values over equal stretches of time.

    A series that is short enough is returned as it is.
    """
    at, reading = _series(times, values)
    if len(at) <= limit:
        return at, reading
    starts, counts = _bin_starts(at, limit)
    return np.add.reduceat(at, starts) / counts, np.add.reduceat(reading, starts) / counts


def thin_extremes(times: ArrayLike, values: ArrayLike, bins: int) -> tuple[Floats, Floats]:
    """Return the lowest and highest reading of each of `bins` equal stretches, and the first and last.

    What is drawn from them looks like the whole series. At most 2 `bins` + 2 readings, in order of time; a
    series that is short enough is returned as it is.
    """
    at, reading = _series(times, values)
    if len(at) <= 2 * bins + 2:
        return at, reading
    starts, counts = _bin_starts(at, bins)
    kept = [np.array([0, len(at) - 1])]
    for extreme in (np.minimum, np.maximum):
        reached = np.flatnonzero(reading == np.repeat(extreme.reduceat(reading, starts), counts))
        bin_of = np.searchsorted(starts, reached, side="right")
        kept.append(reached[np.unique(bin_of, return_index=True)[1]])
    chosen = np.unique(np.concatenate(kept))
    return at[chosen], reading[chosen]


def _bin_starts(at: Floats, bins: int) -> tuple[Indices, Indices]:
    """Return where each occupied bin of equal length starts, and how many readings it holds."""
    if bins < 1:
        raise ValueError("at least one bin is needed")
    span = at[-1] - at[0]
    if span == 0:
        return np.zeros(1, dtype=np.int64), np.array([len(at)])
    number = np.minimum((at - at[0]) * (bins / span), bins - 1).astype(np.int64)
    starts = np.concatenate(([0], np.flatnonzero(np.diff(number)) + 1))
    return starts, np.diff(np.concatenate((starts, [len(at)])))


def _bin_medians(at: Floats, reading: Floats, width: float) -> tuple[Floats, Floats]:
    """Return mean times and median values over bins of `width`."""
    if len(at) < 2:
        return at, reading
    number = np.floor((at - at[0]) / width + 1e-6)  # a reading on an edge belongs to the bin above
    starts = np.concatenate(([0], np.flatnonzero(np.diff(number)) + 1))
    if len(starts) == len(at):
        return at, reading
    counts = np.diff(np.concatenate((starts, [len(at)])))
    ordered = reading[np.lexsort((reading, np.repeat(np.arange(len(starts)), counts)))]
    medians = (ordered[starts + (counts - 1) // 2] + ordered[starts + counts // 2]) / 2
    return at[0] + np.add.reduceat(at - at[0], starts) / counts, medians


def _median_pair_slopes(at: Floats, reading: Floats, first: Indices, length: int) -> Floats:
    """Return the median slope between all pairs of readings of windows of `length` readings each."""
    inside = first[:, None] + np.arange(length)
    elapsed, levels = at[inside], reading[inside]
    left, right = np.triu_indices(length, k=1)
    slopes = (levels[:, right] - levels[:, left]) / (elapsed[:, right] - elapsed[:, left])
    return np.asarray(np.median(slopes, axis=1))


def _ordered(times: ArrayLike) -> Floats:
    at = np.asarray(times, dtype=np.float64)
    if at.ndim != 1 or not np.all(np.isfinite(at)):
        raise ValueError("times must be a plain list of numbers")
    if np.any(np.diff(at) < 0):
        raise ValueError("times must not decrease")
    return at


def _series(times: ArrayLike, values: ArrayLike) -> tuple[Floats, Floats]:
    return _equally_long(_ordered(times), values)


def _equally_long(x: ArrayLike, y: ArrayLike) -> tuple[Floats, Floats]:
    across, up = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if across.ndim != 1 or across.shape != up.shape:
        raise ValueError("two plain lists of equal length are needed")
    if not (np.all(np.isfinite(across)) and np.all(np.isfinite(up))):
        raise ValueError("what is not a number must be left out beforehand")
    return across, up

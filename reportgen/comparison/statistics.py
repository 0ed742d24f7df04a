"""Repeats at one set-up, and sites beside each other: means, spreads, intervals, what the next one may be.

All numbers of one call share a unit. Levels are 95 %.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.calc.uncertainty import coverage_factor

#: Fewer repeats tell no interval: with two, it is nine standard deviations either way.
FEWEST_FOR_INTERVAL = 3
#: With fewer repeats than this an interval is very wide, and is said to be (common practice, no source).
FEWEST_FOR_TRUST = 5
#: Fewer sites tell nothing of the spread between sites.
FEWEST_SITES = 3
#: From this many repeats on, one is marked as odd if it is further than this from the median, in scaled median
#: absolute deviations (Iglewicz and Hoaglin 1993, from memory).
FEWEST_FOR_ODD, ODD = 5, 3.5
#: Median absolute deviation of a normal distribution over its standard deviation.
MAD_PER_SD = 0.6745
#: A variance is at least this share of the square of the largest mean, so that its reciprocal stays finite (ours).
LEAST_VARIANCE = 1e-18


@dataclass(frozen=True, slots=True)
class Repeats:
    """Repeats of one set-up.

    Attributes
    ----------
    n : int
    mean, lowest, highest : float
    sd : float or None
        None for a single one.
    shared : float
        Standard uncertainty that all of them share, which repeating does not make smaller.
    interval : (float, float) or None
        Of the mean, with what is shared; None below three.
    next_trial : (float, float) or None
        Where the next one at this set-up is expected, as the same instruments would show it; None below three.
    odd : tuple of int
        Which lie far from the others.
    mean_without : float or None
        Mean without the odd ones, if there are any.
    """

    n: int
    mean: float
    lowest: float
    highest: float
    sd: float | None = None
    shared: float = 0.0
    interval: tuple[float, float] | None = None
    next_trial: tuple[float, float] | None = None
    odd: tuple[int, ...] = ()
    mean_without: float | None = None

    @property
    def relative_sd(self) -> float | None:
        """Standard deviation over the mean; None where either does not allow it."""
        return self.sd / abs(self.mean) if self.sd is not None and self.mean else None


def repeats(values: Sequence[float], shared: float = 0.0) -> Repeats:
    """Return the statistics of repeats; `shared` is the standard uncertainty that all of them have in common.

    Raises
    ------
    ValueError
        If there are no values.
    """
    if not values:
        raise ValueError("there are no values to take together")
    numbers = np.asarray(values, dtype=float)
    n, mean = len(numbers), float(numbers.mean())
    sd = float(numbers.std(ddof=1)) if n > 1 else None
    found = odd_ones(values)
    rest = np.delete(numbers, found)
    return Repeats(
        n=n,
        mean=mean,
        lowest=float(numbers.min()),
        highest=float(numbers.max()),
        sd=sd,
        shared=shared,
        interval=mean_interval(mean, sd, n, shared) if sd is not None and n >= FEWEST_FOR_INTERVAL else None,
        next_trial=next_interval(mean, sd, n) if sd is not None and n >= FEWEST_FOR_INTERVAL else None,
        odd=found,
        mean_without=float(rest.mean()) if found else None,
    )


def mean_interval(mean: float, sd: float, n: int, shared: float = 0.0) -> tuple[float, float]:
    """Return the interval of a mean of n repeats with standard deviation `sd` and a shared standard uncertainty.

    The shared part is not divided by the root of n. Degrees of freedom by Welch and Satterthwaite, those of the shared
    part being infinite; without it this is Student's interval.

    References
    ----------
    JCGM 100:2008, 4.2.3 and G.4.1.
    """
    of_mean = sd / math.sqrt(n)
    combined = math.hypot(of_mean, shared)
    freedom = math.inf if of_mean == 0 else (n - 1) * (combined / of_mean) ** 4
    half = coverage_factor(freedom) * combined
    return mean - half, mean + half


def next_interval(mean: float, sd: float, n: int) -> tuple[float, float]:
    """Return where the next of n repeats is expected: Student's prediction interval for one normal observation.

    What all repeats share, such as the error of the scale, the next one shares as well, so that it adds nothing.
    """
    half = coverage_factor(n - 1) * sd * math.sqrt(1 + 1 / n)
    return mean - half, mean + half


def odd_ones(values: Sequence[float]) -> tuple[int, ...]:
    """Return which values lie far from the others by the modified z-score; none among fewer than five."""
    if len(values) < FEWEST_FOR_ODD:
        return ()
    numbers = np.asarray(values, dtype=float)
    away = np.abs(numbers - np.median(numbers))
    deviation = float(np.median(away))
    if deviation == 0:
        return ()
    return tuple(int(i) for i in np.flatnonzero(MAD_PER_SD * away / deviation > ODD))


@dataclass(frozen=True, slots=True)
class Sites:
    """Sites beside each other.

    Attributes
    ----------
    k : int
    mean : float
        Of the sites, weighted by what is known of each.
    between_sd : float
        Standard deviation of the sites' true means, what chance makes of few trials taken off.
    interval : (float, float)
        Of the mean.
    new_site : (float, float)
        Where the mean of a new site is expected.
    """

    k: int
    mean: float
    between_sd: float
    interval: tuple[float, float]
    new_site: tuple[float, float]


def across_sites(means: Sequence[float], variances: Sequence[float], common: float = 0.0) -> Sites:
    """Return the spread between sites, each with its mean and the variance of that mean.

    `common` is a standard uncertainty that the means of all sites share: it widens both intervals and is no spread
    between sites.

    Notes
    -----
    The variance between sites is that of Paule and Mandel: the one at which the weighted squares of the deviations
    come to k - 1, or nought. The interval of the mean is that of Knapp and Hartung in its modified form, which is never
    narrower than the unmodified one; with this variance its factor is exactly one, so that it is Student's with
    k - 1 degrees of freedom. A new site is predicted with k - 2, as Higgins, Thompson and Spiegelhalter do.

    Raises
    ------
    ValueError
        If there are fewer than three sites.

    References
    ----------
    R. C. Paule and J. Mandel, Journal of Research of the National Bureau of Standards 87 (1982) 377-385; G. Knapp and
    J. Hartung, Statistics in Medicine 22 (2003) 2693-2710; J. P. T. Higgins, S. G. Thompson and D. J. Spiegelhalter,
    Journal of the Royal Statistical Society A 172 (2009) 137-159. All from memory.
    """
    from scipy.optimize import brentq

    y, v = np.asarray(means, dtype=float), np.asarray(variances, dtype=float)
    k = len(y)
    if k < FEWEST_SITES:
        raise ValueError(f"{k} sites tell nothing of the spread between sites; it takes {FEWEST_SITES}")
    v = np.maximum(v, max(LEAST_VARIANCE * float(np.abs(y).max()) ** 2, np.finfo(float).tiny))

    def weighted_mean(between: float) -> float:
        return float(np.sum(y / (v + between)) / np.sum(1 / (v + between)))

    def excess(between: float) -> float:
        return float(np.sum((y - weighted_mean(between)) ** 2 / (v + between))) - (k - 1)

    # At k times the plain variance of the means the weighted squares are below k - 1 whatever the variances are.
    between = float(brentq(excess, 0.0, k * float(np.var(y, ddof=1)), rtol=1e-12)) if excess(0.0) > 0 else 0.0
    mean = weighted_mean(between)
    of_mean = math.hypot(math.sqrt(1 / float(np.sum(1 / (v + between)))), common)
    half = coverage_factor(k - 1) * of_mean
    new = coverage_factor(k - 2) * math.hypot(math.sqrt(between), of_mean)
    return Sites(k, mean, math.sqrt(between), (mean - half, mean + half), (mean - new, mean + new))

"""Standard uncertainties, their propagation and 95 % intervals.

A thin layer over the ``uncertainties`` library. A number with uncertainty (``UFloat`` below) remembers every
source of error it was computed from, so correlations are kept. Functions are free of units: an uncertainty
has the unit of its value. Comparisons and ``abs`` are never applied to such numbers; use `nominal` for that.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from uncertainties import correlated_values
from uncertainties.core import AffineScalarFunc, Variable

UFloat: TypeAlias = AffineScalarFunc
Number: TypeAlias = AffineScalarFunc | float
Floats: TypeAlias = NDArray[np.float64]

COVERAGE_95 = 0.95  # level of every interval printed; JCGM 100:2008, 6.2.2
DEFAULT_DRAWS = 20_000  # ours: ends of a 95 % interval to about 2 % of its half-width
DEFAULT_SEED = 20_080_101  # ours: any fixed number, so that equal inputs give equal results
UNTAGGED = "unnamed source"


@dataclass(frozen=True)
class Simulated:
    """Outcome of a Monte Carlo run, in the unit of the simulated figure."""

    value: float
    standard_uncertainty: float
    interval_95: tuple[float, float]


@dataclass(frozen=True)
class BracketedInterval:
    """What a figure is known to, when an event it rests on is known only to lie between two looks."""

    interval_95: tuple[float, float]
    standard_uncertainty: float


def rectangular(half_width: float) -> float:
    """Return the standard uncertainty of a value known only to lie within plus or minus `half_width`.

    Raises
    ------
    ValueError
        If `half_width` is negative or not finite.

    References
    ----------
    JCGM 100:2008, 4.3.7.
    """
    return _size(half_width, "half-width") / math.sqrt(3.0)


def triangular(half_width: float) -> float:
    """Return the standard uncertainty within `half_width` where values near the middle are likelier.

    References
    ----------
    JCGM 100:2008, 4.3.9.
    """
    return _size(half_width, "half-width") / math.sqrt(6.0)


def rounding(step: float) -> float:
    """Return the standard uncertainty from reading to the nearest `step` of a scale or display.

    References
    ----------
    JCGM 100:2008, F.2.2.1.
    """
    return _size(step, "step") / math.sqrt(12.0)


def from_expanded(expanded_uncertainty: float, coverage_factor: float) -> float:
    """Return the standard uncertainty behind an expanded one, for example from a calibration certificate.

    References
    ----------
    JCGM 100:2008, 4.3.3.
    """
    if not (math.isfinite(coverage_factor) and coverage_factor > 0.0):
        raise ValueError(f"the coverage factor must be positive, got {coverage_factor}")
    return _size(expanded_uncertainty, "expanded uncertainty") / coverage_factor


def estimate(value: float, standard_uncertainty: float, source: str) -> UFloat:
    """Return a number with uncertainty that names its source of error.

    Parameters
    ----------
    value, standard_uncertainty
        Best value and standard uncertainty, same unit; the uncertainty may be zero.
    source
        Name of the source of error. Every call makes a new, independent error; to share one, reuse the
        number.

    Raises
    ------
    ValueError
        If the value is not finite, or the uncertainty is negative or not finite.
    """
    if not math.isfinite(value):
        raise ValueError(f"{source}: the value must be finite, got {value}")
    return Variable(float(value), _size(standard_uncertainty, f"{source}: standard uncertainty"), tag=source)


def correlated_means(samples: ArrayLike, source: str) -> tuple[UFloat, ...]:
    """Return the means of quantities read together, with the correlation of their errors kept.

    Parameters
    ----------
    samples
        Readings, shape (quantities, readings); column j holds the readings of one moment. Two or more
        readings.
    source
        Name of the common source of error, carried by all the means.

    Notes
    -----
    The covariance of two means is the sample covariance over the number of readings.

    References
    ----------
    JCGM 100:2008, 5.2.3 equation (17), and H.2.
    """
    readings = np.atleast_2d(np.asarray(samples, dtype=float))
    if readings.ndim != 2 or readings.shape[1] < 2:
        raise ValueError("correlated means need at least two readings of each quantity")
    if not np.isfinite(readings).all():
        raise ValueError("readings must be finite")
    count = readings.shape[1]
    covariance = np.atleast_2d(np.cov(readings)) / count
    return tuple(correlated_values(readings.mean(axis=1), covariance, tags=[source] * len(readings)))


def nominal(number: Number) -> float:
    """Return the best value of a number with or without uncertainty."""
    return float(number.nominal_value if isinstance(number, AffineScalarFunc) else number)


def standard_uncertainty(number: Number) -> float:
    """Return the combined standard uncertainty of a number; 0 for a plain float."""
    return float(number.std_dev) if isinstance(number, AffineScalarFunc) else 0.0


def variance_shares(number: Number) -> dict[str, float]:
    """Return the share of the variance that each named source of error accounts for, largest first.

    Returns
    -------
    dict
        Source to share [1]; the shares sum to 1. Sources of no effect are left out; empty without
        uncertainty. Errors with the same source name are added up. Ties are in alphabetical order.
    """
    variances = _variances(number)
    total = math.fsum(variances.values())
    shares = {source: variance / total for source, variance in variances.items() if variance > 0.0}
    return dict(sorted(shares.items(), key=lambda item: (-item[1], item[0])))


def effective_degrees_of_freedom(number: Number, degrees_of_freedom: Mapping[str, float]) -> float:
    """Return the effective degrees of freedom of a combined standard uncertainty.

    Parameters
    ----------
    number
        The combined figure; its errors are independent.
    degrees_of_freedom
        Source to degrees of freedom [1]; a source not listed counts as known exactly (infinite).

    Returns
    -------
    float
        Not rounded; infinite where no source with effect has finite degrees of freedom.

    References
    ----------
    JCGM 100:2008, G.4.1 equation (G.2b), Welch-Satterthwaite.
    """
    variances = _variances(number)
    total = math.fsum(variances.values())
    weights = []
    for source, variance in variances.items():
        freedom = degrees_of_freedom.get(source, math.inf)
        if not freedom > 0.0:
            raise ValueError(f"{source}: degrees of freedom must be positive, got {freedom}")
        weights.append((variance / total) ** 2 / freedom if variance > 0.0 else 0.0)
    denominator = math.fsum(weights)
    return 1.0 / denominator if denominator > 0.0 else math.inf


def coverage_factor(degrees_of_freedom: float = math.inf, level: float = COVERAGE_95) -> float:
    """Return the two-sided coverage factor: the quantile of Student's t, or of the normal where infinite.

    References
    ----------
    JCGM 100:2008, G.3 and Table G.2.
    """
    from scipy.special import ndtri, stdtrit

    if not degrees_of_freedom > 0.0:
        raise ValueError(f"degrees of freedom must be positive, got {degrees_of_freedom}")
    if not 0.0 < level < 1.0:
        raise ValueError(f"the level must lie between 0 and 1, got {level}")
    upper = 0.5 * (1.0 + level)
    return float(ndtri(upper) if math.isinf(degrees_of_freedom) else stdtrit(degrees_of_freedom, upper))


def normal_interval(number: Number, degrees_of_freedom: float = math.inf) -> tuple[float, float]:
    """Return the symmetric 95 % interval of a number.

    References
    ----------
    JCGM 100:2008, G.3.2.
    """
    half_width = coverage_factor(degrees_of_freedom) * standard_uncertainty(number)
    return nominal(number) - half_width, nominal(number) + half_width


def bracket_interval(low_end: Number, high_end: Number) -> BracketedInterval:
    """Return how well a figure is known that rests on an event lying between two looks.

    Parameters
    ----------
    low_end, high_end
        The figure evaluated with the event at the earlier and at the later look, in either order.

    Notes
    -----
    The interval runs over both ends' own 95 % intervals. The standard uncertainty joins the rectangular range
    between the ends to their other uncertainty: u^2 = (half range)^2 / 3 + mean of u^2 at the ends.

    References
    ----------
    JCGM 100:2008, 4.3.7 for the rectangular part.
    """
    intervals = [normal_interval(low_end), normal_interval(high_end)]
    half_range = 0.5 * abs(nominal(high_end) - nominal(low_end))
    mean_variance = 0.5 * (standard_uncertainty(low_end) ** 2 + standard_uncertainty(high_end) ** 2)
    return BracketedInterval(
        interval_95=(min(low for low, _ in intervals), max(high for _, high in intervals)),
        standard_uncertainty=math.sqrt(half_range**2 / 3.0 + mean_variance),
    )


def simulate(
    function: Callable[..., ArrayLike],
    numbers: Sequence[Number],
    draws: int = DEFAULT_DRAWS,
    seed: int = DEFAULT_SEED,
    rectangular_sources: Collection[str] = (),
) -> Simulated:
    """Propagate distributions through a function by Monte Carlo, correlations kept.

    Parameters
    ----------
    function
        Takes one array of shape (draws,) per number, in order, and returns an array of shape (draws,).
    numbers
        Inputs; those that share a source of error are drawn together. Plain floats are constants.
    draws, seed
        Number of trials and start of the generator: equal arguments give equal results.
    rectangular_sources
        Sources whose errors are rectangular; all others are normal.

    Raises
    ------
    ValueError
        If there are fewer than 100 draws, or the function gives a value that is not finite or not one per
        draw.

    Notes
    -----
    Each independent error is drawn once and enters every input with that input's sensitivity to it, so the
    inputs have the covariance of the numbers given. The value is the mean of the draws, the interval runs
    from their 2.5 % to their 97.5 % quantile (probabilistically symmetric).

    References
    ----------
    JCGM 101:2008, clauses 6 and 7.
    """
    if draws < 100:
        raise ValueError(f"at least 100 draws are needed, got {draws}")
    generator = np.random.default_rng(seed)
    errors: dict[Variable, Floats] = {}
    inputs: list[Floats] = []
    for number in numbers:
        drawn = np.full(draws, nominal(number))
        sensitivities = number.derivatives if isinstance(number, AffineScalarFunc) else {}
        for variable, sensitivity in sensitivities.items():
            if variable not in errors:
                errors[variable] = _draw(generator, variable, draws, rectangular_sources)
            drawn += sensitivity * errors[variable]
        inputs.append(drawn)
    results = np.asarray(function(*inputs), dtype=float)
    if results.shape != (draws,):
        raise ValueError(f"the function must return one value per draw, got shape {results.shape}")
    if not np.isfinite(results).all():
        raise ValueError("the function gave values that are not finite")
    tail = 0.5 * (1.0 - COVERAGE_95)
    low, high = np.quantile(results, [tail, 1.0 - tail])
    return Simulated(float(results.mean()), float(results.std(ddof=1)), (float(low), float(high)))


def _draw(
    generator: np.random.Generator, variable: Variable, draws: int, rectangular_sources: Collection[str]
) -> Floats:
    """Return draws of one independent error about zero."""
    deviation = float(variable.std_dev)
    if variable.tag in rectangular_sources:
        half_width = math.sqrt(3.0) * deviation
        return generator.uniform(-half_width, half_width, draws)
    return deviation * generator.standard_normal(draws)


def _variances(number: Number) -> dict[str, float]:
    """Return the variance from each named source, sources of one name added up."""
    variances: dict[str, float] = {}
    if isinstance(number, AffineScalarFunc):
        for variable, component in number.error_components().items():
            source = variable.tag or UNTAGGED
            variances[source] = variances.get(source, 0.0) + float(component) ** 2
    return variances


def _size(value: float, name: str) -> float:
    """Return a width or uncertainty as a float, refusing what cannot be one."""
    if not (math.isfinite(value) and value >= 0.0):
        raise ValueError(f"the {name} must be zero or positive and finite, got {value}")
    return float(value)

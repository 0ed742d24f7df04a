"""The noise of readings about a fitted response: its size, its correlation in time, and what rounding adds.

Floats and arrays only. Times in hours, temperatures in degC, differences in K.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reportgen.calc.response_search import TIME_CONSTANT, StepFit

Floats: TypeAlias = NDArray[np.float64]

LONGEST_CORRELATION = 0.3  # ours: longest correlation time of the noise, as a share of the time readings span
CORRELATION_EVIDENCE = 1.0  # ours: log likelihood that correlation must gain over independent noise
NOISE_POINTS = 60  # ours: means over equal stretches of time that the noise is judged from
CORRELATION_TIMES = 10  # ours: correlation times tried
FRESH_SHARES = (0.0, 0.4, 0.7, 0.9)  # ours: shares tried of noise that is new in each reading
LEAST_WEIGHT = 0.03  # ours: likelihood, relative to the best, below which a correlation time is left out
DOUBT_LAG = 0.25  # ours [time constants]: what residuals have in common over so long is the curve's fault


@dataclass(frozen=True)
class Noise:
    """Noise of the readings.

    `covariance` [K^2] is that of the means over stretches of time that `blocks` takes, `sd` [K] the scatter
    of one reading about the curve, `drift` [K] the part of its noise that two readings `DOUBT_LAG` time
    constants apart have in common.
    """

    blocks: Floats
    covariance: Floats
    sd: float
    step_correlation: float
    effective_count: float
    freedom: float
    drift: float


def noise_of(at: Floats, reading: Floats, fit: StepFit, resolution: float) -> Noise:
    """Return the noise that the residuals and the thermometer's step speak for."""
    blocks = _blocks(at, NOISE_POINTS)
    middle, residuals, jacobian = blocks @ at, blocks @ fit.residuals, blocks @ fit.jacobian
    count, parameters = jacobian.shape
    axes, _ = np.linalg.qr(jacobian)
    rounding = resolution**2 / 12
    scatter = fit.residual_sum_of_squares / (len(at) - parameters)
    stepped = blocks @ _rounding_covariance(reading - fit.residuals, scatter - rounding, resolution) @ blocks.T
    squares = float(residuals @ residuals)
    beyond_rounding = max(squares - float(np.trace(stepped) - np.trace(axes.T @ stepped @ axes)), 0.0)
    covariance = stepped.copy()
    growth = freedom = carried = drift = 0.0
    long_lag = DOUBT_LAG * float(fit.parameters[TIME_CONSTANT])
    median_step = float(np.median(np.diff(at)))
    lags = np.abs(middle[:, None] - middle)
    for weight, length, fresh in _likely_correlations(lags, residuals, jacobian):
        correlation = np.eye(count)
        if length > 0:
            correlation = (1 - fresh) * np.exp(-lags / length) + fresh * correlation
        spread = correlation @ axes
        inner = axes.T @ spread
        # Sum of squares that noise of variance one leaves after the fit: its mean, and half its variance.
        left = max(float(count - np.trace(inner)), 1e-6 * count)
        left_squared = float(np.sum(correlation**2)) - 2 * float(np.sum(spread**2)) + float(np.sum(inner**2))
        size = beyond_rounding / left
        covariance += weight * size * correlation
        growth += weight * (count - parameters) / left
        freedom += weight * left_squared / left**2
        if length > 0:
            carried += weight * size * (1 - fresh) * math.exp(-median_step / length)
            drift += weight * size * (1 - fresh) * math.exp(-long_lag / length)
    variance = max(growth * scatter, rounding)
    mean_variance = float(np.sum(covariance)) / count**2
    # Noise of variance zero, from a thermometer without steps, hides nothing.
    alone = variance / mean_variance if mean_variance > 0 else math.inf
    return Noise(
        blocks=blocks,
        covariance=covariance,
        sd=math.sqrt(max(scatter, rounding)),
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


def _rounding_covariance(fitted: Floats, variance: float, resolution: float) -> Floats:
    """Return the covariance [K^2] of the rounding errors of readings along the curve, (n, n).

    Rounding errors at temperatures d < 1 steps apart have the correlation 1 - 6 d (1 - d), averaged over
    where the temperatures lie between two steps; it is used up to where it first is zero. Noise of `variance`
    [K^2] before rounding blurs it.
    """
    if resolution == 0:
        return np.zeros((len(fitted), len(fitted)))
    apart = np.minimum(np.abs(fitted[:, None] - fitted) / resolution, 0.5)
    blur = math.exp(-4 * math.pi**2 * max(variance, 0.0) / resolution**2)
    correlation = np.maximum(1 - 6 * apart * (1 - apart), 0.0) * blur
    np.fill_diagonal(correlation, 1.0)
    return np.asarray(correlation * (resolution**2 / 12))


def _likely_correlations(lags: Floats, residuals: Floats, jacobian: Floats) -> list[tuple[float, float, float]]:
    """Return what the noise may be like: weight, correlation time [h], and the share that is not correlated.

    By restricted likelihood, over mixtures of noise that fades with time and noise new in each reading.
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
    correlations[1:, np.arange(count), np.arange(count)] = 1 + 1e-9  # nearly simultaneous readings
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

"""Gas per kilogram of feed from a first-order model of the digester.

Floats and arrays only. Times are in days [d] on one axis whose whole numbers are local midnights; feed masses
in kg (fresh or volatile solids: the yield is per that kg); gas in standard dry litres (0 degC, 101.325 kPa).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reportgen.calc.digester_log import DEFAULT_RATES, LENGTH_SLACK, Floats, Reason, ordered_log, typical_step

MINIMUM_MODEL_DAYS = 21.0  # [d] of both logs for the first-order model; domain rule of the project
MINIMUM_MODEL_ROWS = 10  # gas rows for the first-order model; ours
WIDEST_RELATIVE_UNCERTAINTY = 0.30  # [1] beyond which the model is not constrained by the logs; ours
SHORTEST_INTERVAL = 0.75  # [d] gas rows closer than this are added up before the model is fitted; ours
EDGE_SLACK = 0.25  # [d] between an end of the feed log and a gas interval that still belongs to it; ours
ALIKE_LIMIT = 0.85  # [1] largest correlation of neighbouring residuals allowed for; ours
NOISE_FLOOR = 0.02  # [1] gas readings are never taken to fit the model better than this; ours


@dataclass(frozen=True)
class FirstOrderYield:
    """Gas per feed from the first-order model."""

    value: float  # [L/kg]
    standard_uncertainty: float  # [L/kg]
    interval_95: tuple[float, float]  # [L/kg]
    rate: float  # [1/d] mean rate, weighted by fit
    rates: tuple[float, float]  # [1/d] slowest and fastest rate tried
    background_share: float  # [1] of the modelled gas, from feed before the log
    gas_rows: int  # used in the fit


def first_order_yield(
    feed_times: ArrayLike,
    feed_masses: ArrayLike,
    gas_times: ArrayLike,
    gas_amounts: ArrayLike,
    rates: Sequence[float] = DEFAULT_RATES,
) -> FirstOrderYield | Reason:
    """Return gas per feed from a first-order model of the feed log, or why the logs do not support it.

    Parameters
    ----------
    feed_times, feed_masses
        Time [d] and mass [kg] of each feed, shape (n,).
    gas_times, gas_amounts
        Time [d] of each reading and gas produced since the one before [L], shape (m,).
    rates
        First-order rates to try [1/d], all equally likely beforehand.

    Raises
    ------
    ValueError
        If times and amounts differ in number, are not finite, an amount is negative or a rate not positive.

    Notes
    -----
    Gas between a and b: Y * sum of m_j (exp(-k (a - t_j)+) - exp(-k (b - t_j)+)) + B (exp(-k a) - exp(-k b)),
    with Y and B not negative; B is the gas still to come from feed before the log. Each k is fitted by least
    squares, with errors in proportion to the length of the interval, and weighted by its likelihood with Y, B
    and the error integrated out. Gas rows closer than 0.75 d are added up first. The first gas row is left
    out, for the time it covers is not known, and so are intervals that reach beyond the feed log. The
    uncertainty of each fit is widened where neighbouring residuals are alike.
    """
    feed_at, masses = ordered_log(feed_times, feed_masses)
    gas_at, amounts = _merge_to_days(*ordered_log(gas_times, gas_amounts))
    tried = np.asarray(rates, dtype=float)
    if tried.size == 0 or not (np.isfinite(tried).all() and tried.min() > 0.0):
        raise ValueError(f"rates must be positive, got {tuple(rates)}")
    refusal = _model_refusal(feed_at, masses, gas_at)
    if refusal is not None:
        return refusal
    reach = typical_step(np.floor(feed_at)) + EDGE_SLACK
    inside = (gas_at[:-1] >= feed_at[0] - reach) & (gas_at[1:] <= feed_at[-1] + reach)
    begin, end, gas = gas_at[:-1][inside], gas_at[1:][inside], amounts[1:][inside]
    if gas.size < MINIMUM_MODEL_ROWS:
        return Reason("gas_rows_few", {"rows": gas.size, "needed_rows": MINIMUM_MODEL_ROWS})
    if not gas.sum() > 0.0:
        return Reason("no_gas")
    scale = gas.sum() / (end - begin).sum() * (end - begin)
    return _pool_rates(feed_at - begin[0], masses, begin - begin[0], end - begin[0], gas, scale, tried)


def _model_refusal(feed_at: Floats, masses: Floats, gas_at: Floats) -> Reason | None:
    """Return why the logs are too short for the model, or None."""
    if masses.sum() <= 0.0:
        return Reason("no_feed")
    if gas_at.size < 2:
        return Reason("gas_rows_few", {"rows": float(gas_at.size), "needed_rows": MINIMUM_MODEL_ROWS})
    for code, moments in (("feed_log_short", np.unique(np.floor(feed_at))), ("gas_log_short", gas_at)):
        days = float(moments[-1] - moments[0]) + typical_step(moments)
        if days < MINIMUM_MODEL_DAYS - LENGTH_SLACK:
            return Reason(code, {"days": days, "needed_days": MINIMUM_MODEL_DAYS})
    return None


def _pool_rates(
    feed_at: Floats, masses: Floats, begin: Floats, end: Floats, gas: Floats, scale: Floats, rates: Floats
) -> FirstOrderYield | Reason:
    """Fit yield and background for each rate and pool the fits by likelihood."""
    from scipy.special import stdtr

    freedom = gas.size - 2
    values, errors, weights, shares = (np.empty(rates.size) for _ in range(4))
    for index, rate in enumerate(rates):
        gone = np.exp(-rate * np.clip(begin[:, None] - feed_at, 0.0, None))
        left = np.exp(-rate * np.clip(end[:, None] - feed_at, 0.0, None))
        design = np.column_stack([(gone - left) @ masses, np.exp(-rate * begin) - np.exp(-rate * end)])
        design /= scale[:, None]
        solution = _non_negative_fit(design, gas / scale)
        residual = gas / scale - design @ solution
        misfit = max(float(residual @ residual) / freedom, NOISE_FLOOR**2)
        normal = design.T @ design
        inverse = np.linalg.inv(normal)
        widened = _widening(residual)
        values[index] = solution[0]
        errors[index] = math.sqrt(inverse[0, 0] * misfit * widened)
        # Each rate counts its own independent rows. One count for all, that of the best fit, would be stricter logic;
        # on invented logs it gives wider intervals that hold more often than the 95 % they state.
        weights[index] = -0.5 * freedom / widened * math.log(misfit) - 0.5 * np.linalg.slogdet(normal)[1]
        parts = (design * scale[:, None]).sum(axis=0) * solution
        shares[index] = parts[1] / max(parts.sum(), np.finfo(float).tiny)
    weights = np.exp(weights - weights.max())
    weights /= weights.sum()
    value = float(weights @ values)
    error = math.sqrt(float(weights @ (errors**2 * freedom / (freedom - 2) + (values - value) ** 2)))
    if not (value > 0.0 and error / value <= WIDEST_RELATIVE_UNCERTAINTY):
        relative = error / value if value > 0.0 else math.inf
        return Reason("not_constrained", {"relative_standard_uncertainty": relative})
    grid = np.linspace((values - 10.0 * errors).min(), (values + 10.0 * errors).max(), 4001)
    below = stdtr(freedom, (grid[:, None] - values) / errors) @ weights
    low, high = np.interp([0.025, 0.975], below, grid)
    return FirstOrderYield(
        value=value,
        standard_uncertainty=error,
        interval_95=(max(float(low), 0.0), float(high)),
        rate=float(weights @ rates),
        rates=(float(rates.min()), float(rates.max())),
        background_share=float(weights @ shares),
        gas_rows=gas.size,
    )


def _widening(residual: Floats) -> float:
    """Return the factor on the variance of a fit for residuals that resemble their neighbours [1].

    For a first-order autoregressive error it is (1 + r) / (1 - r), with r corrected for the shortness of the
    series (Marriott and Pope 1954; from memory).
    """
    count, power = residual.size, max(float(residual @ residual), np.finfo(float).tiny)
    raw = float(residual[:-1] @ residual[1:]) / power
    alike = min(max((count * raw + 3.0) / (count - 4.0), 0.0), ALIKE_LIMIT)
    return (1.0 + alike) / (1.0 - alike)


def _non_negative_fit(design: Floats, target: Floats) -> Floats:
    """Return the least-squares solution of two unknowns that are not negative, as design and target are not."""
    solution: Floats = np.linalg.lstsq(design, target, rcond=None)[0].astype(np.float64)
    if solution.min() >= 0.0:
        return solution
    single = design.T @ target / (design**2).sum(axis=0)
    options = [np.array([single[0], 0.0]), np.array([0.0, single[1]])]
    return min(options, key=lambda option: float(((target - design @ option) ** 2).sum()))


def _merge_to_days(moments: Floats, amounts: Floats) -> tuple[Floats, Floats]:
    """Return a gas log with rows that follow too soon added to the next; a rest at the end is dropped."""
    kept = [0] if moments.size else []
    for index in range(1, moments.size):
        if moments[index] - moments[kept[-1]] >= SHORTEST_INTERVAL:
            kept.append(index)
    running = np.cumsum(amounts)[kept]
    return moments[kept], np.diff(running, prepend=0.0)

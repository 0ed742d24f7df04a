"""Gas per kilogram of feed from the totals of logs of steady feeding.

Floats and arrays only. Times are in days [d] on one axis whose whole numbers are local midnights; feed masses
in kg (fresh or volatile solids: the yield is per that kg); gas in standard dry litres (0 degC, 101.325 kPa).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reportgen.calc.digester_log import DEFAULT_RATES, Floats, Reason, ordered_log, typical_step

MINIMUM_STEADY_DAYS = 14.0  # [d] of both logs for a yield from totals; domain rule of the project
FEED_VARIATION_LIMIT = 0.25  # [1] day-to-day coefficient of variation of feed; domain rule of the project
WEEKLY_FEED_VARIATION_LIMIT = 0.20  # [1] of sums over any 7 days, where feeding is not daily; ours
UNFED_DAYS_SHARE = 0.25  # [1] of the days without feed from which feeding counts as not daily; ours
WEEK = 7
GAS_TREND_LIMIT = 0.15  # [1] drift of daily gas over the window, relative to its mean; ours
TREND_STANDARD_ERRORS = 2.0  # a drift below this many standard errors is no trend; common practice, no source
SHORTEST_WINDOW = 4.0  # [d] below which scatter and drift of daily gas cannot be judged at all; ours
# [d] the same for the days both logs share: a day is lost where the last feed follows the last reading; ours
SHARED_SLACK = 1.25


@dataclass(frozen=True)
class SteadyYield:
    """Gas per feed from totals over the days both logs cover."""

    value: float  # [L/kg]
    relative_standard_uncertainty: float  # [1]
    gas: float  # [L]
    feed: float  # [kg]
    first_day: float  # [d] on the time axis
    last_day: float  # [d]
    components: Mapping[str, float]  # relative standard uncertainty [1] by cause


def daily_totals(times: ArrayLike, amounts: ArrayLike) -> tuple[NDArray[np.int64], Floats]:
    """Return totals per whole day, from the first day with an entry to the last; days without entry are zero.

    Parameters
    ----------
    times, amounts
        Time [d] and amount of each entry, shape (n,), in any order.

    Returns
    -------
    days, totals
        Whole days on the time axis and their totals, shape (days,).
    """
    moments, values = ordered_log(times, amounts)
    if not moments.size:
        return np.empty(0, dtype=np.int64), np.empty(0)
    whole = np.floor(moments).astype(np.int64)
    totals = np.bincount(whole - whole[0], weights=values)
    return np.arange(whole[0], whole[0] + totals.size, dtype=np.int64), totals.astype(np.float64)


def feeding_is_steady(
    feed_times: ArrayLike, feed_masses: ArrayLike, gas_times: ArrayLike, gas_amounts: ArrayLike
) -> tuple[bool, tuple[Reason, ...]]:
    """Return whether yield may be taken from totals of feed and gas, and what speaks against it.

    Parameters
    ----------
    feed_times, feed_masses
        Time [d] and mass [kg] of each feed, shape (n,).
    gas_times, gas_amounts
        Time [d] of each reading and gas produced since the one before [L], shape (m,).

    Returns
    -------
    steady, reasons
        True with no reasons, or False with one reason for each condition that fails.

    Raises
    ------
    ValueError
        If times and amounts differ in number, are not finite, or an amount is negative.

    Notes
    -----
    Conditions, on the days both logs cover: 14 days or more; daily feed varies by less than 25 % (standard
    deviation over mean), or, where a quarter of the days or more have no feed, its sums over any 7 days vary
    by less than 20 %; gas per day drifts over the window by less than 15 % of its mean or by less than two
    standard errors.
    """
    window = _window(feed_times, feed_masses, gas_times, gas_amounts)
    if isinstance(window, Reason):
        return False, (window,)
    reasons = []
    if window.length < MINIMUM_STEADY_DAYS - SHARED_SLACK:
        reasons.append(Reason("window_short", {"days": window.length, "needed_days": MINIMUM_STEADY_DAYS}))
    reasons.extend(_uneven_feed(window))
    drift, error = window.drift()
    if abs(drift) >= GAS_TREND_LIMIT and abs(drift) >= TREND_STANDARD_ERRORS * error:
        reasons.append(Reason("gas_drifts", {"drift": drift, "standard_error": error}))
    return not reasons, tuple(reasons)


def steady_yield(
    feed_times: ArrayLike, feed_masses: ArrayLike, gas_times: ArrayLike, gas_amounts: ArrayLike
) -> SteadyYield | Reason:
    """Return gas per feed from totals over the days both logs cover; to be used where `feeding_is_steady`.

    Parameters
    ----------
    feed_times, feed_masses
        Time [d] and mass [kg] of each feed, shape (n,).
    gas_times, gas_amounts
        Time [d] of each reading and gas produced since the one before [L], shape (m,).

    Raises
    ------
    ValueError
        If times and amounts differ in number, are not finite, or an amount is negative.

    Notes
    -----
    A feed counts for the time until the next one, the last for a typical (median) gap. The first gas amount
    is taken to cover one typical (median) interval. The uncertainty joins, for rates of 0.09 to 0.30 per day:
    `feed in the window` (feed varied, and part of its gas comes after the window); `earlier feed` (random
    variation of the feed before the window, as seen within it); `drift` (a level before the window that
    differed, as far as the drift of the gas leaves it open: relative drift over k T); `scatter` (of gas per
    day about its line).
    """
    window = _window(feed_times, feed_masses, gas_times, gas_amounts)
    if isinstance(window, Reason):
        return window
    rates = np.asarray(DEFAULT_RATES)
    length, feed_rate = window.length, window.feed / window.length
    released = 1.0 - np.exp(-rates * length)
    # Feed as a rate held from one feed to the next; the part of it released by the end of the window.
    starts, ends = window.feed_edges[:-1] - window.last, window.feed_edges[1:] - window.last
    kept = (np.exp(np.outer(rates, ends)) - np.exp(np.outer(rates, starts))) / rates[:, None]
    from_window = ((ends - starts - kept) * window.feed_rates).sum(axis=1)
    effective = from_window + feed_rate * released / rates
    # Root of the sum of squares of what feeds 0.5 d, 1.5 d, ... before the window give within it.
    earlier = released * np.exp(-0.5 * rates) / np.sqrt(1.0 - np.exp(-2.0 * rates))
    drift, drift_error = window.drift()
    components = {
        "feed in the window": _root_mean_square(window.feed / effective - 1.0),
        "earlier feed": window.feed_spread() / window.feed * _root_mean_square(earlier),
        "drift": max(abs(drift), drift_error) * _root_mean_square(1.0 / (rates * length)),
        "scatter": window.scatter() / math.sqrt(window.daily_gas.size),
    }
    return SteadyYield(
        value=window.gas / window.feed,
        relative_standard_uncertainty=math.hypot(*components.values()),
        gas=window.gas,
        feed=window.feed,
        first_day=window.first,
        last_day=window.last,
        components=components,
    )


@dataclass(frozen=True)
class _Window:
    """The days both logs cover: feed as a rate held from one feed day to the next, gas in steps of a day."""

    first: float  # [d]
    last: float  # [d]
    gas: float  # [L]
    feed: float  # [kg]
    feed_edges: Floats  # [d], shape (n + 1,)
    feed_rates: Floats  # [kg/d], shape (n,)
    daily_feed: Floats  # [kg], shape (days,)
    daily_gas: Floats  # [L], shape (days,)

    @property
    def length(self) -> float:
        """Length [d]."""
        return self.last - self.first

    def fed_daily(self) -> bool:
        """Return whether days without feed are the exception, or the window is too short to tell."""
        return self.daily_feed.size <= WEEK or float(np.mean(self.daily_feed == 0.0)) < UNFED_DAYS_SHARE

    def weekly_feed(self) -> Floats:
        """Return the feed of any 7 days in a row [kg]."""
        return np.convolve(self.daily_feed, np.ones(WEEK), mode="valid")

    def feed_spread(self) -> float:
        """Return the standard deviation of a day's feed [kg], from sums over 7 days where not fed daily."""
        values, days = (self.daily_feed, 1) if self.fed_daily() else (self.weekly_feed(), WEEK)
        if values.size < 2:
            return float(values.sum())  # one day of feed tells nothing of how others differ: as much as it was
        return float(values.std(ddof=1)) / math.sqrt(days)

    def _line(self) -> tuple[float, float, float]:
        """Return the slope of daily gas over its mean [1/d], its standard error, and the scatter [1]."""
        count = self.daily_gas.size
        relative = self.daily_gas / self.daily_gas.mean() - 1.0
        day = np.arange(count) - 0.5 * (count - 1)
        spread = float(day @ day)
        slope = float(day @ relative) / spread
        residual = relative - slope * day
        scatter = math.sqrt(float(residual @ residual) / (count - 2))
        return slope, scatter / math.sqrt(spread), scatter

    def drift(self) -> tuple[float, float]:
        """Return the relative change of daily gas over the window and its standard error [1]."""
        slope, error, _ = self._line()
        return slope * self.length, error * self.length

    def scatter(self) -> float:
        """Return the relative standard deviation of daily gas about its line [1]."""
        return self._line()[2]


def _window(
    feed_times: ArrayLike, feed_masses: ArrayLike, gas_times: ArrayLike, gas_amounts: ArrayLike
) -> _Window | Reason:
    """Return the days both logs cover, or why there are none."""
    feed_at, masses = ordered_log(feed_times, feed_masses)
    gas_at, amounts = ordered_log(gas_times, gas_amounts)
    if masses.sum() <= 0.0:
        return Reason("no_feed")
    if gas_at.size < 2 or amounts.sum() <= 0.0:
        return Reason("no_gas")
    days, totals = daily_totals(feed_at, masses)
    fed = totals > 0.0
    hours = daily_totals(feed_at, masses * (feed_at - np.floor(feed_at)))[1]
    moments = days[fed] + hours[fed] / totals[fed]
    edges = np.append(moments, moments[-1] + typical_step(days[fed]))
    gas_edges = np.insert(gas_at, 0, gas_at[0] - typical_step(gas_at))
    first, last = max(edges[0], gas_edges[0]), min(edges[-1], gas_edges[-1])
    if last <= first:
        return Reason("logs_apart", {"days_apart": float(first - last)})
    if last - first < SHORTEST_WINDOW:
        return Reason("window_short", {"days": float(last - first), "needed_days": MINIMUM_STEADY_DAYS})
    feed_until, gas_until = _running(edges, totals[fed]), _running(gas_edges, amounts)
    marks = first + np.arange(math.floor(last - first + 1e-9) + 1)
    within = (edges > first) & (edges < last)
    cuts = np.concatenate(([first], edges[within], [last]))
    fed_between = np.diff(np.interp(cuts, edges, feed_until))
    inside = days[fed][(moments >= first) & (moments < last)]
    if inside.size == 0:
        return Reason("no_feed")
    return _Window(
        first=float(first),
        last=float(last),
        gas=float(np.diff(np.interp([first, last], gas_edges, gas_until))[0]),
        feed=float(fed_between.sum()),
        feed_edges=cuts,
        feed_rates=fed_between / np.diff(cuts),
        daily_feed=totals[inside[0] - days[0] : inside[-1] - days[0] + 1],
        daily_gas=np.diff(np.interp(marks, gas_edges, gas_until)),
    )


def _uneven_feed(window: _Window) -> list[Reason]:
    """Return what speaks against an even feed."""
    if window.daily_feed.size < WEEK:
        return []  # the window is too short then, which is said already
    if window.fed_daily():
        code, values, limit = "feed_uneven", window.daily_feed, FEED_VARIATION_LIMIT
    else:
        code, values, limit = "weekly_feed_uneven", window.weekly_feed(), WEEKLY_FEED_VARIATION_LIMIT
    variation = float(values.std(ddof=1) / values.mean())
    return [] if variation < limit else [Reason(code, {"variation": variation, "limit": limit})]


def _running(edges: Floats, amounts: Floats) -> Floats:
    """Return the running total at each edge."""
    return np.concatenate(([0.0], np.cumsum(amounts)))[: edges.size]


def _root_mean_square(values: Floats) -> float:
    """Return the root of the mean square."""
    return math.sqrt(float(np.mean(values**2)))

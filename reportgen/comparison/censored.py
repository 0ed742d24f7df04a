"""Times of which only limits are known: between two looks, or not yet when somebody stopped looking."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

#: Rounds of the self-consistent estimate, at most, and the largest change of a share that ends it (ours).
MOST_ROUNDS, SETTLED = 5_000, 1e-8
#: More times than this are first rounded to this share of the longest: the work grows with their square (ours).
MOST_EXACT, ROUNDED_TO = 400, 0.005


@dataclass(frozen=True, slots=True)
class Times:
    """What is known of how long something took in several trials.

    Attributes
    ----------
    n, unfinished : int
        All of them, and those of them that it had not happened in when the looking ended.
    median : (float, float)
        Limits of the median; the upper one is infinite where half of them had not finished.
    by : float or None
        The longest time by which it is known to have happened in any; None where it happened in none.
    """

    n: int
    unfinished: int
    median: tuple[float, float]
    by: float | None


def times(limits: Sequence[tuple[float, float]]) -> Times:
    """Return what is known of times of which each lies after its first limit and not after its second.

    Equal limits are an exact time; an infinite second one is a time that was not reached.

    Raises
    ------
    ValueError
        If there are none, or limits are the wrong way round.
    """
    found = distribution(limits)
    below, median = 0.0, (found[-1][0], found[-1][1])
    for low, high, share in found:
        below += share
        if below >= 0.5 - 1e-6:
            median = (low, high)
            break
    finished = [high for _, high in limits if math.isfinite(high)]
    return Times(len(limits), len(limits) - len(finished), median, max(finished, default=None))


def distribution(limits: Sequence[tuple[float, float]]) -> list[tuple[float, float, float]]:
    """Return where the times lie: after one limit, not after the other, and what share of them.

    Notes
    -----
    The non-parametric estimate of largest likelihood for times between limits, by Turnbull's self-consistency. Shares
    can only be told of the innermost intervals: from a first limit to the next second limit. Where each time is exact
    or only not reached, it is that of Kaplan and Meier.

    Raises
    ------
    ValueError
        If there are none, or limits are the wrong way round.

    References
    ----------
    B. W. Turnbull, Journal of the Royal Statistical Society B 38 (1976) 290-295, from memory.
    """
    if not limits:
        raise ValueError("there are no times")
    if any(not low <= high for low, high in limits):
        raise ValueError("the limits of a time are the wrong way round")
    low, high = (np.array([pair[i] for pair in limits], dtype=float) for i in (0, 1))
    if len(limits) > MOST_EXACT:
        step = ROUNDED_TO * max(float(low.max()), float(high[np.isfinite(high)].max(initial=0.0)), 1e-300)
        low, high = np.round(low / step) * step, np.round(high / step) * step
    (low, high), counts = np.unique(np.stack((low, high)), axis=1, return_counts=True)
    exact = low == high
    starts, ends = _innermost(low, high, exact)
    # An exact time t is what lies after just before t: it belongs to [t, t] and to whatever reaches over t.
    inside = (starts >= low[:, None]) & (ends <= high[:, None])
    inside &= exact[:, None] | (ends > low[:, None])  # a time after t is not one at t
    weights = counts / counts.sum()
    shares = np.full(len(starts), 1 / len(starts))
    for _ in range(MOST_ROUNDS):
        new = shares * ((weights / (inside @ shares)) @ inside)
        settled = float(np.abs(new - shares).max()) < SETTLED
        shares = new
        if settled:
            break
    return [
        (float(a), float(b), float(share)) for a, b, share in zip(starts, ends, shares, strict=True) if share > 1e-6
    ]


def _innermost(
    low: np.ndarray[tuple[int], np.dtype[np.float64]],
    high: np.ndarray[tuple[int], np.dtype[np.float64]],
    exact: np.ndarray[tuple[int], np.dtype[np.bool_]],
) -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]], np.ndarray[tuple[int], np.dtype[np.float64]]]:
    """Return the intervals from a first limit to a second one with no other limit between."""
    # At one moment: the start of an exact time, then ends, then the starts of what comes after that moment.
    events = sorted(
        {(float(t), 0 if e else 2) for t, e in zip(low, exact, strict=True)} | {(float(t), 1) for t in high},
    )
    starts, ends, opened = [], [], None
    for moment, kind in events:
        if kind != 1:
            opened = moment
        elif opened is not None:
            starts.append(opened)
            ends.append(moment)
            opened = None
    return np.array(starts), np.array(ends)

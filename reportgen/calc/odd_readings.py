"""Readings that look odd beside their neighbours: there and back, bumps, standing still, a sign lost, two in one.

Floats and arrays only. Times in seconds and in order, temperatures in degC, differences in K. Nothing is changed here;
indices say where to look.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.int64]

BIN = 60.0  # ours [s]: bumps are looked for in means over so long
SIGN_BIN = 300.0  # ours [s]: a turn at zero is looked for in means over so long
FEWEST_AROUND_TURN = 3  # ours: readings on each side of a turn at zero
LEAST_FALL_TO_TURN, LEAST_RISE_FROM_TURN = 3.0, 2.0  # ours [K]
TURN_SLOPES = (0.3, 1.5)  # ours: slope after a turn at zero over the slope before it, if only the sign was lost
FEWEST_ALTERNATING = 12  # ours: readings that show two instruments in one column
ALTERNATING_SHARE = 0.9  # ours: so many readings lie on the other side of their neighbours than the one before
ALTERNATING_CALM = 0.3  # ours: every second reading then scatters by less than this share of what they are apart


@dataclass(frozen=True)
class Bump:
    """A rise that came back: start, peak and end [s], and its height [K] above the higher of its two feet."""

    start: float
    peak: float
    end: float
    height: float


def there_and_back(values: ArrayLike, least: float) -> Indices:
    """Return the indices of readings that lie more than `least` on one side of both their neighbours.

    A course that only falls, however steep, has none: there each reading lies between its neighbours.
    """
    reading = np.asarray(values, dtype=np.float64)
    step = np.diff(reading)
    into, out = step[:-1], -step[1:]
    # Few steps are so large; only these are compared.
    large = np.flatnonzero(np.abs(into) > least)
    both = large[(np.abs(out[large]) > least) & (into[large] * out[large] > 0)]
    # Beside one that is far off, its neighbours lie on one side of theirs too; the farthest off is meant.
    size = np.minimum(np.abs(into[both]), np.abs(out[both]))
    beside = np.diff(both) == 1
    smaller = np.zeros(len(both), dtype=bool)
    smaller[:-1] |= beside & (size[:-1] < size[1:])
    smaller[1:] |= beside & (size[1:] < size[:-1])
    return both[~smaller] + 1


def swapped_digits(value: float, step: float, expected: float, tolerance: float) -> float | None:
    """Return the number within `tolerance` of `expected` that comes from swapping two neighbouring digits, or None."""
    decimals = min(max(math.ceil(-math.log10(step) - 1e-9), 0), 3) if step > 0 else 1
    text = f"{value:.{decimals}f}"
    places = [i for i, letter in enumerate(text) if letter.isdigit()]
    for left, right in pairwise(places):
        letters = list(text)
        letters[left], letters[right] = letters[right], letters[left]
        other = float("".join(letters))
        if other != float(text) and abs(other - expected) <= tolerance:
            return other
    return None


def bumps(times: ArrayLike, values: ArrayLike, least: float, before: float, after: float) -> list[Bump]:
    """Return the rises of at least `least` [K] that began within `before` and came back within `after` [s].

    Notes
    -----
    Of means over a minute: the height of a reading is that above the higher of the lowest values within `before`
    ahead of it and within `after` behind it. Where readings fall all the time it is zero.
    """
    at, reading = _means(np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64), BIN)
    count = len(at)
    if count < 3:
        return []
    here = np.arange(count)
    first = np.searchsorted(at, at - before, side="left")
    last = np.searchsorted(at, at + after, side="right")
    lows = _lows(reading, int(max((here - first).max(), (last - here).max())) + 1)
    foot = np.maximum(_lowest(lows, first, here + 1), _lowest(lows, here, last))
    height = reading - foot
    high = np.flatnonzero(height >= least)
    if not len(high):
        return []
    found: list[Bump] = []
    for group in np.split(high, np.flatnonzero(np.diff(high) > 1) + 1):
        peak = int(group[np.argmax(reading[group])])
        if found and at[peak] <= found[-1].end:
            continue  # the same bump, with a notch in it
        rise = reading[first[peak] : peak + 1]
        start = int(first[peak]) + int(np.flatnonzero(rise == rise.min())[-1])
        fall = reading[peak : last[peak]]
        end = peak + int(np.flatnonzero(fall <= foot[peak] + 0.25 * height[peak])[0])
        found.append(Bump(float(at[start]), float(at[peak]), float(at[end]), float(height[peak])))
    return found


def identical_runs(times: ArrayLike, values: ArrayLike, fewest: int, longest: float) -> list[tuple[int, int]]:
    """Return the first and last index of each run of at least `fewest` equal readings over more than `longest` [s]."""
    at, reading = np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if len(at) < fewest:
        return []
    ends = np.flatnonzero(np.diff(reading) != 0)
    starts, ends = np.concatenate(([0], ends + 1)), np.concatenate((ends, [len(at) - 1]))
    chosen = (ends - starts + 1 >= fewest) & (at[ends] - at[starts] > longest)
    return [(int(a), int(b)) for a, b in zip(starts[chosen], ends[chosen], strict=True)]


def turn_at_zero(times: ArrayLike, values: ArrayLike, tolerance: float) -> float | None:
    """Return when [s] readings that fall to zero and rise again look as if only their minus sign was left out.

    They are never below zero, fall by `LEAST_FALL_TO_TURN` or more, come within one step of zero, and from there only
    rise (but for `tolerance` [K]), about as fast as they fell. None where any of this fails.
    """
    at, reading = _means(np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64), SIGN_BIN)
    if len(at) < 2 * FEWEST_AROUND_TURN + 1 or reading.min() < 0:
        return None
    turn = int(np.argmin(reading))
    if turn < FEWEST_AROUND_TURN or len(at) - 1 - turn < FEWEST_AROUND_TURN:
        return None
    before, after = turn - FEWEST_AROUND_TURN, turn + FEWEST_AROUND_TURN
    fell, rose = (reading[before] - reading[turn]), (reading[after] - reading[turn])
    if reading[:turn].max() - reading[turn] < LEAST_FALL_TO_TURN:
        return None
    if reading[-1] - reading[turn] < LEAST_RISE_FROM_TURN or np.any(np.diff(reading[turn:]) < -tolerance):
        return None
    if reading[turn] > max(reading[turn - 1] - reading[turn], tolerance):
        return None
    ratio = (rose / (at[after] - at[turn])) / (fell / (at[turn] - at[before]))
    return float(at[turn]) if TURN_SLOPES[0] <= ratio <= TURN_SLOPES[1] else None


def alternates(values: ArrayLike, least: float) -> float | None:
    """Return how far apart two courses lie [K] that a column holds by turns, or None if it holds one."""
    reading = np.asarray(values, dtype=np.float64)
    if len(reading) < FEWEST_ALTERNATING:
        return None
    # How far each reading is off the middle of its neighbours, and what a straight course leaves of every second one.
    off = reading[1:-1] - (reading[:-2] + reading[2:]) / 2
    if np.count_nonzero(off[1:] * off[:-1] < 0) < ALTERNATING_SHARE * (len(off) - 1):
        return None
    apart = float(np.median(np.abs(off)))
    calm = float(np.median(np.abs(reading[4:] - 2 * reading[2:-2] + reading[:-4]))) / 2
    return apart if apart >= least and calm <= ALTERNATING_CALM * apart else None


def heaped_step(values: ArrayLike, step: float, share: float, fewest: int) -> float:
    """Return the step that most readings keep to, ten or five times `step`, or `step` where they use all digits.

    Equal readings in a row count once, and at least `fewest` must be left; `share` of them must keep to the coarser
    step, where a tenth or a fifth would by chance.
    """
    reading = np.asarray(values, dtype=np.float64)
    if not step > 0 or len(reading) < fewest:
        return step
    counts = np.rint(reading / step).astype(np.int64)
    counts = counts[np.concatenate(([True], np.diff(counts) != 0))]
    if len(counts) < fewest:
        return step
    for factor in (10, 5):
        if np.count_nonzero(counts % factor == 0) >= share * len(counts):
            return factor * step
    return step


def _means(at: Floats, reading: Floats, width: float) -> tuple[Floats, Floats]:
    """Return mean times and readings over stretches of `width`; readings farther apart are left as they are."""
    if len(at) < 2:
        return at, reading
    number = np.floor((at - at[0]) / width)
    starts = np.concatenate(([0], np.flatnonzero(np.diff(number)) + 1))
    if len(starts) == len(at):
        return at, reading
    counts = np.diff(np.concatenate((starts, [len(at)])))
    return np.add.reduceat(at - at[0], starts) / counts + at[0], np.add.reduceat(reading, starts) / counts


def _lows(values: Floats, longest: int) -> list[Floats]:
    """Return the lowest of each 1, 2, 4, … values in a row, up to windows of `longest`."""
    lows = [values]
    while 2 ** len(lows) <= longest and 2 ** len(lows) <= len(values):
        half = 2 ** (len(lows) - 1)
        lows.append(np.minimum(lows[-1][:-half], lows[-1][half:]))
    return lows


def _lowest(lows: list[Floats], first: Indices, beyond: Indices) -> Floats:
    """Return the lowest value of each window from `first` up to, not including, `beyond`."""
    level = np.minimum(np.log2(beyond - first).astype(np.int64), len(lows) - 1)
    found = np.empty(len(first))
    for power, low in enumerate(lows):
        same = np.flatnonzero(level == power)
        found[same] = np.minimum(low[first[same]], low[beyond[same] - 2**power])
    return found

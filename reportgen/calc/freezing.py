"""The freezing plateau of a probe in water: where it stands still near 0 °C, and what comes before and after.

Floats and arrays only; temperatures in degC, times in hours.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]

BAND = 0.5  # ours [K]: readings within so much of the plateau's level are on it
LEFT = 1.0  # ours [K]: readings farther from the level have left the plateau; flutter at the band's edge has not
LEAST_HOURS = 0.5  # ours [h]: what stands still for less is no plateau
SLOWER = 2.0  # ours: through the plateau's band it takes so many times as long as the fall before it would
BRIEF = 5 / 60  # ours [h]: a shorter excursion is noise, or a door
RISE_WITHIN = 0.5  # ours [h]: supercooled water warms by itself within minutes; slower is warmth from outside
LEVEL_STEP = 0.1  # ours [K]: levels tried, from 0 °C outwards
RECENTRED = 3  # ours: so often the level is put to the median of the plateau found with the one before
MOST_SMOOTHED = 31  # ours: at most so many readings in a running median


@dataclass(frozen=True)
class Plateau:
    """A freezing plateau; indices are those of the readings.

    Attributes
    ----------
    level : float
        What the probe read on it [degC]: the median.
    first, last : int
        The first reading of it and the last.
    above : int or None
        The last reading above the band, where the fall led straight to the plateau.
    fall : float or None
        How fast the readings fell before it [K/h], positive.
    dip_from, lowest : int or None
        Where the water was supercooled: the last reading before the dip, and the last of the lowest readings in it.
    left : int or None
        The first reading after it that is clearly off the level; None where there is none.
    returned : int or None
        The first reading after that which is back on the level, or beyond it.
    """

    level: float
    first: int
    last: int
    above: int | None = None
    fall: float | None = None
    dip_from: int | None = None
    lowest: int | None = None
    left: int | None = None
    returned: int | None = None


def steadied(hours: ArrayLike, values: ArrayLike) -> tuple[Floats, int]:
    """Return the running medians of readings so close that noise would show as leaving a plateau.

    Parameters
    ----------
    hours : (n,) array [h]
        Rising.
    values : (n,) array [degC]

    Returns
    -------
    (n,) array [degC]
        The readings themselves where they are not close.
    int
        How many readings each median is of, an odd number; 1 where nothing was done.

    Notes
    -----
    As many readings as five minutes hold at the median step, at most 31. A median keeps a jump where it is and makes a
    pointed dip shallower, by less than the readings move within its window. Fewer readings count towards the ends.
    """
    at, reading = np.asarray(hours, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if len(at) < 2:
        return reading, 1
    fitting = min(BRIEF / float(np.median(np.diff(at))), MOST_SMOOTHED, len(at))
    half = (int(fitting + 1e-9) - 1) // 2
    if half < 1:
        return reading, 1
    padded = np.pad(reading, half, constant_values=np.nan)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    medians = np.median(windows[half : len(at) - half], axis=1)
    ends = [float(np.nanmedian(windows[i])) for i in (*range(half), *range(len(at) - half, len(at)))]
    return np.concatenate((ends[:half], medians, ends[half:])), 2 * half + 1


def find_plateau(hours: ArrayLike, values: ArrayLike, zero_within: float) -> Plateau | None:
    """Return the first freezing plateau of a probe in water, or None.

    Parameters
    ----------
    hours : (n,) array [h]
        Rising.
    values : (n,) array [degC]
        Close readings steadied before, see `steadied`.
    zero_within : float [K]
        How far from 0 °C the plateau may lie: the accuracy of the probe.

    Returns
    -------
    Plateau or None

    Raises
    ------
    ValueError
        If hours and values are not equally long, or hours do not rise.

    Notes
    -----
    A plateau is a stretch of at least half an hour within 0.5 K of one level, near 0 °C, that the fall before it
    would have crossed in less than half its time; so slow cooling past 0 °C is none. It may follow a dip below, from
    which supercooled water came back within half an hour. The level is sought from 0 °C outwards, since a probe shows
    its own error there; the band is not made wider by it.
    """
    at, reading = np.asarray(hours, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if at.shape != reading.shape or at.ndim != 1:
        raise ValueError(f"hours {at.shape} and values {reading.shape} must be equally long")
    if np.any(np.diff(at) <= 0):
        raise ValueError("hours must rise")
    steps = int(zero_within / LEVEL_STEP + 1e-9)
    for level in sorted((LEVEL_STEP * step for step in range(-steps, steps + 1)), key=abs):
        found = _plateau_at(at, reading, level)
        if found is None:
            continue
        for _ in range(RECENTRED):
            median = float(np.median(reading[found.first : found.last + 1]))
            found = _plateau_at(at, reading, min(max(median, -zero_within), zero_within)) or found
        return found
    return None


def _plateau_at(at: Floats, reading: Floats, level: float) -> Plateau | None:
    """Return the first plateau at this level."""
    away = reading - level
    inside = np.abs(away) <= BAND
    for first, last in _stretches(at, away, inside):
        if at[last] - at[first] < LEAST_HOURS:
            continue
        if first == 0:
            return _with_end(at, away, Plateau(level, first, last))
        if away[first - 1] > BAND:
            fall = _fall_before(at, away, first)
            if at[last] - at[first] >= SLOWER * 2 * BAND / fall:
                return _with_end(at, away, Plateau(level, first, last, above=first - 1, fall=fall))
            continue
        warmer = np.flatnonzero(away[:first] >= -BAND)
        if not len(warmer):
            continue  # already frozen when the readings begin
        dip_from = int(warmer[-1])
        dip = away[dip_from + 1 : first]
        lowest = dip_from + 1 + int(np.flatnonzero(dip == dip.min())[-1])
        if at[first] - at[lowest] <= RISE_WITHIN or lowest == first - 1:
            return _with_end(at, away, Plateau(level, first, last, dip_from=dip_from, lowest=lowest))
    return None


def _stretches(at: Floats, away: Floats, inside: Flags) -> list[tuple[int, int]]:
    """Return the first and last index of each stretch in the band, brief small excursions counting as inside."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], inside, [False])).astype(np.int8)))
    joined: list[tuple[int, int]] = []
    for first, beyond in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        last = beyond - 1
        if joined:
            since = joined[-1][1]
            between = np.abs(away[since + 1 : first])
            if at[first] - at[since] < BRIEF and between.max() <= LEFT:
                joined[-1] = (joined[-1][0], last)
                continue
        joined.append((first, last))
    return joined


def _fall_before(at: Floats, away: Floats, first: int) -> float:
    """Return how fast the readings fell to the plateau [K/h], over the 1 K above its band where they show that."""
    since = first - 1
    while since > 0 and away[since] < BAND + 1.0 and away[since - 1] > BAND:
        since -= 1
    return float((away[since] - away[first]) / (at[first] - at[since]))


def _with_end(at: Floats, away: Floats, plateau: Plateau) -> Plateau:
    """Return the plateau with its last reading and what follows it."""
    last = plateau.last
    while True:
        beyond = np.flatnonzero(np.abs(away[last + 1 :]) > LEFT)
        left = last + 1 + int(beyond[0]) if len(beyond) else None
        before_it = np.flatnonzero(np.abs(away[last + 1 : left]) <= BAND)
        last += 1 + int(before_it[-1]) if len(before_it) else 0
        if left is None:
            return replace(plateau, last=last)
        back = np.flatnonzero(away[left + 1 :] >= -BAND if away[left] < 0 else away[left + 1 :] <= BAND)
        returned = left + 1 + int(back[0]) if len(back) else None
        if returned is None or at[returned] - at[last] >= BRIEF or abs(away[returned]) > BAND:
            return replace(plateau, last=last, left=left, returned=returned)
        last = returned

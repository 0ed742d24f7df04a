"""What cabinets and water usually do: bands of our own, replaced by own past runs where these tell.

A past run tells of the next one as well as runs of one appliance repeat: the middle of theirs, spread as they are among
each other, and never less than runs usually are.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.plan.past import PastRun

#: What a small absorption cabinet does before any reading: time constant (middle [h], spread of its logarithm), dead
#: time (mean [h]), floor (middle, spread [degC]). Ours, wide.
USUAL_CONSTANT, CONSTANT_SPREAD = 1.2, 0.7
USUAL_DELAY = 0.6
USUAL_FLOOR, FLOOR_SPREAD = -15.0, 6.0
#: Water is down to 0 °C so long after it is in and the flame is lit [h] (ours).
BEGINS = (0.2, 1.0)
#: How far runs of one appliance differ: logarithm of the time constant, dead time [h], floor [K], and the logarithms of
#: the cold and of the hours that the water takes (ours); that counts for so many runs beside those given.
CONSTANT_DIFFERS, DELAY_DIFFERS, FLOOR_DIFFERS, COLD_DIFFERS, HOURS_DIFFER = 0.25, 0.2, 2.5, 0.25, 0.25
COUNTS_FOR = 3
#: More water in as many containers takes longer in proportion, in more containers not at all: half way, and the
#: logarithm spread by so much of that of the ratio [1] (ours).
BY_MASS, MASS_SPREAD = 0.5, 0.5
#: What a figure of a past run may be for it to tell anything of a cabinet or of ice, in its unit (ours).
POSSIBLE = {
    "temperature_start": (0.0, 60.0),
    "temperature_floor": (-60.0, -1.0),
    "cooling_time_constant": (0.15, 8.0),
    "cooling_delay": (0.0, 4.0),
}
POSSIBLE_ICE = (0.5, 100.0)
#: Points of a past course.
POINTS = 400


@dataclass(frozen=True)
class Usual:
    """Middle and spread of what is usual; of logarithms for `constant` [h], `cold` [K h] and `hours` [h].

    Attributes
    ----------
    constant, floor : (float, float)
        Time constant [h] and floor [degC] of the cabinet.
    delay : (float, float) or None
        Dead time [h]; None for `USUAL_DELAY`, with a long tail.
    cold, hours : (float, float) or None
        What freezing took in own runs: degrees below zero times hours, and hours from when the water is at 0 °C.
    of_cooling, of_ice : tuple of str
        Names of the past runs that these rest on.
    """

    constant: tuple[float, float] = (USUAL_CONSTANT, CONSTANT_SPREAD)
    delay: tuple[float, float] | None = None
    floor: tuple[float, float] = (USUAL_FLOOR, FLOOR_SPREAD)
    cold: tuple[float, float] | None = None
    hours: tuple[float, float] | None = None
    of_cooling: tuple[str, ...] = ()
    of_ice: tuple[str, ...] = ()


def usual_of(past: Sequence[PastRun], water_mass: float | None) -> Usual:
    """Return what is usual, by past runs where they tell; `water_mass` [kg] is that of the running trial."""
    cooled = [run for run in past if _cooled(run.figures)]
    frozen = [run for run in past if POSSIBLE_ICE[0] <= run.figures.get("ice_making_time", 0.0) <= POSSIBLE_ICE[1]]
    measured = [run for run in frozen if run in cooled and _cold_taken(run.figures) > 0]
    found = Usual()
    if cooled:
        constants, delays, floors = (
            [run.figures[key] for run in cooled]
            for key in ("cooling_time_constant", "cooling_delay", "temperature_floor")
        )
        found = Usual(
            constant=_next(constants, CONSTANT_DIFFERS, is_ratio=True),
            delay=_next(delays, DELAY_DIFFERS),
            floor=_next(floors, FLOOR_DIFFERS),
            of_cooling=tuple(run.name for run in cooled),
        )
    if not frozen:
        return found
    hours = [_hours_taken(run.figures) * _by_mass(run.figures, water_mass)[0] for run in frozen]
    cold = [_cold_taken(run.figures) * _by_mass(run.figures, water_mass)[0] for run in measured]
    more = max(_by_mass(run.figures, water_mass)[1] for run in frozen)
    return Usual(
        found.constant,
        found.delay,
        found.floor,
        _widened(_next(cold, COLD_DIFFERS, is_ratio=True), more) if cold else None,
        _widened(_next(hours, HOURS_DIFFER, is_ratio=True), more),
        found.of_cooling,
        tuple(run.name for run in (measured or frozen)),
    )


def _cooled(figures: Mapping[str, float]) -> bool:
    return all(key in figures and low <= figures[key] <= high for key, (low, high) in POSSIBLE.items())


def _hours_taken(figures: Mapping[str, float]) -> float:
    """Return the hours from when the water was at 0 °C, about, until it was solid."""
    making = figures["ice_making_time"]
    placed = max(making - figures.get("freezing_time", making), 0.0)
    return max(making - placed - sum(BEGINS) / 2, 0.1 * making)


def _cold_taken(figures: Mapping[str, float]) -> float:
    """Return the degrees below zero times hours that the water of a past run met until solid [K h], by its curve."""
    until = figures["ice_making_time"]
    hours = np.linspace(until - _hours_taken(figures), until, POINTS)
    since = np.maximum(hours - figures["cooling_delay"], 0.0)
    floor = figures["temperature_floor"]
    course = floor + (figures["temperature_start"] - floor) * np.exp(-since / figures["cooling_time_constant"])
    return float(np.mean(np.maximum(-course, 0.0))) * float(hours[-1] - hours[0])


def _by_mass(figures: Mapping[str, float], water_mass: float | None) -> tuple[float, float]:
    """Return the factor on what a past run took for the water of this one, and the spread of its logarithm."""
    before = figures.get("water_mass", 0.0)
    if water_mass is None or water_mass <= 0 or before <= 0:
        return 1.0, 0.0
    more = math.log(water_mass / before)
    return math.exp(BY_MASS * more), MASS_SPREAD * abs(more)


def _next(values: Sequence[float], differs: float, is_ratio: bool = False) -> tuple[float, float]:
    """Return the middle of the next value after these, and its spread; of logarithms where they differ by ratios."""
    known = np.log(values) if is_ratio else np.asarray(values, dtype=float)
    middle = float(known.mean())
    squares = COUNTS_FOR * differs**2 + float(np.sum((known - middle) ** 2))
    spread = math.sqrt(squares / (COUNTS_FOR + len(known) - 1) * (1 + 1 / len(known)))
    return (math.exp(middle) if is_ratio else middle), spread


def _widened(usual: tuple[float, float], more: float) -> tuple[float, float]:
    return usual[0], math.hypot(usual[1], more)

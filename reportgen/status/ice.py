"""When the ice will be solid: the cold that the water has met so far, and the looks at it, carried on.

Ice grows as long and as fast as the cabinet is below 0 °C, so its measure is the sum of cold: degrees below zero times
hours, counted from when the water itself is down to 0 °C. How much a container needs is not known beforehand; each look
narrows it (Bayes on a grid). Times in hours from burner lit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr

from reportgen.calc import sampling, uncertainty, water
from reportgen.calc.uncertainty import DEFAULT_SEED
from reportgen.figures.cabinet_log import Cabinet
from reportgen.figures.freezing import SURFACE
from reportgen.figures.ice import EYE_LIMITS, SAME_EYE
from reportgen.message import Message, say
from reportgen.status.cooling import DRAWS, Cooling, Floats
from reportgen.status.usual import BEGINS, Usual
from reportgen.trial import Look, Trial

HOUR = 3600.0
#: Of the curves of the cabinet so many are used: each takes a grid.
CURVES = 400
#: Sum of cold that a container takes before any look, middle [K h] and spread of the logarithm: from thin layers on a
#: cold plate to bottles in still air (ours, wide). With a stated shape it is Plank's, widened by so much.
USUAL_COLD, COLD_SPREAD = 16.0, 0.7
SHAPE_SPREAD = 0.5
#: People put in what freezes within the day: hours to solid ice, middle and spread of the logarithm (ours). Where the
#: cabinet is not logged nothing else is known, and they spread more.
USUAL_HOURS, HOURS_SPREAD, HOURS_ALONE = 5.5, 0.45, 0.7
#: Ice grows as its sum of cold to about this power: 1 where the cold has to come to the ice, less where it has to go
#: through it, more where water on its way to 0 °C takes part of the cold (ours).
GROWTH = (0.9, 1.1)
#: A share judged by eye is off by so much [1], as in a report, and people write tenths of the whole or, where all they
#: wrote would be one, quarters [1] (ours).
EYE = uncertainty.rectangular(EYE_LIMITS)
TENTHS, QUARTERS = 0.1, 0.25
#: From so large a share on ice shows; less is called liquid, and the words part softly there [1] (ours).
SHOWS, SOFT = 0.04, 0.03
#: How fast ice grows shows from so large a share on [1], or once ice was seen in water that was in the cold for so long
#: [h] (ours).
LEAST_SHARE, LONG_ENOUGH = 0.15, 0.9
#: Containers of one trial take the same cold, but for this spread of the logarithm (ours).
CONTAINERS_ALIKE = 0.25
#: Where only words were written, so that nearly all rests on what is usual, that is taken to spread more [1] (ours).
WORDS_ALONE = 1.2
#: Looks of one container that are weighed, the last ones.
MOST_LOOKS = 12
#: Grid of the cold that a container takes, as multiples of the middle.
STEPS = np.exp(np.linspace(-5.0, 5.0, 161))
#: How far ahead is looked [h] (ours).
AHEAD = 36.0


@dataclass(frozen=True)
class _Cold:
    """Sums of cold from the start on, (curves, times) at `hours`; `later` is the same from now on."""

    hours: Floats
    sums: Floats
    later_hours: Floats
    later: Floats
    middle: float
    spread: float

    def at(self, hour: float, begins: Floats) -> Floats:
        """Return the sum of cold from `begins` to a past hour, by curve."""
        return np.maximum(self._past(np.full(len(begins), hour)) - self._past(begins), 0.0)

    def _past(self, hours: Floats) -> Floats:
        index = np.clip(np.searchsorted(self.hours, hours) - 1, 0, len(self.hours) - 2)
        width = self.hours[index + 1] - self.hours[index]
        share = np.clip((hours - self.hours[index]) / width, 0.0, 1.0)
        rows = np.arange(len(hours))
        return self.sums[rows, index] * (1 - share) + self.sums[rows, index + 1] * share


def solid_at(
    trial: Trial, now: float, cabinet: Cabinet | None, course: Cooling | None, usual: Usual
) -> Floats | Message:
    """Return draws of when all containers are solid [h], infinite where never, or why the looks do not support any.

    Parameters
    ----------
    trial : Trial
        As it stood `now`, its burner lit.
    cabinet : Cabinet or None
        Where its temperature is logged.
    course : Cooling or None
        Where it is heading; needed where it is logged.
    usual : Usual
        Own runs in it support a forecast where the looks do not.
    """
    by_container = _looks(trial)
    if not usual.of_ice:
        if not by_container:
            return say("nobody looked at the ice yet (column ice)")
        if cabinet is not None and course is None:
            return say("where the cabinet is heading is not known yet")
        if not any(look.frozen is None or look.frozen > 0 for look in trial.looks):
            return say("no ice was seen yet")
    generator = np.random.default_rng([DEFAULT_SEED, 3])
    cold = _cold(trial, now, cabinet, course, usual)
    begins = _begins(trial) + _between("water down to 0 °C", BEGINS)
    if not usual.of_ice and not _tells(trial, cold, begins):
        return say("too little ice was seen to tell how fast it grows")
    solid = [looks for looks in by_container if looks[-1].is_solid]
    going = [looks for looks in by_container if not looks[-1].is_solid] if by_container else [[]]
    if not going:
        return say("all containers are solid already")
    power = _between("growth of ice", GROWTH)
    takes = cold.middle * STEPS
    middle, spread = cold.middle, cold.spread
    if only_words(trial) and not usual.of_ice:
        spread *= WORDS_ALONE
    if solid:
        # Some are solid: the others take about as much.
        seen = [cold.at(trial.hours(_first_solid(looks).at), begins).mean() for looks in solid]
        if max(seen) > 0:
            middle, spread = float(np.max(seen)), CONTAINERS_ALIKE
    before = -0.5 * (np.log(takes / middle) / spread) ** 2
    level = generator.random(CURVES)
    total = np.zeros(CURVES)
    latest = np.zeros(CURVES)
    by_hours = 0.0 if usual.of_ice or cabinet is None else _hours_usual(cold, begins, takes)
    for looks in going:
        weights = before[None, :] + by_hours + _fits(trial, looks, cold, begins, power, takes)
        highest = weights.max(axis=1, keepdims=True)
        shares = np.exp(weights - highest)
        total += highest[:, 0] + np.log(shares.sum(axis=1))
        # Containers go together: one level for all of a curve.
        cumulated = np.cumsum(shares, axis=1)
        places = (cumulated < level[:, None] * cumulated[:, -1:]).sum(axis=1)
        latest = np.maximum(latest, takes[np.minimum(places, len(takes) - 1)])
    instants = _reached(cold, begins, latest[:, None])[:, 0]
    curve_weights = np.exp(total - total.max())
    cumulated = np.cumsum(curve_weights) / curve_weights.sum()
    chosen = np.searchsorted(cumulated, (np.arange(DRAWS) + 0.5) / DRAWS)
    return instants[np.minimum(chosen, CURVES - 1)]


def only_words(trial: Trial) -> bool:
    """Return whether no look tells a share, and no container was seen solid."""
    return not any(look.frozen for look in trial.looks)


def _tells(trial: Trial, cold: _Cold, begins: Floats) -> bool:
    """Return whether so much ice was seen, or in water so long in the cold, that its growth shows."""
    if max(look.frozen or 0.0 for look in trial.looks) >= LEAST_SHARE:
        return True
    last = max(trial.hours(look.at) for look in trial.looks if look.frozen is None or look.frozen > 0)
    grows = np.diff(cold.sums.mean(axis=0), prepend=0.0) > 0
    in_cold = cold.hours[grows & (cold.hours > begins.min()) & (cold.hours <= last)]
    return len(in_cold) > 0 and last - float(in_cold[0]) >= LONG_ENOUGH


def _between(name: str, ends: tuple[float, float]) -> Floats:
    low, high = ends
    return np.asarray(low + (high - low) * sampling.shares(name, CURVES))


def _looks(trial: Trial) -> list[list[Look]]:
    """Return the looks at each container, the last ones in order; a look that names none speaks of all."""
    names = list(dict.fromkeys(look.container for look in trial.looks if look.container)) or [""]
    ordered = sorted(trial.looks, key=lambda look: look.at)
    found = [[look for look in ordered if look.container in (name, "")] for name in names]
    return [looks for looks in found if looks]


def _first_solid(looks: Sequence[Look]) -> Look:
    return next(look for look in looks if look.is_solid)


def _begins(trial: Trial) -> float:
    return max(trial.hours(trial.placed_at), 0.0) if trial.placed_at is not None else 0.0


def _cold(trial: Trial, now: float, cabinet: Cabinet | None, course: Cooling | None, usual: Usual) -> _Cold:
    """Return the sums of cold; hours in place of them where the cabinet is not known, or own runs tell only hours."""
    hours = np.concatenate((np.linspace(0.0, now, 80), now + np.geomspace(0.02, AHEAD, 100)))
    if cabinet is None or course is None or (usual.of_ice and usual.cold is None):
        sums = np.repeat(hours[None, :], CURVES, axis=0)
        middle, spread = usual.hours or (USUAL_HOURS, HOURS_ALONE)
    else:
        offset = course.offset[:CURVES]
        past = np.interp(hours[:80], cabinet.hours, cabinet.values)[None, :] - offset[:, None]
        below = np.maximum(-np.concatenate((past, course.first(CURVES).course(hours[80:])), axis=1), 0.0)
        sums = np.zeros_like(below)
        sums[:, 1:] = np.cumsum((below[:, 1:] + below[:, :-1]) / 2 * np.diff(hours), axis=1)
        middle, spread = usual.cold or _usual_cold(trial)
    return _Cold(hours, sums, hours[79:], sums[:, 79:], middle, spread)


def _usual_cold(trial: Trial) -> tuple[float, float]:
    """Return middle [K h] and spread of the logarithm of the cold that a container takes, before any look."""
    sheet = trial.sheet.water
    if sheet.shape is None or sheet.thickness is None:
        return USUAL_COLD, COLD_SPREAD
    ends = [
        float(water.plank_freezing_time(sheet.shape, sheet.thickness.value / 1000, 0.0, -1.0, surface)) / HOUR
        for surface in SURFACE
    ]
    # The two ends are taken as those of a 95 % range.
    within = abs(math.log(ends[0] / ends[1])) / (2 * sampling.NORMAL_95)
    return math.sqrt(ends[0] * ends[1]), math.hypot(within, SHAPE_SPREAD)


def _fits(trial: Trial, looks: Sequence[Look], cold: _Cold, begins: Floats, power: Floats, takes: Floats) -> Floats:
    """Return the logarithm of how well each cold taken meets the looks at one container, (curves, grid)."""
    looks = looks[-MOST_LOOKS:]
    fits = np.zeros((len(begins), len(takes)))
    off, squares, judged = np.zeros_like(fits), np.zeros_like(fits), 0
    for look in looks:
        met = cold.at(trial.hours(look.at), begins)
        share = (met[:, None] / takes[None, :]) ** power[:, None]
        if look.frozen is None:
            fits += log_ndtr((share - SHOWS) / SOFT) + log_ndtr((1 - share) / SOFT)
        elif look.frozen <= 0:
            fits += log_ndtr((SHOWS - share) / SOFT)
        else:
            off += share - look.frozen
            squares += (share - look.frozen) ** 2
            judged += 1
            fits += log_ndtr((1 - share) / SOFT)
    # Errors of one eye: a normal distribution with the same covariance between any two of the looks.
    same, own = SAME_EYE * EYE**2, (1 - SAME_EYE) * EYE**2 + _step(trial) ** 2 / 12
    return np.asarray(fits - 0.5 * (squares - off**2 * same / (own + judged * same)) / own)


def _step(trial: Trial) -> float:
    """Return to what steps the shares judged by eye were rounded [1]."""
    judged = [look.frozen for look in trial.looks if look.frozen is not None and 0 < look.frozen < 1]
    return QUARTERS if all((share / QUARTERS).is_integer() for share in judged) else TENTHS


def _hours_usual(cold: _Cold, begins: Floats, takes: Floats) -> Floats:
    """Return the logarithm of how usual the hours are that each cold taken comes to, (curves, grid)."""
    hours = _reached(cold, begins, np.repeat(takes[None, :], len(begins), axis=0))
    hours = np.clip(hours, 0.1, cold.later_hours[-1])
    return -0.5 * (np.log(hours / USUAL_HOURS) / HOURS_SPREAD) ** 2


def _reached(cold: _Cold, begins: Floats, takes: Floats) -> Floats:
    """Return when each curve has met cold that is taken, (curves, any), not before now; infinite if never."""
    wanted = takes + cold._past(np.maximum(begins, 0.0))[:, None]
    instants = np.empty(takes.shape)
    for i in range(len(takes)):
        instants[i] = np.interp(wanted[i], cold.later[i], cold.later_hours, right=np.inf)
    return instants

"""Where the gas rate changed, drifted or stood still while the burner was lit."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from reportgen.calc import gas_course as calc
from reportgen.calc import series, uncertainty
from reportgen.figures.gas_readings import (
    HOUR,
    at_row,
    used_elsewhere,
)
from reportgen.message import Message, say
from reportgen.trial import Finding, Numbers, Readings, Trial

#: Shortest window of a rate [h]: at 60 L/h a level read to 1 cm of a 57 cm drum gives 3.5 % over it, and 10 % over
#: 10 minutes (worked out in the tests).
SHORTEST_WINDOW = 0.5
#: Fewest readings on each side of a change of the rate (ours).
FEWEST_READINGS = 3
#: Most changes of the rate looked for within one burning span (ours).
MOST_CHANGES = 2
#: A rate changed where the two sides differ by more than this many combined standard uncertainties, and by more than
#: this share of the larger one (ours).
CHANGE_SIGMAS, CHANGE_SHARE = 4.0, 0.15
#: A change is a change, not an even drift, where it leaves a sum of squares lower by this many variances (ours).
DRIFT_MARGIN = 4.0
#: A change, or a drift, is not told where one too near an end explains the readings so much better (ours).
SHORT_MARGIN = 16.0
#: A rate is not told from nought within this many standard uncertainties; burning at the rate of the rest must differ
#: from standing still by the second number (ours).
FLAT_SIGMAS, BURNING_SIGMAS = 3.0, 4.0
#: Longer logs are thinned to means over equal stretches of time before a search (ours).
MOST_POINTS = 300


@dataclass(frozen=True)
class Segment:
    """A stretch of burning at one rate: start and end [s], rate [L/h as read], and its uncertainty as of a window."""

    start: float
    end: float
    rate: float
    standard_uncertainty: float


@dataclass(frozen=True)
class Block:
    """Readings of one burning span between which nothing but burning is known to move the gas.

    `drawn` is what was drawn so far [L]; of a flow log it is the rate [L/h].
    """

    span: int
    readings: Readings
    hours: Numbers
    drawn: Numbers


@dataclass(frozen=True)
class BurningLog:
    """The blocks of a run, and the standard uncertainty of one `drawn`."""

    is_flow: bool
    blocks: tuple[Block, ...]
    reading: float
    step: float


def rounded_alike(log: BurningLog, rates: Numbers) -> float:
    """Return the error [L/h] that all readings of a flow steadier than its meter's step share, as in the account."""
    if not log.step > 0:
        return 0.0
    return uncertainty.rounding(log.step) * math.exp(-2 * (math.pi * float(np.std(rates)) / log.step) ** 2)


@dataclass(frozen=True)
class _Flat:
    """A stretch [h] over which nothing is known to have been drawn, what was [L], and what the rest's rate would."""

    start: float
    end: float
    left: float
    expected: float

    def is_most_of(self, start: float, end: float) -> bool:
        """Return whether more than half of a piece lies in it."""
        return min(end, self.end) - max(start, self.start) > (end - start) / 2


def _flat_stretches(log: BurningLog) -> list[_Flat]:
    """Return where the readings stand still though the burner counts as lit."""
    found = []
    total, hours = _totals(log)
    for block in log.blocks:
        at, drawn = block.hours, block.drawn
        if log.is_flow:
            stretches = calc.marked_stretches(at, ~(np.abs(drawn) > FLAT_SIGMAS * log.reading), SHORTEST_WINDOW)
        else:
            at, drawn = series.thin(at, drawn, MOST_POINTS)
            stretches = calc.flat_stretches(at, drawn, FLAT_SIGMAS * math.sqrt(2) * log.reading, SHORTEST_WINDOW)
        for first, last in stretches:
            length, left = float(at[last] - at[first]), float(drawn[last] - drawn[first])
            if log.is_flow:
                left = float(np.trapezoid(drawn[first : last + 1], at[first : last + 1]))
            if hours - length < SHORTEST_WINDOW / 2:
                continue  # nothing else tells at what rate the burner burns
            expected = (total - left) / (hours - length) * length
            error = log.reading * (length if log.is_flow else math.sqrt(2))
            if expected - left > BURNING_SIGMAS * error:
                found.append(_Flat(float(at[first]), float(at[last]), left, expected))
    return found


def _totals(log: BurningLog) -> tuple[float, float]:
    """Return what was drawn between the readings [L], and in how many hours."""
    total = sum(
        float(np.trapezoid(block.drawn, block.hours)) if log.is_flow else float(block.drawn[-1] - block.drawn[0])
        for block in log.blocks
    )
    return total, sum(float(block.hours[-1] - block.hours[0]) for block in log.blocks)


def segments_of(trial: Trial, log: BurningLog) -> tuple[tuple[Segment, ...], list[Finding]]:
    """Return the segments of all spans, and what is to be said of flames that were out or changed, and of drifts."""
    segments: list[Segment] = []
    flat = _flat_stretches(log)
    findings = [_flame_out(stretch, log.blocks) for stretch in flat]
    for number, (start, end) in enumerate(trial.burning):
        blocks = tuple(block for block in log.blocks if block.span == number)
        if not blocks:
            continue
        hours, drawn, owner = _joined(trial, log, blocks)
        fit, drift = _fitted(trial, log, hours, drawn, owner)
        if fit is None:
            continue
        pieces = list(pairwise([trial.hours(start), *fit.changes, trial.hours(end)]))
        rates = [
            uncertainty.estimate(
                float(rate),
                math.sqrt(float(fit.covariance[i, i]) + _other_variance(trial, log, hours, drawn, pieces[i])),
                "gas readings",
            )
            for i, rate in enumerate(fit.rates)
        ]
        moments = [start, *(start + (change - trial.hours(start)) * HOUR for change in fit.changes), end]
        segments += [
            Segment(since, until, rate.nominal_value, rate.std_dev)
            for (since, until), rate in zip(pairwise(moments), rates, strict=True)
        ]
        stands = [any(stretch.is_most_of(*piece) for stretch in flat) for piece in pieces]
        if not fit.changes and drift is not None and not stands[0]:
            findings.append(_drifts(drift, hours, blocks))
        for i, rate in enumerate(rates if fit.changes else ()):
            if not stands[i] and rate.nominal_value <= FLAT_SIGMAS * rate.std_dev:
                stands[i] = True
                length = pieces[i][1] - pieces[i][0]
                usual = max(other.nominal_value for other in rates)
                findings.append(_flame_out(_Flat(*pieces[i], rate.nominal_value * length, usual * length), blocks))
        findings += [
            _flame_changed(change, rates[i], rates[i + 1], blocks)
            for i, change in enumerate(fit.changes)
            if not (stands[i] or stands[i + 1])  # else told as a flame that was out
        ]
    return tuple(segments), findings


def _flame_out(flat: _Flat, blocks: tuple[Block, ...]) -> Finding:
    return _at_hour(
        "caution",
        "flame-out-not-logged",
        say(
            "from {start} h to {end} h {left} L of gas left with the burner counted as lit, where {expected} L would "
            "at the rate of the rest: the flame was probably out, or the gas shut off",
            start=round(flat.start, 2),
            end=round(flat.end, 2),
            left=round(max(flat.left, 0.0), 1),
            expected=round(flat.expected, 1),
        ),
        say("burning time may be too long, gas per hour too small"),
        blocks,
        flat.start,
    )


def _flame_changed(change: float, before: object, after: object, blocks: tuple[Block, ...]) -> Finding:
    return _at_hour(
        "caution",
        "flame-changed",
        say(
            "the rate changed at {time} h from {before} L/h to {after} L/h: the flame was adjusted, the pressure "
            "changed, or gas went elsewhere",
            time=round(change, 1),
            before=before,
            after=after,
        ),
        say("the mean gas per hour stands for neither"),
        blocks,
        change,
    )


def _drifts(drift: calc.Drift, hours: Numbers, blocks: tuple[Block, ...]) -> Finding:
    return _at_hour(
        "note",
        "rate-drifts",
        say(
            "the rate drifts from {first} L/h at {start} h to {last} L/h at {end} h, as it does where the pressure at "
            "the jet changes with the content",
            first=round(drift.first, 1),
            last=round(drift.last, 1),
            start=round(float(hours[0]), 2),
            end=round(float(hours[-1]), 2),
        ),
        say("the mean gas per hour depends on how long the burner was lit"),
        blocks,
        float(hours[0]),
    )


def _at_hour(
    level: str, code: str, message: Message, effect: Message, blocks: tuple[Block, ...], hour: float
) -> Finding:
    """Return a finding at the row of the last reading up to an hour of the run."""
    hour += 1e-9  # a change fitted to a reading belongs to it
    block = next((block for block in reversed(blocks) if block.hours[0] <= hour), blocks[0])
    index = max(int(np.searchsorted(block.hours, hour, side="right")) - 1, 0)
    return replace(at_row(level, code, message, block.readings, index), effect=effect)


def _joined(trial: Trial, log: BurningLog, blocks: tuple[Block, ...]) -> tuple[Numbers, Numbers, Numbers | None]:
    """Return hours, what was drawn for this burner, and the number of the block (None for a flow log), thinned."""
    total = sum(len(block.hours) for block in blocks)
    parts = []
    for number, block in enumerate(blocks):
        drawn = block.drawn - _elsewhere_so_far(trial, block, log.is_flow)
        limit = max(2 * FEWEST_READINGS, MOST_POINTS * len(block.hours) // total)
        hours, thinned = series.thin(block.hours, drawn, limit)
        parts.append((hours, thinned, np.full(len(hours), float(number))))
    hours, drawn, owner = (np.concatenate(part) for part in zip(*parts, strict=True))
    return hours, drawn, None if log.is_flow else owner


def _elsewhere_so_far(trial: Trial, block: Block, is_flow: bool) -> Numbers:
    """Return what went elsewhere before each reading [L], shared out evenly over time; of a flow log its rate [L/h]."""
    amounts = trial.column("gas_elsewhere")
    at = block.readings.at
    if amounts is None:
        return np.zeros(len(at))
    if not is_flow:
        return np.asarray(np.interp(at, amounts.at, np.cumsum(amounts.values), left=0.0))
    steps = np.diff(amounts.at, prepend=amounts.at[0])
    rate = np.divide(amounts.values * HOUR, steps, out=np.zeros(len(amounts)), where=steps > 0)
    index = np.searchsorted(amounts.at, at, side="left")
    return np.asarray(np.append(rate, 0.0)[index])


def _fitted(
    trial: Trial, log: BurningLog, hours: Numbers, drawn: Numbers, owner: Numbers | None
) -> tuple[calc.RateFit | None, calc.Drift | None]:
    """Return the rates between accepted changes, and the even drift where that is what the readings show."""
    drift = calc.fit_drift(hours, drawn, log.reading, owner)
    for changes in range(MOST_CHANGES, 0, -1):
        fit = calc.fit_rates(hours, drawn, log.reading, changes, owner, SHORTEST_WINDOW, FEWEST_READINGS)
        if fit is None:
            continue
        pieces = pairwise([float(hours[0]), *fit.changes, float(hours[-1])])
        other = [_other_variance(trial, log, hours, drawn, piece) for piece in pieces]
        if not all(_is_change(fit, i, other[i] + other[i + 1]) for i in range(changes)):
            continue
        free = calc.fit_rates(hours, drawn, log.reading, changes, owner, 0.0, 2)
        if free is not None and _beyond(free, fit.sum_of_squares, log.reading) > SHORT_MARGIN:
            continue  # what changed did so too near an end to be told with its two rates
        if drift is None or _beyond(fit, drift.sum_of_squares, log.reading) > DRIFT_MARGIN * changes:
            return fit, None
    if drift is not None:
        free = calc.fit_rates(hours, drawn, log.reading, 1, owner, 0.0, 2)
        if not _is_drift(trial, drift, hours) or (
            free is not None and _beyond(free, drift.sum_of_squares, log.reading) > SHORT_MARGIN
        ):
            drift = None
    return calc.fit_rates(hours, drawn, log.reading, 0, owner, SHORTEST_WINDOW, FEWEST_READINGS), drift


def _beyond(fit: calc.RateFit, squares: float, reading: float) -> float:
    """Return by how many variances of a fit another sum of squares is larger than its own."""
    variance = max(reading**2, fit.sum_of_squares / fit.freedom if fit.freedom > 0 else 0.0)
    return (squares - fit.sum_of_squares) / variance


def _is_change(fit: calc.RateFit, i: int, other_variance: float) -> bool:
    before, after = float(fit.rates[i]), float(fit.rates[i + 1])
    covariance = fit.covariance
    variance = covariance[i, i] + covariance[i + 1, i + 1] - 2 * covariance[i, i + 1] + other_variance
    return _differ(before, after, math.sqrt(float(variance)))


def _is_drift(trial: Trial, drift: calc.Drift, hours: Numbers) -> bool:
    """Return whether a drift is beyond doubt; gas that went elsewhere some time in the span would look like one."""
    assert trial.lit_at is not None
    amount, _ = used_elsewhere(trial, trial.lit_at + float(hours[0]) * HOUR, trial.lit_at + float(hours[-1]) * HOUR)
    long_enough = float(hours[-1] - hours[0]) >= 2 * SHORTEST_WINDOW and len(hours) >= 2 * FEWEST_READINGS - 1
    return long_enough and amount == 0 and _differ(drift.first, drift.last, drift.difference_uncertainty)


def _differ(one: float, other: float, spread: float) -> bool:
    apart = abs(other - one)
    return apart > CHANGE_SIGMAS * spread and apart > CHANGE_SHARE * max(abs(one), abs(other))


def _other_variance(trial: Trial, log: BurningLog, hours: Numbers, drawn: Numbers, piece: tuple[float, float]) -> float:
    """Return the variance [(L/h)²] of a piece's rate from gas used elsewhere, and from flows all rounded alike."""
    assert trial.lit_at is not None
    first, last = piece
    _, spread = used_elsewhere(trial, trial.lit_at + first * HOUR, trial.lit_at + last * HOUR)
    variance = (spread / (last - first)) ** 2
    inside = (hours >= first) & (hours <= last)
    if log.is_flow and inside.any():
        variance += rounded_alike(log, drawn[inside]) ** 2
    return variance

"""How the gas was drawn: how steady the rate was, and where it changed or stood still."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from reportgen.calc import gas_course as calc
from reportgen.calc import series, uncertainty
from reportgen.figures.figure import DERIVED, SIMULATED, Assumption, Figure, given, not_given
from reportgen.figures.gas_account import GasAccount
from reportgen.figures.gas_changes import (
    SHORTEST_WINDOW,
    Block,
    BurningLog,
    Segment,
    rounded_alike,
    segments_of,
)
from reportgen.figures.gas_idle import idle_loss
from reportgen.figures.gas_readings import (
    HOUR,
    reading_uncertainty,
    used_elsewhere,
)
from reportgen.message import Message, say
from reportgen.trial import Finding, Numbers, Trial

#: Fewer windows than this have no scatter worth the name (ours).
FEWEST_WINDOWS = 3
#: Readings whose errors alone scatter the windows by more than this share of the rate tell no steadiness, unless
#: there is scatter beyond them [1] (ours).
COARSE = 0.05


@dataclass(frozen=True)
class Window:
    """A stretch of burning between two gas readings [s], its rate [L/h as read] and that rate's standard uncertainty.

    The uncertainty is that of the readings; the scale's is shared by all windows, and leaves their ratios alone.
    """

    start: float
    end: float
    rate: float
    standard_uncertainty: float


@dataclass(frozen=True)
class GasCourse:
    """The figures `gas_rate_steadiness` [1] and `idle_loss` [L/h as read], what they rest on, and what was noticed."""

    figures: list[Figure]
    windows: tuple[Window, ...]
    segments: tuple[Segment, ...]
    findings: tuple[Finding, ...]


def gas_course(trial: Trial, account: GasAccount | Message) -> GasCourse:
    """Return how the gas was drawn over the run, and what the holder did while the burner was not lit."""
    loss, findings = idle_loss(trial)
    key = "gas_rate_steadiness"
    if isinstance(account, Message):
        return GasCourse([not_given(key, account), loss], (), (), findings)
    if account.kind == "holder" and trial.sheet.gas.isolated is False:
        reason = say("the holder was open to the digester, so what it lost is not what was burnt")
        return GasCourse([not_given(key, reason), loss], (), (), findings)
    log = _log(trial, account)
    windows, covariance = _windows(trial, log)
    segments, noticed = segments_of(trial, log)
    steadiness = _steadiness(trial, account, log, windows, covariance)
    return GasCourse([steadiness, loss], windows, segments, (*noticed, *findings))


def _log(trial: Trial, account: GasAccount) -> BurningLog:
    """Return the readings taken while the burner was lit, cut at refills and at gaps of a flow log, without slips."""
    is_flow = account.kind == "flow"
    volumes = account.volumes
    slips = {(finding.file, finding.row) for finding in account.findings if finding.code == "gas-misread"}
    kept = np.ones(len(volumes), dtype=bool)
    for file, row in slips:
        kept &= ~((volumes.rows == row) & np.array([name == file for name in volumes.files])[volumes.file_index])
    volumes = volumes.where(kept).for_fits()
    reading, _ = reading_uncertainty(trial, account.kind, account.volumes)
    factor = 60.0 if is_flow else (-1.0 if account.kind == "holder" else 1.0)
    blocks = []
    for number, (start, end) in enumerate(trial.burning):
        inside = volumes.between(start, end)
        if is_flow:
            gap = series.gaps(inside.at)
            cuts = [(float(inside.at[i]), float(inside.at[i + 1])) for i in gap]
        else:
            cuts = [(refill.start, refill.end) for refill in account.refills if start <= refill.start < end]
        edges = [(start, start), *sorted(cuts), (end, end)]
        for (_, first), (last, _) in pairwise(edges):
            part = inside.between(first, last)
            if len(part) > 1 and part.at[-1] > part.at[0]:
                hours = trial.hours_of(part.at)
                blocks.append(Block(number, part, hours, factor * part.values.astype(float)))
    scale = 60.0 if is_flow else 1.0
    return BurningLog(is_flow, tuple(blocks), scale * reading, scale * volumes.step)


def _windows(trial: Trial, log: BurningLog) -> tuple[tuple[Window, ...], Numbers]:
    """Return the windows, and the covariance of the errors of their rates [(L/h)²]."""
    windows: list[Window] = []
    parts: list[Numbers] = []
    for block in log.blocks:
        bounds = calc.window_bounds(block.hours, SHORTEST_WINDOW)
        at, errors = block.readings.at, np.zeros((len(bounds), len(bounds)))
        end_weight = 0.0
        for i, (first, last) in enumerate(bounds):
            hours, drawn = block.hours[first : last + 1], block.drawn[first : last + 1]
            length = float(hours[-1] - hours[0])
            weights = np.zeros(len(hours))
            other = 0.0
            if log.is_flow:
                steps = np.diff(hours) / length / 2
                weights[:-1] += steps
                weights[1:] += steps
                other = rounded_alike(log, drawn) ** 2
            else:
                weights[[0, -1]] = -1 / length, 1 / length
            amount, spread = used_elsewhere(trial, float(at[first]), float(at[last]))
            errors[i, i] = float(weights @ weights) * log.reading**2 + (other + (spread / length) ** 2)
            if i:  # the last reading of the window before is the first of this one
                errors[i, i - 1] = errors[i - 1, i] = end_weight * float(weights[0]) * log.reading**2
            end_weight = float(weights[-1])
            rate = float(weights @ drawn) - amount / length
            windows.append(Window(float(at[first]), float(at[last]), rate, math.sqrt(errors[i, i])))
        parts.append(errors)
    covariance = np.zeros((len(windows), len(windows)))
    done = 0
    for part in parts:
        covariance[done : done + len(part), done : done + len(part)] = part
        done += len(part)
    return tuple(windows), covariance


def _steadiness(
    trial: Trial, account: GasAccount, log: BurningLog, windows: tuple[Window, ...], covariance: Numbers
) -> Figure:
    key = "gas_rate_steadiness"
    inputs = [block.readings for block in log.blocks]
    if len(windows) < FEWEST_WINDOWS:
        return not_given(
            key,
            say(
                "gas readings cut the burning into {n} windows of {minutes} minutes or more; {needed} are needed",
                n=len(windows) or "no",
                minutes=round(60 * SHORTEST_WINDOW),
                needed=FEWEST_WINDOWS,
            ),
            inputs=inputs,
        )
    rates = [window.rate for window in windows]
    hours = [(window.end - window.start) / HOUR for window in windows]
    scatter = calc.excess_scatter(rates, hours, covariance)
    if scatter.mean <= 0:
        return not_given(key, say("the readings show no gas used"), inputs=inputs)
    value, low, high = (part / scatter.mean for part in (scatter.excess, scatter.low, scatter.high))
    by_readings = scatter.explained / scatter.mean
    if low <= 0 and by_readings > COARSE:
        return not_given(
            key,
            say(
                "the readings are too coarse to tell: their errors alone scatter the windows by {percent} %",
                percent=round(100 * by_readings, 1),
            ),
            at_most=high,
            inputs=inputs,
        )
    # So that value and interval agree where the interval is not symmetric.
    spread = (high - low) / 2 / uncertainty.coverage_factor()
    assumptions = [taken for taken in account.assumptions if taken.name == "gas readings"]
    if account.kind == "holder" and trial.sheet.gas.isolated is None:
        assumptions.append(
            Assumption(
                "holder isolated",
                say("the holder was shut off from the digester while the burner was lit"),
                say("gas.isolated is not stated; gas coming in meanwhile would make the use look smaller"),
            )
        )
    number = uncertainty.estimate(value, spread, "few windows of the gas rate")
    return given(
        key,
        number,
        basis=DERIVED,
        inputs=inputs,
        interval=(low, high),
        interval_kind=SIMULATED,
        assumptions=assumptions,
        working=say(
            "{n} windows of {shortest} to {longest} min, {slowest} to {fastest} L/h: standard deviation {observed} "
            "L/h, of which errors of reading explain {explained} L/h; √({observed}² − {explained}²) / mean = "
            "{excess} L/h / {mean} L/h = {number}",
            n=len(windows),
            shortest=round(60 * min(hours)),
            longest=round(60 * max(hours)),
            slowest=round(min(rates), 1),
            fastest=round(max(rates), 1),
            observed=round(scatter.observed, 2),
            explained=round(scatter.explained, 2),
            excess=round(scatter.excess, 2),
            mean=round(scatter.mean, 1),
            number=number,
        ),
    )

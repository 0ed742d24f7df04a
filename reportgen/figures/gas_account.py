"""The gas account of a run: what left the holder, meter or flow line for the burner, interval by interval."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from reportgen.calc import series, uncertainty
from reportgen.figures.figure import Assumption
from reportgen.figures.gas_readings import (
    HOUR,
    NEAREST_WITHIN,
    at_row,
    reading_uncertainty,
    unrolled,
    unused_levels,
    volume_readings,
)
from reportgen.message import Message, Written, say
from reportgen.trial import Finding, Numbers, Readings, Trial

Chosen: TypeAlias = np.ndarray[tuple[int], np.dtype[np.bool_]]
#: Readings either side that lie further apart than this do not tell the content between them [s] (ours).
TELLS_WITHIN = 3600.0
#: A rise counts as a refill beyond this many standard uncertainties of a difference of readings (ours).
REFILL_SIGMAS = 4.0
#: Relative standard uncertainty of gas burnt while no reading tells, taken at the mean rate (ours).
UNSEEN_RATE = 0.2
#: Accuracy of a gasholder's or meter's scale where none is stated, as limits [1] (common practice, no source).
SCALE_LIMITS = 0.02


@dataclass(frozen=True)
class Refill:
    """Gas that came into the holder while the burner was lit: when [s], and how much [L as read]."""

    start: float
    end: float
    amount: float


@dataclass(frozen=True)
class GasAccount:
    """What the gas readings say of the run.

    Attributes
    ----------
    kind : str
    volumes : Readings
        Content or total [L], or flow [L/min] of a flow log.
    used : uncertainties number [L as read]
        Without the error of the scale, production and gas used elsewhere.
    terms : tuple of Message
        The sum as written on a board.
    intervals : (n, 3) array
        Start, end [s] and gas drawn [L as read] of each interval whose ends were read.
    refills : tuple of Refill
    content_end : uncertainties number or None
        Holder's content when the burner went out [L as read].
    assumptions, findings
    """

    kind: str
    volumes: Readings
    used: uncertainty.UFloat
    terms: tuple[Message, ...]
    intervals: Numbers
    refills: tuple[Refill, ...]
    content_end: uncertainty.UFloat | None
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Content:
    """Content at an instant [L], as the trial format takes it.

    `hidden` are the limits of what the interpolation may hide [L], `idle` is what was read on the idle side, where no
    gas is drawn.
    """

    value: float
    hidden: float
    idle: float
    extrapolated: bool = False


def gas_account(trial: Trial) -> GasAccount | Message:
    """Return the gas account of the run, or the reason why the log supports none."""
    volumes = volume_readings(trial)
    if isinstance(volumes, Message):
        return volumes
    if not trial.burning:
        return trial.no_lighting
    kind = trial.sheet.gas.kind or "flow"
    reading, assumptions = reading_uncertainty(trial, kind, volumes)
    if kind == "flow":
        return _flow_account(trial, volumes, reading, assumptions)
    findings = unused_levels(trial)
    if kind == "meter":
        volumes = unrolled(volumes, findings)
    return _difference_account(trial, kind, volumes, reading, assumptions, findings)


def _difference_account(
    trial: Trial, kind: str, volumes: Readings, reading: float, assumptions: list[Assumption], findings: list[Finding]
) -> GasAccount | Message:
    sign = 1.0 if kind == "holder" else -1.0  # gas used is a fall of a holder and a rise of a meter
    threshold = max(REFILL_SIGMAS * math.sqrt(2) * reading, 2 * volumes.step)
    drawn: list[tuple[float, float, float]] = []  # start, end, drawn
    unseen: list[tuple[float, float, float]] = []  # start, end, rise
    terms: list[Message] = []
    hidden, guessed_variance = 0.0, 0.0
    ends_read, extrapolated = 0, False
    content_end: _Content | None = None
    for start, end in trial.burning:
        first, last = (_content_at(volumes, instant, start, end) for instant in (start, end))
        if first is None or last is None:
            return say(
                "no gas reading tells the content at {time} h, when the burner {event}",
                time=trial.hours(start if first is None else end),
                event=say("was lit") if first is None else say("went out"),
            )
        inside = volumes.where((volumes.at > start) & (volumes.at < end))
        at = np.concatenate(([start], inside.at, [end]))
        value = np.concatenate(([first.value], inside.values, [last.value]))
        falls = -np.diff(value) * sign
        is_refill = np.zeros(len(falls), dtype=bool)
        if kind == "holder":
            is_refill = _refills(trial, inside, at, -falls, threshold, findings)
        drawn += [(at[i], at[i + 1], falls[i]) for i in np.flatnonzero(~is_refill)]
        unseen += [(at[i], at[i + 1], -falls[i]) for i in np.flatnonzero(is_refill)]
        for a, b in _stretches(~is_refill):
            high, low = (value[a], value[b]) if sign > 0 else (value[b], value[a])
            terms.append(say("({high} − {low})", high=Written(high, 1), low=Written(low, 1)))
            ends_read += 2
        for at_end in (first, last):
            if at_end.extrapolated:
                guessed_variance += at_end.hidden**2 / 3
            else:
                hidden += at_end.hidden
        extrapolated |= first.extrapolated or last.extrapolated
        content_end = last
    intervals = np.array(drawn, dtype=float).reshape(-1, 3)
    seen_hours = float((intervals[:, 1] - intervals[:, 0]).sum()) / HOUR
    if seen_hours <= 0:
        return say(
            "the holder rose at every reading with the burner lit; were the readings those of a meter (gas.kind), or "
            "was the holder open to the digester (gas.isolated)?"
        )
    total = float(intervals[:, 2].sum())
    # A straight line across the lighting leans the same way as one across the going out, so what they hide adds up.
    between = uncertainty.estimate(0.0, uncertainty.rectangular(1.0), "gas between readings")
    used = uncertainty.estimate(total, math.sqrt(ends_read) * reading, "gas readings") + hidden * between
    refills = []
    if unseen:
        rate = total / seen_hours
        during = sum(until - since for since, until, _ in unseen) / HOUR * rate
        used += uncertainty.estimate(during, UNSEEN_RATE * during, "gas burnt during a refill")
        terms.append(say("{amount} burnt during refills at the mean rate", amount=Written(during, 1)))
        assumptions.append(
            Assumption(
                "gas burnt during a refill",
                say("{rate} L/h, the mean rate of the rest", rate=rate),
                say("the readings on either side of a refill do not tell what was burnt meanwhile"),
                of_value=False,
            )
        )
        for since, until, rise in unseen:
            amount = rise + rate * (until - since) / HOUR
            refills.append(Refill(since, until, amount))
            findings.append(
                Finding(
                    "note",
                    "refill",
                    say(
                        "the content changes by {rise} L from {start} h to {end} h with the burner lit; read as a "
                        "refill of about {amount} L, gas burnt meanwhile taken at the mean rate",
                        rise=float(rise),
                        start=trial.hours(since),
                        end=trial.hours(until),
                        amount=amount,
                    ),
                )
            )
    if extrapolated:
        used += uncertainty.estimate(0.0, math.sqrt(guessed_variance), "gas beyond the readings")
        assumptions.append(
            Assumption(
                "gas beyond the readings",
                say("the burner kept its rate to the end of the span"),
                say("no gas reading lies near the moment when the burner was lit or went out"),
            )
        )
    content = None
    if kind == "holder" and content_end is not None:
        # What a shut-off holder shows after the flame is out is what is left; an open one fills up meanwhile.
        left = content_end.value if trial.sheet.gas.isolated is False else content_end.idle
        content = uncertainty.estimate(left, reading, "gas readings")
        if trial.sheet.gas.isolated is False:
            content -= content_end.hidden * between
    return GasAccount(
        kind, volumes, used, tuple(terms), intervals, tuple(refills), content, tuple(assumptions), tuple(findings)
    )


def _content_at(volumes: Readings, instant: float, start: float, end: float) -> _Content | None:
    """Return the content when the burner was lit (`start`) or went out (`end`), as the trial format says.

    It is interpolated between the readings on either side, or taken from the nearest one within five minutes; failing
    that it follows the span's own rate for at most an hour. Before lighting and after going out an isolated holder
    stands still, so what interpolation may hide is the way to the reading on the idle side.
    """
    at, value = volumes.at, volumes.values
    left, right = np.searchsorted(at, instant, side="right") - 1, np.searchsorted(at, instant, side="left")
    if left >= 0 and right < len(at) and at[right] - at[left] <= TELLS_WITHIN:
        here = series.value_at(at, value, instant)
        assert here is not None
        idle = float(value[left] if instant == start else value[right])
        return _Content(here, abs(idle - here), idle)
    inside = np.flatnonzero((at >= start) & (at <= end))
    near = series.nearest_within(at, value, instant, NEAREST_WITHIN)
    rate = (value[inside[-1]] - value[inside[0]]) / (at[inside[-1]] - at[inside[0]]) if len(inside) > 1 else None
    if near is not None:
        away = abs(float(at[near]) - instant)
        return _Content(float(value[near]), abs(rate * away) if rate is not None else 0.0, float(value[near]))
    if rate is None:
        return None
    edge = inside[0] if instant == start else inside[-1]
    away = instant - at[edge]
    if abs(away) > TELLS_WITHIN:
        return None
    reached = float(value[edge] + rate * away)
    return _Content(reached, 3**0.5 * UNSEEN_RATE * abs(rate * away), reached, extrapolated=True)


def _refills(
    trial: Trial, inside: Readings, at: Numbers, rises: Numbers, threshold: float, findings: list[Finding]
) -> Chosen:
    """Return which intervals hold a refill: a rise beyond reading errors that stays, or a logged one that shows.

    `at` holds the start of the span, the moments of the readings `inside` it, and its end. In a holder that is open to
    the digester a rise is production unless a refill is logged.
    """
    hours = np.diff(at)
    falling = (rises < 0) & (hours > 0)
    usual = float(np.median(-rises[falling] / hours[falling])) if falling.any() else 0.0
    beyond = -rises - usual * hours  # what left beyond the usual use; what came in, where negative
    is_refill: Chosen = np.asarray(rises > threshold)
    misread: dict[int, int] = {}  # rising interval to the reading that is out of line
    for i in np.flatnonzero(is_refill).tolist():
        if i + 1 < len(rises) and beyond[i + 1] > rises[i] / 2:
            misread[i] = i + 1  # the next interval takes the rise back
        elif i and abs(beyond[i - 1] + beyond[i]) < max(threshold, rises[i] / 4):
            misread[i] = i  # the rise takes back a fall beyond the usual use
    open_to_digester = trial.sheet.gas.isolated is False
    produced = is_refill.copy() if open_to_digester else np.zeros_like(is_refill)
    is_refill[list(misread)] = False
    is_refill &= not open_to_digester
    for event in trial.events:
        near = np.flatnonzero((at[:-1] <= event.at) & (event.at <= at[1:]))
        if event.kind != "refill" or not len(near):
            continue
        shown = near[(rises[near] > 0) | (-beyond[near] > threshold)]
        is_refill[shown] = True
        if not len(shown):
            findings.append(
                Finding(
                    "caution",
                    "refill-not-seen",
                    say("a refill is logged, but the gas readings around it do not show it; nothing is added"),
                    event.file,
                    event.row,
                    effect=say("the gas used may be too small"),
                )
            )
    for i, reading in misread.items():
        if not is_refill[i] and not inside.is_questionable[reading - 1]:  # that is asked about already
            findings.append(
                at_row(
                    "caution",
                    "gas-misread",
                    say("the content is out of line with the readings before and after; read as a slip, not as gas"),
                    inside,
                    reading - 1,
                )
            )
    rising = np.flatnonzero(produced & ~is_refill)
    if len(rising):
        findings.append(
            Finding(
                "note",
                "holder-rises",
                say(
                    "the holder, open to the digester, rises {n} times with the burner lit, by {rise} L in all; "
                    "read as production",
                    n=len(rising),
                    rise=float(rises[rising].sum()),
                ),
            )
        )
    return is_refill


def _stretches(chosen: Chosen) -> list[tuple[int, int]]:
    """Return (first, last + 1) of each run of true entries."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], chosen, [False])).astype(int)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _flow_account(trial: Trial, flow: Readings, reading: float, assumptions: list[Assumption]) -> GasAccount | Message:
    """Integrate a flow log over the burning time by straight lines; ends are held at the nearest reading."""
    total, variance, unseen = 0.0, 0.0, 0.0
    intervals = []
    for start, end in trial.burning:
        inside = flow.where((flow.at > start) & (flow.at < end))
        if not len(inside):
            return say(
                "no flow reading lies between {start} h and {end} h", start=trial.hours(start), end=trial.hours(end)
            )
        if max(inside.at[0] - start, end - inside.at[-1]) > TELLS_WITHIN:
            return say(
                "the flow was read only from {first} h to {last} h of a burner lit from {start} h to {end} h",
                first=trial.hours(float(inside.at[0])),
                last=trial.hours(float(inside.at[-1])),
                start=trial.hours(start),
                end=trial.hours(end),
            )
        ends = [_flow_at(flow, inside, instant) for instant in (start, end)]
        at = np.concatenate(([start], inside.at, [end]))
        rate = np.concatenate(([ends[0]], inside.values, [ends[1]])) * 60  # L/h
        steps = np.diff(at) / HOUR
        drawn = (rate[1:] + rate[:-1]) / 2 * steps
        total += float(drawn.sum())
        weights = np.concatenate((steps, [0.0])) / 2 + np.concatenate(([0.0], steps)) / 2
        # A flow steadier than its meter's step is rounded alike each time (characteristic function of the scatter).
        alike = math.exp(-2 * (math.pi * float(np.std(inside.values)) / flow.step) ** 2) if flow.step > 0 else 0.0
        shared = alike * uncertainty.rounding(flow.step) * 60 * float(steps.sum())
        variance += float(np.sum((weights * reading * 60) ** 2)) + shared**2
        gap = series.gaps(at)
        unseen += float(drawn[gap].sum())
        intervals += list(zip(at[:-1], at[1:], drawn, strict=True))
    used = uncertainty.estimate(total, math.sqrt(variance), "gas readings")
    if unseen > 0:
        used += uncertainty.estimate(0.0, UNSEEN_RATE * unseen, "gaps in the flow log")
    return GasAccount(
        "flow",
        flow,
        used,
        (say("integral of the flow = {total}", total=Written(total, 1)),),
        np.array(intervals, dtype=float),
        (),
        None,
        tuple(assumptions),
        (),
    )


def _flow_at(flow: Readings, inside: Readings, instant: float) -> float:
    """Return the flow at an end of a span: of the burning side, for before lighting it is nought."""
    exact = flow.where(flow.at == instant)
    if len(exact):
        return float(exact.values[0])
    return float(inside.values[0] if instant < inside.at[0] else inside.values[-1])

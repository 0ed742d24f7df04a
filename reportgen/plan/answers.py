"""What a plan rests on, and what it answers: draws with a name, a basis and a range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from reportgen import rounding
from reportgen.calc import sampling, supply
from reportgen.message import Message, say, say_counted
from reportgen.plan.past import PastRun, seen
from reportgen.sources import SOURCES
from reportgen.units import Stated

Floats: TypeAlias = NDArray[np.float64]

#: How something that a plan rests on is known.
STATED, OWN_RUNS, ASSUMED = "stated", "own runs", "assumed"
#: Relative standard deviation of a figure from run to run before any run was seen [1], and how many degrees of freedom
#: that is worth (ours).
USUAL_SPREAD, SPREAD_WEIGHT = 0.12, 6
#: Numbers are written to this many significant digits: a forecast has no more.
DIGITS = 6


@dataclass(frozen=True)
class Taken:
    """Something a plan rests on.

    Attributes
    ----------
    label, value, why : Message
        For people: what it is, what is taken, and why or from where.
    draws : array of shape (draws,)
        In the unit of the program.
    basis : str
        `STATED`, `OWN_RUNS` or `ASSUMED`.
    sources : tuple of str
        Keys of `sources.SOURCES`.
    option : str
        The option that states it; "" where none does.
    """

    label: Message
    draws: Floats
    basis: str
    value: Message
    why: Message
    sources: tuple[str, ...] = ()
    option: str = ""


@dataclass(frozen=True)
class Answer:
    """A figure of a plan: `value` and `interval` where it can be given, else a `reason`.

    `basis` is measured (stated as it is), derived, assumed or not given. `on_safe_side` says that the value is no
    middle: it is chosen so that nine cases of ten are no worse, and the interval is that of all cases. `as_stated` says
    that somebody stated the value without an uncertainty: then people are shown it as it is, without the interval.
    """

    key: str
    label: Message
    unit: str
    value: float | None = None
    interval: tuple[float, float] | None = None
    basis: str = "not given"
    reason: Message | None = None
    on_safe_side: bool = False
    as_stated: bool = False


def stated(label: Message, quantity: Stated, *, positive: bool = True) -> Taken:
    """Return a quantity as somebody stated it, normally distributed."""
    why = say("as stated") if quantity.has_uncertainty else say("as stated, with limits by its last digit")
    drawn = sampling.normal(label.text, quantity.value, quantity.standard_uncertainty, positive=positive)
    return Taken(label, drawn, STATED, say("{text}", text=quantity.text), why)


def own(label: Message, past: Sequence[PastRun], key: str, unit: str, spread: float = USUAL_SPREAD) -> Taken | None:
    """Return a positive figure as the next run would have it by earlier ones; None where none gives it."""
    values = seen(past, key)
    if not values:
        return None
    draws = sampling.next_of(label.text, values, spread, SPREAD_WEIGHT)
    return from_runs(label, draws, len(values), unit, spread)


def from_runs(label: Message, draws: Floats, runs: int, unit: str, spread: float = USUAL_SPREAD) -> Taken:
    """Return something drawn after so many earlier runs of one's own."""
    why = (
        say("from one own run; how much runs differ is our guess, {percent} %", percent=100 * spread)
        if runs == 1
        else say_counted(
            runs, "from {n} own run, and how much they differ", "from {n} own runs, and how much they differ"
        )
    )
    return Taken(label, draws, OWN_RUNS, spread_text(draws, unit), why, ("planning-bands",))


def usual(label: Message, draws: Floats, value: Message, why: Message, *sources: str, option: str = "") -> Taken:
    """Return what is taken where nobody stated a thing, with the option that would."""
    return Taken(label, draws, ASSUMED, value, why, sources, option)


def answer(key: str, label: Message, unit: str, draws: Floats, *rests_on: Taken) -> Answer:
    """Return the middle and 95 % range of draws; assumed where something it rests on is."""
    middle, low, high = supply.middle_and_range(draws)
    basis = ASSUMED if any(taken.basis == ASSUMED for taken in rests_on) else "derived"
    return Answer(key, label, unit, middle, (low, high), basis)


def withheld(key: str, label: Message, unit: str, reason: Message) -> Answer:
    """Return a figure that cannot be given, with the reason."""
    return Answer(key, label, unit, reason=reason)


def spread_text(draws: Floats, unit: str) -> Message:
    """Return the middle and 95 % range of draws in words."""
    value, low, high = rounding.about(*supply.middle_and_range(draws))
    return say("{value} {unit} ({low} to {high})", value=value, unit=unit, low=low, high=high)


def answer_document(given: Answer) -> dict[str, Any]:
    """Return an answer as plain data."""
    document: dict[str, Any] = {
        "value": None if given.value is None else _number(given.value),
        "unit": given.unit,
        "interval_95": None if given.interval is None else [_number(end) for end in given.interval],
        "basis": given.basis,
        "label": str(given.label),
    }
    return document if given.reason is None else {**document, "reason": str(given.reason)}


def assumption_document(taken: Taken) -> dict[str, Any]:
    """Return what was taken as plain data, with its sources in words."""
    return {
        "name": str(taken.label),
        "value": str(taken.value),
        "why": str(taken.why),
        "basis": taken.basis,
        "sources": [f"{SOURCES[key].text} ({SOURCES[key].known})" for key in taken.sources],
    }


def _number(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")

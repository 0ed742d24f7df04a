"""A figure: a number with its uncertainty, basis and origin, or the reason why it is not given."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np

from reportgen.calc import uncertainty
from reportgen.catalogue import KINDS
from reportgen.message import Message, say
from reportgen.trial import sources_of
from reportgen.units import Stated

Number: TypeAlias = Any  # an uncertainties number: value, standard uncertainty, and what it shares with others

MEASURED, DERIVED, ASSUMED, NOT_GIVEN = "measured", "derived", "assumed", "not given"
NORMAL, SIMULATED, LIMITS = "normal", "simulated", "limits"
#: A formula that bends by more than this share of the uncertainty over two standard uncertainties of an input is not
#: propagated by its slope alone but by simulation (ours; a ratio does so beyond some 10 % in its denominator).
BENT = 0.2


@dataclass(frozen=True)
class Assumption:
    """Something taken that nobody recorded.

    Attributes
    ----------
    name : str
        Also the name of the source of error, where it has one; that is how its share of a variance is found.
    value, why : Message
        What was taken, and why that.
    of_value : bool
        False where only an uncertainty was assumed, the value itself being stated or read.
    """

    name: str
    value: Message
    why: Message
    of_value: bool = True


@dataclass(frozen=True)
class Figure:
    """A figure, given or not.

    Attributes
    ----------
    key : str
        Of the catalogue, or a name of ours for a quantity on the way.
    number : Number or None
        None where it is not given.
    basis : str
        measured, derived, assumed or not given.
    interval : (float, float) or None
        95 % interval, in the unit of the figure.
    interval_kind : str
        normal, simulated or limits.
    inputs : tuple of str
        Rows and keys it came from.
    working : Message or None
        The equation with the trial's numbers.
    method : str or None
        Which of several methods gave it.
    reason : Message or None
        Why it is not given.
    at_least, at_most : float or None
        What is known of it where only one side is.
    assumptions : tuple of Assumption
    ends : (Number, Number) or None
        The figure at the two ends of the time between two looks that it rests on.
    is_impossible : bool
        True where a value was found and is withheld because it breaks a physical limit.
    simulated_uncertainty : float or None
        Standard uncertainty by simulation, where propagation by slopes would mislead.
    """

    key: str
    number: Number | None = None
    basis: str = NOT_GIVEN
    interval: tuple[float, float] | None = None
    interval_kind: str = NORMAL
    inputs: tuple[str, ...] = ()
    working: Message | None = None
    method: str | None = None
    reason: Message | None = None
    at_least: float | None = None
    at_most: float | None = None
    assumptions: tuple[Assumption, ...] = ()
    ends: tuple[Number, Number] | None = None
    simulated_uncertainty: float | None = None
    is_impossible: bool = False

    @property
    def is_given(self) -> bool:
        """True where there is a value."""
        return self.number is not None

    @property
    def value(self) -> float:
        """The value; only for a figure that is given."""
        return uncertainty.nominal(self.number)

    @property
    def standard_uncertainty(self) -> float:
        """The combined standard uncertainty, of the range between two looks as well."""
        if self.simulated_uncertainty is not None:
            return self.simulated_uncertainty
        if self.ends is not None:
            return uncertainty.bracket_interval(*self.ends).standard_uncertainty
        return uncertainty.standard_uncertainty(self.number)

    def renamed(self, key: str, **changes: Any) -> Figure:
        """Return the same figure under another key."""
        return replace(self, key=key, **changes)


def given(
    key: str,
    number: Number,
    *,
    basis: str = MEASURED,
    inputs: Iterable[Any] = (),
    working: Message | None = None,
    method: str | None = None,
    assumptions: Iterable[Assumption] = (),
    interval: tuple[float, float] | None = None,
    interval_kind: str = NORMAL,
    ends: tuple[Number, Number] | None = None,
) -> Figure:
    """Return a figure with a value. Without `interval`, the 95 % interval is the normal one, or runs over `ends`.

    An assumption of a value makes the basis *assumed*.
    """
    assumptions = _unique(assumptions)
    if any(assumption.of_value for assumption in assumptions):
        basis = ASSUMED
    if interval is None and ends is not None:
        interval, interval_kind = uncertainty.bracket_interval(*ends).interval_95, LIMITS
    elif interval is None:
        interval = uncertainty.normal_interval(number)
    return Figure(
        key,
        number,
        basis,
        interval,
        interval_kind,
        sources_of(inputs),
        working,
        method,
        assumptions=assumptions,
        ends=ends,
    )


def not_given(
    key: str,
    reason: Message,
    *,
    at_least: float | None = None,
    at_most: float | None = None,
    inputs: Iterable[Any] = (),
    impossible: bool = False,
) -> Figure:
    """Return a figure without a value, with the reason; `impossible` where it breaks a physical limit."""
    return Figure(
        key, reason=reason, at_least=at_least, at_most=at_most, inputs=sources_of(inputs), is_impossible=impossible
    )


def derived(
    key: str,
    formula: Callable[..., Number],
    *needs: Figure,
    working: Callable[..., Message],
    method: str | None = None,
    assumptions: Iterable[Assumption] = (),
    inputs: Iterable[Any] = (),
) -> Figure:
    """Return the figure that `formula` gives from others; not given where one of them is not.

    Parameters
    ----------
    formula
        Plain arithmetic on the numbers of `needs`, in their order. Shared errors stay shared.
    working
        Called with the result and the same numbers; returns the equation with the numbers in it.

    Notes
    -----
    Where a need is known only between two looks, the formula is evaluated at both ends, and the interval runs over
    them and their other uncertainty.
    """
    missing = next((need for need in needs if not need.is_given), None)
    if missing is not None:
        return not_given(key, because_of(missing))
    numbers = [need.number for need in needs]
    result = formula(*numbers)
    ends = None
    if any(need.ends is not None for need in needs):
        at_ends = [_at_end(formula, needs, end) for end in (0, 1)]
        known = [number for number in at_ends if number is not None]
        if len(known) < 2:
            return not_given(
                key,
                say("it divides by a time that is known only to lie between nought and a later look"),
                at_least=uncertainty.normal_interval(known[0])[0] if known else None,
                inputs=[need.inputs for need in needs],
            )
        ends = (known[0], known[1])
    simulated = uncertainty.simulate(formula, numbers) if ends is None and _bends(formula, numbers, result) else None
    figure = given(
        key,
        result,
        basis=ASSUMED if any(need.basis == ASSUMED for need in needs) else DERIVED,
        inputs=[*(need.inputs for need in needs), *inputs],
        working=working(result, *numbers),
        method=method,
        assumptions=[*(a for need in needs for a in need.assumptions), *assumptions],
        ends=ends,
        interval=simulated.interval_95 if simulated is not None else None,
        interval_kind=SIMULATED if simulated is not None else NORMAL,
    )
    return replace(figure, simulated_uncertainty=simulated.standard_uncertainty) if simulated is not None else figure


def _bends(formula: Callable[..., Number], numbers: list[Number], result: Number) -> bool:
    """Return whether slopes alone would mislead about the uncertainty of a formula's result."""
    values = [np.array([uncertainty.nominal(number)]) for number in numbers]
    spread = uncertainty.standard_uncertainty(result)
    middle = uncertainty.nominal(result)
    for i, number in enumerate(numbers):
        reach = 2 * uncertainty.standard_uncertainty(number)
        if not reach > 0:
            continue
        with np.errstate(all="ignore"):
            moved = [formula(*values[:i], values[i] + step, *values[i + 1 :]) for step in (reach, -reach)]
        if any(array.dtype == object for array in moved):
            raise TypeError("a formula must take every uncertain number as an argument")
        above, below = (float(array[0]) for array in moved)
        if not abs((above + below) / 2 - middle) <= BENT * 2 * spread:
            return True
    return False


def _at_end(formula: Callable[..., Number], needs: tuple[Figure, ...], end: int) -> Number | None:
    """Return what the formula gives at one end of the times between two looks; None where that divides by nought."""
    try:
        return formula(*(need.ends[end] if need.ends is not None else need.number for need in needs))
    except ZeroDivisionError:
        return None


def because_of(missing: Figure) -> Message:
    """Return the reason of a figure that another one is missing for; the first cause is what the reader can mend."""
    if missing.reason is not None and missing.reason.values.get("needs"):
        return missing.reason
    if missing.key in KINDS:
        label = KINDS[missing.key].label
        return say("needs “{needs}”, which is not given: {reason}", needs=label, reason=missing.reason)
    return missing.reason or say("something it needs is not recorded")


def stated(key: str, quantity: Stated, place: str, *, source: str | None = None) -> Figure:
    """Return a quantity of `trial.toml` as a figure; `source` names its error where `key` does not."""
    name = source or key.replace("_", " ")
    assumptions = []
    if not quantity.has_uncertainty:
        spread = 3**0.5 * quantity.standard_uncertainty
        assumptions.append(
            Assumption(
                name,
                say(
                    "{text}, give or take {spread} {unit}",
                    text=quantity.text,
                    spread=spread,
                    unit=_difference(quantity.unit),
                ),
                say("stated without an uncertainty: half of the last digit, or less where that is usual, as limits"),
                of_value=False,
            )
        )
    return given(
        key,
        uncertainty.estimate(quantity.value, quantity.standard_uncertainty, name),
        inputs=[f"trial.toml:{place}"],
        assumptions=assumptions,
    )


def _difference(unit: str) -> str:
    return "K" if unit == "degC" else unit


def _unique(assumptions: Iterable[Assumption]) -> tuple[Assumption, ...]:
    return tuple({assumption.name: assumption for assumption in assumptions}.values())

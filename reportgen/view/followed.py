"""Workings that can be followed by hand: whoever reckons with the printed numbers arrives at the printed result."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from reportgen import rounding, wording
from reportgen.calc import uncertainty
from reportgen.figures import Figure
from reportgen.figures.figure import Number
from reportgen.message import Message, Written

#: The value of a working that is its result.
RESULT = "r"
#: A number of a working gets at most so many more digits than its uncertainty supports (ours).
MOST_MORE = 4
#: How each figure that a class works is reckoned from the numbers of its working, by their names in it.
RECKONED: Mapping[str, Callable[[Mapping[str, float]], float]] = {
    "gas_per_hour_as_read": lambda n: n["v"] / n["t"],
    "hours_per_cubic_metre_as_read": lambda n: 1000 / n["rate"],
    "gas_used": lambda n: n["v"] * n["f"],
    "energy_used": lambda n: n["v"] * n["x"] * n["h"] / 1000,
    "burner_power": lambda n: n["e"] * 1e6 / (n["t"] * 3600),
    "cooling_rate_mean": lambda n: n["t"] / n["h"],  # down to 0 °C
    "heat_removed": lambda n: n["m"] * n["sensible"] + n["i"] * (n["fusion"] + n["cold"]),
    "cooling_power": lambda n: n["q"] / (n["t"] * 3.6),
    "energy_per_ice": lambda n: n["a"] / n["m"],
    "cop_ice": lambda n: n["q"] / (n["e"] * 1000),
    "waste_to_ice": lambda n: n["w"] / n["m"],
}


def followed(figure: Figure) -> Message:
    """Return the working of a figure that is given and `RECKONED`, so that it can be followed by hand.

    A number gets more digits than its uncertainty supports where these do not lead to the printed result.
    """
    working = figure.working
    assert isinstance(working, Message) and figure.interval is not None
    numbers = {
        name: uncertainty.nominal(value)
        for name, value in working.values.items()
        if name != RESULT and _is_number(value)
    }
    usual = {name: _decimals(working.values[name]) for name in numbers}
    spread = uncertainty.standard_uncertainty(working.values[RESULT])
    for more in range(MOST_MORE + 1):
        # What is printed in full already gets no noughts.
        decimals = {
            name: usual[name] + (more if rounding.rounded(number, usual[name]) != number else 0)
            for name, number in numbers.items()
        }
        printed = {name: rounding.rounded(number, decimals[name]) for name, number in numbers.items()}
        reached = RECKONED[figure.key](printed)
        if rounding.about(reached, *figure.interval)[0] == wording.about(figure)["value"] and (
            rounding.with_uncertainty(reached, spread) == rounding.with_uncertainty(figure.value, spread)
        ):
            break
    else:  # reckoned in another way
        return working
    longer = {name: Written(number, decimals[name]) for name, number in numbers.items() if decimals[name] > usual[name]}
    return working.filled(**{**working.values, **longer})


def _is_number(value: object) -> bool:
    return isinstance(value, float) or hasattr(value, "nominal_value")


def _decimals(number: Number) -> int:
    """Return how many decimals a number of a working is printed with."""
    spread, size = uncertainty.standard_uncertainty(number), abs(uncertainty.nominal(number))
    if spread > 0:
        return min(rounding.decimals_for(spread), rounding.MOST_DECIMALS)
    return rounding.PLAIN_DIGITS - 1 - math.floor(math.log10(size)) if size > 0 else 0

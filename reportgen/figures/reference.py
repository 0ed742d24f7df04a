"""The run beside a reference run of the same appliance on another source of heat: differences, no verdict."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.calc import uncertainty
from reportgen.figures.figure import Figure, Number
from reportgen.trial import Trial
from reportgen.units import Stated

#: Two values differ if they are so many combined standard uncertainties apart (common practice, no source: about 95 %).
DIFFERS_BEYOND = 2.0
#: The keys of `[reference]` and the figures they are compared with.
COMPARED = {
    "power": "burner_power",
    "cooling_rate_mean": "cooling_rate_mean",
    "time_to_0": "time_to_0",
    "time_to_minus_6": "time_to_minus_6",
    "time_to_minus_12": "time_to_minus_12",
    "time_to_minus_18": "time_to_minus_18",
    "ice_making_time": "ice_making_time",
    "freezing_time": "freezing_time",
    "temperature_lowest": "temperature_lowest",
    "ice_making_capacity": "ice_making_capacity",
    "cooling_power": "cooling_power",
}


@dataclass(frozen=True)
class Comparison:
    """A figure of this run beside the same quantity of the reference run.

    Attributes
    ----------
    key : str
        Of the figure.
    here : Figure
    reference : Stated
    difference : Number
        Here less reference, with its combined standard uncertainty, in the unit of the figure (a difference, for
        temperatures).
    differs : bool
        True where the difference is beyond two combined standard uncertainties. It says nothing of better or worse.
    """

    key: str
    here: Figure
    reference: Stated
    difference: Number
    differs: bool


def compare_with_reference(trial: Trial, figures: Mapping[str, Figure]) -> tuple[Comparison, ...]:
    """Return the comparisons for which this run gives the figure and the reference run states the quantity.

    Notes
    -----
    The two runs' errors are taken as independent; where one thermometer served both, they differ by less than that.
    """
    reference = trial.sheet.reference
    if reference is None:
        return ()
    comparisons = []
    for name, key in COMPARED.items():
        stated: Stated | None = getattr(reference, name)
        here = figures.get(key)
        if stated is None or here is None or not here.is_given:
            continue
        spread = math.hypot(here.standard_uncertainty, stated.standard_uncertainty)
        difference = uncertainty.estimate(here.value - stated.value, spread, "difference from the reference run")
        differs = abs(here.value - stated.value) > DIFFERS_BEYOND * spread
        comparisons.append(Comparison(key, here, stated, difference, differs))
    return tuple(comparisons)

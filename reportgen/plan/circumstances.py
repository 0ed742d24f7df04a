"""State of the gas, burner and weather of a plan: as stated, else as in earlier runs, else the usual, named as such."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.calc import gas, sampling, supply
from reportgen.figures.gas_state import (
    GAS_TO_AMBIENT_LIMITS,
    UNKNOWN_ALTITUDE,
    UNKNOWN_GAUGE,
    UNKNOWN_METHANE,
    UNKNOWN_TEMPERATURE,
    WEATHER,
)
from reportgen.message import say
from reportgen.plan.answers import OWN_RUNS, Floats, Taken, own, spread_text, stated, usual
from reportgen.plan.past import PastRun, seen
from reportgen.units import Stated

#: Gas that a refrigerator's burner takes, as read [L/h]: from the lowest to the highest published figure.
PUBLISHED_RATES = (30.0, 150.0)
#: Relative standard deviation of the methane of one digester from run to run [1] (ours).
METHANE_SPREAD = 0.04
#: The ambient of another day of the same season, standard uncertainty beside the mean of earlier runs [K] (ours).
OTHER_DAY = 3.0
#: Standard dry gas of fresh food waste [L/kg], lowest and highest published.
PUBLISHED_YIELDS = (110.0, 180.0)
#: Gas is taken to be between these [degC] whatever is stated: a formula for wet gas needs it above 0 °C (ours).
WET_GAS = (1.0, 60.0)
#: The same of the altitude [m]: the formula holds from below the Dead Sea to above every digester (ours).
HEIGHTS = (-1000.0, 9000.0)


@dataclass(frozen=True)
class Circumstances:
    """What a plan and household advice share.

    Attributes
    ----------
    ambient, methane, rate : Taken
        [degC], [1], [L/h as read].
    factor : array
        Litres standard dry in a litre as read [1].
    energy : array
        Net heat of a litre as read [MJ/L].
    state : tuple of Taken
        What `factor` rests on.
    """

    ambient: Taken
    methane: Taken
    rate: Taken
    factor: Floats
    energy: Floats
    state: tuple[Taken, ...]


def circumstances(
    *,
    ambient: Stated | None = None,
    altitude: Stated | None = None,
    methane: Stated | None = None,
    rate: Stated | None = None,
    power: Stated | None = None,
    past: Sequence[PastRun] = (),
) -> Circumstances:
    """Return the circumstances, each as stated, else from earlier runs, else as usual."""
    air, fraction = _ambient(ambient, past), _methane(methane, past)
    warmth, pressure = _gas_temperature(), _pressure(altitude)
    gas_temperature = np.clip(air.draws + warmth.draws, *WET_GAS)
    vapour = gas.water_vapour_pressure(gas_temperature)
    factor = np.asarray(gas.dry_standard_factor(gas_temperature, pressure.draws, vapour))
    energy = np.asarray(supply.energy_per_litre(factor, fraction.draws))
    return Circumstances(air, fraction, _rate(rate, power, energy, past), factor, energy, (air, warmth, pressure))


def _ambient(quantity: Stated | None, past: Sequence[PastRun]) -> Taken:
    label = say("Ambient")
    if quantity is not None:
        return stated(label, quantity, positive=False)
    logged = [run.figures["ambient_mean"] for run in past if "ambient_mean" in run.figures]
    if logged:
        draws = sampling.normal(label.text, float(np.mean(logged)), OTHER_DAY)
        why = say("mean of own runs; another day of the season may differ")
        return Taken(label, draws, OWN_RUNS, spread_text(draws, "°C"), why, ("planning-bands",))
    middle, half = UNKNOWN_TEMPERATURE
    return usual(
        label,
        sampling.between(label.text, middle - half, middle + half),
        say("{low} to {high} °C", low=middle - half, high=middle + half),
        say("not stated"),
        "planning-bands",
        option="--ambient",
    )


def _methane(quantity: Stated | None, past: Sequence[PastRun]) -> Taken:
    label = say("Methane in the dry gas")
    if quantity is not None:
        taken = stated(label, quantity)
        return Taken(label, np.minimum(taken.draws, 100.0) / 100, taken.basis, taken.value, taken.why)
    known = own(label, past, "methane_fraction", "of 1", METHANE_SPREAD)
    if known is not None:
        draws = np.clip(known.draws, 0.01, 1.0)
        return Taken(label, draws, OWN_RUNS, spread_text(100 * draws, "%"), known.why, known.sources)
    middle, half = UNKNOWN_METHANE
    return usual(
        label,
        sampling.between(label.text, middle - half, middle + half) / 100,
        say("{low} to {high} %", low=middle - half, high=middle + half),
        say("not stated; the published band"),
        "methane-content",
        option="--methane",
    )


def _gas_temperature() -> Taken:
    label = say("Gas in the holder")
    return usual(
        label,
        sampling.between(label.text, -GAS_TO_AMBIENT_LIMITS, GAS_TO_AMBIENT_LIMITS),
        say("as warm as the air within {limit} K, wet", limit=GAS_TO_AMBIENT_LIMITS),
        say("gas over water carries all the vapour it can"),
        "planning-bands",
        "iapws-if97",
    )


def _pressure(altitude: Stated | None) -> Taken:
    """Return the absolute pressure of the gas [kPa]."""
    label = say("Pressure of the gas")
    gauge_middle, gauge_half = UNKNOWN_GAUGE
    gauge = sampling.between("gauge pressure", gauge_middle - gauge_half, gauge_middle + gauge_half)
    if altitude is None:
        air = sampling.between(label.text, -UNKNOWN_ALTITUDE, UNKNOWN_ALTITUDE) + gas.STANDARD_PRESSURE
        return usual(
            label,
            air + gauge,
            say("air as at sea level within {limit} kPa", limit=UNKNOWN_ALTITUDE),
            say("not stated"),
            "planning-bands",
            option="--altitude",
        )
    height = np.clip(sampling.normal("Altitude", altitude.value, altitude.standard_uncertainty), *HEIGHTS)
    air = np.asarray(gas.standard_atmosphere(height)) + sampling.normal(label.text, 0.0, WEATHER)
    why = say("standard atmosphere at the altitude stated, with the weather; small holders press little")
    return Taken(label, air + gauge, "derived", spread_text(air + gauge, "kPa"), why, ("iso-2533", "planning-bands"))


def _rate(rate: Stated | None, power: Stated | None, energy: Floats, past: Sequence[PastRun]) -> Taken:
    label = say("Gas the burner takes")
    if rate is not None:
        return stated(label, rate)
    if power is not None:
        heat = sampling.normal("Power of the burner", power.value, power.standard_uncertainty, positive=True)
        draws = np.asarray(supply.rate_of_power(heat, energy))
        why = say("from the power stated, {power}, and the methane in the gas", power=power.text)
        return Taken(label, draws, "derived", spread_text(draws, "L/h"), why, ("iso-6976",))
    known = own(label, past, "gas_per_hour_as_read", "L/h")
    if known is not None:
        return known
    low, high = PUBLISHED_RATES
    return usual(
        label,
        sampling.between_factors(label.text, low, high),
        say("{low} to {high} L/h", low=low, high=high),
        say("not stated; published figures, which disagree"),
        "refrigerator-gas-use",
        option="--rate",
    )


def litres_per_kilogram(past: Sequence[PastRun]) -> Taken:
    """Return the standard dry gas from a kilogram of fresh waste [L/kg]."""
    label = say("Gas from a kilogram of fresh waste, standard dry")
    key = "gas_yield_fresh" if seen(past, "gas_yield_fresh") else "gas_yield_model"
    known = own(label, past, key, "L/kg")
    if known is not None:
        return known
    low, high = PUBLISHED_YIELDS
    return usual(
        label,
        sampling.between(label.text, low, high),
        say("{low} to {high} L/kg", low=low, high=high),
        say("published for food waste with 26 to 30 % of solids; wetter or woody waste gives less"),
        "food-waste-yield",
    )

"""Will the gas last? What freezing takes, how long gas burns, and what is left when the ice is solid.

Plain arithmetic: floats, and arrays of draws of one shape, work alike.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from reportgen.calc.gas import METHANE_NET_HEATING_VALUE
from reportgen.calc.ranges import Value, require_above, require_between
from reportgen.calc.uncertainty import COVERAGE_95

#: Seconds of an hour, and kilojoules of a megajoule.
_HOUR, _MEGA = 3600.0, 1000.0


def energy_per_litre(factor: Value, methane: Value) -> Value:
    """Return the net heat of a litre of gas.

    Parameters
    ----------
    factor : float or array [1]
        Litres standard dry in a litre as read; 1 where the litre is standard dry already.
    methane : float or array [1]
        Fraction of methane in the dry gas.

    Returns
    -------
    float or array [MJ/L]

    Notes
    -----
    factor × methane × net heating value.
    """
    require_above(factor, 0.0, "the factor to standard dry gas [1]", "zero")
    require_between(methane, 0.0, 1.0, "the methane fraction [1]")
    return factor * methane * METHANE_NET_HEATING_VALUE / 1000


def gas_for_heat(heat: Value, cop: Value, energy: Value) -> Value:
    """Return the gas that takes an amount of heat out of the cold space.

    Parameters
    ----------
    heat : float or array [kJ]
        To be taken out.
    cop : float or array [1]
        Heat taken out over heat of the flame.
    energy : float or array [MJ/L]
        Of a litre of gas, `energy_per_litre`.

    Returns
    -------
    float or array [L]
        Of the gas that `energy` is of.
    """
    require_above(cop, 0.0, "the coefficient of performance [1]", "zero")
    require_above(energy, 0.0, "the energy of a litre of gas [MJ/L]", "zero")
    return heat / _MEGA / cop / energy


def rate_of_power(power: Value, energy: Value) -> Value:
    """Return the gas per hour [L/h] behind a burner's power [W], for gas of so much energy a litre [MJ/L]."""
    require_above(energy, 0.0, "the energy of a litre of gas [MJ/L]", "zero")
    return power * _HOUR / 1e6 / energy


def scaled_by_heat(past: Value, heat: Value, past_heat: Value, fixed_share: Value) -> Value:
    """Return what another amount of ice takes, from what an earlier run took.

    Parameters
    ----------
    past : float or array [any]
        Gas or energy of the earlier run.
    heat, past_heat : float or array [kJ]
        Taken from the water: planned, and in the earlier run.
    fixed_share : float or array [1]
        The share of it that went into the cabinet and would be spent for any amount of ice.

    Returns
    -------
    float or array [unit of past]

    Notes
    -----
    past × (s + (1 - s) heat / past heat): ours. The same amount of ice takes the same; the less alike the two are, the
    more hangs on the fixed share.
    """
    require_above(past_heat, 0.0, "the heat of the earlier run [kJ]", "zero")
    require_between(fixed_share, 0.0, 1.0, "the fixed share [1]")
    return past * (fixed_share + (1 - fixed_share) * heat / past_heat)


def heat_within_reach(gas: Value, past: Value, past_heat: Value, fixed_share: Value) -> Value:
    """Return the heat [kJ] that an amount of gas takes from water: `scaled_by_heat` turned round; never below zero."""
    require_above(past, 0.0, "the gas of the earlier run", "zero")
    return np.maximum((gas / past - fixed_share) / (1 - fixed_share), 0.0) * past_heat


def hours_to_solid(hours_of_cooling: Value, start_up: Value, freezing_through: Value) -> Value:
    """Return when the ice is solid [h from lit]: when the heat is out, not before ice has grown through in the cold.

    Parameters
    ----------
    hours_of_cooling : float or array [h]
        In which the flame pays for the heat of the water.
    start_up : float or array [h]
        Until the cabinet is below 0 °C.
    freezing_through : float or array [h]
        That the shape and size of the water take in a cold cabinet; nought where nothing is known of them.
    """
    return np.maximum(hours_of_cooling, start_up + freezing_through)


def hours_of_gas(gas: Value, rate: Value) -> Value:
    """Return how long an amount of gas [L] burns at a rate [L/h]."""
    require_above(rate, 0.0, "the gas rate [L/h]", "zero")
    return gas / rate


def gas_left(gas: Value, rate: Value, hours: Value) -> Value:
    """Return the gas [L] that is left after so many hours at a rate [L/h]; below zero is what is missing."""
    return gas - rate * hours


def chance(available: ArrayLike, needed: ArrayLike) -> float:
    """Return the share of the draws in which what is available is enough [1]."""
    return float(np.mean(np.asarray(available, dtype=float) >= np.asarray(needed, dtype=float)))


def middle_and_range(draws: ArrayLike, level: float = COVERAGE_95) -> tuple[float, float, float]:
    """Return the median of draws, and the ends of the range that holds `level` of them with equal tails.

    Raises
    ------
    ValueError
        If there are no draws, or some are not finite.
    """
    values = np.asarray(draws, dtype=float)
    if not values.size or not np.isfinite(values).all():
        raise ValueError("a forecast needs draws, all of them finite")
    tail = 0.5 * (1.0 - level)
    low, middle, high = np.quantile(values, [tail, 0.5, 1.0 - tail])
    return float(middle), float(low), float(high)

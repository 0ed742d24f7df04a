"""Limits for a refrigerator that is driven by heat.

Plain arithmetic: floats, arrays and numbers with uncertainty work alike. Range checks look at plain numbers
only.
"""

from __future__ import annotations

from reportgen.calc.ranges import Value, require_above

_ZERO_CELSIUS = 273.15  # K

#: Upper end of the coefficient of performance usual for small diffusion-absorption units [-]; the lower is 0.1.
#: From memory: reviews such as Srikhirin et al. 2001. A measured unit of about 100 W gave 0.11 to 0.26 (Najjaran
#: et al. 2019, read).
DIFFUSION_ABSORPTION_COP_HIGH = 0.3


def reversible_cop(source_temperature: Value, surroundings_temperature: Value, cold_temperature: Value) -> Value:
    """Return the highest coefficient of performance that nature allows a heat-driven refrigerator.

    Parameters
    ----------
    source_temperature : float, array or number with uncertainty [degC]
        At which the driving heat is taken up: the boiler.
    surroundings_temperature : float, array or number with uncertainty [degC]
        At which all heat is given off.
    cold_temperature : float, array or number with uncertainty [degC]
        Of the cooled space.

    Returns
    -------
    float, array or number with uncertainty [-]
        Heat taken from the cold space per heat taken from the source.

    Raises
    ------
    ValueError
        Unless, for plain numbers, source > surroundings > cold > absolute zero.

    Notes
    -----
    (1 - T_0 / T_s) T_c / (T_0 - T_c) in kelvin: a Carnot engine that drives a Carnot refrigerator. For 180,
    30 and -10 °C it is 2.2, of which small diffusion-absorption units (0.1 to 0.3) reach 5 to 15 %.

    References
    ----------
    Cengel and Boles, Thermodynamics, chapter 11.
    """
    require_above(cold_temperature, -_ZERO_CELSIUS, "the cold space [degC]", "absolute zero")
    require_above(surroundings_temperature, cold_temperature, "the surroundings [degC]", "the cold space")
    require_above(source_temperature, surroundings_temperature, "the heat source [degC]", "the surroundings")
    source = source_temperature + _ZERO_CELSIUS
    surroundings = surroundings_temperature + _ZERO_CELSIUS
    cold = cold_temperature + _ZERO_CELSIUS
    return (1 - surroundings / source) * cold / (surroundings - cold)

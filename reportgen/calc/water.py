"""Heat to be taken out of water to make ice of it, and how long freezing takes at the least.

All formulas are plain arithmetic: floats, arrays and numbers with uncertainty work alike. Range checks look
at plain numbers only. Properties are those at 101.325 kPa; the air pressure of a site at 3000 m changes the
heat in water by less than 0.01 kJ/kg.
"""

from __future__ import annotations

from reportgen.calc.ranges import Value, require_above, require_between

#: Heat of fusion of ice at its melting point [kJ/kg]; IAPWS-95 less IAPWS R10-06(2009), computed.
HEAT_OF_FUSION = 333.43
#: Density of ice at 0 °C [kg/m3]; IAPWS R10-06(2009), computed. 0.16 % more at -10 °C.
ICE_DENSITY = 916.72
#: Thermal conductivity of ice near 0 °C [W/(m K)]; OpenStax University Physics volume 2, section 1.6, read.
ICE_CONDUCTIVITY = 2.2

#: Enthalpy of water [kJ/kg] as a polynomial in t / 100 °C without a constant term, lowest power first. Our
#: fit to IAPWS-95 at 101.325 kPa, 0 to 100 °C: enthalpy within 0.0005 kJ/kg, heat capacity within 0.0001
#: kJ/(kg K).
_WATER_ENTHALPY = (421.9389, -16.9307, 38.4983, -54.2844, 49.8798, -25.7168, 5.72)
#: The same for ice; our fit to IAPWS R10-06(2009), -40 to 0 °C: within 0.00002 kJ/kg and 0.000002 kJ/(kg K).
_ICE_ENTHALPY = (209.6695, 36.8715, 0.4579, -0.2289)

#: Plank's factors for the surface and for the inside, for bodies cooled from all sides.
_PLANK_FACTORS = {"slab": (1 / 2, 1 / 8), "cylinder": (1 / 4, 1 / 16), "sphere": (1 / 6, 1 / 24)}
#: Shapes that `plank_freezing_time` knows.
SHAPES = tuple(_PLANK_FACTORS)


def water_enthalpy(temperature: Value) -> Value:
    """Return the heat in liquid water above that at 0 °C.

    Parameters
    ----------
    temperature : float, array or number with uncertainty [degC]
        Any shape.

    Returns
    -------
    float, array or number with uncertainty [kJ/kg]
        Zero at 0 °C, same shape.

    Raises
    ------
    ValueError
        If a plain temperature is outside 0 to 100 °C.

    Notes
    -----
    Polynomial of degree 7, within 0.0005 kJ/kg of IAPWS-95 from 0 to 100 °C.

    References
    ----------
    IAPWS R6-95(2018), to which the polynomial was fitted.
    """
    require_between(temperature, 0.0, 100.0, "the temperature of the water [degC]")
    return _polynomial(_WATER_ENTHALPY, temperature / 100)


def ice_enthalpy(temperature: Value) -> Value:
    """Return the heat in ice above that of ice at 0 °C.

    Parameters
    ----------
    temperature : float, array or number with uncertainty [degC]
        Any shape.

    Returns
    -------
    float, array or number with uncertainty [kJ/kg]
        Zero at 0 °C and negative below, same shape.

    Raises
    ------
    ValueError
        If a plain temperature is outside -40 to 0 °C.

    Notes
    -----
    Polynomial of degree 4, within 0.00002 kJ/kg of IAPWS R10-06 from -40 to 0 °C.

    References
    ----------
    IAPWS R10-06(2009), to which the polynomial was fitted.
    """
    require_between(temperature, -40.0, 0.0, "the temperature of the ice [degC]")
    return _polynomial(_ICE_ENTHALPY, temperature / 100)


def heat_removed(water_mass: Value, ice_mass: Value, start_temperature: Value, ice_temperature: Value) -> Value:
    """Return the heat taken from water of which some or all was made to ice.

    Parameters
    ----------
    water_mass : float, array or number with uncertainty [kg]
        All the water put in.
    ice_mass : float, array or number with uncertainty [kg]
        The part that froze.
    start_temperature : float, array or number with uncertainty [degC]
        Of the water when put in.
    ice_temperature : float, array or number with uncertainty [degC]
        Of the ice at the end; 0 gives a lower bound where it was not measured.

    Returns
    -------
    float, array or number with uncertainty [kJ]
        Positive.

    Raises
    ------
    ValueError
        If a plain mass is negative or a plain temperature is out of the range of `water_enthalpy` or
        `ice_enthalpy`.

    Notes
    -----
    All the water is cooled to 0 °C; the frozen part is frozen there and cooled further. Water that stayed
    liquid ends at 0 °C: Q = m_water h_water(t_start) + m_ice (333.43 - h_ice(t_ice)).

    References
    ----------
    Energy balance with the properties of IAPWS-95 and IAPWS R10-06.
    """
    require_between(water_mass, 0.0, float("inf"), "the mass of water [kg]")
    require_between(ice_mass, 0.0, float("inf"), "the mass of ice [kg]")
    return water_mass * water_enthalpy(start_temperature) + ice_mass * (HEAT_OF_FUSION - ice_enthalpy(ice_temperature))


def plank_freezing_time(
    shape: str,
    thickness: Value,
    freezing_temperature: Value,
    surroundings_temperature: Value,
    heat_transfer_coefficient: Value,
    conductivity: Value = ICE_CONDUCTIVITY,
    density: Value = ICE_DENSITY,
    latent_heat: Value = HEAT_OF_FUSION,
) -> Value:
    """Return the time in which a body at its freezing point freezes through.

    Parameters
    ----------
    shape : str
        "slab" (cooled from both faces), "cylinder" (long) or "sphere".
    thickness : float, array or number with uncertainty [m]
        Full thickness of the slab, diameter of the others. A slab cooled from one face counts twice its
        thickness.
    freezing_temperature : float, array or number with uncertainty [degC]
        0 for clean water.
    surroundings_temperature : float, array or number with uncertainty [degC]
        Of the air or plate that takes the heat.
    heat_transfer_coefficient : float, array or number with uncertainty [W/(m2 K)]
        From the surface to the surroundings, walls of the container included.
    conductivity : float, array or number with uncertainty [W/(m K)]
        Of the frozen body.
    density : float, array or number with uncertainty [kg/m3]
        Of the frozen body.
    latent_heat : float, array or number with uncertainty [kJ/kg]
        Given up on freezing.

    Returns
    -------
    float, array or number with uncertainty [s]
        A lower bound for water put in warm: cooling it to the freezing point comes on top.

    Raises
    ------
    ValueError
        If the shape is not known, a plain size or property is not positive, or the surroundings are not
        colder than the freezing point.

    Notes
    -----
    t = rho L / (T_f - T_a) (P a / h + R a^2 / k), with P and R 1/2 and 1/8 for the slab, 1/4 and 1/16 for the
    cylinder, 1/6 and 1/24 for the sphere. Counts the heat of freezing only, and takes the ice as in steady
    state.

    References
    ----------
    Plank's equation, as in textbooks of food engineering.
    """
    if shape not in _PLANK_FACTORS:
        raise ValueError(f'the shape is "{shape}", but must be one of {", ".join(SHAPES)}')
    require_above(thickness, 0.0, "the thickness [m]", "zero")
    require_above(heat_transfer_coefficient, 0.0, "the heat transfer coefficient [W/(m2 K)]", "zero")
    require_above(conductivity, 0.0, "the conductivity [W/(m K)]", "zero")
    require_above(density, 0.0, "the density [kg/m3]", "zero")
    require_above(latent_heat, 0.0, "the latent heat [kJ/kg]", "zero")
    require_above(freezing_temperature, surroundings_temperature, "the freezing point [degC]", "the surroundings")
    surface_factor, inside_factor = _PLANK_FACTORS[shape]
    at_surface = surface_factor * thickness / heat_transfer_coefficient
    inside = inside_factor * thickness**2 / conductivity
    latent = density * latent_heat * 1000
    return latent / (freezing_temperature - surroundings_temperature) * (at_surface + inside)


def _polynomial(coefficients: tuple[float, ...], variable: Value) -> Value:
    """Return a polynomial without constant term, by Horner's scheme."""
    total: Value = 0.0
    for coefficient in reversed(coefficients):
        total = (total + coefficient) * variable
    return total

"""Gas volumes at standard conditions, and the energy in the methane.

Standard means dry gas at 0 °C and 101.325 kPa, taken as ideal. All formulas are plain arithmetic: floats,
arrays and numbers with uncertainty work alike. Range checks look at plain numbers only.
"""

from __future__ import annotations

from reportgen.calc.ranges import Value, require_above, require_between

#: 0 °C [K]; normal conditions of DIN 1343.
STANDARD_TEMPERATURE = 273.15
#: One standard atmosphere [kPa]; normal conditions of DIN 1343.
STANDARD_PRESSURE = 101.325
#: Avogadro constant [1/mol] and Boltzmann constant [J/K]; both exact (CODATA 2018).
AVOGADRO_CONSTANT = 6.02214076e23
BOLTZMANN_CONSTANT = 1.380649e-23
#: Volume of one mole of ideal gas at standard conditions [L/mol]; R T / p, with J/kPa = L.
MOLAR_VOLUME = AVOGADRO_CONSTANT * BOLTZMANN_CONSTANT * STANDARD_TEMPERATURE / STANDARD_PRESSURE

#: Gross heat of combustion of methane at 0 °C [kJ/mol]; ISO 6976:2016, Table 3.
METHANE_GROSS_HEAT = 892.92
#: Heat that the water of combustion gives up on condensing at 0 °C [kJ per mole of water]; ISO 6976:2016,
#: Table 3.
WATER_CONDENSATION_HEAT = 45.064
#: Net heating value of methane [MJ/m3 standard dry]: combustion at 0 °C, metering at 0 °C and 101.325 kPa,
#: ideal gas. Burning one mole makes two moles of water. kJ/L = MJ/m3. Comes to 35.817.
METHANE_NET_HEATING_VALUE = (METHANE_GROSS_HEAT - 2 * WATER_CONDENSATION_HEAT) / MOLAR_VOLUME
#: Relative half-width (rectangular) that covers the other conventions in use: real gas, combustion at 15 or
#: 25 °C. Ours: the largest difference, real gas at 0 °C, is 0.24 %.
METHANE_NET_HEATING_VALUE_RELATIVE_LIMIT = 0.003

#: Coefficients n1 to n10 of the saturation line; IAPWS R7-97(2012), Table 34.
_SATURATION = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)

#: Standard atmosphere at sea level and its lowest layer; ISO 2533:1975.
_SEA_LEVEL_TEMPERATURE = 288.15  # K
_TEMPERATURE_LAPSE = 0.0065  # K per geopotential metre
_STANDARD_GRAVITY = 9.80665  # m/s2
_AIR_GAS_CONSTANT = 287.05287  # J/(kg K)
_PRESSURE_EXPONENT = _STANDARD_GRAVITY / (_TEMPERATURE_LAPSE * _AIR_GAS_CONSTANT)  # 5.25588


def water_vapour_pressure(temperature: Value) -> Value:
    """Return the pressure of water vapour over liquid water.

    Parameters
    ----------
    temperature : float, array or number with uncertainty [degC]
        Any shape.

    Returns
    -------
    float, array or number with uncertainty [kPa]
        Saturation pressure, same shape.

    Raises
    ------
    ValueError
        If a plain temperature is outside 0 to 100 °C.

    Notes
    -----
    Closed form of a quadratic in the fourth root of the pressure. The formulation holds from 0 °C to the
    critical point; the range here is that of wet biogas.

    References
    ----------
    IAPWS R7-97(2012), equation 30 with Table 34; checked against its Table 35.
    """
    require_between(temperature, 0.0, 100.0, "the temperature of wet gas [degC]")
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _SATURATION
    kelvin = temperature + STANDARD_TEMPERATURE
    theta = kelvin + n9 / (kelvin - n10)
    a = theta**2 + n1 * theta + n2
    b = n3 * theta**2 + n4 * theta + n5
    c = n6 * theta**2 + n7 * theta + n8
    megapascal = (2 * c / ((b**2 - 4 * a * c) ** 0.5 - b)) ** 4
    return megapascal * 1000


def standard_atmosphere(altitude: Value) -> Value:
    """Return the pressure of the standard atmosphere at an altitude.

    Parameters
    ----------
    altitude : float, array or number with uncertainty [m, geopotential]
        Any shape. The height on a map may be used for it: at 2500 m that lowers the pressure by 0.01 %.

    Returns
    -------
    float, array or number with uncertainty [kPa]
        Same shape.

    Raises
    ------
    ValueError
        If a plain altitude is outside -2000 to 11000 m.

    Notes
    -----
    p = 101.325 (1 - 0.0065 H / 288.15)^5.25588. Weather moves the true pressure by about 1 kPa around it
    (common practice, no source).

    References
    ----------
    ISO 2533:1975, lowest layer.
    """
    require_between(altitude, -2000.0, 11000.0, "the altitude [m]")
    relative_temperature = 1 - _TEMPERATURE_LAPSE * altitude / _SEA_LEVEL_TEMPERATURE
    return STANDARD_PRESSURE * relative_temperature**_PRESSURE_EXPONENT


def dry_standard_factor(temperature: Value, absolute_pressure: Value, vapour_pressure: Value) -> Value:
    """Return how much dry gas at standard conditions is in one unit of volume as read.

    Parameters
    ----------
    temperature : float, array or number with uncertainty [degC]
        Of the gas where its volume is read; any shape.
    absolute_pressure : float, array or number with uncertainty [kPa]
        Atmospheric plus gauge pressure, where the volume is read; same shape or a scalar.
    vapour_pressure : float, array or number with uncertainty [kPa]
        Of the water in the gas: `water_vapour_pressure` of a wet gas, 0 of a dried one.

    Returns
    -------
    float, array or number with uncertainty [-]
        Volume standard dry divided by volume as read.

    Raises
    ------
    ValueError
        If plain inputs leave no dry gas, or the temperature is not above absolute zero.

    Notes
    -----
    (p - p_w) / 101.325 * 273.15 / (273.15 + t), for an ideal gas. Methane's own departure from it is 0.24 %.

    References
    ----------
    Ideal gas law and Dalton's law; standard state of DIN 1343.
    """
    require_above(temperature, -STANDARD_TEMPERATURE, "the gas temperature [degC]", "absolute zero")
    require_above(absolute_pressure, vapour_pressure, "the gas pressure [kPa]", "its vapour pressure")
    dry_pressure = absolute_pressure - vapour_pressure
    return dry_pressure / STANDARD_PRESSURE * STANDARD_TEMPERATURE / (temperature + STANDARD_TEMPERATURE)


def energy_of_methane(methane_volume: Value) -> Value:
    """Return the net heat that an amount of methane gives on burning.

    Parameters
    ----------
    methane_volume : float, array or number with uncertainty [L, standard dry]
        Volume of the methane alone: gas volume times methane fraction.

    Returns
    -------
    float, array or number with uncertainty [MJ]
        Lower heating value basis: the water of combustion stays vapour.

    Notes
    -----
    Volume times `METHANE_NET_HEATING_VALUE`; the uncertainty of that value is for the caller to add
    (`METHANE_NET_HEATING_VALUE_RELATIVE_LIMIT`).

    References
    ----------
    ISO 6976:2016, Table 3.
    """
    return methane_volume / 1000 * METHANE_NET_HEATING_VALUE


def burner_power(energy: Value, hours: Value) -> Value:
    """Return the mean thermal power of a burner.

    Parameters
    ----------
    energy : float, array or number with uncertainty [MJ]
        Net heat of the gas burnt.
    hours : float, array or number with uncertainty [h]
        Time with the burner lit.

    Returns
    -------
    float, array or number with uncertainty [W]
        Mean while burning.

    Raises
    ------
    ValueError
        If a plain duration is not positive.

    Notes
    -----
    1 MJ/h = 277.8 W.

    References
    ----------
    Definition of the watt.
    """
    require_above(hours, 0.0, "the burning time [h]", "zero")
    return energy * 1e6 / (hours * 3600)

"""What really happens in a simulated trial, by formulas from libraries and textbooks, none from reportgen.

Times in h from the true lighting, temperatures in degC, pressures in kPa, volumes in L, masses in kg.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from iapws import IAPWS97
from iapws._iapws import _Ice
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NET_HEATING_VALUE = 35.8  # MJ/m3 methane, standard dry (ISO 6976, rounded)
ICE_POINT = 273.152519  # K, melting point at one atmosphere (IAPWS R10-06)
ATMOSPHERE = 0.101325  # MPa
STEP = 1 / 360  # h, of the grid the gas and the ice live on


@functools.cache
def _log_vapour_pressures() -> tuple[Floats, Floats]:
    nodes = np.arange(1.0, 56.0)
    return nodes, np.log([IAPWS97(T=273.15 + t, x=0).P * 1000 for t in nodes])


def vapour_pressure(celsius: Floats | float) -> Floats:
    """Return the saturation pressure of water [kPa], between nodes of IAPWS-IF97 one kelvin apart."""
    nodes, logs = _log_vapour_pressures()
    return np.asarray(np.exp(np.interp(celsius, nodes, logs)))


@functools.cache
def _water_table() -> tuple[Floats, Floats]:
    nodes = np.arange(0.5, 45.0, 0.5)
    zero = IAPWS97(T=ICE_POINT + 1e-6, P=ATMOSPHERE).h
    return nodes, np.array([IAPWS97(T=273.15 + t, P=ATMOSPHERE).h - zero for t in nodes])


@functools.cache
def heat_of_fusion() -> float:
    """Return the heat of fusion of ice at one atmosphere [kJ/kg]."""
    return float(IAPWS97(T=ICE_POINT + 1e-6, P=ATMOSPHERE).h - _Ice(ICE_POINT, ATMOSPHERE)["h"])


def water_heat(celsius: float) -> float:
    """Return the heat that water gives up on cooling to 0 °C [kJ/kg]."""
    return float(np.interp(celsius, *_water_table()))


@functools.cache
def ice_heat(celsius: float) -> float:
    """Return the heat that ice gives up on cooling from 0 °C [kJ/kg]."""
    return float(_Ice(ICE_POINT, ATMOSPHERE)["h"] - _Ice(min(273.15 + celsius, ICE_POINT), ATMOSPHERE)["h"])


def standard_pressure(altitude: float) -> float:
    """Return the pressure of the standard atmosphere at an altitude [m] (ISO 2533)."""
    return 101.325 * (1 - 0.0065 * altitude / 288.15) ** 5.25588


def standard_dry(celsius: Floats | float, absolute: Floats | float, dry: bool = False) -> Floats:
    """Return litres standard dry per litre as read, for an ideal gas that carries all the vapour it can."""
    vapour = 0.0 if dry else vapour_pressure(celsius)
    return np.asarray((absolute - vapour) / 101.325 * 273.15 / (273.15 + celsius))


@dataclass(frozen=True)
class Cabinet:
    """First-order cooling after a dead time while the burner is lit, first-order warming after it."""

    start: float
    floor: float
    constant: float
    delay: float
    out: float
    ambient: float
    warm_constant: float
    warm_delay: float

    def cooling(self, hours: Floats | float) -> Floats:
        """Return the temperature as if the burner never went out."""
        since = np.maximum(np.asarray(hours, dtype=float) - self.delay, 0.0)
        return self.floor + (self.start - self.floor) * np.exp(-since / self.constant)

    def __call__(self, hours: Floats | float) -> Floats:
        turn = self.out + self.warm_delay
        at_turn = float(self.cooling(turn))
        since = np.maximum(np.asarray(hours, dtype=float) - turn, 0.0)
        warming = self.ambient + (at_turn - self.ambient) * np.exp(-since / self.warm_constant)
        return np.where(np.asarray(hours) <= turn, self.cooling(hours), warming)

    def crossing(self, threshold: float) -> float | None:
        """Return when the cooling cabinet is at a threshold, or None where it never is."""
        if not self.start > threshold > self.floor:
            return None
        instant = self.delay + self.constant * np.log((self.start - self.floor) / (threshold - self.floor))
        return float(instant) if instant <= self.out + self.warm_delay else None

    def above_zero_again(self) -> float | None:
        """Return when the cabinet is above 0 °C again; None where it was not below, or never is."""
        at_turn = float(self.cooling(self.out + self.warm_delay))
        if self.cooling(self.out) >= 0 or at_turn >= 0 or self.ambient <= 0:
            return None
        wait = self.warm_constant * np.log((at_turn - self.ambient) / (0.0 - self.ambient))
        return float(self.out + self.warm_delay + wait)


def frozen_shares(cabinet: Cabinet, begins: float, solid_at: list[float], until: float) -> tuple[Floats, Floats]:
    """Return a grid of hours, and each container's share frozen, which follows the cold since `begins`."""
    last = max([until, *solid_at]) + 0.1
    hours = np.arange(0.0, last, STEP)
    cold = np.where(hours >= begins, np.maximum(-cabinet.cooling(hours), 0.0), 0.0)
    sum_of_cold = np.concatenate(([0.0], np.cumsum(cold)[:-1])) * STEP
    shares = []
    for instant in solid_at:
        whole = float(np.interp(instant, hours, sum_of_cold))
        shares.append(np.minimum(sum_of_cold / whole, 1.0) if whole > 0 else np.zeros(len(hours)))
    return hours, np.array(shares)


def correlated_noise(rng: np.random.Generator, hours: Floats, sd: float, memory: float) -> Floats:
    """Return noise of standard deviation `sd` whose correlation fades with `memory` [h]; none for 0."""
    fresh = rng.standard_normal(len(hours))
    if memory <= 0:
        return sd * fresh
    noise = np.empty(len(hours))
    noise[0] = fresh[0]
    for i, keep in enumerate(np.exp(-np.diff(hours) / memory), start=1):
        noise[i] = keep * noise[i - 1] + (1 - keep**2) ** 0.5 * fresh[i]
    return sd * noise


def daily_gas(masses: Floats, per_kilogram: float, rate: float) -> Floats:
    """Return the gas of the day before each feed [L], of a first-order digester fed once a day."""
    stock, gas = 0.0, np.empty(len(masses))
    for day, mass in enumerate(masses):
        gas[day] = stock * (1 - np.exp(-rate))
        stock = stock * np.exp(-rate) + mass * per_kilogram
    return gas

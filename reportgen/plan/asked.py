"""What somebody says before a trial, in the units of the program; nothing of it is required."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from reportgen import units
from reportgen.plan.past import PastRun

#: A litre of water weighs so much [kg]: at 20 °C, IAPWS-95, computed; at 30 °C it is 0.3 % less.
WATER_PER_LITRE = 0.998


@dataclass(frozen=True)
class Allowed:
    """How a quantity is read: its unit, others taken with a factor to the first, and the range that is possible."""

    unit: str
    low: float
    high: float
    others: tuple[tuple[str, float], ...] = ()


#: By name, as the options are called. Ranges are ours: far beyond any household's trial.
ALLOWED = {
    "gas": Allowed("L", 0.1, 1e6),
    "daily_gas": Allowed("L/d", 0.1, 1e6, (("L", 1.0),)),
    "rate": Allowed("L/h", 0.1, 1e5),
    "stove_rate": Allowed("L/h", 0.1, 1e5),
    "power": Allowed("W", 1.0, 1e6),
    "water": Allowed("kg", 0.001, 1e4, (("L", WATER_PER_LITRE),)),
    "water_temperature": Allowed("degC", 0.0, 100.0),
    "thickness": Allowed("mm", 0.1, 2000.0),
    "ambient": Allowed("degC", -30.0, 60.0),
    "altitude": Allowed("m", -500.0, 6000.0),
    "methane": Allowed("%", 1.0, 100.0),
    "heat_leak": Allowed("W/K", 0.001, 1000.0),
}
SHAPES = ("slab", "cylinder", "sphere")


@dataclass(frozen=True)
class Asked:
    """What is known before a trial.

    Attributes
    ----------
    gas : Stated or None
        In the holder, of what may be drawn, as read [L].
    daily_gas : Stated or None
        As read [L/d].
    rate, power : Stated or None
        Of the burner: gas as read [L/h], or net heat [W].
    water, water_temperature : Stated or None
        To be frozen [kg], and when put in [degC].
    shape, thickness : str or None, Stated or None
        Of the water: slab, cylinder or sphere, and its thickness or diameter [mm].
    ambient, altitude, methane, heat_leak : Stated or None
        [degC], [m], [% of the dry gas], [W/K].
    past : tuple of PastRun
        Earlier runs of one's own.
    """

    gas: units.Stated | None = None
    daily_gas: units.Stated | None = None
    rate: units.Stated | None = None
    power: units.Stated | None = None
    water: units.Stated | None = None
    water_temperature: units.Stated | None = None
    shape: str | None = None
    thickness: units.Stated | None = None
    ambient: units.Stated | None = None
    altitude: units.Stated | None = None
    methane: units.Stated | None = None
    heat_leak: units.Stated | None = None
    past: tuple[PastRun, ...] = ()


def read_quantity(name: str, text: str) -> units.Stated:
    """Read a quantity such as ``"200 +/- 5 L"`` for one of `ALLOWED`.

    Raises
    ------
    UnitError
        If it is no quantity of that kind, or is out of its range; the message shows one that would do.
    """
    allowed = ALLOWED[name]
    stated = _in_some_unit(text, allowed)
    if not allowed.low <= stated.value <= allowed.high:
        raise units.UnitError(f'found "{stated.text}", expected {allowed.low:g} to {allowed.high:g} {allowed.unit}')
    return stated


def _in_some_unit(text: str, allowed: Allowed) -> units.Stated:
    try:
        return units.parse_stated(text, allowed.unit)
    except units.UnitError as error:
        for unit, factor in allowed.others:
            try:
                found = units.parse_stated(text, unit)
            except units.UnitError:
                continue
            return units.Stated(
                found.value * factor,
                found.standard_uncertainty * factor,
                allowed.unit,
                found.text,
                found.has_uncertainty,
            )
        raise error


def inputs_document(quantities: Mapping[str, Any], past: tuple[PastRun, ...]) -> dict[str, Any]:
    """Return what was asked as plain data: each quantity with its unit, or null, and the runs it is compared with."""
    document: dict[str, Any] = {}
    for name, value in quantities.items():
        if isinstance(value, units.Stated):
            document[name] = {
                "text": value.text,
                "value": _number(value.value),
                "standard_uncertainty": _number(value.standard_uncertainty),
                "unit": value.unit,
            }
        else:
            document[name] = value
    document["from"] = [run.name for run in past]
    return document


def _number(value: float) -> float:
    return float(f"{value:.10g}") if math.isfinite(value) else 0.0

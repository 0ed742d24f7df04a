"""Units are checked here, at the door; everywhere else numbers are plain floats in a unit that is stated."""

from __future__ import annotations

import functools
import math
import re
import sys
from dataclasses import dataclass
from typing import Any

from reportgen.unit_definitions import DEFINITIONS

#: How people write a unit -> the name pint knows. Keys have no spaces; tried as written, then in lower case.
ALIASES = {
    "C": "degC",
    "°C": "degC",
    "ºC": "degC",
    "℃": "degC",
    "degC": "degC",
    "celsius": "degC",
    "degc": "degC",
    "oC": "degC",
    "°c": "degC",
    "F": "degF",
    "°F": "degF",
    "ºF": "degF",
    "℉": "degF",
    "degF": "degF",
    "fahrenheit": "degF",
    "degf": "degF",
    "°f": "degF",
    "K": "kelvin",
    "kelvin": "kelvin",
    "%": "percent",
    "percent": "percent",
    "pct": "percent",
    "%vol": "percent",
    "vol%": "percent",
    "ppm": "ppm",
    "ppmv": "ppm",
    "l": "liter",
    "L": "liter",
    "litre": "liter",
    "litres": "liter",
    "liter": "liter",
    "liters": "liter",
    "ltr": "liter",
    "ml": "milliliter",
    "mL": "milliliter",
    "m3": "m^3",
    "m³": "m^3",
    "m^3": "m^3",
    "cbm": "m^3",
    "cm3": "cm^3",
    "cm³": "cm^3",
    "dm3": "dm^3",
    "dm³": "dm^3",
    "ft3": "foot^3",
    "ft³": "foot^3",
    "cuft": "foot^3",
    "cf": "foot^3",
    "gal": "gallon",
    "lb": "pound",
    "lbs": "pound",
    "oz": "ounce",
    "g": "gram",
    "kg": "kilogram",
    "kilo": "kilogram",
    "l/min": "liter/minute",
    "lpm": "liter/minute",
    "l/h": "liter/hour",
    "lph": "liter/hour",
    "m3/h": "m^3/hour",
    "m³/h": "m^3/hour",
    "ml/min": "milliliter/minute",
    "psi": "psi",
    "inh2o": "inH2O",
    "cmh2o": "cmH2O",
    "cmwc": "cmH2O",
    "mmh2o": "mmH2O",
    "mmwc": "mmH2O",
    "mmhg": "mmHg",
    "torr": "torr",
    "mbar": "millibar",
    "hpa": "hectopascal",
    "kpa": "kilopascal",
    "pa": "pascal",
    "bar": "bar",
    "atm": "atmosphere",
    "s": "second",
    "sec": "second",
    "seconds": "second",
    "ms": "millisecond",
    "min": "minute",
    "mins": "minute",
    "minutes": "minute",
    "h": "hour",
    "hr": "hour",
    "hrs": "hour",
    "hours": "hour",
    "d": "day",
    "days": "day",
    "cm": "centimeter",
    "mm": "millimeter",
    "m": "meter",
    "in": "inch",
    "ft": "foot",
    "l/d": "liter/day",
    "l/day": "liter/day",
    "lpd": "liter/day",
    "m3/d": "m^3/day",
    "m³/d": "m^3/day",
    "m3/day": "m^3/day",
    "m³/day": "m^3/day",
    "w/k": "watt/kelvin",
    "w": "watt",
    "kw": "kilowatt",
    "k/h": "kelvin/hour",
    "c/h": "kelvin/hour",
    "°c/h": "kelvin/hour",
    "ºc/h": "kelvin/hour",
    "degc/h": "kelvin/hour",
    "f/h": "delta_degF/hour",
    "°f/h": "delta_degF/hour",
    "degf/h": "delta_degF/hour",
    "k/min": "kelvin/minute",
    "c/min": "kelvin/minute",
    "°c/min": "kelvin/minute",
    "degc/min": "kelvin/minute",
    "kg/d": "kilogram/day",
    "kg/day": "kilogram/day",
    "kg/24h": "kilogram/day",
    "l/kg": "liter/kilogram",
    "m3/kg": "m^3/kilogram",
    "cm2": "cm^2",
    "cm²": "cm^2",
    "m2": "m^2",
    "m²": "m^2",
    # Words in the other languages of logs (from memory). Those for one hour are what clock columns are called.
    "litro": "liter",
    "litros": "liter",
    "lita": "liter",
    "heures": "hour",
    "horas": "hour",
    "minutos": "minute",
    "dakika": "minute",
    "secondes": "second",
    "segundos": "second",
    "jours": "day",
    "°م": "degC",
    "م°": "degC",
    "لتر": "liter",
    "م3": "m^3",
    "كغ": "kilogram",
    "كغم": "kilogram",
    "كجم": "kilogram",
    "سم": "centimeter",
    "دقيقة": "minute",
}
_EVERYDAY = frozenset(ALIASES.values())
#: Characters a unit may be made of, checked before pint's parser sees it (it evaluates powers of powers).
_UNIT_TEXT = re.compile(r"[A-Za-zµμ°%/*·^²³0-9 ]{1,32}")
_POWER = re.compile(r"\^\s*\d\d|\*\*|\^.*\^|\d\s*\^|[\d²³]\s*[²³]")
#: Thermometer scales to degC: value * factor + offset. Written out since these have a zero of their own.
_TEMPERATURE_SCALES = {
    "degree_Celsius": (1.0, 0.0),
    "degree_Fahrenheit": (5 / 9, -160 / 9),
    "kelvin": (1.0, -273.15),
}
#: The typographic minus sign, which people paste from documents.
MINUS = "\N{MINUS SIGN}"
_NUMBER = rf"[-+{MINUS}]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?"
_QUANTITY = re.compile(
    rf"\(?\s*(?P<value>{_NUMBER})\s*(?:(?:\+/-|±|\+-)\s*(?P<spread>{_NUMBER}))?\s*\)?\s*"
    r"(?P<unit>(?:[^()\d,.\s][^(),]*?)?)\s*(?:\(\s*(?P<kind>limits|k\s*=\s*\d+(?:\.\d+)?)\s*\))?\s*"
)
#: Limits taken for a quantity without a stated uncertainty are half of its last written digit, but at most these: a
#: share of the value, or an amount in its unit (common practice, no source). "1 kg" never means half a kilogram.
WIDEST_DEFAULT = {
    "kg": (0.02, 0.0),
    "L": (0.02, 0.0),
    "cm^2": (0.02, 0.0),
    "mm": (0.05, 0.0),
    "L/kg": (0.2, 0.0),
    "L/h": (0.1, 0.0),
    "L/d": (0.1, 0.0),
    "W/K": (0.2, 0.0),
    "degC": (0.0, 1.0),
    "kPa": (0.0, 0.1),
    "%": (0.0, 3.0),
    "m": (0.0, 10.0),
}
#: Dimensions in words, for messages.
EXAMPLES = {
    "degC": 'a temperature such as "24 +/- 0.5 degC"',
    "K": 'a temperature difference such as "0.5 K"',
    "L": 'a volume such as "210 L"',
    "kg": 'a mass such as "1.20 +/- 0.01 kg"',
    "kPa": 'a pressure such as "9 +/- 0.5 mbar"',
    "%": 'a percentage such as "61 +/- 3 %"',
    "m": 'a height such as "40 m"',
    "mm": 'a length such as "40 mm"',
    "cm^2": 'an area such as "2400 cm^2"',
    "L/kg": 'a yield such as "110 +/- 20 L/kg"',
    "W/K": 'a heat leak such as "1.1 +/- 0.2 W/K"',
    "W": 'a power such as "120 +/- 5 W"',
    "h": 'a duration such as "2.5 +/- 0.1 h"',
    "K/h": 'a cooling rate such as "12 +/- 1 K/h"',
    "L/h": 'a gas rate such as "60 L/h" or "1 L/min"',
    "L/d": 'gas a day such as "640 L/d"',
    "kg/d": 'an amount a day such as "3.0 +/- 0.2 kg/d"',
}


class UnitError(ValueError):
    """A unit that is not known or does not fit; the message says what would."""


@dataclass(frozen=True)
class Stated:
    """A quantity as somebody stated it, in the unit it is used in.

    Attributes
    ----------
    value : float
    standard_uncertainty : float
        In the same unit (a difference, for temperatures).
    unit : str
        The unit of both.
    text : str
        As it was written.
    has_uncertainty : bool
        False where nothing was said: then half of the last written digit is taken as limits of error, at most
        `WIDEST_DEFAULT`.
    """

    value: float
    standard_uncertainty: float
    unit: str
    text: str
    has_uncertainty: bool


@functools.cache
def _registry(*, is_everyday: bool) -> Any:
    """Return pint's registry of the units that `ALIASES` names, or of all that it knows."""
    pint = _pint()
    return pint.UnitRegistry(DEFINITIONS) if is_everyday else pint.get_application_registry()


@functools.cache
def _pint() -> Any:
    """Return pint: 0.2 s to load, and another 0.1 s where it finds babel, whose words for units are not used."""
    name = "babel"
    is_hidden = name not in sys.modules
    if is_hidden:
        sys.modules[name] = None  # type: ignore[assignment]  # as if it were not installed
    try:
        import pint
    finally:
        if is_hidden:
            del sys.modules[name]
    return pint


def _everyday_name(text: str) -> str | None:
    bare = re.sub(r"\s+", "", text)
    return ALIASES.get(bare) or ALIASES.get(bare.lower()) or (bare if bare in _EVERYDAY else None)


@functools.cache
def _unit(text: str, *, is_everyday: bool) -> Any:
    """Return the unit that people mean by `text`, of one of the two registries."""
    name = _everyday_name(text)
    if name is None:
        if not _UNIT_TEXT.fullmatch(text) or _POWER.search(text):
            raise UnitError(f'"{text[:40]}" is not a unit')
        name = text
    pint = _pint()
    try:
        return _registry(is_everyday=is_everyday).parse_units(name)
    except (
        pint.errors.PintError,
        ArithmeticError,
        AssertionError,
        TypeError,
        ValueError,
        AttributeError,
    ) as error:
        raise UnitError(f'"{text}" is not a unit that is known here') from error


@functools.cache
def unit_named(text: str) -> str:
    """Return the full name of the unit that people mean by `text`, such as ``liter / minute``.

    Raises
    ------
    UnitError
        If the text is no unit.
    """
    return str(_unit(text, is_everyday=_everyday_name(text) is not None))


#: What a header says whose column holds shares from 0 to 1; a bare number may be a percentage.
FRACTION = "fraction"
PER_FRACTION = {"%": 100.0, "ppm": 1e6}


@functools.cache
def conversion(unit: str, target: str) -> tuple[float, float]:
    """Return (factor, offset) with value in `target` = factor * value in `unit` + offset.

    Raises
    ------
    UnitError
        If the two are not of one kind.
    """
    if unit.strip().casefold() == FRACTION and target in PER_FRACTION:
        return PER_FRACTION[target], 0.0
    pint = _pint()
    # Units of two registries do not mix.
    is_everyday = None not in (_everyday_name(unit), _everyday_name(target))
    source, wanted = (_unit(text, is_everyday=is_everyday) for text in (unit, target))
    scale = _TEMPERATURE_SCALES.get(str(source))
    if scale is not None and target in ("degC", "K"):
        # A resolution "of 0.5 °C" is a difference: kelvin is its only honest name, and it has no zero.
        return scale if target == "degC" else (scale[0], 0.0)
    shares = ("percent", "ppm")
    refusal = UnitError(f'"{unit}" cannot be read as {target}')
    # A bare fraction, an angle or a decibel is as dimensionless as a percentage, but is none.
    if (str(source) in shares) != (str(wanted) in shares):
        raise refusal
    quantity = _registry(is_everyday=is_everyday).Quantity
    try:
        one, two = (float(quantity(number, source).m_as(wanted)) for number in (1.0, 2.0))
    except pint.errors.PintError as error:
        raise refusal from error
    # A scale with a zero of its own, such as rankine read as degC, is no factor.
    if not math.isclose(two, 2 * one):
        raise refusal
    return one, 0.0


def in_celsius(value: float, unit: str) -> float:
    """Return a temperature that was written in another unit, such as ``°F``, in degC."""
    factor, offset = conversion(unit, "degC")
    return factor * value + offset


def parse_stated(text: str, target: str) -> Stated:
    """Read a quantity string such as ``"61 +/- 3 % (limits)"`` into `target` units.

    ``+/-`` gives a standard uncertainty; with ``(limits)`` the half-width of a rectangular distribution; with
    ``(k=2)`` an expanded one. Without it, half of the last written digit is taken as limits of error, at most
    `WIDEST_DEFAULT`.

    Raises
    ------
    UnitError
        If the text is no quantity or its unit does not fit; the message shows one that would.
    """
    value, spread, unit, kind = _parts(text, target)
    factor, offset = _conversion_of(text, unit, target)
    number = float(value) * factor + offset
    if spread is not None:
        deviation = _standard(float(spread), kind) * abs(factor)
    else:
        share, amount = WIDEST_DEFAULT.get(target, (0.0, math.inf))
        deviation = min(0.5 * _last_digit(value) * abs(factor), share * abs(number) + amount) / 3**0.5
    if deviation < 0:
        raise UnitError(f'found "{text}", expected an uncertainty that is not negative')
    if not (math.isfinite(number) and math.isfinite(deviation)):
        raise UnitError(f'found "{text}", expected a smaller number')
    return Stated(number, deviation, target, text.strip(), spread is not None)


def parse_accuracy(text: str, target: str) -> Stated:
    """Read an accuracy: the number is the uncertainty. ``"2 %"`` is relative, ``"0.5 K (limits)"`` is not.

    The result's `value` is the standard uncertainty, in `target` units or in ``%`` of the reading.
    """
    value, spread, unit, kind = _parts(text, target)
    if spread is not None or value[0] == "-":
        raise UnitError(f'found "{text}", expected an accuracy as one positive number, such as "2 % (limits)"')
    target = "%" if ALIASES.get(unit) == "percent" else target
    factor, _ = _conversion_of(text, unit, target)
    deviation = _standard(float(value), kind) * factor
    if not math.isfinite(deviation):
        raise UnitError(f'found "{text}", expected a smaller number')
    return Stated(deviation, 0.0, target, text.strip(), True)


def _conversion_of(text: str, unit: str, target: str) -> tuple[float, float]:
    try:
        return conversion(unit, target)
    except UnitError as error:
        wanted = EXAMPLES.get(target, f"a quantity in {target}")
        raise UnitError(f'found "{text}", expected {wanted}: {error}') from error


def _parts(text: str, target: str) -> tuple[str, str | None, str, str | None]:
    match = _QUANTITY.fullmatch(text) if len(text) <= 80 else None
    wanted = EXAMPLES.get(target, f"a quantity in {target}")
    if match is None:
        hint = "; write the decimal mark as a point" if re.search(r"\d,\d", text) else ""
        raise UnitError(f'found "{text[:60]}", expected {wanted}{hint}')
    if not match["unit"]:
        raise UnitError(f'found "{text}" without a unit, expected {wanted}')
    value, spread = (part and part.replace(MINUS, "-") for part in (match["value"], match["spread"]))
    return value, spread, match["unit"], match["kind"]


def _standard(spread: float, kind: str | None) -> float:
    """Return the standard uncertainty behind a stated one (JCGM 100:2008, 4.3.3 and 4.3.7)."""
    if kind is None:
        return spread
    if kind == "limits":
        return spread / 3**0.5
    coverage = float(kind.split("=")[1])
    if coverage == 0:
        raise UnitError("found a coverage factor k of 0, expected one such as k=2")
    return spread / coverage


def _last_digit(number: str) -> float:
    """Return the worth of the last digit written: 0.01 for "1.20", 1 for "40"."""
    mantissa, _, exponent = number.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return float(10 ** (int(exponent or 0) - decimals)) if -300 < int(exponent or 0) < 300 else 1.0

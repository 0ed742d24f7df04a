"""Units as people write them, and quantities with their uncertainties."""

from __future__ import annotations

import math
import pickle

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen import units
from reportgen.unit_definitions import DEFINITIONS
from reportgen.units import UnitError, conversion, parse_accuracy, parse_stated, unit_named

KINDS = {
    "degC": ("C", "°C", "℃", "degC", "deg C", "Celsius", "°c", "oC"),
    "degF": ("F", "°F", "℉", "degF", "Fahrenheit", "°f"),
    "K": ("K", "kelvin", "Kelvin"),
    "%": ("percent", "pct", "% vol", "vol%"),
    "L": ("l", "litre", "Litres", "liter", "LTR"),
    "m^3": ("m3", "m³", "M3", "cbm"),
    "ft^3": ("ft3", "ft³", "cf", "cu ft"),
    "L/min": ("l/min", "lpm", "LPM"),
    "mbar": ("mBar", "MBAR", "hPa", "hpa"),
    "cmH2O": ("cmH2O", "cm H2O", "cmWC"),
    "kPa": ("KPA",),
    "min": ("mins", "Minutes"),
    "h": ("hr", "hours"),
    "s": ("sec", "seconds"),
    "cm^2": ("cm2", "cm²"),
    "kg": ("kilo", "KG"),
}


@pytest.mark.parametrize(("unit", "text"), [(unit, text) for unit, texts in KINDS.items() for text in texts])
def test_a_unit_has_many_names(unit: str, text: str) -> None:
    assert unit_named(text) == unit_named(unit) or math.isclose(conversion(text, unit)[0], 1.0)


@pytest.mark.parametrize(
    ("unit", "target", "written", "read"),
    [
        ("degF", "degC", 212.0, 100.0),
        ("degF", "degC", -40.0, -40.0),
        ("K", "degC", 273.15, 0.0),
        ("m3", "L", 0.21, 210.0),
        ("ft3", "L", 1.0, 28.316846592),  # exact by definition of the foot
        ("h", "s", 1.5, 5400.0),
        ("ms", "s", 1500.0, 1.5),
        ("hPa", "kPa", 1009.0, 100.9),
        ("mbar", "kPa", 9.0, 0.9),
        ("g", "kg", 1200.0, 1.2),
        ("m3/h", "L/min", 0.6, 10.0),
        ("%", "ppm", 0.2, 2000.0),
        ("ppm", "%", 600000.0, 60.0),
        ("in", "cm", 10.0, 25.4),
        ("kW", "W", 0.12, 120.0),
        ("w", "W", 80.0, 80.0),
        ("°C/h", "K/h", 12.0, 12.0),
        ("F/h", "K/h", 9.0, 5.0),
        ("C/min", "K/h", 0.2, 12.0),
        ("kg/24 h", "kg/d", 3.0, 3.0),
        ("kg/h", "kg/d", 0.5, 12.0),
    ],
)
def test_numbers_are_converted(unit: str, target: str, written: float, read: float) -> None:
    factor, offset = conversion(unit, target)
    assert factor * written + offset == pytest.approx(read, abs=1e-9)


@pytest.mark.parametrize(
    ("unit", "factor"), [("degC", 1.0), ("degF", 5 / 9), ("K", 1.0), ("mK", 0.001), ("rankine", 5 / 9)]
)
def test_a_temperature_difference_has_no_zero_of_its_own(unit: str, factor: float) -> None:
    found, offset = conversion(unit, "K")
    assert found == pytest.approx(factor)
    assert offset == 0


@pytest.mark.parametrize(
    ("unit", "target"),
    [
        ("kPa", "degC"),
        ("L", "kg"),
        ("1", "%"),
        ("kg/kg", "%"),
        ("rad", "ppm"),
        ("°", "ppm"),
        ("dB", "ppm"),
        ("%", "L"),
        ("rankine", "degC"),
        ("mK", "degC"),
        ("degRe", "K"),
        ("K", "L"),
    ],
)
def test_units_of_another_kind_are_refused(unit: str, target: str) -> None:
    with pytest.raises(UnitError, match="cannot be read as"):
        conversion(unit, target)


@pytest.mark.parametrize(
    "text",
    ["", "buckets", "m/0", "0/0", "9²²²²²²²²", "9^9^9^9", "2**99", "m^", "kg*0", "import os", "a" * 99, "€"],
)
def test_what_is_no_unit_is_refused_at_once(text: str) -> None:
    with pytest.raises(UnitError):
        unit_named(text)


@given(st.text(alphabet="mLkgsKCF%°/*·^²³019 ()e.-", max_size=12), st.sampled_from(sorted(units.EXAMPLES)))
def test_no_text_raises_anything_else(text: str, target: str) -> None:
    for read in (parse_stated, parse_accuracy):
        try:
            stated = read(f"1.5 {text}", target)
        except UnitError as error:
            assert str(error)
        else:
            assert math.isfinite(stated.value)
            assert stated.standard_uncertainty >= 0


@pytest.mark.parametrize(
    ("text", "target", "value", "uncertainty"),
    [
        ("61 +/- 3 %", "%", 61.0, 3.0),
        ("61 ± 3 %", "%", 61.0, 3.0),
        ("61+/-3%", "%", 61.0, 3.0),
        ("(61 +/- 3) %", "%", 61.0, 3.0),
        ("61 +/- 3 % (limits)", "%", 61.0, 3 / math.sqrt(3)),
        ("61 +/- 3 % (k=2)", "%", 61.0, 1.5),
        ("61 +/- 3 % (k = 1.96)", "%", 61.0, 3 / 1.96),
        ("27 +/- 1 degC", "degC", 27.0, 1.0),
        ("80.6 +/- 1.8 degF", "degC", 27.0, 1.0),
        ("-6 +/- 1 degC", "degC", -6.0, 1.0),
        ("−6 ± 1 °C", "degC", -6.0, 1.0),
        ("9 +/- 0.5 mbar", "kPa", 0.9, 0.05),
        ("1.2e3 +/- 1e1 g", "kg", 1.2, 0.01),
        ("2400 +/- 0 cm^2", "cm^2", 2400.0, 0.0),
        ("1.1 +/- 0.2 W/K", "W/K", 1.1, 0.2),
        ("110 +/- 20 L/kg", "L/kg", 110.0, 20.0),
    ],
)
def test_a_stated_uncertainty_becomes_a_standard_one(text: str, target: str, value: float, uncertainty: float) -> None:
    stated = parse_stated(text, target)
    assert stated.value == pytest.approx(value)
    assert stated.standard_uncertainty == pytest.approx(uncertainty)
    assert (stated.unit, stated.text, stated.has_uncertainty) == (target, text, True)


@pytest.mark.parametrize(
    ("text", "target", "last_digit"),
    [
        ("40 mm", "mm", 1.0),
        ("1.20 kg", "kg", 0.01),
        ("210 L", "L", 1.0),
        ("1.20e3 g", "kg", 0.01),
        ("0.90 kPa", "kPa", 0.01),
    ],
)
def test_without_an_uncertainty_half_the_last_digit_is_the_limit(text: str, target: str, last_digit: float) -> None:
    stated = parse_stated(text, target)
    assert stated.standard_uncertainty == pytest.approx(last_digit / 2 / math.sqrt(3))
    assert not stated.has_uncertainty


@pytest.mark.parametrize(
    ("text", "target", "limits"),
    [
        ("1 kg", "kg", 0.02),  # 2 % of the value, not half a kilogram
        ("200 L/kg", "L/kg", 0.5),
        ("1e2 L/kg", "L/kg", 20.0),
        ("1e1 degC", "degC", 1.0),
        ("1e1 degF", "degC", 1.0),
        ("60 %", "%", 0.5),
    ],
)
def test_a_coarsely_written_quantity_is_taken_as_well_known_as_is_usual(text: str, target: str, limits: float) -> None:
    assert parse_stated(text, target).standard_uncertainty == pytest.approx(limits / math.sqrt(3))


def test_the_pressure_of_a_water_column_is_read() -> None:
    # 9 cm of water at its conventional density of 1000 kg/m3: 0.09 m x 1000 kg/m3 x 9.80665 m/s2
    assert parse_stated("9 cmH2O", "kPa").value == pytest.approx(0.8826, abs=0.0001)


@pytest.mark.parametrize(
    ("text", "target", "reason"),
    [
        ("1.2", "kg", 'found "1.2" without a unit, expected a mass such as "1.20 +/- 0.01 kg"'),
        (
            "1,2 kg",
            "kg",
            'found "1,2 kg", expected a mass such as "1.20 +/- 0.01 kg"; write the decimal mark as a point',
        ),
        ("1.2 L", "kg", 'found "1.2 L", expected a mass such as "1.20 +/- 0.01 kg": "L" cannot be read as kg'),
        ("heavy", "kg", 'found "heavy", expected a mass such as "1.20 +/- 0.01 kg"'),
        ("", "kg", 'found "", expected a mass such as "1.20 +/- 0.01 kg"'),
        ("5 +/- −1 kg", "kg", 'found "5 +/- -1 kg", expected an uncertainty that is not negative'),
        ("1e400 kg", "kg", 'found "1e400 kg", expected a smaller number'),
        ("5 +/- 1e400 kg", "kg", 'found "5 +/- 1e400 kg", expected a smaller number'),
        ("5 +/- 1 kg (k=0)", "kg", "found a coverage factor k of 0, expected one such as k=2"),
        ("40 %", "W/K", 'found "40 %", expected a heat leak such as "1.1 +/- 0.2 W/K": "%" cannot be read as W/K'),
    ],
)
def test_a_refusal_shows_what_would_do(text: str, target: str, reason: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_stated(text, target)
    assert str(caught.value).replace("−", "-") == reason


@pytest.mark.parametrize(
    ("text", "target", "value", "unit"),
    [
        ("2 % (limits)", "L", 2 / math.sqrt(3), "%"),
        ("2 percent", "L", 2.0, "%"),
        ("2 L (limits)", "L", 2 / math.sqrt(3), "L"),
        ("0.5 K (limits)", "K", 0.5 / math.sqrt(3), "K"),
        ("0.9 degF (k=2)", "K", 0.25, "K"),
        ("500 mL", "L", 0.5, "L"),
    ],
)
def test_an_accuracy_is_itself_the_uncertainty(text: str, target: str, value: float, unit: str) -> None:
    stated = parse_accuracy(text, target)
    assert stated.value == pytest.approx(value)
    assert stated.unit == unit


@pytest.mark.parametrize("text", ["-2 %", "−2 %", "2 +/- 1 %", "2", "2 kg", "1e400 %", "fine"])
def test_what_is_no_accuracy_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="expected"):
        parse_accuracy(text, "L")


@given(
    st.floats(0.001, 1e6, allow_nan=False),
    st.sampled_from([("L", "m3"), ("kg", "lb"), ("kPa", "mmHg"), ("K", "degF")]),
)
def test_there_and_back_gives_the_same_number(number: float, pair: tuple[str, str]) -> None:
    target, unit = pair
    there, _ = conversion(unit, target)
    assert parse_stated(f"{number / there:.12g} {unit}", target).value == pytest.approx(number)


def test_every_example_of_a_message_can_be_read() -> None:
    for target, example in units.EXAMPLES.items():
        text = example.split('"')[1]
        assert parse_stated(text, target).unit == target


def test_own_definitions_give_the_very_numbers_of_pint() -> None:
    names = sorted(set(units.ALIASES.values()))
    own, all_units = pint.UnitRegistry(DEFINITIONS, on_redefinition="raise"), pint.UnitRegistry()
    for name in names:
        assert str(own.parse_units(name)) == str(all_units.parse_units(name))

    def factors(registry: pint.UnitRegistry) -> dict[tuple[str, str], float]:
        parsed = {name: registry.parse_units(name) for name in names}
        found = {}
        for source in names:
            for target in names:
                if parsed[source].dimensionality == parsed[target].dimensionality:
                    found[source, target] = registry.Quantity(1.0, parsed[source]).m_as(parsed[target])
        return found

    assert factors(own) == factors(all_units)


@pytest.mark.parametrize(("unit", "target"), [("hectoliter", "L"), ("L", "bushel"), ("millitorr", "decibar")])
def test_everyday_units_and_rare_ones_go_together(unit: str, target: str) -> None:
    factor = pint.UnitRegistry().Quantity(1.0, unit_named(unit)).m_as(unit_named(target))
    assert conversion(unit, target) == (pytest.approx(factor), 0.0)


def test_what_was_stated_survives_pickling() -> None:
    stated = parse_stated("61 +/- 3 %", "%")
    assert pickle.loads(pickle.dumps(stated)) == stated
    assert str(pickle.loads(pickle.dumps(UnitError("found nothing")))) == "found nothing"

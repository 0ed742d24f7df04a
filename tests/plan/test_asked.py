"""Quantities of the options: units, other units, ranges."""

from __future__ import annotations

import pytest

from reportgen.plan.asked import ALLOWED, Asked, inputs_document, read_quantity
from reportgen.units import UnitError


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("gas", "0.2 m3", 200.0),
        ("daily_gas", "1 m3/d", 1000.0),
        ("daily_gas", "640 L", 640.0),
        ("daily_gas", "640 L/day", 640.0),
        ("rate", "1 L/min", 60.0),
        ("water", "1.2 kg", 1.2),
        ("water", "1 L", 0.998),
        ("water_temperature", "75.2 °F", 24.0),
        ("thickness", "4 cm", 40.0),
        ("power", "0.3 kW", 300.0),
    ],
)
def test_a_quantity_is_read_in_the_units_people_use(name: str, text: str, value: float) -> None:
    stated = read_quantity(name, text)
    assert stated.value == pytest.approx(value)
    assert stated.unit == ALLOWED[name].unit


def test_an_uncertainty_is_carried_through_another_unit() -> None:
    assert read_quantity("water", "2 +/- 0.1 L").standard_uncertainty == pytest.approx(0.0998)


def test_a_rate_in_whole_litres_a_minute_is_not_taken_as_half_unknown() -> None:
    assert read_quantity("rate", "1 L/min").standard_uncertainty < 4.0


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("gas", "200", "without a unit"),
        ("gas", "200 kg", 'such as "210 L"'),
        ("gas", "-5 L", "expected 0.1 to 1e"),
        ("rate", "0 L/h", "expected 0.1"),
        ("methane", "120 %", "expected 1 to 100"),
        ("ambient", "much", "such as"),
        ("thickness", "40 kg", 'such as "40 mm"'),
    ],
)
def test_what_cannot_be_used_is_refused_with_an_example(name: str, text: str, words: str) -> None:
    with pytest.raises(UnitError, match=words):
        read_quantity(name, text)


def test_inputs_are_plain_data_with_null_for_what_nobody_said() -> None:
    stated = Asked(gas=read_quantity("gas", "200 +/- 2 L"))
    document = inputs_document({"gas": stated.gas, "rate": stated.rate, "shape": "slab"}, ())
    assert document == {
        "gas": {"text": "200 +/- 2 L", "value": 200.0, "standard_uncertainty": 2.0, "unit": "L"},
        "rate": None,
        "shape": "slab",
        "from": [],
    }

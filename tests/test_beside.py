"""Units of the United States beside those of the SI."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from reportgen import beside, speech, wording
from reportgen.catalogue import KINDS
from reportgen.message import say

#: Both units as the reference library of units writes them.
NAMES = {
    "kg": ("kg", "lb"),
    "L": ("L", "ft^3"),
    "m³": ("m^3", "ft^3"),
    "L/h": ("L/h", "ft^3/h"),
    "L/min": ("L/min", "ft^3/min"),
    "L/kg": ("L/kg", "ft^3/lb"),
    "h/m³": ("h/m^3", "h/ft^3"),
    "kg/d": ("kg/d", "lb/d"),
    "kg/(m³ d)": ("kg/m^3/d", "lb/ft^3/d"),
    "MJ": ("MJ", "Btu_it"),
    "kJ": ("kJ", "Btu_it"),
    "MJ/kg": ("MJ/kg", "Btu_it/lb"),
    "W": ("W", "Btu_it/h"),
    "K": ("delta_degC", "delta_degF"),
    "K/h": ("delta_degC/h", "delta_degF/h"),
}


@pytest.fixture(autouse=True)
def in_us_units() -> Iterator[None]:
    with speech.speaking(replace(speech.ENGLISH, units="us")):
        yield


def test_factors_agree_with_a_library_of_units() -> None:
    registry = UnitRegistry()
    assert set(NAMES) == set(beside.FACTORS)
    for unit, (ours, other) in NAMES.items():
        expected = registry.Quantity(1.0, ours).to(other).magnitude
        assert beside.FACTORS[unit][1] == pytest.approx(expected, rel=1e-9), unit


@pytest.mark.parametrize(
    ("sentence", "values", "said"),
    [
        ("about {value} kg of ice", {"value": "0.79"}, "about 0.79 kg (1.74 lb) of ice"),
        ("{low} to {high} kg", {"low": "0.77", "high": "0.81"}, "0.77 to 0.81 kg (1.70 to 1.79 lb)"),
        ("it fell to {t} °C", {"t": "−14"}, "it fell to −14 °C (7 °F)"),
        ("by {k} K in {h} h", {"k": 5.0, "h": 2.0}, "by 5 K (9 °F) in 2 h"),
        (
            "{value} {unit} ({low} to {high})",
            {"value": "292", "unit": "L", "low": 1, "high": 2},
            "292 L (10.3 ft³) (1 to 2)",
        ),
        ("{value} {unit}", {"value": "4.7", "unit": "h"}, "4.7 h"),
        ("{a} L and {b} L/h", {"a": "10", "b": "58.1"}, "10 L (0.4 ft³) and 58.1 L/h (2.05 ft³/h)"),
    ],
)
def test_an_amount_is_followed_by_the_other_unit(sentence: str, values: dict[str, object], said: str) -> None:
    assert str(say(sentence, **values)) == said


def test_a_working_and_a_word_stay_as_they_are() -> None:
    assert str(say("{v} L / {t} h = {r} L/h", v=10.0, t=2.0, r=5.0)) == "10 L / 2 h = 5 L/h"
    assert str(say("{v} L", v="some")) == "some L"


def test_si_units_alone_are_the_rule() -> None:
    with speech.speaking(speech.ENGLISH):
        assert str(say("about {value} kg", value="0.79")) == "about 0.79 kg"


@given(st.floats(min_value=0.01, max_value=9999), st.sampled_from(sorted(beside.FACTORS)))
def test_the_other_amount_is_as_fine_as_the_one_shown(value: float, unit: str) -> None:
    text = f"{value:.2f}"
    found = beside.converted(text, unit)
    shown, factor = float(found.split(" ")[0]), beside.FACTORS[unit][1]
    assert shown == pytest.approx(float(text) * factor, abs=0.5 * 10**0.5 * 0.01 * factor * 1.01)


def test_names_and_units_keep_their_order_from_right_to_left() -> None:
    left, end = speech.LEFT_TO_RIGHT, speech.END_ISOLATE
    with speech.speaking(speech.Speech(tag="qaa", is_right_to_left=True)):
        assert str(say("its heat [°C]")) == f"its heat {left}[°C]{end}"
        assert str(say("state it (--from)")) == f"state it ({left}--from{end})"
        assert str(say("no digester.formula")) == f"no {left}digester.formula{end}"
        assert beside.held_amounts("4.52 إلى 4.93 L/h") == f"{left}4.52{end} إلى {left}4.93 L/h{end}"
        assert beside.held_amounts("10 L في اليوم") == f"{left}10 L{end} في اليوم"
    assert beside.held_amounts("10 L a day") == "10 L a day"


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("at −12 °C after 1.5 h, 26 % of 0.79 kg.", "at −12~°C after 1.5~h, 26~% of 0.79~kg."),
        ("1.20 ± 0.01 kg and 1.00 kg/(m³ d)", "1.20 ±~0.01~kg and 1.00~kg/(m³~d)"),
        ("<bdi>4.5</bdi> <small>h</small> and <b>4.5 L/h</b>", "<bdi>4.5</bdi>~<small>h</small> and <b>4.5~L/h</b>"),
        ("\u2066\u20684.5\u2069 h\u2069", "\u2066\u20684.5\u2069~h\u2069"),
        ("0,79 kg (1,74 lb)", "0,79~kg (1,74~lb)"),
        ("3 logs, 2 hours, 5 Libra, run 3 m2", "3 logs, 2 hours, 5 Libra, run 3 m2"),
        ("<td>3</td> <td>kg</td>", "<td>3</td> <td>kg</td>"),
        ("<code>61 +/- 3 %</code> `1.2 kg`", "<code>61 +/- 3 %</code> `1.2 kg`"),
        (
            '<style>a { margin: 0 0 1 m }</style><a title="5 kg">',
            '<style>a { margin: 0 0 1 m }</style><a title="5 kg">',
        ),
    ],
)
def test_no_line_of_a_page_ends_between_a_number_and_its_unit(text: str, held: str) -> None:
    assert beside.on_one_line(text) == held.replace("~", speech.NO_BREAK)
    assert beside.on_one_line(beside.on_one_line(text)) == beside.on_one_line(text)


def test_every_unit_of_a_figure_holds_to_its_number() -> None:
    units = {wording.unit(kind.unit) for kind in KINDS.values()} - {""}
    assert len(units) > 15
    for unit in units:
        assert " " not in beside.on_one_line(f"1.5 {unit}"), unit

"""Formulas and the methane they could give."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.calc.theoretical_yield import (
    methane_per_oxygen_demand,
    molar_mass,
    parse_formula,
    theoretical_methane_share,
    theoretical_methane_yield,
    yield_from_composition,
)


def test_formula_with_repeats_decimals_and_lowered_digits() -> None:
    assert parse_formula("C22H34O11N") == {"C": 22.0, "H": 34.0, "O": 11.0, "N": 1.0, "S": 0.0}
    assert parse_formula("CH3COOH") == parse_formula("C2H4O2")
    assert parse_formula(" C₆H₁₂O₆ ") == parse_formula("C6H12O6")
    assert parse_formula("C17.2H29O9.8NS0.1")["S"] == pytest.approx(0.1)


@pytest.mark.parametrize("text", ["", "  ", "c6h12o6", "C6H12O6Na", "6C", "C6 H12", "C-1H4", "CO2.", "Cl", "C1.2.3"])
def test_what_is_no_formula_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="expected C, H, O, N or S"):
        parse_formula(text)


@pytest.mark.parametrize(("text", "rest"), [(" ", "nothing"), ("C6H12O6Na", "Na"), ("6C", "6C"), ("C2 H6", " H6")])
def test_what_is_no_formula_is_shown(text: str, rest: str) -> None:
    with pytest.raises(ValueError, match=f"found '{rest}'$"):
        parse_formula(text)


@pytest.mark.parametrize("text", ["H2O", "C0H4"])
def test_a_formula_without_carbon_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no carbon"):
        parse_formula(text)


def test_a_substance_too_rich_in_oxygen_is_refused() -> None:
    with pytest.raises(ValueError, match="too much oxygen"):
        theoretical_methane_yield(parse_formula("CO3"))


def test_carbon_dioxide_gives_no_methane() -> None:
    assert theoretical_methane_yield(parse_formula("CO2")) == 0.0


@given(st.integers(1, 60), st.integers(0, 120), st.integers(0, 20), st.integers(0, 4), st.integers(0, 2))
def test_methane_takes_two_oxygen_molecules_of_the_demand(c: int, h: int, o: int, n: int, s: int) -> None:
    counts = {"C": float(c), "H": float(h), "O": float(o), "N": float(n), "S": float(s)}
    oxygen = c + h / 4.0 - o / 2.0 - 3.0 * n / 4.0 - s / 2.0
    if oxygen >= 0.0:
        demand = oxygen * 31.998 / molar_mass(counts)  # kg oxygen per kg
        assert theoretical_methane_yield(counts) == pytest.approx(demand * methane_per_oxygen_demand())
        assert theoretical_methane_share(counts) == pytest.approx(oxygen / 2.0 / c)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_mixture_lies_between_its_parts(first: float, second: float) -> None:
    low, high = sorted((first, second))
    mixed = yield_from_composition(low, high - low, 1.0 - high)
    assert 414.6 < mixed < 1012.6


def test_shares_are_scaled_within_the_tolerance_and_refused_beyond() -> None:
    assert yield_from_composition(0.99, 0.0, 0.0) == pytest.approx(yield_from_composition(1.0, 0.0, 0.0))
    for total in (0.981, 0.99, 1.019):
        assert yield_from_composition(total, 0.0, 0.0) == pytest.approx(yield_from_composition(1.0, 0.0, 0.0))
    for total in (0.979, 1.021):
        with pytest.raises(ValueError, match="sum to 1"):
            yield_from_composition(total, 0.0, 0.0)
    with pytest.raises(ValueError, match=r"sum to 1, got 0\.9"):
        yield_from_composition(0.5, 0.3, 0.1)
    with pytest.raises(ValueError, match="negative"):
        yield_from_composition(1.2, -0.2, 0.0)
    with pytest.raises(ValueError, match="negative"):
        yield_from_composition(math.nan, 0.5, 0.5)


# Daily totals

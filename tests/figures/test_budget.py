"""Uncertainty budgets: shares that add up, the largest named, what halving it buys."""

from __future__ import annotations

import math

import pytest
from hypothesis import given as example
from hypothesis import strategies as st

from reportgen.calc import uncertainty
from reportgen.figures.budget import LOOKS, REMEDIES, budget_of
from reportgen.figures.figure import Figure, derived, given, not_given
from reportgen.message import say


def measured(value: float, spread: float, source: str) -> Figure:
    return given(source, uncertainty.estimate(value, spread, source))


def ratio(above: Figure, below: Figure) -> Figure:
    return derived("energy_per_ice", lambda a, b: a / b, above, below, working=lambda r, *_: say("{r}", r=r))


def test_a_ratio_of_three_and_four_per_cent_is_known_to_five() -> None:
    found = budget_of(ratio(measured(10.0, 0.4, "methane fraction"), measured(2.0, 0.06, "share frozen")))
    assert found is not None
    assert found.relative == pytest.approx(0.05)
    assert [part.source for part in found.contributions] == ["methane fraction", "share frozen"]
    assert [part.share for part in found.contributions] == pytest.approx([16 / 25, 9 / 25])
    # Contributions u_i(y) = |c_i| u(x_i): 5 x 4 % and 5 x 3 %.
    assert [part.standard_uncertainty for part in found.contributions] == pytest.approx([0.2, 0.15])
    # Half of 4 % with 3 %: the square root of 13.
    assert found.halved == pytest.approx(math.sqrt(13) / 100)
    assert found.remedy == REMEDIES["methane fraction"]


def test_the_range_between_two_looks_is_a_source_of_its_own() -> None:
    ends = (uncertainty.estimate(3.0, 0.0, "x"), uncertainty.estimate(5.0, 0.0, "x"))
    found = budget_of(given("ice_making_time", uncertainty.estimate(4.0, 0.0, "x"), ends=ends))
    assert found is not None
    assert [(part.source, part.share) for part in found.contributions] == [(LOOKS, 1.0)]
    assert found.contributions[0].standard_uncertainty == pytest.approx(1 / math.sqrt(3))


def test_no_budget_without_a_value_or_without_uncertainty() -> None:
    assert budget_of(not_given("gas_used", say("nothing logged"))) is None
    assert budget_of(given("gas_used", uncertainty.estimate(4.0, 0.0, "x"))) is None


def test_a_temperature_has_no_relative_uncertainty() -> None:
    found = budget_of(given("temperature_lowest", uncertainty.estimate(-10.0, 0.5, "cabinet thermometer")))
    assert found is not None
    assert found.relative is None
    assert found.halved is None


@example(st.lists(st.floats(0.001, 0.2), min_size=2, max_size=2))
def test_shares_add_up_and_contributions_square_to_the_whole(spreads: list[float]) -> None:
    figure = ratio(measured(1.0, spreads[0], "a"), measured(1.0, spreads[1], "b"))
    found = budget_of(figure)
    assert found is not None
    assert sum(part.share for part in found.contributions) == pytest.approx(1)
    whole = math.sqrt(sum(part.standard_uncertainty**2 for part in found.contributions))
    assert whole == pytest.approx(figure.standard_uncertainty)


def test_a_wide_denominator_is_simulated_and_its_interval_leans() -> None:
    figure = ratio(measured(250.0, 2.0, "a"), measured(110.0, 20.0, "b"))
    assert figure.interval_kind == "simulated"
    assert figure.interval is not None
    low, high = figure.interval
    # 250 / (110 +- 1.96 x 20), the numerator hardly matters: 1.68 to 3.53.
    assert (low, high) == pytest.approx((250 / (110 + 39.2), 250 / (110 - 39.2)), rel=0.02)
    assert figure.value == pytest.approx(250 / 110)
    assert ratio(measured(250.0, 2.0, "a"), measured(110.0, 5.0, "b")).interval_kind == "normal"


def test_a_formula_that_hides_an_uncertain_number_is_a_fault_of_ours() -> None:
    hidden = uncertainty.estimate(1.0, 0.1, "hidden")
    with pytest.raises(TypeError, match="every uncertain number"):
        derived("gas_used", lambda a: a * hidden, measured(1.0, 0.1, "a"), working=lambda r, _: say("{r}", r=r))

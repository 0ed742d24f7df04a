"""What a figure is: basis, interval, origin, and what follows when one is missing."""

from __future__ import annotations

import pytest

from reportgen.calc import uncertainty
from reportgen.figures.figure import Assumption, because_of, derived, given, not_given, stated
from reportgen.message import say
from reportgen.units import parse_stated


def test_interval_is_normal_unless_said_otherwise() -> None:
    figure = given("gas_used", uncertainty.estimate(10, 1, "scale"))
    assert figure.interval == pytest.approx((10 - 1.959964, 10 + 1.959964))
    assert figure.interval_kind == "normal"
    assert figure.basis == "measured"


def test_assumption_of_a_value_makes_the_basis_assumed_and_one_of_an_uncertainty_does_not() -> None:
    number = uncertainty.estimate(10, 1, "scale")
    value = Assumption("a", say("ten"), say("nobody looked"))
    spread = Assumption("b", say("give or take one"), say("nobody knew"), of_value=False)
    assert given("gas_used", number, assumptions=[value]).basis == "assumed"
    assert given("gas_used", number, assumptions=[spread]).basis == "measured"


def test_derived_figure_keeps_shared_errors_and_origins() -> None:
    scale = uncertainty.estimate(1, 0.1, "scale")
    a = given("gas_used", 200 * scale, inputs=["a.csv:2"])
    b = given("gas_produced", 50 * scale, inputs=["b.csv:3", "a.csv:2"])
    ratio = derived("ratio", lambda x, y: x / y, a, b, working=lambda r, x, y: say("{x} / {y} = {r}", x=x, y=y, r=r))
    assert ratio.value == 4
    assert ratio.standard_uncertainty == 0
    assert ratio.basis == "derived"
    assert ratio.inputs == ("a.csv:2", "b.csv:3")


def test_derived_figure_of_an_assumed_one_is_assumed() -> None:
    taken = Assumption("a", say("ten"), say("nobody looked"))
    need = given("gas_used", uncertainty.estimate(10, 1, "a"), assumptions=[taken])
    twice = derived("twice", lambda x: 2 * x, need, working=lambda r, _: say("{r}", r=r))
    assert twice.basis == "assumed"
    assert twice.assumptions == (taken,)


def test_figure_between_two_looks_runs_over_both_ends_and_their_other_error() -> None:
    times = [uncertainty.estimate(t, 0, "looks") for t in (2.0, 4.0)]
    time = given("ice_making_time", uncertainty.estimate(3, 0, "looks"), ends=(times[0], times[1]))
    assert time.interval == (2, 4)
    assert time.interval_kind == "limits"
    assert time.standard_uncertainty == pytest.approx(1 / 3**0.5)
    mass = given("ice_mass", uncertainty.estimate(12, 1, "scale"))
    rate = derived(
        "rate", lambda m, t: m / t, mass, time, working=lambda r, m, t: say("{m} / {t} = {r}", m=m, t=t, r=r)
    )
    assert rate.value == 4
    assert rate.interval == pytest.approx((3 - 1.959964 / 4, 6 + 1.959964 / 2))
    assert rate.interval_kind == "limits"
    # Half range 1.5; errors of 0.25 and 0.5 at the ends.
    assert rate.standard_uncertainty == pytest.approx((1.5**2 / 3 + (0.25**2 + 0.5**2) / 2) ** 0.5)


def test_figure_that_may_divide_by_nought_is_known_to_one_side_only() -> None:
    ends = (uncertainty.estimate(0, 0, "looks"), uncertainty.estimate(4, 0, "looks"))
    time = given("freezing_time", uncertainty.estimate(2, 0, "looks"), ends=ends)
    mass = given("ice_mass", uncertainty.estimate(12, 0, "scale"))
    rate = derived(
        "rate", lambda m, t: m / t, mass, time, working=lambda r, m, t: say("{m} / {t} = {r}", m=m, t=t, r=r)
    )
    assert not rate.is_given
    assert rate.at_least == 3


def test_first_cause_is_what_the_reader_is_told() -> None:
    missing = not_given("gas_used", say("no gas readings are logged"))
    second = derived("energy_used", lambda x: x, missing, working=lambda r, _: say("{r}", r=r))
    third = derived("energy_per_ice", lambda x: x, second, working=lambda r, _: say("{r}", r=r))
    assert str(second.reason) == str(third.reason)
    assert "Gas used, standard dry" in str(third.reason)
    assert "no gas readings are logged" in str(third.reason)


def test_cause_that_is_no_figure_of_the_report_is_said_in_its_own_words() -> None:
    assert str(because_of(not_given("working_volume", say("it is not recorded")))) == "it is not recorded"


def test_stated_quantity_without_an_uncertainty_says_what_was_taken() -> None:
    figure = stated("water_mass", parse_stated("1.20 kg", "kg"), "water.mass")
    assert figure.standard_uncertainty == pytest.approx(0.005 / 3**0.5)
    (taken,) = figure.assumptions
    assert not taken.of_value
    assert str(taken.value) == "1.20 kg, give or take 0.005 kg"
    assert figure.basis == "measured"
    assert figure.inputs == ("trial.toml:water.mass",)


def test_stated_limits_are_rectangular() -> None:
    figure = stated("water_mass", parse_stated("1.20 +/- 0.03 kg (limits)", "kg"), "water.mass")
    assert figure.standard_uncertainty == pytest.approx(0.03 / 3**0.5)
    assert not figure.assumptions

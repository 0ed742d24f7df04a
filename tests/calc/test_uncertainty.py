"""Propagation, shares of variance, intervals and simulation."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.calc.uncertainty import (
    bracket_interval,
    correlated_means,
    coverage_factor,
    effective_degrees_of_freedom,
    estimate,
    from_expanded,
    nominal,
    normal_interval,
    rectangular,
    rounding,
    simulate,
    standard_uncertainty,
    triangular,
    variance_shares,
)

values = st.floats(-1e3, 1e3)
sizes = st.floats(0.01, 1e2)


def test_zero_uncertainty_is_allowed_and_silent() -> None:
    number = estimate(3.0, 0.0, "counted")
    assert (nominal(number), standard_uncertainty(number)) == (3.0, 0.0)
    assert variance_shares(number) == {}
    assert normal_interval(number) == (3.0, 3.0)


def test_plain_floats_have_no_uncertainty() -> None:
    assert (nominal(2.5), standard_uncertainty(2.5), variance_shares(2.5)) == (2.5, 0.0, {})


@pytest.mark.parametrize("size", [rectangular, triangular, rounding])
@pytest.mark.parametrize("wrong", [-1.0, math.nan, math.inf])
def test_impossible_widths_are_refused(size: Callable[[float], float], wrong: float) -> None:
    with pytest.raises(ValueError, match="zero or positive and finite"):
        size(wrong)


@pytest.mark.parametrize(("value", "uncertainty"), [(math.nan, 1.0), (math.inf, 1.0), (1.0, -1.0), (1.0, math.nan)])
def test_impossible_estimates_are_refused_by_name(value: float, uncertainty: float) -> None:
    with pytest.raises(ValueError, match="thermometer"):
        estimate(value, uncertainty, "thermometer")


def test_widths_by_hand() -> None:
    assert rectangular(math.sqrt(3.0)) == pytest.approx(1.0)
    assert triangular(math.sqrt(6.0)) == pytest.approx(1.0)
    assert rounding(math.sqrt(12.0)) == pytest.approx(1.0)
    assert from_expanded(1.0, 0.5) == 2.0  # a factor below one is odd and no mistake


@pytest.mark.parametrize("factor", [0.0, -2.0, math.nan])
def test_impossible_coverage_factors_are_refused(factor: float) -> None:
    with pytest.raises(ValueError, match="coverage factor"):
        from_expanded(1.0, factor)


def test_a_shared_error_cancels_in_a_difference_but_an_independent_one_does_not() -> None:
    offset = estimate(0.0, 0.5, "thermometer")
    warm, cold = 20.0 + offset, 5.0 + offset
    assert standard_uncertainty(warm - cold) == 0.0
    independent = estimate(20.0, 0.5, "one") - estimate(5.0, 0.5, "other")
    assert standard_uncertainty(independent) == pytest.approx(0.5 * math.sqrt(2.0))


@given(st.lists(sizes, min_size=1, max_size=6))
def test_variance_shares_sum_to_one_and_fall(uncertainties: list[float]) -> None:
    total = sum(estimate(1.0, size, f"source {index}") for index, size in enumerate(uncertainties))
    shares = list(variance_shares(total).values())
    assert math.fsum(shares) == pytest.approx(1.0)
    assert shares == sorted(shares, reverse=True)


def test_shares_of_one_source_are_added_up_and_listed_by_size() -> None:
    total = estimate(1.0, 1.0, "readings") + estimate(1.0, 1.0, "readings") + estimate(1.0, 2.0, "scale")
    assert variance_shares(total) == pytest.approx({"scale": 4.0 / 6.0, "readings": 2.0 / 6.0})
    assert list(variance_shares(total)) == ["scale", "readings"]


def test_equal_shares_are_listed_by_name() -> None:
    one, other, third = (estimate(0.0, 1.0, name) for name in "bca")
    for total in (one + other + third, third + other + one, other + third + one):
        assert list(variance_shares(total)) == ["a", "b", "c"]


def test_small_samples_widen_the_interval() -> None:
    number = estimate(10.0, 1.0, "repeats")
    assert normal_interval(number) == pytest.approx((8.04, 11.96), abs=0.001)
    assert normal_interval(number, 2.0) == pytest.approx((10.0 - 4.3027, 10.0 + 4.3027), abs=0.0001)


@pytest.mark.parametrize("arguments", [(0.0, 0.95), (-1.0, 0.95), (math.nan, 0.95), (5.0, 0.0), (5.0, 1.0)])
def test_impossible_coverage_is_refused(arguments: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="must"):
        coverage_factor(*arguments)


def test_effective_degrees_of_freedom_are_those_of_a_lone_source() -> None:
    assert effective_degrees_of_freedom(3.0 * estimate(1.0, 0.2, "a"), {"a": 7.0}) == pytest.approx(7.0)
    assert effective_degrees_of_freedom(estimate(1.0, 0.2, "a"), {}) == math.inf
    assert effective_degrees_of_freedom(estimate(1.0, 0.0, "a"), {"a": 7.0}) == math.inf
    assert effective_degrees_of_freedom(estimate(1.0, 0.2, "a"), {"a": 0.5}) == pytest.approx(0.5)
    with pytest.raises(ValueError, match="a: degrees of freedom"):
        effective_degrees_of_freedom(estimate(1.0, 0.2, "a"), {"a": 0.0})


@given(values, sizes, values, sizes)
def test_bracket_does_not_depend_on_the_order_of_the_ends(a: float, u_a: float, b: float, u_b: float) -> None:
    one, other = estimate(a, u_a, "a"), estimate(b, u_b, "b")
    assert bracket_interval(one, other) == bracket_interval(other, one)


@given(values, values)
def test_bracket_of_exact_ends_is_a_rectangle(a: float, b: float) -> None:
    bracket = bracket_interval(a, b)
    assert bracket.interval_95 == (min(a, b), max(a, b))
    assert bracket.standard_uncertainty == pytest.approx(rectangular(abs(a - b) / 2.0))


@given(values, sizes)
def test_bracket_of_equal_ends_is_the_normal_interval(a: float, size: float) -> None:
    number = estimate(a, size, "a")
    bracket = bracket_interval(number, number)
    assert bracket.interval_95 == normal_interval(number)
    assert bracket.standard_uncertainty == pytest.approx(size)


def test_bracket_by_hand() -> None:
    bracket = bracket_interval(estimate(10.0, 1.0, "a"), estimate(16.0, 2.0, "b"))
    assert bracket.interval_95 == pytest.approx((10.0 - 1.96, 16.0 + 3.92), abs=0.001)
    assert bracket.standard_uncertainty == pytest.approx(math.sqrt(3.0 + 2.5))


def test_correlated_means_of_readings_that_move_together() -> None:
    one, other = correlated_means([[1.0, 2.0, 3.0], [2.0, 4.0, 6.0]], "readings")
    assert standard_uncertainty(other - 2.0 * one) == pytest.approx(0.0, abs=1e-7)
    assert standard_uncertainty(one) == pytest.approx(1.0 / math.sqrt(3.0))
    assert list(variance_shares(one)) == ["readings"]


def test_constant_readings_have_no_scatter() -> None:
    constant, moving = correlated_means([[5.0, 5.0, 5.0], [1.0, 2.0, 3.0]], "readings")
    assert (nominal(constant), standard_uncertainty(constant)) == (5.0, 0.0)
    assert standard_uncertainty(moving) == pytest.approx(1.0 / math.sqrt(3.0))


@pytest.mark.parametrize("samples", [[[1.0], [2.0]], [[[1.0, 2.0]]]])
def test_too_few_simultaneous_readings_are_refused(samples: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="two readings"):
        correlated_means(samples, "readings")


def test_readings_that_are_not_finite_are_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        correlated_means([[1.0, math.nan]], "readings")


def test_simulation_repeats_itself_and_changes_with_the_seed() -> None:
    inputs = [estimate(2.0, 0.1, "a"), 3.0]
    first = simulate(lambda a, b: a * b, inputs)
    assert first == simulate(lambda a, b: a * b, inputs)
    assert first != simulate(lambda a, b: a * b, inputs, seed=1)


def test_simulation_of_a_line_agrees_with_propagation() -> None:
    shared = estimate(0.0, 0.3, "offset")
    start, end = estimate(20.0, 0.1, "start") + shared, estimate(4.0, 0.2, "end") + shared
    outcome = simulate(lambda a, b: a - b, [start, end])
    assert outcome.value == pytest.approx(16.0, abs=0.01)
    assert outcome.standard_uncertainty == pytest.approx(standard_uncertainty(start - end), rel=0.02)
    assert outcome.interval_95 == pytest.approx(normal_interval(start - end), abs=0.02)


def test_simulation_is_summed_up_by_mean_scatter_and_quantiles() -> None:
    # 0 to 99: mean 49.5, variance 100 x 101 / 12 about it; 2.5 % of the way up is 2.475.
    outcome = simulate(lambda _: np.arange(100.0), [1.0], draws=100)
    assert outcome.value == 49.5
    assert outcome.standard_uncertainty == pytest.approx(math.sqrt(100 * 101 / 12))
    assert outcome.interval_95 == pytest.approx((2.475, 96.525))


def test_rectangular_source_stays_within_its_limits() -> None:
    outcome = simulate(lambda a: a, [estimate(0.0, rectangular(1.0), "scale")], rectangular_sources=["scale"])
    assert outcome.interval_95 == pytest.approx((-0.95, 0.95), abs=0.01)
    assert outcome.standard_uncertainty == pytest.approx(1.0 / math.sqrt(3.0), rel=0.02)


def test_simulated_interval_of_a_ratio_is_skewed() -> None:
    outcome = simulate(lambda gas, ice: gas / ice, [60.0, estimate(1.0, 0.2, "ice")])
    low, high = outcome.interval_95
    assert high - 60.0 > 1.3 * (60.0 - low)


def test_simulation_refuses_what_it_cannot_use() -> None:
    number = estimate(0.0, 1.0, "a")
    with pytest.raises(ValueError, match="100 draws"):
        simulate(lambda a: a, [number], draws=99)
    with pytest.raises(ValueError, match="one value per draw"):
        simulate(lambda a: a.mean(), [number])
    with pytest.raises(ValueError, match="not finite"):
        simulate(lambda a: np.where(a > 0.0, np.inf, a), [number])

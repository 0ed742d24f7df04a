"""Draws: the same every time, spread over their distribution, one input's own."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.calc import sampling
from reportgen.calc.uncertainty import DEFAULT_DRAWS


def test_equal_names_give_equal_draws_and_others_do_not() -> None:
    one, again, other = sampling.shares("rate"), sampling.shares("rate"), sampling.shares("power")
    assert np.array_equal(one, again)
    assert abs(np.corrcoef(one, other)[0, 1]) < 0.03
    assert len(one) == DEFAULT_DRAWS


def test_normal_draws_have_the_moments_and_ends_of_a_normal_distribution() -> None:
    drawn = sampling.normal("x", 12.0, 3.0)
    assert drawn.mean() == pytest.approx(12.0, abs=1e-6)
    assert drawn.std() == pytest.approx(3.0, rel=1e-3)
    assert np.quantile(drawn, 0.975) == pytest.approx(12.0 + sampling.NORMAL_95 * 3.0, abs=0.01)


def test_a_positive_quantity_is_never_drawn_at_nought() -> None:
    assert sampling.normal("x", 4.0, 20.0, positive=True).min() == 0.04  # a hundredth of its value
    assert sampling.normal("x", 4.0, 20.0).min() < -50


def test_bands_are_filled_evenly_and_by_factors() -> None:
    even, factors = sampling.between("x", 2.0, 8.0), sampling.between_factors("x", 2.0, 8.0)
    assert np.median(even) == pytest.approx(5.0, abs=0.01)
    assert np.median(factors) == pytest.approx(4.0, abs=0.01)
    assert 2.0 < even.min() < even.max() < 8.0
    # A quarter of the draws lies below 2 + 6 / 4, and below 2 x 4^(1/4).
    assert np.quantile(even, 0.25) == pytest.approx(3.5, abs=0.01)
    assert np.quantile(factors, 0.25) == pytest.approx(2 * 2**0.5, abs=0.01)
    assert 2.0 < factors.min() < factors.max() < 8.0
    assert sampling.between_factors("x", 0.5, 0.5)[0] == sampling.between("x", 0.5, 0.5)[0] == 0.5


def test_draws_rise_with_the_share_of_their_name_and_are_spread_evenly() -> None:
    share = sampling.shares("x")
    assert np.sort(share) == pytest.approx((np.arange(DEFAULT_DRAWS) + 0.5) / DEFAULT_DRAWS)
    assert sampling.shares("x", 1).tolist() == [0.5]
    order = np.argsort(share)
    for drawn in (
        sampling.normal("x", 12.0, 3.0),
        sampling.between("x", 2.0, 8.0),
        sampling.between_factors("x", 2.0, 8.0),
        sampling.next_of("x", [10.0, 12.0], 0.2, 6),
    ):
        assert (np.diff(drawn[order]) > 0).all()
    assert set(sampling.normal("x", 12.0, 0.0)) == {12.0}


def test_what_many_share_nobody_changes() -> None:
    with pytest.raises(ValueError, match="read-only"):
        sampling.shares("x")[0] = 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: sampling.shares("x", 0),
        lambda: sampling.between("x", 2.0, 1.0),
        lambda: sampling.between_factors("x", 0.0, 1.0),
        lambda: sampling.between_factors("x", 2.0, 1.0),
        lambda: sampling.between("x", 2.0, float("inf")),
        lambda: sampling.normal("x", 1.0, float("inf")),
        lambda: sampling.normal("x", 1.0, -1.0),
        lambda: sampling.normal("x", float("nan"), 1.0),
        lambda: sampling.next_of("x", [], 0.1, 3),
        lambda: sampling.next_of("x", [1.0, float("inf")], 0.1, 3),
    ],
)
def test_what_cannot_be_drawn_is_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"draw|limits|cannot|runs?|needed"):
        call()  # type: ignore[operator]


def test_one_run_is_known_to_the_usual_spread_and_many_runs_to_their_own() -> None:
    alone = sampling.next_of("x", [100.0], 0.1, 6)
    assert np.median(alone) == pytest.approx(100.0, rel=1e-3)
    expected = stats.t(6).ppf(0.975) * 0.1 * np.sqrt(2)
    assert np.log(np.quantile(alone, 0.975) / 100.0) == pytest.approx(expected, rel=0.02)
    # Two runs 8 and 12.5: logarithms 0.2231 either side of ln 10; spread^2 = (6 x 0.01 + 2 x 0.2231^2) / 7.
    two = sampling.next_of("x", [8.0, 12.5], 0.1, 6)
    spread = np.sqrt((6 * 0.1**2 + 2 * np.log(1.25) ** 2) / 7)
    expected = stats.t(7).ppf(0.975) * spread * np.sqrt(1.5)
    assert np.log(np.quantile(two, 0.975) / 10.0) == pytest.approx(expected, rel=0.02)
    many = sampling.next_of("x", [100.0, 101.0] * 50, 0.1, 6)
    assert np.quantile(many, 0.975) / np.quantile(many, 0.025) < 1.15


@given(st.lists(st.floats(10.0, 1000.0), min_size=1, max_size=5), st.floats(0.01, 0.3))
def test_the_next_run_lies_about_the_geometric_mean(seen: list[float], spread: float) -> None:
    drawn = sampling.next_of("x", seen, spread, 6)
    assert np.median(drawn) == pytest.approx(np.exp(np.mean(np.log(seen))), rel=0.01)
    assert (drawn > 0).all()

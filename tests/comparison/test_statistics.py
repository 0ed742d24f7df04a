"""Repeats, and sites beside each other: what averaging takes away and what it does not."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.comparison.statistics import across_sites, mean_interval, next_interval, odd_ones, repeats

VALUES = [6.1, 5.8, 6.4, 6.0]


def test_repeats_as_student_has_them() -> None:
    found = repeats(VALUES)
    low, high = stats.t.interval(0.95, 3, loc=np.mean(VALUES), scale=stats.sem(VALUES))
    assert found.interval == pytest.approx((low, high))
    assert (found.n, found.lowest, found.highest) == (4, 5.8, 6.4)
    assert found.relative_sd == pytest.approx(np.std(VALUES, ddof=1) / np.mean(VALUES))


def test_few_repeats_have_no_interval() -> None:
    assert repeats([6.1]).sd is None
    two = repeats([6.1, 5.8])
    assert two.sd == pytest.approx(0.3 / math.sqrt(2))
    assert two.interval is two.next_trial is None
    assert repeats(VALUES[:3]).interval is not None
    with pytest.raises(ValueError, match="no values"):
        repeats([])


@pytest.mark.parametrize("n", [3, 10, 1000])
def test_a_shared_error_is_not_averaged_away(n: int) -> None:
    low, high = mean_interval(6.0, 0.1, n, shared=0.5)
    assert high - low >= 2 * 1.95996 * 0.5
    assert mean_interval(6.0, 0.0, n, shared=0.5) == pytest.approx((6.0 - 0.97998, 6.0 + 0.97998), abs=1e-4)


def test_the_next_trial_shares_the_error_of_the_scale() -> None:
    assert repeats(VALUES, shared=0.5).next_trial == repeats(VALUES).next_trial
    low, high = next_interval(0.0, 1.0, 3)
    assert (high - low) / 2 == pytest.approx(4.97, abs=0.005)


def test_an_odd_one_is_marked_and_counted() -> None:
    values = [5.0, 5.1, 4.9, 5.05, 9.0]
    found = repeats(values)
    assert found.odd == (4,)
    assert found.mean == pytest.approx(np.mean(values))
    assert found.mean_without == pytest.approx(np.mean(values[:4]))
    assert odd_ones(values[1:]) == ()
    assert odd_ones([5.0] * 6) == ()


def test_sites_that_agree_have_no_spread_between_them() -> None:
    found = across_sites([5.0, 5.1, 4.9, 5.0], [0.04] * 4)
    assert found.between_sd == 0
    assert found.mean == pytest.approx(5.0)
    half = stats.t.ppf(0.975, 3) * math.sqrt(0.04 / 4)
    assert found.interval == pytest.approx((5.0 - half, 5.0 + half))


def test_equal_variances_give_the_plain_spread_less_that_of_chance() -> None:
    means, variance = [4.0, 5.0, 6.5, 7.0], 0.25
    found = across_sites(means, [variance] * 4)
    assert found.between_sd**2 == pytest.approx(np.var(means, ddof=1) - variance)
    assert found.new_site[0] < found.interval[0] < found.mean < found.interval[1] < found.new_site[1]


def test_what_all_sites_share_widens_and_is_no_spread() -> None:
    alone, shared = (across_sites([5.0, 5.1, 4.9], [0.04] * 3, common) for common in (0.0, 0.5))
    assert shared.between_sd == alone.between_sd
    assert shared.interval[1] - shared.mean > stats.t.ppf(0.975, 2) * 0.5


def test_two_sites_tell_nothing() -> None:
    with pytest.raises(ValueError, match="2 sites"):
        across_sites([1.0, 2.0], [0.1, 0.1])


@given(
    st.lists(st.tuples(st.floats(-1e3, 1e3), st.floats(0, 1e3)), min_size=3, max_size=12),
    st.floats(0.01, 100),
)
def test_any_sites_give_finite_figures_that_follow_the_unit(sites: list[tuple[float, float]], factor: float) -> None:
    means, variances = zip(*sites, strict=True)
    found = across_sites(means, variances)
    assert all(map(math.isfinite, (found.mean, found.between_sd, *found.interval, *found.new_site)))
    assert min(means) - 1e-6 <= found.mean <= max(means) + 1e-6
    scaled = across_sites([factor * m for m in means], [factor**2 * v for v in variances])
    assert scaled.between_sd == pytest.approx(factor * found.between_sd, rel=1e-3, abs=1e-3 * factor)

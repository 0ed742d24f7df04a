"""Times between looks, and times that were not reached: none is dropped."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from reportgen.comparison.censored import MOST_EXACT, distribution, times

INF = math.inf


def test_an_unfinished_trial_moves_the_median() -> None:
    done = [(4.0, 4.5), (4.2, 4.6), (5.0, 5.5)]
    assert times(done).median == (4.2, 4.5)
    with_unfinished = times([*done, (5.5, INF), (6.0, INF)])
    assert (with_unfinished.n, with_unfinished.unfinished, with_unfinished.by) == (5, 2, 5.5)
    assert with_unfinished.median == (5.0, 5.5)
    assert times([*done, *[(6.0, INF)] * 4]).median == (6.0, INF)


def test_none_finished() -> None:
    found = times([(3.5, INF), (5.0, INF)])
    assert found.median == (5.0, INF)
    assert found.by is None


@given(
    st.lists(st.tuples(st.integers(1, 12), st.booleans()), min_size=1, max_size=20).filter(
        lambda drawn: any(seen for _, seen in drawn)
    )
)
def test_exact_and_unreached_times_are_those_of_kaplan_and_meier(drawn: list[tuple[int, bool]]) -> None:
    limits = [(float(t), float(t) if seen else INF) for t, seen in drawn]
    found = {high: share for _, high, share in distribution(limits) if math.isfinite(high)}
    censored = stats.CensoredData.right_censored([float(t) for t, _ in drawn], [not seen for _, seen in drawn])
    reference = stats.ecdf(censored).cdf
    for moment, below in zip(reference.quantiles, reference.probabilities, strict=True):
        assert sum(share for high, share in found.items() if high <= moment) == pytest.approx(below, abs=1e-4)


def test_many_times_are_rounded_and_no_slower() -> None:
    draw = np.random.default_rng(3)
    start = draw.normal(5, 1, MOST_EXACT * 10).clip(0.5)
    found = distribution([(float(t), float(t) + 0.5) for t in start])
    assert len(found) < 500
    assert sum(share for _, _, share in found) == pytest.approx(1, abs=1e-3)


@pytest.mark.parametrize("limits", [[], [(2.0, 1.0)], [(math.nan, 1.0)]])
def test_what_are_no_limits_is_refused(limits: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match=r"time"):
        distribution(limits)

"""Workings to be followed by hand: the printed numbers lead to the printed result, with no more digits than needed."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import computed_sample, sample_folders
from hypothesis import given
from hypothesis import strategies as st

from reportgen.calc import uncertainty
from reportgen.figures.figure import derived
from reportgen.figures.figure import given as given_figure
from reportgen.message import say
from reportgen.view.followed import RECKONED, followed
from view.hand import is_printed_as, reckoned


@pytest.mark.parametrize("folder", sample_folders(), ids=lambda folder: folder.name)
def test_whoever_follows_the_printed_numbers_arrives_at_the_printed_result(folder: Path) -> None:
    _, results = computed_sample(folder.name)
    for key in RECKONED:
        figure = results[key]
        if figure.is_given and not (figure.method and "lowest" in figure.method):
            *_, sum_, result = str(followed(figure)).split(" = ")
            assert is_printed_as(reckoned(sum_), result.split()[0]), key
            assert result == str(figure.working).split(" = ")[-1]


@given(st.floats(100, 900), st.floats(0.5, 5), st.floats(0.5, 12), st.floats(0.005, 0.1))
def test_numbers_get_the_digits_that_lead_to_the_result(gas: float, u: float, hours: float, relative: float) -> None:
    volume, time = uncertainty.estimate(gas, u, "gas"), uncertainty.estimate(hours, relative * hours, "time")
    rate = derived(
        "gas_per_hour_as_read",
        lambda v, t: v / t,
        given_figure("gas_used_as_read", volume),
        given_figure("burning_time", time),
        working=lambda r, v, t: say("{v} / {t} = {r}", v=v, t=t, r=r),
    )
    sum_, result = str(followed(rate)).split(" = ")
    assert is_printed_as(reckoned(sum_), result)
    assert result == str(rate.working).split(" = ")[-1]


def test_numbers_that_lead_there_stay_as_they_are() -> None:
    _, results = computed_sample("canteen-hand-readings")
    rate = results["gas_per_hour_as_read"]
    assert str(followed(rate)) == str(rate.working)

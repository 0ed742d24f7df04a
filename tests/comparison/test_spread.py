"""The picture of trials beside each other: points and never bars, text as text, limits as arrows."""

from __future__ import annotations

import math

from reportgen.charts.spread import MOST_DOTS, Dot, SpreadRow, spread_chart
from reportgen.message import say

LABEL = say("Energy per kg of standard ice")
DOTS = (Dot(5.0, 4.5, 5.5), Dot(6.0, 5.5, 6.5), Dot(7.0, 6.0, 8.0, is_counted=False), Dot(None, 6.5, math.inf))


def test_a_row_shows_points_a_mean_and_its_words() -> None:
    chart = spread_chart("x", LABEL, "MJ/kg", [SpreadRow(("Site <b>", "dry"), DOTS, 5.5, (4.0, 7.0))])
    assert chart is not None
    for text in ("Energy per kg of standard ice [MJ/kg]", ">Site &lt;b&gt;, dry<"):
        assert text in chart.svg
    assert chart.table[1] == ("Site <b>, dry", "4", "5.5", "4.0", "7.0", "MJ/kg")
    assert str(chart.alt) == "Energy per kg of standard ice by set-up: Site <b>, dry: 4 trials, mean 5.5 MJ/kg."
    assert chart == spread_chart("x", LABEL, "MJ/kg", [SpreadRow(("Site <b>", "dry"), DOTS, 5.5, (4.0, 7.0))])


def test_fewer_repeats_have_a_point_and_no_interval() -> None:
    with_mean, without = (
        spread_chart("x", LABEL, "MJ/kg", [SpreadRow(("Site",), DOTS[:2], 5.5, interval)])
        for interval in ((4.0, 7.0), None)
    )
    assert with_mean is not None
    assert without is not None
    assert len(without.svg) < len(with_mean.svg)
    assert without.table[1] == ("Site", "2", "5.5", "", "", "MJ/kg")


def test_times_not_reached_alone_are_drawn() -> None:
    assert spread_chart("x", LABEL, "h", [SpreadRow(("Site",), DOTS[3:])]) is not None
    assert spread_chart("x", LABEL, "h", [SpreadRow(("Site",), (Dot(None, -math.inf, 4.0),))]) is not None


def test_nothing_to_draw_is_no_picture() -> None:
    assert spread_chart("x", LABEL, "h", [SpreadRow(("Site",), ())]) is None


def test_a_picture_of_thousands_stays_small() -> None:
    dots = tuple(Dot(5 + n / 5000, 4.0, 7.0) for n in range(5000))
    chart = spread_chart("x", LABEL, "h", [SpreadRow(("Site",), dots, 5.5, (5.4, 5.6))])
    assert chart is not None
    assert len(chart.svg) < 400 * MOST_DOTS

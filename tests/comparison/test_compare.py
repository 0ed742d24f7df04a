"""Trials beside each other: who counts in what, sites, doubles."""

from __future__ import annotations

import pytest

from comparison.documents import document, season
from reportgen.comparison import compare, row_of
from reportgen.comparison.row import ENERGY
from reportgen.comparison.view import page_of


def test_sites_are_never_pooled() -> None:
    (group,) = compare([row_of(made) for made in season(3, 5)]).groups
    assert group.site_count == 3
    assert [set_up.repeats[ENERGY].n for set_up in group.set_ups] == [5, 5, 5]
    assert group.sites[ENERGY].k == 3
    low, high = group.sites[ENERGY].interval
    means = [set_up.repeats[ENERGY].mean for set_up in group.set_ups]
    assert low < min(means) < max(means) < high


@pytest.mark.parametrize(("sites", "repeats"), [(2, 5), (4, 1)])
def test_too_few_sites_or_no_repeats_tell_no_spread_between_sites(sites: int, repeats: int) -> None:
    (group,) = compare([row_of(made) for made in season(sites, repeats)]).groups
    assert dict(group.sites) == {}


def test_series_of_a_site_are_set_ups_of_their_own() -> None:
    rows = [row_of(document(n, series="dry" if n < 3 else "wet")) for n in range(6)]
    (group,) = compare(rows).groups
    assert [(set_up.series, len(set_up.rows)) for set_up in group.set_ups] == [("dry", 3), ("wet", 3)]


def test_a_site_written_in_another_way_is_no_other_site() -> None:
    names = ("Café by the quay", "cafe\u0301 by the quay", "CAFÉ, by the quay", "Pier")
    rows = [
        row_of(document(n, site=site, series="Dry season" if n % 2 else "dry season")) for n, site in enumerate(names)
    ]
    (group,) = compare(rows).groups
    assert [(set_up.site, len(set_up.rows)) for set_up in group.set_ups] == [("Café by the quay", 3), ("Pier", 1)]
    assert group.site_count == 2
    page = page_of(compare(rows))
    assert page.lead[0] == "4 trials at 2 sites."
    assert [row[0] for row in page.census.rows] == ["Café by the quay", "Pier"]


def test_repeats_are_told_of_set_ups_that_were_repeated() -> None:
    page = page_of(compare([row_of(document(n, site="quay" if n < 3 else f"site {n}")) for n in range(5)]))
    assert page.lead[1].startswith("All are in one group")
    facts, figures, repeats, times, sites = page.groups[0].tables
    assert len(facts.rows) == len(figures.rows) == 5
    assert {row[1] for row in repeats.rows} == {"quay, dry season"}
    assert {row[1] for row in times.rows} > {"quay, dry season", "site 3, dry season"}
    assert "(few: wide)" in sites.rows[0][3]
    assert max(len(table.header) for table in page.groups[0].tables) <= 9, "a wider one is scrolled sideways"


def test_a_range_side_by_side_does_not_reach_below_nought() -> None:
    made = document(1)
    made["results"]["waste_to_ice"] |= {"value": 20.0, "interval_95": [-80.0, 160.0], "standard_uncertainty": 60.0}
    figures = page_of(compare([row_of(made), row_of(document(2))])).groups[0].tables[1]
    assert figures.rows[0][figures.header.index("Waste per kg of ice, kg/kg")] == "20 (up to 160)"


def test_aborted_trials_count_in_times_and_in_no_mean() -> None:
    rows = [row_of(document(n)) for n in range(3)]
    aborted = document(9, outcome="aborted", reason="rain put the flame out")
    aborted["results"]["ice_making_time"] = {
        **{key: aborted["results"]["ice_making_time"][key] for key in ("unit", "label", "inputs")},
        "value": None,
        "basis": "not given",
        "reason": "not solid",
        "at_least": 3.5,
    }
    comparison = compare([*rows, row_of(aborted)], [("broken", "no title")])
    (set_up,) = comparison.groups[0].set_ups
    assert set_up.repeats[ENERGY].n == 3
    assert (set_up.times["ice_making_time"].n, set_up.times["ice_making_time"].unfinished) == (4, 1)
    page = page_of(comparison)
    assert [row[0] for row in page.not_counted.rows] == ["T-9", "broken"]
    assert page.not_counted.rows[0][-1] == "rain put the flame out"
    assert page.warnings == ()


def test_a_season_of_successes_alone_is_seen_as_such() -> None:
    (warning,) = page_of(compare([row_of(document(n)) for n in range(3)])).warnings
    assert warning.startswith("No trial here is aborted or failed.")
    _, warning = page_of(compare([row_of(document(n, outcome=None)) for n in range(3)])).warnings
    assert "not stated" in warning


def test_the_mean_of_ratios_stands_beside_the_ratio_of_totals() -> None:
    made = [document(n) for n in range(2)]
    made[0]["results"]["heat_removed"]["value"] *= 3
    rows = [row_of(found) for found in made]
    (set_up,) = compare(rows).groups[0].set_ups
    values = [row.values[ENERGY] for row in rows]
    total = sum(v.value * v.below for v in values if v.value and v.below) / sum(v.below for v in values if v.below)
    assert set_up.totals[ENERGY] == pytest.approx(total)
    assert set_up.repeats[ENERGY].mean == pytest.approx(sum(v.value for v in values if v.value) / 2)


def test_the_same_trial_counts_once() -> None:
    rows = [row_of(document(1)), row_of(document(1)), row_of(document(2))]
    comparison = compare(rows)
    assert len(comparison.rows) == 2
    assert [finding.code for finding in comparison.findings] == ["trial-twice"]


def test_a_corrected_report_takes_the_place_of_the_one_it_replaces() -> None:
    old, new = document(1), document(1, cop=0.05)
    old["report"] = {"id": "T-1-a", "issued": None, "anonymous": False, "amends": None}
    new["report"] = {**old["report"], "id": "T-1-b", "amends": {"id": "T-1-a"}}
    for order in ([old, new], [new, old]):
        (kept,) = compare([row_of(made) for made in order]).rows
        assert kept.report == "T-1-b"


def test_two_trials_of_one_id_both_count_and_are_said() -> None:
    comparison = compare([row_of(document(1)), row_of(document(2) | {"trial": document(2)["trial"] | {"id": "T-1"}})])
    assert len(comparison.rows) == 2
    assert [finding.code for finding in comparison.findings] == ["id-twice"]


def test_the_page_says_what_sets_a_trial_apart() -> None:
    page = page_of(compare([row_of(document(n, ambient=26 if n < 3 else 36)) for n in range(4)]))
    assert page.apart.rows[0][-1] == "from group 1: Mean ambient: 36 °C (there 26 °C)"

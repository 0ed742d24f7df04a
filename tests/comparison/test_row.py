"""What is kept of a trial: standard ice, what is shared, and the grade of what went in."""

from __future__ import annotations

import math

import pytest

from comparison.documents import document
from reportgen.comparison.row import ENERGY, EVIDENCE, GAS, STANDARD_ICE, grade_of, row_of


def test_standard_ice_takes_438_kilojoules() -> None:
    assert pytest.approx(438, abs=0.5) == STANDARD_ICE


def test_energy_of_standard_ice_is_that_of_the_ice_on_its_heat() -> None:
    made = document()
    figures, values = made["results"], row_of(made).values
    energy, heat = figures["energy_used"]["value"], figures["heat_removed"]["value"]
    assert values[ENERGY].value == pytest.approx(energy / (heat / STANDARD_ICE))
    assert values[ENERGY].low == pytest.approx(STANDARD_ICE / 1000 / figures["cop_ice"]["interval_95"][1])
    assert values[GAS].value == pytest.approx(figures["gas_used"]["value"] / (heat / STANDARD_ICE))
    assert values[GAS].low < values[GAS].value < values[GAS].high


def test_what_a_site_shares_is_at_most_all_and_grows_with_an_assumption() -> None:
    made = document()
    value = row_of(made).values["energy_per_ice"]
    whole = made["results"]["energy_per_ice"]["standard_uncertainty"]
    assert 0 < value.everywhere < value.shared <= whole
    made["results"]["methane_fraction"]["basis"] = "assumed"
    assert row_of(made).values["energy_per_ice"].everywhere > value.everywhere
    del made["results"]["energy_per_ice"]["budget"]
    assert row_of(made).values["energy_per_ice"].shared == whole


def test_a_time_that_was_not_reached_is_kept_as_a_limit() -> None:
    value = row_of(document(sample="canteen-refill-not-solid")).values["ice_making_time"]
    assert value.value is None
    assert (value.low, value.high) == (pytest.approx(4.9), math.inf)


@pytest.mark.parametrize(
    ("lacking", "grade"),
    [((), "A"), (("methane",), "B"), (("methane", "ice_weighed"), "B"), (("methane", "ice_weighed", "ambient"), "C")],
)
def test_the_grade_counts_what_is_lacking(lacking: tuple[str, ...], grade: str) -> None:
    evidence = {key: "assumed" if key in lacking else "recorded" for key in EVIDENCE}
    assert grade_of(evidence) == (grade, tuple(key for key in EVIDENCE if key in lacking))


def test_a_trial_without_logs_is_graded_d_and_an_older_file_not_at_all() -> None:
    assert grade_of(dict.fromkeys(EVIDENCE, "not recorded"))[0] == "D"
    assert grade_of(None) == ("", ())


def test_the_grade_does_not_look_at_results() -> None:
    good, bad = document(1, cop=0.12), document(2, cop=0.01)
    assert row_of(good).grade == row_of(bad).grade == "A"

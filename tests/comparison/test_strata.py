"""Like with like: what parts trials, and that it does not hang on their order."""

from __future__ import annotations

import itertools
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from comparison.documents import document
from reportgen.comparison import compare
from reportgen.comparison.row import TrialRow, row_of
from reportgen.comparison.strata import bands, differences, missing, strata
from reportgen.comparison.view import page_of
from reportgen.set_up import plain


def row(n: int = 1, **changes: object) -> TrialRow:
    ambient = changes.pop("ambient", 26)
    made = document(n, ambient=ambient) if isinstance(ambient, int | float) else document(n)
    if ambient is None:
        made["results"]["ambient_mean"]["value"] = None
    for key in ("end_point", "thermostat", "probe_position", "thickness_mm"):
        if key in changes:
            made["set_up"][key] = changes[key]
    for key, figure in (("water", "water_mass"), ("start", "temperature_start")):
        if key in changes:
            made["results"][figure]["value"] = changes[key]
    if "methane" in changes:
        made["results"]["methane_fraction"]["basis"] = changes["methane"]
    return row_of(made)


def test_trials_alike_are_one_group() -> None:
    (found,) = strata([row(1, ambient=24), row(2, ambient=29.5), row(3, water=0.8)])
    assert len(found.rows) == 3
    words = {str(label): str(value) for label, value in found.conditions}
    assert words["Mean ambient"] == "24 to 29.5 °C"
    assert words["Water"] == "0.8 to 0.92 kg"


@pytest.mark.parametrize(
    ("changes", "label"),
    [
        ({"ambient": 33}, "Mean ambient"),
        ({"water": 1.6}, "Water"),
        ({"start": 5}, "Start"),
        ({"methane": "assumed"}, "Methane"),
        ({"end_point": "tilted"}, "Solid was judged by"),
        ({"thermostat": "3 of 5"}, "Thermostat"),
        ({"probe_position": "at the cold plate"}, "Probe"),
        ({"thickness_mm": 40}, "Thickness or diameter"),
    ],
)
def test_each_condition_parts_trials(changes: dict[str, object], label: str) -> None:
    odd = row(3, **changes)
    found = strata([row(1), row(2), odd])
    assert [len(stratum.rows) for stratum in found] == [2, 1]
    assert [str(said).partition(":")[0] for said in differences(odd, found[0])] == [label]


def test_marks_and_capitals_part_no_trials() -> None:
    assert len(strata([row(1, end_point="Tilted, no liquid moves."), row(2, end_point="tilted no liquid moves")])) == 1


def test_words_are_the_same_however_their_letters_are_coded_and_in_any_script() -> None:
    assert plain("Gele\u0301, rien ne coule!") == plain("GEL\u00c9 rien  ne coule")
    assert plain("\uff15 \u2103") == plain("5 \u00b0C") == "5 c"
    assert plain("\u0915\u093f") != plain("\u0915\u093e"), "a vowel sign is no mark between words"


def test_a_trial_of_which_too_little_is_known_is_like_no_other() -> None:
    lacking = row(1, ambient=None)
    assert [str(name) for name in missing(lacking)] == [
        "the cabinet's start beside its surroundings",
        "the ambient temperature",
    ]
    assert strata([lacking, row(2)])[0].rows == (row(2),)


def published(n: int, series: str, **set_up: str) -> TrialRow:
    made = document(n, site="south coast", series=series)
    made["report"] = {"id": f"r{n}", "issued": None, "anonymous": True, "amends": None}
    made["set_up"] |= dict.fromkeys(("end_point", "thermostat", "probe_position"), "left out of this edition") | set_up
    return row_of(made)


def test_words_left_out_on_purpose_are_not_called_not_recorded() -> None:
    odd = published(1, "a", words="words-1", probe="air")
    assert (odd.end_point, odd.probe, odd.left_out) == ("", "air", ("probe_position", "end_point", "thermostat"))
    (found,) = strata([odd, published(2, "b", words="words-1", probe="air")])
    words = {str(label): str(value) for label, value in found.conditions}
    assert (words["Probe"], words["Thermostat"]) == ("in the air", "left out of this edition")
    assert words["Sign of the words that are left out"] == "words-1"
    (page,) = page_of(compare(found.rows)).groups
    assert not any("Thermostat" in text for text in page.remarks)


def test_a_reason_left_out_is_said_to_be_left_out() -> None:
    made = document(1, outcome="aborted")
    made["trial"]["reason"] = "left out of this edition"
    (row_said,) = page_of(compare([row_of(made)])).not_counted.rows
    assert row_said[-1] == "left out of this edition"


def test_anonymous_trials_of_different_series_are_alike_where_they_bear_the_same_sign() -> None:
    rows = [
        published(n, series, words=f"words-{sign}")
        for n, (series, sign) in enumerate((("a", 1), ("b", 1), ("c", 2), ("", 1)))
    ]
    assert [len(found.rows) for found in strata(rows)] == [3, 1]
    (group,) = compare(rows).groups
    # One without a series may be of any site, and sites behind the name of a region are not set beside each other.
    assert sorted(len(set_up.rows) for set_up in group.set_ups) == [1, 1, 1]
    assert group.sites == {}
    (page,) = page_of(compare(rows)).groups
    assert page.summary == "3 trials in one region."
    assert any("sites are not set beside each other" in text for text in page.remarks)
    named = row(9, site="south coast")
    assert [len(found.rows) for found in strata([*rows[:2], named])] == [2, 1]


def test_anonymous_trials_of_files_without_a_sign_are_alike_within_their_series_alone() -> None:
    rows = [published(n, series) for n, series in enumerate(("a", "b", "a", "", "", "b"))]
    assert [len(found.rows) for found in strata(rows)] == [2, 2, 1, 1]
    assert "Sign of the words" in str(differences(rows[1], strata(rows)[0])[0])
    assert page_of(compare(rows)).lead[0] == "6 trials in one region."


def test_a_gap_parts_bands_where_it_is_widest() -> None:
    assert bands([20, 21, 24, 25, 26, 28], 6.0) == [20, 24]
    assert bands([20, 22, 23, 27, 28], 6.0) == [20, 27]
    assert bands([5.0], 1.0) == [5.0]


@given(st.lists(st.integers(1, 400), min_size=1, max_size=40), st.booleans())
def test_bands_are_narrow_few_and_free_of_order(drawn: list[int], is_ratio: bool) -> None:
    values, widest = [n / 4 for n in drawn], 1.6 if is_ratio else 6.0
    starts = bands(values, widest, is_ratio)
    assert starts == bands(random.Random(1).sample(values, len(values)), widest, is_ratio)
    assert starts == sorted(set(starts))
    for start, end in itertools.pairwise([*starts, float("inf")]):
        inside = [value for value in values if start <= value < end]
        assert max(inside) <= (min(inside) * widest if is_ratio else min(inside) + widest)
    greedy, first = 0, None
    for value in sorted(values):
        if first is None or value > (first * widest if is_ratio else first + widest):
            greedy, first = greedy + 1, value
    assert len(starts) == greedy

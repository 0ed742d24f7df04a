"""Household advice: the trade-off, three choices, fuels on two bases, and the rules of thumb of the trade."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import SAMPLES
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.advice import Advice, advice_document, advice_of_trial, advice_page, advice_section, make_advice
from reportgen.advice.words import turned_into_gas
from reportgen.figures import compute
from reportgen.plan.asked import read_quantity
from reportgen.plan.page import page_text
from reportgen.read.folder import read_trial


def advice(**texts: str) -> Advice:
    return make_advice(**{name: read_quantity(name, text) for name, text in texts.items()})  # type: ignore[arg-type]


def value(found: Advice, key: str) -> float:
    answer = found.answers[key].value
    assert answer is not None
    return answer


def test_rules_of_thumb_of_the_trade() -> None:
    """Common practice, no source: check values only, and never text of a report."""
    # A warm-climate household digester gives up to a cubic metre a day; a litre a minute keeps a household absorption
    # cabinet running: about sixteen hours of cold, or twelve and an hour or two of cooking.
    found = advice(daily_gas="1 m3/d", rate="1 L/min", stove_rate="200 L/h")
    assert value(found, "cold_hours") == pytest.approx(16, abs=1.0)
    an_hour = next(choice for choice in found.choices if choice.cooking == 60)
    two_hours = next(choice for choice in found.choices if choice.cooking == 120)
    assert two_hours.cold.value is not None
    assert an_hour.cold.value is not None
    assert two_hours.cold.value < 12 < an_hour.cold.value
    # A feed turns into gas from about a day on.
    assert 5 < turned_into_gas(1, 0.09) < turned_into_gas(1, 0.30) < 50
    said = page_text(advice_page(found), 80)
    for words in ("sixteen", "twelve", "rule of thumb", "200 minutes"):
        assert words not in said


def test_cold_is_what_cooking_leaves() -> None:
    found = advice(daily_gas="640 +/- 1 L/d", rate="60 +/- 0.1 L/h", stove_rate="300 +/- 0.1 L/h")
    assert value(found, "cold_hours") == pytest.approx(640 / 60, rel=0.01)
    assert value(found, "cooking_hours") == pytest.approx(640 / 300, rel=0.01)
    assert [choice.cooking for choice in found.choices] == [0, 60, 120]
    assert [choice.cold.value for choice in found.choices] == pytest.approx([640 / 60, 340 / 60, 40 / 60], rel=0.02)


def test_little_gas_has_three_choices_that_it_allows() -> None:
    found = advice(daily_gas="150 L/d", rate="60 L/h", stove_rate="300 L/h")
    minutes = [choice.cooking for choice in found.choices]
    assert minutes[0] == 0 < minutes[1] < minutes[2] < 30


def test_more_gas_than_a_day_burns_is_a_day_of_cold() -> None:
    assert value(advice(daily_gas="5 m3/d", rate="60 L/h"), "cold_hours") == 24.0


def test_fuels_stand_on_two_bases_that_are_not_mixed() -> None:
    found = advice(daily_gas="1 m3/d", rate="1 L/min")
    # The energy of a cubic metre as read in 0.39 kg of LPG, at 30 °C and 60 % of methane; in cooking 2 kg of charcoal.
    assert value(found, "lpg_by_energy") == pytest.approx(0.40, abs=0.02)
    assert value(found, "charcoal_by_cooking") == pytest.approx(2.0, rel=0.05)
    assert value(found, "wood_by_cooking") == pytest.approx(5.0, rel=0.05)
    assert value(found, "charcoal_by_energy") < value(found, "charcoal_by_cooking") / 2
    page = advice_page(found)
    by_energy, by_cooking = page.tables[-2:]
    assert "energy basis" in by_energy.heading
    assert "cooking-service basis" in by_cooking.heading
    assert "never add" in by_cooking.sentences[0]
    assert {row.label for row in by_cooking.rows} == {"Charcoal", "Firewood"}


def test_without_a_days_gas_a_cubic_metre_stands_as_an_example_and_is_named() -> None:
    page = advice_page(make_advice())
    assert page.lead[0].startswith("A cubic metre of gas a day")
    assert any("no claim" in why for _, _, why, _ in page.rests_on)


def test_how_well_the_hours_are_known_is_said_in_words() -> None:
    well = advice_page(advice(daily_gas="1 m3/d", rate="60 +/- 1 L/h"))
    assert "fairly well" in " ".join(well.lead)
    assert "hardly known" in " ".join(advice_page(make_advice()).lead)


def test_the_picture_and_the_json_show_the_choices() -> None:
    found = advice(daily_gas="1 m3/d", rate="1 L/min")
    page = advice_page(found)
    assert page.picture is not None
    assert page.picture.svg.startswith("<svg")
    assert page.picture == advice_page(advice(daily_gas="1 m3/d", rate="1 L/min")).picture
    document = advice_document(found)
    assert [choice["cooking_minutes"] for choice in document["choices"]] == [0, 60, 120]
    assert document["results"]["cold_hours"]["unit"] == "h"
    assert set(document) == {"inputs", "results", "choices", "assumptions"}


def test_a_trial_gives_advice_from_its_own_gas_and_rate() -> None:
    trial = read_trial(SAMPLES / "canteen-logger-and-hand")
    found = advice_of_trial(trial, compute(trial))
    assert found.asked["daily_gas"] is not None
    own = {str(taken.label) for taken in found.rests_on if taken.basis == "own runs"}
    assert {"Gas the burner takes", "Gas from a kilogram of fresh waste, standard dry"} <= own
    assert value(found, "daily_feed") > 0
    section = page_text(advice_section(trial, compute(trial)), 80)
    assert "--" not in section
    assert "--stove-rate" in page_text(advice_page(found), 80)


def test_a_trial_that_logs_no_gas_gives_the_example(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text('title = "t"\n', encoding="utf-8")
    trial = read_trial(tmp_path)
    found = advice_of_trial(trial, compute(trial))
    assert found.asked["daily_gas"] is None
    assert advice_page(found).lead[0].startswith("A cubic metre")


@settings(max_examples=10)
@given(st.floats(100, 3000), st.floats(30, 150), st.floats(150, 500))
def test_more_cooking_never_leaves_more_cold(gas: float, rate: float, stove: float) -> None:
    found = advice(daily_gas=f"{gas} L/d", rate=f"{rate} L/h", stove_rate=f"{stove} L/h")
    cold = [choice.cold.value for choice in found.choices]
    assert cold == sorted(cold, key=lambda hours: -(hours or 0.0))
    assert all(a >= b for a, b in zip(found.line.middle, found.line.middle[1:], strict=False))

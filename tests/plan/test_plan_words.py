"""The plan in words: worst news first, in the width of the terminal, with what it rests on."""

from __future__ import annotations

import json
import re

import pytest
from plans import RUNS, planned

from reportgen.plan import PastRun
from reportgen.plan.page import Row, chances, page_text, row
from reportgen.plan.words import VERDICTS, plan_document, plan_page
from reportgen.render import render_html, render_markdown
from reportgen.rounding import MINUS
from reportgen.sources import SOURCES


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "less than 1 chance in 100"),
        (0.02, "about 2 chances in 100"),
        (0.87, "about 85 chances in 100"),
        (0.97, "about 97 chances in 100"),
        (1.0, "more than 99 chances in 100"),
    ],
)
def test_a_chance_is_said_no_finer_than_it_is_known(share: float, words: str) -> None:
    assert str(chances(share)) == words


def test_the_worst_news_come_first_with_what_to_do() -> None:
    short = plan_page(planned(RUNS, gas="280 L", water="1 kg", rate="55 L/h"))
    assert short.lead[0].startswith(str(VERDICTS[3][1]))
    said = " ".join(short.lead)
    assert "put in no more" in said
    assert "have " in said
    assert "Or refill" in said
    plenty = plan_page(planned(RUNS, gas="1500 L", water="1 kg", rate="55 L/h"))
    assert plenty.lead[0].startswith(str(VERDICTS[0][1]))
    assert "refill" not in " ".join(plenty.lead)


def test_the_answer_says_which_runs_were_used_and_for_what() -> None:
    own = " ".join(plan_page(planned(RUNS, gas="300 L", water="1 kg")).lead)
    assert "Own runs (HMC-1, HMC-2, HMC-3) were used in place of published bands for:" in own
    published = " ".join(plan_page(planned(gas="300 L", water="1 kg")).lead)
    assert "no own runs were given" in published


def rows(past: tuple[PastRun, ...] = (), **texts: str) -> dict[str, Row]:
    return {one.label: one for table in plan_page(planned(past, **texts)).tables for one in table.rows}


@pytest.mark.parametrize("gas", ["905 L", "905 +/- 0 L", "0.905 m3", "20 m3", "905.5 L"])
def test_gas_stated_without_an_uncertainty_is_shown_as_it_was_stated(gas: str) -> None:
    found = rows(gas=gas)["Gas there is, as read"]
    assert found.value == {"20 m3": "20000 L", "905.5 L": "905.5 L"}.get(gas, "905 L")
    assert found.interval == ""
    assert rows(gas="905 +/- 10 L")["Gas there is, as read"].interval == "885 to 925"


def test_gas_that_lacks_is_said_to_be_missing_and_is_no_negative_amount() -> None:
    plenty, some, none = (rows(RUNS, gas=gas, water="1 kg") for gas in ("2000 L", "350 L", "20 L"))
    assert "missing" not in plenty["Gas left when the ice is solid, as read"].interval
    both = some["Gas left when the ice is solid, as read"]
    assert re.fullmatch(r"\d+ L missing to \d+ L left", both.interval)
    missing = none["Gas missing until the ice is solid, as read"]
    assert "Gas left when the ice is solid, as read" not in none
    for found in (*plenty.values(), *some.values(), *none.values()):
        assert MINUS not in found.value + found.interval
    assert float(missing.value.split()[0]) > 0


SETTINGS: list[dict[str, str]] = [
    {},
    {"water": "0.01 kg"},
    {"gas": "5 L", "water": "0.5 kg"},
    {"gas": "20 m3", "water": "0.5 kg", "daily_gas": "1 m3/d"},
    {"gas": "200 +/- 150 L", "rate": "1 L/min", "water": "0.5 kg"},
    {"gas": "905 +/- 0.001 L", "rate": "60 +/- 0 L/h", "water": "1 +/- 0 kg"},
    {"gas": "600 L", "water": "1 kg", "power": "150 W", "daily_gas": "90 L/d", "methane": "60 %", "heat_leak": "1 W/K"},
]


@pytest.mark.parametrize("past", [(), RUNS], ids=["published", "own runs"])
@pytest.mark.parametrize("texts", SETTINGS, ids=str)
def test_a_value_lies_within_its_range_as_printed_with_as_many_decimals(
    texts: dict[str, str], past: tuple[PastRun, ...]
) -> None:
    for found in rows(past, **texts).values():
        numbers = re.findall(r"\d+(?:\.\d+)?", f"{found.value} {found.interval}")
        if not found.interval or "missing" in found.interval:
            continue
        value, low, high = numbers
        assert low != high
        assert float(low) <= float(value) <= float(high), found
        assert len({len(number.partition(".")[2]) for number in numbers}) == 1, found


def test_a_time_below_an_hour_is_in_minutes() -> None:
    assert rows(gas="5 L")["Hours the gas keeps the burner lit"].value.endswith(" min")
    assert rows(gas="905 L")["Hours the gas keeps the burner lit"].value.endswith(" h")


@pytest.mark.parametrize("width", [20, 40, 80, 132])
def test_lines_fit_the_terminal_and_need_no_colour(width: int) -> None:
    text = page_text(plan_page(planned(gas="200 L", water="1 kg", daily_gas="300 L/d")), width)
    assert max(map(len, text.splitlines())) <= max(width, 30)
    assert "\x1b" not in text
    assert text.index("Gas and time:") < text.index("What this rests on:") < text.index("Before you light:")


def test_every_default_stands_with_its_source_and_how_it_is_known() -> None:
    plan = planned(gas="200 L", water="1 kg")
    page = plan_page(plan)
    for taken in plan.rests_on:
        assert str(taken.label) in {what for what, *_ in page.rests_on}
        for key in taken.sources:
            assert f"{SOURCES[key].text} ({SOURCES[key].known})" in page.sources


def test_safety_and_local_rules_stand_on_every_page() -> None:
    page = plan_page(planned())
    assert any("soapy water" in note for note in page.safety)
    assert any("sucks in air" in note for note in page.safety)
    assert page.deference.startswith("Local codes")
    for text in (render_html("plan/page.html", page=page), render_markdown("plan/page.md", page=page)):
        assert "soapy water" in text
        assert "Local codes" in text


def test_json_is_as_the_contract_has_it_and_the_same_again() -> None:
    document = plan_document(planned(RUNS, gas="300 L", rate="1 L/min", water="1 kg"))
    assert set(document) == {"inputs", "results", "assumptions"}
    units = {"gas_needed": "L", "gas_available": "L", "hours_of_burning": "h", "ice_ready": "h", "waste_needed": "kg"}
    for key, unit in {**units, "chance_gas_lasts": "1"}.items():
        figure = document["results"][key]
        assert figure["unit"] == unit
        low, high = figure["interval_95"]
        assert low <= figure["value"] <= high
        assert figure["basis"] in {"measured", "derived", "assumed"}
    assert document["inputs"]["from"] == ["HMC-1", "HMC-2", "HMC-3"]
    for taken in document["assumptions"]:
        assert taken["name"]
        assert taken["value"]
        assert taken["why"]
    again = plan_document(planned(RUNS, gas="300 L", rate="1 L/min", water="1 kg"))
    assert json.dumps(document, allow_nan=False) == json.dumps(again, allow_nan=False)


def test_a_figure_that_cannot_be_given_is_null_with_the_reason() -> None:
    document = plan_document(planned(gas="200 L"))
    needed = document["results"]["gas_needed"]
    assert (needed["value"], needed["interval_95"], needed["basis"]) == (None, None, "not given")
    assert needed["reason"] == "state --water"
    assert row(planned(gas="200 L").answers["gas_needed"]).reason == "state --water"

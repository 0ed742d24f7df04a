"""What one more column or line would give: a thing taken away is named, with the figures that went with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from conftest import SAMPLES
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reportgen.catalogue import KINDS
from reportgen.checklist import LINES
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.supports import MOST_SUGGESTIONS, given_groups, given_keys, suggestions
from reportgen.trial import Trial
from reportgen.vocabulary import COLUMNS, TIME_COLUMNS
from reportgen.what_if import CANDIDATES, TOGETHER

Change = Callable[[Trial], Trial]


@cache
def sample(name: str) -> Trial:
    return read_trial(SAMPLES / name)


def without_columns(*names: str) -> Change:
    return lambda trial: replace(
        trial, readings={name: readings for name, readings in trial.readings.items() if name not in names}
    )


def without_key(place: str) -> Change:
    name, _, key = place.partition(".")

    def change(trial: Trial) -> Trial:
        section = getattr(trial.sheet, name).model_copy(update={key: None})
        return replace(trial, sheet=trial.sheet.model_copy(update={name: section}))

    return change


def without_in_feed(name: str) -> Change:
    return lambda trial: replace(trial, feeds=tuple(replace(feed, **{name: None}) for feed in trial.feeds))


REMOVED: dict[str, Change] = {
    "cabinet_temperature [degC]": without_columns("cabinet_temperature"),
    "ambient_temperature [degC]": without_columns("ambient_temperature"),
    "gas_volume [L]": without_columns("gas_volume", "gas_level"),
    "ice": lambda trial: replace(trial, looks=()),
    "fresh_mass [kg] and total_solids [%] and volatile_solids [%]": lambda trial: replace(trial, feeds=()),
    "gas_produced [L]": without_columns("gas_produced"),
    "total_solids [%]": without_in_feed("total_solids"),
    "volatile_solids [%]": without_in_feed("volatile_solids"),
    "water_added [L]": without_columns("water_added"),
    LINES["burner.lit"]: lambda trial: replace(trial, lit_at=None, out_at=None, burning=(), end_recorded=False),
    LINES["gas.kind"]: without_key("gas.kind"),
    LINES["water.placed"]: lambda trial: replace(trial, placed_at=None),
    LINES["water.mass"]: without_key("water.mass"),
    LINES["water.temperature"]: without_key("water.temperature"),
    LINES["digester.working_volume"]: without_key("digester.working_volume"),
}


@pytest.mark.parametrize("line", REMOVED)
def test_what_is_taken_away_is_named_with_the_figures_that_went(line: str) -> None:
    whole = sample("canteen-hand-readings")
    before = set(given_keys(compute(whole)))
    trial = REMOVED[line](whole)
    results = compute(trial)
    lost = before - set(given_keys(results))
    assert lost
    found = {one.add: set(one.gives) for one in suggestions(trial, results)}
    assert found[line] == lost


def test_a_feed_log_without_solids_is_told_both_at_once() -> None:
    trial = without_in_feed("total_solids")(without_in_feed("volatile_solids")(sample("canteen-hand-readings")))
    found = {one.add: one.gives for one in suggestions(trial, compute(trial))}
    assert found["total_solids [%] and volatile_solids [%]"] == ("gas_yield_vs", "methane_yield_vs", "loading_rate")
    assert "total_solids [%]" not in found


def test_levels_want_the_area_of_the_holder() -> None:
    whole = sample("canteen-hand-readings")
    volumes = whole.readings["gas_volume"]
    levels = {**without_columns("gas_volume")(whole).readings, "gas_level": volumes.with_values(volumes.values / 2, 1)}
    trial = replace(whole, readings=levels)
    found = {one.add: one.gives for one in suggestions(trial, compute(trial))}
    assert {"gas_used", "energy_per_ice"} <= set(found[LINES["gas.level_area"]])


def test_a_cabinet_that_was_not_read_until_warm_gives_no_hold_over() -> None:
    trial = sample("canteen-hand-readings")
    (one,) = (one for one in suggestions(trial, compute(trial)) if one.gives == ("hold_over_time",))
    assert one.add == "cabinet_temperature [degC] read on after the burner is out, until it is above 0 °C"


@settings(max_examples=8, deadline=None)
@given(st.sampled_from(["canteen-aborted", "canteen-logger-and-hand"]), st.sets(st.sampled_from(sorted(REMOVED))))
@example("canteen-hand-readings", set(REMOVED))
def test_suggestions_are_few_and_new_and_the_most_telling_come_first(name: str, lines: set[str]) -> None:
    trial = sample(name)
    for line in sorted(lines):
        trial = REMOVED[line](trial)
    results = compute(trial)
    found = suggestions(trial, results)
    sizes = [len(one.gives) for one in found]
    assert 0 < len(found) <= MOST_SUGGESTIONS
    assert sizes == sorted(sizes, reverse=True)
    assert min(sizes) > 0
    assert not set(given_keys(results)) & {key for one in found for key in one.gives}


#: Columns that are no candidates, each with the reason.
NO_CANDIDATES = {
    **dict.fromkeys(TIME_COLUMNS, "says when a row was written: without it there are no readings at all"),
    "material": "a name beside fresh_mass",
    "gas_level": "stands for gas_volume, which is the candidate",
    "gas_elsewhere": "makes the gas burnt right, and gives no figure that is lacking without it",
    "gas_temperature": "assumed where it is not logged",
    "gas_pressure": "assumed where it is not logged",
    "atmospheric_pressure": "assumed where it is not logged",
    "methane": "assumed where it is not logged",
    "boiler_temperature": "assumed where it is not logged",
    "hydrogen_sulfide": "triggers safety notes, and carries no figure",
    "carbon_monoxide": "triggers safety notes, and carries no figure",
    "container": "a name beside ice",
    "event": "candidates are the lines of trial.toml that say the same: burner.lit, burner.out, water.placed",
    "note": "free text",
}


@pytest.mark.parametrize("column", COLUMNS)
def test_every_column_is_a_candidate_or_it_is_said_why_not(column: str) -> None:
    is_candidate = column in {line.partition(" [")[0] for line in CANDIDATES}
    assert is_candidate or column in NO_CANDIDATES, (
        f'"{column}" is new: where a trial without it lacks a figure, add Candidate("{column} [unit]", …) to '
        "CANDIDATES in reportgen/what_if.py, with invented readings that suit the trial, so that `check` tells people "
        "what the column would give; else add it to NO_CANDIDATES here, with the reason"
    )
    assert not (is_candidate and column in NO_CANDIDATES), f'"{column}" is a candidate: take it out of NO_CANDIDATES'


def test_what_is_no_candidate_is_a_column() -> None:
    assert set(NO_CANDIDATES) <= set(COLUMNS)


@pytest.mark.parametrize("name", ["canteen-logger-and-hand", "canteen-hand-readings", "canteen-running-meter"])
def test_without_a_column_that_is_no_candidate_no_figure_is_lost(name: str) -> None:
    trial = sample(name)
    before = set(given_keys(compute(trial)))
    for column in set(trial.readings) & set(NO_CANDIDATES) - {"gas_level"}:
        lost = before - set(given_keys(compute(without_columns(column)(trial))))
        assert not lost, f'"{column}" gives {", ".join(sorted(lost))}: it has to be a candidate of reportgen/what_if.py'


def test_what_goes_together_is_made_of_candidates() -> None:
    assert {line for lines in TOGETHER for line in lines} <= set(CANDIDATES)


def test_an_assumed_figure_says_so() -> None:
    trial = without_key("gas.methane")(sample("canteen-hand-readings"))
    groups = given_groups(compute(trial))
    assert f"{KINDS['methane_fraction'].label} (assumed)" in groups["gas"]
    assert str(KINDS["run_time"].label) in groups["run"]

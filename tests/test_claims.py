"""What may be said of a trial: grades from how a figure is known, never from how good it looks."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import computed_sample, sample_folders
from figures.trials import FALLING, HOLDER, THREE_HOURS, column, write
from figures.trials import results as results_of
from hypothesis import given
from hypothesis import strategies as st

from reportgen import claims
from reportgen.calc import uncertainty
from reportgen.claims import GRADES, INDICATED, NOT_SHOWN, SUPPORTED, Claim
from reportgen.figures import Assumption, Figure, compute
from reportgen.figures.figure import given as figure_given
from reportgen.figures.figure import not_given
from reportgen.message import say
from reportgen.read.folder import read_trial


def figure(value: float, spread: float, **facts: object) -> Figure:
    return figure_given("energy_per_ice", uncertainty.estimate(value, spread, "x"), **facts)  # type: ignore[arg-type]


def told(folder: Path, *logs: str, **sheet: object) -> dict[str, Claim]:
    write(folder, *logs, **sheet)
    trial = read_trial(folder)
    return {str(claim.sentence): claim for claim in claims.claims(trial, compute(trial))}


def test_a_measured_figure_with_a_narrow_range_is_supported() -> None:
    grade, reason = claims.grade(figure(10.0, 0.1))
    assert grade == SUPPORTED
    assert "measured, within 2 %" in str(reason)


@pytest.mark.parametrize(("spread", "grade"), [(1.27, SUPPORTED), (1.29, INDICATED), (9.0, INDICATED)])
def test_a_wide_range_only_indicates(spread: float, grade: str) -> None:
    # 1.96 times 1.275 is 2.5, a quarter of the value.
    assert claims.grade(figure(10.0, spread))[0] == grade


def test_an_assumed_input_only_indicates_however_narrow_the_range() -> None:
    assumption = Assumption("methane fraction", say("60 %"), say("not recorded"))
    grade, reason = claims.grade(figure(10.0, 0.01, assumptions=[assumption]))
    assert grade == INDICATED
    assert "methane fraction" in str(reason)


def test_an_assumed_uncertainty_alone_does_not_weaken_a_figure() -> None:
    assumption = Assumption("gas scale", say("2 %"), say("not recorded"), of_value=False)
    assert claims.grade(figure(10.0, 0.01, assumptions=[assumption]))[0] == SUPPORTED


def test_what_reaches_beyond_the_trial_only_indicates() -> None:
    grade, reason = claims.grade(figure(10.0, 0.01, method="extrapolated first batch"))
    assert grade == INDICATED
    assert "not observed" in str(reason)


def test_a_figure_that_is_not_given_shows_nothing_and_says_why() -> None:
    grade, reason = claims.grade(not_given("energy_per_ice", say("nobody weighed it")))
    assert (grade, str(reason)) == (NOT_SHOWN, "nobody weighed it")


def test_nought_has_no_relative_width() -> None:
    assert claims.grade(figure(0.0, 0.1))[0] == INDICATED


def test_an_interval_that_spans_the_value_shows_nothing() -> None:
    assert claims.compare(figure(-12.0, 0.5), -12.0) == "open"
    assert claims.compare(figure(-14.0, 0.5), -12.0) == "below"
    assert claims.compare(figure(-10.0, 0.5), -12.0) == "above"


@given(st.floats(-50, 50), st.floats(0.01, 5), st.floats(-50, 50))
def test_which_side_is_claimed_never_contradicts_the_interval(value: float, spread: float, limit: float) -> None:
    found = figure(value, spread)
    assert found.interval is not None
    low, high = found.interval
    side = claims.compare(found, limit)
    assert (side == "open") == (low <= limit <= high)


@given(st.floats(0.1, 1e3), st.floats(0.001, 1e3))
def test_a_wider_range_never_strengthens_a_claim(value: float, spread: float) -> None:
    narrow, wide = (GRADES.index(claims.grade(figure(value, s))[0]) for s in (spread, 2 * spread))
    assert narrow <= wide


COLD = column("cabinet_temperature [degC]", {0: 20, 1: 0, 2: -10, 2.5: -12.2, 3: -12.2})


def test_a_threshold_within_the_error_of_the_thermometer_is_not_claimed(tmp_path: Path) -> None:
    found = told(tmp_path, COLD, burner=THREE_HOURS, cabinet={"accuracy": "0.5 K (limits)"})
    assert found["That the cabinet reached −12 °C."].grade == NOT_SHOWN
    assert found["In this trial the air where the thermometer hung was colder than −6 °C."].grade == SUPPORTED
    assert not [sentence for sentence in found if "−18" in sentence]


LOOKS = column("ice", {0: "liquid", 2: "partial", 2.5: "solid"})
WEIGHED = {"ice_mass": "1.0 +/- 0.01 kg", "mass": "1.0 +/- 0.01 kg"}


def test_ice_of_which_nobody_says_how_it_was_judged_is_only_indicated(tmp_path: Path) -> None:
    for end_point, grade in (("", INDICATED), ("tilted, nothing moves", SUPPORTED)):
        found = told(
            tmp_path / (end_point or "none"), LOOKS, burner=THREE_HOURS, water={**WEIGHED, "end_point": end_point}
        )
        (ice,) = (claim for sentence, claim in found.items() if "was solid" in sentence)
        assert ice.grade == grade


def test_ice_that_was_never_solid_is_not_claimed(tmp_path: Path) -> None:
    found = told(tmp_path, column("ice", {0: "liquid", 2: "partial"}), burner=THREE_HOURS, water=WEIGHED)
    claim = found["How long this set-up takes to freeze this much water through."]
    assert claim.grade == NOT_SHOWN
    assert "2.0 h after lighting" in str(claim.reason)


def test_an_assumed_methane_content_is_called_not_measured(tmp_path: Path) -> None:
    said = {}
    for name, changes in {
        "none": {"methane": None, "methane_method": None},
        "assumed": {"methane_method": "assumed"},
        "unsaid": {"methane_method": None},
        "measured": {},
    }.items():
        gas = {key: value for key, value in {**HOLDER, **changes}.items() if value is not None}
        found = told(tmp_path / name, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=gas)
        claim = found.get("How much heat the gas held, by measurement.")
        said[name] = "" if claim is None else str(claim.reason)
    assert said["none"] == said["assumed"] == "the methane content was not measured"
    assert said["unsaid"] == "how the methane content was found is not recorded"
    assert said["measured"] == ""


def test_a_single_run_beside_another_at_most_indicates_a_difference(tmp_path: Path) -> None:
    reference = {"heat_source": "electric", "time_to_0": "3.0 +/- 0.05 h"}
    found = told(
        tmp_path / "far", COLD, burner=THREE_HOURS, cabinet={"accuracy": "0.5 K (limits)"}, reference=reference
    )
    assert found["This run had the lower figure of the two for: Time to 0 °C."].grade == INDICATED
    reference["time_to_0"] = "1.1 +/- 0.3 h"
    found = told(
        tmp_path / "near", COLD, burner=THREE_HOURS, cabinet={"accuracy": "0.5 K (limits)"}, reference=reference
    )
    assert found["That this run and the reference run differ in: Time to 0 °C."].grade == NOT_SHOWN


def test_no_trial_shows_repeats_other_places_a_year_or_same_day_waste() -> None:
    for folder in sample_folders():
        trial, results = computed_sample(folder.name)
        found = claims.claims(trial, results)
        unseen = " ".join(str(claim.sentence) for claim in found if claim.grade == NOT_SHOWN)
        for text in ("the next trial", "another site", "in a year", "fed on the day", "a standard", "the climate"):
            assert text in unseen
        order = [GRADES.index(claim.grade) for claim in found]
        assert order == sorted(order)
        assert len({str(claim.sentence) for claim in found}) == len(found)


def test_no_claim_boasts() -> None:
    for folder in sample_folders():
        for claim in claims.claims(*computed_sample(folder.name)):
            text = f"{claim.sentence} {claim.reason}".casefold()
            assert not [word for word in ("efficient", "zero-emission", "proves", "none", "nan", "{") if word in text]
            if claim.grade != NOT_SHOWN:
                assert str(claim.sentence).endswith(".")


def test_results_of_constructed_trials_are_the_ones_claimed(tmp_path: Path) -> None:
    found = results_of(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=HOLDER)
    rate = found["gas_per_hour_as_read"]
    (claim,) = (c for c in claims.claims(read_trial(tmp_path), found) if "L of gas an hour" in str(c.sentence))
    assert f"{rate.value:.0f}" in str(claim.sentence)

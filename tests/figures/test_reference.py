"""A run beside a reference run of the same appliance."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given as for_all
from hypothesis import strategies as st

from reportgen.calc import uncertainty
from reportgen.figures.figure import Figure, given, not_given
from reportgen.figures.reference import COMPARED, Comparison, compare_with_reference
from reportgen.message import say
from reportgen.read.folder import read_trial
from reportgen.read.sheet import Reference
from reportgen.trial import Trial

from .trials import FALLING, HOLDER, THREE_HOURS, column, results, write


def trial(folder: Path, **reference: str) -> Trial:
    """Return a trial with this reference run."""
    table = {"reference": {"heat_source": "mains electricity, 120 W", **reference}} if reference else {}
    write(folder, column("ambient_temperature [degC]", {0: 20, 3: 20}), **table)
    return read_trial(folder)


def of(folder: Path, figure: Figure, **reference: str) -> tuple[Comparison, ...]:
    return compare_with_reference(trial(folder, **reference), {figure.key: figure})


def hours(key: str, value: float, spread: float) -> Figure:
    return given(key, uncertainty.estimate(value, spread, "clock"))


def test_difference_is_here_less_reference(tmp_path: Path) -> None:
    (comparison,) = of(tmp_path, hours("time_to_0", 1.9, 0.03), time_to_0="1.5 +/- 0.04 h")
    assert comparison.key == "time_to_0"
    assert comparison.here.value == 1.9
    assert comparison.reference.value == 1.5
    assert uncertainty.nominal(comparison.difference) == pytest.approx(0.4)
    assert uncertainty.standard_uncertainty(comparison.difference) == pytest.approx(0.05)
    assert comparison.differs


@for_all(st.floats(-5, 5))
def test_two_combined_uncertainties_are_the_border(tmp_path_factory: pytest.TempPathFactory, sigmas: float) -> None:
    figure = hours("time_to_0", 10 + 0.05 * sigmas, 0.03)
    (comparison,) = of(tmp_path_factory.getbasetemp() / "border", figure, time_to_0="10 +/- 0.04 h")
    if abs(abs(sigmas) - 2) > 1e-6:
        assert comparison.differs == (abs(sigmas) > 2)


def test_time_between_two_looks_counts_as_uncertain(tmp_path: Path) -> None:
    looks = [uncertainty.estimate(t, 0.0, "looks") for t in (3.0, 2.0, 4.0)]
    figure = given("ice_making_time", looks[0], ends=(looks[1], looks[2]))
    (comparison,) = of(tmp_path, figure, ice_making_time="2.2 +/- 0 h")
    assert uncertainty.standard_uncertainty(comparison.difference) == pytest.approx(1 / 3**0.5)
    assert not comparison.differs


def test_reference_without_uncertainty_is_right_to_half_its_last_digit(tmp_path: Path) -> None:
    (comparison,) = of(tmp_path, hours("time_to_0", 1.53, 0.0), time_to_0="1.5 h")
    assert uncertainty.standard_uncertainty(comparison.difference) == pytest.approx(0.05 / 3**0.5)
    assert not comparison.differs
    assert not comparison.reference.has_uncertainty


def test_power_of_the_burner_is_compared_with_the_power_of_the_reference(tmp_path: Path) -> None:
    (comparison,) = of(tmp_path, given("burner_power", uncertainty.estimate(310, 10, "gas")), power="0.12 +/- 0.005 kW")
    assert comparison.key == "burner_power"
    assert uncertainty.nominal(comparison.difference) == pytest.approx(190)


def test_only_what_both_runs_know_is_compared(tmp_path: Path) -> None:
    unknown = not_given("time_to_0", say("not reached"), at_least=3.0)
    assert of(tmp_path / "here", unknown, time_to_0="1.5 h") == ()
    assert of(tmp_path / "there", hours("time_to_0", 1.9, 0.1), time_to_minus_6="3 h") == ()
    assert of(tmp_path / "none", hours("time_to_0", 1.9, 0.1)) == ()


def test_every_quantity_of_the_table_is_compared() -> None:
    quantities = {name for name in Reference.model_fields if name not in ("heat_source", "source")}
    assert set(COMPARED) == quantities


def test_a_whole_run(tmp_path: Path) -> None:
    cold = {hour / 4: max(20 - 10 * hour / 4, -8) for hour in range(13)}
    stated: dict[str, Any] = {
        "heat_source": "LPG",
        "source": "log book, page 12",
        "power": "110 +/- 5 W",
        "cooling_rate_mean": "10.2 +/- 0.5 K/h",
        "time_to_0": "2.0 +/- 0.1 h",
        "time_to_minus_6": "2.6 +/- 0.1 h",
        "time_to_minus_18": "5 h",
        "temperature_lowest": "-21 +/- 1 degC",
    }
    found = results(
        tmp_path,
        column("gas_volume [L]", FALLING),
        column("cabinet_temperature [degC]", cold),
        burner=THREE_HOURS,
        gas=HOLDER,
        reference=stated,
    )
    compared = {c.key: c for c in compare_with_reference(read_trial(tmp_path), found.figures)}
    assert list(compared) == ["burner_power", "cooling_rate_mean", "time_to_0", "time_to_minus_6", "temperature_lowest"]
    assert {key for key, comparison in compared.items() if comparison.differs} == {"burner_power", "temperature_lowest"}
    # The median of the last three readings, -7.5 °C, less -21 °C is a difference of 13.5 K.
    assert uncertainty.nominal(compared["temperature_lowest"].difference) == pytest.approx(13.5)

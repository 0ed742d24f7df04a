"""Waste: fed, its yield, and how much of it stands behind the gas of the run."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from reportgen.calc.uncertainty import variance_shares
from reportgen.figures import Results

from .trials import FALLING, HOLDER, THREE_HOURS, codes, column, names, number, reason, results, rows

HEADER = "time,material,fresh_mass [kg],total_solids [%],volatile_solids [%],water_added [L]"
DIGESTER = {"working_volume": "720 +/- 0 L", "solids_source": "measured"}
WATER = {"mass": "1 +/- 0 kg", "ice_mass": "0.75 +/- 0 kg", "placed": "09:00"}
CARBOHYDRATE = 3 * 22.414 / 0.16214  # L/kg: C6H10O5 gives three methane


def feed(kilograms: Callable[[int], float] = lambda _: 4.0, days: int = 28, solids: str = "20,90") -> str:
    """Return a feed log: every day at eight, up to the day of the run; 8 L of water with it."""
    return rows(
        HEADER,
        *((-1 - 24 * day, "peelings", f"{kilograms(day):.1f}", solids, 8) for day in range(days)[::-1]),
    )


def production(litres: Callable[[int], float] = lambda _: 480, days: int = 28) -> str:
    """Return a log of daily production, read with the feed."""
    return column("gas_produced [L]", {-1.0 - 24 * day: round(litres(day), 1) for day in range(days)[::-1]})


def of(folder: Path, *logs: str, digester: Any = None, **sheet: Any) -> Results:
    return results(
        folder,
        column("gas_volume [L]", FALLING),
        *logs,
        **({"burner": THREE_HOURS, "gas": HOLDER, "water": WATER, "digester": DIGESTER | (digester or {})} | sheet),
    )


# Totals


def test_steady_feeding_by_totals(tmp_path: Path) -> None:
    found = of(tmp_path, feed(), production())
    assert found["waste_fed"].value == pytest.approx(112)
    assert found["gas_produced"].value == pytest.approx(13440)
    assert found["gas_yield_fresh"].value == pytest.approx(120)
    # 112 kg x 20 % x 90 % = 20.16 kg.
    assert found["gas_yield_vs"].value == pytest.approx(13440 / 20.16)
    assert found["methane_yield_vs"].value == pytest.approx(13440 / 20.16 * 0.6)
    assert found["waste_for_run"].value == pytest.approx(180 / 120)
    assert found["waste_for_run"].method == "yield from totals at steady feeding"
    assert found["waste_to_ice"].value == pytest.approx(1.5 / 0.75)
    assert found["loading_rate"].value == pytest.approx(4 * 0.18 / 0.72)
    assert found["retention_time"].value == pytest.approx(720 / 12)
    for key in ("gas_yield_fresh", "gas_yield_vs", "waste_for_run", "waste_to_ice", "loading_rate"):
        assert found[key].basis == "derived"
    assert found["waste_fed"].basis == "measured"


def test_mass_fed_is_uncertain_by_readings_and_scale(tmp_path: Path) -> None:
    expected = math.hypot(0.1 / 12**0.5 * 28**0.5, 112 * 0.02 / 3**0.5)
    assert of(tmp_path, feed())["waste_fed"].standard_uncertainty == pytest.approx(expected)


def test_gas_scale_cancels_in_the_waste_behind_the_gas(tmp_path: Path) -> None:
    found = of(tmp_path, feed(), production(), gas=HOLDER | {"accuracy": "20 %"})
    assert found["gas_used"].standard_uncertainty > 35
    assert variance_shares(number(found["waste_for_run"])).get("gas scale", 0) == pytest.approx(0, abs=1e-12)
    assert found["waste_for_run"].standard_uncertainty < 0.1


def test_two_feeds_a_day_are_no_more_days(tmp_path: Path) -> None:
    morning = [(-1 - 24 * day, "peelings", 2, "20,90", 4) for day in range(10)[::-1]]
    evening = [(9 - 24 * (day + 1), "peelings", 2, "20,90", 4) for day in range(10)[::-1]]
    found = of(tmp_path, rows(HEADER, *sorted(morning + evening, key=lambda row: float(str(row[0])))))
    # 20 feeds of 2 kg and 4 L on eleven days, the first and last with one feed.
    assert found["loading_rate"].value == pytest.approx(40 * 0.18 / 11 / 0.72)
    assert found["retention_time"].value == pytest.approx(720 / (120 / 11))


def test_feeds_of_one_day_tell_no_rate(tmp_path: Path) -> None:
    log = rows(HEADER, (-3, "peelings", 2, "20,90", 4), (-1, "peelings", 2, "20,90", 4))
    found = of(tmp_path, log)
    assert "more than one day" in reason(found["loading_rate"])
    assert "more than one day" in reason(found["retention_time"])


def test_no_feed_logged(tmp_path: Path) -> None:
    found = of(tmp_path, production())
    for key in ("waste_fed", "gas_yield_fresh", "gas_yield_vs", "loading_rate", "retention_time"):
        assert "no feed is logged" in reason(found[key]), key
    assert "no yield" in reason(found["waste_for_run"])
    assert "no yield" in reason(found["waste_to_ice"])


@pytest.mark.parametrize("with_gas", [True, False])
def test_feed_of_the_trial_day_gives_no_ratio(tmp_path: Path, with_gas: bool) -> None:
    logs = [feed(days=1), *([production(days=1)] if with_gas else [])]
    found = of(tmp_path, *logs)
    assert found["waste_fed"].value == 4
    for key in ("gas_yield_fresh", "gas_yield_vs", "gas_yield_model", "waste_for_run", "waste_to_ice"):
        assert not found[key].is_given, key


def test_gas_log_longer_than_the_feed_log_gives_no_yield_from_totals(tmp_path: Path) -> None:
    found = of(tmp_path, feed(days=15), production(days=56))
    assert "in common" in reason(found["gas_yield_fresh"])
    shorter = of(tmp_path / "shorter", feed(days=56), production(days=15))
    assert "in common" in reason(shorter["gas_yield_fresh"])


# Model and stated yields


def model_gas(day: int, rate: float, kilograms: Callable[[int], float], days: int) -> float:
    """Return the gas [L] of the day up to `day` days ago: 120 L/kg at `rate`, fed before as at first."""
    earlier = [day + 1 + i for i in range(200)]
    masses = [kilograms(min(back, days - 1)) for back in earlier]
    ages = [(back - day - 1, back - day) for back in earlier]
    return 120 * sum(m * (math.exp(-rate * a) - math.exp(-rate * b)) for m, (a, b) in zip(masses, ages, strict=True))


def test_feeding_that_is_not_steady_rests_on_the_model(tmp_path: Path) -> None:
    def kilograms(day: int) -> float:
        return 6.0 if day < 14 else 2.0

    days = 35
    log = production(lambda day: model_gas(day, 0.2, kilograms, days), days)
    found = of(tmp_path, feed(kilograms, days), log)
    model = found["gas_yield_model"]
    assert model.value == pytest.approx(120, rel=0.05)
    assert model.interval is not None
    assert model.interval[0] < 120 < model.interval[1]
    assert model.interval_kind == "simulated"
    assert found["waste_for_run"].method == "yield from a first-order model of the feed log"
    assert found["waste_for_run"].value == pytest.approx(180 / model.value)
    assert "feeding-not-steady" in codes(found)


def test_gas_scale_cancels_with_the_model_too(tmp_path: Path) -> None:
    def kilograms(day: int) -> float:
        return 6.0 if day < 14 else 2.0

    log = production(lambda day: model_gas(day, 0.2, kilograms, 35), 35)
    found = of(tmp_path, feed(kilograms, 35), log, gas=HOLDER | {"accuracy": "20 %"})
    model = found["gas_yield_model"]
    assert model.interval is not None
    assert model.interval[1] / model.value > 1.35
    assert variance_shares(number(found["waste_for_run"])).get("gas scale", 0) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("basis", "expected"), [("standard", 180 / 1.1 / 120), ("as read", 180 / 120)])
def test_stated_yield_where_nothing_is_logged(tmp_path: Path, basis: str, expected: float) -> None:
    # Gas of 27.315 °C: a litre as read is 1 / 1.1 standard litres.
    digester = {"specific_yield": "120 +/- 12 L/kg", "yield_basis": basis, "source": "a class hand-out"}
    found = of(tmp_path, digester=digester, gas=HOLDER | {"temperature": "27.315 +/- 1 degC"})
    assert found["waste_for_run"].value == pytest.approx(expected)
    assert found["waste_for_run"].method == "yield as stated"
    assert found["waste_for_run"].basis == "assumed"
    assert "specific yield" in names(found["waste_for_run"])
    assert not found["gas_yield_fresh"].is_given
    share = variance_shares(number(found["waste_for_run"]))["specific yield"]
    assert share > 0.95


def test_logged_yield_goes_before_a_stated_one(tmp_path: Path) -> None:
    found = of(tmp_path, feed(), production(), digester={"specific_yield": "60 L/kg"})
    assert found["waste_for_run"].value == pytest.approx(1.5)


# Solids


def test_solids_missing_leave_the_fresh_mass_figures(tmp_path: Path) -> None:
    log = rows("time,fresh_mass [kg]", *((-1 - 24 * day, 4) for day in range(28)[::-1]))
    found = of(tmp_path, log, production())
    assert found["gas_yield_fresh"].value == pytest.approx(120)
    for key in ("gas_yield_vs", "methane_yield_vs", "loading_rate"):
        assert "solids of the feed are not recorded" in reason(found[key]), key
    assert "which is not given" not in reason(found["gas_yield_vs"])
    assert "water" in reason(found["retention_time"])


@pytest.mark.parametrize("source", ["table", None])
def test_solids_from_a_table_or_nowhere_are_assumed(tmp_path: Path, source: str | None) -> None:
    digester = {"working_volume": "720 +/- 0 L"} | ({"solids_source": source} if source else {})
    log = results(
        tmp_path,
        column("gas_volume [L]", FALLING),
        feed(),
        production(),
        burner=THREE_HOURS,
        gas=HOLDER,
        digester=digester,
    )
    for key in ("gas_yield_vs", "methane_yield_vs", "loading_rate"):
        assert log[key].basis == "assumed", key
        assert "solids of the feed" in names(log[key]), key
    assert log["gas_yield_fresh"].basis == "derived"
    relative = log["loading_rate"].standard_uncertainty / log["loading_rate"].value
    assert relative == pytest.approx(math.hypot(0.15, 0.02) / 3**0.5, rel=1e-6)


def test_feeds_without_solids_are_like_the_others_and_said_so(tmp_path: Path) -> None:
    log = rows(HEADER, (-49, "peelings", 4, "20,90", 8), (-25, "bread", 4, ",", 8), (-1, "peelings", 4, "20,90", 8))
    found = of(tmp_path, log, digester={"solids_source": "table"})
    assert found["loading_rate"].value == pytest.approx(1)
    assert {"solids of the feed", "solids of other feeds"} <= names(found["loading_rate"])


# Theory


def test_theoretical_yield_of_a_formula_and_of_a_composition(tmp_path: Path) -> None:
    by_formula = of(tmp_path / "f", digester={"formula": "C6H10O5"})["theoretical_methane_yield"]
    assert by_formula.value == pytest.approx(CARBOHYDRATE, rel=1e-4)
    parts = {"carbohydrate": "100 +/- 0 %", "protein": "0 +/- 0 %", "lipid": "0 +/- 0 %"}
    by_parts = of(tmp_path / "c", digester={"composition": parts})["theoretical_methane_yield"]
    assert by_parts.value == pytest.approx(by_formula.value)
    assert by_parts.basis == "derived"


def test_theoretical_yield_is_as_uncertain_as_the_composition(tmp_path: Path) -> None:
    # C57H104O6: 40 methane of 885.43 g/mol = 1012.6 L/kg. Half of either, give or take 10 %.
    fat = 40 * 22.414 / 0.88543
    parts = {"carbohydrate": "50 +/- 10 %", "protein": "0 +/- 0 %", "lipid": "50 +/- 10 %"}
    found = of(tmp_path, digester={"composition": parts})["theoretical_methane_yield"]
    mean = (CARBOHYDRATE + fat) / 2
    assert found.value == pytest.approx(mean, rel=1e-4)
    # Shares over their sum: each moves the mean by its own distance from it.
    spread = 0.1 * 2**0.5 * (fat - CARBOHYDRATE) / 2
    assert found.standard_uncertainty == pytest.approx(math.hypot(spread, 0.003 * mean), rel=1e-3)


def test_composition_that_does_not_add_up_is_refused(tmp_path: Path) -> None:
    parts = {"carbohydrate": "60 %", "protein": "20 %", "lipid": "5 %"}
    assert "cannot be used" in reason(of(tmp_path, digester={"composition": parts})["theoretical_methane_yield"])


def test_methane_yield_above_theory_is_withheld(tmp_path: Path) -> None:
    # 800 L of methane a day from 0.72 kg: more than pure fat gives.
    found = of(tmp_path, feed(), production(lambda _: 1333))
    assert "above the theoretical yield" in reason(found["methane_yield_vs"])
    assert found["gas_yield_vs"].is_given
    # 432 L/kg is above what carbohydrate gives, 415 L/kg, but not above fat.
    starch = of(tmp_path / "s", feed(), production(lambda _: 519), digester={"formula": "C6H10O5"})
    assert "above the theoretical yield" in reason(starch["methane_yield_vs"])
    assert of(tmp_path / "t", feed(), production(lambda _: 519))["methane_yield_vs"].value == pytest.approx(432.5)

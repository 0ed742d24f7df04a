"""What holds for all figures of any trial: units, scale, time, and the form of each figure."""

from __future__ import annotations

import math
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.calc.uncertainty import variance_shares
from reportgen.catalogue import KINDS
from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial

from .trials import HOLDER, clock, column, names, results, rows

SAMPLES = sorted(path.parent for path in Path(__file__).parents[2].glob("sample_trials/*/trial.toml"))
#: Figures in proportion to the gas readings.
GAS_KEYS = (
    "gas_used_as_read",
    "gas_used",
    "gas_per_hour_as_read",
    "gas_per_hour",
    "energy_used",
    "burner_power",
)

contents = st.tuples(*[st.integers(2, 40)] * 6).map(
    lambda falls: [400 - 2 * sum(falls[:i]) for i in range(len(falls) + 1)]
)
temperatures = st.tuples(*[st.integers(0, 16)] * 6).map(
    lambda falls: [30 - sum(falls[:i]) for i in range(len(falls) + 1)]
)


def full(
    folder: Path,
    litres: list[int],
    cabinet: list[int],
    *,
    gas: str = "L",
    degrees: str = "degC",
    mass: str = "kg",
    water: float = 1.0,
    shift: float = 0.0,
    zone: str = "UTC",
    factor: float = 1.0,
) -> Results:
    """Return the results of a trial with gas, cabinet, ice and feed; units, amounts and day as asked for."""
    of_litres, of_kilograms = {"L": 1.0, "m3": 0.001}[gas], {"kg": 1.0, "lb": 1 / 0.45359237}[mass]

    def thermometer(celsius: float) -> float:
        return celsius if degrees == "degC" else round(32 + 1.8 * celsius, 6)

    def kilograms(value: float, spread: float) -> str:
        return f"{value * of_kilograms!r} +/- {spread * of_kilograms!r} {mass}"

    hours = [shift + hour / 2 for hour in range(len(litres))]
    litres = [round(value * factor) for value in litres]
    sheet: dict[str, Any] = {
        "time_zone": zone,
        "burner": {"lit": clock(shift), "out": clock(shift + 3)},
        "gas": HOLDER | {"temperature": "27 +/- 1 degC", "dry": False},
        "cabinet": {"resolution": "1 K", "accuracy": "0.5 K (limits)"},
        "boiler": {"temperature": f"{thermometer(180)!r} +/- {thermometer(10) - thermometer(0)!r} {degrees}"},
        "water": {
            "mass": kilograms(water, 0.01 * water),
            "ice_mass": kilograms(0.9 * water, 0.01 * water),
            "placed": clock(shift),
            "temperature": f"{thermometer(25)!r} +/- {(thermometer(1) - thermometer(0)) / 2!r} {degrees}",
        },
        "digester": {"working_volume": "0.8 +/- 0.01 m3", "solids_source": "measured"},
    }
    days = [shift - 1 - 24 * day for day in range(28)[::-1]]
    return results(
        folder,
        column(f"gas_volume [{gas}]", {h: f"{v * of_litres:.3f}" for h, v in zip(hours, litres, strict=True)}),
        column(
            f"cabinet_temperature [{degrees}]",
            {h: thermometer(v) for h, v in zip(hours, cabinet, strict=True)},
        ),
        column(f"ambient_temperature [{degrees}]", {h: thermometer(28 + h - shift) for h in hours}),
        column("ice", {shift + 1: "liquid", shift + 2: "partial", shift + 2.5: "solid"}),
        column(f"gas_produced [{gas}]", dict.fromkeys(days, f"{480 * factor * of_litres:.3f}")),
        rows(
            f"time,fresh_mass [{mass}],total_solids [%],volatile_solids [%],water_added [L]",
            *((at, repr(4 * of_kilograms), 20, 90, 8) for at in days),
        ),
        **sheet,
    )


def assert_same(one: Results, other: Results, *, but: tuple[str, ...] = (), only_values: tuple[str, ...] = ()) -> None:
    """Check that all figures agree but for rounding in the last digits."""
    for key in KINDS:
        if key in but:
            continue
        a, b = one[key], other[key]
        assert a.is_given == b.is_given, key
        assert a.basis == b.basis, key
        if a.is_given:
            assert a.value == pytest.approx(b.value, rel=1e-6, abs=1e-9), key
            if key not in only_values:
                assert a.standard_uncertainty == pytest.approx(b.standard_uncertainty, rel=1e-5, abs=1e-9), key
                assert a.interval == pytest.approx(b.interval, rel=1e-5, abs=1e-8), key
        for bound in ("at_least", "at_most"):
            assert (getattr(a, bound) is None) == (getattr(b, bound) is None), key


def assert_well_formed(found: Results) -> None:
    """Check what must hold for each figure of any trial."""
    assert list(found.figures) == list(KINDS)
    for key, figure in found.figures.items():
        assert figure.key == key
        if not figure.is_given:
            assert figure.basis == "not given", key
            assert str(figure.reason).strip(), key
            assert not set("{}") & set(str(figure.reason)), key
            continue
        assert figure.reason is None, key
        assert figure.basis in ("measured", "derived", "assumed"), key
        assert math.isfinite(figure.value), key
        assert figure.standard_uncertainty >= 0, key
        assert figure.interval is not None, key
        low, high = figure.interval
        assert low <= figure.value <= high, key
        assert figure.interval_kind in ("normal", "simulated", "limits"), key
        assert (figure.interval_kind == "limits") == (figure.ends is not None), key
        if key in ("ice_making_time", "freezing_time"):
            assert figure.value == pytest.approx((low + high) / 2), key
            assert figure.standard_uncertainty == pytest.approx((high - low) / 2 / 3**0.5), key
        assert str(figure.working).strip(), key
        assert not set("{}") & set(str(figure.working)), key
        shares = variance_shares(figure.number)
        assert not shares or sum(shares.values()) == pytest.approx(1), key
        # A value that rests on an assumed one says which.
        taken = any(assumption.of_value for assumption in figure.assumptions)
        assert (figure.basis == "assumed") == taken, key
        listed = {effect.assumption.name for effect in found.assumptions if key in effect.affects}
        assert names(figure) == listed, key
    for effect in found.assumptions:
        assert effect.affects
        assert effect.share_of_variance is None or 0 < effect.share_of_variance <= 1
    for finding in found.findings:
        assert not set("{}") & set(str(finding.message))


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda folder: folder.name)
def test_figures_of_the_sample_trials_are_well_formed(folder: Path) -> None:
    assert_well_formed(compute(read_trial(folder)))


def test_there_are_sample_trials() -> None:
    assert len(SAMPLES) >= 8


def test_empty_trial_gives_nothing_and_says_why(tmp_path: Path) -> None:
    found = results(tmp_path)
    assert_well_formed(found)
    assert {key for key in KINDS if found[key].is_given} == {"methane_fraction"}
    assert found["methane_fraction"].basis == "assumed"


@settings(max_examples=8)
@given(contents, temperatures)
def test_figures_of_any_trial_are_well_formed(litres: list[int], cabinet: list[int]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        assert_well_formed(full(Path(folder), litres, cabinet))


@settings(max_examples=4)
@given(contents, temperatures)
def test_units_of_the_logs_change_no_figure(litres: list[int], cabinet: list[int]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        plain = full(Path(folder) / "a", litres, cabinet)
        other = full(Path(folder) / "b", litres, cabinet, gas="m3", degrees="degF", mass="lb")
        # The digits a mass or an amount is written with tell its step, which is not the same in pounds.
        written = (
            "waste_fed",
            "gas_produced",
            "gas_yield_fresh",
            "gas_yield_vs",
            "methane_yield_vs",
            "gas_yield_model",
            "waste_for_run",
            "waste_to_ice",
            "loading_rate",
            "retention_time",
        )
        assert_same(plain, other, only_values=written)


@settings(max_examples=4)
@given(
    contents,
    temperatures,
    st.integers(-40, 40),
    st.sampled_from(["Asia/Kolkata", "America/Guatemala", "Asia/Tokyo"]),
)
def test_day_and_zone_change_no_figure(litres: list[int], cabinet: list[int], days: int, zone: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        plain = full(Path(folder) / "a", litres, cabinet)
        assert_same(plain, full(Path(folder) / "b", litres, cabinet, shift=24.0 * days))
        assert_same(plain, full(Path(folder) / "c", litres, cabinet, zone=zone))


@settings(max_examples=4)
@given(contents, temperatures)
def test_twice_the_gas_is_twice_the_gas(litres: list[int], cabinet: list[int]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        once = full(Path(folder) / "a", litres, cabinet)
        twice = full(Path(folder) / "b", litres, cabinet, factor=2)
        for key in GAS_KEYS:
            assert twice[key].value == pytest.approx(2 * once[key].value), key
        assert twice["waste_for_run"].value == pytest.approx(once["waste_for_run"].value)
        assert twice["hours_per_cubic_metre_as_read"].value == pytest.approx(
            once["hours_per_cubic_metre_as_read"].value / 2
        )


@settings(max_examples=4)
@given(contents, temperatures)
def test_twice_the_water_is_twice_the_heat_and_half_the_energy_per_ice(litres: list[int], cabinet: list[int]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        once = full(Path(folder) / "a", litres, cabinet, water=0.5)
        twice = full(Path(folder) / "b", litres, cabinet, water=1.0)
        for key in ("heat_removed", "ice_mass", "ice_making_capacity", "cooling_power"):
            assert twice[key].value == pytest.approx(2 * once[key].value), key
            assert twice[key].standard_uncertainty == pytest.approx(2 * once[key].standard_uncertainty), key
        for key in ("energy_per_ice", "gas_per_ice", "waste_to_ice"):
            if twice["cop_ice"].is_impossible and key != "waste_to_ice":
                assert not twice[key].is_given, key
                continue
            assert twice[key].value == pytest.approx(once[key].value / 2), key


def test_assumption_of_a_value_comes_first_and_by_what_it_does(tmp_path: Path) -> None:
    gas = {key: value for key, value in HOLDER.items() if key not in ("methane", "atmospheric", "accuracy")}
    found = results(
        tmp_path, column("gas_volume [L]", {0: 200, 3: 20}), burner={"lit": "09:00", "out": "12:00"}, gas=gas
    )
    listed = [effect.assumption.name for effect in found.assumptions]
    of_value = [effect.assumption.of_value for effect in found.assumptions]
    assert of_value == sorted(of_value, reverse=True)
    # Ten points of methane are more than three kilopascals of air.
    assert listed.index("methane fraction") < listed.index("atmospheric pressure") < listed.index("gas scale")

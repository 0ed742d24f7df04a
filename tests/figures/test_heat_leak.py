"""Heat that leaked in over the run, and the COP that counts it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.figures import Figure, Results, compute
from reportgen.figures.cabinet_mean import covered_share, covered_span, shared_error
from reportgen.figures.heat_leak import heat_leak_figures
from reportgen.read.folder import read_trial

from .trials import FALLING, HOLDER, THREE_HOURS, column, number, reason, write

#: 20 °C at lighting to -10 °C one hour later, and there: (5 - 10 - 10) / 3 = -5 °C on the mean of three hours.
COLD = {0: 20, 0.25: 12.5, 0.5: 5, 0.75: -2.5, 1: -10, 1.5: -10, 2: -10, 2.5: -10, 3: -10}
AMBIENT = {0: 25, 1.5: 25, 3: 25}
CABINET = {"heat_leak": "1.1 +/- 0.2 W/K", "resolution": "0.1 K", "accuracy": "0.5 K (limits)"}
WATER = {
    "mass": "1.00 +/- 0.01 kg",
    "ice_mass": "0.9 +/- 0.01 kg",
    "placed": "09:00",
    "temperature": "25 +/- 0.5 degC",
    "ice_temperature": "-5 +/- 1 degC",
}
LOOKED = column("ice", {1: "liquid"})


def of(
    folder: Path,
    *logs: str,
    readings: Mapping[float, object] | None = None,
    ambient: Mapping[float, object] | None = None,
    **sheet: Any,
) -> tuple[Figure, Figure, Results]:
    """Return the heat leaked in, the COP of the cabinet, and all other figures; an empty mapping is no log."""
    base = {
        "burner": THREE_HOURS,
        "gas": HOLDER,
        "water": WATER,
        "cabinet": CABINET,
        "boiler": {"temperature": "180 +/- 5 degC"},
    }
    columns: dict[str, Mapping[float, object]] = {
        "gas_volume [L]": FALLING,
        "cabinet_temperature [degC]": COLD if readings is None else readings,
        "ambient_temperature [degC]": AMBIENT if ambient is None else ambient,
    }
    write(folder, *(column(name, kept) for name, kept in columns.items() if kept), *logs, **(base | sheet))
    trial = read_trial(folder)
    found = compute(trial)
    leaked, cop = heat_leak_figures(
        trial, found["ambient_mean"], found["heat_removed"], found["energy_used"], found["cop_reversible"]
    )
    assert (leaked.key, cop.key) == ("heat_leaked", "cop_cabinet")
    return leaked, cop, found


def test_heat_leaked_by_hand(tmp_path: Path) -> None:
    leaked, _, _ = of(tmp_path)
    # 1.1 W/K x (25 + 5) K x 3 h x 3.6 kJ/(W h).
    assert leaked.value == pytest.approx(356.4)
    # 0.2 of 1.1 W/K, limits of 1 K of ambient and of 0.5 K of the cabinet in 30 K; the rest is less than a percent.
    relative = ((0.2 / 1.1) ** 2 + (1 / 30) ** 2 / 3 + (0.5 / 30) ** 2 / 3) ** 0.5
    assert leaked.standard_uncertainty == pytest.approx(356.4 * relative, rel=0.01)
    assert leaked.basis == "derived"
    for place in ("trial.toml:cabinet.heat_leak", "log2.csv:2-10", "log3.csv:2-4"):
        assert place in leaked.inputs
    assert re.search(r"= 1\.10 W/K × \(25\.0+ − \(−5\.0+\)\) K × 3\.0+ h × 3\.6 kJ/\(W h\) = 3", str(leaked.working))


def test_cop_counts_both_heats(tmp_path: Path) -> None:
    _, cop, found = of(tmp_path)
    expected = (found["heat_removed"].value + 356.4) / (found["energy_used"].value * 1000)
    assert cop.value == pytest.approx(expected)
    assert cop.value > found["cop_ice"].value
    assert cop.basis == "derived"
    assert "not counted" in str(cop.working)


def test_thermometers_err_alike_in_all_figures(tmp_path: Path) -> None:
    leaked, cop, found = of(tmp_path)
    error = shared_error("cabinet thermometer", [leaked])
    assert error is not None
    assert error is shared_error("cabinet thermometer", [found["temperature_lowest"]])
    assert error is shared_error("cabinet thermometer", [cop])
    assert shared_error("ambient thermometer", [leaked]) is shared_error("ambient thermometer", [found["ambient_mean"]])
    # A thermometer that reads 1 K high hides 1.1 W/K x 1 K x 3 h x 3.6 kJ/(W h) of leak.
    assert number(leaked).derivatives[error] == pytest.approx(11.88)
    assert number(found["temperature_lowest"]).derivatives[error] == pytest.approx(-1)
    assert shared_error("nothing of the kind", [leaked, found["cooling_delay"]]) is None


def test_scale_of_the_cabinet_thermometer_averages_out(tmp_path: Path) -> None:
    sheet = {"heat_leak": "1.1 +/- 0 W/K", "resolution": "2 K", "accuracy": "0.001 K (limits)"}
    leaked, _, _ = of(tmp_path, cabinet=sheet)
    # Nine readings to the nearest 2 K, and an ambient thermometer right to 1 K, as limits.
    assert leaked.standard_uncertainty == pytest.approx(11.88 * (2**2 / 12 / 9 + 1 / 3) ** 0.5, rel=0.01)


def test_pauses_of_the_burner_are_in_the_run(tmp_path: Path) -> None:
    events = ["burner lit", "burner out", "burner lit", "burner out"]
    log = column("event", dict(enumerate(events)))
    leaked, _, found = of(tmp_path, log, readings=dict.fromkeys(COLD, -5), burner={})
    assert found["burning_time"].value == pytest.approx(2)
    assert leaked.value == pytest.approx(356.4)


def test_what_no_reading_covers_may_be_anything_that_was_read(tmp_path: Path) -> None:
    leaked, _, _ = of(tmp_path, readings={hour: value for hour, value in COLD.items() if hour <= 2.5})
    # (5 - 10 x 1.5) / 2.5 h = -4 °C; the last sixth of the run lies within 24 K of that: 4 K, as limits.
    assert leaked.value == pytest.approx(1.1 * 29 * 10.8)
    variance = (1.1 * 10.8) ** 2 * (4**2 + 1 + 0.5**2) / 3 + (leaked.value * 0.2 / 1.1) ** 2
    assert leaked.standard_uncertainty == pytest.approx(variance**0.5, rel=0.01)


@pytest.mark.parametrize(
    ("readings", "ambient", "says"),
    [
        ({}, None, "no cabinet temperature"),
        ({0: 20, 0.5: 5, 1: -10, 1.5: -10, 2: -10}, None, "cover only 67 %"),
        ({0: 20, 0.5: 5, 1: -10, 2.5: -10, 3: -10}, None, "cover only 50 %"),
        (None, {}, "no ambient temperature"),
        (None, {1.5: 25}, "span only 0 %"),
        (None, {0: 25, 2: 25}, "span only 67 %"),
        (None, {0: -8, 3: -8}, "not colder than ambient"),
    ],
)
def test_why_there_is_no_heat_leaked_is_said(
    tmp_path: Path, readings: dict[float, float] | None, ambient: dict[float, float] | None, says: str
) -> None:
    leaked, cop, _ = of(tmp_path, readings=readings, ambient=ambient)
    assert says in reason(leaked)
    assert says in reason(cop)


def test_burner_never_lit(tmp_path: Path) -> None:
    assert "lit" in reason(of(tmp_path, burner={})[0])


def test_leak_not_stated(tmp_path: Path) -> None:
    leaked, cop, _ = of(tmp_path, cabinet={"resolution": "0.1 K"})
    assert "cabinet.heat_leak" in reason(leaked)
    assert "heat capacity" not in reason(leaked)
    assert "cabinet.heat_leak" in reason(cop)


def test_hold_over_of_an_empty_cabinet_gives_no_leak(tmp_path: Path) -> None:
    def why(name: str, *logs: str, **changes: Any) -> str:
        held = COLD | {4: -4, 5: 0, 6: 3}
        bare: dict[str, Any] = {"readings": held, "cabinet": {"resolution": "0.1 K"}, "water": {}}
        return reason(of(tmp_path / name, *logs, **(bare | changes))[0])

    assert "heat capacity" in why("held")
    assert "heat capacity" not in why("ended", readings=COLD)
    assert "heat capacity" not in why("water", water=WATER)
    assert "heat capacity" not in why("looks", LOOKED)


def test_cop_beyond_the_reversible_limit_is_withheld(tmp_path: Path) -> None:
    # A boiler of 35 °C: (1 - 298.15 / 308.15) x 263.15 / 35 = 0.244; with 2.5 W/K and 30 K for 3 h it would be 0.32.
    leaked, cop, found = of(
        tmp_path, cabinet=CABINET | {"heat_leak": "2.5 +/- 0.1 W/K"}, boiler={"temperature": "35 degC"}
    )
    assert found["cop_reversible"].value == pytest.approx(0.244, abs=1e-3)
    assert found["cop_ice"].is_given
    assert leaked.is_given
    assert "above the reversible limit" in reason(cop)
    assert cop.is_impossible


def test_cop_beyond_the_heat_of_the_gas_is_withheld(tmp_path: Path) -> None:
    # 40 W/K x 30 K x 3 h is 12960 kJ, of 3868 kJ in the gas.
    leaked, cop, _ = of(tmp_path, cabinet=CABINET | {"heat_leak": "40 +/- 1 W/K"})
    assert leaked.value == pytest.approx(12960)
    assert "more cold than the heat of the gas" in reason(cop)


def test_cop_needs_gas_and_water(tmp_path: Path) -> None:
    for name in ("gas", "water"):
        leaked, cop, _ = of(tmp_path / name, **{name: {}})
        assert leaked.is_given
        assert not cop.is_given


@given(st.lists(st.floats(0, 10), min_size=2, max_size=30), st.floats(0, 5), st.floats(0.1, 5))
def test_coverage_is_a_share(hours: list[float], start: float, length: float) -> None:
    at = np.sort(np.array(hours))
    share, span = covered_share(at, start, start + length), covered_span(at, start, start + length)
    assert -1e-9 <= share <= span + 1e-9 <= 1 + 2e-9


def test_coverage_of_nothing_is_nought() -> None:
    none, one = np.array([]), np.array([1.0])
    assert covered_share(none, 0, 1) == covered_share(one, 0, 2) == covered_span(none, 0, 1) == 0
    both = np.array([0.0, 1.0])
    assert covered_share(both, 1, 1) == covered_span(both, 1, 1) == 0

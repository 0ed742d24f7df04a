"""The ice: when it was solid, how much there is, what heat left the water."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from reportgen.figures import Results

from .trials import THREE_HOURS, codes, column, names, reason, results, rows

WATER = {
    "mass": "1.00 +/- 0.01 kg",
    "placed": "09:30",
    "temperature": "25 +/- 0 degC",
    "ice_temperature": "0 +/- 0 degC",
}
FUSION = 333.43  # kJ/kg
SENSIBLE = 104.84  # kJ/kg, water of 25 °C to 0 °C (steam tables)


def of(folder: Path, looks: dict[float, object], *logs: str, **changes: Any) -> Results:
    """Return the results of a kilogram of water put in half an hour after lighting."""
    water = {key: value for key, value in (WATER | changes).items() if value is not None}
    return results(folder, column("ice", looks), *logs, burner=THREE_HOURS, water=water)


# When


def test_solid_is_known_between_two_looks(tmp_path: Path) -> None:
    found = of(tmp_path, {1: "liquid", 2: "partial", 2.5: "solid"})
    assert found["ice_making_time"].value == 2.25
    assert found["ice_making_time"].interval == (2, 2.5)
    assert found["ice_making_time"].interval_kind == "limits"
    assert found["ice_making_time"].standard_uncertainty == pytest.approx(0.25 / 3**0.5)
    assert found["ice_making_time"].basis == "measured"
    assert found["ice_making_time"].inputs == ("log1.csv:3", "log1.csv:4")
    assert found["freezing_time"].interval == (1.5, 2)
    assert found.bracket is not None


def test_all_are_solid_with_the_last_container(tmp_path: Path) -> None:
    looks = rows(
        "time,container,ice",
        (1.5, "A", "liquid"),
        (1.5, "B", "liquid"),
        (2, "A", "solid"),
        (2.25, "B", "partial"),
        (2.75, "B", "solid"),
    )
    found = results(tmp_path, looks, burner=THREE_HOURS, water=WATER | {"containers": 2})
    assert found["ice_making_time"].interval == (2.25, 2.75)
    assert "containers-not-seen" not in codes(found)
    said = next(str(finding.message) for finding in found.findings if finding.code == "containers")
    assert said.startswith("2 of 2 containers were seen solid, the first by 2 h and the last by 2.75 h")


def test_container_seen_only_once_solid_does_not_hide_what_another_tells(tmp_path: Path) -> None:
    # A was not solid at 2 h, so all were solid after that; B was solid when first looked at.
    looks = rows("time,container,ice", (2, "A", "partial"), (2.25, "A", "solid"), (2.5, "B", "solid"))
    found = results(tmp_path, looks, burner=THREE_HOURS, water=WATER)
    assert found["ice_making_time"].interval == (2, 2.5)


def test_look_without_a_name_speaks_of_all_containers(tmp_path: Path) -> None:
    looks = rows("time,container,ice", (1.5, "A", "liquid"), (1.5, "B", "partial"), (2.5, "", "solid"))
    found = results(tmp_path, looks, burner=THREE_HOURS, water=WATER)
    assert found["ice_making_time"].interval == (1.5, 2.5)


def test_containers_nobody_looked_at_are_a_finding(tmp_path: Path) -> None:
    looks = rows("time,container,ice", (2, "A", "partial"), (2.25, "A", "solid"))
    assert "containers-not-seen" in codes(results(tmp_path, looks, burner=THREE_HOURS, water=WATER | {"containers": 3}))


def test_solid_at_the_first_look_is_at_most_so_long(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "solid"})
    assert "first look" in reason(found["ice_making_time"])
    assert found["ice_making_time"].at_most == 2
    assert found["freezing_time"].at_most == 1.5
    assert not found["ice_making_capacity"].is_given


def test_never_solid_is_at_least_so_long(tmp_path: Path) -> None:
    found = of(tmp_path, {1: "liquid", 2.9: "70%"})
    assert "not solid" in reason(found["ice_making_time"])
    assert found["ice_making_time"].at_least == pytest.approx(2.9)
    assert found["freezing_time"].at_least == pytest.approx(2.4)
    assert not found["cooling_power"].is_given


def test_look_before_the_water_was_in_is_no_negative_time(tmp_path: Path) -> None:
    assert of(tmp_path, {0.25: "liquid"})["freezing_time"].at_least == 0


def test_solid_then_liquid_is_solid_when_it_stays(tmp_path: Path) -> None:
    found = of(tmp_path, {1: "liquid", 1.5: "solid", 2: "partial", 2.5: "solid"})
    assert found["ice_making_time"].interval == (2, 2.5)
    assert "solid-then-not" in codes(found)


def test_thaw_after_the_run_is_no_ice_unmade(tmp_path: Path) -> None:
    found = of(tmp_path, {1: "liquid", 2.5: "solid", 5: "partial", 7: "liquid"})
    assert found["ice_making_time"].interval == (1, 2.5)
    assert "solid-then-not" not in codes(found)
    partly = of(tmp_path / "partly", {1: "liquid", 3.1: "60%", 5: "20%", 7: "liquid"})
    assert partly["ice_mass"].value == pytest.approx(0.6)


def test_nobody_looked(tmp_path: Path) -> None:
    found = results(tmp_path, burner=THREE_HOURS, water=WATER)
    assert not found["ice_making_time"].is_given
    found = results(tmp_path, column("ambient_temperature [degC]", {0: 20, 3: 20}), burner=THREE_HOURS, water=WATER)
    assert "nobody looked" in reason(found["ice_making_time"])
    assert "nobody looked" in reason(found["ice_mass"])


def test_water_placed_before_lighting(tmp_path: Path) -> None:
    found = of(tmp_path, {1: "partial", 2: "solid"}, placed="08:30")
    assert found["ice_making_time"].value == 1.5
    assert found["freezing_time"].value == 2


def test_placing_not_recorded_leaves_the_making_time(tmp_path: Path) -> None:
    found = of(tmp_path, {1: "partial", 2: "solid"}, placed=None)
    assert found["ice_making_time"].value == 1.5
    assert "water.placed" in reason(found["freezing_time"])


# How much


def test_weighed_ice_is_measured(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "partial", 2.5: "solid"}, ice_mass="0.95 +/- 0.01 kg")
    assert found["ice_mass"].value == 0.95
    assert found["ice_mass"].standard_uncertainty == pytest.approx(0.01)
    assert found["ice_mass"].basis == "measured"


def test_solid_ice_nobody_weighed_is_all_the_water_and_assumed(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "partial", 2.5: "solid"})
    assert found["ice_mass"].value == pytest.approx(1)
    assert found["ice_mass"].standard_uncertainty == pytest.approx(0.01)
    assert found["ice_mass"].basis == "assumed"
    assert "share frozen" in names(found["ice_mass"])


def test_percent_frozen_is_judged_by_eye(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "40%", 2.9: "60"})
    assert found["ice_mass"].value == pytest.approx(0.6)
    # Limits of fifteen percentage points, and one percent of the water.
    assert found["ice_mass"].standard_uncertainty == pytest.approx((0.15**2 / 3 + 0.006**2) ** 0.5)
    assert found["ice_mass"].basis == "assumed"


@pytest.mark.parametrize(("share", "limits"), [(5, 0.05), (15, 0.15), (90, 0.1), (99, 0.05)])
def test_a_share_judged_by_eye_is_within_the_water(tmp_path: Path, share: int, limits: float) -> None:
    found = of(tmp_path, {2.9: f"{share} %"})["ice_mass"]
    assert found.standard_uncertainty == pytest.approx((limits**2 / 3 + (0.01 * found.value) ** 2) ** 0.5)


def test_containers_seen_by_one_eye_share_half_of_its_variance(tmp_path: Path) -> None:
    looks = rows("time,container,ice", *((2.9, name, "50%") for name in "ABCD"))
    found = results(tmp_path, looks, burner=THREE_HOURS, water=WATER)["ice_mass"]
    of_four = (0.15**2 / 3) * (1 / 2 + 1 / 2 / 4)
    assert found.standard_uncertainty == pytest.approx((of_four + 0.005**2) ** 0.5)


def test_containers_count_alike(tmp_path: Path) -> None:
    looks = rows("time,container,ice", (2.9, "A", "solid"), (2.9, "B", "50%"), (2.9, "C", "liquid"), (2.9, "D", "90%"))
    found = results(tmp_path, looks, burner=THREE_HOURS, water=WATER)
    assert found["ice_mass"].value == pytest.approx((1 + 0.5 + 0.9) / 4)


def test_partial_without_a_number_is_at_most_all(tmp_path: Path) -> None:
    found = of(tmp_path, {2.9: "partial"})
    assert "percentage" in reason(found["ice_mass"])
    assert found["ice_mass"].at_most == 1
    weighed = of(tmp_path / "weighed", {2.9: "partial"}, ice_mass="0.4 +/- 0.01 kg")
    assert weighed["ice_mass"].value == 0.4


def test_liquid_is_no_ice(tmp_path: Path) -> None:
    assert "no ice" in reason(of(tmp_path, {2.9: "liquid"})["ice_mass"])


def test_more_ice_than_water_cannot_be(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "partial", 2.5: "solid"}, ice_mass="1.20 +/- 0.01 kg")
    assert "more ice" in reason(found["ice_mass"])
    assert not found["energy_per_ice"].is_given
    within = of(tmp_path / "within", {2: "partial", 2.5: "solid"}, ice_mass="1.02 +/- 0.01 kg")
    assert within["ice_mass"].value == 1.02


def test_water_mass_not_recorded(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "partial", 2.5: "solid"}, mass=None)
    assert "water.mass" in reason(found["water_mass"])
    assert "water.mass" in reason(found["ice_mass"])


# Heat, power, capacity


def test_heat_of_full_freezing(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "partial", 2.5: "solid"}, ice_mass="1.00 +/- 0 kg", mass="1.00 +/- 0 kg")
    assert found["heat_removed"].value == pytest.approx(SENSIBLE + FUSION, abs=0.03)
    assert found["heat_removed"].basis == "derived"


def test_heat_of_partial_freezing_cools_all_the_water(tmp_path: Path) -> None:
    found = of(tmp_path, {2.9: "40%"})
    assert found["heat_removed"].value == pytest.approx(SENSIBLE + 0.4 * FUSION, abs=0.03)


def test_heat_of_cold_ice(tmp_path: Path) -> None:
    # Ice between -10 °C and 0 °C: 2.06 kJ/(kg K) on the mean.
    found = of(tmp_path, {2: "partial", 2.5: "solid"}, ice_temperature="-10 +/- 0 degC")
    assert found["heat_removed"].value == pytest.approx(SENSIBLE + FUSION + 20.6, abs=0.1)


def test_ice_temperature_not_measured_lies_between_cabinet_and_melting_point(tmp_path: Path) -> None:
    cabinet = column("cabinet_temperature [degC]", {0: 20, 1: 0, 2: -10, 2.5: -10, 3: -10})
    found = of(
        tmp_path,
        {2: "partial", 2.5: "solid"},
        cabinet,
        ice_temperature=None,
        mass="1 +/- 0 kg",
        ice_mass="1 +/- 0 kg",
    )
    assert found["heat_removed"].value == pytest.approx(SENSIBLE + FUSION + 10.4, abs=0.1)
    # Limits of 5 K of ice of 2.1 kJ/(kg K).
    assert found["heat_removed"].standard_uncertainty == pytest.approx(5 / 3**0.5 * 2.1, rel=0.02)
    assert found["heat_removed"].basis == "assumed"
    assert "ice temperature" in names(found["heat_removed"])


def test_start_temperature_is_the_first_reading_in_the_water(tmp_path: Path) -> None:
    probe = column("water_temperature [degC]", {0.4: 31, 0.55: 25, 0.7: 18, 1: 9})
    found = of(tmp_path, {2: "partial", 2.5: "solid"}, probe, temperature=None)
    assert found["heat_removed"].value == pytest.approx(SENSIBLE + FUSION, abs=0.03)
    assert "log2.csv:3" in found["heat_removed"].inputs
    assert "log2.csv:2" not in found["heat_removed"].inputs


def test_start_temperature_not_recorded(tmp_path: Path) -> None:
    found = of(tmp_path, {2: "partial", 2.5: "solid"}, temperature=None)
    assert "water.temperature" in reason(found["heat_removed"])


def test_capacity_and_power_take_their_interval_from_the_two_looks(tmp_path: Path) -> None:
    exact = {"mass": "1 +/- 0 kg", "ice_mass": "1 +/- 0 kg"}
    found = of(tmp_path, {1.5: "partial", 2.5: "solid"}, **exact)
    # Frozen in 1 to 2 h after placing: 24 to 12 kg a day; at the middle 16.
    assert found["ice_making_capacity"].value == pytest.approx(16)
    assert found["ice_making_capacity"].interval == pytest.approx((12, 24))
    assert found["ice_making_capacity"].interval_kind == "limits"
    assert found["ice_making_capacity"].method == "extrapolated first batch"
    assert found["ice_making_capacity"].standard_uncertainty == pytest.approx(6 / 3**0.5)
    heat = found["heat_removed"].value
    assert found["cooling_power"].value == pytest.approx(heat / 1.5 / 3.6)
    assert found["cooling_power"].interval == pytest.approx((heat / 2 / 3.6, heat / 3.6))


def test_capacity_adds_the_error_of_the_mass_to_the_ends(tmp_path: Path) -> None:
    found = of(tmp_path, {1.5: "partial", 2.5: "solid"}, mass="1 +/- 0.1 kg", ice_mass="1 +/- 0.1 kg")
    assert found["ice_making_capacity"].interval == pytest.approx((12 - 1.96 * 1.2, 24 + 1.96 * 2.4), rel=1e-4)


def test_liquid_when_placed_and_solid_next_gives_a_capacity_with_a_lower_bound_only(tmp_path: Path) -> None:
    found = of(tmp_path, {0.5: "liquid", 2.5: "solid"}, mass="1 +/- 0 kg", ice_mass="1 +/- 0 kg")
    assert found["freezing_time"].interval == (0, 2)
    assert "nought" in reason(found["ice_making_capacity"])
    assert found["ice_making_capacity"].at_least == pytest.approx(12)
    assert found["cooling_power"].at_least == pytest.approx(found["heat_removed"].value / 2 / 3.6, rel=1e-3)

"""Properties of the water, ice and freezing-time formulas that need no reference."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from reportgen.calc.water import (
    HEAT_OF_FUSION,
    SHAPES,
    heat_removed,
    ice_enthalpy,
    plank_freezing_time,
    water_enthalpy,
)

warm = st.floats(0.0, 90.0)
cold = st.floats(-39.0, 0.0)
masses = st.floats(0.0, 100.0)
shapes = st.sampled_from(SHAPES)
thicknesses = st.floats(0.005, 0.3)
surfaces = st.floats(2.0, 500.0)


def test_enthalpies_are_counted_from_zero_degrees() -> None:
    assert water_enthalpy(0.0) == 0.0
    assert ice_enthalpy(0.0) == 0.0


@given(warm, st.floats(0.01, 10.0))
def test_warmer_water_holds_more_heat_by_about_4_2_per_kelvin(temperature: float, step: float) -> None:
    gained = water_enthalpy(temperature + step) - water_enthalpy(temperature)
    assert 4.17 * step < gained < 4.23 * step


@given(cold, st.floats(0.01, 1.0))
def test_colder_ice_holds_less_heat_by_about_2_per_kelvin(temperature: float, step: float) -> None:
    lost = ice_enthalpy(temperature) - ice_enthalpy(temperature - step)
    assert 1.80 * step < lost < 2.10 * step


@given(warm, warm)
def test_warming_gives_back_what_cooling_took(first: float, second: float) -> None:
    cooling = heat_removed(1.0, 0.0, first, 0.0) - heat_removed(1.0, 0.0, second, 0.0)
    warming = heat_removed(1.0, 0.0, second, 0.0) - heat_removed(1.0, 0.0, first, 0.0)
    assert cooling == -warming
    assert (cooling > 0) == (first > second) or cooling == 0


@given(masses, st.floats(0.0, 1.0), warm, cold)
def test_doubling_the_mass_doubles_the_heat(mass: float, frozen: float, start: float, end: float) -> None:
    heat = heat_removed(mass, frozen * mass, start, end)
    assert heat >= 0
    assert heat_removed(2 * mass, 2 * frozen * mass, start, end) == pytest.approx(2 * heat)


@given(masses, masses, warm, cold)
def test_two_containers_give_the_heat_of_one(first: float, second: float, start: float, end: float) -> None:
    together = heat_removed(first + second, first + second, start, end)
    apart = heat_removed(first, first, start, end) + heat_removed(second, second, start, end)
    assert together == pytest.approx(apart)


@given(masses, warm, cold)
def test_unfrozen_water_gives_its_sensible_heat_only(mass: float, start: float, end: float) -> None:
    assert heat_removed(mass, 0.0, start, end) == pytest.approx(mass * water_enthalpy(start))


def test_half_frozen_lies_half_way() -> None:
    none, half, all_of_it = (heat_removed(2.0, frozen, 24.0, -6.0) for frozen in (0.0, 1.0, 2.0))
    assert half == pytest.approx((none + all_of_it) / 2)
    assert all_of_it - half == pytest.approx(HEAT_OF_FUSION - ice_enthalpy(-6.0))


@given(st.floats(0.1, 5.0), st.floats(0.1, 60.0), st.floats(-30.0, -0.1))
def test_numbers_with_uncertainty_keep_the_value(mass: float, start: float, end: float) -> None:
    water = ufloat(mass, 0.01)
    heat = heat_removed(water, water, ufloat(start, 0.5), ufloat(end, 1.0))
    assert heat.nominal_value == pytest.approx(heat_removed(mass, mass, start, end), rel=1e-12)
    expected = (
        (0.01 * heat.nominal_value / mass) ** 2
        + (mass * 0.5 * 4.194) ** 2  # heat capacity of water, within 0.6 %
        + (mass * 1.0 * 1.99) ** 2  # and of ice, within 6 %
    ) ** 0.5
    assert heat.std_dev == pytest.approx(expected, rel=0.04)


def test_arrays_give_what_their_elements_give() -> None:
    start = np.array([5.0, 20.0, 35.0])
    expected = [heat_removed(1.2, 1.1, value, -4.0) for value in start.tolist()]
    assert heat_removed(1.2, 1.1, start, np.full(3, -4.0)) == pytest.approx(expected, rel=1e-14)


@given(shapes, thicknesses, surfaces, st.floats(-30.0, -1.0))
def test_freezing_time_is_shorter_when_colder_thinner_or_better_cooled(
    shape: str, thickness: float, surface: float, surroundings: float
) -> None:
    time = plank_freezing_time(shape, thickness, 0.0, surroundings, surface)
    assert time > 0
    assert plank_freezing_time(shape, thickness, 0.0, 2 * surroundings, surface) == pytest.approx(time / 2)
    assert plank_freezing_time(shape, thickness, 0.0, surroundings, 2 * surface) < time
    # between thickness (air decides) and its square (ice decides)
    assert 2 * time < plank_freezing_time(shape, 2 * thickness, 0.0, surroundings, surface) < 4 * time


@given(thicknesses, surfaces)
def test_slab_cylinder_and_sphere_take_6_to_3_to_2(thickness: float, surface: float) -> None:
    times = [plank_freezing_time(shape, thickness, 0.0, -10.0, surface) for shape in ("slab", "cylinder", "sphere")]
    assert [time / times[2] for time in times] == pytest.approx([3.0, 1.5, 1.0])


@given(shapes, thicknesses, surfaces, st.floats(0.1, 10.0))
def test_freezing_time_does_not_depend_on_the_unit_of_length(
    shape: str, thickness: float, surface: float, scale: float
) -> None:
    # a length unit 1/scale as long: h grows as 1/length2, k as 1/length, density as 1/length3
    time = plank_freezing_time(shape, thickness, 0.0, -10.0, surface, 2.2, 917.0, 333.0)
    other = plank_freezing_time(
        shape, thickness * scale, 0.0, -10.0, surface / scale**2, 2.2 / scale, 917.0 / scale**3, 333.0
    )
    assert other == pytest.approx(time)


def test_freezing_time_carries_uncertainty() -> None:
    time = plank_freezing_time("slab", 0.04, 0.0, ufloat(-12.0, 1.2), 15.0)
    assert time.nominal_value == pytest.approx(plank_freezing_time("slab", 0.04, 0.0, -12.0, 15.0))
    assert time.std_dev == pytest.approx(0.1 * time.nominal_value)


@pytest.mark.parametrize("temperature", [-0.1, 100.5, float("nan")])
def test_water_outside_its_range_is_refused(temperature: float) -> None:
    with pytest.raises(ValueError, match=r"temperature of the water \[degC\]"):
        water_enthalpy(temperature)


@pytest.mark.parametrize("temperature", [0.1, -41.0])
def test_ice_outside_its_range_is_refused(temperature: float) -> None:
    with pytest.raises(ValueError, match=r"temperature of the ice \[degC\]"):
        ice_enthalpy(temperature)


def test_negative_masses_are_refused() -> None:
    with pytest.raises(ValueError, match=r"mass of water \[kg\] is -1"):
        heat_removed(-1.0, 0.0, 20.0, 0.0)
    with pytest.raises(ValueError, match=r"mass of ice \[kg\] is -1"):
        heat_removed(1.0, -1.0, 20.0, 0.0)


def test_freezing_into_warm_surroundings_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above the surroundings"):
        plank_freezing_time("slab", 0.04, 0.0, 0.0, 15.0)


def test_an_unknown_shape_is_refused_and_the_known_ones_are_named() -> None:
    with pytest.raises(ValueError, match=r'"cube".*slab, cylinder, sphere'):
        plank_freezing_time("cube", 0.04, 0.0, -12.0, 15.0)


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"thickness": 0.0}, "thickness"),
        ({"heat_transfer_coefficient": -1.0}, "heat transfer coefficient"),
        ({"conductivity": 0.0}, "conductivity"),
        ({"density": 0.0}, "density"),
        ({"latent_heat": 0.0}, "latent heat"),
    ],
)
def test_sizes_and_properties_must_be_positive(changed: dict[str, float], name: str) -> None:
    inputs = {
        "thickness": 0.04,
        "freezing_temperature": 0.0,
        "surroundings_temperature": -12.0,
        "heat_transfer_coefficient": 15.0,
    }
    with pytest.raises(ValueError, match=f"the {name} .* must be above zero"):
        plank_freezing_time("slab", **{**inputs, **changed})

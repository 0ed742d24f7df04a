"""The reversible limit of a heat-driven refrigerator against textbook examples."""

from __future__ import annotations

import pytest
from printed import as_printed

from reportgen.calc.absorption import reversible_cop


@pytest.mark.parametrize(
    ("source", "surroundings", "cold", "printed"),
    [
        pytest.param(150.0, 25.0, -15.0, "1.906", id="cengel-boles-chapter-11-example"),
        # the book works in whole kelvin; that changes nothing in the digits printed
        pytest.param(95.0, 19.0, 0.0, "2.97", id="cengel-boles-chapter-11-problem-95C"),
        pytest.param(120.0, 25.0, 0.0, "2.64", id="cengel-boles-chapter-11-problem-120C"),
        pytest.param(100.0, 30.0, -10.0, "1.234", id="openstax-university-physics-2-4.7"),
        # a source so hot that its heat is as good as work: a Carnot refrigerator alone
        pytest.param(1e9, 25.0, 0.0, "10.9", id="openstax-university-physics-2-4.5"),
    ],
)
def test_reversible_limit(source: float, surroundings: float, cold: float, printed: str) -> None:
    assert reversible_cop(source, surroundings, cold) == as_printed(printed)


def test_generator_heat_and_second_law_efficiency() -> None:
    # Cengel and Boles, Thermodynamics, chapter 11: 70 kW of cold; an actual coefficient of 0.7
    limit = reversible_cop(150.0, 25.0, -15.0)
    assert 70.0 / limit == as_printed("36.72")
    assert 0.7 / limit == as_printed("0.367")


def test_a_claim_above_the_limit_is_false() -> None:
    # Cengel and Boles, Thermodynamics, chapter 11: claimed 3.1 with a source at 95 °C
    assert reversible_cop(95.0, 19.0, 0.0) < 3.1


def test_heat_for_200_joules_of_work() -> None:
    # OpenStax University Physics volume 2, section 4.5: prints 2.18 kJ because it takes 10.9 for 10.93
    assert 0.200 * reversible_cop(1e9, 25.0, 0.0) == as_printed("2.185")


@pytest.mark.parametrize("source", [95.0, 150.0, 200.0])
@pytest.mark.parametrize("cold", [-20.0, 0.0])
def test_the_second_form_of_the_limit_agrees(source: float, cold: float) -> None:
    hot, middle, low = source + 273.15, 30.0 + 273.15, cold + 273.15
    assert reversible_cop(source, 30.0, cold) == pytest.approx(low / hot * (hot - middle) / (middle - low))

"""Least squares against data sets with certified values (NIST Statistical Reference Datasets)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reportgen.calc.response import least_squares_step
from reportgen.calc.response_search import inverse_normal_matrix
from reportgen.calc.series import Line, least_squares_line

# StRD, nonlinear regression, Misra1a: y = b1 (1 - exp(-b2 x)), 14 points, lower difficulty.
MISRA1A_Y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
MISRA1A_X = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
MISRA1A_B1, MISRA1A_B1_SD = 238.94212918, 2.7070075241
MISRA1A_B2, MISRA1A_B2_SD = 5.5015643181e-04, 7.2668688436e-06
MISRA1A_SQUARES, MISRA1A_SD, MISRA1A_FREEDOM = 0.12455138894, 0.10187876330, 12

# StRD, linear regression, Norris: y = B0 + B1 x, 36 points (y, x).
NORRIS = """
0.1 0.2; 338.8 337.4; 118.1 118.2; 888.0 884.6; 9.2 10.1; 228.1 226.5; 668.5 666.3; 998.5 996.3; 449.1 448.6;
778.9 777.0; 559.2 558.2; 0.3 0.4; 0.1 0.6; 778.1 775.5; 668.8 666.9; 339.3 338.0; 448.9 447.5; 10.8 11.6;
557.7 556.0; 228.3 228.1; 998.0 995.8; 888.8 887.6; 119.6 120.2; 0.3 0.3; 0.6 0.3; 557.6 556.8; 339.3 339.1;
888.0 887.2; 998.5 999.0; 778.9 779.0; 10.2 11.1; 117.6 118.3; 228.9 229.2; 668.4 669.1; 449.2 448.9; 0.2 0.5
"""

CERTIFIED = 1e-6  # relative: more digits than any reading of a trial could ask for
EXACT = 1e-10  # relative: of linear fits, whose certified values have 15 digits


@pytest.mark.parametrize(
    "guess",
    [
        # The published starts of b2, as time constants; b1 needs none, for the curve is linear in it.
        pytest.param((1 / 0.0001, 0.0), id="nist-misra1a-start-1"),
        pytest.param((1 / 0.0005, 0.0), id="nist-misra1a-start-2"),
        pytest.param(None, id="nist-misra1a-own-search"),
    ],
)
@pytest.mark.parametrize("start", [0.0, 100.0])
def test_misra1a_turned_round_as_a_falling_curve(guess: tuple[float, float] | None, start: float) -> None:
    falling = start - np.array(MISRA1A_Y)
    fit = least_squares_step(MISRA1A_X, falling, allow_delay=False, known_start=start, guess=guess)
    _, floor, time_constant, delay = fit.parameters
    assert start - floor == pytest.approx(MISRA1A_B1, rel=CERTIFIED)
    assert 1 / time_constant == pytest.approx(MISRA1A_B2, rel=CERTIFIED)
    assert delay == 0
    assert fit.residual_sum_of_squares == pytest.approx(MISRA1A_SQUARES, rel=CERTIFIED)
    assert len(MISRA1A_X) - len(fit.free) == MISRA1A_FREEDOM
    sd = math.sqrt(fit.residual_sum_of_squares / MISRA1A_FREEDOM)
    assert sd == pytest.approx(MISRA1A_SD, rel=CERTIFIED)
    floor_sd, constant_sd = sd * np.sqrt(np.diag(inverse_normal_matrix(fit.jacobian)))
    assert floor_sd == pytest.approx(MISRA1A_B1_SD, rel=CERTIFIED)
    assert constant_sd / time_constant**2 == pytest.approx(MISRA1A_B2_SD, rel=CERTIFIED)


def test_norris_line() -> None:
    pairs = np.array([[float(number) for number in point.split()] for point in NORRIS.split(";")])
    assert pairs.shape == (36, 2)
    line = least_squares_line(pairs[:, 1], pairs[:, 0])
    assert line.intercept == pytest.approx(-0.262323073774029, rel=EXACT)
    assert line.slope == pytest.approx(1.00211681802045, rel=EXACT)
    assert line.intercept_uncertainty == pytest.approx(0.232818234301152, rel=EXACT)
    assert line.slope_uncertainty == pytest.approx(0.000429796848199937, rel=EXACT)
    assert line.determination == pytest.approx(0.999993745883712, rel=EXACT)
    assert line.residual_sum_of_squares == pytest.approx(26.6173985294224, rel=EXACT)
    assert line.residual_sd**2 == pytest.approx(0.782864662630069, rel=EXACT)
    assert line.degrees_of_freedom == 34


@pytest.mark.parametrize(
    ("x", "y", "slope", "slope_sd", "residual_sd", "freedom"),
    [
        pytest.param(
            list(range(60, 71)),
            list(range(130, 141)),
            2.07438016528926,
            0.0165289256198347,
            3.56753034006338,
            10,
            id="nist-noint1",
        ),
        pytest.param(
            [4, 5, 6],
            [3, 4, 4],
            0.727272727272727,
            0.0420827318078432,
            0.369274472937998,
            2,
            id="nist-noint2",
        ),
    ],
)
def test_lines_through_the_origin(
    x: list[float], y: list[float], slope: float, slope_sd: float, residual_sd: float, freedom: int
) -> None:
    line: Line = least_squares_line(x, y, through_origin=True)
    assert line.intercept == 0
    assert line.slope == pytest.approx(slope, rel=EXACT)
    assert line.slope_uncertainty == pytest.approx(slope_sd, rel=EXACT)
    assert line.residual_sd == pytest.approx(residual_sd, rel=EXACT)
    assert line.degrees_of_freedom == freedom

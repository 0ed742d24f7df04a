"""Statistics of comparisons against published worked examples; the data are from memory where it says so."""

from __future__ import annotations

import math

import pytest
from printed import as_printed
from test_gum import TEMPERATURES

from reportgen.comparison.censored import distribution
from reportgen.comparison.statistics import across_sites, mean_interval, next_interval, repeats

# BCG vaccine trials (Colditz and others 1994), cases and others in the treated and the control group: the usual example
# of meta-analysis. From memory, as are the results: W. Viechtbauer, Journal of Statistical Software 36 (2010) 3, and
# the documentation of his program.
BCG = """
4 119 11 128; 6 300 29 274; 3 228 11 209; 62 13536 248 12619; 33 5036 47 5761; 180 1361 372 1079; 8 2537 10 619;
505 87886 499 87892; 29 7470 45 7232; 17 1699 65 1600; 186 50448 141 27197; 5 2493 3 2338; 27 16886 29 17825
"""
# Cosmetic deterioration after radiotherapy alone (Finkelstein and Wolfe 1985), months; inf is not seen to the end.
# From memory, as is the estimate, which is printed with the data in the literature on interval censoring.
RADIOTHERAPY = """
45- 6:10 0:7 46- 46- 7:16 17- 7:14 37:44 0:8 4:11 15- 11:15 22- 46- 46- 25:37 46- 26:40 46- 27:34 36:44 46- 36:48 37-
40- 17:25 46- 11:18 38- 5:12 37- 0:5 18- 24- 36- 5:11 19:35 17:25 24- 32- 33- 19:26 37- 34- 36-
"""


def limits(text: str) -> list[tuple[float, float]]:
    pairs = [word.removesuffix("-").partition(":") for word in text.split()]
    return [(float(low), float(high) if high else math.inf) for low, _, high in pairs]


def test_interval_of_a_mean_nist() -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2 (heat flow meter): all three as printed.
    # The mean that goes in is itself rounded: half a unit for it, half a unit for what comes out.
    low, high = mean_interval(9.261460, 0.2278881e-01, 195)
    assert (low, high) == pytest.approx((9.258242, 9.264679), rel=0, abs=1e-6)


def test_mean_and_standard_deviation_gum() -> None:
    found = repeats(TEMPERATURES)  # JCGM 100:2008, 4.4.3
    assert found.mean == pytest.approx(100.14, abs=0.006)  # 100.145, printed as 100.14
    assert found.sd == as_printed("1.489")
    assert found.sd is not None
    assert found.sd / math.sqrt(found.n) == as_printed("0.333")


@pytest.mark.parametrize(
    ("n", "factor"),
    [
        # Factors of two-sided prediction for one more observation, e.g. in Hahn and Meeker, Statistical Intervals,
        # table A.13, for n = 5 and 10 (from memory).
        (5, "3.04"),
        (10, "2.37"),
    ],
)
def test_factors_of_prediction(n: int, factor: str) -> None:
    assert next_interval(0.0, 1.0, n)[1] == as_printed(factor)


def test_sites_by_paule_and_mandel() -> None:
    tables = [[int(number) for number in table.split()] for table in BCG.split(";")]
    ratios = [math.log(a / (a + b) / (c / (c + d))) for a, b, c, d in tables]
    variances = [1 / a - 1 / (a + b) + 1 / c - 1 / (c + d) for a, b, c, d in tables]
    found = across_sites(ratios, variances)
    assert found.k == 13
    assert found.between_sd**2 == as_printed("0.3181")
    assert found.mean == as_printed("-0.7150")
    standard_error = (found.interval[1] - found.mean) / 2.178813  # Student's t, 12 degrees of freedom
    assert standard_error == as_printed("0.1809")


def test_times_between_looks_by_turnbull() -> None:
    found = distribution(limits(RADIOTHERAPY))
    assert len(limits(RADIOTHERAPY)) == 46
    printed = [
        (4, 5, "0.0463"),
        (6, 7, "0.0334"),
        (7, 8, "0.0887"),
        (11, 12, "0.0708"),
        (24, 25, "0.0926"),
        (33, 34, "0.0818"),
        (38, 40, "0.1209"),
        (46, 48, "0.4656"),
    ]
    assert [(low, high) for low, high, _ in found] == [(low, high) for low, high, _ in printed]
    for (_, _, share), (_, _, text) in zip(found, printed, strict=True):
        assert share == as_printed(text)

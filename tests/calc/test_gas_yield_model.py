"""The first-order model of a digester against plain least squares, and its pooling of rates against mixtures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize, stats

from reportgen.calc.digester_log import Reason
from reportgen.calc.gas_yield_model import FirstOrderYield, first_order_yield

DAYS = 28
FEED_TIMES = np.arange(DAYS) + 1 / 3
MASSES = np.where(np.arange(DAYS) < 10, 5.0, 9.0)
GAS_TIMES = np.arange(DAYS) + 0.5
#: Gas of 120 L/kg at 0.2 per day, 800 L of it still to come from feed before the log, with 3 % of noise.
TRUE_GAS = 120 * (
    np.exp(-0.2 * np.clip(GAS_TIMES[:, None] - 1 - FEED_TIMES, 0, None))
    - np.exp(-0.2 * np.clip(GAS_TIMES[:, None] - FEED_TIMES, 0, None))
) @ MASSES + 800 * (np.exp(-0.2 * (GAS_TIMES - 1)) - np.exp(-0.2 * GAS_TIMES))
GAS = TRUE_GAS * (1 + 0.03 * np.random.default_rng(3).standard_normal(DAYS))


def modelled(*rates: float, gas: np.ndarray = GAS) -> FirstOrderYield:
    found = first_order_yield(FEED_TIMES, MASSES, GAS_TIMES, gas, rates)
    assert isinstance(found, FirstOrderYield)
    return found


def by_hand(rate: float, gas: np.ndarray) -> tuple[float, float, float, np.ndarray]:
    """Return yield, its standard error for independent noise, gas from before, and residuals, term by term."""
    rows = []
    for end in GAS_TIMES[1:]:
        begin = end - 1
        from_feed = 0.0
        for fed_at, mass in zip(FEED_TIMES, MASSES, strict=True):
            if fed_at < end:
                from_feed += mass * (math.exp(-rate * max(begin - fed_at, 0)) - math.exp(-rate * (end - fed_at)))
        since = begin - GAS_TIMES[0]
        rows.append((from_feed, math.exp(-rate * since) - math.exp(-rate * (since + 1))))
    design = np.array(rows)
    solution, _ = optimize.nnls(design, gas[1:])
    residuals = gas[1:] - design @ solution
    variance = float(residuals @ residuals) / (len(rows) - 2)
    known = np.linalg.inv(design.T @ design)
    before = float(design[:, 1].sum() * solution[1] / (design @ solution).sum())
    return float(solution[0]), math.sqrt(variance * known[0, 0]), before, residuals


def widening(residuals: np.ndarray) -> float:
    """Return (1 + r) / (1 - r) for the correlation of neighbours, put right for a short series."""
    count = len(residuals)
    raw = float(residuals[1:] @ residuals[:-1]) / float(residuals @ residuals)
    alike = min(max((count * raw + 3) / (count - 4), 0.0), 0.85)
    return (1 + alike) / (1 - alike)


@pytest.mark.parametrize("rate", [0.1, 0.2, 0.3])
def test_one_rate_is_plain_least_squares(rate: float) -> None:
    found = modelled(rate)
    value, error, before, residuals = by_hand(rate, GAS)
    freedom = DAYS - 1 - 2
    assert found.value == pytest.approx(value)
    spread = error * math.sqrt(widening(residuals))
    # Student's t is wider than a normal distribution of the same standard error.
    assert found.standard_uncertainty == pytest.approx(spread * math.sqrt(freedom / (freedom - 2)))
    reach = float(stats.t(freedom).ppf(0.975)) * spread
    assert found.interval_95 == pytest.approx((value - reach, value + reach), rel=1e-4)
    assert found.background_share == pytest.approx(before)
    assert (found.rate, found.rates, found.gas_rows) == (pytest.approx(rate), (rate, rate), DAYS - 1)


def test_gas_that_fits_too_well_is_taken_to_be_known_to_two_percent() -> None:
    found = modelled(0.2, gas=TRUE_GAS)
    _, _, _, residuals = by_hand(0.2, TRUE_GAS)
    assert found.value == pytest.approx(120)
    assert np.abs(residuals).max() < 1e-6
    noisy = modelled(0.2, gas=TRUE_GAS * (1 + 0.02 * (-1.0) ** np.arange(DAYS)))
    # Noise of 2 % by turns leaves little more than 2 % after the fit, and does not widen.
    assert found.standard_uncertainty == pytest.approx(noisy.standard_uncertainty, rel=0.35)


def test_rates_are_pooled_as_a_mixture() -> None:
    rates = (0.17, 0.18)
    one, other = (modelled(rate) for rate in rates)
    pooled = modelled(*rates)
    weight = (pooled.rate - rates[1]) / (rates[0] - rates[1])
    assert 0.02 < weight < 0.98
    weights = np.array([weight, 1 - weight])
    values = np.array([one.value, other.value])
    variances = np.array([one.standard_uncertainty, other.standard_uncertainty]) ** 2
    assert pooled.value == pytest.approx(float(weights @ values))
    assert pooled.background_share == pytest.approx(float(weights @ [one.background_share, other.background_share]))
    spread = float(weights @ (variances + (values - pooled.value) ** 2))
    assert pooled.standard_uncertainty == pytest.approx(math.sqrt(spread))
    freedom = DAYS - 3
    scales = np.sqrt(variances * (freedom - 2) / freedom)
    for end, below in zip(pooled.interval_95, (0.025, 0.975), strict=True):
        assert float(weights @ stats.t(freedom).cdf((end - values) / scales)) == pytest.approx(below, abs=1e-4)


def test_rates_weigh_by_likelihood_with_the_fit_integrated_out() -> None:
    rates, logs, scale = (0.17, 0.18), [], GAS[1:].mean()
    for rate in rates:
        _, _, _, residuals = by_hand(rate, GAS)
        assert widening(residuals) == pytest.approx(1.0, abs=0.01)  # neighbours hardly agree: all days count
        shape = by_hand_design(rate) / scale
        determinant = float(np.linalg.det(shape.T @ shape))
        misfit = float(residuals @ residuals) / scale**2 / (DAYS - 3)
        logs.append(-0.5 * (DAYS - 3) / widening(residuals) * math.log(misfit) - 0.5 * math.log(determinant))
    weight = 1 / (1 + math.exp(logs[1] - logs[0]))
    assert 0.1 < weight < 0.9
    assert modelled(*rates).rate == pytest.approx(weight * rates[0] + (1 - weight) * rates[1])


def by_hand_design(rate: float) -> np.ndarray:
    """Return gas per kilogram and gas from before, by the day."""
    ends, begins = GAS_TIMES[1:, None], GAS_TIMES[:-1, None]
    left = [np.exp(-rate * np.clip(at - FEED_TIMES, 0, None)) @ MASSES for at in (begins, ends)]
    since = GAS_TIMES - GAS_TIMES[0]
    return np.column_stack((left[0] - left[1], np.exp(-rate * since[:-1]) - np.exp(-rate * since[1:])))


def test_gas_of_feed_alone_needs_no_gas_from_before_and_none_is_negative() -> None:
    ends = GAS_TIMES[:, None]
    released = np.exp(-0.2 * np.clip(ends - 1 - FEED_TIMES, 0, None)) - np.exp(
        -0.2 * np.clip(ends - FEED_TIMES, 0, None)
    )
    young = 120 * released @ MASSES
    faster = modelled(0.3, gas=young)  # at a faster rate less than nothing would have to come from before
    value, _, before, _ = by_hand(0.3, young)
    assert faster.background_share == before == 0
    assert faster.value == pytest.approx(value, rel=1e-3)


@pytest.mark.parametrize("rate", [0.1, 0.3])
@pytest.mark.parametrize(
    "gas",
    [
        pytest.param(np.linspace(50, 1500, DAYS), id="rising"),
        pytest.param(np.linspace(0, 40, DAYS) ** 2, id="rising ever faster"),
        pytest.param(800.0 * (np.arange(DAYS) > 12), id="from the thirteenth day on"),
    ],
)
def test_any_gas_is_fitted_as_well_as_yields_that_are_not_negative_can(rate: float, gas: np.ndarray) -> None:
    found = first_order_yield(FEED_TIMES, MASSES, GAS_TIMES, gas, (rate,))
    value, _, before, _ = by_hand(rate, gas)
    if isinstance(found, FirstOrderYield):
        assert found.value == pytest.approx(value, rel=1e-6)
        assert found.background_share == pytest.approx(before, abs=1e-9)
    else:
        assert found.code == "not_constrained"


def test_gas_read_twice_a_day_is_added_up_to_days() -> None:
    times = np.sort(np.concatenate((GAS_TIMES, GAS_TIMES + 0.3)))
    halves = np.repeat(GAS, 2) / 2
    found = first_order_yield(FEED_TIMES, MASSES, times, halves, (0.2,))
    assert isinstance(found, FirstOrderYield)
    assert found.gas_rows == DAYS - 1
    # The rest of 0.3 d at the end is left out, and each day has half of its gas from the day before.
    days = np.concatenate(([GAS[0]], (GAS[:-1] + GAS[1:]) / 2))
    assert found.value == pytest.approx(modelled(0.2, gas=days).value)


def test_gas_beyond_the_feed_log_is_left_out() -> None:
    # Days fed each morning: a reading may follow the last by a day and a quarter, and not by more.
    for later, rows in ((1.24, DAYS), (1.26, DAYS - 1)):
        times = np.append(GAS_TIMES, FEED_TIMES[-1] + later)
        found = first_order_yield(FEED_TIMES, MASSES, times, np.append(GAS, 500.0), (0.2,))
        assert isinstance(found, FirstOrderYield)
        assert found.gas_rows == rows


def test_gas_before_the_feed_log_is_left_out() -> None:
    # Of five rows before, one begins less than a day and a quarter before the first feed.
    times = np.concatenate((np.arange(-4.5, 0.0), GAS_TIMES))
    found = first_order_yield(FEED_TIMES, MASSES, times, np.concatenate((np.full(5, 500.0), GAS)), (0.2,))
    assert isinstance(found, FirstOrderYield)
    assert found.gas_rows == DAYS


@pytest.mark.parametrize(("rows", "is_enough"), [(11, True), (10, False)])
def test_ten_rows_and_the_first_are_needed(rows: int, is_enough: bool) -> None:
    chosen = np.round(np.linspace(0, DAYS - 1, rows)).astype(int)
    gas = np.diff(np.cumsum(GAS)[chosen], prepend=0.0)
    found = first_order_yield(FEED_TIMES, MASSES, GAS_TIMES[chosen], gas, (0.2,))
    if is_enough:
        assert isinstance(found, FirstOrderYield)
        assert found.gas_rows == rows - 1
    else:
        assert found == Reason("gas_rows_few", {"rows": rows - 1, "needed_rows": 10})


def test_rows_three_quarters_of_a_day_apart_are_left_as_they_are() -> None:
    times = 0.5 + 0.75 * np.arange(36)
    gas = np.diff(np.interp(times, GAS_TIMES, np.cumsum(GAS)), prepend=0.0)
    found = first_order_yield(FEED_TIMES, MASSES, times, gas, (0.2,))
    assert isinstance(found, FirstOrderYield)
    assert found.gas_rows == 35


def test_a_very_small_digester_has_its_yield() -> None:
    found = first_order_yield(FEED_TIMES, MASSES / 1000, GAS_TIMES, GAS / 1e6, (0.2,))
    assert isinstance(found, FirstOrderYield)
    assert found.value == pytest.approx(modelled(0.2).value / 1000)
    assert found.interval_95 == pytest.approx(np.array(modelled(0.2).interval_95) / 1000)


def test_gas_that_ceases_as_if_nothing_were_fed_tells_no_yield() -> None:
    gas = 500 * np.exp(-0.4 * np.arange(DAYS))
    found = first_order_yield(FEED_TIMES, MASSES, GAS_TIMES, gas, (0.2,))
    assert found == Reason("not_constrained", {"relative_standard_uncertainty": math.inf})


def test_how_little_is_told_is_said_as_a_share_whatever_the_unit() -> None:
    erratic = np.abs(np.random.default_rng(2).standard_cauchy(DAYS)) * 100.0
    one, other = (first_order_yield(FEED_TIMES, MASSES, GAS_TIMES, erratic * unit) for unit in (1.0, 1e-6))
    assert isinstance(one, Reason)
    assert isinstance(other, Reason)
    share = one.values["relative_standard_uncertainty"]
    assert 0.3 < share < math.inf
    assert other.values["relative_standard_uncertainty"] == pytest.approx(share)


def test_a_lone_reading_of_gas_is_said_to_be_one() -> None:
    found = first_order_yield(FEED_TIMES, MASSES, GAS_TIMES[:1], GAS[:1])
    assert found == Reason("gas_rows_few", {"rows": 1.0, "needed_rows": 10})

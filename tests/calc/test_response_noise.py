"""The noise about a fitted response, against noise made for it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reportgen.calc import response_noise
from reportgen.calc.response_noise import NOISE_POINTS, Noise, noise_of
from reportgen.calc.response_search import StepFit, first_order, least_squares_step

TRUTH = (26.0, -15.0, 1.1, 0.4)


def fitted(at: np.ndarray, reading: np.ndarray) -> StepFit:
    return least_squares_step(at, reading)


def independent(count: int, sd: float, seed: int, begin: float = 0.0) -> tuple[np.ndarray, Noise, StepFit]:
    at = np.linspace(begin, begin + 6, count)
    reading = first_order(at - begin, *TRUTH) + np.random.default_rng(seed).normal(0, sd, count)
    fit = fitted(at, reading)
    return at, noise_of(at, reading, fit, 0.0), fit


def test_independent_noise_is_that_of_ordinary_least_squares() -> None:
    _, noise, fit = independent(50, 0.3, 2)
    assert noise.sd == pytest.approx(math.sqrt(fit.residual_sum_of_squares / 46))
    assert noise.covariance == pytest.approx(noise.sd**2 * np.eye(50), abs=1e-12)
    assert (noise.step_correlation, noise.drift) == (0, 0)
    assert noise.effective_count == pytest.approx(50)
    assert noise.freedom == pytest.approx(46)
    assert noise.blocks.tolist() == np.eye(50).tolist()


def test_a_long_log_is_judged_by_means_over_equal_stretches() -> None:
    at, noise, fit = independent(400, 0.3, 3, begin=2.0)
    assert noise.blocks.shape == (NOISE_POINTS, 400)
    assert noise.blocks.sum(axis=1) == pytest.approx(np.ones(NOISE_POINTS))
    bounds = np.linspace(2, 8, NOISE_POINTS + 1)
    middles = noise.blocks @ at
    assert ((bounds[:-1] <= middles) & (middles <= bounds[1:])).all()
    # Seven readings or so in a mean: a seventh of the variance, and as many independent readings as there are.
    assert np.diag(noise.covariance) == pytest.approx(np.full(NOISE_POINTS, noise.sd**2 * NOISE_POINTS / 400), rel=0.5)
    assert noise.effective_count == pytest.approx(400, rel=0.35)
    assert noise.sd == pytest.approx(math.sqrt(fit.residual_sum_of_squares / 396))


@pytest.mark.parametrize("steps", [0.0, 0.1, 0.25])
def test_rounding_errors_of_near_temperatures_are_alike_as_simulated(steps: float) -> None:
    # Temperatures so many steps apart, anywhere between two marks: errors have the correlation 1 - 6 d (1 - d).
    low = np.random.default_rng(5).uniform(0, 1, 400_000)
    errors = [np.round(value) - value for value in (low, low + steps)]
    expected = float(np.mean(errors[0] * errors[1]))
    assert expected == pytest.approx((1 - 6 * steps * (1 - steps)) / 12, abs=0.0005)
    # Readings of a plateau that lie so far apart by turns, on their curve: all their noise is that of rounding.
    at = np.linspace(0, 6, 12)
    curve = np.where(np.arange(12) % 2 == 0, 4.0, 4.0 + 0.5 * steps)
    fit = StepFit(np.array(TRUTH), (0, 1, 2, 3), np.zeros(12), fitted(at, first_order(at, *TRUTH)).jacobian)
    noise = noise_of(at, curve, fit, 0.5)
    assert noise.covariance[0, 1] == pytest.approx(max(expected, 0) * 0.25, abs=2e-4)
    assert np.diag(noise.covariance) == pytest.approx(np.full(12, 0.25 / 12))
    assert noise.sd == pytest.approx(0.5 / math.sqrt(12))


def test_temperatures_half_a_step_and_more_apart_share_no_rounding_error() -> None:
    at = np.linspace(0, 6, 12)
    fit = StepFit(np.array(TRUTH), (0, 1, 2, 3), np.zeros(12), fitted(at, first_order(at, *TRUTH)).jacobian)
    noise = noise_of(at, 20.0 - 0.4 * np.arange(12), fit, 0.5)
    assert noise.covariance == pytest.approx(0.25 / 12 * np.eye(12))
    # Twelve readings that share no error tell as much as twelve.
    assert noise.effective_count == pytest.approx(12)


def test_noise_before_rounding_blurs_what_rounding_errors_share() -> None:
    at = np.linspace(0, 6, 40)
    fit = fitted(at, first_order(at, *TRUTH))
    flat = np.full(40, 4.0)
    rng = np.random.default_rng(6)
    shares = []
    for sd in (0.0, 0.1, 0.5):
        residuals = rng.normal(0, 1, 40)
        residuals *= math.sqrt((sd**2 + 0.25 / 12) * 36 / float(residuals @ residuals))
        noise = noise_of(at, flat + residuals, StepFit(fit.parameters, fit.free, residuals, fit.jacobian), 0.5)
        shares.append(noise.covariance[0, 1] / (0.25 / 12))
    # exp(-4 pi^2 (0.1 / 0.5)^2) = 0.206
    assert shares == pytest.approx([1.0, 0.206, 0.0], abs=0.03)


@pytest.mark.parametrize(("correlation_time", "share_fresh"), [(0.5, 0.0), (0.5, 0.5)])
def test_correlated_noise_is_told_with_its_size_and_its_time(correlation_time: float, share_fresh: float) -> None:
    at = np.arange(0, 12, 1 / 30)
    rng = np.random.default_rng(9)
    decay = math.exp(-1 / 30 / correlation_time)
    found = []
    for _ in range(12):
        slow = np.empty(len(at))
        slow[0] = rng.normal()
        for i in range(1, len(at)):
            slow[i] = decay * slow[i - 1] + math.sqrt(1 - decay**2) * rng.normal()
        parts = math.sqrt(1 - share_fresh) * slow + math.sqrt(share_fresh) * rng.normal(size=len(at))
        reading = first_order(at, *TRUTH) + 0.3 * parts
        found.append(noise_of(at, reading, fitted(at, reading), 0.0))
    assert np.mean([noise.step_correlation for noise in found]) == pytest.approx((1 - share_fresh) * decay, abs=0.12)
    # A quarter of the time constant of 1.1 h apart, noise of half an hour still has e^-0.55 in common.
    common = 0.3 * math.sqrt((1 - share_fresh) * math.exp(-0.275 / correlation_time))
    assert np.mean([noise.drift for noise in found]) == pytest.approx(common, rel=0.25)
    # Variance of a mean of correlated noise: 2 x correlation time over the span, and the fresh part over n.
    mean_variance = (1 - share_fresh) * 2 * correlation_time / 12 + share_fresh / len(at)
    # Times that are likely as well, and longer, make it fewer.
    assert 0.4 < np.mean([noise.effective_count for noise in found]) * mean_variance < 1.5
    assert all(noise.freedom < 56 for noise in found)


def test_what_a_known_correlation_makes_of_the_residuals(monkeypatch: pytest.MonkeyPatch) -> None:
    at = 0.2 * np.arange(60)
    reading = first_order(at, *TRUTH) + np.random.default_rng(4).normal(0, 0.2, 60)
    fit = fitted(at, reading)
    # Three quarters of the noise fade with half an hour, a quarter is new in each reading.
    monkeypatch.setattr(response_noise, "_likely_correlations", lambda *_: [(1.0, 0.5, 0.25)])
    noise = noise_of(at, reading, fit, 0.0)
    alike = 0.75 * np.exp(-np.abs(at[:, None] - at) / 0.5) + 0.25 * np.eye(60)
    axes, _ = np.linalg.qr(fit.jacobian)
    leaves = np.eye(60) - axes @ axes.T
    left = leaves @ alike @ leaves
    size = fit.residual_sum_of_squares / np.trace(left)
    assert noise.covariance == pytest.approx(size * alike)
    assert noise.freedom == pytest.approx(np.trace(left) ** 2 / np.sum(left**2))
    assert noise.step_correlation == pytest.approx(0.75 * math.exp(-0.4))
    assert noise.effective_count == pytest.approx(60**2 / alike.sum())
    assert noise.drift == pytest.approx(math.sqrt(size * 0.75 * math.exp(-0.25 * fit.parameters[2] / 0.5)))
    # Of several that are as likely, the mean.
    likely = [(0.5, 0.5, 0.25), (0.5, 0.0, 0.0)]
    monkeypatch.setattr(response_noise, "_likely_correlations", lambda *_: likely)
    both = noise_of(at, reading, fit, 0.0)
    alone = fit.residual_sum_of_squares / 56 * np.eye(60)
    assert both.covariance == pytest.approx((size * alike + alone) / 2)
    assert both.drift == pytest.approx(noise.drift / math.sqrt(2))

"""Weights, weighted quantiles, resampling, and draws that follow readings."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy import stats

from shrinkage import bayes, particles
from shrinkage.errors import ShrinkageError

EVEN = np.full(1000, 1e-3)


def test_weights_do_not_overflow_and_do_not_care_for_a_constant():
    log = np.array([-1e5, -1e5 + 1, -1e5 - 2])
    assert_allclose(bayes.normalised(log), bayes.normalised(log + 7e4), rtol=1e-9)
    assert_allclose(bayes.normalised(log).sum(), 1.0)


@pytest.mark.parametrize("log", [np.full(5, -np.inf), np.full(5, np.nan)])
def test_no_draw_left_is_said_and_not_returned_as_nan(log):
    with pytest.raises(ShrinkageError, match="no draw explains the readings"):
        bayes.normalised(log)


def test_effective_size():
    assert_allclose(bayes.effective_size(EVEN), 1000)
    assert_allclose(bayes.effective_size(np.array([0.5, 0.5, 0.0])), 2)


def test_weighted_quantile_is_that_of_draws_repeated():
    values = np.random.default_rng(1).normal(size=(2, 500))
    times = np.random.default_rng(2).integers(0, 5, 500)
    ours = bayes.weighted_quantile(values, times / times.sum(), (0.05, 0.5, 0.95))
    repeated = np.repeat(values, times, axis=1)
    theirs = np.quantile(repeated, (0.05, 0.5, 0.95), axis=1, method="hazen")
    assert ours.shape == (3, 2)
    assert_allclose(ours, theirs, atol=0.02)


def test_mixture_quantile_of_one_normal_and_of_two():
    one = bayes.mixture_quantile(np.zeros(3), 2.0, np.full(3, 1 / 3), (0.05, 0.5, 0.95))
    assert_allclose(one, stats.norm.ppf([0.05, 0.5, 0.95], 0, 2), atol=1e-6)
    two = np.array([-3.0, 4.0])
    share = bayes.mixture_below(np.array([0.5]), two, 1.0, np.array([0.3, 0.7]))
    assert_allclose(share, 0.3 * stats.norm.cdf(3.5) + 0.7 * stats.norm.cdf(-3.5))
    at = bayes.mixture_quantile(two, 1.0, np.array([0.3, 0.7]), share)
    assert_allclose(at, 0.5, atol=1e-6)


@pytest.mark.parametrize("start", [0.0, 0.37, 0.999])
def test_resampling_takes_each_draw_as_often_as_its_weight(start):
    weights = np.array([0.1, 0.0, 0.55, 0.05, 0.3])
    weights = np.repeat(weights, 20) / 20
    counts = np.bincount(bayes.resample(weights, start), minlength=100)
    assert counts.sum() == 100
    assert (np.abs(counts - 100 * weights) < 1).all()
    assert not counts[20:40].any()


def test_one_ahead_is_the_conditional_normal():
    """Mean ``f2 + C21/C11 (y1 - f1)``, variance ``C22 - C21^2/C11`` (any textbook)."""
    covariance = np.array([[4.0, 1.5], [1.5, 3.0]])
    predicted, read = np.array([[1.0, 2.0], [5.0, 5.0]]), np.array([3.0, 0.0])
    mean, deviation = bayes.one_ahead(predicted, read, covariance, [0], 1)
    assert_allclose(mean, 5 + 1.5 / 4 * (3 - predicted[0]))
    assert_allclose(deviation**2, 3 - 1.5**2 / 4)
    alone, wide = bayes.one_ahead(predicted, read, covariance, [], 1)
    assert_allclose(alone, 5.0)
    assert_allclose(wide**2, 3.0)


def test_reading_no_draw_explains_is_set_aside_and_says_so():
    z = particles.start(1, 4096, 1)
    read = np.array([0.5, 60.0, 0.4])
    found = particles.follow(lambda z: np.repeat(z, 3, axis=0), read, 0.01 * np.eye(3), z)
    assert [step.used for step in found.steps] == [True, False, True]
    without = particles.follow(lambda z: np.repeat(z, 2, axis=0), read[::2], 0.01 * np.eye(2), z)
    assert_allclose(found.z @ found.weights, without.z @ without.weights, atol=0.01)
    assert found.steps[1].score > 4
    assert np.isfinite(found.z).all()
    assert np.isfinite([s.score for s in found.steps]).all()


def test_bent_posterior_is_found_as_by_a_fine_grid():
    """One unknown seen through its exponential, sharply: against numerical integration."""
    read, error = np.array([np.exp(1.4), np.exp(1.38)]), 0.05

    def model(z):
        return np.repeat(np.exp(z), 2, axis=0)

    found = particles.follow(model, read, error**2 * np.eye(2), particles.start(1, 4096, 1))
    grid = np.linspace(-5, 5, 200001)
    dense = stats.norm.pdf(grid) * np.prod(stats.norm.pdf(read[:, None], np.exp(grid), error), 0)
    dense /= dense.sum()
    mean = dense @ grid
    deviation = np.sqrt(dense @ (grid - mean) ** 2)
    at = found.z[0] @ found.weights
    assert found.moved
    assert_allclose(at, mean, atol=4 * deviation / np.sqrt(1000))
    assert_allclose(np.sqrt(found.weights @ (found.z[0] - at) ** 2), deviation, rtol=0.1)


def test_too_few_effective_draws_are_not_trusted():
    z = particles.start(1, 256, 1)
    found = particles.follow(lambda z: z, np.array([0.2]), np.eye(1), z)
    assert found.effective < bayes.effective_size(EVEN)
    assert not found.is_trusted
    more = particles.follow(lambda z: z, np.array([0.2]), np.eye(1), particles.start(1, 2048, 1))
    assert more.is_trusted


def test_same_seed_same_answer_and_no_readings_leave_the_draws():
    z = particles.start(2, 512, 5)
    rows = np.array([[1.0, 2.0], [1.0, -1.0]])

    def once(seed):
        return particles.follow(lambda z: rows @ z, np.ones(2), 1e-4 * np.eye(2), z, seed)

    assert_array_equal(once(1).z, once(1).z)
    assert not np.array_equal(once(1).z, once(2).z)
    none = particles.follow(lambda z: z[:0], np.empty(0), np.empty((0, 0)), z)
    assert_array_equal(none.z, z)
    assert_allclose(none.effective, 512)

"""The update against closed forms of normal readings of normal unknowns.

Gelman et al., Bayesian Data Analysis, 3rd ed. (from memory): one reading eq. 2.9 and 2.10, several
eq. 2.11 and 2.12, forecast of the next reading sect. 2.5, linear regression with a normal prior
ch. 14. Tolerances are four standard errors of the effective draws there are.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from shrinkage import bayes, particles

SOURCE = "Gelman et al., Bayesian Data Analysis"
BASIS = "memory"
DRAWS = 8192


def moments(found):
    middle = found.z @ found.weights
    off = found.z - middle[:, None]
    return middle, (off * found.weights) @ off.T


@pytest.mark.parametrize("count", [1, 2, 30])
def test_normal_mean_with_known_error(count, record):
    """Eq. 2.11 and 2.12: mu_n = (mu_0/t0^2 + n ybar/s^2)/(1/t0^2 + n/s^2), 1/tn^2 its divisor."""
    middle, doubt, error = 5.0, 2.0, 1.5
    read = np.random.default_rng(4).normal(7.0, error, count)

    def model(z):
        return np.broadcast_to(middle + doubt * z[0], (count, z.shape[1]))

    found = particles.follow(
        model, read, error**2 * np.eye(count), particles.start(1, DRAWS, 3)
    )  # fmt: skip
    precision = 1 / doubt**2 + count / error**2
    wanted = (middle / doubt**2 + read.sum() / error**2) / precision
    at, spread = moments(found)
    assert found.effective > 2000
    slack = 4 / np.sqrt(found.effective)
    left = 1 / np.sqrt(precision)
    record("eq. 2.11, mean of a normal unknown read 1, 2, 30 times", wanted,
           middle + doubt * at[0], "-", slack * left, case=f"{count}")  # fmt: skip
    record("eq. 2.12, its standard deviation", left, doubt * np.sqrt(spread[0, 0]),
           "-", slack * left, case=f"{count}")  # fmt: skip


def test_each_reading_is_forecast_by_those_before_it():
    """Sect. 2.5: the next reading is normal about mu_n with variance s^2 + tn^2."""
    doubt, error = 2.0, 1.5
    read = np.array([1.0, 2.5, -0.5, 3.0])
    found = particles.follow(
        lambda z: np.broadcast_to(doubt * z[0], (4, z.shape[1])), read, error**2 * np.eye(4),
        particles.start(1, DRAWS, 3),
    )  # fmt: skip
    for number, step in enumerate(found.steps):
        precision = 1 / doubt**2 + number / error**2
        mean = read[:number].sum() / error**2 / precision
        wide = np.sqrt(error**2 + 1 / precision)
        ends = stats.norm.ppf([0.05, 0.5, 0.95], mean, wide)
        assert_allclose([step.low, step.median, step.high], ends, atol=0.06)
        assert_allclose(step.score, (read[number] - mean) / wide, atol=0.03)
        assert step.is_inside == (ends[0] <= read[number] <= ends[2])


@pytest.mark.parametrize("error", [1.0, 0.1, 0.01])
def test_regression_with_correlated_unknowns(error):
    """Ch. 14: posterior covariance ``(S0^-1 + X' C^-1 X)^-1``; sharp readings need the moves."""
    prior = np.array([[1.0, 0.8, 0.0], [0.8, 1.0, -0.3], [0.0, -0.3, 0.5]])
    root = np.linalg.cholesky(prior)
    rows = np.random.default_rng(8).normal(size=(6, 3))
    shared = 0.3 * error**2 * np.ones((6, 6)) + 0.7 * error**2 * np.eye(6)
    read = rows @ root @ [1.5, -0.7, 0.4] + np.linalg.cholesky(shared) @ np.ones(6)
    found = particles.follow(lambda z: rows @ root @ z, read, shared, particles.start(3, DRAWS, 1))
    wanted_spread = np.linalg.inv(np.linalg.inv(prior) + rows.T @ np.linalg.inv(shared) @ rows)
    wanted = wanted_spread @ rows.T @ np.linalg.solve(shared, read)
    at, spread = moments(found)
    spread = root @ spread @ root.T
    slack = 4 / np.sqrt(min(found.effective, DRAWS / 4))  # moved draws are not all different
    scale = np.sqrt(np.diag(wanted_spread))
    assert found.is_trusted
    assert found.moved or error == 1.0
    assert_allclose((root @ at - wanted) / scale, 0, atol=slack)
    assert_allclose(spread / np.outer(scale, scale), wanted_spread / np.outer(scale, scale),
                    atol=2 * slack)  # fmt: skip


def test_error_shared_by_two_readings_is_no_news_of_the_second():
    """Two readings that share their error say together what one says."""
    model = np.array([[1.0], [1.0]])
    z = particles.start(1, DRAWS, 3)
    nearly = np.array([[1.0, 1.0], [1.0, 1.0 + 1e-9]])
    twice = particles.follow(lambda z: model @ z, np.array([1.0, 1.0]), nearly, z)
    once = particles.follow(lambda z: model[:1] @ z, np.array([1.0]), np.eye(1), z)
    assert_allclose(moments(twice)[0], moments(once)[0], atol=1e-3)
    assert_allclose(moments(once)[0], 0.5, atol=0.03)


def test_log_likelihood_against_scipy():
    covariance = np.array([[2.0, 0.6], [0.6, 1.0]])
    predicted, read = np.array([[0.0, 1.0, -3.0], [0.5, 2.0, 0.0]]), np.array([1.0, -1.0])
    ours = bayes.log_likelihood(predicted, read, covariance)
    theirs = [stats.multivariate_normal(p, covariance).logpdf(read) for p in predicted.T]
    assert_allclose(ours - ours[0], np.array(theirs) - theirs[0], rtol=1e-12)

"""A plain Bayesian update on arrays: weights of draws from readings with normal errors.

A reading is what a draw says it should be plus a normal error; errors of readings may be correlated
(a size that nobody measured on the first day is an error that all readings of it share).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shrinkage.errors import ShrinkageError
from shrinkage.spread import Floats

BAND = (0.05, 0.5, 0.95)
"""Lower end, middle and upper end of every band [-]."""


def normalised(log_weights: Floats) -> Floats:
    """Return weights that add up to 1.

    Parameters
    ----------
    log_weights : ndarray, shape (draws,)
        Up to a constant [-].

    Raises
    ------
    ShrinkageError
        If no draw has any weight.
    """
    most = float(np.max(log_weights))
    if not np.isfinite(most):
        raise ShrinkageError(
            "no draw explains the readings; accepted: readings nearer the forecast"
        )
    weights = np.exp(log_weights - most)
    return np.asarray(weights / weights.sum())


def effective_size(weights: Floats) -> float:
    """Return the effective number of draws (Kish), ``1 / sum w^2`` for weights that sum to 1."""
    return float(1 / np.sum(weights**2))


def log_likelihood(predicted: Floats, observed: Floats, covariance: Floats) -> Floats:
    """Return the log density of normal readings, up to a constant.

    Parameters
    ----------
    predicted : ndarray, shape (readings, draws)
        What each should be.
    observed : ndarray, shape (readings,)
        What was read.
    covariance : ndarray, shape (readings, readings)
        Of their errors.

    Returns
    -------
    ndarray, shape (draws,)
        ``-(y - f)' C^-1 (y - f) / 2`` [-].
    """
    off = observed[:, None] - predicted
    white = np.linalg.solve(np.linalg.cholesky(covariance), off)
    return np.asarray(-0.5 * np.einsum("rd,rd->d", white, white))


def one_ahead(
    predicted: Floats, observed: Floats, covariance: Floats, known: Sequence[int], reading: int
) -> tuple[Floats, float]:
    """Return mean and standard deviation of a reading's forecast, given others, by draw.

    Parameters
    ----------
    predicted, observed, covariance : ndarray
        As for `log_likelihood`.
    known : sequence of int
        Readings that are known.
    reading : int
        The one that is forecast.

    Returns
    -------
    mean : ndarray, shape (draws,)
        Unit of the reading.
    deviation : float
        The same for all draws [same].
    """
    rows = np.asarray(known, dtype=np.intp)
    gain = np.linalg.solve(covariance[np.ix_(rows, rows)], covariance[rows, reading])
    mean = predicted[reading] + gain @ (observed[rows, None] - predicted[rows])
    variance = covariance[reading, reading] - covariance[rows, reading] @ gain
    return mean, float(np.sqrt(variance))


def weighted_quantile(values: Floats, weights: Floats, quantiles: Sequence[float]) -> Floats:
    """Return quantiles of weighted draws, linear between their middles.

    Parameters
    ----------
    values : ndarray, shape (..., draws)
        The draws.
    weights : ndarray, shape (draws,)
        They add up to 1 [-].
    quantiles : sequence of float
        Between 0 and 1 [-].

    Returns
    -------
    ndarray, shape (quantiles, ...)
        Unit of the values.
    """
    rows = values.reshape(-1, values.shape[-1])
    out = np.empty((len(quantiles), len(rows)))
    for number, row in enumerate(rows):
        order = np.argsort(row)
        heavy = weights[order]
        out[:, number] = np.interp(quantiles, np.cumsum(heavy) - heavy / 2, row[order])
    return out.reshape(len(quantiles), *values.shape[:-1])


def mixture_quantile(
    means: Floats, deviation: float, weights: Floats, quantiles: Sequence[float]
) -> Floats:
    """Return quantiles of weighted normals of one standard deviation, by bisection.

    Parameters
    ----------
    means, weights : ndarray, shape (draws,)
        Of the normals.
    deviation : float
        Of each [unit of the means].
    quantiles : sequence of float
        Between 0 and 1 [-].

    Returns
    -------
    ndarray, shape (quantiles,)
        Unit of the means.
    """
    wanted = np.asarray(quantiles, dtype=float)
    low = np.full(wanted.shape, float(means.min()) - 9 * deviation)
    high = np.full(wanted.shape, float(means.max()) + 9 * deviation)
    for _ in range(40):
        middle = (low + high) / 2
        below = mixture_below(middle, means, deviation, weights) < wanted
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2)


def mixture_below(values: Floats, means: Floats, deviation: float, weights: Floats) -> Floats:
    """Return the share of weighted normals of one standard deviation below each value [-]."""
    from scipy.special import ndtr

    return np.asarray(ndtr((values[:, None] - means) / deviation) @ weights)


def resample(weights: Floats, start: float) -> NDArray[np.intp]:
    """Return draws taken anew by weight, evenly spaced (systematic resampling).

    Parameters
    ----------
    weights : ndarray, shape (draws,)
        They add up to 1 [-].
    start : float
        Where the first of the even steps falls, 0 to 1 [-].

    Returns
    -------
    ndarray of int, shape (draws,)
        Each draw as often as its weight times the number of draws, rounded up or down.
    """
    count = len(weights)
    at = np.searchsorted(np.cumsum(weights), (np.arange(count) + start) / count)
    return np.minimum(at, count - 1)

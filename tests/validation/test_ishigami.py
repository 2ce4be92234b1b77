"""Sobol indices of the function of Ishigami and Homma (1990), whose indices are known exactly.

f = sin x1 + a sin^2 x2 + b x3^4 sin x1, each x uniform from -pi to pi, a = 7, b = 0.1. Variances by
integration (derived here): V1 = (1 + b pi^4/5)^2 / 2, V2 = a^2/8, V13 = b^2 pi^8 (1/18 - 1/50).
Second opinion: scipy.stats.sobol_indices on the same function.
"""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose
from scipy import stats

from shrinkage.drivers import sobol_indices

SOURCE = "Ishigami and Homma 1990, Sobol indices known exactly"
BASIS = "derived"
A, B = 7.0, 0.1
V1 = 0.5 * (1 + B * np.pi**4 / 5) ** 2
V2 = A**2 / 8
V13 = B**2 * np.pi**8 * (1 / 18 - 1 / 50)
V = V1 + V2 + V13
FIRST = np.array([V1, V2, 0.0]) / V
TOTAL = np.array([V1 + V13, V2, V13]) / V
ROUND = 5e-5
"""Half the last digit of the values usually quoted."""
CLOSE = 0.01


def ishigami(u):
    x = np.pi * (2 * u - 1)
    return np.sin(x[0]) + A * np.sin(x[1]) ** 2 + B * x[2] ** 4 * np.sin(x[0])


def test_the_values_usually_quoted(record):
    """0.3139, 0.4424, 0; totals 0.5576, 0.4424, 0.2437 (from memory)."""
    for kind, quoted, exact in (("first", [0.3139, 0.4424, 0.0], FIRST),
                                ("total", [0.5576, 0.4424, 0.2437], TOTAL)):  # fmt: skip
        for number, (there, here) in enumerate(zip(quoted, exact, strict=True), start=1):
            record(f"{kind} index, quoted beside integrated", there, here, "", ROUND,
                   case=f"x{number}", basis="memory")  # fmt: skip


def test_indices(record):
    first, total = sobol_indices(ishigami, 3, [[0], [1], [2]], draws=2**14)
    for kind, exact, found in (("first", FIRST, first), ("total", TOTAL, total)):
        for number, (there, here) in enumerate(zip(exact, found, strict=True), start=1):
            record(f"{kind} index, 16,384 draws", there, here, "", CLOSE, case=f"x{number}")


def test_more_draws_come_closer():
    errors = []
    for power in (8, 12, 16):
        found = [sobol_indices(ishigami, 3, [[0], [1], [2]], 2**power, seed) for seed in range(4)]
        errors.append(np.mean([np.abs(t - TOTAL).max() for _, t in found]))
    assert errors[0] > errors[1] > errors[2]


def test_grouped():
    """x1 and x3 together: everything that is not x2."""
    first, total = sobol_indices(ishigami, 3, [[0, 2], [1]], draws=2**14)
    assert_allclose(first, [1 - FIRST[1], FIRST[1]], atol=CLOSE)
    assert_allclose(total, [1 - FIRST[1], FIRST[1]], atol=CLOSE)


def test_scipy_agrees():
    other = stats.sobol_indices(
        func=ishigami, n=2**14, dists=[stats.uniform(0, 1)] * 3, rng=np.random.default_rng(1)
    )
    first, total = sobol_indices(ishigami, 3, [[0], [1], [2]], draws=2**14)
    assert_allclose(first, other.first_order, atol=2 * CLOSE)
    assert_allclose(total, other.total_order, atol=2 * CLOSE)

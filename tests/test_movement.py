"""Strain with moisture: the laws it keeps, over many woods and moistures at once."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from shrinkage.movement import change, coefficient, dried_share, strain

EXACT = 1e-13
"""Absolute, on strains: a few roundings of a double."""
TOTALS = np.array([0.0, 0.0015, 0.021, 0.061, 0.127])
MOISTURES = np.array([0.0, 6.0, 8.0, 12.0, 19.0, 29.9, 30.0, 45.0, 110.0])


@pytest.mark.parametrize(
    ("moisture", "saturation", "share"),
    [(30, 30, 0), (31, 30, 0), (200, 30, 0), (0, 30, 1), (15, 30, 0.5), (10, 30, 2 / 3),
     (22, 22, 0), (25, 22, 0), (11, 22, 0.5)],
)  # fmt: skip
def test_dried_share(moisture, saturation, share):
    assert_allclose(dried_share(moisture, saturation), share, atol=EXACT)


def test_no_movement_above_fibre_saturation():
    assert_array_equal(strain(0.1, [30, 40, 200]), 0.0)
    assert_array_equal(change(0.1, [30, 200, 80], [110, 30, 45]), 0.0)
    assert_array_equal(change(0.05, 60, 22, 22), 0.0)
    assert float(change(0.1, 60, 29)) > 0


def test_the_water_above_fibre_saturation_does_not_count():
    assert_array_equal(change(TOTALS, 110, 8), change(TOTALS, 30, 8))


def test_no_change_no_movement():
    assert_array_equal(change(TOTALS[:, None], MOISTURES, MOISTURES), 0.0)


def test_green_to_oven_dry_is_the_tables_figure():
    assert_allclose(strain(TOTALS, 0), TOTALS, atol=EXACT)
    assert_allclose(change(TOTALS, 30, 0), TOTALS, atol=EXACT)


@pytest.mark.parametrize("there", MOISTURES)
@pytest.mark.parametrize("back", MOISTURES)
def test_there_and_back_returns(there, back):
    size = (1 - change(TOTALS, there, back)) * (1 - change(TOTALS, back, there))
    assert_allclose(size, 1.0, atol=EXACT)


@pytest.mark.parametrize("way", [(30, 19, 8), (110, 12, 6), (8, 25, 12), (0, 30, 15)])
def test_two_steps_are_one(way):
    first, by, last = way
    steps = (1 - change(TOTALS, first, by)) * (1 - change(TOTALS, by, last))
    assert_allclose(steps, 1 - change(TOTALS, first, last), atol=EXACT)


def test_drier_is_smaller():
    dried = strain(TOTALS[1:, None], MOISTURES)
    assert (np.diff(dried, axis=1) <= 0).all()
    assert (np.diff(dried[:, :7], axis=1) < 0).all()  # up to 30 %


def test_more_shrinkage_in_the_table_is_more_movement():
    assert (np.diff(change(TOTALS, 30, 8)) > 0).all()


def test_sign_positive_shrinks():
    assert float(change(0.06, 30, 10)) > 0
    assert float(change(0.06, 10, 14)) < 0


def test_reference_is_the_size_at_the_first_moisture():
    """6 % from green to dry: back from dry to green it is 6 parts on 94."""
    assert_allclose(change(0.06, 0, 30), -0.06 / 0.94, atol=EXACT)


def test_scalar_is_array():
    grid = change(TOTALS[:, None, None], MOISTURES[:, None], MOISTURES[None, :])
    assert grid.shape == (5, 9, 9)
    one = [[[float(change(s, a, b)) for b in MOISTURES] for a in MOISTURES] for s in TOTALS]
    assert_array_equal(grid, one)
    assert_array_equal(coefficient(TOTALS), [float(coefficient(s)) for s in TOTALS])


def test_fibre_saturation_broadcasts():
    both = change(0.05, 30, 8, np.array([30.0, 22.0]))
    assert_allclose(both, [0.05 * 22 / 30, 0.05 * 14 / 22], atol=EXACT)


def test_coefficient_is_the_slope_at_ten_percent():
    step = 1e-4
    slope = (change(TOTALS, 10, 10 - step) - change(TOTALS, 10, 10 + step)) / (2 * step)
    assert_allclose(coefficient(TOTALS), slope, atol=1e-10)  # the difference quotient's rounding


def test_coefficient_against_numbers_worked_by_hand():
    """S = 6 %: 0.002 / (1 - 0.06 x 20/30) = 0.002 / 0.96."""
    assert_allclose(coefficient(0.06), 0.002 / 0.96, rtol=1e-14)
    assert_allclose(coefficient(0.044, 22), 0.002 / (1 - 0.044 * 12 / 22), rtol=1e-14)


def test_nan_is_not_swallowed():
    """The edge of the package refuses it; the sums below must not turn it into a number."""
    assert np.isnan(dried_share(np.nan))
    assert np.isnan(change(0.06, 30, np.nan))

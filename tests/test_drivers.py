"""What the doubt is made of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from shrinkage.drivers import drivers, sobol_indices, worth_of_knowing
from shrinkage.sampled import plan
from shrinkage.spread import Spread, normal_quantile

NONE = Spread().without()


def linear(weights):
    return lambda u: np.asarray(weights) @ np.stack([normal_quantile(row) for row in u])


def made(order, name, spread):
    answer = next(a for a in order.allowances if a.joint.name == name)
    return plan(answer.joint, answer.foam, order.frame.rules, spread)


def test_linear_function_has_no_interactions():
    """Shares of the variance are the squares of the weights, first order and total alike."""
    weights = np.array([3.0, 2.0, 1.0, 0.0])
    first, total = sobol_indices(linear(weights), 4, [[0], [1], [2], [3]], 2**13)
    shares = weights**2 / (weights**2).sum()
    assert_allclose(first, shares, atol=4e-3)
    assert_allclose(total, shares, atol=4e-3)


def test_groups_add_up():
    first, _ = sobol_indices(linear([3.0, 2.0, 1.0]), 3, [[0, 2], [1]], 2**13)
    assert_allclose(first, [10 / 14, 4 / 14], atol=4e-3)


def test_interaction_is_in_the_total_only():
    first, total = sobol_indices(lambda u: (u[0] - 0.5) * (u[1] - 0.5), 2, [[0], [1]], 2**13)
    assert_allclose(first, 0, atol=0.01)
    assert_allclose(total, 1, atol=0.02)


def test_nothing_varies():
    first, total = sobol_indices(lambda u: np.full(u.shape[1], 7.0), 2, [[0], [1]], 256)
    assert not first.any() and not total.any()


def test_worth_of_knowing_one_of_two_normals():
    """Known: the quantile's distance falls from z sqrt(a2 + b2) to z b."""
    z, a, b = stats.norm.ppf(0.95), 4.0, 3.0
    saved = worth_of_knowing(linear([a, b]), 2, [[0], [1], [0, 1]], 95.0)
    assert_allclose(saved, [z * (5 - b), z * (5 - a), z * 5], rtol=0.03)


def test_equal_inputs_are_worth_the_same():
    saved = worth_of_knowing(linear([1.0] * 5), 5, [[i] for i in range(5)], 95.0)
    assert np.ptp(saved) < 0.2 * saved.mean()


def test_a_joint_s_drivers(workshop_order):
    found = drivers(made(workshop_order, "south, top", Spread()), draws=1024, known=8, rest=1024)
    groups = [driver.group for driver in found]
    assert len(groups) == len(set(groups))
    assert {"plate: where the heart lies", "section factor", "cutting tolerance",
            "what the foam takes", "shrinkage of pine, eastern white"} <= set(groups)  # fmt: skip
    totals = [driver.total for driver in found]
    assert totals == sorted(totals, reverse=True)
    assert all(driver.saves >= 0 for driver in found)
    assert 0.6 < sum(driver.first for driver in found) < 1.1


def test_unknown_rings_lead_and_are_worth_knowing(raw, answered):
    raw["timber"]["post"]["heart"] = "unknown"
    quiet = replace(Spread(), section_factor_low=1.0)
    for name in ("foam", "tolerances"):
        quiet = quiet.without(name)
    found = drivers(made(answered(raw), "east, end", quiet), draws=1024)
    assert found[0].group == "post: where the heart lies"
    assert found[0].saves == max(driver.saves for driver in found) > 1.0


def test_no_spread_no_drivers(workshop_order):
    assert drivers(made(workshop_order, "south, top", NONE)) == []


def test_progress_ends_at_one(workshop_order):
    seen: list[float] = []
    one = made(workshop_order, "south, between panels", Spread())
    drivers(one, 64, 4, 64, progress=seen.append)
    assert seen and seen[-1] <= 1.0 and seen == sorted(seen)


@pytest.mark.parametrize("seed", [1, 2])
def test_same_seed_same_indices(seed):
    one = sobol_indices(linear([2.0, 1.0]), 2, [[0], [1]], 256, seed)
    two = sobol_indices(linear([2.0, 1.0]), 2, [[0], [1]], 256, seed)
    assert_allclose(one, two, rtol=0)

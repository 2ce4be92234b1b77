"""A stack whose closure is a linear function of normals: mean and variance are known exactly.

Wood dried to nothing (air at 0 %) from green loses just S of each thickness, so the closure is the
sum of lever x S, and S is normal. Derived here.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from shrinkage.allowance import Rules
from shrinkage.climate import AirYear
from shrinkage.foam import Foam
from shrinkage.joint import Joint, Layer
from shrinkage.sampled import plan, sample
from shrinkage.section import Heart
from shrinkage.species import Species
from shrinkage.spread import Spread
from shrinkage.timber import Timber

SOURCE = "A stack linear in normals, mean and variance known exactly"
BASIS = "derived"
S_R, S_T, CV = 0.03, 0.06, 0.10
ALIKE, TOGETHER = 0.4, 0.7
LEVERS = (190.0, 127.0, -95.0, 60.0)
"""[mm] The third layer lies under the panel: it opens the joint."""
DRAWS = 2**16


def stack() -> Joint:
    dry = AirYear("oven", np.zeros(12), "this check")
    wood = Species("pine", S_R, S_T, gravity=0.35)
    layers = [
        Layer(f"layer {number}", Timber(f"timber {number}", wood, 200.0, 200.0, Heart("boxed"),
                                        30.0, dry), "depth", abs(lever), (0.0, 1.0),
              "far" if lever > 0 else "near")
        for number, lever in enumerate(LEVERS)
    ]  # fmt: skip
    return Joint("eave", "stack", tuple(layers), (0.0, 1.0))


@pytest.mark.parametrize("alike", [0.0, ALIKE, 1.0])
def test_mean_and_variance(alike, record):
    spread = Spread().without()
    spread = replace(spread, species=replace(spread.species, amount=CV), alike=alike,
                     radial_tangential=TOGETHER)  # fmt: skip
    drawn = sample(plan(stack(), Foam(), Rules(), spread), draws=DRAWS).closure
    levers = np.array(LEVERS)
    mean = levers.sum() * (S_R + S_T) / 2
    # One piece: S is half R and half T, correlated; between pieces the shared part correlates.
    one = CV**2 * (S_R**2 + S_T**2 + 2 * TOGETHER * S_R * S_T) / 4
    between = one * (alike + (1 - alike) * np.eye(len(levers)))
    sd = np.sqrt(levers @ between @ levers)
    case = f"pieces alike {alike:g}"
    record("mean closure", mean, drawn.mean(), "mm", 1e-4 * mean, case=case)
    record("standard deviation of the closure", sd, drawn.std(), "mm", 2e-3 * sd, case=case)
    for share in (0.05, 0.5, 0.95):
        by_hand = mean + sd * stats.norm.ppf(share)
        assert_allclose(np.quantile(drawn, share), by_hand, rtol=0, atol=0.02 * sd)


def test_gap_for_a_chance_adds_the_tolerances_as_normals():
    """Closing and three errors: all normal, so the quantile is known."""
    spread = Spread().without()
    spread = replace(spread, species=replace(spread.species, amount=CV), alike=1.0,
                     radial_tangential=1.0, tolerances=Spread().tolerances)  # fmt: skip
    drawn = sample(plan(stack(), Foam(), Rules(), spread), draws=DRAWS)
    mean = sum(LEVERS) * (S_R + S_T) / 2
    sd = np.hypot(mean * CV, np.sqrt(3) * 3.175 / 2)
    assert_allclose(np.quantile(drawn.reach, 0.95), mean + sd * stats.norm.ppf(0.95), rtol=1e-3)

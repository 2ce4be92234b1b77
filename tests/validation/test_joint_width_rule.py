"""A joint's width in the form of ASTM C1472: movement / capability + tolerance.

From memory of the guide, no printed copy seen. The guide says of itself that it excludes joints
sealed with aerosol foam: it lends its form, and governs only where backer and sealant replace the
foam. The example is ours, in the guide's form: a panel joint that closes by 1/4 in, a sealant that
takes 25 % of its width, construction tolerance 1/8 in: 1/4 / 0.25 + 1/8 = 1-1/8 in.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.testing import assert_allclose

from shrinkage.allowance import Rules, allow
from shrinkage.chance import chance
from shrinkage.climate import AirYear
from shrinkage.foam import Foam
from shrinkage.joint import Joint, Layer
from shrinkage.section import Heart
from shrinkage.species import Species
from shrinkage.spread import Spread
from shrinkage.timber import Timber

SOURCE = "ASTM C1472, form of the joint-width rule"
BASIS = "memory"
INCH = 25.4
MOVES, CAPABILITY, TOLERANCE = 0.25 * INCH, 0.25, 0.125 * INCH


def joint() -> Joint:
    """Return a joint that closes by just `MOVES` and never comes back."""
    dry = AirYear("oven", np.zeros(12), "this check")
    wood = Species("pine", 0.05, 0.05, gravity=0.35)
    timber = Timber("timber", wood, 200.0, 200.0, Heart("boxed"), 30.0, dry)
    return Joint("eave", "rule", (Layer("l", timber, "depth", MOVES / 0.05, (0.0, 1.0)),),
                 (0.0, 1.0))  # fmt: skip


SEALANT = Foam(squeeze_once=CAPABILITY, recovery=1.0, works=CAPABILITY, least_width=1.0,
               most_width=100.0)  # fmt: skip
RULES = Rules(keep_clear=0.0, cutting=TOLERANCE, frame=0.0, setting=0.0, fraction=0.001)


def test_one_tolerance(record):
    answer = allow(joint(), SEALANT, RULES)
    record("1/4 in at 25 %, tolerance 1/8 in", 1.125, answer.needed / INCH, "in", 1e-9)
    found = chance(answer, RULES, replace(Spread().without(), draws=64))
    assert_allclose([found.worst, found.square], 1.125 * INCH, rtol=1e-9)


def test_three_tolerances_summed_and_in_quadrature(record):
    rules = replace(RULES, frame=TOLERANCE, setting=TOLERANCE)
    found = chance(allow(joint(), SEALANT, rules), rules, replace(Spread().without(), draws=64))
    record("three tolerances summed", 1 + 3 / 8, found.worst / INCH, "in", 1e-9)
    record("three tolerances in quadrature", 1 + math.sqrt(3) / 8, found.square / INCH, "in", 1e-9)

"""The gap on the day: every limit by hand, its laws, and what comes off the panel.

The joint here is one sheet of unit strain, so that its closure is whatever a test wants.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.allowance import WHICH_TOLERANCES, Rules, allow
from shrinkage.errors import ShrinkageError
from shrinkage.foam import Foam
from shrinkage.joint import Joint, Layer
from shrinkage.timber import Sheet

EXACT = 1e-9
"""[mm] The same sum in another order: rounding only."""
OUT = (1.0, 0.0)
LONG = 100.0
EIGHTH = 3.175
TOLERANCE = math.sqrt(3) * EIGHTH
"""Cutting, frame and setting, an eighth each, root-sum-squared [mm]."""


def joint(closing: float, swing: float = 0.0, kind="corner", **more) -> Joint:
    """Return a joint that closes by the driest month and reopens by the swing."""
    sheet = Sheet("layer", closing / LONG, swing / LONG)
    return Joint(kind, "joint", (Layer("layer", sheet, "depth", LONG, OUT),), OUT, **more)


def needs(answer) -> dict[str, float]:
    return {limit.name: limit.needed for limit in answer.limits}


def test_every_limit_by_hand():
    """Closes 8 mm, reopens 5: foam takes half once, gives half back, works a tenth."""
    found = needs(allow(joint(8.0, 5.0), Foam(), Rules()))
    assert_allclose(found["seen into and filled"], 9.525)
    assert_allclose(found["foam crushed once by the first drying"], 8.0 / 0.5)
    assert_allclose(found["wood never bears on panel"], 8.0 + EIGHTH)
    assert_allclose(found["foam worked by the seasons"], 5.0 / 2 / 0.1 + 0.5 * 8.0)
    assert_allclose(found["tight when the seasons reopen it"], (5.0 - 4.0) / 0.1 + 4.0)
    assert_allclose(found["foam stretched from the day"], 0.0, atol=EXACT)


def test_seasons_that_foam_gives_back_ask_for_nothing():
    found = needs(allow(joint(8.0, 3.9), Foam(), Rules()))
    assert found["tight when the seasons reopen it"] == 0


def test_opening_joint_stretches_the_foam():
    found = allow(joint(-2.0), Foam(), Rules())
    assert_allclose(needs(found)["foam stretched from the day"], 2.0 / 0.1)
    assert_allclose([found.opening, found.closing], [2.0, 0.0], atol=EXACT)


@pytest.mark.parametrize(
    ("closing", "swing", "foam", "governs"),
    [
        (0.0, 0.0, Foam(), "seen into and filled"),
        (9.0, 1.0, Foam(), "foam crushed once by the first drying"),
        (20.0, 0.0, Foam(squeeze_once=0.9), "wood never bears on panel"),
        (9.0, 6.0, Foam(), "foam worked by the seasons"),
        (4.0, 4.0, Foam(recovery=0.0), "tight when the seasons reopen it"),
        (-3.0, 0.0, Foam(), "foam stretched from the day"),
    ],
)
def test_each_limit_governs_somewhere(closing, swing, foam, governs):
    answer = allow(joint(closing, swing), foam, Rules())
    assert answer.governs.name == governs
    assert_allclose(answer.needed, answer.governs.needed + TOLERANCE)


@pytest.mark.parametrize("closing", np.linspace(-4.0, 16.0, 9))
@pytest.mark.parametrize("kind", ["eave", "corner", "ridge", "opening", "spline"])
def test_gap_holds_every_limit_and_its_tolerance(closing, kind):
    rules = Rules()
    answer = allow(joint(closing, 1.0, kind, measure=1.3), Foam(), rules)
    for limit in answer.limits:
        assert answer.gap >= limit.needed + rules.tolerance(kind) - EXACT
    assert answer.gap_dry >= rules.keep_clear - EXACT
    assert answer.foam_strain <= answer.foam.squeeze_once + EXACT


def test_more_closing_never_needs_less():
    found = [allow(joint(c, 1.0), Foam(), Rules()).needed for c in np.linspace(1.0, 20.0, 39)]
    assert all(a <= b + EXACT for a, b in pairwise(found))


@pytest.mark.parametrize("fraction", [1.0, EIGHTH, 25.4 / 16, 5.0])
@pytest.mark.parametrize("closing", [0.0, 3.3, 7.7, 11.1])
@pytest.mark.parametrize(
    ("kind", "shared", "measure", "extra"),
    [("corner", 1, 1, 0.0), ("eave", 1, 1.3, 0.0), ("eave", 1, 1.3, 41.7), ("ridge", 2, 1.3, 0.0)],
)  # fmt: skip
def test_off_the_panel_is_rounded_up_and_by_less_than_a_fraction(
    fraction, closing, kind, shared, measure, extra
):
    asked = joint(closing, kind=kind, measure=measure, extra_off=extra)
    answer = allow(asked, Foam(), Rules(fraction=fraction))
    wanted = answer.needed * measure / shared + extra
    assert -EXACT <= answer.off - wanted < fraction
    steps = answer.off / fraction
    assert_allclose(steps, round(steps), atol=EXACT)
    assert_allclose(answer.gap, (answer.off - extra) * shared / measure)


def test_tolerances_by_kind_and_by_rule():
    squares, total = Rules(), Rules(add_tolerances="sum")
    for kind, parts in WHICH_TOLERANCES.items():
        assert_allclose(squares.tolerance(kind), math.sqrt(len(parts)) * EIGHTH)
        assert_allclose(total.tolerance(kind), len(parts) * EIGHTH)
    assert WHICH_TOLERANCES["spline"] == ("cutting",)


def test_spline_is_filled_to_its_own_width():
    answer = allow(Joint("spline", "s", (), OUT), Foam(), Rules(spline_fill=6.0))
    assert_allclose(answer.needed, 6.0 + EIGHTH)


def test_panel_that_bears_has_no_gap():
    answer = allow(Joint("sill", "foot", (), (0.0, -1.0)), Foam(), Rules())
    assert (answer.status, answer.off, answer.gap, answer.foam_strain) == ("bearing", 0, 0, 0)


def test_too_wide_to_foam_is_an_answer():
    answer = allow(joint(18.0), Foam(), Rules())
    assert answer.status == "too wide to foam"
    assert answer.widest > answer.foam.most_width
    assert allow(joint(18.0), Foam(most_width=60.0), Rules()).status == "ok"


def test_square_cut_is_as_wide_as_its_wedge():
    answer = allow(joint(4.0, kind="eave", measure=1.2, extra_off=60.0), Foam(), Rules())
    assert answer.gap < answer.foam.most_width < answer.widest
    assert answer.status == "too wide to foam"


def test_foam_gives_back_its_share():
    assert_allclose(Foam(recovery=0.25).lost(8.0), 0.75 * 8.0)


@pytest.mark.parametrize(
    ("build", "named"),
    [
        (lambda: Foam(squeeze_once=0.0), "squeeze_once: 0 %; accepted: 0 % to 95 %"),
        (lambda: Foam(squeeze_once=math.nan), "squeeze_once: nan"),
        (lambda: Foam(recovery=1.1), "recovery: 110 %"),
        (lambda: Foam(works=0.0), "works: 0 %"),
        (lambda: Foam(least_width=10.0, most_width=10.0), "least above zero and below the most"),
        (lambda: Rules(keep_clear=-1.0), "keep_clear: -1.0 mm; accepted: 0 or more"),
        (lambda: Rules(cutting=math.nan), "cutting: nan mm"),
        (lambda: Rules(fraction=0.0), "fraction: 0.0 mm; accepted: above 0"),
        (lambda: Rules(fraction=60.0), "up to 2 in"),
    ],
)  # fmt: skip
def test_impossible_foam_and_rules_are_refused(build, named):
    with pytest.raises(ShrinkageError, match=named):
        build()

"""Laws of movement in a piece of wood, over all woods, sections, piths and moistures."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from drawn_woods import WOODS, airs, hearts, moistures, sizes, species, timbers
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from shrinkage.climate import emc
from shrinkage.movement import change, strain
from shrinkage.section import radial_weight, width_weights
from shrinkage.timber import Timber

EXACT = 1e-12
"""Absolute, on strains and weights: some roundings of a double."""
DIRECTIONS = ("width", "depth", "length")
anywhere = st.floats(-3000.0, 3000.0)
"""Pith from the centre of the section [mm], inside it and far out."""


def test_all_woods_of_the_tables_are_drawn():
    assert len(WOODS) > 100 and any(wood.fibre_saturation == 22 for wood in WOODS)


@given(species, moistures, moistures)
def test_no_movement_above_fibre_saturation(wood, one, two):
    above = wood.fibre_saturation + np.array([one, two])
    for total in (wood.s_r, wood.s_t, wood.s_l):
        assert change(total, *above, wood.fibre_saturation) == 0.0
        wet = change(total, above[0], two, wood.fibre_saturation)
        assert wet == change(total, wood.fibre_saturation, two, wood.fibre_saturation)


@given(species, moistures, moistures)
def test_there_and_back_returns(wood, there, back):
    for total in (wood.s_r, wood.s_t, wood.s_l):
        out = change(total, there, back, wood.fibre_saturation)
        home = change(total, back, there, wood.fibre_saturation)
        assert_allclose((1 - out) * (1 - home), 1.0, rtol=0, atol=EXACT)


@given(species, moistures, moistures, moistures)
def test_more_drying_is_more_shrinkage(wood, start, one, two):
    wetter, drier = max(one, two), min(one, two)
    for total in (wood.s_r, wood.s_t, wood.s_l):
        less = change(total, start, wetter, wood.fibre_saturation)
        assert change(total, start, drier, wood.fibre_saturation) >= less - EXACT


@given(species, st.lists(moistures, min_size=1, max_size=6), moistures)
def test_movement_of_a_scalar_is_that_of_an_array(wood, many, end):
    at_once = change(wood.s_t, many, end, wood.fibre_saturation)
    one = [float(change(wood.s_t, m, end, wood.fibre_saturation)) for m in many]
    assert_array_equal(at_once, one)
    assert_array_equal(strain(wood.s_r, many), [float(strain(wood.s_r, m)) for m in many])


@given(sizes, sizes, anywhere, anywhere)
def test_rings_are_the_same_mirrored_and_in_inches(w, h, x, y):
    weight = float(radial_weight(w, h, x, y))
    assert -EXACT <= weight <= 1 + EXACT
    # Far from the section, four large corner terms leave a small rest.
    close = 1e-9 * (1 + (x**2 + y**2) / (w * h))
    for mirrored in ((-x, y), (x, -y), (-x, -y)):
        assert_allclose(radial_weight(w, h, *mirrored), weight, rtol=0, atol=close)
    assert_allclose(radial_weight(h, w, y, x), 1 - weight, rtol=0, atol=close)
    inches = radial_weight(w / 25.4, h / 25.4, x / 25.4, y / 25.4)
    assert_allclose(inches, weight, rtol=0, atol=close)


@given(st.lists(st.tuples(sizes, sizes, anywhere, anywhere), min_size=1, max_size=5))
def test_rings_of_a_scalar_are_those_of_an_array(sections):
    at_once = radial_weight(*np.array(sections).T)
    assert_allclose(at_once, [float(radial_weight(*one)) for one in sections], rtol=0, atol=EXACT)


@given(sizes, sizes, hearts)
def test_bracket_of_weights_is_in_order(width, depth, heart):
    across = width_weights(width, depth, heart)
    for weights in (across, across.other()):
        ordered = (0.0, weights.low, weights.estimate, weights.high, 1.0)
        assert all(a <= b + EXACT for a, b in pairwise(ordered))


@given(timbers())
def test_width_and_depth_shrink_between_radial_and_tangential(timber):
    low, high = sorted((timber.species.s_r, timber.species.s_t))
    for grain in ("width", "depth"):
        totals = [timber.total(grain, case) for case in ("least", "estimate", "most")]
        assert low - EXACT <= totals[0] <= totals[1] + EXACT <= totals[2] + 2 * EXACT
        assert totals[2] <= high + EXACT
    both = timber.total("width") + timber.total("depth")
    assert_allclose(both, timber.species.s_r + timber.species.s_t, rtol=0, atol=EXACT)


@given(timbers())
def test_seasons_of_a_timber_are_in_order(timber):
    for grain in DIRECTIONS:
        lost = timber.shrink(grain)
        assert lost.shape == (3, 3) and np.isfinite(lost).all()
        assert (np.diff(lost, axis=0) <= EXACT).all()  # driest, usual, wettest
        assert (lost[0] >= -EXACT).all()
        assert (np.diff(lost[0]) >= -EXACT).all()  # least, estimate, most


@given(species, sizes, sizes, hearts, airs())
def test_no_change_no_movement(wood, width, depth, heart, around):
    still = type(around)("still", np.full(12, around.low), "drawn")
    timber = Timber("post", wood, width, depth, heart, around.low, still)
    for grain in DIRECTIONS:
        assert_allclose(timber.shrink(grain), 0.0, rtol=0, atol=EXACT)


@given(st.floats(-1.0, 60.0), st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_damper_air_is_wetter_wood(temp, one, two):
    low, high = sorted((one, two))
    assert float(emc(temp, low)) <= float(emc(temp, high)) + EXACT
    assert_array_equal(
        emc([temp, temp], [low, high]), [float(emc(temp, low)), float(emc(temp, high))]
    )

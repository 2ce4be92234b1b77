"""Ring directions in a section: laws of the weight of R, and what each kind of heart means."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.section import HEART_KINDS, Heart, Weights, radial_weight, width_weights

EXACT = 1e-12
"""Four corner terms of the closed form, near the pith."""
SECTIONS = [
    (8, 8, 0, 0), (8, 12, 0, 0), (6, 10, 2, -7), (8, 8, 4, 4), (8, 8, 4, 0), (1, 9, 0.3, 4.5),
    (200, 140, -60, 300), (5, 5, 2.5, -2.5), (3, 4, 11, 0),
]  # fmt: skip
FAR = 1e-6
"""What the switch to straight rings may cost, a thousand section sizes away."""


@pytest.mark.parametrize(("w", "h", "x", "y"), SECTIONS)
def test_between_none_and_all(w, h, x, y):
    assert 0.0 <= float(radial_weight(w, h, x, y)) <= 1.0


@pytest.mark.parametrize(("w", "h", "x", "y"), SECTIONS)
def test_mirrors(w, h, x, y):
    weight = radial_weight(w, h, x, y)
    for mirror in ((-x, y), (x, -y), (-x, -y)):
        assert_allclose(radial_weight(w, h, *mirror), weight, atol=EXACT)


@pytest.mark.parametrize(("w", "h", "x", "y"), SECTIONS)
def test_quarter_turn_swaps_width_and_depth(w, h, x, y):
    """cos^2 and sin^2 make one: what is not radial in the width is radial in the depth."""
    assert_allclose(radial_weight(h, w, -y, x), 1 - radial_weight(w, h, x, y), atol=EXACT)


@pytest.mark.parametrize(("w", "h", "x", "y"), SECTIONS)
def test_any_unit_of_length(w, h, x, y):
    inches = radial_weight(w, h, x, y)
    assert_allclose(radial_weight(25.4 * w, 25.4 * h, 25.4 * x, 25.4 * y), inches, atol=EXACT)


@pytest.mark.parametrize(("w", "h", "x", "y"), SECTIONS)
def test_halves_make_the_whole(w, h, x, y):
    left = radial_weight(w / 2, h, x + w / 4, y)
    right = radial_weight(w / 2, h, x - w / 4, y)
    assert_allclose((left + right) / 2, radial_weight(w, h, x, y), atol=EXACT)


def test_scalar_is_array():
    w, h, x, y = np.array(SECTIONS, dtype=float).T
    one = [float(radial_weight(*section)) for section in SECTIONS]
    assert_allclose(radial_weight(w, h, x, y), one, rtol=0, atol=0)
    assert radial_weight(8, 8, np.zeros((3, 1)), np.zeros(4)).shape == (3, 4)


def test_far_pith_gives_flat_and_quarter_sawn():
    assert_allclose(radial_weight(8, 6, 0, -1e9), 0.0, atol=1e-12)
    assert_allclose(radial_weight(8, 6, 1e9, 0), 1.0, atol=1e-12)
    assert_allclose(radial_weight(8, 6, 1e9, 1e9), 0.5, atol=1e-12)


@pytest.mark.parametrize("angle", np.linspace(0, np.pi / 2, 7))
def test_no_step_where_the_rings_are_taken_as_straight(angle):
    x, y = np.cos(angle), np.sin(angle)
    near, far = (float(radial_weight(8, 6, r * x, r * y)) for r in (7999.0, 8001.0))
    assert_allclose(near, far, atol=FAR)
    assert_allclose(far, x**2, atol=FAR)


@pytest.mark.parametrize(
    "bad",
    [(0, 8, 0, 0), (8, -1, 0, 0), (np.nan, 8, 0, 0), (8, 8, np.nan, 0), (8, 8, 0, np.inf),
     ([8, 0], 8, 0, 0)],
)  # fmt: skip
def test_impossible_section(bad):
    with pytest.raises(ShrinkageError, match="accepted: finite numbers, sizes above zero"):
        radial_weight(*bad)


@pytest.mark.parametrize(
    ("kind", "w", "h", "weights"),
    [
        ("boxed", 8, 8, (0.5, 0.5, 0.5)),
        ("flat", 10, 2, (0, 0, 0)),
        ("flat", 2, 10, (1, 1, 1)),
        ("quarter", 10, 2, (1, 1, 1)),
        ("quarter", 2, 10, (0, 0, 0)),
        ("rift", 8, 10, (0.5, 0.5, 0.5)),
        ("free", 8, 10, (0, 0.5, 1)),
        ("unknown", 8, 10, (0, 0.5, 1)),
    ],
)
def test_kinds_of_heart(kind, w, h, weights):
    found = width_weights(w, h, Heart(kind))
    assert_allclose((found.low, found.estimate, found.high), weights, atol=EXACT)


def test_boxed_heart_of_an_oblong():
    """The wide side sees more R: 0.3866 in the 8 of an 8 x 12, 0.6134 in the 12."""
    across = width_weights(8, 12, Heart("boxed"))
    assert_allclose((across.estimate, across.other().estimate), (0.3866, 0.6134), atol=5e-5)


def test_stated_pith():
    found = width_weights(8, 8, Heart("pith", 0, -5))
    assert found.low == found.estimate == found.high
    assert_allclose(found.estimate, 0.2183, atol=5e-5)
    assert width_weights(8, 8, Heart("pith")) == width_weights(8, 8, Heart("boxed"))


@pytest.mark.parametrize("kind", [*HEART_KINDS, "pith"])
@pytest.mark.parametrize(("w", "h"), [(8, 8), (6, 10), (10, 6)])
def test_bracket_is_in_order_and_turns(kind, w, h):
    across = width_weights(w, h, Heart(kind, 1, 2))
    assert 0 <= across.low <= across.estimate <= across.high <= 1
    depth = across.other()
    assert depth.low <= depth.estimate <= depth.high
    assert_allclose(across.estimate + depth.estimate, 1.0, atol=EXACT)


def test_other_of_a_bracket():
    assert Weights(0.2, 0.3, 0.6).other() == Weights(0.4, 0.7, 0.8)


@pytest.mark.parametrize("kind", HEART_KINDS)
def test_each_kind_says_what_it_means(kind):
    assert len(Heart(kind).meaning) > 10


@pytest.mark.parametrize("kind", ["centre", "", "BOXED", None])
def test_unknown_kind(kind):
    with pytest.raises(ShrinkageError, match="accepted: boxed, free, flat, quarter, rift, unknown"):
        Heart(kind)


@pytest.mark.parametrize(("w", "h", "x"), [(0, 8, 0), (8, 8, np.nan)])
def test_weights_of_an_impossible_section(w, h, x):
    with pytest.raises(ShrinkageError, match="sizes above zero"):
        width_weights(w, h, Heart("pith", x, 0))

"""The vector loop through both stacks of a joint: its laws and its bracket."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.climate import AirYear
from shrinkage.joint import Joint, Layer, Seasons, closure
from shrinkage.section import Heart
from shrinkage.species import find
from shrinkage.timber import Sheet, Timber

EXACT = 1e-12
"""[mm] On closures of a few millimetres."""
UP, DOWN, OUT = (0.0, 1.0), (0.0, -1.0), (1.0, 0.0)
SEASONS = ("driest", "usual", "wettest")
CASES = ("least", "estimate", "most")
ROOM = (6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 11.0, 10.0, 9.0, 8.0, 7.0)


def timber(heart="boxed", moisture=60.0, air=ROOM, species="eastern hemlock", **more) -> Timber:
    year = AirYear("air", np.array(np.broadcast_to(air, 12), dtype=float), "this test")
    wood = find(species)
    return Timber("beam", wood, 200.0, 200.0, Heart(heart), moisture, year, **more)


def layer(wood, thickness=200.0, direction=UP, side="far", grain="depth") -> Layer:
    return Layer("a layer", wood, grain, thickness, direction, side)


def numbers(seasons: Seasons) -> np.ndarray:
    return np.array([[getattr(getattr(seasons, s), c) for c in CASES] for s in SEASONS])


def turned(vector, angle):
    cos, sin = math.cos(angle), math.sin(angle)
    return (cos * vector[0] - sin * vector[1], sin * vector[0] + cos * vector[1])


EAVE = [
    layer(timber("unknown"), 190.0),
    layer(timber("flat"), 140.0, turned(UP, -0.6)),
    layer(timber("unknown"), 95.0, OUT, "near", "width"),
]
EAVE_NORMAL = turned(UP, -0.6)


@pytest.mark.parametrize(
    ("direction", "side", "normal", "lever"),
    [
        (UP, "far", UP, 200), (UP, "near", UP, -200), (DOWN, "far", UP, -200), (OUT, "far", UP, 0),
        (UP, "far", turned(UP, math.pi / 3), 100), (OUT, "near", DOWN, 0),
    ],
)  # fmt: skip
def test_lever(direction, side, normal, lever):
    assert_allclose(layer(timber(), 200.0, direction, side).lever(normal), lever, atol=EXACT)


def test_nothing_in_the_stack_nothing_moves():
    assert_allclose(numbers(closure([], UP)), 0.0, atol=0)


def test_one_layer_by_hand():
    """200 mm of boxed eastern hemlock, mean of 3.0 and 6.8 %, from 30 to 6, 9 and 12 %."""
    by_hand = 200 * 0.049 * np.array([24, 21, 18]) / 30
    assert_allclose(numbers(closure([layer(timber())], UP)), np.tile(by_hand[:, None], 3))


def test_sign_far_wood_closes_and_own_wood_opens():
    assert closure([layer(timber())], UP).driest.estimate > 0
    assert closure([layer(timber(), side="near")], UP).driest.estimate < 0


def test_unmoved_wood_gives_no_closure():
    still = timber(moisture=12.0, air=12.0)
    stack = [layer(still), layer(still, side="near", direction=OUT)]
    assert_allclose(numbers(closure(stack, EAVE_NORMAL)), 0.0, atol=0)


def test_a_sill_that_carries_both_cancels():
    sill = timber()
    stack = [layer(sill), layer(sill, side="near")]
    assert_allclose(numbers(closure(stack, UP)), 0.0, atol=EXACT)


def test_a_sill_that_carries_one_does_not():
    assert closure([layer(timber())], UP).driest.estimate > 5


@pytest.mark.parametrize("air", [19.0, 16.0, 12.0, 8.0, 5.0])
def test_more_drying_never_opens_a_closing_gap(air):
    def far(end: float) -> np.ndarray:
        stack = [layer(timber("unknown", air=end)), layer(timber("flat", air=end), 140.0)]
        return numbers(closure(stack, EAVE_NORMAL))

    assert (far(air) > 0).all()
    assert (far(air - 1) >= far(air)).all()


def test_wetter_wood_on_the_day_never_closes_less():
    found = [closure([layer(timber(moisture=m))], UP).driest.estimate for m in (15, 20, 30, 80)]
    assert found == sorted(found)
    assert found[2] == found[3]  # above fibre saturation nothing more


def test_there_and_back_returns():
    """As wet in the wettest month as on the day: the joint is as it was."""
    found = numbers(closure([layer(timber("unknown", moisture=12.0))], UP))
    assert_allclose(found[2], 0.0, atol=EXACT)
    assert (found[0] > 0).all()


def test_stack_in_any_order():
    assert_allclose(
        numbers(closure(EAVE[::-1], EAVE_NORMAL)), numbers(closure(EAVE, EAVE_NORMAL)), atol=EXACT
    )


def test_layer_in_two_halves():
    halves = [layer(timber(), 80.0), layer(timber(), 120.0)]
    assert_allclose(numbers(closure(halves, UP)), numbers(closure([layer(timber())], UP)))


@pytest.mark.parametrize("angle", [0.3, math.pi / 2, 2.5])
def test_the_whole_joint_turned(angle):
    """Only directions between the layers and the joint count."""
    stack = [
        Layer(a.name, a.wood, a.grain, a.thickness, turned(a.direction, angle), a.side)
        for a in EAVE
    ]
    found = numbers(closure(stack, turned(EAVE_NORMAL, angle)))
    assert_allclose(found, numbers(closure(EAVE, EAVE_NORMAL)), atol=EXACT)


def test_metric_is_imperial():
    inches = [Layer(a.name, a.wood, a.grain, a.thickness / 25.4, a.direction, a.side) for a in EAVE]
    mm = numbers(closure(EAVE, EAVE_NORMAL))
    assert_allclose(numbers(closure(inches, EAVE_NORMAL)) * 25.4, mm, atol=EXACT)


def test_bracket_by_hand():
    """Unknown rings: R to T in each layer, 3.0 to 6.8 %, dried by half.

    The most: far wood at its most and the panel's own at its least.
    """
    wood = timber("unknown", air=15.0)
    stack = [layer(wood, 200.0), layer(wood, 100.0, side="near")]
    least, estimate, most = numbers(closure(stack, UP))[0]
    assert_allclose(least, 200 * 0.015 - 100 * 0.034)
    assert_allclose(estimate, 200 * 0.0245 - 100 * 0.0245)
    assert_allclose(most, 200 * 0.034 - 100 * 0.015)


@pytest.mark.parametrize("moisture", [8.0, 12.0, 60.0])
@pytest.mark.parametrize("side", ["far", "near"])
@pytest.mark.parametrize("direction", [UP, DOWN, EAVE_NORMAL])
def test_bracket_is_in_order_even_where_wood_swells(moisture, side, direction):
    stack = [layer(timber("unknown", moisture=moisture), 200.0, direction, side)]
    assert (np.diff(numbers(closure(stack, UP)), axis=1) >= 0).all()


def test_eave_bracket_is_in_order():
    found = numbers(closure(EAVE, EAVE_NORMAL))
    assert (np.diff(found, axis=1) > 0).all()
    assert found[0, 1] > found[1, 1] > found[2, 1]


@pytest.mark.parametrize("factor", [0.5, 0.7])
def test_section_factor_scales_first_closing_not_seasonal_working(factor):
    full = numbers(closure([layer(timber())], UP))
    heavy = numbers(closure([layer(timber(section_factor=factor))], UP))
    assert_allclose(heavy[0], factor * full[0], atol=EXACT)
    assert_allclose(np.diff(heavy, axis=0), np.diff(full, axis=0), atol=EXACT)


def test_along_the_grain():
    """A 40 ft girt, 0.15 % from 30 to 8 %, half of it to each end: 6.7 mm (0.26 in)."""
    girt = layer(timber(air=8.0), 40 * 304.8 / 2, OUT, grain="length")
    assert_allclose(closure([girt], OUT).driest.estimate, 0.0015 * 22 / 30 * 6096, atol=EXACT)


def test_sheet_in_the_stack():
    """12 mm of wallboard that loses 1 % and regains half of it."""
    found = numbers(closure([layer(Sheet("wallboard", 0.01, 0.005), 12.0)], UP))
    assert_allclose(found, np.tile([[0.12], [0.09], [0.06]], 3), atol=EXACT)


def test_wood_that_swells_opens():
    found = numbers(closure([layer(timber(moisture=8.0))], UP))
    assert (found[0] > 0).all()
    assert (found[2] < 0).all()


def test_joint_holds_what_it_is_given():
    joint = Joint("eave", "south, top", tuple(EAVE), EAVE_NORMAL)
    assert (joint.measure, joint.extra_off, joint.notes) == (1.0, 0.0, ())
    with pytest.raises(AttributeError):
        joint.measure = 2.0


def test_through_the_year_by_hand():
    """Wood at 8 % on the day in air of 6 to 12 %: closes 2/30 of S, opens 4/30."""
    seasons = closure([layer(timber(moisture=8.0, heart="flat"))], UP)  # depth: radial, 3.0 %
    left = 1 - 0.03 * 22 / 30
    closes, opens = (200 * 0.03 * (a - b) / 30 / left for a, b in ((8, 6), (12, 8)))
    assert numbers(seasons)[0] == pytest.approx(closes, abs=EXACT)
    assert seasons.closing == pytest.approx(closes, abs=EXACT)
    assert seasons.closing_before_foam() == pytest.approx([0.0], abs=EXACT)
    assert seasons.closing_after_foam() == pytest.approx([closes], abs=EXACT)
    assert seasons.opening_after_foam() == pytest.approx([opens], abs=EXACT)
    assert seasons.swing() == pytest.approx([closes + opens], abs=EXACT)


def test_green_wood_only_closes():
    seasons = closure(EAVE, EAVE_NORMAL)
    assert seasons.foamed.estimate == seasons.foamed.most == 0.0
    assert seasons.closing == pytest.approx(seasons.driest.most, abs=EXACT)
    only_plate = closure(EAVE[:1], UP)
    assert only_plate.opening_after_foam() == pytest.approx([0.0], abs=EXACT)

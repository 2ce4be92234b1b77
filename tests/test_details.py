"""Each detail's stack, by hand: steady air at 9 %, so every strain is 0.7 of the table's shrinkage.

Shrinkage from the Wood Handbook, FPL-GTR-190, Table 4-3: eastern white pine R 2.1, T 6.1 % (basis
of that row: memory), eastern hemlock 3.0, 6.8 %; boxed squares move by the mean of both. Along the
grain 0.15 %, the middle of the 0.1 to 0.2 % of its chapter 4. All lengths millimetres.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage import details
from shrinkage.climate import AirYear
from shrinkage.details import Covering, Footing, RoofSeat
from shrinkage.errors import ShrinkageError
from shrinkage.joint import Joint, closure
from shrinkage.section import Heart
from shrinkage.species import find
from shrinkage.timber import Sheet, Timber

EXACT = 1e-9
"""[mm] The same sum in another order: rounding only."""
DRIED = (30 - 9) / 30
PINE, HEMLOCK, ALONG = 0.041 * DRIED, 0.049 * DRIED, 0.0015 * DRIED
STEADY = AirYear("steady", np.full(12, 9.0), "this test")
PITCH = math.atan2(10, 12)
SIN, COS = math.sin(PITCH), math.cos(PITCH)
SIDE, ABOVE, POST = 190.0, 127.0, 2800.0


def beam(species: str = "eastern white pine", side: float = SIDE) -> Timber:
    return Timber("beam", find(species), side, side, Heart("boxed"), 60.0, STEADY)


def seat(pitch: float = PITCH, housing: float = 0.0, **more) -> RoofSeat:
    return RoofSeat(beam(), beam(), pitch, housing, ABOVE, **more)


def footing(panel_on="sill", frame_on="sill", sill: Timber | None = None) -> Footing:
    hemlock = beam("eastern hemlock")
    return Footing(hemlock, POST, sill or hemlock, panel_on, frame_on)


def closes(joint: Joint) -> float:
    return closure(joint.layers, joint.normal).driest.estimate


def eave(seat_=None, footing_=None, share=SIDE / 2, **more) -> Joint:
    return details.eave("eave", seat_ or seat(), footing_ or footing(), share, **more)


PLAIN = (POST * ALONG + SIDE * PINE) * COS + ABOVE * PINE - SIDE / 2 * PINE * SIN
"""Post and plate drop the roof, the rafter lowers it square to the slope, the plate draws in."""


def test_eave():
    assert_allclose(closes(eave()), PLAIN, atol=EXACT)
    assert_allclose(eave().measure, 1 / COS)


def test_level_eave_does_not_feel_the_plate_drawn_in():
    found = closes(eave(seat(pitch=0.0)))
    assert_allclose(found, POST * ALONG + (SIDE + ABOVE) * PINE, atol=EXACT)


@pytest.mark.parametrize("share", [0.0, 50.0, SIDE])
def test_layout_line_sets_the_share_that_draws_in(share):
    lost = closes(eave(share=0.0)) - closes(eave(share=share))
    assert_allclose(lost, share * PINE * SIN, atol=EXACT)


def test_housed_rafter_has_less_plate_under_it():
    lost = closes(eave()) - closes(eave(seat(housing=40.0)))
    assert_allclose(lost, 40.0 * PINE * COS, atol=EXACT)


def test_purlins_carry_the_roof_higher():
    purlins = seat(purlin=beam("eastern hemlock"), purlin_above=100.0)
    assert_allclose(closes(eave(purlins)) - PLAIN, 100.0 * HEMLOCK, atol=EXACT)


def test_every_covering_counts():
    boards = Timber("board", find("eastern white pine"), 250, 25, Heart("quarter"), 30.0, STEADY)
    covered = seat(coverings=(Covering(Sheet("board", 0.02), 12.0), Covering(boards, 25.0)))
    # Quarter-sawn: the wide side is radial, the thickness tangential.
    added = 12.0 * 0.02 + 25.0 * 0.061 * DRIED
    assert_allclose(closes(eave(covered)) - PLAIN, added, atol=EXACT)


def test_covering_that_swells_back_opens_the_damp_season():
    covered = eave(seat(coverings=(Covering(Sheet("board", 0.02, 0.03), 12.0),)))
    found = closure(covered.layers, covered.normal)
    assert_allclose(found.driest.most - found.wettest.most, 12.0 * 0.03, atol=EXACT)


def test_square_cut_top_gives_the_height_it_loses():
    square = eave(cut="square", panel_thickness=165.0)
    assert_allclose(square.extra_off, 165.0 * 10 / 12)
    assert_allclose(closes(square), PLAIN, atol=EXACT)
    assert any("wedge" in note for note in square.notes)
    assert eave(cut="parallel", panel_thickness=165.0).extra_off == 0


@pytest.mark.parametrize(
    ("panel_on", "frame_on", "sign"),
    [("sill", "sill", 0), ("foundation", "foundation", 0), ("foundation", "sill", 1),
     ("sill", "foundation", -1)],
)  # fmt: skip
def test_sill_counts_where_it_carries_only_one(panel_on, frame_on, sign):
    found = closes(eave(footing_=footing(panel_on, frame_on)))
    assert_allclose(found - PLAIN, sign * SIDE * HEMLOCK * COS, atol=EXACT)


def test_hung_panel_leaves_the_post_out_above_and_feels_it_below():
    hung = footing("hung")
    assert_allclose(closes(eave(footing_=hung)), PLAIN - POST * ALONG * COS, atol=EXACT)
    below = details.foot("foot", hung)
    assert_allclose(closes(below), POST * ALONG + SIDE * HEMLOCK, atol=EXACT)
    on_foundation = details.foot("foot", footing("hung", "foundation"))
    assert_allclose(closes(on_foundation), POST * ALONG, atol=EXACT)


@pytest.mark.parametrize("panel_on", ["sill", "foundation"])
def test_panel_that_stands_bears_without_a_gap(panel_on):
    assert details.foot("foot", footing(panel_on)).layers == ()


def test_gable_follows_its_eave_end_and_the_tie():
    found = closes(details.gable("gable", seat(), footing(), beam(), 2700.0))
    by_hand = (POST * ALONG + SIDE * PINE) * COS + ABOVE * PINE + 2700.0 * ALONG * SIN
    assert_allclose(found, by_hand, atol=EXACT)


def test_corner_closes_by_wood_outside_the_shoulder_and_half_the_girts():
    post, girt = beam("eastern hemlock"), beam()
    wallboard = Covering(Sheet("wallboard", 0.01), 13.0)
    for shoulder in (0.0, 80.0, SIDE):
        found = closes(details.corner("end", post, shoulder, girt, 5400.0, (wallboard,)))
        by_hand = shoulder * HEMLOCK + 2700.0 * ALONG + 13.0 * 0.01
        assert_allclose(found, by_hand, atol=EXACT)


def test_ridge_closes_from_both_slopes():
    joint = details.ridge("ridge", seat(), beam(), 2700.0)
    assert_allclose(closes(joint), 2 * (ABOVE * PINE * SIN + 2700.0 * ALONG), atol=EXACT)
    assert_allclose(joint.measure, 1 / COS)  # what it takes off is measured along the slope


def test_nothing_moves_between_two_panels():
    assert closes(details.spline("spline")) == 0


def test_unit_held_by_the_frame_sinks_on_its_panel():
    post = beam("eastern hemlock")
    assert closes(details.opening("door", False, post, 900.0)) == 0
    held = details.opening("window", True, post, 900.0)
    assert_allclose(closes(held), 900.0 * ALONG, atol=EXACT)


def test_panel_that_grows_closes_its_joint_in_the_damp_season_only():
    joint = details.spline("spline")
    assert details.with_expansion(joint, 0.0, 2000.0, details.OUT) is joint
    grown = details.with_expansion(joint, 0.001, 2000.0, details.OUT)
    found = closure(grown.layers, grown.normal)
    assert_allclose([found.driest.most, found.wettest.most], [0.0, 2.0], atol=EXACT)


@pytest.mark.parametrize(
    ("build", "named"),
    [
        (lambda: seat(housing=SIDE), "housing 190 mm; accepted: 0 to less than"),
        (lambda: seat(housing=-1.0), "housing -1 mm"),
        (lambda: seat(housing=math.nan), "housing nan mm"),
        (lambda: RoofSeat(beam(), beam(), PITCH, 0.0, 0.0), "above its seat 0 mm"),
        (lambda: RoofSeat(beam(), beam(), PITCH, 0.0, 191.0), "up to the rafter's depth, 190 mm"),
        (lambda: seat(purlin=beam(), purlin_above=0.0), "purlin above its seat 0 mm"),
        (lambda: details.corner("end", beam(), 191.0, beam(), 5000.0), "0 to the post's width"),
        (lambda: details.corner("end", beam(), -1.0, beam(), 5000.0), "corner shoulder -1 mm"),
    ],
)  # fmt: skip
def test_impossible_details_are_refused(build, named):
    with pytest.raises(ShrinkageError, match=named):
        build()

"""Joinery: laws that hold for any wood, and mistakes that are named. Numbers: tests/validation."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.brace import EDGES, STRAINS, Brace, brace
from shrinkage.climate import AirYear
from shrinkage.errors import ShrinkageError
from shrinkage.finishes import Face, Hiding
from shrinkage.joinery import Shoulder, Tenon, shoulder, tenon
from shrinkage.pegged import PeggedBeam, pegged
from shrinkage.section import Heart
from shrinkage.species import Species, find
from shrinkage.timber import Timber

EXACT = 1e-9
"""[mm] Rounding only."""
STEADY = AirYear("steady, 9 %", np.full(12, 9.0), "this test")
SAME = Species("same all ways", 0.05, 0.05, 0.05)
STILL = Species("never moves", 0.0, 0.0, 0.0)


def wood(species="eastern white pine", heart="boxed", width=190.0, depth=240.0) -> Timber:
    kind = species if isinstance(species, Species) else find(species)
    return Timber("wood", kind, width, depth, Heart(heart), 60.0, STEADY)


def braced(species="eastern white pine", angle=45.0, **more) -> Brace:
    frame, one = wood(species), wood(species, width=140.0, depth=140.0)
    given = {"post": Face(frame, "width", 95.0), "beam": Face(frame, "depth", 120.0), "brace": one,
             "angle": math.radians(angle), "leg": 900.0, "post_peg": 50.0,
             "beam_peg": 50.0}  # fmt: skip
    return Brace(**(given | more))


def test_half_the_post_lifts_as_the_whole():
    """Above and below the heart are alike: up to mid-depth the strip's mean is the whole's."""
    beam = wood()
    found = pegged("p", PeggedBeam(beam, wood(STILL), (120.0,))).lift
    assert_allclose(found.most, 120 * beam.total("depth") * 0.7, atol=EXACT)


def test_lift_rises_with_the_peg_and_stops_at_the_tolerable_height():
    joint = PeggedBeam(wood(heart="unknown"), wood(), (100.0,), 0.4, 0.8)
    heights = np.linspace(10, 239, 40)
    lifts = np.array([joint.lift(h) for h in heights])
    assert (np.diff(lifts, axis=0) > 0).all()
    found = pegged("p", joint).highest
    assert_allclose(joint.lift(found.least)[2], 1.2, atol=1e-6)
    assert_allclose(joint.lift(found.most)[0], 1.2, atol=1e-6)
    at_limit = pegged("p", replace(joint, pegs=(found.least,)))
    assert_allclose(at_limit.off.most, 0.8, atol=1e-6)


def test_slack_is_taken_off_and_seat_stays_in_contact():
    joint = PeggedBeam(wood(), wood(), (100.0,))
    lift = pegged("p", joint).lift.most
    assert_allclose(pegged("p", replace(joint, slack=lift / 2)).off.most, lift / 2, atol=EXACT)
    seated = pegged("p", replace(joint, slack=2 * lift))
    assert seated.off.most == 0.0 and not seated.notes[0].startswith("Lifted")
    assert pegged("p", joint).notes[0].startswith("Lifted")


def test_a_lift_always_tolerable_has_no_highest_peg_but_the_depth():
    found = pegged("p", PeggedBeam(wood(), wood(), (100.0,), tolerable=50.0)).highest
    assert found.least == found.most == 240.0


def test_two_pegs_hold_at_their_middle():
    one = pegged("p", PeggedBeam(wood(), wood(), (100.0,)))
    two = pegged("p", PeggedBeam(wood(), wood(), (60.0, 140.0)))
    assert_allclose(two.lift.most, one.lift.most, atol=EXACT)
    assert one.drawn.most == 0.0 < two.drawn.most


def test_tenon_and_mortise_alike_keep_their_fit():
    found = tenon("t", Tenon(wood(SAME), wood(SAME), 38.0, 240.0, clearance=1.0))
    assert_allclose(found.loose.estimate, 1.0 * (1 - 0.05 * 0.7), atol=EXACT)
    assert found.loose.least < found.loose.estimate < found.loose.most, "each at its own factor"
    assert any("bind" in note for note in tenon("t", Tenon(wood(SAME), wood(SAME), 38, 200)).notes)


def test_mortise_in_either_side_of_a_square_is_the_same():
    square = wood(width=190.0, depth=190.0)
    found = [tenon("t", Tenon(wood(), square, 38.0, 240.0, side)).loose
             for side in ("width", "depth")]  # fmt: skip
    assert_allclose([a.estimate for a in found], found[0].estimate, atol=EXACT)


def test_end_clearance_adds_to_what_opens():
    near, far = (tenon("t", Tenon(wood(), wood(), 38.0, 200.0, end_clearance=c)).short.most
                 for c in (0.0, 3.0))  # fmt: skip
    assert_allclose(far - near, 3 * (1 - 0.0015 * 0.7), atol=EXACT)


def test_pegged_shoulder_opens_less_than_one_held_by_its_posts():
    face = Face(wood(), "width", 95.0)
    girt = wood()
    posts = shoulder("s", Shoulder(face, girt, 3000.0), Hiding(6, 0))
    pegs = shoulder("s", Shoulder(replace(face, share=50.0), girt, 3000.0, "pegs"), Hiding(6, 0))
    assert pegs.gap.most < posts.gap.most
    assert_allclose(posts.cover.least, -posts.gap.most, atol=EXACT)  # no housing covers anything


def test_a_wood_that_shrinks_alike_all_ways_keeps_its_brace():
    """Scaled as a whole the frame still fits: pegs, length and every edge of the shoulders."""
    joint = braced(SAME, 38.0)
    levers = joint.responses()
    for key in (*EDGES, "pull", "turn"):
        assert_allclose(levers[key].sum(), 0.0, atol=EXACT, err_msg=key)


def test_brace_mirrored_about_its_axis():
    """Post and beam exchanged at the angle's complement: foot and head change places."""
    one, other = braced(angle=30.0), braced(angle=60.0)
    leg = one.leg * math.tan(one.angle)
    beam = Face(one.beam.timber, "width", 120.0)
    other = replace(other, post=beam, beam=Face(one.post.timber, "depth", 95.0), leg=leg)
    swap = [1, 0, 2, 4, 3, 5]
    for mine, theirs in zip(EDGES, EDGES[2:] + EDGES[:2], strict=True):
        assert_allclose(one.responses()[mine], other.responses()[theirs][swap], atol=1e-9)
    assert_allclose(one.responses()["turn"], -other.responses()["turn"][swap], atol=1e-12)


def test_a_frame_that_never_moves():
    found = brace("b", braced(STILL))
    assert all(a.least == a.most == 0.0 for a in found.amounts)


def test_edge_that_bears_is_named():
    found = brace("b", braced(brace=wood("white oak", "flat", 140.0, 200.0)))
    assert found.foot_lower.least < 0 and "foot, lower edge" in found.notes[0]
    quiet = brace("b", braced(brace=wood(STILL, width=140.0, depth=140.0)))
    assert "can bear" not in quiet.notes[0]


def test_steps_work_the_amounts():
    """The last number of a step is the amount it explains, to its last digit."""
    found = brace("b", braced())
    for step, edge in zip(found.steps[4:], (*found.amounts[:4], found.pull), strict=True):
        assert float(step.split(" = ")[-1].split()[0]) == pytest.approx(edge.most, abs=6e-4)
    assert len(STRAINS) == 6


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: PeggedBeam(wood(), wood(), (250.0,)), r"peg 250\.0 mm above the seat; accepted"),
        (lambda: PeggedBeam(wood(), wood(), (0.0,)), r"peg 0\.0 mm above the seat"),
        (lambda: PeggedBeam(wood(), wood(), ()), "no pegs; accepted: the height of one at least"),
        (lambda: PeggedBeam(wood(), wood(), (50.0,), slack=-1), "slack -1 mm; accepted: 0 or more"),
        (lambda: Tenon(wood(), wood(), 200.0, 100.0), "a piece of 200.0 x 100.0 mm"),
        (lambda: Tenon(wood(), wood(), 38.0, 100.0, clearance=-2), "clearance -2 mm"),
        (lambda: Tenon(wood(), wood(), 38.0, 0.0), r"a piece of 38\.0 x 0\.0 mm"),
        (lambda: Shoulder(Face(wood(), "width", 40.0), wood(), 3000.0, "pegs", 50.0),
         r"housing 50\.0 mm; accepted: 0 to the 40\.0 mm"),
        (lambda: Shoulder(Face(wood(), "width", 40.0), wood(), 0.0), "length 0 mm; accepted"),
        (lambda: braced(angle=10.0), r"angle 10\.0 deg; accepted: 15 to 75"),
        (lambda: braced(leg=90.0), r"leg 90\.0 mm; accepted: more than 99\.0 mm"),
        (lambda: braced(post_peg=-1.0), "post peg -1 mm; accepted: 0 or more"),
        (lambda: braced(beam_peg=241.0), r"peg 241\.0 mm behind the face of the wood; accepted: 0"),
        (lambda: find("ironbark tree"), "species 'ironbark tree' is not known"),
    ],
)  # fmt: skip
def test_impossible_joints_are_named(make, named):
    with pytest.raises(ShrinkageError, match=named):
        make()

"""Walls divided into panels: pure geometry, its laws on many made-up walls and its refusals."""

from __future__ import annotations

import math
from itertools import pairwise
from random import Random

import pytest
from numpy.testing import assert_allclose

from shrinkage import layout
from shrinkage.errors import ShrinkageError
from shrinkage.layout import Hole

EXACT = 1e-6
"""[mm] Rounding of sums over a wall of ten metres."""
PITCH = math.atan2(10, 12)
ENDS = ("corner", "free")


def pieces(places, holes=(), profile=None, reach=0.0):
    profile = profile or [(places[0], 2500.0), (places[-1], 2500.0)]
    return layout.strips("wall", places, profile, ENDS, "eave", holes, reach)


@pytest.mark.parametrize(
    ("ends", "start", "stop"),
    [
        (("free", "free"), 0.0, 6000.0),
        (("butts", "butts"), -13.0, 6013.0),
        (("laps", "laps"), -178.0, 6178.0),
        (("laps", "free"), -178.0, 6000.0),
    ],
)
def test_run_past_the_frame(ends, start, stop):
    """Lapping walls run past the other's covering and panel, butting ones up to that panel."""
    assert layout.run(6000.0, ends, covering=13.0, panel=165.0) == (start, stop)


def test_a_lapping_and_a_butting_wall_meet():
    lap = layout.run(6000.0, ("laps", "laps"), 13.0, 165.0)[1] - 6000.0
    butt = layout.run(5000.0, ("butts", "butts"), 13.0, 165.0)[1] - 5000.0
    assert_allclose(lap - butt, 165.0)  # what lies between is the lapping panel


def test_gable_rises_at_the_pitch_to_its_middle():
    profile = layout.top_profile(6000.0, 2500.0, PITCH, True, (-13.0, 6013.0))
    (x0, y0), (x1, y1), (x2, y2) = profile
    assert (x0, x1, x2) == (-13.0, 3000.0, 6013.0)
    assert_allclose(y1, 2500.0 + 3000.0 * 10 / 12)
    assert_allclose([y0, y2], 2500.0 - 13.0 * 10 / 12)
    assert_allclose(layout.height_at(profile, 0.0), 2500.0)
    assert_allclose(layout.height_at(profile, 6000.0), 2500.0)


def test_level_top():
    assert layout.top_profile(6000.0, 2500.0, PITCH, False, (0.0, 6000.0)) == [
        (0.0, 2500.0),
        (6000.0, 2500.0),
    ]


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("divide", ["even", "full"])
def test_divisions_sum_up_and_none_is_too_wide(divide, seed):
    chance = Random(seed)
    start, length = chance.uniform(-300, 300), chance.uniform(10, 40_000)
    widest = chance.uniform(300, 1300)
    places = layout.cuts((start, start + length), divide, widest)
    widths = [b - a for a, b in pairwise(places)]
    assert (places[0], places[-1]) == (start, start + length)
    assert_allclose(sum(widths), length, atol=EXACT)
    assert all(0 < width <= widest + EXACT for width in widths)
    assert len(widths) == math.ceil(length / widest - 1e-6)  # no more panels than needed


def test_even_and_full():
    assert_allclose(layout.cuts((0.0, 3000.0), "even", 1200.0), [0, 1000, 2000, 3000])
    assert_allclose(layout.cuts((0.0, 3000.0), "full", 1200.0), [0, 1200, 2400, 3000])
    assert_allclose(layout.cuts((0.0, 2400.0), "full", 1200.0), [0, 1200, 2400])
    assert layout.cuts((0.0, 1e-4), "even", 1200.0) == [0.0, 1e-4]


def test_own_division_with_a_rest():
    places = layout.cuts((0.0, 3000.0), (900.0, None, 1000.0), 1200.0)
    assert_allclose(places, [0, 900, 2000, 3000])


@pytest.mark.parametrize(
    ("divide", "named"),
    [
        ((900.0, 900.0), "widths add up to 1800.0 mm; accepted: the wall's panels run 3000.0 mm"),
        ((1200.0, 1200.0, 600.6), "widths add up to 3000.6"),
        ((1200.0, 1200.0, 600.0, None), "widths add up to 3000.0"),
        ((1300.0, None), "panel 1 is 1300.0 mm wide; accepted: up to panel.max_width, 1200.0"),
        ((1000.0, None), "panel 2 is 2000.0 mm wide"),
    ],
)
def test_divisions_that_cannot_be_are_refused(divide, named):
    with pytest.raises(ShrinkageError, match=named):
        layout.cuts((0.0, 3000.0), divide, 1200.0)


def test_edges_name_what_they_meet():
    first, middle, last = pieces([0.0, 1000.0, 2000.0, 3000.0])
    assert first.edges == {"left": "corner", "right": "spline", "top": "eave", "bottom": "sill"}
    assert (middle.edges["left"], middle.edges["right"]) == ("spline", "spline")
    assert (last.edges["left"], last.edges["right"]) == ("spline", "free")
    assert [p.mark for p in (first, middle, last)] == ["wall 1", "wall 2", "wall 3"]


def test_peak_stays_in_its_strip():
    profile = layout.top_profile(3000.0, 2500.0, PITCH, True, (0.0, 3000.0))
    found = pieces([0.0, 1000.0, 2000.0, 3000.0], profile=profile)
    assert [len(p.top) for p in found] == [2, 3, 2]
    assert found[1].top[1] == (1500.0, 2500.0 + 1250.0)
    on_the_line = pieces([0.0, 1500.0, 3000.0], profile=profile)
    assert [len(p.top) for p in on_the_line] == [2, 2]


def test_narrow_opening_is_cut_out_of_every_strip_it_touches():
    hole = Hole("window", 900.0, 1000.0, 300.0, 600.0)
    first, second, third = pieces([0.0, 1000.0, 2000.0, 3000.0], [hole])
    assert (first.holes, second.holes, third.holes) == ((hole,), (hole,), ())


def test_opening_as_wide_as_a_strip_splits_it():
    hole = Hole("window", 1000.0, 900.0, 1000.0, 1200.0)
    found = pieces([0.0, 1000.0, 2000.0, 3000.0], [hole])
    assert [p.mark for p in found] == ["wall 1", "wall 2a", "wall 2b", "wall 3"]
    below, above = found[1], found[2]
    assert (below.bottom, below.top_at(1500.0), above.bottom) == (0.0, 900.0, 2100.0)
    assert (below.edges["top"], below.edges["bottom"]) == ("opening", "sill")
    assert (above.edges["top"], above.edges["bottom"]) == ("eave", "opening")
    assert below.holes == above.holes == ()


def test_door_to_the_ground_and_to_the_top_leaves_no_piece_there():
    door = Hole("door", 1000.0, 0.0, 1000.0, 2100.0)
    assert [p.mark for p in pieces([0.0, 1000.0, 2000.0], [door])] == ["wall 1", "wall 2a"]
    tall = Hole("door", 1000.0, 0.0, 1000.0, 2500.0)
    assert [p.mark for p in pieces([0.0, 1000.0, 2000.0], [tall])] == ["wall 1"]


def test_strip_beside_an_opening_within_its_gap_is_cut_out_too():
    """A unit that fills its strip touches both neighbours unless they give way."""
    hole = Hole("door", 1000.0, 0.0, 1000.0, 2100.0)
    found = pieces([0.0, 1000.0, 2000.0, 3000.0], [hole], reach=16.0)
    assert [p.holes for p in found] == [(hole,), (), (hole,)]


def test_many_openings_in_one_strip_all_get_a_letter():
    holes = [Hole(f"slot {n}", 0.0, 80.0 * n + 40, 1000.0, 40.0) for n in range(30)]
    marks = [p.mark for p in pieces([0.0, 1000.0, 2000.0], holes)]
    assert marks[:2] == ["wall 1a", "wall 1b"]
    assert len(set(marks)) == len(marks) == 32


@pytest.mark.parametrize("seed", range(20))
def test_pieces_and_openings_fill_the_wall(seed):
    """Area of all pieces, less the cut-outs in them, is the wall's less its openings."""
    chance = Random(seed)
    length = chance.uniform(4000, 9000)
    profile = layout.top_profile(length, 2600.0, chance.uniform(0.1, 0.9), True, (0.0, length))
    hole = Hole("w", chance.uniform(200, length - 1900), chance.uniform(0, 900),
                chance.uniform(300, 1600), chance.uniform(300, 1500))  # fmt: skip
    layout.check_holes([hole], profile, length)
    found = layout.strips("w", layout.cuts((0.0, length), "full", 1200.0), profile, ENDS, "gable",
                          [hole])  # fmt: skip

    def area(piece):
        under = sum((b[0] - a[0]) * (a[1] + b[1]) / 2 for a, b in pairwise(piece.top))
        whole = under - piece.bottom * (piece.right - piece.left)
        cut = sum(
            (min(h.right, piece.right) - max(h.left, piece.left)) * h.height for h in piece.holes
        )
        return whole - cut

    wall = sum((b[0] - a[0]) * (a[1] + b[1]) / 2 for a, b in pairwise(profile))
    assert_allclose(sum(map(area, found)), wall - hole.width * hole.height, rtol=1e-12)


@pytest.mark.parametrize(
    ("holes", "named"),
    [
        ([Hole("door", 2500.0, 0.0, 900.0, 2000.0)], "'door' ends 3400.0 mm .*length, 3000.0 mm"),
        ([Hole("door", 100.0, 0.0, 900.0, 2600.0)], "reaches 2600.0 mm up; .* 2500.0 mm high"),
        (
            [Hole("a", 0.0, 0.0, 900.0, 2000.0), Hole("b", 800.0, 1000.0, 900.0, 900.0)],
            "opening 'b' lies over 'a'",
        ),
    ],
)  # fmt: skip
def test_openings_that_do_not_fit_are_refused(holes, named):
    with pytest.raises(ShrinkageError, match=named):
        layout.check_holes(holes, [(0.0, 2500.0), (3000.0, 2500.0)], 3000.0)


def test_openings_side_by_side_and_one_over_the_other_fit():
    holes = [Hole("a", 0.0, 0.0, 900.0, 1000.0), Hole("b", 900.0, 0.0, 900.0, 1000.0),
             Hole("c", 0.0, 1000.0, 900.0, 900.0)]  # fmt: skip
    layout.check_holes(holes, [(0.0, 2500.0), (3000.0, 2500.0)], 3000.0)

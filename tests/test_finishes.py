"""Finishes: laws that hold for any wood, and mistakes that are named. Numbers: tests/validation."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.boards import Boards, boards
from shrinkage.calendar import Calendar, courses, timeline
from shrinkage.climate import AirYear, outdoors, room_derived
from shrinkage.errors import ShrinkageError
from shrinkage.finding import amount, lost, mixed, part_of, strain_by_hand
from shrinkage.finishes import Face, Hiding, trim, wallboard
from shrinkage.section import Heart
from shrinkage.species import find
from shrinkage.timber import Timber

EXACT = 1e-9
"""[mm] Rounding only."""
STEADY = AirYear("steady, 9 %", np.full(12, 9.0), "this test")
HIDING = Hiding(6.0, 3.0)


def post(moisture=60.0, heart="boxed", air=STEADY, **more) -> Timber:
    wood = find("eastern hemlock")
    return Timber("post", wood, 190.5, 240.0, Heart(heart), moisture, air, **more)


def laid(**changes) -> Boards:
    given = {"species": find("white fir"), "rings": "flat", "width": 100.0,
             "tongue": 6.0, "moisture": 10.0, "run": 3000.0,
             "air": AirYear("two", np.array([6.0] * 6 + [13.0] * 6), "t")}  # fmt: skip
    return Boards(**(given | changes))


@pytest.fixture(scope="module")
def dated() -> Timber:
    """Return a post through a calendar."""
    outside = outdoors("Madison, WI")
    room = room_derived(outside)
    calendar = Calendar(date(2027, 3, 1), date(2027, 5, 1), date(2027, 6, 1), date(2027, 7, 1),
                        date(2027, 8, 1), date(2027, 10, 1), 6)  # fmt: skip
    one = post(air=room)
    found = courses({"post": one}, calendar, outside, timeline(calendar, room), ())
    return replace(one, course=found["post"])


def test_both_sides_share_the_post():
    whole = wallboard("w", Face(post(), "width", 0.0), HIDING)
    half = wallboard("w", Face(post(), "width", 95.25), HIDING)
    assert whole.left.most == 0.0
    assert_allclose(half.left.most, half.right.most, atol=EXACT)
    assert_allclose(2 * half.left.most, whole.right.most, atol=EXACT)


def test_unknown_rings_run_from_r_to_t():
    found = trim("t", Face(post(heart="unknown"), "width", 100.0), HIDING).opens
    assert_allclose(found.least, 100 * 0.6 * 0.030 * 0.7, atol=EXACT)
    assert_allclose(found.estimate, 100 * 0.049 * 0.7, atol=EXACT)
    assert_allclose(found.most, 100 * 0.068 * 0.7, atol=EXACT)


def test_own_section_factor_moves_estimate_and_most():
    whole = trim("t", Face(post(), "width", 100.0), HIDING).opens
    part = trim("t", Face(post(section_factor=0.8), "width", 100.0), HIDING).opens
    assert_allclose([part.estimate, part.most], 0.8 * np.array([whole.estimate, whole.most]))
    assert part.least == whole.least


def test_a_dry_post_opens_less_and_swells():
    swing = AirYear("two", np.array([9.0] * 6 + [14.0] * 6), "t")
    green, dry = (wallboard("w", Face(post(m, air=swing), "width", 95.25), HIDING)
                  for m in (60.0, 11.0))  # fmt: skip
    assert green.room.most == 0.0 < dry.room.most
    assert dry.left.most < green.left.most


def test_wide_laps_say_so():
    face = Face(post(), "width", 95.25)
    assert not any("one board through" in n for n in wallboard("w", face, HIDING).notes)
    assert "one board through" in wallboard("w", face, Hiding(95.0, 3.0)).notes[0]
    assert "reach past" in trim("t", Face(post(), "width", 9.0), HIDING).notes[0]


def test_later_finish_sees_less_with_a_calendar(dated):
    found = [lost(dated, "width", since).driest for since in ("panels on", "foamed", "heated")]
    assert (np.diff([cases[2] for cases in found]) < 0).all()
    assert (np.diff(found, axis=1) >= 0).all()
    left = 1 - dated.history("width", dated.course.line)[1, dated.course.line.marks["heated"], 1]
    whole = lost(dated, "width").driest[1]
    assert_allclose(found[2][1], 1 - (1 - whole) / left, rtol=1e-9)


def test_slow_and_fast_drying_widen_the_bracket(dated):
    cases = lost(replace(dated, section_factor=0.6), "width", "heated").driest
    assert cases[0] < cases[1] < cases[2]


def test_hand_worked_line_names_its_calendar(dated):
    assert "through its calendar" in strain_by_hand(dated, "width", "foamed")
    assert "section factor 0.8" in strain_by_hand(post(section_factor=0.8), "width")


def test_part_keeps_its_rings():
    """Four quarters of a boxed heart make the whole, strips of flat-sawn stay flat."""
    whole = post()
    quarters = [part_of(whole, 95.25, 120.0, x, y) for x in (-47.625, 47.625) for y in (-60, 60)]
    mean = np.mean([q.total("width") for q in quarters])
    assert_allclose(mean, whole.total("width"), atol=1e-12)
    flat = post(heart="flat")  # deeper than wide: the depth moves tangentially
    strip = part_of(flat, 190.5, 30.0)
    assert_allclose([strip.total("width"), strip.total("depth")], [0.030, 0.068], atol=1e-9)
    assert part_of(post(heart="unknown"), 30.0, 30.0).total("width", "most") == 0.068
    with pytest.raises(ShrinkageError, match=r"post: a piece of 100\.0 x 300\.0 mm"):
        part_of(whole, 100.0, 300.0)


def test_mixed_takes_each_end_that_adds_most():
    cases = np.array([0.01, 0.02, 0.03])
    assert_allclose(mixed((2.0, cases), (-1.0, cases)), [-0.01, 0.02, 0.05])
    found = amount("x", np.array([3.0, 2.0, 1.0]), governs="least")
    assert (found.least, found.most, found.governing) == (1.0, 3.0, 1.0)


def test_boards_that_only_swell_stand_tight():
    found = boards("b", laid(moisture=6.0))
    assert found.gap.most == 0.0 and found.growth.most > 0
    assert any("tight all year" in note for note in found.notes)


def test_a_gap_as_wide_as_the_growth_needs_no_room():
    growth = boards("b", laid()).growth.most
    found = boards("b", laid(gap=growth))
    assert found.room.most == 0.0
    assert_allclose(found.cover.least, boards("b", laid()).cover.least - growth, atol=EXACT)
    assert not any("go tight" in note for note in found.notes)


def test_one_free_wall_takes_all_the_room():
    both, one = (boards("b", laid(free_sides=n)).room.most for n in (2, 1))
    assert_allclose(one, 2 * both, atol=EXACT)


def test_short_tongue_says_so():
    assert "comes out" in boards("b", laid(width=400.0, tongue=3.0)).notes[0]
    assert "less than asked" in boards("b", laid(keep=5.9)).notes[0]


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"tongue": 100.0}, r"tongue 100\.0 mm; accepted: above zero and less than the board's"),
        ({"width": -1.0}, r"width -1 mm; accepted: above zero"),
        ({"run": 0.0}, r"run 0 mm; accepted: above zero"),
        ({"run": float("nan")}, "run nan mm"),
        ({"run": 50.0}, r"width 100\.0 mm; accepted: up to the run"),
        ({"gap": -1.0}, r"gap -1 mm; accepted: 0 or more"),
        ({"moisture": 31.0}, "moisture 31 %; accepted: 0 to 30 %"),
        ({"moisture": float("nan")}, "moisture nan %"),
        ({"rings": "boxed"}, "rings 'boxed'; accepted: flat, quarter"),
    ],
)
def test_impossible_boards_are_named(changes, named):
    with pytest.raises(ShrinkageError, match=named):
        laid(**changes)


def test_impossible_faces_are_named(dated):
    with pytest.raises(ShrinkageError, match=r"held 200\.0 mm from the face; accepted: 0 to its"):
        Face(post(), "width", 200.0)
    with pytest.raises(ShrinkageError, match="keep -1 mm; accepted: 0 or more"):
        Hiding(-1.0, 0.0)
    with pytest.raises(ShrinkageError, match="since 'foamed' without a calendar"):
        trim("t", Face(post(), "width", 9.0, "foamed"), HIDING)

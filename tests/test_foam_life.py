"""A joint's foam over its life: by hand, its laws, and what is told apart.

The joint is one sheet of unit strain, so that its closure is whatever a test wants.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.allowance import Rules, allow
from shrinkage.filling import filling
from shrinkage.foam import Foam
from shrinkage.foam_life import life, path
from shrinkage.job_foam import FoamSpec
from shrinkage.joint import Joint, Layer
from shrinkage.remedies import with_gap
from shrinkage.timber import Sheet

OUT = (1.0, 0.0)
LONG, DEEP = 100.0, 150.0
EXACT = 1e-9
"""Rounding only."""
FILL = filling(FoamSpec(), DEEP)


def joint(closing: float, swing: float = 0.0, kind="corner", **more) -> Joint:
    sheet = Sheet("layer", closing / LONG, swing / LONG)
    return Joint(kind, "joint", (Layer("layer", sheet, "depth", LONG, OUT),), OUT, **more)


def at_gap(gap: float, closing: float, swing: float = 0.0, foam: Foam | None = None):
    return with_gap(allow(joint(closing, swing), foam or Foam(), Rules()), gap)


def test_by_hand():
    """20 mm closes 8 and reopens 5; crushed foam gives half of 8 back and rests at 16."""
    found = life(at_gap(20.0, 8.0, 5.0), FILL)
    assert_allclose(found.compression, 8 / 20)
    assert_allclose(found.stretch, (20 - 8 + 5 - 16) / 16)
    assert_allclose(found.worked, 5 / 2 / 16)
    assert_allclose(found.stress, 25.0)
    assert_allclose(found.line_load, 25.0 * DEEP)
    assert_allclose(found.pull, -(1 / 16) * 500.0)
    assert not found.is_over or found.worked > 0.10
    assert found.is_bonded and not found.is_hard


def test_zero_closure_zero_load():
    found = life(allow(joint(0.0), Foam(), Rules()), FILL)
    assert (found.compression, found.stretch, found.worked) == (0.0, 0.0, 0.0)
    assert (found.stress, found.line_load, found.energy) == (0.0, 0.0, 0.0)
    assert found.status == "fits"


def test_opening_joint_pulls_and_does_not_push():
    found = life(allow(joint(-2.0), Foam(), Rules()), FILL)
    assert found.line_load == 0.0 and found.compression == 0.0
    assert 0 < found.stretch <= Foam().works
    assert found.pull < 0


@pytest.mark.parametrize("closing", np.linspace(-3.0, 14.0, 9))
@pytest.mark.parametrize("swing", [0.0, 1.0, 4.0])
@pytest.mark.parametrize("cure", [0.0, -0.02, 0.02])
def test_the_gap_to_leave_fits_its_foam(closing, swing, cure):
    """What `allow` asks for, the foam then stands: two roads to one answer."""
    foam = Foam(most_width=500.0, cure=cure)
    found = life(allow(joint(closing, swing), foam, Rules()), FILL)
    assert found.status == "fits"
    assert found.fits and not found.is_over and found.is_bonded and not found.is_hard


def test_crushing_and_reopening_are_different_limits():
    """Foam that gives nothing back is not crushed by this, but comes loose."""
    crushed = life(at_gap(20.0, 8.0, 5.0, Foam(recovery=0.0)), FILL)
    assert crushed.compression < Foam().squeeze_once
    assert not crushed.is_bonded
    assert "when the gap reopens" in crushed.status
    elastic = life(at_gap(20.0, 8.0, 5.0, Foam(recovery=1.0)), FILL)
    assert elastic.is_bonded and elastic.stretch == 0.0


def test_over_what_it_takes_is_said():
    found = life(at_gap(14.0, 8.0), FILL)
    assert found.is_over and not found.is_hard
    assert "squeezed 57.1 %, takes 50 % once" in found.status
    assert found.line_load > 25.0 * DEEP


@pytest.mark.parametrize(
    ("gap", "closing", "words"),
    [(8.1, 8.0, "the foam is solid at 98 %"), (8.0, 8.0, "wood bears on panel"),
     (5.0, 8.0, "wood bears on panel")],
)  # fmt: skip
def test_what_does_not_fit_is_reported_never_a_number_made_up(gap, closing, words):
    found = life(at_gap(gap, closing), FILL)
    assert found.status.startswith("does not fit") and words in found.status
    assert found.is_hard
    assert (found.stress, found.line_load, found.energy) == (None, None, None)
    assert all(np.isfinite([found.compression, found.stretch, found.worked]))


def test_past_the_sheets_curve_is_reported():
    spec = FoamSpec(curve=[["5 %", "20 kPa"], ["30 %", "30 kPa"]])
    found = life(at_gap(20.0, 8.0), filling(spec, DEEP))
    assert found.line_load is None
    assert "squeezed 40 %, but its data sheet's curve ends at 30 %" in found.status


def test_wider_than_the_foam_fills_is_reported():
    found = life(at_gap(60.0, 8.0), FILL)
    assert "60.0 mm wide, fills up to 38.1 mm" in found.status


def test_bearing_has_no_foam():
    answer = allow(Joint("sill", "foot", (), (0.0, -1.0)), Foam(), Rules())
    assert life(answer, FILL) is None


def test_relaxation_leaves_its_share():
    spec = FoamSpec(relaxation=0.4, relaxation_source="an invented sheet")
    whole, eased = (life(at_gap(20.0, 8.0), fill) for fill in (FILL, filling(spec, DEEP)))
    assert_allclose(eased.line_load, 0.4 * whole.line_load)
    assert eased.compression == whole.compression
    with pytest.raises(ValueError, match=r"relaxation 0\.4 without relaxation_source"):
        FoamSpec(relaxation=0.4)


@pytest.mark.parametrize(("depth", "deep"), [("full", 150.0), ("core", 130.0), ("two beads", 60.0)])
@pytest.mark.parametrize(("kind", "slant"), [("corner", 1.0), ("eave", 1.3), ("gable", 1.0),
                                             ("ridge", 1.3), ("spline", 1.0)])  # fmt: skip
def test_depth_choices_and_the_load_that_follows(depth, deep, kind, slant):
    fill = filling(FoamSpec(depth=depth, facing="10 mm", bead="30 mm"), DEEP)
    asked = joint(8.0, kind=kind, measure=1.3 if kind in ("eave", "gable", "ridge") else 1.0)
    found = life(with_gap(allow(asked, Foam(), Rules()), 20.0), fill)
    expected = deep if depth == "two beads" else deep * slant
    assert_allclose(found.depth, expected)
    assert_allclose(found.line_load, 25.0 * expected)


def test_square_cut_is_foamed_across_the_panel():
    asked = joint(8.0, kind="eave", measure=1.3, extra_off=20.0)
    assert_allclose(FILL.foamed_depth(asked), DEEP)


@pytest.mark.parametrize(
    ("spec", "named"),
    [({"depth": "core", "facing": "75 mm"}, "leaves no core in a panel of 150 mm"),
     ({"depth": "two beads", "bead": "76 mm"}, "bead 76 mm twice is more than the panel's")],
)  # fmt: skip
def test_no_room_for_foam(spec, named):
    with pytest.raises(ValueError, match=named):
        filling(FoamSpec.model_validate(spec), DEEP)


def test_foam_that_grows_as_it_cures_is_squeezed_by_that():
    grown = life(at_gap(20.0, 0.0, foam=Foam(cure=0.05)), FILL)
    assert_allclose(grown.compression, 1 - 1 / 1.05)
    shrunk = life(at_gap(20.0, 0.0, foam=Foam(cure=-0.05)), FILL)
    assert_allclose(shrunk.stretch, 1 / 0.95 - 1)
    assert shrunk.compression == 0.0


@pytest.mark.parametrize("cure", [-0.03, 0.0, 0.02])
def test_shares_of_the_gap_with_cure_are_the_limits_themselves(cure):
    """A gap of c / closes is squeezed by squeeze_once, one of o / opens stretched by stretch."""
    foam = Foam(cure=cure, stretch=0.08)
    assert_allclose(life(at_gap(8.0 / foam.closes, 8.0, foam=foam), FILL).compression, 0.5)
    opened = life(at_gap(2.0 / foam.opens, -2.0, foam=foam), FILL)
    assert_allclose(opened.stretch, 0.08)


@pytest.mark.parametrize("cure", [-0.03, 0.0, 0.02])
@pytest.mark.parametrize(("closing", "swing"), [(6.0, 4.0), (9.0, 5.0), (5.0, 5.0)])
def test_each_limit_is_where_the_foam_gives_out(cure, closing, swing):
    """At the gap a limit asks for the foam is at that limit, to rounding: cure and all."""
    foam = Foam(recovery=0.3, stretch=0.06, works=0.07, cure=cure)
    limits = allow(joint(closing, swing), foam, Rules()).limits
    wanted = {limit.name: limit.needed for limit in limits}
    for name, key, most in (
        ("foam crushed once by the first drying", "compression", foam.squeeze_once),
        ("foam worked by the seasons", "worked", foam.works),
        ("tight when the seasons reopen it", "stretch", foam.stretches),
    ):
        found = life(at_gap(wanted[name], closing, swing, foam), FILL)
        assert_allclose(getattr(found, key), most)


def test_path_starts_where_the_foam_goes_in():
    through = path(at_gap(20.0, 8.0, 5.0))
    assert_allclose(through.gap[0, :, 2], [20.0, 12.0, 14.5, 17.0])
    assert_allclose(through.rest[0, :, 2], [20.0, 16.0, 16.0, 16.0])


def test_wider_gap_never_pushes_harder():
    loads = [life(at_gap(gap, 8.0), FILL).line_load for gap in np.linspace(8.5, 38.0, 60)]
    assert all(a >= b - EXACT for a, b in pairwise(loads))


def test_frozen_life_is_of_its_answer():
    answer = at_gap(20.0, 8.0)
    assert life(answer, FILL).answer is answer
    assert replace(answer, gap=21.0).gap == 21.0

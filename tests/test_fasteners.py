"""What holds a roof panel down: laws of withdrawal, the sum along a line, bad input."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.climate import AirYear
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.fasteners import (
    FOR_THE_ENGINEER,
    hold_down,
    lag_withdrawal,
    nds_gravity,
    wood_screw_withdrawal,
)
from shrinkage.job_foam import HoldDownSpec
from shrinkage.section import Heart
from shrinkage.species import Species, find
from shrinkage.timber import Timber

AIR = AirYear("steady", np.full(12, 8.0), "this test")
POUND, FOOT = 4.4482216152605, 304.8
LAG = {"fastener": "lag screw", "diameter": "3/8 in", "thread": "3 in", "spacing": "2 ft"}


def timbers(species: Species | None = None) -> dict[str, Timber]:
    wood = species or find("douglas-fir, coast")
    return {"rafter": Timber("rafter", wood, 140, 190, Heart("boxed"), 30.0, AIR)}


def held(spec: dict, pitch: float = 0.0, species: Species | None = None):
    return hold_down(HoldDownSpec.model_validate(spec), timbers(species), pitch)


def test_lag_screws_along_a_line_by_hand():
    """305 lb/in x 3 in x 0.9, each 2 ft."""
    found = held(LAG)
    assert_allclose(found.each, 305 * 3 * 0.9 * POUND, rtol=2e-3)
    assert_allclose(found.fasteners, found.each / (2 * FOOT) * 1000)
    assert "1800 G^1.5 D^0.75" in found.steps[2] and "305 lb/in" in found.steps[2]


def test_wood_screws_along_a_line_by_hand():
    found = held(LAG | {"fastener": "wood screw", "diameter": "0.19 in"})
    assert_allclose(found.each, 2850 * 0.5**2 * 0.19 * 3 * 0.9 * POUND)


def test_rated_screws_are_taken_as_their_maker_rates_them():
    found = held({"fastener": "rated", "rated": "250 lbf", "rated_source": "an invented report",
                  "spacing": "1 ft"})  # fmt: skip
    assert_allclose(found.each, 250 * POUND)
    assert_allclose(found.fasteners / 1000 * FOOT, 250 * POUND)
    assert "an invented report" in found.steps[2]


@pytest.mark.parametrize("pitch", [0.0, 0.5, 1.0])
def test_dead_load_square_to_the_roof(pitch):
    """12 lb/ft2 on 6 ft of slope is 72 lb along each foot."""
    found = held({"roof_load": "12 psf", "eave_share": "6 ft"}, pitch)
    assert_allclose(found.dead["eave"] / 1000 * FOOT, 72 * POUND * math.cos(pitch))
    assert found.fasteners == 0.0
    assert found.holds("gable") is None  # nothing is said of it
    assert held(LAG).dead == {"eave": 0.0, "gable": 0.0}


def test_margin_is_what_holds_over_what_pushes():
    found = held(LAG | {"roof_load": "12 psf", "eave_share": "6 ft"})
    total = found.dead["eave"] + found.fasteners
    assert_allclose(found.holds("eave"), total)
    assert_allclose(found.margin("eave", total / 4), 4.0)
    assert found.margin("eave", 0.0) is None
    assert found.margin("eave", None) is None
    assert found.holds("corner") is None and found.margin("corner", 100.0) is None
    assert FOR_THE_ENGINEER == "for the engineer"


def test_nothing_said_nothing_held():
    assert hold_down(None, timbers(), 0.5) is None


@pytest.mark.parametrize("formula", [lag_withdrawal, wood_screw_withdrawal])
def test_denser_wood_and_thicker_screws_hold_more(formula):
    assert formula(0.55, 9.0) > formula(0.45, 9.0) > formula(0.45, 7.0) > 0


def test_units_both_ways():
    metric = LAG | {"diameter": "9.525 mm", "thread": "76.2 mm", "spacing": "609.6 mm",
                    "roof_load": "0.57456310776 kPa", "eave_share": "1828.8 mm"}  # fmt: skip
    imperial = LAG | {"roof_load": "12 psf", "eave_share": "6 ft"}
    assert_allclose(held(metric).holds("eave"), held(imperial).holds("eave"), rtol=1e-9)


def test_gravity_of_a_wood_the_specification_does_not_list():
    gravity, source = nds_gravity(find("cherry, black"))
    assert gravity == find("cherry, black").gravity
    assert "safe side" in source
    bare = Species("mine", 0.04, 0.08)
    with pytest.raises(ShrinkageError, match="no specific gravity for 'mine'; accepted: gravity"):
        held(LAG, species=bare)
    assert held(LAG | {"gravity": 0.5}, species=bare).each > 0


def test_beyond_the_printed_tables_is_said():
    with pytest.warns(RangeWarning, match="specific gravity 0.2 is outside"):
        lag_withdrawal(0.2, 9.0)
    with pytest.warns(RangeWarning, match=r"diameter 50\.00 mm is outside"):
        lag_withdrawal(0.5, 50.0)


@pytest.mark.parametrize(
    ("spec", "named"),
    [
        ({"fastener": "lag screw", "diameter": "3/8 in"}, "without thread, spacing; accepted"),
        ({"fastener": "rated", "rated": "250 lbf", "spacing": "1 ft"}, "without rated_source"),
        ({"fastener": "none", "diameter": "3/8 in"}, "diameter with fastener 'none'"),
        ({}, "neither roof_load nor fastener: nothing would hold"),
        ({"roof_load": "0 psf", "eave_share": "6 ft"}, "nothing would hold"),
        ({"roof_load": "12 psf"}, "roof_load without eave_share or gable_share"),
        ({"roof_load": "12"}, "has no unit; accepted: a stress or area load"),
        ({"roof_load": "12 ft"}, "cannot be read; accepted: a stress or area load"),
        ({"roof_load": "-3 psf", "eave_share": "6 ft"}, "'-3 psf'; accepted: 0 or more"),
        (LAG | {"gravity": -0.5}, "greater than 0.2"),
    ],
)
def test_bad_input_is_named(spec, named):
    with pytest.raises(ValueError, match=named):
        HoldDownSpec.model_validate(spec)


def test_timber_that_is_not_there():
    with pytest.raises(ShrinkageError, match=r"timber 'purlin' is not in \[timber\]"):
        held(LAG | {"timber": "purlin"})


@pytest.mark.parametrize(
    ("gravity", "diameter", "named"),
    [(-0.5, 9.0, "specific gravity -0.5"), (math.nan, 9.0, "specific gravity nan"),
     (0.5, 0.0, r"diameter 0\.0 mm"), (0.5, math.nan, "diameter nan")],
)  # fmt: skip
def test_impossible_screws_are_refused(gravity, diameter, named):
    for formula in (lag_withdrawal, wood_screw_withdrawal):
        with pytest.raises(ShrinkageError, match=named):
            formula(gravity, diameter)

"""The eave worked by hand: closure of the joint between a wall panel and the roof above it.

Source: the joint loop `closure = sum far t s (n.e) - sum near t s (n.e)` written out for an eave
(derived here, vector statics of a chain of layers), shrinkage of eastern white pine from the Wood
Handbook, FPL-GTR-190, Table 4-3 (basis of that row: memory). Second road: the geometry itself,
points moved and distances measured, no loop and no strain formula.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.climate import AirYear
from shrinkage.joint import Layer, closure
from shrinkage.section import Heart
from shrinkage.species import find
from shrinkage.timber import Timber

SOURCE = "The joint loop at an eave, worked by hand and by moving points"
BASIS = "derived"
PITCH = math.atan2(10, 12)
PLATE, RAFTER, SHARE = 7.5, 5.0, 3.75
"""[in] Plate depth, rafter depth above its seat, share of the plate's width that draws in."""
STRAIN = 0.041 * 2 / 3
"""Mean of R 2.1 and T 6.1 %, two thirds of it from 30 down to 10 %, on the green dimension."""
DIGIT = 5e-5
"""[in] Half the last digit of the two values below."""
CLOSURE, PLATE_ALONE = 0.2285, 0.2050
"""[in] Normal to the slope; straight down."""
INCH = 25.4
NORMAL = (math.sin(PITCH), math.cos(PITCH))
"""From the top edge of the wall panel to the roof; the eave is on the right."""
UP, OUT = (0.0, 1.0), (1.0, 0.0)


def square(size: float, moisture: float = 30.0, ends_at: float = 10.0) -> Timber:
    """Return a boxed-heart square of eastern white pine: the mean of R and T both ways."""
    air = AirYear("steady", np.full(12, ends_at), "this check")
    pine = find("eastern white pine")
    return Timber("timber", pine, size * INCH, size * INCH, Heart("boxed"), moisture, air)


def layers(moisture: float = 30.0) -> list[Layer]:
    plate, rafter = square(PLATE, moisture), square(RAFTER, moisture)
    return [
        Layer("plate below the seat", plate, "depth", PLATE * INCH, UP),
        Layer("rafter above the seat", rafter, "depth", RAFTER * INCH, NORMAL),
        Layer("plate to its outer face", plate, "width", SHARE * INCH, OUT, "near"),
    ]


def test_strain():
    assert_allclose(square(PLATE).shrink("depth"), STRAIN, rtol=1e-12)


def test_closure_normal_to_the_slope(record):
    found = closure(layers(), NORMAL).driest.estimate / INCH
    record("eave closes square to the slope, eastern white pine 30 to 10 %", CLOSURE, found, "in",
           DIGIT)  # fmt: skip


def test_written_out():
    """`d_p s cos a + d_r s - w s sin a`, term by term."""
    by_hand = STRAIN * (PLATE * math.cos(PITCH) + RAFTER - SHARE * math.sin(PITCH))
    assert_allclose(closure(layers(), NORMAL).driest.estimate, by_hand * INCH, rtol=1e-12)


def test_plate_alone_straight_down(record):
    found = closure(layers()[:1], UP).driest.estimate / INCH
    record("plate alone, straight down", PLATE_ALONE, found, "in", DIGIT)


def test_plate_alone_is_the_vertical_of_its_normal_part():
    normal = closure(layers()[:1], NORMAL).driest.estimate
    assert_allclose(normal / math.cos(PITCH), PLATE_ALONE * INCH, rtol=0, atol=DIGIT * INCH)


def test_wetter_start_changes_nothing():
    """From 80 % as from 30 %: wood does not move above fibre saturation."""
    assert_allclose(
        closure(layers(80.0), NORMAL).driest.estimate,
        closure(layers(30.0), NORMAL).driest.estimate,
        rtol=1e-12,
    )


@pytest.mark.parametrize("gap", [0.0, 0.5])
def test_geometry(gap, record):
    """Move the points and measure: the panel's corner and a point of the roof plane's underside.

    Datum at the plate's bottom, in its middle. The plate's seat is `PLATE` up; the roof's underside
    passes `RAFTER` beyond it, normal to the slope. The panel stands against the plate's outer face
    on a floor that stays, its top corner `gap` below the roof, normal to the slope.
    """
    normal = np.array(NORMAL)

    def roof(shrunk: float) -> np.ndarray:
        seat = np.array([0.0, PLATE * (1 - shrunk)])
        return seat + RAFTER * (1 - shrunk) * normal

    face = SHARE
    height = (roof(0.0) @ normal - face * normal[0] - gap) / normal[1]
    corner_before = np.array([face, height])
    corner_after = np.array([face - SHARE * STRAIN, height])
    before = (roof(0.0) - corner_before) @ normal
    after = (roof(STRAIN) - corner_after) @ normal
    assert_allclose(before, gap, rtol=0, atol=1e-12)
    assert_allclose(before - after, CLOSURE, rtol=0, atol=DIGIT)
    found = closure(layers(), NORMAL).driest.estimate
    assert_allclose(found, (before - after) * INCH, rtol=1e-12)
    record("the same by moving points and measuring", before - after, found / INCH, "in", 1e-12,
           case=f"gap before {gap:g} in")  # fmt: skip


# Trade fact. Common practice, no published source: a green softwood rafter plate of ordinary depth
# loses about 1/8 to 3/16 in as it dries indoors.
TRADE_LEAST, TRADE_MOST = 1 / 8, 3 / 16
"""[in]"""
ROOM = 8.0
"""[%] Interior of most of the US, Table 13-2 (basis: memory)."""


@pytest.mark.parametrize(
    ("name", "table_rate"),
    [("eastern white pine", 0.2255), ("eastern hemlock", 0.2695)],
)
def test_plate_of_a_green_frame(name, table_rate, record_property):
    """7.5 in deep, boxed heart, green to 8 %: above the trade's figure at the table's full rate.

    Both fall into the trade's range with a section factor of 0.55 to 0.70: the small, slowly dried
    pieces of the table shrink more than a heavy timber. The default stays at 1, the safe side.
    """
    room = AirYear("room", np.full(12, ROOM), "this check")
    lost = {}
    for factor in (0.6, 1.0):
        side = PLATE * INCH
        plate = Timber("plate", find(name), side, side, Heart("boxed"), 60.0, room, factor)
        lost[factor] = float(plate.shrink("depth")[0, 1]) * PLATE
    assert_allclose(lost[1.0], table_rate, rtol=0, atol=DIGIT)
    assert TRADE_MOST < lost[1.0] < 1.5 * TRADE_MOST
    assert TRADE_LEAST < lost[0.6] < TRADE_MOST
    line = f"{name}: {lost[1.0]:.3f} in, {lost[0.6]:.3f} with section factor 0.6"
    print(line)
    record_property("plate", line)

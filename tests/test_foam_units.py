"""Loads at the edge: what the trade writes, both ways, and what is refused."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.units import load, registry, show_load

POUND, FOOT, INCH, KG = 4.4482216152605, 0.3048, 0.0254, 0.45359237


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("25 psi", "pressure", 25 * POUND / INCH**2 / 1000), ("40 kPa", "pressure", 40.0),
        ("0.04 MPa", "pressure", 40.0), ("12 psf", "pressure", 12 * POUND / FOOT**2 / 1000),
        ("12 lb/ft2", "pressure", 12 * POUND / FOOT**2 / 1000),
        ("12 lb/ft²", "pressure", 12 * POUND / FOOT**2 / 1000), ("0.6 kN/m2", "pressure", 0.6),
        ("2 lb/ft3", "density", 2 * KG / FOOT**3), ("2 lb/ft^3", "density", 2 * KG / FOOT**3),
        ("2 pcf", "density", 2 * KG / FOOT**3), ("32 kg/m3", "density", 32.0),
        ("32kg/m³", "density", 32.0), ("250 lbf", "force", 250 * POUND),
        ("250 lb", "force", 250 * POUND), ("1.1 kN", "force", 1100.0),
        ("60 lb/ft", "line load", 60 * POUND / FOOT), ("60 plf", "line load", 60 * POUND / FOOT),
        ("0.9 kN/m", "line load", 900.0), ("40 L", "volume", 40.0),
        ("1 ft3", "volume", 1000 * FOOT**3), ("0 psf", "pressure", 0.0),
    ],
)  # fmt: skip
def test_what_the_trade_writes(text, kind, value):
    assert_allclose(load(text, kind), value)


def test_quantities_are_taken_too():
    ureg = registry()
    assert_allclose(load(ureg.Quantity(25.0, "psi"), "pressure"), load("25 psi", "pressure"))


@pytest.mark.parametrize(
    ("value", "kind", "named"),
    [
        (25, "pressure", "pressure: 25 has no unit; accepted: a stress or area load"),
        ("25", "pressure", "'25' has no unit"), ("", "pressure", "'' cannot be read"),
        ("25 lb/ft3", "pressure", "cannot be used; accepted: a stress"),
        ("25 psi", "density", "cannot be used; accepted: a density"),
        ("2 lb", "line load", "cannot be used; accepted: a load along a line"),
        ("2 furlong", "force", "'2 furlong' cannot be read; accepted: a force"),
        ("nan psi", "pressure", "cannot be read"), ("9**9 psi", "pressure", "cannot be read"),
        (None, "volume", "None has no unit; accepted: a volume"), (True, "force", "has no unit"),
    ],
)  # fmt: skip
def test_bad_loads_are_named(value, kind, named):
    with pytest.raises(ShrinkageError) as caught:
        load(value, kind)
    assert named in caught.value.message


@pytest.mark.parametrize(
    ("kind", "inside", "written"),
    [("pressure", "kPa", "psi"), ("line load", "N/m", "lb/ft"), ("force", "N", "lb"),
     ("density", "kg/m3", "lb/ft3")],
)  # fmt: skip
def test_written_and_read_again(kind, inside, written):
    value = 4321.0
    words = show_load(value, kind)
    first, second = words.rstrip(")").split(" (")
    assert first.endswith(written) and second.endswith(inside)
    assert_allclose(load(first.replace(",", ""), kind), value, rtol=2e-3)
    assert_allclose(load(second.replace(",", ""), kind), value, rtol=1e-6)
    assert show_load(value, kind, "metric").startswith(second)

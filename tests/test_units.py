"""Lengths, temperatures, percentages and pitches as text in, floats out, and back on the tape."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from numpy.testing import assert_allclose

from shrinkage import units
from shrinkage.errors import ShrinkageError

EXACT = 1e-12
"""Relative: a few roundings of a double."""
PANEL = 95.625 * 25.4


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("7' 11-5/8\"", PANEL),
        ("7'11 5/8\"", PANEL),
        ("7' - 11-5/8\"", PANEL),
        ("7 ft 11 5/8 in", PANEL),
        ("7 ft. 11 5/8 in.", PANEL),
        ("7 feet 11.625 inches", PANEL),
        ("7′ 11⅝″", PANEL),
        ("7’ 11 5/8”", PANEL),
        ("7' 11 5⁄8''", PANEL),
        ("95.625 in", PANEL),
        ("95-5/8 in", PANEL),
        ("95⅝ IN", PANEL),
        ("  95.625\u00a0in ", PANEL),
        ('5½"', 139.7),
        ("½ in", 12.7),
        ("3/8 in", 9.525),
        (".5 in", 12.7),
        ("7' 6", 2286.0),
        ("7'", 2133.6),
        ("1 foot", 304.8),
        ("-3 in", -76.2),
        ("−5 mm", -5.0),
        ("138 mm", 138.0),
        ("13.8cm", 138.0),
        ("0.138 m", 138.0),
        ("1 yd", 914.4),
        ("2 kilometer", 2e6),
    ],
)
def test_length_text(text, mm):
    assert_allclose(units.length(text), mm, rtol=EXACT)


def test_length_quantity():
    quantity = units.registry().Quantity
    assert_allclose(units.length(quantity(2, "ft")), 609.6, rtol=EXACT)
    assert_allclose(units.length(quantity(3, "mm")), 3.0, rtol=EXACT)


@pytest.mark.parametrize("bare", ["12", "12.5", "7 1/2", "-3", "", " ", 12, 12.0, True, None, [1]])
def test_bare_number_is_no_length(bare):
    with pytest.raises(ShrinkageError, match=r"plate depth: .* has no unit; accepted: a length"):
        units.length(bare, "plate depth")


@pytest.mark.parametrize("wrong", ["5 kg", "5 s", "20 kelvin", "5 pound"])
def test_mass_or_time_is_no_length(wrong):
    with pytest.raises(ShrinkageError, match=r"width: .* cannot be used; accepted: a length"):
        units.length(wrong, "width")


@pytest.mark.parametrize(
    "nonsense",
    [
        "nan mm",
        "inf in",
        "5 in 12",
        "7' 6\" extra",
        "9**9**9 mm",
        "5 m2",
        "1,000 mm",
        "in",
        "3 cubits",
    ],
)
def test_unreadable_length(nonsense):
    with pytest.raises(ShrinkageError, match=r"^gap: cannot read .*accepted: a length"):
        units.length(nonsense, "gap")


def test_length_that_divides_by_zero():
    with pytest.raises(ShrinkageError, match="divides by zero"):
        units.length("1/0 in")


@pytest.mark.parametrize("number", [math.nan, math.inf])
def test_quantity_must_be_finite(number):
    with pytest.raises(ShrinkageError, match="is not finite; accepted: a length"):
        units.length(units.registry().Quantity(number, "mm"))
    with pytest.raises(ShrinkageError, match="not finite; accepted: a temperature"):
        units.temperature(units.registry().Quantity(number, "degC"))
    with pytest.raises(ShrinkageError, match="is not finite; accepted: a rise in a run"):
        units.roof_pitch(units.registry().Quantity(number, "degree"))


@pytest.mark.parametrize("mass", [5.0, 0.0])
def test_quantity_must_be_of_the_kind(mass):
    kilograms = units.registry().Quantity(mass, "kg")
    for read in (units.length, units.temperature, units.roof_pitch):
        with pytest.raises(ShrinkageError, match="cannot be used"):
            read(kilograms)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("20 C", 20), ("68 F", 20), ("68°F", 20), ("20 °C", 20), ("20 deg C", 20), ("-40F", -40),
        ("−5 c", -5), ("71.6 f", 22),
    ],
)  # fmt: skip
def test_temperature(text, celsius):
    assert_allclose(units.temperature(text), celsius, rtol=EXACT)


def test_temperature_quantity():
    assert_allclose(units.temperature(units.registry().Quantity(293.15, "K")), 20, rtol=1e-9)


@pytest.mark.parametrize("bad", ["20", "warm", "20 kg", "nan C", 20, None])
def test_bad_temperature(bad):
    with pytest.raises(ShrinkageError, match="accepted: a temperature with its unit"):
        units.temperature(bad)


@pytest.mark.parametrize(("text", "number"), [("12 %", 12), ("12.5%", 12.5), (" -3 % ", -3)])
def test_percent(text, number):
    assert units.percent(text) == number


@pytest.mark.parametrize("bad", ["12", "nan %", "12 percent", "% 12", 12, None])
def test_bad_percent(bad):
    with pytest.raises(ShrinkageError, match=r"moisture: .*accepted: a percentage with its sign"):
        units.percent(bad, "moisture")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("12 in 12", 45.0), ("12/12", 45.0), ("12:12", 45.0), ("10 in 12", 39.80557109226519),
        ("0 in 12", 0.0), ("40 deg", 40.0), ("40°", 40.0), ("84.9 deg", 84.9), ("0 degrees", 0.0),
    ],
)  # fmt: skip
def test_roof_pitch(text, degrees):
    assert_allclose(units.roof_pitch(text), math.radians(degrees), rtol=EXACT)


@pytest.mark.parametrize("steep", ["90 deg", "85 deg", "-5 deg", "12 in 0", "0/0", "200 in 12"])
def test_impossible_pitch(steep):
    with pytest.raises(ShrinkageError, match="too steep or below level; accepted: a rise in a run"):
        units.roof_pitch(steep)


@pytest.mark.parametrize("bad", ["10", 10, "steep", "10 in 12 in", "5 kg", None])
def test_unreadable_pitch(bad):
    with pytest.raises(ShrinkageError, match=r"pitch: .*accepted: a rise in a run"):
        units.roof_pitch(bad)


EIGHTH = 25.4 / 8


@pytest.mark.parametrize(
    ("inches", "rounding", "eighths"),
    [
        (0.30, "up", 3), (0.30, "down", 2), (0.30, "nearest", 2), (0.32, "nearest", 3),
        (0.375, "up", 3), (0.375, "down", 3), (0.375 + 1e-9, "up", 3), (0.375 - 1e-9, "down", 3),
        (0.375 + 1e-5, "up", 4), (-0.30, "up", -2), (-0.30, "down", -3), (0.0, "up", 0),
        (0.3125, "nearest", 3),
    ],
)  # fmt: skip
def test_round_to(inches, rounding, eighths):
    assert_allclose(units.round_to(inches * 25.4, EIGHTH, rounding), eighths * EIGHTH, rtol=EXACT)


@pytest.mark.parametrize("rounding", ["up", "down", "nearest"])
@pytest.mark.parametrize("mm", [0.1, 7.77, 1234.5, 2428.875])
def test_rounding_twice_changes_nothing(mm, rounding):
    once = units.round_to(mm, EIGHTH, rounding)
    assert units.round_to(once, EIGHTH, rounding) == once
    assert abs(once - mm) < EIGHTH


@pytest.mark.parametrize("fraction", [0.0, -1.0, math.nan, math.inf])
def test_bad_fraction(fraction):
    with pytest.raises(ShrinkageError, match=r"fraction: .*accepted: a length above zero"):
        units.round_to(1.0, fraction)


def test_bad_rounding():
    with pytest.raises(ShrinkageError, match="rounding: 'sideways'; accepted: up, down or nearest"):
        units.round_to(1.0, 1.0, "sideways")
    with pytest.raises(ShrinkageError, match="length to round: nan mm"):
        units.round_to(math.nan, 1.0)


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (95.625, "7' 11-5/8\""), (84, "7' 0\""), (84.5, "7' 0-1/2\""), (0.625, '5/8"'), (0, '0"'),
        (5, '5"'), (5.5, '5-1/2"'), (11.99, "1' 0\""), (-0.25, '-1/4"'), (-0.001, '0"'),
        (-13, "-1' 1\""),
    ],
)  # fmt: skip
def test_tape(inches, text):
    assert units.tape(inches * 25.4) == text


def test_tape_options():
    assert units.tape(95.625 * 25.4, feet=False) == '95-5/8"'
    assert units.tape(0.3 * 25.4, denominator=8) == '1/4"'
    assert units.tape(0.3 * 25.4, denominator=16) == '5/16"'


@pytest.mark.parametrize("sixteenths", range(0, 700, 37))
def test_tape_there_and_back(sixteenths):
    mm = sixteenths * 25.4 / 16
    assert_allclose(units.length(units.tape(mm)), mm, rtol=EXACT)
    assert_allclose(units.length(units.tape(mm, feet=False)), mm, rtol=EXACT)


def test_show():
    assert units.show(139.7) == '5-1/2"'
    # To the tenth: rounded to whole millimetres an order size could read larger than it is.
    assert units.show(139.7, "metric") == "139.7 mm"
    assert units.show(2813.0, "metric") == "2813 mm"
    assert units.show(-0.01, "metric") == "0.0 mm"
    assert units.show(5.24, "metric") == "5.2 mm"


def test_metric_and_imperial_are_one_length():
    assert_allclose(units.length("7 ft 11 5/8 in"), units.length("2428.875 mm"), rtol=EXACT)


def test_pint_waits_until_it_is_needed():
    """Tape text alone must not cost the registry: a short run stays short."""
    code = (
        "import sys; from shrinkage import units; units.length('7 ft 6 in'); units.length('3 mm');"
        "units.roof_pitch('10 in 12'); sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

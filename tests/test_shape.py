"""The stress-free map and what is measured on it: laws, limits, and the area average."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.movement import change
from shrinkage.section import radial_weight
from shrinkage.shape import Section, dry, mean_strain
from shrinkage.shape_dimensions import dimensions, heart_values, strains
from shrinkage.species import find

EXACT = 1e-9
"""[mm] Rounding of complex exponentials on a section of a few hundred mm."""
RULE = 1e-6
"""Simpson's rule along a face, as a share of the movement."""
R, T = 0.048, 0.076
"""Douglas-fir, coast, green to oven-dry."""

FREE = [
    Section(200, 200, 10, -130), Section(200, 40, 0, -60), Section(200, 200, -100, -100),
    Section(150, 250, 50, -178), Section(200, 200, 100, 0), Section(120, 90, 400, 150),
    Section(200, 200, 90, 75, is_round=True),
]  # fmt: skip
BOXED = [
    (Section(200, 200), "nearest"), (Section(200, 300, 10, -30), "left"),
    (Section(200, 200, 30, -20), "top"), (Section(140, 240, -60, 100), "bottom"),
    (Section(200, 200, 0, 0, is_round=True), "top"),
    (Section(200, 200, 30, 20, is_round=True), "nearest"),
    (Section(200, 200, 30, 20, is_round=True), "left"),
]  # fmt: skip
EXACT_CASES = [(section, None) for section in FREE] + BOXED


def weigh(section, s_r, s_t, check=None):
    return dimensions(dry(section, s_r, s_t, check))


def numbers(found):
    """Width and depth as rows of numbers."""
    spans = (found.width, found.depth)
    return np.array([[s.mean, s.wood, s.least, s.greatest, s.overall] for s in spans])


# ---------------------------------------------------------------- the map


@pytest.mark.parametrize(("section", "check"), EXACT_CASES)
def test_every_fibre_shrinks_by_its_own_amount(section, check):
    """Free of stress: the metric of the map is the free shrinkage, at every point."""
    shape = dry(section, R, T, check)
    random = np.random.default_rng(1)
    r, psi, step = random.uniform(1, 200, 50), random.uniform(-3, 3, 50), 1e-5
    out = (shape.moved(r + step, psi) - shape.moved(r - step, psi)) / (2 * step)
    round_ = (shape.moved(r, psi + step) - shape.moved(r, psi - step)) / (2 * step * r)
    assert_allclose(np.abs(out), 1 - R, rtol=1e-6)  # differences of numbers near 200 mm
    assert_allclose(np.abs(round_), 1 - T, rtol=1e-6)
    assert_allclose((out * np.conj(round_)).real, 0, atol=1e-6)


@pytest.mark.parametrize(("section", "check"), EXACT_CASES)
def test_laid_over_the_section_before(section, check):
    shape = dry(section, R, T, check)
    tied = [f.weights * (1 if f.name == "rim" else abs(f.before[-1] - f.before[0]))
            for f in shape.faces]  # fmt: skip
    weights = np.concatenate(tied)
    before = np.concatenate([f.before for f in shape.faces])
    after = np.concatenate([f.after for f in shape.faces])
    assert_allclose(weights @ (after - before), 0, atol=EXACT * weights.sum())
    assert_allclose((weights * np.conj(before) @ after).imag, 0, atol=EXACT * weights.sum() * 100)


@pytest.mark.parametrize(("section", "check"), [*EXACT_CASES, (Section(200, 140, 20, 5), None)])
def test_outline_is_closed_and_complete(section, check):
    before, after = dry(section, R, T, check).outline()
    assert before.shape == after.shape
    assert_allclose(before[0], before[-1])
    assert_allclose(after[0], after[-1])
    x, y = before[:-1].T
    area = abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)
    assert_allclose(area, section.area, rtol=1e-3)  # a round as a polygon of 128 sides


@pytest.mark.parametrize(("section", "check"), EXACT_CASES)
def test_area_shrinks_by_both(section, check):
    """The map takes (1 - R)(1 - T) of every area, the check left out."""
    _, after = dry(section, R, T, check).outline()
    before, _ = dry(section, 0.0, 0.0, check).outline()
    areas = []
    for x, y in (before.T, after.T):
        areas.append(abs(np.sum(x[:-1] * y[1:] - y[:-1] * x[1:]) / 2))
    # Straight strokes between 33 points of curved faces.
    assert_allclose(areas[1] / areas[0], (1 - R) * (1 - T), rtol=3e-5)


# ---------------------------------------------------------------- against the area average


@pytest.mark.parametrize(("section", "check"), EXACT_CASES)
def test_error_against_the_area_average_falls_with_the_square(section, check):
    """Two roads to one number: mean width of the wood from the map, and the area average."""
    sizes = np.array([0.04, 0.02, 0.01, 0.005])
    errors = []
    for s_t in sizes:
        s_r = 0.55 * s_t
        found, mean = weigh(section, s_r, s_t, check), mean_strain(section, s_r, s_t)
        errors.append([1 - found.width.wood / section.width - mean[0],
                       1 - found.depth.wood / section.depth - mean[1]])  # fmt: skip
    size = np.linalg.norm(errors, axis=1)
    slope = np.polyfit(np.log(sizes), np.log(size), 1)[0]
    assert 1.95 < slope < 2.1
    assert size[-1] < 0.02 * sizes[-1]


@pytest.mark.parametrize(
    "section", [s for s in [*FREE, *(section for section, _ in BOXED)] if not s.is_round]
)
def test_lean_against_the_mean_shear(section):
    tiny = 1e-5
    found = weigh(section, 0.55 * tiny, tiny).diamond
    assert_allclose(found, 2 * mean_strain(section, 0.55 * tiny, tiny)[2], atol=1e-4 * tiny)


@pytest.mark.parametrize(("section", "check"), BOXED)
def test_unchecked_is_the_area_average(section, check):
    found, mean = weigh(section, R, T), mean_strain(section, R, T)
    assert_allclose([found.width.shrinkage, found.depth.shrinkage], mean[:2], atol=1e-7)
    assert found.check_width == found.check_angle == 0


@pytest.mark.parametrize("section", [*FREE, *(section for section, _ in BOXED)])
def test_weights_by_midpoint_sum(section):
    """The closed forms of the weights, round sections and the shear too, against 900 x 900."""
    n = 900
    x = (((np.arange(n) + 0.5) / n - 0.5) * section.width)[:, None]
    y = (((np.arange(n) + 0.5) / n - 0.5) * section.depth)[None, :]
    dx, dy = x - section.pith_x, y - section.pith_y
    wood = (x**2 + y**2 <= section.width**2 / 4) if section.is_round else x + y < np.inf
    square = dx**2 + dy**2
    assert_allclose(section.radial_weight, (dx**2 / square)[wood].mean(), atol=1e-4)
    assert_allclose(section.shear_weight, (dx * dy / square)[wood].mean(), atol=1e-4)


def test_rectangle_weight_is_the_package_s_own():
    assert Section(8, 12).radial_weight == float(radial_weight(8, 12, 0, 0))


# ---------------------------------------------------------------- limits


@pytest.mark.parametrize("is_round", [False, True])
def test_far_pith_below_is_flat_sawn(is_round):
    for distance in (1e8, 1e12):
        found = weigh(Section(200, 200, 0, -distance, is_round), R, T)
        assert_allclose(found.width.mean, 200 * (1 - T), rtol=2e-6)  # rings straight to 1e-6
        assert_allclose(found.depth.mean, 200 * (1 - R), rtol=2e-6)
        assert found.cup < 1e-3


def test_far_pith_beside_is_quarter_sawn():
    found = weigh(Section(200, 40, 1e9, 0), R, T)
    assert_allclose([found.width.mean, found.depth.mean], [200 * (1 - R), 40 * (1 - T)], rtol=2e-6)


def test_far_pith_at_45_degrees_is_a_pure_diamond():
    found = weigh(Section(200, 200, -1e9, -1e9), R, T)
    # Diagonals shrink by R and T: the angle between the sides follows from their lengths.
    assert_allclose(found.diamond, 2 * math.atan((1 - T) / (1 - R)) - math.pi / 2, atol=1e-5)
    assert_allclose(found.width.least, found.width.greatest, atol=1e-3)


def test_boxed_square_is_equal_both_ways():
    found = weigh(Section(200, 200), R, T)
    assert_allclose(found.width.mean, found.depth.mean, atol=EXACT)
    assert_allclose(found.width.shrinkage, (R + T) / 2, atol=EXACT)


def test_no_shrinkage_no_change():
    for section, check in EXACT_CASES:
        before, after = dry(section, 0.0, 0.0, check).outline()
        assert_allclose(after, before, atol=EXACT)


def test_equal_shrinkage_keeps_the_form():
    for section, check in EXACT_CASES:
        found = weigh(section, 0.05, 0.05, check)
        assert_allclose(numbers(found)[0], 0.95 * section.width, atol=1e-3 * section.width)
        assert_allclose([found.cup, found.check_width], 0, atol=EXACT)
        assert_allclose(found.diamond, 0, atol=EXACT)


def test_continuous_where_the_pith_reaches_the_face():
    """Outside and on the face: one map."""
    on, off = (weigh(Section(200, 200, 20, -y), R, T) for y in (100, 100 + 1e-6))
    assert_allclose(numbers(on), numbers(off), atol=1e-5)


def test_swelling_opens_what_drying_closed():
    section = Section(200, 40, 0, -60)
    dried, wetted = weigh(section, R, T), weigh(section, -R, -T)
    assert dried.cup_face == "top"
    assert wetted.cup_face == "bottom"
    assert wetted.width.mean > section.width


# ---------------------------------------------------------------- turning and mirroring

TURN = {"right": "top", "top": "left", "left": "bottom", "bottom": "right"}
MIRROR = {"right": "left", "left": "right", "top": "top", "bottom": "bottom"}


@pytest.mark.parametrize(("section", "check"), EXACT_CASES)
def test_turning_the_section_turns_the_answer(section, check):
    if check == "nearest" and not section.is_round:
        check = "right"
    turned = replace(section, width=section.depth, depth=section.width, pith_x=-section.pith_y,
                     pith_y=section.pith_x)  # fmt: skip
    first = weigh(section, R, T, check)
    second = weigh(turned, R, T, TURN.get(check, check))
    assert_allclose(numbers(second), numbers(first)[::-1], atol=1e-7)
    assert_allclose(second.diamond, -first.diamond, atol=EXACT)
    assert_allclose(second.cup, first.cup, atol=1e-7)
    assert_allclose(second.check_width, first.check_width, atol=EXACT)


@pytest.mark.parametrize(("section", "check"), EXACT_CASES)
def test_mirroring_the_section_mirrors_the_answer(section, check):
    if check == "nearest" and not section.is_round:
        check = "right"
    mirrored = replace(section, pith_x=-section.pith_x)
    first = weigh(section, R, T, check)
    second = weigh(mirrored, R, T, MIRROR.get(check, check))
    assert_allclose(numbers(second), numbers(first), atol=1e-7)
    assert_allclose(second.diamond, -first.diamond, atol=EXACT)
    assert_allclose(second.cup, first.cup, atol=1e-7)


def test_the_outline_itself_turns():
    _, first = dry(Section(200, 300, 10, -30), R, T, "left").outline()
    _, second = dry(Section(300, 200, 30, 10), R, T, "bottom").outline()
    turned = np.column_stack([-first[:, 1], first[:, 0]])
    assert_allclose(second, turned, atol=1e-7)


# ---------------------------------------------------------------- cup, diamond, spans


def test_flat_sawn_board_cups_away_from_the_pith():
    """Hollow on the bark side, by (T - R) W^2 / (4 h) to first order where it is gentle."""
    width, from_pith, tiny = 100.0, 2000.0, 1e-4
    section = Section(width, 20.0, 0.0, -from_pith + 10.0)
    found = weigh(section, 0.5 * tiny, tiny)
    assert found.cup_face == "top"
    assert_allclose(found.cup, 0.5 * tiny * width**2 / (4 * from_pith), rtol=2e-3)
    assert weigh(replace(section, pith_y=-section.pith_y), R, T).cup_face == "bottom"


def test_corner_at_the_pith_closes_by_its_own_angle():
    """A corner pith: the corner's angle is 90 degrees times (1 - T) / (1 - R)."""
    before, after = dry(Section(200, 200, -100, -100), R, T).outline()
    at = int(np.argmin(np.abs(before - (-100, -100)).sum(axis=1)[:-1]))
    sides = [after[at + 2] - after[at], after[at - 1] - after[at]]  # the corner stands there twice
    angles = [math.atan2(y, x) for x, y in sides]
    assert_allclose(angles[1] - angles[0], math.pi / 2 * (1 - T) / (1 - R), atol=1e-9)
    assert weigh(Section(200, 200, -100, -100), R, T).diamond < 0


def test_spans_are_in_order():
    random = np.random.default_rng(4)
    for w, h, x, y in random.uniform((20, 20, -300, -300), (300, 300, 300, 300), (60, 4)):
        section = Section(w, h, x, y)
        for check in ("nearest",) if section.boxed else (None,):
            for span in ((found := weigh(section, R, T, check)).width, found.depth):
                assert span.least <= span.mean <= span.greatest + EXACT
                assert span.wood <= span.mean + EXACT
                assert span.overall >= span.mean
                assert span.lost == pytest.approx(span.before - span.mean)


def test_the_face_with_the_check_is_never_the_hollow_one():
    """Its two halves stand out towards the check."""
    random = np.random.default_rng(6)
    for w, h, x, y in random.uniform((50, 50, -0.49, -0.49), (300, 300, 0.49, 0.49), (80, 4)):
        for check in TURN:
            assert weigh(Section(w, h, w * x, h * y), R, T, check).cup_face != check


def test_round_goes_oval_along_the_radius():
    found = weigh(Section(200, 200, 0, -2000, is_round=True), R, T)
    assert_allclose(found.depth.greatest, 200 * (1 - R), rtol=1e-3)
    assert_allclose(found.width.least, 200 * (1 - T), rtol=1e-3)
    assert found.cup == found.diamond == 0


# ---------------------------------------------------------------- the check


def test_check_opens_by_the_stated_angle():
    found = weigh(Section(200, 200), R, T, "right")
    angle = 2 * math.pi * (1 - (1 - T) / (1 - R))
    assert_allclose(found.check_angle, angle)
    assert_allclose(found.check_width, 2 * 100 * (1 - R) * math.sin(angle / 2))


def test_nearest_face_is_nearest():
    for x, y, length in ((90, 0, 10), (-90, 5, 10), (5, 80, 20), (0, -70, 30)):
        assert_allclose(dry(Section(200, 200, x, y), R, T, "nearest").check_length, length)
    shape = dry(Section(200, 200, 30, 40, is_round=True), R, T, "nearest")
    assert_allclose(shape.check_length, 50)
    assert_allclose(shape.check_way, 0.6 + 0.8j)


@pytest.mark.parametrize(("section", "check"), BOXED)
def test_the_check_adds_its_opening_to_the_face_to_face_mean(section, check):
    """To first order pi (T - R) L^2 / A across the check, nothing along it."""
    tiny = 1e-5
    shape = dry(section, 0.5 * tiny, tiny, check)
    found = dimensions(shape)
    added = math.pi * 0.5 * tiny * shape.check_length**2 / section.area
    way = shape.check_way
    spans = [(s.mean - s.wood) / s.before for s in (found.width, found.depth)]
    assert_allclose(spans, [added * way.imag**2, added * way.real**2], atol=1e-4 * tiny)


def test_checked_round_shrinks_radially_on_the_mean_of_both_ways():
    tiny = 1e-5
    unchecked, checked = heart_values(
        Section(200, 200, is_round=True), 0.5 * tiny, tiny, "top"
    ).all_round
    assert_allclose(unchecked, 0.75 * tiny, rtol=1e-6)
    assert_allclose(checked, 0.50 * tiny, rtol=1e-4)


@pytest.mark.parametrize(("section", "check"), BOXED)
def test_unchecked_is_the_greater_across_the_check(section, check):
    both = heart_values(section, R, T, check)
    way = dry(section, R, T, check).check_way
    whole, split = (
        s.depth if abs(way.real) > abs(way.imag) else s.width
        for s in (both.unchecked, both.checked)
    )
    assert whole.shrinkage > split.shrinkage
    assert both.all_round[0] > both.all_round[1]


@pytest.mark.parametrize(("section", "check"), [b for b in BOXED if not b[0].is_round])
def test_along_the_check_both_agree_to_second_order(section, check):
    for s_t, share in ((0.076, 0.06), (0.0076, 0.006)):
        both = heart_values(section, 0.63 * s_t, s_t, check)
        along = abs(dry(section, R, T, check).check_way.real) > 0.5
        first, second = (s.width if along else s.depth for s in (both.unchecked, both.checked))
        assert_allclose(second.shrinkage, first.shrinkage, rtol=share)


# ---------------------------------------------------------------- inputs


def test_strains_are_the_movement_between_two_moistures():
    wood = find("douglas-fir, coast")
    expected = change([wood.s_r, wood.s_t], 30.0, 12.0, wood.fibre_saturation)
    assert_allclose(strains(wood, 30.0, 12.0), expected)
    assert strains(wood, 80.0, 12.0) == strains(wood, 30.0, 12.0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: Section(0, 200), "sizes above zero"),
        (lambda: Section(200, math.nan), "finite numbers"),
        (lambda: Section(200, 200, math.inf, 0), "finite numbers"),
        (lambda: Section(200, 100, is_round=True), "width equal to depth"),
        (lambda: dry(Section(200, 200), 0.5, 0.06), "between -0.5 and 0.5"),
        (lambda: dry(Section(200, 200), 0.04, math.nan), "between -0.5 and 0.5"),
        (lambda: dry(Section(200, 200), R, T, "up"), "nearest, right, top, left, bottom"),
        (lambda: dry(Section(200, 200, 100, 0), R, T, "right"), "a pith inside the section"),
        (lambda: dry(Section(200, 200), 0.06, 0.04, "right"), "T at least R"),
        (lambda: heart_values(Section(200, 200, 0, 150), R, T), "a pith inside the section"),
    ],
)
def test_mistakes_are_named(call, says):
    with pytest.raises(ShrinkageError, match=says):
        call()

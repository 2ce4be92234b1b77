"""The section pictures: what is drawn where, and that every number in them is the measured one."""

from __future__ import annotations

import inspect

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from numpy.testing import assert_allclose

from shrinkage import shape_figures, shape_plate
from shrinkage.errors import ShrinkageError
from shrinkage.shape import Section, dry
from shrinkage.shape_dimensions import CLOSING_RULE, OPENING_RULE, dimensions
from shrinkage.units import show

R, T = 0.041, 0.077
BOARD = dry(Section(200, 40, 0, -60), R, T)
POST = dry(Section(203.2, 203.2), R, T, "right")
CORNER = dry(Section(200, 200, -100, -100), R, T)
CONTRAST = 3.0
"""Least ratio of luminances between a line and what lies under it, as web pages ask of graphics."""


def axes():
    return Figure().add_axes((0, 0, 1, 1))


def words(figure):
    texts = [t.get_text() for t in figure.texts]
    return texts + [t.get_text() for ax in figure.axes for t in ax.texts]


def line(ax, label):
    (found,) = (each for each in ax.lines if each.get_label() == label)
    return found


@pytest.mark.parametrize("shape", [BOARD, POST, CORNER], ids=["board", "post", "corner"])
@pytest.mark.parametrize("magnify", [1.0, 3.0])
def test_outlines_before_and_after_magnified(shape, magnify):
    ax = axes()
    assert shape_figures.draw(ax, shape, magnify) is ax
    before, after = shape.outline()
    drawn = np.column_stack(line(ax, "after").get_data())
    assert_allclose(drawn, before + magnify * (after - before))
    corners = np.column_stack(line(ax, "before").get_data())
    half = (shape.section.width / 2, shape.section.depth / 2)
    assert_allclose(np.abs(corners).max(axis=0), half)
    assert ax.get_aspect() == 1.0


def test_after_is_bolder_than_before_and_before_is_dashed():
    ax = shape_figures.draw(axes(), BOARD)
    assert line(ax, "after").get_linewidth() > 2 * line(ax, "before").get_linewidth()
    assert line(ax, "after").get_linestyle() == "-"
    assert line(ax, "before").get_linestyle() != "-"
    was, now = (c for c in ax.collections if isinstance(c, LineCollection))
    assert now.get_linewidth() > was.get_linewidth()


def luminance(colour):
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return float(np.dot(parts, (0.2126, 0.7152, 0.0722)))


@pytest.mark.parametrize("colour", [shape_figures.RING, shape_figures.BEFORE["color"], "black"])
def test_lines_can_be_told_from_wood_in_grey(colour):
    dark, light = luminance(colour), luminance(shape_figures.WOOD)
    assert (light + 0.05) / (dark + 0.05) >= CONTRAST


def test_rings_before_are_circles_about_the_pith():
    for number, ring in enumerate(shape_figures.rings(POST, 10.0), start=1):
        assert_allclose(np.hypot(*ring.T), 10.0 * number)


def test_rings_after_go_with_the_wood():
    """Once the movement: circles of the shrunk radius, open at the check by its angle."""
    tip = complex(POST.moved(0, 0))
    for number, ring in enumerate(shape_figures.rings(POST, 10.0, 1.0), start=1):
        offset = ring @ (1, 1j) - tip
        assert_allclose(np.abs(offset), 10.0 * number * (1 - R))
        assert_allclose(np.angle(offset[0] / offset[-1]), POST.check_angle, atol=1e-9)


def test_rings_of_a_board_reach_past_its_edges():
    rings = np.concatenate(shape_figures.rings(BOARD, 10.0))
    assert np.abs(rings[:, 0]).max() > 100


@pytest.mark.parametrize("system", ["imperial", "metric"])
@pytest.mark.parametrize("shape", [BOARD, POST], ids=["board", "post"])
def test_numbers_in_the_picture_are_the_measured_ones(shape, system):
    figure = shape_figures.section_figure(shape, 3.0, system, "Eastern white pine")
    found, texts = dimensions(shape), words(figure)
    for span in (found.width, found.depth):
        assert f"{show(span.before, system, 32)} → {show(span.mean, system, 32)}" in texts
    assert f"cup {show(found.cup, system, 32)}" in texts
    check = f"check {show(found.check_width, system, 32)}"
    assert (check in texts) == (shape is POST)
    assert "Eastern white pine" in texts
    assert any("× 3" in text and "numbers true" in text for text in texts)


def test_lean_of_a_corner_is_written():
    found = dimensions(CORNER)
    assert f"{90 + np.degrees(found.diamond):.1f}°" in words(shape_figures.section_figure(CORNER))


def test_description_says_what_the_picture_shows():
    text = " ".join(shape_figures.describe(POST, "metric"))
    found = dimensions(POST)
    lost = f"(−{100 * found.width.shrinkage:.1f} %)"
    assert f"width 203.2 mm → {found.width.mean:.1f} mm {lost}" in text
    assert f"check {found.check_width:.1f} mm wide at the face" in text
    assert "hollow on the top" in " ".join(shape_figures.describe(BOARD))
    oval = dry(Section(80, 80, 0, -90, is_round=True), R, T)
    assert "diameters" in " ".join(shape_figures.describe(oval))
    swollen = dry(Section(200, 200), -0.01, -0.02)
    assert "+1.5 %" in " ".join(shape_figures.describe(swollen))


def test_heart_figure_shows_both_values_and_both_rules():
    section = Section(203.2, 254, 10, 20)
    figure = shape_figures.heart_figure(section, R, T, "right", 3.0, "metric")
    text = " ".join(" ".join(words(figure)).split())
    assert CLOSING_RULE in text
    assert OPENING_RULE in text
    for kind in (None, "right"):
        found = dimensions(dry(section, R, T, kind))
        for what, span in (("width", found.width), ("depth", found.depth)):
            assert f"{what} −{100 * span.shrinkage:.1f} %" in text


def test_plate_shows_every_piece_where_it_is_sawn():
    figure = shape_plate.plate(R, T, "white oak", 2.0)
    texts = words(figure)
    pieces = shape_plate.pieces(R, T)
    assert list(pieces) == list("ABCDEFGH")
    for letter, (name, shape) in pieces.items():
        assert texts.count(letter) == 2  # in the log and over its picture
        assert name in texts
        span = dimensions(shape).width
        assert any(text.startswith(f"width {show(span.before)}") for text in texts)
    assert len(figure.axes) == len(shape_plate.LOGS) + len(pieces)


def test_pieces_of_a_log_do_not_overlap_and_lie_inside_it():
    for log, radius in zip(shape_plate.LOGS, (8.8, 7.4), strict=True):
        boxes = []
        for _, _, w, h, x, y, is_round, _ in log:
            far = np.hypot(x, y) + w / 2 if is_round else np.hypot(abs(x) + w / 2, abs(y) + h / 2)
            assert far < radius
            boxes.append((x - w / 2, x + w / 2, y - h / 2, y + h / 2))
        for i, a in enumerate(boxes):
            for b in boxes[:i]:
                assert a[1] <= b[0] or b[1] <= a[0] or a[3] <= b[2] or b[3] <= a[2]


def test_plate_cuts_are_what_they_are_called():
    pieces = {letter: shape for letter, (_, shape) in shape_plate.pieces(R, T).items()}
    weight = {letter: shape.section.radial_weight for letter, shape in pieces.items()}
    assert weight["A"] < 0.1 < 0.9 < weight["B"]
    assert_allclose(weight["C"], 0.5, atol=0.05)
    assert pieces["D"].state == "checked"
    found = {letter: dimensions(shape) for letter, shape in pieces.items()}
    assert found["A"].cup_face == "top"
    assert found["E"].diamond > 0 > found["H"].diamond
    assert found["F"].width.greatest - found["F"].width.least > 2.0


def test_no_window_is_opened():
    for module in (shape_figures, shape_plate):
        assert "import matplotlib.pyplot" not in inspect.getsource(module)
        assert "from matplotlib import pyplot" not in inspect.getsource(module)
    assert shape_figures.section_figure(BOARD).canvas.manager is None


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: shape_figures.draw(axes(), BOARD, 0.0), "magnify 0.0; accepted: above zero"),
        (lambda: shape_figures.rings(BOARD, -1.0), "ring spacing -1.0 mm; accepted: above zero"),
        (lambda: shape_plate.plate(0.06, 0.04), "T at least R"),
    ],
)
def test_mistakes_are_named(call, says):
    with pytest.raises(ShrinkageError, match=says):
        call()

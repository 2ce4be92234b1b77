"""The section picture of the page, read back: outlines, rings and numbers are the shape's own."""

from __future__ import annotations

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose
from svg_reading import drawn, parts, pictures, places, written

from shrinkage import shape_figures, shape_svg
from shrinkage.shape import Section, dry
from shrinkage.shape_dimensions import dimensions
from shrinkage.units import show

R, T = 0.041, 0.077
BOARD = dry(Section(200, 40, 0, -60), R, T)
POST = dry(Section(203.2, 203.2), R, T, "right")
CORNER = dry(Section(200, 200, -100, -100), R, T)


def one(shape, **how):
    (picture,) = pictures(shape_svg.picture(shape, "w", **how))
    return picture


class Scale:
    """Reads millimetres off the picture by the outline before, whose size is known."""

    def __init__(self, picture, section):
        before = drawn(picture, "before")
        (left, top), (right, bottom) = before.min(axis=0), before.max(axis=0)
        self.middle = np.array([left + right, top + bottom]) / 2
        self.per = section.width / (right - left)
        assert_allclose((bottom - top) * self.per, section.depth, atol=0.25)  # to scale

    def mm(self, px):
        return (px - self.middle) * (self.per, -self.per)


@pytest.mark.parametrize("shape", [BOARD, POST, CORNER], ids=["board", "post", "corner"])
@pytest.mark.parametrize("magnify", [1.0, 3.0])
def test_outline_after_is_the_shape_magnified(shape, magnify):
    picture = one(shape, magnify=magnify)
    before, after = shape.outline()
    found = Scale(picture, shape.section).mm(drawn(picture, "after"))
    assert_allclose(found, before + magnify * (after - before), atol=0.15)
    assert any(f"× {magnify:g}" in line and "numbers true" in line for line in written(picture))


def test_rings_are_those_drawn_on_paper_and_cut_at_the_outlines():
    picture = one(POST)
    scale = Scale(picture, POST.section)
    was, now = parts(picture, "path", "rings")
    step = POST.section.width / shape_figures.RINGS
    for lines, magnify in ((was, 0.0), (now, 3.0)):
        wanted = shape_figures.rings(POST, step, magnify)
        found = [places(arc) for arc in lines.get("d").strip("M").split("M")]
        assert len(found) == len(wanted)
        for arc, ring in zip(found, wanted, strict=True):
            assert_allclose(scale.mm(arc), ring, atol=0.15)
    cuts = {clip.get("id"): clip for clip in parts(picture, "clipPath")}
    groups = {group[0]: group.get("clip-path") for group in parts(picture, "g")}
    named = [re.fullmatch(r"url\(#(.*)\)", groups[p])[1] for p in (was, now)]
    shapes = [places(cuts[name][0].get("d")) for name in named]
    assert_allclose(shapes[0], drawn(picture, "before"))
    assert_allclose(shapes[1], drawn(picture, "after"))


def test_two_sections_on_one_page_cut_their_own_rings():
    names = [{clip.get("id") for clip in parts(one(shape), "clipPath")} for shape in (BOARD, POST)]
    assert not names[0] & names[1]


def test_before_is_thin_and_dashed_after_bold():
    picture = one(BOARD)
    (before,), (after,) = (parts(picture, "path", name) for name in ("before", "after"))
    assert before.get("stroke-dasharray") and not after.get("stroke-dasharray")
    assert float(after.get("stroke-width")) > 2 * float(before.get("stroke-width"))


@pytest.mark.parametrize("system", ["imperial", "metric"])
@pytest.mark.parametrize("shape", [BOARD, POST], ids=["board", "post"])
def test_numbers_are_the_measured_ones(shape, system):
    texts, found = written(one(shape, system=system, title="white <oak>")), dimensions(shape)
    for span in (found.width, found.depth):
        assert f"{show(span.before, system, 32)} → {show(span.mean, system, 32)}" in texts
    assert f"cup {show(found.cup, system, 32)}" in texts
    assert (f"check {show(found.check_width, system, 32)}" in texts) == (shape is POST)
    assert "white <oak>" in texts


def test_lean_and_straightedge_stand_where_they_are_measured():
    assert f"{90 + np.degrees(dimensions(CORNER).diamond):.1f}°" in written(one(CORNER))
    picture = one(BOARD)
    edge = Scale(picture, BOARD.section).mm(drawn(picture, "edge"))
    face = next(f for f in BOARD.faces if f.name == dimensions(BOARD).cup_face)
    ends = (face.before + 3 * (face.after - face.before))[[0, -1]]
    assert_allclose(edge, np.column_stack([ends.real, ends.imag]), atol=0.15)


@pytest.mark.parametrize("section", [Section(500, 50), Section(50, 500), Section(203, 203)])
def test_everything_lies_on_the_paper(section):
    picture = one(dry(section, 0.06, 0.12), title="t")
    _, _, width, height = map(float, picture.get("viewBox").split())
    for name in ("before", "after", "width", "depth"):
        (part,) = parts(picture, "path", name)
        start = np.array(re.findall(r"-?[\d.]+", part.get("d"))[:2], dtype=float)
        assert (start > 0).all() and start[0] < width and start[1] < height
    for text in parts(picture, "text"):
        assert 0 < float(text.get("x")) < width and 0 < float(text.get("y")) < height

"""Elevations: what is drawn is what is ordered, where it stands, with its gaps written on it."""

from __future__ import annotations

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.patches import Polygon, Rectangle
from numpy.testing import assert_allclose

from shrinkage.elevation import PANEL, elevation, joints_of, new_figure, panels_of, places
from shrinkage.errors import ShrinkageError
from shrinkage.paper import plain_text
from shrinkage.units import show

EXACT_MM = 1e-9


def drawn(order, place, system=None, size=(10.0, 5.0)):
    figure, ax = new_figure(*size)
    with plain_text():
        words = elevation(ax, order, place, system)
    return figure, ax, words


def texts(ax):
    return "\n".join(text.get_text() for text in ax.texts)


def test_every_wall_and_slope_has_a_place(workshop_order):
    found = places(workshop_order)
    assert list(found) == ["south", "north", "east", "west", "south slope", "north slope"]
    assert sum(len(panels_of(workshop_order, place)) for place in found) == 38


@pytest.mark.parametrize("place", ["south", "east", "south slope"])
def test_outlines_stand_where_the_panels_go(workshop_order, place):
    _, ax, _ = drawn(workshop_order, place)
    light = [p for p in ax.patches if isinstance(p, Polygon) and to_hex(p.get_facecolor()) == PANEL]
    panels = panels_of(workshop_order, place)
    assert len(light) == len(panels)
    for patch, panel in zip(light, panels, strict=True):
        left = panel.piece.left + panel.edges["left"].off
        foot = panel.piece.bottom + panel.edges["bottom"].off
        expected = [(x + left, y + foot) for x, y in panel.outline]
        assert_allclose(patch.get_xy()[:-1], expected, rtol=0, atol=EXACT_MM)


def test_the_dark_strip_at_the_top_is_what_comes_off(workshop_order):
    _, ax, _ = drawn(workshop_order, "south")
    polygons = [p for p in ax.patches if isinstance(p, Polygon)]
    panel = panels_of(workshop_order, "south")[0]
    top = max(y for p in polygons for _, y in p.get_xy())
    assert_allclose(top - panel.height, panel.edges["top"].off, rtol=0, atol=3.2)  # one fraction
    assert top - panel.height >= panel.edges["top"].off - EXACT_MM


def test_sizes_and_gaps_are_written(workshop_order):
    _, ax, words = drawn(workshop_order, "south")
    said = texts(ax)
    for panel in panels_of(workshop_order, "south"):
        assert f"{show(panel.width)} wide" in said
    gaps = {a.joint.name: show(a.gap) for a in workshop_order.allowances}
    assert f"gap at the top {gaps['south, top']} square to the roof" in words
    assert f"gap {gaps['south, top']} square to the roof" in said
    for text in (said, words):
        assert f"gap {gaps['south, between panels']} between panels" in text
        assert f"gap {gaps['south, door']}" in text
        assert "laps past the corner" in text
    assert words.startswith("Wall south, seen from outside: 7 panels")


def test_gable_shows_both_heights_and_its_end_gaps(workshop_order):
    _, ax, words = drawn(workshop_order, "east")
    first = panels_of(workshop_order, "east")[0]
    said = texts(ax)
    assert f"left {show(first.left_height)}" in said and f"right {show(first.right_height)}" in said
    end = next(a for a in workshop_order.allowances if a.joint.name == "east, end")
    assert f"left end: gap {show(end.gap)} along the wall" in words


def test_metric_is_the_same_drawing(workshop_order):
    _, inch, _ = drawn(workshop_order, "east", "imperial")
    _, metric, words = drawn(workshop_order, "east", "metric")
    for one, other in zip(inch.patches, metric.patches, strict=True):
        if isinstance(one, Polygon):
            assert_allclose(one.get_xy(), other.get_xy(), rtol=0, atol=EXACT_MM)
    assert "mm" in words and '"' not in texts(metric)


def test_unit_is_drawn_inside_its_cut_out(workshop_order):
    _, ax, _ = drawn(workshop_order, "south")
    cut, unit = sorted(
        (p for p in ax.patches if isinstance(p, Rectangle)), key=lambda p: -p.get_width()
    )
    gap = next(a for a in workshop_order.allowances if a.joint.name == "south, door").off
    assert_allclose(unit.get_x() - cut.get_x(), gap, rtol=0, atol=EXACT_MM)
    assert_allclose(unit.get_width(), 38 * 25.4, rtol=0, atol=EXACT_MM)


def test_one_axes_is_used_over_and_over(workshop_order):
    _, ax, _ = drawn(workshop_order, "south")
    with plain_text():
        elevation(ax, workshop_order, "east")
    _, fresh, _ = drawn(workshop_order, "east")
    assert texts(ax) == texts(fresh)


def test_everything_stays_on_the_paper(raw, answered):
    raw["wall"][0]["name"] = "W" * 80
    raw["wall"][0]["opening"][0]["name"] = "$x_{" + "d" * 60
    figure, ax, _ = drawn(answered(raw), "W" * 80)
    renderer = FigureCanvasAgg(figure).get_renderer()
    with plain_text():
        figure.draw(renderer)
        for text in ax.texts:
            box = text.get_window_extent(renderer)
            assert box.x0 >= -1 and box.x1 <= figure.bbox.width + 1, text.get_text()
            assert box.y0 >= -1 and box.y1 <= figure.bbox.height + 1, text.get_text()


def test_joints_are_those_of_the_wall(workshop_order):
    found = joints_of(panels_of(workshop_order, "south"), workshop_order)
    assert {a.joint.name for a in found} == {
        "south, top", "south, foot", "south, between panels", "south, door",
    }  # fmt: skip


def test_unknown_place(workshop_order):
    with pytest.raises(ShrinkageError, match=r"no wall or roof 'up'; accepted: south, north"):
        panels_of(workshop_order, "up")

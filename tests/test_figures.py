"""The drawings, read as data: drawn is the answer's own geometry, and every number is there.

Distances are measured on the drawn outlines, not taken from the code that drew them.
"""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage import figures
from shrinkage.units import show

DRAWN = 1e-6
"""[mm] Coordinates are drawn as computed: rounding only."""
POST, PLATE, RAFTER, ROOF, PANEL = range(5)
AFTER, BEFORE = 0, 5
"""Outlines come in that order, after drying first (it lies below), then before."""


def answer_of(order, name):
    return next(a for a in order.allowances if a.joint.name == name)


@pytest.fixture
def drawn_eave(workshop_order):
    figure, section, joint = figures.new_figure()
    frame, answer = workshop_order.frame, answer_of(workshop_order, "south, top")
    words = figures.eave_section(section, joint, frame, frame.job.wall[0], answer, "imperial")
    return figure, section, joint, answer, words


@pytest.fixture
def drawn_corner(workshop_order):
    figure, section, joint = figures.new_figure()
    answer = answer_of(workshop_order, "east, end")
    words = figures.corner_plan(section, joint, workshop_order.frame, answer, "imperial")
    return figure, section, joint, answer, words


def outline(ax, number):
    return ax.lines[number].get_xydata()


def gap(ax, state):
    """Distance from the middle of the panel's top to the roof's underside, square to the roof."""
    foot, end = outline(ax, state + ROOF)[:2]
    along = (end - foot) / np.linalg.norm(end - foot)
    normal = np.array([-along[1], along[0]])
    normal *= np.sign(normal[1])
    top = outline(ax, state + PANEL)[2:4].mean(axis=0)
    return float((foot - top) @ normal)


def texts(ax):
    return [text.get_text() for text in ax.texts if text.get_text()]


def test_eave_is_drawn_true(drawn_eave):
    _, section, joint, answer, _ = drawn_eave
    for ax in (section, joint):
        assert ax.get_aspect() in (1.0, "equal")
        assert_allclose(gap(ax, BEFORE), answer.gap, rtol=0, atol=DRAWN)
        assert_allclose(gap(ax, AFTER), answer.gap - answer.driest.estimate, rtol=0, atol=DRAWN)


def test_roof_slopes_at_the_pitch_and_wood_shrinks(drawn_eave, workshop_order):
    _, section, _, _, _ = drawn_eave
    for state in (BEFORE, AFTER):
        foot, end = outline(section, state + ROOF)[:2]
        assert_allclose((foot[1] - end[1]) / (end[0] - foot[0]), 10 / 12)
    plate = workshop_order.frame.timbers["plate"]
    before, after = outline(section, BEFORE + PLATE), outline(section, AFTER + PLATE)
    assert_allclose(np.ptp(before, axis=0), [plate.width, plate.depth])
    shrunk = 1 - float(plate.shrink("depth")[0, 1])
    assert_allclose(np.ptp(after, axis=0), np.array([plate.width, plate.depth]) * shrunk)


def test_before_is_dashed_and_after_bold(drawn_eave):
    _, section, _, _, _ = drawn_eave
    after, before = section.lines[AFTER + PLATE], section.lines[BEFORE + PLATE]
    assert after.get_linestyle() == "-" and before.get_linestyle() == "--"
    assert after.get_linewidth() > before.get_linewidth()
    assert "Before drying (dashed)" in section.get_title() and "bold" in section.get_title()


def test_eave_names_its_parts_and_its_dimensions(drawn_eave):
    _, section, joint, answer, words = drawn_eave
    assert {"plate", "rafter", "roof panel", "post"} <= set(texts(section))
    dry = answer.gap - answer.driest.estimate
    on_the_day, driest = show(answer.gap), show(dry)
    assert texts(joint) == [f"on the day\n{on_the_day}", f"driest month\n{driest}"]
    assert joint.get_title().endswith("measured square to the roof: ok")
    assert "wall south" in words and on_the_day in words and driest in words


def test_metric_dimensions(workshop_order):
    _, section, joint = figures.new_figure()
    frame, answer = workshop_order.frame, answer_of(workshop_order, "south, top")
    figures.eave_section(section, joint, frame, frame.job.wall[0], answer, "metric")
    assert texts(joint)[0] == f"on the day\n{answer.gap:.1f} mm"


def test_gap_arrows_are_as_long_as_the_gaps(drawn_eave):
    _, _, joint, answer, _ = drawn_eave
    arrows = [a for a in joint.texts if getattr(a, "arrow_patch", None)]
    lengths = [math.dist(a.xy, a.xyann) for a in arrows]
    assert_allclose(lengths, [answer.gap, answer.gap - answer.driest.estimate], rtol=0, atol=DRAWN)


def test_square_top_is_level(raw, answered):
    raw["eave"]["panel_top"] = "square"
    order = answered(raw)
    _, section, joint = figures.new_figure()
    answer = answer_of(order, "south, top")
    figures.eave_section(section, joint, order.frame, order.frame.job.wall[0], answer, "imperial")
    top = outline(section, BEFORE + PANEL)[2:4]
    assert_allclose(top[0, 1], top[1, 1])
    # Tightest at the outer face, which is the first of the two.
    foot, end = outline(section, BEFORE + ROOF)[:2]
    along = (end - foot) / np.linalg.norm(end - foot)
    assert_allclose((foot - top[0]) @ np.array([-along[1], along[0]]), answer.gap, atol=DRAWN)


def test_corner_is_drawn_true(drawn_corner, workshop_order):
    _, section, joint, answer, words = drawn_corner
    for ax in (section, joint):
        gaps = [outline(ax, at + 1)[:, 0].min() - outline(ax, at + 2)[:, 0].max() for at in (0, 3)]
        assert_allclose(gaps, [answer.gap - answer.driest.estimate, answer.gap], atol=DRAWN)
    post = workshop_order.frame.timbers["post"]
    assert_allclose(np.ptp(outline(section, 3), axis=0), [post.width, post.depth])
    assert {"corner post", "panel that butts", "panel\nthat laps"} <= set(texts(section))
    assert texts(joint)[0] == f"on the day {show(answer.gap)}"
    assert "along the wall" in joint.get_title() and words.startswith("Corner: gap on the day")


def test_figure_can_be_used_again(drawn_eave, workshop_order):
    figure, section, joint, _, _ = drawn_eave
    lines = len(section.lines)
    frame, answer = workshop_order.frame, answer_of(workshop_order, "north, top")
    figures.eave_section(section, joint, frame, frame.job.wall[1], answer, "imperial")
    assert len(section.lines) == lines
    assert len(figure.axes) == 2


def test_svg_is_well_formed_speaks_and_repeats(drawn_eave):
    figure, *_ = drawn_eave
    svg = figures.as_svg(figure, 'gap <1/8"> & more')
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'gap <1/8"> & more'
    assert figures.as_svg(figure, 'gap <1/8"> & more') == svg
    assert re.search(r">\s*plate\s*<", svg)  # text stays text, to be read and searched

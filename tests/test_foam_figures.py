"""Pictures of the foam: what is drawn is what was worked out, and is told without colour."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from numpy.testing import assert_allclose

from shrinkage.foam_answer import foam_answer
from shrinkage.foam_figures import describe, draw_line_load, draw_stress_strain, new_figure

PSI, LB_FT = 6.894757293, 14.593902937


def one(order, name):
    return next(each for each in foam_answer(order) if each.name == name)


def texts(ax) -> str:
    return "\n".join(text.get_text() for text in ax.texts)


def line(ax, label):
    return next(each for each in ax.lines if each.get_label() == label)


@pytest.mark.parametrize(
    ("system", "per", "unit"), [("metric", 1.0, "kPa"), ("imperial", PSI, "psi")]
)
def test_curve_and_worst_are_the_answers(workshop_order, system, per, unit):
    _, ax = new_figure()
    answer = one(workshop_order, "south, top")
    filling = workshop_order.frame.filling
    assert draw_stress_strain(ax, answer, filling, system) is ax
    x, y = line(ax, "curve").get_data()
    assert_allclose(y, filling.material.stress(x / 100) / per)
    assert ax.get_ylabel() == f"stress, {unit}" and "%" in ax.get_xlabel()
    dot = next(each for each in ax.lines if each.get_marker() == "o")
    found = answer.life
    assert_allclose(np.ravel(dot.get_data()), [100 * found.compression, found.stress / per])
    assert f"{100 * found.compression:.0f} %" in texts(ax)
    assert "takes 50 % once" in texts(ax) and "seasons, 30 to 37 %" in texts(ax)


def test_what_does_not_fit_is_drawn_as_that(raw, answered):
    raw["foam"] = {"curve": [["5 %", "20 kPa"], ["30 %", "30 kPa"]]}
    order = answered(raw)
    _, ax = new_figure()
    draw_stress_strain(ax, one(order, "east, end"), order.frame.filling)
    assert "past the sheet's last point" in texts(ax)
    assert "the joint asks for 37 %" in texts(ax)
    assert not any(each.get_marker() == "o" for each in ax.lines)
    assert "does not fit" in ax.get_title(loc="left")
    _, ax = new_figure()
    draw_line_load(ax, order)
    assert texts(ax).count("does not fit") == 4


def test_line_load_round_the_building(raw, answered):
    raw["holddown"] = {"fastener": "rated", "rated": "600 lbf", "rated_source": "invented",
                       "spacing": "2 ft"}  # fmt: skip
    order = answered(raw)
    _, ax = new_figure()
    draw_line_load(ax, order)
    assert ax.get_xlabel().endswith("ft") and ax.get_ylabel() == "line load, lb/ft"
    assert_allclose(ax.get_xlim(), (0, 84))
    held = [each.get_ydata()[0] for each in ax.lines]
    assert_allclose(held, [300.0] * 4)
    blocks = [block.get_paths()[0].vertices[:, 1].max() for block in ax.collections]
    walls = ("south", "north", "east", "west")
    loads = [one(order, f"{wall}, top").life.line_load for wall in walls]
    assert_allclose(blocks, np.array(loads) / LB_FT)
    for wall in walls:
        assert wall in texts(ax)
    assert "for the engineer" in ax.get_title(loc="left")
    assert f"margin {one(order, 'south, top').margin:.2f}" in texts(ax)


def test_nothing_said_of_what_holds(workshop_order):
    _, ax = new_figure()
    draw_line_load(ax, workshop_order, "metric")
    assert not ax.lines
    assert "not stated" in ax.get_title(loc="left")
    assert ax.get_ylabel() == "line load, N/m"


def test_only_greys(workshop_order):
    figure, ax = new_figure()
    draw_stress_strain(ax, one(workshop_order, "east, end"), workshop_order.frame.filling)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    image = np.asarray(canvas.buffer_rgba())[..., :3].astype(int)
    assert np.ptp(image, axis=2).max() == 0


def test_words_for_those_who_cannot_see_it(workshop_order):
    words = describe(one(workshop_order, "south, top"))
    assert words.startswith('south, top: a gap of 15/16" when foamed is squeezed 37 %')
    assert "lb/ft" in words and words.endswith("Fits.")

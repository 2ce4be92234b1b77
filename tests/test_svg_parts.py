"""The parts of the hand-written charts: nothing collides, nothing breaks out of the picture."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from svg_reading import Axis, parts, pictures, written

from shrinkage.svg_contours import Contours
from shrinkage.svg_parts import Plot, apart, frame, pen, text, ticks

PLOT = Plot(40, 20, 240, 220, 0.0, 10.0, -5.0, 5.0)


@given(st.lists(st.floats(-500, 500), max_size=9), st.floats(1, 40))
def test_apart_keeps_distance_order_and_middle(places, least):
    found = apart(places, least)
    order = np.argsort(places, kind="stable")
    assert (np.diff(np.array(found)[order]) >= least - 1e-6).all()
    if places:
        assert_allclose(np.mean(found), np.mean(places), atol=1e-6)  # no drift to one side


def test_apart_leaves_alone_what_has_room():
    assert apart([50.0, 10.0, 90.0], 13) == [50.0, 10.0, 90.0]
    assert_allclose(apart([20.0, 20.0], 10), [15.0, 25.0])


def test_apart_gives_way_at_its_end_and_nowhere_else():
    assert_allclose(apart([10.0, 98.0, 99.0], 10, 100.0), [10.0, 90.0, 100.0])


@given(st.floats(-1e3, 1e3), st.floats(1e-2, 1e4), st.integers(3, 8))
def test_ticks_are_round_and_inside(low, span, wanted):
    found = ticks(low, low + span, wanted)
    assert len(found) >= 1
    assert (found >= low - 1e-9 * span).all() and (found <= low + span * (1 + 1e-9)).all()
    steps = np.diff(found)
    if len(steps):
        step = float(steps[0])
        lead = step / 10 ** np.floor(np.log10(step) + 1e-9)
        assert min(abs(lead - m) for m in (1, 2, 2.5, 5, 10)) < 1e-3


def test_axes_read_back_what_the_plot_was_given():
    (picture,) = pictures(frame(300, 260, "w", [*PLOT.x_axis("length, mm"), *PLOT.y_axis()]))
    assert_allclose(Axis(picture, "x").value(np.array([40.0, 240.0])), [0, 10], atol=0.02)
    assert_allclose(Axis(picture, "y").value(np.array([220.0, 20.0])), [-5, 5], atol=0.02)
    assert "length, mm" in written(picture)


def test_names_at_line_ends_stand_apart_and_above_the_axis():
    labels = [("a", -4.9, "#111111"), ("b", -5.0, "#222222"), ("c", 4.0, "#333333")]
    (picture,) = pictures(frame(300, 260, "w", PLOT.ends(labels)))
    y = {part.text: float(part.get("y")) for part in parts(picture, "text")}
    assert y["b"] - y["a"] >= 12.9 and y["b"] <= PLOT.bottom + 4.1
    assert y["c"] == pytest.approx(float(PLOT.y(4.0)) + 4)


def test_words_cannot_break_the_picture():
    bad = '<script>"&'
    (picture,) = pictures(frame(10, 10, bad, [text(0, 0, bad)]))
    assert picture.get("aria-label") == bad and written(picture) == [bad]


def test_a_field_without_change_has_one_tone_and_no_line():
    flat = Contours(PLOT, np.array([0.0, 10.0]), np.array([-5.0, 5.0]), np.full((2, 2), 9.0))
    assert len(flat.tones((0, 8, 10, 20), ("#aaaaaa", "#bbbbbb", "#cccccc"))) == 1
    assert flat.lines((8, 10), pen("black")) == []


def test_a_line_without_room_goes_without_its_label():
    x, y = np.linspace(0, 10, 9), np.linspace(-5, 5, 9)
    field = Contours(PLOT, x, y, 10 - x + 0 * y[:, None])
    near, far = field.lines((9.9,), pen("black")), field.lines((5,), pen("black"))
    assert len(near) == 1 and len(far) == 2

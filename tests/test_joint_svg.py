"""Eave and corner on a page, read back: drawn is the answer's own geometry, to scale."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from svg_reading import parts, pictures, places, written

from shrinkage import joint_drawing, joint_svg
from shrinkage.units import show

POST, PLATE, RAFTER, ROOF, PANEL = range(5)


def answer_of(order, name):
    return next(a for a in order.allowances if a.joint.name == name)


@pytest.fixture(params=["imperial", "metric"])
def system(request):
    return request.param


@pytest.fixture
def eave(workshop_order, system):
    frame, answer = workshop_order.frame, answer_of(workshop_order, "south, top")
    return joint_drawing.eave(frame, frame.job.wall[0], answer, system), answer


@pytest.fixture
def corner(workshop_order, system):
    answer = answer_of(workshop_order, "east, end")
    return joint_drawing.corner(workshop_order.frame, answer, system), answer


def outlines(picture, name):
    return [places(part.get("d")) for part in parts(picture, "path", name)]


def scale(picture, drawing):
    """Return millimetres a pixel, by the first body's height, and check that x has the same."""
    drawn, meant = outlines(picture, "before")[0], drawing.bodies[0].before
    per = np.ptp(meant, axis=0) / np.ptp(drawn, axis=0)
    assert_allclose(per[0], per[1], rtol=0.01)
    return float(per.mean())


@pytest.mark.parametrize("which", ["eave", "corner"])
@pytest.mark.usefixtures("system")
def test_bodies_are_drawn_to_scale_where_they_are(which, request):
    drawing, _ = request.getfixturevalue(which)
    for picture in pictures(joint_svg.pictures(drawing)):
        per = scale(picture, drawing)
        origin = outlines(picture, "before")[0][0]
        start = drawing.bodies[0].before[0]
        for state in ("before", "after"):
            found = outlines(picture, state)
            assert len(found) == len(drawing.bodies)
            for body, outline in zip(drawing.bodies, found, strict=True):
                mm = start + (outline - origin) * (per, -per)
                assert_allclose(mm, getattr(body, state), atol=0.004 * 900)


@pytest.mark.parametrize("which", ["eave", "corner"])
@pytest.mark.usefixtures("system")
def test_everything_lies_on_the_paper(which, request):
    section, large = pictures(joint_svg.pictures(request.getfixturevalue(which)[0]))
    window = places(parts(large, "path", "window")[0].get("d"))
    every = np.vstack([*outlines(section, "before"), *outlines(section, "after")])
    for picture, drawn in ((section, every), (large, window)):
        _, _, width, height = map(float, picture.get("viewBox").split())
        assert (drawn >= 0).all() and (drawn <= (width, height)).all()
        assert (np.ptp(drawn, axis=0) > 0.9 * np.array([width, height - 40])).any()  # and fills it
        for text in parts(picture, "text"):
            assert 0 < float(text.get("x")) < width and 0 < float(text.get("y")) < height


def test_eaves_gap_can_be_measured_on_the_picture(eave):
    drawing, answer = eave
    _, large = pictures(joint_svg.pictures(drawing))
    per = scale(large, drawing)
    for state, meant in (("before", answer.gap), ("after", answer.gap - answer.driest.estimate)):
        bodies = outlines(large, state)
        foot, end = bodies[ROOF][:2]
        along = (end - foot) / np.linalg.norm(end - foot)
        normal = np.array([along[1], -along[0]])  # up on the paper is less y
        top = bodies[PANEL][2:4].mean(axis=0)
        assert_allclose(float((foot - top) @ normal) * per, meant, atol=0.15)


@pytest.mark.parametrize("which", ["eave", "corner"])
def test_arrows_are_as_long_as_the_gaps_and_say_them(which, request, system):
    drawing, answer = request.getfixturevalue(which)
    _, large = pictures(joint_svg.pictures(drawing))
    per = scale(large, drawing)
    gaps = [answer.gap, answer.gap - answer.driest.estimate]
    lengths = [float(np.linalg.norm(np.diff(arrow, axis=0))) for arrow in outlines(large, "gap")]
    assert_allclose(np.array(lengths) * per, gaps, atol=0.15)
    text = " ".join(written(large))
    for gap in gaps:
        assert show(gap, system) in text and show(gap, system) in drawing.words
        assert show(gap, system) in large.get("aria-label")


def test_names_head_and_words(eave):
    drawing, answer = eave
    section, large = pictures(joint_svg.pictures(drawing))
    assert {"plate", "rafter", "roof panel", "post", "wall", "panel"} <= set(written(section))
    assert "Before drying (dashed)" in written(section)[0]
    assert written(large)[0].endswith(f"measured square to the roof: {answer.status}")
    assert section.get("aria-label") == drawing.words


def test_before_is_dashed_and_after_bold_and_filled(corner):
    drawing, _ = corner
    for picture in pictures(joint_svg.pictures(drawing)):
        before, after = (parts(picture, "path", name) for name in ("before", "after"))
        assert all(p.get("stroke-dasharray") and p.get("fill") == "none" for p in before)
        assert not any(p.get("stroke-dasharray") or p.get("fill") == "none" for p in after)
        thin, bold = (float(p[0].get("stroke-width")) for p in (before, after))
        assert bold > 1.9 * thin


def test_bodies_are_cut_off_at_the_window(eave):
    drawing, _ = eave
    _, large = pictures(joint_svg.pictures(drawing))
    (cut,), (window,) = parts(large, "clipPath"), parts(large, "path", "window")
    assert cut[0].get("d") == window.get("d")
    (group,) = parts(large, "g")
    assert group.get("clip-path") == f"url(#{cut.get('id')})"
    assert len([p for p in group if p.get("class") in ("before", "after")]) == 10


def test_a_gap_that_closes_wholly_still_draws(eave):
    drawing, _ = eave
    shut = joint_drawing.Gap(drawing.middle, drawing.middle, "shut <0>")
    closed = joint_drawing.Drawing(**{**vars(drawing), "gaps": [shut]})
    (picture,) = pictures(joint_svg.joint(closed))
    assert "shut <0>" in written(picture)
    assert "nan" not in joint_svg.joint(closed)


def test_names_of_users_cannot_break_the_picture(eave):
    drawing, _ = eave
    bad = joint_drawing.Drawing(**{**vars(drawing), "words": 'wall <b>"&'})
    section, _ = pictures(joint_svg.pictures(bad))
    assert section.get("aria-label") == 'wall <b>"&'

"""The foam page: moving a control reaches the answer; a wrong entry keeps the last one."""

from __future__ import annotations

import pytest

from shrinkage.foam_page import FoamPage


@pytest.fixture
def page(workshop_path):
    return FoamPage(workshop_path)


def test_page_shows_the_job(page):
    assert page.chosen().name == "south, top"
    assert "<svg" in page.panes["curve"].value and "<svg" in page.panes["along"].value
    assert "<td>eave</td>" in page.panes["litres"].value
    assert "for the engineer" in page.note.value


@pytest.mark.parametrize(
    ("control", "value", "seen"),
    [
        ("kind", "flexible gun foam", lambda a: a.frame.foam.squeeze_once == 0.7),
        ("depth", "two beads", lambda a: a.frame.filling.depth == "two beads"),
        ("roof_load", "1 kPa", lambda a: 1404 < a.frame.hold_down.dead["eave"] < 1405),
        ("share", "3 ft", lambda a: 403 < a.frame.hold_down.dead["eave"] < 404),
        ("fastener", "lag screw", lambda a: a.frame.hold_down.fasteners > 0),
    ],
)
def test_controls_reach_the_answer(page, control, value, seen):
    assert not seen(page.answer)
    page.controls[control].value = value
    assert seen(page.answer)


def test_screws_reach_it_too(page):
    page.controls["fastener"].value = "wood screw"
    held = page.answer.frame.hold_down.fasteners
    page.controls["spacing"].value = "1 ft"
    assert page.answer.frame.hold_down.fasteners == pytest.approx(2 * held)
    page.controls["thread"].value = "6 in"
    assert page.answer.frame.hold_down.fasteners == pytest.approx(4 * held)


def test_another_joint(page):
    before = page.panes["curve"].value
    page.controls["joint"].value = "east, end"
    assert page.chosen().name == "east, end"
    assert page.panes["curve"].value != before


def test_what_else_would_do_where_too_little_holds(page):
    assert "softer foam" in page.panes["instead"].value
    page.controls["joint"].value = "east, end"
    assert page.panes["instead"].value == ""


def test_wrong_entry_keeps_the_last_answer(page):
    before, curve = page.answer, page.panes["curve"].value
    page.controls["roof_load"].value = "12"
    assert "has no unit" in page.controls["roof_load"].said.value
    assert 'role="alert"' in page.note.value
    assert page.answer is before and page.panes["curve"].value == curve
    page.controls["roof_load"].value = "10 psf"
    assert 'role="alert"' not in page.note.value

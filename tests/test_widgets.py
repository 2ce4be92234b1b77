"""The page's wiring, without a browser: turn a control, look at what reached the answer."""

from __future__ import annotations

import math
import re

import ipywidgets as w
import pytest
from numpy.testing import assert_allclose

from shrinkage.controls import AS_IN_JOB
from shrinkage.order import order
from shrinkage.pickers import job_files
from shrinkage.schedule import CAUTIONS
from shrinkage.shortcut_page import ShortcutPage, edited
from shrinkage.units import show
from shrinkage.widgets import message

GOOD, WRONG = 'class="sk-note"', 'class="sk-wrong"'


@pytest.fixture
def page() -> ShortcutPage:
    return ShortcutPage()


def timber(page, role):
    return page.answer.frame.timbers[role]


def test_untouched_page_shows_the_example(page, workshop_order):
    assert GOOD in page.note.value
    assert page.controls["job"].title.startswith("Workshop with two gables")
    offs = [p.edges["top"].off for p in page.answer.panels]
    assert offs == [p.edges["top"].off for p in workshop_order.panels]
    table = page.panes["table"].value
    assert table.count("<tr>") + table.count("<tr ") == len(offs) + 1
    assert page.panes["picture"].value.count("<figure") == 2  # an eave and a corner


def test_view_holds_controls_answer_and_cautions(page):
    _look, left, right = page.view.children
    shown = {page.note, page.sign}
    for part in left.children:  # a picker's parts stand in it, in the order of the tab key
        shown |= set(part.children) | {part} if isinstance(part, w.VBox) else {part}
    assert set(page.controls.values()) <= shown
    assert page.panes["picture"] in right.children and page.panes["table"] in right.children
    text = " ".join(child.value for child in right.children if isinstance(child, w.HTML))
    assert all(caution.replace("'", "&#x27;") in text for caution in CAUTIONS)


@pytest.mark.parametrize(
    ("control", "value", "reached"),
    [
        ("species", "hemlock, eastern", lambda p: timber(p, "plate").species.name),
        ("heart", "unknown", lambda p: timber(p, "rafter").heart.kind),
        ("moisture", "18 %", lambda p: f"{timber(p, 'post').moisture:g} %"),
        ("pitch", "45 deg", lambda p: f"{math.degrees(p.answer.frame.seat.pitch):.0f} deg"),
        ("thickness", "8 in", lambda p: f"{p.answer.frame.job.panel.thickness / 25.4:g} in"),
    ],
)
def test_each_control_reaches_the_answer_and_the_page(page, control, value, reached):
    before = page.answer, page.panes["table"].value, page.panes["picture"].value
    page.controls[control].value = value
    assert reached(page) == value
    assert GOOD in page.note.value
    assert page.answer is not before[0]
    assert page.panes["picture"].value != before[2]
    page.controls[control].value = AS_IN_JOB if control in ("species", "heart") else ""
    assert (page.panes["table"].value, page.panes["picture"].value) == before[1:]


def test_sill_stays_as_the_job_says(page):
    page.controls["species"].value = "pine, eastern white"
    assert timber(page, "sill").species.name == "oak, white"


def test_numbers_on_the_page_are_the_answers(page):
    page.controls["moisture"].value = "15 %"
    eave = next(a for a in page.answer.allowances if a.joint.kind == "eave")
    assert_allclose(eave.gap, order(page.answer.frame.document).allowances[0].gap)
    shown = re.search(r"gap on the day ([\d/ '-]+)&quot;", page.panes["picture"].value)[1]
    assert f'{shown}"' == show(eave.gap)
    off = [p.edges["top"].off for p in page.answer.panels if p.place == "south"]
    assert set(off) == {eave.off}
    assert f"<td>{show(eave.off)}</td>" in page.panes["table"].value.replace("&quot;", '"')


@pytest.mark.parametrize(
    ("control", "value", "said"),
    [
        ("pitch", "90 deg", "&#x27;90 deg&#x27; is too steep"),
        ("pitch", "10", "has no unit"),
        ("pitch", "-5 in 12", "accepted"),
        ("thickness", "1e9 in", "accepted"),
        ("thickness", "-6 in", "above 0 and under 100 m"),
        ("thickness", "6''' x", "accepted"),
        ("moisture", "3 %", "is below the"),
        ("moisture", "wet", "accepted: green"),
        ("thickness", "7", "&#x27;7&#x27; has no unit"),
        ("thickness", "<b>7</b> in", "&lt;b&gt;7&lt;/b&gt;"),
    ],
)
def test_wrong_entry_says_so_and_keeps_the_last_good_answer(page, control, value, said):
    answer, table, picture = page.answer, page.panes["table"].value, page.panes["picture"].value
    page.controls[control].value = value
    assert WRONG in page.note.value and 'role="alert"' in page.note.value
    assert said in page.note.value + page.controls[control].said.value
    assert page.answer is answer
    assert (page.panes["table"].value, page.panes["picture"].value) == (table, picture)
    assert "sk-old" in page.panes["table"]._dom_classes
    page.controls[control].value = ""
    assert GOOD in page.note.value
    assert "sk-old" not in page.panes["table"]._dom_classes


def test_names_are_escaped(tmp_path, changed):
    text = changed(('name = "south"', 'name = "<script>alert(1)</script>"'),
                   ('name = "door"', 'name = "a&b<i>"'))  # fmt: skip
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    page = ShortcutPage(tmp_path)
    html = page.panes["picture"].value + page.panes["table"].value + page.note.value
    assert GOOD in page.note.value
    assert "<script" not in html and "<i>" not in html
    assert (
        "&lt;script&gt;" in page.panes["table"].value
        and "a&amp;b&lt;i&gt;" in page.panes["table"].value
    )


def test_a_folder_of_ones_own(tmp_path, workshop_text):
    (tmp_path / "a.toml").write_text(workshop_text, encoding="utf-8")
    (tmp_path / "b.toml").write_text(workshop_text, encoding="utf-8")
    (tmp_path / "broken.toml").write_text("title =", encoding="utf-8")
    (tmp_path / "starter.toml").write_text(workshop_text, encoding="utf-8")
    found = job_files(tmp_path)
    assert sorted(found.values()) == [
        str(tmp_path / name) for name in ("a.toml", "b.toml", "broken.toml")
    ]
    assert "not readable: broken" in found


def test_a_job_with_a_mistake_is_named_with_its_line(tmp_path, changed):
    (tmp_path / "job.toml").write_text(changed(('"10 in 12"', '"99 deg"')), encoding="utf-8")
    page = ShortcutPage(tmp_path)
    assert re.search(r"job\.toml line \d+: eave\.pitch", page.controls["job"].said.value)
    assert WRONG in page.note.value and page.answer is None


def test_an_empty_folder_is_no_crash(tmp_path):
    assert WRONG in ShortcutPage(tmp_path).note.value


def test_edited_leaves_the_original_alone(raw):
    before = repr(raw)
    changes = {"species": "white oak", "pitch": "12 in 12", "thickness": "8 in", "heart": None}
    found = edited(raw, changes)
    assert repr(raw) == before
    assert found["timber"]["post"]["species"] == "white oak"
    assert found["timber"]["post"]["heart"] == "boxed"
    assert (found["eave"]["pitch"], found["panel"]["thickness"]) == ("12 in 12", "8 in")


def test_messages_are_escaped_line_by_line():
    assert message("a <b>\nc", good=False).count("<br>") == 1
    assert "&lt;b&gt;" in message("a <b>", good=True)

"""The finishes page: what is entered reaches the answer; a wrong entry keeps the last one."""

from __future__ import annotations

import pytest

from shrinkage.finish_answer import KINDS
from shrinkage.finishes_page import TITLES, FinishesPage
from shrinkage.job_finish import FinishSpec


@pytest.fixture
def page():
    return FinishesPage()


def pick(page: FinishesPage, kind: str) -> None:
    page.common["kind"].value = kind


@pytest.mark.parametrize("kind", KINDS)
def test_every_calculator_answers_as_it_starts(page, kind):
    pick(page, kind)
    assert 'role="alert"' not in page.note.value
    assert type(page.found).__name__.removesuffix("Finding").lower() == kind
    assert "<svg" in page.panes["picture"].value
    assert page.found.amounts[0].name in page.panes["sheet"].value
    assert "<details>" in page.panes["sheet"].value and "Table 4-3" in page.panes["sheet"].value
    assert set(page.boxes) == {"wallboard", kind}


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_has_a_box(page, kind):
    pick(page, kind)
    spec = FinishSpec.model_fields[kind].annotation.__args__[0]
    assert set(page.boxes[kind]) == set(spec.model_fields) - {"name"}
    assert set(page.keys.children) == set(page.boxes[kind].values())


@pytest.mark.parametrize(
    ("kind", "key", "value", "seen"),
    [
        ("wallboard", "held", "left face", lambda f: f.left.most == 0.0),
        ("wallboard", "moisture", "20 %", lambda f: f.face.timber.moisture == 20.0),
        ("wallboard", "timber", "plate", lambda f: f.face.timber.role == "plate"),
        ("trim", "keep", "1 in", lambda f: f.housing.most > 25.4),
        ("boards", "rings", "quarter", lambda f: f.gap.least == f.gap.most),
        ("boards", "species", "oak, white", lambda f: f.boards.species.name == "oak, white"),
        ("boards", "room_at", "one wall", lambda f: f.boards.free_sides == 1),
        ("shoulder", "housing", "3/4 in", lambda f: f.joint.housing == pytest.approx(19.05)),
        ("brace", "angle", "10 in 12", lambda f: f.joint.angle == pytest.approx(0.694738)),
        ("brace", "heart", "flat", lambda f: f.joint.brace.heart.kind == "flat"),
        ("tenon", "thickness", "2 in", lambda f: f.joint.thickness == pytest.approx(50.8)),
        ("pegged", "pegs", "2 in; 3 in", lambda f: f.joint.pegs == pytest.approx((50.8, 76.2))),
    ],
)
def test_boxes_reach_the_answer(page, kind, key, value, seen):
    pick(page, kind)
    assert not seen(page.found)
    page.controls[f"{kind}.{key}"].value = value
    assert 'role="alert"' not in page.note.value and seen(page.found)


def test_frame_timbers_can_be_changed(page):
    before = page.found.left.most
    page.controls["species"].value = "oak, white"
    assert page.found.face.timber.species.name == "oak, white" and page.found.left.most > before
    page.controls["heart"].value = "quarter"
    assert page.found.face.timber.heart.kind == "quarter"


@pytest.mark.parametrize(
    ("kind", "key", "value", "named"),
    [
        ("wallboard", "keep", "5", "Not read yet: to stay covered"),
        ("wallboard", "held", "sideways", "Not read yet: held at"),
        ("boards", "tongue", "6 in", "tongue 152.4 mm; accepted: above zero and less than"),
        ("pegged", "pegs", "9 in", "peg 228.6 mm above the seat"),
        ("pegged", "pegs", "", "Not read yet: pegs above seat"),
        ("trim", "timber", "purlin", "no [timber.purlin]"),
    ],
)
def test_wrong_entry_keeps_the_last_answer(page, kind, key, value, named):
    pick(page, kind)
    before, picture = page.found, page.panes["picture"].value
    box = page.controls[f"{kind}.{key}"]
    good = box.value
    box.value = value
    assert named in page.note.value and 'role="alert"' in page.note.value
    assert page.found is before and page.panes["picture"].value == picture
    assert "sk-old" in page.panes["picture"]._dom_classes
    box.value = good
    assert 'role="alert"' not in page.note.value
    assert "sk-old" not in page.panes["picture"]._dom_classes


def test_an_entry_left_wrong_does_not_wait_behind_another_calculator(page):
    page.controls["wallboard.keep"].value = "5"
    pick(page, "boards")
    assert 'role="alert"' not in page.note.value
    pick(page, "wallboard")
    assert 'role="alert"' not in page.note.value and page.controls["wallboard.keep"].value == ""


def test_job_of_ones_own_shows_what_its_file_asks_for(page, tmp_path, workshop_text):
    assert page.panes["own"].value == ""
    own = '\n[[finish.tenon]]\nname = "<b>tie</b> tenon"\n'
    job = tmp_path / "own.toml"
    job.write_text(workshop_text + own, "utf-8")
    page.controls["job"].path.value = str(job)
    assert "&lt;b&gt;tie&lt;/b&gt; tenon" in page.panes["own"].value
    assert page.found.name == TITLES["wallboard"]


def test_sheet_of_the_answer_shown_can_be_saved(page):
    page.common["kind"].value = "tenon"
    page.files.make("finishes.md")
    assert 'download="finishes.md"' in page.files.links.value
    page.common["kind"].value = "trim"  # another answer: its files are not made yet
    assert page.files.links.value == ""

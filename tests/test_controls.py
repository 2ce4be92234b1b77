"""Parts of pages without a browser: entries, pickers, and files to save."""

from __future__ import annotations

import base64
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.climate import outdoors, room_by_region, room_derived
from shrinkage.controls import (
    AS_IN_JOB,
    TextBox,
    choice,
    job_box,
    length_box,
    section_box,
    several,
    slide,
)
from shrinkage.downloads import Downloads, link, order_files
from shrinkage.errors import ShrinkageError
from shrinkage.export import write_order
from shrinkage.handover import write_sheets
from shrinkage.job import Job
from shrinkage.jobfile import check_job, read_field
from shrinkage.picker_pictures import pith_of
from shrinkage.pickers import ClimatePicker, JobChooser, TimberPicker, job_files
from shrinkage.section import HEART_KINDS, radial_weight
from shrinkage.species import catalogue, find
from shrinkage.start_page import start_page, state
from shrinkage.tables import JOBS


@pytest.mark.parametrize(
    ("text", "mm"),
    [("7' 11-5/8\"", 2428.875), ("5 1/2 in", 139.7), ("138 mm", 138.0), ("0.5 m", 500.0)],
)  # fmt: skip
def test_length_box_reads_tape_measure_text(text, mm):
    box = length_box("length", text)
    assert box.wrong == "" and box.said.layout.display == "none"
    assert_allclose(box.result(), mm)


@pytest.mark.parametrize(
    ("text", "said"),
    [("12", "has no unit"), ("1e9 in", "accepted"), ("-3 in", "above 0"), ("0 in", "above 0"),
     ("", "nothing here yet"), ("two feet", "accepted"), ("200 m", "under 100 m"),
     ("<b>", "&lt;b&gt;")],
)  # fmt: skip
def test_length_box_says_at_once_what_is_wrong(text, said):
    box, heard = length_box("length", "8 in"), []
    box.observe(lambda change: heard.append((change["new"], box.wrong)), names="value")
    box.text.value = text
    assert said in box.said.value and 'role="alert"' in box.said.value
    assert box.said.layout.display is None
    assert [value for value, _ in heard] == [text] and heard[0][1]  # what is wrong came first
    with pytest.raises(ShrinkageError):
        box.result()
    box.value = "8 in"
    assert box.text.value == "8 in" and box.wrong == "" and box.said.value == ""


def test_other_boxes():
    assert_allclose(section_box(value="8 x 10 in").result(), (203.2, 254.0))
    assert length_box("gap", "0 in", zero=True).result() == 0.0
    assert TextBox("any", value=" x ").result() == "x"
    assert TextBox("any").result() is None


@pytest.mark.parametrize(
    ("key", "good", "bad"),
    [("eave.pitch", "10 in 12", "10"), ("timber.post.moisture", "green", "wet"),
     ("foam.kind", "gun foam", "marshmallow"), ("spread.certainty", "95 %", "200 %"),
     ("title", "Barn", ""), ("eave.layout", "centre", "somewhere")],
)  # fmt: skip
def test_boxes_and_job_file_say_the_same(raw, key, good, bad):
    box = job_box("it", key, good, empty=False)
    assert box.wrong == ""
    with pytest.raises(ShrinkageError) as alone:
        read_field(key, bad)
    table, _, name = key.rpartition(".")
    spot = raw
    for part in filter(None, table.split(".")):
        spot = spot.setdefault(part, {})
    spot[name] = bad
    with pytest.raises(ShrinkageError) as whole:
        check_job(raw)
    assert whole.value.message == f"job: {key}: {alone.value.message}"


def test_every_field_of_the_job_can_be_read_by_itself():
    assert set(Job.model_fields) >= {"title", "units"}
    assert read_field("units", "metric") == "metric"


def test_controls_carry_their_help():
    assert choice("a", ["x", "y"], "y", "why").tooltip == "why"
    assert several("a", "xy", ("x",), "why").tooltip == "why"
    whole, part = slide("a, %", 2, 0, 9), slide("a", 0.5, 0, 1, 0.25, "why")
    assert (type(whole).__name__, type(part).__name__) == ("IntSlider", "FloatSlider")
    assert (whole.tooltip, part.tooltip, part.step) == ("a, %", "why", 0.25)


def test_job_chooser_names_a_mistake_and_keeps_the_list(tmp_path, workshop_text, changed):
    (tmp_path / "a_bad.toml").write_text(changed(('"10 in 12"', '"99 deg"')), encoding="utf-8")
    (tmp_path / "good.toml").write_text(workshop_text, encoding="utf-8")
    chooser = JobChooser(tmp_path)
    assert chooser.value == str(tmp_path / "good.toml") and chooser.wrong == ""  # a sound one first
    chooser.list.value = str(tmp_path / "a_bad.toml")
    assert re.search(r"a_bad\.toml line \d+: eave\.pitch", chooser.wrong)
    chooser.path.value = str(tmp_path / "nowhere.toml")
    assert "nowhere.toml" in chooser.wrong and chooser.value.endswith("nowhere.toml")
    chooser.path.value = ""
    chooser.list.value = str(tmp_path / "good.toml")
    assert chooser.wrong == "" and chooser.title.startswith("Workshop")


def test_own_jobs_stand_before_the_example(tmp_path, workshop_text, monkeypatch):
    own = workshop_text.replace('title = "', 'title = "Barn, ', 1)
    (tmp_path / "barn.toml").write_text(own, encoding="utf-8")
    (tmp_path / "study.toml").write_text("[study]\njob = 'x'\n", encoding="utf-8")
    (tmp_path / "blank.toml").write_text(own.replace(own.split("\n")[0], ""), encoding="utf-8")
    monkeypatch.setenv(JOBS, str(tmp_path))
    titles = list(job_files())
    assert titles[0].startswith("Barn") and titles[-1].startswith("Workshop")
    assert not any("study" in title for title in titles)


def test_empty_job_name_is_called_by_its_file(tmp_path, workshop_text):
    text = re.sub(r"(?m)^title = .*$", 'title = ""', workshop_text)
    (tmp_path / "nameless.toml").write_text(text, encoding="utf-8")
    assert list(job_files(tmp_path)) == ["nameless"]
    chooser = JobChooser(tmp_path)
    assert "title" in chooser.wrong and "accepted" in chooser.wrong


def test_timber_picker_shows_the_rings_it_means():
    picker = TimberPicker("oak, white", "8 in x 12 in", "boxed", "green")
    assert [picker.value(name) for name in ("species", "heart", "moisture")] == [
        "oak, white", "boxed", "green"]  # fmt: skip
    wood, weight = find("oak, white"), float(radial_weight(203.2, 304.8, 0, 0))
    loses = 100 * (weight * wood.s_r + (1 - weight) * wood.tangential)
    assert f"loses {loses:.1f} %" in picker.rings.value and "<svg" in picker.rings.value
    assert "<circle" in picker.rings.value  # the pith stands in the section
    picker.parts["heart"].value = "unknown"
    low, high = sorted((100 * wood.s_r, 100 * wood.tangential))
    assert f"loses {low:.1f} % to {high:.1f} %".replace(" % to", " to") in picker.rings.value
    assert "rings?" in picker.rings.value
    picker.parts["section"].value = "8"
    assert picker.rings.value == ""


def test_timber_picker_may_leave_all_to_the_job():
    picker = TimberPicker(in_job=True)
    assert picker.value("species") is picker.value("moisture") is None
    assert picker.parts["heart"].value == AS_IN_JOB and picker.rings.value == ""
    assert picker.parts["moisture"].wrong == ""


def test_species_offered_are_those_with_both_shrinkages():
    offered = TimberPicker("oak, white").parts["species"].options
    assert set(offered) == {n for n, wood in catalogue().items() if wood.s_t is not None}


@pytest.mark.parametrize("kind", HEART_KINDS)
@pytest.mark.parametrize("size", [(100.0, 100.0), (250.0, 100.0), (100.0, 250.0)])
def test_pith_is_drawn_where_the_kind_says(kind, size):
    """The drawn pith gives the weight of R that the kind stands for, to a hundredth."""
    from shrinkage.section import Heart, width_weights

    weights, pith = width_weights(*size, Heart(kind)), pith_of(*size, kind)
    if pith is None:
        assert kind == "unknown"
        return
    drawn = float(radial_weight(*size, *pith))
    assert weights.low - 0.02 <= drawn <= weights.high + 0.02


def test_climate_picker_shows_the_year():
    picker = ClimatePicker("Denver, CO")
    outside, room = picker.years()
    assert_allclose(outside.emc, outdoors("Denver, CO").emc)
    assert_allclose(room.emc, room_derived(outside).emc)
    words = f"Outdoors: {outside.low:.1f} to {outside.high:.1f} %."
    assert words in picker.strip.value and picker.strip.value.count("<path") == 2
    picker.parts["room"].value = "most of the US"
    assert f"{room_by_region('most of the US').low:.1f}" in picker.strip.value
    assert np.ptp(outside.emc) > 1  # a year, not a number


def test_files_are_those_of_the_command_line(tmp_path, workshop_order):
    """Byte for byte where the format carries no clock."""
    write_order(workshop_order, tmp_path / "order")
    write_sheets(workshop_order, tmp_path / "sheets")
    made = Downloads(tuple(order_files(workshop_order)), lambda: order_files(workshop_order))
    for name in ("schedule.csv", "worksheet.md", "edges.csv"):
        made.make(name)
        data = re.search(rf'download="{name}" href="data:[^,]*,([^"]*)"', made.links.value)[1]
        assert base64.b64decode(data) == (tmp_path / "order" / name).read_bytes()
    names = {path.name for folder in ("order", "sheets") for path in (tmp_path / folder).iterdir()}
    assert names | {"page.html"} == set(order_files(workshop_order))


def test_downloads_say_why_not():
    none = Downloads(("a.csv",), lambda: None)
    none.buttons["a.csv"].click()
    assert "no answer yet" in none.links.value and 'role="alert"' in none.links.value

    def refuse(path):
        raise ShrinkageError("DXF needs <ezdxf>")

    refused = Downloads(("a.dxf",), lambda: {"a.dxf": refuse})
    refused.buttons["a.dxf"].click()
    assert "DXF needs &lt;ezdxf&gt;" in refused.links.value and refused.made == {}
    fine = Downloads(("a.txt",), lambda: {"a.txt": lambda path: path.write_text("x")})
    fine.buttons["a.txt"].click()
    assert 'download="a.txt"' in fine.links.value
    fine.forget()
    assert fine.links.value == ""


def test_link_escapes_its_name():
    assert '<a download="a&quot;b"' in link('a"b', b"x")


def test_start_page_says_the_state_of_each_job(tmp_path, workshop_text, changed):
    (tmp_path / "good.toml").write_text(workshop_text, encoding="utf-8")
    text = changed(('"10 in 12"', '"99 deg"')).replace('title = "', 'title = "<i>', 1)
    (tmp_path / "slip.toml").write_text(text, encoding="utf-8")
    assert state(str(tmp_path / "good.toml")).startswith("sound: 4 wall(s), ")
    html = "".join(part.value for part in start_page(tmp_path).children)
    assert "eave.pitch" in html and "&lt;i&gt;" in html and "<i>" not in html

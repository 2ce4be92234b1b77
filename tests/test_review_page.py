"""The engineer's page: what a control changes reaches the answer, and the answer is shown."""

from __future__ import annotations

import html
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from shrinkage import svg_charts
from shrinkage.calendar import USUAL
from shrinkage.drivers import from_draws, sobol_indices
from shrinkage.review_page import ReviewPage
from shrinkage.sampled import plan, sample
from shrinkage.spread import Spread, kept_points
from shrinkage.stack_table import stack_rows

DRAWS = 2**12


@pytest.fixture
def page(workshop_path):
    return ReviewPage(workshop_path, draws=DRAWS)


def svgs(text):
    return [ET.fromstring(found) for found in re.findall(r"<svg .*?</svg>", text, re.DOTALL)]


def drawn_as(chart, kind):
    return [part for part in chart.iter() if part.tag.endswith("}" + kind)]


def test_opens_with_an_answer(page):
    assert "Answer for the settings above" in page.note.value
    assert page.answer is not None and page.found.sample.draws == DRAWS
    for name in ("eave", "time", "touching", "drivers"):
        assert f'class="sk-{name}"' in page.panes["picture"].value
    assert len(svgs(page.panes["picture"].value)) == 5  # the eave is two
    assert "Before you use this" in page.view.children[0].children[-1].children[-1].value


def test_stack_is_the_joint_s(page):
    rows = stack_rows(page.eave)
    names = [row["member"].split(" (")[0] for row in rows]
    assert names == [layer.name for layer in page.eave.joint.layers]
    assert sum(row["closes"] for row in rows) == pytest.approx(page.eave.driest.estimate)
    assert sum(row["share"] for row in rows) == pytest.approx(1.0)
    assert rows[1]["weight"] == pytest.approx(0.5) and rows[1]["total"] == pytest.approx(0.041)
    assert rows[1]["from"] == 30.0 and "Table 4-3" in rows[1]["source"]
    for column in ("member", "direction", "weight of R", "M from %", "source"):
        assert column in page.panes["stack"].value


def test_limits_and_what_governs(page):
    for limit in page.eave.limits:
        assert html.escape(limit.name) in page.panes["words"].value
    line = next(x for x in page.panes["words"].value.split("<tr>") if "<b>governs</b>" in x)
    assert page.eave.governs.name in line
    for text in ("worst case", "root-sum-square", "sampled", "for 95 %", "Foam pushes with"):
        assert text in page.panes["words"].value
    assert "no [holddown]" in page.panes["words"].value


def test_worksheet_is_under_it(page):
    assert "Joint: south, top (eave)" in page.panes["sheet"].value
    assert "Gap needed =" in page.panes["sheet"].value
    assert page.view.children[-1] is page.panes["sheet"]


@pytest.mark.parametrize(
    ("control", "value", "key"),
    [("plate.species", "white oak", "plate"), ("rafter.section", "6 in x 10 in", "rafter"),
     ("plate.heart", "flat", "plate"), ("post.moisture", "20 %", "post")],
)  # fmt: skip
def test_timber_controls_reach_the_job(page, control, value, key):
    before = page.eave.driest.estimate
    page.controls[control].value = value
    timber = page.answer.frame.timbers[key]
    seen = {"species": timber.species.name, "section": timber.depth, "heart": timber.heart.kind,
            "moisture": timber.moisture}[control.split(".")[1]]  # fmt: skip
    meant = {"white oak": "oak, white", "6 in x 10 in": 254.0, "20 %": 20.0}
    assert seen == meant.get(value, value)
    assert page.eave.driest.estimate != before


def test_other_controls_reach_the_job(page):
    page.controls["pitch"].value = "6 in 12"
    page.controls["room"].value = "dry southwest"
    page.controls["squeeze_once"].value = "40 %"
    page.controls["works"].value = "15 %"
    page.controls["tolerance"].value = "1/16 in"
    frame = page.answer.frame
    assert frame.seat.pitch == pytest.approx(np.arctan(0.5))
    assert frame.foam.squeeze_once == 0.4 and frame.foam.works == 0.15
    assert frame.rules.cutting == frame.rules.frame == frame.rules.setting == 1.5875
    assert "dry southwest" in frame.room.name


def test_sliders_reach_the_spread(page):
    for name, value in (("species_spread", 25), ("heart_spread", 30), ("moisture_spread", 4),
                        ("certainty", 99)):  # fmt: skip
        page.controls[name].value = value
    spread = page.found.sample.plan.spread
    assert (spread.species.amount, spread.heart.amount) == (0.25, 0.3)
    assert (spread.moisture.amount, spread.certainty) == (4.0, 99.0)
    page.controls["section_factor"].value = 0.8
    assert {wood.section_factor for wood in page.answer.frame.timbers.values()} == {0.8}


def test_gap_slider_shades_the_touching_side(page):
    drawn = page.found.sample
    page.controls["gap"].value = 10
    assert page.tried == pytest.approx(10 * 25.4 / 32)
    share = np.mean(drawn.reach >= page.tried)
    assert 0.05 < share < 0.95
    chart = svgs(page.parts["touching"])[0]
    heights = {
        kind: sum(float(r.get("height")) for r in drawn_as(chart, "rect") if r.get("class") == kind)
        for kind in ("touch", "clear")
    }
    assert heights["touch"] / sum(heights.values()) == pytest.approx(share, abs=0.03)
    assert f"{100 * share:.0f} %" in page.parts["touching"]
    assert page.found.sample is drawn  # nothing was drawn again


def test_certainty_draws_nothing_again_and_says_the_same(page, workshop_path):
    before = page.found.sample.needed
    page.controls["certainty"].value = 80
    assert page.found.sample.needed is before
    page.controls["plate.moisture"].value = "wet"  # a mistake on the way
    page.controls["plate.moisture"].value = ""
    afresh = ReviewPage(workshop_path, draws=DRAWS)
    afresh.controls["species_spread"].value = 25
    afresh.controls["certainty"].value = 80
    afresh.controls["species_spread"].value = 15
    assert afresh.found.sample.needed is not before
    assert (page.found.gap, page.found.worst) == (afresh.found.gap, afresh.found.worst)
    assert page.found.gap == pytest.approx(np.quantile(before, 0.8))
    for name, pane in page.panes.items():
        assert pane.value == afresh.panes[name].value


def test_draws_follow_everything_but_the_certainty(page):
    before = page.found.sample.needed
    page.controls["species_spread"].value = 25
    after = page.found.sample.needed
    assert not np.array_equal(before, after)
    page.controls["wall"].value = "north"
    assert page.found.answer.joint.name == "north, top"
    assert page.found.sample.plan.joint.name == "north, top"
    assert "Joint: north, top" in page.panes["sheet"].value


def test_a_mistake_is_shown_and_the_answer_kept(page):
    before = page.panes["picture"].value
    page.controls["plate.moisture"].value = "wet"
    assert 'role="alert"' in page.note.value and "plate: moisture" in page.note.value
    assert "accepted: green" in page.controls["plate.moisture"].said.value
    assert page.panes["picture"].value == before
    assert "sk-old" in page.panes["picture"]._dom_classes
    page.controls["plate.moisture"].value = "20 %"
    assert "sk-old" not in page.panes["picture"]._dom_classes
    assert "Answer for" in page.note.value


def test_walls_to_choose_from_are_eaves(page):
    assert list(page.controls["wall"].options) == ["south", "north"]
    page.controls["wall"].value = "north"
    assert page.eave.joint.name == "north, top"


def test_with_dates_and_hold_down(workshop_text, tmp_path):
    job = tmp_path / "dated.toml"
    job.write_text(workshop_text + """
[calendar]
sawn = 2027-01-15
raised = 2027-05-10
enclosed = 2027-06-01
foamed = 2027-07-07
heated = 2027-10-15
[holddown]
roof_load = "0.5 kPa"
eave_share = "1 m"
""", "utf-8")  # fmt: skip
    page = ReviewPage(job, draws=256)
    assert "Gap by year since the panels went on" in page.parts["time"]
    rows = stack_rows(page.eave)
    course = page.eave.joint.layers[1].wood.course
    assert rows[1]["from"] == pytest.approx(course.mean[USUAL, 0])
    assert sum(row["closes"] for row in rows) == pytest.approx(page.eave.driest.estimate)
    assert (
        "against" in page.panes["words"].value and "for the engineer" in page.panes["words"].value
    )


def test_drivers_from_draws_are_the_estimators(workshop_order):
    answer = next(a for a in workshop_order.allowances if a.joint.name == "east, end")
    made = plan(answer.joint, answer.foam, workshop_order.frame.rules, Spread())
    points = kept_points(len(made.inputs), 1, 2**15)
    found = {d.group: d for d in from_draws(sample(made, points=points), points, 2**15)}
    first, _ = sobol_indices(lambda u: sample(made, points=u).needed, len(made.inputs),
                             list(made.groups.values()), 2**12)  # fmt: skip
    for name, share in zip(made.groups, first, strict=True):
        assert found[name].first == pytest.approx(share, abs=0.05), name


# --- the charts themselves ---


def test_band_chart_follows_its_numbers():
    at = np.array([0.0, 1.0, 2.0])
    names = {0.0: "a<b", 2.0: "end"}
    text = svg_charts.band(at, at + 1, at + 2, at + 3, names, "gap, in", "t", "w")
    chart = ET.fromstring(text)
    line = next(p for p in drawn_as(chart, "path") if p.get("class") == "middle")
    points = [tuple(map(float, p.split())) for p in line.get("d")[1:].split("L")]
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    rises = np.diff([y for _, y in points])
    assert (rises < 0).all() and rises[0] == pytest.approx(rises[1], abs=0.11)
    assert "a<b" in [t.text for t in drawn_as(chart, "text")]
    assert chart.get("aria-label") == "w"


def test_bar_chart_is_in_proportion():
    chart = ET.fromstring(svg_charts.bars([("a & b", 0.5, "50 %"), ("c", 0.25, "")], "t", "w"))
    widths = [float(r.get("width")) for r in drawn_as(chart, "rect")]
    assert widths[0] == pytest.approx(2 * widths[1], abs=0.1)


def test_charts_of_nothing():
    ET.fromstring(svg_charts.bars([], "t", "w"))
    ET.fromstring(svg_charts.histogram(np.zeros(16), 1.0, {"g": 1.0}, "x", "t", "w"))


@pytest.mark.parametrize(
    ("control", "value", "reached"),
    [
        ("above_seat", "4 in", lambda page: page.answer.frame.seat.above_seat == 4 * 25.4),
        ("housed", "1 in", lambda page: page.answer.frame.seat.housing == 25.4),
        ("layout", "outer face", lambda page: page.answer.frame.job.eave.layout == "outer face"),
        ("recovery", "70 %", lambda page: page.answer.frame.foam.recovery == 0.7),
        ("keep_clear", "1/4 in", lambda page: page.answer.frame.rules.keep_clear == 6.35),
        (
            "others",
            "eave.panel_top = square\n\npanel.thickness = 8 in",
            lambda page: (
                page.answer.frame.job.eave.panel_top == "square"
                and page.answer.frame.job.panel.thickness == 8 * 25.4
            ),
        ),
        (
            "others",
            "timber.plate.section_factor = 0.7",
            lambda page: page.answer.frame.timbers["plate"].section_factor == 0.7,
        ),
    ],
)
def test_every_other_assumption_reaches_the_job(page, control, value, reached):
    page.controls[control].value = value
    assert "Answer for the settings above" in page.note.value
    assert reached(page)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("eave.panel_top", "cannot read"),
        ("roofing.colour = red", "cannot read"),
        ("eave.panel_topp = square", "no such key"),
        ("panel.thickness = 8", "has no unit"),
    ],
)
def test_other_keys_that_cannot_be_read_keep_the_last_answer(page, value, said):
    before = page.answer
    page.controls["others"].value = value
    assert said in page.note.value + page.controls["others"].said.value
    assert page.answer is before

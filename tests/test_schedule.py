"""The order as tables: the right number in the right column, in words and in millimetres."""

from __future__ import annotations

import re

import pytest
from numpy.testing import assert_allclose

from shrinkage import units
from shrinkage.order import SIDES
from shrinkage.schedule import (
    CAUTIONS,
    assumption_table,
    edge_table,
    joint_table,
    length_text,
    panel_table,
    terminal,
)

TENTH = 0.051
"""[mm] Half the last digit of the millimetre columns."""
SIXTEENTH = 25.4 / 32 + 1e-9
"""[mm] Half the smallest fraction written."""
HUNDREDTH = 0.0051
"""[mm] Half the last digit of the joint table."""
WIDEST_LINE = 125
"""[characters] A terminal on a laptop, and the example's names are short."""


def test_one_row_a_panel(workshop_order):
    table = panel_table(workshop_order)
    assert list(table["panel"]) == [panel.mark for panel in workshop_order.panels]
    for row, panel in zip(table.to_dict("records"), workshop_order.panels, strict=True):
        assert row["place"] == panel.place
        assert_allclose(row["from_left_mm"], panel.piece.left, rtol=0, atol=TENTH)
        assert_allclose(row["order_width_mm"], panel.width, rtol=0, atol=TENTH)
        assert_allclose(row["order_height_left_mm"], panel.left_height, rtol=0, atol=TENTH)
        assert_allclose(row["order_height_right_mm"], panel.right_height, rtol=0, atol=TENTH)
        opening = panel.piece.right - panel.piece.left
        assert_allclose(row["opening_width_mm"], opening, rtol=0, atol=TENTH)
        for side in SIDES:
            edge = panel.edges[side]
            assert_allclose(row[f"{side}_off_mm"], edge.off, rtol=0, atol=TENTH)
            assert (row[f"{side}_meets"], row[f"{side}_why"]) == (edge.kind, edge.why)


def test_words_say_what_the_millimetres_say(workshop_order):
    for row in panel_table(workshop_order).to_dict("records"):
        for words, number in (
            ("opening_width", "opening_width_mm"), ("order_width", "order_width_mm"),
            ("order_height_left", "order_height_left_mm"), ("off_top", "top_off_mm"),
            ("opening_height", "opening_height_mm"), ("off_left", "left_off_mm"),
        ):  # fmt: skip
            read = units.length(row[words]) if row[words] != '0"' else 0.0
            assert_allclose(read, row[number], rtol=0, atol=SIXTEENTH + TENTH)


def test_gaps_of_every_edge(workshop_order):
    table = panel_table(workshop_order).set_index("panel")
    eave = table.loc["south 1"]
    answer = next(a for a in workshop_order.allowances if a.joint.name == "south, top")
    for name, number in (
        ("gap_day_mm", answer.gap),
        ("gap_driest_mm", answer.gap - answer.driest.most),
        ("gap_wettest_mm", answer.gap - answer.wettest.most),
        ("foam_squeeze_percent", 100 * answer.closing / answer.gap),
    ):
        assert_allclose(eave[f"top_{name}"], number, rtol=0, atol=TENTH)
    assert eave["bottom_gap_day_mm"] is None  # it bears: nothing is said of a gap


def test_columns_tell_their_unit(workshop_order):
    for make in (panel_table, edge_table, joint_table):
        table = make(workshop_order)
        for name in table.columns:
            if table[name].map(lambda cell: isinstance(cell, float)).any():
                assert name.endswith(("_mm", "_percent")), name


def test_peak_and_cut_outs_in_words(workshop_order):
    table = panel_table(workshop_order).set_index("panel")
    assert re.fullmatch(r"16' 8-3/8\" at 1' 9-3/8\"", table.loc["east 3", "order_peak"])
    assert table.loc["south 1", "order_peak"] == ""
    cut = table.loc["south 4", "cut_outs"]
    assert cut == 'door: 3\' 3-1/4" x 6\' 10-5/8", 3-5/8" from left, 0" up'


def test_metric_words(workshop_order):
    row = panel_table(workshop_order, "metric").iloc[0]
    assert (row["order_width"], row["off_top"]) == ("1143 mm", "31.8 mm")


@pytest.mark.parametrize(
    ("mm", "step", "text"),
    [(25.4 / 8, 3.175, '1/8"'), (25.4 / 32, 25.4 / 32, '1/32"'), (25.4 / 64, 25.4 / 64, '1/64"'),
     (25.4 / 16, 3.175, '1/16"')],
)  # fmt: skip
def test_lengths_are_written_to_the_plants_fraction(mm, step, text):
    assert length_text(mm, "imperial", step) == text


def test_one_row_an_edge(workshop_order):
    table = edge_table(workshop_order)
    assert len(table) == 4 * len(workshop_order.panels)
    assert list(table["edge"][:4]) == list(SIDES)
    joints = {a.joint.name for a in workshop_order.allowances} | {""}
    assert set(table["joint"]) <= joints
    assert (table["why"] != "").all()


def test_one_row_a_joint(workshop_order):
    table = joint_table(workshop_order)
    for row, answer in zip(table.to_dict("records"), workshop_order.allowances, strict=True):
        assert row["joint"] == answer.joint.name
        assert_allclose(row["closing_most_mm"], answer.closing, rtol=0, atol=HUNDREDTH)
        assert_allclose(row["needed_mm"], answer.needed, rtol=0, atol=HUNDREDTH)
        assert row["governs"] == answer.governs.name
        limits = {k: v for k, v in row.items() if k.removesuffix("_mm") in
                  [limit.name for limit in answer.limits]}  # fmt: skip
        assert len(limits) == len(answer.limits)
        assert_allclose(max(limits.values()), answer.governs.needed, rtol=0, atol=HUNDREDTH)


def test_what_it_rests_on(raw, answered):
    raw["foam"] = {"recovery": "40 %"}
    table = assumption_table(answered(raw)).set_index("setting")
    assert list(table.loc["foam.recovery"]) == ["40 %", "job file"]
    assert list(table.loc["foam.squeeze_once"]) == ["50 %", "default"]
    assert list(table.loc["allow.fraction"]) == ['1/8" (3.17 mm)', "default"]
    assert table.loc["timber.post.moisture", "value"] == "green"
    assert table.loc["timber.post.section_factor", "value"] == "1.0"


def test_terminal_shows_order_joints_and_cautions(workshop_order):
    text = terminal(workshop_order)
    assert text.startswith(workshop_order.frame.job.title)
    for panel in workshop_order.panels:
        assert f"\n{panel.mark} " in text
    for answer in workshop_order.allowances:
        assert (f"\n{answer.joint.name} " in text) == (answer.status != "bearing")
    flat = " ".join(text.split())
    assert all(caution in flat for caution in CAUTIONS)
    assert max(map(len, text.splitlines())) < WIDEST_LINE
    assert "TOO WIDE" not in text


def test_terminal_in_metric(workshop_order):
    assert '"' not in terminal(workshop_order, "metric").replace('"south', "")


def test_terminal_says_what_else_would_do(raw, answered):
    raw["foam"] = {"most_width": "1 in"}
    text = terminal(answered(raw))
    assert "TOO WIDE TO FOAM: east, top" in text
    assert "timbers at 15 % when panels go on: gap" in text
    assert "backer and sealant in place of foam" in text

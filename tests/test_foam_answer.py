"""The whole order's foam: tables, margins, what fails, what else would do, in all outputs."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from openpyxl import load_workbook

from shrinkage.__main__ import main
from shrinkage.allowance import allow
from shrinkage.export import write_order
from shrinkage.foam_answer import (
    along_the_building,
    failing,
    foam_answer,
    foam_remedies,
    foam_table,
)
from shrinkage.remedies import foamed_later
from shrinkage.schedule import assumption_table, terminal
from shrinkage.whatif import rebuilt
from shrinkage.worksheet import worksheet

HOLDS = {"roof_load": "12 psf", "eave_share": "6 ft", "fastener": "lag screw",
         "diameter": "3/8 in", "thread": "3 in", "spacing": "2 ft"}  # fmt: skip
POUND, FOOT = 4.4482216152605, 0.3048
WHOLE = 0.501
"""[N/m] Line loads are written whole."""


@pytest.fixture
def held(raw, answered):
    raw["holddown"] = HOLDS
    return answered(raw)


def one(order, name):
    return next(each for each in foam_answer(order) if each.name == name)


def test_margin_by_hand(held):
    """25 kPa on the bevel against 72 lb/ft square to the roof and 186 lb/in x 3 in x 0.9 / 2 ft."""
    found = one(held, "south, top")
    bevel = 6.5 * 25.4 * np.hypot(10, 12) / 12
    assert_allclose(found.life.line_load, 25.0 * bevel)
    dead = 72 * POUND / FOOT * 12 / np.hypot(10, 12)
    assert_allclose(found.dead, dead)
    screws = 1800 * 0.36**1.5 * 0.375**0.75 * 3 * 0.9 * POUND / (2 * FOOT)
    assert_allclose(found.holds, dead + screws)
    assert_allclose(found.margin, (dead + screws) / (25.0 * bevel))


def test_more_than_holds_is_a_failure_with_remedies(held):
    names = {each.name for each in failing(held)}
    assert "south, top" in names
    assert "pushes with more than what holds" in one(held, "south, top").status
    assert set(foam_remedies(held)) == names
    remedies = foam_remedies(held)["south, top"]
    softer = next(r for r in remedies if r.what.startswith("softer"))
    assert not softer.lifts
    assert softer.line_load < one(held, "south, top").life.line_load


def test_nothing_said_no_margin(workshop_order):
    assert all(each.margin is None and each.holds is None for each in foam_answer(workshop_order))
    assert failing(workshop_order) == ()
    assert foam_remedies(workshop_order) == {}


def test_table_never_holds_nan_for_a_load(raw, answered):
    raw["foam"] = {"curve": [["5 %", "20 kPa"], ["30 %", "30 kPa"]]}
    raw["holddown"] = HOLDS
    order = answered(raw)
    rows = {row["joint"]: row for row in (
        {**each} for each in foam_table(order).astype(object).to_dict("records"))}  # fmt: skip
    answer = one(order, "south, top")
    assert answer.life.line_load is None and answer.margin is None
    assert "does not fit" in rows["south, top"]["status"]
    for text in (terminal(order), worksheet(order)):
        assert "nan" not in text.lower().replace("tenan", "")
        assert "does not fit" in text and "data sheet's curve ends at 30 %" in text


def test_table_says_what_the_answer_says(held):
    table = foam_table(held)
    for row, each in zip(table.to_dict("records"), foam_answer(held), strict=True):
        assert row["joint"] == each.name and row["status"] == each.status
        assert_allclose(row["line_load_n_m"], each.life.line_load, atol=WHOLE)
        if each.margin is not None:
            assert_allclose(row["margin"], each.margin, atol=0.0051)
            assert row["margin_is"] == "for the engineer"


def test_tops_go_round_the_building(workshop_order):
    found = along_the_building(workshop_order)
    assert [s.wall for s in found] == ["south", "north", "east", "west"]
    assert found[0].start == 0.0
    for before, after in zip(found, found[1:], strict=False):  # noqa: RUF007
        assert before.end == after.start
    assert_allclose(found[-1].end, (24 + 24 + 18 + 18) * 304.8)


def test_terminal_tells_what_to_buy_and_what_holds(held, workshop_order):
    plain, text = terminal(workshop_order), terminal(held)
    assert "Foam (litres with 20 % waste; cans of 40 L)" in plain
    assert "\nall " in plain and "foam maker's instructions govern" in " ".join(plain.split())
    assert "What the foam pushes against" not in plain
    assert "What the foam pushes against (along the joint; for the engineer)" in text
    assert f"{one(held, 'south, top').margin:.2f}, for the engineer" in text
    assert "FOAM: south, top: does not fit: pushes with more" in text


def test_worksheet_section_puts_the_numbers_in(held):
    page = worksheet(held)
    section = page[page.index("## Foam and what it pushes against") :]
    found = one(held, "south, top")
    assert "Gibson and Ashby, from memory" in section
    assert "NDS 2018, from memory" in section
    assert f"25.00 kPa x {found.life.depth:.1f} mm foamed" in section
    assert f"= {found.life.line_load:.0f} N/m" in section
    assert "they prove no connection" in section
    assert "### How much foam" in section


def test_relaxation_names_its_source(raw, answered):
    raw["foam"] = {"relaxation": 0.5, "relaxation_source": "an invented sheet"}
    page = worksheet(answered(raw))
    assert "0.5 of it is taken to be left: an invented sheet." in page
    assert "12.50 kPa x" in page


def test_weight_on_one_line_says_nothing_of_the_other(raw, answered):
    raw["holddown"] = {"roof_load": "12 psf", "eave_share": "6 ft"}
    order = answered(raw)
    assert one(order, "south, top").margin < 1
    assert one(order, "east, top").margin is None


def test_check_says_it_at_once(workshop_text, tmp_path, capsys):
    rows = "\n".join(f'{key} = "{value}"' for key, value in HOLDS.items())
    job = tmp_path / "held.toml"
    job.write_text(f"{workshop_text}\n[holddown]\n{rows}\n", encoding="utf-8")
    assert main(["check", str(job)]) == 0
    assert "south, top: foam does not fit: pushes with more than" in capsys.readouterr().out


def test_workbook_has_its_sheets(held, tmp_path):
    write_order(held, tmp_path)
    book = load_workbook(tmp_path / "schedule.xlsx")
    assert {"Foam", "Foam to buy"} <= set(book.sheetnames)
    head = [cell.value for cell in book["Foam"][1]]
    assert head == list(foam_table(held).columns)
    assert book["Foam to buy"].cell(book["Foam to buy"].max_row, 1).value == "all"


def test_what_it_rests_on_names_every_setting(held):
    found = assumption_table(held).set_index("setting")
    assert list(found.loc["foam.kind"]) == ["gun foam", "default"]
    assert list(found.loc["foam.relaxation"]) == ["1", "default"]
    assert list(found.loc["holddown.fastener"]) == ["lag screw", "job file"]
    assert list(found.loc["holddown.duration"]) == ["0.9", "default"]
    assert found.loc["holddown.roof_load", "value"] == "12 lb/ft2 (0.57 kPa)"


def test_foam_later_with_a_calendar(raw, answered):
    """Foamed at the end of the first heating season, less closes on the foam, more before it."""
    raw["holddown"] = HOLDS
    raw["calendar"] = {"sawn": "2027-01-15", "raised": "2027-05-10", "enclosed": "2027-06-01",
                       "foamed": "2027-06-07", "heated": "2027-10-15", "years": 2}  # fmt: skip
    order = answered(raw)
    remedies = foam_remedies(order)["south, top"]
    later = next(r for r in remedies if r.what.startswith("foamed at the end"))
    frame = foamed_later(order.frame)
    then = allow(rebuilt(frame, "south, top"), frame.foam, frame.rules)
    assert_allclose(later.gap, then.gap)
    now = one(order, "south, top").life.answer
    assert then.seasons.closing_after_foam().max() < now.seasons.closing_after_foam().max()
    assert then.seasons.closing_before_foam().max() > now.seasons.closing_before_foam().max()


def test_no_later_foam_without_dates(workshop_order):
    assert foamed_later(workshop_order.frame) is None

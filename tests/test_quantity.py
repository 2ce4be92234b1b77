"""Litres and cans: by hand, every length of joint once, waste and holes on top."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.quantity import (
    cans_to_buy,
    fills,
    gap_litres,
    hole_litres,
    quantity_rows,
    quantity_table,
    runs,
)

CENTILITRE = 0.0051
FOOT = 304.8


def by_kind(order):
    return {fill.kind: fill for fill in fills(order)}


def test_one_metre_by_hand():
    """20 mm x 150 mm x 1 m is 3 litres; 3/8 x 6-1/2 in x 10 ft is 292.5 in3, 4.793 litres."""
    assert_allclose(gap_litres(20.0, 150.0, 1000.0), 3.0)
    assert_allclose(gap_litres(0.375 * 25.4, 6.5 * 25.4, 10 * FOOT), 292.5 * 25.4**3 / 1e6)


def test_hole_by_hand():
    assert_allclose(hole_litres(12.7, 165.1), math.pi / 4 * 12.7**2 * 82.55 / 1e6)


def test_eave_of_the_example(workshop_order):
    """Its panels' widths, at the eave's gap, deep as the bevel is long."""
    eaves = [p for p in workshop_order.panels if p.place in ("south", "north")]
    length = sum(panel.width for panel in eaves)
    answer = next(a for a in workshop_order.allowances if a.joint.name == "south, top")
    found = by_kind(workshop_order)["eave"]
    assert_allclose(found.length, length)
    deep = 6.5 * 25.4 * math.hypot(10, 12) / 12
    assert_allclose(found.joints, answer.gap * deep * length / 1e6)
    assert_allclose(found.litres, found.joints * 1.2)
    assert_allclose(found.cans, found.litres / 40)


def test_gable_is_as_long_as_its_rake(workshop_order):
    found = by_kind(workshop_order)["gable"]
    widths = sum(p.width for p in workshop_order.panels if p.place in ("east", "west"))
    rake = math.hypot(10, 12) / 12
    assert_allclose(found.length, widths * rake, rtol=2e-3)  # heights are rounded to the fraction


def test_a_ridge_is_shared_by_its_two_slopes(workshop_order):
    found = by_kind(workshop_order)["ridge"]
    one_slope = sum(p.width for p in workshop_order.panels if p.place == "south slope")
    answer = next(a for a in workshop_order.allowances if a.joint.kind == "ridge")
    deep = workshop_order.frame.filling.foamed_depth(answer.joint)
    assert_allclose(found.length, one_slope)
    assert_allclose(found.joints, answer.gap * deep * one_slope / 1e6)


def test_a_spline_is_counted_once(workshop_order):
    """One less than there are panels in each wall and slope."""
    found = [run for run in runs(workshop_order) if run.answer.joint.name.startswith("east, betw")]
    panels = [p for p in workshop_order.panels if p.place == "east"]
    assert len(found) == len(panels) - 1


def test_door_has_no_foam_under_it_and_a_window_has(workshop_order):
    found = {run.answer.joint.name: run.length for run in runs(workshop_order)
             if run.answer.joint.kind == "opening"}  # fmt: skip
    assert_allclose(found["south, door"], 2 * 82 * 25.4 + 38 * 25.4)
    assert_allclose(found["east, window"], 2 * (48 + 30) * 25.4)


def test_the_last_row_is_all(workshop_order):
    *parts, whole = fills(workshop_order)
    assert whole.kind == "all"
    for key in ("length", "joints", "holes", "count", "litres", "cans"):
        assert_allclose(getattr(whole, key), sum(getattr(part, key) for part in parts))
    assert cans_to_buy(workshop_order) == math.ceil(whole.cans)


def test_holes_waste_and_yield(raw, answered, workshop_order):
    raw["foam"] = {"hole": "1/2 in", "hole_spacing": "2 ft", "waste": "50 %",
                   "litres_per_can": "20 L"}  # fmt: skip
    found, plain = by_kind(answered(raw))["eave"], by_kind(workshop_order)["eave"]
    assert found.count == math.ceil(found.length / (2 * FOOT))
    assert_allclose(found.holes, found.count * hole_litres(12.7, 165.1))
    assert_allclose(found.joints, plain.joints)
    assert_allclose(found.litres, 1.5 * (found.joints + found.holes))
    assert_allclose(found.cans, found.litres / 20)


def test_a_started_can_is_bought(raw, answered, workshop_order):
    litres = fills(workshop_order)[-1].litres
    for cans, bought in ((5.2, 6), (5.8, 6), (6.0, 6)):
        raw["foam"] = {"litres_per_can": f"{litres / cans:.9f} L"}
        assert cans_to_buy(answered(raw)) == bought


@pytest.mark.parametrize(("depth", "share"), [("full", 1.0), ("core", 1 - 0.875 / 6.5)])
def test_depth_takes_its_share(raw, answered, workshop_order, depth, share):
    raw["foam"] = {"depth": depth}
    found, plain = by_kind(answered(raw))["all"], by_kind(workshop_order)["all"]
    assert_allclose(found.joints, share * plain.joints)


def test_two_part_foam_has_no_cans(raw, answered):
    raw["foam"] = {"kind": "two-part open-cell foam"}
    found = answered(raw)
    assert cans_to_buy(found) is None
    assert all(row[3] == "" for row in quantity_rows(found))
    assert quantity_table(found)["cans"].isna().all()
    assert by_kind(found)["all"].litres > 0


def test_rows_in_words(workshop_order):
    rows = quantity_rows(workshop_order, "metric")
    whole = fills(workshop_order)[-1]
    assert rows[-1] == ("all", f"{whole.length / 1000:.1f} m", f"{whole.litres:.0f} L",
                        f"{cans_to_buy(workshop_order)}")  # fmt: skip
    assert len(rows) == len(fills(workshop_order))
    assert "'" in quantity_rows(workshop_order, "imperial")[0][1]


def test_table_says_what_the_fills_say(workshop_order):
    table = quantity_table(workshop_order)
    for row, fill in zip(table.to_dict("records"), fills(workshop_order), strict=True):
        assert row["kind"] == fill.kind
        assert_allclose(row["length_m"], fill.length / 1000, atol=CENTILITRE)
        assert_allclose(row["litres_with_waste"], fill.litres, atol=0.051)


def test_square_cut_fills_the_wedge(raw, answered):
    raw["eave"]["panel_top"] = "square"
    raw["foam"] = {"most_width": "10 in"}
    found = answered(raw)
    answer = next(a for a in found.allowances if a.joint.kind == "eave")
    fill = by_kind(found)["eave"]
    mean = (answer.gap + answer.widest) / 2
    assert_allclose(fill.joints, mean * 165.1 * fill.length / 1e6)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_impossible_gaps_are_named(bad):
    with pytest.raises(ShrinkageError, match=r"foam gap: .* accepted: 0 or more"):
        gap_litres(bad, 100.0, 1000.0)

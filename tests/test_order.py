"""A whole building: one eave and one corner followed by hand, and what must hold for every panel.

The hand calculation reads the table rows itself and uses nothing of the package: room air by
EN 15026 annex C (from memory of the standard), equilibrium moisture by Eq. 4-5 and shrinkage by
Table 4-3 of the Wood Handbook, FPL-GTR-190; the joint loop and the gap rule written out.
"""

from __future__ import annotations

import csv
import math
import re
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import check_job
from shrinkage.order import SIDES, order

DATA = Path(__file__).resolve().parents[1] / "data"
INCH = 25.4
EIGHTH = INCH / 8
EXACT = 1e-6
"""[mm] Rounding of sums and of lengths to a fraction."""
HAND = 2e-3
"""[mm] The rafter's ring weight below is a sum over a grid, good to 1e-5 of a 4 % strain."""


# --- one eave and one corner by hand ---------------------------------------------------------


def cell(table: str, column: str, **where: str) -> float:
    with (DATA / f"{table}.csv").open(newline="") as stream:
        for row in csv.DictReader(stream):
            if all(row[key] == value for key, value in where.items()):
                return float(row[column])
    raise AssertionError(f"no such row in {table}: {where}")


def emc(t: float, h: float) -> float:
    """Return Eq. 4-5 of the Wood Handbook, written out again."""
    w, k = 349 + 1.29 * t + 0.0135 * t * t, 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1, k2 = 6.27 - 0.00938 * t - 0.000303 * t * t, 1.91 + 0.0407 * t - 0.000293 * t * t
    a, b = k1 * k * h, k1 * k2 * k * k * h * h
    return 1800 / w * (k * h / (1 - k * h) + (a + 2 * b) / (1 + a + b))


def driest_room() -> float:
    """Madison, room air from outdoors: January is the driest month."""
    fahrenheit = cell("outdoor_temperature", "jan_f", city="Madison", state="WI")
    outside = (fahrenheit - 32) / 1.8
    assert outside < 10  # so the room is at 20 C
    return emc(20.0, (30 + max(outside + 10, 0) * 30 / 30) / 100)


def radial_share(width: float, height: float, cells: int = 400) -> float:
    """Mean of cos^2 of the angle at a pith in the middle, over a grid of cells."""
    xs = [(i + 0.5) / cells * width for i in range(cells)]
    ys = [(i + 0.5) / cells * height for i in range(cells)]
    return sum(x * x / (x * x + y * y) for x in xs for y in ys) / cells**2


def by_hand() -> dict[str, float]:
    """Return closures, gaps and order sizes in millimetres."""
    r_pine, t_pine = (cell("table_4_3", c, species="pine, eastern white") / 100
                      for c in ("radial", "tangential"))  # fmt: skip
    r_hem, t_hem = (cell("table_4_3", c, species="hemlock, eastern") / 100
                    for c in ("radial", "tangential"))  # fmt: skip
    dried = (30 - driest_room()) / 30
    plate, post, along = (r_pine + t_pine) / 2, (r_hem + t_hem) / 2, 0.0015
    across = radial_share(5.5, 7.5)  # weight of R in the rafter's 5-1/2 in; the rest in its depth
    rafter = (1 - across) * r_pine + across * t_pine
    cos, sin = 12 / math.hypot(10, 12), 10 / math.hypot(10, 12)
    eave = dried * (
        (112 * along + 7.5 * plate) * cos + 5.0 * rafter - 3.75 * plate * sin
    )  # inches: post 9 ft 4 in, plate 7-1/2 deep, rafter 5 above its seat, half the plate's width
    corner = dried * (108 * along + 7.5 * post)  # half of an 18 ft wall's girts, the whole post
    tolerance = math.sqrt(3) / 8
    found = {"eave": eave * INCH, "corner": corner * INCH}
    for name, closing, measure in (("eave", eave, 1 / cos), ("corner", corner, 1.0)):
        needed = max(3 / 8, closing / 0.5, closing + 1 / 8) + tolerance
        found[f"{name} off"] = math.ceil(needed * measure * 8) / 8 * INCH
    found["height"] = math.floor((112 * INCH - found["eave off"]) / EIGHTH + EXACT) * EIGHTH
    fifth = 18 * 12 / 5 * INCH
    found["width"] = math.floor((fifth - found["corner off"]) / EIGHTH + EXACT) * EIGHTH
    return found


def test_eave_and_corner_by_hand(workshop_order):
    hand = by_hand()
    panels = {panel.mark: panel for panel in workshop_order.panels}
    eave, corner = panels["south 1"].edges["top"], panels["east 1"].edges["left"]
    assert_allclose(eave.allowance.closing, hand["eave"], rtol=0, atol=HAND)
    assert_allclose(corner.allowance.closing, hand["corner"], rtol=0, atol=HAND)
    assert_allclose([eave.off, corner.off], [hand["eave off"], hand["corner off"]])
    assert_allclose(panels["south 1"].height, hand["height"])
    assert_allclose(panels["east 1"].width, hand["width"])


def test_the_same_by_the_tape(workshop_order):
    """Recorded: 1-1/4 in off the eave, 9' 2-3/4" to order; 1-1/8 in off the corner, 3' 6"."""
    panels = {panel.mark: panel for panel in workshop_order.panels}
    assert_allclose(panels["south 1"].edges["top"].off, 1.25 * INCH)
    assert_allclose(panels["south 1"].height, 110.75 * INCH)
    assert_allclose(panels["east 1"].edges["left"].off, 1.125 * INCH)
    assert_allclose(panels["east 1"].width, 42 * INCH)


# --- what must hold for every panel of every job ---------------------------------------------


def in_millimetres(text: str) -> str:
    """Return the example with every length written in millimetres, pitches left alone."""

    def number(part: str) -> float:
        whole, _, fraction = part.rpartition("-") if "/" in part else (part, "", "0/1")
        above, below = fraction.split("/")
        return float(whole or 0) + int(above) / int(below)

    def feet(match: re.Match) -> str:
        return f"{(number(match[1]) * 12 + number(match[2] or '0')) * INCH!r} mm"

    text = re.sub(r"([\d/-]+) ft(?: ([\d/-]+) in)?", feet, text)
    text = re.sub(r"([\d/-]+) in(?! 12)\b", lambda m: f"{number(m[1]) * INCH!r} mm", text)
    return text.replace('units = "imperial"', 'units = "metric"')


def test_metric_is_imperial(workshop_text, workshop_order, answered):
    metric = in_millimetres(workshop_text)
    assert " ft" not in re.sub("#.*", "", metric)
    found = answered(tomllib.loads(metric))
    for ours, theirs in zip(workshop_order.panels, found.panels, strict=True):
        assert_allclose(ours.outline, theirs.outline, rtol=0, atol=EXACT)
        for side in SIDES:
            assert_allclose(ours.edges[side].off, theirs.edges[side].off, rtol=0, atol=EXACT)


JOBS = {
    "as it is": {},
    "full widths, square tops": {"eave": {"pitch": "3 in 12", "panel_top": "square"}},
    "hung": {"foot": {"panel_on": "hung"}},
    "odd fraction": {"allow": {"fraction": "1 mm"}},
    "wallboard": {"covering": [{"name": "b", "on": "walls", "thickness": "5/8 in"}]},
    "growing panels": {"panel": {"expansion": "0.05 %"}},
    "unknown heart": {"timber": {"post": {"heart": "unknown"}, "plate": {"heart": "free"}}},
}


@pytest.fixture(params=list(JOBS))
def any_order(request, raw):
    for table, change in JOBS[request.param].items():
        if isinstance(change, dict):
            for key, value in change.items():
                raw.setdefault(table, {})
                nested = isinstance(value, dict)
                raw[table][key] = raw[table][key] | value if nested else value
        else:
            raw[table] = change
    if "full" in request.param:
        raw["wall"][1]["divide"] = "full"
    return order(check_job(raw))


def test_sizes_are_rounded_down_by_less_than_a_fraction(any_order):
    """Panel and gaps never exceed the opening; what is given away is under a fraction."""
    step = any_order.frame.rules.fraction
    for panel in any_order.panels:
        piece, off = panel.piece, {side: panel.edges[side].off for side in SIDES}
        left_over = piece.right - piece.left - off["left"] - panel.width - off["right"]
        assert -EXACT <= left_over < step
        x0 = piece.left + off["left"]
        for x, y in panel.outline[2:]:
            left_over = piece.top_at(x0 + x) - off["top"] - y - off["bottom"] - piece.bottom
            assert -EXACT <= left_over < step
        for size in (panel.width, panel.left_height, panel.right_height):
            assert_allclose(size / step, round(size / step), rtol=0, atol=EXACT)


def test_what_comes_off_is_whole_fractions_and_enough(any_order):
    step = any_order.frame.rules.fraction
    for panel in any_order.panels:
        for edge in panel.edges.values():
            assert edge.off >= 0
            assert_allclose(edge.off / step, round(edge.off / step), rtol=0, atol=EXACT)
    for answer in any_order.allowances:
        if answer.status != "bearing":
            assert answer.gap >= answer.needed - EXACT
            assert answer.gap_dry >= any_order.frame.rules.keep_clear


def test_panels_of_a_wall_fill_it_end_to_end(any_order):
    job = any_order.frame.job
    past = any_order.frame.wall_covering
    for wall in job.wall:
        pieces = [p.piece for p in any_order.panels if p.place == wall.name]
        assert all(a.right == b.left for a, b in pairwise(pieces))
        ends = past + job.panel.thickness if "laps" in wall.ends else past
        run = pieces[-1].right - pieces[0].left
        assert_allclose(run, wall.length + 2 * ends, rtol=0, atol=EXACT)
    for roof in job.roof:
        pieces = [p.piece for p in any_order.panels if p.place == roof.name]
        assert_allclose(sum(p.right - p.left for p in pieces), roof.length, rtol=0, atol=EXACT)


def test_every_edge_has_a_reason_and_a_joint(any_order):
    known = {id(answer) for answer in any_order.allowances}
    for panel in any_order.panels:
        for edge in panel.edges.values():
            assert edge.why
            assert edge.kind in ("flush", "free") or id(edge.allowance) in known


@pytest.mark.parametrize(
    ("index", "change", "named"),
    [
        (0, {"length": "12 ft"}, r"wall\.1: opening 'door' ends 4241\.8 mm"),
        (0, {"height": "6 ft"}, r"wall\.1: opening 'door' reaches 2082\.8 mm up"),
        (0, {"divide": ["5 ft", "rest"]}, r"wall\.1\.divide: panel 1 is 1524\.0 mm wide"),
        (0, {"divide": ["4 ft", "4 ft"]}, r"wall\.1\.divide: widths add up to 2438\.4 mm"),
        (1, {"divide": ["4 ft", "1/8 in", *5 * ["4 ft"], "rest"]}, r"wall\.2: panel north 2: not"),
    ],
)
def test_walls_that_cannot_be_are_refused_by_key(raw, index, change, named):
    raw["wall"][index].update(change)
    with pytest.raises(ShrinkageError, match=named):
        order(check_job(raw))


def test_panel_longer_than_can_be_had(raw):
    raw["panel"]["max_length"] = "12 ft"
    with pytest.raises(ShrinkageError, match=r"wall\.3: panel east 1 is .* panel\.max_length"):
        order(check_job(raw))


# --- laws of the whole chain -----------------------------------------------------------------


def needs(answer) -> dict[str, float]:
    return {a.joint.name: a.needed for a in answer.allowances}


def test_drier_rooms_never_need_less(raw, answered):
    def room(winter: float):
        raw["air"]["room"] = {
            "winter": {"temperature": "20 C", "humidity": f"{winter} %"},
            "summer": {"temperature": "24 C", "humidity": "55 %"},
        }
        return needs(answered(raw))

    for damp, dry in pairwise([room(humidity) for humidity in (50, 40, 30, 20, 10)]):
        assert all(dry[name] >= damp[name] - EXACT for name in damp)


def test_wetter_timber_never_needs_less(raw, answered):
    def start(moisture: str):
        for timber in raw["timber"].values():
            timber["moisture"] = moisture
        return needs(answered(raw))

    steps = [start(m) for m in ("12 %", "16 %", "20 %", "25 %", "30 %", "60 %", "green")]
    for dry, wet in pairwise(steps):
        assert all(wet[name] >= dry[name] - EXACT for name in dry)
    assert steps[-3] == steps[-2] == steps[-1]  # no wood moves above fibre saturation


def test_kinds_of_edges_get_what_is_theirs(workshop_order):
    panels = {panel.mark: panel for panel in workshop_order.panels}
    first = panels["south 1"].edges
    assert (first["left"].kind, first["left"].off) == ("flush", 0.0)
    assert (first["right"].kind, first["right"].off) == ("spline", 0.0)
    assert (first["bottom"].off, first["bottom"].why) == (0.0, "bears on what it stands on")
    assert panels["south 2"].edges["left"].off > 0  # one side of each spline gives the gap
    assert panels["east 5"].edges["right"].kind == "corner"


def test_ridge_is_shared_by_its_two_slopes(workshop_order):
    ridges = [a for a in workshop_order.allowances if a.joint.kind == "ridge"]
    assert len(ridges) == 2
    for answer in ridges:
        along_slope = answer.gap * math.hypot(10, 12) / 12
        assert_allclose(2 * answer.off, along_slope)


def test_bevel_follows_the_pitch(workshop_order, raw, answered):
    bevelled = [p for p in workshop_order.panels if p.bevel]
    assert {p.place for p in bevelled} == {"south", "north"}
    assert_allclose([p.bevel for p in bevelled], 6.5 * INCH * 10 / 12)
    raw["eave"]["panel_top"] = "square"
    assert not any(p.bevel for p in answered(raw).panels)


def test_cut_outs_leave_the_gap_round_the_unit(workshop_order):
    panel = next(p for p in workshop_order.panels if p.mark == "east 3")
    gap = next(a.off for a in workshop_order.allowances if a.joint.name == "east, window")
    (hole,) = panel.cutouts
    left = panel.piece.left + panel.edges["left"].off
    assert_allclose(left + hole.left, 93 * INCH - gap)  # window at 7 ft 9 in
    assert_allclose([hole.width, hole.height], [30 * INCH + 2 * gap, 48 * INCH + 2 * gap])
    assert_allclose(hole.foot, 36 * INCH - gap)


def test_unit_that_fills_its_strip_is_given_room_by_both_neighbours(raw, answered):
    raw["wall"][0]["divide"] = [*2 * ["4 ft"], "3 ft 2 in", "rest", *2 * ["4 ft"], "2 ft"]
    raw["wall"][0]["opening"][0]["left"] = "89-1/2 in"
    found = {p.mark: p for p in answered(raw).panels}
    gap = found["south 3a"].edges["bottom"].off
    unit = (89.5 * INCH, (89.5 + 38) * INCH)
    before, after = found["south 2"], found["south 4"]
    left_of_it = before.piece.left + before.edges["left"].off + before.cutouts[0].left
    assert_allclose(unit[0] - left_of_it, gap)
    right = after.piece.left + after.edges["left"].off + after.cutouts[0].right
    assert_allclose(right - unit[1], gap)


def test_an_opening_may_be_called_as_a_joint_is(raw, answered):
    raw["wall"][0]["opening"][0]["name"] = "top"
    found = [a for a in answered(raw).allowances if a.joint.name == "south, top"]
    assert [a.joint.kind for a in found] == ["eave", "opening"]


def test_too_wide_to_foam_is_reported_with_what_else(raw, answered):
    raw["foam"] = {"most_width": "1/2 in"}
    answer = answered(raw)
    assert {a.joint.name for a in answer.problems} == set(answer.remedies)
    assert any("too wide to foam" in note for p in answer.panels for note in p.notes)

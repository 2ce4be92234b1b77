"""From the job's words to timbers, air and stacks: each setting reaches what it is meant for."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from shrinkage import frame as frames
from shrinkage.errors import ShrinkageError
from shrinkage.foam import ASSUMED
from shrinkage.frame import build, footing, opening_joint, ridge_joint, shoulder, wall_joints
from shrinkage.jobfile import Source, check_job
from shrinkage.joint import closure

INCH = 25.4
COLD_DRY = {"winter": {"temperature": "20 C", "humidity": "25 %"},
            "summer": {"temperature": "25 C", "humidity": "50 %"}}  # fmt: skip


def built(raw):
    return build(check_job(raw))


def test_timbers_by_role(raw):
    frame = built(raw)
    post = frame.timbers["post"]
    assert post.species.name == "hemlock, eastern"
    assert_allclose((post.width, post.depth), 7.5 * INCH)
    assert post.heart.kind == "boxed"
    assert post.moisture == 30.0  # green: nothing lost yet
    assert post.air is frame.room
    assert frame.timbers["tie"] is frame.timbers["girt"]


def test_tie_of_its_own(raw):
    raw["timber"]["tie"] = {"species": "white oak", "section": "8 in x 8 in"}
    assert built(raw).timbers["tie"].species.name == "oak, white"


def test_section_factor_and_air_outdoors(raw):
    raw["timber"]["plate"] |= {"section_factor": 0.6, "air": "outdoors"}
    frame = built(raw)
    assert frame.timbers["plate"].section_factor == 0.6
    assert frame.timbers["plate"].air is frame.outdoors


def test_meter_reading_is_corrected_for_cold_wood(raw):
    """About 0.5 % for each 5.6 C below 21.1 C is added (GTR-190 ch. 13)."""
    raw["timber"]["post"] |= {"moisture": "22 %", "wood_temperature": "4.3 C"}
    raw["timber"]["plate"] |= {"moisture": "22 %"}
    frame = built(raw)
    assert_allclose(frame.timbers["post"].moisture, 22 + 0.5 / 5.6 * (21.1 - 4.3))
    assert "corrected to 23.5 %" in frame.timbers["post"].moisture_note
    assert frame.timbers["plate"].moisture == 22.0


def test_room_from_outdoors_crowded_by_region_and_stated(raw):
    plain = built(raw).room
    assert plain.name == "room, normal occupancy, from outdoors, Madison, WI"
    raw["air"]["room"] = "from outdoors, crowded"
    assert built(raw).room.low > plain.low
    raw["air"]["room"] = "dry southwest"
    assert_allclose(built(raw).room.low, 4.0)  # Table 13-2
    raw["air"]["room"] = COLD_DRY
    stated = built(raw).room
    assert_allclose((stated.temp[0], stated.rh[0], stated.rh[6]), (20.0, 25.0, 50.0))


def test_series_is_looked_for_beside_the_job(raw, tmp_path):
    raw["air"] = {"series": "air.csv"}
    rows = [f"2025-{month:02d}-15,{t},70" for month, t in enumerate(range(-5, 19, 2), start=1)]
    (tmp_path / "air.csv").write_text("\n".join(["date,temperature [C],RH [%]", *rows]))
    outside = build(check_job(raw, Source(folder=tmp_path))).outdoors
    assert_allclose(outside.temp, range(-5, 19, 2))
    assert_allclose(outside.rh, 70.0)
    with pytest.raises(ShrinkageError, match=r"air\.series: .*air\.csv"):
        build(check_job(raw, Source(folder=tmp_path / "elsewhere")))


def test_species_of_ones_own(raw):
    raw["species"] = {"my larch": {"radial": "4 %", "tangential": "8 %", "longitudinal": "0.2 %",
                                   "fibre_saturation": "28 %", "source": "my notes"}}  # fmt: skip
    raw["timber"]["post"]["species"] = "my larch"
    wood = built(raw).timbers["post"].species
    assert_allclose((wood.s_r, wood.s_t, wood.s_l), (0.04, 0.08, 0.002))
    assert (wood.fibre_saturation, wood.source) == (28.0, "my notes")
    assert built(raw).timbers["post"].moisture == 28.0


def test_coverings_go_where_they_are_said_to(raw):
    raw["covering"] = [
        {"name": "wallboard", "on": "walls", "thickness": "1/2 in", "dries": "1 %"},
        {"name": "boards", "on": "roof", "thickness": "3/4 in", "species": "eastern white pine"},
    ]
    frame = built(raw)
    assert_allclose(frame.wall_covering, 0.5 * INCH)
    assert [c.wood.role for c in frame.seat.coverings] == ["boards"]
    board = frame.roof_coverings[0].wood
    assert board.moisture == 12.0
    assert_allclose(board.total("depth"), board.species.s_r)  # flat-sawn: thickness radial
    assert "wallboard" in [x.name for x in wall_joints(frame, 2)["corner"].layers]


def test_seat_takes_the_eave(raw):
    raw["timber"]["purlin"] = {"species": "white oak", "section": "4 in x 6 in"}
    raw["eave"] |= {"rafter_housed": "1 in", "pitch": "40 deg"}
    seat = built(raw).seat
    assert_allclose((seat.housing, seat.above_seat), (INCH, 5 * INCH))
    assert_allclose(seat.purlin_above, 6 * INCH)  # its whole depth
    assert_allclose(seat.pitch, math.radians(40))
    del raw["eave"]["rafter_above_seat"]
    assert_allclose(built(raw).seat.above_seat, 7.5 * INCH)


@pytest.mark.parametrize(
    ("layout", "inches"),
    [("inner face", 7.5), ("centre", 3.75), ("outer face", 0.0), ("2 in", 2.0)],
)
def test_corner_layout_sets_the_wood_that_moves(raw, layout, inches):
    raw["corner"] = {"layout": layout}
    assert_allclose(shoulder(built(raw)), inches * INCH)


@pytest.mark.parametrize(
    ("layout", "inches"), [("inner face", 7.5), ("centre", 3.75), ("outer face", 0.0)]
)
def test_eave_layout_sets_what_draws_in(raw, layout, inches):
    raw["eave"]["layout"] = layout
    near = [x for x in wall_joints(built(raw), 0)["eave"].layers if x.side == "near"]
    # Laid out from its outer face nothing is drawn in: a layer without thickness is none.
    assert_allclose([layer.thickness for layer in near], [inches * INCH] if inches else [])


def test_posts_and_girts_are_as_long_as_the_wall_unless_said(raw):
    frame = built(raw)
    wall = frame.job.wall[0]
    assert footing(frame, wall).post_length == wall.height
    assert_allclose(wall_joints(frame, 0)["corner"].layers[0].thickness, wall.length / 2)
    raw["timber"]["post"]["length"] = "8 ft"
    raw["timber"]["girt"]["length"] = "10 ft"
    frame = built(raw)
    assert_allclose(footing(frame, frame.job.wall[0]).post_length, 96 * INCH)
    assert_allclose(wall_joints(frame, 0)["corner"].layers[0].thickness, 60 * INCH)


def test_panel_growth_reaches_the_joints_it_can_close(raw):
    raw["panel"]["expansion"] = "0.1 %"
    frame = built(raw)
    wall = frame.job.wall[0]
    sizes = {"eave": wall.height, "corner": wall.length / 2}
    for kind, joint in wall_joints(frame, 0).items():
        grows = [x for x in joint.layers if x.name.startswith("panel")]
        assert [x.thickness for x in grows] == ([sizes[kind]] if kind in sizes else [])


def test_joints_of_openings_and_ridge(raw):
    raw["wall"][2]["opening"][0]["held_by"] = "frame"
    frame = built(raw)
    assert closure(opening_joint(frame, 0, 0).layers, (0.0, 1.0)).driest.most == 0
    held = opening_joint(frame, 2, 0)
    assert_allclose(held.layers[0].thickness, 36 * INCH)  # up to the window's foot
    ridge = ridge_joint(frame, 0)
    run = 12.5 * 12 * INCH * 12 / math.hypot(10, 12)
    assert_allclose([x.thickness for x in ridge.layers if "tie" in x.name], run)


def test_foam_is_marked_assumed_until_all_of_it_is_given(raw):
    assert built(raw).foam.source == ASSUMED
    raw["foam"] = {"squeeze_once": "60 %", "recovery": "40 %"}
    foam = built(raw).foam
    assert (foam.squeeze_once, foam.recovery, foam.source) == (0.6, 0.4, ASSUMED)
    raw["foam"]["works"] = "12 %"
    assert built(raw).foam.source == "the job file"
    raw["foam"]["source"] = "maker's sheet"
    assert built(raw).foam.source == "maker's sheet"


def test_rules_are_the_jobs(raw):
    raw["allow"] = {"keep_clear": "5 mm", "fraction": "2 mm", "add_tolerances": "sum"}
    rules = built(raw).rules
    assert (rules.keep_clear, rules.fraction) == (5.0, 2.0)
    assert rules.tolerance("eave") == pytest.approx(3 * 3.175)
    assert frames.build(check_job(raw)).rules == rules


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda r: r["air"].update(place="Nowhere"), r"air\.place: .*nearest"),
        (lambda r: r["air"].update(room="tropics"), r"air\.room: 'tropics'; accepted: from"),
        (lambda r: r["timber"]["post"].update(species="oak"), r"timber\.post\.species: .*several"),
        (lambda r: r["timber"]["post"].update(species="gray birch"), r"post\.species: .*tang"),
        (lambda r: r["timber"]["post"].update(moisture="5 %"), r"timber\.post\.moisture: .*below"),
        (lambda r: r["timber"]["post"].update(moisture="300 %"), r"timber\.post\.moisture: .*300"),
        (lambda r: r["eave"].update(rafter_above_seat="9 in"), "eave: rafter above its seat"),
        (lambda r: r["eave"].update(rafter_housed="8 in"), "eave: eave housing"),
        (lambda r: r.update(foam={"least_width": "2 in"}), "foam: foam widths 50.8 to 38.1"),
        (lambda r: r.update(allow={"fraction": "3 in"}), "allow: fraction"),
        (lambda r: r.update(species={"s": {"radial": "60 %", "tangential": "8 %", "source": "x"}}),
         r"species\.s: .*accepted: a fraction from 0 to 0.5"),
        (lambda r: r.update(covering=[{"name": "b", "on": "roof", "thickness": "1 in",
                                       "species": "oak"}]), r"covering\.1\.species: .*several"),
    ],
)  # fmt: skip
def test_mistakes_found_late_name_their_key(raw, change, named):
    change(raw)
    with pytest.raises(ShrinkageError, match=named):
        built(raw)


def test_corner_shoulder_wider_than_the_post(raw):
    raw["corner"] = {"layout": "9 in"}
    with pytest.raises(ShrinkageError, match=r"corner\.layout: corner shoulder 228\.6 mm"):
        wall_joints(built(raw), 2)

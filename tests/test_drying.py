"""Laws of the drying solver, its outputs and its refusals; Crank's solutions are in validation."""

import dataclasses
import warnings

import numpy as np
import pytest

from shrinkage.diffusion import cell_sizes, diffusivity
from shrinkage.drying import (
    DEFAULT,
    FACES,
    SLIDER,
    Settings,
    air,
    dry,
    meter_reading,
    rescale,
    sections,
    uniform_field,
)
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.movement import dried_share
from shrinkage.section import radial_weight

THREE = ("left", "right", "bottom")
MONTHS = np.arange(12) * 365 / 12 + 15
SEASONS = air(
    MONTHS,
    12 + 3 * np.cos(2 * np.pi * MONTHS / 365),
    10 - 12 * np.cos(2 * np.pi * MONTHS / 365),
    repeat_year=True,
)
ROOM = air(0.0, 8.0, 20.0)
DAYS = np.array([0.0, 10.0, 100.0, 400.0])
COARSE = Settings(cells=8, first_cell=2.0, first_step=0.2, growth=1.3)
NUMBERS = ("mean", "surface", "core", "radial", "tangential", "lost")


def assert_same(one, two, rtol=1e-10):
    for name in NUMBERS:
        np.testing.assert_allclose(getattr(one, name), getattr(two, name), rtol=rtol, atol=1e-11)


# ---- the coefficient and the grid


def test_diffusivity_by_hand():
    # G 0.45 at 12 % and 20 C: v = 1 - 0.45 * 0.787 = 0.64585, D_b = 7e-6 exp(-35020 / 2437.25)
    wall = 7e-6 * np.exp(-35020 / (8.314 * 293.15))
    assert diffusivity(12, 20, 0.45) == pytest.approx(
        wall / (0.35415 * (1 - 0.64585**0.5)), rel=1e-12
    )
    assert 4e-11 < diffusivity(12, 20, 0.45) < 8e-11


def test_diffusivity_held_above_fibre_saturation_and_broadcasts():
    values = diffusivity(np.array([[30.0], [90.0]]), 20.0, np.array([0.3, 0.5, 0.7]))
    assert values.shape == (2, 3)
    np.testing.assert_array_equal(values[0], values[1])
    assert (np.diff(values[0]) < 0).all()  # denser wood is slower
    assert diffusivity(20, 30, 0.4) > diffusivity(20, 20, 0.4) > diffusivity(10, 20, 0.4)


def test_cells_sum_to_half_and_grow():
    half = np.array([5.0, 12.5, 100.0, 300.0])
    sizes = cell_sizes(half, 16, 1.5)
    np.testing.assert_allclose(sizes.sum(axis=1), half, rtol=1e-13)
    np.testing.assert_allclose(sizes[2:, 0], 1.5, rtol=1e-9)
    np.testing.assert_allclose(sizes[0], 5.0 / 16)  # too thin for the first cell: equal cells
    assert (np.diff(sizes[2:], axis=1) > 0).all()


# ---- conservation and the end state


@pytest.mark.parametrize("faces", [FACES, THREE, ("left", "bottom"), ("top",)])
@pytest.mark.parametrize("emission", [1e-7, 1e-5, np.inf])
def test_water_closes(faces, emission):
    timbers = sections([38.0, 200.0], [140.0, 200.0], 0.45, faces, emission=emission)
    out = dry(timbers, SEASONS, [60.0, 90.0], DAYS)
    gone = np.array([[60.0], [90.0]]) - out.mean
    assert gone[:, -1].min() > 5
    np.testing.assert_allclose(out.lost, gone, rtol=0, atol=1e-10 * 60)


def test_constant_air_ends_at_the_answer_without_dates():
    timbers = sections(75.0, 100.0, 0.4, THREE, pith=(20.0, -60.0))
    out = dry(timbers, ROOM, 60.0, [20000.0])
    weight = radial_weight(75.0, 100.0, 20.0, -60.0)
    share = dried_share(8.0)
    np.testing.assert_allclose(out.mean[0], 8.0, atol=1e-3)
    np.testing.assert_allclose(out.radial[0], share * weight, rtol=1e-3)
    np.testing.assert_allclose(out.tangential[0], share * (1 - weight), rtol=1e-3)
    end = 0.04 * weight * share + 0.07 * (1 - weight) * share
    np.testing.assert_allclose(out.width_strain(0.04, 0.07)[0], end, rtol=1e-3)
    both = out.width_strain(0.04, 0.07) + out.depth_strain(0.04, 0.07)
    np.testing.assert_allclose(both, 0.11 * out.dried)


def test_end_state_does_not_depend_on_the_coefficient():
    timbers = sections(75.0, 75.0, 0.4, d_scale=[0.5, 1.0, 2.0], emission=[1e-7, 2e-7, np.inf])
    np.testing.assert_allclose(dry(timbers, ROOM, 60.0, [20000.0]).mean, 8.0, atol=1e-3)


def test_wood_in_balance_with_its_air_stays():
    out = dry(sections(50.0, 80.0, 0.4, THREE), ROOM, 8.0, DAYS)
    np.testing.assert_allclose(out.mean, 8.0, rtol=1e-12)
    np.testing.assert_allclose(out.surface, 8.0, rtol=1e-12)


def test_wetting_swells():
    out = dry(sections(25.0, 100.0, 0.4), air(0.0, 18.0, 20.0), 6.0, DAYS)
    assert (np.diff(out.mean[0]) > 0).all() and (np.diff(out.dried[0]) < 0).all()


def test_shell_shrinks_while_the_mean_is_above_fibre_saturation():
    out = dry(sections(200.0, 200.0, 0.45), ROOM, 90.0, [30.0])
    assert out.mean[0, 0] > 50 and out.dried[0, 0] > 0.01
    assert out.surface[0, 0] < 15 and out.core[0, 0] > 85


def test_more_open_faces_dry_faster_and_the_scale_is_time():
    mean = [dry(sections(100.0, 100.0, 0.45, f), ROOM, 60.0, [200.0]).mean[0, 0] for f in
            (("left",), ("left", "right"), THREE, FACES)]  # fmt: skip
    assert (np.diff(mean) < -2).all()
    # doubling D at a fixed surface is doubling time: the same steps, half as long
    slow = sections(100.0, 100.0, 0.45, emission=np.inf)
    fast = sections(100.0, 100.0, 0.45, emission=np.inf, d_scale=2.0)
    half = Settings(first_step=DEFAULT.first_step / 2, max_step=DEFAULT.max_step / 2)
    one, two = dry(slow, ROOM, 60.0, [200.0]), dry(fast, ROOM, 60.0, [100.0], settings=half)
    assert_same(one, two)


# ---- one call for one, ten and a thousand


def test_a_member_does_not_depend_on_its_company():
    n = 40  # above the size under which members share one symmetry
    rng = np.random.default_rng(1)
    patterns = [FACES, THREE, ("left",), ("bottom", "top"), ("left", "top")]
    faces = [patterns[i % 5] for i in range(n)]
    width, depth = rng.uniform(30, 250, n), rng.uniform(30, 250, n)
    gravity, pith = rng.uniform(0.3, 0.7, n), rng.uniform(-200, 200, (n, 2))
    scale, start = rng.uniform(0.5, 2, n), rng.uniform(15, 100, n)
    timbers = sections(width, depth, gravity, faces, pith=pith, d_scale=scale)
    every = dry(timbers, SEASONS, start, DAYS, settings=COARSE)
    assert every.mean.shape == (n, len(DAYS))
    for pick in (slice(0, 10), slice(11, 12), slice(13, 14)):
        some = sections(
            width[pick], depth[pick], gravity[pick], faces[pick],
            pith=pith[pick], d_scale=scale[pick],
        )  # fmt: skip
        part = dry(some, SEASONS, start[pick], DAYS, settings=COARSE)
        assert_same(
            part, dataclasses.replace(every, **{n: getattr(every, n)[pick] for n in NUMBERS})
        )


def test_each_member_can_have_its_own_air():
    timbers = sections([50.0, 50.0], 80.0, 0.45)
    shared = dry(timbers, air([0.0], [[8.0], [14.0]], 20.0), 40.0, DAYS)
    for member, level in enumerate((8.0, 14.0)):
        alone = dry(sections(50.0, 80.0, 0.45), air(0.0, level, 20.0), 40.0, DAYS)
        np.testing.assert_allclose(shared.mean[member], alone.mean[0], rtol=1e-12)


def test_turned_section_turns_the_answer():
    lying = sections(100.0, 60.0, 0.45, ("left", "bottom", "top"), pith=(10.0, -70.0))
    standing = sections(60.0, 100.0, 0.45, (*THREE[:2], "bottom"), pith=(-70.0, 10.0))
    one, two = dry(lying, SEASONS, 60.0, DAYS), dry(standing, SEASONS, 60.0, DAYS)
    # the sweeps go x first: what is left of their order is the splitting error
    np.testing.assert_allclose(one.mean, two.mean, atol=2e-3)
    np.testing.assert_allclose(one.radial, two.tangential, atol=1e-4)


def test_mirrored_faces_and_pith_mirror_the_field():
    one = dry(sections(60.0, 90.0, 0.45, ("left",), pith=(15.0, 5.0)), ROOM, 60.0, DAYS)
    two = dry(sections(60.0, 90.0, 0.45, ("right",), pith=(-15.0, 5.0)), ROOM, 60.0, DAYS)
    assert_same(one, two)
    np.testing.assert_allclose(one.state.moisture, two.state.moisture[:, ::-1], rtol=1e-10)


# ---- rings


@pytest.mark.parametrize("pith", [(0, 0), (4, 0), (4, 4), (0, -5), (0, -20), (2, -7), (-3.1, 900)])
def test_uniform_field_gives_the_section_weight(pith):
    mm = 25.4 * np.array(pith, dtype=float)
    out = dry(sections(203.2, 254.0, 0.45, pith=mm), air(0.0, 12.0, 20.0), 12.0, [0.0])
    weight = radial_weight(203.2, 254.0, *mm)
    # a pith past 1000 cells is seen from the centre of each cell: 1e-6 of a cell off at most
    np.testing.assert_allclose(out.radial[0, 0], 0.6 * weight, rtol=1e-9, atol=1e-7)
    np.testing.assert_allclose(out.dried[0, 0], 0.6, rtol=1e-12)


def test_folded_ring_weights_match_a_fine_sum_over_the_snapshot():
    pith = (37.0, -61.0)
    out = dry(sections(120.0, 160.0, 0.45, pith=pith), ROOM, 70.0, [60.0], snapshots=True)
    assert out.snapshots.shape == (1, 1, 32, 32)
    np.testing.assert_array_equal(out.snapshots[:, -1], out.state.moisture)
    state, radial, dried = out.state, 0.0, 0.0
    for i, (x, w) in enumerate(zip(state.centre_x[0], state.cell_x[0], strict=True)):
        for j, (y, h) in enumerate(zip(state.centre_y[0], state.cell_y[0], strict=True)):
            u, v = np.meshgrid(*(c - p + s * (np.arange(8) - 3.5) / 8 for c, s, p in
                                 ((x, w, pith[0]), (y, h, pith[1]))))  # fmt: skip
            f = w * h / (120.0 * 160.0) * dried_share(state.moisture[0, i, j])
            radial, dried = radial + f * np.mean(u**2 / (u**2 + v**2)), dried + f
    assert out.radial[0, 0] == pytest.approx(radial, rel=1e-4)
    assert out.dried[0, 0] == pytest.approx(dried, rel=1e-10)


# ---- order of the method


def test_second_order_in_time():
    timbers = sections(60.0, 90.0, 0.45, THREE)
    sizes = (4.0, 2.0, 1.0, 0.125)
    mean = [
        dry(timbers, SEASONS, 28.0, [160.0],
            settings=Settings(cells=8, first_cell=4.0, first_step=s, max_step=s)).mean[0, 0]
        for s in sizes
    ]  # fmt: skip
    error = np.abs(np.array(mean[:-1]) - mean[-1])
    assert (error[:-1] / error[1:] > 3.0).all(), error
    assert error[-1] < 2e-3


def test_second_order_in_space():
    timbers = sections(60.0, 90.0, 0.45, THREE)
    mean = [
        dry(timbers, SEASONS, 28.0, [60.0],
            settings=Settings(cells=n, first_cell=16.0 / n, growth=1.05, max_step=1.0)).mean[0, 0]
        for n in (8, 16, 32, 96)
    ]  # fmt: skip
    error = np.abs(np.array(mean[:-1]) - mean[-1])
    assert (error[:-1] / error[1:] > 3.0).all(), error


def test_default_settings_are_good_enough_and_slider_settings_close():
    timbers = sections(203.2, 203.2, 0.45, THREE, pith=(0.0, -150.0))
    dates = np.array([30.0, 180.0, 730.0])
    fine = dry(timbers, SEASONS, 80.0, dates, settings=Settings(40, 0.6, 0.02, 4.0, 1.05))
    for settings, moisture, part in ((Settings(), 0.1, 0.005), (SLIDER, 0.25, 0.01)):
        out = dry(timbers, SEASONS, 80.0, dates, settings=settings)
        np.testing.assert_allclose(out.mean, fine.mean, rtol=0, atol=moisture)
        strain, true = (o.width_strain(0.04, 0.07) for o in (out, fine))
        np.testing.assert_allclose(strain, true, rtol=0, atol=part * true.max())


# ---- phases, fields, meters


def test_two_phases_are_one_run_when_nothing_changes():
    timbers = sections(60.0, 90.0, 0.45, THREE, pith=(5.0, -80.0))
    fine = Settings(first_step=0.02, max_step=1.0)
    whole = dry(timbers, SEASONS, 70.0, [100.0, 200.0], settings=fine)
    first = dry(timbers, SEASONS, 70.0, [100.0], settings=fine)
    second = dry(timbers, SEASONS, first.state, [100.0, 200.0], start=100.0, settings=fine)
    np.testing.assert_allclose(second.mean[:, 0], first.mean[:, 0], rtol=1e-13)
    np.testing.assert_allclose(second.mean, whole.mean, atol=2e-3)
    np.testing.assert_allclose(second.radial, whole.radial, atol=2e-5)


def test_faces_change_between_phases_and_water_closes():
    open_air = sections([50.0, 80.0], 120.0, 0.45)
    behind_panel = sections([50.0, 80.0], 120.0, 0.45, [THREE, ("left",)])
    first = dry(open_air, SEASONS, 70.0, [50.0])
    second = dry(behind_panel, SEASONS, first.state, [50.0, 90.0], start=50.0)
    np.testing.assert_allclose(second.mean[:, 0], first.mean[:, 0], rtol=1e-13)
    np.testing.assert_allclose(first.mean[:, -1] - second.mean[:, 1], second.lost[:, 1], atol=1e-9)
    cells = second.state.moisture
    assert not np.allclose(cells[0], cells[0][:, ::-1], atol=0.1)  # one face closed: lopsided


def test_field_moves_to_another_grid_with_its_water():
    timbers = sections([50.0, 80.0], 120.0, 0.45, THREE)
    state = dry(timbers, SEASONS, 70.0, [50.0], settings=COARSE).state
    there = dry(timbers, SEASONS, state, [50.0], start=50.0)
    np.testing.assert_allclose(there.state.mean, state.mean, rtol=1e-12)
    assert there.state.moisture.shape == (2, 32, 32)


def test_meter_reads_the_profile():
    timbers = sections(100.0, 160.0, 0.45, ("left",))
    state = dry(timbers, ROOM, 60.0, [60.0]).state
    depths = [meter_reading(state, timbers, d)[0] for d in (0.0, 5.0, 15.0, 30.0, 50.0)]
    assert (np.diff(depths) > 0).all()
    middle = state.moisture[0, :, 15:17].mean(axis=1)
    centre = state.centre_x[0] + 50.0
    assert depths[2] == pytest.approx(np.interp(15.0, centre, middle), rel=1e-12)
    assert meter_reading(state, timbers, 500.0)[0] == pytest.approx(depths[-1])  # no deeper
    np.testing.assert_allclose(meter_reading(state, timbers, None), state.mean)


@pytest.mark.parametrize("pin_depth", [25.0, 10.0, None])
def test_rescaled_field_reads_what_the_meter_read(pin_depth):
    timbers = sections([100.0, 80.0, 60.0], 160.0, 0.45, [THREE, FACES, ("top",)])
    state = dry(timbers, ROOM, 60.0, [60.0]).state
    before = meter_reading(state, timbers, pin_depth)
    reading = np.array([0.8 * before[0], np.nan, 1.1 * before[2]])
    after = rescale(state, timbers, reading, 8.0, pin_depth)
    found = meter_reading(after, timbers, pin_depth)
    np.testing.assert_allclose(found, [reading[0], before[1], reading[2]], rtol=1e-10)
    ratio = (after.moisture - 8.0) / (state.moisture - 8.0)  # one factor, so the shape is kept
    np.testing.assert_allclose(ratio, np.broadcast_to(ratio[:, :1, :1], ratio.shape), rtol=1e-9)


def test_reading_beyond_the_air_warns_and_goes_on():
    timbers = sections(100.0, 160.0, 0.45)
    state = dry(timbers, ROOM, 60.0, [60.0]).state
    with pytest.warns(RangeWarning, match="metered 6.0 % where"):
        after = rescale(state, timbers, 6.0, 8.0)
    np.testing.assert_allclose(after.moisture, 6.0)
    with pytest.warns(RangeWarning, match="metered"):
        even = rescale(uniform_field(timbers, 8.0), timbers, 11.0, 8.0)
    np.testing.assert_allclose(even.moisture, 11.0)


def test_all_faces_covered_says_so_and_changes_nothing():
    timbers = sections([50.0, 50.0], 80.0, 0.45, [(), FACES])
    with pytest.warns(UserWarning, match=r"member\(s\) \[0\]: all four faces are covered"):
        out = dry(timbers, ROOM, 40.0, DAYS)
    np.testing.assert_allclose(out.mean[0], 40.0, rtol=1e-13)
    np.testing.assert_allclose(out.surface[0], 40.0, rtol=1e-13)
    assert out.dried[0].max() == 0 and "cannot dry" in out.notes[0] and out.mean[1, -1] < 20


# ---- the air


def test_air_means_are_exact_and_repeat():
    series = air([0.0, 100.0, 365.0], [10.0, 14.0, 10.0], 20.0, repeat_year=True)
    np.testing.assert_allclose(series.means([0.0, 100.0, 365.0, 465.0])[0, 0], [12.0, 12.0, 12.0])
    np.testing.assert_allclose(series.at([50.0, 365.0 * 3 + 50.0, -315.0])[0, 0], 12.0)
    dates = np.linspace(3.0, 900.0, 30)
    fine = np.linspace(3.0, 900.0, 29 * 3000 + 1)
    trapezoid = series.at(fine)[0, 0]
    mean = (0.5 * (trapezoid[1:] + trapezoid[:-1])).reshape(29, -1).mean(axis=1)
    np.testing.assert_allclose(series.means(dates)[0, 0], mean, rtol=1e-6)


@pytest.mark.parametrize(
    ("clock", "period"),
    [
        (MONTHS, 365.0),
        (np.arange(365.0), 365.0),
        (np.arange(366.0), 366.0),
        (np.arange(8760) / 24, 365.0),
        (np.linspace(0, 365.25, 14), 365.25),
    ],
)
def test_a_year_of_data_repeats(clock, period):
    series = air(clock, np.full(len(clock), 12.0), 10.0, repeat_year=True)
    assert series.period == pytest.approx(period)
    values = np.linspace(8, 16, len(clock))
    again = air(clock, values, 10.0, repeat_year=True)
    np.testing.assert_allclose(again.at(clock[3] + 7 * period)[0, 0], values[3])


def test_cold_and_hot_air_warns_beyond_the_range():
    with pytest.warns(RangeWarning, match="extrapolated outside -40 to 60"):
        air(0.0, 8.0, 70.0)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        air(0.0, 8.0, -30.0)


# ---- refusals


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"width": 0.0}, r"width 0; accepted: above 0 mm"),
        ({"depth": [100.0, -3.0]}, r"depth -3 at \[1\]"),
        ({"width": np.nan}, "width nan"),
        ({"gravity": 4.5}, "gravity 4.5; accepted: 0.1 to 1"),
        ({"faces": ("left", "north")}, "face 'north'; accepted: left, right, bottom, top"),
        ({"faces": "left"}, "faces 'left'; accepted: a sequence"),
        ({"pith": (np.inf, 0.0)}, "pith .* accepted: finite"),
        ({"d_scale": 0.0}, "d_scale 0; accepted: above 0"),
        ({"emission": -1e-7}, "emission -1e-07"),
        ({"fibre_saturation": 0.3}, "fibre_saturation 0.3"),
        ({"width": [1.0, 2.0], "depth": [1.0, 2.0, 3.0]}, "width has 2 rows; accepted: 1 or 3"),
    ],
)
def test_impossible_sections(change, match):
    given = {"width": 100.0, "depth": 100.0, "gravity": 0.45, **change}
    with pytest.raises(ShrinkageError, match=match):
        sections(**given)


@pytest.mark.parametrize(
    ("clock", "level", "temp", "options", "match"),
    [
        ([0.0, 1, 2], [8, np.nan, 9], 20.0, {}, r"emc is not a number in row 1 \(day 1\)"),
        ([0.0, 1, 2], 8.0, [np.nan, 5, np.nan], {}, r"temp_c .* row 0 \(day 0\), 2 \(day 2\)"),
        ([0.0, 2, 1], 8.0, 20.0, {}, "time of row 2 is 1, after 2; accepted: rising"),
        ([0.0, np.nan], 8.0, 20.0, {}, r"time is not a number at rows \[1\]"),
        ([0.0, 1], 8.0, [20.0, 130.0], {}, r"temp_c is impossible in row 1"),
        ([0.0, 1], [8.0, 80.0], 20.0, {}, r"emc is impossible in row 1 .* 0 to 40 %"),
        (np.r_[0:20.0, 60:80.0], 8.0, 20.0, {}, r"gap of 41 days \(rows 19 to 20\)"),
        (np.arange(300.0), 8.0, 20.0, {"repeat_year": True}, "cannot repeat as a year"),
        ([0.0, 1], [8.0, 9, 10], 20.0, {}, "emc has shape"),
    ],
)
def test_impossible_air(clock, level, temp, options, match):
    with pytest.raises(ShrinkageError, match=match):
        air(clock, level, temp, **options)


@pytest.mark.parametrize(
    ("moisture", "days", "match"),
    [
        (-1.0, [10.0], "moisture -1; accepted: 0 to 300"),
        (np.nan, [10.0], "moisture nan"),
        ([30.0, 40.0, 50.0], [10.0], r"moisture of shape \(3,\); accepted: \(1,\)"),
        (30.0, [10.0, 5.0], "days .* accepted: rising"),
        (30.0, [-1.0, 5.0], "not before start"),
        (30.0, [], "accepted: one or more finite dates"),
        (30.0, [400.0], r"air covers days 0 to 300 but 0 to 400 .* repeat_year=True"),
    ],
)
def test_impossible_runs(moisture, days, match):
    series = air([0.0, 300.0], [8.0, 9.0], 20.0)
    with pytest.raises(ShrinkageError, match=match):
        dry(sections(50.0, 80.0, 0.45), series, moisture, days)


def test_impossible_fields_meters_and_settings():
    timbers, other = sections(50.0, 80.0, 0.45), sections(60.0, 80.0, 0.45)
    state = uniform_field(timbers, 30.0)
    with pytest.raises(ShrinkageError, match=r"starting field has width \[50.0\] mm"):
        dry(other, ROOM, state, [1.0])
    with pytest.raises(ShrinkageError, match="pin_depth -1"):
        meter_reading(state, timbers, -1.0)
    with pytest.raises(ShrinkageError, match="reading 400"):
        rescale(state, timbers, 400.0, 8.0)
    with pytest.raises(ShrinkageError, match="air of 2 members; accepted: 1 or 1"):
        dry(timbers, air(0.0, [[8.0], [9.0]], 20.0), 30.0, [1.0])
    for wrong in ({"cells": 1}, {"growth": 0.9}, {"max_step": 0.0}):
        with pytest.raises(ShrinkageError, match=next(iter(wrong))):
            Settings(**wrong)

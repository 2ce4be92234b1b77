"""Air to wood and back, the year outdoors and in a room, and what is refused."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from shrinkage import climate, tables
from shrinkage.climate import AirYear, emc, relative_humidity
from shrinkage.errors import RangeWarning, ShrinkageError

TEMPS = np.array([-1.1, 5.0, 10.0, 20.0, 21.1, 30.0, 50.0, 100.0])
HUMIDITY = np.linspace(0, 100, 101)
ROUND_TRIP = 1e-9
"""[%] Of halving 50 times."""


def test_emc_is_zero_in_dry_air_and_rises_all_the_way():
    moisture = emc(TEMPS[:, None], HUMIDITY)
    assert_array_equal(moisture[:, 0], 0.0)
    assert (np.diff(moisture, axis=1) > 0).all()


def test_emc_falls_with_temperature():
    """In air of one humidity warm wood is drier, from 10 C up: below it the curve is flat."""
    assert (np.diff(emc(TEMPS[2:, None], HUMIDITY[5:96]), axis=0) < 0).all()


def test_saturated_air_is_near_fibre_saturation():
    """Eq. 4-5 ends at 26 to 30 % in saturated air at room temperature."""
    assert 26 < float(emc(20, 100)) < 30


@pytest.mark.parametrize("temp", TEMPS)
def test_there_and_back(temp):
    assert_allclose(relative_humidity(emc(temp, HUMIDITY), temp), HUMIDITY, atol=ROUND_TRIP)


def test_scalar_is_array():
    grid = emc(TEMPS[:, None], HUMIDITY)
    assert_array_equal(grid, [[float(emc(t, h)) for h in HUMIDITY] for t in TEMPS])
    back = relative_humidity(8.0, TEMPS)
    assert_allclose(back, [float(relative_humidity(8.0, t)) for t in TEMPS], rtol=0, atol=0)


@pytest.mark.parametrize("rh", [101, 100.001, -1, math.nan, math.inf, [50, 120]])
def test_impossible_humidity(rh):
    with pytest.raises(ShrinkageError, match=r"relative humidity .*accepted: 0 to 100 %"):
        emc(20, rh)


@pytest.mark.parametrize("temp", [-61, 151, math.nan, [20, 400]])
def test_impossible_temperature(temp):
    with pytest.raises(ShrinkageError, match=r"temperature .*accepted: -60 to 150 C"):
        emc(temp, 50)
    with pytest.raises(ShrinkageError, match=r"temperature .*accepted: -60 to 150 C"):
        relative_humidity(8.0, temp)


def test_error_names_the_bad_value_of_many():
    with pytest.raises(ShrinkageError, match="relative humidity 120 %"):
        emc(20, [50, 120, 40])


@pytest.mark.parametrize("moisture", [-0.1, 31, math.nan, [8, 60]])
def test_moisture_no_air_gives(moisture):
    with pytest.raises(ShrinkageError, match=r"equilibrium moisture .*accepted: 0 to 2\d\.\d %"):
        relative_humidity(moisture, 20)


@pytest.mark.parametrize("temp", [-5, 140])
def test_warning_beyond_the_table(temp):
    with pytest.warns(RangeWarning, match=r"-1\.1 to 132 C of Table 4-2.*extrapolated"):
        emc(temp, 50)


@pytest.mark.parametrize("temp", [-1.1, 20, 132.2])
def test_no_warning_within_the_table(temp):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        emc(temp, 50)


def test_year_has_low_high_and_mean():
    year = AirYear("x", np.array([5.0] * 6 + [11.0] * 6), "y")
    assert (year.low, year.mean, year.high) == (5.0, 8.0, 11.0)


@pytest.mark.parametrize("place", climate.places())
def test_every_place(place):
    year = climate.outdoors(place)
    assert year.name == f"outdoors, {place}"
    assert year.emc.shape == year.temp.shape == (12,)
    assert 3 < year.low <= year.mean <= year.high < 21
    assert "Table 13-1" in year.source
    assert "basis:" in year.source
    assert "basis:" in year.notes[0]
    assert year.temp[6] > year.temp[0]  # north of the equator, all of them


def test_temperatures_belong_to_the_same_places():
    """The two tables are paired by row, so their order must be one."""
    pairs = zip(tables.rows("table_13_1"), tables.rows("outdoor_temperature"), strict=True)
    assert all((a["state"], a["city"]) == (b["state"], b["city"]) for a, b in pairs)


@pytest.mark.parametrize(
    ("asked", "name"),
    [("Madison, WI", "Madison, WI"), ("madison", "Madison, WI"), ("PORTLAND OR", "Portland, OR"),
     ("  st. louis,  mo", "St. Louis, MO")],
)  # fmt: skip
def test_place_look_up_forgives(asked, name):
    assert climate.outdoors(asked).name.endswith(name)


def test_madison_row():
    """Table 13-1, Madison, WI: its first and last month as the file has them."""
    row = next(row for row in tables.rows("table_13_1") if row["city"] == "Madison")
    year = climate.outdoors("Madison, WI")
    assert (year.emc[0], year.emc[11]) == (float(row["jan"]), float(row["dec"]))
    warm = next(row for row in tables.rows("outdoor_temperature") if row["city"] == "Madison")
    assert_allclose(year.temp[[0, 6]] * 1.8 + 32, [float(warm["jan_f"]), float(warm["jul_f"])])


@pytest.mark.parametrize("asked", ["Portland", "charleston"])
def test_place_in_two_states(asked):
    with pytest.raises(ShrinkageError, match=f"place '{asked}' could be several; accepted: .*;"):
        climate.outdoors(asked)


@pytest.mark.parametrize(("asked", "near"), [("Madisson, WI", "Madison, WI"), ("", ";")])
def test_place_not_in_the_table(asked, near):
    with pytest.raises(
        ShrinkageError, match=f"not in the outdoor table; nearest by name: .*{near}"
    ):
        climate.outdoors(asked)


@pytest.mark.parametrize(
    ("outside", "temp", "rh", "rh_crowded"),
    [
        # EN 15026 annex C, corners and middles of its two lines. Basis: memory of the standard.
        (-20, 20, 30, 40), (-10, 20, 30, 40), (5, 20, 45, 55), (10, 20, 50, 60),
        (15, 22.5, 55, 65), (20, 25, 60, 70), (35, 25, 60, 70),
    ],
)  # fmt: skip
def test_room_from_outdoors(outside, temp, rh, rh_crowded):
    assert_allclose(climate.room_from_outdoors(outside), (temp, rh), rtol=1e-12)
    assert_allclose(climate.room_from_outdoors(outside, True), (temp, rh_crowded), rtol=1e-12)


def test_room_of_a_place():
    outdoor = climate.outdoors("Minneapolis-St. Paul, MN")
    room = climate.room_derived(outdoor)
    assert_allclose(room.emc, emc(room.temp, room.rh))
    assert int(room.emc.argmin()) in (11, 0, 1)
    assert (climate.room_derived(outdoor, True).emc > room.emc).all()
    assert "from memory" in room.source
    assert "basis:" in room.source


def test_room_needs_temperatures():
    with pytest.raises(ShrinkageError, match="it has no temperatures; accepted: a series"):
        climate.room_derived(climate.room_by_region("dry southwest"))


def test_room_as_stated():
    room = climate.room_stated((20, 30), (25, 60))
    assert_allclose((room.temp[0], room.rh[0]), (20, 30))
    assert_allclose((room.temp[6], room.rh[6]), (25, 60))
    assert_allclose((room.low, room.high), emc([20, 25], [30, 60]))
    assert (np.diff(room.emc[:7]) > 0).all()
    assert_allclose(room.emc[1:6], room.emc[:6:-1])  # spring mirrors autumn


def test_room_stated_level_does_not_swing():
    room = climate.room_stated((20, 40), (20, 40))
    assert_allclose(room.high - room.low, 0, atol=1e-12)


@pytest.mark.parametrize("bad", [(20, 130), (20, math.nan), (math.nan, 40), (400, 40)])
def test_impossible_room(bad):
    with pytest.raises(ShrinkageError, match="accepted: "):
        climate.room_stated(bad, (25, 60))


@pytest.mark.parametrize(
    ("region", "low", "mean", "high"),
    [
        # Table 13-2, interior: basis memory.
        ("most of the US", 6, 8, 10), ("dry southwest", 4, 6, 9), (" Damp warm coast", 8, 11, 13),
    ],
)  # fmt: skip
def test_room_by_region(region, low, mean, high):
    room = climate.room_by_region(region)
    assert_allclose((room.low, room.high), (low, high))
    assert_allclose((room.emc[0], room.emc[6]), (low, high))
    assert_allclose(room.emc[3], mean)
    assert "basis: memory" in room.source


def test_unknown_region():
    with pytest.raises(ShrinkageError, match="region 'moon'; accepted: most of the US; dry"):
        climate.room_by_region("moon")

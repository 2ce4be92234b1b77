"""Weather files: files made here in the format, each way one can be odd, and the year they give.

The climate is invented: 12 C in the mean, 12 C either way over the year and 5 C over the day, a dew
point that stays all day. Format and missing codes: EnergyPlus weather data dictionary, from memory.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

from shrinkage.airseries import read_series, year_of
from shrinkage.climate import emc, room_derived
from shrinkage.epw import air_year, daily, humidity_from_dew_point, read_epw
from shrinkage.errors import ShrinkageError
from shrinkage.frame import build
from shrinkage.jobfile import Source, check_job

WRITTEN = 0.05
"""Half of the last digit the rows are written with [deg C, %]."""
HEADER = [
    "LOCATION,Somewhere,Invented,XXX,made for a test,000000,45.00,-70.00,-5.0,100.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,invented",
    "COMMENTS 2,none",
    "DATA PERIODS,1,1,Data,Monday, 1/ 1,12/31",
]


def climate(year: int = 2001, per_hour: int = 1) -> pd.DataFrame:
    """Return dry bulb, dew point and humidity of the invented climate, by the start of a step."""
    step = pd.Timedelta(hours=1) / per_hour
    index = pd.date_range(f"{year}-01-01", f"{year + 1}-01-01", freq=step, inclusive="left")
    day = index.day_of_year.to_numpy() + 0.0
    clock = (index.hour + index.minute / 60).to_numpy() + 1.0
    mean = 12 - 12 * np.cos(2 * np.pi * day / 365)
    temp = np.round(mean - 5 * np.cos(2 * np.pi * (clock - 3) / 24), 1)
    dew = np.round(mean - 7, 1)
    rh = np.round(humidity_from_dew_point(temp, dew), 1)
    return pd.DataFrame({"temp": temp, "dew": dew, "rh": rh}, index)


def rows_of(air: pd.DataFrame, years: dict[int, int] | None = None) -> list[str]:
    """Return a weather file's rows; `years` gives other years to months."""
    rest = ",".join(["0"] * 26)
    return [
        f"{(years or {}).get(at.month, at.year)},{at.month},{at.day},{at.hour + 1},60,?9?9?9"
        f",{temp:g},{dew:g},{rh:g},{rest}"
        for at, temp, dew, rh in air.itertuples()
    ]


YEAR = rows_of(climate())


@pytest.fixture
def write(tmp_path):
    """Return a function that writes a weather file and gives its path."""

    def file(rows=YEAR, header=HEADER, encoding="utf-8") -> Path:
        path = tmp_path / "there.epw"
        path.write_bytes("\r\n".join([*header, *rows, ""]).encode(encoding))
        return path

    return file


def changed(field: int, values: dict[int, str], rows=YEAR) -> list[str]:
    """Return rows with one field (from 0) put otherwise in some of them."""
    rows = list(rows)
    for at, value in values.items():
        cells = rows[at].split(",")
        rows[at] = ",".join([*cells[:field], value, *cells[field + 1 :]])
    return rows


def per_hour(count: int) -> list[str]:
    return [*HEADER[:7], f"DATA PERIODS,1,{count},Data,Monday,1/1,12/31"]


def test_a_year_reads_as_written(write):
    weather = read_epw(write())
    air = climate()
    assert weather.place == "Somewhere, Invented, XXX" and weather.notes == ()
    assert weather.hours.index.equals(air.index)
    assert_allclose(weather.hours["temp_C"], air["temp"], rtol=1e-12)
    assert_allclose(weather.hours["rh_percent"], air["rh"], rtol=1e-12)


def test_hours_1_to_24_are_one_day(write):
    """Hour 24 of 31 January belongs to January, hour 1 of 1 February does not."""
    temps = {744 - 1: "24", 744: "-24"}
    days = daily(read_epw(write(changed(6, temps))))
    plain = daily(read_epw(write()))
    diff = (days - plain)["temp_C"]
    assert len(days) == 365
    assert set(diff.index[diff.abs() > 1e-9]) == {
        pd.Timestamp(2001, 1, 31),
        pd.Timestamp(2001, 2, 1),
    }
    assert diff[pd.Timestamp(2001, 1, 31)] > 0 > diff[pd.Timestamp(2001, 2, 1)]


def test_daily_means_by_hand(write):
    day = daily(read_epw(write())).loc[pd.Timestamp(2001, 7, 1)]
    air = climate().loc["2001-07-01"]
    assert_allclose(day["temp_C"], air["temp"].sum() / 24, rtol=1e-12)
    assert_allclose(day["rh_percent"], air["rh"].sum() / 24, rtol=1e-12)
    assert_allclose(day["emc_percent"], emc(air["temp"], air["rh"]).sum() / 24, rtol=1e-12)


def test_moisture_hour_by_hour_is_wetter_than_of_the_means(write):
    """The curve bends upward above 60 %: means of air taken first would read too dry."""
    year = air_year(write(), "there.epw")
    days = daily(read_epw(write()))
    of_days = year_of(days.drop(columns="emc_percent"), "days").emc
    of_months = emc(year.temp, year.rh)
    july = 6
    assert_allclose(year.emc[july] - of_days[july], 0.73, atol=0.01)  # docs/weather.md says it
    assert ((year.emc > of_days) & (of_days > of_months - 0.01)).all()


def test_year_is_that_of_the_same_hours_as_a_series(write, tmp_path):
    """A second road: the same hours as a CSV, whose rows are averaged by month at once."""
    air = climate()
    lines = [f"{at:%Y-%m-%d %H:%M},{temp:g},{rh:g}" for at, temp, _, rh in air.itertuples()]
    (tmp_path / "a.csv").write_text("\n".join(["date,temp C,RH %", *lines]))
    csv, epw = year_of(read_series(tmp_path / "a.csv"), "a"), air_year(write(), "a")
    for key in ("emc", "temp", "rh"):
        assert_allclose(getattr(epw, key), getattr(csv, key), rtol=1e-10)
    assert "weather file (Somewhere, Invented, XXX; 8760 rows)" in epw.source
    assert epw.source.endswith("then GTR-190 Eq. 4-5")


def test_suffix_in_capitals_and_a_csv(write, tmp_path):
    path = write().rename(tmp_path / "THERE.EPW")
    year = air_year(path, "there")
    assert "weather file" in year.source
    path.rename(tmp_path / "there.csv")
    with pytest.raises(ShrinkageError, match=r"air series .*there\.csv"):
        air_year(tmp_path / "there.csv", "there")


def test_leap_day(write):
    weather = read_epw(write(rows_of(climate(2004))))
    assert len(weather.hours) == 8784 and weather.notes == ()
    assert weather.hours.index[59 * 24] == pd.Timestamp(2004, 2, 29)


def test_leap_year_without_its_leap_day_is_said(write):
    rows = [row.replace("2001,", "2004,", 1) for row in YEAR]
    weather = read_epw(write(rows))
    assert weather.notes == ("29 February left out of 2004 in the file",)
    assert weather.hours.index[-1] == pd.Timestamp(2001, 12, 31, 23)


def test_typical_year_of_several_years(write):
    """February from a leap year has 28 days in a typical year."""
    weather = read_epw(write(rows_of(climate(), {2: 1996, 7: 2012, 12: 1987})))
    assert weather.notes == ("a typical year: months of 1987 to 2012 put together",)
    assert_allclose(weather.hours["temp_C"], climate()["temp"])


def test_four_rows_an_hour(write):
    air = climate(per_hour=4)
    weather = read_epw(write(rows_of(air), per_hour(4)))
    assert len(weather.hours) == 4 * 8760
    assert_allclose(daily(weather)["temp_C"], air["temp"].groupby(air.index.date).mean())


def test_latin_letters(write):
    header = ["LOCATION,Orléans,-,FRA,x,0,0,0,0,0", *HEADER[1:]]
    assert read_epw(write(header=header, encoding="latin-1")).place == "Orléans, FRA"
    assert read_epw(write(header=header, encoding="utf-8-sig")).place == "Orléans, FRA"


def test_place_is_fit_to_be_shown(write):
    header = ["LOCATION,\x1b31mEvil\x07,,-,x,0,0,0,0,0", *HEADER[1:]]
    assert read_epw(write(header=header)).place == "31mEvil"
    header = ["LOCATION,a<b>c|d,[e](f)*,-,x,0,0,0,0,0", *HEADER[1:]]
    assert read_epw(write(header=header)).place == "a b c d,  e (f) "
    assert read_epw(write(header=["LOCATION", *HEADER[1:]])).place == "place not named"
    assert len(read_epw(write(header=["LOCATION," + "x" * 900, *HEADER[1:]])).place) == 80


@pytest.mark.parametrize("length", [1, 6])
def test_short_gaps_are_filled_by_a_straight_line_and_said(write, length):
    gap = range(4000, 4000 + length)
    rows = changed(6, {3999: "10.0", 4000 + length: "17.0"} | dict.fromkeys(gap, "99.9"))
    weather = read_epw(write(rows))
    assert weather.notes == (f"dry bulb missing in {length} row(s), filled by a straight line",)
    assert_allclose(weather.hours["temp_C"].iloc[3999 : 4001 + length],
                    np.linspace(10, 17, length + 2), rtol=1e-12)  # fmt: skip


def test_a_gap_over_new_year_joins_on(write):
    rows = changed(6, {8758: "4", 8759: "99.9", 0: "99.90", 1: "1"})
    temp = read_epw(write(rows)).hours["temp_C"]
    assert_allclose([temp.iloc[-1], temp.iloc[0]], [3, 2], rtol=1e-12)


def test_gap_length_is_in_hours_not_rows(write):
    rows = rows_of(climate(per_hour=2))
    weather = read_epw(write(changed(6, dict.fromkeys(range(100, 112), "99.9"), rows), per_hour(2)))
    assert "12 row(s), filled" in weather.notes[0]
    weather = read_epw(write(changed(6, dict.fromkeys(range(100, 113), "99.9"), rows), per_hour(2)))
    assert "from 03 Jan 02:00 for 6.5 h, those days left out" in weather.notes[0]


def test_longer_gaps_leave_their_days_out_and_are_said(write):
    """31 hours from 15 March 20:00 touch three days."""
    start = (31 + 28 + 14) * 24 + 20
    rows = changed(8, dict.fromkeys(range(start, start + 31), "999"))
    rows = changed(7, dict.fromkeys(range(start, start + 31), "99.9"), rows)
    weather = read_epw(write(rows))
    assert weather.notes == ("humidity missing from 15 Mar 20:00 for 31 h, those days left out",)
    days = daily(weather).index
    assert len(days) == 362
    assert not days.isin(pd.to_datetime(["2001-03-15", "2001-03-16", "2001-03-17"])).any()
    assert not weather.hours.isna().any().any()
    assert weather.notes[0] in air_year(write(rows), "x").notes


def test_too_many_days_left_out(write):
    start = (31 + 28 + 14) * 24 + 20
    rows = changed(6, dict.fromkeys(range(start, start + 53), "99.9"))  # into the fourth day
    with pytest.raises(
        ShrinkageError, match=r"15 Mar 20:00 for 53 h.*4 days of mar; accepted: gaps"
    ):
        read_epw(write(rows))
    with pytest.raises(ShrinkageError, match=r"01 Jan 00:00 for 8760 h.*31 days of jan"):
        read_epw(write(changed(6, dict.fromkeys(range(8760), "99.9"))))


def test_many_gaps_are_counted_not_listed(write):
    starts = [24 * 40 * number for number in range(8)]
    rows = changed(6, {start + hour: "99.9" for start in starts for hour in range(8)})
    (note,) = read_epw(write(rows)).notes
    assert note.count(" for 8 h") == 5 and "and 3 gaps more" in note


def test_humidity_from_dew_point_where_it_is_missing(write):
    rows = changed(8, dict.fromkeys(range(3000, 3100), "999"))
    weather = read_epw(write(rows))
    assert weather.notes == ("humidity missing in 100 row(s), worked out from dew point",)
    assert_allclose(weather.hours["rh_percent"], climate()["rh"], atol=1.01 * WRITTEN)


def test_humidity_from_dew_point_against_psychrolib():
    """ASHRAE's saturation pressures (psychrolib), dew points above freezing: within 0.3 points."""
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for temp in (5.0, 10.0, 25.0, 40.0):
        for below in (0.0, 1.0, 5.0, temp):
            other = 100 * psychrolib.GetRelHumFromTDewPoint(temp, temp - below)
            ours = humidity_from_dew_point(np.array(temp), np.array(temp - below))
            assert_allclose(ours, other, rtol=0, atol=0.3)


def test_humidity_above_100_is_taken_as_100_and_said(write):
    weather = read_epw(write(changed(8, {5: "110", 6: "100.5"})))
    assert weather.hours["rh_percent"].iloc[5] == weather.hours["rh_percent"].iloc[6] == 100
    assert weather.notes == ("humidity above 100 % in 2 row(s), taken as 100 %",)


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        (
            8,
            "110.1",
            r"line 109: relative humidity \(field 9\) is 110.1; accepted: 0 to 110 \(1 such",
        ),
        (8, "-1", r"line 109: relative humidity \(field 9\) is -1"),
        (8, "99999", "is 99999"),
        (6, "70", r"line 109: dry bulb \(field 7\) is 70; accepted: -60 to 60"),
        (6, "-61", "dry bulb .* is -61"),
        (7, "61", r"dew point \(field 8\) is 61; accepted: -90 to 60"),
        (6, "", r"line 109: cannot read '2001,1,5,5,60.* accepted: numbers in fields 1 to 4"),
        (6, "nan", "line 109: cannot read"),
        (8, "inf", "line 109: cannot read"),
        (8, "wet", "line 109: cannot read"),
        (3, "0", "line 109: month, day and hour 1, 5, 0 where 1, 5, 5 is due"),
        (2, "6", "1, 6, 5 where 1, 5, 5 is due; accepted: every hour of one year in order"),
        (1, "2", "2, 5, 5 where 1, 5, 5 is due"),
    ],
)
def test_bad_row(write, field, value, message):
    with pytest.raises(ShrinkageError, match=message) as caught:
        read_epw(write(changed(field, {100: value})))
    assert "there.epw" in caught.value.message and "\n" not in caught.value.message


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ([], "0 rows, the last on line 8; accepted: 8760 .1 an hour, a whole year.*cut short"),
        (YEAR[:4000], "4000 rows, the last on line 4008; accepted: 8760"),
        ([*YEAR[:4000], YEAR[4000][:20]], "line 4009: cannot read .*cut short ends like this"),
        ([*YEAR[:4000], *YEAR[4001:]], "line 4009: month, day and hour 6, 16, 18 where 6, 16, 17"),
        ([*YEAR, YEAR[-1]], "8761 rows"),
        ([*YEAR[:10], "", *YEAR[10:]], "line 19: cannot read"),
        ([*YEAR[8:], *YEAR[:8]], "line 9: month, day and hour 1, 1, 9 where 1, 1, 1 is due"),
    ],
)
def test_cut_short_or_out_of_order(write, rows, message):
    with pytest.raises(ShrinkageError, match=message):
        read_epw(write(rows))


@pytest.mark.parametrize(
    ("header", "message"),
    [
        ([], "line 1: starts with '2001,1,1,1,60"),
        (HEADER[:4], r"line 5: starts with '2001,1,1,1,60.* start with LOCATION, DESIGN COND"),
        ([*HEADER[:5], *HEADER[6:]], "line 6: starts with 'COMMENTS 2"),
        (["", *HEADER], "line 1: is not there or empty"),
        (["PK\x03\x04 zip", *HEADER], "line 1: starts with 'PK zip'; accepted: an EPW file"),
        (["date,temp C,RH %"], "line 1: starts with 'date,temp C,RH %'"),
        ([*HEADER[:7], "DATA PERIODS,2,1,Data"], "line 8: '2' data periods of '1' rows an hour"),
        ([*HEADER[:7], "DATA PERIODS,1,0"], "'1' data periods of '0' rows"),
        ([*HEADER[:7], "DATA PERIODS,1,7"], "of '7' rows an hour; accepted: 1 period, a number"),
        ([*HEADER[:7], "DATA PERIODS"], "'' data periods of ''"),
    ],
)
def test_not_a_weather_file(write, header, message):
    with pytest.raises(ShrinkageError, match=message):
        read_epw(write(header=header))


def test_fifth_line_without_its_final_s(write):
    assert read_epw(write(header=[line.replace("SAVINGS", "Saving") for line in HEADER])).hours.size


def test_nothing_in_it_or_a_folder_or_too_large(tmp_path, monkeypatch):
    (tmp_path / "a.epw").write_bytes(b"")
    with pytest.raises(ShrinkageError, match="line 1: is not there or empty"):
        read_epw(tmp_path / "a.epw")
    with pytest.raises(ShrinkageError, match="a folder or a device"):
        read_epw(tmp_path)
    monkeypatch.setattr("shrinkage.epw.LARGEST_BYTES", 1)
    (tmp_path / "a.epw").write_bytes(b"12")
    with pytest.raises(ShrinkageError, match="over 100 MB"):
        read_epw(tmp_path / "a.epw")


def test_a_job_takes_it_where_a_series_stands(raw, write):
    path = write()
    raw["air"] = {"series": path.name}
    frame = build(check_job(raw, Source(folder=path.parent)))
    assert frame.outdoors.name == path.name
    assert_allclose(frame.outdoors.emc, air_year(path, "x").emc)
    assert frame.room.low < frame.outdoors.low


@pytest.mark.parametrize("name", ["gone.epw", r"C:\weather\gone.epw", "/elsewhere/gone.epw"])
def test_a_job_from_another_machine(raw, tmp_path, name):
    """The message names the path that was looked for, the key, and what to do."""
    raw["air"] = {"series": name}
    with pytest.raises(ShrinkageError) as caught:
        build(check_job(raw, Source("job.toml", folder=tmp_path)))
    looked_for = re.escape(str(tmp_path / name))
    assert re.match(rf"job.toml: air.series: air series {looked_for}: no such file; accepted: .*"
                    "weather file .*; a path is taken from the job file's folder, so copy the "
                    "file there or correct it", caught.value.message)  # fmt: skip


def test_room_air_names_the_weather_files_temperatures(write):
    """Not the note about what was filled in."""
    outside = air_year(write(changed(6, {100: "99.9"})), "there.epw")
    assert "filled by a straight line" in outside.notes[0]
    assert "temperatures: weather file (Somewhere" in room_derived(outside).source

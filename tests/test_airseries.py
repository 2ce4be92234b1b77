"""A user's own series of air: spellings of its header, its year, and each way it can be wrong."""

from __future__ import annotations

import math
import re

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

from shrinkage.airseries import read_series, year_of
from shrinkage.climate import emc
from shrinkage.errors import ShrinkageError

CELSIUS = 1e-9
"""[deg C] Of converting and back."""


@pytest.fixture
def write(tmp_path):
    """Return a function that writes a CSV and gives its path."""

    def file(text: str | bytes):
        path = tmp_path / "air.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return file


def monthly(temp: str, rh: str, cells: tuple[str, str]) -> str:
    rows = [f"2025-{month:02d},{cells[0]},{cells[1]}" for month in range(1, 13)]
    return "\n".join([f'month,"{temp}","{rh}"', *rows])


@pytest.mark.parametrize(
    "header",
    ["Temp C", "temp_C", "temperature [C]", "Temp (°C)", "Temp (ºC)", "Temp (℃)", "T_degC",
     "T (deg C)", "Temperature, deg. C", "Air temp (degrees C)", "temperature (celsius)",
     "temperature_2m (°C)", "Dry bulb: C", "TEMP °C", "TempC", "tempC", "TempDegC", "Temp. [°C]",
     "Outdoor temp (C)", "Mean outside air temperature {C}", "Temp 1 (C)"],
)  # fmt: skip
def test_celsius_headers(write, header):
    series = read_series(write(monthly(header, "RH %", ("20", "50"))))
    assert_allclose(series["temp_C"], 20, atol=CELSIUS)


@pytest.mark.parametrize(
    ("header", "cell"),
    [("Temp (°F)", "68"), ("temp_f", "68"), ("Temp ℉", "68"), ("T degF", "68"),
     ("Temperature (Fahrenheit)", "68"), ("TempF", "68"), ("Temp. [°F]", "68"),
     ("Outdoor Temp., °F", "68"), ("T (K)", "293.15"), ("temp_K", "293.15"),
     ("temperature kelvin", "293.15")],
)  # fmt: skip
def test_fahrenheit_and_kelvin_headers(write, header, cell):
    series = read_series(write(monthly(header, "RH %", (cell, "50"))))
    assert_allclose(series["temp_C"], 20, atol=CELSIUS)


@pytest.mark.parametrize(
    ("header", "cell"),
    [("% RH", "50"), ("RHPercent", "50"), ("Outdoor R.H. (%)", "50"),
     ("RH %", "50"), ("RH%", "50"), ("RH (%)", "50"), ("rh_percent", "50"), ("rh pct", "50"),
     ("Humidity [%]", "50"), ("relative humidity, percent", "50"),
     ("relative_humidity_2m (%)", "50"), ("RelHum %", "50"), ("RH (fraction)", "0.5"),
     ("relative humidity (fraction)", "0.5"), ("RH (0-1)", "0.5"), ("rh_fraction", ".5")],
)  # fmt: skip
def test_humidity_headers(write, header, cell):
    series = read_series(write(monthly("Temp C", header, ("20", cell))))
    assert_allclose(series["rh_percent"], 50, rtol=1e-12)


@pytest.mark.parametrize(
    "header",
    ["date", "Date", "Date/Time", "datetime", "timestamp", "time", "Day", "Month", "Date (UTC)"],
)
def test_date_headers(write, header):
    series = read_series(write(f"{header},temp C,RH %\n2025-03-04,20,50\n"))
    assert series.index[0] == pd.Timestamp(2025, 3, 4)


@pytest.mark.parametrize(
    ("header", "named"),
    [
        ("date,Indoor temp (C),Outdoor temp (C),RH %", "'Indoor temp (C)' and 'Outdoor temp (C)'"),
        ("date,temp C,temp F,RH %", "'temp C' and 'temp F' could each be the temperature"),
        ("date,temp C,temp C,RH %", "'temp C' and 'temp C' could"),
        ("date,T C,T_max (C),T_min (C),RH %", "'T C' and 'T_max (C)' and 'T_min (C)'"),
        ("date,temp C,RH %,% RH outside", "'RH %' and '% RH outside' could each be the relative"),
        ("Date,Time,temp C,RH %", "'Date' and 'Time' could each be the date"),
        ("date,Temp C or F,RH %", "'Temp C or F' has several units, C and F"),
        ("date,Temp C,RH % (fraction)", "several units, % and fraction"),
    ],
)
def test_a_column_that_could_be_two_is_named(write, header, named):
    """Nothing is passed over in silence: the user says which column is meant."""
    with pytest.raises(ShrinkageError, match=re.escape(named)):
        read_series(write(header + "\n"))


@pytest.mark.parametrize(
    "other",
    ["Dew point (C)", "Dewpoint temp (C)", "Wet bulb temperature (C)", "apparent_temperature (°C)",
     "Soil temp C", "Absolute humidity (g/m3)", "Humidity ratio", "Time zone", "DewPointC"],
)  # fmt: skip
def test_other_quantities_are_not_taken_for_air(write, other):
    series = read_series(write(f"{other},date,temp C,RH %\n7,2025-01-01,20,50\n"))
    assert series.to_numpy().tolist() == [[20, 50]]


@pytest.mark.parametrize("blank", ["\n", "   \n", "\r\n"])
def test_lines_are_the_files_own_after_blank_ones(write, blank):
    text = blank + HEAD + blank * 3 + "2025-01-01,20,50\n" + blank + "2025-01-02,20,101\n"
    with pytest.raises(ShrinkageError, match="line 8: rh_percent is 101"):
        read_series(write(text))
    with pytest.raises(ShrinkageError, match="line 8: RH % is 'x'"):
        read_series(write(text.replace("101", "x")))
    text = text.replace("101", "51")
    with pytest.raises(ShrinkageError, match="line 8: date is '2/1/25'"):
        read_series(write(text.replace("2025-01-02", "2/1/25")))
    with pytest.raises(ShrinkageError, match="line 8: date '2025-01-01' comes twice"):
        read_series(write(text.replace("2025-01-02", "2025-01-01")))


def test_columns_in_any_order_others_ignored_byte_mark_and_sorting(write):
    text = "\ufeffnote,RH %,p hPa,temp C,date\nb,60,1000,21,2025-02-01\na,50,999,20,2025-01-01\n"
    series = read_series(write(text))
    assert list(series["temp_C"]) == [20, 21]
    assert list(series["rh_percent"]) == [50, 60]
    assert series.index.is_monotonic_increasing


def seasonal(freq: str) -> pd.DataFrame:
    """Return a year whose air is the same all through each month."""
    index = pd.date_range("2025-01-01", "2025-12-31 23:00", freq=freq)
    return pd.DataFrame({"t": 10.0 + index.month, "h": 30.0 + 3 * index.month}, index)


@pytest.mark.parametrize(("freq", "rows"), [("h", 8760), ("D", 365), ("MS", 12)])
@pytest.mark.parametrize("stamp", ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%SZ"])
def test_hourly_daily_and_monthly_give_one_year(write, freq, rows, stamp):
    frame = seasonal(freq)
    lines = [f"{at.strftime(stamp)},{t},{h}" for at, t, h in frame.itertuples()]
    series = read_series(write("\n".join(["date,temp C,RH %", *lines])))
    assert len(series) == rows
    year = year_of(series, "barn")
    months = np.arange(1, 13)
    assert_allclose(year.temp, 10 + months, rtol=1e-12)
    assert_allclose(year.rh, 30 + 3 * months, rtol=1e-12)
    assert_allclose(year.emc, emc(10.0 + months, 30.0 + 3 * months), rtol=1e-12)
    assert year.name == "barn"
    assert f"({rows} rows)" in year.source
    assert year.notes == ()


def test_moisture_is_averaged_not_air(write):
    """The curve bends: half a month at 10 % and half at 90 % is not a month at 50 %."""
    frame = seasonal("D")
    frame["h"] = np.where(frame.index.day % 2, 10.0, 90.0)
    lines = [f"{at:%Y-%m-%d},20,{h}" for at, _, h in frame.itertuples()]
    year = year_of(read_series(write("\n".join(["date,temp C,RH %", *lines]))), "barn")
    november = (emc(20, 10) + emc(20, 90)) / 2  # 30 days, half of each
    assert_allclose(year.emc[10], november, rtol=1e-12)
    assert abs(float(year.emc[10] - emc(20, 50))) > 1


def test_several_years_are_pooled_by_month(write):
    rows = [f"{y}-{m:02d},20,{40 + 10 * (y - 2024)}" for y in (2024, 2025) for m in range(1, 13)]
    year = year_of(read_series(write("\n".join(["month,temp C,RH %", *rows]))), "barn")
    assert_allclose(year.rh, 45, rtol=1e-12)


def test_cold_air_is_noted_not_warned(write, recwarn):
    year = year_of(read_series(write(monthly("T C", "RH %", ("-20", "70")))), "barn")
    assert "extrapolated below" in year.notes[0]
    assert not recwarn.list


def test_metric_is_imperial(write):
    one = year_of(read_series(write(monthly("T C", "RH %", ("25", "40")))), "a")
    other = year_of(read_series(write(monthly("T F", "RH fraction", ("77", "0.4")))), "a")
    assert_allclose(one.emc, other.emc, rtol=1e-12)


HEAD = "date,temp C,RH %\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "cannot be read as CSV"),
        ("when,temp C,RH %\n", "has no date column; accepted: one column of dates"),
        ("date,RH %\n", "has no temperature column"),
        ("date,temp C\n", "has no relative humidity column"),
        ("date;temp C;RH %\n2025-01-01;20;50\n", "has no relative humidity .*parted by commas"),
        ("date,temp,RH %\n", "column 'temp' has no unit"),
        ("date,T,RH %\n", "column 'T' has no unit"),
        ("date,temp C,RH\n", "column 'RH' has no unit"),
        (HEAD + "2025-01-01,20,\n", "line 2: RH % is ''; accepted: a number"),
        (HEAD + "2025-01-01,20,50\n2025-01-02,,50\n", "line 3: temp C is ''"),
        (HEAD + "2025-01-01,20\n", "line 2: 2 cells under a header of 3; accepted: as many"),
        (HEAD + "2025-01-01,NaN,50\n2025-01-02,nan,50\n", r"temp C is 'NaN'.* \(2 such row"),
        (HEAD + "2025-01-01,inf,50\n", "temp C is 'inf'"),
        (HEAD + "2025-01-01,warm,50\n", "temp C is 'warm'"),
        (HEAD + "2025-01-01,20,50 %\n", "RH % is '50 %'"),
        (HEAD + "2025-01-01,20,50\n2025-01-02,20,101\n", "line 3: rh_percent is 101; accepted: 0"),
        (HEAD + "2025-01-01,20,-1\n", "rh_percent is -1"),
        ("date,temp C,RH fraction\n2025-01-01,20,50\n", "rh_percent is 5000; accepted: 0 to 100"),
        (HEAD + "2025-01-01,68,50\n", "line 2: temp_C is 68; accepted: -60 to 60"),
        ("date,temp K,RH %\n2025-01-01,20,50\n", "temp_C is -253.15"),
        (HEAD + "01/31/2025,20,50\n", "date is '01/31/2025'; accepted: year first"),
        (HEAD + "1,20,50\n", "line 2: date is '1'"),
        (HEAD + ",20,50\n", "line 2: date is ''"),
        (HEAD + "2025-02-30,20,50\n", "date is '2025-02-30'"),
        (HEAD + "2025-01-01,20,50\n2025-01-01,20,51\n", "line 3: date '2025-01-01' comes twice"),
        (HEAD + "2025-01-01T00:00-05:00,20,50\n2025-06-01T00:00-04:00,20,50\n", "time zones"),
        (HEAD + "2025-01-01,20,50,\n2025-01-02,20,50,\n", "line 2: 4 cells .* no comma at the end"),
        (HEAD + "2025-01-01,20,5,50\n", "line 2: 4 cells under a header of 3"),
        (HEAD + "2025-01-01,20,50\n2025-01-02,20,50,9\n", "line 3: 4 cells"),
        ("\n \n", "it is empty"),
        (HEAD + "\n,,\n", "line 3: temp C is ''"),
        (HEAD + "2025-01-01,20,0.5\n", "'RH %' is nowhere above 1 %; accepted: percent"),
        (HEAD.replace("temp C", "temp °C").encode("latin-1"), "saved as UTF-8"),
        (HEAD + "2025-01-01,20," + "9" * 200_000, "cannot be read as CSV: field larger"),
    ],
)
def test_bad_series(write, text, message):
    with pytest.raises(ShrinkageError, match=message) as caught:
        read_series(write(text))
    assert "air.csv" in caught.value.message


def test_missing_file(tmp_path):
    with pytest.raises(ShrinkageError, match="no such file; accepted: a CSV beside the job file"):
        read_series(tmp_path / "none.csv")


def test_folder_instead_of_a_file(tmp_path):
    with pytest.raises(ShrinkageError, match="cannot be read as CSV"):
        read_series(tmp_path)


@pytest.mark.parametrize(
    ("gone", "named"), [((3,), r"month\(s\) 3;"), ((1, 12), r"month\(s\) 1, 12;")]
)
def test_missing_month(write, gone, named):
    rows = [f"2025-{month:02d},20,50" for month in range(1, 13) if month not in gone]
    series = read_series(write("\n".join(["month,temp C,RH %", *rows])))
    with pytest.raises(ShrinkageError, match=f"air series barn: no rows in {named}"):
        year_of(series, "barn")


def test_header_alone_has_no_months(write):
    with pytest.raises(ShrinkageError, match="no rows in month"):
        year_of(read_series(write(HEAD)), "barn")


def test_a_frame_with_a_nan_is_refused_too():
    series = pd.DataFrame(
        {"temp_C": [20.0, math.nan], "rh_percent": [50.0, 50.0]},
        index=pd.to_datetime(["2025-01-01", "2025-02-01"]),
    )
    with pytest.raises(ShrinkageError, match="temperature nan C"):
        year_of(series, "barn")

"""Weather files in the EnergyPlus format (EPW), read strictly and made into days and a year.

Eight header lines, then a row for every hour of a year. The row's hour, 1 to 24, names the hour
that ends then, so that hours 1 to 24 of a date are that date's day. A typical year is stitched from
months of several years: the rows' years are said, and the order of month, day and hour is checked.
Source: the EnergyPlus weather data dictionary (US Department of Energy), from memory.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

import numpy as np
from numpy.typing import NDArray

from shrinkage.airseries import (
    COLDEST,
    HOTTEST,
    missing,
    moisture_of,
    read_series,
    regular,
    year_of,
)
from shrinkage.climate import MONTHS, AirYear
from shrinkage.errors import ShrinkageError

if TYPE_CHECKING:
    import pandas as pd

HEADER = (
    "LOCATION", "DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVING", "COMMENTS 1", "COMMENTS 2", "DATA PERIODS",
)  # fmt: skip
"""First words of the header's lines; files write the fifth with and without a final S."""
FIELDS = (0, 1, 2, 3, 6, 7, 8)
"""Fields of a row that are read: year, month, day, hour, dry bulb, dew point, humidity."""
NO_TEMPERATURE, NO_HUMIDITY = 99.9, 999.0
"""What the format writes for a missing temperature [deg C] and a missing humidity [%]."""
MOST_HUMIDITY = 110.0
"""The format's own upper limit of relative humidity [%]; what lies above 100 is taken as 100."""
SHORT_GAP = 6
"""Longest gap filled by a straight line between the hours beside it [h]."""
DAYS_OUT = 3
"""Most days of a month that may be left out because of longer gaps."""
LARGEST_BYTES = 100_000_000
"""An hourly file has 1.5 MB, one of every minute 90 MB; anything beyond is some other file."""

MARKUP = str.maketrans("<>|`*[]", "       ")
"""Letters of a place's name that a page or a worksheet would take for markup, made blanks."""
SHOWN = 5
"""Gaps named one by one in a note."""

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]


@dataclass(frozen=True)
class Weather:
    """What a weather file says of the air.

    Parameters
    ----------
    place : str
        City, state and country, as the file gives them.
    hours : pandas.DataFrame
        Indexed by the start of each hour (or part of an hour), with ``temp_C`` [deg C] and
        ``rh_percent`` [%]. Without a value missing: days that a long gap touches are not in it.
        The index has the rows' year where they have one, 2001 or 2000 (leap) otherwise.
    notes : tuple of str
        What was filled in, left out or taken otherwise than written.
    """

    place: str
    hours: pd.DataFrame
    notes: tuple[str, ...]


def air_year(path: str | Path, name: str) -> AirYear:
    """Return the year of a user's own air: a weather file (``.epw``) or a CSV series.

    Parameters
    ----------
    path : str or Path
        The file; its suffix says which it is.
    name : str
        What to call it in outputs.

    Returns
    -------
    AirYear
        Monthly means of EMC, temperature and humidity.

    Raises
    ------
    ShrinkageError
        As `read_epw`, `airseries.read_series` and `airseries.year_of`.
    """
    if Path(path).suffix.lower() != ".epw":
        return year_of(read_series(path), name)
    weather = read_epw(path)
    source = f"weather file ({weather.place}; {len(weather.hours)} rows), moisture hour by hour"
    return year_of(daily(weather), name, source, weather.notes)


def daily(weather: Weather) -> pd.DataFrame:
    """Average a weather file by day.

    The equilibrium moisture is worked out hour by hour and then averaged, because the curve bends:
    a day from 50 to 100 % humidity leaves wood wetter than a day at 75 %.

    Parameters
    ----------
    weather : Weather
        From `read_epw`.

    Returns
    -------
    pandas.DataFrame
        Indexed by date, with columns ``temp_C`` [deg C], ``rh_percent`` [%] and ``emc_percent``
        [%]: what `airseries.year_of` takes.
    """
    hours = weather.hours.assign(emc_percent=moisture_of(weather.hours))
    return hours.groupby(hours.index.normalize()).mean()  # type: ignore[attr-defined]


def read_epw(path: str | Path) -> Weather:
    """Read dry bulb and relative humidity from a weather file.

    Gaps of up to `SHORT_GAP` hours are filled by a straight line; humidity that is missing beside a
    dew point is worked out from it; days that longer gaps touch are left out, at most `DAYS_OUT` in
    a month. Each is said in the notes.

    Parameters
    ----------
    path : str or Path
        The file; UTF-8 or Latin-1.

    Returns
    -------
    Weather
        The hours of one year.

    Raises
    ------
    ShrinkageError
        If the file is not a weather file, is cut short or out of order, or has a value that is
        impossible or too many that are missing; file and line are named.
    """
    path = Path(path)
    lines = _lines(path)
    place, per_hour = _header(path, lines[: len(HEADER)])
    cells = _cells(path, lines[len(HEADER) :])
    index, years = _order(path, cells[:, :4], per_hour)
    air, taken = _air(path, cells[:, 4:], index)
    hours, gaps = _mended(path, air, per_hour)
    return Weather(place, hours, (*years, *taken, *gaps))


def _lines(path: Path) -> list[str]:
    """Return the file's lines, without blank ones at its end."""
    try:
        regular(path)
        if path.stat().st_size > LARGEST_BYTES:
            raise ShrinkageError(f"weather file {path}: over 100 MB; accepted: an EPW file")
        raw = path.read_bytes()
    except FileNotFoundError:
        raise ShrinkageError(missing(path)) from None
    except OSError as error:
        raise ShrinkageError(f"weather file {path}: cannot be read: {error.strerror}") from None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    return text.rstrip().splitlines()


def _header(path: Path, lines: list[str]) -> tuple[str, int]:
    """Check the eight header lines; return the place and how many rows an hour has."""
    for number, word in enumerate(HEADER, start=1):
        line = lines[number - 1] if number <= len(lines) else ""
        if not line.upper().startswith(word):
            found = f"starts with {_clean(line)[:24]!r}" if line else "is not there or empty"
            raise ShrinkageError(
                f"weather file {path} line {number}: {found}; accepted: an EPW file, whose eight "
                f"header lines start with {', '.join(HEADER)}"
            )
    periods = [part.strip() for part in lines[7].split(",")]
    count, per_hour = [*periods[1:3], "", ""][:2]
    if count != "1" or per_hour not in {str(rows) for rows in range(1, 61) if 60 % rows == 0}:
        raise ShrinkageError(
            f"weather file {path} line 8: {count!r} data periods of {per_hour!r} rows an hour; "
            "accepted: 1 period, a number of rows that divides 60"
        )
    where = [part.strip() for part in lines[0].split(",")[1:4]]
    place = _clean(", ".join(part for part in where if part.strip("-")).translate(MARKUP))
    return place, int(per_hour)


def _clean(text: str) -> str:
    """Return text from a file fit to be shown: one line, printable, not long."""
    return "".join(letter for letter in text if letter.isprintable())[:80] or "place not named"


def _cells(path: Path, lines: list[str]) -> Floats:
    """Return the fields that are read as numbers; shape (rows, 7)."""
    cells = np.empty((len(lines), len(FIELDS)))
    for at, line in enumerate(lines):
        row = line.split(",", max(FIELDS) + 1)
        try:
            cells[at] = [float(row[field]) for field in FIELDS]
            whole = bool(np.isfinite(cells[at]).all())
        except (ValueError, IndexError):
            whole = False
        if not whole:
            raise ShrinkageError(
                f"weather file {path} line {_line(at)}: cannot read {_clean(line)!r}; accepted: "
                "numbers in fields 1 to 4 and 7 to 9 (a file that was cut short ends like this)"
            )
    return cells


def _line(row: int) -> int:
    """Return the line of the file a row of the data stands on."""
    return row + len(HEADER) + 1


def _order(path: Path, stamps: Floats, per_hour: int) -> tuple[pd.DatetimeIndex, list[str]]:
    """Check that every hour of a year follows the one before; return the starts of the hours."""
    import pandas as pd

    years, leap = np.unique(stamps[:, 0]), bool(((stamps[:, 1] == 2) & (stamps[:, 2] == 29)).any())
    year, notes = 2000 if leap else 2001, []
    if len(years) == 1 and 1700 < years[0] < 2200 and calendar.isleap(int(years[0])) == leap:
        year = int(years[0])
    elif len(years) == 1:
        notes.append(f"29 February {'in' if leap else 'left out of'} {years[0]:.0f} in the file")
    elif len(years) > 1:
        notes.append(f"a typical year: months of {years[0]:.0f} to {years[-1]:.0f} put together")
    rows = (8784 if leap else 8760) * per_hour
    step = pd.Timedelta(hours=1) / per_hour
    index = pd.date_range(f"{year}-01-01", periods=rows, freq=step)
    due = np.column_stack([index.month, index.day, index.hour + 1])
    least = min(rows, len(stamps))
    wrong = (stamps[:least, 1:] != due[:least]).any(axis=1)
    if wrong.any():
        at = int(np.argmax(wrong))
        raise ShrinkageError(
            f"weather file {path} line {_line(at)}: month, day and hour {_stamp(stamps[at, 1:])} "
            f"where {_stamp(due[at])} is due; accepted: every hour of one year in order, 1 to 24"
        )
    if len(stamps) != rows:
        raise ShrinkageError(
            f"weather file {path}: {len(stamps)} rows, the last on line {_line(len(stamps) - 1)}; "
            f"accepted: {rows} ({per_hour} an hour, a whole year): it may have been cut short"
        )
    return index, notes


def _stamp(parts: Floats) -> str:
    return ", ".join(f"{part:g}" for part in parts)


def _air(path: Path, cells: Floats, index: pd.DatetimeIndex) -> tuple[pd.DataFrame, list[str]]:
    """Return temperature and humidity with what is missing as NaN, and what was taken otherwise."""
    import pandas as pd

    temp, dew, rh = (
        np.where(values == code, np.nan, values)
        for values, code in zip(cells.T, (NO_TEMPERATURE, NO_TEMPERATURE, NO_HUMIDITY), strict=True)
    )
    for what, values, low, high in (
        ("dry bulb (field 7)", temp, COLDEST, HOTTEST),
        ("dew point (field 8)", dew, -90.0, HOTTEST),
        ("relative humidity (field 9)", rh, 0.0, MOST_HUMIDITY),
    ):
        bad = (values < low) | (values > high)
        if bad.any():
            at = int(np.argmax(bad))
            raise ShrinkageError(
                f"weather file {path} line {_line(at)}: {what} is {values[at]:g}; accepted: "
                f"{low:g} to {high:g} ({int(bad.sum())} such row(s))"
            )
    notes = []
    worked = np.isnan(rh) & ~np.isnan(temp) & ~np.isnan(dew)
    if worked.any():
        rh[worked] = humidity_from_dew_point(temp[worked], dew[worked])
        notes.append(f"humidity missing in {int(worked.sum())} row(s), worked out from dew point")
    over = rh > 100.0
    if over.any():
        notes.append(f"humidity above 100 % in {int(over.sum())} row(s), taken as 100 %")
    return pd.DataFrame({"temp_C": temp, "rh_percent": np.minimum(rh, 100.0)}, index), notes


def humidity_from_dew_point(temp: Floats, dew: Floats) -> Floats:
    """Return relative humidity over water (Magnus' formula, WMO-No. 8 annex 4.B, from memory).

    Parameters
    ----------
    temp, dew : ndarray
        Temperature and dew point over water [deg C]; broadcast.

    Returns
    -------
    ndarray
        Relative humidity [%].
    """
    power = 17.62 * (dew / (243.12 + dew) - temp / (243.12 + temp))
    return np.asarray(100.0 * np.exp(power))


def _mended(path: Path, air: pd.DataFrame, per_hour: int) -> tuple[pd.DataFrame, list[str]]:
    """Fill short gaps, leave out the days of longer ones; return the hours and what was done."""
    index = cast("pd.DatetimeIndex", air.index)
    days, clock = index.normalize(), np.arange(len(air))
    keep, notes, filled = np.ones(len(air), dtype=bool), [], air.copy()
    for key, what in (("temp_C", "dry bulb"), ("rh_percent", "humidity")):
        empty = air[key].isna().to_numpy()
        gaps = np.flatnonzero(np.diff(empty, prepend=False, append=False)).reshape(-1, 2)
        is_long = gaps[:, 1] - gaps[:, 0] > SHORT_GAP * per_hour
        for start, stop in gaps[is_long]:
            keep &= ~days.isin(days[start:stop])
        notes += _said(what, index, gaps, is_long, per_hour)
        if not empty.all():  # the year joins on to itself
            known = air[key].to_numpy()[~empty]
            filled[key] = np.interp(clock, clock[~empty], known, period=len(clock))
    out = days[~keep].unique()
    for month in range(1, 13):
        if (count := int((out.month == month).sum())) > DAYS_OUT:
            raise ShrinkageError(
                f"weather file {path}: {'; '.join(notes)}: {count} days of {MONTHS[month - 1]}; "
                f"accepted: gaps of up to {SHORT_GAP} hours, longer ones on at most {DAYS_OUT} "
                "days of a month"
            )
    return filled[keep], notes


def _said(
    what: str, index: pd.DatetimeIndex, gaps: Rows, is_long: NDArray[np.bool_], per_hour: int
) -> list[str]:
    """Return what a reader should know of one column's gaps: how much was filled, what left out."""
    notes = []
    if rows := int(np.diff(gaps[~is_long]).sum()):
        notes.append(f"{what} missing in {rows} row(s), filled by a straight line")
    if is_long.any():
        named = [
            f"{index[start]:%d %b %H:%M} for {(stop - start) / per_hour:g} h"
            for start, stop in gaps[is_long]
        ]
        more = f" and {len(named) - SHOWN} gaps more" if len(named) > SHOWN else ""
        notes.append(f"{what} missing from {', '.join(named[:SHOWN])}{more}, those days left out")
    return notes

"""A user's own air: a CSV of date, temperature and relative humidity, made into a year.

The header says the units, in any of the usual spellings (``Temp (°F)``, ``TempC``, ``% RH``,
``Outdoor temperature [C]``, ``relative humidity (fraction)``). Hourly, daily or monthly rows will
do: each row's equilibrium moisture is worked out first and then averaged by month, because the
curve bends. Weather files are read by `shrinkage.epw` and made into a year here too.
"""

from __future__ import annotations

import csv
import re
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from shrinkage.climate import EMC_SOURCE, AirYear, emc
from shrinkage.errors import RangeWarning, ShrinkageError, quoted, shown

if TYPE_CHECKING:
    import pandas as pd

ACCEPTED_HEADER = (
    "one column of dates, one of temperature with C, F or K in its header, and one of relative "
    "humidity with % or fraction in its header, parted by commas"
)
COLDEST, HOTTEST = -60.0, 60.0
"""Air temperatures taken for weather [deg C]; anything beyond is a wrong unit or a broken probe."""

_KINDS = {
    "date": ("date", re.compile(r"\b(\w*date|date\w*|time|timestamp|day|month)\b")),
    "rh": ("relative humidity", re.compile(r"\b(rh|r h|rel hum|relhum|humidity)\b")),
    "temp": ("temperature", re.compile(r"^t\b|\b(temps?|temperature|dry ?bulb|t ?air|tdb)\b")),
}
_OTHER = re.compile(
    r"\b(dew\w*|wet ?bulb|absolute|specific|ratio|apparent|feels|chill|index|soil|ground|surface|"
    r"wood|set ?point|zone|update)\b"
)
"""Words that make a column some other quantity, whatever else its header says."""
_TEMP_UNITS = {"c": "C", "degc": "C", "celsius": "C", "f": "F", "degf": "F", "fahrenheit": "F",
               "k": "K", "kelvin": "K"}  # fmt: skip
_HUMID_UNITS = {"%": "%", "percent": "%", "pct": "%", "fraction": "fraction", "0-1": "fraction"}


LARGEST_BYTES = 20_000_000
"""Ten years of hours take about a fifth of this."""


def read_series(path: str | Path) -> pd.DataFrame:
    """Read a series of air.

    Parameters
    ----------
    path : str or Path
        A CSV file with a header (see the module's docstring). Blank lines are passed over.

    Returns
    -------
    pandas.DataFrame
        Indexed by date, sorted, with columns ``temp_C`` [deg C] and ``rh_percent`` [%].

    Raises
    ------
    ShrinkageError
        If the file cannot be read, a column or its unit is missing or could be several, or a cell
        is empty, not a number or impossible; the line is named.
    """
    path = Path(path)
    header, raw = _table(path)
    places = _columns(path, header)
    date, damp, warm = (raw[places[kind]].rename(header[places[kind]]) for kind in _KINDS)
    unit = _unit(path, str(warm.name), _TEMP_UNITS)
    temp = _celsius(_numbers(path, warm), unit).rename("temp_C")
    rh = _humidity(path, damp)
    for values, low, high in ((temp, COLDEST, HOTTEST), (rh, 0.0, 100.0)):
        _check(path, values, low, high)
    series = temp.to_frame().assign(rh_percent=rh)
    series.index = _dates(path, date)
    return series.sort_index()


def _table(path: Path) -> tuple[list[str], pd.DataFrame]:
    """Return the header and the cells as text, each row labelled with its line in the file."""
    import pandas as pd

    regular(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise ShrinkageError(
                f"air series {path}: over {LARGEST_BYTES // 1_000_000} MB; accepted: up to some "
                "years of hours"
            )
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file, skipinitialspace=True)
            rows = [(reader.line_num, row) for row in reader if "".join(row).strip() or row[1:]]
    except FileNotFoundError:
        raise ShrinkageError(missing(path)) from None
    except UnicodeDecodeError:
        raise ShrinkageError(
            f"air series {path}: cannot be read as CSV; accepted: text saved as UTF-8"
        ) from None
    except (OSError, csv.Error) as error:
        reason = getattr(error, "strerror", None) or error
        raise ShrinkageError(f"air series {path}: cannot be read as CSV: {reason}") from None
    if not rows:
        raise ShrinkageError(f"air series {path}: cannot be read as CSV: it is empty")
    (_, header), *cells = rows
    for line, row in cells:
        if len(row) != len(header):
            raise ShrinkageError(
                f"air series {path} line {line}: {len(row)} cells under a header of {len(header)}; "
                "accepted: as many, decimals with a point and no comma at the end"
            )
    lines = [line for line, _ in cells]
    # Columns by position: two of one name must not become one.
    return header, pd.DataFrame([row for _, row in cells], lines, range(len(header)), dtype=str)


def regular(path: Path) -> None:
    """Refuse what is there but no file: a device may have no end, a pipe no beginning."""
    if path.exists() and not path.is_file():
        raise ShrinkageError(
            f"air series {path}: cannot be read as CSV or weather file: a folder or a device"
        )


def missing(path: Path) -> str:
    """Return the message for a file of air that is not there."""
    return (
        f"air series {path}: no such file; accepted: a CSV beside the job file, or a weather file "
        "(.epw); a path is taken from the job file's folder, so copy the file there or correct it"
    )


def _plain(header: str) -> str:
    """Return a header as words: marks spelt out, ``TempC`` parted, in small letters."""
    for sign, words in (("℃", "°C"), ("℉", "°F"), ("º", "°"), ("°", " deg"), ("%", " % ")):
        header = header.replace(sign, words)
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", " ", header)
    plain = " ".join(re.sub(r"[_()\[\]{},.:;/]+", " ", parted).lower().split())
    return re.sub(r"\bdeg(rees?)? (?=[cfk]\b)", "deg", plain)


def _columns(path: Path, header: list[str]) -> dict[str, int]:
    """Find the three columns by their headers; one that could be two is a mistake."""
    found: dict[str, list[int]] = {kind: [] for kind in _KINDS}
    for place, name in enumerate(header):
        plain = _plain(name)
        for kind, (_, pattern) in _KINDS.items():
            if pattern.search(plain) and not _OTHER.search(plain):
                found[kind].append(place)
                break
    for kind, (what, _) in _KINDS.items():
        if not found[kind]:
            raise ShrinkageError(
                f"air series {path}: header {', '.join(map(shown, header[:20]))} has no {what} "
                f"column; accepted: {ACCEPTED_HEADER}"
            )
        if len(found[kind]) > 1:
            names = " and ".join(repr(header[place]) for place in found[kind])
            raise ShrinkageError(
                f"air series {path}: columns {names} could each be the {what}; accepted: "
                f"{ACCEPTED_HEADER}; take out or rename the other"
            )
    return {kind: places[0] for kind, places in found.items()}


def _unit(path: Path, column: str, known: dict[str, str]) -> str:
    """Return the one unit a column's header names."""
    units = {known[word] for word in _plain(column).split() if word in known}
    if len(units) != 1:
        what = f"several units, {' and '.join(sorted(units))}" if units else "no unit"
        raise ShrinkageError(
            f"air series {path}: column {quoted(column)} has {what}; accepted: {ACCEPTED_HEADER}"
        )
    return units.pop()


def _numbers(path: Path, column: pd.Series[str]) -> pd.Series[float]:
    import pandas as pd

    numbers = pd.to_numeric(column, errors="coerce")
    if (bad := numbers[~np.isfinite(numbers)]).size:
        line = bad.index[0]
        raise ShrinkageError(
            f"air series {path} line {line}: {shown(column.name)} is {quoted(column[line])}; "
            f"accepted: a number ({bad.size} such row(s))"
        )
    return numbers.astype(float)


def _celsius(values: pd.Series[float], unit: str) -> pd.Series[float]:
    if unit == "F":
        return (values - 32.0) / 1.8
    return values - 273.15 if unit == "K" else values


def _humidity(path: Path, column: pd.Series[str]) -> pd.Series[float]:
    """Return relative humidity [%] from percent or fractions, as the header says."""
    unit, rh = _unit(path, str(column.name), _HUMID_UNITS), _numbers(path, column)
    if unit == "%" and len(rh) and 0.0 <= rh.min() and rh.max() <= 1.0:
        raise ShrinkageError(
            f"air series {path}: column {quoted(column.name)} is nowhere above 1 %; accepted: "
            "percent, or 'fraction' in the header"
        )
    return (rh * 100.0 if unit == "fraction" else rh).rename("rh_percent")


def _check(path: Path, values: pd.Series[float], low: float, high: float) -> None:
    bad = values[(values < low) | (values > high)]
    if bad.size:
        raise ShrinkageError(
            f"air series {path} line {bad.index[0]}: {values.name} is {bad.iloc[0]:g}; "
            f"accepted: {low:g} to {high:g} ({bad.size} such row(s))"
        )


def _dates(path: Path, text: pd.Series[str]) -> pd.DatetimeIndex:
    import pandas as pd

    try:  # Some versions of pandas refuse a mix of zones while reading, others in the index.
        dates = pd.DatetimeIndex(pd.to_datetime(text, errors="coerce", format="ISO8601"))
    except ValueError:
        raise ShrinkageError(
            f"air series {path}: dates of several time zones, such as {quoted(text.iloc[0])} and "
            f"{quoted(text.iloc[-1])}; accepted: one zone throughout, or none"
        ) from None
    if dates.isna().any():
        line = text.index[dates.isna()][0]
        raise ShrinkageError(
            f"air series {path} line {line}: date is {quoted(text[line])}; "
            "accepted: year first, such as 2025-01-31 or 2025-01-31 14:00"
        )
    if dates.duplicated().any():
        line = text.index[dates.duplicated()][0]
        raise ShrinkageError(
            f"air series {path} line {line}: date {quoted(text[line])} comes twice"
        )
    return dates


def year_of(
    series: pd.DataFrame, name: str, source: str = "", notes: tuple[str, ...] = ()
) -> AirYear:
    """Average a series by month of the year.

    Parameters
    ----------
    series : pandas.DataFrame
        As `read_series` returns it; an ``emc_percent`` column [%], where there is one, is taken
        instead of the rows' own equilibrium moisture.
    name : str
        What the air is, for outputs.
    source : str
        Where it comes from; the user's series if left out.
    notes : tuple of str
        Anything a reader should know of the series.

    Returns
    -------
    AirYear
        Monthly means of EMC, temperature and humidity over all years given.

    Raises
    ------
    ShrinkageError
        If a month has no row.
    """
    if "emc_percent" in series:
        moisture = series["emc_percent"].to_numpy()
    else:
        moisture = moisture_of(series)
    months = series.index.month  # type: ignore[attr-defined]
    monthly = series.assign(emc=moisture).groupby(months).mean()
    missing_months = sorted(set(range(1, 13)) - set(monthly.index))
    if missing_months:
        raise ShrinkageError(
            f"air series {name}: no rows in month(s) {', '.join(map(str, missing_months))}; "
            "accepted: at least one row in each month of a year"
        )
    cold = bool((series["temp_C"] < -1.2).any())
    came = f"the user's series ({len(series)} rows)"
    extrapolated = (f"{EMC_SOURCE} extrapolated below the -1.1 C of Table 4-2",) if cold else ()
    return AirYear(
        name=name,
        emc=monthly["emc"].to_numpy(),
        source=f"{source or came}, then {EMC_SOURCE}",
        temp=monthly["temp_C"].to_numpy(),
        rh=monthly["rh_percent"].to_numpy(),
        notes=(*notes, *extrapolated),
    )


def moisture_of(series: pd.DataFrame) -> np.ndarray:
    """Return the equilibrium moisture content of each row of a series [%]."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # said once, in the notes
        return emc(series["temp_C"].to_numpy(), series["rh_percent"].to_numpy())

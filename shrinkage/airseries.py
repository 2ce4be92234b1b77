"""A user's own air: a CSV of date, temperature and relative humidity, made into a year.

The header says the units, in any of the usual spellings (``Temp (°F)``, ``temperature [C]``,
``T_degC``, ``RH %``, ``relative humidity (fraction)``). Hourly, daily or monthly rows will do: each
row's equilibrium moisture is worked out first and then averaged by month, because the curve bends.
"""

from __future__ import annotations

import re
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from shrinkage.climate import EMC_SOURCE, AirYear, emc
from shrinkage.errors import RangeWarning, ShrinkageError

if TYPE_CHECKING:
    import pandas as pd

ACCEPTED_HEADER = (
    "one column of dates, one of temperature with C, F or K in its header, and one of relative "
    "humidity with % or fraction in its header"
)
_DATE = re.compile(r"^(date|time|datetime|timestamp|day|month)\b|date|timestamp", re.IGNORECASE)
_TEMP = re.compile(r"^(t|temp|temperature|air temp|dry bulb|drybulb|t air|tair)\b", re.IGNORECASE)
_HUMID = re.compile(r"^(rh|r h|rel hum|relative humidity|humidity|relhum)\b", re.IGNORECASE)
_TEMP_UNITS = {"c": "C", "degc": "C", "celsius": "C", "f": "F", "degf": "F", "fahrenheit": "F",
               "k": "K", "kelvin": "K"}  # fmt: skip
_HUMID_UNITS = {"%": 1.0, "percent": 1.0, "pct": 1.0, "fraction": 100.0, "0-1": 100.0, "1": 100.0}


def read_series(path: str | Path) -> pd.DataFrame:
    """Read a series of air.

    Parameters
    ----------
    path : str or Path
        A CSV file with a header (see the module's docstring).

    Returns
    -------
    pandas.DataFrame
        Indexed by date, sorted, with columns ``temp_C`` [deg C] and ``rh_percent`` [%].

    Raises
    ------
    ShrinkageError
        If the file cannot be read, a column or its unit is missing, or a cell is empty, not a
        number or impossible; the line is named.
    """
    import pandas as pd

    path = Path(path)
    try:
        raw = pd.read_csv(path, dtype=str, encoding="utf-8-sig", skipinitialspace=True)
    except FileNotFoundError:
        message = f"air series {path}: no such file; accepted: a CSV beside the job file"
        raise ShrinkageError(message) from None
    except (OSError, UnicodeDecodeError, pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        raise ShrinkageError(f"air series {path}: cannot be read as CSV ({error})") from None
    if not isinstance(raw.index, pd.RangeIndex):  # pandas has taken the first column as labels
        raise ShrinkageError(
            f"air series {path}: rows have more cells than the header; "
            "accepted: as many, decimals with a point and no comma at the end"
        )
    columns = _columns(path, list(raw.columns))
    series = pd.DataFrame(
        {
            "temp_C": _celsius(_numbers(path, raw, columns["temp"]), columns["temp_unit"]),
            "rh_percent": _numbers(path, raw, columns["rh"]) * float(columns["rh_scale"]),
        }
    )
    for column, low, high in (("temp_C", -60, 60), ("rh_percent", 0, 100)):
        _check(path, series[column], (series[column] < low) | (series[column] > high), low, high)
    series.index = _dates(path, raw[columns["date"]])
    return series.sort_index()


def _plain(header: str) -> str:
    for sign, words in (("℃", "°C"), ("℉", "°F"), ("º", "°"), ("°", " deg"), ("%", " %")):
        header = header.replace(sign, words)
    return re.sub(r"[_()\[\],.:]+", " ", header).strip()


def _columns(path: Path, header: list[str]) -> dict[str, str]:
    """Find the three columns and the two units by their headers."""
    found: dict[str, str] = {}
    for name in header:
        plain = _plain(str(name))
        for key, pattern in (("date", _DATE), ("rh", _HUMID), ("temp", _TEMP)):
            if key not in found and pattern.search(plain):
                found[key] = name
                found[key + "_words"] = plain.lower().replace("deg ", "deg")
                break
    for key, what in (("date", "date"), ("temp", "temperature"), ("rh", "relative humidity")):
        if key not in found:
            raise ShrinkageError(
                f"air series {path}: header {', '.join(map(str, header))} has no {what} column; "
                f"accepted: {ACCEPTED_HEADER}"
            )
    temp_unit = [_TEMP_UNITS[w] for w in found["temp_words"].split()[1:] if w in _TEMP_UNITS]
    scale = [_HUMID_UNITS[w] for w in found["rh_words"].split()[1:] if w in _HUMID_UNITS]
    if not temp_unit or not scale:
        name = found["rh"] if temp_unit else found["temp"]
        raise ShrinkageError(
            f"air series {path}: column {name!r} has no unit; accepted: {ACCEPTED_HEADER}"
        )
    return found | {"temp_unit": temp_unit[-1], "rh_scale": str(scale[-1])}


def _numbers(path: Path, raw: pd.DataFrame, column: str) -> pd.Series[float]:
    import pandas as pd

    numbers = pd.to_numeric(raw[column], errors="coerce")
    if (bad := numbers[~np.isfinite(numbers)]).size:
        line = int(bad.index[0]) + 2
        raise ShrinkageError(
            f"air series {path} line {line}: {column} is {raw[column].iloc[line - 2]!r}; "
            f"accepted: a number ({bad.size} such row(s))"
        )
    return numbers.astype(float)


def _celsius(values: pd.Series[float], unit: str) -> pd.Series[float]:
    if unit == "F":
        return (values - 32.0) / 1.8
    return values - 273.15 if unit == "K" else values


def _check(
    path: Path, values: pd.Series[float], bad: pd.Series[bool], low: float, high: float
) -> None:
    if bad.any():
        at = int(np.flatnonzero(bad.to_numpy())[0])
        raise ShrinkageError(
            f"air series {path} line {at + 2}: {values.name} is {values.iloc[at]:g}; "
            f"accepted: {low:g} to {high:g} ({int(bad.sum())} such row(s))"
        )


def _dates(path: Path, text: pd.Series[str]) -> pd.DatetimeIndex:
    import pandas as pd

    try:
        dates = pd.to_datetime(text, errors="coerce", format="ISO8601")
    except ValueError:
        raise ShrinkageError(
            f"air series {path}: dates of several time zones, such as {text.iloc[0]!r} and "
            f"{text.iloc[-1]!r}; accepted: one zone throughout, or none"
        ) from None
    if dates.isna().any():
        at = int(np.flatnonzero(dates.isna().to_numpy())[0])
        raise ShrinkageError(
            f"air series {path} line {at + 2}: date is {text.iloc[at]!r}; "
            "accepted: year first, such as 2025-01-31 or 2025-01-31 14:00"
        )
    if dates.duplicated().any():
        at = int(np.flatnonzero(dates.duplicated().to_numpy())[0])
        raise ShrinkageError(f"air series {path} line {at + 2}: date {text.iloc[at]!r} comes twice")
    return pd.DatetimeIndex(dates)


def year_of(series: pd.DataFrame, name: str) -> AirYear:
    """Average a series by month of the year.

    Parameters
    ----------
    series : pandas.DataFrame
        As `read_series` returns it.
    name : str
        What the air is, for outputs.

    Returns
    -------
    AirYear
        Monthly means of EMC, temperature and humidity over all years given.

    Raises
    ------
    ShrinkageError
        If a month has no row.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # said once, in the notes
        moisture = emc(series["temp_C"].to_numpy(), series["rh_percent"].to_numpy())
    months = series.index.month  # type: ignore[attr-defined]
    monthly = series.assign(emc=moisture).groupby(months).mean()
    missing = sorted(set(range(1, 13)) - set(monthly.index))
    if missing:
        raise ShrinkageError(
            f"air series {name}: no rows in month(s) {', '.join(map(str, missing))}; "
            "accepted: at least one row in each month of a year"
        )
    cold = bool((series["temp_C"] < -1.2).any())
    note = (f"{EMC_SOURCE} extrapolated below the -1.1 C of Table 4-2",) if cold else ()
    return AirYear(
        name=name,
        emc=monthly["emc"].to_numpy(),
        source=f"the user's series ({len(series)} rows), then {EMC_SOURCE}",
        temp=monthly["temp_C"].to_numpy(),
        rh=monthly["rh_percent"].to_numpy(),
        notes=note,
    )

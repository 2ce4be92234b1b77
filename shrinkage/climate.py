"""Air to wood: the moisture content a small piece of wood settles at, and the year it goes through.

The equation works both ways. A year of air is twelve monthly values with what they came from:
the outdoor table, a user's series (`shrinkage.airseries`), or room air worked out or stated.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage import tables
from shrinkage.errors import RangeWarning, ShrinkageError

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
EMC_SOURCE = "GTR-190 Eq. 4-5"
ROOM_SOURCE = "EN 15026 annex C (from memory of the standard)"
TABLE_RANGE_C = (-1.2, 132.3)
"""Temperatures Table 4-2 covers [deg C]; outside them Eq. 4-5 is an extrapolation."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AirYear:
    """A year of air as wood feels it.

    Parameters
    ----------
    name : str
        What the air is, such as ``"outdoors, Madison, WI"``.
    emc : ndarray, shape (12,)
        Equilibrium moisture content by month, January first [%].
    source : str
        Where it comes from, with its basis.
    temp : ndarray, shape (12,), or None
        Monthly mean temperature [deg C].
    rh : ndarray, shape (12,), or None
        Monthly mean relative humidity [%].
    notes : tuple of str
        Anything a reader should know, such as an extrapolation.
    """

    name: str
    emc: Floats
    source: str
    temp: Floats | None = None
    rh: Floats | None = None
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        if self.emc.shape != (12,) or not ((self.emc >= 0) & (self.emc <= 40)).all():
            raise ShrinkageError(
                f"{self.name}: monthly moisture {self.emc.tolist()}; accepted: twelve values, "
                "0 to 40 %"
            )

    @cached_property
    def low(self) -> float:
        """The driest month [%]."""
        return float(self.emc.min())

    @cached_property
    def high(self) -> float:
        """The wettest month [%]."""
        return float(self.emc.max())

    @cached_property
    def mean(self) -> float:
        """The mean of the months [%]."""
        return float(self.emc.mean())


def emc(temp: ArrayLike, rh: ArrayLike) -> Floats:
    """Return the equilibrium moisture content of wood (GTR-190 Eq. 4-5).

    Parameters
    ----------
    temp : array_like
        Air temperature [deg C], from -60 to 150; a `RangeWarning` outside Table 4-2's -1.1 to 132.
    rh : array_like
        Relative humidity [%], 0 to 100. Broadcasts with `temp`.

    Returns
    -------
    ndarray
        Equilibrium moisture content [%].

    Raises
    ------
    ShrinkageError
        If a value is not a number or lies outside the ranges above.
    """
    t, h = np.asarray(temp, dtype=float), np.asarray(rh, dtype=float) / 100
    _within(t, -60.0, 150.0, "temperature", "C")
    _within(h * 100, 0.0, 100.0, "relative humidity", "%")
    if (t < TABLE_RANGE_C[0]).any() or (t > TABLE_RANGE_C[1]).any():
        warnings.warn(
            f"temperature outside the {TABLE_RANGE_C[0] + 0.1:.1f} to {TABLE_RANGE_C[1]:.0f} C "
            f"of Table 4-2: {EMC_SOURCE} is extrapolated",
            RangeWarning,
            stacklevel=2,
        )
    return _emc(t, h)


def _emc(t: Floats, h: Floats) -> Floats:
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return np.asarray(1800 / w * (kh / (1 - kh) + bound))


def relative_humidity(moisture: ArrayLike, temp: ArrayLike) -> Floats:
    """Return the relative humidity that holds wood at a moisture content, Eq. 4-5 turned round.

    Parameters
    ----------
    moisture : array_like
        Equilibrium moisture content [%].
    temp : array_like
        Air temperature [deg C]. Broadcasts with `moisture`.

    Returns
    -------
    ndarray
        Relative humidity [%].

    Raises
    ------
    ShrinkageError
        If no humidity from 0 to 100 % gives that moisture content.
    """
    m, t = np.broadcast_arrays(np.asarray(moisture, float), np.asarray(temp, float))
    _within(t, -60.0, 150.0, "temperature", "C")
    top = _emc(t, np.ones_like(t))
    if not ((m >= 0) & (m <= top)).all():
        raise ShrinkageError(
            f"equilibrium moisture {_first(m, ~((m >= 0) & (m <= top))):g} %; accepted: "
            f"0 to {float(top.min()):.1f} % at this temperature"
        )
    low, high = np.zeros_like(m), np.ones_like(m)
    for _ in range(50):  # the curve rises all the way: halving is exact to 1e-15
        middle = (low + high) / 2
        wetter = _emc(t, middle) < m
        low, high = np.where(wetter, middle, low), np.where(wetter, high, middle)
    return np.asarray(100 * (low + high) / 2)


def _first(values: Floats, bad: NDArray[np.bool_]) -> float:
    return float(np.atleast_1d(values)[np.atleast_1d(bad)][0])


def _within(values: Floats, low: float, high: float, what: str, unit: str) -> None:
    bad = ~((values >= low) & (values <= high))
    if bad.any():
        raise ShrinkageError(
            f"{what} {_first(values, bad):g} {unit}; accepted: {low:g} to {high:g} {unit}"
        )


def places() -> tuple[str, ...]:
    """Return the places of the outdoor table, as ``"City, ST"``."""
    return tuple(f"{row['city']}, {row['state']}" for row in tables.rows("table_13_1"))


def outdoors(place: str) -> AirYear:
    """Return a year of outdoor air at a place of Table 13-1.

    Parameters
    ----------
    place : str
        ``"City, ST"`` or the city alone where only one state has it.

    Returns
    -------
    AirYear
        Monthly EMC, with the monthly mean temperature.

    Raises
    ------
    ShrinkageError
        If the place is not in the table or stands for two.
    """
    name = _place(place)
    at = places().index(name)
    row, warm = tables.rows("table_13_1")[at], tables.rows("outdoor_temperature")[at]
    fahrenheit = np.array([float(warm[f"{month}_f"]) for month in MONTHS])
    return AirYear(
        name=f"outdoors, {name}",
        emc=np.array([float(row[month]) for month in MONTHS]),
        source=f"{tables.SOURCES['table_13_1']} (basis: {row['basis']})",
        temp=(fahrenheit - 32) / 1.8,
        notes=(f"{tables.SOURCES['outdoor_temperature']} (basis: {warm['basis']})",),
    )


def _place(place: str) -> str:
    import difflib

    asked = " ".join(str(place).lower().replace(",", " ").split())
    keys = {known.lower().replace(",", ""): known for known in places()}
    if asked in keys:
        return keys[asked]
    cities = [known for known in places() if known.lower().rsplit(",", 1)[0] == asked]
    if len(cities) == 1:
        return cities[0]
    if cities:
        raise ShrinkageError(f"place {place!r} could be several; accepted: {'; '.join(cities)}")
    near = [keys[key] for key in difflib.get_close_matches(asked, keys, n=4, cutoff=0.0)]
    raise ShrinkageError(
        f"place {place!r} is not in the outdoor table; nearest by name: {'; '.join(near)}; "
        "or give your own series"
    )


def room_from_outdoors(outdoor_temp: ArrayLike, crowded: bool = False) -> tuple[Floats, Floats]:
    """Return room temperature and humidity from outdoor temperature (EN 15026 annex C).

    Parameters
    ----------
    outdoor_temp : array_like
        Daily or monthly mean outdoor temperature [deg C].
    crowded : bool
        High occupancy (40 to 70 %) instead of normal (30 to 60 %).

    Returns
    -------
    temp, rh : ndarray
        Room temperature [deg C] and relative humidity [%].
    """
    t = np.asarray(outdoor_temp, dtype=float)
    least = 40.0 if crowded else 30.0
    return np.interp(t, (10, 20), (20, 25)), np.interp(t, (-10, 20), (least, least + 30))


def room_derived(outdoor: AirYear, crowded: bool = False) -> AirYear:
    """Return the room air that goes with an outdoor year (EN 15026 annex C, then Eq. 4-5).

    Raises
    ------
    ShrinkageError
        If the outdoor year has no temperatures.
    """
    if outdoor.temp is None:
        raise ShrinkageError(
            f"room air cannot follow {outdoor.name}: it has no temperatures; accepted: a series "
            "with temperature, a place of the table, or stated room air"
        )
    temp, rh = room_from_outdoors(outdoor.temp, crowded)
    people = "high" if crowded else "normal"
    return AirYear(
        name=f"room, {people} occupancy, from {outdoor.name}",
        emc=emc(temp, rh),
        source=f"{ROOM_SOURCE}, then {EMC_SOURCE}; temperatures: {_temp_source(outdoor)}",
        temp=temp,
        rh=rh,
    )


def _temp_source(outdoor: AirYear) -> str:
    # The outdoor table gives moisture alone: its temperatures have a source of their own.
    return outdoor.notes[0] if outdoor.rh is None and outdoor.notes else outdoor.source


def room_stated(winter: tuple[float, float], summer: tuple[float, float]) -> AirYear:
    """Return room air stated for midwinter and midsummer, a cosine between the two.

    Parameters
    ----------
    winter, summer : tuple of float
        Temperature [deg C] and relative humidity [%], in January and in July.

    Returns
    -------
    AirYear
        Monthly temperature, humidity and EMC.
    """
    share = (1 + np.cos(2 * np.pi * np.arange(12) / 12)) / 2
    temp = summer[0] + (winter[0] - summer[0]) * share
    rh = summer[1] + (winter[1] - summer[1]) * share
    return AirYear(
        name="room, as stated",
        emc=emc(temp, rh),
        source=f"stated by the user, then {EMC_SOURCE}",
        temp=temp,
        rh=rh,
    )


def regions() -> tuple[str, ...]:
    """Return the regions of the interior rule of thumb, Table 13-2."""
    return tuple(row["region"] for row in tables.rows("table_13_2"))


def room_by_region(region: str) -> AirYear:
    """Return interior moisture by region: the mean and range of Table 13-2, driest in January.

    Raises
    ------
    ShrinkageError
        If the region is not one of `regions`.
    """
    for row in tables.rows("table_13_2"):
        if row["region"].lower() == str(region).strip().lower():
            mean, low, high = (float(row[f"interior_{key}"]) for key in ("mean", "low", "high"))
            swing = -np.cos(2 * np.pi * np.arange(12) / 12)
            year = mean + np.where(swing < 0, swing * (mean - low), swing * (high - mean))
            source = f"{tables.SOURCES['table_13_2']} (basis: {row['basis']})"
            return AirYear(name=f"room, {row['region']}", emc=year, source=source)
    raise ShrinkageError(f"region {region!r}; accepted: {'; '.join(regions())}")

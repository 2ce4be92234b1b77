"""What a timber is exposed to: its open faces, the air around it, and how finely to solve.

Millimetres, days and percent. Everything is checked here, so that the solver need not.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage.diffusion import Array
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.species import FIBRE_SATURATION

FACES = ("left", "right", "bottom", "top")
EMISSION = 2e-7  # m/s on moisture content, near-still air: assumed, see docs/drying.md
TEMP_RANGE = (-40.0, 60.0)  # deg C: a building's and a kiln-free yard's air; warned beyond
TEMP_LIMIT = (-60.0, 120.0)  # deg C: refused beyond

_YEAR = (365.0, 366.0)  # days a repeated series may cover


def within(
    name: str, value: Array, low: float, high: float, accepted: str, *, open_low: bool = False
) -> None:
    """Refuse values outside a range; not-a-number and infinity are outside any."""
    bad = ~(np.isfinite(value) & ((value > low) if open_low else (value >= low)) & (value <= high))
    if bad.any():
        where = "" if value.ndim == 0 or value.size == 1 else f" at {np.argwhere(bad)[0].tolist()}"
        first = float(np.atleast_1d(value)[np.atleast_1d(bad)][0])
        raise ShrinkageError(f"{name} {first:g}{where}; accepted: {accepted}")


@dataclass(frozen=True)
class Settings:
    """Cells and steps of the solver.

    Parameters
    ----------
    cells : int
        Cells from a face to the middle of the section [-].
    first_cell : float
        Size of the cell at a face [mm].
    first_step, max_step : float
        First step after the start and longest step [days]. Up to 20 for air that changes with the
        seasons, 1 to 2 for a weather series.
    growth : float
        Ratio of a step to the one before [-].
    """

    cells: int = 16
    first_cell: float = 1.5
    first_step: float = 1.0 / 24.0
    max_step: float = 20.0
    growth: float = 1.1

    def __post_init__(self) -> None:
        if self.cells < 2:
            raise ShrinkageError(f"cells {self.cells}; accepted: 2 or more")
        if self.growth < 1.0:
            raise ShrinkageError(f"growth {self.growth:g}; accepted: 1 or more")
        for name in ("first_cell", "first_step", "max_step"):
            within(name, np.asarray(getattr(self, name)), 0.0, np.inf, "above zero", open_low=True)


DEFAULT = Settings()
SLIDER = Settings(cells=10, first_cell=2.5, first_step=0.2, max_step=20.0, growth=1.5)
"""Coarse settings for an answer while a slider moves."""


@dataclass(frozen=True)
class Sections:
    """Timbers to dry, one per row of every array; made by `sections`.

    Parameters
    ----------
    width, depth : ndarray, shape (members,)
        Section along x and y [mm].
    gravity : ndarray, shape (members,)
        Green specific gravity [-].
    open_faces : ndarray of bool, shape (members, 4)
        Whether the left, right, bottom and top face is open to the air.
    pith : ndarray, shape (members, 2)
        Pith from the centre of the section [mm].
    fibre_saturation : ndarray, shape (members,)
        Moisture at which shrinkage starts [%].
    d_scale : ndarray, shape (members,)
        Factor on the diffusion coefficient [-].
    emission : ndarray, shape (members,)
        Surface emission coefficient [m/s]; infinite holds the surface at the air's EMC.
    """

    width: Array
    depth: Array
    gravity: Array
    open_faces: NDArray[np.bool_]
    pith: Array
    fibre_saturation: Array
    d_scale: Array
    emission: Array

    def __len__(self) -> int:
        return len(self.width)


def sections(
    width: ArrayLike,
    depth: ArrayLike,
    gravity: ArrayLike,
    faces: Sequence[str] | Sequence[Sequence[str]] = FACES,
    *,
    pith: ArrayLike = (0.0, 0.0),
    fibre_saturation: ArrayLike = FIBRE_SATURATION,
    d_scale: ArrayLike = 1.0,
    emission: ArrayLike = EMISSION,
) -> Sections:
    """Check timbers and spread single values over all of them.

    Parameters
    ----------
    width, depth : array_like, shape () or (members,)
        Section along x and y [mm].
    gravity : array_like, shape () or (members,)
        Green specific gravity [-], 0.1 to 1.
    faces : sequence of str, or one such sequence per member
        The faces open to the air, of 'left' (-x), 'right' (+x), 'bottom' (-y) and 'top' (+y).
    pith : array_like, shape (2,) or (members, 2)
        Pith from the centre of the section [mm], inside or outside.
    fibre_saturation : array_like, shape () or (members,)
        Moisture at which shrinkage starts [%].
    d_scale : array_like, shape () or (members,)
        Factor on Siau's diffusion coefficient [-]; the honest band is 0.5 to 2.
    emission : array_like, shape () or (members,)
        Surface emission coefficient [m/s]; `numpy.inf` fixes the surface at the air's EMC.

    Returns
    -------
    Sections
        With every array over all members.

    Raises
    ------
    ShrinkageError
        If a value is impossible, a face has no such name or the shapes do not match.
    """
    patterns = _patterns(faces)
    numbers = {
        "width": width, "depth": depth, "gravity": gravity, "fibre_saturation": fibre_saturation,
        "d_scale": d_scale, "emission": emission,
    }  # fmt: skip
    flat = {name: np.atleast_1d(np.asarray(value, dtype=float)) for name, value in numbers.items()}
    place = np.atleast_2d(np.asarray(pith, dtype=float))
    members = max([len(value) for value in flat.values()] + [len(place), len(patterns)])
    for name, value in {**flat, "pith": place, "faces": patterns}.items():
        if len(value) not in (1, members):
            raise ShrinkageError(
                f"{name} has {len(value)} rows; accepted: 1 or {members}, as the others have"
            )
    if place.shape[1] != 2 or not np.isfinite(place).all():
        raise ShrinkageError(f"pith {pith!r}; accepted: finite x and y [mm] per member")
    for name in ("width", "depth"):
        within(name, flat[name], 0.0, np.inf, "above 0 mm", open_low=True)
    within("gravity", flat["gravity"], 0.1, 1.0, "0.1 to 1")
    within("fibre_saturation", flat["fibre_saturation"], 10.0, 50.0, "10 to 50 %")
    within("d_scale", flat["d_scale"], 0.0, np.inf, "above 0", open_low=True)
    fast = np.where(flat["emission"] == np.inf, 1.0, flat["emission"])
    within("emission", fast, 0.0, np.inf, "above 0 m/s, or inf", open_low=True)
    full = {name: np.broadcast_to(value, members).copy() for name, value in flat.items()}
    return Sections(
        open_faces=np.broadcast_to(patterns, (members, 4)).copy(),
        pith=np.broadcast_to(place, (members, 2)).copy(),
        **full,
    )


def _patterns(faces: Sequence[str] | Sequence[Sequence[str]]) -> NDArray[np.bool_]:
    """Open faces by name to flags, shape (1 or members, 4)."""
    if isinstance(faces, str):
        raise ShrinkageError(f"faces {faces!r}; accepted: a sequence of {', '.join(FACES)}")
    single = all(isinstance(face, str) for face in faces)
    rows: list[Sequence[str]] = [faces] if single else list(faces)  # type: ignore[list-item]
    for face in (face for row in rows for face in row):
        if face not in FACES:
            raise ShrinkageError(f"face {face!r}; accepted: {', '.join(FACES)}")
    return np.array([[face in row for face in FACES] for row in rows], dtype=bool)


@dataclass(frozen=True)
class Air:
    """Air around the timbers as a series in time, linear between its rows; made by `air`.

    Parameters
    ----------
    time : ndarray, shape (rows,)
        Days on the clock of the dates asked for. A single row holds for ever.
    values : ndarray, shape (2, 1 or members, rows)
        Equilibrium moisture content [%] and temperature [deg C].
    period : float or None
        Days after which the series repeats, or None.
    """

    time: Array
    values: Array
    period: float | None = None

    def at(self, days: ArrayLike) -> Array:
        """Values at dates, shape (2, 1 or members, dates)."""
        row, past, _ = self._find(np.asarray(days, dtype=float))
        if len(self.time) == 1:
            return np.repeat(self.values, len(past), axis=2)
        slope = np.diff(self.values, axis=2) / np.diff(self.time)
        return np.asarray(self.values[..., row] + slope[..., row] * past)

    def means(self, days: ArrayLike) -> Array:
        """Exact means between consecutive dates, shape (2, 1 or members, dates - 1)."""
        edges = np.asarray(days, dtype=float)
        if len(self.time) == 1:
            return np.repeat(self.values, len(edges) - 1, axis=2)
        gaps = np.diff(self.time)
        area = 0.5 * (self.values[..., 1:] + self.values[..., :-1]) * gaps
        total = np.concatenate([np.zeros_like(area[..., :1]), area.cumsum(axis=2)], axis=2)
        row, past, laps = self._find(edges)
        slope = np.diff(self.values, axis=2) / gaps
        reached = total[..., row] + self.values[..., row] * past + 0.5 * slope[..., row] * past**2
        reached = reached + laps * total[..., -1:]
        return np.asarray(np.diff(reached, axis=2) / np.diff(edges))

    def _find(self, days: Array) -> tuple[NDArray[np.intp], Array, Array]:
        """Row before each date, days past that row, and whole periods gone by."""
        laps = np.zeros_like(days)
        if self.period is not None:
            laps = np.floor((days - self.time[0]) / self.period)
            days = days - laps * self.period
        row = np.clip(np.searchsorted(self.time, days, side="right") - 1, 0, len(self.time) - 2)
        return row, days - self.time[row], laps


def air(time: ArrayLike, emc: ArrayLike, temp_c: ArrayLike, *, repeat_year: bool = False) -> Air:
    """Check a series of air.

    Parameters
    ----------
    time : array_like, shape () or (rows,)
        Days, rising. A single one makes air that never changes.
    emc, temp_c : array_like, shape (), (rows,) or (members, rows)
        Equilibrium moisture content [%] and temperature [deg C] at those times. A single number
        holds at all times; with one time, shape (members, 1) gives each member its own air.
    repeat_year : bool
        Repeat the series, which must cover exactly a year: its rows plus the step that closes the
        year, or first to last row, make 365 to 366 days.

    Returns
    -------
    Air
        Linear between the rows.

    Raises
    ------
    ShrinkageError
        If a row is not a number (all are named), impossible, out of order, after a gap in an
        otherwise regular series, or if a series to repeat does not cover a year.

    Warns
    -----
    RangeWarning
        If a temperature is outside -40 to 60 deg C: Siau's D is an extrapolation there.
    """
    clock = np.atleast_1d(np.asarray(time, dtype=float))
    series = [np.atleast_2d(np.asarray(v, dtype=float)) for v in (emc, temp_c)]
    for name, value in zip(("emc", "temp_c"), series, strict=True):
        if value.ndim > 2 or value.shape[1] not in (1, len(clock)):
            raise ShrinkageError(f"{name} has shape {value.shape}; accepted: {len(clock)} rows")
    _check_clock(clock)
    _check_rows("emc", clock, series[0], 0.0, 40.0, "0 to 40 %")
    _check_rows("temp_c", clock, series[1], *TEMP_LIMIT, "-60 to 120 deg C")
    if (series[1] < TEMP_RANGE[0]).any() or (series[1] > TEMP_RANGE[1]).any():
        warnings.warn(
            f"temp_c from {series[1].min():g} to {series[1].max():g} deg C: the diffusion model is "
            f"extrapolated outside {TEMP_RANGE[0]:g} to {TEMP_RANGE[1]:g}",
            RangeWarning,
            stacklevel=2,
        )
    rows = max(len(series[0]), len(series[1]))
    values = np.stack([np.broadcast_to(v, (rows, len(clock))) for v in series])
    return _close_year(clock, values) if repeat_year else Air(clock, values)


def _check_clock(clock: Array) -> None:
    if clock.ndim != 1 or not np.isfinite(clock).all():
        bad = np.flatnonzero(~np.isfinite(clock)).tolist()
        raise ShrinkageError(f"time is not a number at rows {bad}; accepted: rising days")
    steps = np.diff(clock)
    if (steps <= 0).any():
        row = int(np.flatnonzero(steps <= 0)[0]) + 1
        raise ShrinkageError(
            f"time of row {row} is {clock[row]:g}, after {clock[row - 1]:g}; accepted: rising days"
        )
    # a series of two dozen rows or more that breaks its own step is missing rows
    if len(clock) >= 24 and (wide := steps > max(10 * float(np.median(steps)), 3.0)).any():
        rows = ", ".join(f"{r} to {r + 1}" for r in np.flatnonzero(wide)[:5])
        raise ShrinkageError(
            f"time has a gap of {steps.max():g} days (rows {rows}); accepted: steps like the "
            f"others, {np.median(steps):g} days: fill the gap first"
        )


def _check_rows(
    name: str, clock: Array, value: Array, low: float, high: float, accepted: str
) -> None:
    for what, bad in (
        ("is not a number", ~np.isfinite(value)),
        ("is impossible", (value < low) | (value > high)),
    ):
        rows = np.flatnonzero(bad.any(axis=0))
        if rows.size:
            named = ", ".join(f"{r} (day {clock[r]:g})" for r in rows[:10])
            more = f" and {rows.size - 10} more" if rows.size > 10 else ""
            raise ShrinkageError(f"{name} {what} in row {named}{more}; accepted: {accepted}")


def _close_year(clock: Array, values: Array) -> Air:
    """Add the row that closes the year, unless the series has it."""
    span = float(clock[-1] - clock[0])
    step = span / max(len(clock) - 1, 1)
    # the last row of hourly, daily or monthly data stands a step before the year is over; months
    # differ in length, so two days either way are allowed them and their year is 365 days
    slack = 0.0 if step < 2.0 else 2.0
    if len(clock) > 1 and _YEAR[0] - slack <= span + step <= _YEAR[1] + slack:
        period = _YEAR[0] if slack else span + step
        closed = np.concatenate([values, values[..., :1]], axis=2)
        return Air(np.append(clock, clock[0] + period), closed, period)
    if len(clock) > 1 and _YEAR[0] <= span <= _YEAR[1]:  # the last row is the first again
        return Air(clock, np.concatenate([values[..., :-1], values[..., :1]], axis=2), span)
    raise ShrinkageError(
        f"a series of {len(clock)} rows over {span:g} days cannot repeat as a year; accepted: "
        "exactly a year of data, 365 to 366 days with the step that closes it"
    )

"""How a rectangular timber dries through time, and how much of its movement that leaves to come.

Two-dimensional transverse diffusion with each face open to the air or covered. All members of a
frame, or all draws of a study, lie on one leading axis and are solved in one call. Millimetres,
days and percent here; the arithmetic is in :mod:`shrinkage.diffusion`.

Movement follows the local moisture: with ``f(M)`` the share of shrinkage done at moisture M and phi
the angle at the pith, the free strain of the width is ``S_R radial + S_T tangential`` and that of
the depth ``S_R tangential + S_T radial``, where ``radial`` and ``tangential`` are the area means of
``f cos^2 phi`` and ``f sin^2 phi``.
"""

from __future__ import annotations

import os
import warnings
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage.diffusion import Array, Block, Stepper, cell_sizes
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.movement import dried_share
from shrinkage.section import radial_weight
from shrinkage.species import FIBRE_SATURATION

FACES = ("left", "right", "bottom", "top")
EMISSION = 2e-7  # m/s on moisture content, near-still air: assumed, see docs/drying.md
TEMP_RANGE = (-40.0, 60.0)  # deg C: a building's and a kiln-free yard's air; warned beyond
TEMP_LIMIT = (-60.0, 120.0)  # deg C: refused beyond
COVERED_NOTE = "all four faces are covered: the section cannot dry, its mean moisture stays"

_DAY = 86400.0  # s
_MM = 1e-3  # m
_YEAR = (365.0, 366.0)  # days a repeated series may cover
_SMALL_BATCH = 16  # below this, Python's overhead outweighs the cells symmetry saves
_CHUNK_CELLS = 131072  # cells times members stepped together: large enough that threads overlap


def _within(
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
        First step after the start and longest step [days]. Up to 10 for air that changes with the
        seasons, 1 to 2 for a weather series.
    growth : float
        Ratio of a step to the one before [-].
    """

    cells: int = 16
    first_cell: float = 1.5
    first_step: float = 1.0 / 24.0
    max_step: float = 10.0
    growth: float = 1.1

    def __post_init__(self) -> None:
        if self.cells < 2:
            raise ShrinkageError(f"cells {self.cells}; accepted: 2 or more")
        if self.growth < 1.0:
            raise ShrinkageError(f"growth {self.growth:g}; accepted: 1 or more")
        for name in ("first_cell", "first_step", "max_step"):
            _within(name, np.asarray(getattr(self, name)), 0.0, np.inf, "above zero", open_low=True)


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
        _within(name, flat[name], 0.0, np.inf, "above 0 mm", open_low=True)
    _within("gravity", flat["gravity"], 0.1, 1.0, "0.1 to 1")
    _within("fibre_saturation", flat["fibre_saturation"], 10.0, 50.0, "10 to 50 %")
    _within("d_scale", flat["d_scale"], 0.0, np.inf, "above 0", open_low=True)
    fast = np.where(flat["emission"] == np.inf, 1.0, flat["emission"])
    _within("emission", fast, 0.0, np.inf, "above 0 m/s, or inf", open_low=True)
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


@dataclass(frozen=True)
class MoistureField:
    """Moisture over the full sections, to look at or to go on from.

    Parameters
    ----------
    moisture : ndarray, shape (members, cells_x, cells_y)
        Moisture content of each cell [%].
    cell_x, cell_y : ndarray, shape (members, cells_x) and (members, cells_y)
        Cell sizes from left to right and from bottom to top [mm].
    """

    moisture: Array
    cell_x: Array
    cell_y: Array

    @property
    def centre_x(self) -> Array:
        """Centres of the cells from the middle of the section, shape (members, cells_x) [mm]."""
        return _centres(self.cell_x)

    @property
    def centre_y(self) -> Array:
        """Centres of the cells from the middle of the section, shape (members, cells_y) [mm]."""
        return _centres(self.cell_y)

    @property
    def mean(self) -> Array:
        """Mean moisture of each section, shape (members,) [%]."""
        shares = _shares(self.cell_x)[:, :, None] * _shares(self.cell_y)[:, None, :]
        return np.asarray((shares * self.moisture).sum(axis=(1, 2)))


def _centres(size: Array) -> Array:
    return np.asarray(size.cumsum(axis=1) - 0.5 * size - 0.5 * size.sum(axis=1, keepdims=True))


def _shares(size: Array) -> Array:
    return np.asarray(size / size.sum(axis=1, keepdims=True))


def uniform_field(
    timbers: Sections, moisture: ArrayLike, settings: Settings = DEFAULT
) -> MoistureField:
    """Sections of the same moisture throughout.

    Parameters
    ----------
    timbers : Sections
        The timbers.
    moisture : array_like, shape () or (members,)
        Moisture content [%], 0 to 300.
    settings : Settings
        Cells of the grid.

    Returns
    -------
    MoistureField
        On the grid these settings give.

    Raises
    ------
    ShrinkageError
        If a moisture is impossible or the shapes do not match.
    """
    start = np.asarray(moisture, dtype=float)
    _within("moisture", start, 0.0, 300.0, "0 to 300 % of oven-dry mass")
    if start.shape not in ((), (1,), (len(timbers),)):
        raise ShrinkageError(f"moisture of shape {start.shape}; accepted: ({len(timbers)},)")
    cell_x, cell_y = _grid(timbers, settings)
    shape = (len(timbers), cell_x.shape[1], cell_y.shape[1])
    level = np.broadcast_to(start, len(timbers))[:, None, None]
    return MoistureField(np.broadcast_to(level, shape).copy(), cell_x, cell_y)


def _grid(timbers: Sections, settings: Settings) -> tuple[Array, Array]:
    halves = (
        cell_sizes(0.5 * side, settings.cells, settings.first_cell)
        for side in (timbers.width, timbers.depth)
    )
    cell_x, cell_y = (np.concatenate([half, half[:, ::-1]], axis=1) for half in halves)
    return cell_x, cell_y


def _on_grid(given: MoistureField, timbers: Sections, settings: Settings) -> MoistureField:
    """Bring a field to the grid of the settings by overlap, which keeps the water."""
    cell_x, cell_y = _grid(timbers, settings)
    for name, old, new in (("width", given.cell_x, cell_x), ("depth", given.cell_y, cell_y)):
        if len(old) != len(new) or not np.allclose(old.sum(axis=1), new.sum(axis=1), rtol=1e-6):
            raise ShrinkageError(
                f"the starting field has {name} {np.round(old.sum(axis=1), 3).tolist()[:5]} mm; "
                f"accepted: that of the sections, {np.round(new.sum(axis=1), 3).tolist()[:5]}"
            )
    if cell_x.shape == given.cell_x.shape and cell_y.shape == given.cell_y.shape:
        if np.allclose(cell_x, given.cell_x) and np.allclose(cell_y, given.cell_y):
            return given
    moved = np.einsum(
        "bip,bjq,bpq->bij", _overlap(given.cell_x, cell_x), _overlap(given.cell_y, cell_y),
        given.moisture,
    )  # fmt: skip
    return MoistureField(moved, cell_x, cell_y)


def _overlap(old: Array, new: Array) -> Array:
    """Share of each new cell that lies in each old one, shape (members, new, old)."""
    ends = [np.pad(_shares(size).cumsum(axis=1), ((0, 0), (1, 0))) for size in (old, new)]
    (old_low, old_high), (new_low, new_high) = ((e[:, :-1], e[:, 1:]) for e in ends)
    common = np.minimum(new_high[:, :, None], old_high[:, None]) - np.maximum(
        new_low[:, :, None], old_low[:, None]
    )
    return np.asarray(np.maximum(common, 0.0) / (new_high - new_low)[:, :, None])


def meter_reading(state: MoistureField, timbers: Sections, pin_depth: float | None = 25.0) -> Array:
    """Return what a meter would read on a field.

    Parameters
    ----------
    state : MoistureField
        The field.
    timbers : Sections
        Its sections; the pins go into the middle of their open faces (of all four where none is
        open) and the faces' readings are averaged.
    pin_depth : float or None
        Depth of insulated pins' tips [mm], no deeper than the middle; None reads the mean of the
        section, as an oven-dried slice would.

    Returns
    -------
    ndarray, shape (members,)
        Moisture content [%].

    Raises
    ------
    ShrinkageError
        If the depth is negative.
    """
    if pin_depth is None:
        return state.mean
    _within("pin_depth", np.asarray(pin_depth), 0.0, np.inf, "0 mm or more, or None")
    ways = []
    for rows, size in (
        (_middle(state.moisture, axis=2), state.cell_x),
        (_middle(state.moisture, axis=1), state.cell_y),
    ):
        for line, cells in ((rows, size), (rows[:, ::-1], size[:, ::-1])):
            ways.append(_along(line, cells, pin_depth))
    used = timbers.open_faces | ~timbers.open_faces.any(axis=1, keepdims=True)
    return np.asarray((np.stack(ways, axis=1) * used).sum(axis=1) / used.sum(axis=1))


def _middle(moisture: Array, axis: int) -> Array:
    """Mean of the two middle rows or columns."""
    half = moisture.shape[axis] // 2
    return np.asarray(moisture.take([half - 1, half], axis=axis).mean(axis=axis))


def _along(line: Array, cells: Array, depth: float) -> Array:
    """Linear between cell centres at a depth from the first face, shape (members,)."""
    centre = cells.cumsum(axis=1) - 0.5 * cells
    at = np.clip(depth, centre[:, 0], 0.5 * cells.sum(axis=1))
    left = np.clip((centre <= at[:, None]).sum(axis=1) - 1, 0, cells.shape[1] - 2)
    member = np.arange(len(cells))
    low, high = centre[member, left], centre[member, left + 1]
    share = (at - low) / (high - low)
    return np.asarray((1 - share) * line[member, left] + share * line[member, left + 1])


def rescale(
    state: MoistureField,
    timbers: Sections,
    reading: ArrayLike,
    emc: ArrayLike,
    pin_depth: float | None = 25.0,
) -> MoistureField:
    """Bring a computed field to a metered value.

    The excess of every cell over the air's EMC is multiplied by one factor per member, so that
    `meter_reading` gives the reading: the profile keeps its shape, the surface stays near the air
    and all is as if the wood had been drier, or wetter, by that factor from the start. Where the
    reading lies on the other side of the EMC from the computed value, no such factor exists; then
    nothing is known of the profile and the section is set to the reading throughout.

    Parameters
    ----------
    state : MoistureField
        The computed field.
    timbers : Sections
        Its sections.
    reading : array_like, shape () or (members,)
        Metered moisture content, corrected for species and temperature [%]; NaN leaves a member
        as computed.
    emc : array_like, shape () or (members,)
        Equilibrium moisture content of the air before the reading [%].
    pin_depth : float or None
        Where the meter reads, see `meter_reading` [mm].

    Returns
    -------
    MoistureField
        Reads what the meter read.

    Raises
    ------
    ShrinkageError
        If a reading is outside 0 to 300 %.

    Warns
    -----
    RangeWarning
        If a factor is outside 0.5 to 2 or does not exist: the computed drying and the meter do
        not agree, and the diffusion coefficient, the history or the meter is to be doubted.
    """
    read = np.broadcast_to(np.asarray(reading, dtype=float), len(timbers))
    level = np.broadcast_to(np.asarray(emc, dtype=float), len(timbers))
    _within("reading", read[~np.isnan(read)], 0.0, 300.0, "0 to 300 % of oven-dry mass")
    computed = meter_reading(state, timbers, pin_depth)
    excess = computed - level
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(np.isnan(read), 1.0, (read - level) / excess)
    base = level[:, None, None]
    usable = (factor > 0.0) & np.isfinite(factor)
    scaled = base + np.where(usable, factor, 0.0)[:, None, None] * (state.moisture - base)
    lost = ~usable | (scaled.min(axis=(1, 2)) < 0.0)
    doubtful = np.flatnonzero(lost | (factor < 0.5) | (factor > 2.0))
    if doubtful.size:
        first = doubtful[0]
        warnings.warn(
            f"member(s) {doubtful.tolist()[:10]}: metered {read[first]:.1f} % where "
            f"{computed[first]:.1f} % was computed in air of {level[first]:.1f} %",
            RangeWarning,
            stacklevel=2,
        )
    moisture = np.where(lost[:, None, None], read[:, None, None], scaled)
    return MoistureField(moisture, state.cell_x, state.cell_y)


@dataclass(frozen=True)
class Drying:
    """What `dry` found, by member and date.

    Parameters
    ----------
    days : ndarray, shape (dates,)
        The dates asked for [days].
    mean, surface, core : ndarray, shape (members, dates)
        Moisture of the whole section, of its open faces (of all four where none is open) and at
        its centre [%].
    radial, tangential : ndarray, shape (members, dates)
        Area means of ``f(M) cos^2 phi`` and ``f(M) sin^2 phi`` about the pith [-].
    lost : ndarray, shape (members, dates)
        Water gone through the faces since the start, as a fall of the mean [%].
    state : MoistureField
        The full sections at the last date: the start of a next phase.
    snapshots : ndarray, shape (members, dates, cells_x, cells_y), or None
        The full fields at every date [%], if asked for; cells as in `state`.
    notes : tuple of str
        What a reader should know.
    """

    days: Array
    mean: Array
    surface: Array
    core: Array
    radial: Array
    tangential: Array
    lost: Array
    state: MoistureField
    snapshots: Array | None = None
    notes: tuple[str, ...] = ()

    @property
    def dried(self) -> Array:
        """Area mean of f(M), for rings of unknown direction, shape (members, dates) [-]."""
        return self.radial + self.tangential

    def width_strain(self, s_r: ArrayLike, s_t: ArrayLike) -> Array:
        """Free shrinkage of the width from green, shape (members, dates) [-].

        `s_r` and `s_t` are radial and tangential shrinkage green to oven-dry as fractions, single
        or of shape (members, 1).
        """
        return np.asarray(s_r) * self.radial + np.asarray(s_t) * self.tangential

    def depth_strain(self, s_r: ArrayLike, s_t: ArrayLike) -> Array:
        """Free shrinkage of the depth from green, as `width_strain`."""
        return np.asarray(s_r) * self.tangential + np.asarray(s_t) * self.radial


def dry(
    timbers: Sections,
    around: Air,
    moisture: ArrayLike | MoistureField,
    days: ArrayLike,
    *,
    start: float = 0.0,
    settings: Settings = DEFAULT,
    snapshots: bool = False,
) -> Drying:
    """Dry (or wet) timbers in a series of air.

    Parameters
    ----------
    timbers : Sections
        One member, a frame or a thousand draws.
    around : Air
        The air, shared or one series per member.
    moisture : array_like, shape () or (members,), or MoistureField
        Moisture at the start [%], or the `state` of a phase before.
    days : array_like, shape (dates,)
        Dates wanted, rising, not before `start` [days]. Steps land on them, so dates closer
        together than `Settings.max_step` cost steps.
    start : float
        Date of the start on the air's clock [days].
    settings : Settings
        Cells and steps.
    snapshots : bool
        Whether to keep the field at every date.

    Returns
    -------
    Drying
        Moisture and movement of every member at every date.

    Raises
    ------
    ShrinkageError
        If dates are out of order or the air does not last from `start` to the last of them, or
        for an impossible moisture or shape.

    Warns
    -----
    UserWarning
        If all faces of a member are covered.

    Notes
    -----
    ``dM/dt = div(D grad M)`` with Siau's D at the air's temperature; at open faces ``-D dM/dn =
    k (M - EMC)``, at covered ones no flow. Cell-centred finite volumes, Douglas's alternating
    directions, see :class:`shrinkage.diffusion.Stepper`. Members never influence one another.
    """
    dates = _check_dates(days, start, around)
    given = moisture if isinstance(moisture, MoistureField) else None
    begin = (
        uniform_field(timbers, moisture, settings)  # type: ignore[arg-type]
        if given is None
        else _on_grid(given, timbers, settings)
    )
    if around.values.shape[1] not in (1, len(timbers)):
        raise ShrinkageError(
            f"air of {around.values.shape[1]} members; accepted: 1 or {len(timbers)}"
        )
    plan = _Plan.make(dates, start, around, settings)
    out = _blank(begin, dates, snapshots)
    jobs = list(_jobs(timbers, begin))
    if len(jobs) == 1:
        _march(timbers, begin, plan, out, *jobs[0])
    else:  # numpy lets go of the interpreter on arrays of this size, so threads do help
        with ThreadPoolExecutor(min(len(jobs), os.cpu_count() or 1)) as pool:
            list(pool.map(lambda job: _march(timbers, begin, plan, out, *job), jobs))
    return _result(timbers, begin, dates, out)


def _check_dates(days: ArrayLike, start: float, around: Air) -> Array:
    dates = np.atleast_1d(np.asarray(days, dtype=float))
    if dates.ndim != 1 or not dates.size or not np.isfinite(dates).all():
        raise ShrinkageError(f"days {days!r}; accepted: one or more finite dates")
    ordered = np.concatenate([[start], dates])
    fall = np.flatnonzero(np.diff(ordered) < 0)
    if fall.size or (np.diff(dates) == 0).any():
        raise ShrinkageError(
            f"days {dates.tolist()[:20]} from start {start:g}; accepted: rising, not before start"
        )
    first, last = around.time[0], around.time[-1]
    lasting = len(around.time) == 1 or around.period is not None
    if not lasting and (start < first or dates[-1] > last):
        raise ShrinkageError(
            f"the air covers days {first:g} to {last:g} but {start:g} to {dates[-1]:g} are asked "
            "for; accepted: a series over all of them, or a year of data with repeat_year=True"
        )
    return dates


@dataclass(frozen=True)
class _Plan:
    """Steps of a run [s], the date each lands on (-1 for none), and the air they see."""

    steps: Array
    landing: list[int]
    means: Array
    at_dates: Array
    from_start: bool

    @staticmethod
    def make(dates: Array, start: float, around: Air, settings: Settings) -> _Plan:
        edges, landing = [start], []
        length = settings.first_step
        from_start = bool(dates[0] == start)
        for index, date in enumerate(dates.tolist()):
            while edges[-1] < date:
                left = date - edges[-1]
                # what is left is cut evenly, so that landing makes no sliver of a step
                parts = int(np.ceil(left / length - 1e-9))
                last = parts <= 1
                edges.append(date if last else edges[-1] + left / parts)
                landing.append(index if last else -1)
                length = min(length * settings.growth, settings.max_step)
        means = around.means(edges) if len(edges) > 1 else around.values[..., :0]
        steps = np.diff(edges) * _DAY
        return _Plan(steps, landing, means, around.at(dates), from_start)


def _blank(begin: MoistureField, dates: Array, snapshots: bool) -> dict[str, Array]:
    members = len(begin.moisture)
    names = ("mean", "surface", "core", "radial", "tangential", "lost")
    out = {name: np.empty((members, len(dates))) for name in names}
    out["state"] = begin.moisture.copy()
    if snapshots:
        out["snapshots"] = np.empty((members, len(dates), *begin.moisture.shape[1:]))
    return out


def _jobs(timbers: Sections, begin: MoistureField) -> list[tuple[NDArray[np.intp], bool, bool]]:
    """Members that are stepped together, with the axes on which half a section will do.

    A half section is cell for cell the mirror of the other half, so a member's answer does not
    depend on the company it is solved in.
    """
    faces, m = timbers.open_faces, begin.moisture
    mirror_x = (faces[:, 0] == faces[:, 1]) & np.isclose(m, m[:, ::-1], rtol=0, atol=1e-9).all(
        (1, 2)
    )
    mirror_y = (faces[:, 2] == faces[:, 3]) & np.isclose(m, m[:, :, ::-1], rtol=0, atol=1e-9).all(
        (1, 2)
    )
    if len(timbers) <= _SMALL_BATCH:
        everyone = np.arange(len(timbers))
        return [(everyone, bool(mirror_x.all()), bool(mirror_y.all()))]
    jobs = []
    for half_x in (True, False):
        for half_y in (True, False):
            group = np.flatnonzero((mirror_x == half_x) & (mirror_y == half_y))
            cells = m[0].size // (2 if half_x else 1) // (2 if half_y else 1)
            pieces = -(-len(group) * cells // _CHUNK_CELLS)
            if len(group):
                jobs += [(part, half_x, half_y) for part in np.array_split(group, pieces)]
    return jobs


def _march(
    timbers: Sections,
    begin: MoistureField,
    plan: _Plan,
    out: dict[str, Array],
    who: NDArray[np.intp],
    half_x: bool,
    half_y: bool,
) -> None:
    """Step some members through the plan and write their rows of `out`."""
    block = _block(timbers, begin, who, half_x, half_y)
    stepper = Stepper(block, _fold(begin.moisture[who], half_x, half_y).transpose(1, 2, 0))
    means, at_dates = (v if v.shape[1] == 1 else v[:, who] for v in (plan.means, plan.at_dates))
    area = block.dx[:, None] * block.dy / (block.dx.sum(axis=0) * block.dy.sum(axis=0))
    radial = area * _ring_weights(timbers, begin, who, half_x, half_y)
    saturation = timbers.fibre_saturation[who]
    shown = _shown_faces(block, half_x, half_y)

    def record(date: int) -> None:
        shrunk = dried_share(stepper.field, saturation)
        out["mean"][who, date] = (area * stepper.field).sum(axis=(0, 1))
        out["radial"][who, date] = (radial * shrunk).sum(axis=(0, 1))
        out["tangential"][who, date] = ((area - radial) * shrunk).sum(axis=(0, 1))
        out["surface"][who, date] = _surface(stepper, shown, at_dates[:, :, date])
        out["core"][who, date] = _core(stepper.field, half_x, half_y)
        out["lost"][who, date] = stepper.lost
        if "snapshots" in out:
            out["snapshots"][who, date] = _unfold(stepper.field, half_x, half_y)

    if plan.from_start:
        record(0)
    for step, (length, date) in enumerate(zip(plan.steps, plan.landing, strict=True)):
        stepper.step(length, means[0, :, step], means[1, :, step])
        if date >= 0:
            record(date)
    out["state"][who] = _unfold(stepper.field, half_x, half_y)


def _block(
    timbers: Sections, begin: MoistureField, who: NDArray[np.intp], half_x: bool, half_y: bool
) -> Block:
    faces = timbers.open_faces[who].T.astype(float)
    open_x, open_y = faces[:2].copy(), faces[2:].copy()
    cell_x, cell_y = begin.cell_x[who].T * _MM, begin.cell_y[who].T * _MM
    if half_x:
        cell_x, open_x[1] = cell_x[: len(cell_x) // 2], 0.0
    if half_y:
        cell_y, open_y[1] = cell_y[: len(cell_y) // 2], 0.0
    return Block(
        dx=np.ascontiguousarray(cell_x),
        dy=np.ascontiguousarray(cell_y),
        open_x=open_x,
        open_y=open_y,
        resistance=1.0 / timbers.emission[who],
        gravity=timbers.gravity[who],
        d_scale=timbers.d_scale[who],
    )


def _fold(full: Array, half_x: bool, half_y: bool) -> Array:
    """Mean of the mirror halves of arrays (members, cells_x, cells_y)."""
    if half_x:
        full = 0.5 * (full + full[:, ::-1])[:, : full.shape[1] // 2]
    if half_y:
        full = 0.5 * (full + full[:, :, ::-1])[:, :, : full.shape[2] // 2]
    return full


def _unfold(part: Array, half_x: bool, half_y: bool) -> Array:
    """Full sections (members, cells_x, cells_y) from a field with its members last."""
    if half_x:
        part = np.concatenate([part, part[::-1]], axis=0)
    if half_y:
        part = np.concatenate([part, part[:, ::-1]], axis=1)
    return part.transpose(2, 0, 1)


def _ring_weights(
    timbers: Sections, begin: MoistureField, who: NDArray[np.intp], half_x: bool, half_y: bool
) -> Array:
    """Exact cell means of cos^2 phi about the pith, (cells_x, cells_y, members).

    Folding a half section takes the mean of mirror cells: the pith may lie anywhere.
    """
    pith_x, pith_y = timbers.pith[who].T[:, :, None, None]
    weights = radial_weight(
        begin.cell_x[who][:, :, None],
        begin.cell_y[who][:, None, :],
        pith_x - begin.centre_x[who][:, :, None],
        pith_y - begin.centre_y[who][:, None, :],
    )
    return np.ascontiguousarray(_fold(weights, half_x, half_y).transpose(1, 2, 0))


def _shown_faces(block: Block, half_x: bool, half_y: bool) -> tuple[Array, Array]:
    """Share of each strip of face in the surface's mean: left and right, then bottom and top.

    Open faces by length, or all faces where none is open; the middle of a half section is no face.
    """
    none = (block.open_x.sum(axis=0) + block.open_y.sum(axis=0)) == 0
    weights = []
    for size, is_open, half in (
        (block.dy, block.open_x, half_x),
        (block.dx, block.open_y, half_y),
    ):
        real = np.array([[1.0], [0.0 if half else 1.0]])
        weights.append((np.where(none, 1.0, is_open) * real)[:, None, :] * size)
    total = weights[0].sum(axis=(0, 1)) + weights[1].sum(axis=(0, 1))
    return weights[0] / total, weights[1] / total


def _surface(stepper: Stepper, shown: tuple[Array, Array], air_now: Array) -> Array:
    """Mean moisture of the faces, shape (members,)."""
    on_x, on_y = stepper.surface(air_now[0], air_now[1])
    return np.asarray((shown[0] * on_x).sum(axis=(0, 1)) + (shown[1] * on_y).sum(axis=(0, 1)))


def _core(part: Array, half_x: bool, half_y: bool) -> Array:
    """Mean of the cells round the centre of the section."""
    nx, ny = part.shape[:2]
    x = slice(nx - 1, nx) if half_x else slice(nx // 2 - 1, nx // 2 + 1)
    y = slice(ny - 1, ny) if half_y else slice(ny // 2 - 1, ny // 2 + 1)
    return np.asarray(part[x, y].mean(axis=(0, 1)))


def _result(timbers: Sections, begin: MoistureField, dates: Array, out: dict[str, Array]) -> Drying:
    notes: tuple[str, ...] = ()
    covered = np.flatnonzero(~timbers.open_faces.any(axis=1))
    if covered.size:
        notes = (f"member(s) {covered.tolist()[:10]}: {COVERED_NOTE}",)
        warnings.warn(notes[0], UserWarning, stacklevel=3)
    state = MoistureField(out.pop("state"), begin.cell_x, begin.cell_y)
    return Drying(days=dates, state=state, notes=notes, **out)

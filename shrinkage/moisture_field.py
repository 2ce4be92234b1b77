"""Moisture over a section: fields to look at, to go on from, and to bring to a meter reading."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from shrinkage.diffusion import Array, cell_sizes
from shrinkage.errors import RangeWarning, ShrinkageError
from shrinkage.exposure import DEFAULT, Sections, Settings, within


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
    within("moisture", start, 0.0, 300.0, "0 to 300 % of oven-dry mass")
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


def on_grid(given: MoistureField, timbers: Sections, settings: Settings) -> MoistureField:
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
    within("pin_depth", np.asarray(pin_depth), 0.0, np.inf, "0 mm or more, or None")
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
    within("reading", read[~np.isnan(read)], 0.0, 300.0, "0 to 300 % of oven-dry mass")
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

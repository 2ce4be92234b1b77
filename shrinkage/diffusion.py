"""Transverse moisture diffusion on rectangles: the coefficient, the grid and the time stepper.

Everything here is numpy in SI units (metres, seconds) with moisture in percent of oven-dry mass.
Fields are stored ``(cells_x, cells_y, members)``: the members lie last in memory, so every row
operation of a tridiagonal sweep runs over all of them at once. The public face of the solver, in
millimetres and days, is :mod:`shrinkage.drying`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

GAS_CONSTANT = 8.314  # J/(mol K)
ZERO_CELSIUS = 273.15  # K
SIAU_D0 = 7e-6  # m2/s
SIAU_ENERGY = 38500.0  # J/mol, of dry wood
SIAU_ENERGY_SLOPE = 290.0  # J/mol per percent moisture
SIAU_WATER_VOLUME = 0.667  # cell-wall volume of dry wood per unit of gravity
SIAU_CAP = 30.0  # percent: the coefficient is held at its value here above it

TABLE_ENTRIES = 128
THETA = 0.5  # Crank-Nicolson in each sweep: second order in time
PASSES = 2  # a predictor and one corrector: without it a fixed surface is percents off


def diffusivity(moisture: ArrayLike, temp_c: ArrayLike, gravity: ArrayLike) -> Array:
    """Transverse diffusion coefficient of wood by Siau's model.

    Parameters
    ----------
    moisture : array_like
        Moisture content [percent of oven-dry mass]. Broadcasts with the others.
    temp_c : array_like
        Temperature of the wood [deg C].
    gravity : array_like
        Green specific gravity, oven-dry mass on green volume [-].

    Returns
    -------
    numpy.ndarray
        Diffusion coefficient on moisture content [m2/s], of the broadcast shape.

    Notes
    -----
    ``D = D_b / ((1 - v)(1 - sqrt v))`` with the cell wall's
    ``D_b = 7e-6 exp(-(38500 - 290 m)/(R T))``, ``m = min(M, 30)`` and the porosity
    ``v = 1 - G (0.667 + 0.01 m)``. Above 30 percent D keeps its value there. Values from memory of
    J. F. Siau, Transport Processes in Wood (1984). A factor of two either way is honest.
    """
    m = np.minimum(np.asarray(moisture, dtype=float), SIAU_CAP)
    return _cell_wall(m, np.asarray(temp_c, dtype=float)) / _wall_share(
        m, np.asarray(gravity, dtype=float)
    )


def _cell_wall(m: Array, temp_c: Array) -> Array:
    """Diffusion coefficient of the cell wall across the grain [m2/s]."""
    energy = SIAU_ENERGY - SIAU_ENERGY_SLOPE * m
    wall: Array = SIAU_D0 * np.exp(-energy / (GAS_CONSTANT * (temp_c + ZERO_CELSIUS)))
    return wall


def _wall_share(m: Array, gravity: Array) -> Array:
    """Return the factor ``(1 - v)(1 - sqrt v)`` that the porosity v puts under D [-]."""
    porosity = 1.0 - gravity * (SIAU_WATER_VOLUME + 0.01 * m)
    share: Array = (1.0 - porosity) * (1.0 - np.sqrt(porosity))
    return share


def cell_sizes(half: Array, cells: int, first: float) -> Array:
    """Cell sizes from a face to the middle of the section, growing geometrically.

    Parameters
    ----------
    half : numpy.ndarray
        Half the side of each section, shape (members,) [same unit as `first`].
    cells : int
        Number of cells between the face and the middle.
    first : float
        Size of the cell at the face. Sections too thin for it get equal cells.

    Returns
    -------
    numpy.ndarray
        Cell sizes, shape (members, cells), summing to `half`.
    """
    start = np.minimum(first, half / cells)
    powers = np.arange(cells)
    low, high = np.ones_like(half), np.full_like(half, 1e3)
    for _ in range(80):  # bisection in the growth ratio: monotone, and the same for any batch
        ratio = np.sqrt(low * high)
        long = start * (ratio[:, None] ** powers).sum(axis=1) > half
        low, high = np.where(long, low, ratio), np.where(long, ratio, high)
    sizes = start[:, None] * low[:, None] ** powers
    scaled: Array = sizes * (half / sizes.sum(axis=1))[:, None]
    return scaled


@dataclass(frozen=True)
class Block:
    """Sections of one symmetry, ready to be stepped together.

    Parameters
    ----------
    dx, dy : numpy.ndarray
        Cell sizes, shapes (cells_x, members) and (cells_y, members) [m]. A half section has only
        the cells from its left (bottom) face to its middle.
    open_x, open_y : numpy.ndarray
        1 for an open and 0 for a covered face, shape (2, members): left and right, bottom and top.
        The middle of a half section counts as covered.
    resistance : numpy.ndarray
        1/k of the surface, shape (members,) [s/m]; zero for a fixed surface.
    gravity, d_scale : numpy.ndarray
        Green specific gravity and the factor on D, shape (members,) [-].
    """

    dx: Array
    dy: Array
    open_x: Array
    open_y: Array
    resistance: Array
    gravity: Array
    d_scale: Array


class _Axis:
    """One direction of a block: its geometry, and the memory its sweeps reuse.

    Arrays have the swept direction first, ``(n, across, members)``; the first cell and the last
    are next to the two faces.
    """

    def __init__(self, size: Array, faces: Array, across: int) -> None:
        n, members = size.shape
        self.size = size[:, None, :]
        self.faces = faces[:, None, :]
        # D of a wall is the plain mean of its two cells, over the distance of their centres: the
        # trapezoid rule for the integral of D dM between them, and more accurate on a growing
        # grid (half the error) than interpolating D to the place of the wall
        self.spacing = (1.0 / (size[:-1] + size[1:]))[:, None, :]
        self.half = 0.5 * size[[0, -1]][:, None, :]
        self.conductance = np.zeros((n + 1, across, members))
        self.flux = np.zeros((n + 1, across, members))
        self.walls = self.conductance[1:-1]
        self.ends = self.conductance[::n]
        self._build_sweep(n, across, members)

    def _build_sweep(self, n: int, across: int, members: int) -> None:
        # capacity and right-hand side lie side by side so that one call eliminates both
        self.base = np.empty((n, 2, across, members))
        self.reduced = np.empty((n, 2, across, members))
        self.pivot = np.empty((n, across, members))
        self.ratio = np.empty((n, across, members))
        self.delta = np.empty((n, across, members))
        pair, single = np.empty((2, across, members)), np.empty((across, members))
        # views made once: making them in the loop would cost more than the arithmetic
        self.forward = [
            (
                self.reduced[i],
                self.reduced[i, 0],
                self.conductance[i + 1],
                self.pivot[i],
                self.ratio[i],
                self.base[i + 1],
                self.reduced[i + 1],
                pair,
            )
            for i in range(n - 1)
        ]
        self.backward = [
            (self.ratio[i], self.delta[i + 1], self.delta[i], single) for i in range(n - 2, -1, -1)
        ]

    def conduct(self, cells: Array, ends: Array, resistance: Array) -> None:
        """Fill the conductances [m/s] from D in the cells and between the end cells and faces."""
        np.add(cells[:-1], cells[1:], out=self.walls)
        self.walls *= self.spacing
        np.divide(self.faces * ends, self.half + resistance * ends, out=self.ends)

    def net_inflow(self, field: Array, emc: Array) -> Array:
        """Net inflow of each cell at the present field, per unit of height [percent m/s]."""
        inner = self.flux[1:-1]
        np.subtract(field[1:], field[:-1], out=inner)
        inner *= self.walls
        n = len(field)
        # flux counts towards falling index: in at the last face, out at the first
        np.multiply(self.conductance[0], field[0] - emc, out=self.flux[0])
        np.multiply(self.conductance[n], emc - field[-1], out=self.flux[n])
        return np.subtract(self.flux[1:], self.flux[:-1], out=self.delta)

    def solve(self, capacity: Array) -> Array:
        """Solve ``(capacity - theta-scaled diffusion) delta = base[:, 1]`` along the axis.

        Elimination in the form of a ladder of resistors: only sums, products and quotients of
        positive numbers, so nothing cancels.
        """
        base, reduced = self.base, self.reduced
        np.copyto(base[:, 0], capacity)
        np.copyto(reduced[0], base[0])
        reduced[0, 0] += self.conductance[0]
        add, multiply, divide = np.add, np.multiply, np.divide
        for here, load, wall, pivot, ratio, following, after, pair in self.forward:
            add(load, wall, pivot)
            divide(wall, pivot, ratio)
            multiply(here, ratio, pair)
            add(following, pair, after)
        add(reduced[-1, 0], self.conductance[-1], self.pivot[-1])
        divide(reduced[:, 1], self.pivot, self.delta)
        for ratio, after, delta, single in self.backward:
            multiply(ratio, after, single)
            add(delta, single, delta)
        return self.delta

    def outflow(self, field: Array, emc: Array, delta: Array) -> Array:
        """Flow out of the two end faces that a sweep used, shape (2, across, members)."""
        n = len(field) - 1
        flow: Array = self.ends * (field[::n] - emc + THETA * delta[::n])
        return flow

    def surface(self, field: Array, emc: Array, resistance: Array) -> Array:
        """Moisture on the two end faces, shape (2, across, members) [percent].

        A covered face carries no flow and takes the moisture of the cell behind it.
        """
        end = field[:: len(field) - 1]
        shown: Array = np.where(self.faces > 0.0, emc + resistance * self.ends * (end - emc), end)
        return shown


class Stepper:
    """Douglas alternating-direction steps of ``dM/dt = div(D grad M)`` for one block.

    Parameters
    ----------
    block : Block
        Geometry, faces and wood.
    field : numpy.ndarray
        Moisture to start from, shape (cells_x, cells_y, members) [percent].

    Notes
    -----
    With ``A_x``, ``A_y`` the finite-volume operators at the coefficients of mid-step,
    ``(1 - dt/2 A_x) d* = dt (A_x M + A_y M)``, ``(1 - dt/2 A_y) d = d*``, ``M += d`` (Douglas and
    Gunn, Numerische Mathematik 6, 1964; from memory). The predictor takes D from the old field, the
    corrector from the mean of old and predicted. Flow out of the faces is the one the two sweeps
    used, ``A_x`` on ``M + d*/2`` and ``A_y`` on ``M + d/2``: water closes to rounding.
    """

    def __init__(self, block: Block, field: Array) -> None:
        nx, ny, members = field.shape
        self.block = block
        self.x = _Axis(block.dx, block.open_x, ny)
        self.y = _Axis(block.dy, block.open_y, nx)
        # the field, then the faces across x and across y: one look-up of D serves all
        self._parts = np.empty((nx * ny + 2 * ny + 2 * nx, members))
        self._cells, self._face_x, self._face_y = self._split(self._parts)
        self._d = np.empty_like(self._parts)
        self._d_cells, self._d_face_x, self._d_face_y = self._split(self._d)
        self._index = np.empty(self._parts.shape, dtype=np.intp)
        self._slope = np.empty_like(self._parts)
        self.field = field.copy()
        self.lost = np.zeros(members)
        self._area = block.dx.sum(axis=0) * block.dy.sum(axis=0)
        self._members = np.arange(members)
        self._grid = np.linspace(0.0, SIAU_CAP, TABLE_ENTRIES)[:, None]
        self._share = block.d_scale / _wall_share(self._grid, block.gravity)
        self._aspect = block.dx[None, :, :] / block.dy[:, None, :]

    def _split(self, parts: Array) -> tuple[Array, Array, Array]:
        nx, ny, members = len(self.block.dx), len(self.block.dy), parts.shape[1]
        cells, end = nx * ny, nx * ny + 2 * ny
        return (
            parts[:cells].reshape(nx, ny, members),
            parts[cells:end].reshape(2, ny, members),
            parts[end:].reshape(2, nx, members),
        )

    def step(self, dt: float, emc: Array, temp_c: Array) -> None:
        """Advance the field by one step.

        Parameters
        ----------
        dt : float
            Length of the step [s].
        emc, temp_c : numpy.ndarray
            Means over the step of the air's equilibrium moisture [percent] and of the temperature
            [deg C], shape () or (members,).
        """
        table = self._table(temp_c)
        np.copyto(self._cells, self.field)
        self._conduct(table, emc)
        self._sweep(dt, emc)
        for _ in range(PASSES - 1):
            np.multiply(self.y.delta.swapaxes(0, 1), 0.5, out=self._cells)
            self._cells += self.field
            self._conduct(table, emc)
            self._sweep(dt, emc)
        self._settle(dt, emc)

    def surface(self, emc: Array, temp_c: Array) -> tuple[Array, Array]:
        """Moisture on the faces now: left and right (2, cells_y, members), bottom and top.

        Takes the air of the moment, shapes () or (members,), as `step` does its means.
        """
        table = self._table(temp_c)
        for _ in range(2):  # the faces' moisture and D of the half cells behind them hang together
            np.copyto(self._cells, self.field)
            self._conduct(table, emc)
        resistance = self.block.resistance
        return (
            self.x.surface(self.field, emc, resistance),
            self.y.surface(self.field.swapaxes(0, 1), emc, resistance),
        )

    def _table(self, temp_c: Array) -> tuple[Array, Array]:
        """D at the table's entries and its rise to the next one, each (entries * members,)."""
        value = _cell_wall(self._grid, temp_c) * self._share
        rise = np.zeros_like(value)
        np.subtract(value[1:], value[:-1], out=rise[:-1])
        return value.ravel(), rise.ravel()

    def _look_up(self, table: tuple[Array, Array]) -> None:
        """D of every cell and face from the table, linear between its entries."""
        place, index, slope = self._parts, self._index, self._slope
        np.multiply(place, (TABLE_ENTRIES - 1) / SIAU_CAP, out=place)
        np.minimum(place, TABLE_ENTRIES - 1, out=place)
        np.copyto(index, place, casting="unsafe")
        place -= index
        index *= place.shape[1]
        index += self._members
        np.take(table[0], index, out=self._d, mode="clip")
        np.take(table[1], index, out=slope, mode="clip")
        slope *= place
        self._d += slope

    def _conduct(self, table: tuple[Array, Array], emc: Array) -> None:
        """Conductances of both axes from the moisture in `_cells`, which is used up."""
        resistance = self.block.resistance
        self._face_x[:] = self.x.surface(self._cells, emc, resistance)
        self._face_y[:] = self.y.surface(self._cells.swapaxes(0, 1), emc, resistance)
        self._look_up(table)
        for axis, cells, face in (
            (self.x, self._d_cells, self._d_face_x),
            (self.y, self._d_cells.swapaxes(0, 1), self._d_face_y),
        ):
            face += cells[:: len(cells) - 1]
            face *= 0.5  # D of a half cell: the mean of the cell and the face
            axis.conduct(cells, face, resistance)

    def _sweep(self, dt: float, emc: Array) -> None:
        """One pass over both axes; leaves the increments in the axes' `delta`."""
        x, y = self.x, self.y
        # everything over theta, and per unit of the height of the swept row
        inflow_y = y.net_inflow(self.field.swapaxes(0, 1), emc)
        inflow_y *= self._aspect
        right = np.add(x.net_inflow(self.field, emc), inflow_y.swapaxes(0, 1), out=x.base[:, 1])
        right *= 1.0 / THETA
        half_step = 1.0 / (THETA * dt)
        delta_x = x.solve(x.size * half_step)
        np.multiply(delta_x.swapaxes(0, 1), y.size * half_step, out=y.base[:, 1])
        y.solve(y.size * half_step)

    def _settle(self, dt: float, emc: Array) -> None:
        """Take the increments into the field, and book what left through the faces."""
        x, y = self.x, self.y
        out_x = x.outflow(self.field, emc, x.delta) * self.block.dy
        out_y = y.outflow(self.field.swapaxes(0, 1), emc, y.delta) * self.block.dx
        self.lost += (out_x.sum(axis=(0, 1)) + out_y.sum(axis=(0, 1))) * (dt / self._area)
        self.field += y.delta.swapaxes(0, 1)

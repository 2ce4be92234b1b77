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
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage.diffusion import Array, Block, Stepper
from shrinkage.errors import ShrinkageError
from shrinkage.exposure import (
    DEFAULT,
    EMISSION,
    FACES,
    SLIDER,
    Air,
    Sections,
    Settings,
    air,
    sections,
)
from shrinkage.moisture_field import MoistureField, meter_reading, on_grid, rescale, uniform_field
from shrinkage.movement import dried_share
from shrinkage.section import radial_weight

__all__ = [
    "DEFAULT", "EMISSION", "FACES", "SLIDER", "Air", "Drying", "MoistureField", "Sections",
    "Settings", "air", "dry", "meter_reading", "rescale", "sections", "uniform_field",
]  # fmt: skip

COVERED_NOTE = "all four faces are covered: the section cannot dry, its mean moisture stays"

_DAY = 86400.0  # s
_MM = 1e-3  # m
_SMALL_BATCH = 16  # below this, Python's overhead outweighs the cells symmetry saves
_CHUNK_CELLS = 131072  # cells times members stepped together: large enough that threads overlap


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
        else on_grid(given, timbers, settings)
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

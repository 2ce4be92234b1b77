"""The pocket table for the shop wall: how much a timber of the job's species will lose, in 16ths.

One page. For every species and air of the job: by size and by the moisture the timber has now, down
to the driest month of the air it will live in; for a boxed heart, quarter-sawn and flat-sawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from shrinkage import paper
from shrinkage.climate import AirYear
from shrinkage.movement import change
from shrinkage.order import Order
from shrinkage.section import Heart, HeartKind, width_weights
from shrinkage.species import Species
from shrinkage.timber import Timber
from shrinkage.units import MM_PER_INCH, System, show, tape

Floats = NDArray[np.float64]

METERED = (25.0, 20.0, 16.0, 12.0)
"""Meter readings the table is made for, besides green [%]."""
SIZES: dict[System, tuple[float, ...]] = {
    "imperial": tuple(inch * MM_PER_INCH for inch in (1, 4, 6, 8, 10, 12)),
    "metric": (25.0, 100.0, 150.0, 200.0, 250.0, 300.0),
}
"""Sizes across the grain, besides the job's own [mm]."""
LONG: dict[System, float] = {"imperial": 96 * MM_PER_INCH, "metric": 2400.0}
"""Length along the grain that the last row is for [mm]."""
HEARTS: tuple[tuple[HeartKind, str], ...] = (
    ("boxed", "boxed heart"), ("quarter", "quarter-sawn face"), ("flat", "flat-sawn face"),
)  # fmt: skip


@dataclass(frozen=True)
class Pocket:
    """The movements of one species in one air.

    Parameters
    ----------
    species : Species
        The wood.
    air : AirYear
        The air it will live in.
    roles : tuple of str
        The job's timbers that it holds for.
    moistures : tuple of float
        What the timber has now [%]; the first is green.
    sizes : tuple of float
        Sizes across the grain, as measured now [mm].
    lost : ndarray, shape (hearts, sizes, moistures)
        What the size loses by the driest month; hearts as in `HEARTS` [mm].
    swing : ndarray, shape (hearts, sizes)
        What it works between driest and wettest month [mm].
    along : ndarray, shape (moistures,)
        What a length along the grain loses [mm].
    """

    species: Species
    air: AirYear
    roles: tuple[str, ...]
    moistures: tuple[float, ...]
    sizes: tuple[float, ...]
    lost: Floats
    swing: Floats
    along: Floats


def pocket_tables(order: Order, system: System | None = None) -> list[Pocket]:
    """Return the movements for every species and air of a job.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        Of the sizes; the job's own units otherwise.

    Returns
    -------
    list of Pocket
        In the order of the job's timbers.
    """
    system = system or order.frame.job.units
    named: dict[str, Timber] = {role: order.frame.timbers[role] for role in order.frame.job.timber}
    shared: dict[tuple[str, str], list[str]] = {}
    for role, timber in named.items():
        shared.setdefault((timber.species.name, timber.air.name), []).append(role)
    found = []
    for roles in shared.values():
        timber = named[roles[0]]
        own = {side for role in roles for side in (named[role].width, named[role].depth)}
        sizes = {round(mm, 3) for mm in (*SIZES[system], *own)}
        found.append(_pocket(timber.species, timber.air, tuple(roles), sorted(sizes), system))
    return found


def _pocket(
    species: Species, air: AirYear, roles: tuple[str, ...], sizes: list[float], system: System
) -> Pocket:
    """Work one species out: each number is `movement.change` times a size."""
    fs = species.fibre_saturation
    moistures = np.array([fs, *(m for m in METERED if air.low < m < fs)])
    radial = [width_weights(1.0, 1.0, Heart(kind)).estimate for kind, _ in HEARTS]
    totals = np.array([w * species.s_r + (1 - w) * species.tangential for w in radial])
    across = np.array(sizes)
    lost = change(totals[:, None], moistures, air.low, fs)[:, None, :] * across[:, None]
    swing = -change(totals, air.low, air.high, fs)[:, None] * across
    along = change(species.s_l, moistures, air.low, fs) * LONG[system]
    return Pocket(species, air, roles, tuple(moistures.tolist()), tuple(sizes), lost, swing, along)


def movement_text(mm: float, system: System) -> str:
    """Write a movement for the shop wall: sixteenths to the nearest half, or millimetres.

    Parameters
    ----------
    mm : float
        The movement [mm].
    system : {'imperial', 'metric'}
        Which.
    """
    if system == "metric":
        return f"{mm:.1f}" if mm < 9.95 else f"{mm:.0f}"
    halves = round(mm / MM_PER_INCH * 16 * 2)
    whole, half = divmod(halves, 2)
    return f"{whole or ''}½" if half else f"{whole}"


def _size(mm: float, system: System) -> str:
    return tape(mm, feet=False) if system == "imperial" else show(mm, system)


def write_pocket_table(order: Order, path: Path, system: System | None = None) -> int:
    """Write the pocket table as a PDF of one page; Letter or A4, upright.

    Parameters
    ----------
    order : Order
        The answer to a job.
    path : Path
        Where to.
    system : {'imperial', 'metric'}, optional
        Of text and page; the job's own units otherwise.

    Returns
    -------
    int
        Number of pages: 1.
    """
    with paper.plain_text():
        figure = pocket_page(order, system)
    return paper.write_pages(path, [figure], f"Pocket table: {order.frame.job.title}")


MARGIN = paper.SMALL_MARGIN


def pocket_page(order: Order, system: System | None = None) -> Figure:
    """Return the pocket table as a page.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.
    """
    system = system or order.frame.job.units
    found = pocket_tables(order, system)
    figure, sheet = paper.page(system)
    wide, high = (inches * paper.POINTS for inches in figure.get_size_inches())
    room = wide - 2 * MARGIN
    unit = "SIXTEENTHS OF AN INCH" if system == "imperial" else "MILLIMETRES"
    paper.put(sheet, MARGIN, MARGIN - 8, f"WHAT A TIMBER LOSES, IN {unit}", 17, True)
    title = paper.cut(order.frame.job.title, 10, room)
    paper.put(sheet, MARGIN, MARGIN + 16, title, 10)
    y = paper.paragraph(sheet, MARGIN, MARGIN + 34, HOW_TO_READ, 8.5, room) + 4
    notes = 56.0
    rows = sum(len(p.sizes) + 1 + HEAD_ROWS for p in found)
    line = min(17.0, (high - MARGIN - notes - y) / max(rows, 1))
    for pocket in found:
        y = _Block(sheet, pocket, system, room, line).draw(y)
    paper.paragraph(sheet, MARGIN, high - MARGIN - notes + 10, _note(order, found), 7.0, room)
    return figure


HOW_TO_READ = (
    "Find the timber's size across the grain, as it measures now, and what the meter says; read "
    "what it will have lost by the driest month. “year” is what it then works between "
    "the driest and the wettest month."
)
HEAD_ROWS = 4.3
"""Lines a block needs over its rows."""


def _note(order: Order, found: list[Pocket]) -> str:
    sources = dict.fromkeys(f"{p.species.name}: {p.species.source}" for p in found)
    factor = any(t.section_factor != 1 for t in order.frame.timbers.values())
    return (
        "Average wood of the species, not this piece of it; the table's full rate"
        + (", without the job's section factor" if factor else "")
        + ". Heart not known: read flat-sawn. Rows in bold are the job's own sizes. "
        + "; ".join(sources) + ". "
        + "; ".join(dict.fromkeys(f"{p.air.name}: {p.air.source}" for p in found)) + "."
    )  # fmt: skip


class _Block:
    """One species on the page."""

    def __init__(
        self, sheet: Axes, pocket: Pocket, system: System, room: float, line: float
    ) -> None:
        self.sheet, self.pocket, self.system, self.line = sheet, pocket, system, line
        columns = len(pocket.moistures) + 1
        self.named = 0.12 * room
        self.group = (room - self.named) / len(HEARTS)
        self.step = (self.group - 8) / columns
        # The widest number of all, "15½" in bold, has to leave room before its neighbour.
        self.size = min(11.0, 0.74 * line, self.step / 2.55)
        self.room = room

    def draw(self, y: float) -> float:
        """Draw it from a height on and return where the next starts [pt]."""
        pocket, size, x = self.pocket, self.size, MARGIN
        who = f"{pocket.species.name} ({', '.join(pocket.roles)})"
        air = pocket.air
        where = f"{air.name}: {air.low:.1f} % driest month, {air.high:.1f} % wettest"
        for text, bold in ((who, True), (where, False)):
            fit = paper.size_for([text], self.room, 99, (1.15 if bold else 0.85) * size, bold)
            paper.put(self.sheet, x, y, text, fit, bold)
            y += (0.95 if bold else 1.05) * self.line
        for number, (_, words) in enumerate(HEARTS):
            at = x + self.named + number * self.group
            paper.put(self.sheet, at + 8 + (self.group - 8) / 2, y, words, size, True, "center")
        y += self.line
        columns = [f"{m:.0f}%" for m in pocket.moistures]
        columns[0] = "green"
        self._row(y, "now at", [[*columns, "year"]] * len(HEARTS), False, 0.82)
        y += self.line
        paper.rule(self.sheet, x, x + self.room, y, 1.0)
        return self._body(y + 0.1 * self.line) + 0.15 * self.line

    def _body(self, y: float) -> float:
        pocket, system = self.pocket, self.system
        usual = {round(mm, 3) for mm in SIZES[system]}
        for number, mm in enumerate(pocket.sizes):
            moves = [(*pocket.lost[h, number], pocket.swing[h, number]) for h in range(len(HEARTS))]
            cells = [[movement_text(mm_lost, system) for mm_lost in row] for row in moves]
            if number % 2:
                self._shade(y)
            self._row(y, _size(mm, system), cells, mm not in usual)
            y += self.line
        along = [movement_text(v, system) for v in pocket.along]
        self._row(y, f"{show(LONG[system], system)} long", [along, [], []], False)
        paper.put(self.sheet, MARGIN + self.named + self.group + 8, y,
                  "along the grain, whatever the heart", self.size)  # fmt: skip
        return y + self.line

    def _shade(self, y: float) -> None:
        x0, x1 = MARGIN, MARGIN + self.room
        self.sheet.fill_between([x0, x1], y - 1, y + self.line - 1, color="#ececec", lw=0)

    def _row(
        self, y: float, name: str, groups: list[list[str]], bold: bool, scale: float = 1.0
    ) -> None:
        paper.put(self.sheet, MARGIN, y, name, self.size * scale, bold)
        for number, cells in enumerate(groups):
            for column, text in enumerate(cells):
                at = MARGIN + self.named + number * self.group + 8 + (column + 1) * self.step - 3
                paper.put(self.sheet, at, y, text, self.size * scale, bold, "right")

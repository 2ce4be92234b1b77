"""The plate of the usual cuts: where each lies in the log, and what drying makes of it."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from shrinkage.errors import ShrinkageError
from shrinkage.shape import Check, Section, Shape, dry
from shrinkage.shape_figures import AFTER, RING, WOOD, describe, draw, legend
from shrinkage.units import MM_PER_INCH, System

Piece = tuple[str, str, float, float, float, float, bool, Check | None]

# Letter, name, width, depth, centre from the pith [in], round or not, check; log by log.
LOGS: tuple[tuple[Piece, ...], ...] = (
    (
        ("A", "Flat-sawn board", 6.0, 1.0, 0.0, 5.6, False, None),
        ("B", "Quarter-sawn board", 4.5, 1.0, 6.0, 0.0, False, None),
        ("C", "Rift-sawn board", 3.0, 1.0, 4.8, 4.8, False, None),
        ("D", "Boxed heart, checked", 6.0, 6.0, 0.0, 0.0, False, "right"),
        ("E", "Square, rings slanting", 3.0, 3.0, -4.75, 4.3, False, None),
        ("F", "Round, off the heart", 3.25, 3.25, -4.8, -4.8, True, None),
        ("G", "Square, rings level", 3.5, 3.5, 0.0, -5.6, False, None),
    ),
    (("H", "Square, corner pith", 5.0, 5.0, 2.5, 2.5, False, None),),
)
_LOG_RADIUS = 8.8
_SMALL_RADIUS = 7.4


def pieces(s_r: float, s_t: float) -> dict[str, tuple[str, Shape]]:
    """Return the pieces of the plate, dried.

    Parameters
    ----------
    s_r, s_t : float
        Radial and tangential shrinkage [-].

    Returns
    -------
    dict of str to (str, Shape)
        Name and shape by letter.
    """
    result = {}
    for letter, name, width, depth, x, y, is_round, check in (p for log in LOGS for p in log):
        w, h, xp, yp = (size * MM_PER_INCH for size in (width, depth, -x, -y))
        result[letter] = (name, dry(Section(w, h, xp, yp, is_round), s_r, s_t, check))
    return result


def log_end(ax: Axes, log: tuple[Piece, ...], radius: float, spacing: float = 0.4) -> Axes:
    """Draw the end of a log with the pieces in it.

    Parameters
    ----------
    ax : Axes
        To draw on.
    log : tuple
        Its pieces, one of `LOGS`.
    radius, spacing : float
        Of the log, and between rings [in].

    Returns
    -------
    Axes
        The same.
    """
    ax.add_patch(Circle((0, 0), radius, fc=WOOD, ec="black", lw=2.6, zorder=1))
    for count in range(1, math.ceil(radius / spacing)):
        ax.add_patch(Circle((0, 0), count * spacing, fc="none", ec=RING, lw=0.5, zorder=2))
    for letter, _, width, depth, x, y, is_round, _ in log:
        look: dict[str, Any] = {"fc": (1, 1, 1, 0.55), "ec": "black", "lw": 1.3, "zorder": 3}
        if is_round:
            ax.add_patch(Circle((x, y), width / 2, **look))
        else:
            ax.add_patch(Rectangle((x - width / 2, y - depth / 2), width, depth, **look))
        ax.text(x, y, letter, ha="center", va="center", fontsize=12, fontweight="bold", zorder=6,
                bbox={"fc": "white", "ec": "none", "pad": 1.0})  # fmt: skip
    ax.set_xlim(-1.05 * radius, 1.05 * radius)
    ax.set_ylim(-1.05 * radius, 1.05 * radius)
    ax.set_aspect("equal")
    ax.axis("off")
    return ax


def plate(
    s_r: float, s_t: float, wood: str = "", magnify: float = 2.0, system: System = "imperial"
) -> Figure:
    """Return the plate: two log ends with the cuts in them, and each cut before and after.

    Parameters
    ----------
    s_r, s_t : float
        Radial and tangential shrinkage [-].
    wood : str
        Species and moistures, for the title.
    magnify : float
        How many times the movement is drawn [-].
    system : {'imperial', 'metric'}
        Units of the numbers.

    Returns
    -------
    Figure
        For a page on its side.

    Raises
    ------
    ShrinkageError
        If tangential shrinkage is below radial: the boxed heart could not check.
    """
    if s_t < s_r:
        raise ShrinkageError(f"plate: R {s_r!r}, T {s_t!r}; accepted: T at least R")
    figure = Figure(figsize=(12.6, 7.4))
    log_end(figure.add_axes((0.005, 0.36, 0.31, 0.53)), LOGS[0], _LOG_RADIUS)
    log_end(figure.add_axes((0.06, 0.055, 0.2, 0.29)), LOGS[1], _SMALL_RADIUS)
    for place, (letter, (name, shape)) in enumerate(pieces(s_r, s_t).items()):
        row, column = divmod(place, 4)
        left, low = 0.335 + 0.167 * column, 0.60 - 0.45 * row
        ax = figure.add_axes((left, low, 0.150, 0.255))
        draw(ax, shape, magnify, system, numbers=False)
        figure.text(left, low + 0.272, letter, fontsize=13, fontweight="bold")
        figure.text(left + 0.02, low + 0.272, name, fontsize=9.5)
        figure.text(left, low - 0.01, "\n".join(_under(shape, system)), fontsize=8.2, va="top",
                    linespacing=1.3)  # fmt: skip
    title = "How the place in the log decides the shape" + (f": {wood}" if wood else "")
    figure.text(0.01, 0.955, title, fontsize=14, fontweight="bold")
    figure.text(0.99, 0.012, legend(magnify), fontsize=9, ha="right", color=AFTER["color"])
    return figure


def _under(shape: Shape, system: System) -> list[str]:
    """Return the words of `describe` with the long ones cut, to stand under a small picture."""
    short = {"lower left corner": "corner", " degrees": "°", " wide at the face": "", " less": ""}
    lines = describe(shape, system)
    for long, brief in short.items():
        lines = [line.replace(long, brief) for line in lines]
    return lines

"""Pictures of a timber drying: where the water is, and what that has done to width and depth.

Drawn on given axes, lines labelled where they end, bands for slow to fast drying, events marked.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from shrinkage.drying import Drying
from shrinkage.units import System, show

Floats = NDArray[np.float64]

LEVELS = (0, 8, 10, 12, 15, 20, 25, 30, 40, 60, 100, 300)
"""Moisture contents at which the map changes tone [%]."""
DARK, MIDDLE, LIGHT = "#1b2a41", "#4f6d8f", "#c9d6e3"


def new_figure(width: float = 11.0, height: float = 4.0) -> tuple[Figure, Axes, Axes, Axes]:
    """Return a figure with axes for the section, the moisture and the movement.

    Titles elsewhere in this module are set at a fixed height: looking for a free one takes as long
    as the drawing.
    """
    figure = Figure(figsize=(width, height))
    section = figure.add_axes((0.015, 0.10, 0.25, 0.76))
    moisture = figure.add_axes((0.335, 0.13, 0.26, 0.73))
    movement = figure.add_axes((0.685, 0.13, 0.205, 0.73))
    return figure, section, moisture, movement


def section_map(ax: Axes, dried: Drying, member: int, date: int, covered: list[str]) -> None:
    """Draw the moisture over a section at one date, darker where wetter.

    Parameters
    ----------
    ax : Axes
        Where to draw; cleared first.
    dried : Drying
        With snapshots.
    member, date : int
        Which of them.
    covered : list of str
        Faces behind panels, drawn with a bold line.
    """
    ax.clear()
    x, y = dried.state.centre_x[member], dried.state.centre_y[member]
    half_w, half_h = dried.state.cell_x[member].sum() / 2, dried.state.cell_y[member].sum() / 2
    assert dried.snapshots is not None
    field = dried.snapshots[member, date].T
    # Stretched to the faces, so that the map fills the section.
    x, y = (np.concatenate([[-h], c[1:-1], [h]]) for h, c in ((half_w, x), (half_h, y)))
    shades = np.linspace(0.97, 0.25, len(LEVELS) - 1)
    ax.contourf(x, y, field, levels=LEVELS, colors=[str(shade) for shade in shades])
    lines = ax.contour(x, y, field, levels=LEVELS[1:-1], colors=DARK, linewidths=0.7)
    ax.clabel(lines, fmt="%d %%", fontsize=7)
    sides = {
        "left": ((-half_w, -half_w), (-half_h, half_h)),
        "right": ((half_w, half_w), (-half_h, half_h)),
        "bottom": ((-half_w, half_w), (-half_h, -half_h)),
        "top": ((-half_w, half_w), (half_h, half_h)),
    }
    for name, (across, up) in sides.items():
        ax.plot(across, up, color="black", lw=4.5 if name in covered else 0.8, clip_on=False)
    ax.set_aspect("equal")
    ax.set_axis_off()
    middle, mean = dried.core[member, date], dried.mean[member, date]
    head = f"Moisture, {_when(dried.days[date])}\nmean {mean:.0f} %, core {middle:.0f} %"
    ax.set_title(head, fontsize=9, y=1.01)
    if covered:
        ax.text(0, -half_h * 1.06, "bold edge: covered by panel", ha="center", va="top", fontsize=8)


def _when(days: float) -> str:
    count = f"{days / 365:.1f} years" if days >= 365 else f"{days:.0f} days"
    return f"{count} after sawing"


def moisture_lines(
    ax: Axes, dried: Drying, usual: int, board: int, marks: Mapping[str, float], at: float
) -> None:
    """Draw mean, surface and core moisture of a timber and a board's mean against time.

    Parameters
    ----------
    ax : Axes
        Where to draw; cleared first.
    dried : Drying
        All members.
    usual, board : int
        The timber at the usual coefficient, and the board.
    marks : mapping of str to float
        Events [days].
    at : float
        Date shown in the section [days].
    """
    years = dried.days / 365
    series = [
        ("core", dried.core[usual], DARK, "-"),
        ("mean", dried.mean[usual], MIDDLE, "-"),
        ("surface", dried.surface[usual], DARK, ":"),
        ("1 in board", dried.mean[board], "#9a6a1f", "--"),
    ]
    _start(ax, years, marks, at)
    for _, values, color, style in series:
        ax.plot(years, values, color=color, ls=style, lw=1.6)
    _labels(ax, years, [(name, values, color) for name, values, color, _ in series])
    ax.set_ylim(0, max(40.0, min(100.0, float(dried.core[usual].max()) * 1.08)))
    ax.set_title("Moisture content, %", fontsize=9, loc="left", y=1.01)


def movement_lines(
    ax: Axes,
    years: Floats,
    bodies: Mapping[str, tuple[Floats, str]],
    marks: Mapping[str, float],
    at: float,
    system: System,
) -> None:
    """Draw what width and depth have lost against time, with their bands.

    Parameters
    ----------
    ax : Axes
        Where to draw; cleared first.
    years : ndarray, shape (dates,)
        Time after sawing [years].
    bodies : mapping of str to tuple
        By name: what is lost, shape (bands, dates) [mm], and a colour.
    marks, at
        As `moisture_lines`.
    system : {'imperial', 'metric'}
        Of the labels.
    """
    _start(ax, years, marks, at)
    ends = []
    for name, (lost, color) in bodies.items():
        usual = lost[len(lost) // 2]
        if len(lost) > 1:
            least, most = lost.min(axis=0), lost.max(axis=0)
            ax.fill_between(years, least, most, color=color, alpha=0.25, lw=0)
        ax.plot(years, usual, color=color, lw=1.8)
        ends.append((f"{name} {show(float(usual[-1]), system, 32)}", usual, color))
    _labels(ax, years, ends)
    ax.set_ylim(0, 1.15 * max(float(lost.max()) for lost, _ in bodies.values()) or 1.0)
    ax.set_title("Lost since sawing, mm (band: slow to fast)", fontsize=9, loc="left", y=1.01)


def _start(ax: Axes, years: Floats, marks: Mapping[str, float], at: float) -> None:
    ax.clear()
    for name, day in marks.items():
        ax.axvline(day / 365, color="#8a8a8a", lw=0.8, ls=(0, (2, 2)))
        ax.text(day / 365, 0.99, f" {name}", rotation=90, va="top", ha="left", fontsize=7,
                transform=ax.get_xaxis_transform())  # fmt: skip
    ax.axvline(at / 365, color="black", lw=1.0)
    ax.set_xlim(0, float(years[-1]))
    ax.set_xlabel("years after sawing", fontsize=8)
    ax.tick_params(labelsize=8)
    ax.spines[["top", "right"]].set_visible(False)


def _labels(ax: Axes, years: Floats, series: list[tuple[str, Any, str]]) -> None:
    """Write each line's name at its end, apart from one another."""
    top = max(float(np.max(values)) for _, values, _ in series) or 1.0
    taken = -np.inf
    for name, values, color in sorted(series, key=lambda item: float(item[1][-1])):
        y = max(float(values[-1]), taken)
        ax.annotate(name, (1.0, y), xycoords=("axes fraction", "data"), xytext=(4, 0),
                    textcoords="offset points", fontsize=8, va="center", color=color,
                    annotation_clip=False)  # fmt: skip
        taken = y + 0.07 * top

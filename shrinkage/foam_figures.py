"""Pictures of the foam: its curve with what one joint asks of it, and line loads round a building.

Grey and black only, told apart by line, weight and hatch; every line is named where it is.
"""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from shrinkage.errors import ShrinkageError
from shrinkage.fasteners import FOR_THE_ENGINEER
from shrinkage.filling import Filling
from shrinkage.foam_answer import JointFoam, Stretch, along_the_building
from shrinkage.foam_life import SLACK, path
from shrinkage.foam_stress import Curve
from shrinkage.order import Order
from shrinkage.units import MM_PER_INCH, System, show, show_load

INCHES_A_FOOT = 12
KPA_PER_PSI = 6.894757293
N_M_PER_LB_FT = 14.593902937
CURVE: dict[str, Any] = {"color": "black", "lw": 2.0}
_PAPER: dict[str, Any] = {"fc": "white", "ec": "none", "pad": 1.0, "alpha": 0.9}
_GREY, _DARK = "#c9c9c9", "#4d4d4d"


def new_figure(width: float = 8.0, height: float = 4.2) -> tuple[Figure, Axes]:
    """Return a figure with one axes.

    Parameters
    ----------
    width, height : float
        Size [in].
    """
    figure = Figure(figsize=(width, height))
    return figure, figure.add_axes((0.09, 0.14, 0.88, 0.76))


def draw_stress_strain(
    ax: Axes, one: JointFoam, filling: Filling, system: System = "imperial"
) -> Axes:
    """Draw the foam's curve with one joint's first crushing and seasonal working marked on it.

    Parameters
    ----------
    ax : Axes
        To draw on; cleared first.
    one : JointFoam
        The joint.
    filling : Filling
        The foam as a material.
    system : {'imperial', 'metric'}
        Units of the stress axis.

    Returns
    -------
    Axes
        The same.
    """
    ax.clear()
    per, unit = (KPA_PER_PSI, "psi") if system == "imperial" else (1.0, "kPa")
    material, found = filling.material, one.life
    end = material.limit - (SLACK if isinstance(material, Curve) else 2e-3)
    strain = np.unique(np.append(np.linspace(0.0, end, 600), min(found.compression, end)))
    stress = material.stress(strain) * filling.relaxation / per
    takes = found.answer.foam.squeeze_once
    reach = stress[strain <= max(found.compression, min(takes, end))]
    top = 1.8 * float(reach.max())
    ax.plot(100 * strain, stress, **CURVE, label="curve")
    done = strain <= found.compression
    ax.fill_between(100 * strain[done], stress[done], color=_GREY, lw=0, label="first drying")
    _mark_worst(ax, one, per, unit, top)
    _mark_seasons(ax, one, top)
    ax.axvline(100 * takes, color=_DARK, lw=1.0, ls=(0, (5, 3)))
    ax.text(100 * takes + 1, 0.96 * top, f"takes {100 * takes:g} % once", va="top", fontsize=9,
            bbox=_PAPER)  # fmt: skip
    _mark_end(ax, material.limit, isinstance(material, Curve), top)
    ax.set(xlim=(0, 100), ylim=(0, top), xlabel="squeezed, % of the gap it was put in",
           ylabel=f"stress, {unit}")  # fmt: skip
    ax.set_title(textwrap.fill(f"{one.name}: {one.status}", 100), fontsize=10, loc="left")
    _bare(ax)
    return ax


def _mark_end(ax: Axes, limit: float, is_sheet: bool, top: float) -> None:
    """Hatch the strains the curve says nothing of."""
    ax.axvspan(100 * limit, 100, facecolor="white", edgecolor=_DARK, hatch="////", lw=0, alpha=0.5)
    x, side = (50 * (1 + limit), "center") if limit < 0.8 else (100 * limit - 1, "right")
    words = "past the sheet's last point" if is_sheet else "solid"
    ax.text(x, 0.3 * top, words, ha=side, fontsize=9, bbox=_PAPER, zorder=6)


def _mark_worst(ax: Axes, one: JointFoam, per: float, unit: str, top: float) -> None:
    """Mark the most it is squeezed, with stress and line load."""
    found = one.life
    at = 100 * found.compression
    if found.stress is None or found.line_load is None:
        ax.axvline(min(at, 100), color="black", lw=1.2)
        x, side = (at + 1, "left") if at < 60 else (min(at, 100) - 1, "right")
        ax.text(x, 0.78 * top, f"the joint asks for {at:.0f} %", ha=side, fontsize=9, bbox=_PAPER)
        return
    stress = found.stress / per
    ax.plot([at], [stress], "o", color="black", ms=7, zorder=5)
    load = show_load(found.line_load, "line load", "imperial" if unit == "psi" else "metric")
    words = f"driest: {at:.0f} %, {stress:.1f} {unit}\n{load} along the joint"
    ax.annotate(words, (at, stress), (min(at, 45), 0.62 * top), fontsize=9, ha="center",
                bbox=_PAPER, arrowprops={"arrowstyle": "-", "lw": 0.8})  # fmt: skip


def _mark_seasons(ax: Axes, one: JointFoam, top: float) -> None:
    """Mark where the seasons of the last year work it, as an arrow below the curve."""
    through, seasons = path(one.life.answer), one.life.answer.seasons
    start = max(seasons.line.last_year - seasons.line.foamed, 0)
    last = through.compression[through.compression.shape[0] // 2, start:, 2]
    low, high = 100 * float(last.min()), 100 * float(last.max())
    if high - low < 0.5:
        return
    y = 0.09 * top
    ax.annotate("", (low, y), (high, y), arrowprops={"arrowstyle": "<->", "lw": 1.4})
    ax.text((low + high) / 2, y + 0.02 * top, f"seasons, {low:.0f} to {high:.0f} %", ha="center",
            va="bottom", fontsize=9, bbox=_PAPER)  # fmt: skip


def draw_line_load(ax: Axes, order: Order, system: System = "imperial") -> Axes:
    """Draw what the foam pushes the roof up with along the tops of the walls, and what holds it.

    Parameters
    ----------
    ax : Axes
        To draw on; cleared first.
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}
        Units of both axes.

    Returns
    -------
    Axes
        The same.

    Raises
    ------
    ShrinkageError
        If no wall has a top.
    """
    stretches = along_the_building(order)
    if not stretches:
        raise ShrinkageError("line load: no wall to draw; accepted: an order with a wall")
    ax.clear()
    per, unit = (N_M_PER_LB_FT, "lb/ft") if system == "imperial" else (1.0, "N/m")
    along, far = (MM_PER_INCH * INCHES_A_FOOT, "ft") if system == "imperial" else (1000.0, "m")
    loads = [s.foam.life.line_load or 0.0 for s in stretches]
    loads += [s.foam.holds or 0.0 for s in stretches]
    top = 1.45 * max(max(loads) / per, 1.0)
    for stretch in stretches:
        _bar(ax, stretch, per, along, top, system)
    ends = [s.start / along for s in stretches] + [stretches[-1].end / along]
    held = order.frame.hold_down
    note = f"held down, {FOR_THE_ENGINEER}: bold line" if held else "what holds it down: not stated"
    ax.set(xlim=(0, ends[-1]), ylim=(0, top), xticks=ends,
           xlabel=f"along the tops of the walls, {far}", ylabel=f"line load, {unit}")  # fmt: skip
    ax.set_xticklabels([f"{end:.0f}" for end in ends])
    unknown = all(stretch.foam.life.line_load is None for stretch in stretches)
    if unknown:  # an axis of numbers would say something where nothing is known
        ax.set_yticks([])
    ax.set_title(f"Foam pushes the roof up: grey; {note}", fontsize=10, loc="left")
    _bare(ax)
    return ax


def _bar(ax: Axes, stretch: Stretch, per: float, along: float, top: float, system: System) -> None:
    """Draw one wall's load as a block, what holds as a bold line across it, and its name."""
    x0, x1 = stretch.start / along, stretch.end / along
    middle, found = (x0 + x1) / 2, stretch.foam
    ax.text(middle, 0.97 * top, stretch.wall, ha="center", va="top", fontsize=10, weight="bold",
            bbox=_PAPER)  # fmt: skip
    load = found.life.line_load
    if load is None:
        ax.fill_between([x0, x1], [top, top], facecolor="none", edgecolor=_DARK, hatch="xx", lw=0)
        ax.text(middle, 0.5 * top, "does not fit", ha="center", fontsize=9, bbox=_PAPER)
    else:
        ax.fill_between([x0, x1], [load / per] * 2, facecolor=_GREY, edgecolor=_DARK, lw=0.8)
        words = "pushes\n" + show_load(load, "line load", system).replace(" (", "\n(")
        # Clear of the line that holds: above it in the block where there is room, under it if not.
        line = (found.holds or 0.0) / per
        above_line = line + 0.03 * top if load / per - line > 0.25 * top else 0.03 * top
        ax.text(middle, above_line, words, ha="center", va="bottom", fontsize=9)
    if found.holds is None:
        return
    ax.plot([x0, x1], [found.holds / per] * 2, color="black", lw=2.6, solid_capstyle="butt")
    margin = "" if found.margin is None else f"\nmargin {found.margin:.2f}"
    number = show_load(found.holds, "line load", system).split(" (")[0]
    above = max(found.holds, load or 0.0) / per + 0.02 * top
    ax.text(middle, above, f"held by {number}{margin}", ha="center", va="bottom", fontsize=9)


def describe(one: JointFoam, system: System = "imperial") -> str:
    """Return in words what `draw_stress_strain` shows, for those who cannot see it.

    Parameters
    ----------
    one : JointFoam
        The joint.
    system : {'imperial', 'metric'}
        Of the text.
    """
    found = one.life
    gap = show(found.answer.gap_foamed, system)
    text = f"{one.name}: a gap of {gap} when foamed is squeezed {100 * found.compression:.0f} %"
    if found.stress is not None and found.line_load is not None:
        text += (
            f", {show_load(found.stress, 'pressure', system)}, "
            f"{show_load(found.line_load, 'line load', system)} along the joint"
        )
    return f"{text}. {one.status[:1].upper()}{one.status[1:]}."


def _bare(ax: Axes) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)

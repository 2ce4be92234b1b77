"""Pictures of doubt: how far a joint closes, when, and what the doubt is made of.

Made for grey paper: what differs differs in lightness, hatching and label. Each function draws on
the axes it is given and returns what the picture shows, in words.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from textwrap import wrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from shrinkage.chance import Chance
from shrinkage.drivers import Driver
from shrinkage.sampled import Plan, plan, through_time
from shrinkage.spread import Floats
from shrinkage.timber import STATES
from shrinkage.units import MM_PER_INCH, System, show

DARK, MIDDLE, PALE, TOUCH = "#222222", "#7a7a7a", "#d9d9d9", "#8a1c1c"
BINS = 60
SHOWN = 10
SMALL = 9
NOTHING = MM_PER_INCH / 128
"""A saving below this is none [mm]."""


def new_figure(width: float = 7.0, height: float = 2.6) -> tuple[Figure, Axes]:
    """Return a figure with one pair of axes; size in inches."""
    figure = Figure(figsize=(width, height))
    return figure, figure.add_axes((0.10, 0.22, 0.87, 0.66))


def scale(system: System) -> tuple[float, str]:
    """Return what a millimetre is divided by, and the unit's name."""
    return (MM_PER_INCH, "in") if system == "imperial" else (1.0, "mm")


def bare(ax: Axes) -> None:
    """Clear axes and take away the lines that say nothing."""
    ax.clear()
    ax.tick_params(labelsize=SMALL)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def histogram(ax: Axes, found: Chance, gap: float, system: System) -> str:
    """Draw how far the wood comes, errors included, against a gap; the touching side is shaded.

    Parameters
    ----------
    ax : Axes
        Cleared first.
    found : Chance
        The draws.
    gap : float
        On the day [mm].
    system : {'imperial', 'metric'}
        Of the axis.

    Returns
    -------
    str
        In words.
    """
    bare(ax)
    per, unit = scale(system)
    reach = found.sample.reach / per
    counts, edges = np.histogram(reach, BINS)
    heights = counts / counts.sum()
    touching = edges[:-1] >= gap / per
    ax.stairs(heights, edges, fill=True, color=PALE, edgecolor=DARK, lw=0.8)
    if touching.any():
        ax.stairs(np.where(touching, heights, 0), edges, fill=True, facecolor="#e3b7b7",
                  edgecolor=TOUCH, hatch="////", lw=0.8)  # fmt: skip
    top = float(heights.max())
    share = float(np.mean(found.sample.reach >= gap))
    marks = ((gap, "gap on the day", DARK, "-", 1.02),
             (found.gap_clear, f"clear in {found.certainty:g} %", MIDDLE, "--", 0.80))  # fmt: skip
    high = max(float(edges[-1]), gap / per)
    for at, name, colour, dashes, height in marks:
        ax.plot([at / per] * 2, [0, height * top], color=colour, lw=1.6, ls=dashes)
        late = at / per > float(edges[0]) + 0.75 * (high - float(edges[0]))
        ax.annotate(f" {name} {show(at, system, 32)} ", (at / per, height * top), fontsize=SMALL,
                    ha="right" if late else "left", va="top")  # fmt: skip
    ax.set_xlim(min(float(edges[0]), gap / per), high * 1.02)
    ax.set_ylim(0, 1.12 * top)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.set_xlabel(f"how far the wood comes towards the panel, errors included, {unit}",
                  fontsize=SMALL)  # fmt: skip
    said = f"touches in {100 * share:.2g} % of draws" if share else "touches in no draw"
    ax.set_title(f"Chance of touching: {said}", fontsize=SMALL + 1)
    return (
        f"Histogram of {found.sample.draws} draws: wood comes {show(found.closure.low, system, 32)}"
        f" to {show(found.closure.high, system, 32)} closer in nine draws of ten; with a gap of "
        f"{show(gap, system, 32)} it {said}."
    )


def driver_bars(
    ax: Axes, found: Sequence[Driver], system: System, shown: int = SHOWN, worth: bool = True
) -> str:
    """Draw what the doubt is made of, the greatest part on top, with what knowing it saves.

    Parameters
    ----------
    ax : Axes
        Cleared first.
    found : sequence of Driver
        The greatest first.
    system : {'imperial', 'metric'}
        Of what knowing saves.
    shown : int
        How many bars.
    worth : bool
        Whether to write what knowing saves.

    Returns
    -------
    str
        In words.
    """
    bare(ax)
    parts = list(found[:shown])
    places = np.arange(len(parts))[::-1]
    ax.barh(places, [max(d.total, 0.0) for d in parts], 0.72, color=PALE, edgecolor=DARK, lw=0.8,
            label="with others (total)")  # fmt: skip
    ax.barh(places, [max(d.first, 0.0) for d in parts], 0.36, color=MIDDLE, edgecolor=DARK, lw=0.8,
            label="alone (first order)")  # fmt: skip
    for at, driver in zip(places, parts, strict=True):
        note = f" {100 * max(driver.total, 0):.0f} %"
        if worth and driver.saves > NOTHING:
            note += f", knowing it saves {saving(driver.saves, system)}"
        ax.text(max(driver.total, driver.first, 0.0), at, note, va="center", fontsize=SMALL - 1)
    ax.set_yticks(places, ["\n".join(wrap(d.group, 34)) for d in parts],
                  fontsize=SMALL - 1)  # fmt: skip
    widest = max((d.total for d in parts), default=1.0)
    ax.set_xlim(0, max(1.9 * widest if worth else 1.25 * widest, 0.05))
    ax.set_ylim(-0.6, max(len(parts) - 0.4, 0.5))
    ax.set_xlabel("share of the doubt about the gap (variance)", fontsize=SMALL)
    ax.xaxis.set_major_formatter(lambda x, _: f"{100 * x:.0f} %")
    if parts:
        ax.legend(fontsize=SMALL - 1, loc="lower right", frameon=False)
    if not parts:
        return "Nothing spreads."
    first = parts[0]
    return (
        f"Most of the doubt about the gap: {first.group} ({100 * first.total:.0f} %); knowing it "
        f"saves {saving(first.saves, system)} of gap on average."
    )


def saving(mm: float, system: System) -> str:
    """Write a small saving: sixty-fourths of an inch, or tenths of a millimetre."""
    if mm <= NOTHING:
        return "under 1/64 in" if system == "imperial" else "under 0.2 mm"
    return show(mm, system, 64) if system == "imperial" else f"{mm:.1f} mm"


def time_band(ax: Axes, made: Plan, gap: float, system: System, draws: int = 1024) -> str:
    """Draw the gap through time with its 5 to 95 % band; without a calendar through the seasons.

    Parameters
    ----------
    ax : Axes
        Cleared first.
    made : Plan
        The joint.
    gap : float
        On the day [mm].
    system : {'imperial', 'metric'}
        Of the axis.
    draws : int
        For the band.

    Returns
    -------
    str
        In words.
    """
    bare(ax)
    per, unit = scale(system)
    followed = plan(made.joint, made.foam, made.rules, made.spread, all_times=True)
    low, middle, high = (gap - through_time(followed, (0.95, 0.5, 0.05), draws)) / per
    line = made.seasons.line
    if line.sawn is None:
        _by_season(ax, low, middle, high)
        ax.set_title("Gap on the day and in service (band: nine draws of ten)", fontsize=SMALL + 1)
    else:
        years = (line.days - line.days[0]) / 365.0
        ax.fill_between(years, low, high, color=PALE, lw=0)
        ax.plot(years, middle, color=DARK, lw=1.4)
        _marks(ax, line, years)
        ax.set_xlabel("years since the panels went on", fontsize=SMALL)
        ax.set_title("Gap through time (band: nine draws of ten)", fontsize=SMALL + 1)
        ax.set_xlim(0, float(years[-1]))
    ax.axhline(0, color=TOUCH, lw=1.2, ls=(0, (4, 2)))
    ax.set_ylim(min(0.0, 1.1 * float(low.min())) - 0.04 * gap / per, 1.16 * float(high.max()))
    ax.set_ylabel(f"gap, {unit}", fontsize=SMALL)
    day = line.sawn + timedelta(days=float(line.days[0])) if line.sawn else None
    when = f" from {day}" if day else ""
    return (
        f"Gap{when}: {show(gap, system, 32)} on the day, at its least "
        f"{show(float(middle.min()) * per, system, 32)} "
        f"({show(float(low.min()) * per, system, 32)} to "
        f"{show(float(high[low.argmin()]) * per, system, 32)})."
    )


def _by_season(ax: Axes, low: Floats, middle: Floats, high: Floats) -> None:
    names = ("panels on", *(f"{state} month" if state != "usual" else "usual" for state in STATES))
    at = np.arange(len(names))
    ax.bar(at, high - low, 0.5, bottom=low, color=PALE, edgecolor=DARK, lw=0.8)
    ax.plot(at, middle, "o", color=DARK, ms=5)
    ax.set_xticks(at, names)
    ax.set_xlim(-0.6, len(names) - 0.4)


def _marks(ax: Axes, line: Any, years: Floats) -> None:
    for name, row in line.marks.items():
        if name in ("foamed", "heated"):
            ax.axvline(years[row], color=MIDDLE, lw=0.9, ls=":")
            level = 0.98 if name == "heated" else 0.10
            ax.text(years[row], level, f" {name}", transform=ax.get_xaxis_transform(),
                    fontsize=SMALL - 1, va="top" if level > 0.5 else "bottom")  # fmt: skip

"""Pictures that compare species: ranked bars, radial against tangential, and air against moisture.

Every bar and point carries its value or name in words; chosen species are told by shape and weight
as well as by tone.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes

from shrinkage.climate import emc
from shrinkage.errors import RangeWarning
from shrinkage.species import Species

PLAIN, CHOSEN = "#b9c4cf", "#1b2a41"
MOST_BARS = 18


def ranked(ax: Axes, values: Mapping[str, float], chosen: Sequence[str], label: str) -> list[str]:
    """Draw species as bars, greatest first, the chosen ones always among them.

    Parameters
    ----------
    ax : Axes
        Where to draw; cleared first.
    values : mapping of str to float
        By species.
    chosen : sequence of str
        Species to pick out.
    label : str
        What the values are, with the unit.

    Returns
    -------
    list of str
        The species shown, from the top.
    """
    ax.clear()
    order = sorted(values, key=lambda name: values[name], reverse=True)
    shown = shortened(order, [name for name in order if name in chosen])
    places = np.arange(len(shown))[::-1]
    for place, name in zip(places, shown, strict=True):
        picked = name in chosen
        ax.barh(place, values[name], height=0.72, color=CHOSEN if picked else PLAIN)
        ax.text(values[name], place, f" {values[name]:.3g}", va="center", fontsize=8,
                fontweight="bold" if picked else "normal")  # fmt: skip
        ax.text(0, place, f"{order.index(name) + 1}. {name} ", ha="right", va="center", fontsize=8)
    ax.set_xlim(0, 1.15 * max(values.values()))
    ax.set_ylim(-0.6, len(shown) - 0.4)
    ax.set_axis_off()  # every bar carries its value
    ax.text(-0.58, 1.02, f"{label}; {len(shown)} of {len(order)} shown", fontsize=9,
            transform=ax.transAxes)  # fmt: skip
    return shown


def shortened(order: Sequence[str], chosen: Sequence[str]) -> list[str]:
    """Return a ranking cut to `MOST_BARS`: even steps through it, both ends and the chosen kept."""
    if len(order) <= MOST_BARS:
        return list(order)
    steps = np.linspace(0, len(order) - 1, MOST_BARS - len(chosen)).round().astype(int)
    keep = {order[step] for step in steps} | set(chosen)
    return [name for name in order if name in keep]


def scatter(ax: Axes, woods: Mapping[str, Species], chosen: Sequence[str]) -> None:
    """Draw tangential against radial shrinkage, with lines of equal T/R.

    Parameters
    ----------
    ax : Axes
        Where to draw; cleared first.
    woods : mapping of str to Species
        With tangential shrinkage.
    chosen : sequence of str
        Species to name in the picture.
    """
    ax.clear()
    for group, marker in (("softwood", "o"), ("hardwood", "^")):
        points = [(100 * w.s_r, 100 * w.tangential) for w in woods.values() if w.group == group]
        if points:
            x, y = np.array(points).T
            ax.scatter(x, y, s=18, marker=marker, facecolor="none", edgecolor="#77828d", lw=0.8)
    top = 100 * max(w.tangential for w in woods.values())
    right = 100 * max(w.s_r for w in woods.values())
    for ratio in (1, 1.5, 2, 3):
        end = min(right, top / ratio)
        ax.plot((0, end), (0, ratio * end), color="#b0b0b0", lw=0.7, ls=(0, (3, 2)))
        ax.text(end, ratio * end, f"T/R {ratio:g}", fontsize=7, color="#5b5b5b", va="bottom")
    for name in chosen:
        if name in woods:
            x, y = 100 * woods[name].s_r, 100 * woods[name].tangential
            ax.plot(x, y, marker="D", ms=6, color=CHOSEN)
            ax.annotate(name, (x, y), xytext=(6, -9), textcoords="offset points", fontsize=8,
                        bbox={"fc": "white", "ec": "none", "pad": 0.8, "alpha": 0.85})  # fmt: skip
    ax.set_xlim(0, 1.12 * right)
    ax.set_ylim(0, 1.08 * top)
    ax.set_xlabel("radial shrinkage, %", fontsize=8)
    ax.set_title("Tangential, % against radial; circles softwoods, triangles hardwoods",
                 fontsize=9, loc="left", y=1.01)  # fmt: skip
    ax.tick_params(labelsize=8)
    ax.spines[["top", "right"]].set_visible(False)


def air_map(ax: Axes) -> None:
    """Draw equilibrium moisture over temperature and humidity.

    Parameters
    ----------
    ax : Axes
        Where to draw; cleared first. `air_path` then goes on top, as often as it changes.
    """
    ax.clear()
    temp, rh = np.meshgrid(np.linspace(-10, 40, 26), np.linspace(5, 95, 31))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # below -1.1 C: said in the picture
        moisture = emc(temp, rh)
    levels = (2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 24)
    lines = ax.contour(temp, rh, moisture, levels=levels, colors="#4f6d8f", linewidths=0.9)
    ax.clabel(lines, fmt="%d %%", fontsize=8)
    ax.axvspan(-10, -1.1, color="#eeeeee", zorder=0)
    ax.text(-9.6, 7, "extrapolated", fontsize=7, color="#5b5b5b")
    ax.set_xlim(-10, 40)
    ax.set_ylim(5, 95)
    ax.set_xlabel("air temperature, °C", fontsize=8)
    head = "Relative humidity, %; lines: moisture wood settles at"
    ax.set_title(head, fontsize=9, loc="left", y=1.01)
    ax.tick_params(labelsize=8)


def air_path(ax: Axes, start: tuple[float, float], stop: tuple[float, float]) -> list[Artist]:
    """Draw a change of air on an `air_map` as an arrow, circle to square.

    Parameters
    ----------
    ax : Axes
        Of the map.
    start, stop : tuple of float
        Temperature [deg C] and relative humidity [%], before and after.

    Returns
    -------
    list of Artist
        What was drawn, for taking away again.
    """
    drawn: list[Artist] = []
    if start != stop:
        how = {"arrowstyle": "-|>", "lw": 2, "color": "black"}
        drawn.append(ax.annotate("", xy=stop, xytext=start, arrowprops=how))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        ends = [float(emc(*air)) for air in (start, stop)]
    for (t, h), value, mark in zip((start, stop), ends, ("o", "s"), strict=True):
        drawn += ax.plot(t, h, marker=mark, ms=7, mfc="white", mec="black", mew=1.6)
        drawn.append(ax.annotate(f"{value:.1f} %", (t, h), xytext=(8, 6), fontsize=9,
                                 textcoords="offset points", fontweight="bold"))  # fmt: skip
    return drawn

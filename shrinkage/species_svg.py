"""Pictures that compare species: ranked bars, radial against tangential, and air against moisture.

Hand-written SVG. Every bar and point carries its value or name in words; chosen species are told by
shape and weight as well as by tone. What no control changes is put together once.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np

from shrinkage.climate import emc
from shrinkage.errors import RangeWarning
from shrinkage.species import Species
from shrinkage.svg_charts import bars
from shrinkage.svg_contours import Contours
from shrinkage.svg_parts import DARK, Plot, frame, named, path, pen, points, text

MOST_BARS = 18
WIDE, TALL = 440.0, 340.0
"""Of the scatter and the map of air [px]."""
LEVELS = (2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 24)
"""Moistures drawn over the air [%]."""
KNOWN_FROM = -1.1
"""Below this the equation for the moisture is extrapolated [deg C]."""
_AIR = Plot(40, 28, WIDE - 14, TALL - 40, -10.0, 40.0, 5.0, 95.0)


def ranked(values: Mapping[str, float], chosen: Sequence[str], label: str, words: str) -> str:
    """Return species as bars, greatest first, the chosen ones always among them.

    Parameters
    ----------
    values : mapping of str to float
        By species.
    chosen : sequence of str
        Species to pick out.
    label : str
        What the values are, with the unit.
    words : str
        For those who cannot see it.
    """
    order = sorted(values, key=lambda name: values[name], reverse=True)
    shown = shortened(order, [name for name in order if name in chosen])
    rows = {name: f"{order.index(name) + 1}. {name}" for name in shown}
    return bars(
        [(rows[name], values[name], f"{values[name]:.3g}") for name in shown],
        f"{label}; {len(shown)} of {len(order)} shown",
        words,
        [rows[name] for name in shown if name in chosen],
    )


def shortened(order: Sequence[str], chosen: Sequence[str]) -> list[str]:
    """Return a ranking cut to `MOST_BARS`: even steps through it, both ends and the chosen kept."""
    if len(order) <= MOST_BARS:
        return list(order)
    steps = np.linspace(0, len(order) - 1, MOST_BARS - len(chosen)).round().astype(int)
    keep = {order[step] for step in steps} | set(chosen)
    return [name for name in order if name in keep]


def scatter(woods: Mapping[str, Species], chosen: Sequence[str], words: str) -> str:
    """Return tangential against radial shrinkage, with lines of equal T/R.

    Parameters
    ----------
    woods : mapping of str to Species
        With tangential shrinkage.
    chosen : sequence of str
        Species to name in the picture.
    words : str
        For those who cannot see it.
    """
    top = 100 * max(w.tangential for w in woods.values())
    right = 100 * max(w.s_r for w in woods.values())
    plot = Plot(36, 28, WIDE - 14, TALL - 40, 0.0, 1.12 * right, 0.0, 1.08 * top)
    parts = [
        text(
            4, 15, "Tangential, % against radial; circles softwoods, triangles hardwoods", size=12
        ),
        *plot.x_axis("radial shrinkage, %", 6),
        *plot.y_axis(6),
    ]
    for ratio in (1, 1.5, 2, 3):
        end = min(right, top / ratio)
        parts.append(plot.line((0, end), (0, ratio * end), "ratio", pen("#a0a0a0", 0.8, "3 2")))
        at = float(plot.x(end)), float(plot.y(ratio * end)) - 3
        parts.append(text(*at, f"T/R {ratio:g}", "middle", 9, 'fill="#4d4d4d"'))
    marked, others = [], []
    for name, wood in woods.items():
        x, y = float(plot.x(100 * wood.s_r)), float(plot.y(100 * wood.tangential))
        if name in chosen:
            marked.append((x, y, name))
            continue
        others.append((x, y))
        if wood.group == "softwood":
            parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" {_HOLLOW}/>')
        else:
            parts.append(path(f"M{x:.1f} {y - 4:.1f}l3.6 6.4h-7.2Z", "hardwood", look=pen(*_THIN)))
    parts += [path(f"M{x:.1f} {y - 5.5:.1f}l5 5.5l-5 5.5l-5 -5.5Z", "chosen", DARK)
              for x, y, _ in marked]  # fmt: skip
    return frame(WIDE, TALL, words, [*parts, *named(marked, plot.edges, others)])


_THIN = ("#6a757f", 0.9)
_HOLLOW = f'fill="none" {pen(*_THIN)}'


@cache
def _air_map() -> str:
    """Return equilibrium moisture over temperature and humidity: no control changes it."""
    temp, rh = np.linspace(-10, 40, 51), np.linspace(5, 95, 61)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # below -1.1 C: said in the picture
        moisture = emc(*np.meshgrid(temp, rh))
    x = float(_AIR.x(KNOWN_FROM))
    parts = [
        f'<rect x="{_AIR.left}" y="{_AIR.top}" width="{x - _AIR.left:.1f}" '
        f'height="{_AIR.bottom - _AIR.top}" fill="#ececec"/>',
        *Contours(_AIR, temp, rh, moisture).lines(LEVELS, pen("#4f6d8f", 1)),
        text(_AIR.left + 3, _AIR.bottom - 5, "extrapolated", size=9, halo=True),
        text(4, 15, "Relative humidity, %; lines: moisture wood settles at", size=12),
        *_AIR.x_axis("air temperature, °C", 6),
        *_AIR.y_axis(5),
    ]
    return "".join(parts)


def air(start: tuple[float, float], stop: tuple[float, float], words: str) -> str:
    """Return a change of air as an arrow over the moisture that wood settles at.

    Parameters
    ----------
    start, stop : tuple of float
        Temperature [deg C] and relative humidity [%], before (a circle) and after (a square).
    words : str
        For those who cannot see it.
    """
    ends = [(float(_AIR.x(t)), float(_AIR.y(h))) for t, h in (start, stop)]
    (x0, y0), (x1, y1) = ends
    look = f'fill="white" {pen("black", 1.8)}'
    parts = [
        _air_map(),
        *_arrow((x0, y0), (x1, y1)),
        f'<circle class="start" cx="{x0:.1f}" cy="{y0:.1f}" r="4.5" {look}/>',
        f'<rect class="stop" x="{x1 - 4:.1f}" y="{y1 - 4:.1f}" width="8" height="8" {look}/>',
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        labels = [(x, y, f"{float(emc(*air)):.1f} %")
                  for (x, y), air in zip(ends, (start, stop), strict=True)]  # fmt: skip
    parts += named(labels, _AIR.edges, size=13, look='font-weight="bold"')
    return frame(WIDE, TALL, words, parts)


def _arrow(start: tuple[float, float], stop: tuple[float, float]) -> list[str]:
    """Return an arrow that ends short of the marks at its ends; none where there is no room."""
    long = math.dist(start, stop)
    if long < 14:
        return []
    way = np.subtract(stop, start) / long
    tip, side = stop - 7 * way, np.array([-way[1], way[0]])
    wings = [tip - 11 * way + 4.5 * side, tip - 11 * way - 4.5 * side]
    head = points(*np.array([tip, *wings]).T)
    shaft = points(*np.array([start, tip - 8 * way]).T)
    return [path(f"M{shaft}", "arrow", look=pen("black", 2)), path(f"M{head}Z", "head", "black")]

"""Pictures of a timber drying: where the water is, and what that has done to width and depth.

Hand-written SVG: a slider that only looks back rewrites the map and moves a line in charts that
stand. Lines are named where they end, bands run from slow to fast drying, events are marked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shrinkage.drying import Drying
from shrinkage.svg_contours import Contours
from shrinkage.svg_parts import DARK, Plot, frame, path, pen, text
from shrinkage.units import MM_PER_INCH, System, show

Floats = NDArray[np.float64]

LEVELS = (0, 8, 10, 12, 15, 20, 25, 30, 40, 60, 100, 300)
"""Moisture contents at which the map changes tone [%]."""
SHADES = tuple(f"#{round(255 * s):02x}{round(255 * s):02x}{round(255 * s):02x}"
               for s in np.linspace(0.97, 0.38, len(LEVELS) - 1))  # fmt: skip
"""Darker where wetter, and never so dark that a line on it is lost."""
TIMBER, DEPTH, BOARD = "#1b2a41", "#4f6d8f", "#8a5a12"
WIDE, TALL = 316.0, 292.0
"""A chart [px]."""
MAP, MAP_TALL = 212.0, 292.0
_SIDE = 184.0


def when(days: float) -> str:
    """Write a time after sawing."""
    count = f"{days / 365:.1f} years" if days >= 365 else f"{days:.0f} days"
    return f"{count} after sawing"


def section_map(dried: Drying, member: int, date: int, covered: Sequence[str]) -> str:
    """Return the moisture over a section at one date, darker where wetter.

    Parameters
    ----------
    dried : Drying
        With snapshots.
    member, date : int
        Which of them.
    covered : sequence of str
        Faces behind panels, drawn with a bold line.
    """
    assert dried.snapshots is not None
    state = dried.state
    half_w, half_h = state.cell_x[member].sum() / 2, state.cell_y[member].sum() / 2
    scale = _SIDE / max(2 * half_w, 2 * half_h)
    middle_x, middle_y = MAP / 2, 46 + _SIDE / 2
    plot = Plot(middle_x - half_w * scale, middle_y - half_h * scale, middle_x + half_w * scale,
                middle_y + half_h * scale, -half_w, half_w, -half_h, half_h)  # fmt: skip
    # Stretched to the faces, so that the map fills the section.
    x, y = (
        np.concatenate([[-half], centre[1:-1], [half]])
        for half, centre in ((half_w, state.centre_x[member]), (half_h, state.centre_y[member]))
    )
    field = Contours(plot, x, y, dried.snapshots[member, date].T)
    core, mean = dried.core[member, date], dried.mean[member, date]
    said = f"mean {mean:.0f} %, core {core:.0f} %"
    head = f"Moisture, {when(dried.days[date])}"
    bold = [name for name in ("left", "right", "bottom", "top") if name in covered]
    parts = [
        text(middle_x, 15, head, "middle", 12),
        text(middle_x, 31, said, "middle"),
        *field.tones(LEVELS, SHADES),
        *field.lines(LEVELS[1:-1], pen(TIMBER, 0.8)),
        *_faces(plot, bold),
        *_key(248.0),
    ]
    if bold:
        parts.append(text(middle_x, 287, "bold edge: covered by panel", "middle"))
    words = f"{head}: {said}." + (f" Covered by panel: {', '.join(bold)}." if bold else "")
    return frame(MAP, MAP_TALL, words, parts)


def _faces(plot: Plot, covered: Sequence[str]) -> list[str]:
    """Return the edges of a section, those that are covered bold."""
    ends = {
        "left": f"M{plot.left:.1f} {plot.top:.1f}V{plot.bottom:.1f}",
        "right": f"M{plot.right:.1f} {plot.top:.1f}V{plot.bottom:.1f}",
        "bottom": f"M{plot.left:.1f} {plot.bottom:.1f}H{plot.right:.1f}",
        "top": f"M{plot.left:.1f} {plot.top:.1f}H{plot.right:.1f}",
    }
    return [
        path(d, "covered" if name in covered else "open",
             look=pen("black", 5 if name in covered else 1))
        for name, d in ends.items()
    ]  # fmt: skip


def _key(top: float) -> list[str]:
    """Return the tones with the moistures between them."""
    step = (MAP - 12) / len(SHADES)
    parts = [text(6, top + 21, "%", size=9)]
    for number, (shade, level) in enumerate(zip(SHADES, LEVELS, strict=False)):
        x = 6 + step * number
        parts.append(
            f'<rect x="{x:.1f}" y="{top}" width="{step:.1f}" height="10" fill="{shade}" '
            f"{pen(DARK, 0.5)}/>"
        )
        if number:
            parts.append(text(x, top + 21, f"{level}", "middle", 9))
    return parts


@dataclass(frozen=True)
class TimeChart:
    """A chart over the years that stands, but for the line at the date looked at.

    Parameters
    ----------
    plot : Plot
        Years after sawing across.
    words : str
        What it shows.
    parts : sequence of str
        All but that line.
    """

    plot: Plot
    words: str
    parts: Sequence[str]

    def at(self, days: float) -> str:
        """Return the picture with its line at a date [days after sawing]."""
        x = float(self.plot.x(days / 365))
        line = path(f"M{x:.1f} {self.plot.top}V{self.plot.bottom}", "now", look=pen("black", 1.4))
        return frame(WIDE, TALL, self.words, [*self.parts, line])


def moisture_chart(dried: Drying, usual: int, board: int, marks: Mapping[str, float]) -> TimeChart:
    """Return mean, surface and core moisture of a timber and a board's mean against time.

    Parameters
    ----------
    dried : Drying
        All members.
    usual, board : int
        The timber at the usual coefficient, and the board.
    marks : mapping of str to float
        Events [days].
    """
    series = (
        ("core", dried.core[usual], pen(TIMBER, 2.2), TIMBER),
        ("mean", dried.mean[usual], pen(DEPTH, 1.6), DEPTH),
        ("surface", dried.surface[usual], pen(TIMBER, 1.6, "1.5 3"), TIMBER),
        ("1 in board", dried.mean[board], pen(BOARD, 1.6, "6 3"), BOARD),
    )
    years = dried.days / 365
    plot = _plot(years, max(40.0, min(100.0, float(dried.core[usual].max()) * 1.08)), 66.0)
    # What stands above the axis is cut off, not drawn over the head.
    inside = [plot.line(years, np.minimum(values, plot.y_high), name.replace(" ", "-"), look)
              for name, values, look, _ in series]  # fmt: skip
    head = "Moisture content, %"
    last = ", ".join(f"{name} {values[-1]:.0f} %" for name, values, _, _ in series)
    words = f"{head}, over {years[-1]:.0f} years; at the end {last}."
    ends = plot.ends([(name, float(values[-1]), color) for name, values, _, color in series])
    parts = [*_axes(plot, head), *inside, *ends, *_events(plot, marks)]
    return TimeChart(plot, words, parts)


def movement_chart(
    days: Floats, bodies: Mapping[str, tuple[Floats, str]], marks: Mapping[str, float],
    system: System,
) -> TimeChart:  # fmt: skip
    """Return what width and depth have lost against time, with their bands.

    Parameters
    ----------
    days : ndarray, shape (dates,)
        Time after sawing [days].
    bodies : mapping of str to tuple
        By name: what is lost, shape (bands, dates) [mm], and a colour.
    marks : mapping of str to float
        Events [days].
    system : {'imperial', 'metric'}
        Of the axis and the labels.
    """
    per, unit = (MM_PER_INCH, "in") if system == "imperial" else (1.0, "mm")
    years = days / 365
    top = 1.15 * max(float(lost.max()) for lost, _ in bodies.values()) / per or 1.0
    plot = _plot(years, top, 112.0)
    bands, lines, ends = [], [], []
    for number, (name, (lost, color)) in enumerate(bodies.items()):
        usual, kind = lost[len(lost) // 2], name.replace(" ", "-").replace("'", "")
        if len(lost) > 1:
            edges = lost.min(axis=0) / per, lost.max(axis=0) / per
            bands.append(plot.band(years, *edges, f"band {kind}", color, 'fill-opacity=".22"'))
        look = pen(color, 2.2 - 0.5 * (number > 0), "6 3" if len(lost) == 1 else "")
        lines.append(plot.line(years, usual / per, kind, look))
        ends.append((f"{name} {show(float(usual[-1]), system, 32)}", float(usual[-1]) / per, color))
    head = f"Lost since sawing, {unit} (band: slow to fast)"
    words = f"{head}; after {years[-1]:.0f} years: {', '.join(name for name, _, _ in ends)}."
    parts = [*_axes(plot, head), *bands, *lines, *plot.ends(ends), *_events(plot, marks)]
    return TimeChart(plot, words, parts)


def _plot(years: Floats, top: float, names: float) -> Plot:
    """Return the area of a chart that leaves room for the names at the ends of its lines [px]."""
    return Plot(36, 28, WIDE - names, TALL - 40, 0.0, float(years[-1]), 0.0, top)


def _axes(plot: Plot, head: str) -> list[str]:
    return [text(4, 15, head, size=12), *plot.x_axis("years after sawing", 6), *plot.y_axis(5)]


def _events(plot: Plot, marks: Mapping[str, float]) -> list[str]:
    """Return events as dashed lines with their names along them, over what else is drawn."""
    parts = []
    for name, day in marks.items():
        x = float(plot.x(day / 365))
        line = f"M{x:.1f} {plot.top}V{plot.bottom}"
        parts.append(path(line, "event", look=pen("#6a6a6a", 1, "2 2")))
        turned = f'transform="rotate(90 {x + 4:.1f} {plot.top + 2:.1f})"'
        parts.append(text(x + 4, plot.top + 2, name, size=10, look=turned, halo=True))
    return parts

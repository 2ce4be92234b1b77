"""An eave or a corner as hand-written SVG, for a page that must answer a slider.

What it shows is what `figures` puts on paper: to true scale, before thin and dashed, after bold,
every dimension written where it is.
"""

from __future__ import annotations

import numpy as np

from shrinkage.joint_drawing import Drawing, Gap, Points, box
from shrinkage.svg_parts import Plot, clipped, frame, path, pen, points, text, wide

SECTION, JOINT, TALL = 440.0, 350.0, 372.0
"""The surroundings and the joint, and how tall both are [px]."""
TOP = 26.0
_LINE = 14.0


def pictures(drawing: Drawing) -> str:
    """Return the joint in its surroundings and by itself, two pictures beside each other.

    Parameters
    ----------
    drawing : Drawing
        What to draw.
    """
    return f"{section(drawing)} {joint(drawing)}"


def section(drawing: Drawing) -> str:
    """Return the joint in its surroundings."""
    every = np.vstack([outline for body in drawing.bodies for outline in (body.before, body.after)])
    plot = _fitting(every, SECTION)
    parts = [text(SECTION / 2, 15, drawing.head, "middle", 12), *_bodies(plot, drawing)]
    for place, name in drawing.names:
        x, y = float(plot.x(place[0])), float(plot.y(place[1]))
        parts += _lines(x, y, name, "middle")
    return frame(SECTION, TALL, drawing.words, parts)


def joint(drawing: Drawing) -> str:
    """Return the joint by itself, its gaps as arrows."""
    (x, y), reach = drawing.middle, drawing.reach
    window = box(x - reach, x + reach, y - reach, y + reach)
    plot = _fitting(window, JOINT)
    d = f"M{plot.points(*window.T)}Z"
    inside = "".join(_bodies(plot, drawing))
    parts = [
        text(JOINT / 2, 15, drawing.joint_head, "middle", 12),
        *clipped(d, inside),
        path(d, "window", look=pen("#9a9a9a")),
        *(part for gap in drawing.gaps for part in _gap(plot, gap)),
    ]
    said = [gap.label.replace("\n", " ") for gap in drawing.gaps]
    return frame(JOINT, TALL, f"{drawing.joint_head}; {', '.join(said)}", parts)


def _fitting(places: Points, width: float) -> Plot:
    """Return an area that shows places as large as the picture allows, to scale."""
    low, high = places.min(axis=0), places.max(axis=0)
    across, up = high - low
    scale = min((width - 8) / across, (TALL - TOP - 8) / up)
    left, top = (width - across * scale) / 2, TOP + (TALL - TOP - up * scale) / 2
    return Plot(
        left, top, left + across * scale, top + up * scale, low[0], high[0], low[1], high[1]
    )


def _bodies(plot: Plot, drawing: Drawing) -> list[str]:
    """Return every body after drying, then every outline before: none hides another."""
    after = [path(f"M{plot.points(*body.after.T)}Z", "after", body.fill, pen("black", 2.2))
             for body in drawing.bodies]  # fmt: skip
    before = [path(f"M{plot.points(*body.before.T)}Z", "before", look=pen("#5b5b5b", 1.1, "5 3"))
              for body in drawing.bodies]  # fmt: skip
    return after + before


def _lines(x: float, y: float, words: str, anchor: str) -> list[str]:
    """Return lines of text with their middle at a place."""
    lines = words.split("\n")
    first = y + 4 - _LINE * (len(lines) - 1) / 2
    return [text(x, first + _LINE * n, line, anchor, 12) for n, line in enumerate(lines)]


def _gap(plot: Plot, gap: Gap) -> list[str]:
    """Return a gap as an arrow with two heads, and what is written at its end."""
    start, stop = (np.array([float(plot.x(p[0])), float(plot.y(p[1]))])
                   for p in (gap.start, gap.stop))  # fmt: skip
    long = float(np.hypot(*(stop - start)))
    way = (stop - start) / long if long else np.array([0.0, -1.0])
    side, head = np.array([-way[1], way[0]]), min(8.0, long / 2)
    shaft = points(*np.array([start, stop]).T)
    parts = [path(f"M{shaft}", "gap", look=pen("black", 1.4))]
    for tip, back in ((start, way), (stop, -way)):
        wings = [tip + head * back + 3.5 * side, tip, tip + head * back - 3.5 * side]
        parts.append(path(f"M{points(*np.array(wings).T)}", look=pen("black", 1.4)))
    lines = gap.label.split("\n")
    across, up = max(wide(line, 12) for line in lines) + 8, _LINE * len(lines) + 6
    x, y = stop + 10 * way
    x = min(x, plot.right - across - 2)  # all of it inside the window
    parts.append(
        f'<rect x="{x:.1f}" y="{y - up / 2:.1f}" width="{across:.1f}" height="{up:.1f}" rx="3" '
        'fill="white" fill-opacity=".92"/>'
    )
    return [*parts, *_lines(x + 4, y, gap.label, "start")]

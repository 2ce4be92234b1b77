"""Pictures a builder would rather look at: the eave and the corner, before and after drying.

Drawn to true scale on a given pair of axes, before thin and dashed, after bold, every dimension
written where it is. Figures are plain `Figure` objects, so that one can be used over and over.
"""

from __future__ import annotations

import io
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from shrinkage import joint_drawing
from shrinkage.allowance import Allowance
from shrinkage.frame import Frame
from shrinkage.job import WallSpec
from shrinkage.joint_drawing import Drawing, Points, box
from shrinkage.units import System

HEAD: dict[str, Any] = {"fontsize": 9, "y": 1.0}
"""A title whose place is given saves looking for one at every redraw."""
BEFORE: dict[str, Any] = {"color": "#5b5b5b", "lw": 0.9, "ls": (0, (4, 2))}
AFTER: dict[str, Any] = {"color": "black", "lw": 2.0}


def new_figure(width: float = 9.0, height: float = 4.6) -> tuple[Figure, Axes, Axes]:
    """Return a figure with a wide axes for the section and a narrower one for the joint.

    Parameters
    ----------
    width, height : float
        Size [in].
    """
    figure = Figure(figsize=(width, height))
    # Placed by hand: a layout engine would take longer than the drawing at every redraw.
    section = figure.add_axes((0.01, 0.02, 0.55, 0.90))
    joint = figure.add_axes((0.58, 0.02, 0.41, 0.90))
    return figure, section, joint


def as_svg(figure: Figure, words: str) -> str:
    """Return a figure as an SVG string for a page, with words for those who cannot see it.

    Parameters
    ----------
    figure : Figure
        The drawing.
    words : str
        What it shows.
    """
    buffer = io.StringIO()
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "shrinkage"}):
        figure.savefig(buffer, format="svg", metadata={"Date": None})
    svg = buffer.getvalue()
    svg = svg[svg.index("<svg") :]
    from html import escape

    label = f'<svg role="img" aria-label="{escape(words, quote=True)}" '
    return svg.replace("<svg ", label, 1)


def _outline(ax: Axes, points: Points, fill: str, after: bool) -> None:
    """Draw one body: its outline dashed before, filled and bold after."""
    ring = np.vstack([points, points[:1]])
    if after:
        ax.fill(ring[:, 0], ring[:, 1], color=fill, zorder=1)
    ax.plot(ring[:, 0], ring[:, 1], zorder=3 if after else 4, **(AFTER if after else BEFORE))


def eave_section(
    section: Axes, joint: Axes, frame: Frame, wall: WallSpec, answer: Allowance, system: System
) -> str:
    """Draw an eave before and after drying, and its joint larger.

    Parameters
    ----------
    section, joint : Axes
        Where to draw; cleared first.
    frame : Frame
        The building.
    wall : WallSpec
        Which wall.
    answer : Allowance
        Its top joint.
    system : {'imperial', 'metric'}
        Of the dimensions.

    Returns
    -------
    str
        What the picture shows, in words.
    """
    return _paint(section, joint, joint_drawing.eave(frame, wall, answer, system))


def corner_plan(section: Axes, joint: Axes, frame: Frame, answer: Allowance, system: System) -> str:
    """Draw a corner in plan before and after drying, and its joint larger.

    Parameters
    ----------
    section, joint, frame, answer, system
        As for `eave_section`; the answer is a corner's.

    Returns
    -------
    str
        What the picture shows, in words.
    """
    return _paint(section, joint, joint_drawing.corner(frame, answer, system))


def _paint(section: Axes, joint: Axes, drawing: Drawing) -> str:
    """Put a drawing on paper; return what it shows."""
    for ax, head in ((section, drawing.head), (joint, drawing.joint_head)):
        _clear(ax)
        for body in drawing.bodies:
            _outline(ax, body.after, body.fill, after=True)
        for body in drawing.bodies:
            _outline(ax, body.before, body.fill, after=False)
        ax.set_title(head, **HEAD)
    for (x, y), name in drawing.names:
        section.text(x, y, name, ha="center", va="center", fontsize=9, zorder=6)
    _zoom(joint, drawing.middle, drawing.reach)
    for gap in drawing.gaps:
        _gap_arrow(joint, gap.start, gap.stop, gap.label)
    return drawing.words


def _clear(ax: Axes) -> None:
    """Take everything off the axes; `Axes.clear` builds them anew and takes ten times as long."""
    for artist in (*ax.lines, *ax.patches, *ax.texts):
        artist.remove()
    ax.relim()
    ax.set_autoscale_on(True)
    ax.set_aspect("equal")
    ax.set_axis_off()


def _zoom(ax: Axes, middle: Points, reach: float) -> None:
    ax.set_xlim(middle[0] - reach, middle[0] + reach)
    ax.set_ylim(middle[1] - reach, middle[1] + reach)
    x, y = middle
    frame = box(x - reach, x + reach, y - reach, y + reach)
    ax.plot(*np.vstack([frame, frame[:1]]).T, color="#9a9a9a", lw=0.8, clip_on=False)


def _gap_arrow(ax: Axes, start: Points, stop: Points, text: str) -> None:
    ax.annotate(
        "", xy=tuple(stop), xytext=tuple(start),
        arrowprops={"arrowstyle": "<->", "lw": 1.2, "shrinkA": 0, "shrinkB": 0}, zorder=7,
    )  # fmt: skip
    paper = {"boxstyle": "round,pad=0.25", "fc": "white", "ec": "none", "alpha": 0.92}
    way = stop - start
    x, y = stop + way * (8 / (float(np.hypot(*way)) or 1.0))
    ax.text(x, y, text, ha="left", va="center", fontsize=9, bbox=paper, zorder=8)

"""Pictures a builder would rather look at: the eave and the corner, before and after drying.

Drawn to true scale on a given pair of axes, before thin and dashed, after bold, every dimension
written where it is. Figures are plain `Figure` objects, so that one can be used over and over.
"""

from __future__ import annotations

import io
import math
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from shrinkage.allowance import Allowance
from shrinkage.details import Footing, RoofSeat
from shrinkage.frame import Frame, footing, shoulder
from shrinkage.job import WallSpec
from shrinkage.joint import Layer
from shrinkage.units import System, show

Points = NDArray[np.float64]

TITLE = "Before drying (dashed) and in the driest month (bold), true scale"
HEAD: dict[str, Any] = {"fontsize": 9, "y": 1.0}
"""A title whose place is given saves looking for one at every redraw."""
WOOD, PANEL = "#e7d3ab", "#dfe4e8"
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


def _outline(ax: Axes, points: Any, fill: str, after: bool) -> None:
    """Draw one body: its outline dashed before, filled and bold after."""
    ring = np.vstack([points, points[:1]])
    if after:
        ax.fill(ring[:, 0], ring[:, 1], color=fill, zorder=1)
    ax.plot(ring[:, 0], ring[:, 1], zorder=3 if after else 4, **(AFTER if after else BEFORE))


def _lost(layer: Layer) -> float:
    """Return what a layer's thickness has lost by the driest month, at its estimate [mm]."""
    return layer.thickness * float(layer.wood.shrink(layer.grain)[0, 1])


class EaveShape:
    """Corners of the bodies at an eave, before or after drying [mm].

    The datum is the plate's outer upper edge before drying: x outward, y up. The wall panel stands
    still except that it follows the plate's outer face.

    Parameters
    ----------
    seat, stands : RoofSeat, Footing
        The roof's and the wall's stacks.
    share : float
        Plate width between layout line and outer face [mm].
    gap : float
        On the day, along the roof's normal [mm].
    covering, panel : float
        Thickness of what lies between plate and panel, and of the panel [mm].
    square : bool
        Whether the panel's top is cut square.
    after : bool
        After drying to the driest month, or before.
    """

    def __init__(
        self, seat: RoofSeat, stands: Footing, share: float, gap: float, covering: float,
        panel: float, square: bool, after: bool,
    ) -> None:  # fmt: skip
        roof, wall = seat.layers(), stands.layers()
        lost = [_lost(layer) if after else 0.0 for layer in roof]
        sign = [1.0 if layer.side == "far" else -1.0 for layer in wall]
        sink = sum(s * _lost(x) for s, x in zip(sign, wall, strict=True)) if after else 0.0
        width, _, _ = (float(v) for v in seat.plate.shrink("width")[0]) if after else (0.0,) * 3
        n = np.array(seat.normal)
        self.slope = np.array([n[1], -n[0]])
        draw_in = share * width
        top = -sink - lost[0]
        foot = -seat.plate.depth - sink
        right, left = -draw_in, -seat.plate.width + (seat.plate.width - share) * width
        self.plate = np.array([(left, foot), (right, foot), (right, top), (left, top)])
        self.post = np.array([(left, foot - 140), (right, foot - 140), (right, foot), (left, foot)])
        seat_at = np.array([0.0, -seat.housing + top])
        stack = sum(layer.thickness for layer in roof[1:])
        under = seat_at + n * (stack - sum(lost[1:]))
        self.rafter = self._cut_plumb(seat_at, under, n, -draw_in)
        self.roof = self._band(under, under + n * panel, n, -260, 150 + panel)
        still = np.array([0.0, -seat.housing]) + n * (stack - gap)  # panel top, never moves
        faces = np.array([covering, covering + panel])
        slope = -math.tan(seat.pitch)
        heights = still[1] + slope * (faces - still[0])
        if square:
            heights[:] = heights.min()
        base = -seat.plate.depth - 140
        x0, x1 = faces - draw_in
        self.panel = np.array([(x0, base), (x1, base), (x1, heights[1]), (x0, heights[0])])
        self.edge = np.array([x1 if square else (x0 + x1) / 2, 0.0])
        self.edge[1] = heights[1] if square else heights.mean()
        self.under = under

    def _cut_plumb(self, low: Points, high: Points, n: Points, x: float) -> Points:
        """Return the rafter, cut off plumb at the plate's outer face where the panel passes."""
        band = self._band(low, high, n, -260, 0)
        for inner, end in ((0, 1), (3, 2)):
            along = (x - band[inner][0]) / self.slope[0]
            band[end] = band[inner] + self.slope * along
        return band

    def _band(self, low: Points, high: Points, n: Points, start: float, stop: float) -> Points:
        ends = [low + self.slope * start, low + self.slope * stop]
        rise = np.dot(high - low, n) * n
        return np.array([*ends, ends[1] + rise, ends[0] + rise])


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
    share = sum(x.thickness for x in answer.joint.layers if x.name.startswith("plate's outer"))
    job = frame.job
    fixed = (
        frame.seat, footing(frame, wall), share, answer.gap, frame.wall_covering,
        job.panel.thickness, job.eave.panel_top == "square",
    )  # fmt: skip
    before, after = (EaveShape(*fixed, after=state) for state in (False, True))
    for ax in (section, joint):
        _clear(ax)
        for shape, is_after in ((after, True), (before, False)):
            _outline(ax, shape.post, WOOD, is_after)
            _outline(ax, shape.plate, WOOD, is_after)
            _outline(ax, shape.rafter, WOOD, is_after)
            _outline(ax, shape.roof, PANEL, is_after)
            _outline(ax, shape.panel, PANEL, is_after)
    _names(section, (
        (before.plate.mean(axis=0), "plate"), (before.rafter.mean(axis=0), "rafter"),
        (before.roof.mean(axis=0), "roof panel"),
        (before.panel[:2].mean(axis=0) + np.array((0, 70)), "wall\npanel"),
        (before.post[:2].mean(axis=0) + np.array((0, 45)), "post"),
    ))  # fmt: skip
    section.set_title(TITLE, **HEAD)
    reach = max(3.2 * answer.gap, 60.0)
    n = np.array(frame.seat.normal)
    _zoom(joint, before.edge + n * answer.gap / 2, reach)
    label = f"on the day\n{show(answer.gap, system)}"
    _gap_arrow(joint, before.edge, n, answer.gap, label, -0.42 * reach)
    dry = answer.gap - answer.driest.estimate
    label = f"driest month\n{show(dry, system)}"
    _gap_arrow(joint, after.edge, n, dry, label, 0.42 * reach)
    joint.set_title(f"The joint, gap measured square to the roof: {answer.status}", **HEAD)
    return (
        f"Eave of wall {wall.name}: gap on the day {show(answer.gap, system)} square to the roof, "
        f"{show(dry, system)} in the driest month; the roof comes down on the panel by "
        f"{show(answer.driest.estimate, system, 32)}."
    )


def corner_plan(
    section: Axes, joint: Axes, frame: Frame, answer: Allowance, system: System
) -> str:
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
    post, thick, cover = frame.timbers["post"], frame.job.panel.thickness, frame.wall_covering
    across, along = (float(post.shrink(g)[0, 1]) for g in ("width", "depth"))
    reach = shoulder(frame)
    moved = answer.driest.estimate
    for ax in (section, joint):
        _clear(ax)
        for s, is_after in ((1.0, True), (0.0, False)):
            shift = s * moved
            right = -shift
            left = right - post.width * (1 - s * across)
            body = _box(left, right, -post.depth * (1 - s * along), 0.0)
            _outline(ax, body, WOOD, is_after)
            lap = _box(cover + right, cover + right + thick, -post.depth, cover + thick)
            _outline(ax, lap, PANEL, is_after)
            end = cover - answer.gap
            _outline(ax, _box(end - 330, end, cover, cover + thick), PANEL, is_after)
    _names(section, (
        ((-post.width / 2, -post.depth / 2), "corner post"),
        ((cover + thick / 2, -post.depth / 2), "panel\nthat laps"),
        ((cover - answer.gap - 170, cover + thick / 2), "panel that butts"),
    ))  # fmt: skip
    section.set_title(f"In plan. {TITLE}", **HEAD)
    size = max(3.2 * answer.gap, 60.0)
    middle = np.array([cover - answer.gap / 2, cover + thick / 2])
    _zoom(joint, middle, size)
    x = np.array([1.0, 0.0])
    edge = np.array([cover - answer.gap, cover + thick / 2])
    _gap_arrow(joint, edge, x, answer.gap, f"on the day {show(answer.gap, system)}", 0.3 * size)
    dry = answer.gap - moved
    _gap_arrow(joint, edge, x, dry, f"driest month {show(dry, system)}", -0.3 * size)
    joint.set_title(f"The joint, gap measured along the wall: {answer.status}", **HEAD)
    return (
        f"Corner: gap on the day {show(answer.gap, system)} along the wall, {show(dry, system)} in "
        f"the driest month; {show(reach, system)} of the post's width moves, and half the wall's "
        "girts along their grain."
    )


def _box(x0: float, x1: float, y0: float, y1: float) -> Points:
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _clear(ax: Axes) -> None:
    """Take everything off the axes; `Axes.clear` builds them anew and takes ten times as long."""
    for artist in (*ax.lines, *ax.patches, *ax.texts):
        artist.remove()
    ax.relim()
    ax.set_autoscale_on(True)
    ax.set_aspect("equal")
    ax.set_axis_off()


def _names(ax: Axes, names: Any) -> None:
    for (x, y), text in names:
        ax.text(x, y, text, ha="center", va="center", fontsize=9, zorder=6)


def _zoom(ax: Axes, middle: Points, reach: float) -> None:
    ax.set_xlim(middle[0] - reach, middle[0] + reach)
    ax.set_ylim(middle[1] - reach, middle[1] + reach)
    x, y = middle
    frame = _box(x - reach, x + reach, y - reach, y + reach)
    ax.plot(*np.vstack([frame, frame[:1]]).T, color="#9a9a9a", lw=0.8, clip_on=False)


def _gap_arrow(
    ax: Axes, edge: Points, n: Points, gap: float, text: str, along: float
) -> None:
    """Draw a gap as an arrow from panel edge to what it could touch, set off along the joint."""
    tangent = np.array([n[1], -n[0]])
    start = edge + tangent * along
    stop = start + n * max(gap, 0.0)
    ax.annotate(
        "", xy=tuple(stop), xytext=tuple(start),
        arrowprops={"arrowstyle": "<->", "lw": 1.2, "shrinkA": 0, "shrinkB": 0}, zorder=7,
    )  # fmt: skip
    box = {"boxstyle": "round,pad=0.25", "fc": "white", "ec": "none", "alpha": 0.92}
    x, y = stop + n * 8
    ax.text(x, y, text, ha="left", va="center", fontsize=9, bbox=box, zorder=8)

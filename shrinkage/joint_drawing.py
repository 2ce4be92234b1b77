"""What is drawn of an eave and a corner: bodies before and after drying, and the gap between them.

Geometry and words only [mm]; `figures` puts a drawing on paper, `joint_svg` on a page.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shrinkage.allowance import Allowance
from shrinkage.details import Footing, RoofSeat
from shrinkage.frame import Frame, footing, shoulder
from shrinkage.job import WallSpec
from shrinkage.joint import Layer
from shrinkage.units import System, show

Points = NDArray[np.float64]

TITLE = "Before drying (dashed) and in the driest month (bold), true scale"
WOOD, PANEL = "#e7d3ab", "#dfe4e8"


@dataclass(frozen=True)
class Body:
    """One body.

    Parameters
    ----------
    before, after : ndarray, shape (corners, 2)
        Its outline before drying and in the driest month [mm].
    fill : str
        Colour.
    """

    before: Points
    after: Points
    fill: str


@dataclass(frozen=True)
class Gap:
    """A gap as an arrow from a panel's edge to what it could touch.

    Parameters
    ----------
    start, stop : ndarray, shape (2,)
        Its ends [mm].
    label : str
        What is written at its end; several lines.
    """

    start: Points
    stop: Points
    label: str


@dataclass(frozen=True)
class Drawing:
    """A joint, small in its surroundings and large by itself.

    Parameters
    ----------
    bodies : sequence of Body
        From behind to before.
    names : sequence of (ndarray, str)
        Where something is named [mm], and how.
    head, joint_head : str
        Over the surroundings and over the joint.
    middle : ndarray, shape (2,)
        Of what is drawn large [mm].
    reach : float
        Half the side of that [mm].
    gaps : sequence of Gap
        In it.
    words : str
        What the drawing shows.
    """

    bodies: Sequence[Body]
    names: Sequence[tuple[Points, str]]
    head: str
    joint_head: str
    middle: Points
    reach: float
    gaps: Sequence[Gap]
    words: str


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


def eave(frame: Frame, wall: WallSpec, answer: Allowance, system: System) -> Drawing:
    """Return the drawing of an eave.

    Parameters
    ----------
    frame : Frame
        The building.
    wall : WallSpec
        Which wall.
    answer : Allowance
        Its top joint.
    system : {'imperial', 'metric'}
        Of the dimensions.
    """
    share = sum(x.thickness for x in answer.joint.layers if x.name.startswith("plate's outer"))
    job, gap, n = frame.job, answer.gap, np.array(frame.seat.normal)
    fixed = (
        frame.seat, footing(frame, wall), share, gap, frame.wall_covering, job.panel.thickness,
        job.eave.panel_top == "square",
    )  # fmt: skip
    before, after = (EaveShape(*fixed, after=state) for state in (False, True))
    fills = {"post": WOOD, "plate": WOOD, "rafter": WOOD, "roof": PANEL, "panel": PANEL}
    reach, dry = max(3.2 * gap, 60.0), gap - answer.driest.estimate
    on_the_day, driest = show(gap, system), show(dry, system)
    return Drawing(
        [Body(getattr(before, name), getattr(after, name), fill) for name, fill in fills.items()],
        [(before.plate.mean(axis=0), "plate"), (before.rafter.mean(axis=0), "rafter"),
         (before.roof.mean(axis=0), "roof panel"),
         (before.panel[:2].mean(axis=0) + np.array((0, 70)), "wall\npanel"),
         (before.post[:2].mean(axis=0) + np.array((0, 45)), "post")],
        TITLE,
        f"The joint, gap measured square to the roof: {answer.status}",
        before.edge + n * gap / 2,
        reach,
        [_gap(before.edge, n, gap, f"on the day\n{on_the_day}", -0.42 * reach),
         _gap(after.edge, n, dry, f"driest month\n{driest}", 0.42 * reach)],
        f"Eave of wall {wall.name}: gap on the day {on_the_day} square to the roof, {driest} in "
        "the driest month; the roof comes down on the panel by "
        f"{show(answer.driest.estimate, system, 32)}.",
    )  # fmt: skip


def corner(frame: Frame, answer: Allowance, system: System) -> Drawing:
    """Return the drawing of a corner in plan; the arguments are those of `eave`."""
    thick, cover, gap = frame.job.panel.thickness, frame.wall_covering, answer.gap
    post, moved = frame.timbers["post"], answer.driest.estimate
    before, after = (_plan(frame, gap, share * moved, share) for share in (0.0, 1.0))
    x = np.array([1.0, 0.0])
    edge = np.array([cover - gap, cover + thick / 2])
    size, dry = max(3.2 * gap, 60.0), gap - moved
    on_the_day, driest = show(gap, system), show(dry, system)
    return Drawing(
        [Body(*ends) for ends in zip(before, after, (WOOD, PANEL, PANEL), strict=True)],
        [(np.array((-post.width / 2, -post.depth / 2)), "corner post"),
         (np.array((cover + thick / 2, -post.depth / 2)), "panel\nthat laps"),
         (np.array((cover - gap - 170, cover + thick / 2)), "panel that butts")],
        f"In plan. {TITLE}",
        f"The joint, gap measured along the wall: {answer.status}",
        np.array([cover - gap / 2, cover + thick / 2]),
        size,
        [_gap(edge, x, gap, f"on the day {on_the_day}", 0.3 * size),
         _gap(edge, x, dry, f"driest month {driest}", -0.3 * size)],
        f"Corner: gap on the day {on_the_day} along the wall, {driest} in the driest month; "
        f"{show(shoulder(frame), system)} of the post's width moves, and half the wall's girts "
        "along their grain.",
    )  # fmt: skip


def _plan(frame: Frame, gap: float, shift: float, share: float) -> tuple[Points, Points, Points]:
    """Return post, panel that laps and panel that butts with a share of the drying done."""
    post, thick, cover = frame.timbers["post"], frame.job.panel.thickness, frame.wall_covering
    across, along = (share * float(post.shrink(grain)[0, 1]) for grain in ("width", "depth"))
    end = cover - gap
    return (
        box(-shift - post.width * (1 - across), -shift, -post.depth * (1 - along), 0.0),
        box(cover - shift, cover - shift + thick, -post.depth, cover + thick),
        box(end - 330, end, cover, cover + thick),
    )


def box(x0: float, x1: float, y0: float, y1: float) -> Points:
    """Return the corners of a rectangle [mm]."""
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _gap(edge: Points, n: Points, gap: float, label: str, along: float) -> Gap:
    """Return a gap's arrow, set off along the joint."""
    start = edge + np.array([n[1], -n[0]]) * along
    return Gap(start, start + n * max(gap, 0.0), label)

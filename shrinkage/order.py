"""A whole building: every panel with what comes off each edge, and the size to order."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shrinkage import details, layout
from shrinkage.allowance import Allowance, allow
from shrinkage.errors import ShrinkageError
from shrinkage.frame import Frame, build, opening_joint, ridge_joint, wall_joints
from shrinkage.job import OpeningSpec
from shrinkage.jobfile import Document
from shrinkage.joint import Joint
from shrinkage.layout import EdgeKind, Hole, Piece, Point
from shrinkage.remedies import Remedy, remedies_of
from shrinkage.units import round_to

SIDES = ("left", "right", "top", "bottom")

_NOTHING_OFF: dict[EdgeKind, str] = {
    "flush": "laps past the corner, flush with the other wall's face",
    "free": "ends free",
}
_SPLINE_RIGHT = "the next panel's left edge gives the gap"


@dataclass(frozen=True)
class Edge:
    """What one edge of a panel gives.

    Parameters
    ----------
    kind : str
        What it meets.
    off : float
        What comes off, in the direction the panel is measured [mm].
    why : str
        The reason, in words.
    allowance : Allowance or None
        The joint behind it, if any.
    """

    kind: EdgeKind
    off: float
    why: str
    allowance: Allowance | None = None


@dataclass(frozen=True)
class Panel:
    """One panel to order.

    Parameters
    ----------
    piece : Piece
        Its nominal opening and place.
    place : str
        The wall or slope it belongs to.
    edges : dict of str to Edge
        By 'left', 'right', 'top', 'bottom'.
    width : float
        Order width [mm].
    outline : tuple of Point
        Order outline from bottom left, anticlockwise, origin at its bottom left corner [mm].
    cutouts : tuple of Hole
        Openings to cut, from the same origin [mm].
    bevel : float
        Height lost from the frame face to the outer face at a bevelled top [mm].
    notes : tuple of str
        What the plant or the crew should know.
    """

    piece: Piece
    place: str
    edges: dict[str, Edge]
    width: float
    outline: tuple[Point, ...]
    cutouts: tuple[Hole, ...]
    bevel: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def mark(self) -> str:
        """What the panel is called."""
        return self.piece.mark

    @property
    def left_height(self) -> float:
        """Order height at its left edge [mm]."""
        return self.outline[-1][1]

    @property
    def right_height(self) -> float:
        """Order height at its right edge [mm]."""
        return self.outline[2][1]

    @property
    def peak(self) -> Point | None:
        """Place and height of a peak between the edges [mm], if there is one."""
        inner = self.outline[3:-1]
        return max(inner, key=lambda point: point[1]) if inner else None

    @property
    def height(self) -> float:
        """Greatest order height [mm]."""
        return max(y for _, y in self.outline)


@dataclass(frozen=True)
class Order:
    """The answer to a job file.

    Parameters
    ----------
    frame : Frame
        The building it was worked out for.
    panels : tuple of Panel
        In the job's order.
    allowances : tuple of Allowance
        Every joint that was worked out, once.
    remedies : dict of str to tuple of Remedy
        What else would do, for each joint too wide to foam, by the joint's name.
    """

    frame: Frame
    panels: tuple[Panel, ...]
    allowances: tuple[Allowance, ...]
    remedies: dict[str, tuple[Remedy, ...]]

    @property
    def problems(self) -> tuple[Allowance, ...]:
        """Joints that cannot be foamed as they stand."""
        return tuple(a for a in self.allowances if a.status == "too wide to foam")


def order(document: Document) -> Order:
    """Work out every panel of a job.

    Parameters
    ----------
    document : Document
        From `jobfile.read_job` or `jobfile.check_job`.

    Returns
    -------
    Order
        Panels, joints and, where a gap is too wide to foam, what else would do.

    Raises
    ------
    ShrinkageError
        Naming file, line and key.
    """
    frame = build(document)
    panels: list[Panel] = []
    answers: dict[str, Allowance] = {}
    for index in range(len(frame.job.wall)):
        panels += _wall(frame, index, answers)
    for index in range(len(frame.job.roof)):
        panels += _slope(frame, index, answers)
    found = tuple(answers.values())
    otherwise = remedies_of(frame, [a for a in found if a.status == "too wide to foam"])
    return Order(frame, tuple(panels), found, otherwise)


def _wall(frame: Frame, index: int, answers: dict[str, Allowance]) -> list[Panel]:
    """Divide one wall and take off what its joints need."""
    job, source = frame.job, frame.document.source
    wall = job.wall[index]
    past = (frame.wall_covering, job.panel.thickness)
    ends = layout.run(wall.length, wall.ends, *past)
    is_gable = wall.top == "gable"
    profile = layout.top_profile(wall.length, wall.height, job.eave.pitch, is_gable, ends)
    holes = [_hole(spec) for spec in wall.opening]
    with source.at("wall", index):
        layout.check_holes(holes, profile, wall.length)
    with source.at("wall", index, "divide"):
        places = layout.cuts(ends, wall.divide, job.panel.max_width)
    meets: dict[str, EdgeKind] = {"laps": "flush", "butts": "corner", "free": "free"}
    end_edges = (meets[wall.ends[0]], meets[wall.ends[1]])
    openings = [opening_joint(frame, index, number) for number in range(len(holes))]
    reach = max((allow(joint, frame.foam, frame.rules).off for joint in openings), default=0.0)
    pieces = layout.strips(wall.name, places, profile, end_edges, wall.top, holes, reach)
    used = {kind for piece in pieces for kind in piece.edges.values()}
    by_kind: dict[str, Allowance] = {
        kind: _answer(frame, joint, answers)
        for kind, joint in wall_joints(frame, index).items()
        if kind in used
    }
    round_holes = {
        spec.name: _answer(frame, joint, answers)
        for spec, joint in zip(wall.opening, openings, strict=True)
    }
    bevel = 0.0
    if wall.top == "eave" and job.eave.panel_top == "parallel":
        bevel = job.panel.thickness * math.tan(job.eave.pitch)
    with source.at("wall", index):
        return [_panel(frame, wall.name, piece, by_kind, round_holes, bevel) for piece in pieces]


def _slope(frame: Frame, index: int, answers: dict[str, Allowance]) -> list[Panel]:
    """Divide one slope of the roof; its eave and its gable ends overhang free."""
    job, source = frame.job, frame.document.source
    roof = job.roof[index]
    with source.at("roof", index, "divide"):
        places = layout.cuts((0.0, roof.length), roof.divide, job.panel.max_width)
    profile = [(0.0, roof.slope), (roof.length, roof.slope)]
    pieces = layout.strips(roof.name, places, profile, ("free", "free"), "ridge", ())
    by_kind = {"ridge": _answer(frame, ridge_joint(frame, index), answers)}
    if len(pieces) > 1:
        between = details.spline(f"{roof.name}, between panels")
        by_kind["spline"] = _answer(frame, between, answers)
    with source.at("roof", index):
        free_foot = [
            Piece(p.mark, p.left, p.right, p.bottom, p.top, p.edges | {"bottom": "free"})
            for p in pieces
        ]
        return [_panel(frame, roof.name, piece, by_kind, {}, 0.0) for piece in free_foot]


def _answer(frame: Frame, joint: Joint, answers: dict[str, Allowance]) -> Allowance:
    # By kind too: an opening may be called "top".
    return answers.setdefault(f"{joint.kind} {joint.name}", allow(joint, frame.foam, frame.rules))


def _hole(spec: OpeningSpec) -> Hole:
    return Hole(spec.name, spec.left, spec.foot, spec.width, spec.height)


def _edge(
    piece: Piece, side: str, by_kind: dict[str, Allowance], round_holes: dict[str, Allowance]
) -> Edge:
    """Return what one edge gives and why."""
    kind = piece.edges[side]
    if kind in _NOTHING_OFF:
        return Edge(kind, 0.0, _NOTHING_OFF[kind])
    if kind == "opening":
        answer = max(round_holes.values(), key=lambda allowance: allowance.off)
    else:
        answer = by_kind[kind]
    if answer.status == "bearing":
        return Edge(kind, 0.0, "bears on what it stands on", answer)
    if kind == "spline" and side == "right":
        return Edge(kind, 0.0, _SPLINE_RIGHT, answer)
    return Edge(kind, answer.off, answer.governs.name, answer)


def _panel(
    frame: Frame,
    place: str,
    piece: Piece,
    by_kind: dict[str, Allowance],
    round_holes: dict[str, Allowance],
    bevel: float,
) -> Panel:
    """Take off every edge and round down to what the plant cuts to."""
    step = frame.rules.fraction
    edges = {side: _edge(piece, side, by_kind, round_holes) for side in SIDES}
    left = piece.left + edges["left"].off
    width = round_to(piece.right - edges["right"].off - left, step, "down")
    foot = piece.bottom + edges["bottom"].off

    def height(x: float) -> float:
        return round_to(piece.top_at(left + x) - edges["top"].off - foot, step, "down")

    peaks = [x - left for x, _ in piece.top[1:-1] if 0 < x - left < width]
    if width <= 0 or min(height(0.0), height(width)) < 0:
        raise ShrinkageError(
            f"panel {piece.mark}: nothing is left of it after what comes off its edges; "
            "accepted: a wider division, or an opening that leaves more"
        )
    top = [(x, height(x)) for x in (width, *reversed(peaks), 0.0)]
    outline = ((0.0, 0.0), (width, 0.0), *top)
    longest = max(y for _, y in outline)
    if longest > frame.job.panel.max_length:
        raise ShrinkageError(
            f"panel {piece.mark} is {longest:.1f} mm long; accepted: up to panel.max_length, "
            f"{frame.job.panel.max_length:.1f} mm"
        )
    has_bevel = piece.edges["top"] == "eave"
    beside = (_cutout(h, round_holes[h.name], left, foot, width) for h in piece.holes)
    cutouts = tuple(hole for hole in beside if hole.width > 0)
    return Panel(
        piece, place, edges, width, outline, cutouts, bevel if has_bevel else 0.0,
        _notes(edges, cutouts, width),
    )  # fmt: skip


def _cutout(hole: Hole, answer: Allowance, left: float, foot: float, width: float) -> Hole:
    """Return the hole to cut for a unit: larger by its gap all round, but not below the foot."""
    x0 = max(hole.left - answer.off - left, 0.0)
    x1 = min(hole.right + answer.off - left, width)
    y0 = max(hole.foot - answer.off - foot, 0.0)
    return Hole(hole.name, x0, y0, x1 - x0, hole.head + answer.off - foot - y0)


def _notes(edges: dict[str, Edge], cutouts: tuple[Hole, ...], width: float) -> tuple[str, ...]:
    """Return warnings about one panel."""
    notes = [
        f"{side}: {edge.allowance.status}"
        for side, edge in edges.items()
        if edge.allowance and edge.allowance.status == "too wide to foam"
    ]
    for hole in cutouts:
        beside = [strip for strip in (hole.left, width - hole.right) if strip > 0]
        if beside and min(beside) < NARROW:
            notes.append(f"strip of {min(beside):.0f} mm beside {hole.name}: move the division")
    return tuple(notes)


NARROW = 76.2
"""A strip narrower than this beside an opening has no room for two framing members let into its
edges [mm]; 3 in, common practice, no published source."""

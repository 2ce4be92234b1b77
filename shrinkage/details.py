"""The joints of a panelled frame, each built as a stack of layers from what a framer knows.

Every function returns a `Joint` whose normal points from the panel edge to what it could touch.
Directions are (across, up): across is outward from the building at an eave, along the wall away
from its middle at a corner or gable, along the slope's plan direction at a ridge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from shrinkage.errors import ShrinkageError
from shrinkage.joint import Joint, Layer, Vector
from shrinkage.timber import Sheet, Timber

StandsOn = Literal["sill", "foundation", "hung"]
Cut = Literal["parallel", "square"]
UP: Vector = (0.0, 1.0)
OUT: Vector = (1.0, 0.0)


@dataclass(frozen=True)
class Covering:
    """A layer between frame and panel, such as wallboard outside the posts.

    Parameters
    ----------
    wood : Timber or Sheet
        What it is; a timber moves through its depth as its thickness.
    thickness : float
        Its thickness [mm].
    """

    wood: Timber | Sheet
    thickness: float

    def layer(self, direction: Vector, side: Literal["far", "near"] = "far") -> Layer:
        """Return the covering as a layer of a stack."""
        return Layer(self.wood.role, self.wood, "depth", self.thickness, direction, side)


@dataclass(frozen=True)
class Footing:
    """What frame and wall panels stand on.

    Parameters
    ----------
    post : Timber
        The posts.
    post_length : float
        From what the post stands on up to the plate [mm].
    sill : Timber or None
        The sill timber under the posts, if there is one.
    panel_on : {'sill', 'foundation', 'hung'}
        What carries the wall panel: the sill, the foundation beside it, or the frame, at the plate.
    frame_on : {'sill', 'foundation'}
        What carries the posts. A sill that carries both drops both, and cancels.
    """

    post: Timber
    post_length: float
    sill: Timber | None = None
    panel_on: StandsOn = "sill"
    frame_on: Literal["sill", "foundation"] = "sill"

    def layers(self) -> list[Layer]:
        """Return the stack from foundation to plate, less what frame and panel share."""
        stack: list[Layer] = []
        if self.panel_on == "hung":
            return stack
        if self.sill is not None and self.panel_on != self.frame_on:
            side: Literal["far", "near"] = "far" if self.frame_on == "sill" else "near"
            stack.append(Layer("sill", self.sill, "depth", self.sill.depth, UP, side))
        return [*stack, Layer("post, along the grain", self.post, "length", self.post_length, UP)]


@dataclass(frozen=True)
class RoofSeat:
    """How the roof sits on the wall frame.

    Parameters
    ----------
    plate, rafter : Timber
        The plate and the rafter on it.
    pitch : float
        Roof pitch [rad].
    housing : float
        How far the rafter is let into the plate; 0 where it sits on top [mm].
    above_seat : float
        Depth of rafter above its seat, normal to the slope [mm].
    purlin : Timber or None
        Purlins over the rafters that carry the roof panels.
    purlin_above : float
        Depth of purlin above its seat in the rafter, normal to the slope [mm].
    coverings : tuple of Covering
        Boards between rafters (or purlins) and roof panels.
    """

    plate: Timber
    rafter: Timber
    pitch: float
    housing: float
    above_seat: float
    purlin: Timber | None = None
    purlin_above: float = 0.0
    coverings: tuple[Covering, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.housing < self.plate.depth:
            raise ShrinkageError(
                f"eave housing {self.housing:g} mm; accepted: 0 to less than the plate's depth, "
                f"{self.plate.depth:g} mm"
            )
        if not 0 < self.above_seat <= self.rafter.depth + 1e-9:
            raise ShrinkageError(
                f"rafter above its seat {self.above_seat:g} mm; accepted: above 0 and up to the "
                f"rafter's depth, {self.rafter.depth:g} mm"
            )
        if self.purlin is not None and not 0 < self.purlin_above <= self.purlin.depth + 1e-9:
            raise ShrinkageError(
                f"purlin above its seat {self.purlin_above:g} mm; accepted: above 0 and up to the "
                f"purlin's depth, {self.purlin.depth:g} mm"
            )

    @property
    def normal(self) -> Vector:
        """The roof's upward normal (across, up), the roof falling outward."""
        return (math.sin(self.pitch), math.cos(self.pitch))

    def layers(self) -> list[Layer]:
        """Return the stack from the top of the post to the underside of the roof panel."""
        below = self.plate.depth - self.housing
        n = self.normal
        stack = [
            Layer("plate, below the rafter's seat", self.plate, "depth", below, UP),
            Layer("rafter, above its seat", self.rafter, "depth", self.above_seat, n),
        ]
        if self.purlin is not None:
            above = self.purlin_above
            stack.append(Layer("purlin, above its seat", self.purlin, "depth", above, n))
        return stack + [covering.layer(n) for covering in self.coverings]


def _with_wood(*layers: Layer) -> tuple[Layer, ...]:
    """Return layers that have a thickness.

    One laid out from its own outer face has none, and a door's foot has no post under it.
    """
    return tuple(layer for layer in layers if layer.thickness > 0)


def eave(
    name: str,
    seat: RoofSeat,
    footing: Footing,
    outer_share: float,
    cut: Cut = "parallel",
    panel_thickness: float = 0.0,
) -> Joint:
    """Build the joint between a wall panel's top and the roof panel's underside at an eave.

    Parameters
    ----------
    name : str
        Where it is.
    seat : RoofSeat
        How the roof sits on the plate.
    footing : Footing
        What frame and panel stand on.
    outer_share : float
        Plate width between the layout line and the outer face, by which the panel is drawn in [mm].
    cut : {'parallel', 'square'}
        Panel top bevelled parallel to the roof, or cut square across its thickness.
    panel_thickness : float
        Needed for a square cut: the roof is lower at the panel's outer face [mm].

    Returns
    -------
    Joint
        Measured plumb on the panel, at the face against the frame.
    """
    share = Layer("plate's outer face, drawn in", seat.plate, "width", outer_share, OUT, "near")
    square = panel_thickness * math.tan(seat.pitch) if cut == "square" else 0.0
    notes = ["the rafter's own shortening along its grain is taken at the ridge"]
    if square:
        notes.append(
            "square-cut top: the gap is a wedge, tightest at the panel's outer face; height lost "
            "to clear the lower roof there comes off too"
        )
    return Joint(
        kind="eave",
        name=name,
        layers=_with_wood(*footing.layers(), *seat.layers(), share),
        normal=seat.normal,
        measure=1 / math.cos(seat.pitch),
        extra_off=square,
        notes=tuple(notes),
    )


def gable(name: str, seat: RoofSeat, footing: Footing, tie: Timber, half_span: float) -> Joint:
    """Build the joint between a gable wall's raking top and the roof panels over it.

    Parameters
    ----------
    name : str
        Where it is.
    seat, footing : RoofSeat, Footing
        As at the eave.
    tie : Timber
        The tie or girt across the building that sets the span.
    half_span : float
        From the middle of the gable to the eave [mm].

    Returns
    -------
    Joint
        Measured plumb on the panel.
    """
    span = Layer("tie, along the grain, half its length", tie, "length", half_span, OUT)
    return Joint(
        kind="gable",
        name=name,
        layers=(*footing.layers(), *seat.layers(), span),
        normal=seat.normal,
        measure=1 / math.cos(seat.pitch),
        notes=("the whole rake is taken to drop as its eave end does",),
    )


def corner(
    name: str, post: Timber, shoulder: float, girt: Timber, wall_length: float,
    coverings: Sequence[Covering] = (),
) -> Joint:  # fmt: skip
    """Build the joint between a wall's end and the inner face of the wall that laps past it.

    Parameters
    ----------
    name : str
        Where it is.
    post : Timber
        The corner post; its width lies along this wall.
    shoulder : float
        Cross-grain wood between the girt's shoulder (the layout line) and the post's outer face
        [mm].
    girt : Timber
        The girts between the two corners, whose shortening both ends share.
    wall_length : float
        Between the corners [mm].
    coverings : sequence of Covering
        Layers between the post and the lapping panel, such as wallboard.

    Returns
    -------
    Joint
        Measured along the wall.
    """
    if not 0 <= shoulder <= post.width + 1e-9:
        raise ShrinkageError(
            f"corner shoulder {shoulder:g} mm; accepted: 0 to the post's width, {post.width:g} mm"
        )
    layers = _with_wood(
        Layer("girts, along the grain, half the wall", girt, "length", wall_length / 2, OUT),
        Layer("post, shoulder to outer face", post, "width", shoulder, OUT),
        *(covering.layer(OUT) for covering in coverings),
    )
    return Joint(kind="corner", name=name, layers=layers, normal=OUT)


def ridge(name: str, seat: RoofSeat, tie: Timber, half_span: float) -> Joint:
    """Build the plumb joint between two roof panels at the ridge.

    Each panel is lowered normal to its slope by the rafter (and what lies on it) and carried in by
    half the tie; its own length does not change.

    Parameters
    ----------
    name : str
        Where it is.
    seat : RoofSeat
        The roof's stack; the plate lowers both slopes alike and does not count.
    tie : Timber
        The tie across the building.
    half_span : float
        From ridge to eave, in plan [mm].

    Returns
    -------
    Joint
        The whole gap, level across the ridge; each panel gives half of it, along the slope.
    """
    rise, run = math.cos(seat.pitch), math.sin(seat.pitch)
    layers: list[Layer] = []
    for side, across in (("near", 1.0), ("far", -1.0)):
        slope_normal = (across * run, rise)
        for layer in seat.layers()[1:]:
            layers.append(
                Layer(layer.name, layer.wood, "depth", layer.thickness, slope_normal, side)  # type: ignore[arg-type]
            )
        layers.append(
            Layer("tie, along the grain, half its length", tie, "length", half_span,
                  (across, 0.0), side)  # type: ignore[arg-type]
        )  # fmt: skip
    return Joint(
        kind="ridge",
        name=name,
        layers=tuple(layers),
        normal=(-1.0, 0.0),
        measure=1 / math.cos(seat.pitch),
        notes=("half of it off each of the two panels",),
    )


def foot(name: str, footing: Footing) -> Joint:
    """Build the joint under a wall panel: a bearing, or a gap where the panel hangs on the frame.

    Parameters
    ----------
    name : str
        Where it is.
    footing : Footing
        What frame and panel stand on.

    Returns
    -------
    Joint
        Without layers where the panel bears on what is under it.
    """
    if footing.panel_on != "hung":
        return Joint("sill", name, (), (0.0, -1.0), notes=("the panel stands here: no gap",))
    post, sill = footing.post, footing.sill
    layers = [Layer("post, along the grain", post, "length", footing.post_length, UP, "near")]
    if sill is not None and footing.frame_on == "sill":
        layers.insert(0, Layer("sill", sill, "depth", sill.depth, UP, "near"))
    return Joint("sill", name, tuple(layers), (0.0, -1.0))


def with_expansion(joint: Joint, share: float, size: float, direction: Vector) -> Joint:
    """Return a joint whose panel grows by a share of its size in the damp season.

    Parameters
    ----------
    joint : Joint
        The joint as for an inert panel.
    share : float
        Growth of the panel from the driest to the wettest season [-]; 0 changes nothing.
    size, direction : float, Vector
        Length of panel that grows towards the joint [mm], and which way.
    """
    if not share:
        return joint
    grows = Layer("panel, its own growth", Sheet("panel", 0.0, share), "length", size, direction,
                  "near")  # fmt: skip
    return replace(joint, layers=(*joint.layers, grows))


def spline(name: str) -> Joint:
    """Build the joint between two panels of one wall: no frame movement crosses it."""
    return Joint("spline", name, (), OUT, notes=("no frame movement across: fill and tolerance",))


def opening(name: str, held_by_frame: bool, post: Timber, up_to_unit: float) -> Joint:
    """Build the joint round a window or door.

    Parameters
    ----------
    name : str
        Where it is.
    held_by_frame : bool
        Whether the unit is fixed to the timbers, and so sinks with them, or to the panel.
    post : Timber
        The posts.
    up_to_unit : float
        Height of the unit's foot above what the posts stand on [mm].

    Returns
    -------
    Joint
        The same all round the unit, sized for its foot, where it closes most.
    """
    if not held_by_frame:
        return Joint("opening", name, (), UP, notes=("the unit is held by the panel: no movement",))
    layer = Layer("post, along the grain, up to the unit", post, "length", up_to_unit, UP, "far")
    return Joint("opening", name, _with_wood(layer), (0.0, 1.0))

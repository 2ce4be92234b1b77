"""Section and length of a timber in an IFC file, from its body, material profile and quantities.

A timber is a rectangle pushed out along its length, perhaps mapped from its type, perhaps with
pieces cut off: then the uncut piece counts. Nothing else is guessed at. Whether a side is the width
or the depth is read from where the timber lies: the width is level.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shrinkage.errors import ShrinkageError

RECTANGLES = ("IfcRectangleProfileDef", "IfcRoundedRectangleProfileDef")
DEEPEST = 20
"""Most steps from a body through mappings and cuts to the piece it is made of."""
LARGEST_SECTION, LARGEST_LENGTH = 2000.0, 100_000.0
"""Sides and length a job file takes too [mm]."""
SAME = 0.1
"""Sections that differ by less are the same [mm]."""
SQUARE = 1e-4
"""How far four corners may lie off a rectangle, per length of its longer side."""
CLEARLY = 0.1
"""Rise per length by which one side must lie more level than the other to be the width."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Piece:
    """A timber as a square-edged piece.

    Parameters
    ----------
    width, depth, length : float
        The job file's sides: width level, depth up and down or square to the slope [mm].
    notes : tuple of str
        How they were read, where there is more than one way.
    """

    width: float
    depth: float
    length: float
    notes: tuple[str, ...] = ()


def piece_of(element: Any, mm: float) -> Piece:
    """Read one timber.

    Parameters
    ----------
    element : ifcopenshell.entity_instance
        A column, beam or member.
    mm : float
        Length of the file's unit [mm].

    Returns
    -------
    Piece
        Its section and length. Where the file gives a length quantity, that is the length: the body
        is measured before its ends are cut.

    Raises
    ------
    ShrinkageError
        Saying what of it is not understood.
    """
    profile, stated = _profile_section(element, mm), _stated_length(element, mm)
    try:
        piece = _from_body(element, mm)
    except ShrinkageError as error:
        if profile is None or stated is None:
            raise
        return _checked(Piece(*profile, stated, (
            f"{error.message}: section from the material profile, its x taken as the width",
        )))  # fmt: skip
    if profile and not np.allclose(sorted(profile), sorted((piece.width, piece.depth)), 0, SAME):
        raise ShrinkageError(
            f"section {piece.width:g} x {piece.depth:g} mm by its body, {profile[0]:g} x "
            f"{profile[1]:g} mm by its material profile"
        )
    return _checked(piece if stated is None else _with_length(piece, stated))


def _with_length(piece: Piece, stated: float) -> Piece:
    """Return a piece with the length its quantities state, which is that of the finished timber."""
    if not 0.5 * piece.length < stated < 1.02 * piece.length:
        raise ShrinkageError(
            f"length {piece.length:g} mm by its body, {stated:g} mm by its quantities"
        )
    return Piece(piece.width, piece.depth, stated, piece.notes)


def _checked(piece: Piece) -> Piece:
    """Return the piece if a job file could hold it."""
    sides = (piece.width, piece.depth)
    if not (0 < min(sides) and max(sides) < LARGEST_SECTION and 0 < piece.length < LARGEST_LENGTH):
        raise ShrinkageError(
            f"{piece.width:g} x {piece.depth:g} mm, {piece.length:g} mm long; accepted: sides "
            "under 2 m and a length under 100 m"
        )
    return piece


@np.errstate(divide="ignore", invalid="ignore")  # directions of no length: refused below
def _from_body(element: Any, mm: float) -> Piece:
    from ifcopenshell.util.placement import get_local_placement

    shapes = element.Representation.Representations if element.Representation else ()
    items = [item for shape in shapes if shape.RepresentationIdentifier == "Body"
             for item in shape.Items]  # fmt: skip
    if len(items) != 1:
        raise ShrinkageError(f"body of {len(items)} solids" if items else "no body")
    ((solid, placed, cut),) = _solids(items[0], get_local_placement(element.ObjectPlacement))
    sides = _sides(solid, placed) * mm
    lengths = np.linalg.norm(sides, axis=1)
    order = np.argsort(-lengths, kind="stable")
    if not lengths.min() > 0:  # nor may a broken placement make it no number
        raise ShrinkageError("a side of no length, or placed nowhere")
    if lengths[order[0]] < lengths[order[1]] + SAME:
        raise ShrinkageError("no side is the longest")
    # The profile's own order of x and y, where neither lies more level than the other.
    first, second = sorted(order[1:])
    notes = ["length before its cuts"] if cut else []
    steepness = abs(sides[[first, second], 2]) / lengths[[first, second]]
    if abs(steepness[0] - steepness[1]) < CLEARLY:
        if abs(lengths[first] - lengths[second]) > SAME:
            notes.append("which side is the width is not in the file: its profile's x")
    elif steepness[0] > steepness[1]:
        first, second = second, first
    width, depth, length = (float(lengths[at]) for at in (first, second, order[0]))
    return Piece(width, depth, length, tuple(notes))


def _solids(item: Any, placed: Floats, cut: bool = False, deep: int = 0) -> Iterator[Any]:
    """Yield the pushed-out piece a body is made of, how it is placed, and whether it is cut."""
    from ifcopenshell.util.placement import get_mappeditem_transformation

    if deep > DEEPEST:
        raise ShrinkageError(f"body of more than {DEEPEST} steps")
    if item.is_a("IfcMappedItem"):
        parts = item.MappingSource.MappedRepresentation.Items
        if len(parts) != 1:
            raise ShrinkageError(f"body of {len(parts)} solids")
        moved = placed @ get_mappeditem_transformation(item)
        yield from _solids(parts[0], moved, cut, deep + 1)
    elif item.is_a("IfcBooleanResult") and item.Operator == "DIFFERENCE":
        yield from _solids(item.FirstOperand, placed, True, deep + 1)
    elif item.is_a("IfcExtrudedAreaSolid"):
        yield item, placed, cut
    else:
        raise ShrinkageError(f"body is an {item.is_a()}, not a rectangle pushed out")


def _sides(solid: Any, placed: Floats) -> Floats:
    """Return the three edges of a pushed-out rectangle as vectors; shape (3, 3) [file's unit]."""
    from ifcopenshell.util.placement import get_axis2placement

    width, depth, turned = _rectangle(solid.SweptArea)
    push = np.array(solid.ExtrudedDirection.DirectionRatios, dtype=float)
    if abs(push[2]) < (1 - 1e-6) * np.linalg.norm(push):
        raise ShrinkageError("pushed out at a slant to its section")
    base = placed @ get_axis2placement(solid.Position) if solid.Position else placed
    edges = np.vstack([turned[:, 0] * width, turned[:, 1] * depth, [0, 0, solid.Depth]])
    return np.asarray(edges @ base[:3, :3].T)


def _rectangle(profile: Any) -> tuple[float, float, Floats]:
    """Return a rectangle's sides and the directions they lie in, as columns."""
    from ifcopenshell.util.placement import get_axis2placement

    if profile.is_a() == "IfcArbitraryClosedProfileDef":
        return _four_sided(profile.OuterCurve)
    if profile.is_a() not in RECTANGLES:
        raise ShrinkageError(f"section is an {profile.is_a()}, not a rectangle")
    turned = get_axis2placement(profile.Position)[:3, :3] if profile.Position else np.eye(3)
    return float(profile.XDim), float(profile.YDim), turned


def _four_sided(curve: Any) -> tuple[float, float, Floats]:
    """Return the same of a rectangle drawn as a closed line through its four corners."""
    if curve.is_a("IfcPolyline"):
        points = np.array([point.Coordinates for point in curve.Points], dtype=float)
    elif curve.is_a("IfcIndexedPolyCurve") and not curve.Segments:
        points = np.array(curve.Points.CoordList, dtype=float)
    else:
        raise ShrinkageError(f"section's outline is an {curve.is_a()}, not four corners")
    ways = np.diff(points[:, :2], axis=0)
    sides = np.linalg.norm(ways, axis=1)
    slack = SQUARE * sides.max(initial=0.0)
    is_closed = len(ways) == 4 and abs(ways.sum(axis=0)).max() < slack
    if not (is_closed and abs(ways[0] + ways[2]).max() < slack
            and abs(ways[0] @ ways[1]) < slack * sides[1]):  # fmt: skip
        raise ShrinkageError("section's outline is not a rectangle of four corners")
    turned = np.eye(3)
    turned[:2, :2] = (ways[:2] / sides[:2, None]).T
    return float(sides[0]), float(sides[1]), turned


def _profile_section(element: Any, mm: float) -> tuple[float, float] | None:
    """Return the section its material profile gives [mm], None where it has none."""
    from ifcopenshell.util.element import get_material

    material: Any = get_material(element, should_skip_usage=True)
    if material is None or not material.is_a("IfcMaterialProfileSet"):
        return None
    profiles = [part.Profile for part in material.MaterialProfiles]
    if len(profiles) != 1 or profiles[0] is None:
        raise ShrinkageError(f"{len(profiles)} material profiles")
    width, depth, _ = _rectangle(profiles[0])
    return width * mm, depth * mm


def _stated_length(element: Any, mm: float) -> float | None:
    """Return the length its quantities give [mm], None where they give none."""
    sets = [rel.RelatingPropertyDefinition for rel in element.IsDefinedBy
            if rel.is_a("IfcRelDefinesByProperties")]  # fmt: skip
    lengths = [
        one for quantities in sets if quantities.is_a("IfcElementQuantity")
        for one in quantities.Quantities
        if one.is_a("IfcQuantityLength") and one.Name == "Length"
    ]  # fmt: skip
    if any(one.Unit for one in lengths):
        raise ShrinkageError("its length quantity has a unit of its own")
    found = {float(one.LengthValue) for one in lengths}
    if len(found) > 1:
        raise ShrinkageError(f"lengths {' and '.join(f'{at * mm:g}' for at in sorted(found))} mm")
    return found.pop() * mm if found else None

"""Walls and roofs divided into panels: pure geometry, nothing comes off yet.

A wall is seen from outside; x runs along it from the left corner of the frame, y up from what the
panels stand on. Panels are vertical strips under a top profile. An opening as wide as a strip
splits it into a piece above and a piece below; a narrower one is a cut-out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from shrinkage.errors import ShrinkageError

EdgeKind = Literal["eave", "gable", "corner", "flush", "free", "spline", "opening", "sill", "ridge"]
EndKind = Literal["laps", "butts", "free"]
Point = tuple[float, float]

_SMALL = 1e-6


@dataclass(frozen=True)
class Hole:
    """A window or door unit in a wall: left, foot, width and height [mm]."""

    name: str
    left: float
    foot: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Right side of the unit [mm]."""
        return self.left + self.width

    @property
    def head(self) -> float:
        """Top of the unit [mm]."""
        return self.foot + self.height


@dataclass(frozen=True)
class Piece:
    """One panel as drawn, before anything comes off.

    Parameters
    ----------
    mark : str
        What it is called.
    left, right, bottom : float
        Its nominal opening [mm].
    top : tuple of Point
        Top profile from left to right, in the wall's coordinates [mm].
    edges : dict of str to str
        What each of 'left', 'right', 'top' and 'bottom' meets.
    holes : tuple of Hole
        Openings cut out of it.
    """

    mark: str
    left: float
    right: float
    bottom: float
    top: tuple[Point, ...]
    edges: dict[str, EdgeKind]
    holes: tuple[Hole, ...] = ()

    def top_at(self, x: float) -> float:
        """Return the height of the nominal top at a place along the wall [mm]."""
        return height_at(self.top, x)


def height_at(profile: Sequence[Point], x: float) -> float:
    """Return the height of a polyline at x, straight on past its ends [mm]."""
    for (x0, y0), (x1, y1) in pairwise(profile):
        if x <= x1 or (x1, y1) == profile[-1]:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    raise AssertionError("a profile has at least two points")


def run(length: float, ends: tuple[EndKind, EndKind], covering: float, panel: float) -> Point:
    """Return where a wall's panels start and end, from the left corner of the frame.

    Parameters
    ----------
    length : float
        Of the frame, outside to outside [mm].
    ends : tuple of str
        'laps' runs past the other wall's covering and panel and ends flush with it; 'butts' stops
        at the inner face of the panel that laps; 'free' stops at the frame.
    covering, panel : float
        Thickness between frame and panel, and of the panel [mm].

    Returns
    -------
    tuple of float
        Start and end [mm].
    """
    past = {"laps": covering + panel, "butts": covering, "free": 0.0}
    return -past[ends[0]], length + past[ends[1]]


def top_profile(
    length: float, height: float, pitch: float, is_gable: bool, ends: Point
) -> list[Point]:
    """Return the top of a wall from end to end: level, or up to a peak in the middle.

    Parameters
    ----------
    length, height : float
        Of the frame; the height is at the corners of the frame [mm].
    pitch : float
        Of the roof [rad].
    is_gable : bool
        Whether the top follows the roof.
    ends : tuple of float
        Start and end of the panels [mm].
    """
    if not is_gable:
        return [(ends[0], height), (ends[1], height)]
    rise = math.tan(pitch)
    middle = length / 2
    return [
        (ends[0], height + rise * ends[0]),
        (middle, height + rise * middle),
        (ends[1], height + rise * (length - ends[1])),
    ]


def cuts(
    ends: Point, divide: Literal["even", "full"] | Sequence[float | None], widest: float
) -> list[float]:
    """Return where a run is divided, both ends included.

    Parameters
    ----------
    ends : tuple of float
        Start and end [mm].
    divide : 'even', 'full' or sequence
        Equal panels, full ones from the left with what is left over last, or widths as drawn with
        None for the one that takes the rest.
    widest : float
        Widest panel that can be had [mm].

    Raises
    ------
    ShrinkageError
        If widths do not add up, or one is wider than can be had.
    """
    start, total = ends[0], ends[1] - ends[0]
    count = max(1, math.ceil(total / widest - _SMALL))
    if divide == "even":
        widths = [total / count] * count
    elif divide == "full":
        widths = [widest] * (count - 1) + [total - widest * (count - 1)]
    else:
        widths = _as_drawn([part for part in divide if not isinstance(part, str)], total)
    for number, width in enumerate(widths, start=1):
        if width > widest + _SMALL:
            raise ShrinkageError(
                f"panel {number} is {width:.1f} mm wide; accepted: up to panel.max_width, "
                f"{widest:.1f} mm"
            )
    places = [start]
    for width in widths:
        places.append(places[-1] + width)
    return [*places[:-1], ends[1]]


def _as_drawn(widths: Sequence[float | None], total: float) -> list[float]:
    known = sum(width for width in widths if width is not None)
    rest = total - known
    if rest <= _SMALL if None in widths else abs(rest) > 0.5:
        raise ShrinkageError(
            f"widths add up to {known:.1f} mm; accepted: the wall's panels run {total:.1f} mm from "
            'end to end, or "rest" for one of them'
        )
    return [rest if width is None else width for width in widths]


def check_holes(holes: Sequence[Hole], profile: Sequence[Point], length: float) -> None:
    """Refuse openings that do not fit the wall or lie over each other.

    Raises
    ------
    ShrinkageError
        Naming the opening.
    """
    for number, hole in enumerate(holes):
        if hole.right > length + _SMALL:
            raise ShrinkageError(
                f"opening {hole.name!r} ends {hole.right:.1f} mm from the left; accepted: within "
                f"the wall's length, {length:.1f} mm"
            )
        lowest = min(height_at(profile, hole.left), height_at(profile, hole.right))
        if hole.head > lowest + _SMALL:
            raise ShrinkageError(
                f"opening {hole.name!r} reaches {hole.head:.1f} mm up; accepted: within the wall, "
                f"{lowest:.1f} mm high there"
            )
        for other in holes[:number]:
            apart_x = hole.left >= other.right or other.left >= hole.right
            apart_y = hole.foot >= other.head or other.foot >= hole.head
            if not (apart_x or apart_y):
                raise ShrinkageError(f"opening {hole.name!r} lies over {other.name!r}")


def strips(
    name: str,
    places: Sequence[float],
    profile: Sequence[Point],
    end_edges: tuple[EdgeKind, EdgeKind],
    top: EdgeKind,
    holes: Sequence[Hole],
    reach: float = 0.0,
) -> list[Piece]:
    """Divide a wall into pieces.

    Parameters
    ----------
    name : str
        Of the wall; panels are called after it.
    places : sequence of float
        Where it is divided [mm].
    profile : sequence of Point
        Its top [mm].
    end_edges : tuple of str
        What its two ends meet.
    top : str
        What its top meets.
    holes : sequence of Hole
        Its openings.
    reach : float
        Gap round the units: a strip nearer to one than this is cut out for it too [mm].

    Returns
    -------
    list of Piece
        From left to right; above a full-width opening after below it.
    """
    pieces: list[Piece] = []
    last = len(places) - 2
    for number, (x0, x1) in enumerate(pairwise(places)):
        edges: dict[str, EdgeKind] = {
            "left": end_edges[0] if number == 0 else "spline",
            "right": end_edges[1] if number == last else "spline",
            "top": top,
            "bottom": "sill",
        }
        inner = [p for p in profile if x0 + _SMALL < p[0] < x1 - _SMALL]
        ends = [(x, height_at(profile, x)) for x in (x0, x1)]
        whole = Piece(
            f"{name} {number + 1}", x0, x1, 0.0, (ends[0], *inner, ends[1]), edges,
            tuple(
                h for h in holes
                if h.left - reach < x1 - _SMALL and h.right + reach > x0 + _SMALL
            ),
        )  # fmt: skip
        pieces += _split(whole)
    return pieces


def _split(piece: Piece) -> list[Piece]:
    """Split a strip at openings as wide as it is, from the bottom up."""
    across = sorted((h for h in piece.holes if _spans(h, piece)), key=lambda hole: hole.foot)
    if not across:
        return [piece]
    found: list[Piece] = []
    bottom, under = piece.bottom, piece.edges["bottom"]
    for hole in across:
        if hole.foot > bottom + _SMALL:
            level = ((piece.left, hole.foot), (piece.right, hole.foot))
            edges = piece.edges | {"top": "opening", "bottom": under}
            found.append(_part(piece, bottom, level, edges))
        bottom, under = hole.head, "opening"
    if piece.top_at(piece.left) > bottom + _SMALL or piece.top_at(piece.right) > bottom + _SMALL:
        found.append(_part(piece, bottom, piece.top, piece.edges | {"bottom": under}))
    return [
        Piece(p.mark + _letters(i), p.left, p.right, p.bottom, p.top, p.edges, p.holes)
        for i, p in enumerate(found)
    ]


def _letters(number: int) -> str:
    """Return a, b, ... z, za, zb, ... for 0, 1, ..."""
    whole, part = divmod(number, 26)
    return "z" * whole + "abcdefghijklmnopqrstuvwxyz"[part]


def _spans(hole: Hole, piece: Piece) -> bool:
    return hole.left <= piece.left + _SMALL and hole.right >= piece.right - _SMALL


def _part(piece: Piece, bottom: float, top: tuple[Point, ...], edges: dict[str, EdgeKind]) -> Piece:
    """Return the part of a strip above `bottom` and under `top`, with the cut-outs in it."""
    highest = max(y for _, y in top)
    inside = tuple(
        h for h in piece.holes
        if h.foot < highest - _SMALL and h.head > bottom + _SMALL and not _spans(h, piece)
    )  # fmt: skip
    return Piece(piece.mark, piece.left, piece.right, bottom, top, edges, inside)

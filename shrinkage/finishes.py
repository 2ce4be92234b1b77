"""Finishes against green timbers: the line that opens, the lap or housing that hides it.

Wallboard butted to a post or run behind it, trim scribed to a face or housed into it. Tongue-and-
groove boards are in `shrinkage.boards`. Sketches and derivations: docs/finishes.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shrinkage.errors import ShrinkageError
from shrinkage.finding import (
    HEART_NOTE,
    Amount,
    Finding,
    Lost,
    Since,
    amount,
    lost,
    mixed,
    strain_by_hand,
)
from shrinkage.timber import Floats, Timber

Side = Literal["width", "depth"]

_PAINT = (
    "Paint or oil what the lap or housing hides before it goes in: what comes out later shows "
    "as a strip of another colour"
)


def not_negative(where: str, **sizes: float) -> None:
    """Refuse lengths below zero or not finite, by name."""
    for key, value in sizes.items():
        if not 0 <= value < math.inf:
            raise ShrinkageError(
                f"{where}: {key.replace('_', ' ')} {value:g} mm; accepted: 0 or more"
            )


@dataclass(frozen=True)
class Face:
    """A face of a timber that finish work meets.

    Parameters
    ----------
    timber : Timber
        The post, beam or plate.
    side : {'width', 'depth'}
        The dimension of it that takes the face away.
    share : float
        From the line where the timber is held to the face [mm]: half the side where it shrinks
        about its centre, all of it where the far face is held, 0 where this one is.
    since : {'panels on', 'foamed', 'heated'}
        The day the finish goes in.

    Raises
    ------
    ShrinkageError
        If the share is more than the side.
    """

    timber: Timber
    side: Side
    share: float
    since: Since = "panels on"

    def __post_init__(self) -> None:
        size = self.size
        if not 0 <= self.share <= size + 1e-9:
            raise ShrinkageError(
                f"{self.timber.role}: held {self.share:.1f} mm from the face; accepted: 0 to its "
                f"{self.side}, {size:.1f} mm"
            )

    @property
    def size(self) -> float:
        """The whole side [mm]."""
        return self.timber.width if self.side == "width" else self.timber.depth

    def lost(self) -> Lost:
        """Return what the side loses from that day on [-]."""
        return lost(self.timber, self.side, self.since)

    def step(self) -> str:
        """Return the loss worked by hand."""
        return strain_by_hand(self.timber, self.side, self.since)


@dataclass(frozen=True)
class Hiding:
    """What is to stay hidden, and how well things are set.

    Parameters
    ----------
    keep : float
        Lap or housing still covered at the driest [mm].
    tolerance : float
        Setting and cutting together [mm].
    moves : float
        What the finish itself loses away from the face, at the most [mm]; 0 where inert.
    """

    keep: float
    tolerance: float
    moves: float = 0.0

    def __post_init__(self) -> None:
        not_negative("finish", keep=self.keep, tolerance=self.tolerance, moves=self.moves)


@dataclass(frozen=True, kw_only=True)
class WallboardFinding(Finding):
    """Wallboard at the two sides of a post.

    Parameters
    ----------
    face : Face
        The left face, from which the right follows.
    left, right : Amount
        Line that opens where the board is butted to that side; behind the post none does.
    lap_left, lap_right : Amount
        Lap behind the post that hides it.
    room : Amount
        What a post put up dry swells on its wider side: room for a butted board.
    """

    face: Face
    left: Amount
    right: Amount
    lap_left: Amount
    lap_right: Amount
    room: Amount


def wallboard(name: str, face: Face, hiding: Hiding) -> WallboardFinding:
    """Work out wallboard butted to a post against wallboard run behind it.

    Each side face draws back by its distance from the line where the post is held times what the
    post loses. A butted board opens a line by that; behind the post the lap is used up instead.

    Parameters
    ----------
    name : str
        Where it is.
    face : Face
        The post, held `share` from its left face.
    hiding : Hiding
        What the lap is to keep, its tolerance, and the board's own movement.

    Returns
    -------
    WallboardFinding
        For both sides.
    """
    shares = {"left": face.share, "right": max(0.0, face.size - face.share)}
    found = face.lost()
    opens = {side: mixed((share, found.driest)) for side, share in shares.items()}
    opens = {side: np.sort(moved) + np.array([0, 0, hiding.moves]) for side, moved in opens.items()}
    laps = {side: moved + hiding.keep + hiding.tolerance for side, moved in opens.items()}
    swells = np.maximum(0.0, -max(shares.values()) * found.wettest)
    steps = [face.step()]
    for side, share in shares.items():
        steps.append(_opening_step(f"{side} side", share, found, opens[side], hiding))
        steps.append(_hidden_step(f"lap behind the post, {side}", opens[side], hiding))
    notes = [
        "Butted, the line opens from the first winter on; run behind the post, nothing opens while "
        "there is lap left",
        _PAINT,
        HEART_NOTE,
    ]
    if laps["left"][2] + laps["right"][2] > face.size:
        notes.insert(0, "The two laps together are wider than the post: run one board through")
    return WallboardFinding(
        name=name,
        face=face,
        left=amount("line opens, left, butted", opens["left"]),
        right=amount("line opens, right, butted", opens["right"]),
        lap_left=amount("lap needed behind the post, left", laps["left"]),
        lap_right=amount("lap needed behind the post, right", laps["right"]),
        room=amount("post swells beyond its size on the day", swells),
        steps=tuple(steps),
        notes=tuple(notes),
    )


def _opening_step(what: str, share: float, found: Lost, opens: Floats, hiding: Hiding) -> str:
    own = f" + {hiding.moves:.2f} of its own" if hiding.moves else ""
    return (
        f"{what}: opens = {share:.2f} x {found.driest[2]:.5f}{own} = {opens[2]:.3f} mm at the most"
        f" ({share:.2f} x {found.driest[0]:.5f} = {opens[0]:.3f} at the least)"
    )


def _hidden_step(what: str, opens: Floats, hiding: Hiding, more: float = 0.0) -> str:
    swells = f" + {more:.3f} it swells" if more else ""
    return (
        f"{what} = {opens[2]:.3f} + {hiding.keep:.3f} kept + {hiding.tolerance:.3f} tolerance"
        f"{swells} = {opens[2] + hiding.keep + hiding.tolerance + more:.3f} mm"
    )


@dataclass(frozen=True, kw_only=True)
class TrimFinding(Finding):
    """Trim against a timber's face.

    Parameters
    ----------
    face : Face
        The face.
    opens : Amount
        Line that opens where the trim is scribed tight.
    housing : Amount
        Depth of housing that keeps its edge hidden.
    room : Amount
        Of that, what is left free at the bottom for swelling.
    """

    face: Face
    opens: Amount
    housing: Amount
    room: Amount


def trim(name: str, face: Face, hiding: Hiding) -> TrimFinding:
    """Work out trim scribed to a timber's face against trim housed into it.

    The mouth of a housing draws back with the face; the edge in it stays where the trim is fixed.
    What the timber may swell beyond its size on the day is left free at the bottom.

    Parameters
    ----------
    name : str
        Where it is.
    face : Face
        The face it meets.
    hiding : Hiding
        What is to stay in the housing, its tolerance, and the trim's own movement.

    Returns
    -------
    TrimFinding
        Scribed and housed.
    """
    found = face.lost()
    opens = np.sort(mixed((face.share, found.driest))) + np.array([0, 0, hiding.moves])
    room = np.sort(np.maximum(0.0, -face.share * found.wettest))
    depth = opens + room + hiding.keep + hiding.tolerance
    steps = (
        face.step(),
        _opening_step("scribed", face.share, found, opens, hiding),
        _hidden_step("housing", opens, hiding, float(room[2])),
    )
    notes = ["A housing weakens the timber: its depth is for the engineer where it carries",
             _PAINT, HEART_NOTE]  # fmt: skip
    if depth[2] > face.share > 0:
        notes.insert(0, "The housing would reach past the line where the timber is held: cover the "
                        "line with a loose trim instead")  # fmt: skip
    return TrimFinding(
        name=name,
        face=face,
        opens=amount("line opens, scribed", opens),
        housing=amount("housing depth needed", depth),
        room=amount("of that, free at the bottom for swelling", room),
        steps=steps,
        notes=tuple(notes),
    )

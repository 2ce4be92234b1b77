"""A brace between a post and a beam that both shrink away from it: which edge of a shoulder opens.

Plane geometry, small movements. Origin where the post's face and the beam's underside meet, x away
from the post, y up; the brace runs from its foot on the post up to its head under the beam.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from shrinkage.errors import ShrinkageError
from shrinkage.finding import (
    CUT_NOTE,
    HEART_NOTE,
    Amount,
    Finding,
    amount,
    lost,
    mixed,
    strain_by_hand,
)
from shrinkage.finishes import Face, not_negative
from shrinkage.joinery import ENGINEER_NOTE
from shrinkage.timber import Floats, Timber

STEEPEST = math.radians(75)
STRAINS = ("post", "beam", "brace", "post, along", "beam, along", "brace, along")
EDGES = ("foot, upper edge", "foot, lower edge", "head, edge by the post", "head, far edge")


@dataclass(frozen=True)
class Brace:
    """A brace, pegged at both ends on its own axis.

    Parameters
    ----------
    post, beam : Face
        The post's inner face and the beam's underside, with how far behind each it is held.
    brace : Timber
        The brace; its depth lies in the plane of the frame.
    angle : float
        Of its axis from level [rad].
    leg : float
        Along the beam, from the post's face to the brace's axis [mm].
    post_peg, beam_peg : float
        Pegs behind those faces [mm].

    Raises
    ------
    ShrinkageError
        If an angle or length is impossible.
    """

    post: Face
    beam: Face
    brace: Timber
    angle: float
    leg: float
    post_peg: float
    beam_peg: float

    def __post_init__(self) -> None:
        not_negative("brace", post_peg=self.post_peg, beam_peg=self.beam_peg)
        if not math.pi / 2 - STEEPEST <= self.angle <= STEEPEST:
            raise ShrinkageError(
                f"brace: angle {math.degrees(self.angle):.1f} deg; accepted: 15 to 75 deg from "
                "level"
            )
        for face, peg in ((self.post, self.post_peg), (self.beam, self.beam_peg)):
            if peg > face.size:
                raise ShrinkageError(
                    f"brace: peg {peg:.1f} mm behind the face of the {face.timber.role}; accepted: "
                    f"0 to its {face.side}, {face.size:.1f} mm"
                )
        least = self.brace.depth / 2 / math.sin(self.angle)
        if not least < self.leg < math.inf:
            raise ShrinkageError(
                f"brace: leg {self.leg:.1f} mm; accepted: more than {least:.1f} mm, where its "
                "upper edge would meet the corner"
            )

    @property
    def axes(self) -> tuple[Floats, Floats]:
        """Unit vectors along the brace, foot to head, and across it, toward the corner [-]."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        return np.array([c, s]), np.array([-s, c])

    @property
    def pegs(self) -> tuple[Floats, Floats]:
        """Places of the peg in the post and the peg in the beam [mm]."""
        slope = math.tan(self.angle)
        foot = np.array([-self.post_peg, -(self.leg + self.post_peg) * slope])
        return foot, np.array([self.leg + self.beam_peg / slope, self.beam_peg])

    def edges(self) -> dict[str, Floats]:
        """Return the ends of both shoulders by name [mm]."""
        half, slope = self.brace.depth / 2, math.tan(self.angle)
        up, out = half / math.cos(self.angle), half / math.sin(self.angle)
        places = [(0.0, up - self.leg * slope), (0.0, -up - self.leg * slope),
                  (self.leg - out, 0.0), (self.leg + out, 0.0)]  # fmt: skip
        return dict(zip(EDGES, map(np.array, places), strict=True))

    def peg_moves(self) -> tuple[Floats, Floats]:
        """Return how far each peg's hole in the frame moves for each of `STRAINS`.

        Returns
        -------
        foot, head : ndarray, shape (6, 2)
            In the post and in the beam [mm for a strain of one].
        """
        foot, head = self.pegs
        at_foot, at_head = np.zeros((len(STRAINS), 2)), np.zeros((len(STRAINS), 2))
        at_foot[0, 0] = -(self.post.share - self.post_peg)
        at_foot[3, 1] = self.beam.share - foot[1]
        at_head[1, 1] = self.beam.share - self.beam_peg
        at_head[4, 0] = -(self.post.share + head[0])
        return at_foot, at_head

    def responses(self) -> dict[str, Floats]:
        """Return what each of `STRAINS` does to the joint.

        The brace goes where both pegs are equally far out: it shifts by their mean, turns with
        them, and the pegs share what its length is short of.

        Returns
        -------
        dict of str to ndarray, shape (6,)
            The gap at each of `EDGES` and 'pull' [mm], 'turn' [rad], for a strain of one.
        """
        along, across = self.axes
        foot, head = self.pegs
        at_foot, at_head = self.peg_moves()
        span = float((head - foot) @ along)
        own, wide = np.eye(len(STRAINS))[5], np.eye(len(STRAINS))[2]
        turn = (at_head - at_foot) @ across / span
        shift = (at_foot + at_head) / 2
        found = {"turn": turn, "pull": (at_head - at_foot) @ along + own * span}
        for name, place in self.edges().items():
            r = place - (foot + head) / 2
            moved = shift + np.outer(turn, np.array([-r[1], r[0]]))
            moved = moved - np.outer(own, (r @ along) * along) - np.outer(wide, r @ across * across)
            face = np.zeros(len(STRAINS))
            if name.startswith("foot"):
                face[0] = -self.post.share
                found[name] = moved[:, 0] - face
            else:
                face[1] = self.beam.share
                found[name] = face - moved[:, 1]
        return found


@dataclass(frozen=True, kw_only=True)
class BraceFinding(Finding):
    """A brace at the driest.

    Parameters
    ----------
    joint : Brace
        As cut.
    foot_upper, foot_lower, head_near, head_far : Amount
        Gap at the ends of both shoulders, square to the face; negative where that edge would bear.
    pull : Amount
        What the brace is short of between its pegs, which they share.
    turn : Amount
        Positive counter-clockwise, the post on the left.
    """

    joint: Brace
    foot_upper: Amount
    foot_lower: Amount
    head_near: Amount
    head_far: Amount
    pull: Amount
    turn: Amount


def brace(name: str, joint: Brace) -> BraceFinding:
    """Work out the shoulders of a brace between timbers that shrink away from it.

    Parameters
    ----------
    name : str
        Where it is.
    joint : Brace
        As cut.

    Returns
    -------
    BraceFinding
        At the driest.
    """
    post, beam = (
        replace(face, timber=replace(face.timber, course=None)) for face in (joint.post, joint.beam)
    )
    piece = replace(joint.brace, course=None)
    lose = [post.lost().driest, beam.lost().driest, lost(piece, "depth").driest]
    lose += [lost(wood, "length").driest for wood in (post.timber, beam.timber, piece)]
    levers = joint.responses()
    found = {key: mixed(*zip(map(float, row), lose, strict=True)) for key, row in levers.items()}
    steps = [post.step(), beam.step(), strain_by_hand(piece, "depth")]
    steps.append("along the grain: " + ", ".join(f"{s[2]:.5f}" for s in lose[3:]) + " of the "
                 "post's, the beam's and the brace's length")  # fmt: skip
    steps += [_lever_step(key, levers[key], lose) for key in (*EDGES, "pull")]
    notes = [
        "The frame's centre lines, or what else holds it, stay square; pegs are snug and equally "
        "stiff, the brace is stiff: it shifts and turns until both are equally far out",
        "Its own width shrinks and with it the angle of its shoulders, as a mitre opens",
        CUT_NOTE, HEART_NOTE, ENGINEER_NOTE,
    ]  # fmt: skip
    bearing = [key for key in EDGES if found[key].min() < 0]
    if bearing:
        notes.insert(0, f"These edges can bear ({', '.join(bearing)}): the brace then tips on "
                        "them, and the other edge of that shoulder opens further")  # fmt: skip
    edges = (amount(f"gap, {key}", found[key]) for key in EDGES)
    upper, lower, near, far = edges
    return BraceFinding(
        name=name, joint=joint, foot_upper=upper, foot_lower=lower, head_near=near, head_far=far,
        pull=amount("short between its pegs", found["pull"]),
        turn=amount("brace turns", found["turn"], "angle"),
        steps=tuple(steps), notes=tuple(notes),
    )  # fmt: skip


def _lever_step(what: str, levers: Floats, lose: list[Floats]) -> str:
    """Return an amount at its most worked by hand: each loss at the end that adds most."""
    used = [cases[2] if lever >= 0 else cases[0] for lever, cases in zip(levers, lose, strict=True)]
    terms = [
        f"{lever:+.2f} {name} x {loss:.5f}"
        for lever, name, loss in zip(levers, STRAINS, used, strict=True)
        if abs(lever) > 1e-9
    ]
    return f"{what} = {' '.join(terms)} = {float(levers @ used):.3f} mm at the most"

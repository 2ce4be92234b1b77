"""Joinery cut green: the shoulders of a girt, and the tenon in its mortise.

Joints move from the day they are cut, so a timber here runs from its moisture then to the driest
month, without dates. Braces are in `shrinkage.brace`, beams held by pegs in
`shrinkage.pegged`. Sketches and derivations: docs/finishes.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from shrinkage.errors import ShrinkageError
from shrinkage.finding import (
    CUT_NOTE,
    HEART_NOTE,
    Amount,
    Finding,
    amount,
    lost,
    mixed,
    part_of,
    strain_by_hand,
)
from shrinkage.finishes import Face, Hiding, Side, not_negative
from shrinkage.timber import Timber

ENGINEER_NOTE = (
    "Pegs, edge distances and what a joint carries are for the engineer; nothing here proves them"
)


@dataclass(frozen=True)
class Shoulder:
    """A girt's shoulder on a post, the same at its other end.

    Parameters
    ----------
    face : Face
        The post's face, its share measured to what holds the joint: the post's own centre, or the
        peg line.
    girt : Timber
        The girt.
    length : float
        Between its shoulders [mm].
    held_by : {'posts', 'pegs'}
        Posts that stay where they stand, or pegs that draw the post along.
    housing : float
        How deep its end is let into the post; 0 where it only butts [mm].

    Raises
    ------
    ShrinkageError
        If the housing reaches past what holds the joint, or there is no length.
    """

    face: Face
    girt: Timber
    length: float
    held_by: Literal["posts", "pegs"] = "posts"
    housing: float = 0.0

    def __post_init__(self) -> None:
        not_negative("shoulder", housing=self.housing)
        if not 0 < self.length < math.inf:
            raise ShrinkageError(f"shoulder: length {self.length:g} mm; accepted: above zero")
        if self.housing > self.face.share:
            raise ShrinkageError(
                f"shoulder: housing {self.housing:.1f} mm; accepted: 0 to the "
                f"{self.face.share:.1f} mm from the post's face to what holds the joint"
            )

    @property
    def along(self) -> float:
        """Length of girt whose shortening opens the joint; negative where it closes it [mm]."""
        inside = self.face.share - self.housing
        return self.length / 2 if self.held_by == "posts" else -inside


@dataclass(frozen=True, kw_only=True)
class ShoulderFinding(Finding):
    """A girt's shoulder at the driest.

    Parameters
    ----------
    joint : Shoulder
        As cut.
    gap : Amount
        Between the shoulder, at the bottom of its housing, and the post.
    cover : Amount
        Housing that still covers the girt's end; negative where the gap shows.
    housing : Amount
        Depth that would keep it covered.
    """

    joint: Shoulder
    gap: Amount
    cover: Amount
    housing: Amount


def shoulder(name: str, joint: Shoulder, hiding: Hiding) -> ShoulderFinding:
    """Work out the gap at a girt's shoulder and the housing that hides it.

    Post between what holds the joint and the bottom of the housing shrinks across the grain,
    girt along it: ``gap = (share - housing) s_post + along s_L``. The mouth of the housing draws
    back by ``share s_post + along s_L`` over the girt's end.

    Parameters
    ----------
    name : str
        Where it is.
    joint : Shoulder
        As cut.
    hiding : Hiding
        Housing to keep, and its tolerance.

    Returns
    -------
    ShoulderFinding
        For each of the two ends.
    """
    post = replace(joint.face, timber=replace(joint.face.timber, course=None))
    girt = replace(joint.girt, course=None)
    across, along = post.lost().driest, lost(girt, "length").driest
    share, inside = post.share, post.share - joint.housing
    gap = mixed((inside, across), (joint.along, along))
    mouth = mixed((share, across), (joint.along, along)) + hiding.moves
    needed = mouth + hiding.keep + hiding.tolerance
    steps = (
        post.step(),
        strain_by_hand(girt, "length"),
        f"gap = ({share:.2f} - {joint.housing:.2f}) x {across[2]:.5f} {joint.along:+.2f} x "
        f"{along[2]:.5f} = {gap[2]:.3f} mm at the most",
        f"mouth draws back {share:.2f} x {across[2]:.5f} {joint.along:+.2f} x {along[2]:.5f} = "
        f"{mouth[2]:.3f} mm; housing = that + {hiding.keep:.3f} kept + {hiding.tolerance:.3f} "
        f"tolerance = {needed[2]:.3f} mm",
    )
    held = {
        "posts": "Posts stay where they stand: each end of the girt shortens by half",
        "pegs": "Snug pegs hold post and girt together at the peg line: only the wood outside it "
        "opens the shoulder; where the posts are held as well, the pegs give the rest",
    }
    return ShoulderFinding(
        name=name,
        joint=joint,
        gap=amount("gap at each shoulder", gap),
        cover=amount("housing still over the girt's end", joint.housing - mouth, governs="least"),
        housing=amount("housing depth that hides it", needed),
        steps=steps,
        notes=(held[joint.held_by], CUT_NOTE, HEART_NOTE, ENGINEER_NOTE),
    )


@dataclass(frozen=True)
class Tenon:
    """A tenon in its mortise, both cut green.

    Parameters
    ----------
    timber, mortised : Timber
        What each is cut from. The tenon lies in the middle of its timber, its thickness along
        that timber's width.
    thickness, depth : float
        Of the tenon [mm].
    into : {'width', 'depth'}
        The side of the mortised timber the mortise's width lies along.
    clearance : float
        Mortise wider than the tenon on the day [mm].
    end_clearance : float
        Mortise longer than the tenon is deep on the day [mm].
    """

    timber: Timber
    mortised: Timber
    thickness: float
    depth: float
    into: Side = "width"
    clearance: float = 0.0
    end_clearance: float = 0.0

    def __post_init__(self) -> None:
        not_negative("tenon", clearance=self.clearance, end_clearance=self.end_clearance)
        self.piece()
        self.slot()

    def piece(self) -> Timber:
        """Return the tenon as a timber of its own, its rings where they were."""
        whole = replace(self.timber, role=f"tenon of the {self.timber.role}")
        return part_of(whole, self.thickness, self.depth)

    def slot(self) -> Timber:
        """Return the wood in line with the mortise: what sets the distance of its cheeks."""
        wide, post = self.thickness + self.clearance, self.mortised
        whole = replace(post, role=f"{post.role} at its mortise")
        size = (wide, post.depth) if self.into == "width" else (post.width, wide)
        return part_of(whole, *size)


@dataclass(frozen=True, kw_only=True)
class TenonFinding(Finding):
    """A tenon at the driest.

    Parameters
    ----------
    joint : Tenon
        As cut.
    loose : Amount
        Mortise wider than the tenon; negative where it binds.
    short : Amount
        Mortise longer than the tenon is deep.
    thinner, shallower : Amount
        What the tenon itself loses of its thickness and its depth.
    """

    joint: Tenon
    loose: Amount
    short: Amount
    thinner: Amount
    shallower: Amount


def tenon(name: str, joint: Tenon) -> TenonFinding:
    """Work out how loose a tenon becomes in its mortise.

    A hole shrinks as the wood would that it is cut from: across the grain of the mortised timber
    in its width, along it in its length. ``loose = clearance + t s_tenon - (t + clearance)
    s_mortise``; in depth the mortise hardly moves and the tenon's loss stays open.

    Parameters
    ----------
    name : str
        Where it is.
    joint : Tenon
        As cut.

    Returns
    -------
    TenonFinding
        At the driest.
    """
    piece, slot = joint.piece(), joint.slot()
    thick, deep = lost(piece, "width").driest, lost(piece, "depth").driest
    wide, long = lost(slot, joint.into).driest, lost(slot, "length").driest
    mortise, length = joint.thickness + joint.clearance, joint.depth + joint.end_clearance
    loose = joint.clearance + mixed((joint.thickness, thick), (-mortise, wide))
    short = joint.end_clearance + mixed((joint.depth, deep), (-length, long))
    steps = (
        strain_by_hand(piece, "width"),
        strain_by_hand(piece, "depth"),
        strain_by_hand(slot, joint.into),
        strain_by_hand(slot, "length"),
        f"loose at the most = {joint.clearance:.2f} + {joint.thickness:.2f} x {thick[2]:.5f} - "
        f"{mortise:.2f} x {wide[0]:.5f} = {loose[2]:.3f} mm, "
        f"{100 * loose[2] / joint.thickness:.1f} % of its thickness",
        f"open in depth at the most = {joint.end_clearance:.2f} + {joint.depth:.2f} x "
        f"{deep[2]:.5f} - {length:.2f} x {long[2]:.5f} = {short[2]:.3f} mm",
    )
    notes = [
        "A tenon through the heart shrinks in thickness nearly as T and in depth nearly as R, "
        "whatever the whole timber does",
        "It sits on the lower end of its mortise: what it loses in depth opens above it",
        CUT_NOTE, HEART_NOTE, ENGINEER_NOTE,
    ]  # fmt: skip
    if loose[0] < 0:
        notes.insert(0, "At the least the mortise closes on the tenon: it can bind, and split")
    return TenonFinding(
        name=name,
        joint=joint,
        loose=amount("mortise wider than the tenon", loose),
        short=amount("mortise longer than the tenon is deep", short),
        thinner=amount("tenon loses of its thickness", joint.thickness * thick),
        shallower=amount("tenon loses of its depth", joint.depth * deep),
        steps=steps,
        notes=tuple(notes),
    )

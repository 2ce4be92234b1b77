"""A beam that sits on a seat and is held by pegs above it: as its depth shrinks it lifts off.

The beam shrinks toward its pegs, so its underside rises by what the wood below them loses, less
what the post beside it loses along its grain. Sketch and derivation: docs/finishes.md.
"""

from __future__ import annotations

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
    part_of,
    strain_by_hand,
)
from shrinkage.finishes import not_negative
from shrinkage.joinery import ENGINEER_NOTE
from shrinkage.timber import CASES, Floats, Timber


@dataclass(frozen=True)
class PeggedBeam:
    """A beam tenoned into a post, sitting on a seat there and held by pegs through its tenon.

    Parameters
    ----------
    beam, post : Timber
        The two.
    pegs : tuple of float
        Heights of the pegs above the seat [mm].
    slack : float
        How far beam and pegs can move against each other before they carry [mm].
    tolerable : float
        Lift off the seat that may be left [mm].

    Raises
    ------
    ShrinkageError
        If there is no peg, or one does not lie within the beam's depth.
    """

    beam: Timber
    post: Timber
    pegs: tuple[float, ...]
    slack: float = 0.0
    tolerable: float = 0.0

    def __post_init__(self) -> None:
        not_negative("pegged beam", slack=self.slack, tolerable=self.tolerable)
        wrong = [peg for peg in self.pegs if not 0 < peg < self.beam.depth]
        if wrong or not self.pegs:
            raise ShrinkageError(
                f"pegged beam: peg {wrong[0]:.1f} mm above the seat; accepted: above 0 and under "
                f"the beam's depth, {self.beam.depth:.1f} mm" if wrong else
                "pegged beam: no pegs; accepted: the height of one at least above the seat"
            )  # fmt: skip

    @property
    def hold(self) -> float:
        """Height of the point that stays: the mean of the pegs, all equally stiff [mm]."""
        return sum(self.pegs) / len(self.pegs)

    def strip(self, height: float) -> Timber:
        """Return the beam's lower part up to a height, its rings where they were."""
        below = replace(self.beam, role=f"{self.beam.role} below {height:.1f} mm")
        middle = (height - self.beam.depth) / 2
        return part_of(below, self.beam.width, height, y=middle)

    def lift(self, height: float) -> Floats:
        """Return how far the bottom rises for one peg at a height, slack not yet taken off.

        Parameters
        ----------
        height : float
            Above the seat [mm].

        Returns
        -------
        ndarray, shape (3,)
            Beam below the peg less post beside it, by case [mm].
        """
        post = lost(replace(self.post, course=None), "length").driest
        return mixed((height, lost(self.strip(height), "depth").driest), (-height, post))

    def highest(self, case: int) -> float:
        """Return the greatest peg height that keeps the lift tolerable, by halving [mm].

        Parameters
        ----------
        case : int
            Which of `CASES`.
        """
        low, high, allowed = 0.0, self.beam.depth, self.slack + self.tolerable
        if self.lift(high)[case] <= allowed:
            return high
        for _ in range(30):  # the lift rises with height all the way; 1 m / 2**30 is nothing
            middle = (low + high) / 2
            low, high = (middle, high) if self.lift(middle)[case] <= allowed else (low, middle)
        return low


@dataclass(frozen=True, kw_only=True)
class PeggedFinding(Finding):
    """A beam on its pegs at the driest.

    Parameters
    ----------
    joint : PeggedBeam
        As made.
    lift : Amount
        How far its bottom draws up toward the pegs.
    off : Amount
        What of that is left once slack is used up: the beam hangs this far off its seat.
    highest : Amount
        Greatest height of the pegs' middle that leaves no more than is tolerable.
    drawn : Amount
        How far several pegs are drawn together: they bend, or the tenon splits.
    """

    joint: PeggedBeam
    lift: Amount
    off: Amount
    highest: Amount
    drawn: Amount


def pegged(name: str, joint: PeggedBeam) -> PeggedFinding:
    """Work out how far a beam lifts off its seat as it shrinks toward its pegs.

    ``lift = h s(h) - h s_L``: s(h) is the mean loss of the beam's depth below the peg, by where
    the heart lies, s_L the post's along its grain between seat and peg.

    Parameters
    ----------
    name : str
        Where it is.
    joint : PeggedBeam
        As made.

    Returns
    -------
    PeggedFinding
        At the driest.
    """
    hold = joint.hold
    lift, top, bottom = (joint.lift(h) for h in (hold, max(joint.pegs), min(joint.pegs)))
    off = np.maximum(0.0, lift - joint.slack)
    highest = np.array([joint.highest(case) for case in range(len(CASES))])
    strip, post = joint.strip(hold), replace(joint.post, course=None)
    s, along = lost(strip, "depth").driest, lost(post, "length").driest
    steps = (
        strain_by_hand(strip, "depth"),
        strain_by_hand(post, "length"),
        f"pegs' middle at {hold:.2f} mm: lift = {hold:.2f} x {s[2]:.5f} - {hold:.2f} x "
        f"{along[2]:.5f} = {lift[2]:.3f} mm at the most",
        f"off its seat = {lift[2]:.3f} - {joint.slack:.2f} slack, not under 0 = {off[2]:.3f} mm",
        f"highest middle of the pegs for {joint.tolerable:.2f} mm more than the slack: "
        f"{highest.min():.1f} mm above the seat, by halving",
    )
    lifted = [
        "Lifted off its seat, the beam's end hangs on its pegs until they give: put the pegs as "
        "low as their edge distance allows, let them have slack upward, or shim the seat later"
    ] * bool(off[2] > joint.tolerable)
    notes = (
        *lifted,
        "Several pegs are taken as equally stiff: what stays is the middle between them",
        "Shrinkage below the peg is the mean over the beam's width; the rest of the beam keeps "
        "the tenon to it", CUT_NOTE, HEART_NOTE, ENGINEER_NOTE,
    )  # fmt: skip
    return PeggedFinding(
        name=name,
        joint=joint,
        lift=amount("bottom draws up toward the pegs", lift),
        off=amount("beam hangs off its seat", off),
        highest=amount("highest middle of the pegs", highest, governs="least"),
        drawn=amount("pegs drawn together", top - bottom),
        steps=steps,
        notes=notes,
    )

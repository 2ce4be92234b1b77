"""Tongue-and-groove boards over a year of air: gaps, cover of the tongue, room at the walls.

Boards an inch thick follow the air month by month, so the change is the Wood Handbook's own:
Eq. 13-2 from 6 to 14 % of moisture, Eq. 13-3 beyond. Sketch and derivation: docs/finishes.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shrinkage.climate import AirYear
from shrinkage.errors import ShrinkageError
from shrinkage.finding import Amount, Finding, amount
from shrinkage.finishes import not_negative
from shrinkage.movement import change, coefficient
from shrinkage.section import Heart, width_weights
from shrinkage.species import Species
from shrinkage.timber import Floats

Rings = Literal["flat", "quarter", "rift", "unknown"]
RINGS = ("flat", "quarter", "rift", "unknown")

LINE_RANGE = (6.0, 14.0)
"""Moistures between which GTR-190 gives Eq. 13-2 [%]; Eq. 13-3 beyond."""


@dataclass(frozen=True)
class Boards:
    """Tongue-and-groove boards across a ceiling or wall, each nailed on its own line.

    Parameters
    ----------
    species : Species
        Their wood.
    rings : {'flat', 'quarter', 'rift', 'unknown'}
        How they are sawn.
    width : float
        Face a board covers, tongue not counted [mm].
    tongue : float
        How far the tongue stands into the groove on the day [mm].
    moisture : float
        On the day they go up [%].
    air : AirYear
        The air they follow, month by month.
    run : float
        Across the boards, wall to wall [mm].
    gap : float
        Left at each joint on the day [mm].
    keep : float
        Tongue that must stay in its groove [mm].
    free_sides : {1, 2}
        Walls at which the run may grow.

    Raises
    ------
    ShrinkageError
        If a size or moisture is impossible.
    """

    species: Species
    rings: Rings
    width: float
    tongue: float
    moisture: float
    air: AirYear
    run: float
    gap: float = 0.0
    keep: float = 0.0
    free_sides: Literal[1, 2] = 2

    def __post_init__(self) -> None:
        not_negative("boards", gap=self.gap, keep=self.keep)
        for key in ("width", "run"):
            if not 0 < getattr(self, key) < math.inf:
                raise ShrinkageError(
                    f"boards: {key} {getattr(self, key):g} mm; accepted: above zero"
                )
        if self.width > self.run:
            raise ShrinkageError(
                f"boards: width {self.width:.1f} mm; accepted: up to the run, {self.run:.1f} mm"
            )
        if not 0 < self.tongue < self.width:
            raise ShrinkageError(
                f"boards: tongue {self.tongue:.1f} mm; accepted: above zero and less than the "
                f"board's width, {self.width:.1f} mm"
            )
        fs = self.species.fibre_saturation
        if not 0 <= self.moisture <= fs:
            raise ShrinkageError(
                f"boards: moisture {self.moisture:g} %; accepted: 0 to {fs:.0f} %, fibre "
                f"saturation: green boards are not laid"
            )
        if self.rings not in RINGS:
            raise ShrinkageError(f"boards: rings {self.rings!r}; accepted: {', '.join(RINGS)}")

    @property
    def joints(self) -> int:
        """Boards in the run, and so joints, the one at the wall counted."""
        return math.ceil(self.run / (self.width + self.gap) - 1e-9)

    def totals(self) -> Floats:
        """Return shrinkage of the width green to oven-dry, least, estimate, most [-]."""
        thin = 0.0  # a board is wider than it is thick: that is all its rings need to know
        weights = width_weights(self.width, thin, Heart(self.rings))
        share = np.array([weights.low, weights.estimate, weights.high])
        return np.sort(share * self.species.s_r + (1 - share) * self.species.tangential)

    def lost(self, moisture: float) -> tuple[Floats, str]:
        """Return what the width loses down to a moisture, and the equation used.

        Parameters
        ----------
        moisture : float
            To [%].

        Returns
        -------
        ndarray, shape (3,)
            Fraction of the width on the day, positive shrinks [-].
        str
            'Eq. 13-2' between 6 and 14 %, 'Eq. 13-3' beyond.
        """
        totals, fs = self.totals(), self.species.fibre_saturation
        low, high = LINE_RANGE
        if low <= min(moisture, self.moisture) and max(moisture, self.moisture) <= high:
            return coefficient(totals, fs) * (self.moisture - moisture), "Eq. 13-2"
        return change(totals, self.moisture, moisture, fs), "Eq. 13-3"


@dataclass(frozen=True, kw_only=True)
class BoardsFinding(Finding):
    """Tongue-and-groove boards through the year.

    Parameters
    ----------
    boards : Boards
        As laid.
    gap : Amount
        At each joint in the driest month.
    cover : Amount
        Tongue still in its groove then; negative where it is out.
    tongue : Amount
        Tongue that would keep what is to be kept.
    growth : Amount
        What each board grows by the wettest month: the gap to leave.
    room : Amount
        Expansion room at each free wall.
    """

    boards: Boards
    gap: Amount
    cover: Amount
    tongue: Amount
    growth: Amount
    room: Amount


def boards(name: str, laid: Boards) -> BoardsFinding:
    """Work out the joints of tongue-and-groove boards, and their room at the walls.

    From nail line to nail line stands one board and the gap. A board that loses the fraction s
    opens its joint by ``width x s``; its tongue draws back by its own loss too, so that
    ``tongue - gap - s (width + tongue)`` of it stays covered.

    Parameters
    ----------
    name : str
        Where they are.
    laid : Boards
        As laid.

    Returns
    -------
    BoardsFinding
        Driest month for gaps and cover, wettest for growth and room.
    """
    (dry, dry_by), (wet, wet_by) = (laid.lost(laid.air.low), laid.lost(laid.air.high))
    net = laid.gap + laid.width * dry
    growth = np.maximum(0.0, -laid.width * wet)
    tight = np.maximum(0.0, growth - laid.gap)
    room = laid.joints * tight / laid.free_sides
    cover = laid.tongue - laid.gap - dry * (laid.width + laid.tongue)
    needed = (laid.keep + laid.gap + dry * laid.width) / (1 - dry)
    return BoardsFinding(
        name=name,
        boards=laid,
        gap=amount("gap at each joint, driest month", np.maximum(0.0, net)),
        cover=amount("tongue still covered, driest month", cover, governs="least"),
        tongue=amount("tongue that would keep enough", needed),
        growth=amount("each board grows by the wettest month", growth),
        room=amount(f"expansion room at {_walls(laid)}", room),
        steps=tuple(_board_steps(laid, (dry, dry_by), (wet, wet_by))),
        notes=tuple(_board_notes(laid, net, cover, tight)),
    )


def _walls(laid: Boards) -> str:
    return "each of the two walls" if laid.free_sides == 2 else "the one free wall"


def _board_steps(laid: Boards, dry: tuple[Floats, str], wet: tuple[Floats, str]) -> list[str]:
    total, fs = float(laid.totals()[2]), laid.species.fibre_saturation
    steps = [
        f"S across the face at the most = {total:.5f}, rings {laid.rings} "
        f"({laid.species.source}, basis: {laid.species.basis}); C = (S / {fs:.0f}) / (1 - S "
        f"({fs:.0f} - 10) / {fs:.0f}) = {float(coefficient(total, fs)):.5f} per % for Eq. 13-2"
    ]
    for when, level, (s, by) in (("driest", laid.air.low, dry), ("wettest", laid.air.high, wet)):
        steps.append(
            f"{when} month {level:.2f} % ({laid.air.name}) from {laid.moisture:.2f} %: s = "
            f"{s[2]:+.5f} by GTR-190 {by}; width {laid.width:.2f} x s = {laid.width * s[2]:+.3f} mm"
        )
    s, w, t = dry[0][2], laid.width, laid.tongue
    grows = max(0.0, -w * float(wet[0][2]))
    tight = max(0.0, grows - laid.gap)
    steps += [
        f"cover = {t:.2f} - {laid.gap:.2f} - {s:.5f} x ({w:.2f} + {t:.2f}) = "
        f"{t - laid.gap - s * (w + t):.3f} mm",
        f"room = {laid.joints} boards x ({grows:.3f} - {laid.gap:.2f} gap, not under 0) / "
        f"{laid.free_sides} = {laid.joints * tight / laid.free_sides:.2f} mm",
    ]
    return steps


def _board_notes(laid: Boards, net: Floats, cover: Floats, tight: Floats) -> list[str]:
    notes = []
    if cover.min() < laid.keep:
        out = "comes out of its groove" if cover.min() < 0 else "keeps less than asked for"
        notes.append(f"At the driest a tongue {out}: narrower or drier boards, or a longer tongue")
    if net.max() <= 0:
        notes.append("The boards stand tight all year: leave the growth as a gap at each joint")
    if tight.max() > 0:
        notes.append("In the wettest month the boards go tight: leave the growth as a gap at each "
                     "joint, or the room at the walls with boards free to creep")  # fmt: skip
    if net.max() > laid.gap:
        notes.append("Finished in place, a raw strip as wide as the joint opens shows on every "
                     "tongue: finish the tongues first")  # fmt: skip
    return [
        *notes,
        "Boards of an inch or less are taken to follow the monthly mean of their air; thicker ones "
        "lag and swing less (Siau's drying model, from memory)",
        "Unknown rings run from all radial to all tangential; a run of mixed boards lies between",
    ]

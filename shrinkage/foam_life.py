"""A joint's foam over its life: squeezed, stretched, worked, and what it pushes with.

The first drying crushes it once; of that it gives back a share; from there the seasons work it and
may reopen the gap beyond what it gave back. These are different limits and are told apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shrinkage.allowance import Allowance
from shrinkage.filling import Filling
from shrinkage.foam import Foam
from shrinkage.timber import Floats

SLACK = 1e-9
"""Strain by which a limit may be passed for rounding's sake [-]."""
NEWTON_PER_METRE = 1.0
"""A stress of 1 kPa on 1 mm of width is 1 N/m: the package's units need no factor."""


@dataclass(frozen=True)
class Path:
    """A joint's foam through time, by band of drying and end of the bracket.

    Parameters
    ----------
    gap : ndarray, shape (bands, times, 3)
        From the day the foam went in [mm].
    free : ndarray, shape (bands, 1, 1)
        Thickness the foam would have by itself once cured [mm].
    rest : ndarray, shape (bands, times, 3)
        Thickness it has at rest after what has crushed it [mm].
    """

    gap: Floats
    free: Floats
    rest: Floats

    @property
    def compression(self) -> Floats:
        """Compression against the free thickness, negative where it is pulled [-]."""
        return np.asarray(1 - self.gap / self.free)

    @property
    def stretch(self) -> Floats:
        """Stretch beyond the thickness at rest, never negative [-]."""
        return np.asarray(np.maximum(self.gap - self.rest, 0.0) / np.maximum(self.rest, 1e-12))


def path(answer: Allowance) -> Path:
    """Return a joint's foam through time.

    Parameters
    ----------
    answer : Allowance
        The joint, its gap and its foam.
    """
    seasons, foam = answer.seasons, answer.foam
    start = seasons.line.foamed
    closed = seasons.path[:, start:] - seasons.path[:, start : start + 1]
    foamed = (answer.gap - seasons.closing_before_foam())[:, None, None]
    gap = foamed - closed
    free = foamed * (1 + foam.cure)
    crushed = np.maximum.accumulate(np.maximum(free - gap, 0.0), axis=1)
    return Path(gap, free, free - (1 - foam.recovery) * crushed)


@dataclass(frozen=True)
class FoamLife:
    """What the foam in one joint goes through.

    Parameters
    ----------
    answer : Allowance
        The joint.
    depth : float
        How deep the foam stands in it [mm].
    compression, stretch, worked : float
        Most it is squeezed, most it is pulled beyond its thickness at rest, and the seasons' half
        swing over that thickness [-].
    stress, line_load, energy : float or None
        At the most it is squeezed: stress [kPa], what it pushes with along the joint [N/m], work
        taken up [kJ/m3]. None where it does not fit: the curve says nothing of that strain.
    pull : float or None
        Stress on the bond at the most it is stretched, at the curve's first slope [kPa].
    is_hard : bool
        Whether the gap is ever hard: foam gone solid, or wood on panel.
    faults : tuple of str
        What it does not stand, in words; empty where it fits.
    """

    answer: Allowance
    depth: float
    compression: float
    stretch: float
    worked: float
    stress: float | None
    line_load: float | None
    energy: float | None
    pull: float | None
    is_hard: bool
    faults: tuple[str, ...]

    @property
    def is_over(self) -> bool:
        """Whether it is squeezed once, or worked, by more than it takes."""
        foam = self.answer.foam
        return self.compression > foam.squeeze_once + SLACK or self.worked > foam.works + SLACK

    @property
    def is_bonded(self) -> bool:
        """Whether it stays bonded when the gap reopens."""
        return self.stretch <= self.answer.foam.stretches + SLACK

    @property
    def fits(self) -> bool:
        """Whether nothing is at fault."""
        return not self.faults

    @property
    def status(self) -> str:
        """'fits', or 'does not fit' and why."""
        return "fits" if self.fits else "does not fit: " + "; ".join(self.faults)


def life(answer: Allowance, filling: Filling) -> FoamLife | None:
    """Follow a joint's foam over its life.

    Parameters
    ----------
    answer : Allowance
        The joint, its gap and its foam.
    filling : Filling
        The foam as a material, and how deep it stands.

    Returns
    -------
    FoamLife or None
        None where the panel bears and there is nothing to fill.
    """
    if answer.status == "bearing":
        return None
    depth, through = filling.foamed_depth(answer.joint), path(answer)
    if (through.free <= 0).any() or (through.gap <= 0).any():
        most = 1.0
    else:
        most = max(0.0, float(through.compression.max()))
    room = through.rest.min() > 0
    stretch = float(through.stretch.max()) if room else 1.0
    last = answer.seasons.line.last_year - answer.seasons.line.foamed
    swing = np.ptp(through.gap[:, max(last, 0) :, 2], axis=1)
    worked = float((swing / 2 / np.maximum(through.rest[:, -1, 2], 1e-12)).max()) if room else 1.0
    material, share = filling.material, filling.relaxation
    known = most < material.limit
    stress = share * float(material.stress(most)) if known else None
    pull = share * float(material.stress(-stretch)) if stretch < 1 else None
    found = FoamLife(
        answer, depth, most, stretch, worked, stress,
        None if stress is None else stress * depth * NEWTON_PER_METRE,
        float(material.energy(most)) if known else None,
        pull, not known, (),
    )  # fmt: skip
    return FoamLife(**{**found.__dict__, "faults": _faults(found, answer.foam, filling)})


def _faults(found: FoamLife, foam: Foam, filling: Filling) -> tuple[str, ...]:
    """Return in words what the foam does not stand."""
    said = []
    if found.answer.status == "too wide to foam":
        said.append(f"{found.answer.widest:.1f} mm wide, fills up to {foam.most_width:.1f} mm")
    if found.compression >= 1:
        said.append("the gap closes altogether: wood bears on panel")
    elif found.stress is None:
        said.append(f"squeezed {100 * found.compression:.0f} %, but {filling.material.words}")
    if SLACK < found.compression - foam.squeeze_once < 1 - foam.squeeze_once:
        said.append(
            f"squeezed {100 * found.compression:.1f} %, takes {100 * foam.squeeze_once:g} % once"
        )
    if found.worked > foam.works + SLACK:
        said.append(f"worked {100 * found.worked:.1f} % either way, follows {100 * foam.works:g} %")
    if not found.is_bonded:
        said.append(
            f"stretched {100 * found.stretch:.1f} % when the gap reopens, takes "
            f"{100 * foam.stretches:g} %"
        )
    return tuple(said)

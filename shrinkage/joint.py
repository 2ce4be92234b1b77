"""A joint between a panel edge and what it could touch: one vector loop through two stacks.

Each side is reached from a common datum through layers of material. With ``n`` the unit normal
pointing from the panel edge to what it could touch and ``e`` each layer's direction away from the
datum, ``closure = sum far (t s n.e) - sum near (t s n.e)``. Positive closes the gap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shrinkage.timber import CASES, END_TO_END, STATES, Floats, Grain, Sheet, Timber, Timeline

Side = Literal["far", "near"]
JointKind = Literal["eave", "gable", "corner", "sill", "spline", "ridge", "opening"]
Vector = tuple[float, float]

CLOSURE_EQUATION = "closure = sum of t x s x (n.e), far side plus, panel's own stack minus"


@dataclass(frozen=True)
class Layer:
    """One thickness of material between the datum and one side of a joint.

    Parameters
    ----------
    name : str
        What it is, such as 'plate below the rafter seat'.
    wood : Timber or Sheet
        What it is made of; gives the strain.
    grain : {'width', 'depth', 'length'}
        Which dimension of the wood the layer takes.
    thickness : float
        On the day the panels go on [mm].
    direction : tuple of float
        Unit vector away from the datum (across, up) [-].
    side : {'far', 'near'}
        Under what the panel could touch, or under the panel itself.
    """

    name: str
    wood: Timber | Sheet
    grain: Grain
    thickness: float
    direction: Vector
    side: Side = "far"

    def lever(self, normal: Vector) -> float:
        """Return how much one unit of shrinkage closes the joint [mm]."""
        sign = 1.0 if self.side == "far" else -1.0
        along = normal[0] * self.direction[0] + normal[1] * self.direction[1]
        return sign * self.thickness * along


@dataclass(frozen=True)
class Joint:
    """A joint, ready to be asked what it does.

    Parameters
    ----------
    kind : str
        Which detail it is.
    name : str
        Where it is, such as 'south, top'.
    layers : tuple of Layer
        Both stacks.
    normal : tuple of float
        Unit vector from the panel edge to what it could touch.
    measure : float
        What one unit of gap along the normal takes off the panel as it is measured: 1 / cos(pitch)
        where the joint is parallel to the roof and the panel is measured plumb [-].
    extra_off : float
        What comes off besides the gap, such as the height a square-cut top loses [mm].
    notes : tuple of str
        Assumptions a reader should see.
    """

    kind: JointKind
    name: str
    layers: tuple[Layer, ...]
    normal: Vector
    measure: float = 1.0
    extra_off: float = 0.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Closure:
    """How far a joint closes along its normal [mm], positive closing, since the panels went on.

    Parameters
    ----------
    least, estimate, most : float
        Across the bracket of ring directions.
    """

    least: float
    estimate: float
    most: float


@dataclass(frozen=True)
class Seasons:
    """The closure of a joint through time [mm], positive closing, since the panels went on.

    Parameters
    ----------
    line : Timeline
        The times.
    path : ndarray, shape (bands, times, 3)
        Closure along the normal for slow, usual and fast drying (one band without a calendar);
        last axis least, estimate, most [mm].
    dryness : ndarray, shape (times,)
        What all layers have lost, whichever way they work [mm]: tells dry times from damp ones.
    """

    line: Timeline
    path: Floats
    dryness: Floats

    def at(self, row: int) -> Closure:
        """Return the closure at one of the times, for usual drying."""
        return Closure(*map(float, self.path[self.path.shape[0] // 2, row]))

    @property
    def rows(self) -> dict[str, int]:
        """Which times are 'foamed', 'driest' and 'wettest'."""
        after, last = self.line.foamed, self.line.last_year
        return {
            "foamed": after,
            "driest": after + int(self.dryness[after:].argmax()),
            "wettest": last + int(self.dryness[last:].argmin()),
        }

    @property
    def foamed(self) -> Closure:
        """What has closed by the day the foam goes in."""
        return self.at(self.line.foamed)

    @property
    def driest(self) -> Closure:
        """At the driest time from then on."""
        return self.at(self.rows["driest"])

    @property
    def wettest(self) -> Closure:
        """At the wettest time of the last year."""
        return self.at(self.rows["wettest"])

    @property
    def usual(self) -> Closure:
        """The mean of the last year."""
        if self.line is END_TO_END:
            return self.at(STATES.index("usual") + 1)
        band = self.path[self.path.shape[0] // 2]
        return Closure(*map(float, band[self.line.last_year :].mean(axis=0)))

    @property
    def closing(self) -> float:
        """The worst closing at any time, in any band [mm]."""
        return max(0.0, float(self.path[..., 2].max()))

    def closing_before_foam(self) -> Floats:
        """Return what closes before the foam goes in, most of the bracket, by band [mm]."""
        return np.asarray(self.path[:, self.line.foamed, 2])

    def closing_after_foam(self) -> Floats:
        """Return the worst closing after that, by band [mm]."""
        return np.asarray(np.maximum(0.0, self._after().max(axis=(1, 2))))

    def opening_after_foam(self) -> Floats:
        """Return the worst opening beyond the gap that was foamed, by band [mm]."""
        return np.asarray(np.maximum(0.0, -self._after().min(axis=(1, 2))) + 0.0)

    def swing(self) -> Floats:
        """Return how far the seasons of the last year work the joint, by band [mm]."""
        return np.asarray(np.ptp(self.path[:, self.line.last_year :, 2], axis=1))

    def _after(self) -> Floats:
        start = self.line.foamed
        return np.asarray(self.path[:, start:] - self.path[:, start : start + 1])


def closure(layers: Sequence[Layer], normal: Vector) -> Seasons:
    """Return the closure of a joint through time.

    The most is every closing layer at its most and every opening layer at its least.

    Parameters
    ----------
    layers : sequence of Layer
        Both stacks.
    normal : tuple of float
        Unit vector from the panel edge to what it could touch.

    Returns
    -------
    Seasons
        Along the normal [mm].
    """
    dried = (layer.wood.course for layer in layers if isinstance(layer.wood, Timber))
    line = next((course.line for course in dried if course), END_TO_END)
    path: Floats = np.zeros((1, len(line.days), len(CASES)))
    dryness = np.zeros(len(line.days))
    for layer in layers:
        lever = layer.lever(normal)
        lost = layer.wood.history(layer.grain, line)
        # Sorted, because a negative lever or a swelling layer turns its bracket round.
        path = path + np.sort(lever * lost, axis=2)
        dryness += abs(lever) * lost[lost.shape[0] // 2, :, 1]
    return Seasons(line, path, dryness)

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

from shrinkage.timber import CASES, STATES, Grain, Sheet, Timber

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
    """The closure of a joint in the driest month, the year's mean and the wettest month."""

    driest: Closure
    usual: Closure
    wettest: Closure


def closure(layers: Sequence[Layer], normal: Vector) -> Seasons:
    """Return the closure of a joint in service.

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
    total = np.zeros((len(STATES), len(CASES)))
    for layer in layers:
        # Sorted, because a negative lever or a swelling layer turns its bracket round.
        total += np.sort(layer.lever(normal) * layer.wood.shrink(layer.grain), axis=1)
    return Seasons(*(Closure(*map(float, row)) for row in total))

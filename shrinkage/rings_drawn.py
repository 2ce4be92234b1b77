"""Where the heart lies, drawn: the weight of R as the pith or the angle of the rings spreads."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from shrinkage.section import radial_weight
from shrinkage.spread import Doubt, Floats, Points, Spread
from shrinkage.timber import Timber

CELLS = 1024
PITH_DRAWS = 2**13


@lru_cache(maxsize=256)
def weight_table(width: float, depth: float, x: float, y: float, doubt: Doubt) -> Floats:
    """Return quantiles of the weight of R in the width for a pith whose place spreads.

    One draw then stands for both coordinates: the weight is all that movement sees of them.

    Parameters
    ----------
    width, depth : float
        Section [mm].
    x, y : float
        Where the pith is taken to lie, from the section's centre [mm].
    doubt : Doubt
        Each way, as a share of that side [-].

    Returns
    -------
    ndarray, shape (1025,)
        Quantiles at even steps from 0 to 1 [-].
    """
    u = Points(2, seed=0).take(PITH_DRAWS)
    across = x + width * doubt.of_uniform(u[0])
    up = y + depth * doubt.of_uniform(u[1])
    weights = radial_weight(width, depth, across, up)
    return np.asarray(np.quantile(weights, np.linspace(0.0, 1.0, CELLS + 1)))


def look_up(table: Floats, u: Floats) -> Floats:
    """Return a table's values at draws between 0 and 1, linear between its steps."""
    at = u * CELLS
    cell = at.astype(np.intp)
    at -= cell
    low = table[cell]
    return np.asarray(low + at * (table[cell + 1] - low))


def doubt_of(timber: Timber, spread: Spread) -> tuple[str, Doubt]:
    """Return which doubt is about a timber's rings: 'heart', 'rings' or 'unknown_rings'."""
    if timber.heart.kind in ("boxed", "pith"):
        return "heart", spread.heart
    if timber.heart.kind in ("free", "unknown"):
        return "unknown_rings", spread.unknown_rings
    return "rings", spread.rings


def weights(timber: Timber, doubt: Doubt, draw: Floats) -> Floats:
    """Return the weight of R in the width for draws of a timber's rings.

    Parameters
    ----------
    timber : Timber
        Its section and heart.
    doubt : Doubt
        From `doubt_of`.
    draw : ndarray
        Between 0 and 1 [-].
    """
    if timber.heart.kind in ("boxed", "pith"):
        at = (timber.heart.x, timber.heart.y) if timber.heart.kind == "pith" else (0.0, 0.0)
        return look_up(weight_table(timber.width, timber.depth, *at, doubt), draw)
    nominal = math.acos(math.sqrt(timber.weights("width").estimate))
    return np.asarray(np.cos(nominal + np.radians(doubt.of_uniform(draw))) ** 2)

"""Which way a timber moves: how far its width and depth shrink radially, from where the pith lies.

Width W lies along x and depth H along y, the origin at the centre of the section. At a point seen
from the pith under the angle phi, wood shrinks in x by ``S_R cos^2 phi + S_T sin^2 phi``; the mean
over the section is what the width does (for uniform stiffness the stresses average to nothing).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage.errors import ShrinkageError

Floats = NDArray[np.float64]

# Past this many section sizes the rings are straight to 1e-6 and the exact form loses digits.
_FAR = 1000.0


def radial_weight(
    width: ArrayLike, depth: ArrayLike, pith_x: ArrayLike, pith_y: ArrayLike
) -> Floats:
    """Return the weight of radial shrinkage in the width, the area mean of cos^2 phi.

    The integral is exact: ``F = (x^2 atan(y/x) + x y - y^2 atan(x/y)) / 2`` has ``x^2 / (x^2 +
    y^2)`` as its mixed derivative, and is continuous through the pith. The weight in the depth is
    one less this.

    Parameters
    ----------
    width, depth : array_like
        Section along x and y, any one unit of length, above zero.
    pith_x, pith_y : array_like
        Pith from the centre of the section, same unit, inside or outside. All broadcast.

    Returns
    -------
    ndarray
        Between 0 (the width moves tangentially) and 1 (radially) [-].

    Raises
    ------
    ShrinkageError
        If a size is not above zero or anything is not finite.
    """
    w, h, xp, yp = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (width, depth, pith_x, pith_y))
    )
    if not (np.isfinite(w + h + xp + yp).all() and (w > 0).all() and (h > 0).all()):
        raise ShrinkageError(
            f"section {width!r} x {depth!r} with pith at ({pith_x!r}, {pith_y!r}); "
            "accepted: finite numbers, sizes above zero"
        )
    far = np.hypot(xp, yp) > _FAR * np.maximum(w, h)
    near_x, near_y = np.where(far, 0.0, xp), np.where(far, 0.0, yp)
    x0, x1 = -w / 2 - near_x, w / 2 - near_x
    y0, y1 = -h / 2 - near_y, h / 2 - near_y
    integral = _corner(x1, y1) - _corner(x0, y1) - _corner(x1, y0) + _corner(x0, y0)
    distance2 = np.where(far, xp**2 + yp**2, 1.0)
    return np.asarray(np.where(far, xp**2 / distance2, integral / (w * h)))


def _corner(x: Floats, y: Floats) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        along = np.where(x == 0, 0.0, x**2 * np.arctan(y / x))
        across = np.where(y == 0, 0.0, y**2 * np.arctan(x / y))
    return np.asarray((along + x * y - across) / 2)


HeartKind = Literal["boxed", "free", "flat", "quarter", "rift", "unknown", "pith"]
HEART_KINDS = ("boxed", "free", "flat", "quarter", "rift", "unknown")

_MEANING = {
    "boxed": "pith at the centre of the section, wood not yet checked",
    "free": "pith outside the section, on which side is not known: from all R to all T",
    "flat": "the wider side moves tangentially",
    "quarter": "the wider side moves radially",
    "rift": "rings at 45 degrees to the faces",
    "unknown": "nothing known of the rings: from all R to all T, the mean as the estimate",
    "pith": "pith at the stated place",
}


@dataclass(frozen=True)
class Heart:
    """Where the pith lies, as far as it is known.

    Parameters
    ----------
    kind : str
        One of `HEART_KINDS`, or 'pith' with a position.
    x, y : float
        Pith from the centre of the section [mm], for kind 'pith'.

    Raises
    ------
    ShrinkageError
        If the kind has no such name.
    """

    kind: HeartKind = "unknown"
    x: float = 0.0
    y: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in _MEANING:
            raise ShrinkageError(
                f"heart {self.kind!r}; accepted: {', '.join(HEART_KINDS)}, or a pith position"
            )

    @property
    def meaning(self) -> str:
        """What the kind stands for, in words."""
        return _MEANING[self.kind]


@dataclass(frozen=True)
class Weights:
    """Weight of radial shrinkage in one dimension of a section.

    Parameters
    ----------
    low, estimate, high : float
        Least, likeliest and greatest weight of R [-]; all equal where the pith is known.
    """

    low: float
    estimate: float
    high: float

    def other(self) -> Weights:
        """Return the weights of the dimension at right angles."""
        return Weights(1 - self.high, 1 - self.estimate, 1 - self.low)


@lru_cache(maxsize=4096)
def width_weights(width: float, depth: float, heart: Heart) -> Weights:
    """Return the weight of radial shrinkage in the width, with its bracket.

    Parameters
    ----------
    width, depth : float
        Section [mm].
    heart : Heart
        Where the pith lies.

    Returns
    -------
    Weights
        For the width; `Weights.other` gives the depth.
    """
    if heart.kind in ("boxed", "pith"):
        x, y = (heart.x, heart.y) if heart.kind == "pith" else (0.0, 0.0)
        weight = float(radial_weight(width, depth, x, y))
        return Weights(weight, weight, weight)
    if heart.kind in ("free", "unknown"):
        return Weights(0.0, 0.5, 1.0)
    if heart.kind == "rift":
        return Weights(0.5, 0.5, 0.5)
    radial = float((heart.kind == "quarter") == (width >= depth))
    return Weights(radial, radial, radial)

"""The shape of a section after drying: the cup of a board, the diamond of a square, the check.

Width W lies along x and depth H along y, the origin at the centre of the section, as in `section`.
Seen from the pith in polar coordinates, wood that is free to do so moves by ``r -> (1 - s_R) r``,
``phi -> phi (1 - s_T) / (1 - s_R)``. That map stretches every fibre by just its own shrinkage, so
it leaves no stress, wherever the angle phi can be cut without cutting wood: with the pith outside
the section, or with a check from the pith to a face. A boxed heart without a check has no such map;
what is given for it is the mean over the area, drawn with straight sides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage.errors import ShrinkageError
from shrinkage.section import radial_weight

Floats = NDArray[np.float64]
Plane = NDArray[np.complex128]

Face = Literal["right", "top", "left", "bottom"]
Check = Literal["nearest", "right", "top", "left", "bottom"]
State = Literal["free", "checked", "unchecked"]
FACES: tuple[Face, ...] = ("right", "top", "left", "bottom")

_OUT = {"right": 1 + 0j, "top": 1j, "left": -1 + 0j, "bottom": -1j}
# Points on each stretch of outline, odd for Simpson's rule: errors stay below 1e-6 of the movement.
_POINTS = 33
# In section sizes: past this the rings are straight to the last digit.
_FAR = 1e6


@dataclass(frozen=True)
class Section:
    """A section and its pith.

    Parameters
    ----------
    width, depth : float
        Along x and y [mm]; equal for a round.
    pith_x, pith_y : float
        Pith from the centre of the section [mm], inside or outside.
    is_round : bool
        Whether it is turned round, its diameter the width.

    Raises
    ------
    ShrinkageError
        If a size is not above zero, a number not finite, or a round has two diameters.
    """

    width: float
    depth: float
    pith_x: float = 0.0
    pith_y: float = 0.0
    is_round: bool = False

    def __post_init__(self) -> None:
        numbers = self.width + self.depth + self.pith_x + self.pith_y
        if not (math.isfinite(numbers) and self.width > 0 and self.depth > 0):
            raise ShrinkageError(
                f"section {self.width!r} x {self.depth!r} mm with pith at ({self.pith_x!r}, "
                f"{self.pith_y!r}); accepted: finite numbers, sizes above zero"
            )
        if self.is_round and self.width != self.depth:
            raise ShrinkageError(
                f"round section {self.width!r} x {self.depth!r} mm; accepted: width equal to depth"
            )

    @property
    def boxed(self) -> bool:
        """Whether the pith lies inside, not on the outline."""
        if self.is_round:
            return math.hypot(self.pith_x, self.pith_y) < self.width / 2
        return abs(self.pith_x) < self.width / 2 and abs(self.pith_y) < self.depth / 2

    @property
    def pith(self) -> complex:
        """Pith as x + iy [mm], moved in along its own direction if it is very far off."""
        pith, most = complex(self.pith_x, self.pith_y), _FAR * max(self.width, self.depth)
        return pith if abs(pith) <= most else pith * (most / abs(pith))

    @property
    def area(self) -> float:
        """Area of the section [mm2]."""
        return self.width * self.depth * (math.pi / 4 if self.is_round else 1.0)

    @cached_property
    def radial_weight(self) -> float:
        """Weight of radial shrinkage in the width, the area mean of cos^2 phi [-]."""
        if self.is_round:
            return (1 + _round_mean(self).real) / 2
        return float(radial_weight(self.width, self.depth, self.pith_x, self.pith_y))

    @cached_property
    def shear_weight(self) -> float:
        """Area mean of sin phi cos phi: what turns T - R into a diamond [-]."""
        if self.is_round:
            return _round_mean(self).imag / 2
        return _rectangle_shear(self)


def _round_mean(section: Section) -> complex:
    """Return the area mean of e^(2 i phi) over a disc, with the pith d radii from the centre.

    ``d^2 / 2`` inside, ``1 - 1 / (2 d^2)`` outside: the series of z / conj(z), term by term.
    """
    pith = section.pith
    distance = abs(pith) / (section.width / 2)
    if distance == 0:
        return 0j
    size = distance**2 / 2 if distance < 1 else 1 - 1 / (2 * distance**2)
    return size * (pith / abs(pith)) ** 2


def _rectangle_shear(section: Section) -> float:
    """Return the area mean of sin phi cos phi: ``r^2 ln(r^2) / 4`` is its double integral."""
    pith = section.pith
    if abs(pith) > 1000 * max(section.width, section.depth):  # the closed form loses its digits
        return (pith / abs(pith)).real * (pith / abs(pith)).imag
    total = 0.0
    for x, y in ((1, 1), (-1, 1), (1, -1), (-1, -1)):
        square = abs(complex(x * section.width, y * section.depth) / 2 - pith) ** 2 / section.area
        total += x * y * square * math.log(square) / 4 if square > 0 else 0.0
    return total


def mean_strain(section: Section, s_r: float, s_t: float) -> tuple[float, float, float]:
    """Return the mean free strain of a section: what it does on the whole if stiffness is uniform.

    Parameters
    ----------
    section : Section
        With its pith.
    s_r, s_t : float
        Radial and tangential shrinkage, on the dimension before [-].

    Returns
    -------
    s_x, s_y, s_xy : float
        Shrinkage of width and depth; half the change of the lower left right angle [-].
    """
    weight = section.radial_weight
    across = weight * s_r + (1 - weight) * s_t
    return across, s_r + s_t - across, (s_r - s_t) * section.shear_weight


@dataclass(frozen=True, eq=False)
class FaceLine:
    """One face, or the 'rim' of a round, counterclockwise.

    Parameters
    ----------
    name : str
        One of `FACES`, or 'rim'.
    before, after, weights : ndarray
        Points x + iy [mm]; their weights in the mean along the line, which sum to 1 [-].
    """

    name: str
    before: Plane
    after: Plane
    weights: Floats


@dataclass(frozen=True, eq=False)
class Shape:
    """A section after drying, as `dry` returns it.

    Laid over the section before, so that the outlines share their centre and orientation.

    Parameters
    ----------
    section : Section
        The section before.
    s_r, s_t : float
        Radial and tangential shrinkage [-].
    state : {'free', 'checked', 'unchecked'}
        Exact and free of stress: 'free' with the pith outside, 'checked' with a check from pith to
        face. The area mean: 'unchecked', a boxed heart.
    axis : float
        Direction from the pith that psi is counted from: the cut lies opposite [rad].
    faces : tuple of FaceLine
        The outline, counterclockwise.
    turn, shift : complex
        The unit number and the step [mm] that lay the mapped section over the one before.
    """

    section: Section
    s_r: float
    s_t: float
    state: State
    axis: float
    faces: tuple[FaceLine, ...] = ()
    turn: complex = 1 + 0j
    shift: complex = 0j

    @property
    def check_angle(self) -> float:
        """Angle the check opens by, ``2 pi (1 - (1 - s_T) / (1 - s_R))``, or 0 [rad]."""
        return 2 * math.pi * (1 - self._squeeze) if self.state == "checked" else 0.0

    @property
    def check_way(self) -> complex:
        """Unit number x + iy along which the check runs, or would run, from the pith [-]."""
        return -complex(math.cos(self.axis), math.sin(self.axis))

    @property
    def check_length(self) -> float:
        """Distance from the pith to the outline along `check_way`, with the pith inside [mm]."""
        way, pith = self.check_way, self.section.pith
        along = (pith * way.conjugate()).real
        if self.section.is_round:
            return math.sqrt(along**2 + (self.section.width / 2) ** 2 - abs(pith) ** 2) - along
        half = abs(way.real) * self.section.width / 2 + abs(way.imag) * self.section.depth / 2
        return half - along

    @property
    def _squeeze(self) -> float:
        return (1 - self.s_t) / (1 - self.s_r)

    def moved(self, r: ArrayLike, psi: ArrayLike) -> Plane:
        """Return where points of the wood go.

        Parameters
        ----------
        r : array_like
            Distance from the pith before [mm].
        psi : array_like
            Direction before, from `axis`; -pi and pi are the two sides of the check [rad].

        Returns
        -------
        ndarray of complex
            Points x + iy [mm].
        """
        r, psi = np.asarray(r, float), np.asarray(psi, float)
        if self.state == "unchecked":
            x, y = self.place(r, psi).real, self.place(r, psi).imag
            s_x, s_y, s_xy = mean_strain(self.section, self.s_r, self.s_t)
            return np.asarray(x - s_x * x - s_xy * y + 1j * (y - s_y * y - s_xy * x))
        turned = np.exp(1j * (self.axis + self._squeeze * psi))
        return np.asarray(self.turn * (1 - self.s_r) * r * turned + self.shift)

    def place(self, r: ArrayLike, psi: ArrayLike) -> Plane:
        """Return where points given as in `moved` lie before, x + iy [mm]."""
        angle = self.axis + np.asarray(psi, float)
        return np.asarray(self.section.pith + np.asarray(r, float) * np.exp(1j * angle))

    def outline(self) -> tuple[Floats, Floats]:
        """Return the outline before and after, point for point.

        Returns
        -------
        before, after : ndarray, shape (n, 2)
            Closed [mm]; a check runs in to the pith and out again.
        """
        pairs = [(face.before, face.after) for face in self.faces]
        lines = np.concatenate(pairs, axis=1)
        if self.state == "checked":
            start = int(np.argmin(_psi_along(lines[0], self)))
            tip = [[self.section.pith], [complex(self.moved(0.0, 0.0))]]
            lines = np.hstack([np.roll(lines, -start, axis=1), tip])
        lines = np.hstack([lines, lines[:, :1]])
        before, after = (np.column_stack([line.real, line.imag]) for line in lines)
        return before, after


def dry(section: Section, s_r: float, s_t: float, check: Check | None = None) -> Shape:
    """Return the shape of a section that has dried evenly.

    Parameters
    ----------
    section : Section
        With its pith.
    s_r, s_t : float
        Shrinkage on the dimension before [-], as from `shape_dimensions.strains`.
    check : {'nearest', 'right', 'top', 'left', 'bottom'}, optional
        Face that the check of a boxed heart runs to, square to it. Of faces equally near it takes
        the first in this order; a round checks along the shortest way out.

    Returns
    -------
    Shape
        Before and after.

    Raises
    ------
    ShrinkageError
        If a shrinkage is not between -0.5 and 0.5, or the check has no such name, no pith inside
        to start from, or would have to overlap (s_T below s_R).
    """
    if not (-0.5 < s_r < 0.5 and -0.5 < s_t < 0.5):
        raise ShrinkageError(f"shrinkage R {s_r!r}, T {s_t!r}; accepted: between -0.5 and 0.5")
    if check is None:
        axis = math.atan2(-section.pith_y, -section.pith_x)
        bare = Shape(section, s_r, s_t, "unchecked" if section.boxed else "free", axis)
    else:
        axis = _check_direction(section, s_r, s_t, check) + math.pi
        bare = Shape(section, s_r, s_t, "checked", axis)
    lines = [("rim", _rim(bare))] if section.is_round else _straight_lines(section)
    faces = tuple(_face(name, line, bare) for name, line in lines)
    return _laid_over(replace(bare, faces=faces))


def _check_direction(section: Section, s_r: float, s_t: float, check: str) -> float:
    x, y = section.pith_x, section.pith_y
    if check not in ("nearest", *FACES):
        raise ShrinkageError(f"check {check!r}; accepted: nearest, {', '.join(FACES)}")
    if not section.boxed:
        raise ShrinkageError(
            f"check {check!r} with the pith at ({x:g}, {y:g}) mm; "
            "accepted: a pith inside the section, or no check"
        )
    if s_t < s_r:
        raise ShrinkageError(
            f"shrinkage R {s_r!r}, T {s_t!r} would close a check past shut; "
            "accepted: T at least R, so count from the wetter state"
        )
    if check == "nearest" and section.is_round and (x or y):
        return math.atan2(y, x)
    if check == "nearest":
        right, top = section.width / 2, section.depth / 2
        ways = [right - x, top - y, right + x, top + y]
        check = FACES[ways.index(min(ways))]
    return float(np.angle(_OUT[check]))


def _straight_lines(section: Section) -> list[tuple[str, Plane]]:
    """Return points along the four faces, counterclockwise, each split where the pith stands."""
    half, pith = complex(section.width, section.depth) / 2, section.pith
    lines: list[tuple[str, Plane]] = []
    for name in FACES:
        out = _OUT[name]
        along = out * 1j
        reach = half.imag if out.imag == 0 else half.real
        depth = half.real if out.imag == 0 else half.imag
        foot = (pith * along.conjugate()).real
        ends = [-reach, foot, reach] if abs(foot) < reach else [-reach, reach]
        steps = [np.linspace(a, b, _POINTS) for a, b in pairwise(ends)]
        lines.append((name, np.asarray(out * depth + along * np.concatenate(steps))))
    return lines


def _rim(shape: Shape) -> Plane:
    """Return points around a round, counterclockwise from the cut and back to it."""
    start = shape.axis + math.pi
    if shape.state == "checked":
        start = float(np.angle(shape.section.pith + shape.check_length * shape.check_way))
    angles = start + np.linspace(0.0, 2 * math.pi, 4 * _POINTS - 3)
    return np.asarray(shape.section.width / 2 * np.exp(1j * angles))


def _face(name: str, line: Plane, shape: Shape) -> FaceLine:
    psi = _psi_along(line, shape)
    after = shape.moved(np.abs(line - shape.section.pith), psi)
    count = len(line) if name == "rim" else _POINTS
    rule = np.ones(count)
    rule[1:-1:2], rule[2:-1:2] = 4.0, 2.0
    parts = line.reshape(-1, count)
    lengths = np.abs(parts[:, -1] - parts[:, 0]) if name != "rim" else np.ones(1)
    weights = np.outer(lengths, rule).ravel()
    return FaceLine(name, line, after, weights / weights.sum())


def _psi_along(line: Plane, shape: Shape) -> Floats:
    """Return psi along a counterclockwise line, -pi and pi on the two sides of the check."""
    offset = line - shape.section.pith
    psi = np.angle(offset * np.exp(-1j * shape.axis))
    if shape.state == "checked":
        at_cut = np.abs(psi) > math.pi - 1e-9
        # Going round, psi grows to pi and starts again at -pi: the neighbour inward tells the side.
        follows = np.roll(at_cut, 1)
        psi[at_cut] = np.where(follows[at_cut], -math.pi, math.pi)
    return np.asarray(psi)


def _laid_over(shape: Shape) -> Shape:
    """Return the shape turned and shifted over the section before: least squares on the outline."""
    if shape.state == "unchecked":
        return shape
    sizes = {"right": shape.section.depth, "left": shape.section.depth}
    spread = [face.weights * sizes.get(face.name, shape.section.width) for face in shape.faces]
    weights = np.concatenate(spread) / sum(map(np.sum, spread))
    before = np.concatenate([face.before for face in shape.faces])
    after = np.concatenate([face.after for face in shape.faces])
    centre = complex(weights @ after)
    turn = complex(weights @ (before * np.conj(after - centre)))
    turn /= abs(turn)
    shift = complex(weights @ before) - turn * centre
    faces = tuple(replace(face, after=turn * face.after + shift) for face in shape.faces)
    return replace(shape, faces=faces, turn=turn, shift=shift)

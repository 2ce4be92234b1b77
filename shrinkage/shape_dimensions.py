"""What a tape and a square would find on a dried section: width, depth, cup, diamond and check.

The mean width is the distance between the mean places of the two faces, ``W (1 + integral of u_x
n_x over the outline / area)``. By the divergence theorem that is the area mean of the strain, so to
first order in the shrinkage it is the area average of `section.radial_weight`. A check cuts the
wood, so its two sides are outline as well: the tape, which goes from face to face, counts its
opening as width (`Span.mean`); counted as outline it drops out and the wood alone is left
(`Span.wood`), and it is that which agrees with the area average.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shrinkage.movement import change
from shrinkage.shape import Check, Floats, Section, Shape, dry
from shrinkage.species import Species

CLOSING_RULE = (
    "A gap that closes as this timber shrinks takes the unchecked value: across a check the timber "
    "shrinks less, along it to first order the same, and no one can promise that it will check."
)
OPENING_RULE = (
    "A gap that opens as this timber shrinks takes the unchecked value for how far it opens. Where "
    "the opening is set off against other wood that closes the gap, count only the checked value."
)


def strains(species: Species, moisture_from: float, moisture_to: float) -> tuple[float, float]:
    """Return radial and tangential shrinkage between two moisture contents.

    Parameters
    ----------
    species : Species
        The wood.
    moisture_from, moisture_to : float
        Moisture contents, the same all over the section [%].

    Returns
    -------
    s_r, s_t : float
        Fractions of the dimension at the first moisture, positive shrinks [-].
    """
    both = [species.s_r, species.tangential]
    s_r, s_t = change(both, moisture_from, moisture_to, species.fibre_saturation)
    return float(s_r), float(s_t)


@dataclass(frozen=True)
class Span:
    """One dimension of a section, before and after.

    Parameters
    ----------
    before : float
        Face to face before [mm].
    mean : float
        Between the mean places of the two faces after, the opening of a check counted in [mm].
    wood : float
        The same with the opening of a check left out [mm].
    least, greatest : float
        Between points of the two faces that stood opposite each other; for a round, over all
        diameters [mm].
    overall : float
        Between two straightedges laid against it, cup and all [mm].
    """

    before: float
    mean: float
    wood: float
    least: float
    greatest: float
    overall: float

    @property
    def shrinkage(self) -> float:
        """Mean shrinkage face to face, positive shrinks [-]."""
        return 1 - self.mean / self.before

    @property
    def lost(self) -> float:
        """Mean loss face to face, positive shrinks [mm]."""
        return self.before - self.mean


@dataclass(frozen=True)
class Dimensions:
    """The dimensions of a dried section.

    Parameters
    ----------
    width, depth : Span
        Along x and y.
    cup : float
        Deepest hollow of a face under a straightedge from edge to edge [mm]; 0 for a round.
    cup_face : str
        The hollow face, empty if none is.
    diamond : float
        How far the lower left corner has opened from a right angle, negative closed, between the
        mean lines through opposite faces [rad]; 0 for a round.
    check_angle : float
        Opening angle of the check [rad], 0 without one.
    check_width : float
        Opening of the check at the face [mm], 0 without one.
    """

    width: Span
    depth: Span
    cup: float
    cup_face: str
    diamond: float
    check_angle: float
    check_width: float


def dimensions(shape: Shape) -> Dimensions:
    """Measure a dried section.

    Parameters
    ----------
    shape : Shape
        From `shape.dry`.

    Returns
    -------
    Dimensions
        Before and after.
    """
    jump, lost_x, lost_y = _check(shape)
    if shape.section.is_round:
        width, depth = _round_spans(shape, lost_x, lost_y)
        cup, cup_face, diamond = 0.0, "", 0.0
    else:
        lines = {face.name: face.after for face in shape.faces}
        middle = {face.name: complex(face.weights @ face.after) for face in shape.faces}
        across, up = middle["right"] - middle["left"], middle["top"] - middle["bottom"]
        everywhere = np.concatenate(list(lines.values()))
        width = _span(shape.section.width, across.real, lost_x,
                      (lines["right"] - lines["left"][::-1]).real, everywhere.real)  # fmt: skip
        depth = _span(shape.section.depth, up.imag, lost_y,
                      (lines["top"] - lines["bottom"][::-1]).imag, everywhere.imag)  # fmt: skip
        cup, cup_face = _cup(shape)
        diamond = float(np.angle(up / across)) - math.pi / 2
    return Dimensions(width, depth, cup, cup_face, diamond, shape.check_angle, abs(jump))


def _span(before: float, mean: float, opening: float, pairs: Floats, places: Floats) -> Span:
    return Span(
        before=before,
        mean=float(mean),
        wood=float(mean - opening),
        least=float(pairs.min()),
        greatest=float(pairs.max()),
        overall=float(np.ptp(places)),
    )


def _round_spans(shape: Shape, lost_x: float, lost_y: float) -> tuple[Span, Span]:
    (rim,) = shape.faces
    diameter = shape.section.width
    out = rim.before / (diameter / 2)
    # The outline integral of u n over the area, with ds = 2 pi a dw and area = pi a^2.
    mean_x = 4 * float(rim.weights @ (rim.after.real * out.real))
    mean_y = 4 * float(rim.weights @ (rim.after.imag * out.imag))
    half = len(rim.after) // 2
    pairs = np.abs(rim.after[: half + 1] - rim.after[half:])
    return (
        _span(diameter, mean_x, lost_x, pairs, rim.after.real),
        _span(diameter, mean_y, lost_y, pairs, rim.after.imag),
    )


def _check(shape: Shape) -> tuple[complex, float, float]:
    """Return the opening at the face as a vector, and what it adds to the mean width and depth."""
    if shape.state != "checked":
        return 0j, 0.0, 0.0
    reach = shape.check_length
    jump = complex(shape.moved(reach, -math.pi) - shape.moved(reach, math.pi))
    side = 1j * shape.check_way
    # The opening grows evenly from nothing at the pith: half the reach of it, over the area.
    share = reach / 2 / shape.section.area
    lost_x = jump.real * side.real * share * shape.section.width
    lost_y = jump.imag * side.imag * share * shape.section.depth
    return jump, float(lost_x), float(lost_y)


def _cup(shape: Shape) -> tuple[float, str]:
    deepest, name = 0.0, ""
    for face in shape.faces:
        chord = face.after[-1] - face.after[0]
        inward = ((face.after - face.after[0]) * np.conj(chord)).imag / abs(chord)
        if inward.max() > deepest + 1e-9:
            deepest, name = float(inward.max()), face.name
    return deepest, name


@dataclass(frozen=True)
class HeartValues:
    """A boxed heart without and with a check.

    Parameters
    ----------
    unchecked, checked : Dimensions
        The mean of the uncracked section, and the section with one check from pith to face.
    """

    unchecked: Dimensions
    checked: Dimensions

    @property
    def all_round(self) -> tuple[float, float]:
        """Mean of width and depth shrinkage, unchecked and checked [-]."""
        both = (self.unchecked, self.checked)
        first, second = ((d.width.shrinkage + d.depth.shrinkage) / 2 for d in both)
        return first, second


def heart_values(section: Section, s_r: float, s_t: float, check: Check = "nearest") -> HeartValues:
    """Return both values for a boxed heart: `CLOSING_RULE` and `OPENING_RULE` say which to use.

    Parameters
    ----------
    section : Section
        With the pith inside.
    s_r, s_t : float
        Radial and tangential shrinkage [-].
    check : str
        Face the check runs to, as in `shape.dry`.

    Returns
    -------
    HeartValues
        Unchecked and checked.

    Raises
    ------
    ShrinkageError
        If the pith is not inside, or as `shape.dry`.
    """
    checked = dimensions(dry(section, s_r, s_t, check))
    return HeartValues(dimensions(dry(section, s_r, s_t)), checked)

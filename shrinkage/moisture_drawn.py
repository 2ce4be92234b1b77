"""What a moisture meter should read in a timber, for many draws, at the times of a calendar.

A timber that dries is driest at its face. The solver gives mean, face and core; between face and
core the moisture is taken as ``core - (core - face) r^n``, r running from 0 at the core to 1 at the
face, n such that the mean over the section is the solver's. Pins read where their tips are.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shrinkage.calendar import USUAL
from shrinkage.drawn import Drawn
from shrinkage.spread import Floats
from shrinkage.timber import Course
from shrinkage.woods_drawn import Wood, air_shift, between_bands, speed_of, year_mean

FLAT = 0.3
"""Face and core nearer than this count as the same [%]."""
PARABOLA = 4 / 9
"""Share of the fall from core to face that the mean keeps where both ways are parabolas [-]."""


def core_share(course: Course, depth: float, side: float) -> Floats:
    """Return how much of the way from face to core a reading lies.

    The mean of ``(1 - |x|^n)(1 - |y|^n)`` over a section is ``(n / (n + 1))^2``; its faces are
    taken as alike. Against the solver's own field at 5/16 in below the open face of a 7-1/2 in
    timber this is 3 % of moisture off after three months, 1.5 % after six, with all faces open or
    one covered (a test).

    Parameters
    ----------
    course : Course
        How the timber dries.
    depth : float
        Of the pins' tips below the face [mm].
    side : float
        The section's lesser side [mm]; beyond its half the core is read.

    Returns
    -------
    ndarray, shape (bands, times)
        0 at the face, 1 at the core [-].
    """
    fall = course.core - course.surface
    is_flat = np.abs(fall) < FLAT
    filled = (course.mean - course.surface) / np.where(is_flat, 1.0, fall)
    root = np.sqrt(np.clip(np.where(is_flat, PARABOLA, filled), 0.05, 0.98))
    inward = max(0.0, 1 - 2 * depth / side)
    return np.asarray(1 - inward ** (root / (1 - root)))


def moisture_drawn(
    wood: Wood, drawn: Drawn, depth: float, times: NDArray[np.intp]
) -> Floats:  # fmt: skip
    """Return the moisture at a depth below the face for every draw.

    Slow, usual and fast drying are interpolated in log D. Air that is off comes through whole at
    the face and as much at the core as the timber has followed it, as `woods_drawn` does.

    Parameters
    ----------
    wood : Wood
        Made for `times`, of a timber with a course.
    drawn : Drawn
        A draw of each input.
    depth : float
        Below the face [mm].
    times : ndarray of int, shape (times,)
        Of the timeline.

    Returns
    -------
    ndarray, shape (times, draws)
        No less than 0 [%].
    """
    course, bands, air = wood.timber.course, wood.bands, wood.timber.air
    assert course is not None and bands is not None
    inner = core_share(course, depth, min(wood.timber.width, wood.timber.depth))
    values = course.surface + inner * (course.core - course.surface)
    heated = course.line.marks["heated"]
    season = values[USUAL] - year_mean(values[USUAL])
    season[: heated + 1] = 0.0
    slow, fast = drawn.once("drying", lambda: speed_of(wood, drawn))
    low, high = drawn.once(("air", air.name), lambda: air_shift(wood, drawn))
    wider = (high - low) / (air.high - air.low) if air.high > air.low else 0.0
    reading = drawn.deviation(wood.moisture, wood.spread.moisture)
    out = np.empty((len(times), drawn.count))
    for row, time in enumerate(times):
        part = inner[USUAL, time]
        follows = part * bands.follow[row] + (1 - part) * float(time > heated)
        off = follows * (low + high) / 2 + part * bands.fade[row] * reading
        out[row] = between_bands(values[:, time], slow, fast) + off + wider * season[time]
    return np.maximum(out, 0.0)

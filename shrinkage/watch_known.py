"""What was unknown of a building, before and after the readings: a table for people."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from shrinkage.bayes import BAND, weighted_quantile
from shrinkage.chance import Range
from shrinkage.drawn import Drawn
from shrinkage.particles import Posterior
from shrinkage.spread import Floats
from shrinkage.watch_model import Building
from shrinkage.woods_drawn import air_shift, speed_of, state_of


@dataclass(frozen=True)
class Known:
    """One number of the building that the readings bear on.

    Parameters
    ----------
    name : str
        In words.
    unit : str
        Of the values; '' for a plain number.
    before, after : Range
        5 %, median and 95 % [unit].
    """

    name: str
    unit: str
    before: Range
    after: Range

    @property
    def narrower(self) -> float:
        """Width of the band after the readings, as a share of that before [-]."""
        return (self.after.high - self.after.low) / (self.before.high - self.before.low)


def known(made: Building, z: Floats, found: Posterior) -> tuple[Known, ...]:
    """Return what was unknown, before and after.

    Parameters
    ----------
    made : Building
        At whatever times.
    z : ndarray, shape (inputs, draws)
        Unknowns before any reading [-].
    found : Posterior
        After the readings.
    """
    even = np.full(z.shape[1], 1 / z.shape[1])
    before, after = dict(_numbers(made, made.drawn(z))), dict(_numbers(made, made.drawn(found.z)))
    return tuple(
        Known(
            name,
            unit,
            weighted_range(values, even),
            weighted_range(after[name, unit], found.weights),
        )
        for (name, unit), values in before.items()
    )


def weighted_range(values: Floats, weights: Floats) -> Range:
    """Return the quantiles of weighted draws."""
    return Range(*map(float, weighted_quantile(values, weights, BAND)))


def _numbers(made: Building, drawn: Drawn) -> Iterator[tuple[tuple[str, str], Floats]]:
    """Yield what spreads, by name and unit; what is shared comes again and is one entry."""
    for wood in made.woods.values():
        state, role, air = state_of(wood, drawn), wood.timber.role, wood.timber.air
        numbers = {
            (f"{role}: R, green to oven-dry", "%"): 100 * np.asarray(state.s_r),
            (f"{role}: T, green to oven-dry", "%"): 100 * np.asarray(state.s_t),
            (f"{role}: weight of R in the width", ""): np.asarray(state.weight),
            ("section factor", ""): np.asarray(state.factor),
        }
        if wood.drying is not None:
            slow, fast = drawn.once("drying", partial(speed_of, wood, drawn))
            numbers["speed of drying, times the usual", ""] = 2.0 ** (slow + fast)
        shift = drawn.once(("air", air.name), partial(air_shift, wood, drawn))
        ends = (("driest", air.low), ("wettest", air.high))
        for (end, level), off in zip(ends, shift, strict=True):
            numbers[f"wood in the {end} month, {air.name.split(',')[0]}", "%"] = level + off
        yield from ((key, values) for key, values in numbers.items() if np.ndim(values))

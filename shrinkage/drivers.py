"""What the doubt is made of: Sobol indices by group of inputs, and what knowing each is worth.

A first-order index is the share of the variance that goes when a group alone is known, a total
index the share that stays when all but the group is known. Estimators: Saltelli (first order) and
Jansen (total), as in Saltelli et al., Computer Physics Communications 181 (2010), from memory;
tested on the function of Ishigami and Homma and against scipy's own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shrinkage.chance import check_certainty
from shrinkage.sampled import Plan, Progress, Sample, sample
from shrinkage.spread import Floats, Points

Function = Callable[[Floats], Floats]
"""From points, shape (inputs, draws), to one number a draw."""
ENOUGH = 4096
KNOWN, REST = 8, 8192
"""Values a group is fixed at, and draws of the rest, for the worth of knowing it."""


@dataclass(frozen=True)
class Driver:
    """One group of inputs and its part in the doubt.

    Parameters
    ----------
    group : str
        In words.
    first, total : float
        Sobol indices [-].
    saves : float
        By how much the gap for the stated certainty comes down on average if the group were known
        [unit of the answer].
    """

    group: str
    first: float
    total: float
    saves: float


def sobol_indices(
    function: Function, inputs: int, groups: Sequence[Sequence[int]], draws: int = ENOUGH,
    seed: int = 1,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Return first-order and total Sobol indices of groups of inputs.

    Parameters
    ----------
    function : callable
        From points between 0 and 1, shape (inputs, draws), to one number a draw.
    inputs : int
        How many.
    groups : sequence of sequence of int
        Inputs that are counted together.
    draws, seed : int
        Base draws; the function is asked for ``draws x (groups + 2)``.

    Returns
    -------
    first, total : ndarray, shape (groups,)
        All zero where the function does not vary [-].
    """
    points = Points(2 * inputs, seed).take(draws)
    a, b = points[:inputs], points[inputs:]
    of_a, of_b = function(a), function(b)
    variance = float(np.var(np.concatenate([of_a, of_b])))
    first, total = np.zeros(len(groups)), np.zeros(len(groups))
    if variance <= 1e-12 * max(1.0, float(np.abs(of_a).max()) ** 2):
        return first, total
    # Centred, the products below lose no digits to the mean.
    mean = float(of_a.mean())
    for number, group in enumerate(groups):
        mixed = a.copy()
        mixed[list(group)] = b[list(group)]
        of_mixed = function(mixed)
        first[number] = np.mean((of_b - mean) * (of_mixed - of_a)) / variance
        total[number] = 0.5 * np.mean((of_a - of_mixed) ** 2) / variance
    return first, total


def worth_of_knowing(
    function: Function, inputs: int, groups: Sequence[Sequence[int]], certainty: float,
    seed: int = 1, known: int = KNOWN, rest: int = REST,
) -> Floats:  # fmt: skip
    """Return by how much a quantile comes down on average when a group is known.

    Parameters
    ----------
    function, inputs, groups, seed
        As for `sobol_indices`.
    certainty : float
        Of the quantile [%].
    known, rest : int
        Values each group is fixed at, and draws of everything else for each.

    Returns
    -------
    ndarray, shape (groups,)
        Not below zero [unit of the function].
    """
    share = check_certainty(certainty)
    whole = float(np.quantile(function(Points(inputs, seed).take(known * rest)), share))
    base = Points(inputs, seed).take(rest)
    saved = np.zeros(len(groups))
    for number, group in enumerate(groups):
        fixed = _spaced(len(group), known)
        points = np.tile(base, known)
        points[list(group)] = np.repeat(fixed, rest, axis=1)
        found = function(points).reshape(known, rest)
        saved[number] = whole - np.quantile(found, share, axis=1).mean()
    return np.maximum(saved, 0.0)


def _spaced(inputs: int, count: int) -> Floats:
    """Return values that stand for all: the middles of even parts, paired well for several."""
    if inputs == 1:
        return (np.arange(count)[None] + 0.5) / count
    from scipy.stats import qmc

    corner = qmc.Sobol(inputs, scramble=False).random(count)
    return np.asarray(corner.T + 0.5 / count)


def drivers(
    made: Plan, draws: int = ENOUGH, known: int = KNOWN, rest: int = REST,
    progress: Progress | None = None,
) -> list[Driver]:  # fmt: skip
    """Return what the doubt about a joint's gap is made of, the greatest part first.

    Parameters
    ----------
    made : Plan
        The joint, ready to be drawn.
    draws, known, rest : int
        As for the two functions above.
    progress : callable, optional
        Told how far it is, from 0 to 1.

    Returns
    -------
    list of Driver
        One for each group of inputs; savings in mm of gap along the normal.
    """
    groups: Mapping[str, list[int]] = made.groups
    if not groups:
        return []
    calls = 0

    def needed(points: Floats) -> Floats:
        nonlocal calls
        calls += 1
        if progress is not None:
            progress(min(1.0, calls / (2 * len(groups) + 3)))
        return sample(made, points=points).needed

    rows = list(groups.values())
    first, total = sobol_indices(needed, len(made.inputs), rows, draws, made.spread.seed)
    saves = worth_of_knowing(needed, len(made.inputs), rows, made.spread.certainty,
                             made.spread.seed, known, rest)  # fmt: skip
    found = [
        Driver(name, float(s1), float(st), float(worth))
        for name, s1, st, worth in zip(groups, first, total, saves, strict=True)
    ]
    return sorted(found, key=lambda driver: -driver.total)


def from_draws(drawn: Sample, points: Floats, most: int = 8192) -> list[Driver]:
    """Return first-order indices and the worth of knowing from draws that are there.

    Draws are sorted into boxes by an input's own values; how far the boxes' means lie apart is its
    first-order index, their mean quantile the gap if it were known. Nothing is drawn again, so a
    page can follow a slider; of interactions it says nothing: a group's index is the sum of its
    inputs', and `total` repeats `first`.

    Parameters
    ----------
    drawn : Sample
        The draws.
    points : ndarray, shape (inputs, draws)
        What they were drawn at [-].
    most : int
        How many of them are used.

    Returns
    -------
    list of Driver
        The greatest first.
    """
    needed = drawn.needed[:most]
    share = check_certainty(drawn.plan.spread.certainty)
    whole, variance = float(np.quantile(needed, share)), float(needed.var())
    found = []
    for group, rows in drawn.plan.groups.items():
        alone = [_boxes(needed, points[[row], :most], BOXES) for row in rows]
        first = sum(_between(parts, needed) for parts in alone) / variance if variance else 0.0
        parts = alone[0]
        if len(rows) > 1:
            each = max(2, round(MANY_BOXES ** (1 / len(rows))))
            parts = _boxes(needed, points[rows, :most], each)
        sizes = np.array([len(part) for part in parts])
        known = float(sizes @ np.array([_quantile(part, share) for part in parts])) / sizes.sum()
        found.append(Driver(group, first, first, max(whole - known, 0.0)))
    return sorted(found, key=lambda driver: -driver.first)


def _boxes(needed: Floats, points: Floats, each: int) -> list[Floats]:
    """Sort draws into boxes by the values of some inputs."""
    box = np.zeros(len(needed), dtype=np.int16)
    for row in points:
        box = (box * each + (row * each).astype(np.int16)).astype(np.int16)
    order = np.argsort(box, kind="stable")
    edges = np.searchsorted(box[order], np.arange(1, each ** len(points)))
    return [part for part in np.split(needed[order], edges) if len(part) > 1]


def _between(parts: list[Floats], needed: Floats) -> float:
    """Return the variance between boxes, less what finitely many draws have by themselves."""
    sizes = np.array([len(part) for part in parts])
    means = np.array([part.mean() for part in parts])
    between = float(sizes @ (means - needed.mean()) ** 2) / len(needed)
    return max(between - float(needed.var()) * (len(parts) - 1) / len(needed), 0.0)


BOXES, MANY_BOXES = 16, 64
"""For one input, and for a group of several."""


def _quantile(part: Floats, share: float) -> float:
    """Return a quantile by partial sorting, faster for one number than the general one."""
    place = min(int(share * len(part)), len(part) - 1)
    return float(np.partition(part, place)[place])

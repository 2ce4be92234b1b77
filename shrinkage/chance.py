"""The chance of touching, and the gap for a stated chance, beside the two plain ways of adding up.

Three answers for one joint: every input at its bad end and the tolerances summed (worst case);
each input's own effect added in quadrature, tolerances too (root-sum-square); and the draws. The
first two have the form ``movement / capability + tolerance`` of the joint-width rule of ASTM C1472
(from memory; the guide excludes joints sealed with aerosol foam and lends the form only).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shrinkage.allowance import Allowance, Rules
from shrinkage.errors import ShrinkageError
from shrinkage.filling import Filling
from shrinkage.sampled import LIMITS, Plan, Progress, Sample, plan, sample
from shrinkage.spread import CERTAINTIES, CHUNK, Floats, Spread

QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Range:
    """Three quantiles of one number.

    Parameters
    ----------
    low, median, high : float
        5, 50 and 95 % of draws lie below [unit of the number].
    """

    low: float
    median: float
    high: float

    @staticmethod
    def of(values: Floats) -> Range:
        """Return the quantiles of some draws."""
        return Range(*map(float, np.quantile(values, QUANTILES)))


@dataclass(frozen=True)
class Chance:
    """What the draws say of one joint. Widths along its normal, since the panels went on.

    Parameters
    ----------
    answer : Allowance
        The order's own answer.
    sample : Sample
        The draws.
    closure, opening, left, strain : Range
        Furthest closing and opening [mm], least gap left [mm], worst compression of the foam [-],
        the last two for the gap that was ordered.
    touching : float
        Share of draws in which wood touches panel in the gap that was ordered [-].
    short : float
        Share in which some limit is not met in it [-].
    gap_clear : float
        Gap at which wood stays off the panel with the certainty asked for [mm].
    gap : float
        Gap at which every limit is met with it [mm].
    worst, square : float
        Gap needed by plain worst case, and by root-sum-square [mm].
    governs : dict of str to float
        Share of draws in which each limit asks for most [-].
    load : Range or None
        What the foam pushes with along the joint [N/m], where the foam's curve is given.
    hard : float
        Share of draws in which the foam is squeezed beyond its curve [-].
    """

    answer: Allowance
    sample: Sample
    closure: Range
    opening: Range
    left: Range
    strain: Range
    touching: float
    short: float
    gap_clear: float
    gap: float
    worst: float
    square: float
    governs: dict[str, float]
    load: Range | None = None
    hard: float = 0.0

    @property
    def certainty(self) -> float:
        """What was asked for [%]."""
        return self.sample.plan.spread.certainty

    @property
    def cautions(self) -> tuple[str, ...]:
        """What a reader should know of the draws themselves."""
        count = self.sample.draws
        return tuple(
            f"{what}: cut back to what is possible {cut} times in {count} draws "
            f"({100 * cut / count:.2g} %)"
            for what, cut in self.sample.truncated.items()
        )


def check_certainty(percent: float) -> float:
    """Return a certainty as a share.

    Parameters
    ----------
    percent : float
        Asked for [%].

    Raises
    ------
    ShrinkageError
        If it is not from 50 to 99.99 %.
    """
    low, high = CERTAINTIES
    if not low <= percent <= high:
        raise ShrinkageError(f"certainty {percent!r} %; accepted: {low:g} to {high:g} %")
    return percent / 100


def gap_for(drawn: Sample, certainty: float, every_limit: bool = True) -> float:
    """Return the gap that is enough with a stated certainty.

    Parameters
    ----------
    drawn : Sample
        The draws.
    certainty : float
        In 50 to 99.99 % of cases [%].
    every_limit : bool
        Enough for every limit, or only for wood to stay off the panel.

    Returns
    -------
    float
        Along the normal [mm]; no less than 0.
    """
    values = drawn.needed if every_limit else drawn.reach
    return max(0.0, float(np.quantile(values, check_certainty(certainty))))


def touching(drawn: Sample, gap: float) -> float:
    """Return the share of draws in which wood touches panel [-].

    Parameters
    ----------
    drawn : Sample
        The draws.
    gap : float
        On the day [mm].
    """
    return float(np.mean(drawn.reach >= gap)) if gap > 0 or drawn.plan.joint.layers else 0.0


def chance(
    answer: Allowance, rules: Rules, spread: Spread, draws: int | None = None,
    progress: Progress | None = None, points: Floats | None = None,
    filling: Filling | None = None,
) -> Chance:  # fmt: skip
    """Draw a joint and read off what a reviewer asks.

    Parameters
    ----------
    answer : Allowance
        The order's answer for the joint.
    rules : Rules
        Its least gaps and tolerances.
    spread : Spread
        What is not known, the certainty asked for, how many draws and their seed.
    draws : int, optional
        Instead of the spread's own.
    progress : callable, optional
        Told how far it is, from 0 to 1.
    points : ndarray, optional
        Draws to use, as for `sampled.sample`.
    filling : Filling, optional
        The foam as a material, for what it pushes with.

    Returns
    -------
    Chance
        The same for the same seed.
    """
    made = plan(answer.joint, answer.foam, rules, spread)
    drawn = sample(made, draws, progress=progress, points=points, chunk=CHUNK)
    return of_sample(answer, drawn, filling)


def line_load(drawn: Sample, gap: float, filling: Filling) -> tuple[Floats, float]:
    """Return what the foam pushes with, and the share of draws beyond its curve.

    Parameters
    ----------
    drawn : Sample
        The draws.
    gap : float
        On the day [mm].
    filling : Filling
        The foam as a material, and how deep it stands.

    Returns
    -------
    load : ndarray
        Along the joint; at the end of the curve where it is squeezed beyond [N/m].
    hard : float
        That share [-].
    """
    end = filling.material.limit * (1 - 1e-6)
    strain = drawn.foam_strain(gap)
    stress = filling.relaxation * filling.material.stress(np.minimum(strain, end))
    load = stress * drawn.push * filling.foamed_depth(drawn.plan.joint)
    return np.asarray(load), float(np.mean(strain > end))


def of_sample(answer: Allowance, drawn: Sample, filling: Filling | None = None) -> Chance:
    """Return a `Chance` from draws that are there."""
    made, gap = drawn.plan, answer.gap
    counts = np.bincount(drawn.governs, minlength=len(LIMITS)) / drawn.draws
    worst, square = plain_ways(made)
    names = [limit.name for limit in answer.limits]
    loads = line_load(drawn, gap, filling) if filling and answer.joint.layers else None
    return Chance(
        answer=answer,
        sample=drawn,
        closure=Range.of(drawn.closure),
        opening=Range.of(drawn.opening),
        left=Range.of(drawn.left(gap)),
        strain=Range.of(drawn.foam_strain(gap)),
        touching=touching(drawn, gap),
        short=float(np.mean(drawn.needed > gap)),
        gap_clear=gap_for(drawn, made.spread.certainty, every_limit=False),
        gap=gap_for(drawn, made.spread.certainty),
        worst=worst,
        square=square,
        governs=dict(zip(names, map(float, counts), strict=False)),
        load=Range.of(loads[0]) if loads else None,
        hard=loads[1] if loads else 0.0,
    )


def plain_ways(made: Plan) -> tuple[float, float]:
    """Return the gap needed by plain worst case and by root-sum-square.

    Each input is moved by itself to either end of what it does not leave with the certainty asked
    for, from its middle; errors of cutting, frame and setting enter as the tolerances themselves.

    Parameters
    ----------
    made : Plan
        The joint, ready to be drawn.

    Returns
    -------
    worst, square : float
        Gap needed [mm]; no less than 0.
    """
    rows = len(made.inputs)
    end = check_certainty(made.spread.certainty)
    error = {row for row, _ in made.errors if row is not None}
    points = np.full((rows, 2 * rows + 1), 0.5)
    for row in range(rows):
        if row not in error:
            points[row, 1 + 2 * row : 3 + 2 * row] = (1 - end, end)
    needed = sample(made, points=points).needed
    middle = float(needed[0])
    ends = needed[1:].reshape(rows, 2) - middle
    up = ends.max(axis=1, initial=0.0) if rows else np.zeros(0)
    bad = np.full((rows, 1), 0.5)
    for row in range(rows):
        if up[row] > 0:
            bad[row] = end if ends[row, 1] >= ends[row, 0] else 1 - end
    all_bad = float(sample(made, points=bad).needed[0])
    tolerances = [tolerance for _, tolerance in made.errors]
    worst = max(all_bad, middle) + sum(tolerances)
    square = middle + math.sqrt(float(up @ up) + sum(t * t for t in tolerances))
    return max(worst, 0.0), max(square, 0.0)

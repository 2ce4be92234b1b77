"""A joint's chain for many draws at once: from what spreads to closure, gap and foam.

The stacks, levers and limits are those of `joint` and `allowance`; only here every number of a
timber may be an array of draws. With all spreads at zero every draw is the order's own estimate.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shrinkage.draw_plan import Plan as Plan
from shrinkage.draw_plan import plan as plan
from shrinkage.drawn import Drawn
from shrinkage.spread import CHUNK, Floats, Points
from shrinkage.timber import Timber
from shrinkage.woods_drawn import layer_lost, state_of

LIMITS = ("fill", "crush", "clear", "works", "tight", "stretch")
"""In the order of `allowance.limits`."""
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Sample:
    """A joint drawn many times, along its normal; one row of each array a draw.

    Parameters
    ----------
    plan : Plan
        What was drawn.
    closure : ndarray
        The furthest it closes at any time since the panels went on; below zero where it only opens
        [mm].
    opening : ndarray
        The furthest it opens beyond the gap that was foamed [mm].
    before, after : ndarray
        What closes before the foam goes in, and the furthest after [mm].
    error : ndarray
        By how much cutting, frame and setting leave the gap smaller [mm].
    needed : ndarray
        Gap that every limit asks for, with the error [mm].
    push : ndarray
        Stress of the foam over its curve's [-].
    governs : ndarray of int
        Which of `LIMITS` asks for most.
    truncated : dict of str to int
        Draws cut back to what is possible, by input.
    """

    plan: Plan
    closure: Floats
    opening: Floats
    before: Floats
    after: Floats
    error: Floats
    needed: Floats
    push: Floats
    governs: NDArray[np.int8]
    truncated: dict[str, int]

    @property
    def draws(self) -> int:
        """How many."""
        return len(self.closure)

    @property
    def reach(self) -> Floats:
        """Gap on the day at which wood just touches panel [mm]."""
        return np.maximum(self.closure, 0.0) + self.error

    def left(self, gap: float) -> Floats:
        """Return the least gap left at any time, for a gap on the day [mm]."""
        return gap - self.reach

    def foam_strain(self, gap: float) -> Floats:
        """Return the worst compression of the cured foam for a gap on the day [-]."""
        thickness = gap - self.error - self.before
        shut = thickness <= self.after
        free = np.where(shut, 1.0, thickness) * (1 + self.plan.foam.cure)
        return np.where(shut, 1.0, np.maximum(0.0, 1 - (thickness - self.after) / free))


_KEPT = ("closure", "opening", "before", "after", "error", "needed", "push")


def sample(
    plan: Plan, draws: int | None = None, seed: int | None = None, chunk: int = CHUNK,
    progress: Progress | None = None, plain: bool = False, points: Floats | None = None,
) -> Sample:  # fmt: skip
    """Draw a joint.

    Parameters
    ----------
    plan : Plan
        From `plan`.
    draws, seed : int, optional
        The spread's own otherwise.
    chunk : int
        Draws worked at a time; the answer does not depend on it.
    progress : callable, optional
        Told how far it is, from 0 to 1.
    plain : bool
        Pseudo-random draws, to compare with.
    points : ndarray, shape (inputs, draws), optional
        Draws of one's own between 0 and 1.

    Returns
    -------
    Sample
        The same for the same seed, whatever the chunk.
    """
    count = points.shape[1] if points is not None else draws or plan.spread.draws
    start = plan.spread.seed if seed is None else seed
    source = Points(len(plan.inputs), start, plain) if points is None else None
    out = {name: np.empty(count) for name in _KEPT}
    governs = np.empty(count, dtype=np.int8)

    def work(at: int, stop: int, u: Floats) -> dict[str, int]:
        cut: dict[str, int] = {}
        drawn = Drawn.make(u, [known.normal for known in plan.inputs], cut)
        found = outcome(plan, path(plan, drawn), drawn)
        for name in _KEPT:
            out[name][at:stop] = found[name]
        governs[at:stop] = found["governs"]
        return cut

    def parts() -> Iterator[tuple[int, int, Floats]]:
        for at, stop in _chunks(count, chunk):
            yield at, stop, (source.take(stop - at) if source else points[:, at:stop])  # type: ignore[index]

    truncated: dict[str, int] = {}
    for stop, cut in _in_turn(work, parts(), THREADS if count >= MANY else 1):
        for what, times in cut.items():
            truncated[what] = truncated.get(what, 0) + times
        if progress is not None:
            progress(stop / count)
    return Sample(plan, governs=governs, truncated=truncated, **out)


THREADS, MANY = 2, 2**16
"""Threads that share the work where there are this many draws or more; numpy lets them."""


def _in_turn(
    work: Callable[[int, int, Floats], dict[str, int]],
    parts: Iterator[tuple[int, int, Floats]],
    threads: int,
) -> Iterator[tuple[int, dict[str, int]]]:
    """Yield what each part gives, in order, a few parts ahead at the most."""
    if threads == 1:
        for at, stop, u in parts:
            yield stop, work(at, stop, u)
        return
    running: deque[tuple[int, Future[dict[str, int]]]] = deque()
    with ThreadPoolExecutor(threads) as pool:
        for at, stop, u in parts:
            running.append((stop, pool.submit(work, at, stop, u)))
            if len(running) > threads:
                ready, future = running.popleft()
                yield ready, future.result()
        for ready, future in running:
            yield ready, future.result()


def _chunks(count: int, chunk: int) -> Iterator[tuple[int, int]]:
    for at in range(0, count, chunk):
        yield at, min(at + chunk, count)


def path(plan: Plan, drawn: Drawn) -> Floats:
    """Return the closure along the normal at each time that is followed.

    Parameters
    ----------
    plan : Plan
        From `plan`.
    drawn : Drawn
        A draw of each of its inputs.

    Returns
    -------
    ndarray, shape (times, draws)
        Positive closes, since the panels went on [mm].
    """
    total = np.zeros((len(plan.times), drawn.count))
    # Kept with the draws: joints drawn together share their timbers.
    states = {key: drawn.once(("state", key, plan.times.tobytes()), partial(state_of, wood, drawn))
              for key, wood in plan.woods.items()}  # fmt: skip
    for layer in plan.joint.layers:
        lever = layer.lever(plan.joint.normal)
        if isinstance(layer.wood, Timber):
            wood = plan.woods[id(layer.wood)]
            layer_lost(wood, states[id(layer.wood)], layer.grain, lever, total)
        else:
            history = layer.wood.history(layer.grain, plan.seasons.line)
            total += lever * history[0, plan.times, 1][:, None]
    return total


def outcome(plan: Plan, track: Floats, drawn: Drawn) -> dict[str, Any]:
    """Return what each draw does to the joint, and the gap every limit asks for.

    Parameters
    ----------
    plan : Plan
        From `plan`.
    track : ndarray, shape (times, draws)
        From `path` [mm].
    drawn : Drawn
        As for `path`.

    Returns
    -------
    dict of str to ndarray
        The arrays of a `Sample`.
    """
    error = np.zeros(drawn.count)
    for row, tolerance in plan.errors:
        if row is not None:
            error += tolerance * drawn.deviation(row, plan.spread.tolerances)
    before = track[plan.foamed]
    later = track[plan.foamed :]
    swing = np.ptp(track[plan.last_year :], axis=0)
    after = np.maximum(later.max(axis=0) - before, 0.0)
    opening = np.maximum(before - later.min(axis=0), 0.0)
    worst = track[1:].max(axis=0)
    wanted = _wanted(plan, drawn, before, after, opening, swing, np.maximum(worst, 0.0))
    governs = np.zeros(drawn.count, dtype=np.int8)
    needed = wanted[0].copy()
    for number, one in enumerate(wanted[1:], start=1):
        more = one > needed
        governs[more] = number
        np.maximum(needed, one, out=needed)
    needed += error
    push = drawn.around(1.0, plan.foam_rows[3], plan.spread.foam, 0.0, 10.0, "foam")
    return {"closure": worst, "opening": opening, "before": before, "after": after,
            "error": error, "needed": needed, "push": push, "governs": governs}  # fmt: skip


def _wanted(
    plan: Plan, drawn: Drawn, before: Floats, close: Floats, opens: Floats, swing: Floats,
    closing: Floats,
) -> list[Floats]:  # fmt: skip
    """Return the gap each of `LIMITS` asks for, as `allowance.limits` does for one number."""
    foam, rules, doubt = plan.foam, plan.rules, plan.spread.foam
    takes, gives, works = (
        drawn.around(value, row, doubt, low, high, "foam")
        for value, row, low, high in zip(
            (foam.squeeze_once, foam.recovery, foam.works), plan.foam_rows[:3],
            (0.01, 0.0, 0.001), (0.95, 1.0, 1.0), strict=True,
        )
    )  # fmt: skip
    fill = rules.spline_fill if plan.joint.kind == "spline" else foam.least_width
    # As `Foam.closes`, `stretches` and `opens`, for arrays.
    stretches = works if foam.stretch is None else foam.stretch * works / foam.works
    grown, kept = 1 + foam.cure, 1 + gives * foam.cure
    left = np.where(foam.cure < 0, grown, kept)
    lost = (1 - gives) * close
    beyond = swing - gives * close
    rise = np.maximum(stretches * kept + kept - 1, 1e-6)
    tight = np.maximum((beyond + stretches * lost) / rise, 0.0)
    reopens = swing > 0 if foam.cure else beyond > 0
    return [
        fill + before,
        close / np.maximum(1 - (1 - takes) * grown, 1e-6) + before,
        closing + rules.keep_clear,
        np.where(swing > 0, (swing / 2 / works + lost) / kept, 0.0) + before,
        np.where(reopens, tight, 0.0) + before,
        opens / np.maximum((1 + stretches) * left - 1, 1e-6) + before,
    ]


def through_time(plan: Plan, quantiles: tuple[float, ...], draws: int = 2048) -> Floats:
    """Return quantiles of the closure at each time that is followed.

    Parameters
    ----------
    plan : Plan
        Made with `all_times`.
    quantiles : tuple of float
        Between 0 and 1 [-].
    draws : int
        How many.

    Returns
    -------
    ndarray, shape (quantiles, times)
        Positive closes [mm].
    """
    u = Points(len(plan.inputs), plan.spread.seed).take(draws)
    drawn = Drawn.make(u, [known.normal for known in plan.inputs], {})
    return np.asarray(np.quantile(path(plan, drawn), quantiles, axis=1))

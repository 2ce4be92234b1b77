"""What finishes and joinery share: an amount with its bracket, a finding, and what wood has lost.

Every calculator is linear in what its pieces lose across and along the grain, so its bracket is
each term at the end of its own bracket that adds most.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Literal

import numpy as np

from shrinkage.errors import ShrinkageError
from shrinkage.section import Heart
from shrinkage.timber import CASES, END_TO_END, Floats, Grain, Timber

LEAST_FACTOR = 0.6
"""Share of the table's shrinkage a heavy timber shows at the least in its first drying: Canadian
Wood Council, heavy timber, 2.4 to 3.0 % indoors where the table gives 4.5 %."""
FAR_MM = 1e9
"""A pith so far off that the rings are straight."""

Since = Literal["panels on", "foamed", "heated"]
CUT_NOTE = (
    "Reckoned from the moisture the joint was cut at to the driest month, whatever the dates: the "
    "end state does not depend on them."
)
HEART_NOTE = (
    "Boxed heart is taken unchecked: once checked a timber moves less face to face. Heavy timbers "
    f"have been seen to show {LEAST_FACTOR:g} to 1 of the table's shrinkage: least and most."
)


@dataclass(frozen=True)
class Amount:
    """A length or an angle with its bracket.

    Parameters
    ----------
    name : str
        What it is, as a reader would say it.
    least, estimate, most : float
        In rising order [mm, or rad for an angle].
    kind : {'length', 'angle'}
        Which of them.
    governs : {'least', 'most'}
        The end to go by.
    """

    name: str
    least: float
    estimate: float
    most: float
    kind: Literal["length", "angle"] = "length"
    governs: Literal["least", "most"] = "most"

    @property
    def governing(self) -> float:
        """The end to go by [mm or rad]."""
        return self.least if self.governs == "least" else self.most


@dataclass(frozen=True, kw_only=True)
class Finding:
    """What a calculator found; its amounts are fields of the kind of finding.

    Parameters
    ----------
    name : str
        What it was asked about.
    steps : tuple of str
        Worked by hand, from table row to result, with sources.
    notes : tuple of str
        Assumptions and cautions.
    """

    name: str
    steps: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def amounts(self) -> tuple[Amount, ...]:
        """Every amount found, in order."""
        found = (getattr(self, field.name) for field in fields(self))
        return tuple(value for value in found if isinstance(value, Amount))


def amount(
    name: str,
    cases: Floats,
    kind: Literal["length", "angle"] = "length",
    governs: Literal["least", "most"] = "most",
) -> Amount:
    """Return three cases as an amount, in rising order.

    Parameters
    ----------
    name : str
        What it is.
    cases : ndarray, shape (3,)
        Least, estimate, most of the movement behind it [mm or rad].
    kind, governs : str
        As `Amount`.
    """
    low, middle, high = (float(value) + 0.0 for value in np.sort(cases))  # never -0.0
    return Amount(name, low, middle, high, kind, governs)


def mixed(*terms: tuple[float, Floats]) -> Floats:
    """Return a sum of levers times losses, each at the end of its bracket that adds most.

    Parameters
    ----------
    *terms : tuple of float and ndarray, shape (3,)
        Lever [mm], and fraction lost in the three cases [-].

    Returns
    -------
    ndarray, shape (3,)
        Least, estimate, most [mm].
    """
    return np.asarray(sum(np.sort(lever * lost) for lever, lost in terms) + np.zeros(len(CASES)))


@dataclass(frozen=True)
class Lost:
    """What one dimension of a timber has lost since a day, as a fraction of it on that day [-].

    Parameters
    ----------
    driest, wettest : ndarray, shape (3,)
        At the driest time after that day, and at the wettest of the last year; `CASES`.
    """

    driest: Floats
    wettest: Floats


def lost(timber: Timber, grain: Grain, since: Since = "panels on") -> Lost:
    """Return what a dimension loses from a day on.

    The least takes rings at their least and `LEAST_FACTOR`; the most and the estimate the timber's
    own section factor. With a calendar, slow and fast drying widen the bracket.

    Parameters
    ----------
    timber : Timber
        Its history from the day the panels go on.
    grain : {'width', 'depth', 'length'}
        The dimension.
    since : {'panels on', 'foamed', 'heated'}
        The day counted from; the later two only with a calendar.

    Raises
    ------
    ShrinkageError
        If the timber has no such day.
    """
    line = timber.course.line if timber.course else END_TO_END
    if since not in line.marks or (timber.course is None and since != "panels on"):
        raise ShrinkageError(
            f"since {since!r} without a calendar; accepted: panels on, or a [calendar], or the "
            "moisture the timber is metered at on that day"
        )
    start = line.marks[since]
    slow = replace(timber, section_factor=min(timber.section_factor, LEAST_FACTOR))
    low, own = (one.history(grain, line)[:, start:] for one in (slow, timber))
    low, own = ((path - path[:, :1]) / (1 - path[:, :1]) for path in (low, own))
    later = max(0, line.last_year - start)
    return Lost(
        _bracket(low.max(axis=1), own.max(axis=1)),
        _bracket(low[:, later:].min(axis=1), own[:, later:].min(axis=1)),
    )


def _bracket(low: Floats, own: Floats) -> Floats:
    """Return least, estimate and most of paths of shape (bands, 3)."""
    usual = own[own.shape[0] // 2, 1]
    both = np.concatenate([low.ravel(), own.ravel()])
    return np.array([both.min(), usual, both.max()])


def part_of(timber: Timber, width: float, depth: float, x: float = 0.0, y: float = 0.0) -> Timber:
    """Return a piece cut from a timber, such as its tenon, with its rings where they were.

    Parameters
    ----------
    timber : Timber
        What it is cut from.
    width, depth : float
        The piece [mm].
    x, y : float
        Its centre from the section's centre, across and up [mm].

    Returns
    -------
    Timber
        Without a calendar: it runs from its moisture to its air's driest month.

    Raises
    ------
    ShrinkageError
        If the piece does not lie within the section.
    """
    over_x = abs(x) + width / 2 - timber.width / 2
    over_y = abs(y) + depth / 2 - timber.depth / 2
    if not (width > 0 and depth > 0 and max(over_x, over_y) < 1e-6):
        raise ShrinkageError(
            f"{timber.role}: a piece of {width:.1f} x {depth:.1f} mm at ({x:.1f}, {y:.1f}); "
            f"accepted: within its section, {timber.width:.1f} x {timber.depth:.1f} mm"
        )
    heart = timber.heart
    if heart.kind in ("boxed", "pith"):
        at = (heart.x, heart.y) if heart.kind == "pith" else (0.0, 0.0)
        heart = Heart("pith", at[0] - x, at[1] - y)
    elif heart.kind not in ("free", "unknown"):
        # Flat and quarter go by the wider side of the whole timber, not by the piece's.
        weight = timber.weights("width").estimate
        heart = Heart("pith", FAR_MM * weight**0.5, FAR_MM * (1 - weight) ** 0.5)
    return replace(timber, width=width, depth=depth, heart=heart, course=None)


def strain_by_hand(timber: Timber, grain: Grain, since: Since = "panels on") -> str:
    """Return how the greatest loss of a dimension comes about, with its numbers and sources.

    Parameters
    ----------
    timber, grain, since
        As `lost`.
    """
    found = lost(timber, grain, since).driest
    three = f"least {found[0]:.5f}, estimate {found[1]:.5f}, most {found[2]:.5f}"
    head = f"{timber.role}, {grain}, {timber.species.name}"
    table = f"{timber.species.source}, basis: {timber.species.basis}"
    if timber.course is not None:
        return (
            f"{head}: loses since {since} by the driest time {three} (through its calendar, slow "
            f"to fast drying; {table})"
        )
    total, fs, low = timber.total(grain, "most"), timber.species.fibre_saturation, timber.air.low
    s1, s2 = (total * max(0.0, fs - m) / fs for m in (timber.moisture, low))
    rings, factor = "", ""
    if grain != "length":
        w, s_r, s_t = timber.weights(grain), timber.species.s_r, timber.species.tangential
        weight = max((w.low, w.high), key=lambda share: share * s_r + (1 - share) * s_t)
        rings = f" = {weight:.4f} x {s_r:.4f} + {1 - weight:.4f} x {s_t:.4f}"
        factor = f" x section factor {timber.section_factor:g}" * (timber.section_factor < 1)
    return (
        f"{head}: S{rings} = {total:.5f}; from {timber.moisture:.1f} % to {low:.2f} % in the "
        f"driest month: s = {s1:.5f}, then {total:.5f} x ({fs:.0f} - {low:.2f}) / {fs:.0f} = "
        f"{s2:.5f}; 1 - (1 - {s2:.5f})/(1 - {s1:.5f}){factor} (GTR-190 Eq. 13-3); "
        f"loses {three} ({table})"
    )

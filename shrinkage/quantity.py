"""How much foam a job takes: litres and cans by kind of joint, the holes it goes in through, waste.

``litres = gap x depth x length``, at the widest the gap is on the day it is foamed; the holes'
own litres and the waste come on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from shrinkage.allowance import Allowance
from shrinkage.errors import ShrinkageError
from shrinkage.filling import Filling
from shrinkage.order import SIDES, Order, Panel
from shrinkage.units import System, show

if TYPE_CHECKING:
    import pandas as pd

MM3_PER_LITRE = 1e6
HOLE_SHARE = 0.5
"""A hole reaches from a face of the panel to the joint's middle: half its thickness (assumed)."""


@dataclass(frozen=True)
class Run:
    """One length of joint.

    Parameters
    ----------
    answer : Allowance
        The joint.
    length : float
        Along it [mm].
    share : float
        Of its gap that this length counts; half at a ridge, which two panels share [-].
    """

    answer: Allowance
    length: float
    share: float = 1.0


@dataclass(frozen=True)
class Fill:
    """What one kind of joint takes.

    Parameters
    ----------
    kind : str
        Of joint, or 'all'.
    length : float
        Of joint [mm].
    joints, holes : float
        What the joints and the holes hold [L].
    count : int
        Number of holes.
    litres : float
        Both, with waste [L].
    cans : float or None
        That over the yield of a can, not rounded; None where the foam does not come in cans.
    """

    kind: str
    length: float
    joints: float
    holes: float
    count: int
    litres: float
    cans: float | None


def gap_litres(gap: float, depth: float, length: float) -> float:
    """Return what a length of joint holds [L].

    Parameters
    ----------
    gap, depth, length : float
        Width, how deep the foam stands, and along the joint [mm].

    Raises
    ------
    ShrinkageError
        If one is negative or not finite.
    """
    for what, mm in (("gap", gap), ("depth", depth), ("length", length)):
        if not 0 <= mm < math.inf:
            raise ShrinkageError(f"foam {what}: {mm!r} mm; accepted: 0 or more")
    return gap * depth * length / MM3_PER_LITRE


def hole_litres(diameter: float, thickness: float) -> float:
    """Return what one hole holds [L]; see `HOLE_SHARE`.

    Parameters
    ----------
    diameter, thickness : float
        Of the hole and of the panel [mm].
    """
    return math.pi / 4 * diameter**2 * thickness * HOLE_SHARE / MM3_PER_LITRE


def runs(order: Order) -> list[Run]:
    """Return every length of joint that is foamed, each once.

    Parameters
    ----------
    order : Order
        The answer to a job.
    """
    found = [run for panel in order.panels for run in _panel_runs(panel)]
    by_name = {(a.joint.kind, a.joint.name): a for a in order.allowances}
    for wall in order.frame.job.wall:
        for spec in wall.opening:
            answer = by_name["opening", f"{wall.name}, {spec.name}"]
            sides = 2 * spec.height + spec.width * (2 if spec.foot > 0 else 1)
            found.append(Run(answer, sides))
    return found


def _panel_runs(panel: Panel) -> Iterator[Run]:
    for side in SIDES:
        edge = panel.edges[side]
        answer = edge.allowance
        if answer is None or answer.status == "bearing" or edge.kind == "opening":
            continue
        if edge.kind == "spline" and side == "right":
            continue  # the next panel's left edge is the same joint
        yield Run(answer, _edge_length(panel, side), 0.5 if edge.kind == "ridge" else 1.0)


def _edge_length(panel: Panel, side: str) -> float:
    if side in ("left", "right"):
        return panel.left_height if side == "left" else panel.right_height
    if side == "bottom":
        return panel.width
    return sum(math.dist(a, b) for a, b in pairwise(panel.outline[2:]))


def _mean_gap(answer: Allowance) -> float:
    """Return the mean gap when foamed, at the widest it can be; a wedge at a square cut [mm]."""
    widest = answer.gap - float(answer.seasons.closing_before_foam().min())
    return (widest + max(widest, answer.widest)) / 2


def fills(order: Order) -> tuple[Fill, ...]:
    """Return what each kind of joint takes, and all of them in the last row.

    Parameters
    ----------
    order : Order
        The answer to a job.
    """
    filling, everything = order.frame.filling, runs(order)
    by_kind = {
        kind: _fill(kind, [run for run in everything if run.answer.joint.kind == kind], filling)
        for kind in dict.fromkeys(run.answer.joint.kind for run in everything)
    }
    parts = tuple(by_kind.values())
    cans = None if filling.litres_per_can is None else sum(part.cans or 0.0 for part in parts)
    whole = Fill(
        "all",
        sum(part.length for part in parts),
        sum(part.joints for part in parts),
        sum(part.holes for part in parts),
        sum(part.count for part in parts),
        sum(part.litres for part in parts),
        cans,
    )
    return (*parts, whole)


def _fill(kind: str, found: list[Run], filling: Filling) -> Fill:
    joints = sum(
        gap_litres(run.share * max(_mean_gap(run.answer), 0.0),
                   filling.foamed_depth(run.answer.joint), run.length)
        for run in found
    )  # fmt: skip
    # A ridge's holes too are shared by the panels on its two sides.
    shared = sum(run.share * run.length for run in found)
    count = math.ceil(shared / filling.hole_spacing) if filling.hole else 0
    holes = count * hole_litres(filling.hole, filling.thickness)
    litres = (joints + holes) * (1 + filling.waste)
    cans = None if filling.litres_per_can is None else litres / filling.litres_per_can
    return Fill(kind, shared, joints, holes, count, litres, cans)


def cans_to_buy(order: Order) -> int | None:
    """Return whole cans for the job; None where the foam does not come in cans."""
    cans = fills(order)[-1].cans
    return None if cans is None else math.ceil(cans - 1e-9)


def quantity_table(order: Order) -> pd.DataFrame:
    """Return one row a kind of joint and one for all.

    Returns
    -------
    pandas.DataFrame
        Columns kind, length_m, joints_litres, holes, holes_litres, litres_with_waste, cans.
    """
    import pandas as pd

    rows = [
        {
            "kind": fill.kind,
            "length_m": round(fill.length / 1000, 2),
            "joints_litres": round(fill.joints, 1),
            "holes": fill.count,
            "holes_litres": round(fill.holes, 2),
            "litres_with_waste": round(fill.litres, 1),
            "cans": None if fill.cans is None else round(fill.cans, 1),
        }
        for fill in fills(order)
    ]
    return pd.DataFrame(rows)


def quantity_rows(order: Order, system: System | None = None) -> list[tuple[str, str, str, str]]:
    """Return (kind, length, litres, cans) in words, for a crew's card or a terminal.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.

    Returns
    -------
    list of tuple of str
        One a kind of joint; last 'all', whose cans are whole.
    """
    system = system or order.frame.job.units
    whole = cans_to_buy(order)
    rows = []
    for fill in fills(order):
        cans = "" if fill.cans is None else f"{fill.cans:.1f}"
        if fill.kind == "all":
            cans = "" if whole is None else f"{whole}"
        is_metric = system == "metric"
        length = f"{fill.length / 1000:.1f} m" if is_metric else show(fill.length, system, 1)
        rows.append((fill.kind, length, f"{fill.litres:.0f} L", cans))
    return rows

"""Every joint's foam over its life, what it pushes with, and what holds against it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shrinkage.fasteners import FOR_THE_ENGINEER
from shrinkage.foam_life import FoamLife, life
from shrinkage.order import Order
from shrinkage.remedies import Remedy, remedies_of

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class JointFoam:
    """The foam of one joint and what it pushes against.

    Parameters
    ----------
    life : FoamLife
        What it goes through.
    dead, holds : float or None
        Dead load, and dead load with fasteners, that hold the roof panel down along the joint
        [N/m]; None where it is no roof joint, or the job does not say.
    margin : float or None
        How many times what the foam pushes with is held [-]; None where nothing pushes, nothing is
        said of what holds, or the foam does not fit. For the engineer.
    """

    life: FoamLife
    dead: float | None
    holds: float | None
    margin: float | None

    @property
    def name(self) -> str:
        """The joint's name."""
        return self.life.answer.joint.name

    @property
    def lifts(self) -> bool:
        """Whether the foam pushes with more than holds."""
        return self.margin is not None and self.margin < 1

    @property
    def status(self) -> str:
        """'fits', or 'does not fit' and why."""
        if not self.lifts:
            return self.life.status
        lifts = "pushes with more than what holds the roof panel down"
        return f"{self.life.status}; {lifts}" if self.life.faults else f"does not fit: {lifts}"


def foam_answer(order: Order) -> tuple[JointFoam, ...]:
    """Follow the foam of every joint of an order.

    Parameters
    ----------
    order : Order
        The answer to a job.

    Returns
    -------
    tuple of JointFoam
        One a joint that is foamed, in the order's order.
    """
    holds, found = order.frame.hold_down, []
    for answer in order.allowances:
        one = life(answer, order.frame.filling)
        if one is None:
            continue
        kind = answer.joint.kind
        dead = holds.dead.get(kind) if holds else None
        against = holds.holds(kind) if holds else None
        margin = holds.margin(kind, one.line_load) if holds else None
        found.append(JointFoam(one, dead, against, margin))
    return tuple(found)


def failing(order: Order) -> tuple[JointFoam, ...]:
    """Return the joints whose foam does not fit, or pushes with more than holds."""
    return tuple(one for one in foam_answer(order) if one.status != "fits")


def foam_remedies(order: Order) -> dict[str, tuple[Remedy, ...]]:
    """Return what else would do for joints that can be foamed, but whose foam fails a limit.

    Those too wide to foam have theirs in `Order.remedies`.

    Parameters
    ----------
    order : Order
        The answer to a job.
    """
    found = [one.life.answer for one in failing(order) if one.name not in order.remedies]
    return remedies_of(order.frame, found)


def foam_table(order: Order) -> pd.DataFrame:
    """Return one row a joint: strains, stress, line load, what holds, margin, whether it fits.

    Returns
    -------
    pandas.DataFrame
        Cells are empty where there is nothing to say; never a number made up.
    """
    import pandas as pd

    return pd.DataFrame([_row(one) for one in foam_answer(order)])


def _row(one: JointFoam) -> dict[str, Any]:
    found = one.life
    return {
        "joint": one.name,
        "kind": found.answer.joint.kind,
        "foamed_gap_mm": round(found.answer.gap_foamed, 1),
        "foamed_depth_mm": round(found.depth, 1),
        "squeezed_percent": round(100 * found.compression, 1),
        "worked_percent": round(100 * found.worked, 1),
        "stretched_percent": round(100 * found.stretch, 1),
        "stress_kpa": _rounded(found.stress, 1),
        "pull_kpa": _rounded(found.pull, 1),
        "energy_kj_m3": _rounded(found.energy, 2),
        "line_load_n_m": _rounded(found.line_load, 0),
        "dead_load_n_m": _rounded(one.dead, 0),
        "holds_n_m": _rounded(one.holds, 0),
        "margin": _rounded(one.margin, 2),
        "margin_is": FOR_THE_ENGINEER if one.margin is not None else "",
        "over_what_it_takes": found.is_over,
        "stays_bonded": found.is_bonded,
        "ever_hard": found.is_hard,
        "status": one.status,
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits) + 0.0


@dataclass(frozen=True)
class Stretch:
    """One length along the building, for a picture or a table of line loads.

    Parameters
    ----------
    wall : str
        Whose top it is.
    start, end : float
        From the first wall's left corner, round the building in the job's order [mm].
    foam : JointFoam
        The joint there.
    """

    wall: str
    start: float
    end: float
    foam: JointFoam


def along_the_building(order: Order) -> tuple[Stretch, ...]:
    """Return the tops of the walls one after the other, with what pushes and holds there.

    Parameters
    ----------
    order : Order
        The answer to a job.
    """
    by_name = {one.name: one for one in foam_answer(order)}
    found, at = [], 0.0
    for wall in order.frame.job.wall:
        found.append(Stretch(wall.name, at, at + wall.length, by_name[f"{wall.name}, top"]))
        at += wall.length
    return tuple(found)

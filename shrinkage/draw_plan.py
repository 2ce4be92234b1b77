"""A joint made ready to be drawn: which of its inputs spread, and which of them are one draw.

What timbers share (a species, a log, the air, the speed of drying) gets one row of draws.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from shrinkage.allowance import WHICH_TOLERANCES, Rules
from shrinkage.foam import Foam
from shrinkage.joint import Joint, Seasons, closure
from shrinkage.spread import Doubt, Spread
from shrinkage.timber import Timber
from shrinkage.woods_drawn import Wood, make_wood

_FOAM_GROUPS = ("what the foam takes", "how hard the foam is")


@dataclass(frozen=True)
class Input:
    """One thing that spreads: one row of draws.

    Parameters
    ----------
    key : str
        What it is, once in a plan.
    group : str
        What it is counted with when doubt is shared out, such as a species' R and T together.
    doubt : Doubt
        Its spread.
    normal : bool
        Whether the draw is wanted as a standard normal one.
    """

    key: str
    group: str
    doubt: Doubt
    normal: bool


@dataclass
class Columns:
    """Gives every input its row of draws; one that does not spread gets none."""

    inputs: list[Input] = field(default_factory=list)

    def of(self, key: str, group: str, doubt: Doubt, normal: bool | None = None) -> int | None:
        """Return the row of an input, the same for the same key; None without a spread."""
        if not doubt.amount:
            return None
        for row, known in enumerate(self.inputs):
            if known.key == key:
                return row
        is_normal = doubt.is_normal if normal is None else normal
        self.inputs.append(Input(key, group, doubt, is_normal))
        return len(self.inputs) - 1


@dataclass(frozen=True)
class Plan:
    """A joint made ready to be drawn.

    Parameters
    ----------
    joint, foam, rules, spread : Joint, Foam, Rules, Spread
        What was asked.
    seasons : Seasons
        The order's own answer.
    inputs : tuple of Input
        One for each row of draws.
    woods : dict of int to Wood
        Timbers by identity: a plate that stands in two layers is one piece.
    times : ndarray of int
        Which times of the seasons are followed; the first is the day the panels go on.
    foamed, last_year : int
        Their places among `times`.
    errors : tuple of (int or None, float)
        Row and tolerance [mm] of cutting, frame and setting, as far as they count here.
    foam_rows : tuple of int or None
        Rows of squeeze_once, recovery, works and stress.
    """

    joint: Joint
    foam: Foam
    rules: Rules
    spread: Spread
    seasons: Seasons
    inputs: tuple[Input, ...]
    woods: dict[int, Wood]
    times: NDArray[np.intp]
    foamed: int
    last_year: int
    errors: tuple[tuple[int | None, float], ...]
    foam_rows: tuple[int | None, ...]

    @property
    def groups(self) -> dict[str, list[int]]:
        """Rows by what they are counted with."""
        found: dict[str, list[int]] = {}
        for row, known in enumerate(self.inputs):
            found.setdefault(known.group, []).append(row)
        return found


def plan(joint: Joint, foam: Foam, rules: Rules, spread: Spread, all_times: bool = False) -> Plan:
    """Make a joint ready to be drawn.

    Parameters
    ----------
    joint, foam, rules : Joint, Foam, Rules
        As for `allowance.allow`.
    spread : Spread
        What is not known.
    all_times : bool
        Follow every time of the calendar, for a picture; otherwise the ones at which the joint
        stands at an end of its way in any band, which is all the limits need.

    Returns
    -------
    Plan
        For `sample`.
    """
    seasons = closure(joint.layers, joint.normal)
    times = np.arange(len(seasons.line.days)) if all_times else _ends(seasons)
    columns, woods = Columns(), {}
    for layer in joint.layers:
        if isinstance(layer.wood, Timber) and id(layer.wood) not in woods:
            woods[id(layer.wood)] = make_wood(layer.wood, spread, columns, seasons.line, times)
    errors = tuple(
        (columns.of(f"{name} error", f"{name} tolerance", spread.tolerances),
         float(getattr(rules, name)))
        for name in WHICH_TOLERANCES[joint.kind]
        if getattr(rules, name)
    )  # fmt: skip
    moves = bool(joint.layers)
    foam_rows = tuple(
        columns.of(f"foam {name}", _FOAM_GROUPS[name == "stress"], spread.foam) if moves else None
        for name in ("squeeze_once", "recovery", "works", "stress")
    )
    at = [int(np.searchsorted(times, when)) for when in
          (seasons.line.foamed, seasons.line.last_year)]  # fmt: skip
    return Plan(joint, foam, rules, spread, seasons, tuple(columns.inputs), woods, times, at[0],
                at[1], errors, foam_rows)  # fmt: skip


def _ends(seasons: Seasons) -> NDArray[np.intp]:
    """Return the times at which the joint is at an end of its way, in any band or case."""
    line = seasons.line
    if line.sawn is None:
        return np.arange(len(line.days))
    found = {0, line.foamed, line.last_year}
    for start in (0, line.foamed, line.last_year):
        part = seasons.path[:, start:]
        for at in (part.argmax(axis=1), part.argmin(axis=1)):
            found |= {start + int(row) for row in at.ravel()}
    return np.array(sorted(found))

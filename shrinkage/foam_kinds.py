"""The generic kinds of gap foam: a small table of its own, of no maker, each row with its basis.

Every value is the order a kind has, to start from until the data sheet of the foam that is bought
replaces it. None has been read off a sheet; each row says whether it is from memory or assumed.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import cache
from typing import Any, ClassVar

from shrinkage import tables
from shrinkage.errors import ShrinkageError


@dataclass(frozen=True)
class FoamKind:
    """One generic kind of foam.

    Parameters
    ----------
    kind, words : str
        What it is called, and what it is.
    density : float
        Cured [kg/m3].
    stress_at_10 : float
        Stress that squeezes it by 10 % [kPa].
    squeeze_once, recovery, works, stretch : float
        Compression it takes once, share of that it gives back, movement either way it follows with
        the seasons, stretch it takes without tearing or coming loose [%].
    cure : float
        Growth in the joint while it cures, negative where it shrinks [%].
    least_width, most_width : float
        Narrowest and widest gap it fills [mm].
    litres_per_can : float or None
        Yield at room temperature; None where it does not come in cans [L].
    coldest, warmest : float
        Air it is put in at [deg C].
    source, basis : str
        Where the row comes from.
    """

    SETTINGS: ClassVar[frozenset[str]] = frozenset(
        ("squeeze_once", "recovery", "works", "stretch", "cure", "least_width", "most_width",
         "density", "stress_at_10", "litres_per_can")
    )  # fmt: skip

    kind: str
    words: str
    density: float
    stress_at_10: float
    squeeze_once: float
    recovery: float
    works: float
    stretch: float
    cure: float
    least_width: float
    most_width: float
    litres_per_can: float | None
    coldest: float
    warmest: float
    source: str
    basis: str

    def setting(self, key: str) -> Any:
        """Return the kind's own value of a job file's key."""
        return getattr(self, key)


@cache
def kinds() -> dict[str, FoamKind]:
    """Return every kind by its name, in the table's order."""
    found = {}
    for row in tables.rows("foams"):
        cells = list(row.values())
        fields: list[Any] = [*cells[:2], *map(tables.value, cells[2:14]), *cells[14:]]
        found[row["kind"]] = FoamKind(*fields)
    return found


def find_kind(name: Any) -> FoamKind:
    """Return a kind by its name.

    Raises
    ------
    ShrinkageError
        With the nearest name and all of them.
    """
    table = kinds()
    if isinstance(name, str) and name in table:
        return table[name]
    near = difflib.get_close_matches(str(name), table, n=1)
    hint = f" (did you mean {near[0]}?)" if near else ""
    raise ShrinkageError(f"kind of foam {name!r} is not known{hint}; accepted: {', '.join(table)}")

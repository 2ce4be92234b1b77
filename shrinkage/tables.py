"""The tables the package stands on: found beside the package, read once, each row with its basis.

Every table names its source here and every row says how it was read (column ``basis``): ``page``
from a copy of the printed page, ``later-edition`` seen in the 2021 edition with the same value,
``memory`` written from memory and not yet seen in print, ``assumed`` chosen by us.
"""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files
from pathlib import Path

from shrinkage.errors import ShrinkageError

WOOD_HANDBOOK = "Wood Handbook, FPL-GTR-190 (Forest Products Laboratory, 2010)"

SOURCES = {
    "table_4_1": f"{WOOD_HANDBOOK}, Table 4-1",
    "table_4_2": f"{WOOD_HANDBOOK}, Table 4-2",
    "table_4_3": f"{WOOD_HANDBOOK}, Table 4-3",
    "table_13_1": f"{WOOD_HANDBOOK}, Table 13-1",
    "table_13_2": f"{WOOD_HANDBOOK}, Table 13-2",
    "table_13_5": f"{WOOD_HANDBOOK}, Table 13-5",
    "specific_gravity": f"{WOOD_HANDBOOK}, Table 5-3",
    "imported": "Each row names its own",
    "foams": "Generic kinds of gap foam, of no maker",
    "foam_cores": "ASTM C578, least compressive strengths of foam core types",
    "nds_gravity": "NDS 2018, Table 12.3.3A, assigned specific gravities",
    "botanical": "Common and botanical names in general use",
    "outdoor_temperature": "Monthly mean air temperature, after US climate normals",
}
STARTER = "starter.toml"
"""The commented job file that `new` writes."""
JOBS = "SHRINKAGE_JOBS"
"""Environment variable that names the folder of the user's own job files to the pages."""

BASES = ("page", "later-edition", "memory", "assumed")


def data_folder() -> Path:
    """Return the folder of the data files, in an installed package or in a source tree.

    Raises
    ------
    ShrinkageError
        If neither place holds them.
    """
    packed = Path(str(files("shrinkage"))) / "_data"
    for folder in (packed, Path(__file__).resolve().parents[1] / "data"):
        if folder.is_dir():
            return folder
    raise ShrinkageError(f"data files not found: looked in {packed} and beside the source tree")


@cache
def rows(table: str) -> tuple[dict[str, str], ...]:
    """Read one table as rows of text.

    Parameters
    ----------
    table : str
        File name without its ending, one of `SOURCES`.

    Returns
    -------
    tuple of dict
        One dict a row, keyed by column.

    Raises
    ------
    ShrinkageError
        If a row carries no known basis.
    """
    path = data_folder() / f"{table}.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        result = tuple(csv.DictReader(stream))
    for number, row in enumerate(result, start=2):
        if row.get("basis") not in BASES:
            raise ShrinkageError(
                f"{path.name} line {number}: basis {row.get('basis')!r}; "
                f"accepted: {', '.join(BASES)}"
            )
    return result


def value(text: str) -> float | None:
    """Return a cell as a number, or None where the table leaves it empty."""
    return float(text) if text.strip() else None

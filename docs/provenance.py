"""Write docs/provenance.md from the tables and the code: ``python docs/provenance.py``.

Counts, columns and values are read, not written down, so that the page cannot go stale unseen.
"""

from __future__ import annotations

from collections import Counter
from importlib import import_module
from pathlib import Path

from shrinkage import tables

PAGE = Path(__file__).resolve().parent / "provenance.md"
HEAD = """# Provenance: where every number comes from

Made from the tables and the code by `python docs/provenance.py`; a test fails where this page is
not what they give.

| basis | means |
|---|---|
| `page` | read off a copy of the printed page |
| `later-edition` | seen in the 2021 edition with the same value |
| `memory` | written from memory, not yet looked up in print: check it before you lean on it |
| `assumed` | chosen by us, no published source |

Every row carries its basis to the worksheet. GTR-190 is the *Wood Handbook* (Forest Products
Laboratory, 2010), public domain. Standards are named for the numbers taken from them; their text is
not reproduced.

## Tables
"""
WHAT = {
    "table_4_1": "green moisture of heartwood and sapwood",
    "table_4_2": "equilibrium moisture by temperature and humidity (a check of Eq. 4-5)",
    "table_4_3": "shrinkage green to oven-dry",
    "table_13_1": "outdoor equilibrium moisture by month",
    "table_13_2": "moisture of interior and exterior wood by region",
    "table_13_5": "change coefficients and fibre saturation (a check, but for the woods with 22 %)",
    "specific_gravity": "specific gravity on green volume and at 12 %",
    "imported": "shrinkage of woods grown elsewhere",
    "foams": "generic kinds of gap foam",
    "foam_cores": "strength of foam core types (a check)",
    "nds_gravity": "specific gravity for fasteners",
    "botanical": "botanical and everyday names",
    "outdoor_temperature": "outdoor mean temperature by month",
}
CONSTANTS = (
    ("species", "FIBRE_SATURATION", "fibre saturation [%]", "GTR-190, Table 13-5", "page"),
    ("species", "LONGITUDINAL", "along the grain [-]", "middle of GTR-190 ch. 4", "memory"),
    ("diffusion", "SIAU_D0", "cell wall diffusion [m2/s]", "Siau (1984)", "memory"),
    ("diffusion", "SIAU_ENERGY", "its energy, dry wood [J/mol]", "Siau (1984)", "memory"),
    ("diffusion", "SIAU_ENERGY_SLOPE", "the same per percent [J/mol]", "Siau (1984)", "memory"),
    ("diffusion", "SIAU_WATER_VOLUME", "cell wall volume per gravity [-]", "Siau (1984)", "memory"),
    ("exposure", "EMISSION", "surface coefficient [m/s]", "[drying](drying.md)", "assumed"),
    ("calendar", "GREEN_ASSUMED", "green, not in Table 4-1 [%]", "", "assumed"),
    ("calendar", "HEART_SHARE", "heartwood in a heavy timber [-]", "", "assumed"),
    ("calendar", "ROOM_TEMP", "room, only moisture known [deg C]", "", "assumed"),
    ("foam_stress", "YIELD_STRAIN", "strain at the plateau [-]", "trade literature", "memory"),
    ("foam_stress", "STEEPNESS", "D, end of the plateau [-]", "Gibson and Ashby", "memory"),
    ("foam_stress", "PACKING", "in the strain where solid [-]", "Gibson and Ashby", "memory"),
    ("remedies", "SEALANT_WIDEST", "widest sealed joint [mm]", "the trade", "memory"),
)
EQUATIONS = (
    ("Eq. 13-2, 13-3, linear shrinkage", "GTR-190 ch. 4 and 13", "memory, proved by Table 13-5"),
    ("Eq. 4-5, equilibrium moisture", "GTR-190 ch. 4", "memory, proved by Table 4-2"),
    ("transverse diffusion", "Siau, Transport Processes in Wood (1984)", "memory"),
    ("room air from outdoors", "EN 15026 annex C", "memory"),
    ("withdrawal of lag and wood screws", "NDS 2018, Eq. 12.2-1 and 12.2-2", "memory"),
    ("stress of a cellular solid", "Gibson and Ashby, Cellular Solids (1997), ch. 5", "memory"),
    ("form of the joint-width rule", "ASTM C1472", "memory"),
    ("scatter between pieces, 15 %", "GTR-190 ch. 4", "memory"),
    ("rings to a face, free map, joint loop, limits", "[theory](theory.md)", "derived"),
)


def _line(*cells: object) -> str:
    return "| " + " | ".join(str(cell) for cell in cells) + " |"


def _head(*names: str) -> str:
    return _line(*names) + "\n|" + "---|" * len(names)


def _source(name: str) -> str:
    return tables.SOURCES[name].replace(tables.WOOD_HANDBOOK, "GTR-190")


def _tables() -> list[str]:
    """Return the lines of the tables, and their sum."""
    lines, total = [], Counter[str]()
    for name in sorted(path.stem for path in tables.data_folder().glob("*.csv")):
        rows = tables.rows(name)
        count = Counter(row["basis"] for row in rows)
        total += count
        by_basis = [count[basis] or "" for basis in tables.BASES]
        what = f"{WHAT[name]}: {_source(name)} ([file](../data/{name}.csv))"
        lines.append(_line(what, len(rows), *by_basis))
    sums = [f"**{total[basis]}**" for basis in tables.BASES]
    return [*lines, _line("all", f"**{total.total()}**", *sums)]


def _constants() -> list[str]:
    return [
        _line(f"`{home}.{name}`", what, f"{getattr(import_module(f'shrinkage.{home}'), name):.4g}",
              source, basis)
        for home, name, what, source, basis in CONSTANTS
    ]  # fmt: skip


def page() -> str:
    """Return the whole page."""
    return "\n".join(
        [
            HEAD,
            _head("what and where from", "rows", *tables.BASES),
            *_tables(),
            "\nThe example jobs `workshop.toml` and `starter.toml` are invented. Every default of",
            "a job is in [the job file](job_file.md) and printed on the worksheet.\n",
            "## Constants in the code\n",
            _head("name", "what", "value", "source", "basis"),
            *_constants(),
            "\nAmounts of the [spread](job_file.md#spread) and the",
            "[foams](foam.md#the-generic-kinds) carry their basis where they are listed.\n",
            "## Equations\n",
            _head("what", "source", "basis"),
            *(_line(*row) for row in EQUATIONS),
            "\nHow far each was checked: [validation report](validation_report.md).\n",
        ]
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"Written: {PAGE}")

"""Timbers from an IFC file, written as a table and as a start of a job file's ``[timber]``."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from shrinkage.units import System

NEEDED = ("post", "plate", "rafter", "girt")
WITH_LENGTH = ("post", "girt")
"""Roles whose length a job file takes."""
SHOWN = 10
"""Timbers not understood that the command prints; the table has them all."""


def add_commands(commands: Any) -> None:
    """Add the command to the command line's."""
    timbers = commands.add_parser("timbers", help="read timbers from an IFC file, to start a job")
    timbers.add_argument("ifc", type=Path, metavar="FILE", help="IFC file; only read")
    timbers.add_argument("-o", "--out", type=Path, required=True, metavar="OUT", help="folder")
    timbers.add_argument("--units", choices=("imperial", "metric"), default="imperial",
                         help="of the job file's text")  # fmt: skip
    timbers.add_argument("--force", action="store_true", help="replace files that are there")
    timbers.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Read an IFC file, write its timbers, and print the text for the job file."""
    from shrinkage.ifc_timbers import read_timbers

    table, notes = read_timbers(args.ifc)
    text = timber_text(table, args.ifc.name, args.units)
    written = write_timbers(table, text, args.out, args.force)
    print(f"{args.ifc}: {table['understood'].sum()} of {len(table)} timbers understood")
    for note in notes:
        print(f"* {note}")
    left = table[~table["understood"]]
    for _, row in left.head(SHOWN).iterrows():
        print(f"* {row['name'] or row['id']}: {row['why']}")
    if len(left) > SHOWN:
        print(f"* and {len(left) - SHOWN} more, in the table")
    print(f"\n{text}\nWritten: " + ", ".join(str(path) for path in written))
    return 0


def write_timbers(table: pd.DataFrame, text: str, folder: Path, force: bool = False) -> list[Path]:
    """Write ``timbers.csv``, understood or not, and ``timbers.toml``.

    Parameters
    ----------
    table : pandas.DataFrame
        From `ifc_timbers.read_timbers`.
    text : str
        From `timber_text`.
    folder : Path
        Where to; made if it does not exist.
    force : bool
        Whether files that exist may be replaced.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ShrinkageError
        If a file exists and `force` is not given, or the folder cannot be written to.
    """
    from shrinkage.export import write_all
    from shrinkage.workbook import safe

    plain = table.assign(understood=table["understood"].map({True: "yes", False: "no"}))
    return write_all(folder, {
        "timbers.csv": lambda path: safe(plain).to_csv(path, index=False),
        "timbers.toml": lambda path: path.write_text(text, encoding="utf-8"),
    }, force)  # fmt: skip


def timber_text(table: pd.DataFrame, source: str, system: System = "imperial") -> str:
    """Return the ``[timber]`` tables of a job file, to be checked and pasted in.

    A job file has one timber a role: the section and wood that most of a role's timbers have. The
    others are named in comments, and so are roles a job needs that were not found. A wood that was
    not understood stands as the file's material, which a job refuses until it is put right.

    Parameters
    ----------
    table : pandas.DataFrame
        From `ifc_timbers.read_timbers`.
    source : str
        Name of the file they come from.
    system : {'imperial', 'metric'}
        Units of the text.

    Returns
    -------
    str
        TOML.
    """
    sized = table[(table["role"] != "") & table["width_mm"].notna()]
    sized = sized.assign(wood=sized["species"].where(sized["species"] != "", sized["material"]))
    parts = [
        f"# From {_comment(source)}: {table['understood'].sum()} of {len(table)} timbers "
        "understood. A start: check every line.\n"
        "# Where the pith lies and how wet the timbers are is not in such a file."
    ]
    found = list(dict.fromkeys(sized["role"]))
    parts += [_role_text(role, sized[sized["role"] == role], system) for role in found]
    parts += [f"# [timber.{role}] was not found, and a job needs it." for role in NEEDED
              if role not in found]  # fmt: skip
    return "\n\n".join(parts) + "\n"


def _role_text(role: str, timbers: pd.DataFrame, system: System) -> str:
    groups = timbers.groupby(["wood", "width_mm", "depth_mm"], sort=False)
    kinds = groups.size().sort_values(ascending=False, kind="stable")
    (wood, width, depth), count = kinds.index[0], kinds.iloc[0]
    known = (timbers["species"][timbers["wood"] == wood] != "").all()
    lines = [
        f"[timber.{role}]  # {count} of {len(timbers)}",
        f"species = {json.dumps(wood, ensure_ascii=False)}"
        + ("" if known else "  # not understood: put in the species"),
        f'section = "{_length(width, system)} x {_length(depth, system)}"',
        'heart = "unknown"',
    ]
    longest = groups.get_group((wood, width, depth))["length_mm"].max()
    if role in WITH_LENGTH and longest == longest:
        lines.append(f'length = "{_length(longest, system)}"  # the longest')
    for (other, w, d), number in list(zip(kinds.index, kinds, strict=True))[1:]:
        sides = f"{_length(w, system)} x {_length(d, system)}"
        lines.append(f"# also {number}: {_comment(other)}, {sides}")
    return "\n".join(lines)


def _length(mm: float, system: System) -> str:
    """Return a length as a job file reads it: inches only where they say it to a tenth of a mm."""
    from shrinkage.units import length, show, tape

    if system == "imperial":
        text = tape(mm, 32, feet=False).replace('"', " in")
        if abs(length(text) - mm) < 0.1:
            return text
    return show(mm, "metric")


def _comment(text: str) -> str:
    return "".join(letter if letter.isprintable() else " " for letter in text)

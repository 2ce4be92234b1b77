"""Files to hand over: nothing half-written, nothing overwritten unasked, names that stay names."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from shrinkage.errors import ShrinkageError
from shrinkage.order import Order
from shrinkage.schedule import edge_table, panel_table
from shrinkage.units import System
from shrinkage.workbook import safe, write_workbook
from shrinkage.worksheet import worksheet

Writer = Callable[[Path], object]


def write_order(
    order: Order, folder: str | Path, system: System | None = None, force: bool = False
) -> list[Path]:
    """Write an order: panel schedule as CSV and XLSX, edges as CSV, and the worksheet.

    All files are written under temporary names first and renamed only when all are complete.

    Parameters
    ----------
    order : Order
        The answer to a job.
    folder : str or Path
        Where to; made if it does not exist.
    system : {'imperial', 'metric'}, optional
        Of the text in them; the job's own units otherwise.
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
    return write_all(Path(folder), order_writers(order, system), force)


def order_writers(order: Order, system: System | None = None) -> dict[str, Writer]:
    """Return what writes each file of an order, by file name; arguments as `write_order`."""
    panels = panel_table(order, system)
    return {
        "schedule.csv": lambda path: safe(panels).to_csv(path, index=False),
        "edges.csv": lambda path: safe(edge_table(order)).to_csv(path, index=False),
        "schedule.xlsx": lambda path: write_workbook(order, panels, path),
        "worksheet.md": lambda path: path.write_text(worksheet(order, system), encoding="utf-8"),
    }


def write_all(folder: Path, writers: dict[str, Writer], force: bool = False) -> list[Path]:
    """Write several files so that either all are there or none is new.

    Parameters
    ----------
    folder : Path
        Where to; made if it does not exist.
    writers : dict of str to callable
        By file name; each writes the path it is given.
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
    folders = [name for name in writers if (folder / name).is_dir()]
    if folders:  # renaming onto a folder would fail half-way through
        raise ShrinkageError(
            f"{folder}: {', '.join(folders)} is a folder there; accepted: another folder for OUT"
        )
    there = [name for name in writers if (folder / name).exists()]
    if there and not force:
        raise ShrinkageError(
            f"{folder}: {', '.join(there)} already there; accepted: another folder, or --force "
            "to replace"
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".unfinished-", dir=folder) as draft:
            for name, write in writers.items():
                write(Path(draft) / name)
            for name in writers:
                os.replace(Path(draft) / name, folder / name)
    except OSError as error:
        raise ShrinkageError(f"{folder}: cannot be written: {error.strerror or error}") from None
    return [folder / name for name in writers]

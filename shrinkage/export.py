"""Files to hand over: nothing half-written, nothing overwritten unasked, names that stay names."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from shrinkage.errors import ShrinkageError
from shrinkage.order import Order
from shrinkage.schedule import edge_table, panel_table
from shrinkage.units import System
from shrinkage.workbook import safe, write_workbook
from shrinkage.worksheet import worksheet

Writer = Callable[[Path], object]
DRAFT, READY = ".unfinished-", ".ready"
"""Hidden folders beside the files: a run's drafts, and drafts that are whole and on their way."""
ABANDONED = 24 * 3600.0
"""A draft this old is nobody's any more [s]."""


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

    All are drafted in a hidden folder, which is then renamed: from that moment they will be there,
    even if the run is killed, since the next one into the same folder finishes what was ready.

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
    try:
        _tidy(folder)
    except OSError as error:
        raise ShrinkageError(f"{folder}: cannot be written: {error.strerror or error}") from None
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
        draft = Path(tempfile.mkdtemp(prefix=DRAFT, dir=folder))
        try:
            for name, write in writers.items():
                write(draft / name)
            os.replace(draft, folder / READY)
        finally:
            shutil.rmtree(draft, ignore_errors=True)
        _tidy(folder)
    except OSError as error:
        raise ShrinkageError(f"{folder}: cannot be written: {error.strerror or error}") from None
    return [folder / name for name in writers]


def _tidy(folder: Path) -> None:
    """Finish what a killed run had ready, and remove what one had only begun.

    Files that are complete go to their places one by one; until the last is there the folder that
    held them stays, and says that there is something left to do.
    """
    ready = folder / READY
    if ready.is_dir():
        for path in ready.iterdir():
            os.replace(path, folder / path.name)
        ready.rmdir()
    for draft in folder.glob(f"{DRAFT}*"):
        if time.time() - draft.stat().st_mtime > ABANDONED:
            shutil.rmtree(draft, ignore_errors=True)

"""Everything that is handed over on paper or to a plant, written at once: all of it or none."""

from __future__ import annotations

from pathlib import Path

from shrinkage.crew_card import write_crew_card
from shrinkage.export import Writer, write_all
from shrinkage.order import Order
from shrinkage.order_sheets import write_order_sheets
from shrinkage.outlines import library, write_outlines
from shrinkage.pocket_table import write_pocket_table
from shrinkage.units import System

OUTLINES = "outlines.dxf"


def write_sheets(
    order: Order,
    folder: str | Path,
    system: System | None = None,
    force: bool = False,
    dxf: bool = True,
) -> list[Path]:
    """Write order sheets, crew card and pocket table as PDF, and the outlines as DXF.

    Parameters
    ----------
    order : Order
        The answer to a job.
    folder : str or Path
        Where to; made if it does not exist.
    system : {'imperial', 'metric'}, optional
        Of text, paper and drawing units; the job's own otherwise.
    force : bool
        Whether files that exist may be replaced.
    dxf : bool
        Whether the outlines are written, which needs ezdxf (the `cad` extra).

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ShrinkageError
        If ezdxf is wanted and not installed, a file exists and `force` is not given, or the folder
        cannot be written to.
    """
    writers = sheet_writers(order, system)
    if dxf:
        library()
    else:
        del writers[OUTLINES]
    return write_all(Path(folder), writers, force)


def sheet_writers(order: Order, system: System | None = None) -> dict[str, Writer]:
    """Return what writes each sheet of an order, by file name; arguments as `write_sheets`."""
    return {
        "order_sheets.pdf": lambda path: write_order_sheets(order, path, system),
        "crew_card.pdf": lambda path: write_crew_card(order, path, system),
        "pocket_table.pdf": lambda path: write_pocket_table(order, path, system),
        OUTLINES: lambda path: write_outlines(order, path, system),
    }

"""Files to hand over: nothing half-written, nothing overwritten unasked, names that stay names."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shrinkage.errors import ShrinkageError
from shrinkage.foam_answer import foam_table
from shrinkage.order import Order
from shrinkage.quantity import quantity_table
from shrinkage.schedule import CAUTIONS, assumption_table, edge_table, joint_table, panel_table
from shrinkage.units import System
from shrinkage.worksheet import worksheet

if TYPE_CHECKING:
    import pandas as pd

Writer = Callable[[Path], object]

ORDER_COLUMNS = (
    "panel", "place", "opening_width", "opening_height", "off_left", "off_right", "off_top",
    "off_bottom", "order_width", "order_height_left", "order_height_right", "order_peak",
    "outer_face_less", "cut_outs", "order_width_mm", "order_height_left_mm",
    "order_height_right_mm", "order_peak_mm", "notes",
)  # fmt: skip
"""What a panel plant needs of the panel table, in the order it reads it."""


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
    panels = panel_table(order, system)
    writers: dict[str, Writer] = {
        "schedule.csv": lambda path: safe(panels).to_csv(path, index=False),
        "edges.csv": lambda path: safe(edge_table(order)).to_csv(path, index=False),
        "schedule.xlsx": lambda path: _workbook(order, panels, path),
        "worksheet.md": lambda path: path.write_text(worksheet(order, system), encoding="utf-8"),
    }
    return write_all(Path(folder), writers, force)


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


def safe(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table in which no text can be taken for a formula by a spreadsheet.

    A cell that starts with =, +, -, @, a tab or a return gets an apostrophe before it.
    """

    def mark(cell: Any) -> Any:
        risky = isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r")
        return "'" + cell if risky else cell

    return table.map(mark)


def _workbook(order: Order, panels: pd.DataFrame, path: Path) -> None:
    """Write the workbook: the order sheet first, then what stands behind it."""
    import pandas as pd

    sheets = {
        "Order": panels[[*ORDER_COLUMNS]].rename(columns=lambda name: name.replace("_", " ")),
        "Edges": edge_table(order),
        "Joints": joint_table(order),
        "Foam": foam_table(order),
        "Foam to buy": quantity_table(order),
        "Assumptions": assumption_table(order),
        "Cautions": pd.DataFrame({"before you use this": CAUTIONS}),
    }
    with pd.ExcelWriter(path, engine="openpyxl") as book:
        for name, table in sheets.items():
            top = 2 if name == "Order" else 0
            safe(table).to_excel(book, sheet_name=name, index=False, startrow=top)
            _dress(book.sheets[name], top + 1)
        sheet = book.sheets["Order"]
        sheet["A1"] = safe(pd.DataFrame([[order.frame.job.title]])).iat[0, 0]
        sheet["A1"].font = _font(bold=True, size=14)
        for number, caution in enumerate(CAUTIONS, start=sheet.max_row + 2):
            sheet.cell(row=number, column=1, value=caution)


def _font(**how: Any) -> Any:
    from openpyxl.styles import Font

    return Font(**how)


def _dress(sheet: Any, header_row: int) -> None:
    """Make a sheet that can be read and printed: header, widths, frozen panes, landscape."""
    from openpyxl.styles import Alignment
    from openpyxl.utils import get_column_letter

    for number, column in enumerate(sheet.iter_cols(min_row=header_row), start=1):
        texts = [str(cell.value) for cell in column if cell.value is not None]
        words = max((len(word) for word in texts[:1] for word in word.split()), default=0)
        width = max([words, *map(len, texts[1:])], default=8) + 2
        sheet.column_dimensions[get_column_letter(number)].width = min(width, 60)
        for cell in column[1:] if width > 60 else ():
            cell.alignment = Alignment(vertical="top", wrap_text=True)
        column[0].font = _font(bold=True)
        column[0].alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = sheet.cell(row=header_row + 1, column=2)
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = f"{header_row}:{header_row}"

"""The workbook of an order: the sheet a plant cuts from first, then what stands behind it."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shrinkage.foam_answer import foam_table
from shrinkage.order import Order
from shrinkage.quantity import quantity_table
from shrinkage.schedule import CAUTIONS, assumption_table, edge_table, joint_table

if TYPE_CHECKING:
    import pandas as pd

ORDER_COLUMNS = (
    "panel", "opening_width", "opening_height", "off_left", "off_right", "off_top", "off_bottom",
    "order_width", "order_width_mm", "order_height_left", "order_height_left_mm",
    "order_height_right", "order_height_right_mm", "order_peak", "order_peak_mm",
    "outer_face_less", "cut_outs", "notes",
)  # fmt: skip
"""What a panel plant needs of the panel table, as it reads it; empty ones are left out."""

WIDEST = 34
"""Widest column, in characters: longer text is wrapped."""


def safe(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table in which no text can be taken for a formula by a spreadsheet.

    A cell or heading that starts with =, +, -, @, a tab or a return gets an apostrophe before it.
    """

    def mark(cell: Any) -> Any:
        risky = isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r")
        return "'" + cell if risky else cell

    return table.map(mark).rename(columns=mark)


def order_sheet(panels: pd.DataFrame) -> pd.DataFrame:
    """Return the columns of a panel table that go to the plant, with headings in words."""
    import pandas as pd

    def empty(name: str) -> bool:
        return bool(panels[name].isna().all() or (panels[name] == "").all())

    kept = panels[[name for name in ORDER_COLUMNS if not empty(name)]]
    words = {name: name.replace("_mm", ", mm").replace("_", " ") for name in kept.columns}
    return pd.DataFrame(kept.rename(columns=words))


def write_workbook(order: Order, panels: pd.DataFrame, path: Path) -> None:
    """Write the workbook.

    Parameters
    ----------
    order : Order
        The answer to a job.
    panels : pandas.DataFrame
        Its panel table, in the system wanted.
    path : Path
        Where to.
    """
    import pandas as pd

    sheets = {
        "Order": order_sheet(panels),
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
        _finish(book.sheets["Order"], order, panels)


def _finish(sheet: Any, order: Order, panels: pd.DataFrame) -> None:
    """Put title and cautions on the order sheet, and a rule between one wall and the next."""
    import pandas as pd

    sheet["A1"] = safe(pd.DataFrame([[order.frame.job.title]])).iat[0, 0]
    sheet["A1"].font = _style("Font", bold=True, size=14)
    places = list(panels["place"])
    line = _style("Border", top=_style("Side", style="medium"))
    for number, (before, place) in enumerate(pairwise(places), start=5):
        if place != before:
            for cell in sheet[number]:
                cell.border = line
    for number, caution in enumerate(CAUTIONS, start=sheet.max_row + 2):
        sheet.cell(row=number, column=1, value=caution)


def _style(name: str, **how: Any) -> Any:
    from openpyxl import styles

    return getattr(styles, name)(**how)


def _dress(sheet: Any, header_row: int) -> None:
    """Make a sheet that can be read and printed: header, widths, frozen panes, landscape."""
    from openpyxl.utils import get_column_letter

    wrapped = _style("Alignment", vertical="top", wrap_text=True)
    grey = _style("PatternFill", fill_type="solid", start_color="E4E4E4")
    bold = _style("Font", bold=True)
    for number, column in enumerate(sheet.iter_cols(min_row=header_row), start=1):
        texts = [str(cell.value) for cell in column if cell.value is not None]
        words = max((len(word) for word in texts[:1] for word in word.split()), default=0)
        width = max([words, *map(len, texts[1:])], default=8) + 2
        sheet.column_dimensions[get_column_letter(number)].width = min(width, WIDEST)
        for cell in column[1:] if width > WIDEST else ():
            cell.alignment = wrapped
            lines = math.ceil(len(str(cell.value or "")) / (WIDEST - 4))
            if lines > 1:  # not every program fits the height of a wrapped row by itself
                sheet.row_dimensions[cell.row].height = 13 * lines
        column[0].font, column[0].alignment, column[0].fill = bold, wrapped, grey
    sheet.row_dimensions[header_row].height = 44
    sheet.freeze_panes = sheet.cell(row=header_row + 1, column=2)
    sheet.print_options.gridLines = True
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    for side in ("left", "right", "top", "bottom"):
        setattr(sheet.page_margins, side, 0.4)
    sheet.oddFooter.center.text = "&A, page &P of &N"
    sheet.print_title_rows = f"{header_row}:{header_row}"

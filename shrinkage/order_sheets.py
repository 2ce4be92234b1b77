"""Order sheets as PDF: one page for each wall and slope, drawn, listed and with a title block.

A list too long for its page goes on overleaf. What the title block says is the user's own, from
the job file's `[sheet]`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from shrinkage import paper
from shrinkage.elevation import HOW_MEASURED, elevation, joints_of, panels_of, places
from shrinkage.order import SIDES, Order, Panel
from shrinkage.schedule import CAUTIONS, length_text
from shrinkage.units import System, show

MARGIN = 30.0
"""Clear edge of every page [pt]."""
DRAWN = (0.48, 0.66)
"""Least and largest share of a page's height that the drawing takes: the list has the rest."""
BLOCK = 330.0
"""Width of the title block and of the joints over it [pt]."""


def write_order_sheets(order: Order, path: Path, system: System | None = None) -> int:
    """Write the order sheets of a job as one PDF.

    Parameters
    ----------
    order : Order
        The answer to a job.
    path : Path
        Where to.
    system : {'imperial', 'metric'}, optional
        Of text and page; the job's own units otherwise. 17 x 11 in or A3.

    Returns
    -------
    int
        Number of pages.
    """
    title = f"Order sheets: {order.frame.job.title}"
    return paper.write_pages(path, sheet_pages(order, system), title)


def sheet_pages(order: Order, system: System | None = None) -> Iterator[Figure]:
    """Yield the pages one at a time, so that a large job needs no more memory than a small one.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.
    """
    system = system or order.frame.job.units
    everywhere = list(places(order))
    for number, place in enumerate(everywhere, start=1):
        with paper.plain_text():
            yield from _pages_of(order, place, system, f"{number} of {len(everywhere)}")


def _pages_of(order: Order, place: str, system: System, number: str) -> Iterator[Figure]:
    """Yield the page of one wall or slope, and those its list runs over to."""
    panels = panels_of(order, place)
    figure, sheet = paper.page(system, large=True)
    wide, high = (inches * paper.POINTS for inches in figure.get_size_inches())
    room, left = wide - 2 * MARGIN, wide - MARGIN - BLOCK
    table = _table(order, panels, system, room - BLOCK - 18)
    block = _block_rows(order, place, system, number)
    gaps = _gap_list(order, panels, system)
    under = max(table.full_height + 44, 15.0 * len(block) + gaps.full_height + 20)
    share = min(max(1 - (under + 2 * MARGIN + 18) / high, DRAWN[0]), DRAWN[1])
    top = MARGIN + 18 + share * high
    _head(sheet, order, place, wide)
    bottom = 1 - share - (MARGIN + 12) / high
    drawing = figure.add_axes((MARGIN / wide, bottom, room / wide, share))
    elevation(drawing, order, place, system)
    tall = min(15.0 * len(block), 0.55 * (high - top))
    _draw_gaps(sheet, gaps, (left, top), high - MARGIN - tall - 8)
    paper.title_block(sheet, (left, high - MARGIN - tall, BLOCK, tall), block)
    stop = table.that_fit(high - MARGIN - top - 34)
    table.draw(sheet, MARGIN, top, 0, stop)
    _small_print(sheet, (MARGIN, high - MARGIN - 24), room - BLOCK - 18, stop < len(panels))
    yield figure
    while stop < len(table.rows):
        figure, sheet = paper.page(system, large=True)
        _head(sheet, order, place, wide, ", continued")
        start, stop = stop, max(table.that_fit(high - 2 * MARGIN - 30, stop), stop + 1)
        table.draw(sheet, MARGIN, MARGIN + 26, start, stop)
        yield figure


def _head(sheet: Axes, order: Order, place: str, wide: float, more: str = "") -> None:
    text = places(order)[place] + more
    room = wide - 2 * MARGIN
    paper.put(sheet, MARGIN, MARGIN - 8, paper.cut(text, 15, 0.6 * room, True), 15, True)
    title = paper.cut(order.frame.job.title, 10, 0.38 * room)
    paper.put(sheet, wide - MARGIN, MARGIN - 6, title, 10, align="right")


HEAD = (
    "panel", "order width", "height left", "height right", "peak", "outer face less",
    "off left", "off right", "off top", "off bottom", "cut-outs from lower left corner; notes",
)  # fmt: skip


def _table(order: Order, panels: list[Panel], system: System, width: float) -> paper.Grid:
    """Return the list of panels fitted to a width, without columns that hold nothing."""
    rows = _rows(order, panels, system)
    kept = [c for c in range(len(HEAD)) if c == len(HEAD) - 1 or any(row[c] for row in rows)]
    head = [HEAD[c] for c in kept]
    return paper.grid(head, [[row[c] for c in kept] for row in rows], width, 9.5, len(kept) - 1)


def _rows(order: Order, panels: Sequence[Panel], system: System) -> list[tuple[str, ...]]:
    """Return the list of panels: sizes to order and what came off the opening as drawn."""
    step = order.frame.rules.fraction

    def text(mm: float) -> str:
        return length_text(mm, system, step)

    rows = []
    for panel in panels:
        holes = [
            f"{h.name}: {text(h.width)} x {text(h.height)}, {text(h.left)} from left, "
            f"{text(h.foot)} up"
            for h in panel.cutouts
        ]
        peak = f"{text(panel.peak[1])} at {text(panel.peak[0])}" if panel.peak else ""
        rows.append((
            panel.mark, text(panel.width), text(panel.left_height), text(panel.right_height),
            peak, text(panel.bevel) if panel.bevel else "",
            *(text(panel.edges[side].off) for side in SIDES),
            "; ".join([*holes, *panel.notes]),
        ))  # fmt: skip
    return rows


def _gap_list(order: Order, panels: list[Panel], system: System) -> paper.Grid:
    """Return the gaps of a wall, to go over its title block."""
    rows = []
    for answer in joints_of(panels, order):
        if answer.status == "bearing":
            continue
        name = answer.joint.name
        name = name.removeprefix(f"{panels[0].place}, ") if panels else name
        short = "" if answer.status == "ok" else f"; {answer.status.upper()}"
        gaps = (show(answer.gap, system), show(answer.gap_dry, system))
        rows.append((name, *gaps, HOW_MEASURED[answer.joint.kind] + short))
    head = ("gap", "on the day", "driest month", "measured")
    return paper.grid(head, rows, BLOCK, 8.5, 3)


def _draw_gaps(sheet: Axes, table: paper.Grid, at: tuple[float, float], foot: float) -> None:
    """Draw the gaps, as many as there is room for, and say how many more there are."""
    stop = table.that_fit(foot - at[1])
    if stop < len(table.rows):
        stop = table.that_fit(foot - at[1] - 10)
    y = table.draw(sheet, *at, 0, stop)
    if stop < len(table.rows):
        text = f"and {len(table.rows) - stop} more: see the schedule"
        paper.put(sheet, at[0], y + 2, text, 7)


def _small_print(sheet: Axes, at: tuple[float, float], width: float, goes_on: bool) -> None:
    """Say how sheets are read, and whom they bind, at the foot of a page."""
    text = (
        "Seen from outside; dark strips are the gaps, true to scale; sizes are of the panel to "
        "order, off: what came off the opening as drawn. " + " ".join(CAUTIONS[1:3])
    )
    if goes_on:
        text = "The list goes on overleaf. " + text
    size = 6.5
    while size > paper.LEAST and len(paper.wrapped(text, size, width)) * paper.LEAD * size > 26:
        size -= 0.25
    paper.paragraph(sheet, *at, text, size, width)


def _block_rows(order: Order, place: str, system: System, number: str) -> list[tuple[str, str]]:
    """Return what the title block says: the job first, then what its `[sheet]` adds."""
    job = order.frame.job
    rows = [("job", job.title), ("sheet", f"{number}: {places(order)[place]}")]
    if job.sheet is not None:
        given = job.sheet.model_dump(exclude_none=True)
        rows += [(key.replace("_", " "), str(value)) for key, value in given.items()]
    unit = "feet, inches and fractions" if system == "imperial" else "millimetres"
    return [*rows, ("sizes in", unit)]

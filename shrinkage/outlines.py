"""Outlines of the ordered panels as DXF, for a plant's saw or a draughtsman.

Real size. Every panel stands upright with the outline it is ordered to; walls in rows, one above
the other, panels from left to right with room between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from pathlib import Path
from typing import Any

from shrinkage.errors import ShrinkageError
from shrinkage.order import Order, Panel
from shrinkage.schedule import length_text
from shrinkage.units import MM_PER_INCH, System

OUTLINE, CUTOUT, LABEL, WALL = "PANEL-OUTLINE", "CUT-OUT", "LABEL", "WALL-NAME"
LAYERS: dict[str, tuple[int, int]] = {
    OUTLINE: (7, 50), CUTOUT: (1, 35), LABEL: (8, 18), WALL: (5, 25),
}  # fmt: skip
"""Colour number and line weight in hundredths of a millimetre, by layer."""

APART = 300.0
"""Room between two panels laid out [mm]."""
TEXT = 60.0
"""Height of the labels [mm]."""
MISSING = (
    "DXF needs ezdxf, which is not installed; accepted: pip install 'shrinkage[cad]', or --no-dxf "
    "to leave it out"
)


def library() -> Any:
    """Return ezdxf.

    Raises
    ------
    ShrinkageError
        With the one line that installs it, where it is not there.
    """
    try:
        import ezdxf
        import ezdxf.units
    except ImportError:
        raise ShrinkageError(MISSING) from None
    return ezdxf


def write_outlines(
    order: Order, path: Path, system: System | None = None, only: str | None = None
) -> list[tuple[Panel, float, float]]:
    """Write the outlines of a job's panels as one DXF file.

    Parameters
    ----------
    order : Order
        The answer to a job.
    path : Path
        Where to.
    system : {'imperial', 'metric'}, optional
        Drawing units: inches or millimetres; the job's own otherwise.
    only : str, optional
        Mark of a single panel, which then stands with its lower left corner at the origin.

    Returns
    -------
    list of tuple
        Each panel and where its lower left corner stands [mm].

    Raises
    ------
    ShrinkageError
        If ezdxf is not installed, or no panel has the mark.
    """
    system = system or order.frame.job.units
    panels = [p for p in order.panels if only in (None, p.mark)]
    if not panels:
        marks = ", ".join(p.mark for p in order.panels)
        raise ShrinkageError(f"no panel {only!r}; accepted: {marks}")
    drawing = _new(system)
    placed = _laid_out(panels)
    pen = _Pen(drawing.modelspace(), 1 / MM_PER_INCH if system == "imperial" else 1.0)
    for panel, x, y in placed:
        _panel(pen, panel, x, y, system, order.frame.rules.fraction)
    for place, row in groupby(placed, key=lambda entry: entry[0].place):
        _, x, y = next(row)
        if only is None:
            pen.text(place, x, y - 5.2 * TEXT, 1.5 * TEXT, WALL)
    drawing.saveas(path)
    return placed


def _new(system: System) -> Any:
    """Return an empty drawing with its units in the header and its layers named."""
    ezdxf = library()
    drawing = ezdxf.new("R2010")
    is_inch = system == "imperial"
    drawing.units = ezdxf.units.IN if is_inch else ezdxf.units.MM
    drawing.header["$MEASUREMENT"] = 0 if is_inch else 1
    drawing.header["$LUNITS"] = 4 if is_inch else 2  # feet, inches and fractions, or decimal
    drawing.header["$LUPREC"] = 4 if is_inch else 1
    for name, (colour, weight) in LAYERS.items():
        drawing.layers.add(name, color=colour, lineweight=weight)
    return drawing


def _laid_out(panels: Sequence[Panel]) -> list[tuple[Panel, float, float]]:
    """Return panels in rows by their wall, the first wall on top [mm]."""
    placed: list[tuple[Panel, float, float]] = []
    down = 0.0
    for _, group in groupby(panels, key=lambda panel: panel.place):
        row = list(group)
        tall = max(panel.height for panel in row)
        down = down - tall if placed else 0.0
        across = 0.0
        for panel in row:
            placed.append((panel, across, down))
            across += panel.width + APART
        down -= 2 * APART + 5 * TEXT
    return placed


class _Pen:
    """Draws in the drawing's units what is given in millimetres."""

    def __init__(self, space: Any, scale: float) -> None:
        self.space, self.scale = space, scale

    def ring(self, points: Sequence[tuple[float, float]], layer: str) -> None:
        at = [(x * self.scale, y * self.scale) for x, y in points]
        self.space.add_lwpolyline(at, close=True, dxfattribs={"layer": layer})

    def text(self, text: str, x: float, y: float, height: float, layer: str) -> None:
        # A pair of percent signs starts a code in DXF text, and a caret a control character.
        plain = text.replace("%%", "% %").replace("^", "^ ")
        how = {"layer": layer, "height": height * self.scale}
        entity = self.space.add_text(plain, dxfattribs=how)
        entity.set_placement((x * self.scale, y * self.scale))


def _panel(pen: _Pen, panel: Panel, x: float, y: float, system: System, step: float) -> None:
    """Draw one panel with its lower left corner at a place [mm]."""
    pen.ring([(x + px, y + py) for px, py in panel.outline], OUTLINE)
    for hole in panel.cutouts:
        left, foot = x + hole.left, y + hole.foot
        right, head = left + hole.width, foot + hole.height
        pen.ring([(left, foot), (right, foot), (right, head), (left, head)], CUTOUT)
    size = " x ".join(length_text(mm, system, step) for mm in (panel.width, panel.height))
    # Under the panel, no wider than the panel and the room beside it.
    for line, text in enumerate((panel.mark, size), start=0):
        height = min(TEXT, (panel.width + 0.8 * APART) / (0.9 * max(len(text), 1)))
        pen.text(text, x, y - (1.3 + 1.2 * line) * TEXT * (height / TEXT), height, LABEL)
    if panel.bevel:
        less = f"outer face {length_text(panel.bevel, system, step)} lower at the top"
        height = min(0.6 * TEXT, panel.width / (0.9 * len(less)))
        pen.text(less, x + 0.3 * TEXT, y + panel.left_height - 1.5 * height, height, LABEL)

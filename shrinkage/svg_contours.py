"""A field as tones and lines of equal value, its values written on the lines, as parts of an SVG.

The cutting is that of the library the drawings on paper use; only the picture is written by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from contourpy import FillType, LineType, contour_generator

from shrinkage.svg_parts import DARK, Floats, Plot, path, pen, text, wide

SIZE = 10.0
"""Of the letters on the lines [px]."""


@dataclass(frozen=True)
class Contours:
    """A field on a grid, drawn in a plot.

    Parameters
    ----------
    plot : Plot
        Where it is drawn.
    x, y : ndarray, shape (columns,) and (rows,)
        Places of the grid [units of the plot].
    field : ndarray, shape (rows, columns)
        Values there.
    """

    plot: Plot
    x: Floats
    y: Floats
    field: Floats

    def tones(self, levels: Sequence[float], fills: Sequence[str]) -> list[str]:
        """Return the areas between levels that follow one another, those that there are."""
        cut: Any = self._cut()
        parts = []
        for low, high, fill in zip(levels[:-1], levels[1:], fills, strict=True):
            rings = [
                ring
                for places, offsets in zip(*cut.filled(low, high), strict=True)
                for ring in np.split(places, offsets[1:-1].astype(int))
            ]
            if rings:
                d = "".join(f"M{self.plot.points(*ring.T)}Z" for ring in rings)
                # the line of its own tone covers the seam to the next one
                look = f'fill-rule="evenodd" data-from="{low:g}" {pen(fill, 0.7)}'
                parts.append(path(d, "tone", fill, look))
        return parts

    def lines(self, levels: Sequence[float], look: str) -> list[str]:
        """Return the lines of equal value, and the values on those with room for them."""
        cut: Any = self._cut()
        parts, labels = [], list[tuple[float, float, str]]()
        for level in levels:
            found = [np.column_stack([self.plot.x(line[:, 0]), self.plot.y(line[:, 1])])
                     for line in cut.lines(level)]  # fmt: skip
            if not found:
                continue
            d = "".join(f"M{self.plot.points(*line.T)}" for line in cut.lines(level))
            parts.append(path(d, "level", look=f'{look} data-at="{level:g}"'))
            place = self._room(np.concatenate(found), labels)
            if place is not None:
                labels.append((*place, f"{level:g} %"))
        return parts + [
            text(x, y + 3.5, words, "middle", SIZE, f'fill="{DARK}"', halo=True)
            for x, y, words in labels
        ]

    def _cut(self) -> Any:
        return contour_generator(
            self.x, self.y, self.field, fill_type=FillType.OuterOffset, line_type=LineType.Separate
        )

    def _room(
        self, line: Floats, taken: Sequence[tuple[float, float, str]]
    ) -> tuple[float, float] | None:
        """Return where on a line a label is farthest from edges and other labels, if anywhere."""
        plot = self.plot
        across, up = wide("100 %", SIZE), SIZE + 3
        x, y = line.T
        # in widths and heights of a label, so that one is room for a neighbour
        clear = np.minimum(
            np.minimum(x - plot.left, plot.right - x) / across,
            np.minimum(y - plot.top, plot.bottom - y) / up,
        ) + 0.5  # half a label lies between its middle and an edge  # fmt: skip
        for other_x, other_y, _ in taken:
            apart = np.maximum(np.abs(x - other_x) / across, np.abs(y - other_y) / up)
            clear = np.minimum(clear, apart)
        best = int(np.argmax(clear))
        return (float(x[best]), float(y[best])) if clear[best] >= 1.0 else None

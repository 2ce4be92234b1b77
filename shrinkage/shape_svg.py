"""A section before and after drying as hand-written SVG, for a page that must answer a slider.

What it shows is what `shape_figures` draws for paper: the outline thin and dashed before and bold
after, the growth rings with it, movement magnified as stated, the numbers true.
"""

from __future__ import annotations

import numpy as np

from shrinkage.shape import Shape
from shrinkage.shape_dimensions import dimensions
from shrinkage.shape_figures import (
    RING,
    RINGS,
    WOOD,
    Floats,
    Note,
    change_text,
    legend,
    notes,
    rings,
    uncut,
)
from shrinkage.svg_parts import Plot, clipped, frame, path, pen, text
from shrinkage.units import System

WIDE, SIDE = 400.0, 290.0
"""The picture, and the longer side of the section in it [px]."""
_ROOM = 34.0
_WAS = "#8c8c8c"


def picture(
    shape: Shape, words: str, system: System = "imperial", title: str = "", magnify: float = 3.0
) -> str:
    """Return one section, before thin and after bold.

    Parameters
    ----------
    shape : Shape
        The dried section.
    words : str
        For those who cannot see it.
    system : {'imperial', 'metric'}
        Units of the numbers in the picture.
    title : str
        Such as the species.
    magnify : float
        How many times the movement is drawn [-].
    """
    before, after = shape.outline()
    after, was = before + magnify * (after - before), uncut(shape)
    both = np.vstack([was, after])
    low, high = both.min(axis=0), both.max(axis=0)
    scale = SIDE / float((high - low).max())
    across, up = (high - low) * scale
    left = (WIDE - across - _ROOM) / 2
    top = 26.0 + _ROOM
    plot = Plot(left, top, left + across, top + up, low[0], high[0], low[1], high[1])
    step = max(shape.section.width, shape.section.depth) / RINGS
    parts = [
        text(WIDE / 2, 16, title or "Section before and after drying", "middle", 13,
             'font-weight="bold"'),
        path(f"M{plot.points(*after.T)}Z", "wood", WOOD),
        *_rings(plot, was, rings(shape, step), pen(_WAS, 0.6)),
        *_rings(plot, after, rings(shape, step, magnify), pen(RING, 1.4)),
        path(f"M{plot.points(*was.T)}Z", "before", look=pen("#4d4d4d", 1.1, "5 3")),
        path(f"M{plot.points(*after.T)}Z", "after", look=pen("black", 2.6)),
        *_sides(plot, shape, system),
        *(part for note in notes(shape, magnify, system) for part in _note(plot, note)),
        text(WIDE / 2, plot.bottom + 62, legend(magnify), "middle"),
    ]  # fmt: skip
    return frame(WIDE, plot.bottom + 72, words, parts)


def _rings(plot: Plot, outline: Floats, arcs: list[Floats], look: str) -> list[str]:
    """Return growth rings cut off at an outline."""
    lines = "".join(f"M{plot.points(*arc.T)}" for arc in arcs)
    return clipped(f"M{plot.points(*outline.T)}Z", path(lines, "rings", look=look))


def _sides(plot: Plot, shape: Shape, system: System) -> list[str]:
    """Return width under and depth beside the section, along lines as long as they were."""
    found = dimensions(shape)
    w, h = shape.section.width / 2, shape.section.depth / 2
    (x0, x1), (y0, y1) = plot.x((-w, w)), plot.y((h, -h))
    below, beside = plot.bottom + 18, plot.right + 16
    look = pen("#4d4d4d", 1)
    turned = f'transform="rotate(-90 {beside + 15:.1f} {(y0 + y1) / 2:.1f})"'
    return [
        path(f"M{x0:.1f} {below - 4:.1f}v8m0 -4H{x1:.1f}m0 -4v8", "width", look=look),
        path(f"M{beside - 4:.1f} {y0:.1f}h8m-4 0V{y1:.1f}m-4 0h8", "depth", look=look),
        text((x0 + x1) / 2, below + 18, change_text(found.width, system), "middle", 13),
        text(beside + 15, (y0 + y1) / 2, change_text(found.depth, system), "middle", 13, turned),
    ]


def _note(plot: Plot, note: Note) -> list[str]:
    """Return what is written at the outline, with its straightedge if it has one."""
    x = float(plot.x(note.at.real)) + 13 * note.way.real
    y = float(plot.y(note.at.imag)) - 13 * note.way.imag + 4
    look = f'transform="rotate(-90 {x:.1f} {y - 4:.1f})"' if note.turned else ""
    parts = [text(x, y, note.words, "middle", 12, look, halo=True)]
    if note.edge:
        ends = np.array(note.edge)
        edge = path(f"M{plot.points(ends.real, ends.imag)}", "edge", look=pen("black", 1))
        parts.insert(0, edge)
    return parts

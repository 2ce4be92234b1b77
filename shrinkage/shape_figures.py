"""Pictures of a section before and after drying, with its growth rings and its numbers.

Before is thin and dashed, after bold; the growth rings go with it. Movement is drawn magnified by
the factor the picture states, the numbers in it are true. Nothing is told by colour alone.
"""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from numpy.typing import NDArray

from shrinkage.errors import ShrinkageError
from shrinkage.shape import Check, Plane, Section, Shape, dry
from shrinkage.shape_dimensions import (
    CLOSING_RULE,
    OPENING_RULE,
    Span,
    dimensions,
    heart_values,
)
from shrinkage.units import System, show

Floats = NDArray[np.float64]

WOOD, RING = "#efdfbf", "#9a6a2f"
BEFORE: dict[str, Any] = {"color": "#4d4d4d", "lw": 0.9, "ls": (0, (4, 2)), "zorder": 4}
AFTER: dict[str, Any] = {"color": "black", "lw": 2.2, "zorder": 5}
_PAPER: dict[str, Any] = {"fc": "white", "ec": "none", "pad": 1.2, "alpha": 0.9}
RINGS = 14
"""In the longer side of a section."""
# Inch numbers go to the 32nd: the movement itself is often but a few 16ths.
_TICKS = 32
# A cup or a check smaller than this, and a lean of the corner, is not worth a word.
_CUP_MM, _LEAN = 0.4, math.radians(0.2)


def rings(shape: Shape, spacing: float, magnify: float = 0.0) -> list[Floats]:
    """Return growth rings as polylines, whole arcs that reach past the outline.

    Parameters
    ----------
    shape : Shape
        The dried section.
    spacing : float
        Between rings before [mm].
    magnify : float
        How many times the movement is drawn; 0 gives the rings before [-].

    Returns
    -------
    list of ndarray, shape (n, 2)
        One ring each [mm].

    Raises
    ------
    ShrinkageError
        If the spacing is not above zero.
    """
    if not spacing > 0:
        raise ShrinkageError(f"ring spacing {spacing!r} mm; accepted: above zero")
    before = np.concatenate([face.before for face in shape.faces]) - shape.section.pith
    most, least, half = float(np.abs(before).max()), float(np.abs(before).min()), math.pi
    if shape.section.boxed:
        least = 0.0
    else:
        half = 1.02 * float(np.abs(np.angle(before * np.exp(-1j * shape.axis))).max())
    psi = np.linspace(-half, half, 181)
    radii = spacing * np.arange(max(1, math.ceil(least / spacing)), math.ceil(most / spacing))
    grid = shape.place(radii[:, None], psi)
    drawn = grid + magnify * (shape.moved(radii[:, None], psi) - grid)
    return [np.column_stack([arc.real, arc.imag]) for arc in drawn]


def draw(
    ax: Axes,
    shape: Shape,
    magnify: float = 3.0,
    system: System = "imperial",
    numbers: bool = True,
    spacing: float | None = None,
) -> Axes:
    """Draw one section, before thin and after bold.

    Parameters
    ----------
    ax : Axes
        To draw on.
    shape : Shape
        The dried section.
    magnify : float
        How many times the movement is drawn [-].
    system : {'imperial', 'metric'}
        Units of the numbers in the picture.
    numbers : bool
        Whether width, depth, cup, lean and check are written in.
    spacing : float, optional
        Between rings before [mm]; else a fourteenth of the longer side.

    Returns
    -------
    Axes
        The same.

    Raises
    ------
    ShrinkageError
        If the factor is not above zero.
    """
    if not 0 < magnify < math.inf:
        raise ShrinkageError(f"magnify {magnify!r}; accepted: above zero")
    size = max(shape.section.width, shape.section.depth)
    before, after = shape.outline()
    after = before + magnify * (after - before)
    wood = PathPatch(Path(after), fc=WOOD, ec="none", zorder=1)
    ax.add_patch(wood)
    step = spacing or size / RINGS
    was = LineCollection(rings(shape, step), color="#8c8c8c", lw=0.45, zorder=2)
    now = LineCollection(rings(shape, step, magnify), color=RING, lw=1.2, zorder=3)
    for collection, outline in ((was, uncut(shape)), (now, after)):
        ax.add_collection(collection, autolim=False)
        collection.set_clip_path(PathPatch(Path(outline), transform=ax.transData))
    ax.plot(*uncut(shape).T, label="before", **BEFORE)
    ax.plot(after[:, 0], after[:, 1], label="after", solid_joinstyle="miter", **AFTER)
    if numbers:
        _numbers(ax, shape, after, magnify, system)
    ax.set_aspect("equal")
    ax.margins(0.03)
    ax.axis("off")
    return ax


def uncut(shape: Shape) -> Floats:
    """Return the outline before, without the line the check will follow."""
    line = np.concatenate([face.before for face in shape.faces])
    line = np.append(line, line[0])
    return np.column_stack([line.real, line.imag])


def _numbers(ax: Axes, shape: Shape, after: Floats, magnify: float, system: System) -> None:
    found = dimensions(shape)
    (left, low), (right, high) = after.min(axis=0), after.max(axis=0)
    w, h = shape.section.width / 2, shape.section.depth / 2
    gap = 0.09 * max(right - left, high - low)
    below, beside = min(low, -h) - gap, max(right, w) + gap
    line: dict[str, Any] = {"color": "#4d4d4d", "lw": 0.8, "marker": "|", "ms": 7}
    ax.plot([-w, w], [below, below], **line)
    ax.plot([beside, beside], [-h, h], **{**line, "marker": "_"})
    text: dict[str, Any] = {"ha": "center", "fontsize": 10}
    ax.text(0, below - gap / 3, change_text(found.width, system), va="top", **text)
    ax.text(beside + gap / 3, 0, change_text(found.depth, system), rotation=90, va="center",
            **{**text, "ha": "left"})  # fmt: skip
    for note in notes(shape, magnify, system):
        ends = np.array(note.edge)
        ax.plot(ends.real, ends.imag, color="black", lw=0.8, zorder=6)
        ax.annotate(note.words, (note.at.real, note.at.imag),
                    xytext=(11 * note.way.real, 11 * note.way.imag), textcoords="offset points",
                    ha="center", va="center", rotation=90 * note.turned, fontsize=9, bbox=_PAPER,
                    zorder=7)  # fmt: skip


@dataclass(frozen=True)
class Note:
    """Something written beside an outline.

    Parameters
    ----------
    words : str
        What is written.
    at, way : complex
        Where on the outline as drawn [mm], and the direction in which it is set off from there [-].
    edge : tuple of complex
        Ends of a straightedge drawn with it [mm]; empty for none.
    """

    words: str
    at: complex
    way: complex
    edge: tuple[complex, ...] = ()

    @property
    def turned(self) -> bool:
        """Whether it is written upwards, along the side it stands on."""
        return not self.words.endswith("°") and abs(self.way.real) > abs(self.way.imag)


def notes(shape: Shape, magnify: float, system: System) -> list[Note]:
    """Return what is written at the outline: cup under its straightedge, check and lean.

    Parameters
    ----------
    shape : Shape
        The dried section.
    magnify : float
        How many times the movement is drawn [-].
    system : {'imperial', 'metric'}
        Of the numbers.
    """
    found, written = dimensions(shape), []
    if found.cup >= _CUP_MM:
        face = next(face for face in shape.faces if face.name == found.cup_face)
        drawn: Plane = face.before + magnify * (face.after - face.before)
        first, last = complex(drawn[0]), complex(drawn[-1])
        out = (last - first) * -1j
        written.append(Note(f"cup {show(found.cup, system, _TICKS)}", (first + last) / 2,
                            out / abs(out), (first, last)))  # fmt: skip
    if found.check_width >= _CUP_MM:
        reach = shape.check_length
        mouth = complex(shape.place(reach, math.pi))
        sides = mouth + magnify * (shape.moved(reach, np.array([-math.pi, math.pi])) - mouth)
        written.append(Note(f"check {show(found.check_width, system, _TICKS)}",
                            complex(sides.mean()), shape.check_way))  # fmt: skip
    if abs(found.diamond) >= _LEAN and shape.state == "free":
        corner = next(face for face in shape.faces if face.name == "bottom")
        place = complex(corner.before[0] + magnify * (corner.after[0] - corner.before[0]))
        written.append(Note(f"{90 + math.degrees(found.diamond):.1f}°", place, 1.8 + 0.9j))
    return written


def change_text(span: Span, system: System) -> str:
    """Write a width or a depth before and after."""
    return f"{show(span.before, system, _TICKS)} → {show(span.mean, system, _TICKS)}"


def _percent(span: Span) -> str:
    """Write the change in percent, minus for a loss."""
    return f"{-100 * span.shrinkage:+.1f} %".replace("-", "−")


def describe(shape: Shape, system: System = "imperial") -> list[str]:
    """Return what a picture of a section shows, one fact a line, for those who cannot see it.

    Parameters
    ----------
    shape : Shape
        The dried section.
    system : {'imperial', 'metric'}
        Units.
    """
    found = dimensions(shape)
    lines = [f"{name} {change_text(span, system)} ({_percent(span)})"
             for name, span in (("width", found.width), ("depth", found.depth))]  # fmt: skip
    if shape.section.is_round:
        least, most = (show(d, system, _TICKS) for d in (found.width.least, found.width.greatest))
        lines.append(f"diameters {least} to {most}")
    if found.cup >= _CUP_MM:
        lines.append(f"cup {show(found.cup, system, _TICKS)}, hollow on the {found.cup_face}")
    if abs(found.diamond) >= _LEAN and shape.state == "free":
        lines.append(f"lower left corner {90 + math.degrees(found.diamond):.1f} degrees")
    if found.check_width >= _CUP_MM:
        lines.append(f"check {show(found.check_width, system, _TICKS)} wide at the face, "
                     f"{math.degrees(found.check_angle):.1f} degrees")  # fmt: skip
    return lines


def section_figure(
    shape: Shape, magnify: float = 3.0, system: System = "imperial", title: str = ""
) -> Figure:
    """Return one section as a figure; parameters as `draw`, and a title such as the species.

    Returns
    -------
    Figure
        Not tied to any window.
    """
    tall = min(max(5.1 * shape.section.depth / shape.section.width, 1.9), 6.5)
    page = tall + 1.1
    figure = Figure(figsize=(5.6, page))
    ax = figure.add_axes((0.04, 0.5 / page, 0.92, tall / page))
    draw(ax, shape, magnify, system)
    figure.text(0.5, 1 - 0.28 / page, title or "Section before and after drying",
                ha="center", va="center", fontsize=12, fontweight="bold")  # fmt: skip
    figure.text(0.5, 0.17 / page, legend(magnify), ha="center", va="center", fontsize=9)
    return figure


def legend(magnify: float) -> str:
    """Return the line that says how the pictures are drawn."""
    return f"dashed before, bold after; movement drawn × {magnify:g}, numbers true"


def heart_figure(
    section: Section, s_r: float, s_t: float, check: Check = "nearest", magnify: float = 3.0,
    system: System = "imperial",
) -> Figure:  # fmt: skip
    """Return a boxed heart without and with a check, and which value a gap takes.

    Parameters
    ----------
    section, s_r, s_t, check : Section, float, float, str
        As `shape_dimensions.heart_values`.
    magnify, system : float, str
        As `draw`.

    Returns
    -------
    Figure
        Two sections side by side, with the two rules.
    """
    both = heart_values(section, s_r, s_t, check)
    figure = Figure(figsize=(9.6, 6.4))
    names = ("No check yet: the mean, sides drawn straight", "One check, from pith to face")
    cases = ((None, both.unchecked), (check, both.checked))
    for left, name, (kind, found) in zip((0.02, 0.52), names, cases, strict=True):
        ax = figure.add_axes((left, 0.26, 0.46, 0.66))
        draw(ax, dry(section, s_r, s_t, kind), magnify, system)
        figure.text(left + 0.23, 0.945, name, ha="center", fontsize=11, fontweight="bold")
        lost = [f"{what} {_percent(span)}"
                for what, span in (("width", found.width), ("depth", found.depth))]  # fmt: skip
        figure.text(left + 0.23, 0.205, ", ".join(lost), ha="center", fontsize=10)
    for at, rule in ((0.14, CLOSING_RULE), (0.07, OPENING_RULE)):
        figure.text(0.5, at, textwrap.fill(rule, 118), ha="center", va="center", fontsize=9)
    figure.text(0.5, 0.012, legend(magnify), ha="center", fontsize=8.5, color="#4d4d4d")
    return figure

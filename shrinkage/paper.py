"""Paper for drawings: pages, text that fits its place, tables and a title block, nothing of timber.

Every text is measured before it is set, so that a long or odd name is wrapped, set smaller or cut
with an ellipsis instead of running over its neighbour. Names are never read as formulas.
"""

from __future__ import annotations

import functools
import io
import warnings
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

from shrinkage.units import MM_PER_INCH, System

POINTS = 72.0
"""Points in an inch."""
SMALL_MARGIN = 32.0
"""Margin of a page to hold in the hand [pt]."""
LEAD = 1.28
"""Line to line, as a share of the text size."""
LEAST = 4.5
"""Smallest text that is set [pt]; what does not fit then is cut."""

_SMALL: dict[System, tuple[float, float]] = {
    "imperial": (8.5, 11.0), "metric": (210 / MM_PER_INCH, 297 / MM_PER_INCH),
}  # fmt: skip
_LARGE: dict[System, tuple[float, float]] = {
    "imperial": (17.0, 11.0), "metric": (420 / MM_PER_INCH, 297 / MM_PER_INCH),
}  # fmt: skip


@contextmanager
def plain_text() -> Iterator[None]:
    """Take every text as it stands while pages are made, and keep it text in the file."""
    settings: Any = {"text.parse_math": False, "pdf.fonttype": 42, "font.family": ["DejaVu Sans"]}
    with matplotlib.rc_context(settings), warnings.catch_warnings():
        # A letter the font lacks is drawn as a box; that is no reason to lose the sheet.
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


def page(system: System, large: bool = False) -> tuple[Figure, Axes]:
    """Return an empty page and axes over the whole of it, measured in points from the top left.

    Parameters
    ----------
    system : {'imperial', 'metric'}
        Letter or A4, upright; 17 x 11 in or A3, lying, where `large`.
    large : bool
        Which of the two sizes.
    """
    width, height = (_LARGE if large else _SMALL)[system]
    figure = Figure(figsize=(width, height))
    ax = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    ax.set_xlim(0, width * POINTS)
    ax.set_ylim(height * POINTS, 0)
    ax.set_axis_off()
    return figure, ax


def write_pages(path: Path, pages: Iterable[Figure], title: str) -> int:
    """Write pages as one PDF and return how many there were.

    Parameters
    ----------
    path : Path
        Where to.
    pages : iterable of Figure
        Made one at a time, inside `plain_text`.
    title : str
        Of the document.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    count, whole = 0, io.BytesIO()  # a disk that is full must not meet a book half written
    with plain_text(), PdfPages(whole, metadata={"Title": title, "CreationDate": None}) as book:
        for figure in pages:
            book.savefig(figure)
            count += 1
    path.write_bytes(whole.getvalue())
    return count


@functools.lru_cache(maxsize=65536)
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return the width of a line of text [pt]."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        font = FontProperties(family="DejaVu Sans", size=100, weight="bold" if bold else "normal")
        width, _, _ = TextToPath().get_text_width_height_descent(text, font, ismath=False)
    return float(width) * size / 100


def wrapped(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """Return text in lines no wider than a width; a word wider than that is divided.

    Parameters
    ----------
    text : str
        One paragraph.
    size, width : float
        Of the text and of its place [pt].
    bold : bool
        Whether it is set bold.
    """
    lines, line = [], ""
    for word in text.split():
        both = f"{line} {word}" if line else word
        if width_of(both, size, bold) <= width:
            line = both
            continue
        if line:
            lines.append(line)
        line = word
        while width_of(line, size, bold) > width and len(line) > 1:
            keep = _that_fits(line, size, width, bold)
            lines.append(line[:keep])
            line = line[keep:]
    return [*lines, line] if line or not lines else lines


def _that_fits(text: str, size: float, width: float, bold: bool) -> int:
    """Return how many letters of a text fit a width, one at least."""
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width_of(text[:middle], size, bold) <= width:
            low = middle
        else:
            high = middle - 1
    return low


def cut(text: str, size: float, width: float, bold: bool = False) -> str:
    """Return text as it is, or its beginning and an ellipsis where it is wider than a width."""
    if width_of(text, size, bold) <= width:
        return text
    return text[: _that_fits(text, size, width - width_of("…", size, bold), bold)].rstrip() + "…"


def size_for(
    lines: Sequence[str], width: float, height: float, most: float, bold: bool = False
) -> float:
    """Return the largest size at which lines fit a place, up to a most [pt].

    Parameters
    ----------
    lines : sequence of str
        As they will be set.
    width, height : float
        Of the place [pt].
    most : float
        Largest size wanted [pt].
    bold : bool
        Whether they are set bold.
    """
    widest = max((width_of(line, 100.0, bold) for line in lines), default=0.0)
    by_width = 100 * width / widest if widest else most
    return max(0.0, min(most, by_width, height / (LEAD * max(len(lines), 1))))


def put(
    ax: Axes, x: float, y: float, text: str, size: float, bold: bool = False, align: str = "left"
) -> None:
    """Set one line with its top at a place of a page [pt]."""
    weight = "bold" if bold else "normal"
    # By baseline: tops of lines with and without tall letters would not stand level.
    ax.text(x, y + 0.95 * size, text, fontsize=size, weight=weight, ha=align, va="baseline")


def paragraph(
    ax: Axes, x: float, y: float, text: str, size: float, width: float, bold: bool = False
) -> float:
    """Set a paragraph and return where the next one starts [pt]."""
    for line in wrapped(text, size, width, bold):
        put(ax, x, y, line, size, bold)
        y += LEAD * size
    return y


def rule(ax: Axes, x0: float, x1: float, y: float, weight: float = 0.5) -> None:
    """Draw a level line across a page [pt]."""
    ax.plot([x0, x1], [y, y], color="black", lw=weight, solid_capstyle="butt", clip_on=False)


@dataclass(frozen=True)
class Grid:
    """A table that has been fitted to a width.

    Parameters
    ----------
    head : tuple of str
        Column names.
    rows : tuple of tuple of tuple of str
        Lines of each cell of each row.
    widths : tuple of float
        Of the columns [pt].
    size : float
        Of the text [pt].
    """

    head: tuple[tuple[str, ...], ...]
    rows: tuple[tuple[tuple[str, ...], ...], ...]
    widths: tuple[float, ...]
    size: float

    def height(self, row: Sequence[Sequence[str]]) -> float:
        """Return the height of one row [pt]."""
        return LEAD * self.size * max(1, *(len(cell) for cell in row)) + 0.35 * self.size

    @property
    def full_height(self) -> float:
        """Return the height of head and all rows [pt]."""
        return self.height(self.head) + sum(self.height(row) for row in self.rows)

    def that_fit(self, height: float, start: int = 0) -> int:
        """Return the row after the last one that fits a height below the head, from `start` on."""
        left = height - self.height(self.head)
        for number in range(start, len(self.rows)):
            left -= self.height(self.rows[number])
            if left < 0:
                return max(number, start)
        return len(self.rows)

    def draw(self, ax: Axes, x: float, y: float, start: int, stop: int) -> float:
        """Draw the head and some rows with their top left at a place, and return the foot [pt]."""
        y = self._row(ax, x, y, self.head, bold=True)
        rule(ax, x, x + sum(self.widths), y, 1.0)
        for row in self.rows[start:stop]:
            y = self._row(ax, x, y, row)
            rule(ax, x, x + sum(self.widths), y, 0.25)
        return y

    def _row(
        self, ax: Axes, x: float, y: float, row: Sequence[Sequence[str]], bold: bool = False
    ) -> float:
        for cell, width in zip(row, self.widths, strict=True):
            for number, line in enumerate(cell):
                put(ax, x, y + (LEAD * number + 0.12) * self.size, line, self.size, bold)
            x += width
        return y + self.height(row)


PAD = 7.0
"""Clear space between two columns [pt]."""
WIDEST = 0.3
"""Share of a table's width that a column may ask for."""


def grid(
    head: Sequence[str], rows: Sequence[Sequence[str]], width: float, most: float, wide: int
) -> Grid:
    """Fit a table to a width: the largest size at which all but one column stand unwrapped.

    Parameters
    ----------
    head : sequence of str
        Column names.
    rows : sequence of sequence of str
        Cells.
    width : float
        Of the table [pt].
    most : float
        Largest text size wanted [pt].
    wide : int
        The column that takes what is left and is wrapped.
    """
    columns = list(zip(*rows, strict=True)) if rows else [()] * len(head)

    def needed(column: int, size: float) -> float:
        words = max((width_of(word, size, True) for word in head[column].split()), default=0.0)
        cells = (width_of(cell, size) for cell in columns[column])
        # A very long name is wrapped before it makes the whole table small.
        return min(max(words, max(cells, default=0.0)), WIDEST * width) + PAD

    size = most
    while True:
        widths = [needed(column, size) for column in range(len(head))]
        rest = width - sum(w for column, w in enumerate(widths) if column != wide)
        if rest >= min(widths[wide], 0.22 * width) or size <= LEAST:
            break
        size = max(size - 0.5, LEAST)
    widths[wide] = rest
    if rest < 0.15 * width:  # a name wider than the page itself: share out, and wrap every cell
        widths[wide] = 0.15 * width
        scale = width / sum(widths)
        widths = [w * scale for w in widths]

    def cells(row: Sequence[str], bold: bool = False) -> tuple[tuple[str, ...], ...]:
        return tuple(
            # A hundredth of a point more, so that a cell's own width is wide enough for it.
            tuple(wrapped(text, size, max(w - PAD + 0.01, 1.0), bold))
            for text, w in zip(row, widths, strict=True)
        )

    return Grid(cells(head, True), tuple(cells(row) for row in rows), tuple(widths), size)


def title_block(
    ax: Axes, box: tuple[float, float, float, float], rows: Sequence[tuple[str, str]]
) -> None:
    """Draw a framed block of named lines; each gets an equal share of the height.

    Parameters
    ----------
    ax : Axes
        Of the page.
    box : tuple of float
        Left, top, width, height [pt].
    rows : sequence of tuple of str
        Name and value.
    """
    x, y, width, height = box
    ax.plot([x, x + width, x + width, x, x], [y, y, y + height, y + height, y], "k-", lw=1.2)
    each = height / max(len(rows), 1)
    named = min(0.3 * width, 72.0)
    for number, (name, value) in enumerate(rows):
        top = y + each * number
        if number:
            rule(ax, x, x + width, top, 0.4)
        size, bold = min(9.0, 0.62 * each), number == 0
        room = width - named - 10
        while size > LEAST and len(wrapped(value, size, room, bold)) * LEAD * size > each - 1:
            size -= 0.5
        whole = wrapped(value, size, room, bold)
        lines = whole[: max(1, int((each - 1) / (LEAD * size)))]
        if len(lines) < len(whole):
            lines[-1] = cut(lines[-1] + "…", size, room, bold)
        small = min(7.0, size)
        put(ax, x + 4, top + (each - LEAD * small) / 2, cut(name, small, named - 6), small)
        start = top + (each - LEAD * size * len(lines)) / 2
        for at, line in enumerate(lines):
            put(ax, x + named, start + LEAD * size * at, line, size, bold)

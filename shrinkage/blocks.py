"""What a report is made of, before it is a page: headings, text, lists, tables, pictures.

One list of blocks is written as HTML by `review_html` and as PDF by `review_pdf`; neither knows
anything of timber.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

_NUMBER = re.compile(
    r"[-+]?[\d.,][\d.,/'\" -]*( ?(%|mm|in|deg|lb/ft|N/m))?|none|(under )?\S+ in", re.ASCII
)
"""A number as a cell may hold it: sixteenths of an inch and a unit included."""


@dataclass(frozen=True)
class Heading:
    """A heading; level 1 starts a page."""

    level: int
    text: str


@dataclass(frozen=True)
class Text:
    """A paragraph; ``**bold**`` is understood."""

    text: str
    kind: str = "plain"


@dataclass(frozen=True)
class Bullets:
    """A list."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A table; numbers are set to the right.

    Parameters
    ----------
    head : tuple of str
        Column names.
    rows : tuple of tuple of str
        Cells.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def is_number(self, column: int) -> bool:
        """Tell whether a column holds numbers only."""
        cells = [row[column].strip("* ") for row in self.rows if row[column]]
        return bool(cells) and all(_NUMBER.fullmatch(cell) for cell in cells)


@dataclass(frozen=True)
class Picture:
    """A figure with its caption."""

    figure: Figure
    words: str


@dataclass(frozen=True)
class Landscape:
    """From here on pages lie on their side."""


Block = Heading | Text | Bullets | Table | Picture | Landscape


def from_markdown(text: str, deeper: int = 0) -> Iterator[Block]:
    """Yield the blocks of the plain Markdown a worksheet is written in.

    Parameters
    ----------
    text : str
        Headings, paragraphs, ``*`` lists and tables.
    deeper : int
        Added to every heading's level.
    """
    for part in re.split(r"\n\s*\n", text.strip()):
        lines = part.splitlines()
        found = re.match(r"(#+) (.*)", lines[0])
        if found:
            yield Heading(len(found[1]) + deeper, found[2])
            lines = lines[1:]
        yield from _body(lines)


def to_markdown(blocks: Iterable[Block]) -> str:
    """Return headings, text, lists and tables as plain Markdown; pictures are left out."""
    parts = []
    for block in blocks:
        if isinstance(block, Heading):
            parts.append(f"{'#' * block.level} {block.text}")
        elif isinstance(block, Text):
            parts.append(block.text)
        elif isinstance(block, Bullets):
            parts.append("\n".join(f"* {item}" for item in block.items))
        elif isinstance(block, Table):
            lines = [block.head, tuple("---" for _ in block.head), *block.rows]
            parts.append("\n".join("| " + " | ".join(line) + " |" for line in lines))
    return "\n\n".join(parts) + "\n"


def _body(lines: Sequence[str]) -> Iterator[Block]:
    if not lines:
        return
    kind = _kind(lines[0])
    same = [line for line in lines if _kind(line) == kind]
    if kind == "table":
        cells = [tuple(c.strip() for c in line.strip("|").split(" | ")) for line in same]
        rows = [row for row in cells[1:] if not all(set(c) <= {"-"} for c in row)]
        yield Table(cells[0], tuple(rows))
    elif kind == "list":
        yield Bullets(tuple(line[2:] for line in same))
    else:
        yield from (Text(line) for line in same)
    rest = [line for line in lines if _kind(line) != kind]
    yield from _body(rest)


def _kind(line: str) -> str:
    if line.startswith("|"):
        return "table"
    return "list" if line.startswith("* ") else "text"

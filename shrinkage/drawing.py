"""Small line drawings as SVG: before thin and dashed, after bold, what opens dark.

Units are pixels of a 460 wide picture, y down, as on the screen; what is drawn is for the caller
to say. Everything reads in grey.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from shrinkage import units
from shrinkage.units import System

WIDTH = 460.0
OPEN = 16.0
"""The greatest movement is drawn this wide [px], however small it is."""

Point = tuple[float, float]

_STYLE = {
    "wood": 'fill="#e6e6e6" stroke="#111" stroke-width="2.4" stroke-linejoin="round"',
    "finish": 'fill="#ffffff" stroke="#111" stroke-width="1.2"',
    "panel": 'fill="#f4f4f4" stroke="#888" stroke-width=".8"',
    "open": 'fill="#8a1c1c" stroke="none"',
    "before": 'fill="none" stroke="#333" stroke-width="1" stroke-dasharray="4 3"',
    "leader": 'fill="none" stroke="#111" stroke-width=".8"',
    "held": 'fill="none" stroke="#555" stroke-width="1" stroke-dasharray="9 3 2 3"',
    "hole": 'fill="#ffffff" stroke="#111" stroke-width="1.6"',
}
"""How each kind of line and area is drawn."""


class Drawing:
    """A picture put together from boxes, lines and labels.

    Parameters
    ----------
    height : float
        Of the picture [px].
    system : {'imperial', 'metric'}
        Of the lengths written in it.
    """

    def __init__(self, height: float, system: System = "imperial") -> None:
        self.height, self.system = height, system
        self.parts: list[str] = []

    def shape(self, points: Sequence[Point], kind: str) -> None:
        """Draw a closed outline.

        Parameters
        ----------
        points : sequence of (float, float)
            Its corners [px].
        kind : str
            What it stands for, such as 'wood', 'open' or 'before'.
        """
        path = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        self.parts.append(f'<path class="{kind}" d="M{path}Z" {_STYLE[kind]}/>')

    def box(self, left: float, top: float, right: float, bottom: float, kind: str) -> None:
        """Draw a rectangle; one of no width or height is left out [px]."""
        if right - left > 0.05 and bottom - top > 0.05:
            self.shape([(left, top), (right, top), (right, bottom), (left, bottom)], kind)

    def line(self, points: Sequence[Point], kind: str = "leader") -> None:
        """Draw an open line through points [px]."""
        path = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        self.parts.append(f'<path class="{kind}" d="M{path}" {_STYLE[kind]}/>')

    def peg(self, x: float, y: float, radius: float = 5.0) -> None:
        """Draw a peg from its end [px]."""
        self.parts.append(
            f'<circle class="hole" cx="{x:.1f}" cy="{y:.1f}" r="{radius}" {_STYLE["hole"]}/>'
        )

    def label(self, x: float, y: float, text: str, anchor: str = "start",
              to: Point | None = None) -> None:  # fmt: skip
        """Write a label, with a line to what it names.

        Parameters
        ----------
        x, y : float
            Start, middle or end of the text's foot [px].
        text : str
            One or more lines; the leader starts at the first.
        anchor : {'start', 'middle', 'end'}
            Which of them.
        to : (float, float), optional
            What it names [px].
        """
        if to is not None:
            under = y + 3 if to[1] > y else y - 12
            self.line([(x, under), to])
        for number, line in enumerate(text.split("\n")):
            self.parts.append(
                f'<text x="{x:.1f}" y="{y + 13 * number:.1f}" text-anchor="{anchor}">'
                f"{escape(line)}</text>"
            )

    def mm(self, mm: float) -> str:
        """Write a length in 32nds or millimetres."""
        return units.show(mm, self.system, 32)

    def svg(self, title: str, words: str) -> str:
        """Return the picture.

        Parameters
        ----------
        title : str
            Written above it.
        words : str
            For those who cannot see it.
        """
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(words)}" '
            f'width="{WIDTH:.0f}" height="{self.height:.0f}" '
            f'viewBox="0 0 {WIDTH:.0f} {self.height:.0f}" font-family="sans-serif" font-size="12">'
            f'<text x="8" y="16" font-size="13" font-weight="bold">{escape(title)}</text>'
            + "".join(self.parts) + "</svg>"
        )  # fmt: skip


def times(drawn: float, true: float) -> float:
    """Return how many times too large a movement is drawn.

    Parameters
    ----------
    drawn : float
        Pixels a millimetre of timber is drawn.
    true : float
        The greatest movement shown [mm].
    """
    return OPEN / (drawn * true) if true > 0 else 1.0

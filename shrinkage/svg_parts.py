"""Parts that hand-written SVG charts are put together from: text, axes, lines, bands and labels.

A page that answers a slider has no time for a plotting library. Pictures are strings; paper is in
pixels, x from the left and y from the top, and a `Plot` turns values into places on it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Label = tuple[str, float, str]
"""What is written, at which value, in which colour."""

DARK, MIDDLE, PALE, TOUCH = "#222222", "#7a7a7a", "#d9d9d9", "#8a1c1c"
LETTER = 0.56
"""Mean width of a letter of a sans-serif face, in sizes of it: to keep labels apart, not to set."""


def frame(width: float, height: float, words: str, parts: Sequence[str]) -> str:
    """Return a picture from its parts, with words for those who cannot see it.

    Parameters
    ----------
    width, height : float
        Size [px].
    words : str
        What it shows.
    parts : sequence of str
        In the order they are drawn in.
    """
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(words)}" '
        f'width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}" '
        'font-family="sans-serif" font-size="11">' + "".join(parts) + "</svg>"
    )


def text(
    x: float, y: float, words: str, anchor: str = "start", size: float = 11, look: str = "",
    halo: bool = False,
) -> str:  # fmt: skip
    """Return one line of text.

    Parameters
    ----------
    x, y : float
        Where its base line starts, is centred or ends [px].
    words : str
        What is written.
    anchor : {'start', 'middle', 'end'}
        Which of the three.
    size : float
        Of the letters [px].
    look : str
        More attributes, such as a fill.
    halo : bool
        Whether the letters keep white around them, to be read over lines.
    """
    more = ' paint-order="stroke" stroke="white" stroke-width="3.5" stroke-linejoin="round"'
    return (
        f'<text x="{x:.1f}" y="{y:.1f}"'
        + (f' text-anchor="{anchor}"' if anchor != "start" else "")
        + (f' font-size="{size:g}"' if size != 11 else "")
        + (more if halo else "")
        + (f" {look}" if look else "")
        + f">{escape(words)}</text>"
    )


def wide(words: str, size: float = 11) -> float:
    """Return about how long a line of text is [px]."""
    return LETTER * size * len(words)


def points(x: ArrayLike, y: ArrayLike) -> str:
    """Return the points of a path from places [px]."""
    flat = np.column_stack([x, y]).ravel().tolist()
    form = "L".join(["%.1f %.1f"] * (len(flat) // 2))
    return form % tuple(flat)


def path(d: str, name: str = "", fill: str = "none", look: str = "") -> str:
    """Return a path, its class telling what it is."""
    return (
        f'<path{f" class={chr(34)}{name}{chr(34)}" if name else ""} d="{d}" fill="{fill}"'
        f"{f' {look}' if look else ''}/>"
    )


def pen(color: str, width: float = 1.0, dash: str = "") -> str:
    """Return how a line is drawn: colour, width [px] and dashes [px]."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'stroke="{color}" stroke-width="{width:g}"{dashes}'


def clipped(outline: str, inside: str) -> list[str]:
    """Return parts cut off at an outline.

    Parameters
    ----------
    outline : str
        Path to cut along.
    inside : str
        What is cut.
    """
    # Names are the whole document's, so one is made from what is cut along: equal names cut alike.
    name = f"sk-{hashlib.sha1(outline.encode(), usedforsecurity=False).hexdigest()[:10]}"
    return [
        f'<clipPath id="{name}"><path d="{outline}"/></clipPath>',
        f'<g clip-path="url(#{name})">{inside}</g>',
    ]


def ticks(low: float, high: float, wanted: int = 5) -> Floats:
    """Return round values between two ends.

    Parameters
    ----------
    low, high : float
        The ends [any unit].
    wanted : int
        About how many.
    """
    raw = (high - low) / wanted or 1.0
    power = 10.0 ** np.floor(np.log10(raw))
    step = power * min((1, 2, 2.5, 5, 10), key=lambda m: abs(m * power - raw))
    return np.asarray(np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step + 0.0)


def apart(places: Sequence[float], least: float, most: float = np.inf) -> list[float]:
    """Return places pushed just far enough apart, in the order given.

    Parameters
    ----------
    places : sequence of float
        Where each would stand [px].
    least : float
        Distance to keep between neighbours [px].
    most : float
        No place lies beyond this [px].

    Returns
    -------
    list of float
        Groups that touch stay centred on where their members would stand, if there is room.
    """
    groups: list[tuple[float, list[int]]] = []  # place of the first, members from the first on
    for index in np.argsort(places, kind="stable").tolist():
        groups.append((places[index], [index]))
        while len(groups) > 1:
            (upper, above), (lower, below) = groups[-2:]
            if lower - upper >= least * len(above):
                break
            joined = above + below
            # the mean of what each member asks of the first one's place
            first = float(np.mean([places[m] - least * n for n, m in enumerate(joined)]))
            groups[-2:] = [(first, joined)]
    found = [0.0] * len(places)
    for first, members in reversed(groups):
        for number, member in reversed(list(enumerate(members))):
            found[member] = min(first + least * number, most)
            most = found[member] - least
    return found


def named(
    places: Sequence[tuple[float, float, str]], within: tuple[float, float, float, float],
    others: Sequence[tuple[float, float]] = (), size: float = 11, look: str = "",
) -> list[str]:  # fmt: skip
    """Return names beside points, each where it lies on fewest other points and names.

    Parameters
    ----------
    places : sequence of (float, float, str)
        The points [px] and their names.
    within : tuple of float
        Left, top, right and bottom edge of what may be written on [px].
    others : sequence of (float, float)
        Points without a name, to be kept clear of [px].
    size, look : float, str
        As for `text`.
    """
    left, top, right, bottom = within
    points = [*others, *((x, y) for x, y, _ in places)]
    taken = [(x - 5, y - 5, x + 5, y + 5) for x, y in points]
    parts = []
    for x, y, words in places:
        long, tall = wide(words, size), 1.1 * size
        boxes = [
            (x0, y0, x0 + long, y0 + tall)
            for y0 in (y - tall - 4, y + 4, y - tall / 2, y - 2 * tall - 6, y + tall + 6)
            for x0 in (x + 8, x - 8 - long)
        ]
        inside = [b for b in boxes if left <= b[0] and top <= b[1] and b[2] <= right
                  and b[3] <= bottom] or boxes  # fmt: skip
        box = min(inside, key=lambda b: sum(_meet(b, other) for other in taken))
        taken.append(box)
        parts.append(text(box[0], box[1] + 0.8 * tall, words, size=size, look=look, halo=True))
    return parts


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    across = one[0] < other[2] and other[0] < one[2]
    return across and one[1] < other[3] and other[1] < one[3]


@dataclass(frozen=True)
class Plot:
    """A plotting area: where it lies on the paper, and the values at its edges.

    Parameters
    ----------
    left, top, right, bottom : float
        Edges on the paper [px].
    x_low, x_high, y_low, y_high : float
        Values at the left, right, lower and upper edge [any unit].
    """

    left: float
    top: float
    right: float
    bottom: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    @property
    def edges(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom edge [px]."""
        return self.left, self.top, self.right, self.bottom

    def x(self, values: ArrayLike) -> Floats:
        """Return the places of values along x [px]."""
        share = (np.asarray(values, dtype=float) - self.x_low) / (self.x_high - self.x_low)
        return self.left + share * (self.right - self.left)

    def y(self, values: ArrayLike) -> Floats:
        """Return the places of values along y [px]."""
        share = (np.asarray(values, dtype=float) - self.y_low) / (self.y_high - self.y_low)
        return self.bottom - share * (self.bottom - self.top)

    def points(self, x: ArrayLike, y: ArrayLike) -> str:
        """Return the points of a path through values."""
        return points(self.x(x), self.y(y))

    def line(self, x: ArrayLike, y: ArrayLike, name: str, look: str) -> str:
        """Return a line through values; `look` is a `pen`."""
        return path(f"M{self.points(x, y)}", name, look=f'{look} stroke-linejoin="round"')

    def band(self, x: Floats, low: Floats, high: Floats, name: str, fill: str,
             look: str = "") -> str:  # fmt: skip
        """Return the area between two lines."""
        there, back = self.points(x, high), self.points(x[::-1], low[::-1])
        return path(f"M{there}L{back}Z", name, fill, look)

    def x_axis(self, label: str, wanted: int = 5) -> list[str]:
        """Return the axis along the lower edge, with its values and label."""
        parts = [path(f"M{self.left} {self.bottom}H{self.right}", look=pen(DARK))]
        for tick in ticks(self.x_low, self.x_high, wanted):
            x = float(self.x(tick))
            parts.append(path(f"M{x:.1f} {self.bottom}v4", look=pen(DARK)))
            parts.append(text(x, self.bottom + 15, f"{tick:g}", "middle"))
        middle = (self.left + self.right) / 2
        return [*parts, text(middle, self.bottom + 31, label, "middle")]

    def y_axis(self, wanted: int = 4) -> list[str]:
        """Return the axis along the left edge, with its values."""
        parts = [path(f"M{self.left} {self.top}V{self.bottom}", look=pen(DARK))]
        for tick in ticks(self.y_low, self.y_high, wanted):
            y = float(self.y(tick))
            parts.append(path(f"M{self.left - 4} {y:.1f}h4", look=pen(DARK)))
            parts.append(text(self.left - 6, y + 4, f"{tick:g}", "end"))
        return parts

    def ends(self, labels: Sequence[Label]) -> list[str]:
        """Return the names of lines beside the right edge, at their ends but apart."""
        wished = [float(self.y(value)) for _, value, _ in labels]
        places = apart(wished, 13.0, self.bottom)
        return [
            text(self.right + 5, place + 4, name, look=f'fill="{color}"')
            for (name, _, color), place in zip(labels, places, strict=True)
        ]

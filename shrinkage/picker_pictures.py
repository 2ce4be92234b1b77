"""Two pictures small enough to stand under a control: a section's rings, and a year of air."""

from __future__ import annotations

import math
from collections.abc import Mapping
from html import escape

import numpy as np
from numpy.typing import NDArray

BOX = 96.0
"""Longer side of a section [px]."""
STRIP, TALL = 330.0, 120.0
LEFT, RIGHT, TOP, BOTTOM = 12.0, 74.0, 14.0, 18.0
WOOD, RING, DARK, PALE = "#e7d3ab", "#8a6a35", "#222222", "#7a7a7a"
FAR = 30.0
"""How far off a pith lies that is called far, in sides of the section."""


def _svg(width: float, height: float, words: str, body: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(words)}" '
        f'width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'font-family="sans-serif" font-size="11">{body}</svg>'
    )


def pith_of(width: float, depth: float, heart: str) -> tuple[float, float] | None:
    """Return where to draw the pith of a kind of heart, from the centre, up positive.

    Parameters
    ----------
    width, depth : float
        Section [any unit].
    heart : str
        One of `section.HEART_KINDS`.

    Returns
    -------
    (float, float) or None
        In the unit of the section; None where nothing is known.
    """
    far = FAR * max(width, depth)
    lying = width >= depth  # the wider side is the width
    places = {
        "boxed": (0.0, 0.0),
        "free": (0.0, -0.75 * depth),
        "flat": (0.0, -far) if lying else (-far, 0.0),
        "quarter": (-far, 0.0) if lying else (0.0, -far),
        "rift": (-far, -far),
    }
    return places.get(heart)


def ring_picture(width: float, depth: float, heart: str, words: str) -> str:
    """Return a section with its growth rings, as SVG.

    Parameters
    ----------
    width, depth : float
        Section [mm].
    heart : str
        One of `section.HEART_KINDS`.
    words : str
        For those who cannot see it.
    """
    scale = BOX / max(width, depth)
    wide, tall = width * scale, depth * scale
    pith = pith_of(wide, tall, heart)
    parts = [f'<rect x="2" y="2" width="{wide:.1f}" height="{tall:.1f}" fill="{WOOD}"/>']
    if pith is None:
        middle = f'x="{2 + wide / 2:.1f}" y="{6 + tall / 2:.1f}"'
        parts.append(f'<text {middle} text-anchor="middle">rings?</text>')
    else:
        parts.append(_rings(wide, tall, *pith))
    parts.append(
        f'<rect x="2" y="2" width="{wide:.1f}" height="{tall:.1f}" fill="none" stroke="{DARK}" '
        'stroke-width="1.5"/>'
    )
    return _svg(wide + 4, tall + 4, words, "".join(parts))


def _rings(wide: float, tall: float, x: float, y: float) -> str:
    """Return the ring arcs that cross a section, drawn as polylines cut at its faces."""
    corners = [(a * wide / 2 - x, b * tall / 2 - y) for a in (-1, 1) for b in (-1, 1)]
    reach = max(math.hypot(*corner) for corner in corners)
    nearest = math.hypot(max(abs(x) - wide / 2, 0.0), max(abs(y) - tall / 2, 0.0))
    step = 6.0
    parts = []
    angles = [math.atan2(v, u) for u, v in corners]
    inside = nearest == 0.0
    spread = np.linspace(-math.pi, math.pi, 181)
    if not inside:  # seen from a far pith the section fills a small angle
        middle = math.atan2(-y, -x)
        off = [(a - middle + math.pi) % (2 * math.pi) - math.pi for a in angles]
        spread = middle + np.linspace(min(off), max(off), 91)
    for radius in np.arange(nearest + step / 2, reach, step):
        across, up = x + radius * np.cos(spread), y + radius * np.sin(spread)
        seen = (np.abs(across) <= wide / 2) & (np.abs(up) <= tall / 2)
        parts.append(_pieces(across + wide / 2 + 2, tall / 2 - up + 2, seen))
    dot = f'<circle cx="{x + wide / 2 + 2:.1f}" cy="{tall / 2 - y + 2:.1f}" r="2.5"/>'
    path = "".join(parts)
    return f'<path d="{path}" fill="none" stroke="{RING}" stroke-width="1"/>{dot * inside}'


def _pieces(across: NDArray[np.float64], down: NDArray[np.float64], seen: NDArray[np.bool_]) -> str:
    """Return the runs of a curve that are seen, as path data."""
    found, drawing = [], False
    for x, y, shown in zip(across, down, seen, strict=True):
        if shown:
            found.append(f"{'L' if drawing else 'M'}{x:.1f} {y:.1f}")
        drawing = bool(shown)
    return "".join(found)


def air_strip(lines: Mapping[str, NDArray[np.float64]], words: str) -> str:
    """Return equilibrium moisture by month, each line with its name and ends, as SVG.

    Parameters
    ----------
    lines : mapping of str to ndarray, shape (12,)
        January first [%].
    words : str
        For those who cannot see it.
    """
    low = min(float(values.min()) for values in lines.values())
    high = max(float(values.max()) for values in lines.values())
    span = (high - low) or 1.0
    x = LEFT + 6 + np.arange(12) * (STRIP - LEFT - RIGHT - 12) / 11
    parts = ['<text x="0" y="10">moisture wood settles at, %</text>']
    places = []
    upper = max(lines, key=lambda name: float(lines[name].mean()))
    for number, (name, values) in enumerate(lines.items()):
        y = TALL - BOTTOM - 14 - (values - low) / span * (TALL - TOP - BOTTOM - 28)
        points = "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True))
        dash = "" if number == 0 else ' stroke-dasharray="5 3"'
        parts.append(f'<path d="M{points}" fill="none" stroke="{DARK}" stroke-width="1.8"{dash}/>')
        for at in {int(values.argmin()), int(values.argmax())}:
            parts.append(
                f'<text x="{x[at]:.1f}" y="{y[at] + (-4 if name == upper else 13):.1f}" '
                f'text-anchor="middle">{values[at]:.1f}</text>'
            )
        places.append((float(y[-1]), name))
    apart = abs(places[0][0] - places[-1][0]) < 12 and len(places) > 1
    for number, (y_end, name) in enumerate(places):
        shift = (-7 if number == 0 else 8) if apart else 4
        parts.append(f'<text x="{x[-1] + 8:.1f}" y="{y_end + shift:.1f}">{escape(name)}</text>')
    for month, letter in enumerate("JFMAMJJASOND"):
        parts.append(
            f'<text x="{x[month]:.1f}" y="{TALL - 3}" text-anchor="middle" fill="{DARK}">'
            f"{letter}</text>"
        )
    return _svg(STRIP, TALL, words, "".join(parts))

"""Read hand-written pictures back: paths by class, places to values, what is written."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def pictures(html: str) -> list[ET.Element]:
    """Return the pictures in a piece of HTML; ill-formed ones are refused."""
    return [ET.fromstring(found) for found in re.findall(r"<svg .*?</svg>", html, re.DOTALL)]


def parts(picture: ET.Element, kind: str, name: str | None = None) -> list[ET.Element]:
    """Return the parts of a kind, of one class where that is asked for."""
    found = [part for part in picture.iter() if part.tag.endswith("}" + kind)]
    return [part for part in found if name is None or part.get("class") == name]


def places(d: str) -> Floats:
    """Return the points of a path written with absolute M and L, shape (points, 2) [px]."""
    return np.array(re.findall(r"-?[\d.]+", d), dtype=float).reshape(-1, 2)


def drawn(picture: ET.Element, name: str) -> Floats:
    """Return the points of the one path of a class [px]."""
    (path,) = parts(picture, "path", name)
    return places(path.get("d") or "")


def written(picture: ET.Element) -> list[str]:
    """Return all texts, in order."""
    return ["".join(part.itertext()) for part in parts(picture, "text")]


class Axis:
    """Reads values off an axis by its own written ticks, as one does with a ruler.

    Parameters
    ----------
    picture : Element
        The chart.
    along : {'x', 'y'}
        Which axis.
    """

    def __init__(self, picture: ET.Element, along: str) -> None:
        anchor = {"x": "middle", "y": "end"}[along]
        ticks = []
        for part in parts(picture, "text"):
            if part.get("text-anchor") == anchor and re.fullmatch(r"-?[\d.]+", part.text or ""):
                ticks.append((float(part.get(along) or 0), float(part.text or 0)))
        px, values = np.array(ticks).T
        if along == "y":
            px = px - 4  # a number stands with its middle, not its base line, at its tick
        self.slope, self.start = np.polyfit(px, values, 1)
        self.tolerance = 0.15 * abs(self.slope)  # tenths of a pixel are written, on both ends

    def value(self, px: Floats) -> Floats:
        """Return values at places [px]."""
        return self.start + self.slope * px

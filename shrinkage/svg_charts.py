"""Three small charts as hand-written SVG, for pages that must answer a slider at once.

What they show is what `review_figures` draws for paper; a plotting library would take longer for
one of them than all the draws.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from shrinkage.spread import Floats
from shrinkage.svg_parts import DARK, MIDDLE, PALE, TOUCH, Plot, frame, path, pen, text, ticks

WIDTH, HEIGHT = 460, 230
LEFT, RIGHT, TOP, BOTTOM = 46, 12, 26, 40


def _titled(words: str, title: str, parts: Sequence[str], height: float = HEIGHT) -> str:
    return frame(WIDTH, height, words, [text(WIDTH / 2, 15, title, "middle", 12), *parts])


def histogram(
    values: Floats, touching_from: float, marks: Mapping[str, float], label: str, title: str,
    words: str, bins: int = 60,
) -> str:  # fmt: skip
    """Return a histogram with the part beyond a value shaded.

    Parameters
    ----------
    values : ndarray
        To count [unit of the label].
    touching_from : float
        Where the shaded part starts [same].
    marks : mapping of str to float
        Lines by name [same].
    label, title, words : str
        Under the axis, above the chart, and for those who cannot see it.
    bins : int
        How many.
    """
    counts, edges = np.histogram(values, bins)
    low = min(float(edges[0]), *marks.values())
    high = max(float(edges[-1]), *marks.values()) + 0.02 * float(np.ptp(edges) or 1.0)
    most = max(int(counts.max()), 1)
    plot = Plot(LEFT, TOP + 26, WIDTH - RIGHT, HEIGHT - BOTTOM, low, high, 0, most)
    parts = []
    for count, start, stop in zip(counts, edges[:-1], edges[1:], strict=True):
        if count:
            touches = start >= touching_from
            fill, line = ("#e3b7b7", TOUCH) if touches else (PALE, MIDDLE)
            x, end, y = (float(v) for v in (*plot.x([start, stop]), plot.y(count)))
            parts.append(
                f'<rect class="{"touch" if touches else "clear"}" x="{x:.1f}" y="{y:.1f}" '
                f'width="{end - x:.1f}" height="{plot.bottom - y:.1f}" fill="{fill}" '
                f"{pen(line, 0.6)}/>"
            )
    for number, (name, at) in enumerate(marks.items()):
        x = float(plot.x(at))
        first = at == min(marks.values())  # the left mark is named on its left, if there is room
        side = "end" if (first and x > LEFT + 130) or x > WIDTH - 150 else "start"
        line = f"M{x:.1f} {plot.bottom}V{TOP + 4 + 13 * number}"
        parts.append(path(line, look=pen(DARK, 1.6, "5 3" if number else "")))
        parts.append(text(x + (-4 if side == "end" else 4), TOP + 12 + 13 * number, name, side))
    return _titled(words, title, [*parts, *plot.x_axis(label)])


def band(
    at: Floats, low: Floats, middle: Floats, high: Floats, names: Mapping[float, str], label: str,
    title: str, words: str,
) -> str:  # fmt: skip
    """Return a line with its band, its floor at zero.

    Parameters
    ----------
    at : ndarray
        Places from left to right [years, or numbers].
    low, middle, high : ndarray
        The band and the line [unit of the label].
    names : mapping of float to str
        Names of places; where there are none the places themselves are written [unit of `at`].
    label, title, words : str
        Of the upright axis, above the chart, and for those who cannot see it.
    """
    floor, roof = min(0.0, float(low.min())), float(high.max()) * 1.12 or 1.0
    ends = float(at[0]), float(at[0]) + (float(np.ptp(at)) or 1.0)
    plot = Plot(LEFT + 12, TOP, WIDTH - RIGHT - 12, HEIGHT - BOTTOM, *ends, floor, roof)
    zero = float(plot.y(0))
    parts = [
        plot.band(at, low, high, "band", PALE),
        plot.line(at, middle, "middle", pen(DARK, 1.6)),
        path(f"M{LEFT} {zero:.1f}H{WIDTH - RIGHT}", look=pen(TOUCH, 1, "5 3")),
        text(4, TOP - 4, label),
        *replace(plot, left=LEFT).y_axis(),
    ]
    written = names or {float(tick): f"{tick:g}" for tick in ticks(*ends)}
    for place, name in written.items():
        parts.append(text(float(plot.x(place)), plot.bottom + 16, name, "middle"))
    return _titled(words, title, parts)


def bars(
    rows: Sequence[tuple[str, float, str]], title: str, words: str, picked: Collection[str] = ()
) -> str:
    """Return lying bars, each with its name and a note.

    Parameters
    ----------
    rows : sequence of (str, float, str)
        Name, length from 0 to 1 [-], and what is written after the bar.
    title, words : str
        Above the chart, and for those who cannot see it.
    picked : collection of str
        Names to pick out: their bars dark, their letters bold, the other bars pale.
    """
    step, start = 21, 214
    longest = max((length for _, length, _ in rows), default=1.0) or 1.0
    parts = list[str]()
    for number, (name, length, note) in enumerate(rows):
        y = TOP + 6 + step * number
        wide = max(length, 0.0) / longest * (WIDTH - start - 118)
        found = name in picked
        fill = DARK if found else PALE if picked else MIDDLE
        look = 'font-weight="bold"' if found else ""
        parts += [
            text(start - 6, y + 11, name, "end", look=look),
            f'<rect x="{start}" y="{y}" width="{wide:.1f}" height="14" fill="{fill}"/>',
            text(start + wide + 4, y + 11, note, look=look),
        ]
    return _titled(words, title, parts, TOP + 14 + step * len(rows))

"""Three small charts as hand-written SVG, for pages that must answer a slider at once.

What they show is what `review_figures` draws for paper; a plotting library would take longer for
one of them than all the draws.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

import numpy as np

from shrinkage.spread import Floats

WIDTH, HEIGHT = 460, 230
LEFT, RIGHT, TOP, BOTTOM = 46, 12, 26, 40
DARK, MIDDLE, PALE, TOUCH = "#222222", "#7a7a7a", "#d9d9d9", "#8a1c1c"


def _frame(words: str, title: str, parts: Sequence[str], height: float = HEIGHT) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(words)}" '
        f'width="{WIDTH}" height="{height:.0f}" viewBox="0 0 {WIDTH} {height:.0f}" '
        'font-family="sans-serif" font-size="11">'
        f'<text x="{WIDTH / 2}" y="15" text-anchor="middle" font-size="12">{escape(title)}</text>'
        + "".join(parts) + "</svg>"
    )  # fmt: skip


def _ticks(low: float, high: float, wanted: int = 5) -> Floats:
    """Return round values between two ends."""
    raw = (high - low) / wanted or 1.0
    power = 10.0 ** np.floor(np.log10(raw))
    step = power * min((1, 2, 2.5, 5, 10), key=lambda m: abs(m * power - raw))
    return np.asarray(np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step + 0.0)


def _x_axis(low: float, high: float, label: str, bottom: float) -> list[str]:
    parts = [f'<path d="M{LEFT} {bottom}H{WIDTH - RIGHT}" stroke="{DARK}"/>']
    for tick in _ticks(low, high):
        x = LEFT + (tick - low) / (high - low) * (WIDTH - LEFT - RIGHT)
        parts.append(
            f'<path d="M{x:.1f} {bottom}v4" stroke="{DARK}"/>'
            f'<text x="{x:.1f}" y="{bottom + 15}" text-anchor="middle">{tick:g}</text>'
        )
    middle = (LEFT + WIDTH - RIGHT) / 2
    place = f'x="{middle}" y="{bottom + 31}"'
    parts.append(f'<text {place} text-anchor="middle">{escape(label)}</text>')
    return parts


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
    bottom, top = HEIGHT - BOTTOM, TOP + 26
    per = (WIDTH - LEFT - RIGHT) / (high - low)
    tall = (bottom - top) / max(int(counts.max()), 1)
    parts = []
    for count, start, stop in zip(counts, edges[:-1], edges[1:], strict=True):
        if count:
            touches = start >= touching_from
            fill, line = ("#e3b7b7", TOUCH) if touches else (PALE, MIDDLE)
            parts.append(
                f'<rect class="{"touch" if touches else "clear"}" '
                f'x="{LEFT + (start - low) * per:.1f}" y="{bottom - count * tall:.1f}" '
                f'width="{(stop - start) * per:.1f}" '
                f'height="{count * tall:.1f}" fill="{fill}" stroke="{line}" stroke-width=".6"/>'
            )
    for number, (name, at) in enumerate(marks.items()):
        x = LEFT + (at - low) * per
        first = at == min(marks.values())  # the left mark is named on its left, if there is room
        side = "end" if (first and x > LEFT + 130) or x > WIDTH - 150 else "start"
        parts.append(
            f'<path d="M{x:.1f} {bottom}V{TOP + 4 + 13 * number}" stroke="{DARK}" '
            f'stroke-width="1.6" stroke-dasharray="{"none" if not number else "5 3"}"/>'
            f'<text x="{x + (-4 if side == "end" else 4):.1f}" y="{TOP + 12 + 13 * number}" '
            f'text-anchor="{side}">{escape(name)}</text>'
        )
    return _frame(words, title, [*parts, *_x_axis(low, high, label, bottom)])


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
    bottom = HEIGHT - BOTTOM
    floor, roof = min(0.0, float(low.min())), float(high.max()) * 1.12 or 1.0
    wide = (WIDTH - LEFT - RIGHT - 24) / (float(np.ptp(at)) or 1.0)
    x = LEFT + 12 + (at - at[0]) * wide

    def y(values: Floats) -> Floats:
        return bottom - (values - floor) / (roof - floor) * (bottom - TOP)

    def line(values: Floats, places: Floats) -> str:
        return "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(places, y(values), strict=True))

    both = f"M{line(high, x)}L{line(low[::-1], x[::-1])}Z"
    zero = float(y(np.zeros(1))[0])
    parts = [
        f'<path class="band" d="{both}" fill="{PALE}"/>',
        f'<path class="middle" d="M{line(middle, x)}" fill="none" stroke="{DARK}" '
        'stroke-width="1.6"/>',
        f'<path d="M{LEFT} {zero:.1f}H{WIDTH - RIGHT}" stroke="{TOUCH}" stroke-dasharray="5 3"/>',
        f'<path d="M{LEFT} {TOP}V{bottom}" stroke="{DARK}"/>',
        f'<text x="4" y="{TOP - 4}">{escape(label)}</text>',
    ]
    for tick in _ticks(floor, roof, 4):
        place = float(y(np.array([tick]))[0])
        parts.append(
            f'<path d="M{LEFT - 4} {place:.1f}h4" stroke="{DARK}"/>'
            f'<text x="{LEFT - 6}" y="{place + 4:.1f}" text-anchor="end">{tick:g}</text>'
        )
    written = names or {float(tick): f"{tick:g}" for tick in _ticks(float(at[0]), float(at[-1]))}
    for place, name in written.items():
        parts.append(
            f'<text x="{LEFT + 12 + (place - at[0]) * wide:.1f}" y="{bottom + 16}" '
            f'text-anchor="middle">{escape(name)}</text>'
        )
    return _frame(words, title, parts)


def bars(rows: Sequence[tuple[str, float, str]], title: str, words: str) -> str:
    """Return lying bars, each with its name and a note.

    Parameters
    ----------
    rows : sequence of (str, float, str)
        Name, length from 0 to 1 [-], and what is written after the bar.
    title, words : str
        Above the chart, and for those who cannot see it.
    """
    step, start = 21, 214
    longest = max((length for _, length, _ in rows), default=1.0) or 1.0
    parts = []
    for number, (name, length, note) in enumerate(rows):
        y = TOP + 6 + step * number
        wide = max(length, 0.0) / longest * (WIDTH - start - 118)
        parts.append(
            f'<text x="{start - 6}" y="{y + 11}" text-anchor="end">{escape(name)}</text>'
            f'<rect x="{start}" y="{y}" width="{wide:.1f}" height="14" fill="{MIDDLE}"/>'
            f'<text x="{start + wide + 4:.1f}" y="{y + 11}">{escape(note)}</text>'
        )
    return _frame(words, title, parts, TOP + 14 + step * len(rows))

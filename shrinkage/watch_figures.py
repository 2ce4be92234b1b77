"""A gap through time as hand-written SVG: band before thin, now bold, readings with errors."""

from __future__ import annotations

from datetime import date, timedelta
from html import escape

import numpy as np

from shrinkage.spread import Floats
from shrinkage.svg_parts import DARK, MIDDLE, PALE, TOUCH
from shrinkage.timber import Timeline
from shrinkage.units import MM_PER_INCH, System
from shrinkage.watch import GapForecast, Seen, Watch
from shrinkage.watch_model import timeline_of
from shrinkage.watch_words import value_text

WIDTH, HEIGHT = 760, 360
LEFT, RIGHT, TOP, BOTTOM = 64, 86, 44, 34
AHEAD = 540.0
"""Days shown beyond the last reading."""
NEAR = 96
"""Labels nearer than this are set one above the other."""
ERROR = 1.645
"""Standard deviations that a bar reaches either way: 90 %."""


class _Sheet:
    """Where days and millimetres fall on the drawing."""

    def __init__(self, first: float, last: float, low: float, high: float) -> None:
        self.first, self.last, self.low, self.high = first, last, low, high

    def x(self, day: float) -> float:
        share = (day - self.first) / (self.last - self.first)
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    def y(self, mm: float) -> float:
        share = (mm - self.low) / (self.high - self.low)
        return HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)

    def line(self, days: Floats, values: Floats) -> str:
        return "L".join(f"{self.x(d):.1f} {self.y(v):.1f}" for d, v in zip(days, values))  # noqa: B905


def gap_chart(found: Watch, gap: GapForecast, system: System) -> str:
    """Return a gap through time with the readings taken of it.

    Parameters
    ----------
    found : Watch
        What the readings say.
    gap : GapForecast
        One of its gaps.
    system : {'imperial', 'metric'}
        Of lengths.

    Returns
    -------
    str
        SVG; grey alone tells before from after.
    """
    line = timeline_of(found.order)
    seen = [one for one in found.seen
            if one.entry.kind == "gap" and one.entry.place == gap.place]  # fmt: skip
    latest = max(one.reading.day for one in found.seen)
    last = min(float(found.days[-1]), latest + AHEAD)
    shown = found.days <= last
    days, before, after = found.days[shown], gap.before[:, shown], gap.after[:, shown]
    used = [one for one in seen if one.step.used]  # a slip of the tape must not squeeze the rest
    bars = [one.reading.value + sign * ERROR * one.entry.error for one in used for sign in (-1, 1)]
    low = min(0.0, float(before.min()), float(after.min()), *bars)
    high = max(float(before.max()), float(after.max()), *bars)
    start = float(days[0]) - 0.05 * float(np.ptp(days))
    sheet = _Sheet(start, float(days[-1]), low, high + 0.12 * (high - low))
    parts = [*_axes(sheet, system, line), *_bands(sheet, days, before, after),
             *_readings(sheet, seen, system), *_ends(sheet, before, after)]  # fmt: skip
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDTH}" height="{HEIGHT}" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="12" '
        f'aria-label="{escape(gap_words(found, gap, system))}">'
        f'<text x="{LEFT}" y="16" font-size="13" font-weight="bold">'
        f"{escape(f'Gap at {gap.place}')}</text>" + "".join(parts) + "</svg>"
    )


def gap_words(found: Watch, gap: GapForecast, system: System) -> str:
    """Return what the chart shows, for its caption and for those who cannot see it."""

    def band(low: float, high: float) -> str:
        return f"{value_text('gap', low, system)} to {value_text('gap', high, system)}"

    least, old = gap.least_after, gap.least_before
    count = sum(one.entry.kind == "gap" and one.entry.place == gap.place for one in found.seen)
    return (
        f"Gap at {gap.place} through time: 90 % band before any reading as thin lines, now in grey "
        f"with its median bold; {count} readings of it as dots with their 90 % error. The least "
        f"gap ever left is now {band(least.low, least.high)}, was {band(old.low, old.high)}."
    )


def _bands(sheet: _Sheet, days: Floats, before: Floats, after: Floats) -> list[str]:
    edge = f"M{sheet.line(days, after[2])}L{sheet.line(days[::-1], after[0][::-1])}Z"
    thin = "".join(f"M{sheet.line(days, row)}" for row in before[[0, 2]])
    return [
        f'<path class="after" d="{edge}" fill="{PALE}"/>',
        f'<path class="before" d="{thin}" fill="none" stroke="{MIDDLE}" stroke-width=".9"/>',
        f'<path class="before" d="M{sheet.line(days, before[1])}" fill="none" stroke="{MIDDLE}" '
        'stroke-width=".9" stroke-dasharray="4 3"/>',
        f'<path class="now" d="M{sheet.line(days, after[1])}" fill="none" stroke="{DARK}" '
        'stroke-width="2.6"/>',
    ]


def _ends(sheet: _Sheet, before: Floats, after: Floats) -> list[str]:
    """Name the bands at their right ends, apart from each other."""
    x = WIDTH - RIGHT + 6
    now = sheet.y(float(after[1, -1]))
    names = [(now, "now", ' font-weight="bold"')]
    for row, text in ((2, "before, 95 %"), (0, "before, 5 %")):
        at = sheet.y(float(before[row, -1]))
        if abs(at - now) < 14:
            at = now + (14 if at >= now else -14)
        names.append((at, text, f' fill="{MIDDLE}"'))
    return [f'<text x="{x}" y="{y + 4:.1f}" font-size="11"{how}>{text}</text>'
            for y, text, how in names]  # fmt: skip


def _readings(sheet: _Sheet, seen: list[Seen], system: System) -> list[str]:
    """Draw each reading with its error and write its value above it, crosses where outside."""
    parts: list[str] = []
    last_x, last_y = -1e9, 0.0
    for one in seen:
        x, reach = sheet.x(one.reading.day), ERROR * one.entry.error
        value = float(np.clip(one.reading.value, sheet.low, sheet.high))
        top, foot = sheet.y(value + reach), sheet.y(value - reach)
        if one.step.used:
            path = f"M{x:.1f} {top:.1f}V{foot:.1f}"
            parts.append(f'<path d="{path}" stroke="{DARK}" stroke-width="1.4"/>')
        parts.append(_mark(one, x, sheet.y(value)))
        at = top - 6 if one.step.used else sheet.y(value) + 4
        if x - last_x < NEAR and abs(at - last_y) < 14:
            at = last_y - 14
        last_x, last_y = x, at
        beside = x if one.step.used else x + 9
        parts.append(
            f'<text x="{beside:.1f}" y="{at:.1f}" stroke="#ffffff" stroke-width="3" '
            f'text-anchor="{"middle" if one.step.used else "start"}" paint-order="stroke">'
            f"{escape(_said(one, system))}</text>"
        )
    return parts


def _mark(one: Seen, x: float, y: float) -> str:
    if one.step.is_inside:
        return f'<circle class="inside" cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{DARK}"/>'
    return (
        f'<path class="outside" d="M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10" stroke="{TOUCH}" '
        'stroke-width="2.6"/>'
    )


def _said(one: Seen, system: System) -> str:
    text = value_text("gap", one.reading.value, system)
    if not one.step.used:
        return f"{text}, not used"
    return text if one.step.is_inside else f"{text}, outside"


def _axes(sheet: _Sheet, system: System, line: Timeline) -> list[str]:
    """Draw both axes: lengths in the unit people read, dates by month, events, and touching."""
    bottom, right = HEIGHT - BOTTOM, WIDTH - RIGHT
    parts = [f'<path d="M{LEFT} {TOP}V{bottom}H{right}" fill="none" stroke="{DARK}"/>']
    step = _step(sheet.high - sheet.low, system)
    for number in range(int(np.ceil(sheet.low / step)), int(sheet.high / step) + 1):
        y = sheet.y(number * step)
        parts.append(
            f'<path d="M{LEFT - 4} {y:.1f}h4" stroke="{DARK}"/><text x="{LEFT - 7}" '
            f'y="{y + 4:.1f}" text-anchor="end">'
            f"{escape(value_text('gap', number * step, system))}</text>"
        )
    zero = sheet.y(0.0)
    parts.append(
        f'<path d="M{LEFT} {zero:.1f}H{right}" stroke="{TOUCH}" stroke-dasharray="5 3"/>'
        f'<text x="{right - 4}" y="{zero - 5:.1f}" text-anchor="end" fill="{TOUCH}">wood touches '
        "panel</text>"
    )
    return [*parts, *_events(sheet, line), *_months(sheet, line)]


def _step(span: float, system: System) -> float:
    """Return the step of the upright axis that gives six marks or fewer [mm]."""
    nice = (
        (1 / 8, 1 / 4, 1 / 2, 1, 2, 4, 12) if system == "imperial" else (1, 2, 5, 10, 20, 50, 100)
    )
    unit = MM_PER_INCH if system == "imperial" else 1.0
    return next((unit * one for one in nice if span / (unit * one) <= 6), unit * nice[-1])


def _events(sheet: _Sheet, line: Timeline) -> list[str]:
    parts = []
    for row, name in enumerate(("foamed", "heated")):
        day = float(line.days[line.marks[name]])
        if sheet.first <= day <= sheet.last:
            x = sheet.x(day)
            parts.append(
                f'<path d="M{x:.1f} {TOP - 6 + 3 * row}V{HEIGHT - BOTTOM}" stroke="{MIDDLE}" '
                f'stroke-width=".7"/><text x="{x:.1f}" y="{TOP - 10}" text-anchor="middle" '
                f'font-size="11">{name}</text>'
            )
    return parts


def _months(sheet: _Sheet, line: Timeline) -> list[str]:
    """Write months along the foot, eight at the most."""
    assert line.sawn is not None
    first = line.sawn + timedelta(days=sheet.first)
    months = int((sheet.last - sheet.first) / 30.4) + 1
    step = next((n for n in (1, 2, 3, 6, 12, 24, 60) if months / n <= 8), 120)
    parts = []
    for number in range(0, months + step, step):
        year, month = divmod(first.year * 12 + first.month + number, 12)
        when = date(year, month + 1, 1)
        day = float((when - line.sawn).days)
        if day <= sheet.last:
            x = sheet.x(day)
            parts.append(
                f'<path d="M{x:.1f} {HEIGHT - BOTTOM}v4" stroke="{DARK}"/><text x="{x:.1f}" '
                f'y="{HEIGHT - BOTTOM + 17}" text-anchor="middle">{when:%b %Y}</text>'
            )
    return parts

"""A gap through time as hand-written SVG: band before thin, now bold, readings with errors."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from shrinkage.svg_parts import DARK, MIDDLE, PALE, TOUCH, Plot, frame, path, pen, text
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
"""Labels nearer than this are set one above the other [px]."""
ERROR = 1.645
"""Standard deviations that a bar reaches either way: 90 %."""


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
        SVG; grey alone tells before from now.
    """
    seen = _readings_of(found, gap)
    last = max(one.reading.day for one in found.seen) + AHEAD
    shown = found.days <= last
    days, before, now = found.days[shown], gap.before[:, shown], gap.after[:, shown]
    used = [one for one in seen if one.step.used]  # a slip of the tape must not squeeze the rest
    bars = [one.reading.value + sign * ERROR * one.entry.error for one in used for sign in (-1, 1)]
    low = min(0.0, float(before.min()), float(now.min()), *bars)
    high = max(float(before.max()), float(now.max()), *bars)
    start = float(days[0]) - 0.05 * float(np.ptp(days))
    plot = Plot(LEFT, TOP, WIDTH - RIGHT, HEIGHT - BOTTOM, start, float(days[-1]), low,
                high + 0.12 * (high - low))  # fmt: skip
    parts = [
        text(LEFT, 16, f"Gap at {gap.place}", size=13, look='font-weight="bold"'),
        *_lengths(plot, system),
        *_dates(plot, timeline_of(found.order)),
        plot.band(days, now[0], now[2], "now-band", PALE),
        *(plot.line(days, row, "before", pen(MIDDLE, 0.9)) for row in before[[0, 2]]),
        plot.line(days, before[1], "before", pen(MIDDLE, 0.9, "4 3")),
        plot.line(days, now[1], "now", pen(DARK, 2.6)),
        *_readings(plot, seen, system),
        *plot.ends([("before, 95 %", float(before[2, -1]), MIDDLE),
                    ("now", float(now[1, -1]), DARK),
                    ("before, 5 %", float(before[0, -1]), MIDDLE)]),
    ]  # fmt: skip
    return frame(WIDTH, HEIGHT, gap_words(found, gap, system), parts)


def gap_words(found: Watch, gap: GapForecast, system: System) -> str:
    """Return what the chart shows, for its caption and for those who cannot see it."""

    def band(low: float, high: float) -> str:
        return f"{value_text('gap', low, system)} to {value_text('gap', high, system)}"

    least, old, count = gap.least_after, gap.least_before, len(_readings_of(found, gap))
    readings = "1 reading" if count == 1 else f"{count} readings"
    return (
        f"Gap at {gap.place} through time: 90 % band before any reading as thin lines, now in grey "
        f"with its median bold; {readings} with the 90 % error, dots inside the band forecast "
        f"before each, crosses outside. The least gap ever left is now "
        f"{band(least.low, least.high)}, was {band(old.low, old.high)}."
    )


def _readings_of(found: Watch, gap: GapForecast) -> list[Seen]:
    return [one for one in found.seen if (one.entry.kind, one.entry.place) == ("gap", gap.place)]


def _readings(plot: Plot, seen: Sequence[Seen], system: System) -> list[str]:
    """Draw each reading with its error, its value above it; one not used at the edge."""
    parts: list[str] = []
    last_x, last_y = -1e9, 0.0
    for one in seen:
        x, reach = float(plot.x(one.reading.day)), ERROR * one.entry.error
        value = float(np.clip(one.reading.value, plot.y_low, plot.y_high))
        y, top, foot = plot.y([value, value + reach, value - reach])
        if one.step.used:
            parts.append(path(f"M{x:.1f} {top:.1f}V{foot:.1f}", look=pen(DARK, 1.4)))
        parts.append(_mark(one, x, float(y)))
        at = float(top) - 6 if one.step.used else float(y) + 4
        if x - last_x < NEAR and abs(at - last_y) < 14:
            at = last_y - 14
        last_x, last_y = x, at
        beside, anchor = (x, "middle") if one.step.used else (x + 9, "start")
        parts.append(text(beside, at, _said(one, system), anchor, 12, halo=True))
    return parts


def _mark(one: Seen, x: float, y: float) -> str:
    if one.step.is_inside:
        return f'<circle class="inside" cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{DARK}"/>'
    cross = f"M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10"
    return path(cross, "outside", look=pen(TOUCH, 2.6))


def _said(one: Seen, system: System) -> str:
    words = value_text("gap", one.reading.value, system)
    if not one.step.used:
        return f"{words}, not used"
    return words if one.step.is_inside else f"{words}, outside"


def _lengths(plot: Plot, system: System) -> list[str]:
    """Draw the upright axis in the unit people read, and the line where wood touches panel."""
    parts = [path(f"M{plot.left} {plot.top}V{plot.bottom}H{plot.right}", look=pen(DARK))]
    step = _step(plot.y_high - plot.y_low, system)
    for number in range(int(np.ceil(plot.y_low / step)), int(plot.y_high / step) + 1):
        y = float(plot.y(number * step))
        parts.append(path(f"M{plot.left - 4} {y:.1f}h4", look=pen(DARK)))
        label = value_text("gap", number * step, system)
        parts.append(text(plot.left - 7, y + 4, label, "end"))
    zero = float(plot.y(0.0))
    parts.append(path(f"M{plot.left} {zero:.1f}H{plot.right}", look=pen(TOUCH, 1, "5 3")))
    touch = f'fill="{TOUCH}"'
    return [*parts, text(plot.right - 4, zero - 5, "wood touches panel", "end", look=touch)]


def _step(span: float, system: System) -> float:
    """Return the step of the upright axis that gives six marks or fewer [mm]."""
    if system == "imperial":
        steps = [MM_PER_INCH * share for share in (1 / 8, 1 / 4, 1 / 2, 1, 2, 4, 12)]
    else:
        steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0]
    return next((step for step in steps if span / step <= 6), steps[-1])


def _dates(plot: Plot, line: Timeline) -> list[str]:
    """Write months along the foot, eight at the most, and events at the head."""
    assert line.sawn is not None
    parts = []
    for name in ("foamed", "heated"):
        day = float(line.days[line.marks[name]])
        if day <= plot.x_high:
            x = float(plot.x(day))
            upright = f"M{x:.1f} {plot.top - 6}V{plot.bottom}"
            parts.append(path(upright, look=pen(MIDDLE, 0.7)))
            parts.append(text(x, plot.top - 10, name, "middle"))
    first = line.sawn + timedelta(days=plot.x_low)
    months = int((plot.x_high - plot.x_low) / 30.4) + 1
    step = next((n for n in (1, 2, 3, 6, 12, 24, 60) if months / n <= 8), 120)
    for number in range(0, months + 1, step):
        year, month = divmod(first.year * 12 + first.month + number, 12)
        when = date(year, month + 1, 1)
        day = float((when - line.sawn).days)
        if day <= plot.x_high:
            x = float(plot.x(day))
            parts.append(path(f"M{x:.1f} {plot.bottom}v4", look=pen(DARK)))
            parts.append(text(x, plot.bottom + 17, f"{when:%b %Y}", "middle"))
    return parts

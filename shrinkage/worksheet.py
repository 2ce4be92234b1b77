"""The worksheet: the governing joint of each kind followed by hand, from table row to panel size.

Markdown, read as plain text too. Every number is printed with what it was made of, the equation
that made it and where the inputs come from.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from shrinkage import units
from shrinkage.allowance import CRUSH_LIMIT, Allowance
from shrinkage.calendar import EVENTS, USUAL
from shrinkage.climate import MONTHS, AirYear
from shrinkage.finish_words import finish_section
from shrinkage.foam_words import foam_section, remedy_lines
from shrinkage.joint import CLOSURE_EQUATION, Layer
from shrinkage.order import SIDES, Order, Panel
from shrinkage.schedule import CAUTIONS, assumptions
from shrinkage.shape import Section
from shrinkage.shape_dimensions import CLOSING_RULE, OPENING_RULE, heart_values
from shrinkage.timber import Case, Course, Floats, Timber
from shrinkage.units import System
from shrinkage.whatif import WhatIf, what_ifs, widest_of_each_kind


def worksheet(order: Order, system: System | None = None) -> str:
    """Write the worksheet of an order.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.

    Returns
    -------
    str
        Markdown.
    """
    job = order.frame.job
    system = system or job.units
    parts = [
        f"# Worksheet: {job.title}",
        "Shrinkage is positive where wood shrinks, closure is positive where a gap closes. "
        "M is moisture content in percent of oven-dry mass, S total shrinkage green to oven-dry, "
        "R radial, T tangential, L along the grain, fs fibre saturation.",
        _cautions(),
        _air(order),
        _timbers(order),
    ]
    parts += [joint_sheet(answer, system) for answer in widest_of_each_kind(order)]
    parts += [_panel(order, answer, system) for answer in widest_of_each_kind(order)[:2]]
    parts += [foam_section(order, system), finish_section(order.frame, system)]
    parts += [_other(order, system)]
    parts += [_dates(order, system), _assumptions(order)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _cautions() -> str:
    return "**Before you use this**\n\n" + "\n".join(f"* {caution}" for caution in CAUTIONS)


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _air(order: Order) -> str:
    frame = order.frame
    rows = [_air_row(air) for air in (frame.outdoors, frame.room)]
    head = ("air", *MONTHS, "low", "mean", "high")
    sources = [f"* {air.name}: {air.source}" for air in (frame.outdoors, frame.room)]
    sources += [f"* {note}" for air in (frame.outdoors, frame.room) for note in air.notes]
    return "\n\n".join(
        ["## 1. Air: equilibrium moisture content by month, %", _table(head, rows),
         "\n".join(sources)]
    )  # fmt: skip


def _air_row(air: AirYear) -> tuple[str, ...]:
    ends = (f"{air.low:.2f}", f"{air.mean:.2f}", f"{air.high:.2f}")
    return (air.name, *(f"{value:.1f}" for value in air.emc), *ends)


def _timbers(order: Order) -> str:
    rows, sources = [], []
    for role, timber in order.frame.timbers.items():
        species, across = timber.species, timber.weights("width")
        width, depth = (f"{units.tape(mm)}" for mm in (timber.width, timber.depth))
        rows.append(
            (role, species.name, f"{width} x {depth}", timber.heart.kind,
             f"{100 * species.s_r:.1f}", f"{100 * species.tangential:.1f}",
             f"{100 * species.s_l:.2f}", f"{species.fibre_saturation:.0f}",
             f"{across.estimate:.4f}", f"{100 * timber.total('width', 'most'):.3f}",
             f"{100 * timber.total('depth', 'most'):.3f}", f"{timber.moisture:.1f}")
        )  # fmt: skip
        basis = f"{species.source}, basis: {species.basis}"
        text = f"* {role}: {species.name}, {basis}; on the day {timber.moisture_note}"
        sources.append(text)
    head = ("timber", "species", "section", "heart", "S_R %", "S_T %", "S_L %", "fs %",
            "weight of R in width", "S width %", "S depth %", "M on the day %")  # fmt: skip
    rule = (
        "Weight of R in the width is the mean of cos^2(phi) over the section, phi seen from the "
        "pith; S width = w S_R + (1 - w) S_T, S depth = (1 - w) S_R + w S_T. Where the pith is "
        "not known, S is the most it can be. S_L is the middle of the 0.1 to 0.2 % that GTR-190 "
        "ch. 4 gives, unless a species of your own says otherwise."
    )
    parts = ["## 2. Timbers", _table(head, rows), rule, "\n".join(sources), _hearts(order)]
    return "\n\n".join(part for part in parts if part)


def _hearts(order: Order) -> str:
    """Show both values of every boxed heart, and say which is used and why."""
    rows = []
    for role, timber in order.frame.timbers.items():
        section = Section(timber.width, timber.depth, timber.heart.x, timber.heart.y)
        if timber.heart.kind not in ("boxed", "pith") or not section.boxed:
            continue
        both = heart_values(section, timber.species.s_r, timber.species.tangential)
        rows.append(
            (role, *(f"{100 * span.shrinkage:.2f} / {100 * other.shrinkage:.2f}"
                     for span, other in ((both.unchecked.width, both.unchecked.depth),
                                         (both.checked.width, both.checked.depth))))
        )  # fmt: skip
    if not rows:
        return ""
    head = ("boxed heart", "unchecked, S width / depth %", "one check to the nearest face")
    along = (
        "Along the check the checked section can lose a few percent of the movement more than the "
        "unchecked value used, by a term in the square of the shrinkage: well inside the 15 % "
        "scatter between pieces, and not added."
    )
    return "\n\n".join([_table(head, rows), f"{CLOSING_RULE} {OPENING_RULE} {along}"])


def joint_sheet(answer: Allowance, system: System) -> str:
    """Return one joint followed by hand: stack, strains, closure, every limit, the gap."""
    head = f"## Joint: {answer.joint.name} ({answer.joint.kind})"
    parts = [head, *movement_sheet(answer), _limits(answer, system)]
    return "\n\n".join(parts + [f"* {note}" for note in answer.joint.notes])


def movement_sheet(answer: Allowance) -> list[str]:
    """Return a joint's stack, strains and closure followed by hand, paragraph by paragraph."""
    joint = answer.joint
    if not joint.layers:
        return ["No wood moves across it."]
    normal = f"Normal n = ({joint.normal[0]:.4f}, {joint.normal[1]:.4f}) (across, up)."
    return [f"{CLOSURE_EQUATION}. {normal}", _layers(answer), _strains(answer), _sums(answer)]


def _layers(answer: Allowance) -> str:
    """Return the stack as a table: strains and what they close, at each time that matters."""
    seasons, rows = answer.seasons, []
    times = _times(answer)
    for number, layer in enumerate(answer.joint.layers, start=1):
        lever = layer.lever(answer.joint.normal)
        lost = layer.wood.history(layer.grain, seasons.line)
        # The end of the bracket that closes most: a layer that swells turns it round.
        bracket = lost[lost.shape[0] // 2]
        at = [float(max(bracket[row], key=lambda s: lever * s)) for row in times.values()]
        rows.append(
            (str(number), layer.name, layer.side, f"{layer.thickness:.2f}",
             f"{lever / layer.thickness:+.4f}", *(f"{s:.5f}" for s in at),
             *(f"{lever * s:+.3f}" for s in at))
        )  # fmt: skip
    head = ("", "layer", "side", "t mm", "sign x n.e", *(f"s {name}" for name in times),
            *(f"closes {name} mm" for name in times))  # fmt: skip
    return _table(head, rows)


def _times(answer: Allowance) -> dict[str, int]:
    """Return the times a joint is followed at; the day of the foam only where it is another day."""
    rows = answer.seasons.rows
    return {name: row for name, row in rows.items() if name != "foamed" or row}


def _strains(answer: Allowance) -> str:
    lines = [
        "Strains from green by s(M) = S (fs - M) / fs, 0 above fs; between two moistures by "
        "1 - (1 - s2)/(1 - s1), which is GTR-190 Eq. 13-3:"
    ]
    if answer.seasons.line.sawn:
        lines[0] = (
            "Strains from green follow the moisture at every place in the section: with A and B "
            "the means over the section of f cos^2(phi) and f sin^2(phi), "
            "f = max(0, (fs - M)/fs), the width loses S_R A + S_T B and the depth S_R B + S_T A "
            "(usual drying); from the day the panels go on 1 - (1 - s2)/(1 - s1):"
        )
    for number, layer in enumerate(answer.joint.layers, start=1):
        lines.append(f"{number}. {_strain_by_hand(layer, answer)}")
    return "\n\n".join([lines[0], "\n".join(lines[1:])])


def _strain_by_hand(layer: Layer, answer: Allowance) -> str:
    wood = layer.wood
    if not isinstance(wood, Timber):
        return f"{layer.name}: as its maker gives it, {100 * wood.dry:g} %"
    if wood.course is not None:
        return _strain_in_time(layer, wood, wood.course, answer.seasons.rows["driest"])
    case: Case = "most" if layer.lever(answer.joint.normal) >= 0 else "least"
    total, fs = wood.total(layer.grain, case), wood.species.fibre_saturation
    low, start = wood.air.low, wood.moisture
    s1 = total * max(0.0, fs - start) / fs
    s2 = total * max(0.0, fs - low) / fs
    text = (
        f"{layer.name}: S = {total:.5f}; s({start:.1f}) = {s1:.5f}; "
        f"s({low:.2f}) = {total:.5f} x ({fs:.0f} - {low:.2f}) / {fs:.0f} = {s2:.5f}; "
        f"1 - (1 - {s2:.5f})/(1 - {s1:.5f}) = {1 - (1 - s2) / (1 - s1):.5f}"
    )
    return text + _factor(layer, wood)


def _strain_in_time(layer: Layer, wood: Timber, course: Course, row: int) -> str:
    """Follow a strain from the day the panels go on to the driest time, for usual drying."""
    parts = []
    for name, at in (("day", 0), ("driest", row)):
        a, b = float(course.radial[USUAL, at]), float(course.tangential[USUAL, at])
        mean = float(course.mean[USUAL, at])
        parts.append(f"{name}: mean M {mean:.1f} %, A = {a:.5f}, B = {b:.5f}")
    total = f"S_R = {wood.species.s_r:.4f}, S_T = {wood.species.tangential:.4f}"
    if layer.grain == "length":
        total = f"S_L = {wood.species.s_l:.4f}, on A + B"
    return f"{layer.name}: {total}; " + "; ".join(parts) + _factor(layer, wood)


def _factor(layer: Layer, wood: Timber) -> str:
    if layer.grain == "length" or wood.section_factor == 1:
        return ""
    return f"; x section factor {wood.section_factor:g} in the first drying"


def _sums(answer: Allowance) -> str:
    dry, wet, seasons = answer.driest, answer.wettest, answer.seasons
    text = (
        f"Closure along n: {dry.most:.3f} mm ({units.tape(dry.most, 32)}) at the driest "
        f"(estimate {dry.estimate:.3f}, least {dry.least:.3f}), {wet.most:.3f} mm left at the "
        f"wettest: the seasons work it by {answer.swing:.3f} mm."
    )
    if not seasons.line.sawn:
        return text
    before, after = (
        " / ".join(f"{mm:.2f}" for mm in by_band)
        for by_band in (seasons.closing_before_foam(), seasons.closing_after_foam())
    )
    return (
        f"{text}\n\nFor slow / usual / fast drying (half, once and twice the diffusion "
        f"coefficient): closes {before} mm before the foam goes in and {after} mm after."
    )


def _limits(answer: Allowance, system: System) -> str:
    rows = [
        (limit.name, limit.formula, f"{limit.needed:.2f}", "**governs**" if g else "")
        for limit in answer.limits
        for g in (limit is answer.governs,)
    ]
    joint = answer.joint
    step = f"{answer.needed:.2f}"
    if joint.measure != 1:
        step += f" x {joint.measure:.4f} (1 / cos pitch)"
    if joint.kind == "ridge":
        step += " / 2 (shared by two panels)"
    if joint.extra_off:
        step += f" + {joint.extra_off:.2f} (square cut)"
    lines = [
        _table(("limit", "how, mm", "needs mm", ""), rows),
        f"Gap needed = {answer.governs.needed:.2f} + tolerance {answer.tolerance:.2f} = "
        f"{answer.needed:.2f} mm.",
        f"Off the panel = {step}, rounded up to the plant's fraction = **{answer.off:.3f} mm = "
        f"{units.show(answer.off, system)}**.",
        f"Gap to hold on the day {_both(answer.gap, system)}; left when foamed "
        f"{_left(answer, 'foamed', system)}, at the driest {_left(answer, 'driest', system)}, at "
        f"the wettest {_left(answer, 'wettest', system)}; foam squeezed "
        f"{100 * answer.foam_strain:.0f} % at the worst. Status: {answer.status}.",
    ]
    if answer.governs.name == CRUSH_LIMIT:
        lines.append(f"The foam's limit is {answer.foam.source}.")
    return "\n\n".join(lines)


def _left(answer: Allowance, when: str, system: System) -> str:
    """Write the gap left at a time, as a band where slow and fast drying differ."""
    low, high = answer.gap_band(when)
    least = _both(low, system)
    return least if high - low < 0.05 else f"{least} to {_both(high, system)}"


def _both(mm: float, system: System) -> str:
    other: System = "metric" if system == "imperial" else "imperial"
    return f"{units.show(mm, system)} ({units.show(mm, other)})"


def _panel(order: Order, answer: Allowance, system: System) -> str:
    """Follow one panel of the joint's wall from its opening to its order size."""
    panel = next(
        (p for p in order.panels if any(e.allowance is answer for e in p.edges.values())), None
    )
    if panel is None:
        return ""
    rows = [_edge_row(panel, side) for side in SIDES]
    piece, left = panel.piece, panel.piece.left + panel.edges["left"].off
    off = {side: panel.edges[side].off for side in SIDES}
    wide = piece.right - piece.left
    nominal = piece.top_at(left) - piece.bottom
    lines = [
        f"## Panel: {panel.mark}",
        _table(("edge", "meets", "off mm", "why"), rows),
        f"Width {wide:.2f} - {off['left']:.2f} - {off['right']:.2f} = "
        f"{wide - off['left'] - off['right']:.2f}, rounded down to the plant's fraction = "
        f"**{panel.width:.2f} mm = {units.show(panel.width, system)}**.",
        f"Height at its left edge {nominal:.2f} - {off['top']:.2f} - {off['bottom']:.2f} = "
        f"{nominal - off['top'] - off['bottom']:.2f}, rounded down = "
        f"**{panel.left_height:.2f} mm = {units.show(panel.left_height, system)}**.",
    ]
    if panel.bevel:
        pitch = order.frame.seat.pitch
        lines.append(
            f"Top bevelled at {math.degrees(pitch):.1f} degrees: the outer face is lower by "
            f"{order.frame.job.panel.thickness:.1f} x tan(pitch) = {panel.bevel:.1f} mm."
        )
    return "\n\n".join(lines)


def _edge_row(panel: Panel, side: str) -> tuple[str, ...]:
    edge = panel.edges[side]
    return (side, edge.kind, f"{edge.off:.3f}", edge.why)


def _other(order: Order, system: System) -> str:
    lines = []
    for name, found in order.remedies.items():
        lines.append(f"{name} is too wide to foam. Worked again:")
        lines += [f"* {line}" for line in remedy_lines(found, system)]
        lines.append("* or a detail with less wood across it")
    return "\n".join(["## What else would do", "", *lines]) if lines else ""


def _dates(order: Order, system: System) -> str:
    """Return the calendar, what the timbers hold on the day, and what other dates would do."""
    calendar = order.frame.calendar
    if calendar is None:
        return ""
    rows = []
    for role, timber in order.frame.timbers.items():
        if (course := timber.course) is None:
            continue
        rows.append((role, *(_band(course.mean[:, at]) for at in (0, course.line.foamed, -1))))
    head = ("timber", "mean M %, panels on", "when foamed", f"after {calendar.years} years")
    events = ", ".join(f"{event} {getattr(calendar, event)}" for event in EVENTS)
    parts = [
        "## The calendar",
        f"{events}. Moistures for usual drying, with slow to fast in brackets. {CALENDAR_NOTE}",
        _table(head, rows),
        "\n".join(f"* {note}" for note in order.frame.notes),
    ]
    now = WhatIf("as planned", calendar, {a.joint.name: a for a in widest_of_each_kind(order)})
    changes = [
        (change.what, name, _band(a.seasons.closing_before_foam(), 2),
         _band(a.seasons.closing_after_foam(), 2), units.show(a.gap, system),
         units.show(a.off, system))
        for change in (now, *what_ifs(order))
        for name, a in change.answers.items()
        if a.joint.layers
    ]  # fmt: skip
    head_ifs = ("dates", "joint", "closes before foam, mm", "after, mm", "gap on the day", "off")
    return "\n\n".join([*parts, "### What if", _table(head_ifs, changes)])


def _band(values: Floats, digits: int = 1) -> str:
    low, usual, high = min(values), values[len(values) // 2], max(values)
    return f"{usual:.{digits}f} ({low:.{digits}f} to {high:.{digits}f})"


CALENDAR_NOTE = (
    "Siau's transverse diffusion model (from memory) is the least certain number in the chain; "
    "slow and fast are half and twice its coefficient, and each limit takes the band that asks "
    "for most. Frames are taken as kept under cover: rain on the timbers is not followed."
)


def _assumptions(order: Order) -> str:
    rows = [tuple(row) for row in assumptions(order.frame.job)]
    return "\n\n".join(
        ["## What this rests on", _table(("setting", "value", "from"), rows), METHOD_NOTE]
    )


METHOD_NOTE = (
    "The boxed-heart value is for wood that has not checked; once checked it moves less, down "
    "towards radial, so the value used is the safe one for a gap that closes. The table's values "
    "come from small, slowly dried pieces; heavy timbers have been seen to shrink 0.6 to 1 times "
    "as much in their first drying (section_factor), and 1 is used here: the safe side. Limits "
    "have the form movement / capability + tolerance of ASTM C1472 (from memory), which says of "
    "itself that it is not for joints sealed with aerosol foam."
)

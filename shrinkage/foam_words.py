"""The foam in words: lines for a terminal, and the worksheet's section with its numbers put in."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill

from shrinkage import units
from shrinkage.fasteners import FOR_THE_ENGINEER
from shrinkage.filling import BEADS, Filling
from shrinkage.foam_answer import JointFoam, failing, foam_answer, foam_remedies
from shrinkage.foam_stress import STEEPNESS, Cellular
from shrinkage.order import Order
from shrinkage.quantity import cans_to_buy, fills, quantity_rows
from shrinkage.remedies import Remedy
from shrinkage.units import System

ENGINEER_NOTE = (
    "Line loads, what holds against them and margins are for comparison and "
    f"{FOR_THE_ENGINEER}: they prove no connection. The makers of panel, foam and fasteners and "
    "licensed practice govern."
)
PEAK_NOTE = (
    "The stress is the foam's first, at the most it is ever squeezed; it eases with time, and how "
    "far is only put in (relaxation) where a source says so."
)


def remedy_lines(found: Sequence[Remedy], system: System) -> list[str]:
    """Return one line a remedy: what, gap, status and what the filler would then push with."""
    lines = []
    for remedy in found:
        load = remedy.line_load
        line = f"{remedy.what}: gap {units.show(remedy.gap, system)}, {remedy.status}"
        if load is not None:
            line += f", pushes {units.show_load(load, 'line load', system)}"
        lines.append(line + (", still more than holds" if remedy.lifts else ""))
    return lines


def foam_lines(order: Order, system: System) -> list[str]:
    """Return the terminal's paragraphs: what to buy, what pushes and holds, what does not fit.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}
        Of the text.
    """
    filling = order.frame.filling
    head = f"Foam (litres with {100 * filling.waste:g} % waste"
    if filling.litres_per_can is not None:
        head += f"; cans of {filling.litres_per_can:g} L"
    if filling.hole:
        head += f"; {fills(order)[-1].count} holes to plug"
    rows = [("joints", "length", "foam", "cans"), *quantity_rows(order, system)]
    note = fill(filling.note, 118)
    return ["\n".join([f"{head})", *_columns(rows), note]), *_pushes(order, system),
            *_failing(order, system)]  # fmt: skip


def _columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    padded = ("  ".join(map(str.ljust, row, widths)).rstrip() for row in rows)
    head, *rest = padded
    return [head, "  ".join("-" * width for width in widths), *rest]


def _pushes(order: Order, system: System) -> list[str]:
    against = [one for one in foam_answer(order) if one.holds is not None]
    if not against:
        return []
    rows = [("roof joint", "foam pushes", "held by", "margin")]
    for one in against:
        load = one.life.line_load
        pushes = "does not fit" if load is None else units.show_load(load, "line load", system)
        held = units.show_load(one.holds or 0.0, "line load", system)
        rows.append((one.name + ":", pushes, held, _margin(one)))
    head = f"What the foam pushes against (along the joint; {FOR_THE_ENGINEER})"
    return ["\n".join([head, *_columns(rows)])]


def _margin(one: JointFoam) -> str:
    if one.margin is not None:
        return f"{one.margin:.2f}, {FOR_THE_ENGINEER}"
    return "nothing pushes" if one.life.line_load == 0 else ""


def _failing(order: Order, system: System) -> list[str]:
    lines, otherwise = [], foam_remedies(order)
    for one in failing(order):
        lines.append(f"FOAM: {one.name}: {one.status}.")
        lines += [f"  {line}" for line in remedy_lines(otherwise.get(one.name, ()), system)]
    return ["\n".join(lines)] if lines else []


def foam_section(order: Order, system: System) -> str:
    """Return the worksheet's section on the foam.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}
        Of the text; the numbers put in are metric.

    Returns
    -------
    str
        Markdown.
    """
    filling, everything = order.frame.filling, foam_answer(order)
    worst: dict[str, JointFoam] = {}
    for one in everything:
        kind = one.life.answer.joint.kind
        kept = worst.get(kind)
        if kept is None or one.life.compression > kept.life.compression:
            worst[kind] = one
    shown = [one for one in worst.values() if one.life.answer.joint.layers]
    parts = ["## Foam and what it pushes against", _material(filling), PEAK_NOTE]
    if shown:
        parts += [_strain_table(shown, system), "\n".join(_by_hand(one, filling) for one in shown)]
    parts += [_held(order, everything, system), _faults(order, system), _quantity(order)]
    return "\n\n".join(part for part in parts if part)


def _material(filling: Filling) -> str:
    material = filling.material
    text = f"{filling.kind}: {filling.material_source}."
    if isinstance(material, Cellular):
        text += (
            f" sigma = {material.modulus:.0f} eps kPa up to {100 * material.yields:.0f} %, "
            f"{material.plateau:g} kPa up to eps_D (1 - 1/{STEEPNESS:g}) = "
            f"{100 * material.onset:.0f} %, then {material.plateau:g}/{STEEPNESS:g} x eps_D / "
            f"(eps_D - eps), eps_D = 1 - 1.4 rho/rho_s = {material.densification:.3f}."
        )
    if filling.relaxation < 1:
        text += f" {filling.relaxation:g} of it is taken to be left: {filling.relaxation_source}."
    return text


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _strain_table(shown: Sequence[JointFoam], system: System) -> str:
    rows = []
    for one in shown:
        found, foam = one.life, one.life.answer.foam
        stress, load = found.stress, found.line_load
        rows.append((
            one.name,
            f"{100 * found.compression:.1f} of {100 * foam.squeeze_once:g}",
            f"{100 * found.worked:.1f} of {100 * foam.works:g}",
            f"{100 * found.stretch:.1f} of {100 * foam.stretches:g}",
            "does not fit" if stress is None else units.show_load(stress, "pressure", system),
            "does not fit" if load is None else units.show_load(load, "line load", system),
            "yes" if found.is_over else "no",
            "yes" if found.is_bonded else "no",
            "yes" if found.is_hard else "no",
        ))  # fmt: skip
    head = ("joint (worst of its kind)", "squeezed once, %", "worked either way, %",
            "stretched when it reopens, %", "stress", "line load", "over what it takes",
            "stays bonded", "ever hard")  # fmt: skip
    return _table(head, rows)


def _by_hand(one: JointFoam, filling: Filling) -> str:
    found, answer = one.life, one.life.answer
    gap, most = answer.gap_foamed, found.compression
    closing = float(answer.seasons.closing_after_foam().max())
    text = f"* {one.name}: closes {closing:.2f} mm in a gap of {gap:.2f} mm"
    if answer.foam.cure:
        text += f", the foam {100 * answer.foam.cure:+g} % thicker by its cure"
    text += f": squeezed {most:.4f} at the worst"
    if found.stress is None:
        return text + "; does not fit, no load is stated"
    depth = {"full": f"{filling.thickness:.1f} mm thick",
             "core": f"{filling.thickness:.1f} - 2 x {filling.facing:.1f} mm thick",
             "two beads": f"{BEADS} x {filling.bead:.1f} mm"}[filling.depth]  # fmt: skip
    if abs(found.depth - filling.across) > 1e-6:
        depth += f", x {found.depth / filling.across:.4f} on the slant"
    return text + (
        f"; {found.stress:.2f} kPa x {found.depth:.1f} mm foamed ({depth}) = "
        f"{found.line_load:.0f} N/m; energy taken up {found.energy:.2f} kJ/m3"
    )


def _held(order: Order, everything: Sequence[JointFoam], system: System) -> str:
    holds = order.frame.hold_down
    if holds is None:
        return f"Nothing is said of what holds the roof panels down ([holddown]). {ENGINEER_NOTE}"
    rows = []
    for one in everything:
        if one.holds is None or one.dead is None:
            continue
        load = one.life.line_load
        held = (one.dead, holds.fasteners)
        against = [units.show_load(each, "line load", system) for each in held]
        pushes = "does not fit" if load is None else units.show_load(load, "line load", system)
        rows.append((one.name, pushes, *against, _margin(one)))
    head = ("roof joint", "pushes", "dead load", "fasteners", "margin = held / pushes")
    steps = "\n".join(f"* {step}" for step in holds.steps)
    return "\n\n".join([steps, _table(head, rows), ENGINEER_NOTE])


def _faults(order: Order, system: System) -> str:
    lines, otherwise = [], foam_remedies(order)
    for one in failing(order):
        lines.append(f"{one.name}: {one.status}." + (" Worked again:" if otherwise else ""))
        lines += [f"* {line}" for line in remedy_lines(otherwise.get(one.name, ()), system)]
        lines.append("")
    return "\n".join(lines).rstrip()


def _quantity(order: Order) -> str:
    filling, found = order.frame.filling, fills(order)
    rows = [
        (part.kind, f"{part.length / 1000:.2f}", f"{part.joints:.1f}",
         f"{part.count} x = {part.holes:.2f}", f"{part.litres:.1f}",
         "" if part.cans is None else f"{part.cans:.2f}")
        for part in found
    ]  # fmt: skip
    head = ("joints", "length m", "gap x depth x length, L", "holes, L", "with waste, L", "cans")
    whole = cans_to_buy(order)
    buy = f" To buy: **{whole} cans**." if whole is not None else ""
    rule = (
        f"Litres = gap x depth x length at the widest the gap is when foamed, and the holes; x "
        f"(1 + {filling.waste:g}) waste"
    )
    if filling.litres_per_can is not None:
        rule += f"; / {filling.litres_per_can:g} L a can"
    return "\n\n".join(["### How much foam", f"{rule}.{buy} {filling.note}", _table(head, rows)])

"""The report's chapter on inputs: air, timbers, foam, what spreads, each with its source."""

from __future__ import annotations

from shrinkage.blocks import Block, Heading, Table, Text
from shrinkage.order import Order
from shrinkage.spread import Spread


def inputs(order: Order, spread: Spread) -> list[Block]:
    """Return the chapter on inputs.

    Parameters
    ----------
    order : Order
        The answer to the job.
    spread : Spread
        What is not known.
    """
    frame = order.frame
    airs = tuple(
        (air.name, f"{air.low:.1f}", f"{air.mean:.1f}", f"{air.high:.1f}", air.source)
        for air in (frame.outdoors, frame.room)
    )
    timbers = tuple(
        (role, wood.species.name, f"{100 * wood.species.s_r:.1f}",
         f"{100 * wood.species.tangential:.1f}", f"{100 * wood.species.s_l:.2f}",
         f"{wood.species.fibre_saturation:.0f}", f"{wood.moisture:.0f}",
         f"{wood.species.source}; basis: {wood.species.basis}; on the day {wood.moisture_note}")
        for role, wood in frame.timbers.items()
    )  # fmt: skip
    return [
        Heading(1, "2. Inputs and where they come from"),
        Heading(2, "Air"),
        Table(("air", "low %", "mean %", "high %", "source"), airs),
        Heading(2, "Timbers"),
        Table(("timber", "species", "S_R %", "S_T %", "S_L %", "fs %", "M on the day %",
               "source"), timbers),
        Heading(2, "Foam"),
        Text(f"{frame.foam.name}: {frame.foam.source}. As a material: "
             f"{frame.filling.material_source}."),
        Heading(2, "What spreads"),
        Text("Amounts are the standard deviation of a normal spread, half the width of a uniform "
             "one, the whole width of one that lies below the value; without a unit they are a "
             "share of the value."),
        Table(("key", "what", "amount", "distribution", "source", "basis"),
              _spreads(order, spread)),
        Text("Every other setting, and whether it is the job's or a default, stands at the end of "
             "the worksheet."),
    ]  # fmt: skip


def _spreads(order: Order, spread: Spread) -> tuple[tuple[str, ...], ...]:
    """Return what spreads, a row each: key, what, amount, distribution, source, basis."""
    rows: list[tuple[str, ...]] = [
        (key, doubt.what, f"{doubt.amount:g} {'' if doubt.unit == '-' else doubt.unit}".strip(),
         doubt.shape, doubt.source, doubt.basis)
        for key, doubt in spread.doubts.items()
    ]  # fmt: skip
    loose = (
        ("section_factor_low", "lowest section factor", f"{spread.section_factor_low:g}"),
        ("alike", "correlation of two pieces of a species", f"{spread.alike:g}"),
        ("radial_tangential", "correlation of R and T in a piece", f"{spread.radial_tangential:g}"),
    )
    spec = order.frame.job.spread
    given = spec.model_fields_set if spec is not None else set()
    rows += [
        (key, what, value, "uniform" if "factor" in key else "copula",
         "the job file" if key in given else _LOOSE[key],
         "job file" if key in given else "assumed")
        for key, what, value in loose
    ]  # fmt: skip
    return tuple(rows)


_LOOSE = {
    "section_factor_low": "published range for heavy timbers, about 0.6 to 1",
    "alike": "no published source",
    "radial_tangential": "no published source",
}

"""A joint's stack as a table: what each member is, how far it dries, its share of the closure."""

from __future__ import annotations

from html import escape
from typing import Any

from shrinkage import units
from shrinkage.allowance import Allowance
from shrinkage.calendar import USUAL
from shrinkage.joint import Layer
from shrinkage.timber import Timber
from shrinkage.units import System

COLUMNS = ("member", "thickness", "direction (across, up)", "S %", "weight of R", "M from %",
           "M to %", "strain %", "closes mm", "share of closure", "source")  # fmt: skip


def stack_rows(answer: Allowance) -> list[dict[str, Any]]:
    """Return one row a layer, at the driest time, with the numbers as they are.

    Parameters
    ----------
    answer : Allowance
        The joint.

    Returns
    -------
    list of dict
        Keys 'member', 'thickness' [mm], 'direction', 'total', 'weight', 'strain' [-], 'from', 'to'
        [%], 'closes' [mm], 'share' [-], 'source'; None where there is nothing to say.
    """
    seasons, row = answer.seasons, answer.seasons.rows["driest"]
    whole = sum(_closes(layer, answer, row)[1] for layer in answer.joint.layers)
    rows = []
    for layer in answer.joint.layers:
        strain, closes = _closes(layer, answer, row)
        rows.append({
            "member": f"{layer.name} ({layer.side} side)", "thickness": layer.thickness,
            "direction": layer.direction, "strain": strain, "closes": closes,
            "share": closes / whole if whole else 0.0,
            **_wood(layer, row if seasons.line.sawn else None),
        })  # fmt: skip
    return rows


def _closes(layer: Layer, answer: Allowance, row: int) -> tuple[float, float]:
    """Return a layer's strain and what it closes at one time, at the estimate."""
    lost = layer.wood.history(layer.grain, answer.seasons.line)
    strain = float(lost[lost.shape[0] // 2, row, 1])
    return strain, strain * layer.lever(answer.joint.normal)


def _wood(layer: Layer, row: int | None) -> dict[str, Any]:
    """Return what is known of a layer's wood."""
    wood = layer.wood
    if not isinstance(wood, Timber):
        return {"total": None, "weight": None, "from": None, "to": None, "source": "its maker"}
    across = wood.weights("width" if layer.grain == "length" else layer.grain)
    first, last = wood.moisture, wood.air.low
    if wood.course is not None and row is not None:
        first, last = (float(wood.course.mean[USUAL, at]) for at in (0, row))
    return {
        "total": wood.total(layer.grain),
        "weight": None if layer.grain == "length" else across.estimate,
        "from": first, "to": last,
        "source": f"{wood.species.name}: {wood.species.source}, basis: {wood.species.basis}",
    }  # fmt: skip


STYLE = (
    "<style>.sk-stack, .sk-limits { border-collapse: collapse; font-size: 12px; margin: .4em 0 }"
    ".sk-stack td, .sk-stack th, .sk-limits td, .sk-limits th { padding: .15em .5em;"
    " border-bottom: 1px solid #ccc; vertical-align: top; line-height: 1.3; text-align: left }"
    ".sk-stack th, .sk-limits th { border-bottom: 2px solid #222 }"
    ".sk-stack caption { text-align: left; padding-bottom: .3em }"
    ".sk-worksheet td, .sk-worksheet th { padding: .1em .5em }</style>"
)


def stack_html(answer: Allowance, system: System) -> str:
    """Return the stack as an HTML table.

    Parameters
    ----------
    answer : Allowance
        The joint.
    system : {'imperial', 'metric'}
        Of the thicknesses.
    """
    head = "".join(f"<th>{escape(name)}</th>" for name in COLUMNS)
    body = "".join(f"<tr>{_cells(row, system)}</tr>" for row in stack_rows(answer))
    normal = answer.joint.normal
    words = (
        f"{answer.joint.name}: closure along n = ({normal[0]:.3f}, {normal[1]:.3f}); at the driest "
        "time, usual drying. A share below zero opens the joint."
    )
    return STYLE + (
        f'<table class="sk-stack"><caption>{escape(words)}</caption><thead><tr>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )


def _cells(row: dict[str, Any], system: System) -> str:
    def number(key: str, digits: int, per: float = 1.0) -> str:
        value = row[key]
        return "" if value is None else f"{per * value:.{digits}f}"

    across, up = row["direction"]
    cells = (
        (row["member"], False), (units.show(row["thickness"], system), True),
        (f"({across:.3f}, {up:.3f})", True), (number("total", 2, 100), True),
        (number("weight", 3), True), (number("from", 1), True), (number("to", 1), True),
        (number("strain", 3, 100), True), (number("closes", 3), True),
        (f"{100 * row['share']:.0f} %", True), (row["source"], False),
    )  # fmt: skip
    style = ' style="text-align:right;white-space:nowrap"'
    return "".join(f"<td{style if right else ''}>{escape(str(text))}</td>" for text, right in cells)

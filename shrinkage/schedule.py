"""The order as tables: one row a panel, one a panel edge, one a joint, and what was assumed.

Millimetre columns end in ``_mm`` and hold numbers; columns without a unit hold text as people read
it, in the job's own units.
"""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING, Any

from shrinkage import units
from shrinkage.allowance import Allowance
from shrinkage.fasteners import hold_settings
from shrinkage.filling import settings
from shrinkage.foam_words import foam_lines, remedy_lines
from shrinkage.job import Job
from shrinkage.order import SIDES, Order, Panel
from shrinkage.timber import Floats
from shrinkage.units import System

if TYPE_CHECKING:
    import pandas as pd

CAUTIONS = (
    "These are predictions for average wood of a species, not for this piece of it.",
    "Structural adequacy, connections, fire and energy code are for the engineer and the local "
    "authority.",
    "The panel, foam and fastener makers' instructions govern over anything here.",
    "Unequal gaps, lifted panels, or checks running through a joint found on site go to the "
    "engineer before anything is foamed.",
)


def panel_table(order: Order, system: System | None = None) -> pd.DataFrame:
    """Return one row a panel: place, nominal opening, what comes off, order size, gaps.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        Of the text columns; the job's own units otherwise.

    Returns
    -------
    pandas.DataFrame
        See the module's docstring for the units.
    """
    import pandas as pd

    system = system or order.frame.job.units
    return pd.DataFrame([_panel_row(panel, system, order) for panel in order.panels])


def _panel_row(panel: Panel, system: System, order: Order) -> dict[str, Any]:
    piece, peak = panel.piece, panel.peak
    step = order.frame.rules.fraction

    def text(mm: float) -> str:
        return length_text(mm, system, step)

    high = [y - piece.bottom for _, y in piece.top]
    row: dict[str, Any] = {
        "panel": panel.mark,
        "place": panel.place,
        "from_left_mm": round(piece.left, 1),
        "above_foot_mm": round(piece.bottom, 1),
        "opening_width": text(piece.right - piece.left),
        "opening_height": text(max(high)),
    }
    for side in SIDES:
        row[f"off_{side}"] = text(panel.edges[side].off)
    row |= {
        "order_width": text(panel.width),
        "order_height_left": text(panel.left_height),
        "order_height_right": text(panel.right_height),
        "order_peak": f"{text(peak[1])} at {text(peak[0])}" if peak else "",
        "outer_face_less": text(panel.bevel) if panel.bevel else "",
        "cut_outs": "; ".join(
            f"{h.name}: {text(h.width)} x {text(h.height)}, {text(h.left)} from left, "
            f"{text(h.foot)} up"
            for h in panel.cutouts
        ),
        "order_width_mm": round(panel.width, 1),
        "order_height_left_mm": round(panel.left_height, 1),
        "order_height_right_mm": round(panel.right_height, 1),
        "order_peak_mm": round(peak[1], 1) if peak else None,
        "opening_width_mm": round(piece.right - piece.left, 1),
        "opening_height_mm": round(max(high), 1),
    }
    for side in SIDES:
        row |= _edge_numbers(panel, side)
    return row | {"notes": "; ".join(panel.notes)}


def _edge_numbers(panel: Panel, side: str) -> dict[str, Any]:
    """Return an edge's reason, gap on the day, gaps in service and foam strain."""
    edge = panel.edges[side]
    answer = edge.allowance
    holds = answer is not None and answer.status != "bearing"
    numbers = gap_numbers(answer) if answer and holds else dict.fromkeys(GAP_COLUMNS)
    head: dict[str, Any] = {f"{side}_meets": edge.kind, f"{side}_why": edge.why}
    head[f"{side}_off_mm"] = round(edge.off, 1)
    return head | {f"{side}_{name}": number for name, number in numbers.items()}


GAP_COLUMNS = (
    "gap_day_mm", "gap_foamed_mm", "gap_driest_mm", "gap_wettest_mm", "foam_squeeze_percent",
)  # fmt: skip


def gap_numbers(answer: Allowance) -> dict[str, float]:
    """Return the gaps of a joint through its life [mm] and the foam's compression [%]."""
    gaps = (answer.gap, answer.gap_foamed, answer.gap_dry, answer.gap_wet)
    numbers = (*gaps, 100 * answer.foam_strain)
    return {name: round(n, 1) for name, n in zip(GAP_COLUMNS, numbers, strict=True)}


def edge_table(order: Order) -> pd.DataFrame:
    """Return one row a panel edge, long form of what `panel_table` holds in columns.

    Returns
    -------
    pandas.DataFrame
        Columns panel, edge, meets, joint, off_mm, why, gaps [mm] and foam compression [%].
    """
    import pandas as pd

    rows = []
    for panel in order.panels:
        for side in SIDES:
            edge, numbers = panel.edges[side], _edge_numbers(panel, side)
            row: dict[str, Any] = {"panel": panel.mark, "edge": side, "meets": edge.kind}
            row["joint"] = edge.allowance.joint.name if edge.allowance else ""
            row |= {"off_mm": numbers[f"{side}_off_mm"], "why": edge.why}
            rows.append(row | {name: numbers[f"{side}_{name}"] for name in GAP_COLUMNS})
    return pd.DataFrame(rows)


def joint_table(order: Order) -> pd.DataFrame:
    """Return one row a joint: closure, every limit, which governs, gap on the day and after.

    Returns
    -------
    pandas.DataFrame
        Widths along the joint's normal [mm], foam compression [%].
    """
    import pandas as pd

    rows = []
    for answer in order.allowances:
        row: dict[str, Any] = {
            "joint": answer.joint.name,
            "kind": answer.joint.kind,
            "closing_least_mm": round(answer.driest.least, 2),
            "closing_estimate_mm": round(answer.driest.estimate, 2),
            "closing_most_mm": round(answer.closing, 2),
            **_by_band("before_foam", answer.seasons.closing_before_foam()),
            **_by_band("after_foam", answer.seasons.closing_after_foam()),
            "seasonal_swing_mm": round(answer.swing, 2),
            "opening_mm": round(answer.opening, 2),
        }
        row |= {f"{limit.name}_mm": round(limit.needed, 2) for limit in answer.limits}
        row |= {
            "governs": answer.governs.name,
            "tolerance_mm": round(answer.tolerance, 2),
            "needed_mm": round(answer.needed, 2),
            "off_panel_mm": round(answer.off, 2),
        }
        rows.append(row | gap_numbers(answer) | {"status": answer.status})
    return pd.DataFrame(rows)


def _by_band(when: str, closing: Floats) -> dict[str, float]:
    """Return a closing for usual drying, and its band where there is a calendar [mm]."""
    row = {f"closing_{when}_mm": round(float(closing[len(closing) // 2]), 2)}
    if len(closing) > 1:
        row[f"closing_{when}_slow_mm"] = round(float(closing[0]), 2)
        row[f"closing_{when}_fast_mm"] = round(float(closing[-1]), 2)
    return row


def assumption_table(order: Order) -> pd.DataFrame:
    """Return every setting the answer rests on, its value, and whether it is a default.

    Returns
    -------
    pandas.DataFrame
        Columns setting, value, from.
    """
    import pandas as pd

    return pd.DataFrame(assumptions(order.frame.job), columns=["setting", "value", "from"])


def assumptions(job: Job) -> list[tuple[str, str, str]]:
    """Return (setting, value, 'default' or 'job file') for every setting that has a default."""
    rows = settings(job.foam, job.units) + hold_settings(job.holddown, job.units)
    for table in ("allow", "eave", "corner", "foot", "panel"):
        spec = getattr(job, table)
        for key, field in type(spec).model_fields.items():
            if field.is_required():
                continue
            origin = "job file" if key in spec.model_fields_set else "default"
            rows.append((f"{table}.{key}", _plain(key, getattr(spec, key), job.units), origin))
    for role, timber in job.timber.items():
        for key in ("heart", "moisture", "section_factor", "length"):
            origin = "job file" if key in timber.model_fields_set else "default"
            value = _plain(key, getattr(timber, key), job.units)
            rows.append((f"timber.{role}.{key}", value, origin))
    return rows


_FRACTIONS = ("squeeze_once", "recovery", "works", "expansion")
_WITHOUT = {
    "moisture": "green",
    "length": "taken from the wall",
    "rafter_above_seat": "the rafter's whole depth",
    "purlin_above_seat": "the purlin's whole depth",
    "source": "assumed, no published source",
}


def _plain(key: str, value: Any, system: System) -> str:
    """Write a setting as its owner would."""
    if value is None:
        return _WITHOUT.get(key, "none")
    if key in _FRACTIONS or key == "moisture":
        return f"{value:g} %"
    if key == "heart":
        at = f" at {value.x:.0f}, {value.y:.0f} mm" if value.kind == "pith" else ""
        return f"{value.kind}{at} ({value.meaning})"
    if isinstance(value, float) and key != "section_factor":
        return f"{units.show(value, system)} ({value:.2f} mm)"
    return str(value)


def length_text(mm: float, system: System, step: float) -> str:
    """Write a length to the plant's fraction: sixteenths, or finer where its fraction is finer."""
    denominator = 16
    while system == "imperial" and step < units.MM_PER_INCH / denominator - 1e-9:
        denominator *= 2
        if denominator >= 64:
            break
    return units.show(mm, system, denominator)


def terminal(order: Order, system: System | None = None) -> str:
    """Return the schedule as text for a terminal, one line a panel and one a kind of joint.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.

    Returns
    -------
    str
        Lines of about 120 characters, longer where names are long.
    """
    system = system or order.frame.job.units
    panels = panel_table(order, system)
    panels["off L/R/T/B"] = panels[[f"off_{side}" for side in SIDES]].agg(" ".join, axis=1)
    panels["opening"] = panels["opening_width"] + " x " + panels["opening_height"]
    panels["order width"] = panels["order_width"]
    same = panels["order_height_left"] == panels["order_height_right"]
    both = panels["order_height_left"] + " / " + panels["order_height_right"]
    panels["order height"] = panels["order_height_left"].where(same, both)
    panels["peak"] = panels["order_peak"]
    shown = panels[["panel", "opening", "off L/R/T/B", "order width", "order height", "peak"]]
    return "\n\n".join(
        [
            order.frame.job.title,
            "Panels (openings as drawn; what comes off left, right, top, bottom; sizes to order)\n"
            + aligned(shown),
            *_cut_out_lines(panels),
            "Joints (gap to hold on the day, then the least left in the driest and wettest month)\n"
            + aligned(_joint_lines(order, system)),
            *foam_lines(order, system),
            *_problem_lines(order, system),
            "\n".join(fill(f"! {text}", 118, subsequent_indent="  ") for text in CAUTIONS),
        ]
    )


def _cut_out_lines(panels: pd.DataFrame) -> list[str]:
    cut = panels[(panels["cut_outs"] != "") | (panels["notes"] != "")]
    lines = [
        f"{row['panel']}: " + "; ".join(filter(None, (row["cut_outs"], row["notes"])))
        for row in cut.to_dict("records")
    ]
    head = "Cut-outs (width x height, from the ordered panel's lower left corner) and notes"
    return ["\n".join([head, *lines])] if lines else []


def _joint_lines(order: Order, system: System) -> pd.DataFrame:
    import pandas as pd

    rows = [
        {
            "joint": answer.joint.name,
            "hold on the day": units.show(answer.gap, system),
            **(_before_and_after(answer, system) if order.frame.calendar else {}),
            "driest": _to(answer.gap_band("driest"), system),
            "wettest": _to(answer.gap_band("wettest"), system),
            "foam squeezed": f"{100 * answer.foam_strain:.0f} %",
            "governed by": answer.governs.name,
        }
        for answer in order.allowances
        if answer.status != "bearing"
    ]
    return pd.DataFrame(rows)


def _to(band: tuple[float, float], system: System, denominator: int = 16) -> str:
    """Write a band as one length, or as two where they read differently."""
    return " to ".join(dict.fromkeys(units.show(mm, system, denominator) for mm in band))


def _before_and_after(answer: Allowance, system: System) -> dict[str, str]:
    """Return what closes before and after the foam, with the band from fast to slow drying."""
    seasons = answer.seasons
    return {
        f"closes {when} foam": _to((float(by.min()), float(by.max())), system, 32)
        for when, by in (
            ("before", seasons.closing_before_foam()),
            ("after", seasons.closing_after_foam()),
        )
    }


def _problem_lines(order: Order, system: System) -> list[str]:
    lines = []
    for answer in order.problems:
        wide, most = (units.show(mm, system) for mm in (answer.widest, answer.foam.most_width))
        lines.append(
            f"TOO WIDE TO FOAM: {answer.joint.name}, {wide} wide on the day; the foam fills up to "
            f"{most}. What else:"
        )
        found = order.remedies[answer.joint.name]
        lines += [f"  {line}" for line in remedy_lines(found, system)]
        lines.append("  or a detail with less wood across it")
    return ["\n".join(lines)] if lines else []


def aligned(table: pd.DataFrame) -> str:
    """Return a table with its columns aligned left."""
    columns = {
        name: max(len(name), *(len(str(cell)) for cell in table[name])) for name in table.columns
    }
    head = "  ".join(name.ljust(width) for name, width in columns.items())
    body = [
        "  ".join(str(row[name]).ljust(width) for name, width in columns.items()).rstrip()
        for row in table.to_dict("records")
    ]
    return "\n".join([head.rstrip(), "  ".join("-" * width for width in columns.values()), *body])

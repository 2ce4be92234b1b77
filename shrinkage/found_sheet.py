"""Gaps as they were found, as a table, as text for a terminal, and as a sheet to follow by hand."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import fill
from typing import TYPE_CHECKING, Any

from shrinkage.blocks import Block, Bullets, Heading, Table, Text, from_markdown, to_markdown
from shrinkage.found import AsFound, Found
from shrinkage.schedule import CAUTIONS, aligned, length_text
from shrinkage.units import TAPE_STEP, System, round_to, show
from shrinkage.worksheet import movement_sheet

if TYPE_CHECKING:
    import pandas as pd

RARE = 1e-4
"""A chance below this is not told from none [-]."""


def answer_text(one: Found, system: System, fraction: float) -> str:
    """Write an answer as the crew reads it.

    Parameters
    ----------
    one : Found
        The gap.
    system : {'imperial', 'metric'}
        Of lengths.
    fraction : float
        The plant's, to which an amount is rounded [mm].

    Returns
    -------
    str
        Such as ``trim 1/8"`` or ``wait until 2027-10-01``.
    """
    choice = one.choice
    if choice.until:
        return f"{choice.answer} until {choice.until}"
    if choice.by:
        return f"{choice.answer} {length_text(choice.by, system, fraction)}"
    return choice.answer


def chance_text(share: float) -> str:
    """Write a chance as a percentage, small ones as less than."""
    if share < RARE:
        return f"under {100 * RARE:g} %"
    return f"{100 * share:.0f} %" if share > 0.1 else f"{100 * share:.2g} %"


def limit_text(mm: float, system: System, rounding: str) -> str:
    """Write a limit rounded to the safe side: 'up' for a least, 'down' for a most."""
    return show(round_to(mm, TAPE_STEP[system], "up" if rounding == "up" else "down"), system)


def found_table(result: AsFound, system: System | None = None) -> pd.DataFrame:
    """Return one row a gap.

    Parameters
    ----------
    result : AsFound
        From `found.as_found`.
    system : {'imperial', 'metric'}, optional
        Of the columns of text; the job's own units otherwise.

    Returns
    -------
    pandas.DataFrame
        Columns ending in ``_mm`` are numbers [mm]; the others text.
    """
    import pandas as pd

    system = system or result.order.frame.job.units
    return pd.DataFrame([_row(one, system, result.order.frame.rules.fraction)
                         for one in result.found])  # fmt: skip


def _row(one: Found, system: System, fraction: float) -> dict[str, Any]:
    choice = one.choice
    return {
        "panel": one.edge.panel.mark,
        "edge": one.edge.side,
        "joint": one.today.joint.name,
        "day": f"{one.day}",
        "found": show(one.gap, system),
        "answer": answer_text(one, system, fraction),
        "closes_yet": show(one.closing, system, 32),
        "from": limit_text(one.least, system, "up"),
        "up_to": limit_text(one.most, system, "down"),
        "chance_of_touching": chance_text(one.touching),
        "why": choice.why,
        "governed_by": one.today.governs.name,
        "readings": len(one.readings),
        "found_mm": round(one.gap, 2),
        "by_mm": round(choice.by, 2),
        "closes_estimate_mm": round(one.estimate, 2),
        "closes_most_mm": round(one.closing, 2),
        "from_mm": round(one.least, 2),
        "up_to_mm": round(one.most, 2),
        "touching_percent": round(100 * one.touching, 3),
    }


SHOWN = ("place", "found", "answer", "closes yet", "from", "up to", "chance of touching")


def shown_table(result: AsFound, system: System) -> pd.DataFrame:
    """Return the columns people read, with headings in words."""
    table = found_table(result, system)
    table["place"] = table["panel"] + ", " + table["edge"]
    return table.rename(columns=lambda name: name.replace("_", " "))[list(SHOWN)]


def terminal(result: AsFound, system: System | None = None) -> str:
    """Return the answers as text for a terminal, the reasons of all but 'go' below.

    Parameters
    ----------
    result : AsFound
        From `found.as_found`.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.
    """
    system = system or result.order.frame.job.units
    reasons = [f"{place}: {why}" for place, why in _reasons(result.found)]
    parts = [
        f"{result.order.frame.job.title}: as found on {days(result)}",
        aligned(shown_table(result, system)),
        "\n".join(fill(line, 118, subsequent_indent="  ") for line in reasons),
        "\n".join(fill(f"! {text}", 118, subsequent_indent="  ") for text in CAUTIONS),
    ]
    return "\n\n".join(part for part in parts if part)


def _reasons(found: Iterable[Found]) -> list[tuple[str, str]]:
    return [(one.edge.place, one.choice.why) for one in found if one.choice.answer != "go"]


def days(result: AsFound) -> str:
    """Return the day, or the days, of the gaps."""
    return ", ".join(dict.fromkeys(f"{day}" for day in sorted(one.day for one in result.found)))


def found_sheet(result: AsFound, system: System | None = None) -> str:
    """Write the sheet: what was read, every answer, and the tightest gap followed by hand.

    Parameters
    ----------
    result : AsFound
        From `found.as_found`.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.

    Returns
    -------
    str
        Markdown.
    """
    system = system or result.order.frame.job.units
    blocks: list[Block] = [
        Heading(1, f"As found: {result.order.frame.job.title}"),
        Text(f"Measured on {days(result)}. {SPENT}"),
        Bullets(CAUTIONS),
        *answers(result, system),
        *by_hand(result, system),
        *_listed("What this rests on", _settings(result, system)),
    ]
    return to_markdown(blocks)


def answers(result: AsFound, system: System) -> list[Block]:
    """Return the table of answers, their reasons and what they rest on, as blocks of a report."""
    table = shown_table(result, system)
    rows = tuple(tuple(map(_cell, row)) for row in table.itertuples(index=False))
    return [
        Heading(2, "Answers"),
        Table(tuple(table.columns), rows),
        *_listed("Reasons", [f"{place}: {why}" for place, why in _reasons(result.found)]),
        *_listed("The timbers that day", _moistures(result)),
        *_listed("Readings set aside", result.problems),
    ]


SPENT = (
    "What plant, frame and setting were off by is in the gap that was measured, so their "
    "tolerances no longer count; the tape's error does, twice its standard deviation. *Closes yet* "
    "is the most that is still to come from the day of the measurement, *from* and *up to* are the "
    "gaps that do."
)


def _cell(text: object) -> str:
    return str(text).replace("|", "/")


def _listed(head: str, items: Iterable[str]) -> list[Block]:
    found = tuple(items)
    return [Heading(2, head), Bullets(found)] if found else []


def _moistures(result: AsFound) -> list[str]:
    return [
        f"{day}, {role}: {how}"
        for day, fresh in result.moistures.items()
        for role, (_, how) in fresh.items()
    ] or ["not metered: the job's own moistures, or its calendar's"]


def tightest(result: AsFound) -> Found:
    """Return the gap that has least to spare, of those that move if any does."""
    moving = [one for one in result.found if one.today.joint.layers]
    return min(moving or result.found, key=lambda one: one.gap - one.least)


def by_hand(result: AsFound, system: System) -> list[Block]:
    """Return the tightest gap followed by hand, as blocks of a report."""
    one = tightest(result)
    today = one.today
    limits = Table(
        ("limit", "how, mm", "needs mm", ""),
        tuple(
            (limit.name, limit.formula, f"{limit.needed:.2f}",
             "**governs**" if limit is today.governs else "")
            for limit in today.limits
        ),
    )  # fmt: skip
    steps = (
        f"Needs {today.governs.needed:.2f} + tape {today.tolerance:.2f} = {one.least:.2f} mm "
        f"({limit_text(one.least, system, 'up')}); up to {one.most:.2f} mm can be foamed; found "
        f"{one.gap:.2f} mm ({show(one.gap, system)}). So: "
        f"**{answer_text(one, system, result.order.frame.rules.fraction)}**. {one.choice.why}."
    )
    return [
        Heading(2, f"By hand: {one.edge.place} ({today.joint.name})"),
        Text(f"The day is {one.day}, the day of the measurement."),
        *from_markdown("\n\n".join(movement_sheet(today))),
        limits,
        Text(steps),
    ]


def _settings(result: AsFound, system: System) -> list[str]:
    job = result.order.frame.job
    site, given = job.site, job.site.model_fields_set
    written = {
        "tape": f"{site.tape:.2f} mm",
        "uneven": show(site.uneven, system),
        "most_trim": f"{site.most_trim:g} %",
        "most_pack": show(site.most_pack, system),
        "fresh": f"{site.fresh} days",
    }
    lines = [
        f"site.{key} {text} ({'job file' if key in given else 'default'})"
        for key, text in written.items()
    ]
    return [*lines, *(f"foam: {source}" for source in {one.today.foam.source: 0
                                                       for one in result.found})]  # fmt: skip

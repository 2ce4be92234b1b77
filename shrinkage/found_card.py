"""The crew card for the day: the gaps as they were found, and what to do about each."""

from __future__ import annotations

from pathlib import Path

from shrinkage.crew_card import KINDS, Card, CrewLine, write_crew_card
from shrinkage.export import Writer, write_all
from shrinkage.found import AsFound, Found
from shrinkage.found_sheet import (
    answer_text,
    chance_text,
    days,
    found_sheet,
    found_table,
    limit_text,
)
from shrinkage.units import System, show
from shrinkage.workbook import safe

MESSAGE = (
    "As measured on {days}. Do what stands beside each gap before it is foamed. The gaps still "
    "close by themselves: wood that touches a panel pushes it."
)

RULES = (
    ("GO", "It is as meant: foam it when the foam is due."),
    ("TRIM", "Take that much off the panel's edge, straight and square. Measure again."),
    ("PACK", "Fix a strip that neither dries nor swells, never wood, to the panel's edge; foam "
     "what is left."),
    ("WAIT", "Keep the joint open and dry until that day. Measure again."),
    ("STOP: CALL", "The engineer looks before anything is foamed."),
    ("Shims, blocks, spacers", "Pull them before foaming. Nothing hard stays in a gap."),
)  # fmt: skip
"""What each answer means to the crew."""


def found_card(result: AsFound, system: System | None = None) -> Card:
    """Return the card of gaps as they were found, places with the same answer together.

    Parameters
    ----------
    result : AsFound
        From `found.as_found`.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.

    Returns
    -------
    Card
        For `crew_card.write_crew_card`.
    """
    system = system or result.order.frame.job.units
    fraction = result.order.frame.rules.fraction
    groups: dict[tuple[str, str], list[Found]] = {}
    for kind in KINDS:
        for one in result.found:
            if one.today.joint.kind == kind:
                key = (KINDS[kind], answer_text(one, system, fraction))
                groups.setdefault(key, []).append(one)
    given = {answer.split()[0].upper() for _, answer in groups} | {"STOP:", "Shims,"}
    return Card(
        lines=tuple(_line(*key, same, system) for key, same in groups.items()),
        head="CREW CARD: GAPS AS FOUND",
        message=MESSAGE.format(days=days(result)),
        columns=("found", "not under", "not over", "do"),
        shares=(0.44, 0.57, 0.67, 0.77),
        otherwise="read each off the list of gaps as found",
        rules=tuple(rule for rule in RULES if rule[0].split()[0] in given),
        smallest=7.0,
    )


def _line(kind: str, answer: str, same: list[Found], system: System) -> CrewLine:
    """Return the line of gaps with one answer; limits and chances are the worst of them."""
    gaps = sorted(one.gap for one in same)
    found = " to ".join(dict.fromkeys(show(gap, system) for gap in (gaps[0], gaps[-1])))
    closes = show(max(one.closing for one in same), system, 32)
    chance = chance_text(max(one.touching for one in same))
    asks = same[0].choice.answer == "ask the engineer"
    why = "; ".join(dict.fromkeys(one.choice.why for one in same))
    return CrewLine(
        kind=kind,
        places=tuple(one.edge.place for one in same),
        hold=found,
        least="" if asks else limit_text(max(one.least for one in same), system, "up"),
        most="" if asks else limit_text(min(one.most for one in same), system, "down"),
        measured="",
        warning=why if asks else "",
        note=f"closes {closes} yet; chance of touching {chance}",
        answer="" if asks else answer.upper(),
    )


FILES = ("as_found.csv", "as_found.md", "crew_card_today.pdf")


def found_writers(result: AsFound, system: System | None = None) -> dict[str, Writer]:
    """Return the files by name, each with what writes it.

    Parameters
    ----------
    result : AsFound
        From `found.as_found`.
    system : {'imperial', 'metric'}, optional
        Of their text; the job's own units otherwise.
    """
    card = found_card(result, system)
    return {
        "as_found.csv": lambda path: safe(found_table(result, system)).to_csv(path, index=False),
        "as_found.md": lambda path: path.write_text(found_sheet(result, system), encoding="utf-8"),
        "crew_card_today.pdf": lambda path: write_crew_card(result.order, path, system, card),
    }


def write_found(
    result: AsFound, folder: str | Path, system: System | None = None, force: bool = False
) -> list[Path]:
    """Write the answers as CSV, the sheet, and the crew card for the day: all of them or none.

    Parameters
    ----------
    result : AsFound
        From `found.as_found`.
    folder : str or Path
        Where to; made if it does not exist.
    system : {'imperial', 'metric'}, optional
        Of their text; the job's own units otherwise.
    force : bool
        Whether files that exist may be replaced.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ShrinkageError
        If a file exists and `force` is not given, or the folder cannot be written to.
    """
    return write_all(Path(folder), found_writers(result, system), force)

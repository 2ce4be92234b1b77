"""Findings in words: amounts to go by in 32nds, and the section a worksheet prints of them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from shrinkage import units
from shrinkage.finding import Amount, Finding
from shrinkage.finish_answer import KINDS, findings
from shrinkage.frame import Frame
from shrinkage.job_finish import FinishSpec
from shrinkage.section import Heart
from shrinkage.units import System

FINEST = 32
"""Lengths are written in 32nds of an inch, or to the tenth of a millimetre."""
HEAD = ("what", "go by", "least", "estimate", "most")


def go_by(found: Amount, system: System = "imperial") -> str:
    """Write the end of an amount to go by, rounded to the safe side.

    Parameters
    ----------
    found : Amount
        What was found; up where its most governs, down where its least does.
    system : {'imperial', 'metric'}
        Of the text.

    Returns
    -------
    str
        Such as ``5/32"``.
    """
    if found.kind == "angle":
        return _shown(found, found.governing, system)
    step = units.MM_PER_INCH / FINEST if system == "imperial" else 0.1
    safe = units.round_to(found.governing, step, "up" if found.governs == "most" else "down")
    return units.show(safe, system, FINEST)


def _shown(found: Amount, value: float, system: System) -> str:
    if found.kind == "angle":
        return f"{math.degrees(value) + 0.0:.2f} deg"
    return units.show(value, system, FINEST)


def amount_rows(found: Finding, system: System = "imperial") -> list[tuple[str, ...]]:
    """Return a finding's amounts as rows under `HEAD`.

    Parameters
    ----------
    found : Finding
        What was found.
    system : {'imperial', 'metric'}
        Of the text; what to go by is written in both.
    """
    other: System = "metric" if system == "imperial" else "imperial"
    rows = []
    for one in found.amounts:
        ends = (_shown(one, v, system) for v in (one.least, one.estimate, one.most))
        both = go_by(one, system)
        if one.kind == "length":
            both += f" ({units.show(one.governing, other, FINEST)})"
        rows.append((one.name, both, *ends))
    return rows


def shared_notes(found: Sequence[Finding]) -> tuple[str, ...]:
    """Return the notes that several findings carry, to be said once."""
    counted = Counter(note for one in found for note in one.notes)
    return tuple(note for note, count in counted.items() if count > 1)


def finding_sheet(found: Finding, system: System = "imperial", said: Sequence[str] = ()) -> str:
    """Return one finding as Markdown: amounts, how they come about, what to mind.

    Parameters
    ----------
    found, system
        As `amount_rows`.
    said : sequence of str
        Notes said elsewhere.
    """
    rows = [HEAD, tuple("---" for _ in HEAD), *amount_rows(found, system)]
    table = "\n".join("| " + " | ".join(row) + " |" for row in rows)
    notes = _bullets([note for note in found.notes if note not in said])
    parts = [f"### {found.name}", table, notes, "By hand, in mm:", _bullets(found.steps)]
    return "\n\n".join(part for part in parts if part)


def _bullets(lines: Sequence[str]) -> str:
    return "\n".join(f"* {line}" for line in lines)


def defaults_taken(spec: FinishSpec, system: System) -> str:
    """Return the defaults the finishes of a job rest on, as Markdown.

    Parameters
    ----------
    spec : FinishSpec
        The job file's lists.
    system : {'imperial', 'metric'}
        Of the text.
    """
    lines = []
    for kind in KINDS:
        for one in getattr(spec, kind):
            taken = [
                f"{key} {_plain(key, getattr(one, key), system)}"
                for key, field in type(one).model_fields.items()
                if key not in one.model_fields_set and field.default is not None
            ]
            lines.append(f"{one.name}: {', '.join(taken)}")
    return "\n\n".join(["### Defaults taken", _bullets(lines)])


def _plain(key: str, value: object, system: System) -> str:
    if isinstance(value, Heart):
        return value.kind
    if not isinstance(value, float):
        return str(value)
    if key == "angle":
        return f"{math.degrees(value):.1f} deg"
    return units.show(value, system, FINEST)


def finish_section(frame: Frame, system: System) -> str:
    """Return the worksheet's section of finishes and joinery, empty where the job has none.

    Parameters
    ----------
    frame : Frame
        The job's frame.
    system : {'imperial', 'metric'}
        Of the text.

    Returns
    -------
    str
        Markdown.
    """
    found = findings(frame)
    if not found:
        return ""
    head = (
        "Least, estimate and most go from the least the rings and a heavy timber's first drying "
        "can do to the most; what to go by is rounded to the safe side."
    )
    said = shared_notes(found)
    parts = ["## Finishes and joinery", head, _bullets(said)]
    parts += [finding_sheet(one, system, said) for one in found]
    parts.append(defaults_taken(frame.job.finish, system))
    return "\n\n".join(part for part in parts if part)

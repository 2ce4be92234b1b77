"""A sheet of a job's finishes and joinery: as Markdown, and with pictures as one HTML file."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from pathlib import Path

from shrinkage.blocks import from_markdown
from shrinkage.errors import ShrinkageError
from shrinkage.export import Writer, write_all
from shrinkage.finding import Finding
from shrinkage.finish_answer import KINDS, findings
from shrinkage.finish_words import defaults_taken, finding_sheet, finish_section, shared_notes
from shrinkage.frame import Frame, build
from shrinkage.jobfile import Document
from shrinkage.joinery_figures import draw
from shrinkage.review_html import STYLE, elements
from shrinkage.schedule import CAUTIONS
from shrinkage.units import System

BEFORE = "**Before you use this**"


def write_finishes(
    document: Document, folder: str | Path, system: System | None = None, force: bool = False
) -> list[Path]:
    """Write the sheet of a job's finishes and joinery, as ``finishes.md`` and ``finishes.html``.

    Parameters
    ----------
    document : Document
        The job.
    folder : str or Path
        Where to; made if it does not exist.
    system : {'imperial', 'metric'}, optional
        The job's own units otherwise.
    force : bool
        Whether files that exist may be replaced.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ShrinkageError
        If the job asks for no finish, something in it is wrong, or a file cannot be written.
    """
    return write_all(Path(folder), finish_writers(document, system), force)


def finish_writers(document: Document, system: System | None = None) -> dict[str, Writer]:
    """Return what writes each file of the sheet, by name; arguments as `write_finishes`."""
    frame = build(document)
    system = system or frame.job.units
    if not findings(frame):
        asked = ", ".join(f"[[finish.{kind}]]" for kind in KINDS)
        raise ShrinkageError(f"{document.source.name}: no finish or joinery; accepted: {asked}")
    text, page = sheet_text(frame, system), sheet_html(frame, system)
    return {
        "finishes.md": lambda path: path.write_text(text, "utf-8"),
        "finishes.html": lambda path: path.write_text(page, "utf-8"),
    }


def sheet_text(frame: Frame, system: System) -> str:
    """Return the sheet as Markdown.

    Parameters
    ----------
    frame : Frame
        The job's frame.
    system : {'imperial', 'metric'}
        Of the text.
    """
    cautions = "\n".join(f"* {caution}" for caution in CAUTIONS)
    parts = [f"# Finishes and joinery: {frame.job.title}", BEFORE, cautions, _air(frame)]
    return "\n\n".join([*parts, finish_section(frame, system)]) + "\n"


def _air(frame: Frame) -> str:
    return "\n".join(
        f"* {air.name}: {air.low:.2f} % in the driest month, {air.high:.2f} % in the wettest "
        f"({air.source})"
        for air in (frame.room, frame.outdoors)
    )


def finding_html(found: Finding, system: System, said: Sequence[str] = ()) -> str:
    """Return one finding as HTML: its picture, amounts, notes and steps.

    Parameters
    ----------
    found : Finding
        What was found.
    system : {'imperial', 'metric'}
        Of the text.
    said : sequence of str
        Notes said elsewhere.
    """
    svg, words = draw(found, system)
    picture = f"<figure>{svg}<figcaption>{escape(words)}</figcaption></figure>"
    heading, *rest = from_markdown(finding_sheet(found, system, said))
    return elements([heading]) + picture + elements(rest)


def sheet_html(frame: Frame, system: System) -> str:
    """Return the sheet as one HTML file that needs nothing beside it.

    Parameters
    ----------
    frame, system
        As `sheet_text`.
    """
    title = f"Finishes and joinery: {frame.job.title}"
    found = findings(frame)
    head = sheet_text(frame, system).split("\n\n### ")[0]
    parts = [elements(from_markdown(head))]
    parts += [finding_html(one, system, shared_notes(found)) for one in found]
    parts.append(elements(from_markdown(defaults_taken(frame.job.finish, system))))
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}'
        '</title><meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<style>{STYLE}</style></head><body>\n" + "\n".join(parts) + "\n</body></html>\n"
    )

"""The review report: what an engineer needs to check an order and sign beside it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from shrinkage import __version__, units
from shrinkage import review_figures as rf
from shrinkage.blocks import Block, Bullets, Heading, Landscape, Picture, Table, Text, from_markdown
from shrinkage.chance import Chance, Range, chance
from shrinkage.drivers import ENOUGH, REST, Driver, drivers
from shrinkage.export import Writer, write_all
from shrinkage.figures import corner_plan, eave_section
from shrinkage.figures import new_figure as section_figure
from shrinkage.jobfile import Document
from shrinkage.order import Order, order
from shrinkage.review_html import write_html
from shrinkage.review_inputs import inputs
from shrinkage.review_method import method
from shrinkage.sampled import Progress
from shrinkage.schedule import CAUTIONS
from shrinkage.spread import Spread, spread_of
from shrinkage.units import System
from shrinkage.whatif import widest_of_each_kind
from shrinkage.worksheet import worksheet

HTML, PDF = "review.html", "review.pdf"


@dataclass(frozen=True)
class Reviewed:
    """One joint of the report.

    Parameters
    ----------
    found : Chance
        What the draws say.
    drivers : list of Driver
        What the doubt is made of.
    """

    found: Chance
    drivers: list[Driver]


@dataclass(frozen=True)
class Review:
    """All that the report is written from.

    Parameters
    ----------
    order : Order
        The answer to the job.
    spread : Spread
        How sure its inputs are.
    joints : tuple of Reviewed
        The widest joint of each kind.
    job_hash : str
        SHA-256 of the job file.
    """

    order: Order
    spread: Spread
    joints: tuple[Reviewed, ...]
    job_hash: str


def review(document: Document, progress: Progress | None = None) -> Review:
    """Work out a job and how sure it is.

    Parameters
    ----------
    document : Document
        From `jobfile.read_job` or `jobfile.check_job`.
    progress : callable, optional
        Told how far it is, from 0 to 1.

    Returns
    -------
    Review
        The same for the same job and seed.

    Raises
    ------
    ShrinkageError
        Naming file, line and key.
    """
    spread = spread_of(document.job, document.source)
    answer = order(document)
    frame, found = answer.frame, []
    widest = widest_of_each_kind(answer)
    for number, one in enumerate(widest):
        drawn = chance(one, frame.rules, spread, filling=frame.filling)
        few, many = (min(n, spread.draws) for n in (ENOUGH, REST))
        found.append(Reviewed(drawn, drivers(drawn.sample.plan, few, rest=many)))
        if progress is not None:
            progress((number + 1) / len(widest))
    text = document.source.text or document.job.model_dump_json()
    return Review(answer, spread, tuple(found), hashlib.sha256(text.encode()).hexdigest())


def write_review(
    document: Document, folder: str | Path, system: System | None = None, force: bool = False,
    pdf: bool = True, progress: Progress | None = None,
) -> list[Path]:  # fmt: skip
    """Write the report as self-contained HTML and as PDF.

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
    pdf : bool
        Whether to write the PDF too, which needs reportlab.
    progress : callable, optional
        Told how far it is, from 0 to 1.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ShrinkageError
        If a file exists and `force` is not given, or a package is missing.
    """
    return write_all(Path(folder), review_writers(document, system, pdf, progress), force)


def review_writers(
    document: Document, system: System | None = None, pdf: bool = True,
    progress: Progress | None = None,
) -> dict[str, Writer]:  # fmt: skip
    """Review a job; return what writes each file of it by name, arguments as `write_review`."""
    if pdf:
        _need_reportlab()
    done = review(document, progress)
    shown = system or document.job.units
    blocks = report(done, shown)
    title = f"Review: {document.job.title}"

    def as_pdf(path: Path) -> None:
        from shrinkage.review_pdf import write_pdf

        foot = f"shrinkage {__version__}, seed {done.spread.seed}, job {done.job_hash[:12]}"
        write_pdf(path, title, foot, blocks, shown)

    writers: dict[str, Writer] = {
        HTML: lambda path: path.write_text(write_html(title, blocks), encoding="utf-8")
    }
    if pdf:
        writers[PDF] = as_pdf
    return writers


def _need_reportlab() -> None:
    from importlib.util import find_spec

    from shrinkage.spread import need

    try:
        there = find_spec("reportlab") is not None
    except ValueError:
        there = False
    if not there:
        raise need("review", "reportlab")


def report(done: Review, system: System) -> list[Block]:
    """Return the report as blocks.

    Parameters
    ----------
    done : Review
        From `review`.
    system : {'imperial', 'metric'}
        Of the text.
    """
    blocks = [*_front(done, system), *inputs(done.order, done.spread), *method(done.spread,
              done.order.frame.calendar is not None), *_results(done, system)]  # fmt: skip
    blocks += [Heading(1, "5. Cautions"), Bullets(CAUTIONS), *_counted(done)]
    blocks += [Landscape(), Heading(1, "6. Worksheet of the governing joints")]
    sheet = [*from_markdown(worksheet(done.order, system), deeper=1)]
    return blocks + sheet[1:]  # its title stands above it already


def _front(done: Review, system: System) -> list[Block]:
    job, source = done.order.frame.job, done.order.frame.document.source
    facts = (
        ("Job file", Path(source.name).name), ("SHA-256 of the job file", done.job_hash),
        ("Software", f"shrinkage {__version__}"),
        ("Draws and seed", f"{done.spread.draws} scrambled Sobol points, seed {done.spread.seed}"),
        ("Certainty asked for", f"{done.spread.certainty:g} %"),
    )  # fmt: skip
    return [
        Heading(1, f"Review: {job.title}"),
        Text("How much the gaps of this order close, how sure that is, and what to find out first. "
             "For the engineer's check; nothing here replaces it."),
        Table(("", ""), facts),
        Heading(2, "1. In short"),
        *[Text(line) for line in _short(done, system)],
        _three(done, system),
        Text("Gaps along the joint's normal, the widest joint of each kind. 'Some limit missed' "
             "counts foam crushed, stretched or overworked too; 'touches' is wood on panel."),
        Text("**Signed:** ______________________________ &nbsp; **Date:** ______________"
             .replace("&nbsp;", " "), "boxed"),
    ]  # fmt: skip


def _short(done: Review, system: System) -> list[str]:
    """Return the answer in a few sentences."""
    lines = []
    for one in done.joints:
        found = one.found
        if not found.answer.joint.layers:
            continue
        enough = found.gap <= found.answer.gap + 1e-9
        ordered = units.show(found.answer.gap, system, 32)
        lines.append(
            f"**{found.answer.joint.name}**: ordered with a gap of {ordered}; wood touches panel "
            f"in {percent(found.touching)} of draws and some limit is missed in "
            f"{percent(found.short)}. "
            f"{at_least(found.gap, system)} would do in {found.certainty:g} %: the order is "
            f"{'enough' if enough else 'NOT enough'}."
            + (f" {_first_doubt(one.drivers, system)}" if one.drivers else "")
        )
    return lines


def _first_doubt(found: Sequence[Driver], system: System) -> str:
    most = found[0]
    worth = max(found, key=lambda driver: driver.saves)
    text = f"Most of the doubt: {most.group} ({100 * most.total:.0f} %)"
    if worth.saves > 0.1:
        text += (
            f"; best worth knowing: {worth.group}, which lets the gap come down by "
            f"{rf.saving(worth.saves, system)} on average"
        )
    return text + "."


def percent(share: float) -> str:
    """Write a share in percent, small ones too."""
    if share == 0:
        return "none"
    return f"{100 * share:.0f} %" if share >= 0.1 else f"{100 * share:.2g} %"


def at_least(mm: float, system: System) -> str:
    """Write a gap that is needed: rounded up, so that what is written is enough."""
    step = units.MM_PER_INCH / 32 if system == "imperial" else 0.1
    return units.show(units.round_to(mm, step, "up"), system, 32)


def _three(done: Review, system: System) -> Table:
    def show(mm: float) -> str:
        return at_least(mm, system)

    rows = [
        (one.found.answer.joint.name, units.show(one.found.answer.gap, system, 32),
         show(one.found.worst), show(one.found.square), show(one.found.gap),
         show(one.found.gap_clear), percent(one.found.touching), percent(one.found.short))
        for one in done.joints
    ]  # fmt: skip
    head = ("joint", "ordered", "worst case", "root-sum-square",
            f"sampled, {done.spread.certainty:g} %", "wood clear only", "touches",
            "some limit missed")  # fmt: skip
    return Table(head, tuple(rows))


def _results(done: Review, system: System) -> list[Block]:
    blocks: list[Block] = []
    for number, one in enumerate(done.joints, start=1):
        joint = one.found.answer.joint
        level = 1 if number == 1 or joint.layers else 2
        if number == 1:
            blocks.append(Heading(1, "4. Results by kind of joint"))
        name = f"4.{number} {joint.kind}: {joint.name}"
        blocks.append(Heading(2 if number == 1 else level, name))
        blocks += _joint(done, one, system)
    return blocks


def _joint(done: Review, one: Reviewed, system: System) -> list[Block]:
    found = one.found
    blocks: list[Block] = [_ranges(found, system)]
    holds = done.order.frame.hold_down
    against = holds.holds(found.answer.joint.kind) if holds else None
    if against is not None:
        blocks.append(Text(
            f"Dead load and fasteners hold {load_text(against, system)} along this joint; what the "
            "foam pushes with against it is for the engineer."
        ))  # fmt: skip
    rows = tuple(
        (limit.name, limit.formula, f"{limit.needed:.2f}", percent(found.governs[limit.name]),
         "governs the order" if limit is found.answer.governs else "")
        for limit in found.answer.limits
    )  # fmt: skip
    blocks.append(Table(("limit", "how, mm", "asks for mm", "governs in draws", ""), rows))
    if not found.answer.joint.layers:
        blocks.append(Text("No wood moves across it: only fill and tolerance."))
        return blocks
    blocks += _pictures(done, one, system)
    shares = tuple(
        (d.group, f"{100 * max(d.first, 0):.1f}", f"{100 * d.total:.1f}",
         rf.saving(d.saves, system))
        for d in one.drivers[:8]
    )  # fmt: skip
    blocks.append(Table(("what the doubt is made of", "first order %", "total %",
                         "knowing it saves"), shares))  # fmt: skip
    return blocks


def _ranges(found: Chance, system: System) -> Table:
    def length(name: str, values: Range) -> tuple[str, ...]:
        marks = (units.show(mm, system, 32) for mm in (values.low, values.median, values.high))
        return (name, *marks)

    def share(name: str, values: Range) -> tuple[str, ...]:
        return (name, *(f"{100 * x:.0f} %" for x in (values.low, values.median, values.high)))

    rows = [
        length("furthest closing", found.closure), length("furthest opening", found.opening),
        length("least gap left in service", found.left),
        share("foam squeezed", found.strain),
    ]  # fmt: skip
    if found.load is not None:
        numbers = (found.load.low, found.load.median, found.load.high)
        rows.append(("foam pushes, along the joint", *(load_text(n, system) for n in numbers)))
    head = ("for the gap ordered", "5 % of draws below", "median", "95 % below")
    return Table(head, tuple(rows))


NEWTON_METRE_PER_POUND_FOOT = 14.593903
"""N/m in a pound-force per foot."""


def load_text(newtons: float, system: System) -> str:
    """Write a load along a joint."""
    if system == "imperial":
        return f"{newtons / NEWTON_METRE_PER_POUND_FOOT:.0f} lb/ft"
    return f"{newtons:.0f} N/m"


def _pictures(done: Review, one: Reviewed, system: System) -> list[Block]:
    frame, found = done.order.frame, one.found
    joint, blocks = found.answer.joint, []
    if joint.kind in ("eave", "corner"):
        figure, section, large = section_figure(7.0, 2.6)
        if joint.kind == "eave":
            wall = next(x for x in frame.job.wall if joint.name == f"{x.name}, top")
            words = eave_section(section, large, frame, wall, found.answer, system)
        else:
            words = corner_plan(section, large, frame, found.answer, system)
        section.set_title("before (dashed), driest month (bold)", fontsize=8)
        large.set_title("the joint", fontsize=8)
        for text in section.texts:  # smaller than on a screen, and so are their letters
            text.set_fontsize(6.5)
        blocks.append(Picture(figure, words))
    figure, ax = rf.new_figure(7.0, 2.1)
    blocks.append(Picture(figure, rf.histogram(ax, found, found.answer.gap, system)))
    figure, ax = rf.new_figure(7.0, 2.3)
    blocks.append(Picture(figure, rf.time_band(ax, found.sample.plan, found.answer.gap, system)))
    figure, ax = rf.new_figure(7.0, 3.1)
    ax.set_position((0.33, 0.15, 0.65, 0.83))
    blocks.append(Picture(figure, rf.driver_bars(ax, one.drivers, system)))
    return list[Block](blocks)


def _counted(done: Review) -> list[Block]:
    lines = tuple(
        f"{one.found.answer.joint.name}: {text}"
        for one in done.joints
        for text in one.found.cautions
    )
    hard = tuple(
        f"{one.found.answer.joint.name}: foam squeezed beyond its curve in "
        f"{percent(one.found.hard)} of draws; its push is taken at the curve's end there"
        for one in done.joints
        if one.found.hard
    )
    if not lines + hard:
        return []
    return [Heading(2, "Of the draws"), Bullets(lines + hard)]

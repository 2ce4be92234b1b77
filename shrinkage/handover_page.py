"""One file to hand over: a whole order as a single HTML page that needs nothing beside it.

It opens on a phone on site. It holds results only, every size written out in both systems; its
script shows one of them and hides rows that are not looked for, and computes nothing.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from html import escape
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from shrinkage import figures
from shrinkage.allowance import Allowance
from shrinkage.blocks import from_markdown
from shrinkage.crew_card import MEANT, RULES, CrewLine, crew_card
from shrinkage.elevation import elevation, new_figure, places
from shrinkage.errors import ShrinkageError
from shrinkage.export import Writer, write_all
from shrinkage.handover_look import SCRIPT, STYLE
from shrinkage.order import SIDES, Order
from shrinkage.paper import plain_text
from shrinkage.review_html import elements
from shrinkage.schedule import CAUTIONS, panel_table
from shrinkage.units import System, show
from shrinkage.whatif import widest_of_each_kind
from shrinkage.worksheet import worksheet

BOTH: tuple[System, System] = ("imperial", "metric")
LARGEST_BYTES = 3_000_000
"""A page stays under this, so that it can be sent and opens at once on a phone."""
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"
"""What the browser is told: nothing may be fetched."""


def write_page(
    order: Order, path: str | Path, system: System | None = None, force: bool = False
) -> Path:
    """Write the page of an order.

    Parameters
    ----------
    order : Order
        The answer to a job.
    path : str or Path
        The file; ``.html`` is added where it is missing.
    system : {'imperial', 'metric'}, optional
        Shown first; the job's own units otherwise.
    force : bool
        Whether a file that exists may be replaced.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ShrinkageError
        If the file exists and `force` is not given, cannot be written, or would be too large.
    """
    path = Path(path)
    if path.name in ("", ".."):
        raise ShrinkageError(f"{path}: names no file; accepted: a name such as page.html")
    if path.suffix.lower() not in (".html", ".htm"):
        path = path.with_name(path.name + ".html")
    return write_all(path.parent, {path.name: page_writer(order, system)}, force)[0]


def page_writer(order: Order, system: System | None = None) -> Writer:
    """Return what writes the page of an order; arguments as `write_page`."""
    text = page_html(order, system)
    return lambda path: path.write_text(text, encoding="utf-8")


def page_html(order: Order, system: System | None = None) -> str:
    """Return the page of an order.

    Elevations are left out where the page would become too large with them, and it says so.

    Parameters
    ----------
    order : Order
        The answer to a job.
    system : {'imperial', 'metric'}, optional
        Shown first; the job's own units otherwise.

    Returns
    -------
    str
        HTML.

    Raises
    ------
    ShrinkageError
        If the page would be too large even without elevations.
    """
    system = system or order.frame.job.units
    with plain_text():
        text = _page(order, system, _elevations(order))
    if len(text.encode()) > LARGEST_BYTES:
        sorry = '<p class="quiet">Left out to keep this file small: see the order sheets.</p>'
        with plain_text():
            text = _page(order, system, sorry)
    if (size := len(text.encode())) > LARGEST_BYTES:
        raise ShrinkageError(
            f"the page would be {size / 1e6:.1f} MB; accepted: up to {LARGEST_BYTES / 1e6:.0f} MB, "
            "a building in several job files"
        )
    return text


def _page(order: Order, system: System, walls: str) -> str:
    title = escape(order.frame.job.title)
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{title}</title>\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<style>{STYLE}</style></head>\n<body class="{system}">\n<h1>{title}</h1>\n'
        f"{_owner(order)}{_bar(system)}{_problems(order)}\n"
        f'<h2 id="card">Crew card: gaps to hold</h2>\n{_card(order)}\n'
        f'<h2 id="panels">Panels to order</h2>\n{_schedule(order)}\n'
        f'<h2 id="sections">Sections</h2>\n{_sections(order)}\n'
        f'<section class="folded"><h2 id="walls">Walls and roof</h2>\n{walls}</section>\n'
        f'<section class="folded"><h2 id="worksheet">Worksheet</h2>\n'
        f"{_worksheet(order)}</section>\n"
        f'<h2 id="cautions">Before you use this</h2>\n{_cautions()}\n'
        f"<script>{SCRIPT}</script></body></html>\n"
    )


def both(text: Callable[[System], str]) -> str:
    """Return a text in both systems, of which the page shows one; once where they are the same.

    Parameters
    ----------
    text : callable
        From a system to plain text.
    """
    inch, metric = (escape(text(system)) for system in BOTH)
    if inch == metric:
        return inch
    return f'<span class="i">{inch}</span><span class="m">{metric}</span>'


def _owner(order: Order) -> str:
    """Return what the job's title block says, on one line."""
    sheet = order.frame.job.sheet
    if sheet is None:
        return ""
    given = sheet.model_dump(exclude_none=True)
    said = " · ".join(f"{key.replace('_', ' ')}: {value}" for key, value in given.items())
    return f'<p class="quiet">{escape(said)}</p>\n'


def _bar(system: System) -> str:
    names = (("card", "crew card"), ("panels", "panels"), ("sections", "sections"),
             ("walls", "walls"), ("worksheet", "worksheet"), ("cautions", "cautions"))  # fmt: skip
    links = "".join(f'<a href="#{place}">{name}</a>' for place, name in names)
    buttons = "".join(
        f'<button type="button" value="{each}" aria-pressed="{str(each == system).lower()}">'
        f"{words}</button>"
        for each, words in zip(BOTH, ("feet and inches", "millimetres"), strict=True)
    )
    return (
        f'<div class="bar"><span class="switch" role="group" aria-label="units">{buttons}</span>'
        f"<nav>{links}</nav></div>\n"
    )


def _problems(order: Order) -> str:
    lines = [
        f'<p class="warn">Too wide to foam: {escape(answer.joint.name)}, '
        f"{both(lambda s, a=answer: show(a.widest, s))}. See the worksheet for what else.</p>"  # type: ignore[misc]
        for answer in order.problems
    ]
    return "\n".join(lines)


def _card(order: Order) -> str:
    """Return the crew card, each gap a card of its own."""
    gaps = [
        "".join(f'<li class="{mark}">{_gap(line)}</li>' for line in lines)
        for mark, lines in zip(("i", "m"), (crew_card(order, s) for s in BOTH), strict=True)
    ]
    rules = "".join(f"<dt>{escape(found)}</dt><dd>{escape(do)}</dd>" for found, do in RULES)
    sheet = order.frame.job.sheet
    call = f'<p class="meant">Call: {escape(sheet.call)}</p>' if sheet and sheet.call else ""
    return (
        f'<p class="meant">{escape(MEANT)}</p><ul class="card">{"".join(gaps)}</ul>'
        f"<h3>What you find, what you do</h3><dl>{rules}</dl>{call}"
    )


def _gap(line: CrewLine) -> str:
    where = escape("; ".join(line.places))
    limits = f"not under {line.least}, not over {line.most}"
    told = f'<span class="stop">{escape(line.warning)}</span>' if line.warning else escape(limits)
    return (
        f'<b>{escape(line.kind)}</b><span class="hold">{escape(line.hold)}</span>{told}<br>'
        f"<small>measured {escape(line.measured)}<br>{where}</small>"
    )


COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("order_width", "order width", "size"),
    ("order_height_left", "height left", "size"),
    ("order_height_right", "height right", "size"),
    ("order_peak", "peak", "size"),
    ("outer_face_less", "outer face less", "pair"),
    *((f"off_{side}", f"off {side}", "") for side in SIDES),
    ("opening_width", "opening width", "pair"),
    ("opening_height", "opening height", "pair"),
    ("cut_outs", "cut-outs", "long"),
    ("notes", "notes", "long"),
)
"""Column of the panel table, heading and look."""


def _schedule(order: Order) -> str:
    """Return the schedule, each text written out in both systems."""
    tables = {system: panel_table(order, system).to_dict("records") for system in BOTH}
    shown = [c for c in COLUMNS if any(row[c[0]] for row in tables["imperial"])]
    head = "".join(f"<th>{name}</th>" for _, name, _ in shown)
    rows = []
    for inch, metric in zip(tables["imperial"], tables["metric"], strict=True):
        pair = dict(zip(BOTH, (inch, metric), strict=True))
        cells = "".join(
            f'<td class="{look}" data-l="{name}">{both(lambda s, k=key: str(pair[s][k]))}</td>'  # type: ignore[misc]  # noqa: B023
            for key, name, look in shown
        )
        words = " ".join(str(row[key]) for row in (inch, metric) for key in SEARCHED)
        rows.append(
            f'<tr data-s="{escape(words.lower())}"><th scope="row">{escape(inch["panel"])}</th>'
            f"{cells}</tr>"
        )
    return (
        '<div class="find"><label for="find">Find</label><input id="find" type="search" '
        'placeholder="wall, number, door, a size" autocomplete="off">'
        '<span id="found" role="status"></span></div>\n<p class="quiet">Walls are seen from '
        "outside. Cut-outs are from the ordered panel’s lower left corner.</p>\n"
        f'<div class="wide"><table class="schedule"><thead><tr><th>panel</th>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


SEARCHED = ("panel", "place", "order_width", "order_height_left", "order_height_right",
            "cut_outs", "notes")  # fmt: skip


def _sections(order: Order) -> str:
    """Return the eave and the corner that ask for most, before and after drying."""
    figure = Figure(figsize=(4.7, 7.2))
    axes = (figure.add_axes((0.02, 0.5, 0.96, 0.46)), figure.add_axes((0.1, 0.02, 0.8, 0.42)))
    parts = []
    for answer in widest_of_each_kind(order):
        if answer.joint.kind not in ("eave", "corner"):
            continue
        for system in BOTH:
            words = _section(axes, order, answer, system)
            parts.append(_figure(figure, words, system, f"{answer.joint.kind}-{system}"))
    return f'<div class="pictures">{"".join(parts)}</div>'


def _section(axes: tuple[Axes, Axes], order: Order, answer: Allowance, system: System) -> str:
    section, joint = axes
    if answer.joint.kind == "corner":
        return figures.corner_plan(section, joint, order.frame, answer, system)
    walls = order.frame.job.wall
    wall = next(x for x in walls if answer.joint.name == f"{x.name}, top")
    return figures.eave_section(section, joint, order.frame, wall, answer, system)


def _elevations(order: Order) -> str:
    """Return every wall and slope, folded away, in both systems."""
    figure, ax = new_figure(9.6, 4.8)
    parts = []
    for number, (place, title) in enumerate(places(order).items()):
        drawn = []
        for system in BOTH:
            words = elevation(ax, order, place, system)
            drawn.append(_figure(figure, words, system, f"wall{number}-{system}", "wall"))
        parts.append(
            f"<details><summary>{escape(title)}</summary>"
            f'<div class="wide">{"".join(drawn)}</div></details>'
        )
    return "".join(parts)


def _figure(figure: Figure, words: str, system: System, mark: str, kind: str = "") -> str:
    """Return a drawing as SVG with names of its own, and without what points elsewhere."""
    svg = figures.as_svg(figure, words)
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = re.sub(r' xmlns(:\w+)?="[^"]*"', "", svg).replace("xlink:href", "href")
    svg = re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{mark}-", svg)
    look = f"{'i' if system == 'imperial' else 'm'} {kind}".strip()
    return f'<figure class="{look}">{svg}<figcaption>{escape(words)}</figcaption></figure>'


def _worksheet(order: Order) -> str:
    texts = (elements(from_markdown(worksheet(order, system), 2)) for system in BOTH)
    inside = "".join(
        f'<div class="{mark}">{text}</div>' for mark, text in zip(("i", "m"), texts, strict=True)
    )
    return (
        "<details><summary>Every step with its numbers put in, for who checks it</summary>"
        f"{inside}</details>"
    )


def _cautions() -> str:
    return f'<div class="cautions"><ul>{_items(CAUTIONS)}</ul></div>'


def _items(texts: Iterable[str]) -> str:
    return "".join(f"<li>{escape(text)}</li>" for text in texts)

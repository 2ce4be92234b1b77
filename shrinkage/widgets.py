"""Pages for notebooks: controls on the left, the answer on the right, nothing computed here.

Results are HTML widgets holding SVG and tables, so that a page redraws quickly, works in a served
notebook and can be tested without a browser. A wrong entry shows its message beside the controls
and keeps the last good answer, marked as old.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from shrinkage import figures
from shrinkage.errors import ShrinkageError
from shrinkage.jobfile import Source, check_job, read_job
from shrinkage.order import Order, order
from shrinkage.schedule import CAUTIONS, panel_table
from shrinkage.section import HEART_KINDS
from shrinkage.species import catalogue
from shrinkage.tables import STARTER, data_folder

AS_IN_JOB = "as in the job"
FRAME_ROLES = ("post", "plate", "rafter", "girt", "tie", "purlin")
WIDE = w.Layout(width="27em", max_width="100%")
LABELS = {"description_width": "10.5em"}
LOOK = """<style>
figure[class^="sk-"] { margin: .4em 0; }
figure[class^="sk-"] svg { max-width: 100%; height: auto; }
figure[class^="sk-"] figcaption { max-width: 46em; line-height: 1.35; }
table.sk-schedule, table.sk-use { border-collapse: collapse; font-size: 90%; }
table.sk-schedule td, table.sk-schedule th, table.sk-use td, table.sk-use th {
  padding: .15em .6em; text-align: left; border-bottom: 1px solid #d0d0d0; white-space: nowrap; }
</style>"""
"""One look for all pages: pictures that fit the screen, tables that can be read."""

SHOWN = (
    "panel", "opening_width", "opening_height", "off_left", "off_right", "off_top", "off_bottom",
    "order_width", "order_height_left", "order_height_right", "order_peak", "cut_outs", "notes",
)  # fmt: skip


def job_files(folder: Path | None = None) -> dict[str, str]:
    """Return the job files of a folder by title, the package's own examples otherwise.

    Parameters
    ----------
    folder : Path, optional
        Where to look.
    """
    found = {}
    for path in sorted((folder or data_folder()).glob("*.toml")):
        try:
            title = tomllib.loads(path.read_text(encoding="utf-8")).get("title", path.stem)
        except (OSError, ValueError):
            continue  # not a job file, or not readable: it has no place in a list of jobs
        if path.name == STARTER:
            continue
        name = f"{title} ({path.name})" if str(title) in found else str(title)
        found[name] = str(path)
    return found


def beside(controls: Sequence[w.Widget], results: Sequence[w.Widget]) -> w.HBox:
    """Return controls with their results beside them, or under them on a narrow screen."""
    left = w.VBox(list(controls), layout=w.Layout(flex="0 1 28em", min_width="0"))
    right = w.VBox(list(results), layout=w.Layout(flex="1 1 34em", min_width="0", overflow="auto"))
    return w.HBox([w.HTML(LOOK), left, right], layout=w.Layout(flex_flow="row wrap"))


def message(text: str, good: bool) -> str:
    """Return a line of text for beside the controls: plain when good, framed when not."""
    if good:
        return f'<div class="sk-note">{escape(text)}</div>'
    lines = "<br>".join(escape(line) for line in text.splitlines())
    style = "border-left:4px solid #8a1c1c;padding:.3em .6em;background:#fbeeee;color:#4d0f0f"
    return f'<div class="sk-wrong" role="alert" style="{style}">{lines}</div>'


def cautions() -> str:
    """Return the cautions every page ends with, as HTML."""
    items = "".join(f"<li>{escape(text)}</li>" for text in CAUTIONS)
    return f'<div class="sk-cautions"><b>Before you use this</b><ul>{items}</ul></div>'


def schedule_html(answer: Order) -> str:
    """Return the panel schedule as an HTML table."""
    table = panel_table(answer)[[*SHOWN]].rename(columns=lambda name: name.replace("_", " "))
    return table.to_html(index=False, border=0, classes="sk-schedule", na_rep="", escape=True)


def edited(raw: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Return a job's mapping with a page's changes put in, the original untouched.

    Parameters
    ----------
    raw : dict
        As TOML gives it.
    changes : dict
        'species', 'heart', 'moisture' for the frame's timbers, 'pitch', 'thickness'; None leaves
        the job's own.
    """
    timber = {
        role: spec
        | {
            key: changes[key]
            for key in ("species", "heart", "moisture")
            if role in FRAME_ROLES and changes.get(key) is not None
        }
        for role, spec in raw.get("timber", {}).items()
    }
    eave = raw.get("eave", {}) | ({"pitch": changes["pitch"]} if changes.get("pitch") else {})
    thick = {"thickness": changes["thickness"]} if changes.get("thickness") else {}
    return raw | {"timber": timber, "eave": eave, "panel": raw.get("panel", {}) | thick}


class ShortcutPage:
    """The framer's page: choose a job, change what is not settled yet, read the order.

    Parameters
    ----------
    folder : Path, optional
        Where job files are; the package's examples otherwise.

    Attributes
    ----------
    view : ipywidgets.Widget
        What a notebook shows.
    controls : dict of str to ipywidgets.Widget
        By name: 'job', 'species', 'heart', 'moisture', 'pitch', 'thickness'.
    note, picture, table : ipywidgets.HTML
        Message, drawings and schedule.
    answer : Order or None
        The last good answer.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.answer: Order | None = None
        self.figure, self.section, self.joint = figures.new_figure()
        self.controls = self._controls(folder)
        self.note, self.picture, self.table = w.HTML(), w.HTML(), w.HTML()
        for control in self.controls.values():
            control.observe(self._changed, names="value")
        results = [self.picture, self.table, w.HTML(cautions())]
        self.view = beside([*self.controls.values(), self.note], results)
        self._changed(None)

    def _controls(self, folder: Path | None) -> dict[str, w.Widget]:
        def text(label: str, hint: str) -> w.Text:
            return w.Text("", description=label, placeholder=hint, continuous_update=False,
                          layout=WIDE, style=LABELS)  # fmt: skip

        def choice(label: str, options: Any) -> w.Dropdown:
            return w.Dropdown(options=options, description=label, layout=WIDE, style=LABELS)

        species = [AS_IN_JOB, *(name for name, s in catalogue().items() if s.s_t is not None)]
        return {
            "job": choice("job", list(job_files(folder).items())),
            "species": choice("frame timbers", species),
            "heart": choice("heart", [AS_IN_JOB, *HEART_KINDS]),
            "moisture": text("moisture on the day", "as in the job; green, or 22 %"),
            "pitch": text("roof pitch", "as in the job; 10 in 12"),
            "thickness": text("panel thickness", "as in the job; 6-1/2 in"),
        }

    def _changed(self, _event: Any) -> None:
        try:
            self._update()
        except ShrinkageError as error:
            self.note.value = message(error.message, good=False)
            for pane in (self.picture, self.table):
                pane.layout.border_left = "4px solid #8a1c1c"  # the answer shown is the old one
        else:
            self.note.value = message("Answer for the settings above.", good=True)
            for pane in (self.picture, self.table):
                pane.layout.border_left = None

    def _update(self) -> None:
        path = Path(self.controls["job"].value or "")
        read_job(path)  # a mistake in the file itself is named with its line
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
        changes = {
            key: None if control.value in (AS_IN_JOB, "") else control.value
            for key, control in self.controls.items()
        }
        document = check_job(edited(raw, changes), Source(path.name, folder=path.parent))
        answer = order(document)
        self.picture.value = self._draw(answer)
        self.table.value = schedule_html(answer)
        self.answer = answer

    def _draw(self, answer: Order) -> str:
        """Draw the widest eave and the widest corner of the job."""
        system, axes = answer.frame.job.units, (self.section, self.joint)
        parts = []
        for kind in ("eave", "corner"):
            found = [a for a in answer.allowances if a.joint.kind == kind]
            if not found:
                continue
            worst = max(found, key=lambda allowance: allowance.needed)
            if kind == "eave":
                walls = answer.frame.job.wall
                wall = next(x for x in walls if worst.joint.name == f"{x.name}, top")
                words = figures.eave_section(*axes, answer.frame, wall, worst, system)
            else:
                words = figures.corner_plan(*axes, answer.frame, worst, system)
            svg = figures.as_svg(self.figure, words)
            caption = f"<figcaption>{escape(words)}</figcaption>"
            parts.append(f'<figure class="sk-{kind}">{svg}{caption}</figure>')
        return "".join(parts)

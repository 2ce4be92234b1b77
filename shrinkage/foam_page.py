"""The foam page for notebooks: choose foam, depth and what holds; see curve, line loads, litres.

Nothing is computed here: the controls change the job, the job is worked out again.
"""

from __future__ import annotations

import tomllib
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from shrinkage import figures, foam_figures
from shrinkage.controls import choice, job_box
from shrinkage.foam_answer import JointFoam, foam_answer, foam_remedies
from shrinkage.foam_kinds import kinds
from shrinkage.foam_words import ENGINEER_NOTE, remedy_lines
from shrinkage.jobfile import check_job, read_job
from shrinkage.order import Order, order
from shrinkage.pickers import JobChooser
from shrinkage.quantity import quantity_rows
from shrinkage.units import System
from shrinkage.widgets import LivePage, beside, captioned, cautions

DEPTHS = ("full", "core", "two beads")
FASTENERS = ("none", "lag screw", "wood screw")
SCREWS: dict[str, dict[str, str]] = {
    "lag screw": {"diameter": "3/8 in"},
    "wood screw": {"diameter": "0.242 in"},
}
"""Common diameters to start from; a job file states its own."""


class FoamPage(LivePage):
    """Foam as a material, on one job.

    Parameters
    ----------
    path : str or Path, optional
        The job file; the first of the list otherwise.
    system : {'imperial', 'metric'}
        Of pictures and text.

    Attributes
    ----------
    view : ipywidgets.Widget
        The page.
    controls : dict of str to ipywidgets.Widget
        'job', 'joint', 'kind', 'depth', 'roof_load', 'share', 'fastener', 'thread', 'spacing'.
    panes : dict of str to ipywidgets.HTML
        'curve', 'along', 'litres', 'instead'.
    answer : Order
        The last good answer.
    """

    good = ENGINEER_NOTE

    def __init__(self, path: str | Path | None = None, system: System = "imperial") -> None:
        super().__init__()
        self.system = system
        self.chooser = JobChooser()
        if path is not None:
            self.chooser.path.value = str(path)
        self._take_job()
        self.panes = {name: w.HTML() for name in ("curve", "along", "litres", "instead")}
        self.controls = self._controls()
        self.follow(self._update)
        left = [*self.controls.values(), self.note, self.sign]
        top = beside(left, list(self.panes.values()))
        self.view = w.VBox([top, w.HTML(cautions())])

    def _take_job(self) -> None:
        """Read the chosen job as a mapping, to be changed by the controls."""
        document = read_job(self.chooser.value)
        self.source = document.source
        self.raw = tomllib.loads(document.source.text)
        self.answer: Order = order(document)
        self.taken = self.chooser.value

    def _controls(self) -> dict[str, w.Widget]:
        foam = self.answer.frame.job.foam
        return {
            "job": self.chooser,
            "joint": choice("joint", self._moving(), tip="whose foam is drawn"),
            "kind": choice("kind of foam", list(kinds()), foam.kind),
            "depth": choice("foamed", DEPTHS, foam.depth, "how much of the panel's thickness"),
            "roof_load": job_box("roof's dead load", "holddown.roof_load", "12 psf", empty=False),
            "share": job_box("of its slope", "holddown.eave_share", "6 ft", empty=False,
                             tip="length of roof, up the slope, that rests on the eave"),
            "fastener": choice("held by", FASTENERS, "none"),
            "thread": job_box("thread in timber", "holddown.thread", "3 in", empty=False),
            "spacing": job_box("spacing", "holddown.spacing", "2 ft", empty=False),
        }  # fmt: skip

    def _moving(self) -> list[str]:
        """Return the joints in which wood moves."""
        return [one.name for one in foam_answer(self.answer) if one.life.answer.joint.layers]

    def mapping(self) -> dict[str, Any]:
        """Return the job's mapping with the page's choices put in."""
        value = {name: control.value for name, control in self.controls.items()}
        foam = self.raw.get("foam", {}) | {"kind": value["kind"], "depth": value["depth"]}
        holds = {key: value[key] for key in ("roof_load", "fastener")}
        holds |= {"eave_share": value["share"]}
        if value["fastener"] != "none":
            holds |= SCREWS[value["fastener"]]
            holds |= {key: value[key] for key in ("thread", "spacing")}
        return self.raw | {"foam": foam, "holddown": holds}

    def _update(self) -> None:
        if self.chooser.value != self.taken:
            self._take_job()
            self.controls["joint"].options = self._moving()
        self.answer = order(check_job(self.mapping(), self.source))
        self._draw()

    def chosen(self) -> JointFoam | None:
        """Return the joint looked at, as it now is."""
        name = self.controls["joint"].value
        return next((one for one in foam_answer(self.answer) if one.name == name), None)

    def _draw(self) -> None:
        one = self.chosen()
        if one is not None:
            figure, ax = foam_figures.new_figure()
            filling = self.answer.frame.filling
            foam_figures.draw_stress_strain(ax, one, filling, self.system)
            self._show("curve", figure, foam_figures.describe(one, self.system))
        figure, ax = foam_figures.new_figure()
        foam_figures.draw_line_load(ax, self.answer, self.system)
        words = "Line loads along the tops of the walls, in the order of the job's walls."
        self._show("along", figure, words)
        self.panes["litres"].value = self._litres()
        self.panes["instead"].value = self._instead(one)

    def _show(self, name: str, figure: Any, words: str) -> None:
        self.panes[name].value = captioned(name, figures.as_svg(figure, words), words)

    def _litres(self) -> str:
        head = "<tr>" + "".join(f"<th>{h}</th>" for h in ("joints", "length", "foam", "cans"))
        rows = [
            "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row)
            for row in quantity_rows(self.answer, self.system)
        ]
        note = escape(self.answer.frame.filling.note)
        return f'<table class="sk-use">{head}{"".join(rows)}</table><p>{note}</p>'

    def _instead(self, one: JointFoam | None) -> str:
        if one is None:
            return ""
        found = foam_remedies(self.answer) | self.answer.remedies
        lines = remedy_lines(found.get(one.name, ()), self.system)
        if not lines:
            return ""
        items = "".join(f"<li>{escape(line)}</li>" for line in lines)
        return f"<b>What else would do, {escape(one.name)}</b><ol>{items}</ol>"
